"""The time until which an answer may be computed; looked at between its parts.

There a service that computes one answer at a time may also look who is at its door.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from contextvars import ContextVar, Token

EVERY = 0.05
"""Seconds between two looks at the door, at least."""

_end: ContextVar[float] = ContextVar("end", default=math.inf)


class _Door:
    """Whom to look for between the parts, and when that was done last."""

    look: Callable[[], None] | None = None
    looked = 0.0


class TooLateError(Exception):
    """The time for an answer is over."""


def answer_within(seconds: float) -> Token[float]:
    """Set how long the answer that begins now may take [s]; :func:`answered` undoes it."""
    return _end.set(time.monotonic() + seconds)


def answered(token: Token[float]) -> None:
    """End what :func:`answer_within` began."""
    _end.reset(token)


def look_up(look: Callable[[], None] | None) -> None:
    """Set what is called between parts, not more often than after :data:`EVERY`."""
    _Door.look = staticmethod(look) if look else None


def check() -> None:
    """Go on, or raise :class:`TooLateError` where the time is over."""
    now = time.monotonic()
    if now > _end.get():
        raise TooLateError
    if _Door.look and now - _Door.looked > EVERY:
        _Door.look()
        _Door.looked = time.monotonic()
