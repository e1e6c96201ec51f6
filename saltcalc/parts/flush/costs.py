"""What a flush costs besides water, and what the EC does afterwards."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.batch import NOT_GIVEN, Solutions
from saltcalc.data.nutrients import governing_range, nitrogen_sources
from saltcalc.data.reported_ions import molar_mass, reported_ions
from saltcalc.data.substrates import substrates
from saltcalc.data.washout import (
    RETAINED_NUTRIENTS,
    SlowRelease,
    ion_retention,
    nutrient_retention,
    slow_releases,
)
from saltcalc.message import Message, say
from saltcalc.parts.crops.tolerance import EXTRACT
from saltcalc.parts.flush.case import poured_water
from saltcalc.parts.flush.plan import FlushResult
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import (
    Column,
    Series,
    Text,
    how_known,
    note_of,
    part,
    row_of,
    shown,
    source_keys,
)
from saltcalc.science._arrays import Floats, filled
from saltcalc.science.feed import ec_of_nitrate, nitrogen_to_add, source_mass
from saltcalc.science.nutrient_loss import NutrientLoss, nutrient_loss
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

DRINKING_LIMITS = (
    (10.0, ("us_epa_nitrate",)),
    (50.0 * molar_mass("N") / molar_mass("NO3"), ("who_2017_nitrate", "eu_2020_2184")),
)
"""Limits of nitrate in drinking water, as nitrogen [mg/L], with their sources."""

REMEASURE_DAYS = 3
"""Days after which to measure again (common practice)."""


@dataclass(frozen=True)
class FlushCosts:
    """What the plans carry off, one row a container.

    Attributes
    ----------
    nutrients : dict of str to NutrientLoss of (m,) ndarray
        What the flush carries off [mg], [mg/L].
    nitrogen_wanted, nitrogen_to_add : (m,) ndarray
        Nitrogen wanted in the pore water [mg/L], and to be fed for it [mg].
    ec_of_feed : (m,) ndarray
        What that feed adds to the EC [dS/m].
    """

    nutrients: dict[str, NutrientLoss]
    nitrogen_wanted: Column
    nitrogen_to_add: Column
    ec_of_feed: Column


@part
class NutrientCosts:
    """What the flush carries off of each nutrient that was reported."""

    of_nutrients: list[str] = shown("The nutrients that were reported.", choices=RETAINED_NUTRIENTS)
    lost: Series = shown("Nutrients carried off from one container, less what the water brings.")
    share_lost: Series = shown(
        "Share of what was dissolved and held on the medium that is carried off."
    )
    in_drainage: Series = shown("Concentration in all the drainage, mixed.")
    left_in_pore_water: Series = shown("Concentration in the pore water afterwards.")
    provenance: str = how_known()
    sources: list[str] = source_keys()


@part
class DrinkingWater:
    """The nitrate of the drainage against a limit for drinking water."""

    limit: float = shown("Nitrate as nitrogen.", "mg/L")
    over_limit: float = shown("Drainage over that limit.", "1")
    sources: list[str] = source_keys()


@part
class NitrogenSource:
    """One generic source of nitrogen."""

    id: str = shown(choices=[source.id for source in nitrogen_sources()])
    name: Message = shown()
    mass_per_container: float = shown("Mass that holds the nitrogen.", "g")
    note: Message | str = shown(optional=True)
    provenance: str = how_known()
    sources: list[str] = source_keys()


@part
class Feed:
    """Feed that brings nitrogen back."""

    nitrogen_wanted: float = shown("Nitrate nitrogen wanted in the pore water.", "mg/L")
    nitrogen_per_container: float = shown("Nitrogen to add to one container.", "mg")
    nitrogen_total: float = shown("Nitrogen to add to all containers.", "mg")
    ec_rise: float = shown("What it adds to the EC of the pore water.", "dS/m")
    generic_sources: list[NitrogenSource] = shown(
        "Fertilizers that bring that nitrogen.", optional=True
    )
    sentence: Text = shown()
    sources: list[str] = source_keys()


@part
class Costs:
    """What the flush costs besides water."""

    carried_off: NutrientCosts = shown()
    drainage_nitrate_n: float = shown("Nitrate nitrogen in the drainage.", "mg/L")
    drinking_water: list[DrinkingWater] = shown(
        "The nitrate of the drainage against limits for drinking water."
    )
    feed: Feed | None = shown(optional=True)


@part
class Rebound:
    """What the EC does after the flush."""

    ec_settled: float = shown(
        "EC of the pore water once standing water and medium have evened out.", "dS/m"
    )
    days: float = shown("When to measure again.", "day")
    ec_after_days: Interval = shown(
        "EC of the pore water expected then, slow release included.", "dS/m"
    )
    sentence: Text = shown()
    sources: list[str] = source_keys()


def assess_flush_costs(assessment: Assessment) -> FlushCosts:
    """Follow the nutrients through the flush of every container."""
    nutrients = _nutrients(assessment)
    case = assessment.flush_case
    # The low end of the published range, as pore water.
    published = governing_range(EXTRACT, "nitrate_n")
    low = np.nan if published is None or published.low is None else published.low
    wanted = np.asarray(low * case.pore_over_extract)
    left = nutrients["nitrate_n"].after + filled(nutrients["ammonium_n"].after, 0.0)
    added = nitrogen_to_add(left, wanted, case.flush.water_held)
    return FlushCosts(
        nutrients=nutrients,
        nitrogen_wanted=wanted,
        nitrogen_to_add=added,
        ec_of_feed=ec_of_nitrate(added / np.asarray(case.flush.water_held)),
    )


def _nutrients(assessment: Assessment) -> dict[str, NutrientLoss]:
    """Follow each reported nutrient; one that the water's report leaves out is not in the water.

    Of a container that cannot drain, through the flush that it takes once it can.
    """
    samples, case = assessment.batch.samples, assessment.flush_case
    store = _held_over_dissolved()[:, samples.substrate[case.owner]]
    in_medium, in_water = (
        np.stack([reported(solutions, name)[case.owner] for name in RETAINED_NUTRIENTS])
        for solutions in (samples.medium, poured_water(assessment.batch))
    )
    if np.isnan(in_medium).all():
        nothing = NutrientLoss(*np.full((4, case.owner.size), np.nan))
        return dict.fromkeys(RETAINED_NUTRIENTS, nothing)
    in_water = filled(in_water, 0.0)
    held, plan = np.asarray(case.flush.water_held), assessment.flush_plan
    passes = np.where(case.sealed, plan.advice.instruction.passes, plan.told.passes)
    efficiency, immobile, rate, _ = (interval.value for interval in case.known.washout)
    soaked = plan.kept / held
    loss = nutrient_loss(
        in_medium * case.pore_over_reading + in_water * soaked / (1.0 + store),
        in_water,
        held,
        case.flush.pass_volume,
        passes,
        plan.advice.timing,
        (efficiency, immobile, rate),
        store,
    )
    return {
        name: NutrientLoss(*(figures[row] for figures in loss))
        for row, name in enumerate(RETAINED_NUTRIENTS)
    }


@cache
def _held_over_dissolved() -> Floats:
    """Work out what is held of each nutrient over what is dissolved, shape (nutrients, substrates).

    Bark and coir hold more potassium than other media.
    """
    own, usual = ion_retention(), nutrient_retention()
    return np.array(
        [
            [
                own[each.medium_class, name].sorbed_ratio.value
                if (each.medium_class, name) in own
                else usual[name].sorbed_ratio
                for each in substrates().values()
            ]
            for name in RETAINED_NUTRIENTS
        ]
    )


def reported(solutions: Solutions, ion: str) -> Floats:
    """Concentration of an ion as it is reported [mg/L]."""
    return solutions.ions[ion] * reported_ions()[ion].mass_per_charge


def show_costs(assessment: Assessment, row: int, path: str, notes: Notes) -> Costs:
    """Return what a flush carries off, what that means for water, and the feed to come back."""
    costs, flush = row_of(assessment.flush_costs, row), assessment.flush_of(row)
    count = int(assessment.batch.containers.count[row])
    missing = [
        f"/medium/ions/{nutrient}"
        for nutrient, loss in costs.nutrients.items()
        if math.isnan(loss.lost)
    ]
    if missing:
        notes.miss(f"{path}/costs", missing, say("missing.flush_costs"))
    nitrate = costs.nutrients["nitrate_n"].in_drainage
    return Costs(
        carried_off=_carried_off(costs.nutrients, _medium_class(assessment, flush), notes),
        drainage_nitrate_n=nitrate,
        drinking_water=_drinking_water(nitrate, notes),
        feed=_feed(costs, flush, count, notes),
    )


def _medium_class(assessment: Assessment, flush: FlushResult) -> str:
    code = int(assessment.batch.samples.substrate[int(flush.case.owner)])
    return list(substrates().values())[code].medium_class


def _carried_off(
    nutrients: dict[str, NutrientLoss], medium_class: str, notes: Notes
) -> NutrientCosts:
    own = ion_retention()
    known = {each: loss for each, loss in nutrients.items() if not math.isnan(loss.lost)}
    losses = known.values()
    return NutrientCosts(
        of_nutrients=list(known),
        lost=Series([float(each.lost) for each in losses], "mg"),
        share_lost=Series([_share_lost(each) for each in losses], "1"),
        in_drainage=Series([float(each.in_drainage) for each in losses], "mg/L"),
        left_in_pore_water=Series([float(each.after) for each in losses], "mg/L"),
        **notes.rest_on(
            *(own.get((medium_class, each)) or nutrient_retention()[each] for each in known)
        ),
    )


def _share_lost(loss: NutrientLoss) -> float:
    return float(loss.lost) / float(loss.held_before) if loss.held_before else math.nan


def _drinking_water(nitrate: float, notes: Notes) -> list[DrinkingWater]:
    if math.isnan(nitrate):
        return []
    strictest = DRINKING_LIMITS[0][0]
    if nitrate > strictest:
        notes.find(
            "nitrate_in_drainage",
            "caution",
            "flush_plan",
            nitrate=nitrate,
            over_limit=nitrate / strictest,
            limit=strictest,
        )
    return [
        DrinkingWater(limit, nitrate / limit, notes.cite(*sources))
        for limit, sources in DRINKING_LIMITS
    ]


def _feed(costs: FlushCosts, flush: FlushResult, count: int, notes: Notes) -> Feed | None:
    nitrogen, rise = costs.nitrogen_to_add, costs.ec_of_feed
    if math.isnan(nitrogen):
        return None
    sentence = [say("flush.feed", nitrogen=nitrogen) if nitrogen > 0 else say("flush.no_feed")]
    if nitrogen > 0 and flush.settled + rise > flush.case.target_pore_water:
        sentence.append(say("flush.feed_in_small_lots"))
    return Feed(
        nitrogen_wanted=costs.nitrogen_wanted,
        nitrogen_per_container=nitrogen,
        nitrogen_total=nitrogen * count,
        ec_rise=rise,
        generic_sources=[
            NitrogenSource(
                id=source.id,
                name=say(f"nitrogen_sources.name.{source.id}"),
                mass_per_container=float(source_mass(nitrogen, source.nitrogen_share)),
                note=note_of("nitrogen_sources", source),
                **notes.rest_on(source),
            )
            for source in nitrogen_sources()
            if nitrogen > 0
        ],
        sentence=tuple(sentence),
        sources=notes.cite("warncke_1998", "hb60"),
    )


def show_rebound(assessment: Assessment, row: int, notes: Notes) -> Rebound:
    """Return what the EC does in the days after a flush."""
    flush = assessment.flush_of(row)
    settled = float(flush.settled)
    release = _slow_release(assessment, row)
    if release is None:
        after = Interval.of(settled, settled, settled)
        reading = settled / flush.case.settled_over_reading
        sentence = say("flush.measure_again", days=REMEASURE_DAYS, reading=reading)
        sources = notes.cite("common_practice")
    else:
        rates = (release.rate, release.rate_low, release.rate_high)
        after = Interval.of(*(settled + REMEASURE_DAYS * rate for rate in rates))
        told = {
            "name": say(f"slow_release.name.{release.id}"),
            "rate": release.rate,
            "days": REMEASURE_DAYS,
        }
        sentence = say("finding.salt_refills", **told)
        sources = notes.cite(release.source)
        notes.warn("salt_refills", "caution", sentence, "/medium/slow_release")
    return Rebound(
        ec_settled=settled,
        days=float(REMEASURE_DAYS),
        ec_after_days=after,
        sentence=sentence,
        sources=sources,
    )


def _slow_release(assessment: Assessment, row: int) -> SlowRelease | None:
    code = int(assessment.batch.samples.slow_release[assessment.flush_case.owner[row]])
    return None if code == NOT_GIVEN else list(slow_releases().values())[code]
