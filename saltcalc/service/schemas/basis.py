"""What every request is read by: blanks, lists of one, the sample's id and the language."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property
from typing import Any, ClassVar

import flask
import marshmallow as ma

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
from saltcalc.words.reader import reader, tell_to

READ = "read"
"""Where the requests of a batch keep what they may share, as it was read."""

_ALONE = (Mapping, str, int, float)
"""What stands for a list of one."""


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

    shared: ClassVar[bool] = False
    """Whether many requests of a batch are likely to hold the same: it is read once then."""

    def on_bind_field(self, field_name: str, field_obj: ma.fields.Field[Any]) -> None:
        """Describe a list, and a field that is another schema by what that says of itself."""
        meaning = _LISTS.get(field_name, {})
        if isinstance(field_obj, ma.fields.Nested):
            meaning = {"description": said_of(type(field_obj.schema))}
        field_obj.metadata = meaning | dict(field_obj.metadata)

    def load(self, data: Any, *, unknown: Any = None, **_: Any) -> Any:
        """Read what was sent; fields that are not sent are passed over.

        What the requests of a batch share is the same object in all of them, so that nobody may
        change it.
        """
        known = flask.g.get(READ) if self.shared else None
        if known is None:
            return super().load(data, unknown=unknown, partial=self._optional)
        sent = (type(self), reader().language, flask.g.get("names_in"), repr(data))
        if sent not in known:
            known[sent] = super().load(data, unknown=unknown, partial=self._optional)
        return known[sent]

    @cached_property
    def _optional(self) -> _Names:
        """Names of the fields that may be missing without more ado."""
        return _Names(
            name
            for name, field in self.load_fields.items()
            if not field.required and field.load_default is ma.missing
        )

    @ma.pre_load
    def _as_meant(self, given: Any, **_: Any) -> Any:
        """Take a bare figure for its field, one object for a list of one, and blanks for none."""
        if self.alone and isinstance(given, str | int | float) and not isinstance(given, bool):
            given = {self.alone: given}
        if not isinstance(given, Mapping):
            return given
        kept: dict[str, Any] = {}
        left_out: dict[str, Any] = {}
        for sent, value in given.items():
            field_of = self.also.get(sent)
            name = sent if field_of is None or field_of in given else field_of
            field = self.fields.get(name)
            if field is not None and is_not_given(field, value):
                left_out[name] = ", ".join(map(str, value)) if isinstance(value, list) else value
            elif (
                isinstance(field, BoundedList)
                and isinstance(value, _ALONE)
                and not isinstance(value, bool)
            ):
                of = field.inner
                if isinstance(of, Choice) and isinstance(value, str):
                    kept[name] = of.several(value)
                else:
                    kept[name] = [value]
            else:
                kept[name] = value
        flask.g.setdefault("left_out", []).append(left_out)
        return kept

    @ma.post_load
    def _say_what_was_left_out(self, loaded: dict[str, Any], **_: Any) -> dict[str, Any]:
        left_out = flask.g.left_out.pop()
        told = {
            f"{name}{LEFT_OUT}": Named("", value, say("unit.taken_as_not_given", text=value))
            for name, value in left_out.items()
            if isinstance(value, str) and value.strip()
        }
        return loaded | told


def _base(language: str) -> str:
    return language.split("-", maxsplit=1)[0]


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
        "Language in which crops are named, as a BCP 47 tag; any of them if left out. The answer "
        f"comes in it where there are sentences ({', '.join(languages())}), else in English.",
        of="language",
    )

    @ma.pre_load
    def _name_in_language(self, request: Any, **_: Any) -> Any:
        """Let the names of crops be looked up in the language, and faults be told in it."""
        language = request.get("language") if isinstance(request, Mapping) else None
        if isinstance(language, str):
            named = meaning("language", language, (), {}).id
            if named:
                request, language = {**request, "language": named}, named
            tell_to(spoken(language))
        known = isinstance(language, str) and _base(language) in SPOKEN
        flask.g.names_in = language if known else None
        return request

    @ma.post_load
    def _answer_in_english(self, request: dict[str, Any], **_: Any) -> dict[str, Any]:
        language = request.get("language")
        if language is None or spoken(language) == _base(language):
            return request
        reading = say("names.answered_in_english")
        return request | {"language": Named(language, language, reading)}


class ComputedSchema(SampledSchema, LanguageSchema):
    """What every request for a computation takes beside its figures."""
