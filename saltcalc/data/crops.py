"""Which crop stands how much salt, chloride and boron: the crop tables, joined by crop id."""

from __future__ import annotations

import unicodedata
from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from math import inf, isnan, nan
from pathlib import Path
from typing import Any, TypeVar

import marshmallow as ma
from rapidfuzz import fuzz, process, utils

from saltcalc.data.sources import Source, SourcedSchema, bibliography
from saltcalc.data.tables import DATA_DIR, TableError, read_table

GROUPS = ("vegetable", "herb", "fruit", "field", "forage", "ornamental")
RATINGS = ("S", "MS", "MT", "T")
BORON_RATINGS = ("VS", "S", "MS", "MT", "T", "VT")
NEAR_ENOUGH = 75.0  # rapidfuzz score from which a name counts as a near match


@dataclass(frozen=True, kw_only=True)
class Figure:
    """Where a row comes from: source key, whether it was read or remembered, and a remark."""

    source: str
    provenance: str
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Emergence(Figure):
    """Saturated-extract EC [dS/m] that halves emergence, and the one that halves yield."""

    ec50_emergence_low: float
    ec50_emergence_high: float
    ec50_yield: float


@dataclass(frozen=True, kw_only=True)
class BoronLimit(Figure):
    """Boron in the soil water [mg/L]: the range without loss, and the loss above [% per mg/L].

    ``threshold_low`` is NaN where the source only says that the limit lies below
    ``threshold_high``.
    """

    variety: str
    threshold_low: float
    threshold_high: float
    slope: float
    rating: str


@dataclass(frozen=True, kw_only=True)
class ChlorideLimit(Figure):
    """Chloride in the saturated extract [mmol/L] without loss, and the loss above [% per mmol/L].

    For a rootstock or cultivar of a woody crop the limit is the most without leaf injury and has
    no slope (NaN).
    """

    variety: str
    threshold: float
    slope: float


@dataclass(frozen=True, kw_only=True)
class SodiumLimit(Figure):
    """Exchangeable sodium [%] up to which the crop grows well; infinite for a tolerant crop."""

    esp_limit: float


@dataclass(frozen=True, kw_only=True)
class FoliarLimit(Figure):
    """Sodium or chloride in water on the leaves [mmol_c/L] that burns them, as a range.

    ``sodium_or_chloride_low`` is 0 and ``sodium_or_chloride_high`` infinite where it is open.
    """

    sodium_or_chloride_low: float
    sodium_or_chloride_high: float


@dataclass(frozen=True, kw_only=True)
class StageCap(Figure):
    """The most saturated-extract EC [dS/m] advised for this crop at one stage (a range)."""

    stage: str
    ec_low: float
    ec_high: float


@dataclass(frozen=True, kw_only=True)
class SecondFigures(Figure):
    """What another source says of the same crop: threshold [dS/m], slope [% per dS/m], rating."""

    threshold: float
    slope: float
    rating: str


@dataclass(frozen=True, kw_only=True)
class Crop(Figure):
    """One crop and every published limit for it. NaN and "" mean that none is published.

    ``threshold`` [dS/m] and ``slope`` [% per dS/m] are on the saturated-extract EC;
    ``look_low`` and ``look_high`` [dS/m] bound the highest saturated-extract EC at which an
    ornamental still looks acceptable.
    """

    id: str
    name: str
    botanical: str = ""
    group: str
    synonyms: tuple[str, ...] = ()
    woody: bool = False
    basis: str = ""
    threshold: float = nan
    slope: float = nan
    rating: str = ""
    rating_estimated: bool = False
    look_low: float = nan
    look_high: float = nan
    local_source: Source | None = None
    emergence: Emergence | None = None
    boron: tuple[BoronLimit, ...] = ()
    chloride: tuple[ChlorideLimit, ...] = ()
    sodium: SodiumLimit | None = None
    foliar: FoliarLimit | None = None
    stage_caps: tuple[StageCap, ...] = ()
    second_figures: tuple[SecondFigures, ...] = ()

    @property
    def local(self) -> bool:
        """Whether the row is the grower's own."""
        return self.local_source is not None

    @property
    def source_keys(self) -> tuple[str, ...]:
        """Every source key behind this crop, each once, the crop's own row first."""
        figures: tuple[Figure, ...] = (
            self,
            *(figure for figure in (self.emergence, self.sodium, self.foliar) if figure),
            *self.boron,
            *self.chloride,
            *self.stage_caps,
            *self.second_figures,
        )
        return tuple(dict.fromkeys(figure.source for figure in figures))


_FigureKind = TypeVar("_FigureKind", bound=Figure)


class UnknownCropError(LookupError):
    """No crop, or more than one, has this name; ``near`` holds the ids of what may be meant."""

    def __init__(self, name: str, near: tuple[str, ...]) -> None:
        super().__init__(f"no single crop is named {name!r}")
        self.name = name
        self.near = near


def _number(default: float = nan) -> ma.fields.Float:
    return ma.fields.Float(
        load_default=default, validate=_not_negative, error_messages={"invalid": "not a number"}
    )


def _text(**options: Any) -> ma.fields.String:
    return ma.fields.String(load_default="", **options)


def _not_negative(value: float) -> None:
    if value < 0:
        raise ma.ValidationError("must not be negative")


class _CropSchema(SourcedSchema):
    id = ma.fields.String(required=True, validate=ma.validate.Regexp(r"^[a-z0-9]+(_[a-z0-9]+)*$"))
    name = ma.fields.String(required=True)
    botanical = _text()
    group = ma.fields.String(required=True, validate=ma.validate.OneOf(GROUPS))
    synonyms = _text()
    woody = ma.fields.Boolean(load_default=False)
    basis = _text(validate=ma.validate.OneOf(["yield", "growth"]))
    threshold = _number()
    slope = _number()
    rating = _text(validate=ma.validate.OneOf(RATINGS))
    rating_estimated = ma.fields.Boolean(load_default=False)
    look_low = _number()
    look_high = _number()

    def __init__(self, taken: Collection[str] = ()) -> None:
        super().__init__()
        self._taken = set(taken)

    @ma.validates("id")
    def _id_is_free(self, value: str, **_: Any) -> None:
        if value in self._taken:
            raise ma.ValidationError(f"crop {value!r} stands in the table already")
        self._taken.add(value)

    @ma.validates_schema
    def _threshold_and_slope_together(self, row: Mapping[str, Any], **_: Any) -> None:
        threshold, slope = row.get("threshold"), row.get("slope")
        if _is_given(threshold) != _is_given(slope):
            raise ma.ValidationError("threshold and slope go together", "slope")
        if slope == 0:
            raise ma.ValidationError("must be above zero", "slope")


class _LocalCropSchema(_CropSchema):
    """A grower's own row: ``source`` may be a bibliography key or any words."""

    source = ma.fields.String(required=True)


class _JoinedSchema(SourcedSchema):
    crops = ma.fields.String(required=True)


class _EmergenceSchema(_JoinedSchema):
    ec50_emergence_low = _number()
    ec50_emergence_high = _number()
    ec50_yield = _number()


class _BoronSchema(_JoinedSchema):
    variety = _text()
    threshold_low = _number()
    threshold_high = _number()
    slope = _number()
    rating = _text(validate=ma.validate.OneOf(BORON_RATINGS))


class _ChlorideSchema(_JoinedSchema):
    variety = _text()
    threshold = _number()
    slope = _number()


class _SodiumSchema(_JoinedSchema):
    esp_limit = _number(default=inf)


class _FoliarSchema(_JoinedSchema):
    sodium_or_chloride_low = _number(default=0.0)
    sodium_or_chloride_high = _number(default=inf)


class _StageCapSchema(_JoinedSchema):
    stage = ma.fields.String(
        required=True, validate=ma.validate.OneOf(["germination", "seedling", "established"])
    )
    ec_low = _number()
    ec_high = _number()


class _SecondFiguresSchema(SourcedSchema):
    crop = ma.fields.String(required=True)
    threshold = _number()
    slope = _number()
    rating = _text(validate=ma.validate.OneOf(RATINGS))


def _is_given(value: float | None) -> bool:
    return value is not None and not isnan(value)


def _joined(
    table: str, schema: SourcedSchema, kind: type[_FigureKind]
) -> dict[str, list[_FigureKind]]:
    """Read a table whose ``crops`` column names one or more crop ids a row."""
    rows: dict[str, list[_FigureKind]] = defaultdict(list)
    for row in read_table(DATA_DIR / table, schema):
        ids = row.pop("crops", None) or row.pop("crop")
        for crop_id in ids.split(";"):
            rows[crop_id.strip()].append(kind(**row))
    return rows


def _only(rows: Mapping[str, list[_FigureKind]], crop_id: str) -> _FigureKind | None:
    """Return the one row of a crop, or none."""
    found = rows.get(crop_id, [])
    if len(found) > 1:
        raise TableError(f"{crop_id!r} stands twice in a table that has one row a crop")
    return found[0] if found else None


def _single(word: str) -> str:
    """Take the plural ending off an English word, roughly, and alike for every name compared."""
    if word.endswith(("oes", "ches", "shes")):
        return word[:-2]
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    if word.endswith("s") and not word.endswith(("ss", "us", "is")):
        return word[:-1]
    return word


def _key(text: str) -> str:
    """Return a name without case, accents, punctuation and plural endings, for comparison."""
    plain = "".join(
        letter
        for letter in unicodedata.normalize("NFKD", text)
        if not unicodedata.combining(letter)
    )
    return " ".join(_single(word) for word in utils.default_process(plain.casefold()).split())


def _names(crop: Crop) -> Iterator[str]:
    yield crop.id
    yield crop.name
    yield from crop.synonyms


def _likeness(name: str, key: str) -> float:
    """Score two names [0 to 100], a like whole name before a like word within a name."""
    words = (0.9 * fuzz.ratio(name, word) for word in key.split())
    return max([fuzz.ratio(name, key), *words])


@dataclass(frozen=True)
class Catalogue:
    """Every crop by id, in table order, with the local ones last."""

    crops: Mapping[str, Crop]

    def __post_init__(self) -> None:
        """Index the crops by name; two crops of one name are an error in the tables."""
        by_name: dict[str, str] = {}
        by_botanical: dict[str, list[str]] = defaultdict(list)
        for crop in self.crops.values():
            for name in _names(crop):
                holder = by_name.setdefault(_key(name), crop.id)
                if holder != crop.id:
                    raise TableError(f"{name!r} names both {holder!r} and {crop.id!r}")
            if crop.botanical:
                by_botanical[_key(crop.botanical)].append(crop.id)
        object.__setattr__(self, "_by_name", by_name)
        object.__setattr__(self, "_by_botanical", dict(by_botanical))

    _by_name: Mapping[str, str] = field(init=False, repr=False)
    _by_botanical: Mapping[str, list[str]] = field(init=False, repr=False)

    def find(self, name: str) -> Crop:
        """Return the one crop with this id, common name, synonym or botanical name.

        Case, accents, punctuation and plural endings do not matter.

        Parameters
        ----------
        name : str
            What the grower calls it.

        Raises
        ------
        UnknownCropError
            If no crop, or more than one (a botanical name shared by several crops), is meant.
        """
        key = _key(name)
        if key in self._by_name:
            return self.crops[self._by_name[key]]
        shared = self._by_botanical.get(key, [])
        if len(shared) == 1:
            return self.crops[shared[0]]
        near = tuple(shared) or tuple(crop.id for crop in self.near(name))
        raise UnknownCropError(name, near)

    def near(self, name: str, limit: int = 5) -> list[Crop]:
        """Return up to ``limit`` crops with a name like this one, best first."""
        ids_by_key = {key: [crop_id] for key, crop_id in self._by_name.items()}
        for key, ids in self._by_botanical.items():
            ids_by_key.setdefault(key, ids)
        matches = process.extract(
            _key(name), ids_by_key.keys(), scorer=fuzz.WRatio, score_cutoff=NEAR_ENOUGH, limit=None
        )
        keys = sorted((key for key, _, _ in matches), key=lambda key: -_likeness(_key(name), key))
        found = dict.fromkeys(crop_id for key in keys for crop_id in ids_by_key[key])
        return [self.crops[crop_id] for crop_id in list(found)[:limit]]

    def select(self, name: str = "", group: str = "", rating: str = "") -> list[Crop]:
        """Return the crops that fit every filter given, in table order.

        Parameters
        ----------
        name : str, optional
            Part of an id, common name, synonym or botanical name.
        group : str, optional
            One of `GROUPS`.
        rating : str, optional
            One of `RATINGS`.
        """
        part = _key(name)
        return [
            crop
            for crop in self.crops.values()
            if (not group or crop.group == group)
            and (not rating or crop.rating == rating)
            and (not part or any(part in _key(text) for text in (*_names(crop), crop.botanical)))
        ]


def _crop(row: dict[str, Any], **joined: Any) -> Crop:
    synonyms = tuple(text.strip() for text in row.pop("synonyms").split(";") if text.strip())
    return Crop(**row, synonyms=synonyms, **joined)


def _published_crops() -> dict[str, Crop]:
    emergence = _joined("crop_emergence.csv", _EmergenceSchema(), Emergence)
    boron = _joined("crop_boron.csv", _BoronSchema(), BoronLimit)
    chloride = _joined("crop_chloride.csv", _ChlorideSchema(), ChlorideLimit)
    sodium = _joined("crop_sodium.csv", _SodiumSchema(), SodiumLimit)
    foliar = _joined("crop_foliar.csv", _FoliarSchema(), FoliarLimit)
    caps = _joined("crop_stage_limits.csv", _StageCapSchema(), StageCap)
    second = _joined("crop_second_figures.csv", _SecondFiguresSchema(), SecondFigures)
    crops = {
        row["id"]: _crop(
            row,
            emergence=_only(emergence, row["id"]),
            sodium=_only(sodium, row["id"]),
            foliar=_only(foliar, row["id"]),
            boron=tuple(boron.get(row["id"], ())),
            chloride=tuple(chloride.get(row["id"], ())),
            stage_caps=tuple(caps.get(row["id"], ())),
            second_figures=tuple(second.get(row["id"], ())),
        )
        for row in read_table(DATA_DIR / "crops.csv", _CropSchema())
    }
    for joined in (emergence, boron, chloride, sodium, foliar, caps, second):
        if strangers := joined.keys() - crops.keys():
            raise TableError(f"not in crops.csv: {', '.join(sorted(strangers))}")
    return crops


@cache
def catalogue(local: Path | None = None) -> Catalogue:
    """Return the crop catalogue, with a grower's own crops where a CSV is named.

    Parameters
    ----------
    local : Path, optional
        A CSV with the columns of ``crops.csv``; ``id``, ``name``, ``group``, ``source`` and
        ``provenance`` are needed, the others may be left out. ``source`` is a bibliography key
        or any words.

    Raises
    ------
    TableError
        Naming the file, the line and the column that does not fit.
    """
    crops = _published_crops()
    if local is not None:
        for row in read_table(local, _LocalCropSchema(taken=crops)):
            source = bibliography().get(row["source"]) or Source(
                f"local-{row['id'].replace('_', '-')}", row["source"], "local", ""
            )
            row["source"] = source.key
            crops[row["id"]] = _crop(row, local_source=source)
    return Catalogue(crops)
