"""Checks shared by the science modules."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt


def not_negative(values: npt.ArrayLike, name: str) -> npt.NDArray[np.float64]:
    """Return ``values`` as floats.

    Raises
    ------
    ValueError
        If one is negative; missing values (NaN) pass.
    """
    array = np.asarray(values, dtype=np.float64)
    if np.any(array < 0):
        raise ValueError(f"{name} must not be negative")
    return array
