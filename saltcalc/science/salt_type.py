"""In one word, what kind of salt it is, with the figures that decide it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.science._arrays import Codes, Flags, Floats, alike, filled
from saltcalc.science.balance import ANIONS, CATIONS

SALT_TYPES = ("sodium", "chloride", "nutrient", "ammonium", "sulfate", "bicarbonate", "mixed")
NO_SALT_TYPE = -1
MIXED = SALT_TYPES.index("mixed")

# Least share of charge that gives the salt its name. Half for one ion of its sign is Back (1966);
# nutrient and ammonium are a judgement of this project. As these are less than half, they name the
# salt only where one of their ions leads those of its sign.
LIMITS = {
    "sodium": 0.5,
    "chloride": 0.5,
    "nutrient": 0.3,
    "ammonium": 0.25,
    "sulfate": 0.5,
    "bicarbonate": 0.5,
}


_NAMING = {"nutrient": ("potassium", "nitrate_n"), "ammonium": ("ammonium_n",)}
"""Ions of which one must lead those of its sign."""

MOST_EC_OF_CHARGE = 0.15
"""EC of the salts of media that conduct best, of potassium and ammonium with nitrate or chloride.

[dS/m for each mmol_c/L]. CRC Handbook, limiting molar conductivities: KCl 149.8 S cm²/mol.
"""

LEAST_REPORTED = 0.5
"""Share of the charge below which a report does not say which salt it is (judgement). [-]"""


@dataclass(frozen=True)
class SaltType:
    """What kind of salt it is.

    Attributes
    ----------
    code : ndarray of int
        Index into `SALT_TYPES`: the type whose figure exceeds its limit by the largest
        factor, ``mixed`` where none does; ammonium, and nutrient, only where one of their ions
        holds the most charge of its sign; -1 where no charge was reported, or less than
        `LEAST_REPORTED` of what the measured EC takes.
    figures : dict of str to ndarray
        The figure of each type but ``mixed``, to hold against `LIMITS`: sodium and ammonium
        as shares of the cation charge; chloride, sulfate and bicarbonate as shares of the anion
        charge, each side being at least as large as the other and as the measured EC takes,
        reported or not; nutrient as the mean of potassium's share of the cations and nitrate's of
        the anions. NaN where that side was not
        reported.
    """

    code: Codes
    figures: dict[str, Floats]


def salt_type(ions: Mapping[str, ArrayLike], measured_ec: ArrayLike = np.nan) -> SaltType:
    """Name the salts of a solution by the ions that hold most of the charge.

    Parameters
    ----------
    ions : mapping of str to array_like of float
        Concentration by ion id [mmol_c/L]; NaN for what was not reported.
    measured_ec : array_like of float
        EC of the same solution [dS/m at 25 °C]; NaN where there is none. No salt of media makes
        more than `MOST_EC_OF_CHARGE` of it, so that it tells the least charge of either sign.

    Returns
    -------
    SaltType
        Arrays of the broadcast shape.

    References
    ----------
    Back (1966), USGS Professional Paper 498-A, for the dominant ion; the rest is a judgement.

    Examples
    --------
    >>> report = {"sodium": 8.0, "calcium": 2.0, "chloride": 6.0, "sulfate_s": 4.0}
    >>> SALT_TYPES[salt_type(report).code]
    'sodium'

    A little nitrate, and nothing else of a salty medium, does not say which salt it is.

    >>> int(salt_type({"nitrate_n": 0.4}, measured_ec=1.8).code)
    -1

    Ammonium that other cations outweigh does not name it.

    >>> compost = {"ammonium_n": 6.0, "potassium": 8.0, "sodium": 2.0, "chloride": 7.0}
    >>> SALT_TYPES[salt_type(compost).code]
    'mixed'
    """
    names = CATIONS + ANIONS
    *values, ec = alike(
        *(np.asarray(ions.get(ion, np.nan), dtype=np.float64) for ion in names),
        np.asarray(measured_ec, dtype=np.float64),
    )
    known = dict(zip(names, values, strict=True))
    share: dict[str, Floats] = {}
    totals = [np.nansum([known[ion] for ion in side], axis=0) for side in (CATIONS, ANIONS)]
    least = filled(ec, 0.0) / MOST_EC_OF_CHARGE
    reported = np.maximum(*totals)
    charge = np.maximum(reported, least)
    for side, total in zip((CATIONS, ANIONS), totals, strict=True):
        for ion in side:
            share[ion] = filled(known[ion], 0.0) / np.where(total > 0, charge, np.nan)
    figures = {
        "sodium": share["sodium"],
        "chloride": share["chloride"],
        "nutrient": _mean_of_known(share["potassium"], share["nitrate_n"]),
        "ammonium": share["ammonium_n"],
        "sulfate": share["sulfate_s"],
        "bicarbonate": share["bicarbonate"],
    }
    excess = np.stack([figures[name] / LIMITS[name] for name in SALT_TYPES[:MIXED]])
    nothing = np.isnan(excess).all(axis=0) | (reported < LEAST_REPORTED * least)
    for name, ions_of in _NAMING.items():
        leads = np.any([_leads(ion, known) for ion in ions_of], axis=0)
        excess[SALT_TYPES.index(name)] *= leads
    leading = np.where(np.isnan(excess), -np.inf, excess)
    code = np.where(leading.max(axis=0) >= 1, leading.argmax(axis=0), MIXED)
    return SaltType(code=np.where(nothing, NO_SALT_TYPE, code), figures=figures)


def _leads(ion: str, known: Mapping[str, Floats]) -> Flags:
    """Where an ion holds at least as much charge as any other of its sign."""
    side = CATIONS if ion in CATIONS else ANIONS
    most = np.max([filled(known[each], 0.0) for each in side], axis=0)
    held: Flags = filled(known[ion], 0.0) >= most
    return held


def _mean_of_known(first: Floats, second: Floats) -> Floats:
    count = (~np.isnan(first)).astype(float) + ~np.isnan(second)
    total = filled(first, 0.0) + filled(second, 0.0)
    mean = np.full(total.shape, np.nan)
    np.divide(total, count, out=mean, where=count > 0)
    return mean
