"""The ions of media and waters, one row a sample."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np

from saltcalc.case.batch import Solutions
from saltcalc.data.minerals import minerals
from saltcalc.data.reported_ions import reported_ions
from saltcalc.parts.shown import Column, later
from saltcalc.science._arrays import Flags, Floats
from saltcalc.science.balance import (
    ChargeBalance,
    ConductivityAgreement,
    charge_balance,
    ec_agreement,
    hypothetical_salts,
)
from saltcalc.science.conductivity import IonConductivity, ec_from_ions
from saltcalc.science.reporting_slips import LEAST_EC_GAP, contradicts_itself
from saltcalc.science.salt_type import (
    SaltType,
    salt_type,
)
from saltcalc.science.saturation import SATURATED, ec_saturated_with_gypsum, saturation_index
from saltcalc.science.speciation import Speciation, speciate
from saltcalc.science.unreported import Kind, missing_candidates

CHARGE_UNIT = "mmol_c/L"


@dataclass(frozen=True)
class IonArrays:
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
    salt_type : SaltType
        What kind of salt it is.
    salts : dict of (str, str) to (n,) ndarray
        Hypothetical salts by cation and anion [mmol_c/L].
    saturation : dict of str to (n,) ndarray
        Saturation index of each mineral by the ion-pair model.
    contradicts : (n,) ndarray of bool
        Where a report does not fit together; called, of all rows.
    carbonate : (n,) ndarray
        Dissolved inorganic carbon [mol/L].
    """

    conductivity: IonConductivity
    balance: ChargeBalance
    candidates: dict[str, Flags]
    agreement: ConductivityAgreement
    salt_type: SaltType
    salts: dict[tuple[str, str], Floats]
    saturation: dict[str, Floats]
    contradicts: Column
    carbonate: Floats

    @property
    def gypsum_saturated(self) -> Flags:
        """Where the solution is saturated with gypsum."""
        return np.asarray(self.saturation["gypsum"] >= SATURATED)

    @property
    def ec_confirmed(self) -> Flags:
        """Where the ions make as much EC as was read."""
        return np.abs(self.agreement.ratio - 1.0) <= LEAST_EC_GAP / 100.0

    @cached_property
    def times_the_reading(self) -> Floats:
        """EC of the ions over a reading that they put in doubt; 1 where they do not.

        In doubt is the EC of a report that contradicts itself, if the two are far apart.
        """
        ratio = self.agreement.ratio
        off = ~self.ec_confirmed & (ratio > 0)
        return np.where(off & self.contradicts(), 1.0 / np.where(off, ratio, 1.0), 1.0)

    @property
    def ec_in_doubt(self) -> Flags:
        """Where the ions put the reading in doubt."""
        return np.asarray(self.times_the_reading != 1.0)


def assess_ions(
    solutions: Solutions, measured_ec: Floats, owner: Kind, solution: Speciation | None = None
) -> IonArrays:
    """Read the ions of solutions.

    Parameters
    ----------
    solutions : Solutions
        The extracts of the media, or the waters.
    measured_ec : (n,) ndarray
        Their EC at 25 °C [dS/m]; NaN where none was measured.
    owner : {"medium", "water"}
        Whose solutions they are.
    solution : Speciation, optional
        Of them; None where no ion was reported.
    """
    return (
        _read(solutions.ions, solutions.ph, measured_ec, owner, solution)
        if solution
        else _unread(measured_ec.size, owner)
    )


def species_of(solutions: Solutions) -> Speciation | None:
    """Return the species of solutions; None where no ion was reported of any."""
    if np.isnan(list(solutions.ions.values())).all():
        return None
    return speciate(solutions.ions, solutions.ph)


@lru_cache(maxsize=8)
def _unread(count: int, owner: Kind) -> IonArrays:
    """Return what is known of solutions without a report: nothing."""
    missing = np.full(count, np.nan)
    ions = dict.fromkeys(reported_ions(), missing)
    return _read(ions, missing, missing, owner, speciate(ions, missing))


def _read(
    ions: Mapping[str, Floats], ph: Floats, measured_ec: Floats, owner: Kind, solution: Speciation
) -> IonArrays:
    conductivity, balance = ec_from_ions(ions, ph, solution), charge_balance(ions, ph)
    summed = balance, conductivity.ec
    return IonArrays(
        conductivity=conductivity,
        balance=balance,
        candidates=missing_candidates(ions, ph, owner),
        agreement=ec_agreement(measured_ec, conductivity.ec),
        salt_type=salt_type(ions, measured_ec),
        salts=hypothetical_salts(ions, ph),
        saturation={
            mineral: saturation_index(mineral, ions, ph, solution) for mineral in minerals()
        },
        contradicts=later(lambda: contradicts_itself(ions, measured_ec, ph, owner, summed)),
        carbonate=solution.dissolved_carbonate,
    )


@dataclass(frozen=True)
class Solution:
    """One solution and what was computed of it.

    Attributes
    ----------
    owner : {"medium", "water"}
        Whose solution it is.
    row : int
        Which sample.
    solutions : Solutions
        All of its kind, with their gaps filled.
    result : IonArrays
        Of this one.
    measured_ec : float
        EC at 25 °C [dS/m]; NaN where none was measured.
    dilutions : dict of str to float
        Of a report that contradicts itself, the factor that brings the figures of each other
        extraction to those of this one.
    charge_is_open : bool
        Whether what is not told of its nitrogen decides if its charges add up.
    """

    owner: Kind
    row: int
    solutions: Solutions
    result: IonArrays
    measured_ec: float
    dilutions: Mapping[str, float]
    charge_is_open: bool = False

    @property
    def ions(self) -> dict[str, float]:
        """Its ions [mmol_c/L], boron [mg/L]; NaN where one was not reported."""
        return one_solution(self.solutions, self.row)

    @property
    def ph(self) -> float:
        """Its pH; NaN where none was given."""
        return float(self.solutions.ph[self.row])


def gypsum_plateau(water: Solutions, row: int) -> float:
    """EC at which gypsum holds a medium that is flushed with this water [dS/m at 25 °C]."""
    return float(ec_saturated_with_gypsum(one_solution(water, row), float(water.ph[row])))


def one_solution(solutions: Solutions, row: int) -> dict[str, float]:
    """Return the ions of one solution [mmol_c/L], boron [mg/L]."""
    return {ion: float(values[row]) for ion, values in solutions.ions.items()}
