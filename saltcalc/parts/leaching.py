"""Leaching season-long: what share of every watering must drain for each crop, and by which rule.

A field soil goes by the rule of Rhoades. A container goes by the mean of its root zone, and so do
chloride and boron everywhere; the rule that asks for most governs.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.batch import ObjectArray
from saltcalc.case.vocabulary import STAGES
from saltcalc.message import Message, say
from saltcalc.parts.flush.case import GYPSUM_MARGIN
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import (
    Column,
    Series,
    Text,
    how_known,
    part,
    row_of,
    shown,
    shows,
    source_keys,
)
from saltcalc.science import leaching
from saltcalc.science._arrays import Codes, Flags, Floats
from saltcalc.science.crop_response import zero_yield_ec
from saltcalc.science.root_zone import fraction_for_mean, steady_profile

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

RULES = ("rhoades", "high_frequency", "root_zone", "chloride", "boron")
"""Ids of the rules, in the order in which they are shown."""

FRACTIONS = (0.1, 0.15, 0.2, 0.3, 0.5)
"""Leaching fractions for which the steady state is given."""

_OVER_APPLIED = steady_profile(1.0, FRACTIONS).mean

SOIL_WATER = 2.0
"""Water of a field soil over its saturation extract, by concentration (FAO 29). [-]"""


@part
class RuleRequirements:
    """The leaching requirement by every rule; null where it has none, or no draining helps."""

    rules: list[str] = shown("Ids of the rules.", choices=RULES)
    asked_shares: Series = shown("Share of every watering that must drain.")


@part
class EcAtShare:
    """What the medium comes to in the long run at each share that drains."""

    at_share: Series = shown("Share of the water that drains.")
    saturated_extract: Series = shown("Mean of the root zone, as saturated extract.")


@part
class WaterToGive:
    """Water that meets the requirement, with the water use that was given."""

    water_use: float = shown("Water that the crop uses.", "mm/day")
    rain: float = shown("Rain, taken off what is given.", "mm/day")
    water_given: float = shown("Water to give.", "mm/day")
    draining: float = shown("What drains of water and rain.", "mm/day")
    ec_with_rain: float = shown("EC of water and rain together.", "dS/m")
    water_for_containers: Series | None = shown(
        "Water to give to one container of each kind, in their order.", optional=True
    )


@part
class Leaching:
    """What share of every watering must drain, one row a planting; NaN where that has no meaning.

    Attributes
    ----------
    by_rule : (k, rules) ndarray
        Requirement by each of :data:`RULES`.
    in_container : (k,) ndarray of bool
        Where the crop grows in containers.
    ec_applied : (k,) ndarray
        EC of water and feed, rain apart [dS/m].
    limit : (k,) ndarray
        EC of the solution that the crop tolerates [dS/m].
    extract_at : (k, fractions) ndarray
        EC of the saturated extract at each of :data:`FRACTIONS` [dS/m].
    in_upkeep : (k,) ndarray of bool
        Where the answer tells that as pore water of the containers.
    to_give : leaching.LeachingWater of (k,) ndarray
        Amounts [mm/day]; NaN where no water use was given.
    use, rain : (k,) ndarray
        [mm/day]
    litres : list of ndarray
        Water for each container of the planting's sample [L/day].
    """

    crop: str = shown()
    stage: str = shown(choices=STAGES)
    requirement: Column = shown("By the rule that governs; null if no draining helps.", "1")
    rule: str | None = shown("The rule that governs.", choices=RULES)
    by_rule: Floats
    in_container: Flags

    @property
    @shows("What each rule asks for; left out where `upkeep` is shown.", optional=True)
    def requirement_by_rule(self) -> RuleRequirements | None:
        """The requirement by every rule."""
        if self.in_upkeep:
            return None
        return RuleRequirements(list(RULES), Series(self.by_rule.tolist(), "1"))

    gross_irrigation_ratio: Column = shown("Water and rain for each litre used: 1 / (1 − LR).", "1")
    ec_applied: Floats
    limit: Floats
    extract_at: Floats
    in_upkeep: Flags

    @property
    @shows("Without uptake by the crop. Left out where `upkeep` is shown.", optional=True)
    def ec_at_share(self) -> EcAtShare | None:
        """What the medium comes to at each share."""
        if self.in_upkeep:
            return None
        return EcAtShare(Series(FRACTIONS, "1"), Series(self.extract_at.tolist(), "dS/m"))

    to_give: leaching.LeachingWater
    use: Floats
    rain: Floats
    area: Floats

    @property
    @shows("Left out where no water use was given.", optional=True)
    def water_to_give(self) -> WaterToGive | None:
        """Amounts of water."""
        if math.isnan(self.use) or math.isnan(self.requirement):
            return None
        area = self.area[~np.isnan(self.area)]
        applied = float(self.to_give.applied)
        return WaterToGive(
            water_use=float(self.use),
            rain=float(self.rain),
            water_given=applied,
            draining=float(self.to_give.drained),
            ec_with_rain=float(self.to_give.ec_applied),
            water_for_containers=Series((applied * area / 10_000.0).tolist(), "L/day")
            if area.size
            else None,
        )

    @property
    @shows()
    def sentence(self) -> Text | None:
        """The requirement in words."""
        return tuple(_sentences(self)) or None

    provenance: str = how_known()
    sources: list[str] = source_keys()


def assess_leaching(assessment: Assessment) -> Leaching:
    """Compute the leaching requirement of each planting with the water of its sample."""
    batch = assessment.batch
    potted = np.bincount(batch.containers.sample, minlength=batch.samples.count) > 0
    return requirements(assessment, potted[batch.plantings.sample])


def requirements(assessment: Assessment, in_container: Flags) -> Leaching:
    """Compute leaching requirements by the rules of containers, or of field soil.

    Parameters
    ----------
    assessment : Assessment
        Of the batch.
    in_container : (k,) ndarray of bool
        Which plantings grow in containers.
    """
    batch, limits = assessment.batch, assessment.crop_limits
    sample = batch.plantings.sample
    water = assessment.water_ec[sample]
    brought = _brought(assessment, water, sample)
    use = assessment.given.samples.evapotranspiration[sample]
    rain = batch.samples.rain[sample]
    rain_share = rain_over_use(assessment, sample)
    over_extract, limit = _limits(assessment, sample, in_container)
    ions = {ion: batch.samples.water.ions[ion][sample] for ion in ("chloride", "boron")}
    ion_limits = {
        "chloride": np.asarray(limits.chloride_low) * over_extract,
        "boron": np.asarray(limits.boron_low),
    }
    threshold = np.asarray(limits.threshold)
    zero_yield = zero_yield_ec(threshold, np.asarray(limits.slope))
    by_rule = {
        "rhoades": leaching.requirement_with_rain(
            lambda ec: leaching.leaching_requirement_rhoades(ec, threshold), brought, rain_share
        ),
        "high_frequency": leaching.requirement_with_rain(
            lambda ec: leaching.leaching_requirement_high_frequency(ec, zero_yield),
            brought,
            rain_share,
        ),
    }
    shares = root_zone_requirement(
        np.stack([brought, *ions.values()]), np.stack([limit, *ion_limits.values()]), rain_share
    )
    by_rule |= dict(zip(("root_zone", *ions), shares, strict=True))
    known = {
        "rhoades": ~in_container & ~np.isnan(brought + threshold),
        "high_frequency": np.zeros(sample.shape, dtype=bool),
        "root_zone": in_container & ~np.isnan(brought + limit),
        **{ion: ~np.isnan(ions[ion] + ion_limits[ion]) for ion in ions},
    }
    governs, requirement = _governing(by_rule, known)
    return Leaching(
        crop=assessment.crop_ids,
        stage=assessment.stage_names,
        requirement=requirement,
        rule=governs,
        by_rule=np.stack([by_rule[rule] for rule in RULES], axis=-1),
        in_container=in_container,
        gross_irrigation_ratio=leaching.gross_irrigation_ratio(requirement),
        ec_applied=brought,
        limit=limit,
        extract_at=(brought / over_extract)[:, np.newaxis] * _OVER_APPLIED,
        in_upkeep=in_container & ~np.isnan(batch.samples.medium.ec[sample]),
        to_give=leaching.leaching_water(use, requirement, rain, brought),
        use=use,
        rain=rain,
        area=_areas(assessment, sample),
        provenance="",
        sources=[],
    )


def rain_over_use(assessment: Assessment, sample: Codes) -> Floats:
    """Rain over the water that is used, of the samples asked for [L/L]."""
    samples = assessment.batch.samples
    rain = samples.rain[sample]
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(rain > 0, rain / samples.evapotranspiration[sample], 0.0)


def root_zone_requirement(brought: Floats, limit: Floats, rain_share: Floats) -> Floats:
    """Share that keeps the mean of the root zone at a limit, under rain [L/L]."""
    return leaching.requirement_with_rain(
        lambda mixed: fraction_for_mean(mixed, limit), brought, rain_share
    )


def _brought(assessment: Assessment, water: Floats, sample: Codes) -> Floats:
    """EC of water and feed, with the slow release of the container that it tells most in [dS/m]."""
    release = np.zeros(assessment.batch.samples.count)
    if assessment.batch.containers.sample.size:
        watering = assessment.watering
        np.maximum.at(release, assessment.batch.containers.sample, watering.release)
    return np.asarray(water + assessment.batch.samples.feed_ec[sample] + release[sample])


def _limits(assessment: Assessment, sample: Codes, in_container: Flags) -> tuple[Floats, Floats]:
    """Return solution over saturated extract, and the limit of each planting as solution [dS/m]."""
    tolerated = np.asarray(assessment.crop_limits.threshold)
    if not in_container.any():
        return np.full(sample.shape, SOIL_WATER), tolerated * SOIL_WATER
    pore_over_extract = assessment.sample_water.pore_over_extract
    over_extract = np.where(in_container, pore_over_extract[sample], SOIL_WATER)
    tolerated = np.where(in_container, assessment.crops.max_tolerated_ec, tolerated)
    limit = np.asarray(tolerated * over_extract)
    if assessment.batch.containers.sample.size:
        # Gypsum holds the medium up there whatever drains, and plants bear it better.
        case = assessment.flush_case
        plateau = np.full(assessment.batch.samples.count, np.nan)
        plateau[case.owner] = GYPSUM_MARGIN * case.gypsum_plateau
        limit = np.where(np.isnan(limit), limit, np.fmax(limit, plateau[sample]))
    return over_extract, limit


def _governing(by_rule: dict[str, Floats], known: dict[str, Flags]) -> tuple[ObjectArray, Floats]:
    """Return the rule that asks for most, and what it asks for; one that cannot be met is most."""
    asked = np.stack(
        [
            np.where(known[rule], np.where(np.isnan(by_rule[rule]), 1.0, by_rule[rule]), -1.0)
            for rule in RULES
        ]
    )
    first, most = asked.argmax(axis=0), asked.max(axis=0)
    names: ObjectArray = np.array(RULES, dtype=object)[first]
    names[most < 0] = None
    return names, np.where((most < 0) | (most >= 1.0), np.nan, most)


def _areas(assessment: Assessment, sample: Codes) -> Floats:
    """Surface of the containers of each planting's sample [cm²], filled up with NaN."""
    rows = [assessment.containers_of(int(each)) for each in sample]
    areas = np.full((len(rows), max((len(row) for row in rows), default=0)), np.nan)
    for place, row in enumerate(rows):
        if row:
            areas[place, : len(row)] = assessment.flush_case.area[row]
    return areas


def show_leaching(assessment: Assessment, sample: int, notes: Notes) -> list[Leaching] | None:
    """Return the leaching requirements of a sample's crops, or None without crop or water."""
    rows = assessment.plantings_of(sample)
    missing = [] if rows else ["/crops"]
    if not assessment.water_is_known[sample]:
        missing.append("/water/ec")
    if missing:
        notes.missing("leaching", *missing)
        return None
    return [
        show_requirement(assessment, assessment.leaching, row, f"leaching/{place}", notes)
        for place, row in enumerate(rows)
    ]


def show_requirement(
    assessment: Assessment, result: Leaching, row: int, part: str, notes: Notes
) -> Leaching:
    """Return one planting's requirement, with what must be known before acting on it."""
    found: Leaching = row_of(result, row)
    crop = assessment.crop_of(row)
    field = f"{part}/requirement"
    if found.rule is None:
        notes.miss(part, [], say("missing.leaching_of_crop", crop=crop.name))
    elif math.isnan(found.requirement):
        if found.rule in ("rhoades", "root_zone"):
            notes.find(
                "water_too_saline",
                "stop",
                field,
                ec=found.ec_applied,
                crop=crop.name,
                limit=_tolerated(found, crop.threshold),
            )
        else:
            notes.find(
                "water_ion_too_much", "stop", field, ion=say(f"ion.{found.rule}"), crop=crop.name
            )
    elif not found.in_container and found.ec_applied > crop.threshold:
        notes.find(
            "leaching_requirement_out_of_range",
            "caution",
            field,
            ec=found.ec_applied,
            crop=crop.name,
            threshold=crop.threshold,
            requirement=float(found.by_rule[RULES.index("rhoades")]),
        )
    return replace(found, **notes.rest_on(crop, also=("rhoades_1974", "fao29")))


def _tolerated(found: Leaching, threshold: float) -> Message:
    if found.in_container:
        return say("leaching.limit_in_pores", limit=found.limit)
    return say("leaching.limit_in_extract", limit=threshold)


def _sentences(found: Leaching) -> Iterator[Message]:
    if math.isnan(found.requirement):
        return
    which = "container" if found.in_container else "field"
    yield say(f"leaching.{found.rule}_{which}", requirement=found.requirement)
    if to_give := found.water_to_give:
        yield say(
            "leaching.water_to_give",
            use=to_give.water_use,
            water=to_give.water_given,
            draining=to_give.draining,
        )
        litres = to_give.water_for_containers
        if litres and len(litres.values) == 1:
            yield say("leaching.litres_to_give", litres=litres.values[0])
