"""What an administrator fears, done to the service as it runs."""

import os
import signal
import time
from pathlib import Path

import pytest
import requests

from saltcalc import deadline
from saltcalc.demo import running_service
from saltcalc.service.app import create_app
from saltcalc.service.config import read_settings

pytestmark = pytest.mark.xdist_group("gunicorn")


def workers_of(address):
    """Return the workers behind an address: the processes whose parent listens there."""
    port = int(address.rsplit(":", 1)[1])
    masters = [
        int(each.name)
        for each in Path("/proc").glob("[0-9]*")
        if f"--port\0{port}\0".encode() in _command(each) or _port_of(each) == str(port)
    ]
    return [
        int(pid)
        for master in masters
        for pid in Path(f"/proc/{master}/task/{master}/children").read_text().split()
    ]


def both_workers_of(address):
    """Return the two workers; the service answers once the first is there."""
    end = time.monotonic() + 20
    while len(found := workers_of(address)) < 2 and time.monotonic() < end:
        time.sleep(0.1)
    return found


def _command(process):
    try:
        return (process / "cmdline").read_bytes()
    except OSError:
        return b""


def _port_of(process):
    try:
        environ = (process / "environ").read_bytes().split(b"\0")
    except OSError:
        return ""
    ports = [each for each in environ if each.startswith(b"SALTCALC_PORT=")]
    return ports[0].partition(b"=")[2].decode() if ports else ""


def answers_again(address, patience):
    end = time.monotonic() + patience
    while time.monotonic() < end:
        try:
            if all(requests.get(f"{address}/healthz", timeout=1).ok for _ in range(10)):
                return True
        except requests.RequestException:
            time.sleep(0.1)
    return False


def test_workers_that_are_killed_come_back():
    with running_service() as address:
        before = both_workers_of(address)
        assert len(before) == 2
        for worker in before:
            os.kill(worker, signal.SIGKILL)
        assert answers_again(address, 5)
        time.sleep(1)
        assert set(workers_of(address)).isdisjoint(before)


def test_a_worker_that_is_stuck_is_replaced(monkeypatch):
    monkeypatch.setenv("SALTCALC_TIMEOUT_SECONDS", "1")
    with running_service() as address:
        stuck, _ = both_workers_of(address)
        os.kill(stuck, signal.SIGSTOP)
        end = time.monotonic() + 20
        while stuck in workers_of(address) and time.monotonic() < end:
            time.sleep(0.2)
        assert stuck not in workers_of(address)
        assert answers_again(address, 5)


def test_without_the_engine_it_is_ready_and_says_so(monkeypatch, demo_request):
    from saltcalc.science import phreeqc  # noqa: PLC0415

    def no_library(_):
        raise OSError("viphreeqc.so: wrong ELF class")

    monkeypatch.setattr(phreeqc, "_engine", no_library)
    phreeqc.available.cache_clear()
    try:
        client = create_app(read_settings({})).test_client()
        ready = client.get("/readyz")
        assert (ready.status_code, ready.json["engines"]) == (200, {"phreeqc": "missing"})
        answer = client.post("/v1/assessments", json=demo_request)
        assert answer.status_code == 200
    finally:
        monkeypatch.undo()
        phreeqc.available.cache_clear()


def test_whether_it_lives_is_answered_between_the_parts_of_an_answer(demo_request, monkeypatch):
    """The worker lets the event loop run there, on the thread that computes."""
    app = create_app(read_settings({"SALTCALC_LOG_LEVEL": "CRITICAL"}))
    answered = []

    def look():
        answered.append(app.test_client().get("/healthz").status_code)

    monkeypatch.setattr(deadline, "EVERY", 0.0)
    deadline.look_up(look)
    try:
        found = app.test_client().post("/v1/assessments", json=demo_request)
    finally:
        deadline.look_up(None)
    assert found.status_code == 200
    assert len(answered) > len(found.json)
    assert set(answered) == {200}
    before = len(answered)
    app.test_client().post("/v1/assessments", json=demo_request)
    assert len(answered) == before
