"""What an administrator copies is whole, and does what its page says."""

import json
import os
import shutil
import subprocess
import sys
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


def test_the_compose_file_is_one():
    """Against the schema of the Compose Specification, as `check-jsonschema` brings it."""
    compose = DEPLOY / "compose.yaml"
    run(TOOLS / "check-jsonschema", "--builtin-schema", "vendor.compose-spec", compose)
    assert f"image: saltcalc:{__version__}" in compose.read_text()


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
