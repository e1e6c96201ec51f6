"""Figures that can hardly be, and figures given as a range: neither may end in an all-clear."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.data.causes import causes
from saltcalc.message import Message, say
from saltcalc.parts.crops.verdicts import VERDICTS
from saltcalc.parts.notes import Notes
from saltcalc.science.diagnosis import POSSIBLE
from saltcalc.science.diagnosis import VERDICTS as CERTAINTIES
from saltcalc.science.tolerance import Verdict

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

LEAST_EC = 0.05
"""EC [dS/m] below which a reading of a medium is more often a slip than a medium (judgement)."""

MOST_WATER_EC = 12.0
"""EC [dS/m] above which nobody waters with a water, so that a unit slipped (judgement)."""

MOST_VOLUME = 2000.0
"""Volume of one container [L] above which millilitres are likelier (judgement)."""

SLENDER = 8.0
"""Height over diameter above which a figure of a container slipped (judgement)."""

METHOD_DECIDES = "method_decides"
"""Id of the finding that a verdict depends on a method that is not given."""

DOUBTS = (
    "ec_of_zero",
    "unusual_ec",
    "unusually_low_ec",
    "unusual_water_ec",
    "unusual_volume",
    "unusual_height",
    "range_decides",
)
"""Ids of the findings after which no answer says that all is well, the gravest first."""


def find_doubts(assessment: Assessment, sample: int, notes: Notes) -> None:
    """Doubt figures of a sample that can hardly be."""
    given = assessment.given
    ec, water = float(given.samples.medium.ec[sample]), float(given.samples.water.ec[sample])
    if 0 < ec < LEAST_EC:
        notes.find("unusually_low_ec", "caution", "/medium/ec", ec=ec, times=1000 * ec)
    if water > MOST_WATER_EC:
        notes.find("unusual_water_ec", "caution", "/water/ec", ec=water)
    for place, row in enumerate(assessment.containers_of(sample)):
        volume = float(given.containers.volume[row])
        height = float(given.containers.height[row])
        at = f"/containers/{place}"
        if volume > MOST_VOLUME:
            notes.find("unusual_volume", "caution", f"{at}/volume", volume=volume)
        width = math.sqrt(4000 * volume / (math.pi * height)) if height > 0 else math.nan
        if height > SLENDER * width:
            notes.find("unusual_height", "caution", f"{at}/height", height=height, width=width)


def find_open_ends(assessment: Assessment, notes: Notes) -> None:
    """Say which verdicts on the first sample differ at the ends of figures given as a range.

    Parameters
    ----------
    assessment : Assessment
        Of the sample, of the same with every range at its low end, and with each at its high end.
    notes : Notes
        Where to say it.
    """
    differing = [*_causes(assessment), *_crops(assessment)]
    if differing:
        notes.find("range_decides", "caution", "causes", differing=differing)


def _causes(assessment: Assessment) -> list[Message]:
    verdicts = np.asarray(assessment.causes.findings.diagnosis.verdict)
    return [
        _differing(say(f"causes.name.{cause}"), CERTAINTIES[low], CERTAINTIES[high])
        for cause, low, high in zip(causes(), verdicts[1], verdicts[2], strict=True)
        if low != high and max(low, high) >= POSSIBLE
    ]


def _crops(assessment: Assessment) -> list[Message]:
    rows = (assessment.plantings_of(sample) for sample in range(3))
    verdicts = assessment.crops.verdicts.verdict
    return [
        _differing(
            assessment.crop_of(row).name,
            VERDICTS[Verdict(int(verdicts[low]))],
            VERDICTS[Verdict(int(verdicts[high]))],
        )
        for row, low, high in zip(*rows, strict=True)
        if verdicts[low] != verdicts[high]
    ]


def _differing(what: Message | str, low: str, high: str) -> Message:
    ends = {"low": say(f"doubts.{low}"), "high": say(f"doubts.{high}")}
    return say("doubts.differing", what=what, **ends)
