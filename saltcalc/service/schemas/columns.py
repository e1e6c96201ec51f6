"""Requests read column by column: a value of a field once, however many of them hold it.

The fields and the rules are those of the schemas. What is not plainly right by them is left to the
schema, which reads it alone and says what is at fault: a batch takes what a single request takes.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

import marshmallow as ma

from saltcalc.service.fields import BoundedList, is_not_given
from saltcalc.service.schemas.basis import (
    LanguageSchema,
    RequestSchema,
    in_list,
    look_up_in,
    told_as_left_out,
)
from saltcalc.words.reader import telling

UNREAD = object()
"""Stands for what only its schema can judge."""


class _Nothing(NamedTuple):
    """What says that there is no value."""

    sent: Any


class _Column(NamedTuple):
    """The values of a field; plain where each of them was read and there is one."""

    values: list[Any]
    is_plain: bool


def read_together(schema: LanguageSchema, requests: Sequence[Any]) -> list[Any]:
    """Read requests as their schema does.

    What several of them hold is the same object in all of them, so that nobody may change it.

    Parameters
    ----------
    schema : LanguageSchema
        Of the requests.
    requests : sequence of object
        As sent.

    Returns
    -------
    list
        Each as loaded; UNREAD where only the schema can tell what it is.
    """
    places: dict[Any, list[int]] = defaultdict(list)
    for place, request in enumerate(requests):
        language = request.get("language") if isinstance(request, Mapping) else None
        places[language if isinstance(language, str) else None].append(place)
    read = [UNREAD] * len(requests)
    for language, own in places.items():
        if language is None or language in schema.languages:
            with telling():
                look_up_in(language)
                _put(read, own, _objects(schema, [requests[place] for place in own]))
    return read


def _put(whole: list[Any], places: Sequence[int], each: Sequence[Any]) -> None:
    for place, one in zip(places, each, strict=True):
        whole[place] = one


def _objects(schema: RequestSchema, sent: Sequence[Any]) -> list[Any]:
    """Read objects of one schema, those with the same members together."""
    read = [UNREAD] * len(sent)
    if not schema.reads_columns:
        return read
    given = [schema.as_object(each) for each in sent]
    shapes: dict[tuple[str, ...], list[int]] = defaultdict(list)
    for place, each in enumerate(given):
        if isinstance(each, Mapping):
            shapes[tuple(each)].append(place)
    for members, places in shapes.items():
        _put(read, places, _of_shape(schema, members, [given[place] for place in places]))
    return read


def _of_shape(
    schema: RequestSchema, members: Sequence[str], rows: Sequence[Mapping[str, Any]]
) -> list[Any]:
    """Read objects with the same members."""
    fields = {schema.field_named(member, members): member for member in members}
    known = fields.keys() <= schema.load_fields.keys() and len(fields) == len(members)
    if not (members and known and schema.needed <= fields.keys()):
        return [UNREAD] * len(rows)
    columns = {
        name: _column(schema.load_fields[name], [row[member] for row in rows])
        for name, member in fields.items()
    }
    names = [name for name in schema.load_fields if name in fields]
    if all(column.is_plain for column in columns.values()):
        values = zip(*(columns[name].values for name in names), strict=True)
        return [_whole(schema, dict(zip(names, each, strict=True))) for each in values]
    found = []
    for row in range(len(rows)):
        given = {name: column.values[row] for name, column in columns.items()}
        nothing = {name: each.sent for name, each in given.items() if isinstance(each, _Nothing)}
        if schema.needed & nothing.keys() or any(each is UNREAD for each in given.values()):
            found.append(UNREAD)
            continue
        kept = {name: given[name] for name in names if name not in nothing}
        found.append(_whole(schema, kept, told_as_left_out(nothing)))
    return found


def _whole(
    schema: RequestSchema, loaded: dict[str, Any], left_out: dict[str, Any] | None = None
) -> Any:
    """Hold an object to the rules of its schema, and finish it as the schema does."""
    try:
        for rule in schema.rules:
            rule(loaded)
        for finish in schema.finishes:
            loaded = finish(loaded)
    except ma.ValidationError:
        return UNREAD
    return loaded | left_out if left_out else loaded


def _column(field: ma.fields.Field[Any], sent: Sequence[Any]) -> _Column:
    """Read the values of a field, each different one once."""
    written = [repr(each) for each in sent]
    different = dict(zip(written, sent, strict=True))
    values = _values(field, [*different.values()])
    read = dict(zip(different, values, strict=True))
    is_plain = not any(each is UNREAD or isinstance(each, _Nothing) for each in values)
    return _Column([read[each] for each in written], is_plain)


def _values(field: ma.fields.Field[Any], sent: Sequence[Any]) -> list[Any]:
    read: list[Any] = [_Nothing(each) if is_not_given(field, each) else UNREAD for each in sent]
    places = [place for place, each in enumerate(read) if each is UNREAD]
    given = [in_list(field, sent[place]) for place in places]
    if isinstance(field, ma.fields.Nested):
        _put(read, places, _objects(_schema_of(field), given))
    elif isinstance(field, BoundedList) and isinstance(field.inner, ma.fields.Nested):
        _put(read, places, _lists(field, field.inner, given))
    else:
        _put(read, places, [_value(field, each) for each in given])
    return read


def _value(field: ma.fields.Field[Any], sent: Any) -> Any:
    try:
        return field.deserialize(sent, field.name)
    except ma.ValidationError:
        return UNREAD


def _lists(field: BoundedList, inner: ma.fields.Nested, sent: Sequence[Any]) -> list[Any]:
    """Read lists of objects, the objects of all of them together."""
    sound = [isinstance(each, list) and _has_its_length(field, each) for each in sent]
    members = [
        each for given, is_list in zip(sent, sound, strict=True) if is_list for each in given
    ]
    read = iter(_column(inner, members).values)
    lists = []
    for given, is_list in zip(sent, sound, strict=True):
        one = [next(read) for _ in given] if is_list else [UNREAD]
        whole = not any(each is UNREAD or isinstance(each, _Nothing) for each in one)
        lists.append(one if whole else UNREAD)
    return lists


def _has_its_length(field: BoundedList, sent: list[Any]) -> bool:
    try:
        for check in field.validators:
            check(sent)
    except ma.ValidationError:
        return False
    return True


def _schema_of(field: ma.fields.Nested) -> RequestSchema:
    schema = field.schema
    assert isinstance(schema, RequestSchema)
    return schema
