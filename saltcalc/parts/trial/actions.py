"""What to do to each medium of a trial, and whether to keep it or to take a new one."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import cached_property

import numpy as np

from saltcalc.case.trial import WEEKS_WANTED
from saltcalc.case.vocabulary import STAGES
from saltcalc.data.causes import causes
from saltcalc.data.nutrients import MICRONUTRIENTS, NUTRIENTS
from saltcalc.message import Message, say
from saltcalc.parts.causes.first_of_all import AMMONIUM, UNFINISHED
from saltcalc.parts.causes.remedies import first_remedy
from saltcalc.parts.causes.show import CAUSES
from saltcalc.parts.flush.pouring import say_when
from saltcalc.parts.flush.show import FlushPlan, show_flush_plan
from saltcalc.parts.notes import Notes
from saltcalc.parts.nutrients.remedies import magnesium_is_scarce
from saltcalc.parts.nutrients.supply import lasting_with, nitrogen_wanted, released_in
from saltcalc.parts.shown import Amount, Text, part, row_of, shown
from saltcalc.parts.summary.actions import say_how_to_pour
from saltcalc.parts.trial.figures import FORMS
from saltcalc.parts.trial.reading import HUNGER, SALTY, Reading
from saltcalc.parts.trial.told import labels
from saltcalc.science.diagnosis import SUPPORTED
from saltcalc.science.nutrients import NutrientStatus
from saltcalc.science.uncertainty import Interval

ACTIONS = (
    "nothing",
    "check_reading",
    "feed_nitrogen",
    "stop_feeding",
    "leach",
    "way_out",
    "organic_nitrogen",
    "dolomitic_lime",
    "calcitic_lime",
    "lower_ph",
    "micronutrient_mix",
    "let_ammonium_turn",
    "raise_ph",
    "usual_remedy",
    "find_out",
)
MENDS = {
    "feed_nitrogen": "nitrogen",
    "organic_nitrogen": "nitrogen",
    "leach": "salt",
    "way_out": "salt",
    "dolomitic_lime": "ph",
    "calcitic_lime": "ph",
    "raise_ph": "ph",
    "lower_ph": "ph",
    "micronutrient_mix": "micronutrients",
    "let_ammonium_turn": "ammonium",
}
"""What an action mends."""

MENDED = {
    **dict.fromkeys(SALTY, "salt"),
    HUNGER: "nitrogen",
    AMMONIUM: "ammonium",
    "ph_too_low": "ph",
    "ph_too_high": "ph",
}
"""Causes with an action of their own, and what is mended; against others what usually helps."""

WHEN = ("now", "before_sowing")

BY_LIME = frozenset({"calcium_shortage", "magnesium_shortage"})

FLUSHED_ELSEWHERE = ("drill_holes", "flush_elsewhere")
"""Ways out that are a flush, with what it costs in nitrogen."""

SEVERAL = 2
"""Micronutrients that must be low for a mix of them (judgement)."""

WORTH_TELLING = 0.1
"""Ammonium over nitrate from which both are told (judgement)."""

_NONE = Interval.of(math.nan, math.nan, math.nan)


@part
class TrialAction:
    """Something to do to a medium."""

    id: str = shown(choices=ACTIONS)
    when: str = shown("For plants that stand, or before the next sowing.", choices=WHEN)
    rate: Interval = shown("To mix in, by volume of medium.", "g/L", optional=True)
    sentence: Text = shown()
    cause: str | None = shown("What usually helps against which.", optional=True, choices=CAUSES)


class Mending:
    """What to do to one medium of a trial."""

    def __init__(self, reading: Reading, place: int, notes: Notes) -> None:
        """Take the trial, the place of the medium in it, and what is said beside the answer."""
        self.notes = notes
        self.reading, self.assessment = reading, reading.assessment
        self.place, self.one = place, reading.media[place]
        self.sample = self.one.samples[0]
        self.causes = dict(reading.open_causes(place))

    def is_low(self, nutrient: str) -> bool:
        """Tell whether a nutrient is low, whatever form its nitrogen has."""
        return self._has(nutrient, NutrientStatus.LOW)

    def _has(self, nutrient: str, status: NutrientStatus) -> bool:
        codes = self.assessment.nutrients.status[list(self.one.samples), NUTRIENTS.index(nutrient)]
        return bool((codes == status).all())

    @property
    def short_of_nitrogen(self) -> bool:
        """Tell whether nitrate and ammonium together are below the range of nitrate."""
        figure = self.reading.at("nitrogen_short")
        return bool(self.reading.over[self.reading.crops[0]][0][self.place, figure] > 1)

    @property
    def plants_stand(self) -> bool:
        """Whether any crop is alive in it, or none was told of."""
        return self.one.plants_stand

    @property
    def _mix_can_wait(self) -> bool:
        """Whether there is no plant that a want of micronutrients holds back.

        What is low in every medium holds none back where some crop grew well in one of them.
        """
        if not self.low_here and any(
            each.grade == "thrived" for one in self.reading.media for each in one.outcomes
        ):
            return True
        short = {f"{each}_shortage" for each in MICRONUTRIENTS}
        held_back = bool(short & self.causes.keys()) or not self.one.outcomes
        return not (self.plants_stand and held_back)

    def plans(self) -> list[FlushPlan]:
        """Return the flush plans of its containers."""
        notes = self.assessment.notes()
        return show_flush_plan(self.assessment, self.sample, notes) or []

    def actions(self) -> Iterator[TrialAction]:
        """Yield what to do, first what plants that stand need."""
        now, later = list(self._now()), list(self._before_sowing())
        early = [self._remedy(cause) for cause in self._first_of_all[:1]]
        helped = early or list(self._usual_remedy([*now, *later]))
        # What repels water is wetted before it is leached.
        wet = [each for each in helped if each.cause == "water_repellence"]
        found = [*early, *wet, *now, *(helped if not (wet or early) else ()), *later]
        feeds = any(each.id == "feed_nitrogen" for each in found)
        if self.one.failed and SUPPORTED not in self.causes.values() and not (feeds or early):
            yield _do("find_out", "now")
        yield from found
        if not self.one.failed and self.reading.grew_above_limit(self.place):
            swapped = labels(self.reading, self.reading.may_be_swapped(self.place))
            which = "swapped" if swapped else "meter"
            yield _act("check_reading", "now", say(f"trial.do_check_{which}", media=swapped))
        elif not (found or self.one.failed):
            yield _do("nothing", "now")

    @cached_property
    def _first_of_all(self) -> list[str]:
        """Causes that are dealt with before any water is poured, ammonium after the compost."""
        before = self.assessment.causes.findings.before_water[self.sample]
        leading = next(iter(self.causes), None)
        found = [
            cause
            for cause, verdict in self.causes.items()
            if before[CAUSES.index(cause)] and (verdict == SUPPORTED or cause == leading)
        ]
        return sorted(found, key=lambda cause: cause == AMMONIUM)

    @property
    def _gives_off_ammonia(self) -> bool:
        """Whether it is the ammonia of the medium that raises its pH (judgement)."""
        return not {UNFINISHED, AMMONIUM}.isdisjoint(self._first_of_all)

    def _usual_remedy(self, others: list[TrialAction]) -> Iterator[TrialAction]:
        """Say what usually helps against the first cause about which nothing else is done."""
        done = {each.id for each in others}
        limed = BY_LIME if done & {"dolomitic_lime", "calcitic_lime"} else frozenset()
        few = len(self._micronutrients()) < SEVERAL
        mixed = set() if few else {f"{each}_shortage" for each in MICRONUTRIENTS}
        mends = {mends_what(each) for each in others}
        own = {cause for cause, mended in MENDED.items() if mended in mends}
        for cause, verdict in self.causes.items():
            # What another cause brings about goes with it.
            brought = any(self.causes.get(each) == SUPPORTED for each in causes()[cause].comes_of)
            if verdict == SUPPORTED and not brought and cause not in own | limed | mixed:
                yield self._remedy(cause)
                return

    def _remedy(self, cause: str) -> TrialAction:
        when = "now" if self.plants_stand else "before_sowing"
        said = first_remedy(self.assessment, self.sample, cause)
        return TrialAction("usual_remedy", when, _NONE, said, cause)

    def _now(self) -> Iterator[TrialAction]:
        if self._salty and not self._feeds and self.is_high("nitrate_n"):
            yield _do("stop_feeding", "now")
        if self._salty and not self._first_of_all:
            yield from self._against_salt()
        if self._feeds and not self._told_after_leaching:
            yield self._feed()
        ammonium = self.causes.get(AMMONIUM) == SUPPORTED or self.is_high("ammonium_n")
        if ammonium and not self._gives_off_ammonia:
            yield _do("let_ammonium_turn", "now")
        if self.plants_stand and self.causes.get("ph_too_low") == SUPPORTED:
            yield _do("raise_ph", "now")
        too_high = self.causes.get("ph_too_high") == SUPPORTED and not self._gives_off_ammonia
        if self.plants_stand and too_high:
            yield self._remedy("ph_too_high")
        if len(low := self._micronutrients()) >= SEVERAL and not self._mix_can_wait:
            yield _mix("now", low)

    @property
    def _salty(self) -> bool:
        return any(self.causes.get(each) == SUPPORTED for each in SALTY)

    @property
    def _feeds(self) -> bool:
        short = self.short_of_nitrogen or self.causes.get(HUNGER) == SUPPORTED
        return self.plants_stand and (short or self._runs_out)

    @property
    def _told_after_leaching(self) -> bool:
        """Whether the flush is told with what to feed after it, which carries off what is there."""
        rows = self.assessment.containers_of(self.sample)
        if self._first_of_all or not (self._salty and rows):
            return False
        added = np.asarray(self.assessment.flush_costs.nitrogen_to_add)[rows[0]]
        return any(plan.passes or plan.options for plan in self.plans()[:1]) and bool(added > 0)

    @property
    def doses_nitrogen(self) -> bool:
        """Whether nitrogen is to be fed, or to be washed out with the salt."""
        return self._feeds or self._salty

    @cached_property
    def released(self) -> Interval:
        """Nitrogen that compost in the first container sets free [mg/week]; NaN without."""
        rows = self.assessment.containers_of(self.sample)
        return released_in(self.assessment, rows[0]) if rows else _NONE

    @cached_property
    def lasts(self) -> Interval:
        """How long the nitrogen of the first container lasts its plants [week].

        Its high end counts what compost may set free.
        """
        rows = self.assessment.containers_of(self.sample)
        plantings = self.assessment.plantings_of(self.sample)
        if not rows or not plantings:
            return _NONE
        stage = int(self.assessment.batch.plantings.stage[plantings[0]])
        weeks: Interval = row_of(self.assessment.nutrients.nitrogen_weeks[stage], rows[0])
        most = float(self.released.high)
        if math.isnan(most) or math.isnan(float(weeks.value)):
            return weeks
        held = float(row_of(self.assessment.nutrients.nitrogen_held, rows[0]).high)
        with_it = lasting_with(self.assessment, rows[0], STAGES[stage], held, most)
        return Interval.of(float(weeks.value), float(weeks.low), max(with_it, float(weeks.high)))

    @property
    def _runs_out(self) -> bool:
        """Whether the nitrogen runs out before the weeks that are wanted.

        Where none are told, plants that are pale already are not let run out of it.
        """
        wanted = self.reading.trial.weeks_wanted
        pale = [each.crop for each in self.one.outcomes if each.outcome == "pale"]
        if wanted is None and any(map(self._has_less_nitrogen, pale)):
            wanted = WEEKS_WANTED
        return wanted is not None and float(self.lasts.value) < wanted

    def _has_less_nitrogen(self, crop: str) -> bool:
        """Whether every medium in which a crop did well has more nitrogen than this one."""
        at = self.reading.at("nitrogen_short")
        low, high = (ends[:, at] for ends in self.reading.values)
        good = [
            place
            for place, one in enumerate(self.reading.media)
            if (outcome := one.of(crop)) and outcome.good
        ]
        return all(low[each] > self.reading.errors[at] * high[self.place] for each in good)

    def _feed(self) -> TrialAction:
        """Say how much nitrogen to feed, for the weeks that are wanted."""
        rows = self.assessment.containers_of(self.sample)
        if not rows or math.isnan(float(self.lasts.value)):
            return _do("feed_nitrogen", "now")
        wanted = self.reading.trial.weeks_wanted
        if wanted is None:
            wanted = WEEKS_WANTED
            reason = say("assumption.weeks_wanted")
            field = "/trial/weeks_wanted"
            self.notes.assume("weeks_wanted", Amount(wanted, "week"), reason, field, "judgement")
        held = float(row_of(self.assessment.nutrients.nitrogen_held, rows[0]).value)
        plantings = self.assessment.plantings_of(self.sample)
        stage = self.assessment.stage_names[plantings[0]]
        taken = nitrogen_wanted(self.assessment, rows[0], stage, wanted)
        middle, _, high = (max(float(end) - held, 0.0) for end in taken)
        if self.starves:
            now = self._into_range(rows[0], held)
            if not now:
                return _do("feed_nitrogen", "now")
            said = say(
                "trial.do_feed_hungry",
                amount=mass_of(now),
                total=mass_of(max(now, middle)),
                weeks=say("nutrients.weeks", count=wanted),
            )
            return _act("feed_nitrogen", "now", said)
        return _act(
            "feed_nitrogen",
            "now",
            say(
                "trial.do_feed_nitrogen_rate",
                amount=mass_of(middle),
                most=mass_of(high),
                weeks=say("nutrients.weeks", count=wanted),
                lasts=say("nutrients.weeks", count=float(f"{float(self.lasts.value):.1g}")),
            ),
        )

    def _into_range(self, row: int, held: float) -> float:
        """Return the nitrogen that brings a container to the low end of its range [mg]."""
        wanted = float(np.asarray(self.assessment.flush_costs.nitrogen_wanted)[row])
        water = float(np.asarray(self.assessment.flush_case.flush.water_held)[row])
        return max(float(np.nan_to_num(wanted * water)) - held, 0.0)

    @property
    def starves(self) -> bool:
        """Whether plants want nitrogen already, so that what is there does not last them."""
        pale = any(each.outcome == "pale" for each in self.one.outcomes)
        return self.causes.get(HUNGER) == SUPPORTED or (pale and self.short_of_nitrogen)

    def is_high(self, nutrient: str) -> bool:
        """Tell whether a nutrient is high, whatever form its nitrogen has."""
        return self._has(nutrient, NutrientStatus.HIGH)

    def _micronutrients(self) -> list[str]:
        return [each for each in MICRONUTRIENTS if self.is_low(each)]

    @property
    def low_here(self) -> list[str]:
        """Micronutrients that are low in this medium and not in every one."""
        every = [sample for one in self.reading.media for sample in one.samples]
        codes = self.assessment.nutrients.status[every]
        return [
            each
            for each in self._micronutrients()
            if not bool((codes[:, NUTRIENTS.index(each)] == NutrientStatus.LOW).all())
        ]

    def _against_salt(self) -> Iterator[TrialAction]:
        if not self.assessment.containers_of(self.sample):
            yield _act("leach", "now", say("trial.do_leach_unsized"))
            return
        plans = self.plans()
        if held := next((plan.held_back for plan in plans[:1]), None):
            yield _act("check_reading", "now", say(f"flush.{held}_first"))
            return
        for plan in plans[:1]:
            afterwards = tuple(self._then_feed())
            if plan.passes and plan.rested_check:
                litres = float(plan.water_per_container.value)
                said = (
                    say_how_to_pour(plan, litres, plan.passes, "trial.drip"),
                    say(
                        "trial.leached_when",
                        reading=plan.rested_check.own_method,
                        when=say_when(float(plan.rested_check.wait)),
                    ),
                    *afterwards,
                )
                yield _act("leach", "now", said)
            elif plan.options:
                first = plan.options[0]
                said = first.sentence if isinstance(first.sentence, tuple) else (first.sentence,)
                if first.id in FLUSHED_ELSEWHERE:
                    said += (*self._washes_out(), *afterwards)
                yield _act("way_out", "now", said)

    def _then_feed(self) -> Iterator[Message]:
        """Say how much nitrogen to add to one container after a flush, where it is short then."""
        rows = self.assessment.containers_of(self.sample)
        added = float(np.asarray(self.assessment.flush_costs.nitrogen_to_add)[rows[0]])
        if added > 0:
            yield say("trial.leach_then_feed", nitrogen=mass_of(added))

    def _washes_out(self) -> Iterator[Message]:
        """Say what a flush carries off, of a container that cannot drain yet."""
        row = self.assessment.containers_of(self.sample)[0]
        nutrients = self.assessment.flush_costs.nutrients
        nitrate, ammonium = (float(np.asarray(nutrients[each].lost)[row]) for each in FORMS)
        said = say_lost("trial.leach_loses", nitrate, ammonium)
        if said:
            yield said

    def _before_sowing(self) -> Iterator[TrialAction]:
        nutrients = self.assessment.nutrients
        if self.short_of_nitrogen:
            yield _do(
                "organic_nitrogen", "before_sowing", row_of(nutrients.organic_nitrogen, self.sample)
            )
        target = float(nutrients.target_ph[self.sample])
        if self.is_low("ph") and self._is_off("ph_low") and not math.isnan(target):
            scarce = magnesium_is_scarce(self.assessment, self.sample)
            yield _do(
                "dolomitic_lime" if scarce else "calcitic_lime",
                "before_sowing",
                row_of(nutrients.lime, self.sample),
                ph=target,
            )
        if self.is_high("ph") and self._is_off("ph_high") and not self._gives_off_ammonia:
            yield _do("lower_ph", "before_sowing")
        if len(low := self._micronutrients()) >= SEVERAL and self._mix_can_wait:
            yield _mix("before_sowing", low)

    def _is_off(self, which: str) -> bool:
        """Whether a figure calls for mending: by more than its error where every crop grew well."""
        at = [each.id for each in self.reading.figures].index(which)
        over = max(ends[0][self.place, at] for ends in self.reading.over.values())
        grew = self.one.outcomes and all(each.grade == "thrived" for each in self.one.outcomes)
        return bool(over > (self.reading.errors[at] if grew else 1.0))


def say_lost(said: str, nitrate: float, ammonium: float) -> Message | None:
    """Say what nitrogen a flush carries off, of either form, where it is worth telling [mg]."""
    if ammonium >= WORTH_TELLING * max(np.nan_to_num(nitrate), 1.0):
        lost = max(float(np.nan_to_num(nitrate)), 0.0)
        return say(f"{said}_both", lost=mass_of(lost), ammonium=mass_of(ammonium))
    return say(said, lost=mass_of(nitrate)) if nitrate > 0 else None


def mass_of(nitrogen: float) -> Amount:
    """Return a mass of nitrogen as people tell it, in grams from one up [mg]."""
    rounded = float(f"{nitrogen:.2g}")
    return Amount(rounded / 1000, "g") if rounded >= 1000 else Amount(rounded, "mg")


def _name(nutrient: str) -> Message:
    return say(f"reported_ions.name.{nutrient}")


def _mix(when: str, low: list[str]) -> TrialAction:
    said = say(f"trial.do_micronutrient_mix_{when}", names=[_name(each) for each in low])
    return _act("micronutrient_mix", when, said)


def mends_what(action: TrialAction) -> str | None:
    """Return what an action mends, by its own id or by the cause that it helps against."""
    return MENDS.get(action.id) or MENDED.get(action.cause or "")


def mended_by(cause: str) -> str | None:
    """Return what is mended against a cause, if it has an action of its own."""
    mixed = cause.removesuffix("_shortage") in MICRONUTRIENTS
    return "micronutrients" if mixed else MENDED.get(cause)


def in_every_medium(actions: list[list[TrialAction]]) -> list[TrialAction]:
    """Return what is done to every medium alike."""
    first, *others = actions
    return [each for each in first if all(each.sentence in _said(other) for other in others)]


def _said(actions: list[TrialAction]) -> list[Text]:
    return [each.sentence for each in actions]


def _act(which: str, when: str, said: Text) -> TrialAction:
    return TrialAction(which, when, _NONE, said, None)


def _do(which: str, when: str, rate: Interval = _NONE, **told: object) -> TrialAction:
    rated = {"rate": rate.value, "low": rate.low, "high": rate.high}
    more = {} if math.isnan(float(rate.value)) else rated
    return TrialAction(which, when, rate, say(f"trial.do_{which}", **more, **told), None)
