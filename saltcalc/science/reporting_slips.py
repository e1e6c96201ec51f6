"""Reporting slips tried on an analysis: kept only where the slip closes a gap."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from saltcalc.data.reporting_slips import reporting_slips
from saltcalc.science.balance import (
    ANIONS,
    CATIONS,
    charge_balance,
    ec_agreement,
    missing_candidates,
)
from saltcalc.science.conductivity import ec_from_ions

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

MOST_BALANCE_ERROR = 10.0
"""Charge balance error that still counts as closed [%]; common in horticultural reports."""

MOST_UNREPORTED = 30.0
"""Balance error up to which an ion that was not reported explains it well enough [%]."""

_EC_OF_UNREPORTED = 0.04  # dS/m for each mmol_c/L, as of bicarbonate

MOST_RESIDUAL_OF_ONE_ION = 5.0
"""What may be left where one ion's decimal point is moved [%]: a chance fit is easier there."""

LEAST_EC_GAP = 15.0
"""Difference of computed and measured EC below which no slip is looked for (judgement). [%]"""

_LEAST_WORSENING = 0.5  # % of charge balance, to leave room for rounding

_POWERS = (0.001, 0.01, 0.1, 10.0, 100.0, 1000.0)
_SINGLE_POWERS = (0.001, 0.1, 10.0, 1000.0)


@dataclass(frozen=True)
class SlipTrials:
    """Every slip tried on every sample.

    Attributes
    ----------
    slips : tuple of (str, str, float)
        What was tried: the kind (``form``, ``all-ions``, ``reading``, ``one-ion``,
        ``extraction``), which slip, ion or extraction, and the factor that puts it right (1 for a
        form, whose factors are in the table; of the EC for a reading, of the ions otherwise).
    closes : (slips, n) ndarray of bool
        Where it closes the gap.
    error : (slips, n) ndarray
        Charge balance error once put right [%].
    ec : (slips, n) ndarray
        EC of the ions once put right [dS/m].
    residual : (slips, n) ndarray
        What is left: the larger of the error and the distance of measured from computed EC [%].
    handicap : (slips,) ndarray
        How far each is set back for being the less likely kind [%].
    """

    slips: tuple[tuple[str, str, float], ...]
    closes: Flags
    error: Floats
    ec: Floats
    residual: Floats
    handicap: Floats

    def closing(self, sample: int) -> list[int]:
        """Return the rows of the slips that close the gap of a sample, the likely first."""
        rows = np.flatnonzero(self.closes[:, sample])
        cost = self.residual[rows, sample] + self.handicap[rows]
        return [int(row) for row in rows[np.argsort(cost, kind="stable")]]


def _list_slips(
    dilutions: Mapping[str, float],
) -> tuple[tuple[tuple[str, str, float], ...], list[dict[str, float]]]:
    ions = CATIONS + ANIONS
    slips: list[tuple[str, str, float]] = []
    factors: list[dict[str, float]] = []
    for name, by_ion in reporting_slips().items():
        slips.append(("form", name, 1.0))
        factors.append(by_ion)
    for power in _POWERS:
        slips.append(("all-ions", "power-of-ten", power))
        factors.append(dict.fromkeys(ions, power))
        slips.append(("reading", "power-of-ten", power))
        factors.append({})
    for extraction, factor in dilutions.items():
        slips.append(("extraction", extraction, factor))
        factors.append(dict.fromkeys(ions, factor))
    for ion in ions:
        for power in _SINGLE_POWERS:
            slips.append(("one-ion", ion, power))
            factors.append({ion: power})
    return tuple(slips), factors


def try_slips(
    ions: Mapping[str, ArrayLike],
    ec: ArrayLike = np.nan,
    ph: ArrayLike = np.nan,
    dilutions: Mapping[str, float] | None = None,
) -> SlipTrials:
    """Put each known slip right and see whether charge balance and EC then agree.

    A check counts as open where the report fails it; for EC, where it is off by more than
    `LEAST_EC_GAP`, since lesser gaps are the usual scatter of laboratories. A slip closes the gap
    where some check was open, every check that can be made holds afterwards, the charge balance is
    none the worse for it, and the slip touches an ion that was reported. A balance that is off by
    no more than an unreported ion may well bring counts as holding, and EC is then compared with
    that ion added. One ion's decimal point is moved only where EC was measured.

    Parameters
    ----------
    ions : mapping of str to array_like of float
        Concentration by ion id [mmol_c/L] as read; NaN for what was not reported.
    ec : array_like of float
        Measured EC of the same solution [dS/m at 25 °C]; NaN where there is none.
    ph : array_like of float
        pH; NaN where unknown.
    dilutions : mapping of str to float, optional
        For each other extraction, the factor that brings its concentrations to this one's.

    Returns
    -------
    SlipTrials
        The samples flattened.

    Raises
    ------
    ValueError
        If a concentration is negative.

    References
    ----------
    Standard Methods, method 1030E, for the two checks; the slips are common practice.
    """
    names = CATIONS + ANIONS
    values = [np.asarray(ions.get(ion, np.nan), dtype=np.float64) for ion in names]
    *values, measured, acidity = np.broadcast_arrays(
        *values, np.asarray(ec, dtype=np.float64), np.asarray(ph, dtype=np.float64)
    )
    report = {ion: value.ravel() for ion, value in zip(names, values, strict=True)}
    measured, acidity = measured.ravel(), acidity.ravel()
    slips, factors = _list_slips(dilutions or {})
    righted = {
        ion: np.array([by_ion.get(ion, 1.0) for by_ion in factors])[:, None] * value
        for ion, value in report.items()
    }
    readings = np.array([factor if kind == "reading" else 1.0 for kind, _, factor in slips])
    before = _checks(report, measured, acidity)
    after = _checks(righted, readings[:, None] * measured, acidity)
    touched = np.stack(
        [
            np.any([report[ion] > 0 for ion in by_ion if ion in report], axis=0)
            if by_ion
            else measured > 0
            for by_ion in factors
        ]
    )
    one_ion = np.array([kind == "one-ion" for kind, _, _ in slips])[:, None]
    near = ~one_ion | (before.ec_known & (after.residual <= MOST_RESIDUAL_OF_ONE_ION))
    handicap = np.array(
        [_handicap(kind, by_ion) for (kind, _, _), by_ion in zip(slips, factors, strict=True)]
    )
    was_open = (before.balance_known & ~before.balance_holds) | (before.ec_known & before.ec_far)
    worsens = after.balance_known & (np.abs(after.error) > np.abs(before.error) + _LEAST_WORSENING)
    holds = (after.balance_holds | ~after.balance_known) & (after.ec_holds | ~after.ec_known)
    return SlipTrials(
        slips=slips,
        closes=was_open & holds & ~worsens & touched & near,
        error=after.error,
        ec=after.ec,
        residual=after.residual,
        handicap=handicap,
    )


def _handicap(kind: str, by_ion: Mapping[str, float]) -> float:
    """Residual [%] that a slip is set back by for being the less likely kind."""
    if kind == "form":
        return 0.5 * (len(by_ion) - 1)
    return 3.0 if kind == "one-ion" else 0.0


@dataclass(frozen=True)
class _Checks:
    balance_known: Flags
    balance_holds: Flags
    ec_known: Flags
    ec_holds: Flags
    ec_far: Flags
    error: Floats
    ec: Floats
    residual: Floats


def _checks(ions: Mapping[str, Floats], measured: Floats, ph: Floats) -> _Checks:
    balance = charge_balance(ions, ph)
    computed = ec_from_ions(ions, ph).ec
    both_sides = ~np.isnan(balance.cations) & ~np.isnan(balance.anions)
    error = np.abs(balance.error)
    unreported = np.any(
        [flags for ion, flags in missing_candidates(ions, ph).items() if ion != "organic_anions"],
        axis=0,
    )
    explained = both_sides & unreported & (error <= MOST_UNREPORTED)
    added = np.where(explained, _EC_OF_UNREPORTED * balance.missing, 0.0)
    agreement = ec_agreement(measured, computed + added)
    off = 100 * np.abs(agreement.ratio - 1)
    error = np.where(explained, np.minimum(error, 0.5 * MOST_BALANCE_ERROR), error)
    return _Checks(
        balance_known=both_sides,
        balance_holds=error <= MOST_BALANCE_ERROR,
        ec_known=~np.isnan(agreement.ratio),
        ec_holds=agreement.verdict == 0,
        ec_far=off > LEAST_EC_GAP,
        error=balance.error,
        ec=computed,
        residual=np.fmax(np.where(both_sides, error, np.nan), off),
    )
