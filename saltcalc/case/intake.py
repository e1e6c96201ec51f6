"""From loaded requests to the column tables of a batch."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from saltcalc.case.batch import (
    NOT_GIVEN,
    Batch,
    Containers,
    MediumSolutions,
    Plantings,
    Previous,
    Samples,
    ThrivingCrops,
    WaterSolutions,
)
from saltcalc.case.cat import cat_columns, ph_taken
from saltcalc.case.inputs import Choice, Input, Name, Named, Row, Whole, columns_of
from saltcalc.case.nitrogen import form_is_open, nitrogen_parted, nitrogen_taken
from saltcalc.case.vocabulary import MICRONUTRIENT_EXTRACTS
from saltcalc.data.nutrients import MICRONUTRIENTS
from saltcalc.data.observations import observations
from saltcalc.data.reported_ions import reported_ions
from saltcalc.data.substrates import substrates
from saltcalc.message import Message, say
from saltcalc.quantities import Measured, Told
from saltcalc.science._arrays import Codes, Floats
from saltcalc.science.substrate import RetentionCurve

Request = Mapping[str, Any]

OPEN_END = 3.0
"""Times a figure that is only a least one, at which its high end is tried (judgement)."""

LEFT_OUT = "?"
"""Ends the name of a member that only says that a field was taken as not given."""


def batch_of(requests: Sequence[Request], crops: Sequence[str]) -> Batch:
    """Lay out loaded requests as column tables.

    Parameters
    ----------
    requests : sequence of mapping
        Each as loaded by a request schema; only the members that it has are used.
    crops : sequence of str
        Ids of the crops, in the order of their codes.
    """
    media = [ph_taken(nitrogen_taken(request.get("medium", {}))) for request in requests]
    within = {"": _Rows(requests), "medium": _Rows(media), "means": _members(requests, "means")}
    elements, curves = _members(media, "micronutrients"), _members(media, "retention")
    samples = Samples(
        medium=_solutions(MediumSolutions, media),
        water=_solutions(WaterSolutions, [request.get("water", {}) for request in requests]),
        micronutrients={element: elements.numbers(element) for element in MICRONUTRIENTS},
        cat=cat_columns(media),
        ph_error=within["medium"].numbers("ph_error", 0.0),
        micronutrient_extract=elements.codes("extract", MICRONUTRIENT_EXTRACTS, "water"),
        observations=_signs(requests, "observations"),
        not_seen=_signs(requests, "not_seen"),
        retention=RetentionCurve(*(curves.numbers(name) for name in RetentionCurve._fields)),
        **{each.name: within[each.within].column(each, crops) for each in columns_of(Samples)},
    )
    return Batch(
        samples,
        _named(_table(Containers, requests, "containers", crops)),
        _table(Plantings, requests, "crops", crops),
        _thriving(requests, crops),
        _previous(requests),
    )


def readings_of(node: Any, pointer: str = "") -> Iterator[tuple[str, Message]]:
    """Yield the fields of a request whose text left something open, and how each was read."""
    if isinstance(node, Measured | Named | Told):
        if node.reading:
            yield pointer, node.reading
    elif isinstance(node, Mapping):
        for name, member in node.items():
            yield from readings_of(member, f"{pointer}/{name.removesuffix(LEFT_OUT)}")
    elif isinstance(node, list):
        for place, member in enumerate(node):
            yield from readings_of(member, f"{pointer}/{place}")


def ends_of(request: Request) -> dict[str, tuple[Request, ...]]:
    """Return a request at both ends of what it leaves open, by the finding that they differ.

    Every figure given as a range is taken at its low, and at its high end; one that is only at
    least so much goes to `OPEN_END` times that. Mineral nitrogen of neither form is taken as all
    nitrate, and as all ammonium.
    """
    ends: dict[str, tuple[Request, ...]] = {}
    if _has_range(request):
        ends["range_decides"] = _at_end(request, high=False), _at_end(request, high=True)
    medium = request.get("medium", {})
    if form_is_open(medium):
        forms = nitrogen_parted(medium)
        ends["nitrogen_form_decides"] = tuple({**request, "medium": each} for each in forms)
    return ends


def _has_range(node: Any) -> bool:
    if isinstance(node, Measured):
        return node.is_range
    if isinstance(node, dict | list):
        for member in node.values() if isinstance(node, dict) else node:
            if _has_range(member):
                return True
    return False


def _at_end(node: Any, *, high: bool) -> Any:
    if isinstance(node, Measured) and node.is_range:
        end = node.high if math.isfinite(node.high) else OPEN_END * node.low
        return replace(node, value=end if high else node.low)
    if isinstance(node, Mapping):
        return {name: _at_end(member, high=high) for name, member in node.items()}
    return [_at_end(member, high=high) for member in node] if isinstance(node, list) else node


def column_of(rows: Iterable[Request], name: str) -> Floats:
    """Return one quantity of each row; NaN where it was not given."""
    return _Rows([*rows]).numbers(name)


def names_in(each: Input, crops: Sequence[str]) -> Sequence[str]:
    """Return the ids that the codes of an input stand for."""
    match each.takes:
        case Choice(ids):
            return ids
        case Row("crops"):
            return crops
        case _:
            return tuple(substrates())


class _Rows:
    """Members of requests, one a row, laid out by column; what no row has is not looked for."""

    def __init__(self, rows: Sequence[Request]) -> None:
        self._rows = rows
        self._given = frozenset[str]().union(*rows)
        self._missing = np.full(len(rows), math.nan)
        self._missing.setflags(write=False)

    def found(self, name: str) -> list[Any]:
        """Return what each row has by a name, or None."""
        return [row.get(name) for row in self._rows]

    def numbers(self, name: str, otherwise: float = math.nan) -> Floats:
        """Return figures; ``otherwise`` where a row has none."""
        if name not in self._given:
            none = math.isnan(otherwise)
            return self._missing if none else np.full(len(self._rows), otherwise)
        return np.array([_number(each, otherwise) for each in self.found(name)], dtype=np.float64)

    def codes(self, name: str, ids: Sequence[str], otherwise: str | None = None) -> Codes:
        """Return the places of ids; of ``otherwise``, or NOT_GIVEN, where a row has none."""
        missing = NOT_GIVEN if otherwise is None else ids.index(otherwise)
        if name not in self._given:
            return np.full(len(self._rows), missing)
        places = {each: place for place, each in enumerate(ids)}
        found = self.found(name)
        return np.array([missing if each is None else places[each] for each in found], np.intp)

    def column(self, each: Input, crops: Sequence[str]) -> Any:
        """Return the column of an input."""
        match each.takes:
            case Name():
                return np.array(self.found(each.name), dtype=object)
            case Whole() | Choice() | Row() if each.name not in self._given:
                return np.full(len(self._rows), NOT_GIVEN)
            case Whole():
                found = self.found(each.name)
                return np.array([NOT_GIVEN if count is None else count for count in found], np.intp)
            case Choice() | Row():
                return self.codes(each.name, names_in(each, crops))
            case _:
                return self.numbers(each.name)


def _members(requests: Sequence[Request], name: str) -> _Rows:
    return _Rows([request.get(name, {}) for request in requests])


def _solutions(kind: Any, given: Sequence[Request]) -> Any:
    ions, rows = [solution.get("ions", {}) for solution in given], _Rows(given)
    figures = np.full((len(reported_ions()), len(ions)), math.nan)
    written = np.zeros(figures.shape, dtype=bool)
    columns = kind(
        ions=dict(zip(reported_ions(), figures, strict=True)),
        written=dict(zip(reported_ions(), written, strict=True)),
        **{each.name: rows.column(each, ()) for each in columns_of(kind)},
    )
    for row, each in enumerate(ions):
        for ion, member in each.items():
            if ion in columns.ions:
                columns.ions[ion][row] = _number(member)
                columns.written[ion][row] = isinstance(member, Measured) and member.unit_written
    return columns


def _table(kind: Any, requests: Sequence[Request], name: str, crops: Sequence[str]) -> Any:
    owners, found = _owned(requests, name)
    rows = _Rows(found)
    return kind(sample=owners, **{each.name: rows.column(each, crops) for each in columns_of(kind)})


def _named(containers: Containers) -> Containers:
    """Tell containers of one sample apart by number and size where they were given no name."""
    owners, names = containers.sample.tolist(), containers.name.copy()
    several, number = Counter(owners), Counter[int]()
    for row, owner in enumerate(owners):
        number[owner] += 1
        if several[owner] > 1 and names[row] is None:
            volume = float(containers.volume[row])
            names[row] = (
                say("container.numbered", number=number[owner])
                if math.isnan(volume)
                else say("container.numbered_with_size", number=number[owner], volume=volume)
            )
    return replace(containers, name=names)


def _thriving(requests: Sequence[Request], crops: Sequence[str]) -> ThrivingCrops:
    owners, found = _owned(requests, "thriving_crops")
    places = {crop: place for place, crop in enumerate(crops)} if found else {}
    return ThrivingCrops(owners, np.array([places[crop] for crop in found], dtype=np.intp))


def _previous(requests: Sequence[Request]) -> Previous:
    earlier = [request.get("previous", {}) for request in requests]
    rows = _Rows(earlier)
    sampled = [
        (before.get("sampled_on"), request.get("sampled_on"))
        for before, request in zip(earlier, requests, strict=True)
    ]
    days = [(now - before).days if before and now else math.nan for before, now in sampled]
    return Previous(
        medium=_solutions(MediumSolutions, earlier),
        days=np.array(days, dtype=np.float64),
        **{each.name: rows.column(each, ()) for each in columns_of(Previous)},
    )


def _owned(requests: Sequence[Request], name: str) -> tuple[Codes, list[Any]]:
    owned = [
        (owner, row) for owner, request in enumerate(requests) for row in request.get(name, [])
    ]
    return np.array([owner for owner, _ in owned], dtype=np.intp), [row for _, row in owned]


def _signs(requests: Sequence[Request], name: str) -> Any:
    known = list(observations())
    signs = np.zeros((len(requests), len(known)), dtype=bool)
    for row, request in enumerate(requests):
        if seen := request.get(name):
            signs[row, [known.index(sign) for sign in seen]] = True
    return signs


def _number(member: Measured | float | None, otherwise: float = math.nan) -> float:
    if isinstance(member, Measured):
        return member.value
    return otherwise if member is None else member
