"""Several media side by side: one row each, and first the differences that matter."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from saltcalc.case.trial import AGE, DAYS_A_WEEK
from saltcalc.case.vocabulary import DRAINAGE, STAGES
from saltcalc.data.nutrients import NUTRIENTS
from saltcalc.message import Message, say
from saltcalc.parts.answer import WHOLE, Readings, Wanted
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.assumptions import (
    OF_UPKEEP,
    find_unknown_crops,
    state_defaults,
    state_readings,
    uses_of,
)
from saltcalc.parts.causes.show import CAUSES, STANDING_OUT, WeighedCause, show_causes
from saltcalc.parts.choices import EC_CLASSES, METHODS
from saltcalc.parts.crops.verdicts import VERDICT_IDS, VERDICTS, Standing, standing_of
from saltcalc.parts.flush.show import show_flush_plan
from saltcalc.parts.notes import Closing, Notes
from saltcalc.parts.nutrients.arrays import STATUSES
from saltcalc.parts.salinity import show_salinity
from saltcalc.parts.shown import Amount, Chosen, Text, from_row, part, row_of, shown
from saltcalc.parts.sodicity import SAR_UNIT, SODICITY_CLASSES, show_sodicity
from saltcalc.parts.trial.reading import Reading, called
from saltcalc.parts.trial.show import TrialAnswer, show_trial
from saltcalc.science.crop_limits import Verdict
from saltcalc.science.diagnosis import VERDICTS as CERTAINTIES
from saltcalc.science.nutrients import NutrientStatus
from saltcalc.science.salt_type import NO_SALT_TYPE, SALT_TYPES
from saltcalc.science.uncertainty import Interval

OF_MEDIUM = ("/medium", "/observations", "/not_seen")
"""Parts of a request that each medium has of its own; all others are shared."""

OF_COMPARISON = ("trial", "comparison")
"""The parts of the answer that are about the media together."""

_SODICITY_SHOWN = ("sodicity/medium", "sodicity/medium/sar")
"""What a row shows of sodicity; what else of it can't be computed is no gap in this answer."""

_OF_ESP = ("esp_is_indicative",)
"""Findings on the exchangeable sodium, which no row shows."""

_LOWER_BOUND = "ec_is_lower_bound"

_WORST: Mapping[str, Callable[[Mapping[str, Any]], float]] = {
    "many_passes": lambda told: float(told["passes"].told["count"]),
    "nitrate_in_drainage": lambda told: float(told["nitrate"]),
}
"""Findings of which the medium that is worst off is told alone, each with its figure."""

_MUCH_MORE_WATER = 1.5
"""Ratio of litres from which a difference is worth telling (judgement)."""

_DIFFERENCE_IDS = (
    "crop_verdict",
    "main_cause",
    "ec",
    "salt_type",
    "sodicity",
    "nitrogen",
    "ph",
    "litres_to_flush",
)
_TOLD_BY_TRIAL = ("crop_verdict", "main_cause", "ec", "nitrogen", "ph", "litres_to_flush")
"""Differences that outcomes tell better."""

_UNKNOWN = STATUSES[NutrientStatus.CANNOT_TELL]
_WORST_FIRST = (
    Verdict.FAILS,
    Verdict.REDUCED,
    Verdict.CAUTION,
    Verdict.CANNOT_TELL,
    Verdict.TOLERATES,
)


@part
class MediaAlike:
    """The media that show one value."""

    finding: str | Message = shown("What they share: a verdict, a class, a status or a name.")
    media: list[str] = shown("Names of the media that are alike in it.")


@part
class Difference:
    """A difference that matters."""

    id: str = shown("Stable id.", choices=_DIFFERENCE_IDS)
    sentence: Message = shown()
    groups: list[MediaAlike] = shown("Media that are alike in it.")


@part
class ComparedCrop:
    """How a crop tolerates one of the media."""

    crop: str = shown()
    name: str = shown()
    stage: str = shown(choices=STAGES)
    relative_yield: Interval = shown("Yield against that without salt.", "%")
    verdict: str = shown(choices=VERDICT_IDS)
    verdict_range: list[str] = shown(
        "Verdicts between the ends of the interval of the EC.", choices=VERDICT_IDS, optional=True
    )


@part
class ComparedFlush:
    """Water to flush one kind of container."""

    container: str | None = shown()
    drainage: str = shown(choices=DRAINAGE)
    water_per_container: Interval = shown(
        "Null where no flush is needed, possible or allowed.", "L"
    )


@part
class MainCause:
    """The best supported cause of stalled plants."""

    cause: str = shown("The cause that leads.", choices=CAUSES)
    name: str = shown()
    verdict: str = shown(choices=STANDING_OUT)
    tied_with: list[str] = shown(choices=CAUSES, optional=True)


@part
class ComparisonRow:
    """One medium."""

    name: str = shown("Of the medium.")
    ec_25c: float = shown("The reading, at 25 °C.", "dS/m")
    method: str | None = shown(choices=METHODS)
    class_: str | None = shown(choices=EC_CLASSES)
    ec_saturated_extract: Interval = shown("What the saturated extract would read.", "dS/m")
    ec_is_lower_bound: bool | None = shown(
        "True where the EC is only the least that the reported ions make.", optional=True
    )
    salt_type: str | None = shown("Null without ions.", choices=SALT_TYPES)
    sar: float = shown("Sodium adsorption ratio.", SAR_UNIT)
    sodicity_class: str | None = shown("Sodium hazard of the extract.", choices=SODICITY_CLASSES)
    nitrate_n: float = shown("As reported.", "mg/L")
    nitrogen_status: str = shown("Nitrogen against its range.", choices=STATUSES)
    ph: float = shown("As reported.", "1")
    ph_status: str = shown("pH against its range.", choices=STATUSES)
    main_cause: MainCause | None = shown("Null where none is possible.")
    crops: list[ComparedCrop] = shown("How each crop tolerates the medium.")
    flush: list[ComparedFlush] = shown("Water to flush each kind of container.")


@part
class Comparison:
    """The media side by side."""

    differences: list[Difference] = shown("What tells the media apart, what matters most first.")
    alike: list[str] = shown(
        "Ids of differences looked for and not found.", choices=_DIFFERENCE_IDS
    )
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
    rows = [_row(reading, place, each, notes) for place, each in enumerate(readings)]
    notes.tell_once("/media", len(rows))
    _tell_floors_once(reading, notes)
    _tell_the_worst(notes)
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
        alike=[which for which, differences in found.items() if not differences],
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


def _tell_floors_once(reading: Reading, notes: Notes) -> None:
    """Tell of several media in one finding that their EC is only the least that it can be."""
    several = [place for place, each in enumerate(reading.floors) if each]
    found = [each for each in notes.warnings if each.id == _LOWER_BOUND]
    if len(several) < 2 or not found:
        return
    names = [reading.media[place].called for place in several]
    said = say("finding.ec_is_lower_bound_of_several", media=names)
    at = notes.warnings.index(found[0])
    notes.warnings[at] = replace(found[0], sentence=said, field="/media")
    notes.warnings = [each for each in notes.warnings if each not in found[1:]]


def _tell_the_worst(notes: Notes) -> None:
    """Keep of findings that differ by medium in their figure alone the one that tells the most."""
    for which, figure in _WORST.items():
        told = [
            (figure(each.sentence.told), each)
            for each in notes.warnings
            if each.id == which and isinstance(each.sentence, Message)
        ]
        for _, each in sorted(told, key=lambda one: -one[0])[1:]:
            notes.warnings.remove(each)


def _row(reading: Reading, place: int, readings: Readings, whole: Notes) -> ComparisonRow:
    one, assessment = reading.media[place], reading.assessment
    samples, sample = one.samples, one.samples[0]
    notes = assessment.notes()
    state_readings(readings, notes)
    find_unknown_crops(assessment, sample, notes)
    state_defaults(
        assessment, sample, uses_of(assessment, sample) - OF_UPKEEP - {"water_use"}, notes
    )
    salinity = show_salinity(assessment, sample, notes)
    of_sodicity = assessment.notes()
    sodicity = show_sodicity(assessment, sample, of_sodicity).medium
    of_sodicity.not_computed = [
        gap for gap in of_sodicity.not_computed if gap.part in _SODICITY_SHOWN
    ]
    of_sodicity.warnings = [each for each in of_sodicity.warnings if each.id not in _OF_ESP]
    notes.merge(of_sodicity, {})
    plans = (reading.leaches(place) and show_flush_plan(assessment, sample, notes)) or []
    kind = int(assessment.medium_ions.salt_type.code[sample])
    row = ComparisonRow(
        name=one.name,
        ec_25c=float(assessment.salinity.ec_25c[sample]),
        method=salinity.method if salinity else None,
        class_=salinity.class_ if salinity else None,
        ec_saturated_extract=_over_samples(assessment.salinity.saturated_extract, samples),
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
        flush=[from_row(ComparedFlush, plan) for plan in plans],
    )
    whole.merge(notes, {member: f"/media/{place}{member}" for member in OF_MEDIUM}, together=True)
    return row


def _status(assessment: Assessment, samples: Sequence[int], nutrient: str) -> str:
    """Return a status, undetermined where nitrogen of either form gives two."""
    codes = assessment.nutrients.status[list(samples), NUTRIENTS.index(nutrient)]
    return STATUSES[codes[0]] if len(set(codes.tolist())) == 1 else _UNKNOWN


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
    verdict = CERTAINTIES[still[leading.cause]]
    return from_row(MainCause, leading, tied_with=tied, verdict=verdict)


def _crops(assessment: Assessment, sample: int) -> list[ComparedCrop]:
    result, stages = assessment.crops, assessment.batch.plantings.stage
    shown = []
    for row in assessment.plantings_of(sample):
        crop, highest = assessment.crop_of(row), float(result.max_tolerated_ec[row])
        standing = Standing(**standing_of(crop, result.verdicts, row, highest))
        shown.append(from_row(ComparedCrop, standing, stage=STAGES[stages[row]]))
    return shown


_Found = tuple[Message, list[MediaAlike]]
"""What tells media apart: in words, and which of them show what."""


def _verdicts(rows: list[ComparisonRow]) -> Iterator[_Found]:
    """Crops that stand one medium and not another; those that fail somewhere first."""
    records = []
    judged = [row for row in rows if row.crops]
    for position, planting in enumerate(judged[0].crops if judged else []):
        found = {
            verdict: [
                row.name for row in judged if row.crops[position].verdict == VERDICTS[verdict]
            ]
            for verdict in _WORST_FIRST
        }
        found = {verdict: media for verdict, media in found.items() if media}
        if len(found) > 1:
            sentence = say(
                "comparison.crop_verdict",
                crop=planting.name,
                stage=say(f"stage.{planting.stage}"),
                verdicts=[
                    say(f"comparison.{verdict.name.lower()}", media=[*map(called, media)])
                    for verdict, media in found.items()
                ],
            )
            shown = [MediaAlike(VERDICTS[verdict], media) for verdict, media in found.items()]
            records.append((_WORST_FIRST.index(next(iter(found))), (sentence, shown)))
    yield from (record for _, record in sorted(records, key=lambda each: each[0]))


def _ec(rows: list[ComparisonRow]) -> Iterator[_Found]:
    """Tell the least from the most salty medium, if their intervals do not meet."""
    read = [
        row
        for row in rows
        if math.isfinite(row.ec_saturated_extract.value) and not row.ec_is_lower_bound
    ]
    if len(read) < 2:
        return
    least = min(read, key=lambda row: float(row.ec_saturated_extract.value))
    most = max(read, key=lambda row: float(row.ec_saturated_extract.value))
    if _ends(least.ec_saturated_extract)[1] >= _ends(most.ec_saturated_extract)[0]:
        return
    sentence = say(
        "comparison.ec",
        low=float(least.ec_saturated_extract.value),
        least=called(least.name),
        high=float(most.ec_saturated_extract.value),
        most=called(most.name),
    )
    media = _by_value([least, most], lambda row: row.class_)
    yield sentence, media if len(media) > 1 else []


def _ends(interval: Interval) -> tuple[float, float]:
    """Return the ends of an interval; the figure itself for an end that is not known."""
    value, low, high = (float(each) for each in interval)
    return low if math.isfinite(low) else value, high if math.isfinite(high) else value


def _by_value(
    rows: list[ComparisonRow], value: Callable[[ComparisonRow], str | Message | None]
) -> list[MediaAlike]:
    """Return the media by what they show, those that show nothing left out."""
    found: list[MediaAlike] = []
    for row in rows:
        shown = value(row)
        known = next((each for each in found if each.finding == shown), None)
        if known:
            known.media.append(row.name)
        elif shown not in (None, _UNKNOWN):
            found.append(MediaAlike(shown, [row.name]))
    return found


def _telling(
    message: str, value: Callable[[ComparisonRow], str | Message | None], named: str = ""
) -> Callable[[list[ComparisonRow]], Iterator[_Found]]:
    """Return what tells the media apart by one value of each; ``named`` begins the words of ids."""

    def tell(rows: list[ComparisonRow]) -> Iterator[_Found]:
        media = _by_value(rows, value)
        if len(media) > 1:
            each = [
                say(
                    "comparison.value",
                    value=say(f"{named}.{one.finding}")
                    if named and isinstance(one.finding, str)
                    else one.finding,
                    media=[*map(called, one.media)],
                )
                for one in media
            ]
            yield say(message, values=each), media

    return tell


def _cause(row: ComparisonRow) -> Message:
    cause = row.main_cause
    if cause is None:
        return say("comparison.no_cause")
    return say("comparison.cause", name=cause.name, verdict=say(f"cause_verdict.{cause.verdict}"))


def _litres(rows: list[ComparisonRow]) -> Iterator[_Found]:
    """Which containers need water in one medium and not, or much more, in another."""
    planned = [row for row in rows if row.flush]
    if len({len(row.flush) for row in planned}) > 1:
        return
    for position, plan in enumerate(planned[0].flush if planned else []):
        if plan.drainage == "sealed":
            continue
        litres = {row.name: _water(row.flush[position]) for row in planned}
        if max(litres.values()) <= _MUCH_MORE_WATER * min(litres.values()):
            continue
        each = [
            say(
                "comparison.litres" if water else "comparison.no_litres",
                medium=called(name),
                litres=water,
            )
            for name, water in litres.items()
        ]
        if plan.container:
            yield say("comparison.flush_of_named", name=plan.container, media=each), []
        else:
            yield say("comparison.flush", media=each), []


def _water(plan: ComparedFlush) -> float:
    litres = float(plan.water_per_container.value)
    return litres if math.isfinite(litres) else 0.0


DIFFERENCES: Mapping[str, Callable[[list[ComparisonRow]], Iterator[_Found]]] = dict(
    zip(
        _DIFFERENCE_IDS,
        (
            _verdicts,
            _telling("comparison.main_cause", _cause),
            _ec,
            _telling("comparison.salt_type", lambda row: row.salt_type, "salt_type"),
            _telling("comparison.sodicity", lambda row: row.sodicity_class, "sodicity_class"),
            _telling("comparison.nitrogen", lambda row: row.nitrogen_status, "report.status"),
            _telling("comparison.ph", lambda row: row.ph_status, "report.status"),
            _litres,
        ),
        strict=True,
    )
)
"""The ways in which media can differ, in the order in which they matter, and what tells them."""
