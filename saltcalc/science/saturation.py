"""Saturation with gypsum, lime and calcium phosphates, and the EC at which gypsum holds it."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.data.minerals import minerals
from saltcalc.science._arrays import Floats, in_shape, one_shape
from saltcalc.science.conductivity import total_ec_from_ions
from saltcalc.science.speciation import Speciation, speciate

SATURATED = -0.1
"""Saturation index from which a solution counts as saturated; its error is as large."""

GYPSUM_TOLERANCE_SHIFT = 2.0
"""How much more EC of the saturation extract plants stand in gypsum-holding soil [dS/m].

Ayers & Westcot (1985), FAO 29 Rev. 1, Table 4, note on gypsiferous soils.
"""

_MOST_GYPSUM = 60.0  # mmol/L, above the solubility in any extract
_HALVINGS = 18  # of that range, to 0.0002 mmol/L


def saturation_index(
    mineral: str,
    ions: Mapping[str, ArrayLike],
    ph: ArrayLike = np.nan,
    solution: Speciation | None = None,
) -> Floats:
    r"""Saturation index of a mineral with activities and ion pairs.

    .. math:: SI = \log_{10} \frac{IAP}{K}

    Parameters
    ----------
    mineral : str
        ``gypsum``, ``calcite``, ``brushite`` or ``hydroxyapatite``.
    ions : mapping of str to array_like of float
        Concentration by ion id [mmol_c/L]; NaN for what was not reported.
    ph : array_like of float
        pH; without it gypsum alone has an index.
    solution : Speciation, optional
        The same ions and pH, where :func:`speciate` has been asked already.

    Returns
    -------
    ndarray of float
        Zero at saturation, positive above; NaN where an ion of the mineral was not reported (or
        pH, but for gypsum), -inf where there is none of it.

    Raises
    ------
    KeyError
        If the mineral is unknown.
    ValueError
        If a concentration is negative.

    References
    ----------
    Constants: Parkhurst & Appelo (2013), USGS Techniques and Methods 6-A43, database phreeqc.dat;
    of brushite Gregory, Moreno & Brown (1970), J. Res. Natl. Bur. Stand. 74A:461-475.

    Examples
    --------
    15.2 mmol/L of gypsum are its solubility at 25 °C in handbooks (from memory).

    >>> print(abs(saturation_index("gypsum", {"calcium": 30.4, "sulfate_s": 30.4})).round(1))
    0.0
    """
    one = minerals()[mineral]
    shape = one_shape(ph, *ions.values())
    solution = speciate(ions, ph) if solution is None else solution
    acidity = in_shape(np.asarray(ph, dtype=np.float64), shape)
    index = (
        one.cations * solution.log_activity(one.cation)
        + one.anions * solution.log_activity(one.anion)
        - one.log_k
    ).reshape(shape)
    if one.hydrogen:
        index = index + one.hydrogen * acidity
    for species in (one.cation, one.anion):
        ion = solution.ion[solution.species.index(species)]
        given = np.asarray(ions.get(ion, np.nan), dtype=np.float64)
        index = np.where(np.isnan(given), np.nan, index)
    return np.asarray(index)


def gypsum_tolerance_shift(index: ArrayLike) -> Floats:
    """How much more EC plants stand in a medium whose extract is saturated with gypsum.

    Gypsum dissolves in the water of the extraction and reads as salt there, while most of it stays
    solid around the roots.

    Parameters
    ----------
    index : array_like of float
        Saturation index of gypsum in the extract; NaN where unknown.

    Returns
    -------
    ndarray of float
        Shift of the tolerance on the basis of the saturation extract [dS/m]; 0 where the extract
        is not saturated or nothing is known.

    References
    ----------
    Ayers & Westcot (1985), FAO 29 Rev. 1, Table 4: about 2 dS/m in gypsiferous soils.

    Examples
    --------
    >>> print(gypsum_tolerance_shift([-1.0, 0.0]))
    [0. 2.]
    """
    known = np.nan_to_num(np.asarray(index, dtype=np.float64), nan=-np.inf)
    return np.where(known >= SATURATED, GYPSUM_TOLERANCE_SHIFT, 0.0)


def gypsum_to_saturation(ions: Mapping[str, ArrayLike], ph: ArrayLike = np.nan) -> Floats:
    """Gypsum that dissolves in a solution until it is saturated.

    Parameters
    ----------
    ions : mapping of str to array_like of float
        Concentration by ion id [mmol_c/L]; NaN and what is left out count as none.
    ph : array_like of float
        pH; NaN where unknown.

    Returns
    -------
    ndarray of float
        Gypsum [mmol/L]; zero where the solution is saturated already.

    Raises
    ------
    ValueError
        If a concentration is negative.

    Examples
    --------
    Handbooks give 15.2 mmol/L for pure water, 2.6 g/L (from memory).

    >>> print(gypsum_to_saturation({}).round(1))
    15.1
    """
    shape = one_shape(ph, *ions.values())
    low, high = np.zeros(shape), np.full(shape, _MOST_GYPSUM)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        below = saturation_index("gypsum", _with_gypsum(ions, middle), ph) < 0
        low, high = np.where(below, middle, low), np.where(below, high, middle)
    saturated = saturation_index("gypsum", _with_gypsum(ions, np.zeros(shape)), ph) >= 0
    return np.where(saturated, 0.0, high)


def ec_saturated_with_gypsum(ions: Mapping[str, ArrayLike], ph: ArrayLike = np.nan) -> Floats:
    """EC of a solution once gypsum has dissolved until it is saturated.

    Parameters
    ----------
    ions : mapping of str to array_like of float
        Concentration by ion id [mmol_c/L]; NaN and what is left out count as none.
    ph : array_like of float
        pH; NaN where unknown.

    Returns
    -------
    ndarray of float
        EC [dS/m at 25 °C]: what a flush with this water cannot go below while gypsum lasts.

    Raises
    ------
    ValueError
        If a concentration is negative.

    Examples
    --------
    Handbooks give about 2.2 dS/m for a saturated solution of gypsum (from memory).

    >>> print(ec_saturated_with_gypsum({}).round(1))
    2.2
    """
    return total_ec_from_ions(_with_gypsum(ions, gypsum_to_saturation(ions, ph)), ph)


def _with_gypsum(ions: Mapping[str, ArrayLike], amount: Floats) -> dict[str, Floats]:
    """Return the ions with gypsum [mmol/L] dissolved; what was not reported counts as none."""
    known = {
        ion: np.nan_to_num(in_shape(np.asarray(value, dtype=np.float64), amount.shape))
        for ion, value in ions.items()
    }
    added = 2 * amount
    return known | {ion: known.get(ion, 0.0) + added for ion in ("calcium", "sulfate_s")}
