"""How an input is declared: what it takes, what it means, and what is taken where it is not given.

A column of a table of :mod:`saltcalc.case.batch` is declared once with :func:`given`. The field of
the request, the reading of it into the column, the default with its reason, and the line among the
assumptions all follow from that.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Hashable, Iterable
from functools import cache
from typing import Any, TypeVar, cast, dataclass_transform

from saltcalc.message import Message
from saltcalc.units import Kind

_KEY = "input"


class Named(str):
    """The id that a name in a request stands for.

    Attributes
    ----------
    reading : Message or None
        How the name was read, where it left something open.
    written : str
        The name as it was sent.
    near : tuple of str
        Ids of what may be meant instead, of a name that no table has.
    """

    written: str
    reading: Message | None
    near: tuple[str, ...]

    def __new__(
        cls, found: str, written: str = "", reading: Message | None = None, near: Iterable[str] = ()
    ) -> Named:
        """Return an id with the name that it was found by."""
        named = super().__new__(cls, found)
        named.written, named.reading, named.near = written, reading, tuple(near)
        return named


@dataclasses.dataclass(frozen=True)
class Number:
    """A plain number within a range."""

    low: float
    high: float


@dataclasses.dataclass(frozen=True)
class Whole:
    """A whole number within a range."""

    low: int
    high: int


@dataclasses.dataclass(frozen=True)
class Choice:
    """One of a few ids, which a column holds as its place among them.

    Attributes
    ----------
    ids : tuple of str
        The ids.
    yes, no : str
        The ids that true and false stand for; empty where they stand for none.
    of_time : str
        Id of the message why an age or another time is refused; empty where that may be an id.
    ratios : bool
        Whether a ratio of medium to water among the words names one.
    """

    ids: tuple[str, ...]
    yes: str = ""
    no: str = ""
    of_time: str = ""
    ratios: bool = False


@dataclasses.dataclass(frozen=True)
class Row:
    """The id or a name of a row of a large table, which a column holds as its place."""

    table: str


@dataclasses.dataclass(frozen=True)
class Name:
    """Any text, for people to know it by."""

    longest: int


@dataclasses.dataclass(frozen=True)
class Group:
    """Several figures under one name, each a field of its own."""


Takes = Kind | Number | Whole | Choice | Row | Name | Group


@dataclasses.dataclass(frozen=True)
class Input:
    """An input.

    Attributes
    ----------
    name : str
        Its field in the request, and its column.
    takes : Kind, Number, Whole, Choice, Row, Name or Group
        What the field takes.
    meaning : str
        What it is.
    within : str
        The member of the request that holds it; empty for the request itself.
    required : bool
        Whether it must be given.
    otherwise : object
        What is taken where it is not given: a value in the internal unit, an id, or a function of
        the batch with the gaps before it filled; None where nothing is.
    assumption : str
        Id of that assumption.
    use : str
        What it enters, so that an answer lists only what it rests on.
    unit : str
        Unit in which the assumption tells the value.
    """

    name: str
    takes: Takes
    meaning: str
    within: str = ""
    required: bool = False
    otherwise: Any = None
    assumption: str = ""
    use: str = ""
    unit: str = ""


def given(takes: Takes, meaning: str, **options: Any) -> Any:
    """Declare a column that is an input; the options are those of :class:`Input`."""
    return dataclasses.field(metadata={_KEY: (takes, meaning, options)})


Table = TypeVar("Table")


@dataclass_transform(frozen_default=True, field_specifiers=(given, dataclasses.field))
def table(declared: type[Table]) -> type[Table]:
    """Make a column table of a class: a frozen dataclass whose columns may be inputs."""
    return dataclasses.dataclass(frozen=True)(declared)


@cache
def inputs_of(columns: Hashable) -> tuple[Input, ...]:
    """Return the inputs among the columns of a table, in their order."""
    return tuple(
        _input(each.name, *each.metadata[_KEY])
        for each in dataclasses.fields(cast(Any, columns))
        if _KEY in each.metadata
    )


@cache
def columns_of(columns: Hashable) -> tuple[Input, ...]:
    """Return the inputs of a table that are a column each."""
    return tuple(each for each in inputs_of(columns) if not isinstance(each.takes, Group))


def _input(name: str, takes: Takes, meaning: str, options: dict[str, Any]) -> Input:
    unit = takes.unit if isinstance(takes, Kind) else "1" if isinstance(takes, Number) else ""
    return Input(
        **{"name": name, "takes": takes, "meaning": meaning, "assumption": name}
        | {"unit": unit}
        | options
    )
