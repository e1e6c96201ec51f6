r"""Wetting a dry container: what it keeps of the water, and what runs past before it is full.

Water poured on a medium short of water by :math:`D` begins to run out long before the medium is
full. Of each drop the share that is kept falls with what has been kept, :math:`K`,

.. math:: \frac{dK}{dV} = 1 - \left(\frac{K}{\rho D}\right)^4

up to a reach :math:`\rho` of what is missing: about two thirds where all is poured in one go, all
of it where it comes in small lots with rests, in which the water moves sideways. The form and its
two figures are a judgement fitted to two of the trials in [1]_; the others test it.

References
----------
.. [1] Spray stake irrigation of container-grown plants, M.S. thesis, Virginia Tech, abstract; see
   Lamack, W.F. & Niemiera, A.X. (1993). HortScience 28:625-627. Pine bark, 600 mL short.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Codes, Floats, alike, not_negative

SMALL_LOT = 1.0 / 6.0
"""Lot over the water missing, at most, that is small: 100 of 600 mL [1]_. [L/L]"""

LARGE_LOT = 2.0 / 3.0
"""Lot over the water missing from which it counts as all in one go: 400 of 600 mL [1]_. [L/L]"""

LOT_REST = 0.5
"""Rest after which a lot has spread: 30 minutes [1]_; 40 to 60 do a little better. [h]"""

WETTED = 0.95
"""Share of what can be wetted at which wetting ends and washing begins (judgement). [L/L]"""

_STEEP = 0.8
_STEPS = 6


def wetting_reach(
    lot_over_deficit: npt.ArrayLike,
    rest: npt.ArrayLike,
    at_once: npt.ArrayLike,
    in_lots: npt.ArrayLike,
) -> Floats:
    """Share of the missing water that a way of pouring can bring back.

    Parameters
    ----------
    lot_over_deficit : array_like, shape (...)
        One lot of water over all that is missing. [L/L]
    rest : array_like, shape (...)
        Rest between lots. [h]
    at_once, in_lots : array_like, shape (...)
        Reach of one large lot, and of small lots with rests, by the state of the medium. [L/L]

    Returns
    -------
    ndarray, shape (...)
        Reach. [L/L] Between the two it is taken on a straight line (judgement).

    Raises
    ------
    ValueError
        If an argument is negative.

    Examples
    --------
    >>> wetting_reach([1.0, 1 / 6, 1 / 6], [0.0, 0.5, 0.0], 0.66, 1.0)
    array([0.66, 1.  , 0.66])
    """
    lot = not_negative(lot_over_deficit, "lot_over_deficit")
    worst = not_negative(at_once, "at_once")
    best = not_negative(in_lots, "in_lots")
    small = np.clip((LARGE_LOT - lot) / (LARGE_LOT - SMALL_LOT), 0.0, 1.0)
    spread = np.minimum(not_negative(rest, "rest") / LOT_REST, 1.0)
    return np.asarray(worst + (best - worst) * small * spread)


def water_for(kept: npt.ArrayLike, deficit: npt.ArrayLike, reach: npt.ArrayLike) -> Floats:
    r"""Water to pour so that a container keeps a given part of it.

    .. math:: V = \rho D\;\tfrac12 (\operatorname{artanh} u + \arctan u), \quad u = K / (\rho D)

    Parameters
    ----------
    kept : array_like, shape (...)
        Water to be kept. [L]
    deficit : array_like, shape (...)
        Water missing to capacity. [L]
    reach : array_like, shape (...)
        Share of it that can be brought back. [L/L]

    Returns
    -------
    ndarray, shape (...)
        Water to pour. [L] Infinite where the container cannot keep so much.

    Raises
    ------
    ValueError
        If an argument is negative.

    References
    ----------
    The equation of this module, integrated.

    Examples
    --------
    >>> float(water_for(0.57, 0.6, 1.0).round(3))
    0.777
    """
    wanted = not_negative(kept, "kept")
    room = not_negative(reach, "reach") * not_negative(deficit, "deficit")
    with np.errstate(divide="ignore", invalid="ignore"):
        part = np.where(wanted > 0, wanted / room, 0.0)
        poured = room * 0.5 * (np.arctanh(np.minimum(part, 1.0)) + np.arctan(part))
    missing = np.isnan(wanted) | np.isnan(room)
    return np.where(missing, np.nan, np.where(part < 1, poured, np.inf))


def water_kept(poured: npt.ArrayLike, deficit: npt.ArrayLike, reach: npt.ArrayLike) -> Floats:
    """Water that a container short of water keeps of what is poured on.

    Parameters
    ----------
    poured : array_like, shape (...)
        Water poured on. [L]
    deficit : array_like, shape (...)
        Water missing to capacity before. [L]
    reach : array_like, shape (...)
        Share of it that can be brought back. [L/L]

    Returns
    -------
    ndarray, shape (...)
        Water kept; the rest has run past. [L]

    Raises
    ------
    ValueError
        If an argument is negative.

    References
    ----------
    :func:`water_for` turned round.

    Examples
    --------
    Bark 600 mL short, 600 mL in one go: a third drains although all of it was missing.

    >>> float(water_kept(0.6, 0.6, 0.66).round(2))
    0.39
    """
    given, short, share = alike(
        not_negative(poured, "poured"),
        not_negative(deficit, "deficit"),
        not_negative(reach, "reach"),
    )
    room = share * short
    missing = np.isnan(given) | np.isnan(room)
    if not (given > 0).any():
        return np.where(missing, np.nan, 0.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        through = np.where(room > 0, given / room, np.inf)
    # Beyond nine times its room a container is full to the last digit shown.
    sought = np.clip(through, 0.0, 9.0)
    # Newton's steps from above, where the curve is convex; from its asymptote where it is steep.
    full = np.nextafter(1.0, 0.0)
    part = np.where(
        sought < _STEEP, sought, np.minimum(1 - 2 * np.exp(np.pi / 2 - 4 * sought), full)
    )
    for _ in range(_STEPS):
        short = 0.5 * (np.arctanh(part) + np.arctan(part)) - sought
        part = np.clip(part - short * (1.0 - part**4), 0.0, full)
    kept = room * np.where(through >= 9.0, 1.0, part)
    return np.where(missing, np.nan, np.where(given > 0, kept, 0.0))


class Lots(NamedTuple):
    """Small lots that wet a container. Arrays of shape (...)."""

    lot: Floats
    """Water of one lot. [L]"""
    number: Codes
    """How many, :data:`LOT_REST` apart."""


def wetting_lots(water: npt.ArrayLike, deficit: npt.ArrayLike, largest: npt.ArrayLike) -> Lots:
    """Divide the water that wets a container into small lots.

    Parameters
    ----------
    water : array_like, shape (...)
        Water to pour for wetting, what runs past with it. [L]
    deficit : array_like, shape (...)
        Water missing to capacity. [L]
    largest : array_like, shape (...)
        Most water that the head-space takes at once. [L]

    Returns
    -------
    Lots
        Each at most :data:`SMALL_LOT` of what is missing; none where no water is needed.

    Raises
    ------
    ValueError
        If an argument is negative.

    Examples
    --------
    >>> got = wetting_lots(0.78, 0.6, 0.5)
    >>> float(got.lot.round(3)), int(got.number)
    (0.098, 8)
    """
    whole = not_negative(water, "water")
    most = np.minimum(
        SMALL_LOT * not_negative(deficit, "deficit"), not_negative(largest, "largest")
    )
    with np.errstate(divide="ignore", invalid="ignore"):
        number = np.nan_to_num(np.ceil(whole / most * (1 - 1e-12)), nan=0.0, posinf=0.0)
        lot = np.where(number > 0, whole / number, 0.0)
    return Lots(lot, number.astype(np.int64))
