"""The short form of an answer: one row of figures and ids under headings with their units."""

from __future__ import annotations

import datetime
import math
from collections.abc import Mapping
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


def in_rows(short: Short, system: str) -> list[dict[str, Any]]:
    """Return the rows of a short form under its headings; without what is missing."""
    columns = {
        _heading(each, system): _column(getattr(short, each.name), each.unit, system)
        for each in members_of(Short)
    }
    return [
        {name: value for name, value in zip(columns, row, strict=True) if value is not None}
        for row in zip(*columns.values(), strict=True)
    ]


def sample_in_row(request: Mapping[str, Any]) -> dict[str, Any]:
    """Return what a loaded request says of its sample, as it is in its row."""
    said = {each.key: request.get(each.name) for each in members_of(Sample)}
    return {
        name: each.isoformat() if isinstance(each, datetime.date) else each
        for name, each in said.items()
        if each is not None
    }


def _heading(member: Member, system: str) -> str:
    return f"{member.key} [{unit_in(member.unit, system)}]" if member.unit else member.key


def _column(column: Any, unit: str | None, system: str) -> list[Any]:
    if unit is None:
        return list(column.tolist())
    told = column.tolist()
    if unit_in(unit, system) != unit:
        told = [figure_in(each, unit, system) for each in told]
    return [rounded(each) if math.isfinite(each) else None for each in told]
