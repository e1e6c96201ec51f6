"""What a flush of a container starts from and goes to, and how much water one pass may be."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Floats
from saltcalc.science.uncertainty import Interval

LARGEST_PASS = 0.25
"""Most water of one pass, over the volume of the medium (judgement). [L/L]"""


class Flush(NamedTuple):
    """One flush of each container: what is there and what is wanted. Arrays of shape (...)."""

    ec_medium: npt.ArrayLike
    """EC of the medium's solution at container capacity. [dS/m]"""
    ec_target: npt.ArrayLike
    """EC to come down to, on the same basis. [dS/m]"""
    ec_water: npt.ArrayLike
    """EC of the water poured on. [dS/m]"""
    water_held: npt.ArrayLike
    """Water the container holds at capacity. [L]"""
    deficit: npt.ArrayLike
    """Water missing to capacity at the start, soaked up before it washes. [L]"""
    pass_volume: npt.ArrayLike
    """Water of one pass, at most what the head-space takes. [L]"""
    ceiling: npt.ArrayLike
    """Most water to apply before giving up. [L]"""
    duration: npt.ArrayLike
    """Time a pass takes. [h]"""


class UncertainWashout(NamedTuple):
    """Washout parameters with their 80 % intervals, each of shape (...)."""

    efficiency: Interval
    immobile_water_fraction: Interval
    mass_transfer_coefficient: Interval
    sorbed_ratio: Interval


def headspace_volume(
    volume: npt.ArrayLike, area: npt.ArrayLike, headspace: npt.ArrayLike
) -> Floats:
    """Water that fits on top of the medium.

    Parameters
    ----------
    volume : array_like, shape (...)
        Volume of the medium. [L]
    area : array_like, shape (...)
        Area of its surface. [cm²]
    headspace : array_like, shape (...)
        Room between medium and rim. [cm]

    Returns
    -------
    ndarray, shape (...)
        Volume of the head-space, at most :data:`LARGEST_PASS` of the medium's, so that shallow
        cells are not given more than they take in. [L]

    Examples
    --------
    3 cm over a pot of 380 cm² take 1.14 L.

    >>> print(headspace_volume(10.0, 380.0, 3.0).round(2))
    1.14
    """
    room = np.asarray(headspace, dtype=np.float64) * np.asarray(area, dtype=np.float64) / 1000.0
    return np.asarray(np.minimum(room, LARGEST_PASS * np.asarray(volume, dtype=np.float64)))
