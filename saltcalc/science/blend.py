"""Blending a salty medium with a clean one."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import not_negative

Floats = npt.NDArray[np.float64]


def blend_share(
    ec_salty: npt.ArrayLike, ec_clean: npt.ArrayLike, ec_target: npt.ArrayLike
) -> Floats:
    r"""Share of the salty medium in a blend that reads a target EC.

    .. math:: f = \frac{EC_t - EC_2}{EC_1 - EC_2}

    The volume-weighted mean of two readings by one extraction method. It takes equal water held
    and equal bulk density, and no gypsum; measured blends of two media read up to a fifth lower
    (Arboriculture and Urban Forestry, compost and container tree-seedling media, Table 1).

    Parameters
    ----------
    ec_salty, ec_clean, ec_target : array_like, shape (...)
        EC of the two media and of the blend, by one method. [dS/m at 25 °C]

    Returns
    -------
    ndarray, shape (...)
        Volume of salty medium over volume of the blend [L/L]; 1 where the salty medium is at the
        target already, NaN where the clean one is above it.

    Raises
    ------
    ValueError
        If an EC is negative.
    """
    salty, clean = not_negative(ec_salty, "ec_salty"), not_negative(ec_clean, "ec_clean")
    target = not_negative(ec_target, "ec_target")
    with np.errstate(divide="ignore", invalid="ignore"):
        share = (target - clean) / (salty - clean)
    share = np.where(clean >= target, np.nan, share)
    return np.where(salty <= target, 1.0, share)
