"""What a request says of its sample, and what its answer repeats of that."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any, ClassVar

from saltcalc.parts.shown import part, shown

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
