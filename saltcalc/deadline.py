"""The time until which an answer may be computed; looked at between its parts."""

from __future__ import annotations

import math
import time
from contextvars import ContextVar, Token

_end: ContextVar[float] = ContextVar("end", default=math.inf)


class TooLateError(Exception):
    """The time for an answer is over."""


def answer_within(seconds: float) -> Token[float]:
    """Set how long the answer that begins now may take [s]; :func:`answered` undoes it."""
    return _end.set(time.monotonic() + seconds)


def answered(token: Token[float]) -> None:
    """End what :func:`answer_within` began."""
    _end.reset(token)


def check() -> None:
    """Go on, or raise :class:`TooLateError` where the time is over."""
    if time.monotonic() > _end.get():
        raise TooLateError
