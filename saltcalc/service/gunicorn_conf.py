"""How gunicorn runs the service: workers, time limits, a graceful stop, shared metrics."""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from pathlib import Path
from typing import Any

from gunicorn import util
from rfc9457 import Problem

from saltcalc.service.config import read_settings
from saltcalc.service.logs import for_standard_library

_settings = read_settings()
_IN_MEMORY = Path("/dev/shm")
_scratch = str(_IN_MEMORY) if os.access(_IN_MEMORY, os.W_OK) else None
_run_dir = tempfile.mkdtemp(prefix="saltcalc-", dir=_scratch)
os.environ["PROMETHEUS_MULTIPROC_DIR"] = _run_dir

bind = f"{_settings.host}:{_settings.port}"
workers = _settings.workers
threads = _settings.threads
worker_tmp_dir = _scratch
timeout = _settings.timeout_seconds
graceful_timeout = _settings.graceful_seconds
keepalive = 5
preload_app = True
control_socket_disable = True
accesslog = None
loglevel = _settings.log_level.lower()
logconfig_dict = for_standard_library(_settings.log_level)
proc_name = "saltcalc"


def _write_problem(connection: Any, status: int, reason: str, message: str) -> None:
    """Answer what never reaches the application with a problem document too."""
    body = json.dumps(
        Problem(title=reason, type_="about:blank", detail=message, status=status).marshal()
    )
    head = (
        f"HTTP/1.1 {status} {reason}\r\nConnection: close\r\n"
        f"Content-Type: application/problem+json\r\nContent-Length: {len(body)}\r\n\r\n"
    )
    util.write_nonblock(connection, (head + body).encode("latin1"))


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
