"""A plan that waits until something is settled: what to do first, and what would follow."""

from __future__ import annotations

from typing import TYPE_CHECKING

from saltcalc.message import Message, say
from saltcalc.parts.acting import REPORT
from saltcalc.parts.flush.plan import FlushResult
from saltcalc.parts.flush.pouring import Pouring, say_amount

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment


def held_back(assessment: Assessment, sample: int, flush: FlushResult) -> str | None:
    """Return what is to be settled before a container is flushed, or before none is."""
    held = assessment.acting.held_back(sample)
    return held if held == REPORT or flush.planned else None


def what_first(
    held: str, flush: FlushResult, pouring: Pouring | None, name: str | None
) -> tuple[Message, ...]:
    """Say what to settle first, and what the plan is should it turn out as read."""
    if pouring is None:
        return (say(f"flush.{held}_first"),)
    told = say_amount(flush, pouring, name)
    return (say(f"flush.{held}_first"), say(f"flush.{held}_then", **told))
