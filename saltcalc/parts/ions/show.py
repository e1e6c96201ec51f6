"""Which salts a medium and a water hold, and what gypsum does."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.data.minerals import salts
from saltcalc.data.reported_ions import reported_ions
from saltcalc.message import Message, say
from saltcalc.parts.ions.arrays import CHARGE_UNIT, Solution
from saltcalc.parts.ions.report import (
    Agreement,
    ChargeBalance,
    Floor,
    dilutions_of,
    show_agreement,
    show_balance,
    show_floor,
)
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import part, row_of, shown, source_keys
from saltcalc.science import phreeqc
from saltcalc.science.balance import (
    ANIONS,
    CATIONS,
)
from saltcalc.science.character import (
    CHARACTERS,
    LIMITS,
    MIXED,
    NO_CHARACTER,
)
from saltcalc.science.conductivity import VALID_IONIC_STRENGTH
from saltcalc.science.crust import crust
from saltcalc.science.saturation import SATURATED

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

METHOD = "onsager_with_ion_pairs"

_MOST_CRUST = 6


@part
class IonShare:
    """One ion and its share of the EC."""

    ion: str = shown("Id of the ion; hydrogen and hydroxide where a pH was given.")
    reported_as: str | None = shown("The form that the mass is of.", optional=True)
    mass: float = shown("Concentration as mass of that form.", "mg/L", optional=True)
    charge: float = shown("Concentration as charge.", CHARGE_UNIT, optional=True)
    share_of_ec: float = shown("Share of the EC from ions; all shares sum to 1.", "1")


@part
class CharacterFigure:
    """A figure that decides the character."""

    of: str = shown()
    value: float = shown("Share of the charge.", "1")
    limit: float = shown("From where it gives the salt its name.", "1")


@part
class Character:
    """What kind of salt it is."""

    id: str = shown()
    name: Message = shown()
    also: list[str] = shown()
    figures: list[CharacterFigure] = shown()
    sources: list[str] = source_keys()


@part
class Salt:
    """A hypothetical salt."""

    name: Message = shown()
    formula: str = shown()
    amount: float = shown("Charge of either sign.", CHARGE_UNIT)
    share: float = shown("Share of all salts.", "1")


@part
class Salts:
    """The ions combined into salts."""

    order: Message = shown()
    salts: list[Salt] = shown()
    sources: list[str] = source_keys()


@part
class Crust:
    """A mineral of the crust."""

    name: Message = shown()
    concentration: float = shown(
        "How many times over the solution is concentrated when it forms.", "1"
    )
    method: str = shown("phreeqc-pitzer, phreeqc, ion-pairs or solubility.")


@part
class SaturationIndex:
    """Saturation with one mineral."""

    index: float = shown("log10 of the ion activity product over the solubility product.", "1")
    saturated: bool = shown("Whether the index is within 0.1 of saturation or above.")


@part
class Saturation:
    """Saturation with gypsum and lime."""

    method: str = shown("phreeqc or ion-pairs.")
    gypsum: SaturationIndex | None = shown()
    calcite: SaturationIndex | None = shown()


@part
class SolutionIons:
    """Which salts a solution holds."""

    ec_from_ions: float = shown("EC at 25 °C from the ions.", "dS/m")
    method: str = shown()
    ionic_strength: float = shown("Ionic strength.", "mol/L")
    within_range: bool = shown("Whether the ionic strength is within what was checked.")
    shares: list[IonShare] = shown()
    charge_balance: ChargeBalance = shown()
    agreement: Agreement = shown()
    ec_floor: Floor | None = shown("Where no EC was measured.")
    character: Character | None = shown()
    hypothetical_salts: Salts = shown()
    crust: list[Crust] = shown("What forms as the surface dries, the first first.")
    saturation: Saturation = shown()
    sources: list[str] = source_keys()


@part
class IonAnalyses:
    """Which salts are in the medium and in the water."""

    medium: SolutionIons | None = shown()
    water: SolutionIons | None = shown()


def show_ions(assessment: Assessment, sample: int, notes: Notes) -> IonAnalyses:
    """Return which salts are in a sample's medium and water."""
    samples, given, salinity = (
        assessment.batch.samples,
        assessment.given.samples,
        assessment.salinity,
    )
    medium = Solution(
        "medium",
        sample,
        samples.medium,
        row_of(assessment.medium_ions, sample),
        math.nan if math.isnan(given.medium.ec[sample]) else float(salinity.ec_25c[sample]),
        dilutions_of(assessment, sample),
    )
    water = Solution(
        "water",
        sample,
        samples.water,
        row_of(assessment.water_ions, sample),
        math.nan if math.isnan(given.water.ec[sample]) else float(assessment.water_ec_25c[sample]),
        {},
    )
    return IonAnalyses(_show(medium, notes), _show(water, notes))


def _show(solution: Solution, notes: Notes) -> SolutionIons | None:
    ions, owner, found = solution.ions, solution.owner, solution.result.conductivity
    if all(math.isnan(ions[ion]) for ion in CATIONS + ANIONS):
        notes.miss(f"ions/{owner}", [f"/{owner}/ions"], say("missing.ions"))
        return None
    if not found.valid:
        notes.find("ions_beyond_range", "caution", f"/{owner}/ions", limit=VALID_IONIC_STRENGTH)
    return SolutionIons(
        ec_from_ions=float(found.ec),
        method=METHOD,
        ionic_strength=float(found.ionic_strength),
        within_range=bool(found.valid),
        shares=_shares(solution),
        charge_balance=show_balance(solution, notes),
        agreement=show_agreement(solution, notes),
        ec_floor=show_floor(solution) if math.isnan(solution.measured_ec) else None,
        character=_character(solution, notes),
        hypothetical_salts=_salts(solution, notes),
        crust=[
            Crust(_name(one.id), float(one.concentration), one.method)
            for one in crust(ions, solution.ph)[:_MOST_CRUST]
        ],
        saturation=_saturation(solution, notes),
        sources=notes.cite(
            "crc",
            "robinson_stokes_1959",
            "contact_radius_fit",
            "phreeqc_database",
            "truesdell_jones_1974",
            "standard_methods",
            "collins_1923",
            "back_1966",
            "judgement",
        ),
    )


def _shares(solution: Solution) -> list[IonShare]:
    ions = solution.ions
    rows = []
    for ion, share in solution.result.conductivity.shares.items():
        facts, amount = reported_ions().get(ion), ions.get(ion, math.nan)
        if facts is None and not math.isnan(share):
            rows.append(IonShare(ion, None, math.nan, math.nan, float(share)))
        elif facts is not None and not math.isnan(amount):
            mass, charge = amount * facts.mass_per_charge, amount if facts.charge else 0.0
            rows.append(IonShare(ion, facts.reported_as, mass, charge, float(share)))
    return sorted(rows, key=lambda one: -_known(one.share_of_ec))


def _name(salt: str) -> Message:
    return say(f"minerals.name.{salt}")


def _known(value: float) -> float:
    return 0.0 if math.isnan(value) else value


def _character(solution: Solution, notes: Notes) -> Character | None:
    character = solution.result.character
    if character.code == NO_CHARACTER:
        return None
    id_ = CHARACTERS[int(character.code)]
    figures = {
        name: float(value) for name, value in character.figures.items() if not math.isnan(value)
    }
    return Character(
        id=id_,
        name=say(f"character.{id_}"),
        also=[
            name
            for name in CHARACTERS[:MIXED]
            if figures.get(name, 0.0) >= LIMITS[name] and name != id_
        ],
        figures=[CharacterFigure(name, value, LIMITS[name]) for name, value in figures.items()],
        sources=notes.cite("back_1966", "judgement"),
    )


def _salts(solution: Solution, notes: Notes) -> Salts:
    made = {pair: float(amount) for pair, amount in solution.result.salts.items() if amount > 0}
    total = sum(made.values())
    return Salts(
        order=say("ions.order_of_salts"),
        salts=[
            Salt(_name(salts()[pair].id), salts()[pair].formula, amount, amount / total)
            for pair, amount in sorted(made.items(), key=lambda one: -one[1])
        ],
        sources=notes.cite("collins_1923", "judgement"),
    )


def _saturation(solution: Solution, notes: Notes) -> Saturation:
    """Return the saturation indices of one solution, by PHREEQC where it is installed."""
    owner, result = solution.owner, solution.result
    gypsum, calcite = float(result.gypsum), float(result.calcite)
    by_engine = False
    if np.isfinite([gypsum, calcite]).any():
        if phreeqc.available():
            engine = phreeqc.solve(solution.ions, solution.ph).saturation
            gypsum = engine.get("Gypsum", gypsum) if np.isfinite(gypsum) else gypsum
            calcite = engine.get("Calcite", calcite) if np.isfinite(calcite) else calcite
            by_engine = bool(engine)
        if not by_engine:
            notes.miss(f"ions/{owner}/saturation/phreeqc", [], say("missing.phreeqc"))
    if math.isnan(gypsum):
        missing = _unreported(solution, "calcium", "sulfate_s")
        notes.miss(f"ions/{owner}/saturation/gypsum", missing, say("missing.gypsum"))
    if math.isnan(calcite):
        missing = _unreported(solution, "calcium", "bicarbonate")
        if math.isnan(solution.ph):
            missing.append(f"/{owner}/ph")
        notes.miss(f"ions/{owner}/saturation/calcite", missing, say("missing.calcite"))
    return Saturation(
        method="phreeqc" if by_engine else "ion_pairs",
        # By the index that crops and flush are judged with, so that the answer agrees with itself.
        gypsum=_index(gypsum, saturated=bool(result.gypsum_saturated)),
        calcite=_index(calcite, saturated=calcite >= SATURATED),
    )


def _unreported(solution: Solution, *ions: str) -> list[str]:
    return [f"/{solution.owner}/ions/{ion}" for ion in ions if math.isnan(solution.ions[ion])]


def _index(index: float, *, saturated: bool) -> SaturationIndex | None:
    return SaturationIndex(index, saturated) if math.isfinite(index) else None


def find_gypsum(assessment: Assessment, sample: int, notes: Notes) -> None:
    """Tell how to read crops and flush where the extract is saturated with gypsum."""
    shift = float(assessment.salinity.tolerance_shift[sample])
    if shift == 0 or math.isnan(assessment.salinity.ec_25c[sample]):
        return
    notes.cite("fao29")
    notes.find("gypsum_tolerance_shift", "note", "ions/medium/saturation/gypsum", shift=shift)
    if containers := assessment.containers_of(sample):
        plateau = float(assessment.flush_plan.case.gypsum_plateau[containers[0]])
        notes.find("gypsum_plateau", "caution", "flush_plan", plateau=plateau)
