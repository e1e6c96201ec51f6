"""What matters first: what is wrong and how sure, what to do, and what to check next."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

from saltcalc.data.extraction import extraction_methods
from saltcalc.message import Message, say
from saltcalc.parts.by_method import show_by_method, verdicts_by_method
from saltcalc.parts.causes.next_measurement import FIRST_READING, NONE_LEFT, OF_ONE_ION, SALTS
from saltcalc.parts.causes.show import CAUSES, Measurement, WeighedCause, show_checks
from saltcalc.parts.contrast import age_decides, contrast_of
from saltcalc.parts.doubts import (
    DOUBTS,
    METHOD_DECIDES,
    UNUSUAL_PH,
    leaves_open,
)
from saltcalc.parts.notes import Finding
from saltcalc.parts.retest import FIND_FIRST, FIND_WHAT_FEEDS, show_retest, what_feeds
from saltcalc.parts.shown import Text
from saltcalc.parts.summary.actions import POURING, ion_flush, of_salt, to_do
from saltcalc.parts.summary.change_water import change_water
from saltcalc.parts.summary.feed_weaker import feed_weaker
from saltcalc.parts.summary.leading import NO_CAUSE
from saltcalc.parts.summary.of_water import with_water
from saltcalc.parts.summary.rows import (
    ASK_METHOD,
    SECOND_SAMPLE,
    Action,
    LeadingCause,
    LeadingSalt,
    NextCheck,
    Remark,
    Summary,
    TellingAssumption,
)
from saltcalc.parts.summary.worst_crop import stage_of, worst_crop
from saltcalc.parts.telling import LEAST_EFFECT, effects
from saltcalc.science.diagnosis import VERDICTS as CERTAINTIES

if TYPE_CHECKING:
    from saltcalc.parts.answer import Answer

MOST_TELLING = 3


_CONTRADICTIONS = frozenset({"reporting_slip", "reading_below_ions", "report_contradicts"})
"""Findings that a report contradicts itself; that of the medium is looked for first."""

_NOT_OF_SALT = (
    "ph_",
    "acid_loving",
    "iron_",
    "air_space",
    "sealed",
    "root_zone_",
    "contains_",
    "plant_age",
    "water_",
)
"""How figures begin that a slip in the EC or the ions of a medium does not touch."""

_OF_THE_THRIVING = {"ec_to_thriving_crop_threshold", "thriving_crop_limit_ratio"}

_SPLITS = ("summary.salt_splits", "summary.salt_splits_over")
"""Sentences that name both crops and the ion that leads; the hardier tolerates it, or not."""

_DRAINAGE = "collect_drainage"
"""Caution that goes with every advice to pour, however little of the answer is asked for."""

_OF_METHOD = (METHOD_DECIDES, "method_not_given")
_CAVEATS = ("ec_is_lower_bound", "ec_is_estimated", "crop_not_in_tables", *_OF_METHOD)
"""Findings that limit an answer, the farthest reaching first."""


def show_summary(answer: Answer) -> Summary:
    """Return what matters first of an answer, from its other parts."""
    # Looked at in the order of the answer, so that its findings always come in that order.
    _ = answer.salinity, answer.ions, answer.water
    first, sample = answer.assessment.leading, answer.sample
    by_method = show_by_method(answer.assessment, answer.sample, answer.notes)
    crops, plans = answer.crops or [], answer.flush_plan or []
    next_check: Measurement | None = answer.causes.next_check
    if next_check is None and first.next_check[sample] != NONE_LEFT:
        asked = show_checks(answer.assessment, answer.sample, [FIRST_READING], answer.notes)
        next_check = next(iter(asked), None)
    notes = answer.notes
    rows = answer.assessment.containers_of(sample)
    kept = answer.upkeep or []
    before = answer.assessment.causes.findings.before_water[sample]
    ion = ion_flush(answer.assessment, sample, answer.weighed)
    doubted, ways = bool(answer.assessment.acting.report[sample]), answer.assessment.ways
    told = (ways, rows, answer.weighed, plans, kept, before, ion)
    actions = [] if doubted else list(to_do(*told))
    litres = [each.amount.value for each in actions if each.id == "flush" and each.amount]
    retest = show_retest(answer.assessment, sample, litres, bool(actions), notes)
    if retest and retest.next_step == FIND_FIRST and not doubted:
        looked = Action(FIND_WHAT_FEEDS, None, None, None, what_feeds(retest))
        actions = [looked, *(each for each in actions if each.id not in POURING)]
    if retest and retest.within_error and any(each.id == "flush" for each in actions):
        again = say("summary.second_sample_first")
        actions = [Action(SECOND_SAMPLE, None, None, None, again), *actions]
    if by_method and actions:
        assumed = extraction_methods()[answer.assessment.batch.samples.extraction[sample]].id
        first_ask = say("summary.method_first", assumed=say(f"extraction_methods.name.{assumed}"))
        actions = [Action(ASK_METHOD, None, None, None, first_ask), *actions]
    found = {each.id: each for each in notes.warnings}
    if first.sound[sample]:
        _ = answer.nutrients  # what tells that all is well is among what was taken for granted
    healthy = bool(first.healthy[sample])
    leading = _cause(answer)
    contradiction = next(
        (each for each in notes.warnings if each.id in _CONTRADICTIONS), None
    ) or next(
        (found[each] for each in DOUBTS if each in found and _matters(answer, each, leading)), None
    )
    if contradiction and contradiction.id in _CONTRADICTIONS:
        open_ = [each for each in answer.weighed if _rests_on(each, contradiction)]
        of_doubt = {f"remedy_{each.cause}" for each in open_ if each.cause != SALTS}
        actions = [each for each in actions if each.id not in of_doubt]
    if not (actions or doubted or by_method) and answer.assessment.medium_is_told[sample]:
        weaker = feed_weaker(answer) if leading.cause == SALTS else []
        actions = [*weaker, *change_water(answer, leading.cause)]
    poured = bool((ways.flush | ways.other)[rows].any()) and bool(actions)
    leading = with_water(answer, _as_sure_as_its_figures(answer, leading, contradiction))
    supported = leading.cause if leading.verdict == "supported" else None
    return Summary(
        contradiction=_remark(contradiction),
        leading_cause=leading,
        retest=retest,
        salt=None if _is_of_medium(contradiction) else _salt(answer, leading),
        worst_crop=worst_crop(answer, crops, supported, in_doubt=doubted),
        caveat=_caveat(found),
        by_method=by_method,
        actions=actions,
        next_check=NextCheck(next_check.id, next_check.how) if next_check and not healthy else None,
        cautions=[
            _remark(each)
            for each in notes.warnings
            if each.severity == "stop" or (poured and each.id == _DRAINAGE)
        ],
        assumption_count=len(notes.assumptions),
        telling=partial(_most_telling, answer),
    )


def _is_of_medium(contradiction: Finding | None) -> bool:
    """Whether a report contradicts itself by what it says of the medium."""
    return (
        contradiction is not None
        and contradiction.id in _CONTRADICTIONS
        and "medium" in contradiction.field
    )


def _matters(answer: Answer, doubt: str, leading: LeadingCause) -> bool:
    """Whether a doubt bears on what is said first: the cause, and how the crops fare."""
    if leading.verdict != "supported" or leading.cause is None:
        return True
    return leaves_open(answer.assessment, doubt, (leading.cause, *leading.tied_with))


def _remark(finding: Finding | None) -> Any:
    return finding and Remark(finding.id, finding.sentence)


def _cause(answer: Answer) -> LeadingCause:
    """Return the first cause, or that none stands out."""
    found, sample, causes = answer.assessment.leading, answer.sample, answer.weighed
    salt_verdict = CERTAINTIES[found.salt_verdict[sample]]
    verdict = CERTAINTIES[found.verdict[sample]]
    cause = int(found.cause[sample])
    if cause == NO_CAUSE:
        hinted = [each for each in causes if found.hinted[sample, CAUSES.index(each.cause)]]
        healthy, in_range = found.healthy[sample], found.in_range[sample]
        which = "healthy" if healthy else "hinted" if hinted else f"nothing_{salt_verdict}"
        if in_range and not healthy:
            which = "in_range_hinted" if hinted else f"in_range_{salt_verdict}"
        return LeadingCause(
            cause=None,
            verdict=verdict,
            tied_with=[],
            sentence=say(f"summary.{which}", names=[each.name for each in hinted]),
            evidence=None,
        )
    first = [each for each in causes if found.first[sample, CAUSES.index(each.cause)]]
    leading = next(each for each in first if each.cause == CAUSES[cause])
    others = [each for each in first if each is not leading]
    sentence = _told(answer, leading, [each.name for each in first], salt_verdict)
    says_it = sentence.id.startswith(_SPLITS)
    told: Text | None = None
    if leading.evidence_for and not says_it:
        told = leading.evidence_for[0].sentence
        against = leading.evidence_against[:1] if leading.verdict == "possible" else []
        if against and against[0].strength == "strong":
            told = _joined(told, against[0].sentence)
    return LeadingCause(
        cause=leading.cause,
        verdict=verdict,
        tied_with=[each.cause for each in others],
        sentence=sentence,
        evidence=told,
    )


def _as_sure_as_its_figures(
    answer: Answer, leading: LeadingCause, contradiction: Finding | None
) -> LeadingCause:
    """Say of a cause that rests on a method that is open, or on figures in doubt, that it does."""
    assessment, sample = answer.assessment, answer.sample
    decides = bool(assessment.leading.method_decides[sample])
    if leading.cause in (SALTS, None):
        by_method = verdicts_by_method(assessment, sample, SALTS)
        if decides:
            told = [say(f"summary.salty_{each}", methods=by_method[each]) for each in by_method]
            return replace(leading, sentence=say("summary.method_decides", groups=told))
        if leading.cause and "supported" in by_method:
            leading = replace(leading, sentence=say("summary.salt_by_any_method"))
    if contradiction and leading.cause is None and assessment.leading.healthy[sample]:
        return replace(leading, sentence=say("summary.healthy_if_figures_hold"))
    if leading.cause is None or not (decides or leading.verdict == "supported"):
        return leading
    causes = [each for each in answer.weighed if each.cause in (leading.cause, *leading.tied_with)]
    names = [each.name for each in causes]
    if decides:
        by_method = verdicts_by_method(assessment, sample, leading.cause)
        sentence = say("summary.other_by_method", names=names, methods=by_method["supported"])
        leading = replace(leading, sentence=sentence)
    if contradiction and all(_rests_on(each, contradiction) for each in causes):
        which = "salt" if leading.cause == SALTS else "other"
        sentence = say(f"summary.{which}_if_figures_hold", names=names)
        leading = replace(leading, sentence=sentence, evidence=None)
    return leading


def _rests_on(cause: WeighedCause, doubt: Finding) -> bool:
    """Whether the evidence for a cause rests on figures of the medium that are in doubt.

    A pH that can hardly be is evidence for nothing.
    """
    if doubt.id == UNUSUAL_PH:
        return False
    if not doubt.field.strip("/").startswith(("medium", "ions/medium", "causes")):
        return False
    firm = [
        each.strength in ("strong", "decisive")
        for each in cause.evidence_for
        if all(
            figure.measure == "ph" or figure.measure.startswith(_NOT_OF_SALT)
            for figure in each.figures
        )
    ]
    return len(firm) < len(cause.evidence_for) and not any(firm)


def _told(answer: Answer, leading: WeighedCause, names: list[Any], salt_verdict: str) -> Message:
    if leading.cause == SALTS and leading.verdict == "supported" and _is_split(leading):
        return _contrast(answer)
    stalled = answer.assessment.causes.stalled
    by_age = age_decides(answer.assessment, stalled)[answer.sample]
    if leading.cause == SALTS and leading.verdict == "possible" and by_age:
        crop = answer.assessment.crop_of(int(stalled[answer.sample]))
        return say("summary.salt_by_age", crop=crop.name)
    if leading.cause == SALTS and len(names) == 1:
        return say(f"summary.salt_{leading.verdict}")
    if salt_verdict == "unlikely" and leading.cause in OF_ONE_ION:
        return say(f"summary.other_{leading.verdict}_not_total", names=names)
    if salt_verdict == "unlikely":
        return say(f"summary.other_{leading.verdict}_not_salt", names=names)
    return say(f"summary.other_{leading.verdict}", names=names)


def _is_split(salt: WeighedCause) -> bool:
    """Whether the crop that stalls and the one that thrives are told apart by their limits."""
    looked_at = [
        {figure.measure for figure in each.figures}
        for each in salt.evidence_for
        if each.strength == "strong"
    ]
    return any(
        "ec_to_stalled_crop_threshold" in measures and measures & _OF_THE_THRIVING
        for measures in looked_at
    )


def _contrast(answer: Answer) -> Message:
    """Say that salt holds back one crop and not the other, with the EC and both limits."""
    assessment, sample = answer.assessment, answer.sample
    result = assessment.causes
    stalled, thriving = int(result.stalled[sample]), int(result.thriving[sample])
    limits = contrast_of(assessment, result.stalled, result.thriving)
    leads = _leading_ion(answer)
    floor, estimated = bool(assessment.ec_is_lower_bound[sample]), bool(assessment.ec_error[sample])
    limit, upper = float(limits.stalled_limit[sample]), float(limits.thriving_limit[sample])
    ec = float(assessment.salinity.saturated_extract.value[sample])
    return say(
        _SPLITS[ec > upper],
        ec=say(
            "summary.at_least" if floor else "summary.about" if estimated else "summary.ec", ec=ec
        ),
        crop=assessment.crop_of(stalled).name,
        stage=stage_of(assessment, stalled),
        limit=limit,
        thriving=assessment.catalogue[thriving].name,
        upper=upper,
        leads=say("summary.ion_leads", ion=say(f"ion.{leads}")) if leads else "",
    )


def _leading_ion(answer: Answer) -> str | None:
    medium = answer.ions and answer.ions.medium
    if not medium:
        return None
    return next((each.ion for each in medium.shares.each if not math.isnan(each.share)), None)


def _salt(answer: Answer, leading: LeadingCause) -> LeadingSalt | None:
    medium = answer.ions and answer.ions.medium
    unlikely = of_salt(answer.weighed).verdict == "unlikely"
    if not medium or unlikely:
        return None
    dominant = medium.dominant_salts
    if dominant is None:
        share = 1 / medium.agreement.ratio
        if not share < 1:
            return None
        return LeadingSalt(None, None, math.nan, say("summary.which_salt_open", share=share))
    first = next((each for each in medium.shares.each if not math.isnan(each.share)), None)
    mostly = say("summary.which_salt", salt=dominant.name)
    if first is None:
        return LeadingSalt(dominant.id, None, math.nan, mostly)
    least = bool(answer.assessment.ec_is_lower_bound[answer.sample])
    made_of_it = medium.agreement.ratio if medium.agreement else math.nan
    share = first.share / made_of_it if made_of_it > 1 else first.share
    told: Message | None = say(
        "summary.which_salt_of_reported" if least else "summary.which_salt_leads",
        salt=dominant.name,
        ion=say(f"ion.{first.ion}"),
        share=share,
    )
    if leading.sentence.id in _SPLITS:
        told = None if least else mostly
    return LeadingSalt(dominant.id, first.ion, share, told)


def _caveat(found: dict[str, Finding]) -> Remark | None:
    """Return what limits the answer most; that the method is open goes with any other."""
    first, *others = [*(found[each] for each in _CAVEATS if each in found), None]
    method = next((each for each in others if each and each.id in _OF_METHOD), None)
    if first and method:
        return Remark(first.id, _joined(first.sentence, method.sentence))
    return _remark(first)  # type: ignore[no-any-return]


def _joined(*texts: Text) -> Text:
    """Return texts as one."""
    return tuple(each for text in texts for each in (text if isinstance(text, tuple) else (text,)))


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
