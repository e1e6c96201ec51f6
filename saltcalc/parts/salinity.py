"""How salty the media are: the reading at 25 °C, its class, and the common bases."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.data.extraction import (
    MEDIUM_KINDS,
    ClassScheme,
    class_schemes,
    ec_conversions,
    extraction_methods,
    governing_schemes,
)
from saltcalc.data.substrates import substrates
from saltcalc.message import Message, say
from saltcalc.parts.choices import EC_BASES, EC_CLASSES, EC_SCHEMES, METHODS
from saltcalc.parts.ions.arrays import one_solution
from saltcalc.parts.notes import Notes, Range
from saltcalc.parts.shown import how_known, later, part, row_of, shown, source_keys
from saltcalc.science._arrays import Codes, Flags, Floats
from saltcalc.science.ec_bounds import ec_upper_bound
from saltcalc.science.extraction import to_both_bases
from saltcalc.science.osmotic import osmotic_potential_at_ec, osmotic_potential_handbook60
from saltcalc.science.salinity_classes import ReadingClass, class_of_ec, classify_reading
from saltcalc.science.saturation import gypsum_tolerance_shift, saturation_index
from saltcalc.science.temperature import (
    REFERENCE_TEMPERATURE,
    ec25_handbook60,
    outside_reliable_range,
)
from saltcalc.science.uncertainty import Z_HIGH, Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

LOWEST_USUAL = -1
"""Rank of the lowest class of readings that feeds plants; 0 is what most plants want."""
UNUSUAL_EC = 15.0
"""EC [dS/m] above which a reading of a growing medium is more often a slip than a salt."""

OSMOTIC_BASES = ("ions", "ec_rule")

RULE_SCATTER = 0.15
"""Standard deviation of the logarithm of the potential about the rule by EC [-]; a judgement: by
the ions, mixed extracts lie from 0.8 to 1.15 of the rule, gypsum at 0.6."""

_OF_TEMPERATURE = ("sheets_hendrickx_1995", "corwin_lesch_2005", "precision_agric_12_55")


@part
class SalinityArrays:
    """How salty the media are, one row a sample; NaN where no EC was measured.

    Attributes
    ----------
    medium_kind : (n,) ndarray of int
        Place in :data:`saltcalc.data.extraction.MEDIUM_KINDS`.
    ec_25c : (n,) ndarray
        The reading at 25 °C [dS/m].
    reading_class : callable that returns ReadingClass
        Class by the scheme that governs the method.
    saturated_extract, pore_water : Interval of (n,) ndarray
        On the common bases [dS/m].
    """

    medium_kind: Codes
    ec_25c: Floats
    reading_class: Callable[[], ReadingClass]
    saturated_extract: Interval
    pore_water: Interval


@part
class OtherClass:
    """What another published scheme calls the same reading."""

    scheme: str = shown(choices=EC_SCHEMES)
    class_: str = shown(choices=EC_CLASSES)
    class_range: Range = shown()
    provenance: str = how_known()
    sources: list[str] = source_keys()


@part
class Salinity:
    """How salty the medium is."""

    class_: str | None = shown(
        "Null where only the least EC is known: then see `possible_classes`.", choices=EC_CLASSES
    )
    meaning: Message | None = shown()
    class_range: Range | None = shown()
    usual_range: Range = shown("What most plants want of a reading by this method.")
    possible_classes: list[str] = shown(
        "Classes over the interval of the reading, where there are several.",
        optional=True,
        choices=EC_CLASSES,
    )
    class_scheme: str | None = shown(
        "Published scheme of the class; null where none was published for the method.",
        choices=EC_SCHEMES,
    )
    class_method: str = shown("The extraction method whose classes these are.", choices=METHODS)
    other_classes: list[OtherClass] = shown(
        "By other published schemes, where they put it in another class.", optional=True
    )
    method: str = shown(choices=METHODS)
    basis: str = shown(
        "estimated: from all the ions; lower_bound: the least that they allow.", choices=EC_BASES
    )
    ec_25c: Interval = shown(
        "The reading at 25 °C; where it was not measured, what the ions make or at least make.",
        "dS/m",
    )
    ec_upper_bound: float = shown(
        "Most EC of the ions reported, where no EC was measured; those not reported come on top.",
        "dS/m",
        optional=True,
    )
    ec_saturated_extract: Interval = shown("What the saturated extract would read.", "dS/m")
    ec_pore_water: Interval = shown("EC of the water in the pores at container capacity.", "dS/m")
    osmotic_potential: Interval = shown("Of the pore water at container capacity.", "kPa")
    osmotic_basis: str = shown(
        "Whether it is from the reported ions, or by the rule of 0.36 atm for each dS/m.",
        choices=OSMOTIC_BASES,
    )
    provenance: str = how_known()
    sources: list[str] = source_keys()


def assess_salinity(assessment: Assessment) -> SalinityArrays:
    """Bring the readings of a batch to 25 °C and to the common bases."""
    samples = assessment.batch.samples
    ec = ec25_handbook60(samples.medium.ec, samples.medium.temperature)
    kind = assessment.medium_kind
    pores = assessment.sample_water.pores._replace(water_content=samples.water_content)
    error = assessment.ec_error
    extract, pore_water = (
        _widened(each, error) for each in to_both_bases(ec, samples.extraction, kind, pores)
    )
    return SalinityArrays(
        medium_kind=kind,
        ec_25c=ec,
        reading_class=later(
            lambda: classify_reading(ec, samples.extraction, kind, pores, error=error)
        ),
        saturated_extract=extract,
        pore_water=pore_water,
    )


def _widened(interval: Interval, error: Floats) -> Interval:
    """Let the error of an EC from ions join the interval of a conversion, by their logarithms."""
    if not error.any():
        return interval
    with np.errstate(divide="ignore", invalid="ignore"):
        ends = [np.log(end / interval.value) for end in (interval.low, interval.high)]
    low, high = (
        np.where(error > 0, interval.value * np.exp(sign * np.hypot(end, error)), plain)
        for sign, end, plain in zip((-1, 1), ends, (interval.low, interval.high), strict=True)
    )
    return Interval(interval.value, low, high)


def assess_tolerance_shift(assessment: Assessment) -> Floats:
    """How much more EC plants stand because gypsum, dissolved by the extraction, is read [dS/m]."""
    medium, species = assessment.batch.samples.medium, assessment.medium_species
    if species is None:
        return np.zeros(medium.ec.shape)
    return gypsum_tolerance_shift(saturation_index("gypsum", medium.ions, medium.ph, species))


def show_salinity(assessment: Assessment, sample: int, notes: Notes) -> Salinity | None:
    """Return how salty a sample's medium is, or None where no EC is known."""
    result, samples = row_of(assessment.salinity, sample), assessment.batch.samples
    if math.isnan(result.ec_25c):
        notes.missing("salinity", "/medium/ec", "/medium/ions")
        return None
    temperature = float(samples.medium.temperature[sample])
    is_floor, error = bool(assessment.ec_is_lower_bound[sample]), float(assessment.ec_error[sample])
    ec, basis = (
        float(result.ec_25c),
        "lower_bound" if is_floor else "estimated" if error else "measured",
    )
    find_doubts(ec, temperature, notes, confirmed=bool(assessment.medium_ions.ec_confirmed[sample]))
    if is_floor:
        notes.find("ec_is_lower_bound", "caution", "/medium/ec", ec=result.ec_25c)
    elif error:
        ends = {"low": ec * (1 - error), "high": ec * (1 + error)}
        notes.find("ec_is_estimated", "caution", "/medium/ec", **ends)
    method = extraction_methods()[samples.extraction[sample]]
    found = result.reading_class
    classed_by = extraction_methods()[found.method]
    scheme = governing_schemes()[classed_by.id]
    if classed_by.id != method.id:
        notes.find(
            "class_by_converted_reading",
            "note",
            "/medium/extraction",
            method=say(f"extraction_methods.name.{method.id}"),
            classed_by=say(f"extraction_methods.name.{classed_by.id}"),
        )
    last = None if is_floor else found.high + 1
    possible = [each.id for each in scheme.classes[found.low : last]]
    class_ = None if is_floor and len(possible) > 1 else scheme.classes[found.code]
    conversions = ec_conversions(method.id, MEDIUM_KINDS[result.medium_kind])
    osmotic, osmotic_basis = _osmotic_of(
        {ion: float(given[sample]) for ion, given in samples.medium.ions.items()},
        result.pore_water,
        whole=bool(assessment.medium_is_whole[sample]),
    )
    return Salinity(
        class_=class_ and class_.id,
        meaning=class_ and say(f"ec_classes.meaning.{scheme.id}.{class_.id}"),
        class_range=class_ and _class_range(scheme, int(found.code)),
        usual_range=_usual_range(
            scheme,
            1.0 if not ec else ec / float(found.ec.value),
            from_zero=bool(assessment.little_feed_will_do[sample]),
        ),
        possible_classes=possible if len(possible) > 1 else [],
        class_scheme=scheme.id,
        class_method=classed_by.id,
        other_classes=[
            _other_class(other, code, notes)
            for other in class_schemes()
            if other.method == classed_by.id and not other.governing
            for code in [int(class_of_ec(found.ec.value, other.limits))]
            if class_ and other.classes[code].id != class_.id
        ],
        method=method.id,
        basis=basis,
        ec_25c=Interval.of(ec, ec * (1 - error), math.inf if is_floor else ec * (1 + error)),
        ec_upper_bound=_upper_bound(assessment, sample) if is_floor else math.nan,
        ec_saturated_extract=_open(result.saturated_extract, is_floor),
        ec_pore_water=_open(result.pore_water, is_floor),
        osmotic_potential=osmotic._replace(low=np.array(-math.inf)) if is_floor else osmotic,
        osmotic_basis=osmotic_basis,
        **notes.rest_on(
            scheme,
            *conversions,
            also=(
                *(("pitzer_mayorga_1973", "phreeqc_database") if osmotic_basis == "ions" else ()),
                "hb60",
                *(() if temperature == REFERENCE_TEMPERATURE else _OF_TEMPERATURE),
            ),
        ),
    )


def _osmotic_of(
    ions: Mapping[str, float], pore_water: Interval, *, whole: bool
) -> tuple[Interval, str]:
    """Return the osmotic potential of pore water [kPa], and what it is from.

    Parameters
    ----------
    ions : mapping of str to float
        The extract's [mmol_c/L]; NaN for what was not reported. The pore water holds them in the
        same proportions.
    pore_water : Interval of float
        Its EC at 25 °C [dS/m].
    whole : bool
        Whether the ions stand for all that is dissolved.
    """
    bounds = np.array([pore_water.value, pore_water.high, pore_water.low])
    if whole:
        found = osmotic_potential_at_ec(ions, bounds)
        if np.isfinite(found).all():
            return Interval.of(*found), OSMOTIC_BASES[0]
    value, low, high = osmotic_potential_handbook60(bounds)
    # Both spreads are of the logarithm: that of the EC, and that of the rule.
    with np.errstate(invalid="ignore", divide="ignore"):
        spread = [np.hypot(np.log(bound / value), Z_HIGH * RULE_SCATTER) for bound in (low, high)]
    widened = Interval.of(value, value * np.exp(spread[0]), value * np.exp(-spread[1]))
    return (widened if value < 0 else Interval.of(value, low, high)), OSMOTIC_BASES[1]


def _upper_bound(assessment: Assessment, sample: int) -> float:
    medium = assessment.batch.samples.medium
    return float(ec_upper_bound(one_solution(medium, sample), medium.ph[sample]))


def _open(interval: Interval, is_floor: bool) -> Interval:
    return interval._replace(high=np.array(math.inf)) if is_floor else interval


def _class_range(scheme: ClassScheme, code: int) -> Range:
    above = scheme.classes[code + 1 :]
    return Range(scheme.classes[code].lower, above[0].lower if above else None, "dS/m")


def _usual_range(scheme: ClassScheme, own: float, *, from_zero: bool) -> Range:
    """Return the classes that most plants want, in the reading of a method of which 1 is `own`.

    From zero where coated fertilizer feeds or the crop wants little: no least is published there.
    """
    usual = [each.lower for each in scheme.classes if each.rank >= LOWEST_USUAL]
    low = 0.0 if from_zero else usual[0]
    high = next(each.lower for each in scheme.classes if each.rank > 0)
    return Range(own * low or None, own * high, "dS/m")


def _other_class(scheme: ClassScheme, code: int, notes: Notes) -> OtherClass:
    return OtherClass(
        scheme=scheme.id,
        class_=scheme.classes[code].id,
        class_range=_class_range(scheme, code),
        **notes.rest_on(scheme),
    )


def find_doubts(ec: float, temperature: float, notes: Notes, *, confirmed: bool = False) -> None:
    """Doubt a reading that is unusual, a high one unless the ions confirm it."""
    if outside_reliable_range(temperature):
        notes.find(
            "reading_too_cold_or_hot",
            "caution",
            "/medium/temperature",
            temperature=temperature,
        )
    if ec == 0:
        notes.find("ec_of_zero", "caution", "/medium/ec")
    if ec > UNUSUAL_EC and not confirmed:
        notes.find("unusual_ec", "caution", "/medium/ec", ec=ec)


@cache
def classes_by_name() -> Codes:
    """Return the place in `EC_CLASSES` of each class by its method's governing scheme.

    The shape is (methods, classes); -1 where a method has no scheme or no such class.
    """
    schemes = [governing_schemes().get(method.id) for method in extraction_methods()]
    most = max(len(scheme.classes) for scheme in schemes if scheme)
    found = np.full((len(schemes), most + 1), -1)
    for row, scheme in zip(found, schemes, strict=True):
        if scheme:
            row[: len(scheme.classes)] = [EC_CLASSES.index(each.id) for each in scheme.classes]
    return found


@cache
def hardly_diluted_methods() -> Flags:
    """Return which methods give an extract about as strong as the water in the medium."""
    return np.array([each.hardly_diluted for each in extraction_methods()])


@cache
def kinds_of_media() -> Codes:
    """Return the kind of each substrate, a place in `MEDIUM_KINDS`."""
    kinds = [MEDIUM_KINDS.index(substrate.texture) for substrate in substrates().values()]
    return np.array(kinds, dtype=np.intp)
