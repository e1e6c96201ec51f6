"""A re-test read against the earlier report: what changed, whether the plan worked, what now."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from saltcalc.data.extraction import extraction_methods
from saltcalc.data.nutrients import NUTRIENTS
from saltcalc.data.reported_ions import reported_ions
from saltcalc.message import Message, say
from saltcalc.parts.assumptions import OF_IONS, OF_MEDIUM, state_defaults
from saltcalc.parts.flush.show import show_flush_plan
from saltcalc.parts.notes import Notes
from saltcalc.parts.nutrients.arrays import STATUSES
from saltcalc.parts.shown import Amount, Text, part, shown
from saltcalc.science.retest import (
    CHANGES,
    FIGURE_SPREAD,
    change_of,
    difference_of,
    ratio_of,
)
from saltcalc.science.uncertainty import Z_HIGH, Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

MEASURES = ("ec", "ph", *reported_ions())
TOLD = ("ec", "nitrate_n", "sodium", "chloride", "ph")
"""What the summary tells of, where it changed; of EC in any case."""

OUTCOMES = (
    "worked",
    "partly",
    "no_effect",
    "too_little_water",
    "nothing_poured",
    "none_needed",
    "undetermined",
)
FIND_FIRST = "find_what_feeds"
MEASURE_AGAIN = "measure_again"
STEPS = (
    "nothing_more",
    "pour",
    MEASURE_AGAIN,
    "other_way",
    FIND_FIRST,
    "give_container",
    "give_crop",
    "read_ec",
)
FIND_WHAT_FEEDS = "find_what_feeds_the_salt"
"""Id of the action that takes the place of a flush that had no effect."""

SOURCES_OF_SALT = ("gypsum", "slow_release", "water", "runs_past")

UNLIKELY_RATIO = 8.0
"""Factor between two readings from which a slip of unit or of dilution is likelier (judgement)."""

_SENSOR = "pore_water_sensor"
_MOVED = {f"/medium/{each}": f"/previous/{each}" for each in ("ec", "temperature", "ions")}


@part
class Change:
    """One figure that both reports give."""

    of: str = shown("What was measured twice.", choices=MEASURES)
    before: Amount = shown("In the earlier report; as saturated extract where methods differ.")
    now: Amount = shown("In this report; as saturated extract where methods differ.")
    by: Interval = shown("Ratio of now to before; of pH, the difference: now less before.", "1")
    change: str = shown(
        "Whether it changed beyond the error: whether the interval of `by` leaves out no change.",
        choices=CHANGES,
    )
    status_before: str = shown(
        "Where the earlier figure lay: against the limit, or the usual range.", choices=STATUSES
    )
    status_now: str = shown("The same now.", choices=STATUSES)


@part
class Retest:
    """A report read against the earlier one."""

    days_between: float = shown("Days from the earlier sample to this one.", "day")
    converted: bool = shown(
        "Whether figures by different methods were brought to the saturated extract to be compared."
    )
    changes: list[Change] = shown("What fell or rose between the two reports, figure by figure.")
    limit: float = shown("What EC is held against, as saturated extract.", "dS/m")
    limit_reached: bool | None = shown("Whether EC is at that limit or below it now.")
    within_error: bool = shown("Whether EC is so near that limit that a second sample may differ.")
    poured: float = shown("Water poured on one container since the earlier sample.", "L")
    plan_asked: Interval = shown("Water that the earlier report called for, a container.", "L")
    outcome: str = shown("Whether the plan worked.", choices=OUTCOMES)
    next_step: str = shown("What to do now.", choices=STEPS)
    more_water: float = shown(
        "Water still to pour on one container; the most where kinds differ.", "L", optional=True
    )
    may_feed: list[str] = shown(
        "What may put the salt back, of what is known.", optional=True, choices=SOURCES_OF_SALT
    )
    sentence: Text = shown()


class _Salt(NamedTuple):
    """EC now and then against its limit."""

    limit: float
    before: bool | None
    now: bool | None
    near: bool


def show_retest(
    assessment: Assessment, sample: int, litres: Sequence[float], actions: bool, notes: Notes
) -> Retest | None:
    """Return what a re-test says, or None without an earlier report.

    Parameters
    ----------
    assessment : Assessment
        Of the batch.
    sample : int
        Which sample.
    litres : sequence of float
        Water that this answer calls for, of each kind of container that is flushed [L].
    actions : bool
        Whether this answer says anything to do.
    notes : Notes
        Of the answer.
    """
    if not assessment.batch.previous.known[sample]:
        return None
    earlier = assessment.earlier
    _state(assessment, earlier, sample, notes)
    changes = _changes(assessment, earlier, sample)
    salt = _salt(assessment, earlier, sample)
    poured = float(assessment.batch.previous.applied[sample])
    asked = _asked(earlier, sample)
    by_ec = next((each for each in changes if each.of == "ec"), None)
    outcome = _outcome(by_ec, salt, poured, asked)
    feeds = _may_feed(assessment, sample) if _stays(by_ec, salt, outcome, poured) else []
    step = _step(by_ec, salt, outcome == "no_effect" or bool(feeds), bool(litres), actions)
    if step == "give_container" and assessment.containers_of(sample):
        step = MEASURE_AGAIN
    more = max(litres) if step == "pour" else math.nan
    unlike = len(set(litres)) > 1
    converted = not _by_same_method(assessment, sample)
    _find(assessment, by_ec, outcome, sample, notes)
    told = [
        *_told_changes(changes, converted),
        *_told_salt(salt, by_ec, math.nan if converted else _as_read(assessment, sample, salt)),
        *_told_outcome(outcome, poured, asked, salt),
        *_told_step(step, salt, more, unlike),
        *_told_statuses(changes),
    ]
    return Retest(
        days_between=float(assessment.batch.previous.days[sample]),
        converted=converted,
        changes=changes,
        limit=salt.limit,
        limit_reached=salt.now,
        within_error=salt.near,
        poured=poured,
        plan_asked=asked,
        outcome=outcome,
        next_step=step,
        more_water=more,
        may_feed=feeds,
        sentence=tuple(told) or (say("retest.nothing_in_common"),),
    )


def what_feeds(retest: Retest) -> Message:
    """Return what to look for where a flush did not take the salt down."""
    if not retest.may_feed:
        return say("retest.find_what_feeds")
    return say(
        "retest.find_first", sources=[say(f"retest.feeds.{each}") for each in retest.may_feed]
    )


def _state(assessment: Assessment, earlier: Assessment, sample: int, notes: Notes) -> None:
    """List what the reading of the earlier report rests on."""
    inner = earlier.notes()
    state_defaults(earlier, sample, OF_IONS | OF_MEDIUM, inner)
    if math.isnan(assessment.batch.previous.medium.ec[sample]):
        inner.assumptions = [each for each in inner.assumptions if each.id != "medium_temperature"]
    notes.merge(inner, _MOVED)
    share = math.expm1(Z_HIGH * math.sqrt(2) * FIGURE_SPREAD)
    notes.assume(
        "error_of_two_samples",
        Amount(100 * share, "%"),
        say("assumption.error_of_two_samples"),
        "",
        "judgement",
    )


def _by_same_method(assessment: Assessment, sample: int) -> bool:
    """Whether both reports can be held against each other as they stand."""
    samples = assessment.batch.samples
    method = samples.extraction[sample]
    dry = extraction_methods()[method].id == _SENSOR and not np.isnan(samples.water_content[sample])
    return bool(method == assessment.batch.previous.extraction[sample]) and not dry


def _conversion(assessment: Assessment, sample: int) -> tuple[float, float]:
    """Return saturated extract over reading, and the spread of its logarithm."""
    value, _, high = (float(each[sample]) for each in assessment.salinity.saturated_extract)
    read = float(assessment.salinity.ec_25c[sample])
    if not read > 0:
        return math.nan, math.nan
    return value / read, math.log(high / value) / Z_HIGH


def _changes(assessment: Assessment, earlier: Assessment, sample: int) -> list[Change]:
    same = _by_same_method(assessment, sample)
    then, now = ((1.0, 0.0), (1.0, 0.0))
    if not same:
        then, now = _conversion(earlier, sample), _conversion(assessment, sample)
    spreads = tuple(math.hypot(FIGURE_SPREAD, spread) for _, spread in (then, now))
    return [
        found
        for measure in MEASURES
        if (found := _change(assessment, earlier, sample, measure, (then[0], now[0]), spreads))
    ]


def _change(
    assessment: Assessment,
    earlier: Assessment,
    sample: int,
    measure: str,
    factors: tuple[float, float],
    spreads: Sequence[float],
) -> Change | None:
    figures = [
        _figure(each, sample, measure) * (1.0 if measure == "ph" else factor)
        for each, factor in zip((earlier, assessment), factors, strict=True)
    ]
    before, now = figures
    if math.isnan(before) or math.isnan(now):
        return None
    unit = {"ec": "dS/m", "ph": "1"}.get(measure, "mg/L")
    if measure == "ph":
        by, none = difference_of(before, now), 0.0
        if not _by_same_method(assessment, sample):
            by = Interval.of(by.value, -math.inf, math.inf)
    else:
        by, none = ratio_of(before, now, *spreads), 1.0
    if measure == "ec":
        low = 0.0 if earlier.ec_is_lower_bound[sample] else by.low
        high = math.inf if assessment.ec_is_lower_bound[sample] else by.high
        by = Interval.of(by.value, low, high)
    return Change(
        of=measure,
        before=Amount(before, unit),
        now=Amount(now, unit),
        by=by,
        change=CHANGES[int(change_of(by, none))],
        status_before=_status(earlier, sample, measure),
        status_now=_status(assessment, sample, measure),
    )


def _figure(assessment: Assessment, sample: int, measure: str) -> float:
    medium = assessment.batch.samples.medium
    if measure == "ec":
        return float(assessment.salinity.ec_25c[sample])
    if measure == "ph":
        return float(medium.ph[sample])
    return float(medium.ions[measure][sample]) * reported_ions()[measure].mass_per_charge


def _status(assessment: Assessment, sample: int, measure: str) -> str:
    """Return where a figure lies: against the crop's limit, or else the usual range."""
    if measure == "ec":
        within = _within(assessment, sample, _limit(assessment, sample))
        return "undetermined" if within is None else "in_range" if within else "high"
    plantings = assessment.plantings_of(sample)
    if measure in ("chloride", "boron"):
        known = ~np.isnan(getattr(assessment.crop_limits, f"{measure}_low"))[plantings]
        above = getattr(assessment.ions_excess, measure).above[plantings]
        if known.any():
            return "high" if above.any() else "in_range"
    if measure == "sodium" and assessment.ions_excess.sodium[plantings].any():
        return "high"
    if measure not in NUTRIENTS:
        return "undetermined"
    return STATUSES[int(assessment.nutrients.status[sample, NUTRIENTS.index(measure)])]


def _limit(assessment: Assessment, sample: int) -> float:
    """EC of the saturated extract that is aimed at, or that the crops stand [dS/m]."""
    rows = assessment.containers_of(sample)
    if rows:
        return float(assessment.flush_case.limit_extract[rows[0]])
    thriving = assessment.batch.thriving
    spared = thriving.crop[thriving.sample == sample]
    plantings = assessment.plantings_of(sample)
    stalling = [row for row in plantings if assessment.batch.plantings.crop[row] not in spared]
    limits = assessment.crops.max_tolerated_ec[stalling or plantings]
    return float(np.nanmin(limits)) if np.any(~np.isnan(limits)) else math.nan


def _within(assessment: Assessment, sample: int, limit: float) -> bool | None:
    """Whether EC is at its limit or below; None where that cannot be told."""
    extract = float(assessment.salinity.saturated_extract.value[sample])
    if not extract > 0 or math.isnan(limit):
        return None
    if extract > limit:
        return False
    return None if assessment.ec_is_lower_bound[sample] else True


def _salt(assessment: Assessment, earlier: Assessment, sample: int) -> _Salt:
    limit = _limit(assessment, sample)
    value, low, high = (float(each[sample]) for each in assessment.salinity.saturated_extract)
    wide = math.exp(Z_HIGH * FIGURE_SPREAD)
    near = min(low, value / wide) < limit < max(high, value * wide)
    now = _within(assessment, sample, limit)
    before = _within(earlier, sample, _limit(earlier, sample))
    return _Salt(limit, before, now, near and not assessment.ec_is_lower_bound[sample])


def _asked(earlier: Assessment, sample: int) -> Interval:
    """Water that the earlier report called for [L]; the most of several kinds of container."""
    plans = show_flush_plan(earlier, sample, earlier.notes()) or []
    poured = [each.water_per_container for each in plans if each.passes]
    return max(poured, key=lambda each: float(each.value), default=Interval.of(*[math.nan] * 3))


def _outcome(change: Change | None, salt: _Salt, poured: float, asked: Interval) -> str:
    if change is None or change.change == "undetermined":
        return "undetermined"
    if salt.before and salt.now:
        return "none_needed"
    if poured == 0:
        return "nothing_poured"
    if change.change == "fell":
        return "worked" if salt.now else "partly" if salt.now is False else "undetermined"
    if salt.now or math.isnan(poured) or math.isnan(asked.value):
        return "undetermined"
    return "too_little_water" if poured < asked.low else "no_effect"


def _stays(change: Change | None, salt: _Salt, outcome: str, poured: float) -> bool:
    """Whether the salt is still there although water was poured, as much as the plan called for."""
    held = change is not None and change.change in ("no_change", "rose")
    return held and salt.now is False and poured > 0 and outcome != "too_little_water"


def _may_feed(assessment: Assessment, sample: int) -> list[str]:
    """Return what of the case may put salt back, or let the water run past."""
    samples, case = assessment.batch.samples, assessment.flush_case
    rows = assessment.containers_of(sample)
    water, target = assessment.water_ec[sample], case.target_pore_water[rows]
    held = {
        "gypsum": bool(assessment.medium_ions.gypsum_saturated[sample]),
        "slow_release": bool(samples.slow_release[sample] >= 0),
        "water": bool(np.any(water >= target)),
        "runs_past": bool(np.any(case.repelling[rows])),
    }
    return [each for each in SOURCES_OF_SALT if held[each]]


def _step(change: Change | None, salt: _Salt, fed: bool, pours: bool, actions: bool) -> str:
    if fed:
        return FIND_FIRST
    if change is not None and math.isnan(salt.limit):
        return "give_crop"
    if change is None or salt.now is None:
        return "read_ec"
    if salt.now:
        return "nothing_more"
    return "pour" if pours else "other_way" if actions else "give_container"


def _find(
    assessment: Assessment, change: Change | None, outcome: str, sample: int, notes: Notes
) -> None:
    samples, previous = assessment.batch.samples, assessment.batch.previous
    before, now = (extraction_methods()[each.extraction[sample]].id for each in (previous, samples))
    if before != now:
        notes.find(
            "retest_by_other_method",
            "caution",
            "/previous/extraction",
            before=say(f"extraction_methods.name.{before}"),
            now=say(f"extraction_methods.name.{now}"),
        )
    if change and not 1 / UNLIKELY_RATIO < float(change.by.value) < UNLIKELY_RATIO:
        times = max(float(change.by.value), 1 / float(change.by.value))
        notes.find("retest_differs_much", "caution", "/previous/ec", times=times)
    if outcome == "no_effect":
        notes.find("flush_had_no_effect", "caution", "/previous/applied")


def _told_changes(changes: list[Change], converted: bool) -> list[Message]:
    told = [
        each
        for name in TOLD
        for each in changes
        if each.of == name and (name == "ec" or each.change in ("fell", "rose"))
    ]
    if not told:
        return [say("retest.nothing_changed")] if changes else []
    which = "retest.changed_on_one_basis" if converted else "retest.changed"
    return [say(which, changes=[_told_change(each) for each in told])]


def _told_change(each: Change) -> Message:
    name = say("retest.ec") if each.of == "ec" else say(f"reported_ions.name.{each.of}")
    return say(f"retest.{each.change}", name=name, before=each.before, now=each.now)


def _as_read(assessment: Assessment, sample: int, salt: _Salt) -> float:
    """Return the limit as the reading's own method shows it [dS/m]."""
    return salt.limit / _conversion(assessment, sample)[0]


def _told_salt(salt: _Salt, change: Change | None, as_read: float) -> list[Message]:
    """Tell whether EC is at its limit, which is told as the readings are."""
    if salt.now is None:
        return []
    above = "still_above" if salt.before is False else "above"
    where = "reached" if salt.now else above
    if math.isnan(as_read):
        told = [say(f"retest.{where}", limit=salt.limit)]
    else:
        told = [say(f"retest.{where}_as_read", limit=as_read)]
    if salt.near:
        told.append(say("retest.near_limit"))
    if change and change.change == "rose" and not salt.now:
        told.append(say("retest.what_brought_it"))
    return told


def _told_outcome(outcome: str, poured: float, asked: Interval, salt: _Salt) -> list[Message]:
    if outcome in ("none_needed", "undetermined"):
        return []
    if outcome == "too_little_water":
        return [say("retest.too_little_water", poured=poured, least=float(asked.low))]
    if outcome == "partly" and salt.near:
        return [say("retest.perhaps_enough")]
    return [say(f"retest.{outcome}")]


def _told_step(step: str, salt: _Salt, more: float, unlike: bool) -> list[Message]:
    if step == "nothing_more":
        return [] if salt.before else [say("retest.nothing_more")]
    if step == "pour" and salt.near:
        return [say("retest.pour_if_so", litres=more)]
    if step == "pour":
        return [say("retest.pour_each" if unlike else "retest.pour", litres=more)]
    if step == FIND_FIRST:
        return [say("retest.do_not_pour_on")]
    return [say(f"retest.{step}")]


def _told_statuses(changes: list[Change]) -> list[Message]:
    """Tell what came into its range, or left it, EC apart."""
    told = [each for each in changes if each.of in TOLD[1:] and each.change in ("fell", "rose")]
    groups: dict[str, list[Message]] = {}
    for each in told:
        if each.status_now in ("low", "in_range", "high"):
            groups.setdefault(each.status_now, []).append(say(f"reported_ions.name.{each.of}"))
    messages = [say(f"retest.now_{status}", names=groups[status]) for status in groups]
    short = any(each.of == "nitrate_n" and each.status_now == "low" for each in told)
    return [*messages, say("retest.feed_again")] if short else messages
