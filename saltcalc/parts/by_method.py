"""What a reading would mean by each usual method, where the request does not say which it was."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from saltcalc.data.causes import causes
from saltcalc.data.extraction import MEDIUM_KINDS, extraction_methods, governing_schemes
from saltcalc.message import Message, say
from saltcalc.parts.choices import EC_CLASSES, METHODS
from saltcalc.parts.crops.verdicts import VERDICT_IDS, VERDICTS
from saltcalc.parts.doubts import METHOD_DECIDES
from saltcalc.parts.notes import Notes
from saltcalc.parts.plantings import NO_CROP
from saltcalc.parts.shown import part, row_of, shown
from saltcalc.science.crop_limits import Verdict
from saltcalc.science.diagnosis import VERDICTS as CERTAINTIES
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

_NOTHING_SAID = {(None, None), (None, VERDICTS[Verdict.CANNOT_TELL])}
"""Class and verdict of a reading of which nothing is known by any method."""


@part
class UnderMethod:
    """What the reading means if it was taken by one method."""

    method: str = shown(choices=METHODS)
    class_: str | None = shown("Null where only the least EC is known.", choices=EC_CLASSES)
    ec_saturated_extract: Interval = shown("What the saturated extract would read.", "dS/m")
    crop: str | None = shown("The one that stalls, or the most sensitive.", optional=True)
    verdict: str | None = shown("Of that crop.", optional=True, choices=VERDICT_IDS)


def method_is_open(assessment: Assessment, sample: int) -> bool:
    """Whether a figure of the medium is there and how the water was taken out is not."""
    default = next(each for each in assessment.defaults if each.assumption == "extraction")
    return bool(default.rows[sample]) and not np.isnan(assessment.batch.samples.medium.ec[sample])


def show_by_method(assessment: Assessment, sample: int, notes: Notes) -> list[UnderMethod]:
    """Return what the reading means by each usual method; none where it means the same by all.

    Says so beside it, with what to ask.
    """
    if not method_is_open(assessment, sample):
        return []
    stalled = int(assessment.reference_plantings.stalled[sample])
    rows = [
        _under(assessment.by_method(code), sample, stalled)
        for code in _usual_methods(assessment, sample)
    ]
    assumed = extraction_methods()[assessment.batch.samples.extraction[sample]]
    told: dict[str, Any] = {"assumed": say(f"extraction_methods.name.{assumed.id}")}
    meanings = {(row.class_, row.verdict) for row in rows}
    if len(meanings) == 1 and not meanings <= _NOTHING_SAID:
        notes.find("method_not_given", "note", "/medium/extraction", **told)
        return []
    told["methods"] = [_told(assessment, row, stalled) for row in rows]
    notes.find(METHOD_DECIDES, "caution", "/medium/extraction", **told)
    return rows


def _usual_methods(assessment: Assessment, sample: int) -> list[int]:
    """Return the codes of the methods that are usual for a medium of this kind."""
    soilless = assessment.salinity.medium_kind[sample] == MEDIUM_KINDS.index("soilless")
    return [
        code
        for code, method in enumerate(extraction_methods())
        if method.usual in ("any", "soilless" if soilless else "mineral")
    ]


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
    if not method_is_open(assessment, sample):
        return {}
    place, found = list(causes()).index(cause), dict[int, list[Message]]()
    for code in _usual_methods(assessment, sample):
        diagnosis = assessment.by_method(code).causes.findings.diagnosis
        name = say(f"extraction_methods.name.{extraction_methods()[code].id}")
        found.setdefault(int(diagnosis.verdict[sample, place]), []).append(name)
    return {CERTAINTIES[verdict]: found[verdict] for verdict in sorted(found, reverse=True)}


def _under(assessment: Assessment, sample: int, stalled: int) -> UnderMethod:
    result = row_of(assessment.salinity, sample)
    scheme = governing_schemes()[extraction_methods()[result.reading_class.method].id]
    extract, floor = result.saturated_extract, bool(assessment.ec_is_floor[sample])
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
