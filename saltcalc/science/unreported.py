"""What a report leaves out: how much charge and EC the ions that it does not give may bring."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.data.reported_ions import usual_shares
from saltcalc.science._arrays import Flags, Floats
from saltcalc.science.alkalinity import bicarbonate_at
from saltcalc.science.balance import ANIONS, CATIONS, ChargeBalance, charge_balance
from saltcalc.science.conductivity import total_ec_from_ions

USUAL_CARBON_DIOXIDE = 0.1
"""Carbon dioxide that bounds a bicarbonate by its pH: air of a wet, living soil (judgement).

[atm]
"""

MOST_OF_ORGANIC_ANIONS = 2.0
"""Organic anions that go with an alkalinity that was not reported (judgement). [mmol_c/L]

About those of 200 mg/L of dissolved organic carbon at 10 mmol_c/g, as bark and compost give off
(from memory).
"""

MOST_UNREPORTED = 50.0
"""Balance error that an ion that was not reported explains at most without a reading (judgement).

[%]
"""

MOSTLY_UNREPORTED = 0.5
"""Usual share of the charge of a sign that, not reported, explains any gap (judgement).

[-]
"""

EXCUSED = 5.0
"""Balance error that is left where unreported ions may make up the charge (judgement). [%]"""

_EC_OF_UNREPORTED = (0.02, 0.08)
"""EC of an unreported ion: paired as in strong sulfate, and free (CRC Handbook).

[dS/m for each mmol_c/L]
"""

Kind = Literal["medium", "water"]


class Checks(NamedTuple):
    """The two checks of a report; ``imbalance`` and ``ec_gap`` [%] allow for unreported ions.

    Attributes
    ----------
    balance : ChargeBalance
        As the ions were reported.
    ec : ndarray
        EC of the ions that were reported [dS/m].
    imbalance : ndarray
        Size of the balance error [%]; NaN where one side was not reported at all.
    ec_gap : ndarray
        Distance of the measured EC from that of the ions, or from the range of it that unreported
        ions allow [%]; NaN without a reading.
    """

    balance: ChargeBalance
    ec: Floats
    imbalance: Floats
    ec_gap: Floats


def _most_unreported(
    ions: Mapping[str, ArrayLike],
    ph: ArrayLike,
    solution: Kind,
    carbon_dioxide: float,
    balance: ChargeBalance,
) -> dict[str, Floats]:
    """Charge that each ion which was not reported may well bring, by ion id [mmol_c/L].

    0 for what was reported. No more than the share of its sign that it seldom exceeds in a medium
    or a water, of the charge of the larger side (a judgement of this project); bicarbonate no more
    than its pH and the carbon dioxide of a soil allow, with the organic anions that go with it.
    """
    known = {ion: np.asarray(ions.get(ion, np.nan), dtype=np.float64) for ion in CATIONS + ANIONS}
    full = np.fmax(balance.cations, balance.anions)
    most = {ion: usual.high * full for ion, usual in usual_shares()[solution].items()}
    alkalinity = bicarbonate_at(ph, carbon_dioxide) + MOST_OF_ORGANIC_ANIONS
    most["bicarbonate"] = np.where(np.isnan(alkalinity), full, alkalinity)
    return {ion: np.where(np.isnan(known[ion]), most[ion], 0.0) for ion in known}


def missing_candidates(
    ions: Mapping[str, ArrayLike], ph: ArrayLike = np.nan, solution: Kind = "medium"
) -> dict[str, Flags]:
    """Which ions may make up the missing charge: unreported ones that may well bring half of it.

    Parameters
    ----------
    ions : mapping of str to array_like of float
        Concentration by ion id [mmol_c/L]; NaN for what was not reported.
    ph : array_like of float
        pH; NaN where unknown.
    solution : {"medium", "water"}
        What the report is of.

    Returns
    -------
    dict of str to ndarray of bool
        By ion id, the likely first, and ``organic_anions``, which no report lists: likely in a
        medium where every other anion was reported and some are missing still.

    Raises
    ------
    ValueError
        If a concentration is negative.

    Examples
    --------
    >>> found = missing_candidates({"calcium": 5.0, "chloride": 4.0, "nitrate_n": 0.0}, 6.0)
    >>> [ion for ion, likely in found.items() if likely]
    ['sulfate_s', 'bicarbonate', 'phosphorus']
    """
    balance = charge_balance(ions, ph)
    may_be = _most_unreported(ions, ph, solution, USUAL_CARBON_DIOXIDE, balance)
    usual = usual_shares()[solution]
    found: dict[str, Flags] = {}
    for verdict, side in ((1, ANIONS), (2, CATIONS)):
        for ion in sorted(side, key=lambda ion: -usual[ion].share):
            enough = may_be[ion] >= 0.5 * balance.missing
            found[ion] = (balance.verdict == verdict) & enough & (may_be[ion] > 0)
        if side is ANIONS:
            acid = bicarbonate_at(ph, USUAL_CARBON_DIOXIDE) < 0.5 * balance.missing
            found["bicarbonate"] &= ~acid
            none_left = ~np.any([found[ion] for ion in ANIONS], axis=0)
            organic = none_left & (solution == "medium")
            found["organic_anions"] = (balance.verdict == verdict) & organic
    return found


def check_report(
    ions: Mapping[str, Floats],
    measured: Floats,
    ph: Floats,
    solution: Kind = "medium",
    carbon_dioxide: float = USUAL_CARBON_DIOXIDE,
    most_of_ec: float = 1.0,
    summed: tuple[ChargeBalance, Floats] | None = None,
) -> Checks:
    """Hold the charges and the EC of a report against each other, allowing for what it leaves out.

    Where no ion of one sign was reported, that sign made up all the charge of the other.

    Parameters
    ----------
    ions : mapping of str to ndarray
        Every balanced ion [mmol_c/L]; NaN for what was not reported.
    measured : ndarray
        Measured EC [dS/m at 25 °C]; NaN where there is none.
    ph : ndarray
        pH; NaN where unknown.
    solution : {"medium", "water"}
        What the report is of.
    carbon_dioxide : float
        Partial pressure that bounds the bicarbonate [atm].
    most_of_ec : float
        Share of the EC that salts of which no ion was reported may bring at most [-].
    summed : tuple of ChargeBalance and ndarray, optional
        The charge balance of the ions and their EC [dS/m], where they are known already.

    Returns
    -------
    Checks

    References
    ----------
    Standard Methods, method 1030E, for the two checks.

    Examples
    --------
    A report without sodium and chloride: its EC may well be twice that of the rest.

    >>> import numpy as np
    >>> ions = dict.fromkeys(CATIONS + ANIONS, np.array(0.0))
    >>> ions |= {"calcium": np.array(5.0), "nitrate_n": np.array(5.0)}
    >>> ions |= {"sodium": np.array(np.nan), "chloride": np.array(np.nan)}
    >>> print(check_report(ions, np.array(1.2), np.array(6.0)).ec_gap)
    0.0
    """
    if summed is None:
        summed = charge_balance(ions, ph), total_ec_from_ions(ions, ph)
    balance, computed = summed
    both_sides = ~np.isnan(balance.cations) & ~np.isnan(balance.anions)
    may_be = _most_unreported(ions, ph, solution, carbon_dioxide, balance)
    cations, anions = (np.sum([may_be[ion] for ion in side], axis=0) for side in (CATIONS, ANIONS))
    one_side = np.isnan(balance.cations) ^ np.isnan(balance.anions)
    may_miss = balance.missing <= np.where(balance.error > 0, anions, cations)
    excused = (both_sides & may_miss) | one_side
    low, high = (
        computed + np.where(excused, share * balance.missing, 0.0) for share in _EC_OF_UNREPORTED
    )
    reported = 1 - np.minimum(_salt_unreported(ions, solution), most_of_ec)
    open_ended = np.full(computed.shape, np.inf)
    np.divide(computed, reported, out=open_ended, where=reported > 0)
    high = np.fmax(high, open_ended)
    nearest = np.asarray(measured).clip(low, high)
    gap = np.full(nearest.shape, np.nan)
    np.divide(100 * np.abs(measured - nearest), nearest, out=gap, where=nearest > 0)
    size = np.abs(balance.error)
    imbalance = np.where(both_sides, size, np.nan)
    usual = usual_shares()[solution]
    lacking = np.where(
        balance.error > 0,
        *(
            np.sum([np.isnan(ions[ion]) * usual[ion].share for ion in side], axis=0)
            for side in (ANIONS, CATIONS)
        ),
    )
    told = ~np.isnan(measured) | (lacking >= MOSTLY_UNREPORTED)
    most_excused = np.where(told, np.inf, MOST_UNREPORTED)
    forgiven = both_sides & excused & (size <= most_excused)
    imbalance = np.where(forgiven, np.minimum(size, EXCUSED), imbalance)
    return Checks(balance, computed, imbalance, gap)


def _salt_unreported(ions: Mapping[str, Floats], solution: Kind) -> Floats:
    """Share of the EC that salts may bring of which neither ion was reported, 1 for any of it."""
    usual = usual_shares()[solution]
    lacking = [
        np.sum([np.isnan(ions[ion]) * usual[ion].high for ion in side], axis=0)
        for side in (CATIONS, ANIONS)
    ]
    return np.asarray(np.minimum(np.min(lacking, axis=0), 1.0))
