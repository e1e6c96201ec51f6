"""What dissolves from the reported ions: free ions, their acids and bases, and ion pairs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from saltcalc.data.sources import Sourced
from saltcalc.data.tables import TableError, read_keyed, read_table


@dataclass(frozen=True, kw_only=True)
class AqueousSpecies(Sourced):
    """One dissolved species and how it forms from the reported ions at 25 °C.

    ``cation`` and ``anion`` name the reported ions it is made of (one of them, or both for a
    pair), ``hydrogen`` the H+ it takes up, ``log_k`` the constant of that reaction from the free
    ions. ``amount`` is how much of the reported anion one mole takes: 2 for carbonate, whose two
    charges count as two of bicarbonate. ``ion_size`` [Å] and ``b_dot`` [L/mol] are the parameters
    of the activity coefficient; without a size the Davies equation holds.
    """

    species: str
    charge: int
    cation: str | None = None
    anion: str | None = None
    hydrogen: int
    amount: int
    log_k: float
    ion_size: float | None = None
    b_dot: float | None = None

    @property
    def ion(self) -> str:
        """The reported ion whose charge the species carries; the only one, where uncharged."""
        carrier = self.cation if self.charge > 0 else self.anion
        return str(carrier or self.cation or self.anion)

    @property
    def is_free_ion(self) -> bool:
        """Whether this is the form in which the ion is counted."""
        return self.hydrogen == 0 and (self.cation is None or self.anion is None)


@dataclass(frozen=True, kw_only=True)
class IonicConductivity(Sourced):
    """Limiting conductivity of a charged species, per mole of charge [S cm²/mol_c at 25 °C]."""

    species: str
    conductivity: float


@dataclass(frozen=True, kw_only=True)
class ContactRadius(Sourced):
    """Share of a species in the distance of closest approach [Å]."""

    species: str
    radius: float


@dataclass(frozen=True, kw_only=True)
class IonInteraction(Sourced):
    """Pitzer's parameters of one cation and one anion at 25 °C [kg/mol; c_phi (kg/mol)²]."""

    cation: str
    anion: str
    beta0: float
    beta1: float
    beta2: float = 0.0
    c_phi: float


@cache
def aqueous_species() -> tuple[AqueousSpecies, ...]:
    """Return every species, the free ions first.

    Raises
    ------
    TableError
        If a species names an ion that has no free form.
    """
    species = read_table("aqueous_species.csv", AqueousSpecies)
    free = {one.ion for one in species if one.is_free_ion}
    for one in species:
        if not {one.cation, one.anion} - {None} <= free:
            raise TableError(f"aqueous_species.csv: {one.species} is made of an unknown ion")
    return species


@cache
def ionic_conductivities() -> Mapping[str, IonicConductivity]:
    """Return the limiting conductivities by species."""
    return read_keyed("ionic_conductivity.csv", IonicConductivity, lambda row: row.species)


@cache
def contact_radii() -> Mapping[str, ContactRadius]:
    """Return the contact radii by species."""
    return read_keyed("contact_radius.csv", ContactRadius, lambda row: row.species)


@cache
def ion_interactions() -> Mapping[tuple[str, str], IonInteraction]:
    """Return Pitzer's parameters by the reported cation and anion."""
    return read_keyed("pitzer.csv", IonInteraction, lambda row: (row.cation, row.anion))
