"""Leaching season-long: what each crop requires, and the fraction that pots were measured at."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.vocabulary import STAGES
from saltcalc.message import Message, say
from saltcalc.parts.notes import Notes
from saltcalc.parts.readings import EcReadings
from saltcalc.parts.shown import Column, Text, how_known, part, row_of, shown, shows, source_keys
from saltcalc.science import leaching
from saltcalc.science._arrays import Floats
from saltcalc.science.crop_response import zero_yield_ec

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

DISAGREEMENT = 1.5
"""Ratio of the two ways, either way, from which it is remarked on: judgement."""

_MOST_TOLD = 3

ADVISED = (0.10, 0.20)
"""Leaching fraction usually advised for container crops (Million & Yeager; Yeager 2007)."""


@part
class Leaching:
    """What share of every watering must drain, one row a planting; NaN where that has no meaning.

    Attributes
    ----------
    requirement : (k,) ndarray
        After Rhoades (1974), at the crop's threshold.
    requirement_high_frequency : (k,) ndarray
        For frequent watering, at the EC without yield.
    water_factor : (k,) ndarray
        Water applied for each litre used, at ``requirement``.
    """

    crop: str = shown()
    stage: str = shown(choices=STAGES)
    requirement: Column = shown("After Rhoades: ECw / (5 ECe − ECw).", "1")
    requirement_high_frequency: Column = shown("For frequent watering: ECw / (2 max ECe).", "1")
    water_factor: Column = shown("Water applied for each litre used: 1 / (1 − LR).", "1")

    @property
    @shows()
    def sentence(self) -> Message | None:
        """The requirement in words."""
        if math.isnan(self.requirement):
            return None
        return say("leaching.requirement", requirement=self.requirement)

    provenance: str = how_known()
    sources: list[str] = source_keys()


def assess_leaching(assessment: Assessment) -> Leaching:
    """Compute the leaching requirement of each planting with the water of its sample."""
    water_ec = assessment.water_ec[assessment.batch.plantings.sample]
    threshold = np.asarray(assessment.crop_limits.threshold)
    slope = np.asarray(assessment.crop_limits.slope)
    requirement = leaching.leaching_requirement_rhoades(water_ec, threshold)
    return Leaching(
        crop=assessment.crop_ids,
        stage=assessment.stage_names,
        requirement=requirement,
        requirement_high_frequency=leaching.leaching_requirement_high_frequency(
            water_ec, zero_yield_ec(threshold, slope)
        ),
        water_factor=leaching.water_factor(requirement),
        provenance="",
        sources=[],
    )


def show_leaching(assessment: Assessment, sample: int, notes: Notes) -> list[Leaching] | None:
    """Return the leaching requirements of a sample's crops, or None without crop or water."""
    rows = assessment.plantings_of(sample)
    missing = [] if rows else ["/crops"]
    if not assessment.water_is_known[sample]:
        missing.append("/water/ec")
    if missing:
        notes.missing("leaching", *missing)
        return None
    return [_show(assessment, row, f"leaching/{place}", notes) for place, row in enumerate(rows)]


def _show(assessment: Assessment, row: int, part: str, notes: Notes) -> Leaching:
    found: Leaching = row_of(assessment.leaching, row)
    crop = assessment.crop_of(row)
    ec = float(assessment.water_ec[assessment.batch.plantings.sample[row]])
    told = {"ec": ec, "crop": crop.name, "threshold": crop.threshold}
    if math.isnan(crop.threshold):
        notes.miss(part, [], say("missing.leaching_of_crop", crop=crop.name))
    elif math.isnan(found.requirement):
        notes.find("water_too_saline", "stop", f"{part}/requirement", **told)
    elif ec > crop.threshold:
        notes.find(
            "leaching_requirement_out_of_range",
            "caution",
            f"{part}/requirement",
            requirement=found.requirement,
            **told,
        )
    return replace(found, **notes.rest_on(crop, also=("rhoades_1974", "fao29")))


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
    pot_count: int = shown()


@part
class LeachingFractions:
    """Leaching fractions of pots, with their mean and spread."""

    pots: list[PotLeachingFraction] = shown()
    spread_from_volumes: Spread = shown()
    spread_from_ec: Spread = shown()
    sentence: Text = shown()


def leaching_fractions(
    names: list[str | None],
    applied: Floats,
    collected: Floats,
    water: EcReadings,
    drainage: EcReadings,
    notes: Notes,
) -> LeachingFractions:
    """Return the leaching fraction of each pot by volume and by EC, with mean and spread.

    Parameters
    ----------
    names : list of str or None
        Of the pots.
    applied, collected : (pots,) ndarray
        [L]; NaN where not given.
    water, drainage : EcReadings
        EC of what each pot got, and of what drained from it.
    notes : Notes
        Where to note what was found.
    """
    pots = PotLeachingFraction(
        name=np.array(names, dtype=object),  # type: ignore[arg-type]
        from_volumes=leaching.leaching_fraction_from_volumes(applied, collected),
        from_ec=leaching.leaching_fraction_from_ec(water.ec, drainage.ec),
    )
    for place in range(applied.size):
        if collected[place] > applied[place]:
            notes.find("more_collected_than_applied", "caution", f"/pots/{place}/collected")
        if drainage.ec[place] < water.ec[place]:
            notes.find("drainage_weaker_than_water", "caution", f"/pots/{place}/ec_drainage")
    by_volume, by_ec = _spread(pots.from_volumes), _spread(pots.from_ec)
    notes.cite("fao29", "million_yeager")
    return LeachingFractions(
        pots=[row_of(pots, place) for place in range(applied.size)],
        spread_from_volumes=by_volume,
        spread_from_ec=by_ec,
        sentence=(_drained(by_volume, by_ec), *_disagreement(names, pots)),
    )


def _spread(fractions: Floats) -> Spread:
    found = leaching.spread(fractions)
    return Spread(float(found.mean), float(found.standard_deviation), int(found.number))


def _drained(by_volume: Spread, by_ec: Spread) -> Message:
    mean = float(by_volume.mean)
    low, high = ADVISED
    if math.isnan(mean):
        if np.isnan(by_ec.mean):
            return say("leaching.fraction_unknown")
        return say("leaching.fraction_by_ec", percent=100 * by_ec.mean)
    which = "low" if mean < low else "high" if mean > high else "usual"
    return say(f"leaching.fraction_{which}", percent=100 * mean)


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
