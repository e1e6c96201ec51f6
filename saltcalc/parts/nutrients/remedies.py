"""What usually helps where a nutrient or the pH is out of its range, in generic terms."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.data.causes import causes
from saltcalc.data.nutrients import NUTRIENTS, amendment_figures, nutrient_ranges
from saltcalc.message import Message, say
from saltcalc.parts.causes.remedies import barred
from saltcalc.parts.notes import Notes
from saltcalc.parts.nutrients.arrays import (
    ORGANIC_NITROGEN_CONTENT,
    TARGET_NITRATE_N,
)
from saltcalc.parts.nutrients.cat import is_mineral_nitrogen
from saltcalc.parts.shown import Text, part, row_of, shown, source_keys
from saltcalc.science.diagnosis import POSSIBLE, UNLIKELY
from saltcalc.science.nutrients import NutrientStatus
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

COMPLETE_FEED_FROM = 3
"""How many of the fed elements must be short before a complete feed is better than single salts."""

LEAST_QUARTER = 0.25
"""Share of the range of magnesium up to which lime had better bring some (judgement)."""

_FED = ("nitrate_n", "phosphorus", "potassium", "calcium", "magnesium")
_WASHED_OUT = ("sodium", "chloride")
_NONE = Interval.of(math.nan, math.nan, math.nan)


REMEDIES = (
    "dolomitic_lime",
    "ground_limestone",
    "less_alkalinity",
    "liquid_feed",
    "organic_nitrogen",
    "let_ammonium_turn",
    "stop_feeding",
    "feed_weaker",
    "wash_out",
    "complete_feed",
    "magnesium_salt",
    "calcium_salt",
)
"""Ids of what usually helps."""


@part
class Remedy:
    """What usually helps, in generic terms."""

    id: str = shown(choices=REMEDIES)
    nutrients: list[str] = shown("What it helps against.", key="for", choices=NUTRIENTS)
    sentence: Text = shown()
    rate: Interval = shown("To mix in, by volume of medium.", "g/L", optional=True)
    wait: Interval = shown("How long to wait before sowing.", "week", optional=True)
    sources: list[str] = source_keys()


def magnesium_is_scarce(assessment: Assessment, sample: int) -> bool:
    """Tell whether magnesium is low, or in the lowest quarter of its range.

    Where the range that governs has no upper end, that of another range for the same extract is
    taken.
    """
    place = NUTRIENTS.index("magnesium")
    nutrients = assessment.nutrients
    value, low = nutrients.judged.value[sample, place], nutrients.low[sample, place]
    code = int(nutrients.limits[sample, place])
    if np.isnan(value) or code < 0:
        return False
    governing = nutrients.ranges[code]
    others = (
        each
        for each in nutrient_ranges()
        if (each.nutrient, each.method, each.plants) == ("magnesium", governing.method, "general")
    )
    ends = (each.high for each in (governing, *others))
    highs = [end for end in ends if end is not None and not math.isnan(end)]
    top = highs[0] if highs else low
    return bool(value < low + LEAST_QUARTER * (top - low))


def nutrients_at(assessment: Assessment, status: NutrientStatus, sample: int) -> set[str]:
    """Return the nutrients of a sample, pH among them, that have a status."""
    places = np.flatnonzero(assessment.nutrients.status[sample] == status)
    return {NUTRIENTS[place] for place in places}


def shortage_is_unlikely(assessment: Assessment, sample: int) -> bool:
    """Tell whether a shortage of nitrogen is unlikely to be why plants stall."""
    shortage = list(causes()).index("nitrogen_shortage")
    return bool(assessment.causes.findings.diagnosis.verdict[sample, shortage] == UNLIKELY)


def _may_be_salty(assessment: Assessment, sample: int) -> bool:
    """Tell whether too much salt in all may be why plants stall: only then are they not fed."""
    salts = list(causes()).index("total_salts")
    return bool(assessment.causes.findings.diagnosis.verdict[sample, salts] >= POSSIBLE)


def show_remedies(assessment: Assessment, sample: int, notes: Notes) -> Iterator[Remedy]:
    """Yield what usually helps a sample."""
    low = nutrients_at(assessment, NutrientStatus.LOW, sample)
    high = nutrients_at(assessment, NutrientStatus.HIGH, sample)
    short = [each for each in _FED if each in low]
    complete = len(short) >= COMPLETE_FEED_FROM or bool({"phosphorus", "potassium"} & low)
    if "ph" in low and not math.isnan(assessment.nutrients.target_ph[sample]):
        yield _lime(assessment, sample, notes)
    if "ph" in high:
        which = "_with_ammonium" if "ammonium_n" in high else ""
        yield _remedy("less_alkalinity", ["ph"], (say(f"remedy.less_alkalinity{which}"),), notes)
    if "nitrate_n" in low and "ammonium_n" not in high:
        unlikely = shortage_is_unlikely(assessment, sample)
        if not complete:
            which = "later" if unlikely else "now"
            yield _remedy("liquid_feed", ["nitrate_n"], _try(f"remedy.liquid_feed_{which}"), notes)
        if not (unlikely or is_mineral_nitrogen(assessment, sample)):
            yield _organic_nitrogen(assessment, sample, notes)
    if "ammonium_n" in high:
        # It is kept warm so that ammonium turns into nitrate, but not where ammonia is free.
        free = not barred(assessment, sample, "air_and_lower_ph")
        yield _remedy(
            "let_ammonium_turn",
            ["ammonium_n"],
            (say(f"remedy.{'let_ammonia_go' if free else 'let_ammonium_turn'}"),),
            notes,
            "mattson_2011",
            "umass_ammonium_2019",
        )
    if "nitrate_n" in high:
        which = "stop_feeding" if _may_be_salty(assessment, sample) else "feed_weaker"
        yield _remedy(which, ["nitrate_n"], (say(f"remedy.{which}"),), notes)
    if salts := [each for each in _WASHED_OUT if each in high]:
        water = assessment.given.samples.water.ions
        known = any(not math.isnan(water[each][sample]) for each in salts)
        names = [say(f"reported_ions.name.{each}") for each in salts]
        which = "flush_for" if known else "wash_out"
        yield _remedy("wash_out", salts, (say(f"remedy.{which}", salts=names),), notes)
    if complete:
        yield _remedy("complete_feed", short, _try("remedy.complete_feed"), notes)
    elif "ph" not in low:
        for nutrient in ("magnesium", "calcium"):
            if nutrient in low:
                salt = f"{nutrient}_salt"
                yield _remedy(salt, [nutrient], _try(f"remedy.{salt}"), notes)


def _try(remedy: str, /, **told: float) -> tuple[Message, ...]:
    """Say what to give, and to try it on a small batch first."""
    return say(remedy, **told), say("remedy.try_a_small_batch")


def _remedy(
    remedy: str,
    nutrients: list[str],
    sentence: tuple[Message, ...],
    notes: Notes,
    *sources: str,
    rate: Interval = _NONE,
    wait: Interval = _NONE,
) -> Remedy:
    cited = notes.cite(*(sources or ("common_practice",)))
    return Remedy(remedy, nutrients, sentence, rate, wait, cited)


def _lime(assessment: Assessment, sample: int, notes: Notes) -> Remedy:
    status = assessment.nutrients.status[sample, NUTRIENTS.index("magnesium")]
    kind = "ground" if status == NutrientStatus.CANNOT_TELL else "calcitic"
    kind = "dolomitic" if magnesium_is_scarce(assessment, sample) else kind
    (wait,) = amendment_figures("dolomitic_lime", "weeks_moist_before_use")
    (full,) = amendment_figures("dolomitic_lime", "weeks_to_full_effect")
    rates = amendment_figures("dolomitic_lime", "rate_per_ph_unit")
    liming = _try(
        "remedy.liming",
        ph=float(assessment.nutrients.target_ph[sample]),
        wait_low=wait.low,
        wait_high=wait.high,
        full_low=full.low,
        full_high=full.high,
    )
    return _remedy(
        "dolomitic_lime" if kind == "dolomitic" else "ground_limestone",
        ["ph", "magnesium"] if kind == "dolomitic" else ["ph"],
        (say(f"remedy.{kind}_limestone"), *liming),
        notes,
        *(each.source for each in rates),
        wait.source,
        full.source,
        rate=row_of(assessment.nutrients.lime, sample),
        wait=Interval.of(math.sqrt(wait.low * wait.high), wait.low, wait.high),
    )


def _organic_nitrogen(assessment: Assessment, sample: int, notes: Notes) -> Remedy:
    (release,) = amendment_figures("organic_nitrogen", "released_in_2_weeks")
    return _remedy(
        "organic_nitrogen",
        ["nitrate_n"],
        _try(
            "remedy.organic_nitrogen",
            content=ORGANIC_NITROGEN_CONTENT,
            nitrate=TARGET_NITRATE_N,
            low=release.low,
            high=release.high,
        ),
        notes,
        release.source,
        "warncke_1998",
        "vce_organic_n",
        rate=row_of(assessment.nutrients.organic_nitrogen, sample),
        wait=Interval.of(2.0, 2.0, 2.0),
    )
