"""The salinity class of an EC reading, by the published scheme of its extraction method."""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.data.extraction import (
    MEDIUM_KINDS,
    extraction_methods,
    governing_schemes,
    method_codes,
)
from saltcalc.science._arrays import Codes, Flags, Floats, in_shape
from saltcalc.science.extraction import NOT_KNOWN, Pores, convert
from saltcalc.science.uncertainty import Interval


class ReadingClass(NamedTuple):
    """The salinity class of readings.

    `method` is the code of the method whose governing scheme was used; `ec` the reading on that
    method [dS/m]; `code`, `low`, `high` are places in that scheme's classes (-1 where missing),
    for the value and for the ends of its interval.
    """

    method: Codes
    ec: Interval
    code: Codes
    low: Codes
    high: Codes


def class_of_ec(ec: ArrayLike, limits: ArrayLike) -> Codes:
    """Place of a reading in a scheme of classes; a reading on a limit belongs to the lower class.

    So the sources have it: they call "extreme" what lies above the last limit, and 2.6 by
    pour-through "low", where low ends at 2.6.

    Parameters
    ----------
    ec : array_like, shape (...)
        Reading at 25 °C, by the method of the scheme [dS/m].
    limits : array_like, shape (..., classes - 1)
        Rising upper limits of all classes but the last [dS/m]; pad short schemes with infinity.

    Returns
    -------
    ndarray of int, shape (...)
        Place of the class, 0 for the lowest; -1 where `ec` is NaN.

    Examples
    --------
    >>> print(class_of_ec([0.5, 2.0, 2.1], [0.75, 2.0, 3.5]))
    [0 1 2]
    """
    reading = np.asarray(ec, dtype=np.float64)
    place = (reading[..., np.newaxis] > np.asarray(limits, dtype=np.float64)).sum(axis=-1)
    return np.where(np.isnan(reading), -1, place)


def classify_reading(
    ec: ArrayLike,
    method: ArrayLike,
    medium: ArrayLike,
    pores: Pores = NOT_KNOWN,
    *,
    error: ArrayLike = 0.0,
) -> ReadingClass:
    """Give the salinity class of a reading by the scheme that governs its method.

    A method without a published scheme is converted to one that has: the saturated media extract
    for soilless media, the saturated paste for mineral soil. Then the class has a range.

    Parameters
    ----------
    ec, method, medium, pores : array_like, shape (...)
        As for `saltcalc.science.extraction.to_both_bases`.
    error : array_like, shape (...), optional
        Half-width of the interval of the reading itself, as a share of it [-].

    Returns
    -------
    ReadingClass of ndarray, shape (...)
        The scheme by its method, the reading on that method [dS/m], and the classes.

    Raises
    ------
    ValueError
        If a reading is negative or a code is unknown.

    Examples
    --------
    >>> from saltcalc.data.extraction import method_codes
    >>> found = classify_reading(1.0, method_codes()["one_to_two"], 0)
    >>> print(found.code, found.low, found.high)
    2 2 2
    """
    classed = _class_method(method, medium)
    on_scheme = convert(ec, method, classed, medium, pores)
    limits = _governing_limits()[classed]
    return ReadingClass(
        in_shape(classed, on_scheme.value.shape),
        on_scheme,
        class_of_ec(on_scheme.value, limits),
        class_of_ec(on_scheme.low * (1 - np.asarray(error)), limits),
        class_of_ec(on_scheme.high * (1 + np.asarray(error)), limits),
    )


def _class_method(method: ArrayLike, medium: ArrayLike) -> Codes:
    """Code of each method itself where it has a governing scheme, else of a saturated extract.

    All schemes but that of the saturated paste are for soilless media.
    """
    codes, has_scheme = method_codes(), _has_scheme()
    soilless = np.asarray(medium) == MEDIUM_KINDS.index("soilless")
    fallback = np.where(soilless, codes["saturated_media_extract"], codes["saturated_paste"])
    chosen = np.asarray(method, dtype=np.int64)
    if ((chosen < 0) | (chosen >= has_scheme.size)).any():
        raise ValueError("unknown code of extraction method")
    return np.asarray(np.where(has_scheme[chosen] & soilless, chosen, fallback), dtype=np.int64)


@cache
def _has_scheme() -> Flags:
    """Whether each method has a governing scheme."""
    return np.array([each.id in governing_schemes() for each in extraction_methods()])


@cache
def _governing_limits() -> Floats:
    """Upper class limits of every method [dS/m], shape (methods, classes - 1), padded."""
    schemes = governing_schemes()
    width = max(len(scheme.limits) for scheme in schemes.values())
    table = np.full((len(extraction_methods()), width), np.inf)
    for code, method in enumerate(extraction_methods()):
        if method.id in schemes:
            limits = schemes[method.id].limits
            table[code, : len(limits)] = limits
    return table
