"""The schemas of the answers, derived from what the parts show."""

from __future__ import annotations

import datetime
import types
import typing
from collections import Counter
from collections.abc import Iterable
from functools import cache, cached_property
from typing import Any, ClassVar

import marshmallow as ma

from saltcalc.message import Message
from saltcalc.parts.notes import Closing
from saltcalc.parts.shown import Amount, Member, Series, getter_of, is_part, members_of
from saltcalc.science.uncertainty import Interval
from saltcalc.service.fields import said_of
from saltcalc.service.sample import Sample, Traced


class AnswerSchema(ma.Schema):
    """A part of an answer.

    Every member is always there, null where it is not known, but for those named ``optional``.
    """

    optional: ClassVar[frozenset[str]] = frozenset()

    def on_bind_field(self, field_name: str, field_obj: ma.fields.Field[Any]) -> None:
        """Say so in the document of the interface."""
        field_obj.required = field_name not in self.optional

    def dump(self, obj: Any, *, many: bool | None = None) -> Any:
        """Return an answer as it is: it is made from the same declarations as its schema."""
        return obj


class QuantityAnswerSchema(AnswerSchema):
    """A quantity; low and high bound an 80 % interval where it is uncertain.

    Where only one of them is there, the other end is open, and the value is no more than that
    end: at least that much with low, at most with high.
    """

    optional = frozenset({"low", "high"})

    value = ma.fields.Float(metadata={"description": "The figure, in the unit beside it."})
    unit = ma.fields.String(metadata={"description": "'1' for a pure number."})
    low = ma.fields.Float(metadata={"description": "Lower end of the interval."})
    high = ma.fields.Float(metadata={"description": "Upper end of the interval."})


class SeriesSchema(AnswerSchema):
    """Figures in one unit, in the order of the series beside it."""

    unit = ma.fields.String(metadata={"description": "'1' for pure numbers."})
    values = ma.fields.List(
        ma.fields.Float(allow_none=True),
        metadata={"description": "The figures, in that unit; null where one is not known."},
    )


@cache
def schema_of(kind: type) -> type[AnswerSchema]:
    """Return the schema of a part; its name in the contract is that of the part.

    Parameters
    ----------
    kind : type
        A part, with shown members.
    """
    return _schema(getattr(kind, "shown_as", kind.__name__), _declared(kind))


@cache
def answer_schema(name: str, kind: type) -> type[AnswerSchema]:
    """Return the schema of an answer of one part, with what every answer begins and ends with."""
    return _schema(name, _declared(Sample, Closing, kind, Traced))


@cache
def schema_of_parts(
    name: str, kind: type, members: tuple[str, ...], sample: type = Sample
) -> type[AnswerSchema]:
    """Return the schema of an answer of which parts can be chosen.

    Parameters
    ----------
    name : str
        Its name in the contract.
    kind : type
        The part that has them all.
    members : tuple of str
        Those that the answer may have; only ``not_computed`` is always there.
    sample : type
        What it repeats of its sample or samples.
    """
    declared = [each for each in _declared(kind) if each[1].name in members]
    return _schema(
        name,
        [*_declared(sample), *declared, *_declared(Traced)],
        [each for each in members if each != "not_computed"],
    )


@cache
def _schema_of_any(*kinds: type) -> type[AnswerSchema]:
    """Return the schema of one of several kinds of part, under the name that they share.

    What not every kind has is optional. A member of several comes where the last of them has it.
    """
    declared = sorted(_declared(*kinds), key=lambda each: each[1].place)
    count = Counter(member.key for _, member in declared)
    name = kinds[0].shown_as  # type: ignore[attr-defined]
    return _schema(name, declared, [key for key in count if count[key] < len(kinds)])


def _declared(*kinds: type) -> list[tuple[Any, Member]]:
    """Return the shown members of parts, each with its type."""
    return [
        (hints[member.name], member)
        for kind, hints in ((kind, _hints(kind)) for kind in kinds)
        for member in members_of(kind)
    ]


def _schema(
    name: str, declared: list[tuple[Any, Member]], optional: Iterable[str] = ()
) -> type[AnswerSchema]:
    fields: dict[str, Any] = {}
    for kind, member in declared:
        fields.pop(member.key, None)
        fields[member.key] = _field(kind, member)
    left_out = {member.key for _, member in declared if member.optional}.union(optional)
    return type(f"{name}Schema", (AnswerSchema,), fields | {"optional": frozenset(left_out)})


def _hints(kind: type) -> dict[str, Any]:
    hints = typing.get_type_hints(kind)
    for member in members_of(kind):
        getter = getattr(kind, member.name, None)
        if isinstance(getter, property | cached_property):
            hints[member.name] = typing.get_type_hints(getter_of(getter))["return"]
    return hints


def _field(kind: Any, member: Member) -> ma.fields.Field[Any]:
    kinds, quantity = _alternatives(kind), _is_quantity(kind, member)
    options: dict[str, Any] = {"allow_none": True} if quantity else {}
    meaning = member.meaning or _PLAINLY.get(member.key) or _of_part(kinds)
    options["metadata"] = {"description": meaning}
    if type(None) in kinds:
        options |= {} if member.optional else {"allow_none": True}
        kinds = [each for each in kinds if each is not type(None)]
    if typing.get_origin(kinds[0]) is not list:
        options |= _choice(member)
    return _one(kinds[0], member, options)


_PLAINLY = {
    "sentence": "The same in words, in the language of the answer.",
    "meaning": "What it means, in words.",
    "note": "A remark, in words.",
    "how": "How it is done, in words.",
    "name": "Name in the language of the answer.",
    "id": "Stable id, by which a program goes.",
    "source": "Key of its source, in `sources` or in GET /v1/sources.",
    "crop": "Id of the crop; where no table has it the name as sent, small, with underscores.",
    "stage": "Age of the crop.",
    "method": "Extraction method, or the way of computing.",
    "container": "Name of the container, as sent or by its place; null for a single one.",
    "class": "Class, by the scheme that is named beside it.",
    "scheme": "Published scheme of classes.",
    "verdict": "How it comes out.",
    "status": "Where the figure lies against the range.",
    "provenance": "How well the figures are known, `seen` in the source the best.",
    "applies_to": "What it was published for, in words.",
    "reason": "Why that is taken, in words.",
    "group": "Kind of crop.",
    "tied_with": "Ids of causes as well supported.",
    "range": "From its low to its high end; an open end is left out.",
    "class_range": "Figures that the class holds; an open end is left out.",
    "warnings": "What to know before acting.",
    "assumptions": "Defaults that entered the answer.",
    "not_computed": "Parts that lack an input, each with the inputs that would do.",
    "sources": "Sources by their keys.",
    "intervals": "How low and high are made.",
    "severity": "How much it weighs: stop before acting, caution, or a note.",
    "citation": "Author, year, title and place.",
    "botanical": "Botanical name.",
    "synonyms": "Other names of the crop.",
    "woody": "Whether it is a tree, shrub or vine.",
    "rating": "Salt tolerance, from sensitive to tolerant.",
    "rating_estimated": "Whether the rating is estimated from crops like it.",
    "basis": "What the conversion leads to.",
    "governing": "Whether the answers go by it.",
    "drainage": "Whether the container drains.",
    "plants": "Plants that it was published for.",
}
"""What members mean that are called alike everywhere, where a part adds nothing to it."""


def _of_part(kinds: list[Any]) -> str:
    """Return what a part says of itself, for a member that is one."""
    parts = [kind for kind in kinds if is_part(kind) and members_of(kind)]
    return said_of(parts[0]) if parts else ""


def _choice(member: Member) -> dict[str, Any]:
    choices = member.options.get("choices")
    return {"validate": ma.validate.OneOf(list(choices))} if choices else {}


def _each(member: Member) -> dict[str, Any]:
    each = member.options.get("each")
    return _choice(member) | ({"metadata": {"description": each}} if each else {})


def _alternatives(kind: Any) -> list[Any]:
    if isinstance(kind, types.UnionType) or typing.get_origin(kind) is typing.Union:
        return list(typing.get_args(kind))
    return [kind]


def _is_quantity(kind: Any, member: Member) -> bool:
    return kind in (Interval, Amount) or bool(kind in (float, Any) and member.unit)


_SCALARS: dict[Any, type[ma.fields.Field[Any]]] = {
    str: ma.fields.String,
    int: ma.fields.Integer,
    bool: ma.fields.Boolean,
    float: ma.fields.Float,
    datetime.date: ma.fields.Date,
    Any: ma.fields.Raw,
}


def _one(kind: Any, member: Member, options: dict[str, Any]) -> ma.fields.Field[Any]:
    inner = typing.get_args(kind)
    if _is_quantity(kind, member):
        return ma.fields.Nested(QuantityAnswerSchema, **options)
    match typing.get_origin(kind) or kind:
        case builtin if builtin is Series:
            return ma.fields.Nested(SeriesSchema, **options)
        case types.UnionType:
            return ma.fields.Nested(_schema_of_any(*inner), **options)
        case builtin if builtin is list:
            return ma.fields.List(_one(inner[0], member, _each(member)), **options)
        case builtin if builtin is dict:
            values = _one(inner[1], member, {})
            return ma.fields.Dict(keys=ma.fields.String(), values=values, **options)
        case builtin if builtin in (tuple, Message):
            return ma.fields.String(**options)
        case part if is_part(part):
            return ma.fields.Nested(schema_of(part), **options)
    return _SCALARS[kind](**options)
