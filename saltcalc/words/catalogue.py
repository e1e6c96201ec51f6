"""Sentences by their ids, from the catalogues of a language (gettext, read by Babel)."""

from __future__ import annotations

import datetime
import functools
import gettext
import math
import re
import string
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache, lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Any, NamedTuple

import numpy as np
from babel.dates import format_date
from babel.lists import format_list
from babel.messages.pofile import read_po

from saltcalc.message import Message, Title, say
from saltcalc.parts.shown import Amount, Text
from saltcalc.words.figures import (
    amount,
    figure,
    in_marks,
    locale_of,
    lower_first,
    percent_up,
    told_in,
    upper_first,
    volume,
)
from saltcalc.words.reader import ENGLISH, reader
from saltcalc.words.unit_systems import METRIC, figure_in, unit_in

_LOCALES = files("saltcalc.words") / "locale"

_IN_UNIT = re.compile(r"(?P<digits>\d)(?P<bare> in)? (?P<unit>\S+)")


_BEFORE_SOUND = (
    ("y", "e", re.compile(r"h?[ií](?![aeouáéóú])", re.IGNORECASE)),
    ("o", "u", re.compile(r"h?[oó]|8|11(?!\d)", re.IGNORECASE)),
)


def _either(names: list[str], language: str) -> str:
    """Join names that leave a choice; by the word alone where one of them is a list itself."""
    locale = locale_of(language)
    and_ = format_list(["", ""], locale=locale)
    if any("," in name or and_ in name for name in names):
        return functools.reduce(lambda *two: format_list(two, style="or", locale=locale), names)
    return _by_sound(format_list(names, style="or", locale=locale), names, language)


def _all(names: list[str], language: str) -> str:
    """Join names that all hold."""
    return _by_sound(format_list(names, locale=locale_of(language)), names, language)


def _positional(value: float | str) -> str:
    """Return a number without thousands or exponent; a text that holds one as it is."""
    return value if isinstance(value, str) else np.format_float_positional(value, trim="-")


def _by_sound(joined: str, names: list[str], language: str) -> str:
    """Return a list with the Spanish "y" and "o" as they are said before their own sound.

    "E" is before an i that is no diphthong, "u" before an o, and before 8 and 11 (Real
    Academia Española).
    """
    if language != "es" or len(names) < 2:
        return joined
    last = names[-1]
    for word, instead, sound in _BEFORE_SOUND:
        if joined.endswith(f" {word} {last}") and sound.match(last):
            return f"{joined.removesuffix(f' {word} {last}')} {instead} {last}"
    return joined


_JOINS: Mapping[str, Callable[[list[str], Words], str]] = {
    "semicolons": lambda each, words: words.semicolons(each),
    "semicolons_lower": lambda each, words: words.semicolons(
        [*each[:1], *(lower_first(name, words.language) for name in each[1:])]
    ),
    "commas": lambda each, _: ", ".join(each),
    "commas_lower": lambda each, words: ", ".join(
        lower_first(name, words.language) for name in each
    ),
    "or": lambda each, words: _either(each, words.language),
    "or_lower": lambda each, words: _either(
        [lower_first(name, words.language) for name in each], words.language
    ),
    "and": lambda each, words: _all(each, words.language),
    "and_lower": lambda each, words: _all(
        [lower_first(name, words.language) for name in each], words.language
    ),
}

_FORMS: Mapping[str, Callable[[Any, Words], str]] = {
    "volume": lambda litres, words: volume(litres, words.units, words.language),
    "percent": lambda share, words: words.percent(figure(100 * share, language=words.language)),
    "percent_up": lambda share, words: words.percent(str(percent_up(share))),
    "bound": lambda value, words: in_marks(_positional(value), words.language),
    "first": lambda text, _: upper_first(text),
    "lower": lambda text, words: lower_first(text, words.language),
}


class _Form(NamedTuple):
    """How a value is written in a sentence.

    Attributes
    ----------
    spec : str
        As it stands behind the colon.
    join, write : callable or None
        How several are joined, and how one is written, where the form says so.
    digits : int
        How many a number takes; 0 where the form is one of Python's own.
    """

    spec: str
    join: Callable[[list[str], Words], str] | None
    write: Callable[[Any, Words], str] | None
    digits: int


_WIDE = 0.2
"""Width of an interval, of its middle figure, from which its ends are told with two digits."""
_ID = re.compile(r'^msgid "(.+)"$', re.MULTILINE)
_UNFILLED = re.compile(
    r'^msgid "(.+)"\n(?:msgid_plural .*\n)?(?:msgstr.*\n)*?msgstr(?:\[\d\])? ""(?:\n(?!")|\Z)',
    re.MULTILINE,
)


class Words:
    """The sentences of one language, with their figures in one system of units.

    A sentence names what it tells in braces; a number there stands for itself. A number takes two
    significant digits, or as many as follow the colon (``{ec:3}``); other forms are ``volume``,
    ``percent`` and the like, or a format of Python's own. A figure whose unit depends on the
    reader takes its digits and the unit in which it comes (``{height:3 cm}``), and ``in`` between
    them where its unit is told with another figure (``{low:2 in L} to {high:2 L}``). A message
    with plural forms takes the one that fits ``count``.
    """

    language: str
    units: str

    def __init__(self, language: str = ENGLISH, units: str = METRIC) -> None:
        """Take the sentences of a language, and the system of units."""
        self.language, self.units = language, units
        self._sentences, self._plurals, self._form = _read(language)

    def say(self, text: Text | str) -> str:
        """Return the sentence or sentences of a text.

        Raises
        ------
        KeyError
            If the language has no sentence of that id, or it tells what was not given.
        """
        if not isinstance(text, Message):
            if isinstance(text, tuple):
                return " ".join([self.say(each) for each in text])
            return self.named(text.id, str(text)) if isinstance(text, Title) else text
        if text.id in self._plurals:
            sentence = self._plural(self._plurals[text.id], float(text.told["count"]))
        elif text.id in self._sentences:
            sentence = self._sentences[text.id]
        else:
            raise KeyError(f"no sentence: {text.id}")
        return self.fill(sentence, text.told)

    def _plural(self, forms: Sequence[str], count: float) -> str:
        """Return the form of a sentence that fits a count.

        A fraction takes the form of a whole number of its kind. A form that says no count tells
        of one alone, also where the language has it for none or for less than two.
        """
        form = locale_of(self.language).plural_form
        kinds = (whole for whole in (0, 1, 2, 5) if form(whole) == form(count))
        whole = int(count) if count.is_integer() else next(kinds, 0)
        sentence = forms[self._form(whole)]
        if count != 1 and not any(name == "count" for _, name, _ in _pieces(sentence)):
            return forms[self._form(2)]
        return sentence

    def tell(self, message: str, /, **told: Any) -> str:
        """Return the sentence of a message."""
        return self.say(say(message, **told))

    def named(self, message: str, otherwise: str, /, **told: Any) -> str:
        """Return the sentence of a message, or something else where there is none."""
        known = message in self._sentences or message in self._plurals
        return self.tell(message, **told) if known else otherwise

    def fill(self, sentence: str, told: Mapping[str, Any]) -> str:
        """Return a sentence with what it tells in the place of its names."""
        return "".join(
            [
                literal if name is None else literal + self._write(_told(name, told), form)
                for literal, name, form in _pieces(sentence)
            ]
        )

    def quantity(self, value: float, unit: str, digits: int = 2) -> str:
        """Return a figure in its own unit for people; in words where the unit is one."""
        return self.with_unit(figure(value, digits, self.language), unit, value)

    def semicolons(self, each: Iterable[str]) -> str:
        """Return texts in a row, parted by semicolons."""
        first, *others = [*each] or [""]
        return functools.reduce(
            lambda before, after: self.tell("semicolon", before=before, after=after), others, first
        )

    def labelled(self, label: str, said: str) -> str:
        """Return a text behind what it is about and a colon."""
        return self.tell("labelled", label=label, said=said)

    def day(self, value: datetime.date) -> str:
        """Return a day of the calendar as people write it."""
        return format_date(value, "long", locale=locale_of(self.language))

    def _write(self, value: Any, form: _Form) -> str:
        """Write what a sentence tells."""
        if form.join:
            return form.join([self.say(each) for each in value], self)
        kind = value.__class__
        if kind is not str and kind is not float:
            if isinstance(value, Amount):
                return self._amount(value)
            if isinstance(value, datetime.date):
                return self.day(value)
            if isinstance(value, Message | tuple | Title):
                value = self.say(value)
        if form.write:
            return form.write(value, self)
        if isinstance(value, str):
            return value
        if form.digits:
            return figure(value, form.digits, self.language)
        return in_marks(format(value, form.spec), self.language)

    def percent(self, number: str) -> str:
        """Return a number with the sign for per cent."""
        return self.tell("percent", number=number)

    def with_unit(self, number: str, unit: str, value: float) -> str:
        """Put a unit behind a number, but for those that people do not say: of 1 and of SAR."""
        if unit == "1" or unit.startswith("("):
            return number
        if unit == "%":
            return self.percent(number)
        told = {"number": number, "count": value}
        return self.named(f"quantity.{unit}", f"{number} {unit}", **told)

    def _amount(self, told: Amount) -> str:
        """Write an amount with its unit; from end to end, or from the end that is known."""
        unit = unit_in(told.unit, self.units)
        value, least, most = (
            figure_in(end, told.unit, self.units) for end in (told.value, told.low, told.high)
        )
        digits = 2 if most - least > _WIDE * abs(value) else 3
        low, high = (amount(end, unit, self.language, digits) for end in (least, most))
        if math.isnan(least) != math.isnan(most):
            side, number, end = ("most", high, most) if math.isnan(least) else ("least", low, least)
            return self.tell(f"amount.at_{side}", end=self.with_unit(number, unit, end))
        if math.isnan(least) or low == high:
            number = amount(value, unit, self.language) if math.isnan(least) else low
            return self.with_unit(number, unit, value)
        return self.tell("amount.between", low=low, high=self.with_unit(high, unit, most))


@lru_cache(maxsize=4096)
def _pieces(sentence: str) -> tuple[tuple[str, str | None, _Form], ...]:
    """Return what a sentence is made of: words, what is told after them, and in which form."""
    parts = string.Formatter().parse(sentence)
    return tuple((literal, name, _form(spec or "")) for literal, name, spec, _ in parts)


@cache
def _form(spec: str) -> _Form:
    """Return the form that is written behind the colon."""
    write = _FORMS.get(spec)
    if told := _IN_UNIT.fullmatch(spec):
        write = _in_unit(int(told["digits"]), told["unit"], bare=told["bare"] is not None)
    digits = int(spec or 2) if not spec or spec.isdecimal() else 0
    return _Form(spec, _JOINS.get(spec), write, digits)


def _in_unit(digits: int, unit: str, *, bare: bool) -> Callable[[float, Words], str]:
    """Return how a figure is written in the unit of the reader, which is not named if bare."""

    def write(value: float, words: Words) -> str:
        if bare:
            return figure(figure_in(value, unit, words.units), digits, words.language)
        return told_in(value, unit, digits, words.units, words.language)

    return write


def _told(name: str, told: Mapping[str, Any]) -> Any:
    """Return what a name stands for; a number stands for itself."""
    return int(name) if name.isdecimal() else told[name]


def sentence(message: str, /, **told: Any) -> str:
    """Return the sentence of a message, for whoever reads now."""
    return words().tell(message, **told)


@cache
def languages() -> tuple[str, ...]:
    """Return the languages that an answer may come in, by their BCP 47 tags; English first.

    A folder counts when it has every sentence of the English one.
    """
    wanted = _filled(ENGLISH)
    folders = sorted(each.name for each in _LOCALES.iterdir() if each.is_dir())
    others = (each for each in folders if each != ENGLISH and wanted <= _filled(each))
    return (ENGLISH, *others)


def _filled(language: str) -> set[str]:
    """Return the ids that have a sentence in a language."""
    texts = [each.read_text(encoding="utf-8") for each in _catalogues(language)]
    return {
        message for text in texts for message in {*_ID.findall(text)} - {*_UNFILLED.findall(text)}
    }


def spoken(language: str) -> str:
    """Return the language that there are sentences in for a wanted one: its own, or English."""
    base = language.split("-", maxsplit=1)[0]
    return next((each for each in (language, base) if each in languages()), ENGLISH)


def words(language: str | None = None, units: str | None = None) -> Words:
    """Return the sentences of a language, with their figures in a system of units.

    Without a language or units they are those of whoever reads now.
    """
    now = reader()
    return _words(language or now.language, units or now.units)


@cache
def _words(language: str, units: str) -> Words:
    return Words(language, units)


def _catalogues(language: str) -> list[Traversable]:
    """Return the files with the sentences of a language."""
    folder = _LOCALES / language / "LC_MESSAGES"
    if not folder.is_dir():
        return []
    return sorted(
        (each for each in folder.iterdir() if each.name.endswith(".po")),
        key=lambda file: file.name,
    )


def names_told(catalogue: str, language: str) -> Mapping[str, str]:
    """Return what one catalogue of a language says, by id, without its other catalogues."""
    return _sentences_of(_LOCALES / language / "LC_MESSAGES" / f"{catalogue}.po", language)[0]


def _sentences_of(
    file: Traversable, language: str
) -> tuple[dict[str, str], dict[str, tuple[str, ...]], str]:
    """Read a catalogue: its sentences, those with plural forms, and which form fits a count.

    Nothing else of what translators see is kept.
    """
    with file.open("rb") as stream:
        catalog = read_po(stream, locale=language, abort_invalid=True)
    plain, plurals = {}, {}
    for message in catalog:
        if isinstance(message.id, str):
            if message.id and message.string:
                plain[message.id] = str(message.string)
        elif forms := tuple(filter(None, message.string or ())):
            plurals[message.id[0]] = forms
    return plain, plurals, catalog.plural_expr


class _Read(NamedTuple):
    """The sentences of a language, those with plural forms, and which form fits a count."""

    sentences: Mapping[str, str]
    plurals: Mapping[str, tuple[str, ...]]
    form: Callable[[int], int]


@cache
def _read(language: str) -> _Read:
    """Read every catalogue in the folder of a language."""
    sentences: dict[str, str] = {}
    plurals: dict[str, tuple[str, ...]] = {}
    form = "0"
    for each in _catalogues(language):
        plain, counted, form = _sentences_of(each, language)
        if twice := {*plain, *counted} & {*sentences, *plurals}:
            raise ValueError(f"{each.name}: {min(twice)} has a sentence already")
        sentences |= plain
        plurals |= counted
    return _Read(sentences, plurals, gettext.c2py(form))
