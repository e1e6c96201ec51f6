"""Extraction methods, the classes each has, and the published conversions between them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from typing import Any

import marshmallow as ma

from saltcalc.data.sources import SourcedSchema
from saltcalc.data.tables import DATA_DIR, TableError, keyed, read_records, read_table

MEDIUM_KINDS = ("soilless", "sandy", "loamy", "clayey")
"""What a conversion applies to: a soilless medium, or a mineral soil by its texture group."""

SATURATED_EXTRACT = "saturated_extract"
PORE_WATER = "pore_water"

_MINERAL_KINDS = frozenset(MEDIUM_KINDS[1:])
_JOIN_AT = 2.0
"""Saturated-extract EC [dS/m] below which an equation with an intercept runs straight to zero."""


@dataclass(frozen=True)
class ExtractionMethod:
    """One way of taking the water out of a medium; its place in the table is its code."""

    id: str
    name: str
    basis: str
    description: str
    dilution: str
    source: str
    provenance: str
    note: str


@dataclass(frozen=True)
class EcClass:
    """One class of a scheme: above `lower` [dS/m], up to and with the `lower` of the next."""

    id: str
    rank: int
    lower: float
    meaning: str


@dataclass(frozen=True)
class ClassScheme:
    """A published set of classes for one extraction method.

    `rank` puts classes of all schemes on one scale: 0 is what most plants want, above is too salt.
    """

    id: str
    method: str
    governing: bool
    applies_to: str
    source: str
    provenance: str
    note: str
    classes: tuple[EcClass, ...]

    @property
    def limits(self) -> tuple[float, ...]:
        """Upper limits of all classes but the last [dS/m]."""
        return tuple(each.lower for each in self.classes[1:])


@dataclass(frozen=True)
class EcConversion:
    """A published conversion of a reading to the saturated extract or to the pore water.

    `points` are pairs of EC by the method and EC on the basis [dS/m], joined by straight lines
    from (0, 0) and carried on in proportion beyond the last. `scatter` is the standard deviation
    of the logarithm of readings about the conversion [-].
    """

    id: str
    method: str
    to: str
    medium: str
    governing: bool
    points: tuple[tuple[float, float], ...]
    scatter: float
    applies_to: str
    source: str
    provenance: str
    note: str

    def applies(self, medium: str) -> bool:
        """Tell whether the conversion was made for a medium of this kind."""
        return self.medium in (medium, "any") or (
            self.medium == "mineral" and medium in _MINERAL_KINDS
        )


class _MethodSchema(SourcedSchema):
    id = ma.fields.String(required=True, validate=ma.validate.Regexp(r"^[a-z_]+$"))
    name = ma.fields.String(required=True)
    basis = ma.fields.String(
        required=True, validate=ma.validate.OneOf([SATURATED_EXTRACT, PORE_WATER])
    )
    description = ma.fields.String(required=True)
    dilution = ma.fields.String(required=True)


class _ClassSchema(SourcedSchema):
    scheme = ma.fields.String(required=True)
    method = ma.fields.String(required=True)
    governing = ma.fields.Boolean(required=True)
    class_ = ma.fields.String(required=True, data_key="class")
    rank = ma.fields.Integer(required=True)
    lower = ma.fields.Float(required=True, validate=ma.validate.Range(min=0))
    meaning = ma.fields.String(required=True)
    applies_to = ma.fields.String(required=True)


class _Points(ma.fields.Field[tuple[tuple[float, float], ...]]):
    def _deserialize(
        self, value: str, attr: str | None, data: Any, **kwargs: Any
    ) -> tuple[tuple[float, float], ...]:
        try:
            pairs = [tuple(map(float, pair.split(":"))) for pair in value.split()]
        except ValueError as error:
            raise ma.ValidationError("not pairs of numbers") from error
        if any(len(pair) != 2 for pair in pairs):
            raise ma.ValidationError("not pairs of numbers")
        return tuple((pair[0], pair[1]) for pair in pairs)


class _ConversionSchema(SourcedSchema):
    id = ma.fields.String(required=True)
    method = ma.fields.String(required=True)
    to = ma.fields.String(
        required=True, validate=ma.validate.OneOf([SATURATED_EXTRACT, PORE_WATER])
    )
    medium = ma.fields.String(
        required=True, validate=ma.validate.OneOf([*MEDIUM_KINDS, "mineral", "any"])
    )
    governing = ma.fields.Boolean(required=True)
    points = _Points(load_default=None)
    slope = ma.fields.Float(load_default=None)
    intercept = ma.fields.Float(load_default=None)
    scatter = ma.fields.Float(required=True, validate=ma.validate.Range(min=0, max=1))
    applies_to = ma.fields.String(required=True)

    @ma.post_load
    def _make(self, row: dict[str, Any], **_: object) -> EcConversion:
        slope, intercept = row.pop("slope"), row.pop("intercept")
        if (row["points"] is None) == (slope is None):
            raise ma.ValidationError("give either points or a slope with its intercept")
        if row["points"] is None:
            row["points"] = _line(slope, intercept or 0.0)
        steps = [(0.0, 0.0), *row["points"]]
        if any(b[0] <= a[0] or b[1] <= a[1] for a, b in pairwise(steps)):
            raise ma.ValidationError("the points do not rise")
        return EcConversion(**row)


def _line(slope: float, intercept: float) -> tuple[tuple[float, float], ...]:
    """Return points along y = slope x + intercept that also run through zero."""
    if intercept == 0.0:
        return ((1.0, slope),)
    far = 1000.0
    return tuple(((y - intercept) / slope, y) for y in (_JOIN_AT, far))


@cache
def extraction_methods() -> tuple[ExtractionMethod, ...]:
    """Return the extraction methods; the place of each is its code in arrays."""
    return read_records("extraction_methods.csv", _MethodSchema(), ExtractionMethod)


@cache
def method_codes() -> dict[str, int]:
    """Return the code of each extraction method by its id."""
    methods = keyed("extraction_methods.csv", extraction_methods(), lambda method: method.id)
    return {method: code for code, method in enumerate(methods)}


@cache
def class_schemes() -> tuple[ClassScheme, ...]:
    """Return every published set of classes.

    Raises
    ------
    TableError
        If limits do not rise, a method is unknown, or a method has two governing schemes.
    """
    grouped: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for row in read_table(DATA_DIR / "ec_classes.csv", _ClassSchema()):
        grouped.setdefault((row["scheme"], row["method"]), []).append(row)
    schemes = []
    for (scheme, method), rows in grouped.items():
        lowers = [row["lower"] for row in rows]
        if method not in method_codes() or lowers[0] != 0 or lowers != sorted(set(lowers)):
            raise TableError(f"ec_classes.csv: {scheme} for {method} does not rise from zero")
        schemes.append(
            ClassScheme(
                id=scheme,
                method=method,
                governing=rows[0]["governing"],
                applies_to=rows[0]["applies_to"],
                source=rows[0]["source"],
                provenance="seen" if all(row["provenance"] == "seen" for row in rows) else "memory",
                note=rows[0]["note"],
                classes=tuple(
                    EcClass(row["class_"], row["rank"], row["lower"], row["meaning"])
                    for row in rows
                ),
            )
        )
    governed = [scheme.method for scheme in schemes if scheme.governing]
    if len(governed) != len(set(governed)):
        raise TableError("ec_classes.csv: a method has two governing schemes")
    return tuple(schemes)


@cache
def governing_schemes() -> dict[str, ClassScheme]:
    """Return the scheme that governs each method, by method id; methods without one are absent."""
    return {scheme.method: scheme for scheme in class_schemes() if scheme.governing}


@cache
def ec_conversions(method: str, medium: str) -> tuple[EcConversion, ...]:
    """Return the conversions that apply to a method and a kind of medium, the governing one first.

    Raises
    ------
    TableError
        If the table has not exactly one governing conversion for them.
    """
    applying = [
        conversion
        for conversion in all_ec_conversions()
        if conversion.method == method and conversion.applies(medium)
    ]
    applying.sort(key=lambda conversion: not conversion.governing)
    if sum(conversion.governing for conversion in applying) != 1:
        raise TableError(f"ec_conversions.csv: {method} in {medium} has not one governing row")
    return tuple(applying)


@cache
def all_ec_conversions() -> tuple[EcConversion, ...]:
    """Return every published conversion."""
    rows = read_table(DATA_DIR / "ec_conversions.csv", _ConversionSchema())
    return tuple(keyed("ec_conversions.csv", rows, lambda row: str(row.id)).values())
