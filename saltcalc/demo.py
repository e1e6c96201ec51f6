"""A demonstration: the real service, a real request, and the answer in a few lines."""

from __future__ import annotations

import json
import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import requests

from saltcalc.service.problems import as_lines
from saltcalc.terminal import request_words
from saltcalc.words.text import as_text, short

_PATIENCE = 60.0


class RefusedError(Exception):
    """The service refused the request; the message says why."""


def run(question: bytes) -> str:
    """Start the service, post a request to it, stop it, and return both in words.

    Raises
    ------
    RefusedError
        If the service refused it.
    """
    with running_service() as address:
        response = requests.post(
            f"{address}/v1/assessments?flush=advised",
            data=question,
            headers={"Content-Type": "application/json"},
            timeout=30,
        )
    if not response.ok:
        raise RefusedError(as_lines(response.json()))
    asked = json.loads(question)
    return f"{request_words(asked)}\n\n{as_text(short(response.json(), asked))}"


@contextmanager
def running_service() -> Iterator[str]:
    """Run the service under gunicorn on a free port of this machine until the block ends.

    Yields
    ------
    str
        Its address, once it is ready.

    Raises
    ------
    RuntimeError
        If it does not get ready.
    """
    port = _free_port()
    command = [sys.executable, "-m", "saltcalc.cli", "serve", "--port", str(port)]
    quiet = {"SALTCALC_LOG_LEVEL": "WARNING"} | dict(os.environ)
    process = subprocess.Popen(command, env=quiet)
    try:
        address = f"http://127.0.0.1:{port}"
        _wait_until_ready(address, process)
        yield address
    finally:
        process.terminate()
        process.wait(timeout=30)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
    return port


def _wait_until_ready(address: str, process: subprocess.Popen[Any]) -> None:
    end = time.monotonic() + _PATIENCE
    while time.monotonic() < end:
        if process.poll() is not None:
            break
        try:
            if requests.get(f"{address}/readyz", timeout=5).ok:
                return
        except (requests.ConnectionError, requests.Timeout):
            pass
        time.sleep(0.1)
    raise RuntimeError("the service did not get ready")
