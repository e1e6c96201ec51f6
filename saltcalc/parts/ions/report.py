"""Whether a report of ions holds together: charges, EC, and the slips of reporting."""

from __future__ import annotations

import math
from dataclasses import fields
from typing import TYPE_CHECKING, Any

import numpy as np

from saltcalc.data.extraction import extraction_methods, method_codes
from saltcalc.message import Message, say
from saltcalc.parts.doubts import charge_is_open
from saltcalc.parts.ions.arrays import CHARGE_UNIT, Solution
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import part, row_of, shown
from saltcalc.science.balance import ANIONS, BALANCE_VERDICTS, CATIONS, EC_VERDICTS
from saltcalc.science.balance import ChargeBalance as Charges
from saltcalc.science.ec_bounds import COUNTER_IONS, ec_lower_bound
from saltcalc.science.extraction import convert
from saltcalc.science.reporting_slips import (
    LEAST_IMBALANCE,
    LITRE_OF_MEDIUM,
    SlipTrials,
    try_slips,
)
from saltcalc.science.reporting_slips import Slip as SlipTrial

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

LEAST_DILUTION_APART = 0.15
"""Logarithm of the dilution over this one's from which an extraction is tried (judgement). [-]"""

OWN_WATER = 0.4
"""Water that a litre of medium brings into its extract (judgement). [L/L]"""

_MOST_SLIPS = 4

SLIP_KINDS = (
    "form",
    "unit",
    "all_ions",
    "one_ion",
    "reading",
    "extraction",
    "swapped",
    "typed_zero",
)


@part
class MissingCharge:
    """What a report lacks."""

    kind: str = shown("Which side of the balance lacks charge.", choices=("anions", "cations"))
    amount: float = shown("Charge that is missing.", CHARGE_UNIT)
    candidates: list[str] = shown(
        "Ions that were not reported and may well bring as much, the likely first.",
        choices=(*CATIONS, *ANIONS, "organic_anions"),
    )


@part
class ChargeBalance:
    """Whether the charges of a report add up."""

    cations: float = shown("Sum of the cations.", CHARGE_UNIT)
    anions: float = shown("Sum of the anions.", CHARGE_UNIT)
    error: float = shown("100 (cations − anions) / (cations + anions).", "%")
    criterion: float = shown(
        "Largest difference that the published criterion accepts.", CHARGE_UNIT
    )
    verdict: str = shown(choices=BALANCE_VERDICTS)
    missing_charge: MissingCharge | None = shown(optional=True)


@part
class Slip:
    """A reporting slip that closes the gap once it is put right."""

    kind: str = shown(
        "What was slipped: the form, a unit, one figure or all of them.", choices=SLIP_KINDS
    )
    id: str = shown()
    factor: float = shown("Factor that puts the figure right; 1 where each ion has its own.")
    sentence: Message = shown()
    ec_from_ions: float = shown("EC from ions once put right.", "dS/m")
    balance_error: float = shown("Charge balance error once put right.", "%")


@part
class Agreement:
    """Measured against computed EC."""

    measured: float = shown("EC as measured, at 25 °C.", "dS/m")
    ratio: float = shown("Measured over `ec_from_ions`; 0.9 to 1.1 agrees.", "1")
    verdict: str | None = shown(choices=EC_VERDICTS)
    slips: list[Slip] = shown("What may be wrong with the report.", optional=True)


@part
class EcLowerBound:
    """The least EC that the reported ions allow."""

    ec: float = shown("EC with the missing charge made up by that ion.", "dS/m")
    counter_ion: str | None = shown(
        "The ion that made up the missing charge.", choices=COUNTER_IONS
    )
    counter_charge: float = shown("Charge of that ion.", CHARGE_UNIT)
    sentence: Message = shown()


def show_balance(solution: Solution, trials: SlipTrials, notes: Notes) -> ChargeBalance:
    """Return whether the charges of a report add up, and what may be missing.

    Only a gap beyond what laboratories scatter is a finding; one that nothing left out explains is
    told with the slips.
    """
    balance, owner = solution.result.balance, solution.owner
    verdict = BALANCE_VERDICTS[int(balance.verdict)]
    amount, missing = float(balance.missing), None
    if verdict != "balanced":
        kind = "anions" if verdict == "anions_missing" else "cations"
        likely = [ion for ion, may_be in solution.result.candidates.items() if may_be]
        missing = MissingCharge(kind, amount, likely)
        off = abs(float(balance.error)) > LEAST_IMBALANCE and not solution.charge_is_open
        if off and not trials.contradicts[0]:
            notes.warn(
                "charges_do_not_balance",
                "note",
                say(
                    f"finding.{kind}_missing{'_likely' if likely else ''}",
                    owner=_owner(solution),
                    amount=amount,
                    likely=[
                        say(f"{'ions' if ion == 'organic_anions' else 'reported_ions.name'}.{ion}")
                        for ion in likely
                    ],
                ),
                f"ions/{owner}/charge_balance",
            )
    return ChargeBalance(
        cations=float(balance.cations),
        anions=float(balance.anions),
        error=float(balance.error),
        criterion=float(balance.criterion),
        verdict=verdict,
        missing_charge=missing,
    )


def _owner(solution: Solution) -> Message:
    return say(f"ions.owner_{solution.owner}")


def show_agreement(solution: Solution, trials: SlipTrials, notes: Notes) -> Agreement:
    """Hold the measured EC against that of the ions, and tell a slip where they differ."""
    agreement, owner = solution.result.agreement, solution.owner
    code = int(agreement.verdict)
    verdict = EC_VERDICTS[code] if code >= 0 else None
    if verdict is None:
        notes.miss(f"ions/{owner}/agreement", [f"/{owner}/ec"], say("missing.ec_agreement"))
    slips = [] if solution.charge_is_open else _slips(trials)
    contradicts = bool(trials.contradicts[0]) and not solution.charge_is_open
    measured, computed = solution.measured_ec, float(solution.result.conductivity.ec)
    told = {"owner": _owner(solution), "measured": measured, "computed": computed}
    if slips:
        sentence = slips[0].sentence
        said = {"slip": sentence, "owner": told["owner"]}
        notes.find("reporting_slip", "caution", f"/{owner}/ions", **said)
    elif contradicts and verdict == "measured_lower":
        notes.find("reading_below_ions", "caution", f"ions/{owner}/agreement", **told)
    elif contradicts:
        error = abs(float(solution.result.balance.error)) / 100
        which = _what_contradicts(verdict, error)
        sentence = say(f"finding.{which}", error=error, **told)
        notes.warn("report_contradicts", "caution", sentence, f"ions/{owner}/agreement")
    elif verdict == "measured_higher":
        unexplained = float(agreement.unexplained)
        field = f"ions/{owner}/agreement"
        notes.find("unmeasured_salts", "note", field, unexplained=unexplained, **told)
    return Agreement(
        measured=measured,
        ratio=float(agreement.ratio),
        verdict=verdict,
        slips=slips,
    )


def _what_contradicts(verdict: str | None, error: float) -> str:
    """Return the sentence on what does not fit: the charges, the EC, or both."""
    if verdict in (None, "agree"):
        return "report_contradicts_charges"
    if 100 * error <= LEAST_IMBALANCE:
        return "report_contradicts_ec"
    return "report_contradicts"


def _slips(trials: SlipTrials) -> list[Slip]:
    """Return the slips that close the gap of a solution, the likely first."""
    return [
        Slip(
            kind=slip.kind,
            id=slip.name,
            factor=slip.factor,
            sentence=_slip_told(slip),
            ec_from_ions=float(trials.ec[place, 0]),
            balance_error=float(trials.error[place, 0]),
        )
        for place in trials.closing(0)[:_MOST_SLIPS]
        for slip in [trials.slips[place]]
    ]


_NONE_TRIED = SlipTrials((), np.zeros((0, 1), bool), np.zeros(1, bool), *np.zeros((3, 0, 1)))


def slips_of(solution: Solution) -> SlipTrials:
    """Try the known reporting slips on one solution, if its report contradicts itself."""
    if not solution.result.contradicts:
        return _NONE_TRIED
    given, row, found = solution.solutions, solution.row, solution.result
    balance = (np.array([getattr(found.balance, each.name)]) for each in fields(Charges))
    alkalinity, hardness = (
        not np.isnan(total[row]) for total in (given.alkalinity, given.hardness)
    )
    return try_slips(
        solution.ions,
        solution.measured_ec,
        solution.ph,
        solution.dilutions,
        written={ion: flags[row] for ion, flags in given.written.items()},
        derived={"bicarbonate": alkalinity, "calcium": hardness, "magnesium": hardness},
        solution=solution.owner,
        summed=(Charges(*balance), np.array([found.conductivity.ec])),
    )


def medium_solution(assessment: Assessment, sample: int) -> Solution:
    """Return the extract of a sample's medium."""
    found, read = row_of(assessment.medium_ions, sample), assessment.salinity.ec_25c[sample]
    return Solution(
        "medium",
        sample,
        assessment.batch.samples.medium,
        found,
        math.nan if math.isnan(assessment.given.samples.medium.ec[sample]) else float(read),
        dilutions_of(assessment, sample) if found.contradicts else {},
        charge_is_open(assessment),
    )


def _slip_told(slip: SlipTrial) -> Message:
    if slip.kind in {"form", "unit"}:
        return say(f"slip.{slip.name}")
    if slip.name == LITRE_OF_MEDIUM:
        return say("slip.litre_of_medium")
    if slip.kind in {"swapped", "typed_zero"}:
        names = [say(f"reported_ions.name.{ion}") for ion in slip.name.split("_and_")]
        return say(f"slip.{slip.kind}", ions=names)
    if slip.kind == "extraction":
        return say("slip.extraction", method=say(f"extraction_methods.name.{slip.name}"))
    high = slip.factor < 1
    told: dict[str, Any] = {"times": 1 / slip.factor if high else slip.factor}
    if slip.kind == "one_ion":
        told["ion"] = say(f"reported_ions.name.{slip.name}")
    return say(f"slip.{slip.kind}_too_{'high' if high else 'low'}", **told)


def show_lower_bound(solution: Solution) -> EcLowerBound | None:
    """Return the least EC that the reported ions allow."""
    floor = ec_lower_bound(solution.ions, solution.ph)
    if math.isnan(floor.ec):
        return None
    code = int(floor.counter_ion)
    return EcLowerBound(
        ec=float(floor.ec),
        counter_ion=COUNTER_IONS[code] if code >= 0 else None,
        counter_charge=float(floor.counter_charge),
        sentence=say("ions.ec_lower_bound"),
    )


def dilutions_of(assessment: Assessment, sample: int) -> dict[str, float]:
    """Factor that brings the figures of each other extraction to those of this one.

    Also those of a litre of medium, for a method that adds a stated volume of water to it.
    """
    extraction = int(assessment.batch.samples.extraction[sample])
    codes = method_codes()
    factors = convert(
        1.0,
        list(codes.values()),
        extraction,
        int(assessment.medium_kind[sample]),
        row_of(assessment.sample_water.pores, sample),
    ).value
    found = {
        method: float(factor)
        for method, factor in zip(codes, factors, strict=True)
        if np.isfinite(factor) and abs(np.log(factor)) > LEAST_DILUTION_APART
    }
    added = extraction_methods()[extraction].water_added
    return found | ({LITRE_OF_MEDIUM: 1 / (added + OWN_WATER)} if added else {})
