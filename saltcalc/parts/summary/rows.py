"""What the summary shows."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property
from typing import Any

from saltcalc.case.vocabulary import STAGES
from saltcalc.message import Message
from saltcalc.parts.by_method import UnderMethod
from saltcalc.parts.causes.show import CAUSES, CHECKS
from saltcalc.parts.choices import IONS
from saltcalc.parts.crops.verdicts import VERDICT_IDS
from saltcalc.parts.flush.options import OPTIONS
from saltcalc.parts.notes import FINDINGS
from saltcalc.parts.retest import FIND_WHAT_FEEDS, Retest
from saltcalc.parts.shown import Amount, Text, how_known, part, shown, shows
from saltcalc.science.diagnosis import VERDICTS as CERTAINTIES
from saltcalc.science.salt_type import SALT_TYPES

LIMIT_OF = {"chloride_toxicity": "chloride", "boron_toxicity": "boron"}
"""Limits of a crop by the cause that they are of."""

MEASURE_OF = {
    "chloride_toxicity": "chloride",
    "boron_toxicity": "boron",
    "sodium_toxicity": "sodium",
    "ammonium_toxicity": "ammonium_n",
    "nitrogen_shortage": "nitrate_n",
    "ph_too_low": "ph",
    "ph_too_high": "ph",
}
"""What a cause is measured by, where not by the EC."""

MEASURES = ("ec", *dict.fromkeys(MEASURE_OF.values()))

ASK_METHOD = "ask_method"
"""What comes before any other action where it depends on a method that is not given."""

FEED_WEAKER = "feed_weaker"
"""What is done for a fed crop that salt touches within its limit of soil."""

SECOND_SAMPLE = "second_sample"
"""What comes first where a re-test is too near its limit to tell."""

CHANGE_WATER = "change_water"
"""What comes first where the water brings what is too much."""

ACTIONS = (
    "flush",
    CHANGE_WATER,
    SECOND_SAMPLE,
    FEED_WEAKER,
    ASK_METHOD,
    FIND_WHAT_FEEDS,
    *OPTIONS,
    *(f"remedy_{cause}" for cause in CAUSES),
)
"""Ids of what there is to do."""


@part
class LeadingCause:
    """The cause that is first in line, or that none is."""

    cause: str | None = shown(
        "Stable id of the cause; null where nothing stands out.", choices=CAUSES
    )
    verdict: str = shown("How sure.", choices=CERTAINTIES)
    tied_with: list[str] = shown("Causes of the same rank.", optional=True, choices=CAUSES)
    sentence: Message = shown()
    evidence: Text | None = shown(
        "The strongest evidence for it, and against it where strong evidence holds it up; null "
        "where its sentence says it."
    )


@part
class LeadingSalt:
    """Which salt it is, where salt may be the cause."""

    salt_type: str | None = shown(
        "None where the reported ions are too few to say.", choices=SALT_TYPES
    )
    ion: str | None = shown("The ion that leads.", choices=IONS)
    share_of_ec: float = shown(
        "Its share of the EC as measured, or of what the ions make of it where that is more or "
        "none was measured.",
        "1",
    )
    sentence: Message | None = shown(
        "Left out where the sentence of the leading cause says it.", optional=True
    )


@part
class WorstCrop:
    """How bad it is for the crop that stalls, or else the most sensitive one."""

    crop: str = shown()
    stage: str = shown(choices=STAGES)
    verdict: str = shown(choices=VERDICT_IDS)
    measure: str = shown("What the cause is measured by.", choices=MEASURES)
    found: Amount = shown("Figure that the roots meet.")
    allowed: Amount = shown("What the crop tolerates at this stage, or the usual limit.")
    provenance: str = how_known()
    sentence: Message = shown()


@part
class Action:
    """Something to do."""

    id: str = shown(choices=ACTIONS)
    container: str | None = shown(optional=True)
    amount: Amount | None = shown("Water for one container.", optional=True)
    done_at: Amount | None = shown(
        "Reading of the medium after a rest, by its own method, at or below which it is done.",
        optional=True,
    )
    sentence: str | Text = shown()


@part
class NextCheck:
    """The check that settles most for its effort."""

    id: str = shown(choices=CHECKS)
    sentence: Text = shown()


@part
class Remark:
    """What must be known before acting."""

    id: str = shown(choices=FINDINGS)
    sentence: Text = shown()


@part
class TellingAssumption:
    """Something taken for granted that moves the answer."""

    id: str = shown()
    field: str = shown("Pointer to the field that overrides it.")
    value: Any = shown("A quantity, a number or an id.")
    factor: float = shown(
        "Factor by which the EC over its limit, or the litres of a flush, would differ with "
        "another likely value."
    )


@part
class Summary:
    """What matters first, in the order in which it matters."""

    contradiction: Remark | None = shown("A report that does not hold together.", optional=True)
    leading_cause: LeadingCause = shown()
    retest: Retest | None = shown("Against the earlier report.", optional=True)
    salt: LeadingSalt | None = shown(optional=True)
    worst_crop: WorstCrop | None = shown(optional=True)
    caveat: Remark | None = shown("What limits all of it most.", optional=True)
    by_method: list[UnderMethod] = shown(
        "What the reading means by each usual method, where the request names none and they "
        "differ.",
        optional=True,
    )
    actions: list[Action] = shown("What to do, first things first.")
    next_check: NextCheck | None = shown(optional=True)
    cautions: list[Remark] = shown(
        "What must not be done, and what to do with the drainage of what is advised."
    )
    assumption_count: int = shown("How many things were taken for granted.")
    telling: Callable[[], list[TellingAssumption]]
    """Finds the assumptions that move the answer most, which takes another answer for each."""

    @cached_property
    @shows("Those that move the answer most, at most three.")
    def most_telling(self) -> list[TellingAssumption]:
        """Assumptions that move the answer most."""
        return self.telling()
