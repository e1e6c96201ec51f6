"""Who reads: the language and the units in which sentences are told while a request is answered."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar, Token
from typing import NamedTuple

from saltcalc.words.unit_systems import METRIC

ENGLISH = "en"
"""The language of the ids' own sentences, which answers where another has none."""


class Reader(NamedTuple):
    """A language, by the name of its folder in ``locale``, and a system of units."""

    language: str = ENGLISH
    units: str = METRIC


_ANYONE = Reader()
_READER: ContextVar[Reader] = ContextVar("reader", default=_ANYONE)


def reader() -> Reader:
    """Return for whom sentences are told now; in English and metric units unless it was said."""
    return _READER.get()


def tell_to(language: str | None = None, units: str | None = None) -> Token[Reader]:
    """Tell what follows in a language, in a system of units; what is not given stays.

    Returns
    -------
    Token
        For :func:`told`.
    """
    now = reader()
    return _READER.set(Reader(language or now.language, units or now.units))


def told(before: Token[Reader]) -> None:
    """Tell again as before."""
    _READER.reset(before)


@contextmanager
def telling(language: str | None = None, units: str | None = None) -> Iterator[None]:
    """Tell in a language, in a system of units, for a while."""
    before = tell_to(language, units)
    try:
        yield
    finally:
        told(before)
