"""The irrigation water as a source of salt, in words and quantities."""

from __future__ import annotations

import math

import numpy as np

from saltcalc.answer.ledger import Ledger
from saltcalc.answer.quantities import EC_UNIT, SHARE_UNIT, Json, quantity
from saltcalc.answer.wording import figure
from saltcalc.assessment.assess import Assessment
from saltcalc.assessment.irrigation_water import RAIN_EC
from saltcalc.assessment.vocabulary import STAGES
from saltcalc.data.water_classes import class_scales
from saltcalc.science.alkalinity import (
    PER_MMOLC,
    carbonate_fractions,
    carbonate_hardness,
    from_mmolc,
    hardness,
)
from saltcalc.science.water_classes import NO_CLASS, classify

_SCALE = ("fao29", "ecw")


def answer_irrigation_water(assessment: Assessment, sample: int, ledger: Ledger) -> Json | None:
    """Return what a sample's irrigation water brings, or None where nothing of it was given.

    Parameters
    ----------
    assessment : Assessment
        Of the batch.
    sample : int
        Which sample.
    ledger : Ledger
        Where to note what it rests on.
    """
    ions = assessment.batch.samples.water.ions
    alkalinity = float(ions["bicarbonate"][sample])
    calcium, magnesium = float(ions["calcium"][sample]), float(ions["magnesium"][sample])
    known = bool(assessment.water_is_known[sample])
    if not known and math.isnan(alkalinity) and math.isnan(calcium + magnesium):
        ledger.miss(
            "water", ["/water/ec", "/water/ions"], "Nothing was said of the irrigation water."
        )
        return None
    ec = float(assessment.salinity.water_ec_25c[sample]) if known else math.nan
    scale = class_scales()[_SCALE]
    code = int(classify(ec, scale))
    low, high = (None, None) if code == NO_CLASS else scale.range_of(code)
    measured = not math.isnan(assessment.given.samples.water.ec[sample])
    return {
        "ec_25c": quantity(ec, EC_UNIT),
        "basis": ("measured" if measured else "floor") if known else None,
        "class": None if code == NO_CLASS else scale.names[code],
        "class_range": {"low": low, "high": high, "unit": EC_UNIT},
        "alkalinity": _forms(alkalinity, bicarbonate=True),
        "hardness": _forms(float(hardness(calcium, magnesium)), bicarbonate=False),
        "carbonate_hardness": _forms(
            float(carbonate_hardness(calcium, magnesium, alkalinity)), bicarbonate=False
        ),
        "carbonate_forms": _carbonate_forms(float(assessment.batch.samples.water.ph[sample])),
        "crops": _crops(assessment, sample, ec, ledger),
        "sources": ledger.cite(scale.source, "standard-methods", "judgement"),
    }


def _forms(amount: float, *, bicarbonate: bool) -> list[Json]:
    """Return a sum of charge in every form that laboratories give it in."""
    made = (
        quantity(float(from_mmolc(amount, form)), form)
        for form in PER_MMOLC
        if bicarbonate or form != "mg/L HCO3"
    )
    return [form for form in made if form is not None]


def _carbonate_forms(ph: float) -> list[Json]:
    """Return how dissolved carbonate is divided at a pH."""
    if math.isnan(ph):
        return []
    names = ("carbon_dioxide", "bicarbonate", "carbonate")
    return [
        {"form": name, "share": quantity(float(share), SHARE_UNIT)}
        for name, share in zip(names, carbonate_fractions(ph), strict=True)
    ]


def _crops(assessment: Assessment, sample: int, ec: float, ledger: Ledger) -> list[Json]:
    result, plantings = assessment.irrigation_water, assessment.batch.plantings
    rows = np.flatnonzero(plantings.sample == sample)
    if rows.size and not math.isnan(ec):
        assume_rain(ledger)
    return [_crop(assessment, int(row), ec, result.exceeds[row], ledger) for row in rows]


def assume_rain(ledger: Ledger) -> None:
    """List what rain water is taken to hold."""
    ledger.assume(
        "rain-ec",
        quantity(RAIN_EC, EC_UNIT),
        "Rain water from a clean roof and tank; near the sea it can be saltier: measure it.",
        "",
        "judgement",
    )


def _crop(assessment: Assessment, row: int, ec: float, exceeds: bool, ledger: Ledger) -> Json:
    result, plantings = assessment.irrigation_water, assessment.batch.plantings
    crop = assessment.catalogue[plantings.crop[row]]
    limit = float(result.highest_ec[row])
    least, comfortable = float(result.least_rain[row]), float(result.comfortable_rain[row])
    if exceeds:
        blend = (
            "Even rain water alone is too salty for it."
            if math.isnan(least)
            else f"Blend in at least {_percent(least)} % of rain water"
            + ("." if math.isnan(comfortable) else f", better {_percent(comfortable)} %.")
        )
        ledger.warn(
            "water-exceeds-crop",
            "stop",
            f"This water (EC {ec:.2g} dS/m) is saltier than {crop.name} stands in the pores "
            f"({limit:.2g} dS/m): no flush with it can help. {blend}",
            "/water/ec",
        )
    ions_above = _ions_above(assessment, row, ledger)
    return {
        "crop": crop.id,
        "stage": STAGES[plantings.stage[row]],
        "ions_above": ions_above,
        "highest_ec": quantity(limit, EC_UNIT),
        "exceeds": None if math.isnan(ec) or math.isnan(limit) else bool(exceeds),
        "least_rain": quantity(least, SHARE_UNIT),
        "comfortable_rain": quantity(comfortable, SHARE_UNIT),
    }


def _ions_above(assessment: Assessment, row: int, ledger: Ledger) -> list[str]:
    """Name the ions of the water that alone are at what a crop stands, or above."""
    excess = assessment.ions_excess
    crop = assessment.catalogue[assessment.batch.plantings.crop[row]]
    above = []
    for name, unit, ion in (
        ("chloride", "mmol/L", excess.chloride),
        ("boron", "mg/L", excess.boron),
    ):
        if not ion.water_exceeds[row]:
            continue
        above.append(name)
        ledger.warn(
            "water-ion-exceeds-crop",
            "stop",
            f"This water holds {figure(float(ion.in_water[row]))} {unit} of {name}, and "
            f"{crop.name} stands {figure(float(ion.limit[row]))} {unit} in the pores: the medium "
            "comes to more than that however much drains. Use rain water or another source.",
            f"/water/ions/{name}",
        )
    return above


def _percent(share: float) -> int:
    """Return a share as a whole per cent, rounded up to be on the safe side."""
    return math.ceil(100 * share - 1e-9)
