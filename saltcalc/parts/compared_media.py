"""What several media show side by side, and the differences between them that matter."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping

from saltcalc.case.vocabulary import DRAINAGE, STAGES
from saltcalc.message import Message, say
from saltcalc.parts.acting import HELD_BACK
from saltcalc.parts.causes.show import CAUSES, STANDING_OUT
from saltcalc.parts.choices import EC_CLASSES, METHODS
from saltcalc.parts.crops.verdicts import VERDICT_IDS, VERDICTS
from saltcalc.parts.flush.calcium import WAYS as CALCIUM_WAYS
from saltcalc.parts.nutrients.arrays import STATUSES
from saltcalc.parts.shown import part, shown
from saltcalc.parts.sodicity import SAR_UNIT, SODICITY_CLASSES
from saltcalc.parts.trial.reading import LIKELY
from saltcalc.parts.trial.tried import called
from saltcalc.science.crop_limits import Verdict
from saltcalc.science.nutrients import NutrientStatus
from saltcalc.science.salt_type import SALT_TYPES
from saltcalc.science.uncertainty import Interval

_MUCH_MORE_WATER = 1.5
"""Ratio of litres from which a difference is worth telling (judgement)."""

LITRES = "litres_to_flush"
DIFFERENCE_IDS = (
    "crop_verdict",
    "main_cause",
    "ec",
    "salt_type",
    "sodicity",
    "nitrogen",
    "ph",
    LITRES,
)
UNKNOWN = STATUSES[NutrientStatus.CANNOT_TELL]
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

    id: str = shown("Stable id.", choices=DIFFERENCE_IDS)
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
        "Null where no flush is needed, possible or allowed, or where it is held back.", "L"
    )
    held_back: str | None = shown(
        "What is to be settled before anything is poured; the water is null until then.",
        choices=HELD_BACK,
        optional=True,
    )
    calcium_by: str | None = shown(
        "How calcium is brought into the medium before that water; left out where it needs none.",
        choices=CALCIUM_WAYS,
        optional=True,
    )
    possible: bool | None = shown(
        "False where a flush is needed and none can be done: the container cannot drain, or no "
        "flush with this water gets there.",
        optional=True,
    )


@part
class MainCause:
    """The best supported cause of stalled plants."""

    cause: str = shown("The cause that leads.", choices=CAUSES)
    name: str = shown()
    verdict: str = shown(choices=(*STANDING_OUT, LIKELY))
    tied_with: list[str] = shown(choices=CAUSES, optional=True)


@part
class ComparisonRow:
    """One medium."""

    name: str = shown("Of the medium.")
    ec_25c: float = shown("The reading, at 25 °C.", "dS/m")
    method: str | None = shown(choices=METHODS)
    class_: str | None = shown(choices=EC_CLASSES)
    ec_saturated_extract: Interval = shown("What the saturated extract would read.", "dS/m")
    ec_by_any_method: Interval = shown(
        "The same between the ends of all usual methods; only where none was given.",
        "dS/m",
        optional=True,
    )
    ec_is_lower_bound: bool | None = shown(
        "True where the EC is only the least that the reported ions make.", optional=True
    )
    salt_type: str | None = shown(
        "Null without ions, and where it depends on the form of the nitrogen, which was not told.",
        choices=SALT_TYPES,
    )
    sar: float = shown("Sodium adsorption ratio.", SAR_UNIT)
    sodicity_class: str | None = shown("Sodium hazard of the extract.", choices=SODICITY_CLASSES)
    nitrate_n: float = shown("As reported.", "mg/L")
    nitrogen_status: str = shown("Nitrogen against its range.", choices=STATUSES)
    ph: float = shown("As reported.", "1")
    ph_status: str = shown("pH against its range.", choices=STATUSES)
    main_cause: MainCause | None = shown("Null where none is possible.")
    crops: list[ComparedCrop] = shown("How each crop tolerates the medium.")
    flush: list[ComparedFlush] = shown("Water to flush each kind of container.")


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
        elif shown not in (None, UNKNOWN):
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
    """Which containers need water in one medium and not, or much more, or cannot be flushed."""
    planned = [row for row in rows if row.flush]
    if not may_compare_litres(rows):
        return
    for plans in zip(*(row.flush for row in planned), strict=True):
        litres = [_water(plan) for plan in plans]
        cannot = [plan.possible is False for plan in plans]
        poured = [water for water, not_so in zip(litres, cannot, strict=True) if not not_so]
        much_more = bool(poured) and max(poured) > _MUCH_MORE_WATER * min(poured)
        if not much_more and len(set(cannot)) == 1:
            continue
        told = [
            (f"cannot_flush_{plan.drainage}" if plan.possible is False else _poured(plan))
            if plan.possible is False or water
            else "litres_not_known"
            if row.ec_is_lower_bound
            else "no_litres"
            for row, plan, water in zip(planned, plans, litres, strict=True)
        ]
        each = [
            say(f"comparison.{which}", medium=called(row.name), litres=water)
            for row, which, water in zip(planned, told, litres, strict=True)
        ]
        first, *others = (plan.container for plan in plans)
        name = first if all(each == first for each in others) else None
        if name:
            yield say("comparison.flush_of_named", name=name, media=each), []
        else:
            yield say("comparison.flush", media=each), []


def may_compare_litres(rows: list[ComparisonRow]) -> bool:
    """Tell whether all media that have containers have as many."""
    return len({len(row.flush) for row in rows if row.flush}) <= 1


def _poured(plan: ComparedFlush) -> str:
    return "litres_after_calcium" if plan.calcium_by else "litres"


def _water(plan: ComparedFlush) -> float:
    litres = float(plan.water_per_container.value)
    return litres if math.isfinite(litres) else 0.0


DIFFERENCES: Mapping[str, Callable[[list[ComparisonRow]], Iterator[_Found]]] = dict(
    zip(
        DIFFERENCE_IDS,
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
