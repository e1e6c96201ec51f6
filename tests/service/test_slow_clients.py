"""Slow, odd and too many clients against the service as it runs hurt nobody but themselves."""

import contextlib
import socket
import threading
import time

import pytest
import requests

from saltcalc.demo import running_service

pytestmark = pytest.mark.xdist_group("gunicorn")

POST = "POST /v1/ions HTTP/1.1\r\nHost: a\r\nContent-Type: application/json\r\n"


@pytest.fixture(scope="module")
def address():
    with running_service() as where:
        yield where


def connect(address, timeout=20):
    host, port = address.removeprefix("http://").split(":")
    return socket.create_connection((host, int(port)), timeout=timeout)


def answer_to(address, text):
    with connect(address) as connection:
        connection.sendall(text.encode("latin1"))
        received = b""
        while piece := connection.recv(65_536):
            received += piece
    return received.decode()


def alive_in(address):
    began = time.monotonic()
    assert requests.get(f"{address}/healthz", timeout=10).ok
    return time.monotonic() - began


@pytest.mark.parametrize(
    "start",
    [
        "GET /heal",
        "GET /healthz HTTP/1.1\r\nHost: a\r\nX-Slow: ",
        POST + "Content-Length: 100\r\n\r\n{",
        "\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03",
    ],
    ids=["half a line", "half a head", "half a body", "a TLS hello"],
)
def test_a_hundred_half_open_connections_hold_up_nobody(address, start, demo_request):
    with contextlib.ExitStack() as held:
        for _ in range(100):
            connection = held.enter_context(connect(address))
            connection.sendall(start.encode("latin1"))
        time.sleep(0.5)
        assert max(alive_in(address) for _ in range(5)) < 2
        answer = requests.post(f"{address}/v1/assessments", json=demo_request, timeout=20)
        assert answer.status_code == 200


def test_a_client_that_dribbles_is_cut_off(address):
    ended = []

    def dribble():
        began = time.monotonic()
        with connect(address, timeout=30) as connection, contextlib.suppress(OSError):
            connection.sendall((POST + "Content-Length: 1000\r\n\r\n").encode())
            for _ in range(60):
                connection.sendall(b" ")
                time.sleep(0.5)
        ended.append(time.monotonic() - began)

    clients = [threading.Thread(target=dribble) for _ in range(20)]
    for client in clients:
        client.start()
    time.sleep(1)
    assert max(alive_in(address) for _ in range(5)) < 2
    for client in clients:
        client.join()
    assert max(ended) < 15


@pytest.mark.parametrize(
    ("request_text", "status", "said"),
    [
        (
            POST + "Connection: close\r\nTransfer-Encoding: chunked\r\n\r\nZZ\r\nabc\r\n",
            400,
            "not framed",
        ),
        ("GET /healthz HTTP/1.1\r\nConnection: close\r\n\r\n", 400, "names no host"),
        ("GET /v1//crops HTTP/1.1\r\nHost: a\r\nConnection: close\r\n\r\n", 404, "/v1//crops"),
        (
            POST + "Connection: close\r\nContent-Encoding: gzip\r\nContent-Length: 2\r\n\r\n{}",
            415,
            "gzip",
        ),
        (
            POST.replace("json", "json; charset=utf-16")
            + "Connection: close\r\nContent-Length: 2\r\n\r\n{}",
            415,
            "utf-16",
        ),
        (POST + "Connection: close\r\nContent-Length: 4\r\n\r\n{\x00}\x00", 400, "utf-16"),
    ],
)
def test_what_is_odd_is_refused_by_its_name(address, request_text, status, said):
    # Those who waited in the test before are served first.
    until = time.monotonic() + 30
    while (answer := answer_to(address, request_text)).startswith("HTTP/1.1 503 "):
        assert time.monotonic() < until
        time.sleep(0.5)
    assert answer.startswith(f"HTTP/1.1 {status} ")
    assert "application/problem+json" in answer
    assert said in answer


def test_more_than_can_wait_are_told_to_come_again(address, demo_request):
    statuses = []

    def ask():
        response = requests.post(f"{address}/v1/assessments", json=demo_request, timeout=60)
        statuses.append((response.status_code, response.headers.get("Retry-After")))

    clients = [threading.Thread(target=ask) for _ in range(150)]
    for client in clients:
        client.start()
    lag = max(alive_in(address) for _ in range(5))
    for client in clients:
        client.join()
    assert {status for status, _ in statuses} <= {200, 503}
    assert (200, None) in statuses
    assert all(retry == "2" for status, retry in statuses if status == 503)
    assert lag < 5
    assert alive_in(address) < 2
