"""Which crop tolerates how much salt, chloride and boron: the crop tables, joined by crop id."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cache, cached_property
from math import inf, isnan, nan
from pathlib import Path
from typing import Any, Literal, TypeVar

import marshmallow as ma

from saltcalc.data.name_forms import plain
from saltcalc.data.sources import Noted, Source, Sourced, bibliography
from saltcalc.data.tables import TableError, column, read_keyed, read_table, words
from saltcalc.message import Title

GROUPS = ("vegetable", "herb", "fruit", "field", "forage", "ornamental")
RATINGS = ("S", "MS", "MT", "T")
BORON_RATINGS = ("VS", "S", "MS", "MT", "T", "VT")


def _not_negative(value: float) -> None:
    if value < 0:
        raise ma.ValidationError("must not be negative")


def _number(default: float = nan) -> Any:
    return column(default, validate=_not_negative, error_messages={"invalid": "not a number"})


def _rating(*ratings: str) -> Any:
    return column("", validate=ma.validate.OneOf(ratings))


@dataclass(frozen=True, kw_only=True)
class CropFigure(Noted):
    """What a table joined by crop id says of the crops it names."""

    crops: tuple[str, ...] = column(read=words(";"))


@dataclass(frozen=True, kw_only=True)
class Emergence(CropFigure):
    """Saturated-extract EC [dS/m] that halves emergence, and the one that halves yield."""

    ec50_emergence_low: float = _number()
    ec50_emergence_high: float = _number()
    ec50_yield: float = _number()


@dataclass(frozen=True, kw_only=True)
class BoronLimit(CropFigure):
    """Boron in the soil water [mg/L]: the range without loss, and the loss above [% per mg/L].

    ``threshold_low`` is NaN where the source only says that the limit lies below
    ``threshold_high``.
    """

    variety: str = ""
    threshold_low: float = _number()
    threshold_high: float = _number()
    slope: float = _number()
    rating: str = _rating(*BORON_RATINGS)


@dataclass(frozen=True, kw_only=True)
class ChlorideLimit(CropFigure):
    """Chloride in the saturated extract [mmol/L] without loss, and the loss above [% per mmol/L].

    For a rootstock or cultivar of a woody crop the limit is the most without leaf injury and has
    no slope (NaN).
    """

    variety: str = ""
    threshold: float = _number()
    slope: float = _number()


@dataclass(frozen=True, kw_only=True)
class SodiumLimit(CropFigure):
    """Exchangeable sodium [%] up to which the crop grows well; infinite for a tolerant crop."""

    esp_limit: float = _number(inf)


@dataclass(frozen=True, kw_only=True)
class FoliarLimit(CropFigure):
    """Sodium or chloride in water on the leaves [mmol_c/L] that burns them, as a range.

    ``sodium_or_chloride_low`` is 0 and ``sodium_or_chloride_high`` infinite where it is open.
    """

    sodium_or_chloride_low: float = _number(0.0)
    sodium_or_chloride_high: float = _number(inf)


@dataclass(frozen=True, kw_only=True)
class SubstrateResponse(CropFigure):
    """EC of the solution at the roots [dS/m] from which a crop fed in substrate lost yield.

    A range over the crops of the trials, with the loss above it [% per dS/m], also a range; NaN
    where the source gives no loss.
    """

    threshold_low: float = _number()
    threshold_high: float = _number()
    slope_low: float = _number()
    slope_high: float = _number()


@dataclass(frozen=True, kw_only=True)
class CropStageLimit(CropFigure):
    """The most saturated-extract EC [dS/m] advised for this crop at one stage (a range)."""

    stage: str = column(validate=ma.validate.OneOf(["germination", "seedling", "established"]))
    ec_low: float = _number()
    ec_high: float = _number()


@dataclass(frozen=True, kw_only=True)
class SecondFigures(CropFigure):
    """What another source says of the same crop: threshold [dS/m], slope [% per dS/m], rating."""

    crops: tuple[str, ...] = column(data_key="crop", read=words(";"))
    threshold: float = _number()
    slope: float = _number()
    rating: str = _rating(*RATINGS)


@dataclass(frozen=True, kw_only=True)
class SoilTemperature(Sourced):
    """Temperature of the soil [°C] that the seed of a crop asks for."""

    crop: str
    minimum: float
    """Least temperature for germination."""
    optimum_low: float
    """Lower end of the optimum range."""

    def check(self) -> None:
        """Refuse an optimum below the minimum."""
        if self.minimum > self.optimum_low:
            raise ma.ValidationError("the minimum lies above the optimum")


@dataclass(frozen=True, kw_only=True)
class CropRow(Noted):
    """One crop. NaN and "" mean that none is published.

    ``threshold`` [dS/m] and ``slope`` [% per dS/m] are on the saturated-extract EC;
    ``appearance_low`` and ``appearance_high`` [dS/m] bound the highest saturated-extract EC at
    which an ornamental still looks acceptable.
    """

    id: str = column(validate=ma.validate.Regexp(r"^[a-z0-9]+(_[a-z0-9]+)*$"))
    name: str
    botanical: str = ""
    group: str = column(validate=ma.validate.OneOf(GROUPS))
    synonyms: tuple[str, ...] = column((), read=words(";"))
    woody: bool = False
    basis: str = column("", validate=ma.validate.OneOf(["yield", "growth"]))
    threshold: float = _number()
    slope: float = _number()
    rating: str = _rating(*RATINGS)
    rating_estimated: bool = False
    appearance_low: float = _number()
    appearance_high: float = _number()

    def check(self) -> None:
        """Refuse a threshold without a slope, a slope without a threshold, and a slope of zero."""
        if isnan(self.threshold) != isnan(self.slope):
            raise ma.ValidationError("threshold and slope go together", "slope")
        if self.slope == 0:
            raise ma.ValidationError("must be above zero", "slope")


@dataclass(frozen=True, kw_only=True)
class LocalCropRow(CropRow):
    """A grower's own row: ``source`` may be a bibliography key or any words, or left out."""

    source: str = column("own trial")
    provenance: Literal["seen", "memory", "common_practice", "own_trial"] = "own_trial"


@dataclass(frozen=True, kw_only=True)
class Crop(CropRow):
    """One crop and every published limit for it."""

    local_source: Source | None = None
    listed: bool = True
    """Whether the tolerance tables, or a grower's own, have it."""
    near: tuple[str, ...] = ()
    """Names of crops that may be meant, of a name that no table has."""
    emergence: Emergence | None = None
    boron: tuple[BoronLimit, ...] = ()
    chloride: tuple[ChlorideLimit, ...] = ()
    sodium: SodiumLimit | None = None
    foliar: FoliarLimit | None = None
    substrate: SubstrateResponse | None = None
    stage_limits: tuple[CropStageLimit, ...] = ()
    second_figures: tuple[SecondFigures, ...] = ()

    def __hash__(self) -> int:
        """Tell crops apart by their ids, as a catalogue of them is a key."""
        return hash(self.id)

    @property
    def unknown(self) -> bool:
        """Whether neither a figure nor a rating of its tolerance of salt is published."""
        return not self.rating and isnan(self.threshold) and isnan(self.appearance_low)

    @property
    def local(self) -> bool:
        """Whether the row is the grower's own."""
        return self.local_source is not None

    @property
    def source_keys(self) -> tuple[str, ...]:
        """Every source key behind this crop, each once, the crop's own row first."""
        figures: tuple[Sourced, ...] = (
            self,
            *(figure for figure in (self.emergence, self.sodium, self.foliar) if figure),
            *self.boron,
            *self.chloride,
            *self.stage_limits,
            *self.second_figures,
        )
        return tuple(dict.fromkeys(figure.source for figure in figures))


_Joined = TypeVar("_Joined", bound=CropFigure)


def _joined(table: str, row: type[_Joined]) -> dict[str, list[_Joined]]:
    """Read a table of which each row names one or more crop ids."""
    rows: dict[str, list[_Joined]] = defaultdict(list)
    for figure in read_table(table, row):
        for crop_id in figure.crops:
            rows[crop_id].append(figure)
    return rows


def _only(rows: Mapping[str, list[_Joined]], crop_id: str) -> _Joined | None:
    """Return the one row of a crop, or none."""
    found = rows.get(crop_id, [])
    if len(found) > 1:
        raise TableError(f"{crop_id!r} occurs twice in a table that has one row a crop")
    return found[0] if found else None


def _names(crop: Crop) -> Iterator[str]:
    yield crop.id
    yield crop.name
    yield from crop.synonyms


class Crops(tuple[Crop, ...]):
    """Crops in the order of their codes; what follows from them alone is kept by them.

    A key must be hashed at each look, and there are hundreds of crops: that is done once.

    Attributes
    ----------
    known : Crops or None
        Those that stand first and are known without the others, if there are others.
    """

    known: Crops | None = None

    def with_others(self, others: Iterable[Crop]) -> Crops:
        """Return these crops with others behind them, of which no figure is known."""
        together = Crops((*self, *others))
        together.known = self
        return together

    @cached_property
    def local_sources(self) -> tuple[Source, ...]:
        """Sources of the crops that are a grower's own."""
        return tuple(crop.local_source for crop in self if crop.local_source)

    def __hash__(self) -> int:
        """Return the hash of the crops, reckoned at the first look."""
        return self._hash

    @cached_property
    def _hash(self) -> int:
        return super().__hash__()


@dataclass(frozen=True)
class Catalogue:
    """Every crop by id, in table order, with the local ones last."""

    crops: Mapping[str, Crop]

    def __post_init__(self) -> None:
        """Refuse two crops of one common name."""
        holders: dict[str, str] = {}
        for crop in self.crops.values():
            for name in _names(crop):
                holder = holders.setdefault(plain(name), crop.id)
                if holder != crop.id:
                    raise TableError(f"{name!r} names both {holder!r} and {crop.id!r}")

    @cached_property
    def in_order(self) -> Crops:
        """The crops in the order of their codes."""
        return Crops(self.crops.values())

    @cached_property
    def local(self) -> tuple[Crop, ...]:
        """A grower's own crops."""
        return tuple(crop for crop in self.crops.values() if crop.local)

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
        part = plain(name)
        return [
            crop
            for crop in self.crops.values()
            if (not group or crop.group == group)
            and (not rating or crop.rating == rating)
            and (not part or any(part in plain(text) for text in (*_names(crop), crop.botanical)))
        ]


def _not_twice(taken: Collection[str]) -> Callable[[CropRow], None]:
    """Return a check of rows that refuses an id that is taken, or that was in an earlier row."""
    seen = set(taken)

    def check(row: CropRow) -> None:
        if row.id in seen:
            raise ma.ValidationError(f"crop {row.id!r} is in the table already", "id")
        seen.add(row.id)

    return check


def _published_crops() -> dict[str, Crop]:
    emergence = _joined("crop_emergence.csv", Emergence)
    boron = _joined("crop_boron.csv", BoronLimit)
    chloride = _joined("crop_chloride.csv", ChlorideLimit)
    sodium = _joined("crop_sodium.csv", SodiumLimit)
    foliar = _joined("crop_foliar.csv", FoliarLimit)
    substrate = _joined("crop_substrate.csv", SubstrateResponse)
    caps = _joined("crop_stage_limits.csv", CropStageLimit)
    second = _joined("crop_second_figures.csv", SecondFigures)
    crops = {
        row.id: Crop(
            **vars(row) | {"name": Title(row.name, f"crop.{row.id}")},
            emergence=_only(emergence, row.id),
            sodium=_only(sodium, row.id),
            foliar=_only(foliar, row.id),
            substrate=_only(substrate, row.id),
            boron=tuple(boron.get(row.id, ())),
            chloride=tuple(chloride.get(row.id, ())),
            stage_limits=tuple(caps.get(row.id, ())),
            second_figures=tuple(second.get(row.id, ())),
        )
        for row in read_table("crops.csv", CropRow, _not_twice(()))
    }
    for joined in (emergence, boron, chloride, sodium, foliar, substrate, caps, second):
        if unknown := joined.keys() - crops.keys():
            raise TableError(f"not in crops.csv: {', '.join(sorted(unknown))}")
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
        for row in read_table(local, LocalCropRow, _not_twice(crops)):
            source = bibliography().get(row.source) or Source(
                key=f"local_{row.id}", citation=row.source, kind="local"
            )
            crops[row.id] = Crop(**vars(row) | {"source": source.key}, local_source=source)
    return Catalogue(crops)


@cache
def soil_temperatures() -> Mapping[str, SoilTemperature]:
    """Return the soil temperatures of crops by crop id.

    Raises
    ------
    TableError
        If a crop occurs twice or a source is unknown.
    """
    return read_keyed("crop_soil_temperature.csv", SoilTemperature, lambda row: row.crop)


SEASONS = ("cool", "warm")


@dataclass(frozen=True, kw_only=True)
class Sowing(Sourced):
    """Crops that are sown for one use in one season."""

    use: str
    season: str = column(validate=ma.validate.OneOf(SEASONS))
    crops: tuple[str, ...] = column(read=words(";"))


@cache
def sowings() -> Mapping[str, frozenset[tuple[str, str]]]:
    """Return the uses and seasons of each crop that is sown, by crop id.

    A crop that is set, grafted or left standing for years is not listed.

    Raises
    ------
    TableError
        If a source is unknown.
    """
    found: dict[str, frozenset[tuple[str, str]]] = {}
    for row in read_table("crop_sowings.csv", Sowing):
        for crop in row.crops:
            found[crop] = found.get(crop, frozenset()) | {(row.use, row.season)}
    return found
