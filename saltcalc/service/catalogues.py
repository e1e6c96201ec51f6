"""Look-up of ids in the tables, for the fields of requests."""

from __future__ import annotations

import flask
from rapidfuzz import process

from saltcalc.data.crops import Catalogue, Crop, UnknownCropError, catalogue
from saltcalc.data.substrates import substrates
from saltcalc.service.fields import UnknownIdError


def crop_catalogue() -> Catalogue:
    """Return the crops that the running service knows, the grower's own among them."""
    return catalogue(flask.current_app.config["LOCAL_CROPS"])


def crop_id(text: str) -> str:
    """Return the id of the crop with this id, common name, synonym or botanical name.

    Raises
    ------
    UnknownIdError
        With the ids of crops of a like name.
    """
    try:
        return crop_catalogue().find(text).id
    except UnknownCropError as error:
        raise UnknownIdError(error.near) from error


def substrate_id(text: str) -> str:
    """Return the id of a medium.

    Raises
    ------
    UnknownIdError
        With the ids of media of a like name.
    """
    if text in substrates():
        return text
    near = process.extract(text.lower(), list(substrates()), limit=3, score_cutoff=60)
    raise UnknownIdError(name for name, _, _ in near)


def crop_rows() -> tuple[Crop, ...]:
    """Return the crops in the order of their codes."""
    return tuple(crop_catalogue().crops.values())
