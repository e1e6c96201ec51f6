"""By what an answer on paper can be traced: the program, its tables, and what was asked."""

from __future__ import annotations

import hashlib
from functools import cache
from pathlib import Path

import flask

from saltcalc import __version__
from saltcalc.data.tables import checksum
from saltcalc.parts.shown import part, shown

_DIGITS = 16


@part
class Trace:
    """By what an answer can be traced."""

    version: str = shown("Version of the program.")
    tables: str = shown("The first 16 digits of the SHA-256 of its tables and of the local ones.")
    request: str = shown("The first 16 digits of the SHA-256 of the request's body as sent.")


@part
class Traced:
    """What every computed answer ends with."""

    trace: Trace = shown("By what a printed answer can be traced.")


def trace_of(body: bytes) -> Traced:
    """Return by what the answer to a request can be traced."""
    local = (flask.current_app.config[each] for each in ("LOCAL_CROPS", "LOCAL_RANGES"))
    tables = _tables(*local)
    return Traced(Trace(__version__, tables, hashlib.sha256(body).hexdigest()[:_DIGITS]))


@cache
def _tables(*local: Path | None) -> str:
    own = b"".join(each.read_bytes() for each in local if each)
    return checksum(own)[:_DIGITS]
