"""Figures that can hardly be, and figures given as a range: neither may end in an all-clear."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from saltcalc.case.implausible import impossible_ph
from saltcalc.case.signs import contradicting
from saltcalc.data.causes import causes
from saltcalc.message import Message, say
from saltcalc.parts.crops.verdicts import VERDICTS
from saltcalc.parts.notes import Notes
from saltcalc.parts.salinity import UNUSUAL_EC
from saltcalc.parts.shown import Amount
from saltcalc.science._arrays import Flags, Floats
from saltcalc.science.crop_limits import Verdict
from saltcalc.science.diagnosis import POSSIBLE
from saltcalc.science.diagnosis import VERDICTS as CERTAINTIES

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

MOST_APART = 1.5
"""EC over that of the ions up to which there is the same to do at either (judgement). [-]"""

METHOD_DECIDES = "method_decides"
"""Id of the finding that a verdict depends on a method that is not given."""

NITROGEN_FORM = "nitrogen_form_decides"
"""Id of the finding that a verdict depends on which part of the nitrogen is ammonium."""

UNUSUAL_PH = "unusual_ph"
"""Id of the finding that a pH can hardly be, and does not count."""

DOUBTS = (
    "ec_of_zero",
    "unusual_ec",
    "unusually_low_ec",
    UNUSUAL_PH,
    "unusual_water_ec",
    "unusual_volume",
    "unusual_height",
    "range_decides",
    NITROGEN_FORM,
)
"""Ids of the findings after which no answer says that all is well, the gravest first."""


_CONTRADICTING = {"observations": "signs_exclude_each_other", "not_seen": "opposites_not_seen"}
_FIELDS = {"range_decides": "causes", NITROGEN_FORM: "/medium/mineral_n"}
_ONE_SIGN_ALONE = 100.0
"""Charge balance error [%] of a report without any cation, or without any anion."""

_ALIKE = 0.05
"""Difference [-] of an EC from which it is worth telling (judgement)."""


class Doubts(NamedTuple):
    """Figures of a batch that can hardly be.

    Attributes
    ----------
    low_ec, water_ec : (n,) ndarray of bool
        The EC of the medium, and of the water.
    volume, height : (m,) ndarray of bool
        Of the containers.
    width : (m,) ndarray
        Of the containers, if they are round [cm].
    """

    low_ec: Flags
    water_ec: Flags
    volume: Flags
    height: Flags
    width: Floats


def doubt_figures(assessment: Assessment) -> Doubts:
    """Doubt figures that can hardly be."""
    samples, containers = assessment.given.samples, assessment.given.containers
    volume, height, ec = containers.volume, containers.height, samples.medium.ec
    width = np.sqrt(4000 * volume / (math.pi * np.where(height > 0, height, np.nan)))
    return Doubts(
        low_ec=(ec > 0) & (ec < LEAST_EC),
        water_ec=samples.water.ec > MOST_WATER_EC,
        volume=volume > MOST_VOLUME,
        height=height > SLENDER * width,
        width=width,
    )


def in_doubt(assessment: Assessment) -> Flags:
    """Tell where one of :data:`DOUBTS` is found in a sample."""
    doubts, ec = assessment.doubts, assessment.salinity.ec_25c
    found: Flags = doubts.low_ec | doubts.water_ec | (ec == 0)
    found |= beyond_any_medium(assessment) | assessment.medium_ions.ec_in_doubt
    np.logical_or.at(found, assessment.given.containers.sample, doubts.volume | doubts.height)
    found[0] |= any(_differing_at_ends(assessment, each) for each in assessment.ends)
    return found


def beyond_any_medium(assessment: Assessment) -> Flags:
    """Tell where an EC is beyond almost any growing medium, and its ions do not bear it out."""
    confirmed = assessment.medium_ions.ec_confirmed
    return np.asarray((assessment.salinity.ec_25c > UNUSUAL_EC) & ~confirmed)


def contradicted(assessment: Assessment) -> Flags:
    """Tell where the report of the medium contradicts itself."""
    found: Flags = assessment.medium_ions.contradicts().copy()
    found[0] &= not charge_is_open(assessment)
    return found


def ec_is_open(assessment: Assessment) -> Flags:
    """Tell where a report contradicts itself by an EC so far off that it is open what to do."""
    times = assessment.medium_ions.times_the_reading
    return np.maximum(times, 1.0 / times) >= MOST_APART


def find_doubts(assessment: Assessment, sample: int, notes: Notes) -> None:
    """Say which figures of a sample can hardly be."""
    given, doubts = assessment.given, assessment.doubts
    for field, *signs in contradicting(given, sample):
        names = [say(f"observations.name.{sign}") for sign in signs]
        notes.find(_CONTRADICTING[field], "caution", f"/{field}", names=names)
    if doubts.low_ec[sample]:
        ec = float(given.samples.medium.ec[sample])
        notes.find("unusually_low_ec", "caution", "/medium/ec", ec=ec, times=1000 * ec)
    if impossible_ph(given)[sample]:
        ph = float(given.samples.medium.ph[sample])
        notes.find(UNUSUAL_PH, "caution", "/medium/ph", ph=ph)
    if doubts.water_ec[sample]:
        water = float(given.samples.water.ec[sample])
        notes.find("unusual_water_ec", "caution", "/water/ec", ec=water)
    for place, row in enumerate(assessment.containers_of(sample)):
        at = f"/containers/{place}"
        if doubts.volume[row]:
            volume = float(given.containers.volume[row])
            notes.find("unusual_volume", "caution", f"{at}/volume", volume=volume)
        if doubts.height[row]:
            told = {"height": float(given.containers.height[row]), "width": doubts.width.item(row)}
            notes.find("unusual_height", "caution", f"{at}/height", **told)


def find_open_ends(assessment: Assessment, notes: Notes) -> None:
    """Say which verdicts on the first sample differ at the ends of what a request leaves open.

    Parameters
    ----------
    assessment : Assessment
        Of the sample, and of the same at the ends of each.
    notes : Notes
        Where to say it.
    """
    for which in assessment.ends:
        if differing := _differing_at_ends(assessment, which):
            notes.find(which, "caution", _FIELDS[which], differing=differing)


def _differing_at_ends(assessment: Assessment, which: str) -> list[Message]:
    """Return the verdicts on the first sample that differ at the ends of something."""
    found = assessment.ends_of(which)
    if found is None:
        return []
    differing = [*_causes(assessment, *found), *_crops(assessment, *found)]
    if which == NITROGEN_FORM:
        differing += _of_ions(assessment, *found)
        differing = [replace(each, id=f"doubts.{which}") for each in differing]
    return differing


def leaves_open(assessment: Assessment, doubt: str, chosen: Collection[str]) -> bool:
    """Tell whether a doubt leaves open one of these causes, or how a crop fares.

    Parameters
    ----------
    assessment : Assessment
        Of the sample, and of the same at the ends of what is open.
    doubt : str
        Id of the finding.
    chosen : collection of str
        Ids of causes.
    """
    found = assessment.ends_of(doubt)
    if found is None:
        return True
    verdicts = np.asarray(assessment.causes.findings.diagnosis.verdict)
    differ = {
        cause for cause, low, high in zip(causes(), *verdicts[[*found]], strict=True) if low != high
    }
    return bool(differ & {*chosen}) or bool(_crops(assessment, *found))


def charge_is_open(assessment: Assessment) -> bool:
    """Tell whether the form of the nitrogen decides if the charges of the medium add up."""
    found = assessment.ends_of(NITROGEN_FORM)
    if found is None:
        return False
    balance = assessment.medium_ions.balance
    verdicts, errors = balance.verdict[list(found)], balance.error[list(found)]
    return bool(verdicts[0] != verdicts[1] and np.abs(errors).max() < _ONE_SIGN_ALONE)


def _causes(assessment: Assessment, low: int, high: int) -> list[Message]:
    verdicts = np.asarray(assessment.causes.findings.diagnosis.verdict)
    return [
        _differing(say(f"causes.name.{cause}"), CERTAINTIES[least], CERTAINTIES[most])
        for cause, least, most in zip(causes(), verdicts[low], verdicts[high], strict=True)
        if least != most and max(least, most) >= POSSIBLE
    ]


def _crops(assessment: Assessment, low: int, high: int) -> list[Message]:
    rows = (assessment.plantings_of(sample) for sample in (low, high))
    verdicts = assessment.crops.verdicts.verdict
    return [
        _differing(
            assessment.crop_of(least).name,
            VERDICTS[Verdict(int(verdicts[least]))],
            VERDICTS[Verdict(int(verdicts[most]))],
        )
        for least, most in zip(*rows, strict=True)
        if verdicts[least] != verdicts[most]
    ]


def _of_ions(assessment: Assessment, low: int, high: int) -> list[Message]:
    """Return the EC that is used for a reading, and the charge balance, where they differ."""
    ends = [low, high]
    ions, ec = assessment.medium_ions, assessment.batch.samples.medium.ec[ends]
    found = []
    if assessment.ec_is_lower_bound[ends].all() and abs(ec[1] / ec[0] - 1) > _ALIKE:
        found.append(("ec_at_least", [Amount(float(each), "dS/m") for each in ec]))
    if charge_is_open(assessment):
        errors = ions.balance.error[ends]
        found.append(("charge_balance", [Amount(float(each), "%") for each in errors]))
    return [
        say("doubts.differing", what=say(f"doubts.{what}"), low=least, high=most)
        for what, (least, most) in found
    ]


def _differing(what: Message | str, low: str, high: str) -> Message:
    ends = {"low": say(f"doubts.{low}"), "high": say(f"doubts.{high}")}
    return say("doubts.differing", what=what, **ends)
