"""Which salts are dissolved, in words and quantities."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from saltcalc.answer.quantities import EC_UNIT, SHARE_UNIT, Json, quantity
from saltcalc.answer.reporting_slips import answer_slips
from saltcalc.case.batch import Solutions
from saltcalc.data.minerals import salts
from saltcalc.data.reported_ions import reported_ions
from saltcalc.parts.ions import Ions, crust_of, saturation_of, slips_of
from saltcalc.parts.notes import Notes
from saltcalc.science.balance import (
    ANIONS,
    BALANCE_VERDICTS,
    CATIONS,
    COUNTER_IONS,
    EC_VERDICTS,
    ec_floor,
)
from saltcalc.science.character import CHARACTERS, LIMITS, MIXED, NO_CHARACTER
from saltcalc.science.conductivity import VALID_IONIC_STRENGTH
from saltcalc.science.saturation import SATURATED

_CHARGE_UNIT = "mmol_c/L"
_METHOD = "onsager-with-ion-pairs"
_MOST_CRUST = 6
_GET_ENGINE = (
    "PHREEQC is not installed; the indices are from the ion-pair model of this service. Install "
    "the extra 'saltcalc[chemistry]' (it brings phreeqpython) to have PHREEQC compute them."
)

CHARACTER_NAMES = {
    "sodium": "sodium salts",
    "chloride": "chloride salts",
    "nutrient": "nutrient salts (nitrate and potassium)",
    "ammonium": "ammonium salts",
    "sulfate": "gypsum and other sulfate salts",
    "bicarbonate": "bicarbonate, alkaline",
    "mixed": "mixed salts",
}

_MISSING_NAMES = {"organic_anions": "organic anions, which laboratories seldom measure"}


def answer_ions(
    result: Ions,
    solutions: Solutions,
    row: int,
    owner: str,
    dilutions: Mapping[str, float],
    measured_ec: float,
    notes: Notes,
) -> Json | None:
    """Return which salts a solution holds, or None where no ion was reported.

    Parameters
    ----------
    result : Ions
        Of the media or the waters.
    solutions : Solutions
        The same, with their gaps filled.
    row : int
        Which sample.
    owner : {"medium", "water"}
        Whose solution it is.
    dilutions : mapping of str to float
        Factor that brings the figures of each other extraction to those of this one.
    measured_ec : float
        EC at 25 °C [dS/m]; NaN where none was measured.
    notes : Notes
        Where to note what it rests on.
    """
    reported = {ion: float(values[row]) for ion, values in solutions.ions.items()}
    if all(math.isnan(reported[ion]) for ion in CATIONS + ANIONS):
        notes.miss(
            f"ions/{owner}",
            [f"/{owner}/ions"],
            "Without the ions of a laboratory report nothing says which salt it is.",
        )
        return None
    _warn_range(result, row, owner, notes)
    return {
        "ec_from_ions": quantity(float(result.conductivity.ec[row]), EC_UNIT),
        "method": _METHOD,
        "ionic_strength": quantity(float(result.conductivity.ionic_strength[row]), "mol/L"),
        "within_range": bool(result.conductivity.valid[row]),
        "shares": _shares(result, reported, row),
        "charge_balance": _balance(result, reported, row, owner, notes),
        "agreement": _agreement(result, solutions, row, owner, dilutions, measured_ec, notes),
        "ec_floor": _floor(solutions, row) if math.isnan(measured_ec) else None,
        "character": _character(result, row, notes),
        "hypothetical_salts": _salts(result, row, notes),
        "crust": [
            {
                "name": one.name,
                "concentration": quantity(one.concentration, SHARE_UNIT),
                "method": one.method,
            }
            for one in crust_of(solutions, row)[:_MOST_CRUST]
        ],
        "saturation": _saturation(result, solutions, row, owner, notes),
        "sources": notes.cite(
            "crc",
            "robinson-stokes-1959",
            "contact-radius-fit",
            "phreeqc-database",
            "truesdell-jones-1974",
            "standard-methods",
            "collins-1923",
            "back-1966",
            "judgement",
        ),
    }


def _warn_range(result: Ions, row: int, owner: str, notes: Notes) -> None:
    if not result.conductivity.valid[row]:
        notes.warn(
            "ions-beyond-range",
            "caution",
            f"The ions are stronger than {VALID_IONIC_STRENGTH:g} mol/L of ionic strength, beyond "
            "what the EC from ions was checked for. Check the units of the figures.",
            f"/{owner}/ions",
        )


def _shares(result: Ions, reported: dict[str, float], row: int) -> list[Json]:
    rows = []
    for ion, share in result.conductivity.shares.items():
        facts = reported_ions().get(ion)
        if facts is None:
            if not math.isnan(share[row]):
                rows.append({"ion": ion, "share_of_ec": quantity(float(share[row]), SHARE_UNIT)})
            continue
        amount = reported[ion]
        if math.isnan(amount):
            continue
        rows.append(
            {
                "ion": ion,
                "reported_as": facts.reported_as,
                "mass": quantity(amount * facts.mass_per_charge, "mg/L"),
                "charge": quantity(amount if facts.charge else 0.0, _CHARGE_UNIT),
                "share_of_ec": quantity(float(share[row]), SHARE_UNIT),
            }
        )
    return sorted(rows, key=lambda one: -_value(one["share_of_ec"]))


def _value(given: Json | None) -> float:
    return float(given["value"]) if given else 0.0


def _balance(result: Ions, reported: dict[str, float], row: int, owner: str, notes: Notes) -> Json:
    balance = result.balance
    verdict = BALANCE_VERDICTS[balance.verdict[row]]
    amount = float(balance.missing[row])
    likely = [ion for ion, flags in result.candidates.items() if flags[row]]
    missing = None
    if verdict != "balanced":
        kind = "anions" if verdict == "anions-missing" else "cations"
        missing = {
            "kind": kind,
            "amount": quantity(amount, _CHARGE_UNIT),
            "candidates": likely,
        }
        names = [_MISSING_NAMES.get(ion) or reported_ions()[ion].name for ion in likely]
        why = f" Not reported, so likely: {', '.join(names)}." if names else ""
        notes.warn(
            "charges-do-not-balance",
            "note",
            f"The report lacks {amount:.2g} mmol_c/L of {kind}, or a figure is wrong.{why}",
            f"ions/{owner}/charge_balance",
        )
    return {
        "cations": quantity(float(balance.cations[row]), _CHARGE_UNIT),
        "anions": quantity(float(balance.anions[row]), _CHARGE_UNIT),
        "error": quantity(float(balance.error[row]), "%"),
        "criterion": quantity(float(balance.criterion[row]), _CHARGE_UNIT),
        "verdict": verdict,
        "missing": missing,
        "sources": notes.cite("standard-methods"),
    }


def _agreement(
    result: Ions,
    solutions: Solutions,
    row: int,
    owner: str,
    dilutions: Mapping[str, float],
    measured_ec: float,
    notes: Notes,
) -> Json:
    agreement = result.agreement
    code = int(agreement.verdict[row])
    verdict = EC_VERDICTS[code] if code >= 0 else None
    if verdict is None:
        notes.miss(
            f"ions/{owner}/agreement",
            [f"/{owner}/ec"],
            "Only a measured EC can be held against the EC of the ions.",
        )
    found = answer_slips(slips_of(solutions, row, measured_ec, dilutions))
    if found:
        notes.warn(
            "reporting-slip",
            "caution",
            f"The figures of the {owner} do not fit together as given. This may explain it: "
            f"{found[0]['sentence']} Check the report and send it again.",
            f"/{owner}/ions",
        )
    elif verdict == "measured-higher":
        notes.warn(
            "unmeasured-salts",
            "note",
            f"The EC measured is {agreement.unexplained[row]:.2g} dS/m above that of the reported "
            "ions: something was not reported.",
            f"ions/{owner}/agreement",
        )
    elif verdict == "measured-lower":
        notes.warn(
            "reading-below-ions",
            "caution",
            "The EC measured is below that of the reported ions: one of the two is wrong, or they "
            "are not of the same extract. Check the units of the report.",
            f"ions/{owner}/agreement",
        )
    return {
        "measured": quantity(measured_ec, EC_UNIT),
        "computed": quantity(float(result.conductivity.ec[row]), EC_UNIT),
        "ratio": quantity(float(agreement.ratio[row]), SHARE_UNIT),
        "unexplained": quantity(float(agreement.unexplained[row]), EC_UNIT),
        "verdict": verdict,
        "slips": found,
        "sources": notes.cite("standard-methods"),
    }


def _floor(solutions: Solutions, row: int) -> Json | None:
    one = {ion: float(values[row]) for ion, values in solutions.ions.items()}
    floor = ec_floor(one, float(solutions.ph[row]))
    value = quantity(float(floor.ec), EC_UNIT)
    if value is None:
        return None
    code = int(floor.counter_ion)
    return {
        "ec": value,
        "counter_ion": COUNTER_IONS[code] if code >= 0 else None,
        "counter_charge": quantity(float(floor.counter_charge), _CHARGE_UNIT),
        "sentence": "The least EC that the reported ions allow: every anion brings a cation and "
        "every cation an anion. Salts that were not reported come on top.",
    }


def _character(result: Ions, row: int, notes: Notes) -> Json | None:
    code = int(result.character.code[row])
    if code == NO_CHARACTER:
        return None
    figures = {
        name: float(values[row])
        for name, values in result.character.figures.items()
        if not math.isnan(values[row])
    }
    return {
        "id": CHARACTERS[code],
        "name": CHARACTER_NAMES[CHARACTERS[code]],
        "also": [
            name
            for name in CHARACTERS[:MIXED]
            if figures.get(name, 0.0) >= LIMITS[name] and name != CHARACTERS[code]
        ],
        "figures": [
            {
                "of": name,
                "value": quantity(value, SHARE_UNIT),
                "limit": quantity(LIMITS[name], SHARE_UNIT),
            }
            for name, value in figures.items()
        ],
        "sources": notes.cite("back-1966", "judgement"),
    }


def _salts(result: Ions, row: int, notes: Notes) -> Json:
    made = {pair: float(amount[row]) for pair, amount in result.salts.items() if amount[row] > 0}
    total = sum(made.values())
    return {
        "order": "The bars of the cations (Ca, Mg, Na, NH4, K) and of the anions (HCO3, H2PO4, "
        "SO4, Cl, NO3) laid side by side, so that the least soluble salts combine first. The "
        "solution itself holds ions.",
        "salts": [
            {
                "name": salts()[pair].name,
                "formula": salts()[pair].formula,
                "amount": quantity(amount, _CHARGE_UNIT),
                "share": quantity(amount / total, SHARE_UNIT),
            }
            for pair, amount in sorted(made.items(), key=lambda one: -one[1])
        ],
        "sources": notes.cite("collins-1923", "judgement"),
    }


def _saturation(result: Ions, solutions: Solutions, row: int, owner: str, notes: Notes) -> Json:
    found = saturation_of(solutions, result, row)
    if not found.by_engine and np.isfinite([found.gypsum, found.calcite]).any():
        notes.miss(f"ions/{owner}/saturation/phreeqc", [], _GET_ENGINE)
    if math.isnan(found.gypsum):
        notes.miss(
            f"ions/{owner}/saturation/gypsum",
            _unreported(solutions, row, owner, ("calcium", "sulfate_s")),
            "Gypsum needs calcium and sulfate.",
        )
    if math.isnan(found.calcite):
        missing = _unreported(solutions, row, owner, ("calcium", "bicarbonate"))
        if math.isnan(solutions.ph[row]):
            missing.append(f"/{owner}/ph")
        notes.miss(
            f"ions/{owner}/saturation/calcite", missing, "Lime needs calcium, bicarbonate and pH."
        )
    return {
        "method": "phreeqc" if found.by_engine else "ion-pairs",
        # By the index that crops and flush are judged with, so that the answer agrees with itself.
        "gypsum": _index(found.gypsum, saturated=bool(result.gypsum_saturated[row])),
        "calcite": _index(found.calcite, saturated=found.calcite >= SATURATED),
    }


def _unreported(solutions: Solutions, row: int, owner: str, ions: tuple[str, ...]) -> list[str]:
    return [f"/{owner}/ions/{ion}" for ion in ions if math.isnan(solutions.ions[ion][row])]


def _index(index: float, *, saturated: bool) -> Json | None:
    if not math.isfinite(index):
        return None
    return {"index": quantity(index, SHARE_UNIT), "saturated": saturated}
