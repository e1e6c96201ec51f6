"""Look-up of ids in the tables, for the fields of requests."""

from __future__ import annotations

import re

import flask
from rapidfuzz import process

from saltcalc.case.intake import Request, batch_of
from saltcalc.data.crops import Catalogue, Crop, UnknownCropError, catalogue
from saltcalc.data.extraction import extraction_methods
from saltcalc.data.substrates import substrates
from saltcalc.parts.assessment import Assessment, assess
from saltcalc.service.fields import UnknownIdError
from saltcalc.service.names import meant
from saltcalc.words.catalogue import sentence


def crop_catalogue() -> Catalogue:
    """Return the crops that the running service knows, the grower's own among them."""
    return catalogue(flask.current_app.config["LOCAL_CROPS"])


def crop_id(text: str) -> str:
    """Return the id of the crop with this id, common name, synonym or botanical name.

    Raises
    ------
    UnknownIdError
        With the ids of the crops that share the name, or of crops of a like name.
    """
    try:
        return crop_catalogue().find(text).id
    except UnknownCropError as error:
        raise UnknownIdError(error.near, shared=error.shared) from error


def substrate_id(text: str) -> str:
    """Return the id of a medium.

    Raises
    ------
    UnknownIdError
        With the ids of media of a like name.
    """
    names = {sentence(f"substrates.name.{each}"): each for each in substrates()}
    if known := meant(text, substrates(), names):
        return known
    near = process.extract(text.lower(), list(substrates()), limit=3, score_cutoff=60)
    raise UnknownIdError(name for name, _, _ in near)


def method_labels() -> dict[str, str]:
    """Return the names of the extraction methods, whole and in parts, each with its id."""
    labels: dict[str, str] = {}
    for method in extraction_methods():
        whole = sentence(f"extraction_methods.name.{method.id}")
        for name in (whole, *re.split(r" or |\(|\)|by volume", whole)):
            labels[name] = labels[name.replace("½", ".5")] = method.id
    return {label: method for label, method in labels.items() if label.strip()}


def assessment_of(*requests: Request) -> Assessment:
    """Assess loaded requests, each as a sample of one batch."""
    catalogue = crop_rows()
    return assess(batch_of(requests, [crop.id for crop in catalogue]), catalogue)


def crop_rows() -> tuple[Crop, ...]:
    """Return the crops in the order of their codes."""
    return tuple(crop_catalogue().crops.values())
