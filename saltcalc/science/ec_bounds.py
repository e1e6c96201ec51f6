"""The EC that a report without one allows: the least, the most, and how sure an estimate is."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.science._arrays import Codes, Floats, filled
from saltcalc.science.balance import (
    CATIONS,
    LEAST_PH_OF_BICARBONATE,
    balanced_ions,
    charge_balance,
    charge_sums,
)
from saltcalc.science.conductivity import total_ec_from_ions

_COUNTER_CATIONS = ("sodium", "magnesium")

_COUNTER_ANIONS = ("bicarbonate", "sulfate_s")

_BEST_COUNTER_CATIONS = ("potassium", "calcium")

_BEST_COUNTER_ANIONS = ("chloride", "sulfate_s")

MAIN_IONS = (
    "calcium",
    "magnesium",
    "potassium",
    "sodium",
    "nitrate_n",
    "chloride",
    "sulfate_s",
    "bicarbonate",
)
"""Ions of which none may be missing where the EC is taken from the ions."""

MOST_CHARGE_ERROR = 5.0
"""Largest charge error of a report whose EC is taken from its ions [%]."""

NO_BICARBONATE_BELOW = 5.5
"""pH below which bicarbonate need not be reported (judgement): carbonic acid has pK 6.35."""

EC_OF_IONS_ERROR = 0.03
"""Half-width of the 80 % interval of an EC from ions, as a share of it: 1.28 times the 2.4 % by
which it differs from PHREEQC over mixed solutions (root mean square)."""


@dataclass(frozen=True)
class ConductivityLowerBound:
    """The least EC that the reported ions allow.

    Attributes
    ----------
    ec : ndarray
        EC with the missing charge made up [dS/m at 25 °C]; NaN where no ion was reported.
    counter_ion : ndarray of int
        Index into `COUNTER_IONS` of the ion that made it up; -1 where nothing was missing.
    counter_charge : ndarray
        How much of it was added [mmol_c/L].
    """

    ec: Floats
    counter_ion: Codes
    counter_charge: Floats


COUNTER_IONS = _COUNTER_CATIONS + _COUNTER_ANIONS


def ec_lower_bound(ions: Mapping[str, ArrayLike], ph: ArrayLike = np.nan) -> ConductivityLowerBound:
    """Least EC that the reported ions allow, with the counter-ions that they must bring.

    Nitrate brings a cation, potassium an anion. Of the plausible counter-ions the one that gives
    the lower EC is taken: sodium or magnesium, bicarbonate or sulfate. Ions that were not reported
    in balanced pairs add to the true EC, so this is a floor.

    Parameters
    ----------
    ions : mapping of str to array_like of float
        Concentration by ion id [mmol_c/L]; NaN for what was not reported.
    ph : array_like of float
        pH; NaN where unknown. Below 5 bicarbonate is no counter-ion.

    Returns
    -------
    ConductivityLowerBound

    Raises
    ------
    ValueError
        If a concentration is negative.

    References
    ----------
    The choice of counter-ions is a judgement of this project.

    Examples
    --------
    Nitrate alone: one mmol_c/L with its sodium conducts about 0.12 dS/m (CRC Handbook).

    >>> floor = ec_lower_bound({"nitrate_n": 1.0})
    >>> print(floor.ec.round(3), COUNTER_IONS[floor.counter_ion])
    0.119 sodium
    """
    made_up = _with_counter_ions(ions, ph, COUNTER_IONS)
    tried = np.where(made_up.amounts > 0, made_up.ec, np.inf)
    best = np.argmin(tried, axis=0)
    added = np.isfinite(tried).any(axis=0)
    least = np.take_along_axis(tried, best[None], axis=0)[0]
    return ConductivityLowerBound(
        ec=np.where(added, least, made_up.reported),
        counter_ion=np.where(added, best, -1),
        counter_charge=np.where(
            added, np.take_along_axis(made_up.amounts, best[None], axis=0)[0], 0.0
        ),
    )


def ec_upper_bound(ions: Mapping[str, ArrayLike], ph: ArrayLike = np.nan) -> Floats:
    """Most EC of the reported charge, with the counter-ions that conduct best.

    Potassium or calcium, chloride or sulfate make up the missing charge, whichever gives the higher
    EC. Salts of which neither ion was reported come on top, so while a main ion is missing nothing
    can be concluded from it.

    Parameters
    ----------
    ions : mapping of str to array_like of float
        Concentration by ion id [mmol_c/L]; NaN for what was not reported.
    ph : array_like of float
        pH; NaN where unknown.

    Returns
    -------
    ndarray
        EC [dS/m at 25 °C]; NaN where no ion was reported.

    Examples
    --------
    >>> print(ec_upper_bound({"nitrate_n": 1.0}).round(3))
    0.142
    """
    made_up = _with_counter_ions(ions, ph, _BEST_COUNTER_CATIONS + _BEST_COUNTER_ANIONS)
    tried = np.where(made_up.amounts > 0, made_up.ec, -np.inf)
    return np.asarray(np.fmax(tried.max(axis=0), made_up.reported))


class _MadeUp(NamedTuple):
    """Solutions with the missing charge made up by each of several ions, one row an ion."""

    ec: Floats
    amounts: Floats
    reported: Floats


def _with_counter_ions(
    ions: Mapping[str, ArrayLike], ph: ArrayLike, counter_ions: tuple[str, ...]
) -> _MadeUp:
    known, acidity = balanced_ions(ions, ph)
    cations, anions = charge_sums(known, acidity)
    gap = filled(cations, 0.0) - filled(anions, 0.0)
    made_up, amounts = [known], []
    for ion in counter_ions:
        lacking = np.maximum(-gap if ion in CATIONS else gap, 0.0)
        if ion == "bicarbonate":
            lacking = np.where(acidity < LEAST_PH_OF_BICARBONATE, 0.0, lacking)
        made_up.append(known | {ion: filled(known[ion], 0.0) + lacking})
        amounts.append(lacking)
    together = {ion: np.stack([each[ion] for each in made_up]) for ion in known}
    reported, *trials = total_ec_from_ions(together, np.stack([acidity] * len(made_up)))
    nothing = np.isnan(cations) & np.isnan(anions)
    return _MadeUp(np.stack(trials), np.stack(amounts), np.where(nothing, np.nan, reported))


def ec_estimate_error(ions: Mapping[str, ArrayLike], ph: ArrayLike = np.nan) -> Floats:
    """How far an EC from ions may be off; NaN where the report is not whole enough for one.

    It is where the charges agree within 5 % and every main ion is there, of which bicarbonate may
    be left out below pH 5.5. The error of the charges adds to that of the conductivities.

    Parameters
    ----------
    ions : mapping of str to array_like of float
        Concentration by ion id [mmol_c/L]; NaN for what was not reported.
    ph : array_like of float
        pH; NaN where unknown.

    Returns
    -------
    ndarray
        Half-width of the 80 % interval as a share of the EC [-].

    References
    ----------
    That the two errors add is a judgement of this project.

    Examples
    --------
    >>> report = dict.fromkeys(MAIN_IONS, 2.0)
    >>> print(ec_estimate_error(report).round(2), ec_estimate_error({"nitrate_n": 2.0}))
    0.03 nan
    """
    known, acidity = balanced_ions(ions, ph)
    whole = np.ones(acidity.shape, dtype=bool)
    for ion in MAIN_IONS:
        needed = True if ion != "bicarbonate" else ~(acidity < NO_BICARBONATE_BELOW)
        whole &= ~(np.isnan(known[ion]) & needed)
    error = np.abs(charge_balance(ions, ph).error)
    whole &= error <= MOST_CHARGE_ERROR
    return np.where(whole, EC_OF_IONS_ERROR + error / 100, np.nan)
