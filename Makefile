# Two commands matter: `make demo` and `make test`. Each sets up .venv by itself.
PYTHON ?= python3
BIN := .venv/bin
HOST ?= 127.0.0.1
PORT ?= 8000

.PHONY: demo test install serve lint bench api-spec lock clean

install: .venv/.installed

.venv/.installed: requirements.lock pyproject.toml
	$(PYTHON) -c 'import sys; sys.exit("saltcalc needs Python 3.11 or newer; try make PYTHON=python3.12" if sys.version_info < (3, 11) else 0)'
	$(PYTHON) -m venv --clear .venv
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -r requirements.lock
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --editable .
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

test: lint
	$(BIN)/pytest

bench: install
	$(BIN)/python -m benchmarks

api-spec: install
	$(BIN)/saltcalc openapi > api_spec/openapi.json

# Re-pins every dependency (needs network); commit the result.
lock: install
	$(BIN)/python -m pip install --quiet uv
	$(BIN)/uv pip compile --quiet --universal --python-version 3.11 --extra chemistry --group dev pyproject.toml -o requirements.lock

clean:
	rm -rf .venv .pytest_cache .mypy_cache .ruff_cache
