"""What an answer repeats of its request: of which sample it is, and by what it can be traced."""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any, ClassVar

import flask

from saltcalc import __version__
from saltcalc.data.tables import checksum
from saltcalc.parts.shown import part, shown

_DIGITS = 16
_ID = "Any id of the sample, as given."
_DAY = "Day on which it was taken, as given."


@part
class Sample:
    """Which sample it is."""

    sample_id: str | None = shown(_ID, optional=True)
    sampled_on: datetime.date | None = shown(_DAY, optional=True)


@part
class NamedSample:
    """Which sample one of several media is."""

    shown_as: ClassVar[str] = "Sample"

    name: str = shown("Of the medium.")
    sample_id: str | None = shown(_ID, optional=True)
    sampled_on: datetime.date | None = shown(_DAY, optional=True)


@part
class ComparedSamples:
    """Which samples the media are."""

    samples: list[NamedSample] | None = shown("Of the media that said so.", optional=True)


def sample_of(request: Mapping[str, Any]) -> Sample | ComparedSamples:
    """Return what a loaded request says of its sample, or of the samples of its media."""
    if "media" not in request:
        return Sample(request.get("sample_id"), request.get("sampled_on"))
    said = [
        NamedSample(medium["name"], medium.get("sample_id"), medium.get("sampled_on"))
        for medium in request["media"]
        if medium.keys() & {"sample_id", "sampled_on"}
    ]
    return ComparedSamples(said or None)


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
