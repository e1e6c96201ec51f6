"""What a reading would mean by each usual method, where the request does not say which it was."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from saltcalc.case.defaults import rows_filled
from saltcalc.data.causes import causes
from saltcalc.data.extraction import extraction_methods, governing_schemes
from saltcalc.message import Message, say
from saltcalc.parts.choices import EC_CLASSES, METHODS
from saltcalc.parts.crops.verdicts import VERDICT_IDS, VERDICTS
from saltcalc.parts.doubts import METHOD_DECIDES
from saltcalc.parts.notes import Notes
from saltcalc.parts.plantings import NO_CROP
from saltcalc.parts.salinity import classes_by_name
from saltcalc.parts.shown import part, row_of, shown
from saltcalc.science._arrays import Codes, Flags
from saltcalc.science.crop_limits import Verdict
from saltcalc.science.diagnosis import VERDICTS as CERTAINTIES
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment


@part
class UnderMethod:
    """What the reading means if it was taken by one method."""

    method: str = shown(choices=METHODS)
    class_: str | None = shown("Null where only the least EC is known.", choices=EC_CLASSES)
    ec_saturated_extract: Interval = shown("What the saturated extract would read.", "dS/m")
    crop: str | None = shown("The one that stalls, or the most sensitive.", optional=True)
    verdict: str | None = shown("Of that crop.", optional=True, choices=VERDICT_IDS)


_NO_CLASS = -1


class OpenMethods(NamedTuple):
    """Readings whose method is not given.

    Attributes
    ----------
    open : (n,) ndarray of bool
        Where a figure of the medium is there and how the water was taken out is not.
    usual : (methods, n) ndarray of bool
        Where it is, the methods that are usual for a medium of this kind.
    decide : (n,) ndarray of bool
        Where what the reading means differs between them, or is known by none.
    """

    open: Flags
    usual: Flags
    decide: Flags


def assess_methods(assessment: Assessment) -> OpenMethods:
    """Find the readings that mean something else by another usual method."""
    rows = rows_filled(assessment.defaults, "extraction")
    is_open: Flags = rows & ~np.isnan(assessment.batch.samples.medium.ec)
    soilless = ~assessment.mineral_soil
    usual = np.array(
        [
            is_open & (each.usual == "any" or soilless == (each.usual == "soilless"))
            if each.usual in ("any", "soilless", "mineral")
            else np.zeros(soilless.shape, dtype=bool)
            for each in extraction_methods()
        ]
    )
    if not is_open.any():
        return OpenMethods(is_open, usual, is_open)
    stalled = assessment.reference_plantings.stalled
    least, most = np.full(stalled.shape, np.inf), np.full(stalled.shape, -np.inf)
    known = np.zeros(stalled.shape, dtype=bool)
    for code in np.flatnonzero(usual.any(axis=1)).tolist():
        class_, verdict = _meaning(assessment.by_method(code), stalled)
        meaning = class_ * len(Verdict) + verdict
        least = np.where(usual[code], np.minimum(least, meaning), least)
        most = np.where(usual[code], np.maximum(most, meaning), most)
        known |= usual[code] & ((class_ != _NO_CLASS) | (verdict != Verdict.CANNOT_TELL))
    return OpenMethods(is_open, usual, is_open & ((least != most) | ~known))


def by_any_method(assessment: Assessment) -> Interval:
    """Return the saturated extract [dS/m] over all usual methods, where none is given."""
    extract, methods = assessment.salinity.saturated_extract, assessment.methods
    low, high = extract.low.copy(), extract.high.copy()
    for code in np.flatnonzero(methods.usual.any(axis=1)).tolist():
        found, rows = assessment.by_method(code).salinity.saturated_extract, methods.usual[code]
        low[rows] = np.fmin(low, found.low)[rows]
        high[rows] = np.fmax(high, found.high)[rows]
    return Interval.of(extract.value, low, high)


def _meaning(assessment: Assessment, stalled: Codes) -> tuple[Codes, Codes]:
    """Return the class of each reading, and the verdict on a planting; none of it of a floor."""
    found = assessment.salinity.reading_class()
    class_ = np.where(
        assessment.ec_is_lower_bound, _NO_CLASS, classes_by_name()[found.method, found.code]
    )
    verdict = np.append(assessment.crops.verdicts.verdict, Verdict.CANNOT_TELL)[stalled]
    return class_, verdict


def cause_is_open(assessment: Assessment, cause: Codes) -> Flags:
    """Tell where the verdict on a cause differs between the usual methods.

    Parameters
    ----------
    assessment : Assessment
        Of n samples.
    cause : (n,) ndarray of int
        Place of a cause in the table.
    """
    methods, each = assessment.methods, np.arange(cause.size)
    least, most = np.full(cause.shape, np.inf), np.full(cause.shape, -np.inf)
    for code in np.flatnonzero(methods.usual.any(axis=1)).tolist():
        verdict = assessment.by_method(code).causes.findings.diagnosis.verdict[each, cause]
        least = np.where(methods.usual[code], np.minimum(least, verdict), least)
        most = np.where(methods.usual[code], np.maximum(most, verdict), most)
    differs: Flags = methods.open & (least != most)
    return differs


def show_by_method(assessment: Assessment, sample: int, notes: Notes) -> list[UnderMethod]:
    """Return what the reading means by each usual method; none where it means the same by all.

    Says so beside it, with what to ask.
    """
    methods = assessment.methods
    if not methods.open[sample]:
        return []
    assumed = extraction_methods()[assessment.batch.samples.extraction[sample]]
    told: dict[str, Any] = {"assumed": say(f"extraction_methods.name.{assumed.id}")}
    if not methods.decide[sample]:
        notes.find("method_not_given", "note", "/medium/extraction", **told)
        return []
    stalled = int(assessment.reference_plantings.stalled[sample])
    usual = np.flatnonzero(methods.usual[:, sample]).tolist()
    rows = [_under(assessment.by_method(code), sample, stalled) for code in usual]
    told["methods"] = [_told(assessment, row, stalled) for row in rows]
    notes.find(METHOD_DECIDES, "caution", "/medium/extraction", **told)
    return rows


def verdicts_by_method(assessment: Assessment, sample: int, cause: str) -> dict[str, list[Message]]:
    """Return under which usual methods a cause has which verdict, the firmest verdict first.

    Parameters
    ----------
    assessment : Assessment
        Of the batch.
    sample : int
        Which sample.
    cause : str
        Id of the cause.

    Returns
    -------
    dict of str to list of Message
        The names of the methods; empty where the method is given.
    """
    place, found = list(causes()).index(cause), dict[int, list[Message]]()
    for code in np.flatnonzero(assessment.methods.usual[:, sample]).tolist():
        diagnosis = assessment.by_method(code).causes.findings.diagnosis
        name = say(f"extraction_methods.name.{extraction_methods()[code].id}")
        found.setdefault(int(diagnosis.verdict[sample, place]), []).append(name)
    return {CERTAINTIES[verdict]: found[verdict] for verdict in sorted(found, reverse=True)}


def _under(assessment: Assessment, sample: int, stalled: int) -> UnderMethod:
    result = row_of(assessment.salinity, sample)
    scheme = governing_schemes()[extraction_methods()[result.reading_class.method].id]
    extract, floor = result.saturated_extract, bool(assessment.ec_is_lower_bound[sample])
    named = stalled != NO_CROP
    code = assessment.crops.verdicts.verdict[stalled] if named else Verdict.CANNOT_TELL
    return UnderMethod(
        method=extraction_methods()[assessment.batch.samples.extraction[sample]].id,
        class_=None if floor else scheme.classes[result.reading_class.code].id,
        ec_saturated_extract=extract._replace(high=np.array(np.inf)) if floor else extract,
        crop=assessment.crop_of(stalled).id if named else None,
        verdict=VERDICTS[Verdict(int(code))] if named else None,
    )


def _told(assessment: Assessment, row: UnderMethod, stalled: int) -> Message:
    """Say what the reading means by one method."""
    told = {
        "method": say(f"extraction_methods.name.{row.method}"),
        "ec": float(row.ec_saturated_extract.value),
        "found": say("by_method.class", name=say(f"ec_class.{row.class_}"))
        if row.class_
        else say("by_method.at_least"),
    }
    if row.verdict is None:
        return say("by_method.one", **told)
    crop = assessment.crop_of(stalled).name
    return say("by_method.one_with_crop", crop=crop, verdict=say(f"doubts.{row.verdict}"), **told)
