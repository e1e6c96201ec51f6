"""The service as it runs for real: gunicorn in its own process, asked over the network."""

import json
import socket
import threading
import time

import pytest
import requests

from saltcalc.demo import running_service

pytestmark = pytest.mark.xdist_group("gunicorn")


@pytest.fixture(scope="module")
def address():
    with running_service() as where:
        yield where


def test_it_answers_the_demo_request(address, demo_request):
    answer = requests.post(f"{address}/v1/assessments", json=demo_request, timeout=30)
    assert answer.status_code == 200
    assert answer.json()["salinity"]["class"] == "high"


def test_the_same_request_gets_the_same_answer_byte_for_byte(address, demo_request):
    first, *others = [
        requests.post(f"{address}/v1/assessments", json=demo_request, timeout=30).content
        for _ in range(6)
    ]
    assert all(other == first for other in others)


def test_a_body_that_is_too_large_gets_its_answer_and_no_reset(address):
    for _ in range(5):
        response = requests.post(
            f"{address}/v1/assessments",
            data=b'{"medium": "' + b"x" * 3_000_000 + b'"}',
            headers={"Content-Type": "application/json"},
            timeout=30,
        )
        assert response.status_code == 413
        assert response.headers["Content-Type"] == "application/problem+json"


def test_a_chunked_body_that_is_too_large_is_refused(address):
    response = requests.post(
        f"{address}/v1/assessments",
        data=iter([b'{"medium": "', *[b"x" * 100_000] * 15, b'"}']),
        headers={"Content-Type": "application/json"},
        timeout=30,
    )
    assert response.status_code == 413


@pytest.mark.parametrize(
    "request_text",
    [
        "NONSENSE\r\n\r\n",
        f"GET /{'x' * 9000} HTTP/1.1\r\nHost: a\r\n\r\n",
        "GET / HTTP/9.9\r\n\r\n",
    ],
)
def test_what_never_reaches_the_application_gets_a_problem_document(address, request_text):
    host, port = address.removeprefix("http://").split(":")
    with socket.create_connection((host, int(port)), timeout=10) as connection:
        connection.sendall(request_text.encode())
        answer = b""
        while received := connection.recv(65_536):
            answer += received
    assert b"application/problem+json" in answer
    assert b"<html" not in answer


def test_the_metrics_of_all_workers_are_added_up(address):
    for _ in range(20):
        requests.get(f"{address}/v1/observations", timeout=30)
    counts = {
        sum(
            float(line.rsplit(" ", 1)[1])
            for line in requests.get(f"{address}/metrics", timeout=30).text.splitlines()
            if line.startswith("saltcalc_requests_total") and "/v1/observations" in line
        )
        for _ in range(6)
    }
    assert counts == {20.0}


def test_a_request_under_way_is_answered_before_the_service_stops(demo_request):
    answers = []

    def slowly(stopping):
        yield b" "
        stopping.wait(timeout=30)
        time.sleep(0.5)
        yield json.dumps(demo_request).encode()

    def ask(address, stopping):
        answers.append(
            requests.post(
                f"{address}/v1/assessments",
                data=slowly(stopping),
                headers={"Content-Type": "application/json"},
                timeout=30,
            )
        )

    stopping = threading.Event()
    with running_service() as address:
        asking = threading.Thread(target=ask, args=(address, stopping))
        asking.start()
        time.sleep(1.0)
        stopping.set()
    asking.join()
    assert [answer.status_code for answer in answers] == [200]


def test_a_table_of_own_crops_is_found_from_where_the_service_is_started(tmp_path, monkeypatch):
    (tmp_path / "own.csv").write_text(
        "id,name,group,rating,source,provenance\n"
        "tunnel_bean,tunnel bean,vegetable,S,our own trial,seen\n"
    )
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("SALTCALC_LOCAL_CROPS", "own.csv")
    with running_service() as address:
        assert requests.get(f"{address}/v1/crops/tunnel_bean", timeout=30).json()["local"]
