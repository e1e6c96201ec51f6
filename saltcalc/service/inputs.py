"""The fields of the requests, derived from the inputs that are declared in ``case``."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeVar

import marshmallow as ma

from saltcalc.case.inputs import Choice as OneOf
from saltcalc.case.inputs import Group, Input, Name, Row, Whole, inputs_of
from saltcalc.case.inputs import Number as Plain
from saltcalc.data.substrates import substrates
from saltcalc.service.catalogues import method_labels, named_crop, named_substrate
from saltcalc.service.fields import Choice, Count, Number, Quantity, TableId
from saltcalc.units import Kind

Field = ma.fields.Field[Any]
Schema = TypeVar("Schema", bound=type[ma.Schema])

_TABLES: Mapping[str, tuple[Callable[[str], str], str, tuple[str, ...]]] = {
    "crops": (named_crop, "GET /v1/crops", ()),  # open: a grower's own join
    "substrates": (named_substrate, "GET /v1/substrates", tuple(substrates())),
}
"""By table: its look-up, its listing, and its ids where no others join them."""


def field_of(given: Input, **options: Any) -> Field:
    """Return the field of an input that is one column; options go before what was declared."""
    about: dict[str, Any] = {"description": given.meaning, "required": given.required} | options
    meaning = about.pop("description")
    match given.takes:
        case Plain(low, high):
            return Number(low, high, meaning, **about)
        case Whole(low, high):
            return Count(low, high, meaning, **about)
        case OneOf() as one:
            labels = method_labels() if one.ratios else None
            return Choice(one.ids, meaning, labels=labels, of=given.name, like=one, **about)
        case Row(table):
            look_up, listing, ids = _TABLES[table]
            return TableId(look_up, listing=listing, description=meaning, ids=ids, **about)
        case Name(longest):
            length = ma.validate.Length(1, longest)
            return ma.fields.String(validate=length, metadata={"description": meaning}, **about)
        case Kind() as kind:
            return Quantity(kind, meaning, **about)
    raise TypeError(f"{given.name} has no field of its own")


def takes(
    table: Any, within: str = "", *names: str, **groups: type[ma.Schema]
) -> Callable[[Schema], Schema]:
    """Give a schema the fields of a table's inputs, beside those of its own.

    Parameters
    ----------
    table : type
        A table of :mod:`saltcalc.case.batch`.
    within : str
        The member of the request that the schema is of.
    *names : str
        Only these inputs.
    **groups : type of Schema
        The schema of each input that is a group.
    """

    def add(schema: Schema) -> Schema:
        for each in inputs_of(table):
            if each.within != within or (names and each.name not in names):
                continue
            schema._declared_fields[each.name] = (
                ma.fields.Nested(
                    groups[each.name],
                    metadata={"description": each.meaning} if each.meaning else {},
                )
                if isinstance(each.takes, Group)
                else field_of(each)
            )
        return schema

    return add
