"""Batches against the service as it runs: they stream, and hold up nobody else."""

import json
import socket
import threading
import time

import pytest
import requests

from saltcalc.demo import running_service

pytestmark = pytest.mark.xdist_group("gunicorn")

LINES = {"Content-Type": "application/x-ndjson"}
HEAD = b"POST /v1/assessments/batch HTTP/1.1\r\nHost: a\r\nContent-Type: application/x-ndjson\r\n"


@pytest.fixture(scope="module")
def address():
    with running_service() as where:
        yield where


def line(number):
    medium = {"extraction": "one_to_two", "ec": f"{300 + 7 * number % 3000} µS/cm"}
    request = {"sample_id": f"s{number}", "medium": medium, "containers": ["40 L"]}
    return json.dumps(request).encode() + b"\n"


def connect(address):
    host, port = address.removeprefix("http://").split(":")
    return socket.create_connection((host, int(port)), timeout=30)


def until(connection, mark):
    got = b""
    while mark not in got and (piece := connection.recv(65_536)):
        got += piece
    return got


def test_answers_come_while_the_rest_is_still_to_be_sent(address):
    with connect(address) as sender:
        sender.sendall(HEAD + b"Transfer-Encoding: chunked\r\n\r\n")
        for number in range(3):
            text = line(number)
            sender.sendall(b"%x\r\n%s\r\n" % (len(text), text))
            assert f'"s{number}"'.encode() in until(sender, b'"s%d"' % number)
        sender.sendall(b"0\r\n\r\n")
        assert b'"rows": 3' in until(sender, b'"rows"')


def test_who_stalls_gets_the_answers_to_what_came_and_is_told(address):
    with connect(address) as sender:
        sender.sendall(HEAD + b"Content-Length: 100000\r\n\r\n" + line(1) + line(2) + b'{"me')
        got = until(sender, b"\r\n0\r\n\r\n")
        assert b'"rows": 2' in got
        assert b'"complete": false' in got
        assert b'"status": 408' in got
        assert sender.recv(1000) == b""


def test_who_hangs_up_holds_nothing(address):
    body = b"".join(line(number) for number in range(500))
    for _ in range(8):
        with connect(address) as sender:
            sender.sendall(HEAD + b"Content-Length: %d\r\n\r\n" % len(body) + body[:20_000])
    time.sleep(2)
    answer = requests.post(f"{address}/v1/assessments/batch", line(1) * 3, headers=LINES, timeout=9)
    assert answer.text.count("\n") == 4


def test_a_long_batch_starves_neither_single_requests_nor_health(address):
    waits, alive, done = [], [], threading.Event()
    single = {"medium": {"ec": 2, "extraction": "one_to_two"}}

    def others():
        while not done.is_set():
            began = time.monotonic()
            assert requests.get(f"{address}/healthz", timeout=9).ok
            alive.append(time.monotonic() - began)
            began = time.monotonic()
            assert requests.post(f"{address}/v1/assessments", json=single, timeout=9).ok
            waits.append(time.monotonic() - began)

    beside = threading.Thread(target=others)
    beside.start()
    body = [line(number) if number % 100 else b"{bad\n" for number in range(600)]
    answer = requests.post(f"{address}/v1/assessments/batch", b"".join(body), headers=LINES)
    done.set()
    beside.join()
    rows = [json.loads(each) for each in answer.text.splitlines()]
    assert [each["line"] for each in rows[:-1]] == list(range(1, 601))
    assert [each["line"] for each in rows[:-1] if "problem" in each] == [*range(1, 601, 100)]
    assert rows[-1]["closing"]["rows"] == 600
    assert len(waits) > 5
    assert max(alive) < 2
    assert max(waits) < 4
