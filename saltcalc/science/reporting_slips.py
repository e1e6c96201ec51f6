"""Reporting slips tried on an analysis: kept only where the slip closes a gap."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from saltcalc.data.reported_ions import (
    UsualShare,
    form_slips,
    reported_ions,
    unit_slips,
    usual_shares,
)
from saltcalc.science._arrays import Flags, Floats, alike, filled, in_shape
from saltcalc.science.alkalinity import bicarbonate_at
from saltcalc.science.balance import ANIONS, CATIONS, ChargeBalance
from saltcalc.science.unreported import Checks, Kind, check_report

LEAST_EC_GAP = 20.0
"""Distance of measured from computed EC above which a slip is looked for (judgement). [%]"""

LEAST_IMBALANCE = 10.0
"""Charge balance error that counts as off; less is common in reports (judgement). [%]"""

LEAST_IMBALANCE_ALONE = 11.0
"""Charge balance error above which a slip is looked for without a reading (judgement). [%]"""

MOST_EC_GAP = 12.0
"""Distance of measured from computed EC that may be left (judgement). [%]"""

MOST_OF_UNREPORTED_SALT = 0.85
"""Share of the EC, after a slip is put right, that the report may leave out (judgement). [-]

Any ions, however few, would fit a reading of which they may be any part.
"""

LEAST_FALL = 5.0
"""Least fall of the balance error for a form or one ion's decimal point (judgement). [%]"""

MOST_CHARGE = 600.0
"""Charge of either sign that nothing is put right to: that of sea water (judgement). [mmol_c/L]"""

MOST_CARBON_DIOXIDE = 1.0
"""Carbon dioxide that bounds the bicarbonate of any solution by its pH (judgement). [atm]"""

MARGIN = 4.0
"""How much less a slip must cost than a sound report, for it to be told (judgement). [-]"""

MOST_BEHIND = 6.0
"""How much more a slip may cost than the likeliest, for it to be told beside it (judgement)."""

_BALANCE_SCATTER, _EC_SCATTER = 4.0, 6.0
"""Usual scatter of the balance error and of measured over computed EC (judgement). [%]"""

_LEAST_SHARE = 0.01
"""Share below which an ion counts as little as this, 0 included (judgement). [-]"""

_MOST_STRANGE = 9.0
"""What one ion or the EC counts for at most, however strange it is (judgement). [-]"""

_WEIGHT_OF_STRANGENESS = 0.6
"""Weight of what is usual beside the balance and the EC (judgement). [-]"""

_USUALLY_LEFT_OUT = 0.4
"""Logarithm of measured over computed EC that ions left out usually make (judgement). [-]"""

_USUAL_EC = {"medium": 2.0, "water": 0.6}
"""EC of a saturated extract and of a water, each within a factor of e (judgement). [dS/m]"""

_RARE = {
    "form": 0.0,
    "unit": 0.0,
    "reading": 0.5,
    "all_ions": 1.0,
    "extraction": 2.0,
    "swapped": 2.0,
    "typed_zero": 3.0,
    "one_ion": 3.0,
}
"""What each kind of slip costs for being rarer than another (judgement). [-]"""

LITRE_OF_MEDIUM = "litre_of_medium"
"""Name among the dilutions for figures of a litre of medium, the commonest of them."""

SWAPS = (("sodium", "potassium"), ("calcium", "magnesium"))
"""Figures that stand beside each other in reports and change places."""

# Decimal points and kilo- and milli-units that slip (judgement).
_POWERS = (0.001, 0.01, 0.1, 10.0, 100.0, 1000.0)
_SINGLE_POWERS = (0.001, 0.1, 10.0, 1000.0)


class Slip(NamedTuple):
    """One way in which a report may be wrong.

    ``factor`` is what puts it right: of the EC for a reading, of the ions otherwise; 1 for what
    differs by ion.
    """

    kind: Literal[
        "form", "unit", "all_ions", "reading", "one_ion", "extraction", "swapped", "typed_zero"
    ]
    name: str
    """Which form or unit, ion, pair of ions or extraction."""
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
    contradicts : (n,) ndarray of bool
        Where a report contradicts itself, whether or not a slip is found: its charges or its EC do
        not fit together, and what it leaves out does not explain that.
    error : (slips, n) ndarray
        Charge balance error once put right [%].
    ec : (slips, n) ndarray
        EC of the ions once put right [dS/m].
    cost : (slips, n) ndarray
        How unlikely the report is once put right, and the slip itself: what is left of the gap
        over its usual scatter, squared, and how far the composition is from the usual [-].
    """

    slips: tuple[Slip, ...]
    closes: Flags
    contradicts: Flags
    error: Floats
    ec: Floats
    cost: Floats

    def closing(self, sample: int) -> list[int]:
        """Return the rows of the slips that close the gap of a sample, the likely first."""
        cost = np.where(self.closes[:, sample], self.cost[:, sample], np.inf)
        near = np.flatnonzero(np.isfinite(cost) & (cost <= cost.min(initial=np.inf) + MOST_BEHIND))
        return [int(row) for row in near[np.argsort(cost[near], kind="stable")]]


def _list_slips(dilutions: Mapping[str, float]) -> dict[Slip, dict[str, float]]:
    """Every slip, with what it multiplies each ion by that it touches."""
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
        slips[Slip("typed_zero", ion, 1.0)] = {}
    for one, other in SWAPS:
        slips[Slip("swapped", f"{one}_and_{other}", 1.0)] = {}
    return slips


def contradicts_itself(
    ions: Mapping[str, ArrayLike],
    ec: ArrayLike = np.nan,
    ph: ArrayLike = np.nan,
    solution: Kind = "medium",
    summed: tuple[ChargeBalance, Floats] | None = None,
) -> Flags:
    """Where a report does not fit together, so that :func:`try_slips` looks for a slip.

    Parameters
    ----------
    ions, ec, ph, solution
        As for :func:`try_slips`.
    summed
        As for :func:`saltcalc.science.unreported.check_report`, of shape (n,).

    Returns
    -------
    ndarray of bool
        The samples flattened.

    Raises
    ------
    ValueError
        If a concentration is negative.

    Examples
    --------
    >>> report = dict.fromkeys(CATIONS + ANIONS, 0.0) | {"sodium": 10.0, "chloride": 10.0}
    >>> print(contradicts_itself(report, [1.2, 12.0]))
    [False  True]
    """
    return _checked(*_flat(ions, ec, ph), solution, summed)[1]


def _checked(
    report: Mapping[str, Floats],
    measured: Floats,
    ph: Floats,
    solution: Kind,
    summed: tuple[ChargeBalance, Floats] | None = None,
) -> tuple[Checks, Flags]:
    before = check_report(report, measured, ph, solution, summed=summed)
    contradicts = _fails(before, LEAST_IMBALANCE_ALONE)
    if contradicts.any():
        summed = before.balance, before.ec
        most = check_report(report, measured, ph, solution, MOST_CARBON_DIOXIDE, summed=summed)
        unreported = np.any([np.isnan(value) for value in report.values()], axis=0)
        contradicts &= ~(unreported & ~_fails(most, LEAST_IMBALANCE))
    return before, contradicts


def try_slips(
    ions: Mapping[str, ArrayLike],
    ec: ArrayLike = np.nan,
    ph: ArrayLike = np.nan,
    dilutions: Mapping[str, float] | None = None,
    written: Mapping[str, ArrayLike] | None = None,
    derived: Mapping[str, ArrayLike] | None = None,
    solution: Kind = "medium",
    summed: tuple[ChargeBalance, Floats] | None = None,
) -> SlipTrials:
    """Put each known slip right and see whether charge balance and EC then agree.

    A slip is looked for only where the report does not fit together by more than laboratories
    scatter: where the measured EC is more than `LEAST_EC_GAP` from that of the ions, or the charge
    balance is off by more than `LEAST_IMBALANCE_ALONE`, or both by less. Ions that were not
    reported may well make up the missing charge; the EC is then compared with that charge added,
    and no slip is told where they explain the whole gap.

    A slip closes the gap where EC and balance hold afterwards and neither is the worse for it. A
    form, or a slip of single ions, must bring the balance nearer too, and touches only what was
    reported; a unit only what came without one. Whatever scales all ions alike, the reading, and
    one ion's decimal point need a measured EC to be told. Of those that close it, the one comes
    first that leaves the likeliest report: the least gap, and the composition and strength that
    media and waters usually have.

    Parameters
    ----------
    ions : mapping of str to array_like of float
        Concentration by ion id [mmol_c/L] as read; NaN for what was not reported.
    ec : array_like of float
        Measured EC of the same solution [dS/m at 25 °C]; NaN where there is none.
    ph : array_like of float
        pH; NaN where unknown.
    dilutions : mapping of str to float, optional
        For each other extraction, and for `LITRE_OF_MEDIUM`, the factor that brings its
        concentrations to this one's.
    written : mapping of str to array_like of bool, optional
        Where the unit of an ion's figure was written beside it; nowhere if left out.
    derived : mapping of str to array_like of bool, optional
        Where an ion was worked out from alkalinity or hardness; nowhere if left out.
    solution : {"medium", "water"}
        What the report is of: an extract, or an irrigation water.
    summed
        As for :func:`saltcalc.science.unreported.check_report`, of shape (n,).

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
    usual = usual_shares()[solution]
    tried = _list_slips(dilutions or {})
    slips, factors = tuple(tried), list(tried.values())
    kinds = np.array([slip.kind for slip in slips])[:, None]
    fixed = {
        kind: {ion: _flags(by_ion, ion, measured) for ion in report}
        for kind, by_ion in (("written", written), ("derived", derived))
    }
    before, contradicts = _checked(report, measured, acidity, solution, summed)
    if not contradicts.any():
        shape = (len(slips), measured.size)
        unknown = np.full(shape, np.nan)
        return SlipTrials(
            slips, np.zeros(shape, dtype=bool), contradicts, unknown, unknown, unknown
        )
    factor = {
        ion: _factors(ion, factors, kinds, fixed["written"][ion], fixed["derived"][ion])
        for ion in report
    }
    righted = {ion: factor[ion] * value for ion, value in report.items()}
    _right_single_ions(slips, righted, report, before.balance)
    readings = np.array([slip.factor if slip.kind == "reading" else 1.0 for slip in slips])
    read = readings[:, None] * measured
    after = check_report(righted, read, acidity, solution, most_of_ec=MOST_OF_UNREPORTED_SALT)

    with_reading = ~np.isnan(before.ec_gap)
    holds = _holds(after) & _sane(report, righted, acidity)
    better = ~(after.ec_gap > np.fmax(before.ec_gap, MOST_EC_GAP)) & ~(
        np.abs(after.balance.error) > np.abs(before.balance.error) + 0.5
    )
    falls = np.abs(after.balance.error) <= np.abs(before.balance.error) - LEAST_FALL
    of_all = (kinds == "reading") | (kinds == "all_ions") | (kinds == "extraction")
    needs_ec = of_all | (kinds == "one_ion")
    strength = _USUAL_EC[solution] * (dilutions or {}).get("saturated_media_extract", 1.0)
    rare = np.array([_rarity(slip, by_ion) for slip, by_ion in tried.items()])[:, None]
    cost = rare + _cost(after, read, righted, usual, strength)
    return SlipTrials(
        slips=slips,
        closes=contradicts
        & holds
        & better
        & (falls | of_all | (kinds == "unit"))
        & (with_reading | ~needs_ec)
        & (cost < _cost(before, measured, report, usual, strength) - MARGIN)
        & _touched(slips, factors, kinds, factor, report, righted),
        contradicts=contradicts,
        error=after.balance.error,
        ec=after.ec,
        cost=cost,
    )


def _flat(
    ions: Mapping[str, ArrayLike], ec: ArrayLike, ph: ArrayLike
) -> tuple[dict[str, Floats], Floats, Floats]:
    """Every balanced ion, the reading and the pH, each of one value a sample."""
    names = CATIONS + ANIONS
    columns = alike(
        *(np.asarray(ions.get(ion, np.nan), dtype=np.float64) for ion in names),
        np.asarray(ec, dtype=np.float64),
        np.asarray(ph, dtype=np.float64),
    )
    *values, measured, acidity = (column.ravel() for column in columns)
    return dict(zip(names, values, strict=True)), measured, acidity


def _flags(by_ion: Mapping[str, ArrayLike] | None, ion: str, like: Floats) -> Flags:
    written = np.asarray((by_ion or {}).get(ion, False), dtype=bool).ravel()
    return np.asarray(in_shape(written, like.shape))


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


def _right_single_ions(
    slips: tuple[Slip, ...],
    righted: Mapping[str, Floats],
    report: Mapping[str, Floats],
    balance: ChargeBalance,
) -> None:
    """Put right, in place, what changed places and what was typed 0."""
    mass = {ion: reported_ions()[ion].mass_per_charge for ion in report}
    for row, slip in enumerate(slips):
        if slip.kind == "swapped":
            one, other = slip.name.split("_and_")
            righted[one][row] = report[other] * mass[other] / mass[one]
            righted[other][row] = report[one] * mass[one] / mass[other]
        elif slip.kind == "typed_zero":
            side_lacks = (balance.error > 0) == (slip.name in ANIONS)
            lacking = np.where(side_lacks, balance.missing, 0.0)
            righted[slip.name][row] = np.where(report[slip.name] == 0, lacking, report[slip.name])


def _touched(
    slips: tuple[Slip, ...],
    factors: list[dict[str, float]],
    kinds: NDArray[np.str_],
    factor: Mapping[str, Floats],
    report: Mapping[str, Floats],
    righted: Mapping[str, Floats],
) -> Flags:
    """Where a slip changes what was reported: for a form, all that it names."""
    changed = {ion: (factor[ion] != 1.0) & (report[ion] > 0) for ion in report}
    named = {ion: np.array([ion in by_ion for by_ion in factors])[:, None] for ion in report}
    some = np.any([changed[ion] for ion in report], axis=0)
    all_named = np.all([changed[ion] | ~named[ion] for ion in report], axis=0)
    touched = np.where(kinds == "form", some & all_named, some | (kinds == "reading"))
    for row, slip in enumerate(slips):
        if slip.kind == "swapped":
            one, other = slip.name.split("_and_")
            touched[row] = report[one] + report[other] > 0
        elif slip.kind == "typed_zero":
            touched[row] = righted[slip.name][row] > report[slip.name]
    return np.asarray(touched)


def _sane(report: Mapping[str, Floats], righted: Mapping[str, Floats], ph: Floats) -> Flags:
    """Where a slip raises nothing beyond what a medium or a water can hold."""
    most = np.fmin(bicarbonate_at(ph, MOST_CARBON_DIOXIDE), MOST_CHARGE)
    raised = righted["bicarbonate"] > report["bicarbonate"]
    charge = [np.nansum([righted[ion] for ion in side], axis=0) for side in (CATIONS, ANIONS)]
    beyond = raised & (righted["bicarbonate"] > most)
    return np.asarray(~beyond & (np.max(charge, axis=0) <= MOST_CHARGE))


def _rarity(slip: Slip, by_ion: Mapping[str, float]) -> float:
    """Cost of a slip for being rarer than others."""
    if slip.name == LITRE_OF_MEDIUM:
        return 0.0
    several = 0.5 * (len(by_ion) - 1) if slip.kind == "form" else 0.0
    far = 2.0 * (abs(np.log10(slip.factor)) > 1.5) if slip.kind == "one_ion" else 0.0
    return float(_RARE[slip.kind] + several + far)


def _cost(
    checks: Checks,
    read: Floats,
    ions: Mapping[str, Floats],
    usual: Mapping[str, UsualShare],
    strength: float,
) -> Floats:
    """How unlikely a report is: its two gaps, its composition, its strength, what it leaves out."""
    gaps = (filled(checks.imbalance, 0.0) / _BALANCE_SCATTER) ** 2 + (
        filled(checks.ec_gap, 0.0) / _EC_SCATTER
    ) ** 2
    known = np.where(checks.ec > 0, checks.ec, np.nan)
    left_out = np.log(np.where(read > 0, read, np.nan) / known) / _USUALLY_LEFT_OUT
    strange = [np.log(known / strength), left_out]
    for side in (CATIONS, ANIONS):
        total = np.nansum([ions[ion] for ion in side], axis=0)
        total = np.where(total > 0, total, np.nan)
        strange += [
            np.log(np.maximum(ions[ion] / total, _LEAST_SHARE) / usual[ion].share)
            / usual[ion].spread
            for ion in side
        ]
    squares = [np.minimum(filled(each, 0.0) ** 2, _MOST_STRANGE) for each in strange]
    return np.asarray(gaps + _WEIGHT_OF_STRANGENESS * np.sum(squares, axis=0))


def _fails(checks: Checks, most_imbalance: float) -> Flags:
    return (checks.ec_gap > LEAST_EC_GAP) | (checks.imbalance > most_imbalance)


def _holds(checks: Checks) -> Flags:
    return ~(checks.ec_gap > MOST_EC_GAP) & ~(checks.imbalance > LEAST_IMBALANCE)
