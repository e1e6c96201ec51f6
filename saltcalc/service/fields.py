"""Marshmallow fields of the requests: quantities with units, and ids of the tables."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

import marshmallow as ma

from saltcalc.case.inputs import Choice as OneOf
from saltcalc.case.inputs import Named
from saltcalc.data.name_forms import plain as bare
from saltcalc.data.report_names import found_in
from saltcalc.data.trade_names import Sense, meaning
from saltcalc.message import Message, say
from saltcalc.notation import not_given
from saltcalc.quantities import Measured, Told, read_quantity
from saltcalc.service.report_lines import line_of
from saltcalc.units import PURE, Kind, QuantityError, ion_kind
from saltcalc.words.catalogue import sentence, words

_FEW = 6
"""Choices that are all told where none was meant."""

LONGEST_NAME = 200
"""Characters of the longest name that is looked up in a table."""


_PART = r"(?:(?:parts?|volumes?|vol|parties?|teile?|raumteile?|partes?|parti|deel|delen) )?"
_OF = r"(?:(?:of|de|d|di|van) )?"
_MEDIUM = rf"(?:1|one|a|an|eine?|une?|una|uno|een) {_PART}{_OF}\w+(?: \w+){{0,2}}?"
_PURE = r"(?:distill\w+|destil\w+|dest|deioni\w+|demineral\w+|gedemineral\w+)"
_WATER = rf"(2|5|1 5) {_PART}{_OF}(?:{_PURE} )?(?:water|wasser|eau|agua|acqua)(?: {_PURE})?"
_BESIDE = (
    r"(?: (?:to|and|with|in|on|plus|zu|und|mit|auf|pour|et|avec|dans|por|y|con|en|a|per|e|op|met))?"
)
_PARTS = re.compile(rf"{_MEDIUM}{_BESIDE} {_WATER}|{_WATER}{_BESIDE} {_MEDIUM}")
"""A ratio in words: "one part of coir to 1.5 parts of water"."""

_TIME = re.compile(r"\s*\d+[\s.,]*(?:\d|[dwm]|$)")


MOST_BLANKS = 20
"""Entries up to which a list of blanks is taken as none."""


def is_not_given(field: ma.fields.Field[Any], value: Any) -> bool:
    """Tell whether a value says that there is none: null, blank, or a dash or "n.d." for a figure.

    Parameters
    ----------
    field : Field
        That it was sent for.
    value : object
        As sent.
    """
    if value is None:
        return True
    if isinstance(field, BoundedList) and isinstance(field.inner, Choice):
        if isinstance(value, list):
            few = 0 < len(value) <= MOST_BLANKS
            return few and all(is_not_given(field.inner, each) for each in value)
        field = field.inner
    if not isinstance(value, str):
        figure = isinstance(field, Quantity) and isinstance(value, Mapping) and "value" in value
        return figure and is_not_given(field, value["value"])
    if isinstance(field, Choice):
        return not_given(value) and not field.sense_of(value).id
    return not_given(value) if isinstance(field, Quantity | Number | Count) else not value.strip()


def said_of(kind: type) -> str:
    """Return the first paragraph of what a schema or a part says of itself, on one line."""
    return " ".join((kind.__doc__ or "").split("\n\n")[0].split())


def _refusal(why: Message) -> ma.ValidationError:
    return ma.ValidationError(sentence("problem.not_accepted", why=why))


class BoundedList(ma.fields.List[Any]):
    """A list that is refused for its length before any of its members is read."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **options: Any) -> list[Any]:
        if isinstance(value, list):
            self._validate(value)
        members: list[Any] = super()._deserialize(value, attr, data, **options)
        return members


def list_of(
    schema: type[ma.Schema], most: int, least: int | None = None, **options: Any
) -> BoundedList:
    """Return a field for a list of objects, from the least to the most that it may hold."""
    length = ma.validate.Length(least, most)
    return BoundedList(ma.fields.Nested(schema), validate=length, **options)


class Quantity(ma.fields.Field[Measured]):
    """A quantity with its unit, read into a :class:`saltcalc.quantities.Measured`."""

    def __init__(self, kind: Kind, description: str, **options: Any) -> None:
        super().__init__(metadata={"description": description}, **options)
        self.kind = kind

    def _deserialize(
        self, value: Any, attr: str | None, data: Mapping[str, Any] | None, **_: Any
    ) -> Measured:
        try:
            return read_quantity(value, self.kind)
        except QuantityError as error:
            raise _refusal(error.message) from error


class Concentration(Quantity):
    """The concentration of a reported ion."""

    def __init__(self, ion: str, description: str, **options: Any) -> None:
        super().__init__(ion_kind(ion), description, **options)


class Number(ma.fields.Float):
    """A plain number, also as text; a share of one also in percent."""

    def __init__(self, low: float, high: float, description: str, **options: Any) -> None:
        super().__init__(
            validate=ma.validate.Range(low, high),
            metadata={"description": description},
            **options,
        )
        self.share = high <= 1

    def _deserialize(self, value: Any, attr: Any, data: Any, **options: Any) -> float:
        return _read_number(value, percent=self.share)


class Count(ma.fields.Integer):
    """A whole number, also as text."""

    def __init__(self, low: int, high: int, description: str, **options: Any) -> None:
        super().__init__(
            strict=True,
            validate=ma.validate.Range(low, high),
            metadata={"description": description},
            **options,
        )

    def _deserialize(self, value: Any, attr: Any, data: Any, **options: Any) -> int:
        number = _read_number(value, percent=False)
        if not number.is_integer():
            raise self.make_error("invalid", input=value)
        return int(number)


def _read_number(given: Any, *, percent: bool) -> float:
    """Read a number without a dimension."""
    try:
        measured = read_quantity(given, PURE)
    except QuantityError as error:
        raise _refusal(error.message) from error
    if measured.unit_written and not percent:
        raise _refusal(say("unit.no_unit_wanted"))
    return Told(measured.value, measured.reading) if measured.reading else measured.value


_AND = re.compile(r"\s+(?:and|und|et|y|e|en|&|\+)\s+", re.IGNORECASE)


class Choice(ma.fields.String):
    """One of a few ids that the document of the interface can list; its case does not matter.

    Parameters
    ----------
    choices : iterable of str
        The ids.
    labels : mapping of str to str, optional
        Other names that are taken too, each with its id.
    of : str
        The set as the table of trade names calls it; empty for one without such names.
    like : Choice of :mod:`saltcalc.case.inputs`, optional
        What else than an id or a name is taken.
    pattern : str, optional
        What else the document of the interface says that is taken.
    """

    def __init__(
        self,
        choices: Iterable[str],
        description: str,
        labels: Mapping[str, str] | None = None,
        of: str = "",
        like: OneOf | None = None,
        pattern: str = "",
        **options: Any,
    ) -> None:
        self.choices = tuple(choices)
        self.pattern = pattern
        self.like = like or OneOf(self.choices)
        self.labels = labels or {}
        self.of = of
        super().__init__(
            validate=ma.validate.OneOf(self.choices),
            metadata={"description": description},
            **options,
        )

    def _deserialize(self, value: Any, attr: Any, data: Any, **options: Any) -> str:
        if self.like.yes and isinstance(value, bool):
            value = self.like.yes if value else self.like.no
        if self.like.of_time and _TIME.match(str(value)):
            raise _refusal(say(self.like.of_time))
        if isinstance(value, int | float):
            value = str(value)
        text: str = super()._deserialize(value, attr, data, **options)
        if len(text) > LONGEST_NAME:
            return text
        sense = self.sense_of(text)
        if sense.id:
            return Named(sense.id, text, sense.told)
        if sense.told:
            raise _refusal(sense.told)
        if len(self.choices) <= _FEW or not sense.near:
            return text
        near = say("problem.not_known_near", text=text, near=list(sense.near))
        raise ma.ValidationError(words().say(near))

    def sense_of(self, text: str) -> Sense:
        """Return what a text means of the set."""
        whole = meaning(self.of, text, self.choices, self.labels)
        if whole.id or whole.told or not self.like.ratios:
            return whole
        return _method_in(text, self) or whole

    def several(self, text: str) -> list[str]:
        """Return the texts in one that lists several, parted by commas, semicolons or "and"."""
        if self.sense_of(text).id:
            return [text]
        parts = [part.strip() for part in re.split(r"[;,\n]", text) if part.strip()]
        return [each for part in parts for each in self._joined_by_and(part)]

    def _joined_by_and(self, text: str) -> list[str]:
        joined = _AND.split(text)
        apart = not self.sense_of(text).id and all(self.sense_of(each).id for each in joined)
        return joined if apart else [text]


def _method_in(text: str, field: Choice) -> Sense | None:
    """Find a method among the words of a text: its name, or the ratio of an extract by volume."""
    words_of = tuple(bare(text).split())
    by_weight = {row.means for row in found_in(words_of, "by_weight")[0]}
    parts = _PARTS.fullmatch(bare(text))
    if parts and "weight" not in by_weight:
        ratio = f"1:{next(filter(None, parts.groups())).replace(' ', '.')}"
        return meaning(field.of, ratio, field.choices, field.labels)
    if salts := found_in(words_of, "extractant")[0]:
        known = meaning(field.of, salts[0].name.split("-")[0], field.choices, field.labels)
        if known.id:
            return known
        return Sense(told=say("names.salt_extract", text=salts[0].name))
    if methods := found_in(words_of, "method")[0]:
        return meaning(field.of, methods[0].means, field.choices, field.labels)
    ratio = line_of(1, text).ratio
    if by_weight and (ratio or parts):
        return Sense(told=say("names.by_weight", text=text))
    return meaning(field.of, ratio, field.choices, field.labels) if ratio else None


class Day(ma.fields.Date):
    """A day of the calendar, as ISO 8601 writes it in full: 2025-03-12."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **options: Any) -> Any:
        if not (isinstance(value, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value)):
            raise ma.ValidationError(sentence("problem.no_day"))
        return super()._deserialize(value, attr, data, **options)


class Label(ma.fields.String):
    """A name that is only repeated; a bare number is taken for its text."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **options: Any) -> Any:
        if isinstance(value, int | float) and not isinstance(value, bool):
            value = str(value)
        return super()._deserialize(value, attr, data, **options)


class UnknownIdError(LookupError):
    """No row of a table, or more than one, has this id or name; the message says what to choose."""

    def __init__(self, *told: Message) -> None:
        super().__init__(words().say(told))


class TableId(ma.fields.String):
    """The id of a row of a table; an unknown one is answered with near matches.

    Parameters
    ----------
    look_up : callable
        Returns the canonical id for what was sent, or raises :class:`UnknownIdError`.
    listing : str
        Where the table can be read, for example ``GET /v1/crops``.
    ids : sequence of str
        The ids, for the contract, where the table is closed and short.
    """

    def __init__(
        self,
        look_up: Callable[[str], str],
        listing: str,
        description: str,
        ids: Sequence[str] = (),
        **options: Any,
    ) -> None:
        about: dict[str, Any] = {"description": f"{description} Listed by {listing}."}
        super().__init__(
            validate=ma.validate.Length(1, LONGEST_NAME),
            metadata=about | ({"enum": list(ids)} if ids else {}),
            **options,
        )
        self.look_up = look_up
        self.listing = listing

    def _deserialize(self, value: Any, attr: Any, data: Any, **options: Any) -> str:
        text: str = super()._deserialize(value, attr, data, **options)
        self._validate(text)
        try:
            return self.look_up(text)
        except UnknownIdError as error:
            raise ma.ValidationError(str(error)) from error
