"""The page of a trial: several media with their reports, and how the same crops fared in each."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence, Set
from functools import partial
from typing import Any

import flask
import marshmallow as ma

from saltcalc.case.trial import DIED_AT, MOISTURE, OUTCOMES
from saltcalc.case.vocabulary import DRAINAGE, STAGES
from saltcalc.data.name_forms import plain
from saltcalc.data.nutrients import MICRONUTRIENTS
from saltcalc.data.observations import observations
from saltcalc.data.reported_ions import reported_ions
from saltcalc.parts.answer import Wanted
from saltcalc.service.body import in_words
from saltcalc.service.pages.form import (
    EC_UNITS,
    LENGTH_UNITS,
    UNIT,
    VOLUME_UNITS,
    Entry,
    Typed,
    all_entries,
    chosen_of,
    crop_entry,
    entry_besides,
    first_of,
    is_place,
    label_of,
    nested,
    several_of,
    usual,
    with_unit,
)
from saltcalc.service.pages.form import entries as all_by_part
from saltcalc.service.pages.numbered import numbered
from saltcalc.service.pages.trial_table import METHOD, filled_by
from saltcalc.service.pages.view import crop_names, faults_beside, page_words, shown_of_trial
from saltcalc.service.resources.assessments import compared
from saltcalc.service.schemas.requests import ComparisonRequestSchema
from saltcalc.words.catalogue import sentence
from saltcalc.words.figures import upper_first

CROPS, FIRST_MEDIA, MOST_MEDIA = 3, 3, 50
NUTRIENTS = ("nitrate_n", "ammonium_n", "potassium", "sodium", "chloride")
NUTRIENT_UNITS = ("mg/L", "mmol/L")
MOST_WHOLE = 20
"""Media up to which the form has every figure of a report."""
COUNT, MORE = "media", "more"
"""Names the entries that tell how many media the form has, and that it is to have one more."""
TABLE, FILL = "table", "fill"
"""Names the entry that takes a table, and that it is to fill the form."""
_SIGN = re.compile(r"\b[a-z]+(?:_[a-z]+)+\b")
_EC_UNIT, _NUTRIENT_UNIT = "ec", "nutrients"


def trial_page(typed: Typed) -> tuple[str, int]:
    """Return the form of a trial, with the answer to it once it is sent, and its status.

    Parameters
    ----------
    typed : dict of str to list of str
        By the pointers of what it fills; empty for an empty form.
    """
    left: list[str] = []
    if FILL in typed:
        filled, left = filled_by("\n".join(typed.get(TABLE, [])), CROPS, MOST_MEDIA)
        typed = {**typed, **filled, MORE: []} if filled else {**typed, MORE: []}
    media = _count(typed)
    entries = _entries(typed, media)
    entries |= _besides(typed, media, _names_in(entries))
    shown: dict[str, Any] = {"faults": {}, "left": left}
    status = 200
    if typed and MORE not in typed:
        request, places = nested(_given(typed, media))
        for each in request.setdefault("media", []):
            if isinstance(each, dict):
                each.setdefault("medium", {})
        schema = ComparisonRequestSchema()
        try:
            loaded = schema.load(request)
        except ma.ValidationError as error:
            names = _names_in(entries)
            beside = faults_beside(error, schema, request, _crops_first(places), names)
            shown["faults"] = {name: list(map(_with_signs, each)) for name, each in beside.items()}
            _need_another(beside, shown["faults"], typed, media)
            status = 422
        else:
            sent = json.dumps(request).encode()
            answer = in_words(loaded, sent, lambda: compared(numbered(loaded), Wanted()))
            shown |= shown_of_trial(answer, loaded)
    page = flask.render_template(
        "trial.html",
        entries=entries,
        typed=typed,
        unit=UNIT,
        count=media,
        crops=_crops(typed),
        switched_by="/trial" if typed else "",
        crop_names=crop_names(),
        **page_words(),
        **shown,
    )
    return page, status


def _crops_first(places: Mapping[str, str]) -> dict[str, str]:
    """Return where members of lists stand, and before them the crops of outcomes: in their form."""
    of_outcomes = {
        f"{begin}/crop": f"/crops/{before.rpartition('/')[2]}/crop"
        for begin, before in places.items()
        if "/outcomes/" in begin
    }
    return of_outcomes | {**places}


def _need_another(beside: dict[str, Any], faults: dict[str, Any], typed: Typed, media: int) -> None:
    """Put the fault that fewer than two media are filled in beside the next one to fill."""
    filled = _filled(typed, media)
    if len(filled) > 1:
        return
    others = [fault for fault in beside.get("", []) if fault["pointer"] != "/media"]
    faults.pop("", None)
    if others:
        faults[""] = others
    empty = next(place for place in range(media) if place not in filled)
    told = {"pointer": "/media", "detail": sentence("page.trial.one_more_medium")}
    faults.setdefault(f"/media/{empty}/medium/ec", []).append(told)


def _filled(typed: Typed, media: int) -> list[int]:
    """Return the media of which something was typed."""
    return [
        place
        for place in range(media)
        if any(
            any(values)
            for name, values in typed.items()
            if name.startswith(f"/media/{place}/") and not name.endswith(UNIT)
        )
    ]


def _count(typed: Typed) -> int:
    text = first_of(typed, COUNT)
    count = int(text) if is_place(text) else FIRST_MEDIA
    return min(max(count, 2) + any(typed.get(MORE, ())), MOST_MEDIA)


def _crops(typed: Typed) -> list[int]:
    """Return the crops that each medium is asked about: those that were told of, else all."""
    told = [
        crop
        for crop in range(CROPS)
        if first_of(typed, f"/crops/{crop}/crop")
        or any(any(values) for name, values in typed.items() if f"/outcomes/{crop}/" in name)
    ]
    return told or list(range(CROPS))


def _entries(typed: Typed, media: int) -> dict[str, tuple[Entry, ...]]:
    """Return the entries of the form by the part of it that they stand in.

    Of many media only those of the further figures are there that were told, as by a table, so
    that what a browser sends stays within what is read.
    """
    method = next(each for each in all_entries() if each.name == "/medium/extraction")
    parts: dict[str, tuple[Entry, ...]] = {
        "crops": tuple(each for place in range(CROPS) for each in _crop(place)),
        "design": (
            Entry("/containers/0/volume", label_of("volume"), units=usual(VOLUME_UNITS)),
            Entry("/containers/0/height", label_of("height"), units=usual(LENGTH_UNITS)),
            Entry("/containers/0/drainage", label_of("drainage"), _optional("drainage", DRAINAGE)),
            Entry("/trial/weeks", label_of("weeks")),
            Entry("/trial/moisture", label_of("moisture"), _optional("moisture", MOISTURE)),
        ),
        "reports": (
            Entry(METHOD, method.label, method.choices),
            Entry(_EC_UNIT, label_of("ec_unit"), tuple((each, each) for each in EC_UNITS)),
            Entry(
                _NUTRIENT_UNIT,
                label_of("nutrient_unit"),
                tuple((each, each) for each in NUTRIENT_UNITS),
            ),
        ),
    }
    parts["water"] = all_by_part()["water"]
    of_media = {f"medium {place}": tuple(_medium(place)) for place in range(media)}
    more = {
        f"more {place}": tuple(
            each for each in _more(place) if media <= MOST_WHOLE or first_of(typed, each.name)
        )
        for place in range(media)
    }
    return parts | of_media | more


def _names_in(entries: Mapping[str, Sequence[Entry]]) -> set[str]:
    return {each.name for part in entries.values() for each in part}


def _besides(typed: Typed, media: int, names: Set[str]) -> dict[str, tuple[Entry, ...]]:
    """Return the entries of what was told and has none else, by medium or of all of them."""
    found: dict[str, list[Entry]] = {}
    for name, values in typed.items():
        if not any(values) or name in names or name.endswith(UNIT) or not name.startswith("/"):
            continue
        _, whose, place, *_ = (*name.split("/"), "")
        of_one = whose == "media" and is_place(place)
        if not of_one or int(place) < media:
            found.setdefault(f"besides {place}" if of_one else "besides", []).append(
                entry_besides(name)
            )
    return {part: tuple(each) for part, each in found.items()}


def _optional(kind: str, ids: tuple[str, ...]) -> tuple[tuple[str, str], ...]:
    return (("", "–"), *chosen_of(kind, ids))


def _crop(place: int) -> Iterator[Entry]:
    yield crop_entry(place, sentence("page.trial.crop", number=place + 1))
    yield Entry(f"/crops/{place}/stage", label_of("stage"), _optional("stage", STAGES))
    yield Entry(f"/crops/{place}/plants", label_of("plants"))


def _medium(place: int) -> Iterator[Entry]:
    at = f"/media/{place}"
    yield Entry(f"{at}/name", label_of("medium_name"))
    for crop in range(CROPS):
        fared = f"{at}/outcomes/{crop}"
        yield Entry(f"{fared}/outcome", label_of("outcome"), _optional("outcome", OUTCOMES))
        yield Entry(f"{fared}/from_week", label_of("from_week"))
        yield Entry(f"{fared}/died_at", label_of("died_at"), _optional("died_at", DIED_AT))
    yield Entry(f"{at}/medium/ec", label_of("ec"))
    yield Entry(f"{at}/medium/ph", label_of("ph"))
    yield Entry(f"{at}/medium/mineral_n", label_of("mineral_n"))
    for ion in NUTRIENTS:
        name = upper_first(sentence(f"reported_ions.name.{ion}"))
        yield Entry(f"{at}/medium/ions/{ion}", name)
    yield Entry(f"{at}/observations", label_of("seen"), hint=sentence("page.hint.seen"))


def _more(place: int) -> Iterator[Entry]:
    """Yield what a report of one medium has beside the figures that each has: its own method too.

    Its figures are in the units of the others, so that fifty media do not make a heavy page.
    """
    at, parts = f"/media/{place}", all_by_part()
    told = {f"{at}/medium/ph", *(f"{at}/medium/ions/{ion}" for ion in NUTRIENTS)}
    for each in (*parts["method"], *parts["mix"], *parts["laboratory"]):
        if at + each.name not in told:
            units = () if "/ions/" in each.name else each.units
            choices = (("", "–"), *each.choices[1:]) if each.choices else ()
            yield each._replace(name=at + each.name, units=units, choices=choices)
    for element in MICRONUTRIENTS:
        if element not in reported_ions():
            yield entry_besides(f"{at}/medium/micronutrients/{element}")


def _with_signs(fault: dict[str, str]) -> dict[str, str]:
    """Return a fault in which signs stand by their names, as the page takes them."""
    names = {each: sentence(f"observations.name.{each}") for each in observations()}
    return {
        told: _SIGN.sub(lambda found: names.get(found[0], found[0]), text) if text else text
        for told, text in fault.items()
    }


def signs_of(text: str) -> Iterator[str]:
    """Yield the signs that were typed with commas between: their ids where the page has their name.

    A few words of a name are enough, where no other name has them all.
    """
    names = {plain(sentence(f"observations.name.{each}")): each for each in observations()}
    for written in several_of([text]) if plain(text) not in names else [text]:
        told = plain(written)
        found = [sign for name, sign in names.items() if {*told.split()} <= {*name.split()}]
        yield names.get(told) or (found[0] if len(found) == 1 else written)


def _given(typed: Typed, media: int) -> Iterator[tuple[str, Any]]:
    """Yield what was typed, by its pointer; each outcome with the crop whose it is."""
    first = partial(first_of, typed)
    units = {
        "ec": first(_EC_UNIT),
        **dict.fromkeys(("mineral_n", *reported_ions(), *MICRONUTRIENTS), first(_NUTRIENT_UNIT)),
    }
    filled = _filled(typed, media)
    if language := typed.get("language", [""])[-1]:
        yield "/language", language
    for name in typed:
        text, steps = first(name), name.strip("/").split("/")
        if not text or not name.startswith("/") or name.endswith(UNIT):
            continue
        if steps[-1] == "observations":
            yield name, list(signs_of(text))
        else:
            yield name, with_unit(text, first(name + UNIT) or units.get(steps[-1], ""))
    for place in filled:
        extraction = f"/media/{place}/medium/extraction"
        if (method := first(METHOD)) and not first(extraction):
            yield extraction, method
        for crop in range(CROPS):
            fared = f"/media/{place}/outcomes/{crop}"
            if any(first(f"{fared}/{each}") for each in ("outcome", "from_week", "died_at")):
                yield f"{fared}/crop", first(f"/crops/{crop}/crop")
