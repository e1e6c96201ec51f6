"""Slips planted in published reports that are sound, and which of them can be detected.

``sound_reports.csv`` holds analyses whose charges agree within 5.5 % and whose EC agrees with that
of the ions within 10 %, as printed: mmol/L, or mg/L with nitrate as NO3, ammonium as NH4, sulfate
as SO4 and ``bicarbonate`` as CaCO3. A recipe of salts holds 0 of an ion that none of its salts
brings; an ion below the limit of detection is 0 too. Ions that a source leaves out stay out.
"""

import csv
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from saltcalc.data.extraction import extraction_methods, method_codes
from saltcalc.data.reported_ions import molar_mass, reported_ions
from saltcalc.parts.ions.report import OWN_WATER
from saltcalc.science.balance import ANIONS, CATIONS, charge_balance
from saltcalc.science.conductivity import ec_from_ions
from saltcalc.science.extraction import convert
from saltcalc.science.reporting_slips import LITRE_OF_MEDIUM

SOUND = Path(__file__).with_name("sound_reports.csv")

ERROR_OF_BALANCE = 5.0
"""What charges of a sound report may differ by [%], Standard Methods 1030E."""

ERROR_OF_EC = 10.0
"""What the EC of the ions may differ by from a sound reading [%], Standard Methods 1030E."""

_PRINTED = {
    "sodium": ("Na", 1),
    "calcium": ("Ca", 1),
    "magnesium": ("Mg", 1),
    "potassium": ("K", 1),
    "ammonium": ("NH4", 1),
    "nitrate": ("NO3", 1),
    "phosphorus": ("P", 1),
    "sulfate": ("SO4", 1),
    "chloride": ("Cl", 1),
    "bicarbonate": ("CaCO3", 2),
}
"""Form of each column in mg/L, and how many of the ion one of it stands for."""

_ION = {"ammonium": "ammonium_n", "nitrate": "nitrate_n", "sulfate": "sulfate_s"}


@dataclass(frozen=True)
class Report:
    """A report as typed: mg/L of the reported form by ion id, EC [dS/m] and pH."""

    id: str
    owner: str
    extraction: str
    ec: float
    ph: float
    typed: dict[str, float]

    @property
    def charges(self):
        """Concentrations as they are read [mmol_c/L]."""
        return {
            ion: value / reported_ions()[ion].mass_per_charge for ion, value in self.typed.items()
        }

    @property
    def dilutions(self):
        """Factor that brings each other extraction to this one, as parts/ions/report works it."""
        if self.owner == "water":
            return {}
        codes = method_codes()
        factors = {
            name: float(convert(1.0, code, codes[self.extraction], 0).value)
            for name, code in codes.items()
        }
        factors = {name: each for name, each in factors.items() if abs(np.log(each)) > 0.15}
        if self.extraction in PER_LITRE:
            added = extraction_methods()[codes[self.extraction]].water_added
            factors[LITRE_OF_MEDIUM] = 1 / (added + OWN_WATER)
        return factors

    def with_ions(self, **changed):
        return replace(self, typed=self.typed | changed)

    def without(self, *ions):
        return replace(self, typed={ion: v for ion, v in self.typed.items() if ion not in ions})

    def times(self, factor, *ions):
        changed = {ion: v * factor for ion, v in self.typed.items() if not ions or ion in ions}
        return replace(self, typed=self.typed | changed)


def _number(text):
    return float(text) if text else float("nan")


def _milligrams(unit, column, printed):
    """mg/L of the reported form from a printed figure."""
    form, count = _PRINTED[column]
    millimoles = printed if unit == "mmol/L" else printed * count / molar_mass(form)
    return millimoles * reported_ions()[_ION.get(column, column)].molar_mass


def sound_reports():
    """Read the sound reports."""
    with SOUND.open(encoding="utf-8", newline="") as file:
        return [
            Report(
                id=row["id"],
                owner="water" if row["kind"] == "water" else "medium",
                extraction=row["extraction"],
                ec=float(row["ec_dS_m"]),
                ph=_number(row["ph"]),
                typed={
                    _ION.get(column, column): _milligrams(row["unit"], column, float(row[column]))
                    for column in _PRINTED
                    if row[column]
                },
            )
            for row in csv.DictReader(file)
        ]


def _as(report, **forms):
    """Type ions as another form: ``ion="FORM"`` or ``ion=("FORM", held)``."""
    changed = {}
    for ion, form in forms.items():
        name, held = form if isinstance(form, tuple) else (form, 1)
        changed[ion] = (
            report.typed[ion] * molar_mass(name) / (held * reported_ions()[ion].molar_mass)
        )
    return report.with_ions(**changed)


def _swapped(report, one, other):
    return report.with_ions(**{one: report.typed[other], other: report.typed[one]})


def _most(report, *ions):
    """The ion of these that brings most charge."""
    return max(ions, key=lambda ion: report.charges.get(ion, 0.0))


def _bare(report, per_charge):
    ions = reported_ions()
    return replace(
        report,
        typed={
            ion: value / (ions[ion].mass_per_charge if per_charge else ions[ion].molar_mass)
            for ion, value in report.typed.items()
        },
    )


_OXIDES = {"potassium": ("K2O", 2), "calcium": "CaO", "magnesium": "MgO"}
_AS_IONS = {"nitrate_n": "NO3", "ammonium_n": "NH4", "sulfate_s": "SO4", "phosphorus": "PO4"}
PER_LITRE = {"one_to_five": 5.5, "one_to_two": 2.3, "one_to_one_and_half": 1.9}
"""What a litre of medium holds over a litre of its extract, with the water the medium brought."""


def _form(name, **forms):
    return lambda r: (_as(r, **forms), ("form", name, 1.0))


def _scaled(power):
    return lambda r: (r.times(power), ("all_ions", "power_of_ten", 1 / power))


def _read(power):
    return lambda r: (replace(r, ec=r.ec * power), ("reading", "power_of_ten", 1 / power))


def _of_another(method):
    """Ions of another extraction than the reading."""

    def plant(r):
        if r.owner == "water":
            return None
        base = replace(r, extraction="saturated_media_extract")
        return base.times(1 / base.dilutions[method]), ("extraction", method, None)

    return plant


def _per_litre_of_medium(r):
    if r.owner == "water":
        return None
    r = r if r.extraction in PER_LITRE else replace(r, extraction="one_to_five")
    return r.times(PER_LITRE[r.extraction]), ("extraction", LITRE_OF_MEDIUM, None)


def _pair(one, other):
    return lambda r: (_swapped(r, one, other), ("swapped", f"{one}_and_{other}", 1.0))


def _zero(*ions):
    def plant(r):
        ion = _most(r, *ions)
        return r.with_ions(**{ion: 0.0}), ("typed_zero", ion, None)

    return plant


def _decimal(power, *ions):
    def plant(r):
        ion = _most(r, *ions)
        return r.times(power, ion), ("one_ion", ion, 1 / power)

    return plant


KINDS = {
    "NO3 for N": _form("nitrate_as_nitrate", nitrate_n="NO3"),
    "NH4 for N": _form("ammonium_as_ammonium", ammonium_n="NH4"),
    "NO3 and NH4": _form("nitrogen_as_ions", nitrate_n="NO3", ammonium_n="NH4"),
    "SO4 for S": _form("sulfate_as_sulfate", sulfate_s="SO4"),
    "NO3 and SO4": _form("nitrate_and_sulfate_as_ions", nitrate_n="NO3", sulfate_s="SO4"),
    "all as ions": _form("anions_as_ions", **_AS_IONS),
    "PO4 for P": _form("phosphorus_as_phosphate", phosphorus="PO4"),
    "P2O5 for P": _form("phosphorus_as_oxide", phosphorus=("P2O5", 2)),
    "K2O": _form("potassium_as_oxide", potassium=("K2O", 2)),
    "CaO": _form("calcium_as_oxide", calcium="CaO"),
    "MgO": _form("magnesium_as_oxide", magnesium="MgO"),
    "K2O, CaO, MgO": _form("cation_oxides", **_OXIDES),
    "HCO3 as CaCO3": _form("alkalinity_as_calcium_carbonate", bicarbonate=("CaCO3", 2)),
    "hardness as CaCO3": _form("hardness_as_calcium_carbonate", calcium="CaCO3", magnesium="CaCO3"),
    "mmol/L bare": lambda r: (_bare(r, False), ("unit", "millimoles_as_milligrams", 1.0)),
    "meq/L bare": lambda r: (_bare(r, True), ("unit", "equivalents_as_milligrams", 1.0)),
    "ions x10": _scaled(10.0),
    "ions x0.1": _scaled(0.1),
    "EC x10": _read(10.0),
    "EC x0.1": _read(0.1),
    "EC x1000": _read(1000.0),
    "ions of 1:2": _of_another("one_to_two"),
    "ions of 1:5": _of_another("one_to_five"),
    "per litre of medium": _per_litre_of_medium,
    "Na and K swapped": _pair("sodium", "potassium"),
    "Ca and Mg swapped": _pair("calcium", "magnesium"),
    "ion typed 0": _zero(*CATIONS, *ANIONS),
    "cation x10": _decimal(10.0, *CATIONS),
    "anion x0.1": _decimal(0.1, *ANIONS),
}
"""What plants each kind of slip: the report with it, and the slip that puts it right; None where
the kind cannot be in such a report."""


def checks(report):
    """Charge balance error [%], and measured over computed EC [-]."""
    ions = report.charges
    return (
        float(charge_balance(ions, report.ph).error),
        report.ec / float(ec_from_ions(ions, report.ph).ec),
    )


def detectable(sound, planted):
    """Whether a slip moved the balance or the EC beyond twice what they may be off by anyway."""
    (balance, ratio), (balance_now, ratio_now) = checks(sound), checks(planted)
    moved = max(ratio_now / ratio, ratio / ratio_now) - 1
    return abs(balance_now - balance) > 2 * ERROR_OF_BALANCE or moved > 0.02 * ERROR_OF_EC


def complete(report):
    """Whether the report gives every main ion."""
    minor = {"phosphorus", "ammonium_n"}
    return {*CATIONS, *ANIONS} - minor <= set(report.typed)


def planted():
    """Yield every slip that can be detected: the kind, its report and what puts it right."""
    for sound in filter(complete, sound_reports()):
        for kind, plant in KINDS.items():
            found = plant(sound)
            if found is None:
                continue
            report, right = found
            base = replace(sound, extraction=report.extraction)
            if detectable(base, report):
                yield kind, report, right
