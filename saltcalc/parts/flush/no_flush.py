"""Why a container is not flushed, in words."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.data.causes import causes
from saltcalc.message import Message, say
from saltcalc.parts.flush.case import MAX_PASSES
from saltcalc.parts.flush.plan import FlushResult
from saltcalc.science.diagnosis import SUPPORTED
from saltcalc.science.instruction import PRACTICAL_VOLUMES
from saltcalc.science.uncertainty import HIGH

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment


def why_no_flush(flush: FlushResult, assessment: Assessment) -> Message:
    """Say why a container is not flushed, or not with what is there."""
    if not flush.case.needed:
        if assessment.ec_is_lower_bound[int(flush.case.owner)]:
            return say("flush.target_not_known")
        above = ion_is_above(assessment, int(flush.case.owner))
        return say("flush.at_target_but_for_an_ion" if above else "flush.at_target")
    if flush.not_cured:
        return _not_the_cure(flush, assessment)
    if flush.ec_is_lower_bound:
        return _only_a_floor(flush)
    if flush.just_above:
        return say("flush.just_above")
    if flush.case.sealed:
        return say("flush.cannot_drain")
    if flush.passes_run_out:
        return say("flush.too_many_passes", passes=MAX_PASSES)
    if flush.case.flush.ec_water >= flush.case.target_pore_water:
        return say("flush.water_above_target")
    if flush.case.too_close:
        return say("flush.water_near_target")
    if flush.case.gypsum_bound:
        return say("flush.gypsum_holds")
    return say("flush.out_of_reach", **out_of_reach(flush))


def _not_the_cure(flush: FlushResult, assessment: Assessment) -> Message:
    """Say that what is most likely wrong is not cured by a flush."""
    sample = int(flush.case.owner)
    diagnosis = assessment.causes.findings.diagnosis
    before = assessment.causes.findings.before_water[sample]
    wanted = before if before.any() else diagnosis.verdict[sample] >= SUPPORTED
    ranked = sorted(zip(diagnosis.rank[sample], wanted, causes(), strict=True))
    names = [say(f"causes.name.{cause}") for _, is_wanted, cause in ranked if is_wanted]
    return say("flush.something_first" if before.any() else "flush.not_the_cure", names=names)


def _only_a_floor(flush: FlushResult) -> Message:
    """Say what can be said of litres where only the least EC is known."""
    if flush.case.sealed:
        return say("flush.floor_cannot_drain")
    if not flush.works:
        return say("flush.floor_no_litres")
    return say("flush.floor_litres", least=min(float(flush.told.low), float(flush.told.litres)))


def out_of_reach(flush: FlushResult) -> dict[str, float]:
    """Return how many such containers the most water that is practical would bring there."""
    return {
        "litres": float(flush.case.flush.ceiling),
        "volumes": PRACTICAL_VOLUMES,
        "share": math.floor(10 * float(flush.told.share_reachable)),
        "asked": 10 * max(float(flush.case.confidence), HIGH),
    }


def ion_is_above(assessment: Assessment, sample: int) -> bool:
    """Whether a single ion is above what a crop of this sample tolerates."""
    return bool(np.any(assessment.ions_excess.any[assessment.plantings_of(sample)]))
