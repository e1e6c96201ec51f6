"""What every request is read by: blanks, lists of one, the sample's id and the language."""

from __future__ import annotations

import re
from collections.abc import Callable, Container, Iterator, Mapping
from functools import cached_property
from typing import Any, ClassVar

import flask
import marshmallow as ma
from marshmallow.decorators import POST_LOAD, PRE_LOAD, VALIDATES_SCHEMA

from saltcalc.case.inputs import Named
from saltcalc.case.intake import LEFT_OUT
from saltcalc.data.crop_lookup import SPOKEN
from saltcalc.data.crop_names import REGIONS
from saltcalc.data.trade_names import meaning
from saltcalc.message import say
from saltcalc.service.fields import (
    BoundedList,
    Choice,
    Day,
    Label,
    is_not_given,
    said_of,
)
from saltcalc.words.catalogue import languages, spoken
from saltcalc.words.reader import tell_to

_ALONE = (Mapping, str, int, float)
"""What stands for a list of one."""


_OF_A_REGION = re.compile(r"[A-Za-z]{2,3}(?:[-_][A-Za-z0-9]{2,8})+")

_LISTS = {
    "containers": {"description": "The kinds of container, and how many there are of each."},
    "crops": {"description": "The crops, each at its stage."},
    "media": {"description": "The media, each with what it does not share with the others."},
    "outcomes": {"description": "How each crop fared in the medium."},
    "readings": {
        "description": "Passes that were done and readings that were taken, in their order."
    },
    "pots": {"description": "What each pot got and gave."},
}
"""What the lists of a request hold, by the name that they have everywhere."""


class _Names(frozenset[str]):
    """Names of fields to be looked up; none is gone through in search of fields within a field."""

    def __iter__(self) -> Iterator[str]:
        return iter(())


class RequestSchema(ma.Schema):
    """A part of a request; a field that is not known is refused."""

    class Meta:
        unknown = ma.RAISE

    also: ClassVar[Mapping[str, str]] = {}
    """Other names of fields, each with its field."""

    alone: ClassVar[str] = ""
    """The field that a bare text or number stands for, in the place of the whole object."""

    def on_bind_field(self, field_name: str, field_obj: ma.fields.Field[Any]) -> None:
        """Describe a list, and a field that is another schema by what that says of itself."""
        meaning = _LISTS.get(field_name, {})
        if isinstance(field_obj, ma.fields.Nested):
            meaning = {"description": said_of(type(field_obj.schema))}
        field_obj.metadata = meaning | dict(field_obj.metadata)

    def load(self, data: Any, *, unknown: Any = None, **_: Any) -> Any:
        """Read what was sent; fields that are not sent are passed over."""
        meant, left_out = self._as_meant(data)
        loaded = super().load(meant, unknown=unknown, partial=self._optional)
        return loaded | told_as_left_out(left_out) if left_out else loaded

    @cached_property
    def _optional(self) -> _Names:
        """Names of the fields that may be missing without more ado."""
        return _Names(self.load_fields.keys() - self.needed)

    @cached_property
    def needed(self) -> frozenset[str]:
        """Names of the fields that may not be missing, or that have a value then."""
        return frozenset(
            name
            for name, field in self.load_fields.items()
            if field.required or field.load_default is not ma.missing
        )

    @cached_property
    def rules(self) -> list[Callable[[dict[str, Any]], None]]:
        """What an object as a whole is held to."""
        return [getattr(self, name) for name, *_ in self._hooks[VALIDATES_SCHEMA]]

    @cached_property
    def finishes(self) -> list[Callable[[dict[str, Any]], dict[str, Any]]]:
        """What is done to an object that holds to the rules."""
        return [getattr(self, name) for name, *_ in self._hooks[POST_LOAD]]

    @cached_property
    def reads_columns(self) -> bool:
        """Whether nothing is done to what was sent but what every request is read by."""
        return {name for name, *_ in self._hooks[PRE_LOAD]} <= {"_name_in_language"}

    def as_object(self, sent: Any) -> Any:
        """Return an object as sent; one of its `alone` field where a bare figure stands for it."""
        bare = isinstance(sent, str | int | float) and not isinstance(sent, bool)
        return {self.alone: sent} if self.alone and bare else sent

    def field_named(self, sent: str, beside: Container[str]) -> str:
        """Return the field that is meant by a name, unless it is sent by its own name beside."""
        field = self.also.get(sent)
        return sent if field is None or field in beside else field

    def _as_meant(self, sent: Any) -> tuple[Any, dict[str, Any]]:
        """Take a bare figure for its field, one object for a list of one, and blanks for none."""
        given = self.as_object(sent)
        if not isinstance(given, Mapping):
            return given, {}
        kept: dict[str, Any] = {}
        left_out: dict[str, Any] = {}
        for member, value in given.items():
            name = self.field_named(member, given)
            field = self.fields.get(name)
            if field is not None and is_not_given(field, value):
                left_out[name] = value
            else:
                kept[name] = in_list(field, value)
        return kept, left_out


def in_list(field: ma.fields.Field[Any] | None, value: Any) -> Any:
    """Return the list that a single value stands for, if the field takes one."""
    if not isinstance(field, BoundedList):
        return value
    if isinstance(value, bool) or not isinstance(value, _ALONE):
        return value
    of = field.inner
    return of.several(value) if isinstance(of, Choice) and isinstance(value, str) else [value]


def told_as_left_out(left_out: Mapping[str, Any]) -> dict[str, Named]:
    """Return the members that tell which fields were taken as not given, by what stood there."""
    texts = {
        name: ", ".join(map(str, value)) if isinstance(value, list) else value
        for name, value in left_out.items()
    }
    return {
        f"{name}{LEFT_OUT}": Named("", text, say("unit.taken_as_not_given", text=text))
        for name, text in texts.items()
        if isinstance(text, str) and text.strip()
    }


def _base(language: str) -> str:
    return language.split("-", maxsplit=1)[0]


def look_up_in(language: Any) -> None:
    """Let the names of crops be looked up in a language, if it is one, and faults be told in it."""
    if isinstance(language, str):
        tell_to(spoken(language))
    known = isinstance(language, str) and _base(language) in SPOKEN
    flask.g.names_in = language if known else None


class SampledSchema(RequestSchema):
    """Which sample it is; the answer repeats it."""

    sample_id = Label(
        validate=ma.validate.Length(1, 100), metadata={"description": "Any id of the sample."}
    )
    sampled_on = Day(metadata={"description": "Day on which the sample was taken."})


class LanguageSchema(RequestSchema):
    """In which language the answer is."""

    language = Choice(
        dict.fromkeys((*SPOKEN, *languages(), *REGIONS)),
        "Language in which crops are named, as a BCP 47 tag, with a region or without; any of them "
        "if left out. The answer "
        f"comes in it where there are sentences ({', '.join(languages())}), else in English.",
        of="language",
        pattern=rf"^({'|'.join(SPOKEN)})(-[A-Za-z0-9]{{2,8}})+$",
    )

    @property
    def languages(self) -> tuple[str, ...]:
        """The tags of the languages."""
        language = self.load_fields["language"]
        assert isinstance(language, Choice)
        return language.choices

    @ma.pre_load
    def _name_in_language(self, request: Any, **_: Any) -> Any:
        """Let the names of crops be looked up in the language, and faults be told in it."""
        language = request.get("language") if isinstance(request, Mapping) else None
        if isinstance(language, str):
            named = meaning("language", language, (), {}).id or self._without_region(language)
            if named:
                request, language = {**request, "language": named}, named
        look_up_in(language)
        return request

    def _without_region(self, tag: str) -> str | None:
        """Return the language of a tag with a region or a script that has no names of its own."""
        base = _base(tag.strip().replace("_", "-")).lower()
        known = {each.casefold() for each in self.languages}
        if tag.strip().casefold() in known or base not in known:
            return None
        return base if _OF_A_REGION.fullmatch(tag.strip()) else None

    @ma.post_load
    def _answer_in_english(self, request: dict[str, Any], **_: Any) -> dict[str, Any]:
        language = request.get("language")
        if language is None or spoken(language) == _base(language):
            return request
        reading = say("names.answered_in_english")
        return request | {"language": Named(language, language, reading)}


class ComputedSchema(SampledSchema, LanguageSchema):
    """What every request for a computation takes beside its figures."""
