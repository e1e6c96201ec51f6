"""The answer to one sample of many, in a row of figures and ids."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from saltcalc.case.vocabulary import STAGES
from saltcalc.parts.causes.show import CAUSES, CHECKS
from saltcalc.parts.crops.verdicts import VERDICT_IDS, VERDICTS
from saltcalc.parts.plantings import NO_CROP
from saltcalc.parts.shown import part, shown
from saltcalc.science.character import CHARACTERS
from saltcalc.science.crop_limits import Verdict
from saltcalc.science.diagnosis import VERDICTS as CERTAINTIES

if TYPE_CHECKING:
    from saltcalc.parts.answer import Answer


@part
class Short:
    """What matters first, in a row; an end of an interval that is open or not known is empty."""

    verdict: str = shown("How sure the first cause is.", choices=CERTAINTIES)
    first_cause: str | None = shown("Empty where nothing stands out.", choices=CAUSES)
    leading_salt: str | None = shown("Where salt may be the cause.", choices=CHARACTERS)
    ec_saturated_extract: float = shown("What the saturated extract would read.", "dS/m")
    ec_low: float = shown("Of the same.", "dS/m")
    ec_high: float = shown("Of the same.", "dS/m")
    crop: str | None = shown("The one that stalls, or the most sensitive.")
    stage: str | None = shown("Of that crop.", choices=STAGES)
    crop_verdict: str | None = shown("On that crop.", choices=VERDICT_IDS)
    limit: float = shown("Saturated extract that it stands at that stage.", "dS/m")
    water_per_container: float = shown(
        "To pour through the first container, where a flush comes first.", "L"
    )
    check_reading: float = shown(
        "Reading of the medium after a rest, by its own method, at or below which that flush is "
        "done.",
        "dS/m",
    )
    next_check: str | None = shown("What settles most for its effort.", choices=CHECKS)


def show_short(answer: Answer) -> Short:
    """Return the row of an answer."""
    assessment, summary = answer.assessment, answer.summary
    ec = answer.salinity and answer.salinity.ec_saturated_extract
    value, low, high = (float(end) for end in ec or (math.nan,) * 3)
    row = int(assessment.causes.stalled[answer.sample])
    named = row != NO_CROP and answer.crops is not None
    code = Verdict(int(assessment.crops.verdicts.verdict[row])) if named else None
    flush = next((each for each in summary.actions[:1] if each.id == "flush"), None)
    return Short(
        verdict=summary.leading_cause.verdict,
        first_cause=summary.leading_cause.cause,
        leading_salt=summary.salt.salt_type if summary.salt else None,
        ec_saturated_extract=value,
        ec_low=low,
        ec_high=high,
        crop=assessment.crop_of(row).id if named else None,
        stage=STAGES[assessment.batch.plantings.stage[row]] if named else None,
        crop_verdict=None if code is None else VERDICTS[code],
        limit=float(assessment.crops.max_tolerated_ec[row]) if named else math.nan,
        water_per_container=flush.amount.value if flush and flush.amount else math.nan,
        check_reading=flush.done_at.value if flush and flush.done_at else math.nan,
        next_check=summary.next_check.id if summary.next_check else None,
    )
