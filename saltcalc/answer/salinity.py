"""How salty the medium is, in words and quantities."""

from __future__ import annotations

import math
from typing import Any

from saltcalc.answer.ledger import Ledger
from saltcalc.answer.quantities import EC_UNIT, Json, quantity
from saltcalc.assessment.batch import Samples
from saltcalc.assessment.salinity import Salinity
from saltcalc.data.extraction import (
    MEDIUM_KINDS,
    ClassScheme,
    EcClass,
    class_schemes,
    ec_conversions,
    extraction_methods,
    governing_schemes,
)
from saltcalc.science.salinity_classes import class_of_ec
from saltcalc.science.temperature import REFERENCE_TEMPERATURE, outside_reliable_range
from saltcalc.science.uncertainty import Interval

UNUSUAL_EC = 15.0
"""EC [dS/m] above which a reading of a growing medium is more often a slip than a salt."""

_OF_TEMPERATURE = ("sheets-hendrickx-1995", "corwin-lesch-2005", "precision-agric-12-55")


def answer_salinity(
    result: Salinity, samples: Samples, row: int, ledger: Ledger, *, is_floor: bool
) -> Json | None:
    """Return how salty a medium is, or None where no EC is known.

    Parameters
    ----------
    result : Salinity
        Of the batch.
    samples : Samples
        Of the batch, with its gaps filled.
    row : int
        Which sample.
    ledger : Ledger
        Where to note what it rests on.
    is_floor : bool
        Whether the EC is the least that the reported ions allow, instead of a reading.
    """
    if math.isnan(result.ec_25c[row]):
        ledger.miss(
            "salinity",
            ["/medium/ec", "/medium/ions"],
            "Without an EC or ions nothing can be said of total salts.",
        )
        return None
    _warn(result, samples, row, ledger)
    if is_floor:
        ledger.warn(
            "ec-is-a-floor",
            "caution",
            f"No EC was measured. {result.ec_25c[row]:.2g} dS/m is the least that the reported "
            "ions allow, a floor; the medium may be saltier. Everything that follows rests on it: "
            "measure the EC.",
            "/medium/ec",
        )
    method = extraction_methods()[samples.extraction[row]]
    classed_by = extraction_methods()[result.reading_class.method[row]]
    scheme = governing_schemes()[classed_by.id]
    code = int(result.reading_class.code[row])
    if classed_by.id != method.id:
        ledger.warn(
            "class-by-converted-reading",
            "note",
            f"No classes are published for {method.name}; the reading is converted to "
            f"{classed_by.name} and classed there.",
            "/medium/extraction",
        )
    conversions = ec_conversions(method.id, MEDIUM_KINDS[result.medium_kind[row]])
    return {
        "class": scheme.classes[code].id,
        "meaning": scheme.classes[code].meaning,
        "class_range": _class_range(scheme, code),
        "possible_classes": [
            each.id
            for each in scheme.classes[
                int(result.reading_class.low[row]) : None
                if is_floor
                else int(result.reading_class.high[row]) + 1
            ]
        ],
        "class_scheme": f"{scheme.id}, {classed_by.id}",
        "other_classes": [
            _other_class(other, float(result.reading_class.ec.value[row]), ledger)
            for other in class_schemes()
            if other.method == classed_by.id and not other.governing
        ],
        "method": method.id,
        "basis": "floor" if is_floor else "measured",
        "ec_25c": quantity(float(result.ec_25c[row]), EC_UNIT),
        "ec_saturated_extract": _interval(result.saturated_extract, row, EC_UNIT),
        "ec_pore_water": _interval(result.pore_water, row, EC_UNIT),
        "osmotic_potential": _interval(result.osmotic_potential, row, "kPa"),
        "sources": ledger.cite(
            scheme.source,
            *(conversion.source for conversion in conversions),
            "hb60",
            *(() if samples.medium.temperature[row] == REFERENCE_TEMPERATURE else _OF_TEMPERATURE),
        ),
    }


def _interval(interval: Interval, row: int, unit: str) -> Json | None:
    value, low, high = (float(part[row]) for part in interval)
    return quantity(value, unit, low, high)


def _class_range(scheme: ClassScheme, code: int) -> Json:
    classes: tuple[EcClass | None, ...] = (*scheme.classes, None)
    above = classes[code + 1]
    return {
        "low": scheme.classes[code].lower,
        "high": above.lower if above else None,
        "unit": EC_UNIT,
    }


def _other_class(scheme: ClassScheme, ec: float, ledger: Ledger) -> dict[str, Any]:
    code = int(class_of_ec(ec, scheme.limits))
    return {
        "scheme": scheme.id,
        "class": scheme.classes[code].id,
        "class_range": _class_range(scheme, code),
        "sources": ledger.cite(scheme.source),
    }


def _warn(result: Salinity, samples: Samples, row: int, ledger: Ledger) -> None:
    temperature = float(samples.medium.temperature[row])
    if outside_reliable_range(temperature):
        ledger.warn(
            "reading-too-cold-or-hot",
            "caution",
            f"At {temperature:.3g} °C the correction to 25 °C is not dependable; read again at "
            "room temperature.",
            "/medium/temperature",
        )
    if result.ec_25c[row] == 0:
        ledger.warn(
            "ec-of-zero",
            "caution",
            "A reading of zero is a dry or failed probe more often than a medium without salt; "
            "check the meter in a calibration solution.",
            "/medium/ec",
        )
    if result.ec_25c[row] > UNUSUAL_EC:
        ledger.warn(
            "unusual-ec",
            "caution",
            f"An EC of {result.ec_25c[row]:.3g} dS/m is beyond almost any growing medium; check "
            "the unit of the reading.",
            "/medium/ec",
        )
