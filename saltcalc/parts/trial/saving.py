"""What it costs to save the medium of one container, against a new one."""

from __future__ import annotations

import math

from saltcalc.case.vocabulary import DRAINAGE
from saltcalc.message import Message, say
from saltcalc.parts.flush.show import FlushPlan
from saltcalc.parts.shown import Text, part, shown
from saltcalc.parts.trial.actions import Mending, say_lost
from saltcalc.parts.trial.reading import SALTY
from saltcalc.science.diagnosis import SUPPORTED
from saltcalc.science.instruction import PRACTICAL_POURINGS

KEEP = ("keep", "either", "replace")

LONG = 36.0
"""Hours from which days are told."""


@part
class Saving:
    """What it costs to save the medium of one container, against a new one."""

    advice: str = shown("Whether to keep the medium or to replace it.", choices=KEEP)
    water_per_container: float = shown("To pour.", "L")
    time: float = shown("From the first pass to the last.", "h", optional=True)
    drained_per_container: float = shown("To catch.", "L", optional=True)
    nitrogen_lost: float = shown(
        "Nitrate nitrogen carried off; the sentence tells ammonium too.", "mg", optional=True
    )
    new_medium: float = shown("Medium to take instead.", "L")
    sentence: Text = shown()


def saving_of(mending: Mending) -> Saving | None:
    """Return what a flush costs against new medium, where salts are to be washed out."""
    if not any(mending.causes.get(each) == SUPPORTED for each in SALTY):
        return None
    rows = mending.assessment.containers_of(mending.sample)
    for row, plan in zip(rows[:1], mending.plans(), strict=False):
        volume = float(mending.assessment.batch.containers.volume[row])
        if not plan.passes:
            sealed = plan.drainage == DRAINAGE[1]
            which = "sealed" if sealed else "out_of_reach"
            said = say(f"trial.keep_{which}", volume=volume)
            return Saving("replace", math.nan, math.nan, math.nan, math.nan, volume, said)
        litres = float(plan.water_per_container.value)
        many = plan.passes > PRACTICAL_POURINGS
        advice = "keep" if not many else "either"
        lost = _lost(plan, "nitrate_n")
        said = say(
            f"trial.{advice}_it",
            time=_duration(float(plan.time_needed)),
            drained=float(plan.drained_per_container),
            volume=volume,
            lost=say_lost("trial.nitrogen_lost", lost, _lost(plan, "ammonium_n")) or "",
        )
        return Saving(
            advice,
            litres,
            float(plan.time_needed),
            float(plan.drained_per_container),
            lost,
            volume,
            said,
        )
    return None


def _duration(hours: float) -> Message:
    """Tell how long a flush takes; the days of a long one, begun days whole."""
    if hours >= LONG:
        return say("days", count=math.ceil(hours / 24))
    return say("trial.hours", hours=hours)


def _lost(plan: FlushPlan, nutrient: str) -> float:
    lost = plan.costs.carried_off if plan.costs else None
    if lost is None or nutrient not in lost.of_nutrients:
        return math.nan
    return float(lost.lost.values[lost.of_nutrients.index(nutrient)])
