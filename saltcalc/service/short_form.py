"""The short form of an answer: one row of figures and ids under headings with their units."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterable
from functools import cache
from typing import Any

from saltcalc.parts.short import Short
from saltcalc.parts.shown import Member, members_of
from saltcalc.service.sample import Sample
from saltcalc.words.rendering import rounded
from saltcalc.words.unit_systems import METRIC, figure_in, unit_in


@cache
def headings(system: str = METRIC) -> tuple[str, ...]:
    """Return the headings of the short form, with the units of a system."""
    return tuple(_heading(each, system) for kind in (Sample, Short) for each in members_of(kind))


def flat(parts: Iterable[Any], system: str) -> dict[str, Any]:
    """Return what parts show under their headings; without what is missing or has no end."""
    told = {
        _heading(each, system): _plain(getattr(one, each.name), each.unit, system)
        for one in parts
        for each in members_of(one.__class__)
    }
    return {heading: value for heading, value in told.items() if value is not None}


def _heading(member: Member, system: str) -> str:
    return f"{member.key} [{unit_in(member.unit, system)}]" if member.unit else member.key


def _plain(value: Any, unit: str | None, system: str) -> Any:
    if isinstance(value, datetime.date):
        return value.isoformat()
    if unit and not math.isfinite(value):
        return None
    return rounded(figure_in(value, unit, system)) if unit else value
