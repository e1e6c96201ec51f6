"""Several media side by side: one row each, and first the differences that matter."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from saltcalc.case.trial import AGE, DAYS_A_WEEK
from saltcalc.case.vocabulary import STAGES
from saltcalc.data.nutrients import NUTRIENTS
from saltcalc.message import say
from saltcalc.parts.answer import WHOLE, Readings, Wanted
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.assumptions import (
    OF_UPKEEP,
    find_unknown_crops,
    state_defaults,
    state_readings,
    state_reference_height,
    uses_of,
)
from saltcalc.parts.by_method import show_by_method
from saltcalc.parts.causes.show import WeighedCause, show_causes
from saltcalc.parts.compared_media import (
    DIFFERENCE_IDS,
    DIFFERENCES,
    LITRES,
    UNKNOWN,
    ComparedCrop,
    ComparedFlush,
    ComparisonRow,
    Difference,
    MainCause,
    may_compare_litres,
)
from saltcalc.parts.crops.verdicts import Standing, standing_of
from saltcalc.parts.doubts import find_doubts
from saltcalc.parts.flush.show import FlushPlan, show_flush_plan
from saltcalc.parts.ions.show import find_contradiction
from saltcalc.parts.media_warnings import Found, field_of, pointers_of, warnings_of
from saltcalc.parts.notes import Closing, Notes
from saltcalc.parts.nutrients.arrays import STATUSES
from saltcalc.parts.salinity import show_salinity
from saltcalc.parts.shown import Amount, Chosen, Text, from_row, part, row_of, shown
from saltcalc.parts.sodicity import show_sodicity
from saltcalc.parts.trial.reading import Reading
from saltcalc.parts.trial.show import TrialAnswer, show_trial
from saltcalc.science.diagnosis import POSSIBLE
from saltcalc.science.salt_type import NO_SALT_TYPE, SALT_TYPES
from saltcalc.science.uncertainty import Interval

OF_COMPARISON = ("trial", "comparison")
"""The parts of the answer that are about the media together."""

_SODICITY_SHOWN = ("sodicity/medium", "sodicity/medium/sar")
"""What a row shows of sodicity; what else of it can't be computed is no gap in this answer."""

_OF_ESP = ("esp_is_indicative",)
"""Findings on the exchangeable sodium, which no row shows."""

_UNLIKELY = "salt_is_unlikely"
"""A finding on plants that stall, of which there are none where every crop grew."""

_TOLD_BY_TRIAL = ("crop_verdict", "main_cause", "ec", "nitrogen", "ph", "litres_to_flush")
"""Differences that outcomes tell better."""


@part
class Comparison:
    """The media side by side."""

    differences: list[Difference] = shown("What tells the media apart, what matters most first.")
    alike: list[str] = shown("Ids of differences looked for and not found.", choices=DIFFERENCE_IDS)
    matrix: list[ComparisonRow] = shown("The media, one row each, in the order of the request.")


@part
class ComparisonAnswer(Closing):
    """The answer to several media; of its parts those that are asked for are shown."""

    intervals: Text = shown("How low and high are made.")
    trial: TrialAnswer | None = shown("What the outcomes say, where any is told.", optional=True)
    comparison: Comparison = shown()


def answer_comparison(
    reading: Reading, readings: Sequence[Readings], wanted: Wanted = WHOLE
) -> Chosen:
    """Return media side by side.

    Parameters
    ----------
    reading : Reading
        The media, and how crops fared in them.
    readings : sequence of iterable of (str, str)
        Of the request of each, as :func:`saltcalc.case.intake.readings_of` finds them.
    wanted : Wanted
        The parts to show.
    """
    notes = reading.assessment.notes()
    warned: list[Found] = []
    rows = [_row(reading, place, each, notes, warned) for place, each in enumerate(readings)]
    notes.tell_once("/media", len(rows))
    notes.warnings = warnings_of(reading, warned)
    if reading.trial.weeks is not None:
        age = Amount(DAYS_A_WEEK * reading.trial.weeks, "day")
        notes.assume("plant_age", age, say("assumption.plant_age"), f"/{AGE}")
    trial = show_trial(reading, notes)
    found = {
        which: list(tell(rows))
        for which, tell in DIFFERENCES.items()
        if trial is None or which not in _TOLD_BY_TRIAL
    }
    comparison = Comparison(
        differences=[
            Difference(which, *difference)
            for which, differences in found.items()
            for difference in differences
        ],
        alike=[
            which
            for which, differences in found.items()
            if not differences and (which != LITRES or may_compare_litres(rows))
        ],
        matrix=rows,
    )
    shown_keys = {key for each in notes.assumptions for key in each.sources}
    answer = from_row(
        ComparisonAnswer,
        notes,
        trial=trial,
        intervals=say("intervals"),
        comparison=comparison,
        sources={key: each for key, each in notes.sources.items() if key in shown_keys},
    )
    return Chosen(answer, wanted.of(OF_COMPARISON))


def _row(
    reading: Reading, place: int, readings: Readings, whole: Notes, found: list[Found]
) -> ComparisonRow:
    one, assessment = reading.media[place], reading.assessment
    samples, sample = one.samples, one.samples[0]
    notes = assessment.notes()
    state_readings(readings, notes)
    find_unknown_crops(assessment, sample, notes)
    find_doubts(assessment, sample, notes)
    state_defaults(
        assessment, sample, uses_of(assessment, sample) - OF_UPKEEP - {"water_use"}, notes
    )
    state_reference_height(assessment, sample, notes, "/containers")
    salinity = show_salinity(assessment, sample, notes)
    show_by_method(assessment, sample, notes)
    of_sodicity = assessment.notes()
    sodicity = show_sodicity(assessment, sample, of_sodicity).medium
    of_sodicity.not_computed = [
        gap for gap in of_sodicity.not_computed if gap.part in _SODICITY_SHOWN
    ]
    of_sodicity.warnings = [each for each in of_sodicity.warnings if each.id not in _OF_ESP]
    notes.merge(of_sodicity, {})
    if assessment.acting.report[sample]:
        find_contradiction(assessment, sample, notes)
    plans = (reading.leaches(place) and show_flush_plan(assessment, sample, notes)) or []
    kinds = assessment.medium_ions.salt_type.code[list(samples)]
    kind = int(kinds[0]) if (kinds == kinds[0]).all() else NO_SALT_TYPE
    row = ComparisonRow(
        name=one.name,
        ec_25c=float(assessment.salinity.ec_25c[sample]),
        method=salinity.method if salinity else None,
        class_=salinity.class_ if salinity else None,
        ec_saturated_extract=_over_samples(assessment.salinity.saturated_extract, samples),
        ec_by_any_method=row_of(assessment.ec_by_any_method, sample)
        if assessment.methods.open[sample]
        else Interval.of(*[math.nan] * 3),
        ec_is_lower_bound=True if reading.floors[place] else None,
        salt_type=None if kind == NO_SALT_TYPE else SALT_TYPES[kind],
        sar=sodicity.sar if sodicity else math.nan,
        sodicity_class=sodicity.class_ if sodicity else None,
        nitrate_n=_nitrate(assessment, samples),
        nitrogen_status=_status(assessment, samples, "nitrate_n"),
        ph=float(assessment.batch.samples.medium.ph[sample]),
        ph_status=_status(assessment, samples, "ph"),
        main_cause=_main_cause(reading, place, show_causes(assessment, sample, notes)),
        crops=_crops(assessment, sample) if salinity else [],
        flush=[_flush(plan) for plan in plans],
    )
    if one.outcomes and not one.failed:
        notes.warnings = [each for each in notes.warnings if each.id != _UNLIKELY]
    moved = pointers_of(reading, place)
    found.append((place, [replace(each, field=field_of(each, moved)) for each in notes.warnings]))
    notes.warnings = []
    whole.merge(notes, moved, together=True)
    return row


def _flush(plan: FlushPlan) -> ComparedFlush:
    """Return the water of a plan, and whether there is none though it needs one."""
    cannot = bool(plan.options) and not plan.passes
    calcium = plan.calcium_first.way if plan.calcium_first and plan.passes else None
    litres = Interval.of(*[math.nan] * 3) if plan.held_back else plan.water_per_container
    return from_row(
        ComparedFlush,
        plan,
        water_per_container=litres,
        calcium_by=None if plan.held_back else calcium,
        possible=False if cannot else None,
    )


def _status(assessment: Assessment, samples: Sequence[int], nutrient: str) -> str:
    """Return a status, undetermined where nitrogen of either form gives two."""
    codes = assessment.nutrients.status[list(samples), NUTRIENTS.index(nutrient)]
    return STATUSES[codes[0]] if len(set(codes.tolist())) == 1 else UNKNOWN


def _nitrate(assessment: Assessment, samples: Sequence[int]) -> float:
    """Return nitrate nitrogen; NaN where it is not told from ammonium."""
    if len(samples) > 1:
        return math.nan
    return float(assessment.nutrients.value[samples[0], NUTRIENTS.index("nitrate_n")])


def _over_samples(interval: Interval, samples: Sequence[int]) -> Interval:
    """Return an interval that holds for all samples of a medium."""
    each: list[Interval] = [row_of(interval, sample) for sample in samples]
    if len(each) == 1:
        return each[0]
    return Interval.of(
        min(float(one.value) for one in each),
        min(float(one.low) for one in each),
        max(float(one.high) for one in each),
    )


def _main_cause(reading: Reading, place: int, causes: list[WeighedCause]) -> MainCause | None:
    """Return the best supported cause, with those tied with it, or None where none is possible.

    A cause that another medium of the trial refutes is passed over.
    """
    still = dict(reading.open_causes(place))
    if not still:
        return None
    leading = next(each for each in causes if each.cause == next(iter(still)))
    tied = [each for each in leading.tied_with if each in still]
    sure = still[leading.cause]
    if reading.assessment.acting.report[reading.media[place].samples[0]]:
        sure = min(sure, POSSIBLE)
    verdict = reading.told_verdict(place, leading.cause, sure)
    return from_row(MainCause, leading, tied_with=tied, verdict=verdict)


def _crops(assessment: Assessment, sample: int) -> list[ComparedCrop]:
    result, stages = assessment.crops, assessment.batch.plantings.stage
    shown = []
    for row in assessment.plantings_of(sample):
        crop, highest = assessment.crop_of(row), float(result.max_tolerated_ec[row])
        standing = Standing(**standing_of(crop, result.verdicts, row, highest))
        shown.append(from_row(ComparedCrop, standing, stage=STAGES[stages[row]]))
    return shown
