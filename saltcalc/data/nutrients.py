"""Nutrient ranges of growing media by extraction method, and what goes with them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import isnan, nan
from pathlib import Path
from typing import Any, Literal

import marshmallow as ma

from saltcalc.data.extraction import extraction_methods, method_codes
from saltcalc.data.reported_ions import reported_ions, trace_metals
from saltcalc.data.sources import Noted, Source, Sourced, bibliography
from saltcalc.data.tables import TableError, column, read_keyed, read_table, words

MICRONUTRIENTS = ("boron", *trace_metals())
"""The nutrients that laboratories also extract with DTPA."""

NUTRIENTS = (
    "ph",
    "nitrate_n",
    "ammonium_n",
    "phosphorus",
    "potassium",
    "calcium",
    "magnesium",
    "sulfate_s",
    "sodium",
    "chloride",
    *MICRONUTRIENTS,
    "salts",
)
"""What a range may be given for, in report order; all but pH are in mg/L of the element, and all
salts together, told beside CAT alone, in mg/L of medium as potassium chloride."""

DTPA = "dtpa"
"""The DTPA extract of micronutrients: a method of this table alone, never beside water extracts."""

CAT = "cat"
"""The extract with CaCl2 and DTPA (EN 13651): judged by its own guide values, never converted."""

CAT_NUTRIENTS = (
    "nitrate_n",
    "ammonium_n",
    "phosphorus",
    "potassium",
    "magnesium",
    *MICRONUTRIENTS,
    "salts",
)
"""What is taken by CAT, as the element, and the salts told beside it [mg/L of medium]."""

CAT_FIELDS = ("mineral_n", *CAT_NUTRIENTS)
"""Those, and nitrate and ammonium in one figure."""

NO_RANGE = -1
"""Stands for the place of a range where there is none."""

REFERENCE_METHOD = "saturated_media_extract"
"""The method with the fullest set of published ranges."""


def _figure(**options: Any) -> Any:
    return column(nan, validate=ma.validate.Range(min=0), **options)


@dataclass(frozen=True, kw_only=True)
class NutrientRange(Noted):
    """A published sufficiency range; `low` or `high` is NaN where the source gives no such limit.

    In mg/L of the element in the extract, but for pH.
    """

    method: str
    nutrient: str = column(validate=ma.validate.OneOf(NUTRIENTS))
    plants: str
    feeding: tuple[str, ...] = column((), read=words(";"))
    """The ways of feeding that it is for; empty for any."""
    governing: bool
    crops: tuple[str, ...] = column((), read=words(";"))
    """Crops for which it governs in place of the general one."""
    low: float = _figure()
    high: float = _figure()
    applies_to: str
    """Id of the words for the media and plants that it is for."""


@dataclass(frozen=True, kw_only=True)
class SaltShare(Sourced):
    """The share of the total soluble salts [-] that one nutrient should have."""

    nutrient: str = column(validate=ma.validate.OneOf(NUTRIENTS))
    low: float = _figure(data_key="share_low")
    high: float = _figure(data_key="share_high")


@dataclass(frozen=True, kw_only=True)
class NitrogenUptake(Sourced):
    """One plant at a stage: dry mass [g], relative growth [1/week], tissue nitrogen [mg/g]."""

    stage: str
    dry_mass_low: float = _figure()
    dry_mass: float = _figure()
    dry_mass_high: float = _figure()
    growth_low: float = _figure()
    growth: float = _figure()
    growth_high: float = _figure()
    tissue_n_low: float = _figure()
    tissue_n: float = _figure()
    tissue_n_high: float = _figure()
    cover_growth_low: float = _figure()
    cover_growth: float = _figure()
    cover_growth_high: float = _figure()
    """Most growth of plants that cover the ground, on the surface of a container. [g/(m² week)]"""


CROP_GROWTH = ("emergence_mass", "growth", "tissue_n")


@dataclass(frozen=True, kw_only=True)
class CropGrowth(Sourced):
    """One figure of the early growth of crops: [g], [1/week] or [mg/g]."""

    crops: tuple[str, ...] = column(read=words(";"))
    quantity: str = column(validate=ma.validate.OneOf(CROP_GROWTH))
    low: float = _figure()
    value: float = _figure()
    high: float = _figure()


@dataclass(frozen=True, kw_only=True)
class NitrogenSource(Noted):
    """One generic source of nitrogen to feed with after a flush."""

    id: str
    nitrogen_share: float = column(validate=ma.validate.Range(0, 1, min_inclusive=False))
    """Nitrogen by mass. [g/g]"""


@dataclass(frozen=True, kw_only=True)
class AmendmentFigure(Sourced):
    """One published figure about a remedy, as a range in `unit`."""

    amendment: str
    quantity: str
    low: float = _figure()
    high: float = _figure()
    unit: str


@dataclass(frozen=True, kw_only=True)
class LocalRange(Sourced):
    """A laboratory's or region's own row: ``source`` may be a bibliography key or any words."""

    method: str = column(validate=ma.validate.OneOf([*method_codes(), CAT]))
    nutrient: str = column(validate=ma.validate.OneOf(NUTRIENTS))
    low: float = _figure()
    high: float = _figure()
    source: str = column("own ranges")
    provenance: Literal["seen", "memory", "common_practice", "own_trial"] = "seen"

    def check(self) -> None:
        """Refuse a range without an end, or one upside down."""
        if isnan(self.low) and isnan(self.high):
            raise ma.ValidationError("neither end of the range is given", "low")
        if self.low > self.high:
            raise ma.ValidationError("the low end lies above the high end", "low")


@dataclass(frozen=True, kw_only=True)
class OwnRange(NutrientRange):
    """A laboratory's or region's own range, which governs in place of a published one."""

    local_source: Source


OF_OWN = "own"
"""What an own range has for whom it applies to."""

Own = tuple[OwnRange, ...]


@cache
def own_ranges(table: Path | None) -> Own:
    """Return a laboratory's or region's own ranges from a CSV; none without one.

    Parameters
    ----------
    table : Path or None
        A CSV with ``method``, ``nutrient``, ``low``, ``high`` (mg/L of the element in the extract;
        pH), and if wanted ``source``, ``provenance`` and ``note``.

    Raises
    ------
    TableError
        Naming the file, the line and the column that does not fit.
    """
    seen: set[tuple[str, str]] = set()

    def not_twice(row: LocalRange) -> None:
        if (row.method, row.nutrient) in seen:
            fault = f"{row.nutrient!r} by {row.method!r} is in the table already"
            raise ma.ValidationError(fault, "nutrient")
        seen.add((row.method, row.nutrient))

    found = []
    for row in read_table(table, LocalRange, not_twice) if table else ():
        source = bibliography().get(row.source) or Source(
            key=f"local_range_{row.method}_{row.nutrient}", citation=row.source, kind="local"
        )
        found.append(
            OwnRange(
                **vars(row) | {"source": source.key},
                plants="general",
                governing=True,
                applies_to=OF_OWN,
                local_source=source,
            )
        )
    return tuple(found)


@cache
def nutrient_ranges() -> tuple[NutrientRange, ...]:
    """Return every published range.

    Raises
    ------
    TableError
        If a method is unknown, a range is upside down, or two rows govern one nutrient.
    """
    ranges = read_table("nutrient_ranges.csv", NutrientRange)
    governed = [(each.method, each.nutrient) for each in ranges if each.governing]
    if len(governed) != len(set(governed)):
        raise TableError("nutrient_ranges.csv: two rows govern one nutrient by one method")
    for each in ranges:
        if each.method not in method_codes() and each.method not in (DTPA, CAT):
            raise TableError(f"nutrient_ranges.csv: unknown method {each.method!r}")
        if each.low > each.high:
            raise TableError(f"nutrient_ranges.csv: {each.nutrient} {each.low} > {each.high}")
    return ranges


@cache
def governing_range(method: str, nutrient: str, own: Own = ()) -> NutrientRange | None:
    """Return the range that a figure by this method is judged by, or None where there is none.

    A laboratory's own range goes before a published one.
    """
    for each in (*own, *nutrient_ranges()):
        if each.governing and (each.method, each.nutrient) == (method, nutrient):
            return each
    return None


def hardly_diluted(method: str) -> bool:
    """Tell whether an extract is about as strong as the water in the medium."""
    return extraction_methods()[method_codes()[method]].hardly_diluted


def comparable_with_reference(method: str, nutrient: str) -> bool:
    """Tell whether a figure by a method may be scaled to the saturated media extract by EC.

    Press water and pour-through are hardly diluted, and their figures for all major nutrients
    rise in a straight line with those of the saturated media extract [1]_.
    In extracts with much added water only what the medium does not hold back thins out like the
    salts as a whole: nitrate and chloride, and nearly so sodium. Potassium, calcium, magnesium,
    ammonium and phosphorus come off the medium as water is added; they are not scaled (a
    judgement). pH differs little between the methods [2]_.

    References
    ----------
    .. [1] Cavins, T.J., Whipker, B.E. & Fonteno, W.C. Calibration of pour-through nutrient values
       with the saturated media extract. HortScience, conference abstract.
    .. [2] Kent County Cooperative Extension (2008). Greenhouse and nursery: testing media for
       nutrients.
    """
    if method == REFERENCE_METHOD or nutrient == "ph":
        return True
    if nutrient in {*MICRONUTRIENTS, "salts"}:
        return False
    return hardly_diluted(method) or reported_ions()[nutrient].thins_with_salts


@cache
def salt_shares() -> Mapping[str, SaltShare]:
    """Return the wanted share of the total soluble salts, by nutrient."""
    return read_keyed("nutrient_balance.csv", SaltShare, lambda row: row.nutrient)


@cache
def nitrogen_uptake() -> Mapping[str, NitrogenUptake]:
    """Return growth and tissue nitrogen, by stage."""
    return read_keyed("nitrogen_uptake.csv", NitrogenUptake, lambda row: row.stage)


@cache
def crop_growth() -> Mapping[tuple[str, str], CropGrowth]:
    """Return the figures of early growth, by crop and quantity."""
    rows = read_table("crop_growth.csv", CropGrowth)
    return {(crop, row.quantity): row for row in rows for crop in row.crops}


@cache
def nitrogen_sources() -> tuple[NitrogenSource, ...]:
    """Return the sources of nitrogen in table order."""
    return read_table("nitrogen_sources.csv", NitrogenSource)


@cache
def amendments() -> Mapping[tuple[str, str], tuple[AmendmentFigure, ...]]:
    """Return the published figures by remedy and quantity."""
    rows: dict[tuple[str, str], list[AmendmentFigure]] = {}
    for row in read_table("amendments.csv", AmendmentFigure):
        rows.setdefault((row.amendment, row.quantity), []).append(row)
    return {key: tuple(figures) for key, figures in rows.items()}


def amendment_figures(amendment: str, quantity: str) -> tuple[AmendmentFigure, ...]:
    """Return the published figures for one quantity of a remedy.

    Raises
    ------
    KeyError
        If the table has none.
    """
    return amendments()[amendment, quantity]
