"""Reporting slips tried on an analysis: kept only where the slip closes a gap."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from saltcalc.data.reported_ions import form_slips, unit_slips
from saltcalc.science._arrays import Flags, Floats
from saltcalc.science.alkalinity import bicarbonate_at
from saltcalc.science.balance import ANIONS, CATIONS, ChargeBalance, charge_balance
from saltcalc.science.conductivity import ec_from_ions

LEAST_EC_GAP = 20.0
"""Distance of measured from computed EC above which a slip is looked for (judgement). [%]"""

LEAST_EC_GAP_UNBALANCED = 5.0
"""The same where the charge balance is off too (judgement). [%]"""

LEAST_IMBALANCE = 10.0
"""Charge balance error that counts as off; less is common in reports (judgement). [%]"""

LEAST_IMBALANCE_ALONE = 12.0
"""Charge balance error above which a slip is looked for without a reading (judgement). [%]"""

MOST_EC_GAP = 12.0
"""Distance of measured from computed EC that may be left (judgement). [%]"""

LEAST_FALL = 5.0
"""Least fall of the balance error for a form or one ion's decimal point (judgement). [%]"""

MOST_UNREPORTED = 50.0
"""Balance error that an ion that was not reported explains at most without a reading (judgement).

[%]
"""

MOST_RESIDUAL_OF_ONE_ION = 5.0
"""What may be left where one ion's decimal point is moved (judgement). [%]

A chance fit is easier there.
"""

MOST_CHARGE = 600.0
"""Charge of either sign that nothing is put right to: that of sea water (judgement). [mmol_c/L]"""

MOST_CARBON_DIOXIDE = 1.0
"""Carbon dioxide that bounds the bicarbonate of any solution by its pH (judgement). [atm]"""

USUAL_CARBON_DIOXIDE = 0.1
"""The same for a bicarbonate that was not reported: air of a wet, living soil (judgement). [atm]"""

MOST_OF_ORGANIC_ANIONS = 2.0
"""Organic anions that go with an alkalinity that was not reported (judgement). [mmol_c/L]

About those of 200 mg/L of dissolved organic carbon at 10 mmol_c/g, as bark and compost give off
(from memory).
"""

MOST_OF_MINOR_ION = 3.0
"""Phosphate or ammonium that goes unreported at most (judgement). [mmol_c/L]"""

MOST_OF_UNREPORTED_SALT = 2.0
"""Measured over computed EC that a salt of which neither ion was reported may explain (judgement).

[-]
"""

_COMMON = (
    ("calcium", "magnesium", "sodium", "potassium"),
    ("bicarbonate", "sulfate_s", "chloride", "nitrate_n"),
)
_EC_OF_UNREPORTED = (0.04, 0.08)
"""EC of an unreported ion, bicarbonate to sulfate (CRC Handbook). [dS/m for each mmol_c/L]"""

# Decimal points and kilo- and milli-units that slip (judgement).
_POWERS = (0.001, 0.01, 0.1, 10.0, 100.0, 1000.0)
_SINGLE_POWERS = (0.001, 0.1, 10.0, 1000.0)


class Slip(NamedTuple):
    """One way in which a report may be wrong.

    ``factor`` is what puts it right: of the EC for a reading, of the ions otherwise; 1 for a form
    or a unit, whose factors differ by ion.
    """

    kind: Literal["form", "unit", "all_ions", "reading", "one_ion", "extraction"]
    name: str
    """Which form or unit, ion or extraction."""
    factor: float


@dataclass(frozen=True)
class SlipTrials:
    """Every slip tried on every sample.

    Attributes
    ----------
    slips : tuple of Slip
        What was tried.
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

    slips: tuple[Slip, ...]
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


def _list_slips(dilutions: Mapping[str, float]) -> dict[Slip, dict[str, float]]:
    """Every slip, with what it does to each ion that it touches."""
    ions = CATIONS + ANIONS
    slips = {Slip("form", name, 1.0): by_ion for name, by_ion in form_slips().items()}
    slips |= {Slip("unit", name, 1.0): by_ion for name, by_ion in unit_slips().items()}
    for power in _POWERS:
        slips[Slip("all_ions", "power_of_ten", power)] = dict.fromkeys(ions, power)
        slips[Slip("reading", "power_of_ten", power)] = {}
    for extraction, factor in dilutions.items():
        slips[Slip("extraction", extraction, factor)] = dict.fromkeys(ions, factor)
    for ion in ions:
        for power in _SINGLE_POWERS:
            slips[Slip("one_ion", ion, power)] = {ion: power}
    return slips


def try_slips(
    ions: Mapping[str, ArrayLike],
    ec: ArrayLike = np.nan,
    ph: ArrayLike = np.nan,
    dilutions: Mapping[str, float] | None = None,
    written: Mapping[str, ArrayLike] | None = None,
    derived: Mapping[str, ArrayLike] | None = None,
) -> SlipTrials:
    """Put each known slip right and see whether charge balance and EC then agree.

    A slip is looked for only where the report does not fit together by more than laboratories
    scatter: where the measured EC is more than `LEAST_EC_GAP` from that of the ions or, without a
    reading, the charge balance is off by more than `LEAST_IMBALANCE`. Ions that were not reported
    may well make up the missing charge; the EC is then compared with that charge added.

    A slip closes the gap where EC and balance hold afterwards and neither is the worse for it. A
    form, or the decimal point of one ion, must bring the balance nearer too, and touches only what
    was reported; a unit only what came without one. Whatever scales all ions alike, the reading,
    and one ion's decimal point need a measured EC to be told. Where an ion that was not reported
    may explain the gap, only a unit or another extraction is told.

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
    written : mapping of str to array_like of bool, optional
        Where the unit of an ion's figure was written beside it; nowhere if left out.
    derived : mapping of str to array_like of bool, optional
        Where an ion was worked out from alkalinity or hardness; nowhere if left out.

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

    Examples
    --------
    Nitrate was reported as NO3 and read as nitrogen, which makes it 4.43 times as much.

    >>> report = dict.fromkeys(CATIONS + ANIONS, 0.0)
    >>> report |= {"calcium": 4.0, "potassium": 2.0, "sodium": 1.0, "chloride": 3.0}
    >>> trials = try_slips(report | {"nitrate_n": 4.0 * 4.427}, 0.8)
    >>> trials.slips[trials.closing(0)[0]]
    Slip(kind='form', name='nitrate_as_nitrate', factor=1.0)
    """
    report, measured, acidity = _flat(ions, ec, ph)
    tried = _list_slips(dilutions or {})
    slips, factors = tuple(tried), list(tried.values())
    kinds = np.array([slip.kind for slip in slips])[:, None]
    fixed = {
        kind: {ion: _flags(by_ion, ion, measured) for ion in report}
        for kind, by_ion in (("written", written), ("derived", derived))
    }
    factor = {
        ion: _factors(ion, factors, kinds, fixed["written"][ion], fixed["derived"][ion])
        for ion in report
    }
    righted = {ion: factor[ion] * value for ion, value in report.items()}
    readings = np.array([slip.factor if slip.kind == "reading" else 1.0 for slip in slips])
    reported = _Computed.of(report, acidity)
    before = _checks(report, measured, acidity, reported)
    after = _checks(righted, readings[:, None] * measured, acidity, _Computed.of(righted, acidity))

    unbalanced = before.imbalance > LEAST_IMBALANCE
    open_ = np.where(
        before.ec_known,
        (before.ec_gap > LEAST_EC_GAP) | (unbalanced & (before.ec_gap > LEAST_EC_GAP_UNBALANCED)),
        before.imbalance > LEAST_IMBALANCE_ALONE,
    )
    holds = _holds(after) & _sane(report, righted, acidity)
    better = ~(after.ec_gap > before.ec_gap) & ~(np.abs(after.error) > np.abs(before.error) + 0.5)
    falls = np.abs(after.error) <= np.abs(before.error) - LEAST_FALL
    of_form = (kinds == "form") | (kinds == "one_ion")
    needs_ec = ~((kinds == "form") | (kinds == "unit"))
    of_all_anew = (kinds == "unit") | (kinds == "extraction")
    near = (kinds != "one_ion") | (after.residual <= MOST_RESIDUAL_OF_ONE_ION)
    return SlipTrials(
        slips=slips,
        closes=open_
        & holds
        & better
        & (falls | ~of_form)
        & (before.ec_known | ~needs_ec)
        & near
        & (of_all_anew | ~_explained_by_unreported(report, measured, acidity, reported))
        & _touched(factors, kinds, factor, report),
        error=after.error,
        ec=after.ec,
        residual=after.residual,
        handicap=np.array([_handicap(slip.kind, by_ion) for slip, by_ion in tried.items()]),
    )


def _flat(
    ions: Mapping[str, ArrayLike], ec: ArrayLike, ph: ArrayLike
) -> tuple[dict[str, Floats], Floats, Floats]:
    """Every balanced ion, the reading and the pH, each of one value a sample."""
    names = CATIONS + ANIONS
    columns = np.broadcast_arrays(
        *(np.asarray(ions.get(ion, np.nan), dtype=np.float64) for ion in names),
        np.asarray(ec, dtype=np.float64),
        np.asarray(ph, dtype=np.float64),
    )
    *values, measured, acidity = (column.ravel() for column in columns)
    return dict(zip(names, values, strict=True)), measured, acidity


def _flags(by_ion: Mapping[str, ArrayLike] | None, ion: str, like: Floats) -> Flags:
    return np.broadcast_to(
        np.asarray((by_ion or {}).get(ion, False), dtype=bool).ravel(), like.shape
    )


def _factors(
    ion: str,
    factors: list[dict[str, float]],
    kinds: NDArray[np.str_],
    written: Flags,
    derived: Flags,
) -> Floats:
    """Return what each slip does to an ion of each sample; 1 where it cannot touch it."""
    factor = np.array([by_ion.get(ion, 1.0) for by_ion in factors])[:, None]
    settled = ((kinds == "unit") & (written | derived)) | ((kinds == "form") & derived)
    return np.where(settled, 1.0, factor)


def _touched(
    factors: list[dict[str, float]],
    kinds: NDArray[np.str_],
    factor: Mapping[str, Floats],
    report: Mapping[str, Floats],
) -> Flags:
    """Where a slip changes what was reported: for a form, all that it names."""
    changed = {ion: (factor[ion] != 1.0) & (report[ion] > 0) for ion in report}
    named = {ion: np.array([ion in by_ion for by_ion in factors])[:, None] for ion in report}
    some = np.any([changed[ion] for ion in report], axis=0)
    all_named = np.all([changed[ion] | ~named[ion] for ion in report], axis=0)
    return np.asarray(np.where(kinds == "form", some & all_named, some | (kinds == "reading")))


def _sane(report: Mapping[str, Floats], righted: Mapping[str, Floats], ph: Floats) -> Flags:
    """Where a slip raises nothing beyond what a medium or a water can hold."""
    most = np.fmin(bicarbonate_at(ph, MOST_CARBON_DIOXIDE), MOST_CHARGE)
    raised = righted["bicarbonate"] > report["bicarbonate"]
    charge = [np.nansum([righted[ion] for ion in side], axis=0) for side in (CATIONS, ANIONS)]
    beyond = raised & (righted["bicarbonate"] > most)
    return np.asarray(~beyond & (np.max(charge, axis=0) <= MOST_CHARGE))


def _handicap(kind: str, by_ion: Mapping[str, float]) -> float:
    """Residual [%] that a slip is set back by for being the less likely kind (judgement)."""
    if kind == "form":
        return 0.5 * (len(by_ion) - 1)
    return 3.0 if kind == "one_ion" else 0.0


@dataclass(frozen=True)
class _Checks:
    """The two checks of a report; ``imbalance`` and ``ec_gap`` [%] allow for unreported ions."""

    ec_known: Flags
    ec_gap: Floats
    imbalance: Floats
    error: Floats
    ec: Floats
    residual: Floats


class _Computed(NamedTuple):
    balance: ChargeBalance
    ec: Floats

    @classmethod
    def of(cls, ions: Mapping[str, Floats], ph: Floats) -> _Computed:
        return cls(charge_balance(ions, ph), ec_from_ions(ions, ph).ec)


def _checks(
    ions: Mapping[str, Floats],
    measured: Floats,
    ph: Floats,
    found: _Computed,
    carbon_dioxide: float = USUAL_CARBON_DIOXIDE,
) -> _Checks:
    balance, computed = found
    both_sides = ~np.isnan(balance.cations) & ~np.isnan(balance.anions)
    size = np.abs(balance.error)
    most = _most_missing(ions, balance.error > 0, bicarbonate_at(ph, carbon_dioxide))
    excused = both_sides & (balance.missing <= most)
    low, high = (
        computed + np.where(excused, share * balance.missing, 0.0) for share in _EC_OF_UNREPORTED
    )
    high = np.where(_salt_unreported(ions), np.fmax(high, MOST_OF_UNREPORTED_SALT * computed), high)
    nearest = np.clip(measured, low, high)
    gap = np.full(nearest.shape, np.nan)
    np.divide(100 * np.abs(measured - nearest), nearest, out=gap, where=nearest > 0)
    imbalance = np.where(both_sides, size, np.nan)
    most_excused = np.where(np.isnan(measured), MOST_UNREPORTED, np.inf)
    imbalance = np.where(
        excused & (size <= most_excused), np.minimum(size, 0.5 * LEAST_IMBALANCE), imbalance
    )
    return _Checks(
        ec_known=~np.isnan(gap),
        ec_gap=gap,
        imbalance=imbalance,
        error=balance.error,
        ec=computed,
        residual=np.fmax(imbalance, gap),
    )


def _explained_by_unreported(
    ions: Mapping[str, Floats], measured: Floats, ph: Floats, found: _Computed
) -> Flags:
    """Where what was not reported may well make up both the charge and the EC that are missing."""
    most = _checks(ions, measured, ph, found, MOST_CARBON_DIOXIDE)
    return np.asarray((most.imbalance <= LEAST_IMBALANCE) & ~(most.ec_gap > LEAST_EC_GAP))


def _most_missing(ions: Mapping[str, Floats], anions_lack: Flags, bicarbonate: Floats) -> Floats:
    """Charge that the unreported ions of the side that falls short may well bring [mmol_c/L]."""
    alkalinity = bicarbonate + MOST_OF_ORGANIC_ANIONS
    most: dict[str, Floats | float] = {
        "bicarbonate": np.where(np.isnan(alkalinity), np.inf, alkalinity),
        "phosphorus": MOST_OF_MINOR_ION,
        "ammonium_n": MOST_OF_MINOR_ION,
    }
    sides = [
        np.sum([np.where(np.isnan(ions[ion]), most.get(ion, np.inf), 0.0) for ion in side], axis=0)
        for side in (CATIONS, ANIONS)
    ]
    return np.asarray(np.where(anions_lack, sides[1], sides[0]))


def _salt_unreported(ions: Mapping[str, Floats]) -> Flags:
    """Where a common cation and a common anion were left out, so that a salt may be missing."""
    lacking = [np.any([np.isnan(ions[ion]) for ion in side], axis=0) for side in _COMMON]
    return np.asarray(np.all(lacking, axis=0))


def _holds(checks: _Checks) -> Flags:
    return ~(checks.ec_gap > MOST_EC_GAP) & ~(checks.imbalance > LEAST_IMBALANCE)
