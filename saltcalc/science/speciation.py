r"""Free ions, acid-base forms and ion pairs of a solution at 25 °C, by mass action.

Calcium and magnesium bind part of the sulfate, phosphate and carbonate in pairs that carry little
or no current and take no part in precipitation. Concentrations of the pairs follow from

.. math:: [pair] = K \frac{\gamma_c \gamma_a}{\gamma_{pair}} \{H^+\}^h [c][a]

with the totals of every ion kept. The activity coefficients are those of Truesdell & Jones (1974)
where an ion size is known, of Davies (1962) otherwise.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.data.aqueous_species import AqueousSpecies, aqueous_species
from saltcalc.data.reported_ions import reported_ions
from saltcalc.science._arrays import Codes, Flags, Floats
from saltcalc.science.alkalinity import LOG_K1_CARBONIC

DEBYE_A = 0.5092  # (L/mol)^0.5, water at 25 °C
DEBYE_B = 0.3286  # 1/Å (L/mol)^0.5, water at 25 °C
LOG_KW = -14.0  # water at 25 °C
MOST_IONIC_STRENGTH = 2.0  # mol/L; activity coefficients are held constant above
_BLOCK = 4096  # samples solved together, so that the working arrays stay in the processor's cache
_TOLERANCE = 1e-9  # of the total of an ion
_MOST_ROUNDS = 500
_ION_SIZE_H, _ION_SIZE_OH = 9.0, 3.5  # Å, Parkhurst & Appelo (2013), database phreeqc.dat


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
    log_gamma : (species, n) ndarray
        log10 of the activity coefficient.
    ionic_strength : (n,) ndarray
        Ionic strength of the free ions and charged pairs [mol/L].
    dissolved_carbonate : (n,) ndarray
        Dissolved inorganic carbon [mol/L]: bicarbonate, carbonate, their pairs and, where a pH
        was given, carbon dioxide.
    """

    species: tuple[str, ...]
    ion: tuple[str, ...]
    charge: Floats
    concentration: Floats
    log_gamma: Floats
    ionic_strength: Floats
    dissolved_carbonate: Floats

    def log_activity(self, species: str) -> Floats:
        """Return log10 of the activity of a species; -inf where there is none of it."""
        row = self.species.index(species)
        amount = self.concentration[row]
        log_amount = np.full(amount.shape, -np.inf)
        np.log10(amount, out=log_amount, where=amount > 0)
        return np.asarray(log_amount + self.log_gamma[row])


def log_gamma_davies(charge: ArrayLike, ionic_strength: ArrayLike) -> Floats:
    r"""Activity coefficient by Davies.

    .. math:: \log_{10}\gamma = -A z^2 \left(\frac{\sqrt I}{1 + \sqrt I} - 0.3 I\right)

    Parameters
    ----------
    charge : array_like of float
        Charge number z.
    ionic_strength : array_like of float
        Ionic strength I [mol/L].

    Returns
    -------
    ndarray of float
        log10 of the activity coefficient.

    References
    ----------
    Davies, C.W. (1962), Ion Association. Butterworths, London.

    Examples
    --------
    An ion of one charge at 0.1 mol/L: near 0.78.

    >>> print((10 ** log_gamma_davies(1, 0.1)).round(2))
    0.78
    """
    strength = np.asarray(ionic_strength, dtype=np.float64)
    root = np.sqrt(strength)
    square = np.square(np.asarray(charge, dtype=np.float64))
    return np.asarray(-DEBYE_A * square * (root / (1 + root) - 0.3 * strength))


def log_gamma_truesdell_jones(
    charge: ArrayLike, ion_size: ArrayLike, b_dot: ArrayLike, ionic_strength: ArrayLike
) -> Floats:
    r"""Activity coefficient by the extended Debye-Hückel equation with a linear term.

    .. math:: \log_{10}\gamma = \frac{-A z^2 \sqrt I}{1 + B a \sqrt I} + b I

    Parameters
    ----------
    charge : array_like of float
        Charge number z.
    ion_size : array_like of float
        Ion size a [Å].
    b_dot : array_like of float
        Linear term b [L/mol].
    ionic_strength : array_like of float
        Ionic strength I [mol/L].

    Returns
    -------
    ndarray of float
        log10 of the activity coefficient.

    References
    ----------
    Truesdell & Jones (1974), J. Res. U.S. Geol. Surv. 2:233-248.

    Examples
    --------
    Calcium at 0.1 mol/L, with its ion size of 5.0 Å and b of 0.165.

    >>> print((10 ** log_gamma_truesdell_jones(2, 5.0, 0.165, 0.1)).round(2))
    0.39
    """
    strength = np.asarray(ionic_strength, dtype=np.float64)
    root = np.sqrt(strength)
    square = np.square(np.asarray(charge, dtype=np.float64))
    size, linear = np.asarray(ion_size, dtype=np.float64), np.asarray(b_dot, dtype=np.float64)
    return np.asarray(-DEBYE_A * square * root / (1 + DEBYE_B * size * root) + linear * strength)


def _log_gamma(model: _Model, strength: Floats) -> Floats:
    held = np.minimum(strength, MOST_IONIC_STRENGTH)
    log_gamma = log_gamma_truesdell_jones(
        model.charge[:, None], model.ion_size[:, None], model.b_dot[:, None], held
    )
    davies = model.davies
    log_gamma[davies] = log_gamma_davies(model.charge[davies, None], held)
    return log_gamma


def _solve(model: _Model, total: Floats, ph: Floats) -> tuple[Floats, Floats, Floats]:
    """Solve one block: totals (ions, n) [mol/L] and pH (n,), NaN for unknown."""
    ions = len(model.ions)
    bound = _rows_present(model, total, ph)
    cation, anion = model.cation[bound], model.anion[bound]
    known_ph = ~np.isnan(ph)
    hydrogen = model.hydrogen[bound, None]
    acid_base = model.log_k[bound, None] - hydrogen * np.where(known_ph, ph, 0.0)
    acid_base[(hydrogen != 0) & ~known_ph] = -np.inf
    sides = []
    for own, other, weight in (
        (anion, cation, model.amount[bound]),
        (cation, anion, np.ones(bound.size)),
    ):
        free = np.array([row for row in range(ions) if row in own], dtype=np.intp)
        sides.append((free, other, weight * (own == free[:, None])))
    water = _water_ions(ph)
    # A last row of ones (of zeros in log_gamma) stands for the partner that a species lacks.
    state = np.zeros((len(model.species) + 1, ph.size))
    state[:ions], state[-1] = total, 1.0
    log_gamma = np.zeros_like(state)
    squares = np.square(model.charge)
    strength = np.zeros(ph.size)
    for _ in range(_MOST_ROUNDS):
        before, strength_before = state[:ions].copy(), strength
        water_amount = water * 10 ** -_log_gamma_water(strength)
        strength = 0.5 * (squares @ state[:-1] + water_amount.sum(axis=0))
        log_gamma[:-1] = _log_gamma(model, strength)
        constant = 10 ** (acid_base + log_gamma[cation] + log_gamma[anion] - log_gamma[bound])
        for free, other, weight in sides:
            state[free] = total[free] / (1 + weight @ (constant * state[other]))
        state[bound] = constant * state[cation] * state[anion]
        settled = np.abs(strength - strength_before) <= _TOLERANCE * strength
        if settled.all() and np.all(np.abs(state[:ions] - before) <= _TOLERANCE * total):
            break
    return state[:-1], log_gamma[:-1], strength


def _rows_present(model: _Model, total: Floats, ph: Floats) -> Codes:
    """Rows of the bound species that any sample of the block can hold."""
    there = np.append(total.any(axis=1), True)  # the last for the partner that a species lacks
    rows = np.arange(len(model.ions), len(model.species))
    present = there[model.cation[rows]] & there[model.anion[rows]]
    if np.isnan(ph).all():
        present &= model.hydrogen[rows] == 0
    return np.asarray(rows[present])


def _water_ions(ph: Floats) -> Floats:
    """Activities of H+ and OH-; zero where pH is unknown."""
    known = ~np.isnan(ph)
    value = np.where(known, ph, 7.0)
    return np.stack([10**-value, 10 ** (value + LOG_KW)]) * known


def _log_gamma_water(strength: Floats) -> Floats:
    held = np.minimum(strength, MOST_IONIC_STRENGTH)
    sizes = np.array([[_ION_SIZE_H], [_ION_SIZE_OH]])
    return log_gamma_truesdell_jones(1, sizes, 0.0, held)


def _blocks(count: int) -> Iterator[slice]:
    for start in range(0, count, _BLOCK):
        yield slice(start, min(start + _BLOCK, count))


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
    columns = [np.asarray(ions.get(ion, np.nan), dtype=np.float64) for ion in model.ions]
    *columns, acidity = np.broadcast_arrays(*columns, np.asarray(ph, dtype=np.float64))
    total = np.stack([column.ravel() for column in columns])
    if np.any(total < 0):
        raise ValueError("a concentration is negative")
    total = np.nan_to_num(total, nan=0.0) * model.per_mmolc[:, None]
    flat_ph = acidity.ravel()
    state = np.empty((len(model.species) + 2, flat_ph.size))
    log_gamma = np.empty_like(state)
    strength = np.empty(flat_ph.size)
    for block in _blocks(flat_ph.size):
        state[:-2, block], log_gamma[:-2, block], strength[block] = _solve(
            model, total[:, block], flat_ph[block]
        )
        log_gamma[-2:, block] = _log_gamma_water(strength[block])
        state[-2:, block] = _water_ions(flat_ph[block]) * 10 ** -log_gamma[-2:, block]
    return Speciation(
        species=(*(one.species for one in model.species), "H+", "OH-"),
        ion=(*(one.ion for one in model.species), "hydrogen", "hydroxide"),
        charge=np.append(model.charge, [1.0, -1.0]),
        concentration=state,
        log_gamma=log_gamma,
        ionic_strength=strength,
        dissolved_carbonate=_dissolved_carbonate(model, state, log_gamma, flat_ph),
    )


def _dissolved_carbonate(model: _Model, state: Floats, log_gamma: Floats, ph: Floats) -> Floats:
    rows = [row for row, one in enumerate(model.species) if one.anion == "bicarbonate"]
    free = next(row for row in rows if model.species[row].is_free_ion)
    acid = np.where(np.isnan(ph), 0.0, 10 ** (log_gamma[free] - ph - LOG_K1_CARBONIC))
    return np.asarray(state[rows].sum(axis=0) + acid * state[free])
