"""A request from what a person types: names with values, on each line of YAML or CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping
from functools import cache, lru_cache
from typing import Any

import marshmallow as ma
import yaml

from saltcalc.data.name_forms import plain
from saltcalc.data.report_names import found_in
from saltcalc.data.reported_ions import reported_ions
from saltcalc.message import Message, say
from saltcalc.service.names import fields_meant, nearest
from saltcalc.service.schemas.requests import AssessmentRequestSchema

_WHOLE = ("medium", "water", "containers", "crops")
_HEADINGS = frozenset({"name", "field", "parameter", "analyte", "what", "item", "element"})
_OWNERS = {"water": ("water", "irrigation water"), "medium": ("medium", "soil", "substrate")}
_SEVERAL = ("observations", "not_seen", "thriving_crops")


class FormError(ValueError):
    """Something typed that is no request; the message says why."""

    def __init__(self, message: str, /, **told: Any) -> None:
        super().__init__(message)
        self.message: Message = say(message, **told)

    @property
    def is_slip(self) -> bool:
        """Whether it is a name with a slip in an ordinary list, and no other kind of text."""
        words = tuple(plain(str(self.message.told.get("name", ""))).split())
        printed = any(found_in(words, of)[0] for of in ("label", "figure"))
        return bool(self.message.told.get("near")) and not printed


def request_in(text: str) -> Any:
    """Return the request that a text holds.

    Parameters
    ----------
    text : str
        A request in YAML, whole or as a flat list of names with values; or two columns of
        CSV, a name and a value with its unit (the unit may stand in a column of its own).

    Raises
    ------
    FormError
        If it is none of these, or a name in it is not known.
    """
    try:
        # Everything is text, so that the fields read it as a person wrote it.
        found = yaml.load(text, Loader=yaml.BaseLoader)
    except yaml.YAMLError:
        found = None
    if isinstance(found, Mapping) and found.keys() & {*_WHOLE} - {"crops"}:
        return found
    return request_of(_pairs(found) if isinstance(found, Mapping) else _rows(text))


def request_of(pairs: Iterable[tuple[str, Any]]) -> dict[str, Any]:
    """Return the request that names with values come to.

    Raises
    ------
    FormError
        If a name is not known.

    Examples
    --------
    >>> request_of([("EC", "1.8 mS/cm"), ("SO4", "100 mg/L")])
    {'medium': {'ec': '1.8 mS/cm', 'ions': {'sulfate_s': '100 mg/L SO4'}}}
    """
    request: dict[str, Any] = {}
    for name, value in pairs:
        path, form = place_of(name)
        put(request, path, f"{value} {form}" if form and isinstance(value, str) else value)
    return request


def _pairs(found: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    for name, value in found.items():
        yield from ((name, each) for each in (value if isinstance(value, list) else [value]))


def _rows(text: str) -> Iterator[tuple[str, str]]:
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    mark = next((mark for mark in ("\t", ";", ",") if any(mark in line for line in lines)), None)
    if mark is None:
        raise FormError("forms.no_request")
    try:
        rows = list(csv.reader(io.StringIO("\n".join(lines)), delimiter=mark))
    except csv.Error as error:
        raise FormError("forms.no_request") from error
    for place, cells in enumerate(rows):
        name, *rest = (cell.strip() for cell in cells)
        if place == 0 and plain(name) in _HEADINGS:
            continue
        if mark == "," and len(rest) > 1 and rest[0].isdigit() and rest[1][:1].isdigit():
            rest = [f"{rest[0]},{rest[1]}", *rest[2:]]
        yield name, " ".join(cell for cell in rest if cell)


def _several(field: str, text: str) -> Iterator[str]:
    """Yield what a text lists, parted by semicolons or commas; a comma of a name parts nothing."""
    for part in filter(None, map(str.strip, text.split(";"))):
        whole = "," not in part or _is_known(field, part)
        yield from [part] if whole else filter(None, map(str.strip, part.split(",")))


@lru_cache(maxsize=1024)
def _is_known(field: str, text: str) -> bool:
    """Tell whether a text is one name of what a list holds."""
    listed = AssessmentRequestSchema().fields[field]
    assert isinstance(listed, ma.fields.List)
    try:
        listed.inner.deserialize(text)
    except ma.ValidationError:
        return False
    return True


@cache
def _places() -> dict[str, tuple[str, ...]]:
    """Return where each field of a request is, the first of a name before the others."""
    found: dict[str, tuple[str, ...]] = {}

    def walk(schema: ma.Schema, at: tuple[str, ...]) -> None:
        for name, field in schema.fields.items():
            inner = field.inner if isinstance(field, ma.fields.List) else field
            if isinstance(inner, ma.fields.Nested):
                walk(inner.schema, (*at, name))
            else:
                of_water = at[:1] == ("water",)
                found.setdefault(f"water {name}" if of_water else name, (*at, name))

    request = AssessmentRequestSchema()
    whole = {name: request.fields.pop(name) for name in ("medium", "containers", "crops")}
    walk(ma.Schema.from_dict(whole)(), ())
    walk(request, ())
    return found


@cache
def place_of(name: str) -> tuple[tuple[str, ...], str]:
    """Return where a name belongs, and the chemical form that it says.

    Raises
    ------
    FormError
        If the name is not known.
    """
    wanted, prefix = plain(name.replace("_", " ")), ""
    for owner, begins in _OWNERS.items():
        for begin in begins:
            if wanted.startswith(f"{begin} "):
                prefix, wanted = owner, wanted.removeprefix(begin).strip()
    water = "water " if prefix == "water" else ""
    for each in fields_meant(wanted):
        if each.field and (path := _places().get(f"{water}{each.field}")) is not None:
            own = reported_ions().get(each.field)
            return path, "" if own and own.reported_as == each.form else each.form
    field = wanted.replace(" ", "_")
    if (path := _places().get(f"{water}{field}")) is not None:
        return path, ""
    near = nearest(name, _places())
    told = say("forms.near", near=near) if near else ""
    accepted = "" if near else say("forms.accepted")
    raise FormError("forms.unknown_name", name=name, near=told, accepted=accepted)


def put_at(request: dict[str, Any], pointer: str, value: str) -> None:
    """Put a value where a pointer leads, into the first container or crop."""
    *within, last = pointer.strip("/").split("/")
    node: Any = request
    for step in within:
        if step.isdecimal():
            continue
        node = node.setdefault(step, [{}] if step in ("crops", "containers") else {})
        node = node[0] if isinstance(node, list) else node
    node[last] = value


def put(request: dict[str, Any], path: tuple[str, ...], value: Any) -> str:
    """Put a value into a request, a container or a crop beside the last; return its pointer."""
    *within, field = path
    node: Any = request
    at = ""
    for step in within:
        at = f"{at}/{step}"
        if step in {"containers", "crops"}:
            rows = node.setdefault(step, [{}])
            if field in rows[-1]:
                rows.append({})
            node = rows[-1]
            at = f"{at}/{len(rows) - 1}"
        else:
            node = node.setdefault(step, {})
    if field in _SEVERAL:
        node.setdefault(field, []).extend(_several(field, str(value)))
    else:
        node[field] = value
    return f"{at}/{field}"
