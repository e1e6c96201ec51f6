"""Do the ions of a report add up: charge balance, what is missing, hypothetical salts."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.science._arrays import Codes, Floats, alike, filled, not_negative, one_shape

CATIONS = ("calcium", "magnesium", "sodium", "ammonium_n", "potassium")
ANIONS = ("bicarbonate", "phosphorus", "sulfate_s", "chloride", "nitrate_n")
"""Both in the order of the hypothetical salts: those of the least soluble salts first."""

BALANCE_VERDICTS = ("balanced", "anions_missing", "cations_missing")
EC_VERDICTS = ("agree", "measured_higher", "measured_lower")
NO_VERDICT = -1

EC_AGREEMENT = (0.9, 1.1)
"""Range of measured over computed EC that counts as agreement, Standard Methods 1030E."""

SOLIDS_PER_EC = (500.0, 900.0)
"""Range of dissolved solids over EC that counts as agreement [mg/L per dS/m].

Standard Methods 1030E: 550 to 700, 640 and 800 in FAO 29 below and above 5 dS/m (from memory);
500 is what many meters multiply by, and waters led by sulfate go higher: widened by judgement.
"""

_PK2_PHOSPHATE = 7.207
"""Second dissociation of phosphoric acid at 25 °C (CRC Handbook). [-]"""

LEAST_PH_OF_BICARBONATE = 5.0
"""pH below which bicarbonate is no candidate (judgement): carbonic acid has pK 6.35 (CRC)."""

_MOST_PH_OF_FREE_ACID = 4.5
"""pH below which the free acid counts as a cation (judgement), the usual end of a titration."""


@dataclass(frozen=True)
class ChargeBalance:
    """How far the charges of a report add up.

    Attributes
    ----------
    cations, anions : ndarray
        Sums of charge [mmol_c/L]; NaN where no ion of that sign was reported.
    error : ndarray
        100 (cations - anions)/(cations + anions) [%]; NaN where both are zero or missing.
    criterion : ndarray
        The largest difference that the criterion accepts [mmol_c/L].
    missing : ndarray
        Charge that is missing on the smaller side [mmol_c/L].
    verdict : ndarray of int
        Index into `BALANCE_VERDICTS`; -1 where no ion was reported.
    """

    cations: Floats
    anions: Floats
    error: Floats
    criterion: Floats
    missing: Floats
    verdict: Codes


def balanced_ions(ions: Mapping[str, ArrayLike], ph: ArrayLike) -> tuple[dict[str, Floats], Floats]:
    """Every ion of the balance and the pH as arrays of one shape, NaN where not reported.

    Parameters
    ----------
    ions : mapping of str to array_like
        Concentrations by ion [mmol_c/L]; phosphorus [mmol/L].
    ph : array_like
        pH of the solution [-].

    Returns
    -------
    tuple
        The ions of :data:`CATIONS` and :data:`ANIONS`, and the pH.

    Raises
    ------
    ValueError
        If a concentration is negative.

    Examples
    --------
    >>> ions, ph = balanced_ions({"calcium": [4.0, 6.0]}, 6.0)
    >>> len(ions), ions["chloride"], ph
    (10, array([nan, nan]), array([6., 6.]))
    """
    names = CATIONS + ANIONS
    given = [ions.get(ion, np.nan) for ion in names]
    amounts = np.empty((len(names) + 1, *one_shape(ph, *given)))
    for row, each in enumerate((*given, ph)):
        amounts[row] = each
    if (negative := amounts[:-1] < 0).any():
        ion = names[int(negative.reshape(len(names), -1).any(axis=1).argmax())]
        raise ValueError(f"{ion} must not be negative")
    return dict(zip(names, amounts, strict=False)), amounts[-1]


def phosphate_charge(ph: ArrayLike) -> Floats:
    """Mean charge of dissolved phosphate between H2PO4- and HPO4--.

    Parameters
    ----------
    ph : array_like of float
        pH; 1 is returned where it is NaN.

    Returns
    -------
    ndarray of float
        Charge per phosphorus, from 1 to 2.

    References
    ----------
    Second dissociation constant of phosphoric acid, pK 7.21 at 25 °C (CRC Handbook).

    Examples
    --------
    At pH 7.2, the second pK, half is HPO4--.

    >>> print(phosphate_charge([5.5, 7.207]).round(2))
    [1.02 1.5 ]
    """
    acidity = np.asarray(ph, dtype=np.float64)
    known = np.where(np.isnan(acidity), -np.inf, acidity)
    return np.asarray(1 + 1 / (1 + 10.0 ** (_PK2_PHOSPHATE - known)))


def charge_sums(ions: Mapping[str, Floats], ph: Floats) -> tuple[Floats, Floats]:
    """Return the sums of positive and negative charge.

    Parameters
    ----------
    ions : mapping of str to ndarray
        As :func:`balanced_ions` returns them.
    ph : ndarray
        pH of the solution [-].

    Returns
    -------
    tuple of ndarray
        Cations and anions [mmol_c/L]; NaN where none is reported.

    Examples
    --------
    >>> cations, anions = charge_sums(*balanced_ions({"calcium": 4.0, "sodium": 1.5}, 6.0))
    >>> float(cations), float(anions)
    (5.5, nan)
    """
    charged = dict(ions)
    charged["phosphorus"] = ions["phosphorus"] * phosphate_charge(ph)
    sums = []
    for side in (CATIONS, ANIONS):
        stack = np.array([charged[ion] for ion in side])
        missing = np.isnan(stack)
        total = np.where(missing, 0.0, stack).sum(axis=0)
        sums.append(np.where(missing.all(axis=0), np.nan, total))
    return sums[0], sums[1]


def charge_balance(ions: Mapping[str, ArrayLike], ph: ArrayLike = np.nan) -> ChargeBalance:
    r"""Charge balance of an analysis and its verdict by Standard Methods 1030E.

    .. math:: error = 100 \frac{\sum cations - \sum anions}{\sum cations + \sum anions}

    Accepted: a difference of 0.2 mmol_c/L for an anion sum to 3, 2 % of both sums to 10, 5 % to
    800 mmol_c/L.

    Parameters
    ----------
    ions : mapping of str to array_like of float
        Concentration by ion id [mmol_c/L]; NaN for what was not reported. Boron has no charge here.
    ph : array_like of float
        pH, for the charge of phosphate and the free acid below pH 4.5; NaN where unknown.

    Returns
    -------
    ChargeBalance
        Arrays of the broadcast shape.

    Raises
    ------
    ValueError
        If a concentration is negative.

    References
    ----------
    Standard Methods for the Examination of Water and Wastewater, method 1030E.

    Examples
    --------
    A report without its sulfate and bicarbonate.

    >>> found = charge_balance({"calcium": 5.0, "sodium": 3.0, "chloride": 4.0})
    >>> print(found.error.round(1), BALANCE_VERDICTS[found.verdict], found.missing)
    33.3 anions_missing 4.0
    """
    known, acidity = balanced_ions(ions, ph)
    cations, anions = charge_sums(known, acidity)
    acid = np.where(acidity < _MOST_PH_OF_FREE_ACID, 10.0 ** (3 - acidity), 0.0)
    positive, negative = filled(cations, 0.0) + acid, filled(anions, 0.0)
    both = positive + negative
    error = np.full(both.shape, np.nan)
    np.divide(100 * (positive - negative), both, out=error, where=both > 0)
    criterion = np.where(negative <= 3, 0.2, np.where(negative <= 10, 0.02 * both, 0.05 * both))
    gap = positive - negative
    verdict = np.where(np.abs(gap) <= criterion, 0, np.where(gap > 0, 1, 2))
    nothing = np.isnan(cations) & np.isnan(anions)
    return ChargeBalance(
        cations=np.where(acid > 0, positive, cations),
        anions=anions,
        error=np.where(nothing, np.nan, error),
        criterion=np.where(nothing, np.nan, criterion),
        missing=np.where(nothing, np.nan, np.abs(gap)),
        verdict=np.where(nothing, NO_VERDICT, verdict),
    )


@dataclass(frozen=True)
class ConductivityAgreement:
    """Measured against computed EC.

    Attributes
    ----------
    ratio : ndarray
        Measured over computed; NaN where either is missing or nothing was computed.
    unexplained : ndarray
        Measured less computed [dS/m].
    verdict : ndarray of int
        Index into `EC_VERDICTS`; -1 where there is no ratio.
    """

    ratio: Floats
    unexplained: Floats
    verdict: Codes


def solids_per_ec(solids: ArrayLike, ec: ArrayLike) -> Floats:
    """Total dissolved solids for each dS/m, to hold against `SOLIDS_PER_EC`.

    Parameters
    ----------
    solids : array_like of float
        Total dissolved solids [mg/L].
    ec : array_like of float
        EC at 25 °C [dS/m].

    Returns
    -------
    ndarray of float
        Ratio [mg/L per dS/m]; NaN where either is missing or the EC is zero.

    Raises
    ------
    ValueError
        If a figure is negative.

    References
    ----------
    Standard Methods for the Examination of Water and Wastewater, method 1030E.

    Examples
    --------
    >>> print(solids_per_ec(832.0, 1.3))
    640.0
    """
    mass, reading = not_negative(solids, "solids"), not_negative(ec, "ec")
    ratio = np.full(one_shape(mass, reading), np.nan)
    np.divide(mass, reading, out=ratio, where=reading > 0)
    return ratio


def ec_agreement(measured: ArrayLike, computed: ArrayLike) -> ConductivityAgreement:
    """Compare measured with computed EC; 0.9 to 1.1 agrees.

    Parameters
    ----------
    measured, computed : array_like of float
        EC [dS/m at 25 °C].

    Returns
    -------
    ConductivityAgreement

    References
    ----------
    Standard Methods for the Examination of Water and Wastewater, method 1030E.

    Examples
    --------
    Standard Methods 1030E accepts a ratio from 0.9 to 1.1.

    >>> found = ec_agreement([1.05, 1.3], 1.0)
    >>> [EC_VERDICTS[code] for code in found.verdict]
    ['agree', 'measured_higher']
    """
    found, expected = alike(
        np.asarray(measured, dtype=np.float64), np.asarray(computed, dtype=np.float64)
    )
    ratio = np.full(found.shape, np.nan)
    np.divide(found, expected, out=ratio, where=expected > 0)
    low, high = EC_AGREEMENT
    verdict = np.where(ratio > high, 1, np.where(ratio < low, 2, 0))
    return ConductivityAgreement(
        ratio=ratio,
        unexplained=found - expected,
        verdict=np.where(np.isnan(ratio), NO_VERDICT, verdict),
    )


def hypothetical_salts(
    ions: Mapping[str, ArrayLike], ph: ArrayLike = np.nan
) -> dict[tuple[str, str], Floats]:
    """Combine the ions into salts by laying the bars of cations and anions side by side.

    The order is that of `CATIONS` against `ANIONS`, so that the least soluble salts come first:
    calcium bicarbonate before calcium sulfate before sodium chloride before potassium nitrate. The
    salts are a way to read an analysis; the solution holds ions.

    Parameters
    ----------
    ions : mapping of str to array_like of float
        Concentration by ion id [mmol_c/L]; NaN for what was not reported.
    ph : array_like of float
        pH, for the charge of phosphate; NaN where unknown.

    Returns
    -------
    dict of (str, str) to ndarray of float
        Charge combined of each cation and anion [mmol_c/L]. What exceeds the smaller side combines
        with nothing.

    Raises
    ------
    ValueError
        If a concentration is negative.

    References
    ----------
    Collins (1923), Ind. Eng. Chem. 15:394, bar diagrams; ammonium and phosphate put in by this
    project.

    Examples
    --------
    >>> report = {"calcium": 3.0, "sodium": 2.0, "bicarbonate": 2.0, "chloride": 3.0}
    >>> {pair: float(amount) for pair, amount in hypothetical_salts(report).items() if amount > 0}
    {('calcium', 'bicarbonate'): 2.0, ('calcium', 'chloride'): 1.0, ('sodium', 'chloride'): 2.0}
    """
    known, acidity = balanced_ions(ions, ph)
    charged = known | {"phosphorus": known["phosphorus"] * phosphate_charge(acidity)}

    def bars(side: tuple[str, ...]) -> dict[str, tuple[Floats, Floats]]:
        end = np.zeros(acidity.shape)
        spans = {}
        for ion in side:
            start, end = end, end + filled(charged[ion], 0.0)
            spans[ion] = (start, end)
        return spans

    anions = bars(ANIONS)
    return {
        (cation, anion): np.maximum(
            np.minimum(cation_end, anion_end) - np.maximum(cation_start, anion_start), 0.0
        )
        for cation, (cation_start, cation_end) in bars(CATIONS).items()
        for anion, (anion_start, anion_end) in anions.items()
    }
