"""The tables as lists: each row as its table has it, with units."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, TypeVar

from saltcalc.case.vocabulary import STAGES
from saltcalc.data.crop_lookup import find
from saltcalc.data.crops import Catalogue, Crop, Emergence
from saltcalc.data.extraction import all_ec_conversions, class_schemes, extraction_methods
from saltcalc.data.observations import observations
from saltcalc.data.sources import Source, bibliography
from saltcalc.data.stage_limits import KINDS, StageLimit, stage_limits
from saltcalc.data.substrates import MEDIUM_CLASSES, substrates
from saltcalc.message import Message, say
from saltcalc.parts.choices import (
    BORON_RATINGS,
    CONVERSION_BASES,
    CONVERSION_GROUPS,
    EC_CLASSES,
    EC_SCHEMES,
    GROUPS,
    METHODS,
    PROVENANCES,
    RATINGS,
    TABLE_STAGES,
)
from saltcalc.parts.notes import SOURCE_KINDS, CitedSource, Notes, Range
from saltcalc.parts.shown import Amount, from_row, note_of, part, shown
from saltcalc.science.crop_response import ec_at_yield
from saltcalc.science.uncertainty import Interval

SLOPE_UNIT = "%/(dS/m)"
CHLORIDE_UNIT, BORON_UNIT = "mmol/L", "mg/L"

_CHARGE_UNIT = "mmol_c/L"
_YIELDS = (100.0, 90.0, 75.0, 50.0, 0.0)
"""Relative yields [%] for which a crop's EC is listed, as in FAO 29, Table 4."""
_MOST_NEAR = 10
_SIGNS = tuple(observations())


@part
class Listing:
    """A row of a table with where it comes from."""

    source: str = shown()
    provenance: str = shown(
        "memory was not looked up; seen_in_copy was read in a copy or quotation.",
        choices=PROVENANCES,
    )
    note: Message | str = shown()


@part
class SubstrateListing(Listing):
    """A medium."""

    id: str = shown()
    name: Message = shown()
    medium_class: str = shown(choices=MEDIUM_CLASSES)
    basis: str = shown("What the source gives.", choices=("curve", "container_capacity"))
    container_capacity: float = shown("Water held after drainage.", "1")
    capacity_height: float = shown("Height it was measured at.", "cm")
    total_porosity: float = shown("Pore space.", "1")
    theta_s: float | None = shown()
    theta_r: float | None = shown()
    alpha: float = shown("Inverse of the air-entry suction.", "1/cm")
    n: float | None = shown()


_Kind = TypeVar("_Kind")


def _listing(kind: type[_Kind], table: str, row: Any, **members: object) -> _Kind:
    """Return a row of a table as it is shown, with its note."""
    return from_row(kind, row, note=note_of(table, row), **members)


def list_substrates() -> list[SubstrateListing]:
    """Return every medium with the figures its source gives."""
    return [
        _listing(SubstrateListing, "substrates", row, name=say(f"substrates.name.{row.id}"))
        for row in substrates().values()
    ]


@part
class EcClass:
    """One class of a scheme."""

    class_: str = shown(choices=EC_CLASSES)
    range: Range = shown()
    meaning: Message = shown()


@part
class ClassScheme(Listing):
    """A published set of classes."""

    scheme: str = shown(choices=EC_SCHEMES)
    governing: bool = shown()
    applies_to: Message = shown()
    classes: list[EcClass] = shown()


@part
class ConversionPoint:
    """A pair of readings that stand for one another."""

    ec: float = shown("The reading by the method.", "dS/m")
    ec_on_basis: float = shown("What it stands for.", "dS/m")


@part
class ConversionListing(Listing):
    """A published conversion: straight lines from zero through its points."""

    id: str = shown()
    basis: str = shown(choices=CONVERSION_BASES)
    medium_kind: str = shown(choices=CONVERSION_GROUPS)
    governing: bool = shown()
    points: list[ConversionPoint] = shown()
    applies_to: Message = shown()


@part
class ExtractionMethodListing(Listing):
    """An extraction method."""

    id: str = shown(choices=METHODS)
    name: Message = shown()
    description: Message = shown()
    dilution: Message = shown()
    basis: str = shown(choices=CONVERSION_BASES)
    conversions: list[ConversionListing] = shown()
    classes: list[ClassScheme] = shown()


def list_extraction_methods() -> list[ExtractionMethodListing]:
    """Return every extraction method with the classes and conversions published for it."""
    return [
        _listing(
            ExtractionMethodListing,
            "extraction_methods",
            method,
            name=say(f"extraction_methods.name.{method.id}"),
            description=say(f"extraction_methods.description.{method.id}"),
            dilution=say(f"extraction_methods.dilution.{method.id}"),
            conversions=_conversions(method.id),
            classes=_classes(method.id),
        )
        for method in extraction_methods()
    ]


def _conversions(method: str) -> list[ConversionListing]:
    return [
        _listing(
            ConversionListing,
            "ec_conversions",
            row,
            applies_to=say(f"ec_conversions.applies_to.{row.applies_to}"),
            basis=row.to,
            medium_kind=row.medium,
            points=[ConversionPoint(*(float(ec) for ec in pair)) for pair in row.points],
        )
        for row in all_ec_conversions()
        if row.method == method
    ]


def _classes(method: str) -> list[ClassScheme]:
    return [
        _listing(
            ClassScheme,
            "ec_classes",
            scheme,
            applies_to=say(f"ec_classes.applies_to.{scheme.applies_to}"),
            scheme=scheme.id,
            classes=[
                EcClass(
                    each.id,
                    Range(each.lower, above, "dS/m"),
                    say(f"ec_classes.meaning.{scheme.id}.{each.id}"),
                )
                for each, above in zip(
                    scheme.classes,
                    (*(each.lower for each in scheme.classes[1:]), None),
                    strict=True,
                )
            ],
        )
        for scheme in class_schemes()
        if scheme.method == method
    ]


@part
class ObservationListing(Listing):
    """A sign."""

    id: str = shown(choices=_SIGNS)
    name: Message = shown()
    description: Message = shown()
    hints_at: Message = shown()
    opposite: str | None = shown("The sign that holds where this one was not seen.", choices=_SIGNS)


def list_observations() -> list[ObservationListing]:
    """Return every sign that can be reported."""
    return [
        _listing(
            ObservationListing,
            "observations",
            sign,
            name=say(f"observations.name.{sign.id}"),
            description=say(f"observations.description.{sign.id}"),
            hints_at=say(f"observations.hints_at.{sign.id}"),
            opposite=sign.opposite or None,
        )
        for sign in observations().values()
    ]


@part
class SourceListing:
    """A source."""

    key: str = shown()
    citation: str = shown()
    kind: str = shown(choices=SOURCE_KINDS)
    note: Message | str = shown()


def list_sources(local: Iterable[Source]) -> list[SourceListing]:
    """Return the bibliography, and after it the grower's own sources, each once."""
    own = dict.fromkeys(local)
    return [
        _listing(SourceListing, "sources", source) for source in (*bibliography().values(), *own)
    ]


@part
class StageLimitRow:
    """A published range for container media at a stage."""

    plants: str = shown()
    stage: str = shown(choices=TABLE_STAGES)
    extraction: str | None = shown("Null where the source does not say.", choices=METHODS)
    range: Range = shown()
    meaning: Message = shown()
    provenance: str = shown(choices=PROVENANCES)


@part
class StageLimitListing(StageLimitRow):
    """A row of the table of ranges."""

    kind: str = shown("observed is a trial, no limit.", choices=KINDS)
    source: str = shown()
    note: Message | str = shown()


_Range = TypeVar("_Range", bound=StageLimitRow)


def stage_limit_row(kind: type[_Range], limit: StageLimit, **more: object) -> _Range:
    """Return a range for container media; an end that is open is not shown."""
    low = limit.ec_low if limit.ec_low > 0 else None
    high = limit.ec_high if math.isfinite(limit.ec_high) else None
    return from_row(
        kind,
        limit,
        extraction=limit.extraction or None,
        range=Range(low, high, "dS/m"),
        meaning=say(f"stage_limits.meaning.{limit.meaning}"),
        **more,
    )


def list_stage_limits(stage: str = "", extraction: str = "") -> list[StageLimitListing]:
    """Return the published ranges for container media that fit, in table order.

    Parameters
    ----------
    stage, extraction : str, optional
        Filters; ranges for plants of any stage fit every stage.
    """
    return [
        stage_limit_row(StageLimitListing, limit, note=note_of("stage_limits", limit))
        for limit in stage_limits()
        if (not stage or limit.stage in {stage, "any"})
        and (not extraction or limit.extraction == extraction)
    ]


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
    slope: float = shown("Loss above it.", SLOPE_UNIT)
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
        Filters.
    """
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

    relative_yield: float = shown("", "%")
    ec_saturated_extract: float = shown("", "dS/m")


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
    threshold: Amount = shown()
    slope: Amount = shown("Loss above it; null for a limit of leaf injury.")


@part
class CropBoron(CropIonLimit):
    """A limit of boron in the pore water."""

    rating: str | None = shown("VS to VT.", choices=BORON_RATINGS)


@part
class CropSodium(Listing):
    """Exchangeable sodium that the crop stands."""

    limit: float = shown("Null for a tolerant crop.", "%")


@part
class CropFoliar(Listing):
    """Sodium or chloride in water on the leaves that burns them."""

    range: Range = shown("From where it begins to where all are burnt.")


@part
class CropSecondFigures(Listing):
    """What another source says of the crop."""

    threshold: float = shown("", "dS/m")
    slope: float = shown("", SLOPE_UNIT)
    rating: str | None = shown(choices=RATINGS)


@part
class CropDetail(CropListing):
    """Everything that is published of a crop."""

    look_up_to: Interval = shown(
        "Highest saturated extract at which an ornamental looks acceptable.", "dS/m"
    )
    yields: list[CropYield] = shown()
    emergence_response: CropEmergence | None = shown()
    stage_limits: list[CropStageLimit] = shown()
    chloride: list[CropIonLimit] = shown()
    boron: list[CropBoron] = shown()
    exchangeable_sodium: CropSodium | None = shown()
    foliar: CropFoliar | None = shown()
    second_figures: list[CropSecondFigures] = shown()
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
        look_up_to=Interval.of(crop.look_low, crop.look_low, crop.look_high),
        yields=[
            CropYield(share, ec)
            for share, ec in zip(_YIELDS, ecs, strict=True)
            if not math.isnan(ec)
        ],
        emergence_response=_emergence(crop.emergence) if crop.emergence else None,
        stage_limits=[
            _listing(
                CropStageLimit,
                "crop_stage_limits",
                cap,
                ec=Interval.of(cap.ec_low, cap.ec_low, cap.ec_high),
            )
            for cap in crop.stage_caps
        ],
        chloride=[
            _listing(
                CropIonLimit,
                "crop_chloride",
                row,
                threshold=Amount(row.threshold, CHLORIDE_UNIT),
                slope=Amount(row.slope, f"%/({CHLORIDE_UNIT})"),
            )
            for row in crop.chloride
        ],
        boron=[
            _listing(
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
        exchangeable_sodium=_listing(CropSodium, "crop_sodium", sodium, limit=sodium.esp_limit)
        if sodium
        else None,
        foliar=_listing(
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
            _listing(CropSecondFigures, "crop_second_figures", row, rating=row.rating or None)
            for row in crop.second_figures
        ],
        sources=notes.sources,
    )


def _emergence(figures: Emergence) -> CropEmergence:
    low, high = figures.ec50_emergence_low, figures.ec50_emergence_high
    return _listing(
        CropEmergence,
        "crop_emergence",
        figures,
        half_emergence=Interval.of((low + high) / 2, low, high),
        half_yield=figures.ec50_yield,
    )
