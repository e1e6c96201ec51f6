"""Sentences by their ids, from the catalogues of a language (gettext, read by Babel)."""

from __future__ import annotations

import gettext
import io
import math
import re
import string
from collections.abc import Callable, Mapping
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from saltcalc.message import Message, say
from saltcalc.parts.shown import Amount, Text
from saltcalc.words.figures import (
    amount,
    figure,
    lower_first,
    percent_up,
    told_in,
    upper_first,
    volume,
    with_unit,
)
from saltcalc.words.unit_systems import METRIC, figure_in, unit_in

_LOCALES = files("saltcalc.words") / "locale"

_IN_UNIT = re.compile(r"(?P<digits>\d)(?P<bare> in)? (?P<unit>\S+)")

_FORMS: Mapping[str, Callable[[Any], str]] = {
    "percent": lambda share: f"{figure(100 * share)} %",
    "percent_up": lambda share: f"{percent_up(share)} %",
    "first": upper_first,
    "lower": lower_first,
}

_JOINS: Mapping[str, Callable[[list[str]], str]] = {
    "semicolons": "; ".join,
    "commas": ", ".join,
    "or": " or ".join,
    "or_lower": lambda each: " or ".join(lower_first(name) for name in each),
    "and": lambda each: " and ".join(filter(None, (", ".join(each[:-1]), *each[-1:]))),
}


class Words:
    """The sentences of one language, with their figures in one system of units.

    A sentence names what it tells in braces; a number there stands for itself. A number takes two
    significant digits, or as many as follow the colon (``{ec:3}``); other forms are ``volume``,
    ``percent`` and the like, or a format of Python's own. A figure whose unit depends on the
    reader takes its digits and the unit in which it comes (``{height:3 cm}``), and ``in`` between
    them where its unit is told with another figure (``{low:2 in L} to {high:2 L}``). A message
    with plural forms takes the one that fits ``count``.
    """

    def __init__(self, catalog: Catalog, units: str = METRIC) -> None:
        """Take the sentences of a catalogue, and the system of units."""
        self.units = units
        compiled = io.BytesIO()
        write_mo(compiled, catalog)
        compiled.seek(0)
        self._sentences = gettext.GNUTranslations(compiled)
        self._plurals = {each.id[0] for each in catalog if isinstance(each.id, tuple)}

    def say(self, text: Text | str) -> str:
        """Return the sentence or sentences of a text.

        Raises
        ------
        KeyError
            If the language has no sentence of that id, or it tells what was not given.
        """
        if isinstance(text, str):
            return text
        if isinstance(text, tuple):
            return " ".join(self.say(each) for each in text)
        if text.id in self._plurals:
            count = text.told["count"]
            # A count with a fraction takes the form of zero: "0.5 weeks", but "1 week".
            whole = int(count) if float(count).is_integer() else 0
            sentence = self._sentences.ngettext(text.id, text.id, whole)
        else:
            sentence = self._sentences.gettext(text.id)
        if sentence == text.id:
            raise KeyError(f"no sentence: {text.id}")
        return self.fill(sentence, text.told)

    def tell(self, message: str, /, **told: Any) -> str:
        """Return the sentence of a message."""
        return self.say(say(message, **told))

    def fill(self, sentence: str, told: Mapping[str, Any]) -> str:
        """Return a sentence with what it tells in the place of its names."""
        return "".join(
            literal if name is None else literal + self._write(_told(name, told), form)
            for literal, name, form in _pieces(sentence)
        )

    def _write(self, value: Any, format_spec: str) -> str:
        """Write what a sentence tells."""
        if join := _JOINS.get(format_spec):
            return join([self.say(each) for each in value])
        if isinstance(value, Amount):
            return self._amount(value)
        if isinstance(value, Message | tuple):
            value = self.say(value)
        if format_spec == "volume":
            return volume(value, system=self.units)
        if told := _IN_UNIT.fullmatch(format_spec):
            digits = int(told["digits"])
            if told["bare"]:
                return figure(figure_in(value, told["unit"], self.units), digits)
            return told_in(value, told["unit"], digits, self.units)
        if form := _FORMS.get(format_spec):
            return form(value)
        if isinstance(value, str):
            return value
        if not format_spec or format_spec.isdecimal():
            return figure(value, int(format_spec or 2))
        return format(value, format_spec)

    def _amount(self, told: Amount) -> str:
        """Write an amount with its unit; from end to end, or from the end that is known."""
        unit = unit_in(told.unit, self.units)
        value, least, most = (
            figure_in(end, told.unit, self.units) for end in (told.value, told.low, told.high)
        )
        told = Amount(value, unit, least, most)
        low, high = (amount(end, unit) for end in (told.low, told.high))
        if math.isnan(told.low) != math.isnan(told.high):
            side, end = ("most", high) if math.isnan(told.low) else ("least", low)
            return self.say(say(f"amount.at_{side}", end=with_unit(end, unit)))
        if math.isnan(told.low) or low == high:
            return with_unit(amount(told.value, unit) if math.isnan(told.low) else low, unit)
        return self.say(say("amount.between", low=low, high=with_unit(high, unit)))


@lru_cache(maxsize=4096)
def _pieces(sentence: str) -> tuple[tuple[str, str | None, str], ...]:
    """Return what a sentence is made of: words, what is told after them, and in which form."""
    parts = string.Formatter().parse(sentence)
    return tuple((literal, name, form or "") for literal, name, form, _ in parts)


def _told(name: str, told: Mapping[str, Any]) -> Any:
    """Return what a name stands for; a number stands for itself."""
    return int(name) if name.isdecimal() else told[name]


def sentence(message: str, /, **told: Any) -> str:
    """Return the sentence of a message, in the language of the service."""
    return words().tell(message, **told)


@cache
def languages() -> tuple[str, ...]:
    """Return the languages that there are sentences in, by their BCP 47 tags."""
    return tuple(sorted(folder.name for folder in _LOCALES.iterdir() if folder.is_dir()))


def spoken(language: str) -> str:
    """Return the language that there are sentences in for a wanted one: its own, or English."""
    base = language.split("-", maxsplit=1)[0]
    return base if base in languages() else "en"


@cache
def words(language: str = "en", units: str = METRIC) -> Words:
    """Return the sentences of a language, with their figures in a system of units."""
    return Words(_catalog(language), units)


@cache
def _catalog(language: str) -> Catalog:
    """Return the sentences of a language, from every catalogue in its folder."""
    folder = _LOCALES / language / "LC_MESSAGES"
    whole = Catalog(locale=language)
    for each in sorted(folder.iterdir(), key=lambda file: file.name):
        if not each.name.endswith(".po"):
            continue
        with each.open("rb") as stream:
            catalog = read_po(stream, locale=language, abort_invalid=True)
        for message in catalog:
            if not message.id:
                continue
            if message.id in whole:
                raise ValueError(f"{each.name}: {message.id} has a sentence already")
            whole[message.id] = message
    return whole
