"""The crops as lists: each with every figure its tables have, with units."""

from __future__ import annotations

import math
from typing import TypeVar

from saltcalc.case.vocabulary import STAGES
from saltcalc.data.crop_lookup import find
from saltcalc.data.crops import BORON_RATINGS, GROUPS, RATINGS, Catalogue, Crop, Emergence
from saltcalc.data.name_forms import plain
from saltcalc.parts.listings import Listing, listed
from saltcalc.parts.notes import CitedSource, Notes, Range
from saltcalc.parts.shown import Amount, from_row, note_of, part, shown
from saltcalc.science.crop_response import ec_at_yield
from saltcalc.science.uncertainty import Interval

SLOPE_UNIT = "%/(dS/m)"
CHLORIDE_UNIT, BORON_UNIT = "mmol/L", "mg/L"

_CHARGE_UNIT = "mmol_c/L"
_YIELDS = (100.0, 90.0, 75.0, 50.0, 0.0)
"""Relative yields [%] for which a crop's EC is listed, as in FAO 29, Table 4."""
_MOST_NEAR = 10


@part
class CropListing(Listing):
    """A crop."""

    id: str = shown()
    name: str = shown()
    botanical: str = shown()
    synonyms: list[str] = shown()
    group: str = shown(choices=GROUPS)
    woody: bool = shown()
    basis: str = shown(
        "What was measured; empty where that is not told.", choices=("", "yield", "growth")
    )
    threshold: float = shown("Saturated extract up to which nothing is lost.", "dS/m")
    slope: float = shown("Loss of yield for each dS/m above it.", SLOPE_UNIT)
    rating: str | None = shown("S, MS, MT or T.", choices=RATINGS)
    rating_estimated: bool = shown()
    local: bool = shown("Whether the row is the grower's own.")
    near_match: bool = shown("Whether only a like name was found, not the one asked for.")


def _near(catalogue: Catalogue, name: str) -> list[Crop]:
    """Return the crops of the catalogue that a name may mean."""
    found = find(name, own=catalogue.local)
    ids = found.crops or found.near
    return [catalogue.crops[each] for each in ids if each in catalogue.crops]


def list_crops(
    catalogue: Catalogue, name: str = "", group: str = "", rating: str = ""
) -> list[CropListing]:
    """Return the crops that fit, or, where no name fits, those with a name like it.

    Parameters
    ----------
    catalogue : Catalogue
        The crops.
    name, group, rating : str, optional
        Filters. A name without a letter or figure of the tables fits none.
    """
    if name and not plain(name):
        return []
    near_match = not catalogue.select(name)
    fitting = (
        [
            crop
            for crop in _near(catalogue, name)
            if group in ("", crop.group) and rating in ("", crop.rating)
        ][:_MOST_NEAR]
        if near_match
        else catalogue.select(name, group, rating)
    )
    return [_crop_row(CropListing, crop, near_match=near_match) for crop in fitting]


_CropRow = TypeVar("_CropRow", bound=CropListing)


def _crop_row(kind: type[_CropRow], crop: Crop, **more: object) -> _CropRow:
    return from_row(
        kind,
        crop,
        synonyms=list(crop.synonyms),
        rating=crop.rating or None,
        note=crop.note or note_of("crops", crop),
        **more,
    )


@part
class CropYield:
    """The EC at one relative yield."""

    relative_yield: float = shown("Yield against that without salt.", "%")
    ec_saturated_extract: float = shown("Saturated extract at which that yield is left.", "dS/m")


@part
class CropEmergence(Listing):
    """The EC that halves emergence and yield."""

    half_emergence: Interval = shown("EC of the saturated extract.", "dS/m")
    half_yield: float = shown("EC of the saturated extract.", "dS/m")


@part
class CropStageLimit(Listing):
    """The most EC advised for the crop at one stage."""

    stage: str = shown(choices=STAGES)
    ec: Interval = shown("EC of the saturated extract.", "dS/m")


@part
class CropIonLimit(Listing):
    """A limit of chloride in the saturated extract."""

    variety: str = shown("Rootstock or cultivar; empty for any.")
    threshold: Amount = shown("Most that does no harm.")
    slope: Amount = shown("Loss above it; null for a limit of leaf injury.")


@part
class CropBoron(CropIonLimit):
    """A limit of boron in the pore water."""

    rating: str | None = shown(
        "Tolerance, from VS (very sensitive) to VT (very tolerant).", choices=BORON_RATINGS
    )


@part
class CropSodium(Listing):
    """Exchangeable sodium that the crop tolerates."""

    limit: float = shown("Null for a tolerant crop.", "%")


@part
class CropFoliar(Listing):
    """Sodium or chloride in water on the leaves that burns them."""

    range: Range = shown("From where it begins to where all are burnt.")


@part
class CropSecondFigures(Listing):
    """What another source says of the crop."""

    threshold: float = shown("Saturated extract up to which nothing is lost.", "dS/m")
    slope: float = shown("Loss of yield for each dS/m above it.", SLOPE_UNIT)
    rating: str | None = shown(choices=RATINGS)


@part
class CropDetail(CropListing):
    """Everything that is published of a crop."""

    acceptable_appearance_ec: Interval = shown(
        "Highest saturated extract at which an ornamental looks acceptable.", "dS/m"
    )
    yields: list[CropYield] = shown("The EC that leaves each share of the yield.")
    emergence_response: CropEmergence | None = shown()
    stage_limits: list[CropStageLimit] = shown("The most EC advised at each stage.")
    chloride: list[CropIonLimit] = shown(
        "Limits of chloride in the saturated extract, one a rootstock or cultivar."
    )
    boron: list[CropBoron] = shown("Limits of boron in the pore water, one a cultivar.")
    exchangeable_sodium: CropSodium | None = shown()
    foliar: CropFoliar | None = shown()
    second_figures: list[CropSecondFigures] = shown("What other sources say of it.")
    sources: dict[str, CitedSource] = shown()


def crop_detail(crop: Crop) -> CropDetail:
    """Return everything that is published of a crop, with the sources."""
    notes = Notes({crop.local_source.key: crop.local_source} if crop.local_source else None)
    notes.cite(*crop.source_keys)
    ecs = ec_at_yield(_YIELDS, crop.threshold, crop.slope).tolist()
    sodium, foliar = crop.sodium, crop.foliar
    return _crop_row(
        CropDetail,
        crop,
        near_match=False,
        acceptable_appearance_ec=Interval.of(
            crop.appearance_low, crop.appearance_low, crop.appearance_high
        ),
        yields=[
            CropYield(share, ec)
            for share, ec in zip(_YIELDS, ecs, strict=True)
            if not math.isnan(ec)
        ],
        emergence_response=_emergence(crop.emergence) if crop.emergence else None,
        stage_limits=[
            listed(
                CropStageLimit,
                "crop_stage_limits",
                cap,
                ec=Interval.of(cap.ec_low, cap.ec_low, cap.ec_high),
            )
            for cap in crop.stage_limits
        ],
        chloride=[
            listed(
                CropIonLimit,
                "crop_chloride",
                row,
                threshold=Amount(row.threshold, CHLORIDE_UNIT),
                slope=Amount(row.slope, f"%/({CHLORIDE_UNIT})"),
            )
            for row in crop.chloride
        ],
        boron=[
            listed(
                CropBoron,
                "crop_boron",
                row,
                threshold=Amount(
                    row.threshold_high, BORON_UNIT, row.threshold_low, row.threshold_high
                ),
                slope=Amount(row.slope, f"%/({BORON_UNIT})"),
                rating=row.rating or None,
            )
            for row in crop.boron
        ],
        exchangeable_sodium=listed(CropSodium, "crop_sodium", sodium, limit=sodium.esp_limit)
        if sodium
        else None,
        foliar=listed(
            CropFoliar,
            "crop_foliar",
            foliar,
            range=Range(
                foliar.sodium_or_chloride_low or None, foliar.sodium_or_chloride_high, _CHARGE_UNIT
            ),
        )
        if foliar
        else None,
        second_figures=[
            listed(CropSecondFigures, "crop_second_figures", row, rating=row.rating or None)
            for row in crop.second_figures
        ],
        sources=notes.sources,
    )


def _emergence(figures: Emergence) -> CropEmergence:
    low, high = figures.ec50_emergence_low, figures.ec50_emergence_high
    return listed(
        CropEmergence,
        "crop_emergence",
        figures,
        half_emergence=Interval.of((low + high) / 2, low, high),
        half_yield=figures.ec50_yield,
    )
