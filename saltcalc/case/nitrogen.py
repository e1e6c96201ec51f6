"""Mineral nitrogen told as one figure: nitrate and ammonium as they were not parted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

Medium = Mapping[str, Any]

FORMS = ("nitrate_n", "ammonium_n")


def _told(medium: Medium) -> tuple[Any, dict[str, Any], list[str]]:
    ions = dict(medium.get("ions") or {})
    return medium.get("mineral_n"), ions, [form for form in FORMS if form in ions]


def form_is_open(medium: Medium) -> bool:
    """Tell whether nitrogen is told as one figure, and neither form of it."""
    if "mineral_n" not in medium:
        return False
    _, _, told = _told(medium)
    return not told


def mineral_nitrogen_exceeded(medium: Medium) -> bool:
    """Tell whether one form of the nitrogen is more than both together."""
    if medium.get("mineral_n") is None:
        return False
    both, ions, told = _told(medium)
    return bool(sum(ions[form].value for form in told) > both.value * (1 + 1e-6))


def nitrogen_taken(medium: Medium) -> Medium:
    """Return a medium with its mineral nitrogen among the ions.

    Where one form is told, the other is the rest; where neither is, it counts as nitrate, and
    ammonium is not known.
    """
    if "mineral_n" not in medium:
        return medium
    both, ions, told = _told(medium)
    if len(told) == len(FORMS):
        return medium
    if not told:
        return {**medium, "ions": ions | {"nitrate_n": both}}
    (form,) = told
    (other,) = (each for each in FORMS if each != form)
    rest = replace(both, value=max(both.value - ions[form].value, 0.0), reading=None)
    return {**medium, "ions": ions | {other: rest}}


def nitrogen_parted(medium: Medium) -> list[Medium]:
    """Return a medium with both forms of its mineral nitrogen.

    Where neither is told, it is all nitrate in the first and all ammonium in the second.
    """
    if not form_is_open(medium):
        return [nitrogen_taken(medium)]
    both, ions, _ = _told(medium)
    none = replace(both, value=0.0, reading=None)
    return [
        {**medium, "ions": ions | dict(zip(FORMS, forms, strict=True))}
        for forms in ((both, none), (none, both))
    ]
