"""Blending a salty medium with a clean one."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Floats, not_negative


def blended(
    salty: npt.ArrayLike,
    clean: npt.ArrayLike,
    salty_fraction: npt.ArrayLike,
) -> Floats:
    r"""Concentration in the solution of a blend of two media, by volume.

    .. math:: C = f\,C_1 + (1 - f)\,C_2

    Parameters
    ----------
    salty, clean : array_like, shape (...)
        EC [dS/m] or a concentration [mg/L] in the solution of each, same method for both.
    salty_fraction : array_like, shape (...)
        Share of the salty medium by volume. [L/L]

    Returns
    -------
    ndarray, shape (...)
        In the blend, in the same unit. Where gypsum or other slightly soluble salt is there, the
        true EC lies above; blends measured against this mean fell up to a fifth below it.

    Raises
    ------
    ValueError
        If an argument is negative, or a share is above 1.

    Examples
    --------
    10 L at 6.0 dS/m with 20 L at 0.6.

    >>> print(blended(6.0, 0.6, 10 / 30).round(2))
    2.4
    """
    first, second = not_negative(salty, "salty"), not_negative(clean, "clean")
    share = not_negative(salty_fraction, "salty_fraction")
    if (share > 1).any():
        raise ValueError("salty_fraction must not be above 1")
    return np.asarray(share * first + (1.0 - share) * second)


def blend_share(
    ec_salty: npt.ArrayLike,
    ec_clean: npt.ArrayLike,
    ec_target: npt.ArrayLike,
) -> Floats:
    """Largest share of the salty medium that keeps a blend at a target.

    Parameters
    ----------
    ec_salty, ec_clean, ec_target : array_like, shape (...)
        EC of the two media and of the blend, same method for all. [dS/m]

    Returns
    -------
    ndarray, shape (...)
        Share of the salty medium by volume; 1 where it is at the target already, NaN where the
        clean medium itself is above the target. [L/L]

    Raises
    ------
    ValueError
        If an argument is negative.

    Examples
    --------
    >>> print(blend_share(6.0, 0.6, 2.0).round(3))
    0.259
    """
    first, second = not_negative(ec_salty, "ec_salty"), not_negative(ec_clean, "ec_clean")
    wanted = not_negative(ec_target, "ec_target")
    with np.errstate(divide="ignore", invalid="ignore"):
        share = (wanted - second) / ((wanted - second) + (first - wanted))
    share = np.where(first <= wanted, 1.0, share)
    missing = np.isnan(first) | np.isnan(second) | np.isnan(wanted)
    return np.where(missing | ((second > wanted) & (first > wanted)), np.nan, share)
