"""The leaching fraction that pots were measured at, against what their crop and water need."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.message import Message, say
from saltcalc.parts.assumptions import EcReadings
from saltcalc.parts.containers import REFERENCE_HEIGHT
from saltcalc.parts.leaching import requirements, show_requirement
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import Amount, Column, Text, part, row_of, shown
from saltcalc.science import leaching
from saltcalc.science._arrays import Floats

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

DISAGREEMENT = 1.5
"""Ratio of the two ways, either way, from which it is remarked on: judgement."""

_MOST_TOLD = 3


@dataclass(frozen=True)
class PotWater:
    """What pots got and gave.

    Attributes
    ----------
    names : list of str or None
    applied, collected : (pots,) ndarray
        [L]; NaN where not given.
    water, drainage : EcReadings
        EC of what each pot got, and of what drained from it.
    """

    names: list[str | None]
    applied: Floats
    collected: Floats
    water: EcReadings
    drainage: EcReadings


@part
class PotLeachingFraction:
    """The leaching fraction of each pot, one row a pot."""

    name: str | None = shown()
    from_volumes: Column = shown("Collected over applied.", "1")
    from_ec: Column = shown("EC applied over EC of the drainage.", "1")


@part
class Spread:
    """Mean and scatter over the pots."""

    mean: Column = shown("Mean.", "1")
    standard_deviation: Column = shown("Of the sample of pots; null for fewer than two.", "1")
    pot_count: int = shown("Number of pots.")


@part
class LeachingFractions:
    """Leaching fractions of pots, with their mean and spread."""

    pots: list[PotLeachingFraction] = shown("The pots, in the order of the request.")
    spread_from_volumes: Spread = shown()
    spread_from_ec: Spread = shown()
    verdict: str | None = shown(
        "Of the fractions by volume; null without any.", choices=leaching.LEACHING_VERDICTS
    )
    needed: float = shown("What crop and water need; null where not known or not to be met.", "1")
    lowest_quarter: float = shown("Mean of the lowest quarter of the pots, by volume.", "1")
    sentence: Text = shown()


def leaching_fractions(
    assessment: Assessment, measured: PotWater, notes: Notes
) -> LeachingFractions:
    """Return the leaching fraction of each pot by volume and by EC, and what they come to.

    Parameters
    ----------
    assessment : Assessment
        Of the water and the crops of the pots.
    measured : PotWater
        What the pots got and gave.
    notes : Notes
        Where to note what was found.
    """
    pots = PotLeachingFraction(
        name=np.array(measured.names, dtype=object),  # type: ignore[arg-type]
        from_volumes=leaching.leaching_fraction_from_volumes(measured.applied, measured.collected),
        from_ec=leaching.leaching_fraction_from_ec(measured.water.ec, measured.drainage.ec),
    )
    for place in range(measured.applied.size):
        if measured.collected[place] > measured.applied[place]:
            notes.find("more_collected_than_applied", "caution", f"/pots/{place}/collected")
        if measured.drainage.ec[place] < measured.water.ec[place]:
            notes.find("drainage_weaker_than_water", "caution", f"/pots/{place}/ec_drainage")
    by_volume, by_ec = _spread(pots.from_volumes), _spread(pots.from_ec)
    notes.cite("fao29", "million_yeager", "yeager_2007")
    needed = _needed(assessment, notes)
    known = pots.from_volumes[~np.isnan(pots.from_volumes)]
    judged = leaching.judge_leaching(known, needed) if known.size else None
    return LeachingFractions(
        pots=[row_of(pots, place) for place in range(measured.applied.size)],
        spread_from_volumes=by_volume,
        spread_from_ec=by_ec,
        verdict=judged.verdict if judged else None,
        needed=needed if needed < 1 else math.nan,
        lowest_quarter=judged.lowest_quarter if judged else math.nan,
        sentence=(
            *_drained(judged, by_ec, known.size, needed),
            *_disagreement(measured.names, pots),
        ),
    )


def _needed(assessment: Assessment, notes: Notes) -> float:
    """Return the most that a crop needs; 1 where no draining is enough, NaN where not known."""
    rows = assessment.plantings_of(0)
    if not rows or not assessment.water_is_known[0]:
        return math.nan
    if not assessment.containers_of(0):
        height = Amount(REFERENCE_HEIGHT, "cm")
        reason = say("assumption.reference_height")
        notes.assume("reference_height", height, reason, "/containers", "common_practice")
    found = requirements(assessment, np.ones(len(rows), dtype=bool))
    shown = [
        show_requirement(assessment, found, row, f"/crops/{place}", notes)
        for place, row in enumerate(rows)
    ]
    asked = [
        1.0 if math.isnan(each.requirement) else float(each.requirement)
        for each in shown
        if each.rule is not None
    ]
    return max(asked, default=math.nan)


def _spread(fractions: Floats) -> Spread:
    found = leaching.spread(fractions)
    return Spread(float(found.mean), float(found.standard_deviation), int(found.number))


def _drained(
    judged: leaching.LeachingJudgement | None, by_ec: Spread, number: int, needed: float
) -> Iterator[Message]:
    if judged is None:
        known = not math.isnan(by_ec.mean)
        which = "fraction_by_ec" if known else "fraction_unknown"
        yield say(f"leaching.{which}", percent=100 * by_ec.mean)
        return
    basis = "usual" if math.isnan(needed) else "needed"
    told = {"mean": 100 * judged.mean, "needed": 100 * needed}
    if judged.verdict == "uneven":
        yield say(
            "leaching.uneven",
            lowest=100 * judged.lowest_quarter,
            below=judged.below_needed,
            number=number,
            **told,
        )
    elif judged.verdict == "fits" and judged.mean < needed:
        yield say("leaching.hardly_fits_needed", **told)
    elif needed >= 1:
        yield say("leaching.no_share_helps", **told)
    elif basis == "usual" and judged.verdict == "fits" and not _is_usual(judged.mean):
        yield say("leaching.near_usual", **told)
    else:
        yield say(f"leaching.{judged.verdict}_{basis}", **told)
    if basis == "usual":
        yield say("leaching.give_crop_and_water")


def _is_usual(fraction: float) -> bool:
    low, high = leaching.USUAL_FRACTIONS
    return low <= fraction <= high


def _disagreement(names: list[str | None], pots: PotLeachingFraction) -> Iterator[Message]:
    """Remark where the two ways disagree by more than :data:`DISAGREEMENT`."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = pots.from_ec / pots.from_volumes
    rows = np.flatnonzero((ratio > DISAGREEMENT) | (ratio < 1 / DISAGREEMENT))
    if not rows.size:
        return
    listed = [
        say(
            "leaching.pot" if names[row] is None else "leaching.named_pot",
            name=names[row],
            number=int(row) + 1,
            by_volume=100 * float(pots.from_volumes[row]),
            by_ec=100 * float(pots.from_ec[row]),
        )
        for row in rows[:_MOST_TOLD]
    ]
    if rows.size > _MOST_TOLD:
        listed.append(say("leaching.more_pots", number=int(rows.size) - _MOST_TOLD))
    yield say("leaching.disagreement", pots=listed)
    if np.any(ratio[rows] > 1):
        yield say("leaching.more_by_ec")
    if np.any(ratio[rows] < 1):
        yield say("leaching.less_by_ec")
    yield say("leaching.follow_volumes")
