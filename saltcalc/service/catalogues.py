"""Look-up of ids in the tables, for the fields of requests."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator
from functools import cache
from itertools import chain

import flask

from saltcalc.case.inputs import Named
from saltcalc.case.intake import Request, batch_of, ends_of
from saltcalc.data.crop_lookup import MOST_NEAR, find, without_figures
from saltcalc.data.crops import Catalogue, catalogue
from saltcalc.data.extraction import extraction_methods
from saltcalc.data.name_forms import plain
from saltcalc.data.nutrients import own_ranges
from saltcalc.data.observations import observations
from saltcalc.data.substrates import substrates
from saltcalc.data.trade_names import meaning
from saltcalc.message import Title, say
from saltcalc.parts.assessment import Assessment, assess
from saltcalc.service.fields import UnknownIdError
from saltcalc.words.catalogue import languages, names_told, words
from saltcalc.words.reader import ENGLISH, reader


def crop_catalogue() -> Catalogue:
    """Return the crops that the running service knows, the grower's own among them."""
    return catalogue(flask.current_app.config["LOCAL_CROPS"])


def named_crop(text: str) -> Named:
    """Return the id of the crop that a name means, in the language of the request if it has one.

    A name that no table has is an id of its own, so that the crop is judged without a figure.

    Raises
    ------
    UnknownIdError
        If the name fits several crops, or names several.
    """
    known = crop_catalogue()
    found = find(text, flask.g.get("names_in"), known.local)
    if found.crop:
        return Named(found.crop, text, found.reason)
    if found.reason:
        by_language = found.reason.id == "names.senses"
        choose = [] if found.near or not found.crops else ["_or_language"] if by_language else [""]
        raise UnknownIdError(found.reason, *(say(f"names.choose{each}") for each in choose))
    return Named(_own_id(text), text, near=found.near)


def _own_id(text: str) -> str:
    """Return an id for a name that no table has: the same for each way of writing it alone.

    Where letters are beyond the Latin ones, whose forms are folded, they stand as they are.
    """
    if all(plain(each) for each in text if each.isalpha()) and (folded := plain(text)):
        return folded.replace(" ", "_")
    return "_".join(unicodedata.normalize("NFC", text).casefold().split())


@cache
def _substrate_labels(language: str) -> dict[str, str]:
    return {words(language).tell(f"substrates.name.{each}"): each for each in substrates()}


def named_substrate(text: str) -> Named:
    """Return the id of the medium that a name means.

    Raises
    ------
    UnknownIdError
        With the ids of media of a like name.
    """
    labels = _substrate_labels(ENGLISH) | _substrate_labels(reader().language)
    sense = meaning("substrate", text, substrates(), labels)
    if sense.id:
        return Named(sense.id, text, sense.told)
    if sense.told:
        raise UnknownIdError(say("problem.not_accepted", why=sense.told))
    near = [say("problem.near_matches", ids=list(sense.near))] if sense.near else []
    raise UnknownIdError(say("problem.unknown_id"), *near)


def method_labels() -> dict[str, str]:
    """Return the names of the extraction methods, whole and in parts, each with its id."""
    labels: dict[str, str] = {}
    for method in extraction_methods():
        whole = _title(f"extraction_methods.name.{method.id}")
        for name in (whole, *re.split(r" or |\(|\)|by volume", whole)):
            labels[name] = labels[name.replace("½", ".5")] = method.id
    return {label: method for label, method in labels.items() if label.strip()}


def sign_labels() -> dict[str, str]:
    """Return the names of the signs in every language, each with its id; English first."""
    labels: dict[str, str] = {}
    for language in languages():
        told = names_told("observations", language)
        for sign in observations():
            message = f"observations.name.{sign}"
            labels[Title(told[message], message)] = sign
    return labels


def _title(message: str) -> Title:
    return Title(words(ENGLISH).tell(message), message)


def assessment_of(*requests: Request, ends: tuple[str, ...] = ()) -> Assessment:
    """Assess loaded requests, each as a sample of one batch; see :func:`assess`."""
    known = crop_catalogue()
    others = {
        crop: without_figures(crop, crop.written, crop.near[:MOST_NEAR])
        for crop in crops_in(requests)
        if crop not in known.crops
    }
    rows = known.in_order.with_others(others.values()) if others else known.in_order
    return assess(
        batch_of(requests, [crop.id for crop in rows]),
        rows,
        ends=ends,
        own_ranges=own_ranges(flask.current_app.config["LOCAL_RANGES"]),
    )


def with_ends(request: Request) -> Assessment:
    """Assess a loaded request, and the same at the ends of what it leaves open."""
    ends = ends_of(request)
    return assessment_of(request, *chain(*ends.values()), ends=tuple(ends))


def crops_in(requests: Iterable[Request]) -> Iterator[Named]:
    """Yield the crops of requests."""
    for request in requests:
        yield from (planting["crop"] for planting in request.get("crops", ()))
        yield from request.get("thriving_crops", ())
