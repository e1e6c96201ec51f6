"""How much a crop yields or emerges at an EC: published response curves and their inverses.

All EC here is the EC of the saturated extract at 25 °C [dS/m]. Every function broadcasts over
samples and crops; a missing figure is NaN and stays NaN.
"""

from __future__ import annotations

from enum import IntEnum

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Floats

# Lines between the ratings S|MS, MS|MT, MT|T, T|unsuitable: the threshold [dS/m] from FAO 29,
# Table 5; the zero-yield end [dS/m] from the division diagram of Maas and Hoffman (1977), as
# redrawn in FAO 29, Figure 10 (both from memory).
DIVISION_THRESHOLDS = (1.3, 3.0, 6.0, 10.0)
DIVISION_ZERO_YIELDS = (8.0, 16.0, 24.0, 32.0)
# The most sensitive line published (strawberry: 1.0 dS/m, 33 % per dS/m) closes the rating S
# from below (judgement).
MOST_SENSITIVE_LINE = (1.0, 1.0 + 100 / 33)

# Exponent of the S-curve that van Genuchten and Gupta (1993) found to serve most crops.
S_CURVE_STEEPNESS = 3.0


class Rating(IntEnum):
    """Salt tolerance rating of the published lists."""

    UNRATED = -1
    SENSITIVE = 0
    MODERATELY_SENSITIVE = 1
    MODERATELY_TOLERANT = 2
    TOLERANT = 3


def relative_yield(ec: npt.ArrayLike, threshold: npt.ArrayLike, slope: npt.ArrayLike) -> Floats:
    r"""Yield relative to a crop without salt: a plateau, then a straight fall.

    .. math:: Y_r = 100 - b\,(EC_e - a), \quad 0 \le Y_r \le 100

    The same form holds for chloride [mmol/L] and boron [mg/L] with their own threshold and slope.

    Parameters
    ----------
    ec : array_like
        EC of the saturated extract [dS/m], any shape.
    threshold : array_like
        Highest EC without loss, a [dS/m].
    slope : array_like
        Loss per unit of EC above it, b [% per dS/m].

    Returns
    -------
    ndarray
        Relative yield [%], 0 to 100; NaN where any argument is missing.

    References
    ----------
    .. [1] Maas, E.V. & Hoffman, G.J. (1977). Crop salt tolerance: current assessment.
       J. Irrig. Drain. Div. ASCE 103(IR2):115-134.

    Examples
    --------
    Bean: threshold 1.0 dS/m, 19 % per dS/m (Maas & Hoffman 1977).

    >>> print(relative_yield([0.8, 2.0, 8.0], 1.0, 19.0))
    [100.  81.   0.]
    """
    loss = np.asarray(slope, float) * (np.asarray(ec, float) - np.asarray(threshold, float))
    return np.asarray((100.0 - loss).clip(0.0, 100.0))


def ec_at_yield(
    yield_percent: npt.ArrayLike, threshold: npt.ArrayLike, slope: npt.ArrayLike
) -> Floats:
    r"""EC at which the yield has fallen to a given share; the inverse of `relative_yield`.

    .. math:: EC_e = a + (100 - Y_r) / b

    Parameters
    ----------
    yield_percent : array_like
        Relative yield wanted [%], 0 to 100.
    threshold, slope : array_like
        As in `relative_yield` [dS/m], [% per dS/m].

    Returns
    -------
    ndarray
        EC of the saturated extract [dS/m]; at 100 % the threshold, at 0 % the EC without yield.

    Raises
    ------
    ValueError
        If a yield lies outside 0 to 100 %.

    References
    ----------
    .. [1] Ayers, R.S. & Westcot, D.W. (1985). Water quality for agriculture. FAO 29 Rev. 1,
       Table 4.

    Examples
    --------
    Bean at 90 and 50 %: FAO 29, Table 4 prints 1.5 and 3.6.

    >>> print(ec_at_yield([90, 50], 1.0, 19.0).round(1))
    [1.5 3.6]
    """
    wanted = np.asarray(yield_percent, float)
    if ((wanted < 0) | (wanted > 100)).any():
        raise ValueError("a relative yield lies between 0 and 100 %")
    return np.asarray(np.asarray(threshold, float) + (100.0 - wanted) / np.asarray(slope, float))


def zero_yield_ec(threshold: npt.ArrayLike, slope: npt.ArrayLike) -> Floats:
    """EC at which nothing grows any more, the "maximum EC" of the leaching requirement.

    Parameters
    ----------
    threshold, slope : array_like
        As in `relative_yield` [dS/m], [% per dS/m].

    Returns
    -------
    ndarray
        EC of the saturated extract [dS/m].

    Examples
    --------
    Bean: FAO 29, Table 4 prints 6.3.

    >>> print(zero_yield_ec(1.0, 19.0).round(1))
    6.3
    """
    return ec_at_yield(0.0, threshold, slope)


def s_curve_response(
    ec: npt.ArrayLike, ec50: npt.ArrayLike, steepness: npt.ArrayLike = S_CURVE_STEEPNESS
) -> Floats:
    r"""Response of van Genuchten and Hoffman (1984), from the EC that halves it.

    .. math:: Y_r = \frac{100}{1 + (EC_e / EC_{50})^{p}}

    Used for emergence, of which only the half-value is published. The half-value itself does not
    depend on the steepness p; everything else does. The default 3 is the one curve that van
    Genuchten and Gupta (1993) found to serve most of 204 sets of yields; carrying it over to
    emergence is a judgement.

    Parameters
    ----------
    ec : array_like
        EC of the saturated extract [dS/m].
    ec50 : array_like
        EC that halves the response [dS/m].
    steepness : array_like, optional
        Exponent p [-].

    Returns
    -------
    ndarray
        Response [%] of that without salt.

    References
    ----------
    .. [1] van Genuchten, M.Th. & Hoffman, G.J. (1984). Analysis of crop salt tolerance data.
       In: Soil Salinity under Irrigation. Ecological Studies 51:258-271.
    .. [2] van Genuchten, M.Th. & Gupta, S.K. (1993). A reassessment of the crop tolerance response
       function. J. Indian Soc. Soil Sci. 41(4):730-737.

    Examples
    --------
    >>> print(s_curve_response([0.0, 8.0, 16.0], 8.0).round(1))
    [100.   50.   11.1]
    """
    ratio = np.maximum(np.asarray(ec, float), 0.0) / np.asarray(ec50, float)
    return np.asarray(100.0 / (1.0 + ratio ** np.asarray(steepness, float)))


def _rating_lines() -> tuple[Floats, Floats]:
    """Thresholds [dS/m] and slopes [% per dS/m] of the lower and of the upper line of each rating.

    Of shape (2, ratings), with NaN at the end, where the code of what is unrated points to.
    """
    thresholds = np.array([MOST_SENSITIVE_LINE[0], *DIVISION_THRESHOLDS])
    slopes = 100.0 / (np.array([MOST_SENSITIVE_LINE[1], *DIVISION_ZERO_YIELDS]) - thresholds)
    by_line = [
        np.array([[*line[:-1], np.nan], [*line[1:], np.nan]]) for line in (thresholds, slopes)
    ]
    return by_line[0], by_line[1]


_LINE_THRESHOLDS, _LINE_SLOPES = _rating_lines()


def rated_yield(ec: npt.ArrayLike, rating: npt.ArrayLike) -> tuple[Floats, Floats]:
    """Yield between the two division lines of a rating, for a crop that has nothing else.

    Parameters
    ----------
    ec : array_like
        EC of the saturated extract [dS/m].
    rating : array_like of int
        `Rating` codes.

    Returns
    -------
    low, high : ndarray
        Relative yield [%] on the lower and on the upper line; NaN where unrated.

    References
    ----------
    .. [1] Maas, E.V. & Hoffman, G.J. (1977). Crop salt tolerance: current assessment.
       J. Irrig. Drain. Div. ASCE 103(IR2):115-134.
    .. [2] Ayers, R.S. & Westcot, D.W. (1985). FAO 29 Rev. 1, Table 5 and Figure 10.

    Examples
    --------
    A crop that is only rated moderately sensitive, at 4 dS/m.

    >>> low, high = rated_yield(4.0, Rating.MODERATELY_SENSITIVE)
    >>> print(low.round(0), high.round(0))
    60.0 92.0
    """
    code = np.asarray(rating, int)
    low, high = (
        relative_yield(ec, threshold[code], slope[code])
        for threshold, slope in zip(_LINE_THRESHOLDS, _LINE_SLOPES, strict=True)
    )
    return low, high


def ec_at_rated_yield(yield_percent: npt.ArrayLike, rating: npt.ArrayLike) -> tuple[Floats, Floats]:
    """EC at which the two division lines of a rating fall to a yield.

    Parameters
    ----------
    yield_percent : array_like
        Relative yield wanted [%], 0 to 100.
    rating : array_like of int
        `Rating` codes.

    Returns
    -------
    low, high : ndarray
        EC of the saturated extract [dS/m] on the lower and on the upper line; NaN where unrated.

    Examples
    --------
    >>> low, high = ec_at_rated_yield(90.0, [Rating.SENSITIVE, Rating.TOLERANT])
    >>> print(low.round(1), high.round(1))
    [1.3 7.8] [ 2.  12.2]
    """
    code = np.asarray(rating, int)
    low, high = (
        ec_at_yield(yield_percent, threshold[code], slope[code])
        for threshold, slope in zip(_LINE_THRESHOLDS, _LINE_SLOPES, strict=True)
    )
    return low, high
