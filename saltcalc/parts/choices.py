"""The closed sets that answers take ids from, where several parts share one."""

from __future__ import annotations

from saltcalc.data.extraction import (
    MEDIUM_GROUPS,
    MEDIUM_KINDS,
    PORE_WATER,
    SATURATED_EXTRACT,
    class_schemes,
    method_codes,
)
from saltcalc.data.stage_limits import stage_limits
from saltcalc.data.water_classes import ClassScale, class_scales
from saltcalc.science.balance import ANIONS, CATIONS

METHODS = tuple(method_codes())
CONVERSION_BASES = (SATURATED_EXTRACT, PORE_WATER)
CONVERSION_GROUPS = (*MEDIUM_KINDS, *MEDIUM_GROUPS)
EC_SCHEMES = tuple(dict.fromkeys(scheme.id for scheme in class_schemes()))
EC_CLASSES = tuple(dict.fromkeys(each.id for scheme in class_schemes() for each in scheme.classes))
EC_BASES = ("measured", "estimated", "lower_bound")
TABLE_STAGES = tuple(dict.fromkeys(limit.stage for limit in stage_limits()))
IONS = (*CATIONS, *ANIONS, "boron", "hydrogen", "hydroxide")


def names_of(*scales: tuple[str, str]) -> tuple[str, ...]:
    """Return the classes of scales for waters and ions, each once."""
    found: list[ClassScale] = [class_scales()[scale] for scale in scales]
    return tuple(dict.fromkeys(name for scale in found for name in scale.names))
