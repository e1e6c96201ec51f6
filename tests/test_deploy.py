"""What an administrator copies is whole, and does what its page says."""

import json
import os
import re
import shutil
import socket
import subprocess
import sys
import threading
import time
from contextlib import ExitStack, suppress
from pathlib import Path

import pytest
import requests

from saltcalc import __version__
from saltcalc.demo import running_service

ROOT = Path(__file__).parents[1]
DEPLOY = ROOT / "docs" / "deploy"
TOOLS = Path(sys.executable).parent


def run(*command, **options):
    return subprocess.run(
        [str(part) for part in command], capture_output=True, text=True, check=True, **options
    )


needs_caddy = pytest.mark.skipif(not shutil.which("caddy"), reason="no caddy here")


@pytest.mark.parametrize("name", ["compose.yaml", "compose.two.yaml"])
def test_the_compose_file_is_one(name):
    """Against the schema of the Compose Specification, as `check-jsonschema` brings it."""
    compose = DEPLOY / name
    run(TOOLS / "check-jsonschema", "--builtin-schema", "vendor.compose-spec", compose)
    assert f"image: saltcalc:{__version__}" in compose.read_text()


def test_the_image_names_its_base_by_one_digest():
    bases = re.findall(r"^FROM (\S+)", (ROOT / "Dockerfile").read_text(), re.MULTILINE)
    assert len(bases) == 2
    (base,) = set(bases)
    assert re.fullmatch(r"python:3\.\d+-slim-\w+@sha256:[0-9a-f]{64}", base)


@pytest.mark.skipif(not shutil.which("systemd-analyze"), reason="no systemd here")
def test_the_unit_is_one(tmp_path):
    """With systemd's own checker; the program it starts is put where this installation has it."""
    unit = (DEPLOY / "saltcalc.service").read_text()
    here = tmp_path / "saltcalc.service"
    here.write_text(unit.replace("/opt/saltcalc/bin/saltcalc", str(TOOLS / "saltcalc")))
    assert run("systemd-analyze", "verify", here).stderr == ""


@pytest.mark.parametrize("lock", [ROOT / "requirements.lock", DEPLOY / "requirements.lock"])
def test_every_package_is_pinned_with_its_hashes(lock):
    packages = [line for line in lock.read_text().splitlines() if line[:1].isalnum()]
    assert len(packages) > 30
    assert all("==" in line and line.endswith("\\") for line in packages)


def test_the_service_runs_on_the_versions_that_are_tested():
    """By name and version: a test may want a package where running does without it."""
    tested, running = (
        {line.split()[0] for line in lock.read_text().splitlines() if line[:1].isalnum()}
        for lock in (ROOT / "requirements.lock", DEPLOY / "requirements.lock")
    )
    assert running <= tested


def behind(stack, tmp_path, caddyfile, **replaced):
    """Run a caddyfile of the documents on a free port, other words put in; return its address."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        address = f"http://127.0.0.1:{probe.getsockname()[1]}"
    text = (DEPLOY / caddyfile).read_text()
    for before, after in (replaced | {"http://:8000": address}).items():
        text = text.replace(before, after)
    here = tmp_path / "Caddyfile"
    here.write_text(text)
    command = ["caddy", "run", "--adapter", "caddyfile", "--config", str(here)]
    home = dict(os.environ) | {"HOME": str(tmp_path)}
    proxy = stack.enter_context(subprocess.Popen(command, env=home, stderr=subprocess.DEVNULL))
    stack.callback(proxy.terminate)
    for _ in range(100):
        with suppress(requests.ConnectionError):
            requests.get(address, timeout=5)
            break
        time.sleep(0.1)
    return address


def of(address):
    return address.removeprefix("http://")


def batch_through(address, rows, auth=None):
    line = json.dumps({"medium": {"extraction": "one_to_two", "ec": 3}}).ljust(10_000) + "\n"
    answer = requests.post(
        f"{address}/v1/assessments/batch",
        data=(line.encode() for _ in range(rows)),
        headers={"Content-Type": "application/x-ndjson"},
        auth=auth,
        timeout=60,
    )
    assert answer.status_code == 200, answer.text
    return json.loads(answer.text.splitlines()[-1])["closing"]


@needs_caddy
@pytest.mark.xdist_group("gunicorn")
def test_two_copies_behind_a_balancer_answer_as_one(tmp_path, demo_request):
    """One is stopped while requests come in; each is answered by the other.

    Debian's balancer (2.6) sends a request with a body to the other only where it was told to keep
    the body (else its log says "invalid Read on closed Body"), and calls a body that is too long a
    fault of the copy.
    """
    version = [int(each) for each in re.findall(r"\d+", run("caddy", "version").stdout)[:2]]
    is_old = version < [2, 7]
    keeps = "\n\t\tbuffer_requests" if is_old else ""
    with ExitStack() as stack, ExitStack() as first:
        one = first.enter_context(running_service())
        other = stack.enter_context(running_service())
        address = behind(
            stack, tmp_path, "balancer.caddyfile",
            **{
                "first:8000": of(one),
                "second:8000": of(other),
                "flush_interval -1": f"flush_interval -1{keeps}",
            },
        )  # fmt: skip
        statuses, stopping = [], threading.Thread(target=first.close)
        for place in range(60):
            if place == 20:
                stopping.start()
            asked = {"json": demo_request, "timeout": 30}
            statuses.append(requests.post(f"{address}/v1/assessments", **asked).status_code)
        stopping.join()
        assert statuses == [200] * 60
        assert batch_through(address, rows=100)["rows"] == 100
        too_long = requests.post(f"{address}/v1/assessments", data=b" " * 200_000, timeout=30)
        assert too_long.status_code == (502 if is_old else 413)
        assert requests.get(f"{address}/metrics", timeout=30).status_code == 404


@needs_caddy
@pytest.mark.xdist_group("gunicorn")
def test_the_proxy_wants_a_password_and_lets_a_batch_through(tmp_path):
    made = run("caddy", "hash-password", "--plaintext", "open").stdout.strip()
    with ExitStack() as stack:
        behind_it = stack.enter_context(running_service())
        address = behind(
            stack, tmp_path, "proxy.caddyfile",
            **{
                "salt.farm.example": "{\n\tadmin off\n\tauto_https off\n}\nhttp://:8000",
                "\ttls internal\n": "",
                # Its older name is understood by each version.
                "basic_auth": "basicauth",
                "<the hash>": made,
                "saltcalc:8000": of(behind_it),
            },
        )  # fmt: skip
        assert requests.get(f"{address}/readyz", timeout=30).status_code == 401
        assert batch_through(address, rows=100, auth=("grower", "open"))["rows"] == 100


SPY = """
import sys
def note(what):
    with open({path!r}, "a") as log:
        log.write(what + "\\n")
def hook(event, arguments):
    if event in ("socket.connect", "socket.getaddrinfo", "socket.sendto"):
        note(repr((event, arguments[1:])))
note("listening")
sys.addaudithook(hook)
"""


@pytest.mark.xdist_group("gunicorn")
def test_nothing_leaves_the_machine(tmp_path, monkeypatch, demo_request):
    """Python's own audit tells every connection that the service opens."""
    log = tmp_path / "connections"
    (tmp_path / "sitecustomize.py").write_text(SPY.format(path=str(log)))
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    with running_service() as address:
        answer = requests.post(f"{address}/v1/assessments", json=demo_request, timeout=30)
        assert answer.status_code == 200
        for path in ("/v1/crops", "/docs", "/openapi.json", "/metrics", "/readyz"):
            assert requests.get(f"{address}{path}", timeout=30).ok
    assert set(log.read_text().splitlines()) == {"listening"}


@pytest.mark.long
def test_the_bundle_installs_without_an_index(tmp_path, demo_request):
    bundle = tmp_path / "bundle"
    run(DEPLOY / "make-bundle", bundle)
    run("sha256sum", "--quiet", "-c", "SHA256SUMS", cwd=bundle)
    assert any((bundle / "aarch64").glob("numpy-*aarch64.whl"))
    # A board is not at hand: pip says what one would install from the folder alone.
    machine = [f"--platform={each}_aarch64" for each in ("manylinux2014", "manylinux_2_28")]
    version = "{}.{}".format(*sys.version_info)
    board = ["--only-binary=:all:", "--implementation=cp", f"--python-version={version}", *machine]
    there = ["--no-index", "--find-links", bundle / "aarch64", "--dest", tmp_path / "board"]
    run(sys.executable, "-m", "pip", "download", "--quiet", *board, *there, "saltcalc")
    fresh = tmp_path / "fresh"
    run(sys.executable, "-m", "venv", fresh)
    nowhere = {name: value for name, value in os.environ.items() if not name.startswith("PIP_")}
    nowhere |= {"PIP_CONFIG_FILE": os.devnull}
    pip = [fresh / "bin" / "pip", "install", "--quiet", "--no-index", "--find-links"]
    run(*pip, bundle / "x86_64", "saltcalc[chemistry]", env=nowhere)
    shown = run(fresh / "bin" / "saltcalc", "demo", cwd=tmp_path, env=nowhere).stdout
    assert "invented" in shown
    asked = json.dumps(demo_request)
    answer = run(fresh / "bin" / "saltcalc", "assess", "--json", input=asked, env=nowhere).stdout
    assert json.loads(answer)["salinity"]["class"] == "high"
