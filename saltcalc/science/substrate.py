"""Water and air in a container of a given height.

After free drainage the base of the medium sits at zero suction, so that a layer at height z above
the base holds what the retention curve gives at suction z. The mean over the height is the
container capacity: a short container stays wetter than a tall one of the same medium.

References
----------
.. [1] van Genuchten, M.Th. (1980). A closed-form equation for predicting the hydraulic
   conductivity of unsaturated soils. Soil Sci. Soc. Am. J. 44:892-898.
.. [2] Milks, R.R., Fonteno, W.C. & Larson, R.A. (1989). Hydrology of horticultural substrates:
   II. Predicting physical properties of media in containers. J. Amer. Soc. Hort. Sci. 114:53-56.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Floats, alike

# Gauss-Legendre nodes on the height, crowded towards the base, where the curve bends most.
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(64)
_UNIT_NODES = (0.5 * (_NODES + 1.0)) ** 2
_UNIT_WEIGHTS = 0.5 * _WEIGHTS * (_NODES + 1.0)

PERCHED_AIR = 0.10
"""Air-filled share of the volume below which a layer counts as perched (common practice).

Ten per cent is the usual lower limit of aeration for roots.
"""

_ALPHA_RANGE = (1e-6, 1e6)
_HALVINGS = 44
"""Of that range, in its logarithm: to 1e-12."""


class RetentionCurve(NamedTuple):
    """Parameters of van Genuchten's retention curve, with m = 1 − 1/n.

    Each may be a number or an array; together they broadcast.
    """

    theta_s: npt.ArrayLike
    """Water content at saturation. [L/L]"""
    theta_r: npt.ArrayLike
    """Residual water content. [L/L]"""
    alpha: npt.ArrayLike
    """Inverse of the air-entry suction. [1/cm]"""
    n: npt.ArrayLike
    """Steepness of the curve, above 1. [-]"""


class ContainerWater(NamedTuple):
    """What a drained container holds, each part as a share of the volume."""

    container_capacity: Floats
    """Water held after free drainage. [L/L]"""
    air_space: Floats
    """Air after free drainage. [L/L]"""
    total_porosity: Floats
    """Water held when full. [L/L]"""
    perched_height: Floats
    """Height above the base of the zone with less than 10 % air. [cm]"""


def water_content_van_genuchten(suction: npt.ArrayLike, curve: RetentionCurve) -> Floats:
    r"""Water content at a suction.

    .. math::

        \theta(h) = \theta_r + \frac{\theta_s - \theta_r}{[1 + (\alpha h)^n]^m},
        \qquad m = 1 - 1/n

    Parameters
    ----------
    suction : array_like, shape (...)
        Suction, zero or above. [cm of water]
    curve : RetentionCurve
        Its arrays broadcast with ``suction``.

    Returns
    -------
    ndarray, shape (...)
        Water content by volume. [L/L]

    Raises
    ------
    ValueError
        If a suction is negative or n is not above 1.

    References
    ----------
    van Genuchten (1980) [1]_.

    Examples
    --------
    >>> curve = RetentionCurve(theta_s=0.9, theta_r=0.1, alpha=0.2, n=1.6)
    >>> print(water_content_van_genuchten([0.0, 10.0, 50.0], curve).round(2))
    [0.9  0.57 0.3 ]
    """
    h = np.asarray(suction, dtype=np.float64)
    theta_s, theta_r, alpha, n = (np.asarray(part, dtype=np.float64) for part in curve)
    if (h < 0).any():
        raise ValueError("suction must not be negative")
    if (n <= 1).any():
        raise ValueError("n must be above 1")
    return np.asarray(theta_r + (theta_s - theta_r) * (1.0 + (alpha * h) ** n) ** (1.0 / n - 1.0))


def suction_van_genuchten(water_content: npt.ArrayLike, curve: RetentionCurve) -> Floats:
    """Suction at which the medium holds a given water content; the inverse of the curve.

    Parameters
    ----------
    water_content : array_like, shape (...)
        Water content by volume. [L/L]
    curve : RetentionCurve
        Its arrays broadcast with ``water_content``.

    Returns
    -------
    ndarray, shape (...)
        Suction. [cm of water] Zero at saturation; NaN above it, and at or below the residual.

    References
    ----------
    van Genuchten (1980) [1]_.

    Examples
    --------
    >>> curve = RetentionCurve(theta_s=0.9, theta_r=0.1, alpha=0.2, n=1.6)
    >>> print(suction_van_genuchten([0.9, 0.5], curve).round(1))
    [ 0.  14.3]
    """
    theta = np.asarray(water_content, dtype=np.float64)
    theta_s, theta_r, alpha, n = (np.asarray(part, dtype=np.float64) for part in curve)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):  # n near 1: no end
        saturation = (theta - theta_r) / (theta_s - theta_r)
        saturation = np.where((saturation > 0) & (saturation <= 1), saturation, np.nan)
        m = 1.0 - 1.0 / n
        return np.asarray((saturation ** (-1.0 / m) - 1.0) ** (1.0 / n) / alpha)


def mean_water_content(
    height: npt.ArrayLike, curve: RetentionCurve, base_over_top: npt.ArrayLike = 1.0
) -> Floats:
    r"""Container capacity: water content averaged over a drained container.

    .. math:: \bar\theta = \frac{\int_0^H A(z)\,\theta(z)\,dz}{\int_0^H A(z)\,dz}

    Parameters
    ----------
    height : array_like, shape (...)
        Height of the medium. [cm]
    curve : RetentionCurve
        Retention curve; its arrays broadcast with ``height``.
    base_over_top : array_like, shape (...)
        Inner diameter at the base over that at the top of the medium; 1 for straight walls. [-]

    Returns
    -------
    ndarray, shape (...)
        Water held after free drainage, share of the volume. [L/L]

    Raises
    ------
    ValueError
        If a height or a diameter ratio is negative.

    References
    ----------
    Milks, Fonteno & Larson (1989) [2]_: retention curve and container geometry together.

    Examples
    --------
    The same medium holds more in a short container than in a tall one.

    >>> curve = RetentionCurve(theta_s=0.9, theta_r=0.1, alpha=0.2, n=1.6)
    >>> print(mean_water_content([5.0, 25.0], curve).round(2))
    [0.82 0.57]
    """
    h = np.asarray(height, dtype=np.float64)[..., np.newaxis]
    ratio = np.asarray(base_over_top, dtype=np.float64)[..., np.newaxis]
    if (h < 0).any() or (ratio < 0).any():
        raise ValueError("height and base_over_top must not be negative")
    layered = RetentionCurve(
        *(np.asarray(part, dtype=np.float64)[..., np.newaxis] for part in curve)
    )
    theta = water_content_van_genuchten(h * _UNIT_NODES, layered)
    area = (ratio + (1.0 - ratio) * _UNIT_NODES) ** 2
    weight = area * _UNIT_WEIGHTS
    return np.asarray((weight * theta).sum(axis=-1) / weight.sum(axis=-1))


def container_water(
    height: npt.ArrayLike, curve: RetentionCurve, base_over_top: npt.ArrayLike = 1.0
) -> ContainerWater:
    """Container capacity, air space and perched zone of a drained container.

    Parameters
    ----------
    height : array_like, shape (...)
        Height of the medium. [cm]
    curve : RetentionCurve
        Retention curve; its arrays broadcast with ``height``.
    base_over_top : array_like, shape (...)
        Inner diameter at the base over that at the top of the medium; 1 for straight walls. [-]

    Returns
    -------
    ContainerWater
        Shares of the volume [L/L], each of shape (...), and the perched height. [cm] The drainable
        volume, from full to drained, is the air space times the container's volume.

    References
    ----------
    Milks, Fonteno & Larson (1989) [2]_.

    Examples
    --------
    >>> found = container_water(15.0, RetentionCurve(theta_s=0.9, theta_r=0.1, alpha=0.2, n=1.6))
    >>> print(found.container_capacity.round(2), found.air_space.round(2))
    0.66 0.24
    >>> print(found.perched_height.round(1))
    2.9
    """
    capacity = mean_water_content(height, curve, base_over_top)
    porosity = np.empty(capacity.shape)
    porosity[...] = curve.theta_s
    entry = suction_van_genuchten(porosity - PERCHED_AIR, curve)
    # Where the residual water alone leaves no such air, it is missing at every height.
    airless = porosity - PERCHED_AIR <= np.asarray(curve.theta_r)
    entry = np.where(airless, np.inf, entry)
    return ContainerWater(
        container_capacity=capacity,
        air_space=porosity - capacity,
        total_porosity=porosity,
        perched_height=np.minimum(entry, np.asarray(height, dtype=np.float64)),
    )


def water_profile(
    height: npt.ArrayLike, curve: RetentionCurve, slices: int = 20
) -> tuple[Floats, Floats]:
    """Water content layer by layer in a drained container.

    Parameters
    ----------
    height : array_like, shape (...)
        Height of the medium. [cm]
    curve : RetentionCurve
        Retention curve; its arrays broadcast with ``height``.
    slices : int
        Number of layers.

    Returns
    -------
    z : ndarray, shape (..., slices)
        Height of the middle of each layer above the base, lowest first. [cm]
    theta : ndarray, shape (..., slices)
        Water content there. [L/L]

    Examples
    --------
    Wet at the base, drier at the top.

    >>> curve = RetentionCurve(theta_s=0.9, theta_r=0.1, alpha=0.2, n=1.6)
    >>> z, theta = water_profile(15.0, curve, slices=3)
    >>> print(z, theta.round(2))
    [ 2.5  7.5 12.5] [0.82 0.64 0.53]
    """
    h = np.asarray(height, dtype=np.float64)[..., np.newaxis]
    z = h * (np.arange(slices) + 0.5) / slices
    layered = RetentionCurve(
        *(np.asarray(part, dtype=np.float64)[..., np.newaxis] for part in curve)
    )
    return np.asarray(z), water_content_van_genuchten(z, layered)


def curve_through_capacity(
    container_capacity: npt.ArrayLike,
    height: npt.ArrayLike,
    total_porosity: npt.ArrayLike,
    theta_r: npt.ArrayLike,
    n: npt.ArrayLike,
    base_over_top: npt.ArrayLike = 1.0,
) -> RetentionCurve:
    """Retention curve that gives a stated container capacity at a stated height.

    Where no curve was measured, its shape (``theta_r``, ``n``) is borrowed from a like medium and
    only ``alpha`` is set, so that the mean over ``height`` is exactly the stated capacity. At that
    height the result is the measurement; at other heights it is an estimate whose error grows with
    the distance, since the shape is borrowed.

    Parameters
    ----------
    container_capacity : array_like, shape (...)
        Water held after drainage at that height. [L/L]
    height : array_like, shape (...)
        Height of the medium where it was measured. [cm]
    total_porosity : array_like, shape (...)
        Water held when full. [L/L]
    theta_r : array_like, shape (...)
        Residual water content of the borrowed shape. [L/L]
    n : array_like, shape (...)
        Steepness of the borrowed shape, above 1. [-]
    base_over_top : array_like, shape (...)
        Taper of the container where it was measured. [-]

    Returns
    -------
    RetentionCurve
        With arrays of shape (...). ``alpha`` [1/cm] is NaN where no such curve passes through the
        stated capacity (not between the residual and the porosity).

    Examples
    --------
    >>> curve = curve_through_capacity(0.65, 15.0, 0.9, 0.1, 1.6)
    >>> print(mean_water_content(15.0, curve).round(4))
    0.65
    """
    capacity, h, porosity, residual, steep, ratio = alike(
        *(
            np.asarray(part, dtype=np.float64)
            for part in (container_capacity, height, total_porosity, theta_r, n, base_over_top)
        )
    )
    possible = (capacity > residual) & (capacity < porosity) & (h > 0)

    def too_wet(log_alpha: Floats) -> npt.NDArray[np.bool_]:
        curve = RetentionCurve(porosity, residual, np.exp(log_alpha), steep)
        return np.asarray(mean_water_content(h, curve, ratio) > capacity)

    # A larger alpha drains the medium at less suction, so that it holds less: halve the range.
    low, high = (np.full(h.shape, np.log(end)) for end in _ALPHA_RANGE)
    inside = possible & too_wet(low) & ~too_wet(high)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        wetter = too_wet(middle)
        low, high = np.where(wetter, middle, low), np.where(wetter, high, middle)
    alpha = np.where(inside, np.exp(0.5 * (low + high)), np.nan)
    return RetentionCurve(porosity.copy(), residual.copy(), alpha, steep.copy())
