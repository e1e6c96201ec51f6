"""Extraction methods, the classes each has, and the published conversions between them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import pairwise, product

import marshmallow as ma

from saltcalc.data.sources import Noted
from saltcalc.data.tables import TableError, column, keyed, read_keyed, read_table, weakest

MEDIUM_KINDS = ("soilless", "sand", "sandy_loam", "loam", "clay_loam", "light_clay", "clay")
"""A soilless medium, or a mineral soil by its texture: sand and loamy sand; sandy loam; loam, silt
loam and sandy clay loam; clay loam and silty clay loam; sandy and silty clay; clay."""

MEDIUM_GROUPS = {
    "sandy": ("sand", "sandy_loam"),
    "loamy": ("loam", "clay_loam"),
    "clayey": ("light_clay", "clay"),
    "clay_loam_to_light_clay": ("clay_loam", "light_clay"),
    "mineral": MEDIUM_KINDS[1:],
    "any": MEDIUM_KINDS,
}
"""What a published conversion may apply to besides one kind of medium."""

SATURATED_EXTRACT = "saturated_extract"
PORE_WATER = "pore_water"

_JOIN_AT = 2.0
"""Saturated-extract EC [dS/m] below which an equation with an intercept runs straight to zero."""

_FAR = 1000.0


@dataclass(frozen=True, kw_only=True)
class ExtractionMethod(Noted):
    """One way of taking the water out of a medium; its place in the table is its code."""

    id: str = column(validate=ma.validate.Regexp(r"^[a-z_]+$"))
    basis: str = column(validate=ma.validate.OneOf([SATURATED_EXTRACT, PORE_WATER]))
    hardly_diluted: bool
    """Whether the extract is about as strong as the water in the medium."""
    water_added: float = 0.0
    """Water added to a volume of medium [L/L]; 0 where none is, or no stated volume."""
    usual: str = column("", validate=ma.validate.OneOf(["", "any", "soilless", "mineral"]))
    """The media for which it is usual, so that a reading without its method may be by it."""


@dataclass(frozen=True, kw_only=True)
class EcClass(Noted):
    """One class of a scheme: above `lower` [dS/m], up to and with the `lower` of the next.

    `rank` puts classes of all schemes on one scale: 0 is what most plants want, above is too salt.
    """

    scheme: str
    method: str
    governing: bool
    id: str = column(data_key="class")
    rank: int
    lower: float = column(validate=ma.validate.Range(min=0))
    applies_to: str
    """Id of the words for the media that the scheme is for."""


@dataclass(frozen=True)
class ClassScheme:
    """A published set of classes for one extraction method."""

    id: str
    method: str
    governing: bool
    applies_to: str
    source: str
    provenance: str
    note_id: str
    classes: tuple[EcClass, ...]

    @property
    def limits(self) -> tuple[float, ...]:
        """Upper limits of all classes but the last [dS/m]."""
        return tuple(each.lower for each in self.classes[1:])


Points = tuple[tuple[float, float], ...]


def _points(text: str) -> Points:
    try:
        pairs = [pair.split(":") for pair in text.split()]
        return tuple((float(reading), float(basis)) for reading, basis in pairs)
    except ValueError as error:
        raise ma.ValidationError("not pairs of numbers") from error


@dataclass(frozen=True, kw_only=True)
class EcConversion(Noted):
    """A published conversion of a reading to the saturated extract or to the pore water.

    Given by points, or by the slope and the intercept of a line. `scatter` is the standard
    deviation of the logarithm of readings about the conversion [-].
    """

    id: str
    method: str
    to: str = column(validate=ma.validate.OneOf([SATURATED_EXTRACT, PORE_WATER]))
    medium: str = column(validate=ma.validate.OneOf([*MEDIUM_KINDS, *MEDIUM_GROUPS]))
    governing: bool
    given_points: Points | None = column(None, data_key="points", read=_points)
    slope: float | None = None
    intercept: float = 0.0
    scatter: float = column(validate=ma.validate.Range(min=0, max=1))
    applies_to: str
    """Id of the words for the media that it is for."""

    def check(self) -> None:
        """Refuse points that do not rise, and a row with points and a line, or neither."""
        if (self.given_points is None) == (self.slope is None):
            raise ma.ValidationError("give either points or a slope with its intercept")
        steps = [(0.0, 0.0), *self.points]
        if any(b[0] <= a[0] or b[1] <= a[1] for a, b in pairwise(steps)):
            raise ma.ValidationError("the points do not rise")

    @property
    def points(self) -> Points:
        """Pairs of EC by the method and EC on the basis [dS/m].

        Straight lines join them from (0, 0); beyond the last they are carried on in proportion.
        """
        if self.slope is None:
            return self.given_points or ()
        if self.intercept == 0.0:
            return ((1.0, self.slope),)
        return tuple(((y - self.intercept) / self.slope, y) for y in (_JOIN_AT, _FAR))

    def applies(self, medium: str) -> bool:
        """Tell whether the conversion was made for a medium of this kind."""
        return medium in MEDIUM_GROUPS.get(self.medium, (self.medium,))


@cache
def extraction_methods() -> tuple[ExtractionMethod, ...]:
    """Return the extraction methods; the place of each is its code in arrays."""
    return read_table("extraction_methods.csv", ExtractionMethod)


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
    grouped: dict[tuple[str, str], list[EcClass]] = {}
    for row in read_table("ec_classes.csv", EcClass):
        grouped.setdefault((row.scheme, row.method), []).append(row)
    schemes = []
    for (scheme, method), rows in grouped.items():
        lowers = [row.lower for row in rows]
        if method not in method_codes() or lowers[0] != 0 or lowers != sorted(set(lowers)):
            raise TableError(f"ec_classes.csv: {scheme} for {method} does not rise from zero")
        schemes.append(
            ClassScheme(
                id=scheme,
                method=method,
                governing=rows[0].governing,
                applies_to=rows[0].applies_to,
                source=rows[0].source,
                provenance=weakest(row.provenance for row in rows),
                note_id=rows[0].note_id,
                classes=tuple(rows),
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
    return _applying(all_ec_conversions(), method, medium)


@cache
def all_ec_conversions() -> tuple[EcConversion, ...]:
    """Return every published conversion.

    Raises
    ------
    TableError
        If a method has not exactly one governing conversion in each kind of medium.
    """
    rows = tuple(read_keyed("ec_conversions.csv", EcConversion, lambda row: row.id).values())
    for method, medium in product(method_codes(), MEDIUM_KINDS):
        _applying(rows, method, medium)
    return rows


def _applying(
    conversions: tuple[EcConversion, ...], method: str, medium: str
) -> tuple[EcConversion, ...]:
    applying = [each for each in conversions if each.method == method and each.applies(medium)]
    if sum(each.governing for each in applying) != 1:
        raise TableError(f"ec_conversions.csv: {method} in {medium} has not one governing row")
    return tuple(sorted(applying, key=lambda each: not each.governing))
