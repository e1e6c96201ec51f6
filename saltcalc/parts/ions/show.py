"""Which salts a medium and a water hold, and what gypsum does."""

from __future__ import annotations

import math
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from saltcalc.data.minerals import evaporites, minerals, salts
from saltcalc.data.reported_ions import reported_ions
from saltcalc.data.tables import weakest
from saltcalc.message import Message, say
from saltcalc.parts.choices import IONS
from saltcalc.parts.ions.arrays import CHARGE_UNIT, Solution
from saltcalc.parts.ions.report import (
    Agreement,
    ChargeBalance,
    EcLowerBound,
    medium_solution,
    show_agreement,
    show_balance,
    show_lower_bound,
    slips_of,
)
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import Series, how_known, part, row_of, shown, shows, source_keys
from saltcalc.science import phreeqc
from saltcalc.science.balance import ANIONS, CATIONS, SOLIDS_PER_EC, solids_per_ec
from saltcalc.science.conductivity import VALID_IONIC_STRENGTH
from saltcalc.science.crust import crust
from saltcalc.science.reporting_slips import LEAST_IMBALANCE, SlipTrials
from saltcalc.science.salt_type import (
    LIMITS,
    MIXED,
    NO_SALT_TYPE,
    SALT_TYPES,
)
from saltcalc.science.saturation import SATURATED

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

METHOD = "onsager_with_ion_pairs"

LEAST_SHARE_TOLD = 0.001
"""Share of the EC below which hydrogen and hydroxide are not told."""

_MOST_CRUST = 5
_MOST_SALTS = 5
_KNOWN_SALTS = {
    ("sulfate", "calcium"): "gypsum",
    ("chloride", "sodium"): "sodium_chloride",
    ("sodium", "chloride"): "sodium_chloride",
}
"""Salts that have a name of their own, by the ion that leads and what most of it goes with."""

_REPORTED = 0.25
"""Charge of one side over the other's from which its leading ion is told (judgement). [-]"""
_MOSTLY = 0.5
"""Share of the charge of its sign from which an ion is named as what most of the salt is with."""
_CATION_NAMED = ("sodium", "ammonium", "potassium")

_SOURCES = (
    "crc",
    "robinson_stokes_1959",
    "contact_radius_fit",
    "phreeqc_database",
    "truesdell_jones_1974",
    "standard_methods",
    "collins_1923",
    "back_1966",
    "judgement",
)


class IonShare(NamedTuple):
    """One ion, and its share of the EC [-]; as mass [mg/L] and as charge [mmol_c/L]."""

    ion: str
    mass: float
    charge: float
    share: float


@part
class IonShares:
    """The ions and their shares of the EC, the largest first."""

    each: tuple[IonShare, ...]

    @property
    @shows("Hydrogen and hydroxide where they carry 0.1 % or more of it.", choices=IONS)
    def of_ions(self) -> list[str]:
        """Their ids."""
        return [each.ion for each in self.each]

    @property
    @shows("Concentration as mass, of the form that the id names.")
    def as_mass(self) -> Series:
        """As mass."""
        return Series([each.mass for each in self.each], "mg/L")

    @property
    @shows("Concentration as charge.")
    def as_charge(self) -> Series:
        """As charge."""
        return Series([each.charge for each in self.each], CHARGE_UNIT)

    @property
    @shows("Share of the EC from ions; with what is not told all shares sum to 1.")
    def of_ec(self) -> Series:
        """Shares of the EC."""
        return Series([each.share for each in self.each], "1")


@part
class DominantSaltShares:
    """The shares of the charge that decide what kind of salt it is."""

    of_kinds: list[str] = shown("The types that were weighed.", choices=SALT_TYPES)
    of_charge: Series = shown(
        "Share of the charge; from a half it names the salt, of nutrients from 0.3, of ammonium "
        "from 0.25."
    )


@part
class DominantSalts:
    """What kind of salt it is."""

    id: str = shown(choices=SALT_TYPES)
    name: Message = shown()
    also: list[str] = shown("Other names that it deserves.", optional=True, choices=SALT_TYPES)
    decided_by: DominantSaltShares = shown()


@part
class Salts:
    """The ions combined into salts."""

    names: list[Message] = shown("The five most plentiful salts.")
    formulas: list[str] = shown("Their chemical formulas.")
    amounts: Series = shown("Charge of either sign.")


@part
class Crust:
    """The minerals of the crust, in order of precipitation."""

    names: list[Message] = shown("The first five minerals that form.")
    concentrations: Series = shown(
        "About how many times over the solution is concentrated when each forms, as an order: 1 "
        "(saturated already), 3, 10, 30, 100 and so on."
    )
    provenance: str = how_known()


@part
class SaturationIndex:
    """Saturation with one mineral."""

    index: float = shown("log10 of the ion activity product over the solubility product.", "1")
    saturated: bool = shown("Whether the index is within 0.1 of saturation or above.")


@part
class Saturation:
    """Saturation with gypsum, lime and calcium phosphates."""

    method: str = shown(choices=("phreeqc", "ion_pairs"))
    gypsum: SaturationIndex | None = shown("Saturation with gypsum; null where it cannot be told.")
    calcite: SaturationIndex | None = shown("Saturation with lime; null where it cannot be told.")
    brushite: SaturationIndex | None = shown(
        "The calcium phosphate that comes out first; where phosphorus and pH are known.",
        optional=True,
    )
    hydroxyapatite: SaturationIndex | None = shown(
        "Apatite, which most media are beyond and which forms slowly.", optional=True
    )


@part
class SolutionIons:
    """Which salts a solution holds."""

    ec_from_ions: float = shown("EC at 25 °C from the ions.", "dS/m")
    method: str = shown(choices=(METHOD,))
    ionic_strength: float = shown("Ionic strength.", "mol/L")
    within_range: bool = shown("Whether the ionic strength is within what was checked.")
    shares: IonShares = shown()
    charge_balance: ChargeBalance = shown()
    agreement: Agreement = shown()
    solids_per_ec: float = shown(
        "Total dissolved solids for each dS/m, where both were given; 500 to 900 agrees.",
        "mg/L",
        optional=True,
    )
    ec_lower_bound: EcLowerBound | None = shown(
        "Least EC that the reported ions allow; where no EC was measured.", optional=True
    )
    dominant_salts: DominantSalts | None = shown()
    hypothetical_salts: Salts = shown()
    dried: Solution | None

    @cached_property
    @shows("What forms as the surface dries; of a medium.")
    def crust(self) -> Crust | None:
        """What forms; worked out only where it is shown."""
        return _crust(self.dried) if self.dried else None

    saturation: Saturation = shown()


@part
class IonAnalyses:
    """Which salts are in the medium and in the water."""

    medium: SolutionIons | None = shown("Which salts the extract of the medium holds.")
    water: SolutionIons | None = shown("Which salts the irrigation water holds.")
    sources: list[str] = source_keys()


def show_ions(assessment: Assessment, sample: int, notes: Notes) -> IonAnalyses:
    """Return which salts are in a sample's medium and water."""
    samples, given = assessment.batch.samples, assessment.given.samples
    medium = medium_solution(assessment, sample)
    water = Solution(
        "water",
        sample,
        samples.water,
        row_of(assessment.water_ions, sample),
        math.nan if math.isnan(given.water.ec[sample]) else float(assessment.water_ec_25c[sample]),
        {},
    )
    return IonAnalyses(
        medium=_show(medium, assessment.slips_of_medium(sample), notes),
        water=_show(water, slips_of(water), notes),
        sources=notes.cite(*_SOURCES),
    )


def find_contradiction(assessment: Assessment, sample: int, notes: Notes) -> None:
    """Say by what the report of a sample's medium contradicts itself."""
    trials = assessment.slips_of_medium(sample)
    if trials.contradicts[0]:
        show_agreement(medium_solution(assessment, sample), trials, notes)


def _show(solution: Solution, trials: SlipTrials, notes: Notes) -> SolutionIons | None:
    ions, owner, found = solution.ions, solution.owner, solution.result.conductivity
    solids = _solids_per_ec(solution, notes)
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
        charge_balance=show_balance(solution, trials, notes),
        agreement=show_agreement(solution, trials, notes),
        solids_per_ec=solids,
        ec_lower_bound=show_lower_bound(solution) if math.isnan(solution.measured_ec) else None,
        dominant_salts=_dominant_salts(solution),
        hypothetical_salts=_salts(solution),
        dried=_dried(solution, notes) if solution.owner == "medium" else None,
        saturation=_saturation(solution, notes),
    )


def _solids_per_ec(solution: Solution, notes: Notes) -> float:
    """Hold the dissolved solids against the EC, where both were given."""
    solids = float(solution.solutions.total_dissolved_solids[solution.row])
    ratio = float(solids_per_ec(solids, solution.measured_ec))
    least, most = SOLIDS_PER_EC
    if ratio < least or ratio > most:
        notes.find(
            "solids_do_not_fit_ec",
            "caution",
            f"/{solution.owner}/total_dissolved_solids",
            solids=solids,
            ratio=ratio,
        )
    return ratio


def _dried(solution: Solution, notes: Notes) -> Solution | None:
    """Return what leaves a crust as the surface dries; none where too much charge is missing."""
    if not abs(float(solution.result.balance.error)) <= LEAST_IMBALANCE:
        owner = solution.owner
        missing = _unreported(solution, *CATIONS, *ANIONS)
        notes.miss(f"ions/{owner}/crust", missing, say("missing.crust"))
        return None
    return solution


def _shares(solution: Solution) -> IonShares:
    ions = solution.ions
    rows = []
    for ion, share in solution.result.conductivity.shares.items():
        facts, amount = reported_ions().get(ion), ions.get(ion, math.nan)
        if facts is None and share >= LEAST_SHARE_TOLD:
            rows.append(IonShare(ion, math.nan, math.nan, float(share)))
        elif facts is not None and not math.isnan(amount):
            mass, charge = amount * facts.mass_per_charge, amount if facts.charge else 0.0
            rows.append(IonShare(ion, mass, charge, float(share)))
    return IonShares(tuple(sorted(rows, key=lambda one: -_known(one.share))))


def _name(salt: str) -> Message:
    return say(f"minerals.name.{salt}")


def _known(value: float) -> float:
    return 0.0 if math.isnan(value) else value


def _crust(solution: Solution) -> Crust:
    """Return what forms as a solution dries."""
    found = crust(solution.ions, solution.ph)[:_MOST_CRUST]
    return Crust(
        [_name(one.id) for one in found],
        Series([_order(one.concentration) for one in found], "1"),
        weakest(each.provenance for each in evaporites()),
    )


def _order(factor: float) -> float:
    """Round to 1, 3, 10, 30 and so on."""
    halves = round(2 * math.log10(factor))
    return float((3 if halves % 2 else 1) * 10 ** (halves // 2))


def _dominant_salts(solution: Solution) -> DominantSalts | None:
    found = solution.result.salt_type
    if found.code == NO_SALT_TYPE:
        return None
    id_ = SALT_TYPES[int(found.code)]
    figures = {name: float(value) for name, value in found.figures.items() if not math.isnan(value)}
    return DominantSalts(
        id=id_,
        name=_named(id_, solution),
        also=[
            name
            for name in SALT_TYPES[:MIXED]
            if figures.get(name, 0.0) >= LIMITS[name] and name != id_
        ],
        decided_by=DominantSaltShares(
            list(figures),
            Series(list(figures.values()), "1"),
        ),
    )


def _named(kind: str, solution: Solution) -> Message:
    """Name the salts by the ion that leads, with the one that most of it goes with."""
    sides = [
        {ion: share for ion in side if (share := solution.ions[ion]) > 0}
        for side in (CATIONS, ANIONS)
    ]
    total = [sum(side.values()) for side in sides]
    lead = [max(side, key=side.__getitem__) if side else "" for side in sides]
    if kind == "mixed":
        if not all(lead):
            return say("salt_type.mixed")
        # Of a side of which most was not reported nobody knows what leads.
        told = [
            say(f"salt_type.partner.{ion}")
            for ion, of_side in zip(lead, total, strict=True)
            if of_side >= _REPORTED * max(total)
        ]
        if len(told) == 1:
            return say("salt_type.mixed_led", ion=told[0])
        return say("salt_type.mixed_of", cation=told[0], anion=told[1])
    if kind == "nutrient":
        potassium, nitrate = (
            side.get(ion, 0.0) for side, ion in zip(sides, ("potassium", "nitrate_n"), strict=True)
        )
        kind = "potassium" if potassium > nitrate else "nitrate"
    other = 1 if kind in _CATION_NAMED else 0
    partner = lead[other]
    if not partner or sides[other][partner] < _MOSTLY * max(total):
        return say(f"salt_type.{kind}")
    if known := _KNOWN_SALTS.get((kind, partner)):
        return say(f"salt_type.{known}")
    name = say(f"salt_type.partner.{partner}")
    return say("salt_type.mostly", salts=say(f"salt_type.{kind}"), partner=name)


def _salts(solution: Solution) -> Salts:
    made = {pair: float(amount) for pair, amount in solution.result.salts.items() if amount > 0}
    most = sorted(made, key=lambda pair: -made[pair])[:_MOST_SALTS]
    return Salts(
        names=[_name(salts()[pair].id) for pair in most],
        formulas=[salts()[pair].formula for pair in most],
        amounts=Series([made[pair] for pair in most], CHARGE_UNIT),
    )


def _saturation(solution: Solution, notes: Notes) -> Saturation:
    """Return the saturation indices of one solution, by PHREEQC where it is installed."""
    owner, result = solution.owner, solution.result
    index = {mineral: float(found) for mineral, found in result.saturation.items()}
    by_engine = False
    if np.isfinite(list(index.values())).any():
        if phreeqc.available():
            engine = phreeqc.solve(
                solution.ions, solution.ph, float(solution.result.carbonate)
            ).saturation
            index |= {
                one.mineral: engine[one.phase]
                for one in minerals().values()
                if one.phase in engine and np.isfinite(index[one.mineral])
            }
            by_engine = bool(engine)
        if not by_engine:
            notes.miss(f"ions/{owner}/saturation/phreeqc", [], say("missing.phreeqc"))
    if math.isnan(index["gypsum"]):
        missing = _unreported(solution, "calcium", "sulfate_s")
        notes.miss(f"ions/{owner}/saturation/gypsum", missing, say("missing.gypsum"))
    if math.isnan(index["calcite"]):
        missing = _unreported(solution, "calcium", "bicarbonate")
        if math.isnan(solution.ph):
            missing.append(f"/{owner}/ph")
        notes.miss(f"ions/{owner}/saturation/calcite", missing, say("missing.calcite"))
    # By the index that crops and flush are judged with, so that the answer agrees with itself.
    saturated = {mineral: found >= SATURATED for mineral, found in index.items()} | {
        "gypsum": bool(result.gypsum_saturated)
    }
    return Saturation(
        method="phreeqc" if by_engine else "ion_pairs",
        **{
            mineral: SaturationIndex(found, saturated[mineral]) if math.isfinite(found) else None
            for mineral, found in index.items()
        },
    )


def _unreported(solution: Solution, *ions: str) -> list[str]:
    return [f"/{solution.owner}/ions/{ion}" for ion in ions if math.isnan(solution.ions[ion])]


def find_gypsum(assessment: Assessment, sample: int, notes: Notes) -> None:
    """Tell how to read crops and flush where the extract is saturated with gypsum."""
    shift = float(assessment.tolerance_shift[sample])
    if shift == 0 or math.isnan(assessment.salinity.ec_25c[sample]):
        return
    notes.cite("fao29")
    notes.find("gypsum_tolerance_shift", "note", "ions/medium/saturation/gypsum", shift=shift)
    if containers := assessment.containers_of(sample):
        plateau = float(assessment.flush_plan.case.gypsum_plateau[containers[0]])
        notes.find("gypsum_plateau", "caution", "flush_plan", plateau=plateau)
