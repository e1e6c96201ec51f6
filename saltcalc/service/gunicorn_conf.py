"""How gunicorn runs the service: workers, time limits, a graceful stop, shared metrics."""

# ruff: noqa: E402 - the greenlets' sockets and locks have to be in place before anything else
from gevent import monkey

monkey.patch_all()

import gc

gc.set_threshold(10_000, 10, 10)  # what is loaded from here on stays

import ipaddress
import json
import os
import shutil
import socket
import tempfile
import time
from pathlib import Path
from typing import Any

import gevent
import structlog
from gunicorn import util
from rfc9457 import Problem
from werkzeug.test import create_environ

from saltcalc.service.config import Settings, read_settings
from saltcalc.service.example import DEMO_REQUEST
from saltcalc.service.logs import for_standard_library
from saltcalc.words.catalogue import sentence

try:
    _settings = read_settings()
except ValueError as error:
    raise SystemExit(f"Error: {error}") from None
_IN_MEMORY = Path("/dev/shm")
_scratch = str(_IN_MEMORY) if os.access(_IN_MEMORY, os.W_OK) else None
_run_dir = tempfile.mkdtemp(prefix="saltcalc-", dir=_scratch)
os.environ["PROMETHEUS_MULTIPROC_DIR"] = _run_dir
os.environ.setdefault("MPLCONFIGDIR", _run_dir)  # its list of fonts, where nothing else is written

bind = f"{_settings.host}:{_settings.port}"
workers = _settings.workers
worker_class = "saltcalc.service.worker.Worker"
worker_connections = 500
worker_tmp_dir = _scratch
timeout = _settings.timeout_seconds + 5
"""The answer gives up by itself before this; what does not is stuck, and its worker is replaced."""
graceful_timeout = _settings.graceful_seconds
keepalive = 5
max_requests = 20_000
max_requests_jitter = 5_000
preload_app = True
control_socket_disable = True
accesslog = None
loglevel = _settings.log_level.lower()
logconfig_dict = for_standard_library(_settings.log_level)
proc_name = "saltcalc"


def _write_problem(connection: Any, status: int, reason: str, message: str) -> None:
    """Answer what never reaches the application with a problem document too."""
    made = Problem(title=reason, type_="about:blank", detail=message, status=status)
    body = json.dumps(made.marshal()).encode()
    head = (
        f"HTTP/1.1 {status} {reason}\r\nConnection: close\r\n"
        f"Content-Type: application/problem+json\r\nContent-Length: {len(body)}\r\n\r\n"
    )
    util.write_nonblock(connection, head.encode("latin1") + body)
    # What is still coming is read away, so that the sender gets the answer and no reset.
    connection.shutdown(socket.SHUT_WR)
    end = time.monotonic() + 1.0
    while time.monotonic() < end and connection.recv(65_536):
        pass


def is_open(settings: Settings) -> bool:
    """Whether others than this machine can ask the service, without a key."""
    try:
        loopback = ipaddress.ip_address(settings.host).is_loopback
    except ValueError:
        loopback = settings.host == "localhost"
    return not loopback and settings.keys is None


def _answer_example(app: Any) -> None:
    """Answer the example once, so that what the first answer loads is loaded once for all."""
    # The counts have to know their folder before anything of these is loaded.
    from saltcalc.parts.answer import Wanted  # noqa: PLC0415
    from saltcalc.service.body import in_words  # noqa: PLC0415
    from saltcalc.service.pages.form import typed_of  # noqa: PLC0415
    from saltcalc.service.pages.view import report_page  # noqa: PLC0415
    from saltcalc.service.resources.assessments import assessed  # noqa: PLC0415
    from saltcalc.service.schemas.requests import AssessmentRequestSchema  # noqa: PLC0415

    sent = json.loads(DEMO_REQUEST.read_bytes())
    # Not as a request: that would want a key, and stand in the log and the counts.
    with app.request_context(create_environ()):
        example = AssessmentRequestSchema().load(sent)
        answer = in_words(example, b"", lambda: assessed(example, Wanted()))
        if _settings.pages == "ready":
            report_page(answer, example, typed_of(sent), {})
            gevent.sleep(0.01)  # for a timer to end that looked after the list of fonts


def on_starting(server: Any) -> None:
    """Make ready before anybody can ask, and warn of a service that anybody in reach can ask."""
    _answer_example(server.app.wsgi())
    if is_open(_settings):
        structlog.get_logger().warning(
            "open_to_all",
            host=_settings.host,
            advice=sentence("log.open_to_all"),
        )


def pre_fork(_server: Any, _worker: Any) -> None:
    """Leave what all workers share alone, so that it stays shared."""
    gc.collect()
    gc.freeze()


def post_fork(_server: Any, _worker: Any) -> None:
    """Let a worker look after what it makes itself."""
    gc.set_threshold(700, 10, 10)


def worker_abort(worker: Any) -> None:
    """Say what happened to a worker that is stopped for its time."""
    structlog.get_logger().error(
        "worker_stuck",
        pid=worker.pid,
        seconds=timeout,
        advice=sentence("log.worker_stuck"),
    )


def post_worker_init(_worker: Any) -> None:
    """Put problem documents in the place of gunicorn's own HTML error pages."""
    util.write_error = _write_problem
    os.chdir(_run_dir)  # PHREEQC leaves a note where it works when it does not converge


def child_exit(_server: Any, worker: Any) -> None:
    """Keep the counts of a worker that ended, and drop its live gauges."""
    from prometheus_client.multiprocess import mark_process_dead  # noqa: PLC0415

    mark_process_dead(worker.pid)  # type: ignore[no-untyped-call]


def on_exit(_server: Any) -> None:
    """Remove what this run wrote."""
    shutil.rmtree(_run_dir, ignore_errors=True)
