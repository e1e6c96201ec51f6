"""What a part shows: each member declared once, with its unit and its meaning.

A part is a dataclass. Its members that a reader sees are declared with :func:`shown`, in the order
in which they are read; the schema of the answer and its JSON both follow from that. A result with
one row for each sample, container or crop shows one row after :func:`row_of`.
"""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Callable, Mapping, Sequence
from functools import cache, cached_property
from typing import Any, NamedTuple, TypeVar, dataclass_transform

import numpy as np

from saltcalc.data.tables import PROVENANCES
from saltcalc.message import Message, say
from saltcalc.science.uncertainty import Interval

Part = TypeVar("Part")

Column = Any
"""One figure for each row of a result; a single figure after :func:`row_of`."""

_PLACES = itertools.count()
_KEY = "shown"


class Amount(NamedTuple):
    """A figure whose unit is known only with it; the ends of its interval where it has one."""

    value: float
    unit: str
    low: float = np.nan
    high: float = np.nan

    @classmethod
    def of(cls, interval: Interval, unit: str) -> Amount:
        """Return a figure with its interval."""
        value, low, high = (float(each) for each in interval)
        return cls(value, unit, low, high)


def note_of(table: str, row: Any) -> Message | str:
    """Return what answers note of a row of a table; empty where that is nothing."""
    return say(f"{table}.note.{row.note_id}") if row.note_id else ""


class Series(NamedTuple):
    """Figures in one unit, such as those of the days of a week; a missing one is NaN."""

    values: Sequence[float]
    unit: str


Text = Message | tuple[Message, ...]
"""One sentence, or several that follow one another."""


@dataclasses.dataclass(frozen=True)
class Member:
    """How a member is shown."""

    name: str
    key: str
    meaning: str
    unit: str | None
    optional: bool
    usual: Any
    options: Mapping[str, Any]
    place: int


def shown(
    meaning: str = "",
    unit: str | None = None,
    *,
    key: str | None = None,
    optional: bool = False,
    usual: Any = None,
    **options: Any,
) -> Any:
    """Declare a member of a part that the reader sees.

    Parameters
    ----------
    meaning : str
        What the contract says of it.
    unit : str, optional
        Of a quantity; "1" for a pure number. Without it a number is shown plainly.
    key : str, optional
        Its name in the answer, where Python does not allow it.
    optional : bool
        Whether it is left out where there is none, instead of null or an empty list.
    usual : optional
        The value with which it is left out; `meaning` says so.
    **options
        What else the contract says of it: ``choices``, and of a list what ``each`` in it is.
    """
    leaves_out = optional or usual is not None
    declared = (meaning, unit, key, leaves_out, usual, options, next(_PLACES))
    return dataclasses.field(metadata={_KEY: declared})


Getter = TypeVar("Getter", bound=Callable[[Any], Any])


def shows(
    meaning: str = "",
    unit: str | None = None,
    *,
    key: str | None = None,
    optional: bool = False,
    **options: Any,
) -> Callable[[Getter], Getter]:
    """Declare a member of a part that follows from the others; it goes under ``@property``."""
    declared = (meaning, unit, key, optional, None, options, next(_PLACES))

    def declare(getter: Getter) -> Getter:
        getter.__dict__[_KEY] = declared
        return getter

    return declare


def source_keys() -> Any:
    """Declare the keys of the sources that a part rests on."""
    return shown("Keys into the answer's `sources`.")


def how_known() -> Any:
    """Declare how the limits, ranges and factors of a part are known; the weakest counts."""
    return shown(
        "How its figures are known; left out where it is `seen`, read in the source itself.",
        usual="seen",
        choices=PROVENANCES,
    )


@dataclass_transform(
    frozen_default=True, field_specifiers=(shown, source_keys, how_known, dataclasses.field)
)
def part(declared: type[Part]) -> type[Part]:
    """Make a part of a class: a frozen dataclass whose members may be shown."""
    return dataclasses.dataclass(frozen=True, repr=False)(declared)


def is_part(kind: Any) -> bool:
    """Whether something is a part: a dataclass with shown members."""
    return isinstance(kind, type) and dataclasses.is_dataclass(kind)


def getter_of(each: Any) -> Any:
    """Return the method behind a property."""
    return each.func if isinstance(each, cached_property) else each.fget


@cache
def members_of(kind: Any) -> tuple[Member, ...]:
    """Return the shown members of a part, in their order."""
    found = {each.name: each.metadata.get(_KEY) for each in dataclasses.fields(kind)}
    for base in reversed(kind.__mro__):
        for name, each in vars(base).items():
            if isinstance(each, property | cached_property):
                found[name] = getter_of(each).__dict__.get(_KEY)
    made = [
        Member(name, key or name.rstrip("_"), meaning, unit, optional, usual, options, place)
        for name, (meaning, unit, key, optional, usual, options, place) in (
            (name, declared) for name, declared in found.items() if declared
        )
    ]
    return tuple(sorted(made, key=lambda member: member.place))


def row_of(result: Any, row: int, **members: Any) -> Any:
    """Return one row of a result: the same dataclass or tuple with an element of each array.

    Parameters
    ----------
    result : dataclass instance, named tuple, dict or ndarray
        Whose arrays have the rows as their first axis, or of which members are worked out only
        now (:func:`later`); anything else is kept as it is.
    row : int
        Which row.
    **members
        Of a dataclass, what the row has in place of what the result has.
    """
    picked = _picker(result.__class__)(result, row)
    if members:
        picked.__dict__.update(members)
    return picked


@cache
def _picker(kind: type) -> Callable[[Any, int], Any]:
    """Return how a row is picked from results of a kind."""
    if issubclass(kind, np.ndarray):
        return _element
    if hasattr(kind, "_fields"):
        made: Any = kind
        return lambda result, row: made._make(
            [_picker(each.__class__)(each, row) for each in result]
        )
    if kind is dict:
        return lambda result, row: {name: row_of(each, row) for name, each in result.items()}
    if dataclasses.is_dataclass(kind):
        return _row_maker(kind)
    if issubclass(kind, Callable):  # type: ignore[arg-type]
        return lambda result, row: row_of(result(), row)
    return lambda result, _: result


def _element(column: Any, row: int) -> Any:
    if column.ndim == 1:
        return column.item(row)
    picked = column[row]
    return picked.item() if isinstance(picked, np.generic) else picked


class _Later:
    """Work that is done at the first call."""

    def __init__(self, work: Callable[[], Any]) -> None:
        self._work = work

    def __call__(self) -> Any:
        """Return what came of it."""
        return self._found

    @cached_property
    def _found(self) -> Any:
        return self._work()


def later(work: Callable[[], Any]) -> Any:
    """Return a member of a result that is worked out on the first look at it in a row."""
    return _Later(work)


class _Picked:
    """A member of a row, picked from the whole at the first look."""

    def __init__(self, name: str) -> None:
        self._name = name

    def __get__(self, row: Any, _: type) -> Any:
        """Pick it; from then on the row has it."""
        whole, place = row.__dict__["_whole_and_row"]
        column = getattr(whole, self._name)
        picked = row.__dict__[self._name] = _picker(column.__class__)(column, place)
        return picked


def _row_maker(kind: type) -> Callable[[Any, int], Any]:
    """Return what makes a row of a dataclass, whose members are picked when they are asked for."""
    members = {each.name: _Picked(each.name) for each in dataclasses.fields(kind)}
    of_row: Any = type(kind.__name__, (kind,), {**members, "__doc__": kind.__doc__})

    def make(result: Any, row: int) -> Any:
        made = object.__new__(of_row)
        made.__dict__["_whole_and_row"] = result, row
        return made

    return make


@dataclasses.dataclass(frozen=True)
class Chosen:
    """A part of which only some members are shown."""

    part: Any
    members: tuple[str, ...]


@dataclasses.dataclass(frozen=True)
class Joined:
    """Parts whose members stand side by side in one answer."""

    parts: tuple[Any, ...]


def from_row(kind: type[Part], row: Any, **members: Any) -> Part:
    """Return a part with the members that a row of a table has by the same name, and others.

    Parameters
    ----------
    kind : type
        Of the part.
    row : object
        The row.
    **members
        What the row has not, or has in another form.
    """
    copied = {each.name for each in dataclasses.fields(kind)} - members.keys()  # type: ignore[arg-type]
    return kind(**{name: getattr(row, name) for name in copied}, **members)
