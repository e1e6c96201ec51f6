r"""Salt in the root zone in the long run: its profile, and what the crop takes up.

Water goes down through four quarters of the medium and is used on the way, 40, 30, 20 and 10 % of
it from the top [1]_. With the leaching fraction :math:`LF` and the used share :math:`u_i` down to
depth i, the flow is :math:`q_i = 1 - (1 - LF)\,u_i` of what is given, and at steady state

.. math:: C_i = \frac{C_w - (1 - LF)\,u_i\,U}{q_i}

where :math:`U` is the uptake concentration: what the crop takes up with each litre it uses. Without
uptake the salt is never reckoned too low, and that figure governs warnings.

References
----------
.. [1] Ayers, R.S. & Westcot, D.W. (1985). Water quality for agriculture. FAO Irrigation and
   Drainage Paper 29 Rev. 1, section 2.4: water use pattern and concentration factors.
.. [2] Ku, C.S.M. & Hershey, D.R. (1991). J. Amer. Soc. Hort. Sci. 116:802-806, abstract.
.. [3] Savvas, D. et al. (2005). Eur. J. Hort. Sci.: sodium and chloride level off where uptake
   equals what the water brings.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Floats, alike, not_negative

USE_PATTERN = (0.4, 0.3, 0.2, 0.1)
"""Water used from each quarter of the root zone, from the top [1]_. [L/L]"""

FRACTION_SPREAD = 0.05
"""Half-width of the 80 % interval of a leaching fraction (judgement). [L/L]

At a leaching fraction of 0.4 [2]_ measured a drainage of 6 where the balance says 5.25: 0.35 would.
"""

APPLIED_SPREAD = 0.05
"""The same of the EC applied, relative: a meter's error (common practice). [-]"""

MOST_UPTAKE = 0.7
"""Most of the EC of a feed that a crop takes up with the water it uses (judgement). [-]

Found were 0.67 and 0.38 dS/m, a third and a fifth of the feed, at leaching fractions 0.1 and 0.2
[2]_; solutions for closed systems are taken up whole.
"""

USED = np.concatenate([[0.0], np.cumsum(USE_PATTERN)])
"""Used down to the surface and to the lower end of each quarter. [L/L]"""


class Profile(NamedTuple):
    """Salt down a root zone at steady state. Arrays of shape (...)."""

    levels: Floats
    """At the surface and below each quarter, shape (..., 5), in the unit of what is applied."""
    mean: Floats
    """Mean over the root zone, of those five levels as in [1]_."""
    drainage: Floats
    """What drains; infinite where nothing does."""


class SteadyRange(NamedTuple):
    """A steady state with the ends of its 80 % interval."""

    without_uptake: Profile
    """The middle without uptake, which governs warnings. [dS/m]"""
    low: Profile
    """With most uptake and more drainage. [dS/m]"""
    high: Profile
    """Without uptake and with less drainage. [dS/m] Infinite where perhaps nothing drains."""


def steady_profile(
    applied: npt.ArrayLike, leaching_fraction: npt.ArrayLike, uptake: npt.ArrayLike = 0.0
) -> Profile:
    r"""Steady state down the root zone, of EC or of one ion.

    Parameters
    ----------
    applied : array_like, shape (...)
        EC [dS/m] or concentration [mmol/L] of water and feed together.
    leaching_fraction : array_like, shape (...)
        Drained over applied water, 0 to 1. [L/L]
    uptake : array_like, shape (...)
        Taken up with each litre used, in the unit of ``applied``.

    Returns
    -------
    Profile
        Never below zero: a crop takes up no more than there is.

    Raises
    ------
    ValueError
        If an argument is negative, or a fraction above 1.

    References
    ----------
    FAO 29 [1]_, with uptake added to the balance.

    Examples
    --------
    FAO 29 has a mean of 3.2 times the water at a leaching fraction of 0.15, in the soil's water.

    >>> float(steady_profile(1.0, 0.15).mean.round(2))
    3.18
    """
    water = not_negative(applied, "applied")
    fraction = not_negative(leaching_fraction, "leaching_fraction")
    taken = not_negative(uptake, "uptake")
    if (fraction > 1).any():
        raise ValueError("leaching_fraction must not be above 1")
    use = (1.0 - fraction)[..., np.newaxis] * USED
    flow = 1.0 - use
    flow[..., -1] = fraction
    with np.errstate(divide="ignore", invalid="ignore"):
        salt = np.maximum(water[..., np.newaxis] - use * taken[..., np.newaxis], 0.0)
        levels = np.where(salt == 0, 0.0, salt / flow)
    return Profile(levels, levels.mean(axis=-1), levels[..., -1])


def steady_range(
    ec_applied: npt.ArrayLike, leaching_fraction: npt.ArrayLike, ec_fed: npt.ArrayLike
) -> SteadyRange:
    """Steady state with what is not known of uptake and of the leaching fraction.

    Parameters
    ----------
    ec_applied : array_like, shape (...)
        EC of water and feed together. [dS/m]
    leaching_fraction : array_like, shape (...)
        Drained over applied water. [L/L]
    ec_fed : array_like, shape (...)
        The part of ``ec_applied`` that is nutrients. [dS/m] At most :data:`MOST_UPTAKE` of it is
        taken up; what salt the water itself brings is not.

    Returns
    -------
    SteadyRange

    Raises
    ------
    ValueError
        If an argument is negative, or a fraction above 1.

    References
    ----------
    Salt balance of FAO 29 [1]_, equation 2, with uptake; bounds after [2]_.

    Examples
    --------
    A feed of 2.1 at a leaching fraction of 0.2 drains; 9 was measured.

    >>> got = steady_range(2.1, 0.2, 2.1)
    >>> float(got.without_uptake.drainage.round(1))
    10.5
    >>> bool(got.low.drainage < 9 < got.high.drainage)
    True
    """
    applied, fraction, fed = alike(
        not_negative(ec_applied, "ec_applied"),
        not_negative(leaching_fraction, "leaching_fraction"),
        not_negative(ec_fed, "ec_fed"),
    )
    more = np.minimum(fraction + FRACTION_SPREAD, 1.0)
    less = np.maximum(fraction - FRACTION_SPREAD, 0.0)
    least = 1.0 - APPLIED_SPREAD
    taken, none = MOST_UPTAKE * least * fed, np.zeros(fed.shape)
    together = steady_profile(
        np.stack([applied, least * applied, (1.0 + APPLIED_SPREAD) * applied]),
        np.stack([fraction, more, less]),
        np.stack([none, taken, none]),
    )
    return SteadyRange(*map(Profile, *together))


def _mean_factor(fraction: Floats) -> tuple[Floats, Floats]:
    """Mean of the profile of a water of 1, and its slope with the fraction."""
    parts = 1.0 / (1.0 - (1.0 - fraction)[..., np.newaxis] * USED)
    return parts.mean(axis=-1), -(USED * parts**2).mean(axis=-1)


_FRACTIONS = np.geomspace(1e-9, 1.0, 400)
_LOG_FACTORS = np.log(_mean_factor(_FRACTIONS)[0])


def _fraction_for_factor(factor: Floats) -> Floats:
    """Turn the mean factor round: from a table, then by Newton's method on its logarithm."""
    wanted = np.log(factor)
    fraction = np.exp(np.interp(-wanted, -_LOG_FACTORS, np.log(_FRACTIONS)))
    for _ in range(3):
        mean, slope = _mean_factor(fraction)
        fraction = (fraction - (np.log(mean) - wanted) * mean / slope).clip(1e-12, 1.0)
    return np.asarray(fraction)


def fraction_for_mean(applied: npt.ArrayLike, limit: npt.ArrayLike) -> Floats:
    """Leaching fraction that keeps the mean of the root zone at a limit; the profile turned round.

    It serves EC, chloride, sodium and boron alike, each with its own limit. Boron and held ions
    come to their steady state far later, since the medium holds them, but to the same one.

    Parameters
    ----------
    applied : array_like, shape (...)
        EC [dS/m] or concentration in all that enters the medium.
    limit : array_like, shape (...)
        Limit in the solution of the medium, in the same unit.

    Returns
    -------
    ndarray, shape (...)
        Leaching fraction. [L/L] NaN where none does: the water itself is at the limit or above.

    Raises
    ------
    ValueError
        If an argument is negative.

    References
    ----------
    :func:`steady_profile` without uptake.

    Examples
    --------
    >>> float(fraction_for_mean(1.0, 3.18).round(3))
    0.15
    """
    water, wanted = alike(not_negative(applied, "applied"), not_negative(limit, "limit"))
    with np.errstate(divide="ignore", invalid="ignore"):
        factor = np.where(water > 0, wanted / water, np.nan)
    possible = factor > 1.0
    fraction = _fraction_for_factor(np.where(possible, factor, 2.0))
    none_needed = (water == 0) & ~np.isnan(wanted)
    return np.where(none_needed, 0.0, np.where(possible, fraction, np.nan))
