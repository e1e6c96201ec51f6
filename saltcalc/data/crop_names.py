"""What crops are called, and the crops that growers name and no tolerance table has."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, NamedTuple

from saltcalc.data.crops import GROUPS, catalogue
from saltcalc.data.sources import bibliography
from saltcalc.data.tables import PROVENANCES, Provenance, TableError, check_cells, keyed, read_cells
from saltcalc.message import Title

LANGUAGES = {
    "en": "English",
    "de": "German",
    "fr": "French",
    "es": "Spanish",
    "it": "Italian",
    "nl": "Dutch",
    "la": "botanical Latin",
}
REGIONS = {"en-GB": "British English", "en-US": "American English"}
NAME_KINDS = ("common", "variety", "botanical", "ambiguous")
WORD_USES = ("plant", "tree", "kind", "link", "other")
SALT_NOTES = ("", "sensitive", "tolerant")


class CropName(NamedTuple):
    """One name of one crop.

    ``language`` is one of `LANGUAGES`, or of `REGIONS` where only part of the speakers say so.
    ``kind`` is ``common``, ``variety`` (the name of a kind of it), ``botanical``, or ``ambiguous``
    where the same word names another crop in the same language; ``note`` may say who means which.
    """

    crop: str
    name: str
    language: str
    kind: str
    source: str
    provenance: str
    note: str


@dataclass(frozen=True, slots=True)
class OtherCrop:
    """A crop that growers name and for which no tolerance figure is published here.

    ``group`` is one of the groups of `saltcalc.data.crops`. ``salt`` is ``sensitive``,
    ``tolerant`` or "" (nothing known). ``acid_loving`` plants suffer from lime.
    """

    id: str
    name: str
    botanical: str
    group: str
    woody: bool
    acid_loving: bool
    salt: str
    source: str
    provenance: Provenance
    note: str


@dataclass(frozen=True, slots=True)
class NameWord:
    """A word beside a crop's name that says how it is grown or looks, not which crop it is.

    ``use`` is ``plant`` (seedling), ``tree`` (only of woody crops), ``kind`` (early, red),
    ``link`` (of, de), or ``other``: a word that makes another plant of the name (wild, mock).
    """

    word: str
    language: str
    use: str


def _columns(record: type) -> tuple[str, ...]:
    return tuple(record.__annotations__)


@cache
def other_crops() -> Mapping[str, OtherCrop]:
    """Return the crops without a figure by id.

    Raises
    ------
    TableError
        If a row does not fit, or an id occurs twice or is that of a crop with figures.
    """
    table, header = "other_crops.csv", _columns(OtherCrop)
    yes_no = {"yes": True, "no": False}
    rows = read_cells(table, header)
    check_cells(
        table,
        header,
        rows,
        {
            "group": GROUPS,
            "woody": yes_no,
            "acid_loving": yes_no,
            "salt": SALT_NOTES,
            "source": bibliography(),
            "provenance": PROVENANCES,
        },
    )
    crops = []
    for cells in rows:
        row: dict[str, Any] = dict(zip(header, cells, strict=True))
        for flag in ("woody", "acid_loving"):
            row[flag] = yes_no[row[flag]]
        row["name"] = Title(row["name"], f"crop.{row['id']}")
        crops.append(OtherCrop(**row))
    if twice := [crop.id for crop in crops if crop.id in catalogue().crops]:
        raise TableError(f"{table}: crops.csv has {', '.join(twice)}")
    return keyed(table, crops, lambda crop: crop.id)


@cache
def crop_names() -> tuple[CropName, ...]:
    """Return every name of every crop, in the order of the tables.

    Raises
    ------
    TableError
        If a row does not fit or names a crop that no table has.
    """
    table, header = "crop_names.csv", CropName._fields
    rows = read_cells(table, header)
    check_cells(
        table,
        header,
        rows,
        {
            "crop": {*catalogue().crops, *other_crops()},
            "language": {*LANGUAGES, *REGIONS},
            "kind": NAME_KINDS,
            "source": bibliography(),
            "provenance": PROVENANCES,
        },
    )
    return tuple(map(CropName._make, rows))


@cache
def name_words() -> tuple[NameWord, ...]:
    """Return the words that stand beside a crop's name without changing the crop.

    Raises
    ------
    TableError
        If a row does not fit.
    """
    table, header = "crop_name_words.csv", _columns(NameWord)
    rows = read_cells(table, header)
    check_cells(table, header, rows, {"language": LANGUAGES, "use": WORD_USES})
    return tuple(NameWord(*row) for row in rows)
