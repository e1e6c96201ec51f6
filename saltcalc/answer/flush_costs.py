"""What a flush costs besides water, and what the EC does afterwards."""

from __future__ import annotations

import math

from saltcalc.answer.quantities import EC_UNIT, SHARE_UNIT, Json, quantity
from saltcalc.answer.wording import figure
from saltcalc.case.batch import NOT_GIVEN
from saltcalc.data.atomic_weights import molar_mass
from saltcalc.data.nitrogen_sources import nitrogen_sources
from saltcalc.data.reported_ions import reported_ions
from saltcalc.data.slow_release import slow_releases
from saltcalc.data.washout import RETAINED_NUTRIENTS, nutrient_retention
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.flush_plan import FlushResult
from saltcalc.parts.notes import Notes
from saltcalc.science.feed import source_mass

DRINKING_LIMITS = (
    (10.0, ("us-epa-nitrate",)),
    (50.0 * molar_mass("N") / molar_mass("NO3"), ("who-2017-nitrate", "eu-2020-2184")),
)
"""Limits of nitrate in drinking water, as nitrogen [mg/L], with their sources."""

REMEASURE_DAYS = 3
"""Days after which to measure again (common practice)."""


def answer_costs(assessment: Assessment, row: int, count: int, part: str, notes: Notes) -> Json:
    """Return what a flush carries off, what that means for water, and the feed to come back."""
    result = assessment.flush_plan
    known, missing = [], []
    for nutrient in RETAINED_NUTRIENTS:
        loss = result.nutrients[nutrient]
        if math.isnan(loss.lost[row]):
            missing.append(f"/medium/ions/{nutrient}")
            continue
        retention = nutrient_retention()[nutrient]
        lost, before = float(loss.lost[row]), float(loss.held_before[row])
        known.append(
            {
                "nutrient": nutrient,
                "reported_as": reported_ions()[nutrient].reported_as,
                "lost_per_container": quantity(lost, "mg"),
                "lost_total": quantity(lost * count, "mg"),
                "share_lost": quantity(lost / before if before else math.nan, SHARE_UNIT),
                "in_drainage": quantity(float(loss.in_drainage[row]), "mg/L"),
                "left_in_pore_water": quantity(float(loss.after[row]), "mg/L"),
                "sources": notes.cite(retention.source),
            }
        )
    if missing:
        notes.miss(
            f"{part}/costs",
            missing,
            "What the flush carries off of a nutrient follows from its concentration in the "
            "medium.",
        )
    return {
        "nutrients": known,
        "drainage_volume": quantity(float(result.plan.drained[row]) * count, "L"),
        "drainage_nitrate_n": quantity(
            float(result.nutrients["nitrate_n"].in_drainage[row]), "mg/L"
        ),
        "drinking_water": _drinking_water(result, row, notes),
        "ec_after": quantity(float(result.plan.ec_after[row]), EC_UNIT),
        "feed": _feed(result, row, count, notes),
    }


def _drinking_water(result: FlushResult, row: int, notes: Notes) -> list[Json]:
    nitrate = float(result.nutrients["nitrate_n"].in_drainage[row])
    if math.isnan(nitrate):
        return []
    worst = nitrate / DRINKING_LIMITS[0][0]
    if worst > 1:
        notes.warn(
            "nitrate-in-drainage",
            "caution",
            f"The drainage carries about {figure(nitrate)} mg/L of nitrate nitrogen, "
            f"{figure(worst)} times the limit for drinking water ({DRINKING_LIMITS[0][0]:g} mg/L). "
            "Collect it and use it on a crop that can take the salt, under the local rules.",
            "flush_plan",
        )
    return [
        {
            "limit": quantity(limit, "mg/L"),
            "over_limit": quantity(nitrate / limit, SHARE_UNIT),
            "sources": notes.cite(*sources),
        }
        for limit, sources in DRINKING_LIMITS
    ]


def _feed(result: FlushResult, row: int, count: int, notes: Notes) -> Json | None:
    nitrogen = float(result.nitrogen_to_add[row])
    if math.isnan(nitrogen):
        return None
    after = float(result.plan.ec_after[row])
    rise, target = float(result.ec_of_feed[row]), float(result.case.target_pore_water[row])
    sentence = "Enough nitrogen is left; no feed is needed at once."
    if nitrogen > 0:
        sentence = (
            f"Feed {nitrogen:.0f} mg of nitrogen a container, dissolved in the next waterings, to "
            "come back to the low end of the usual range."
        )
        if after + rise > target:
            sentence += (
                " Give it in small lots: all at once it would lift the EC over the target again."
            )
    return {
        "nitrogen_wanted": quantity(float(result.nitrogen_wanted[row]), "mg/L"),
        "nitrogen_per_container": quantity(nitrogen, "mg"),
        "nitrogen_total": quantity(nitrogen * count, "mg"),
        "ec_rise": quantity(rise, EC_UNIT),
        "generic_sources": [
            {
                "id": source.id,
                "name": source.name,
                "mass_per_container": quantity(
                    float(source_mass(nitrogen, source.nitrogen_share)), "g"
                ),
                "note": source.note,
                "sources": notes.cite(source.source),
            }
            for source in nitrogen_sources()
            if nitrogen > 0
        ],
        "sentence": sentence,
        "sources": notes.cite("warncke-1998", "hb60"),
    }


def answer_rebound(assessment: Assessment, row: int, sample: int, notes: Notes) -> Json:
    """Return what the EC does in the days after a flush."""
    result = assessment.flush_plan
    settled = float(result.plan.ec_after[row])
    code = int(assessment.batch.samples.slow_release[sample])
    release = None if code == NOT_GIVEN else list(slow_releases().values())[code]
    if release is None:
        after = quantity(settled, EC_UNIT)
        sentence = (
            f"Measure the medium again after {REMEASURE_DAYS} days, by the same method: it worked "
            f"if that reads about {figure(settled / float(result.case.settled_over_reading[row]))} "
            "dS/m. Right after a flush the drainage reads low, then salt comes out of standing "
            "water and off the medium; the plan counts on that. Coated fertilizer or unfinished "
            "compost would add to it."
        )
        sources = notes.cite("common-practice")
    else:
        low, mid, high = (
            settled + REMEASURE_DAYS * rate
            for rate in (release.rate_low, release.rate, release.rate_high)
        )
        after = quantity(mid, EC_UNIT, low, high)
        sentence = (
            f"{release.name} goes on giving off salt, roughly {release.rate:g} dS/m a day: measure "
            f"again after {REMEASURE_DAYS} days, and expect to flush again."
        )
        sources = notes.cite(release.source)
        notes.warn("salt-refills", "caution", sentence, "/medium/slow_release")
    return {
        "ec_settled": quantity(settled, EC_UNIT),
        "days": quantity(REMEASURE_DAYS, "day"),
        "ec_after_days": after,
        "sentence": sentence,
        "sources": sources,
    }
