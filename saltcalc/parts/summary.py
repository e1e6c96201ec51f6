"""What matters first: what is wrong and how sure, what to do, and what to check next."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from saltcalc.case.vocabulary import STAGES
from saltcalc.message import Message, say
from saltcalc.parts.causes.show import CAUSES, CHECKS, STANDING_OUT, WeighedCause
from saltcalc.parts.choices import IONS
from saltcalc.parts.crops.show import CropAnswer
from saltcalc.parts.crops.verdicts import VERDICT_IDS
from saltcalc.parts.flush.options import OPTIONS
from saltcalc.parts.flush.show import FlushPlan
from saltcalc.parts.notes import FINDINGS, Finding
from saltcalc.parts.shown import Amount, Text, part, shown
from saltcalc.parts.telling import LEAST_EFFECT, effects
from saltcalc.science.character import CHARACTERS
from saltcalc.science.diagnosis import VERDICTS as CERTAINTIES

if TYPE_CHECKING:
    from saltcalc.parts.answer import Answer

SALTS = "total_salts"
JUST_ABOVE = 1.1
"""Times a limit up to which a reading is said to be just above it (judgement)."""

MOST_TELLING = 3

_CONTRADICTIONS = frozenset({"reporting_slip", "reading_below_ions", "report_contradicts"})
"""Findings that a report contradicts itself; that of the medium is looked for first."""

ACTIONS = ("flush", *OPTIONS, *(f"remedy_{cause}" for cause in CAUSES))
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
    evidence: Text | None = shown("The strongest evidence for it.")


@part
class LeadingSalt:
    """Which salt it is, where salt may be the cause."""

    salt_type: str = shown(choices=CHARACTERS)
    ion: str | None = shown("The ion that leads.", choices=IONS)
    share_of_ec: float = shown("Its share of the EC of the ions.", "1")
    sentence: Message = shown()


@part
class WorstCrop:
    """How bad it is for the crop that stalls, or else the most sensitive one."""

    crop: str = shown()
    stage: str = shown(choices=STAGES)
    verdict: str = shown(choices=VERDICT_IDS)
    ec_saturated_extract: float = shown("What the roots meet.", "dS/m")
    limit: float = shown("What the crop tolerates at this stage.", "dS/m")
    sentence: Message = shown()


@part
class Action:
    """Something to do."""

    id: str = shown(choices=ACTIONS)
    container: str | None = shown(optional=True)
    amount: Amount | None = shown("Water for one container.", optional=True)
    stop_at: Amount | None = shown("Reading of the drainage at which to stop.", optional=True)
    sentence: str | Text = shown()


@part
class NextCheck:
    """The check that settles most for its effort."""

    id: str = shown(choices=CHECKS)
    sentence: Text = shown()


@part
class Remark:
    """What must be known before acting."""

    id: str = shown(choices=(*FINDINGS, "extraction"))
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
    salt: LeadingSalt | None = shown(optional=True)
    worst_crop: WorstCrop | None = shown(optional=True)
    caveat: Remark | None = shown("What limits all of it most.", optional=True)
    actions: list[Action] = shown("What to do, first things first.")
    next_check: NextCheck | None = shown(optional=True)
    cautions: list[Remark] = shown("What must not be done.")
    assumption_count: int = shown("How many things were taken for granted.")
    most_telling: list[TellingAssumption] = shown("Those that move the answer most, at most three.")


def show_summary(answer: Answer) -> Summary:
    """Return what matters first of an answer, from its other parts."""
    # Looked at in the order of the answer, so that its findings always come in that order.
    _ = answer.salinity, answer.ions, answer.water
    crops, plans = answer.crops or [], answer.flush_plan or []
    next_check = answer.causes.next_check
    notes = answer.notes
    found = {each.id: each for each in notes.warnings}
    return Summary(
        contradiction=_remark(
            next((each for each in notes.warnings if each.id in _CONTRADICTIONS), None)
        ),
        leading_cause=_cause(answer.weighed),
        salt=_salt(answer),
        worst_crop=_worst_crop(crops, answer.thriving),
        caveat=_caveat(answer, found),
        actions=list(_actions(answer.weighed, plans)),
        next_check=NextCheck(next_check.id, next_check.how) if next_check else None,
        cautions=[_remark(each) for each in notes.warnings if each.severity == "stop"],
        assumption_count=len(notes.assumptions),
        most_telling=_most_telling(answer),
    )


def _remark(finding: Finding | None) -> Any:
    return finding and Remark(finding.id, finding.sentence)


def _of_salt(causes: list[WeighedCause]) -> WeighedCause:
    return next(each for each in causes if each.cause == SALTS)


def _cause(causes: list[WeighedCause]) -> LeadingCause:
    salt = _of_salt(causes)
    first = [each for each in causes if each.rank == 1 and each.verdict in STANDING_OUT]
    if not first:
        hinted = [each for each in causes if each.verdict == "undetermined" and each.evidence_for]
        which = "hinted" if hinted else f"nothing_{salt.verdict}"
        return LeadingCause(
            cause=None,
            verdict="undetermined" if hinted else salt.verdict,
            tied_with=[],
            sentence=say(f"summary.{which}", names=[each.name for each in hinted]),
            evidence=None,
        )
    leading = next((each for each in first if each.cause == SALTS), first[0])
    others = [each for each in first if each is not leading]
    evidence = leading.evidence_for[0].sentence if leading.evidence_for else None
    return LeadingCause(
        cause=leading.cause,
        verdict=leading.verdict,
        tied_with=[each.cause for each in others],
        sentence=_told(leading, [each.name for each in first], salt),
        evidence=evidence,
    )


def _told(leading: WeighedCause, names: list[Any], salt: WeighedCause) -> Message:
    if leading.cause == SALTS and len(names) == 1:
        return say(f"summary.salt_{leading.verdict}")
    if salt.verdict == "unlikely":
        return say(f"summary.other_{leading.verdict}_not_salt", names=names)
    return say(f"summary.other_{leading.verdict}", names=names)


def _salt(answer: Answer) -> LeadingSalt | None:
    medium = answer.ions and answer.ions.medium
    unlikely = _of_salt(answer.weighed).verdict == "unlikely"
    if not medium or not medium.character or unlikely:
        return None
    character = medium.character
    first = next((each for each in medium.shares.each if not math.isnan(each.share)), None)
    if first is None:
        sentence = say("summary.which_salt", salt=character.name)
        return LeadingSalt(character.id, None, math.nan, sentence)
    told = say(
        "summary.which_salt_leads",
        salt=character.name,
        ion=say(f"ion.{first.ion}"),
        share=first.share,
    )
    return LeadingSalt(character.id, first.ion, first.share, told)


def _worst_crop(crops: list[CropAnswer], thriving: frozenset[str]) -> WorstCrop | None:
    judged = [
        each
        for each in crops
        if each.stands_up_to > 0 and not math.isnan(each.ec_saturated_extract.value)
    ]
    stalling = [each for each in judged if each.crop not in thriving] or judged
    if not stalling:
        return None
    worst = min(stalling, key=lambda each: float(each.stands_up_to))
    ec, limit = float(worst.ec_saturated_extract.value), float(worst.stands_up_to)
    times = ec / limit
    which = "within" if times <= 1 else "just_above" if times < JUST_ABOVE else "above"
    return WorstCrop(
        crop=worst.crop,
        stage=worst.stage,
        verdict=worst.verdict,
        ec_saturated_extract=ec,
        limit=limit,
        sentence=say(
            f"summary.{which}_limit",
            crop=worst.name,
            stage=say(f"stage.{worst.stage}"),
            ec=ec,
            limit=limit,
            times=times,
        ),
    )


def _caveat(answer: Answer, found: dict[str, Finding]) -> Remark | None:
    assumed = {each.id for each in answer.notes.assumptions}
    if "ec_is_a_floor" in found:
        return _remark(found["ec_is_a_floor"])  # type: ignore[no-any-return]
    if "extraction" in assumed:
        return Remark("extraction", say("summary.method_assumed"))
    return None


def _actions(causes: list[WeighedCause], plans: list[FlushPlan]) -> Iterator[Action]:
    """Yield what to do for the first cause, and what is left of it for each container."""
    supported = [each for each in causes if each.verdict == "supported" and each.usual_remedy]
    salty = _of_salt(causes).verdict
    if supported and salty != "supported":
        yield _remedy(supported[0])
        return
    for plan in plans:
        if plan.passes:
            yield Action(
                id="flush",
                container=plan.container,
                amount=Amount(*_litres(plan)),
                stop_at=Amount(float(plan.stop_reading), "dS/m"),
                sentence=plan.sentence,
            )
        elif plan.options:
            option = plan.options[0]
            yield Action(option.id, plan.container, None, None, option.sentence)
    if not any(plan.passes or plan.options for plan in plans) and supported:
        yield _remedy(supported[0])


def _remedy(cause: WeighedCause) -> Action:
    return Action(f"remedy_{cause.cause}", None, None, None, cause.usual_remedy or "")


def _litres(plan: FlushPlan) -> tuple[float, str, float, float]:
    value, low, high = (float(each) for each in plan.water_per_container)
    return value, "L", low, high


def _most_telling(answer: Answer) -> list[TellingAssumption]:
    """Return the assumptions whose other likely values move the answer farthest."""
    known = {each.id: each for each in reversed(answer.notes.assumptions)}
    values = {which: each.value for which, each in known.items()}
    moved = effects(answer.assessment, answer.sample, values)
    first = sorted(moved, key=lambda each: -moved[each])[:MOST_TELLING]
    return [
        TellingAssumption(each, known[each].field, known[each].value, moved[each])
        for each in first
        if moved[each] >= LEAST_EFFECT
    ]
