"""Which salts are dissolved in the media and the waters."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from saltcalc.assessment.batch import BoolArray, FloatArray, Solutions
from saltcalc.science import phreeqc
from saltcalc.science.balance import (
    ChargeBalance,
    ConductivityAgreement,
    charge_balance,
    ec_agreement,
    hypothetical_salts,
    missing_candidates,
)
from saltcalc.science.character import SaltCharacter, salt_character
from saltcalc.science.conductivity import IonConductivity, ec_from_ions
from saltcalc.science.crust import CrustMineral, crust
from saltcalc.science.extraction import convert
from saltcalc.science.reporting_slips import SlipTrials, try_slips
from saltcalc.science.saturation import SATURATED, ec_saturated_with_gypsum, saturation_index

LEAST_DILUTION_APART = 0.15
"""Logarithm of the dilution over this one's from which an extraction is tried (judgement). [-]"""


@dataclass(frozen=True)
class Ions:
    """The ions of solutions, one row a sample.

    Attributes
    ----------
    conductivity : IonConductivity
        EC and shares from the ions as reported.
    balance : ChargeBalance
        Whether the charges add up.
    candidates : dict of str to (n,) ndarray of bool
        What may make up the missing charge.
    agreement : ConductivityAgreement
        Measured against computed EC.
    character : SaltCharacter
        What kind of salt it is.
    salts : dict of (str, str) to (n,) ndarray
        Hypothetical salts by cation and anion [mmol_c/L].
    gypsum, calcite : (n,) ndarray
        Saturation index by the ion-pair model.
    """

    conductivity: IonConductivity
    balance: ChargeBalance
    candidates: dict[str, BoolArray]
    agreement: ConductivityAgreement
    character: SaltCharacter
    salts: dict[tuple[str, str], FloatArray]
    gypsum: FloatArray
    calcite: FloatArray

    @property
    def gypsum_saturated(self) -> BoolArray:
        """Where the solution is saturated with gypsum."""
        return np.asarray(self.gypsum >= SATURATED)


def assess_ions(solutions: Solutions, measured_ec: FloatArray) -> Ions:
    """Read the ions of solutions.

    Parameters
    ----------
    solutions : Solutions
        The extracts of the media, or the waters.
    measured_ec : (n,) ndarray
        Their EC at 25 °C [dS/m]; NaN where none was measured.
    """
    ions, ph = solutions.ions, solutions.ph
    conductivity = ec_from_ions(ions, ph)
    return Ions(
        conductivity=conductivity,
        balance=charge_balance(ions, ph),
        candidates=missing_candidates(ions, ph),
        agreement=ec_agreement(measured_ec, conductivity.ec),
        character=salt_character(ions),
        salts=hypothetical_salts(ions, ph),
        gypsum=saturation_index("gypsum", ions, ph),
        calcite=saturation_index("calcite", ions, ph),
    )


@dataclass(frozen=True)
class Saturation:
    """Saturation of one solution.

    Attributes
    ----------
    gypsum, calcite : float
        Saturation index; NaN where it cannot be computed.
    by_engine : bool
        Whether PHREEQC computed them.
    """

    gypsum: float
    calcite: float
    by_engine: bool


def saturation_of(solutions: Solutions, result: Ions, row: int) -> Saturation:
    """Return the saturation indices of one solution, by PHREEQC where it is installed."""
    own = Saturation(float(result.gypsum[row]), float(result.calcite[row]), by_engine=False)
    if not phreeqc.available():
        return own
    if not np.isfinite([own.gypsum, own.calcite]).any():
        return own
    engine = phreeqc.solve(one_solution(solutions, row), float(solutions.ph[row])).saturation
    return Saturation(
        gypsum=engine.get("Gypsum", own.gypsum) if np.isfinite(own.gypsum) else own.gypsum,
        calcite=engine.get("Calcite", own.calcite) if np.isfinite(own.calcite) else own.calcite,
        by_engine=bool(engine),
    )


def crust_of(solutions: Solutions, row: int) -> tuple[CrustMineral, ...]:
    """Return the minerals that form as one solution dries."""
    return crust(one_solution(solutions, row), float(solutions.ph[row]))


def slips_of(
    solutions: Solutions, row: int, measured_ec: float, dilutions: Mapping[str, float]
) -> SlipTrials:
    """Try the known reporting slips on one solution."""
    alkalinity, hardness = (
        not np.isnan(total[row]) for total in (solutions.alkalinity, solutions.hardness)
    )
    return try_slips(
        one_solution(solutions, row),
        measured_ec,
        float(solutions.ph[row]),
        dilutions,
        written={ion: flags[row] for ion, flags in solutions.written.items()},
        derived={"bicarbonate": alkalinity, "calcium": hardness, "magnesium": hardness},
    )


def dilutions_of(
    extraction: int,
    methods: Mapping[str, int],
    medium_kind: int,
    total_porosity: float,
    container_capacity: float,
) -> dict[str, float]:
    """Factor that brings the figures of each other extraction to those of this one.

    Parameters
    ----------
    extraction : int
        Code of this extraction.
    methods : mapping of str to int
        Codes of the extractions by id.
    medium_kind : int
        Place in :data:`saltcalc.data.extraction.MEDIUM_KINDS`.
    total_porosity, container_capacity : float
        Of the medium [L/L].
    """
    factors = {
        method: float(
            convert(
                1.0,
                code,
                extraction,
                medium_kind,
                total_porosity=total_porosity,
                container_capacity=container_capacity,
            ).value
        )
        for method, code in methods.items()
        if code != extraction
    }
    return {
        method: factor
        for method, factor in factors.items()
        if np.isfinite(factor) and abs(np.log(factor)) > LEAST_DILUTION_APART
    }


def gypsum_plateau(water: Solutions, row: int) -> float:
    """EC at which gypsum holds a medium that is flushed with this water [dS/m at 25 °C]."""
    return float(ec_saturated_with_gypsum(one_solution(water, row), float(water.ph[row])))


def one_solution(solutions: Solutions, row: int) -> dict[str, float]:
    """Return the ions of one solution [mmol_c/L], boron [mg/L]."""
    return {ion: float(values[row]) for ion, values in solutions.ions.items()}
