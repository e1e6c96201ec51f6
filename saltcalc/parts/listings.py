"""The tables as lists: each row as its table has it, with units."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, TypeVar

from saltcalc.data.extraction import all_ec_conversions, class_schemes, extraction_methods
from saltcalc.data.observations import observations
from saltcalc.data.sources import Source, bibliography
from saltcalc.data.stage_limits import KINDS, StageLimit, stage_limits
from saltcalc.data.substrates import MEDIUM_CLASSES, substrates
from saltcalc.data.tables import PROVENANCES
from saltcalc.message import Message, say
from saltcalc.parts.choices import (
    CONVERSION_BASES,
    CONVERSION_GROUPS,
    EC_CLASSES,
    EC_SCHEMES,
    METHODS,
    TABLE_STAGES,
)
from saltcalc.parts.notes import SOURCE_KINDS, Range
from saltcalc.parts.shown import from_row, note_of, part, shown

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
    medium_class: str = shown(
        "Class of medium, by which washout is looked up.", choices=MEDIUM_CLASSES
    )
    basis: str = shown("What the source gives.", choices=("curve", "container_capacity"))
    container_capacity: float = shown("Water held after drainage.", "1")
    capacity_height: float = shown("Height it was measured at.", "cm")
    total_porosity: float = shown("Pore space.", "1")
    theta_s: float | None = shown("Water content at saturation, as a share of the volume.")
    theta_r: float | None = shown("Residual water content, as a share of the volume.")
    alpha: float = shown("Inverse of the air-entry suction.", "1/cm")
    n: float | None = shown("Shape of the retention curve, a pure number.")


_Kind = TypeVar("_Kind")


def listed(kind: type[_Kind], table: str, row: Any, **members: object) -> _Kind:
    """Return a row of a table as it is shown, with its note."""
    return from_row(kind, row, note=note_of(table, row), **members)


def list_substrates() -> list[SubstrateListing]:
    """Return every medium with the figures its source gives."""
    return [
        listed(SubstrateListing, "substrates", row, name=say(f"substrates.name.{row.id}"))
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
    classes: list[EcClass] = shown("Its classes, the lowest first.")


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
    medium_kind: str = shown("Media that it holds for.", choices=CONVERSION_GROUPS)
    governing: bool = shown()
    points: list[ConversionPoint] = shown("Pairs of readings, between which it runs straight.")
    applies_to: Message = shown()


@part
class ExtractionMethodListing(Listing):
    """An extraction method."""

    id: str = shown(choices=METHODS)
    name: Message = shown()
    description: Message = shown("How the extract is made, in words.")
    dilution: Message = shown("How much water goes to how much medium, in words.")
    basis: str = shown(choices=CONVERSION_BASES)
    conversions: list[ConversionListing] = shown("Published conversions of its readings.")
    classes: list[ClassScheme] = shown("Published classes of its readings.")


def list_extraction_methods() -> list[ExtractionMethodListing]:
    """Return every extraction method with the classes and conversions published for it."""
    return [
        listed(
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
        listed(
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
        listed(
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
    description: Message = shown("What it looks like, in words.")
    hints_at: Message = shown("What it may come from, in words.")
    opposite: str | None = shown("The sign that holds where this one was not seen.", choices=_SIGNS)


def list_observations() -> list[ObservationListing]:
    """Return every sign that can be reported."""
    return [
        listed(
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

    key: str = shown("Key by which answers name it.")
    citation: str = shown()
    kind: str = shown(
        "Whether it was published, or is practice, judgement or worked out.", choices=SOURCE_KINDS
    )
    note: Message | str = shown()


def list_sources(local: Iterable[Source]) -> list[SourceListing]:
    """Return the bibliography, and after it the grower's own sources, each once."""
    own = dict.fromkeys(local)
    return [listed(SourceListing, "sources", source) for source in (*bibliography().values(), *own)]


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
