r"""Free ions, acid-base forms and ion pairs of a solution at 25 °C, by mass action.

Calcium and magnesium bind part of the sulfate, phosphate and carbonate in pairs that carry little
or no current and take no part in precipitation. Concentrations of the pairs follow from

.. math:: [pair] = K \frac{\gamma_c \gamma_a}{\gamma_{pair}} \{H^+\}^h [c][a]

with the totals of every ion kept. The activity coefficients are those of Truesdell & Jones (1974)
where an ion size :math:`a` is known, of Davies (1962) otherwise:

.. math:: \log_{10}\gamma = \frac{-A z^2 \sqrt I}{1 + B a \sqrt I} + b I, \qquad
    \log_{10}\gamma = -A z^2 \left(\frac{\sqrt I}{1 + \sqrt I} - 0.3 I\right)
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.data.aqueous_species import AqueousSpecies, aqueous_species
from saltcalc.data.reported_ions import reported_ions
from saltcalc.science._arrays import Codes, Flags, Floats, blocks, one_shape
from saltcalc.science.alkalinity import LOG_K1_CARBONIC

DEBYE_A = 0.5092  # (L/mol)^0.5, water at 25 °C
DEBYE_B = 0.3286  # 1/Å (L/mol)^0.5, water at 25 °C
LOG_KW = -14.0  # water at 25 °C
MOST_IONIC_STRENGTH = 2.0  # mol/L; activity coefficients are held constant above
BLOCK = 4096
"""Samples worked on together, so that the arrays of a round stay in the processor's cache."""

_LN_10 = np.log(10.0)
_TOLERANCE = 1e-7  # of the total of an ion
_MOST_ROUNDS = 500
_ION_SIZE_H, _ION_SIZE_OH = 9.0, 3.5  # Å, Parkhurst & Appelo (2013), database phreeqc.dat
_WATER_REACH = DEBYE_B * np.array([[_ION_SIZE_H], [_ION_SIZE_OH]])


class _ActivityKinds(NamedTuple):
    """Species of the same charge, size and linear term have one activity coefficient."""

    of_species: Codes
    slope: Floats
    """Limiting slope of its log10, shape (kinds, 1)."""
    reach: Floats
    """Factor of the root in the denominator, shape (kinds, 1)."""
    linear: Floats
    """Linear term [L/mol], shape (kinds, 1)."""

    def log_gamma(self, strength: Floats) -> Floats:
        """Return log10 of the coefficients, shape (kinds, n), at an ionic strength [mol/L]."""
        held = np.minimum(strength, MOST_IONIC_STRENGTH)
        root = np.sqrt(held)
        return np.asarray(self.slope * (root / (1 + self.reach * root)) + self.linear * held)


@dataclass(frozen=True)
class _Model:
    """The species table as arrays: one row a species."""

    species: tuple[AqueousSpecies, ...]
    ions: tuple[str, ...]
    charge: Floats
    hydrogen: Floats
    amount: Floats
    log_k: Floats
    ion_size: Floats
    b_dot: Floats
    davies: Flags
    cation: Codes
    anion: Codes
    per_mmolc: Floats

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Names of the species, water's own ions last."""
        return (*(one.species for one in self.species), "H+", "OH-")

    @cached_property
    def owners(self) -> tuple[str, ...]:
        """The ion that each of them carries charge for."""
        return (*(one.ion for one in self.species), "hydrogen", "hydroxide")

    @cached_property
    def squares(self) -> Floats:
        """Squares of the charges."""
        return np.square(self.charge)

    @cached_property
    def activity(self) -> _ActivityKinds:
        """Which species share one activity coefficient."""
        rows = np.column_stack([self.squares, self.ion_size, self.b_dot, self.davies])
        kinds, of_species = np.unique(rows, axis=0, return_inverse=True)
        squares, ion_size, b_dot, davies = kinds.T[:, :, None]
        return _ActivityKinds(
            # Charge 0 comes first: it stands for the partner that a species lacks, too.
            of_species=np.append(of_species.ravel(), 0),
            slope=-DEBYE_A * squares,
            reach=np.where(davies, 1.0, DEBYE_B * ion_size),
            linear=np.where(davies, 0.3 * DEBYE_A * squares, b_dot),
        )

    @cached_property
    def carbonates(self) -> Codes:
        """Rows that hold dissolved carbonate, the free ion first."""
        rows = [row for row, one in enumerate(self.species) if one.anion == "bicarbonate"]
        return np.array(sorted(rows, key=lambda row: not self.species[row].is_free_ion))


@cache
def _model() -> _Model:
    species = aqueous_species()
    free = [one for one in species if one.is_free_ion]
    ions = tuple(one.ion for one in free)
    ordered = (*free, *(one for one in species if not one.is_free_ion))
    return _Model(
        species=ordered,
        ions=ions,
        charge=np.array([float(one.charge) for one in ordered]),
        hydrogen=np.array([float(one.hydrogen) for one in ordered]),
        amount=np.array([float(one.amount) for one in ordered]),
        log_k=np.array([one.log_k for one in ordered]),
        ion_size=np.array([one.ion_size or 0.0 for one in ordered]),
        b_dot=np.array([one.b_dot or 0.0 for one in ordered]),
        davies=np.array([one.ion_size is None for one in ordered]),
        cation=np.array([ions.index(one.cation) if one.cation else -1 for one in ordered]),
        anion=np.array([ions.index(one.anion) if one.anion else -1 for one in ordered]),
        per_mmolc=np.array(
            [1e-3 / (abs(one.charge) or reported_ions()[one.ion].molar_mass) for one in free]
        ),
    )


@dataclass(frozen=True)
class Speciation:
    """What is dissolved.

    Attributes
    ----------
    species : tuple of str
        Names of the species, the rows of ``concentration``; the last two are ``H+`` and ``OH-``.
    ion : tuple of str
        The ion that each species carries charge for; ``hydrogen`` and ``hydroxide`` at the end.
    charge : (species,) ndarray
        Charge number.
    concentration : (species, n) ndarray
        Concentration [mol/L]; H+ and OH- are zero where no pH was given.
    ionic_strength : (n,) ndarray
        Ionic strength of the free ions and charged pairs [mol/L].
    ph : (n,) ndarray
        pH; NaN where none was given.
    """

    species: tuple[str, ...]
    ion: tuple[str, ...]
    charge: Floats
    concentration: Floats
    ionic_strength: Floats
    ph: Floats

    @cached_property
    def log_gamma(self) -> Floats:
        """log10 of the activity coefficients, shape (species, n)."""
        kinds = _model().activity
        of_kinds = kinds.log_gamma(self.ionic_strength)
        return np.concatenate(
            [
                of_kinds.take(kinds.of_species[:-1], axis=0),
                _log_gamma_water(self.ionic_strength),
            ]
        )

    @cached_property
    def dissolved_carbonate(self) -> Floats:
        """Dissolved inorganic carbon [mol/L], shape (n,).

        Bicarbonate, carbonate, their pairs and, where a pH was given, carbon dioxide.
        """
        rows = _model().carbonates
        acid = _tenfold(self.log_gamma[rows[0]] - self.ph - LOG_K1_CARBONIC)
        acid[np.isnan(self.ph)] = 0.0
        return np.asarray(self.concentration[rows].sum(axis=0) + acid * self.concentration[rows[0]])

    def log_activity(self, species: str) -> Floats:
        """Return log10 of the activity of a species; -inf where there is none of it."""
        row = self.species.index(species)
        amount = self.concentration[row]
        log_amount = np.full(amount.shape, -np.inf)
        np.log10(amount, out=log_amount, where=amount > 0)
        return np.asarray(log_amount + self.log_gamma[row])


class _Bound(NamedTuple):
    """The species that some ions can form: their rows, and what they are made of."""

    rows: Codes
    cation: Codes
    anion: Codes
    hydrogen: Floats
    log_k: Floats
    sides: tuple[tuple[Codes, Codes, Floats], ...]
    """For each side the ions that are bound, their partners, and how much of them is bound."""


@lru_cache(maxsize=256)
def _bound_of(rows: tuple[int, ...]) -> _Bound:
    model, bound = _model(), np.array(rows, dtype=np.intp)
    cation, anion = model.cation[bound], model.anion[bound]
    sides = []
    for own, other, weight in (
        (anion, cation, model.amount[bound]),
        (cation, anion, np.ones(bound.size)),
    ):
        free = np.array(sorted({*own.tolist()} - {-1}), dtype=np.intp)
        sides.append((free, other, weight * (own == free[:, None])))
    return _Bound(
        rows=bound,
        cation=cation,
        anion=anion,
        hydrogen=model.hydrogen[bound, None],
        log_k=model.log_k[bound, None],
        sides=tuple(sides),
    )


def _solve(model: _Model, total: Floats, ph: Floats) -> tuple[Floats, Floats]:
    """Solve one block: totals (ions, n) [mol/L] and pH (n,), NaN for unknown.

    Each sample leaves the rounds as soon as it has settled, so that none depends on its
    neighbours. Returned are the concentrations (species, n) and ionic strengths (n,) [mol/L].
    """
    ions, kinds = len(model.ions), model.activity
    bound, cation, anion, hydrogen, log_k, sides = _bound_of(_rows_present(model, total, ph))
    of_cation, of_anion = kinds.of_species[cation], kinds.of_species[anion]
    of_bound = kinds.of_species[bound]
    known_ph = ~np.isnan(ph)
    acid_base = log_k - hydrogen * np.where(known_ph, ph, 0.0)
    acid_base[(hydrogen != 0) & ~known_ph] = -np.inf
    ideal, water, any_ph = _tenfold(acid_base), _water_ions(ph), known_ph.any()
    # A last row of ones stands for the partner that a species lacks.
    state = np.zeros((len(model.species) + 1, ph.size))
    state[:ions], state[-1] = total, 1.0
    strength = np.zeros(ph.size)
    found, found_strength = np.empty_like(state), np.empty_like(strength)
    left = np.arange(ph.size)
    for _ in range(_MOST_ROUNDS):
        before, strength_before = state[:ions].copy(), strength
        charges = model.squares @ state[:-1]
        if any_ph:
            charges = charges + (water * _tenfold(-_log_gamma_water(strength))).sum(axis=0)
        strength = 0.5 * charges
        gamma = _tenfold(kinds.log_gamma(strength))
        constant = ideal * gamma.take(of_cation, axis=0)
        constant *= gamma.take(of_anion, axis=0)
        constant /= gamma.take(of_bound, axis=0)
        for free, other, weight in sides:
            bound_by_one = constant * state.take(other, axis=0)
            state[free] = total.take(free, axis=0) / (1 + weight @ bound_by_one)
        # The last side was that of the cations: bound_by_one holds all that a free cation binds.
        state[bound] = bound_by_one * state.take(cation, axis=0)
        settled = np.abs(strength - strength_before) <= _TOLERANCE * strength
        settled &= (np.abs(state[:ions] - before) <= _TOLERANCE * total).all(axis=0)
        if settled.any():
            done, still = left[settled], ~settled
            found[:, done], found_strength[done] = state[:, settled], strength[settled]
            left, strength = left[still], strength[still]
            state, total, ideal, water = (each[:, still] for each in (state, total, ideal, water))
            if not left.size:
                break
    found[:, left], found_strength[left] = state, strength  # what has not settled, as it stands
    return found[:-1], found_strength


def _rows_present(model: _Model, total: Floats, ph: Floats) -> tuple[int, ...]:
    """Rows of the bound species that any sample of the block can hold."""
    there = np.ones(len(model.ions) + 1, dtype=bool)  # the last is the partner that some lack
    there[:-1] = total.any(axis=1)
    present = there[model.cation] & there[model.anion]
    present[: len(model.ions)] = False
    if np.isnan(ph).all():
        present &= model.hydrogen == 0
    return tuple(np.flatnonzero(present).tolist())


def _tenfold(exponent: Floats) -> Floats:
    """Return 10 to a power; by the exponential, which takes a seventh of the time."""
    return np.asarray(np.exp(_LN_10 * exponent))


def _water_ions(ph: Floats) -> Floats:
    """Activities of H+ and OH-; zero where pH is unknown."""
    known = ~np.isnan(ph)
    value = np.where(known, ph, 7.0)
    return np.asarray(_tenfold(np.array([-value, value + LOG_KW])) * known)


def _log_gamma_water(strength: Floats) -> Floats:
    root = np.sqrt(np.minimum(strength, MOST_IONIC_STRENGTH))
    return np.asarray(-DEBYE_A * root / (1 + _WATER_REACH * root))


def speciate(ions: Mapping[str, ArrayLike], ph: ArrayLike = np.nan) -> Speciation:
    """Split the reported ions into free ions, acid-base forms and ion pairs at 25 °C.

    Parameters
    ----------
    ions : mapping of str to array_like of float
        Concentration by ion id [mmol_c/L], boron [mg/L]; phosphorus is one charge a P. NaN, or an
        ion that is left out, counts as none here. Bicarbonate is the alkalinity: carbonate counts
        with two charges.
    ph : array_like of float
        pH. Where NaN, every ion stays in its counted form, and H+ and OH- are left out.

    Returns
    -------
    Speciation
        With one column a sample (the broadcast of all arguments, flattened).

    Raises
    ------
    ValueError
        If an ion id is unknown or a concentration is negative.

    References
    ----------
    Constants: Parkhurst & Appelo (2013), USGS Techniques and Methods 6-A43, database phreeqc.dat.

    Examples
    --------
    A third of the calcium of water saturated with gypsum goes in pairs with sulfate.

    >>> found = speciate({"calcium": 30.4, "sulfate_s": 30.4})
    >>> free = found.concentration[found.species.index("Ca+2"), 0]
    >>> print((free / 15.2e-3).round(2))
    0.69
    """
    model = _model()
    if unknown := set(ions) - set(model.ions):
        raise ValueError(f"unknown ion {sorted(unknown)}")
    shape = one_shape(ph, *ions.values())
    amounts, acidity = np.zeros((len(model.ions), *shape)), np.empty(shape)
    acidity[...] = ph
    for row, ion in enumerate(model.ions):
        if ion in ions:
            amounts[row] = ions[ion]
    if (amounts < 0).any():
        raise ValueError("a concentration is negative")
    amounts[np.isnan(amounts)] = 0.0
    total = amounts.reshape(len(amounts), -1) * model.per_mmolc[:, None]
    flat_ph = acidity.ravel()
    state = np.empty((len(model.species) + 2, flat_ph.size))
    strength = np.empty(flat_ph.size)
    for block in blocks(flat_ph.size, BLOCK):
        state[:-2, block], strength[block] = _solve(model, total[:, block], flat_ph[block])
        gamma_of_water = _tenfold(_log_gamma_water(strength[block]))
        state[-2:, block] = _water_ions(flat_ph[block]) / gamma_of_water
    return Speciation(
        species=model.names,
        ion=model.owners,
        charge=np.append(model.charge, [1.0, -1.0]),
        concentration=state,
        ionic_strength=strength,
        ph=flat_ph,
    )
