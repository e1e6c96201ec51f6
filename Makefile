# Two commands matter: `make demo` and `make test`. Each sets up .venv by itself.
PYTHON ?= python3
BIN := .venv/bin
HOST ?= 127.0.0.1
PORT ?= 8000

.PHONY: demo test test-long install serve lint bench api-spec lock bundle sbom image-check fuzz soak load dearest mutate freeze screenshots clean

install: .venv/.installed

.venv/.installed: requirements.lock pyproject.toml
	$(PYTHON) -c 'import sys; sys.exit("saltcalc needs Python 3.11 or newer; try make PYTHON=python3.12" if sys.version_info < (3, 11) else 0)'
	$(PYTHON) -m venv --clear .venv
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -r requirements.lock
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation --editable .
	touch $@

demo: install
	$(BIN)/saltcalc demo

serve: install
	$(BIN)/saltcalc serve --host $(HOST) --port $(PORT)

lint: install
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

# Many tests start the service or a command: what is compiled once is kept, whatever the shell says.
test test-long: export PYTHONDONTWRITEBYTECODE =

test: lint
	$(BIN)/pytest

# What takes minutes: the bundle in a machine without an index, a trial on paper of every size.
test-long: lint
	$(BIN)/pytest -m long

bench: install
	$(BIN)/python -m benchmarks

api-spec: install
	$(BIN)/saltcalc openapi > api_spec/openapi.json.new
	mv api_spec/openapi.json.new api_spec/openapi.json

# Re-pins every dependency with its hashes (needs network); commit the result. The second file is
# what runs the service: for the image and the bundle.
LOCK := $(BIN)/uv pip compile --quiet --universal --generate-hashes --custom-compile-command "make lock" --python-version 3.11 --extra chemistry pyproject.toml
lock: install
	$(BIN)/python -m pip install --quiet uv
	$(LOCK) --group dev -o requirements.lock
	$(LOCK) --group build -c requirements.lock --no-annotate -o docs/deploy/requirements.lock

# Everything to install the service where there is no internet, for this version of Python.
bundle: install
	docs/deploy/make-bundle dist/bundle

# What the service is made of, as CycloneDX (ECMA-424).
sbom: install
	mkdir -p dist
	$(BIN)/cyclonedx-py requirements --pyproject pyproject.toml --output-reproducible -o dist/sbom.cdx.json docs/deploy/requirements.lock

# Builds the image and starts it for real; needs root, and apt-get install buildah debootstrap curl.
image-check: install
	.ci/image-check

# Made-up requests after the contract, for a long time.
fuzz: install
	$(BIN)/python -m benchmarks.fuzz

# Half an hour of requests at half load, and what the service's memory does.
soak: install
	$(BIN)/python -m benchmarks.soak

# Every page at three widths in every language, to be looked at; needs chromium.
screenshots: install
	$(BIN)/python -m tests.pages.screenshots

# More requests than it can answer, closed and open loop, and beside a batch.
load: install
	$(BIN)/python -m benchmarks.load

# The dearest request of each endpoint; what is found goes into the tests.
dearest: install
	$(BIN)/python -m benchmarks.dearest

# The share of faults put into the code, the tables and the sentences that the tests notice.
mutate: install
	$(BIN)/python -m benchmarks.mutate

# At a release: what its contract promises, for the test of the next ones.
freeze: api-spec
	mkdir -p api_spec/released
	cp api_spec/openapi.json api_spec/released/$$($(BIN)/python -c 'import saltcalc; print(saltcalc.__version__)').json

clean:
	rm -rf .venv .pytest_cache .mypy_cache .ruff_cache
