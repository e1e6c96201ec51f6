"""Reporting slips that may explain why the figures of a report do not fit together, in words."""

from __future__ import annotations

from saltcalc.answer.quantities import EC_UNIT, Json, quantity
from saltcalc.data.extraction import extraction_methods, method_codes
from saltcalc.data.reported_ions import reported_ions
from saltcalc.science.reporting_slips import Slip, SlipTrials

_MOST_SLIPS = 4

_SENTENCES = {
    "nitrate-as-nitrate": "The nitrate figure is mg/L of nitrate (NO3), not of nitrogen.",
    "ammonium-as-ammonium": "The ammonium figure is mg/L of ammonium (NH4), not of nitrogen.",
    "nitrogen-as-ions": "Nitrate and ammonium are given as the ions, not as nitrogen.",
    "sulfate-as-sulfate": "The sulfate figure is mg/L of sulfate (SO4), not of sulfur.",
    "nitrate-and-sulfate-as-ions": "Nitrate and sulfate are given as the ions, not as nitrogen "
    "and sulfur.",
    "anions-as-ions": "Nitrate, ammonium, sulfate and phosphate are given as the ions, not as the "
    "elements.",
    "phosphorus-as-phosphate": "The phosphorus figure is mg/L of phosphate (PO4).",
    "phosphorus-as-oxide": "The phosphorus figure is mg/L of P2O5.",
    "potassium-as-oxide": "The potassium figure is mg/L of K2O.",
    "calcium-as-oxide": "The calcium figure is mg/L of CaO.",
    "magnesium-as-oxide": "The magnesium figure is mg/L of MgO.",
    "cation-oxides": "Potassium, calcium and magnesium are given as the oxides.",
    "oxides": "Phosphorus, potassium, calcium and magnesium are given as the oxides.",
    "alkalinity-as-calcium-carbonate": "The bicarbonate figure is mg/L of CaCO3.",
    "hardness-as-calcium-carbonate": "Calcium and magnesium are given as mg/L of CaCO3.",
    "millimoles-as-milligrams": "The figures sent without a unit are mmol/L, not mg/L.",
    "equivalents-as-milligrams": "The figures sent without a unit are meq/L, not mg/L.",
}


def answer_slips(trials: SlipTrials) -> list[Json]:
    """Return the slips that close the gap of one solution, the likely first.

    Parameters
    ----------
    trials : SlipTrials
        Of this solution alone.
    """
    return [
        {
            "kind": trials.slips[place].kind,
            "id": trials.slips[place].name,
            "factor": trials.slips[place].factor,
            "sentence": _sentence(trials.slips[place]),
            "ec_from_ions": quantity(float(trials.ec[place, 0]), EC_UNIT),
            "balance_error": quantity(float(trials.error[place, 0]), "%"),
        }
        for place in trials.closing(0)[:_MOST_SLIPS]
    ]


def _sentence(slip: Slip) -> str:
    if slip.kind in {"form", "unit"}:
        return _SENTENCES[slip.name]
    if slip.kind == "extraction":
        other = extraction_methods()[method_codes()[slip.name]].name
        return f"The ions are those of another extraction ({other}), with its own dilution."
    off = (
        f"{1 / slip.factor:g} times too high"
        if slip.factor < 1
        else f"{slip.factor:g} times too low"
    )
    if slip.kind == "all-ions":
        return f"All ion figures are {off}."
    if slip.kind == "reading":
        return f"The EC reading is {off}: check its unit."
    return f"The figure of {reported_ions()[slip.name].name} is {off}."
