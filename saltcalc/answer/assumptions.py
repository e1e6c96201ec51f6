"""The defaults that entered an answer, each with its value, its reason and its field."""

from __future__ import annotations

from typing import Any

import numpy as np

from saltcalc.answer.quantities import EC_UNIT, SHARE_UNIT, quantity
from saltcalc.case.defaults import READING_TEMPERATURE, Default, of_sample
from saltcalc.case.vocabulary import DRAINAGE, STAGES
from saltcalc.data.extraction import extraction_methods
from saltcalc.data.substrates import substrates
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.notes import Notes
from saltcalc.parts.readings import EcReadings

_IONS = {"bicarbonate": "alkalinity", "calcium": "hardness", "magnesium": "hardness"}
_DERIVED = [(owner, ion, given) for owner in ("medium", "water") for ion, given in _IONS.items()]
_FROM = {
    "alkalinity": "The alkalinity is taken as bicarbonate.",
    "hardness": "Hardness is calcium and magnesium together; where neither was reported, three "
    "quarters are taken as calcium.",
}

_REASONS = {
    "medium-ec-floor": "No EC was measured. The ions that were reported, with the least salts "
    "that they must bring, read at least this; the true EC is this or higher.",
    "water-ec-floor": "No EC of the water was measured. The ions that were reported, with the "
    "least salts that they must bring, read at least this.",
    **{f"{owner}-{ion}-from-{given}": _FROM[given] for owner, ion, given in _DERIVED},
    "medium-temperature": "Most meters correct to 25 °C by themselves; if yours does not, give "
    "the temperature.",
    "water-ec": "No EC of the irrigation water was given; a mains water of moderate hardness "
    "reads about this.",
    "water-temperature": "Most meters correct to 25 °C by themselves.",
    "extraction": "Laboratories report container media by the saturated media extract most often. "
    "The same figure means three times as much salt by a 1:2 extract: give the method.",
    "substrate": "No medium was named; the middle of the ranges advised for container media is "
    "taken for the water it holds.",
    "container-height": "A round container as wide as it is high.",
    "container-count": "One container.",
    "container-drainage": "Holes in the base. A container that cannot drain must be given as "
    "sealed.",
    "stage": "The weaker and more usual stage at which salt is suspected.",
    "head-space": "Room for water above the medium; it bounds each pass. Common practice.",
    "moisture": "The container was watered to draining not long ago.",
    "rest": "A rest of 30 to 60 minutes between passes lets salt come out of water that does not "
    "flow. Common practice, no source.",
    "evapotranspiration": "The water use of a leafy crop under cover in the warm season.",
    "irrigation": "Enough for the water use with 15 % draining, the upper end of what is advised "
    "for containers.",
    "feed-ec": "No feed in the water.",
}

_FIELDS = {
    "medium-ec-floor": "/medium/ec",
    "water-ec-floor": "/water/ec",
    **{f"{owner}-{ion}-from-{given}": f"/{owner}/ions/{ion}" for owner, ion, given in _DERIVED},
    "medium-temperature": "/medium/temperature",
    "water-ec": "/water/ec",
    "water-temperature": "/water/temperature",
    "extraction": "/medium/extraction",
    "substrate": "/medium/substrate",
    "container-height": "/containers/{position}/height",
    "container-count": "/containers/{position}/count",
    "container-drainage": "/containers/{position}/drainage",
    "stage": "/crops/{position}/stage",
    "head-space": "/containers/{position}/head_space",
    "moisture": "/containers/{position}/moisture",
    "rest": "/rest",
    "evapotranspiration": "/evapotranspiration",
    "irrigation": "/irrigation",
    "feed-ec": "/feed_ec",
}

_QUANTITIES = {
    "medium-ec-floor": EC_UNIT,
    "water-ec-floor": EC_UNIT,
    **{f"{owner}-{ion}-from-{given}": "mmol_c/L" for owner, ion, given in _DERIVED},
    "medium-temperature": "°C",
    "water-temperature": "°C",
    "water-ec": EC_UNIT,
    "container-height": "cm",
    "head-space": "cm",
    "moisture": SHARE_UNIT,
    "rest": "h",
    "evapotranspiration": "mm/day",
    "irrigation": "mm/day",
    "feed-ec": EC_UNIT,
}

OF_FLUSH = frozenset({"head-space", "moisture", "rest"})
"""Defaults that only a flush rests on."""

OF_UPKEEP = frozenset({"evapotranspiration", "irrigation", "feed-ec"})
"""Defaults that only the build-up between flushes rests on."""


def state_defaults(
    assessment: Assessment, sample: int, leave_out: frozenset[str], notes: Notes
) -> None:
    """List the defaults that entered one sample's answer.

    Parameters
    ----------
    assessment : Assessment
        Of the batch.
    sample : int
        Which sample the answer is about.
    leave_out : frozenset of str
        Ids of defaults that did not enter this answer.
    notes : Notes
        Where to list them.
    """
    batch = assessment.batch
    owners = {"containers": batch.containers.sample, "plantings": batch.plantings.sample}
    first = {
        table: int(np.argmax(owner == sample)) for table, owner in owners.items() if owner.size
    }
    for default, row in of_sample(assessment.defaults, batch, sample):
        if default.id not in leave_out:
            notes.assume(
                default.id,
                _value(default, row),
                _REASONS[default.id],
                _FIELDS[default.id].format(position=row - first.get(default.table, 0)),
                "judgement",
            )


def state_reading_temperatures(readings: EcReadings, rows: str, field: str, notes: Notes) -> None:
    """List that readings without a temperature were taken as read at 25 °C.

    Parameters
    ----------
    readings : EcReadings
        Of drainage, or of what was poured on.
    rows : str
        The list of the request that they stand in, for example ``pots``.
    field : str
        The field of a row that overrides it.
    notes : Notes
        Where to list them.
    """
    for position in np.flatnonzero(readings.assumed):
        notes.assume(
            "reading-temperature",
            quantity(READING_TEMPERATURE, "°C"),
            "Most meters correct to 25 °C by themselves; if yours does not, give the temperature.",
            f"/{rows}/{position}/{field}",
            "judgement",
        )


def _value(default: Default, row: int) -> Any:
    value = default.values[row]
    if default.id in _QUANTITIES:
        return quantity(float(value), _QUANTITIES[default.id])
    names = {
        "extraction": [method.id for method in extraction_methods()],
        "substrate": list(substrates()),
        "container-drainage": DRAINAGE,
        "stage": STAGES,
    }
    return names[default.id][value] if default.id in names else int(value)
