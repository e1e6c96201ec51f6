"""An EC reading by one extraction method, as another method would show it.

Every reading goes through one of two bases. The saturated extract (the saturated paste extract of
a mineral soil, the saturated media extract of a container medium) has published conversions and
classes and is the basis of crop tolerances. The pore water at container capacity is what roots
and a flush meet. The two are linked by dilution: the same salt in the water of a saturated medium,
or in what stays after drainage.

Of several published conversions one governs the central value; nothing is averaged. The others
only widen the interval.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.data.extraction import (
    MEDIUM_KINDS,
    PORE_WATER,
    EcConversion,
    extraction_methods,
    method_codes,
)
from saltcalc.science._arrays import Codes, Flags, Floats, least_and_most
from saltcalc.science.conversion_lines import Lines, backward, forward, line_of
from saltcalc.science.uncertainty import Z_HIGH, Interval

DILUTION_SCATTER = 0.10
"""Standard deviation of the logarithm of pore water over saturated extract [-]; a judgement."""


class Pores(NamedTuple):
    """What holds the water of media, by volume of medium [L/L]; NaN where it is not known."""

    total_porosity: ArrayLike = np.nan
    """Volume of all pores."""
    container_capacity: ArrayLike = np.nan
    """Water held after drainage."""
    water_content: ArrayLike = np.nan
    """Water held when a pore-water sensor was read; container capacity where NaN."""


NOT_KNOWN = Pores()


class _Media(NamedTuple):
    medium: Codes
    total_porosity: Floats
    container_capacity: Floats
    water_content: Floats


class _Spread(NamedTuple):
    """A value [dS/m] with the variance of its logarithm [-]."""

    value: Floats
    variance: Floats

    def interval(self) -> Interval:
        ratio = np.exp(Z_HIGH * np.sqrt(self.variance))
        return Interval(self.value, self.value / ratio, self.value * ratio)


def to_both_bases(
    ec: ArrayLike,
    method: ArrayLike,
    medium: ArrayLike,
    pores: Pores = NOT_KNOWN,
) -> tuple[Interval, Interval]:
    r"""EC of the saturated extract, and of the pore water, from a reading by any method.

    .. math::

        \ln EC_{high} = \ln EC + 1.2816\, s, \qquad
        s^2 = s_0^2 + \frac{1}{n}\sum_{i=1}^{n}\left(\ln\frac{EC_i}{EC}\right)^2

    with EC by the governing conversion, EC_i by the n others that apply, and s_0 the scatter of
    readings about the governing one (a judgement where no residuals are published).

    Parameters
    ----------
    ec : array_like, shape (...)
        Reading at 25 °C [dS/m].
    method : array_like of int, shape (...)
        Extraction method, as its place in `saltcalc.data.extraction.extraction_methods` [-].
    medium : array_like of int, shape (...)
        Kind of medium, as its place in `saltcalc.data.extraction.MEDIUM_KINDS` [-].
    pores : Pores of array_like, shape (...), optional
        Needed to go to, or from, pore water.

    Returns
    -------
    saturated, pore_water : Interval of ndarray, shape (...)
        EC of the saturated extract, and of the pore water at container capacity (as `to_pore_water`
        has it), at 25 °C [dS/m]; exact, without spread, for a reading that is one. NaN where an
        argument it needs is NaN.

    Raises
    ------
    ValueError
        If a reading is negative or a code is unknown.

    References
    ----------
    .. [1] University of Massachusetts Extension, EC by extraction method, Table 2.
    .. [2] Hogg, T.J. & Henry, J.L. (1984), Can. J. Soil Sci. 64:699-704.
    .. [3] Slavich, P.G. & Petterson, G.H. (1993), Aust. J. Soil Res. 31:73-81.

    Examples
    --------
    1.3 by one to two is 3.5 in the saturated extract of a soilless medium (University of
    Massachusetts, Table 2).

    >>> code = method_codes()["one_to_two"]
    >>> found, _ = to_both_bases(1.3, code, MEDIUM_KINDS.index("soilless"))
    >>> print(found.value, found.low.round(2), found.high.round(2))
    3.5 2.87 4.27
    """
    reading, codes, media = _arguments(ec, method, medium, pores)
    own = _own_basis(reading, codes, media)
    saturated, pore_water = (
        _on_basis(own, codes, media, pore_water=each).interval() for each in (False, True)
    )
    return saturated, pore_water


def to_pore_water(
    ec: ArrayLike,
    method: ArrayLike,
    medium: ArrayLike,
    pores: Pores,
) -> Interval:
    r"""EC of the pore water at container capacity from a reading by any method.

    .. math:: EC_{pore} = EC_{saturated}\,\frac{\varphi}{\theta_{cc}}

    Dilution arithmetic: the salt of the saturated extract, which fills the pores (:math:`\varphi`),
    in the water that stays after drainage (:math:`\theta_{cc}`). Sparingly soluble salts (gypsum)
    break it. No published conversion was found for container media; for mineral soil at field
    capacity FAO 29 takes a factor of two.

    Parameters
    ----------
    ec, method, medium, pores : array_like, shape (...)
        As for `to_both_bases`.

    Returns
    -------
    Interval of ndarray, shape (...)
        EC of the pore water at container capacity, 25 °C [dS/m]; NaN where an argument it needs
        is NaN.

    Raises
    ------
    ValueError
        If a reading is negative or a code is unknown.

    References
    ----------
    .. [1] de Kreij, C. et al. (2001), Acta Hort. 548, paper 47 (1:1½ by volume).
    .. [2] Ayers, R.S. & Westcot, D.W. (1985), FAO Irrigation and Drainage Paper 29 Rev. 1.

    Examples
    --------
    >>> codes = method_codes()
    >>> found = to_pore_water(3.5, codes["saturated_media_extract"], 0, Pores(0.9, 0.7))
    >>> print(found.value.round(2))
    4.5
    """
    reading, codes, media = _arguments(ec, method, medium, pores)
    return _on_basis(_own_basis(reading, codes, media), codes, media, pore_water=True).interval()


def from_saturated_extract(
    ec: ArrayLike,
    method: ArrayLike,
    medium: ArrayLike,
    pores: Pores = NOT_KNOWN,
) -> Interval:
    """Give the reading a method would show, from the EC of the saturated extract.

    Central values are the exact inverse of `to_both_bases`.

    Parameters
    ----------
    ec : array_like, shape (...)
        EC of the saturated extract at 25 °C [dS/m].
    method, medium, pores : array_like, shape (...)
        As for `to_both_bases`, for the method wanted.

    Returns
    -------
    Interval of ndarray, shape (...)
        Reading by the method wanted, at 25 °C [dS/m]; NaN where an argument it needs is NaN.

    Raises
    ------
    ValueError
        If an EC is negative or a code is unknown.

    Examples
    --------
    >>> found = from_saturated_extract(3.5, method_codes()["one_to_two"], 0)
    >>> print(found.value)
    1.3
    """
    value, codes, media = _arguments(ec, method, medium, pores)
    to_pores = _is_pore_water()[codes]
    strengthened, dilution = value * _strengthening(media), DILUTION_SCATTER**2
    start = _Spread(np.where(to_pores, strengthened, value), np.where(to_pores, dilution, 0.0))
    return _off_basis(start, codes, media).interval()


def convert(
    ec: ArrayLike,
    method: ArrayLike,
    to: ArrayLike,
    medium: ArrayLike,
    pores: Pores = NOT_KNOWN,
) -> Interval:
    """Give a reading by one method as another method would show it.

    Parameters
    ----------
    ec : array_like, shape (...)
        Reading at 25 °C [dS/m].
    method, to : array_like of int, shape (...)
        Extraction method of the reading, and the one wanted, as codes [-].
    medium, pores : array_like, shape (...)
        As for `to_both_bases`.

    Returns
    -------
    Interval of ndarray, shape (...)
        Reading by the method wanted, at 25 °C [dS/m]; the reading itself, without spread, where
        the two methods are one. NaN where an argument it needs is NaN.

    Raises
    ------
    ValueError
        If a reading is negative or a code is unknown.

    Examples
    --------
    5 in the saturated extract is 1.8 by one to two (University of Massachusetts, Table 2).

    >>> codes = method_codes()
    >>> found = convert(5.0, codes["saturated_media_extract"], codes["one_to_two"], 0)
    >>> print(found.value)
    1.8
    """
    reading, codes, media = _arguments(ec, method, medium, pores)
    wanted = np.asarray(to, dtype=np.int64)
    own = _own_basis(reading, codes, media)
    found = _off_basis(
        _on_basis(own, codes, media, pore_water=_is_pore_water()[wanted]), wanted, media
    )
    itself = codes == wanted
    return _Spread(
        np.where(itself, reading, found.value), np.where(itself, 0.0, found.variance)
    ).interval()


def on_basis(ec: ArrayLike, conversion: EcConversion) -> Floats:
    """EC on the basis of one published conversion, to set several side by side.

    Parameters
    ----------
    ec : array_like, shape (...)
        Reading at 25 °C by the method of the conversion [dS/m].
    conversion : EcConversion
        One of `saltcalc.data.extraction.ec_conversions`.

    Returns
    -------
    ndarray, shape (...)
        EC of the saturated extract or of the pore water, as the conversion says [dS/m].

    Examples
    --------
    >>> from saltcalc.data.extraction import ec_conversions
    >>> conversion = ec_conversions("one_to_two", "soilless")[0]
    >>> print(on_basis([0.8, 1.3], conversion))
    [2.  3.5]
    """
    return line_of(conversion).along(np.asarray(ec, dtype=np.float64), np.array(0))[..., 0]


def dilution_factor(
    water_added: ArrayLike, water_content: ArrayLike, reference_water_content: ArrayLike
) -> Floats:
    r"""How much stronger a reference water is than an extract by volume, by dilution alone.

    .. math:: \frac{V_w + \theta}{\theta_{ref}}

    A cross-check on the published conversions, and the only basis where there is none.

    Parameters
    ----------
    water_added : array_like, shape (...)
        Water added to one volume of medium [L/L], such as 2 in a 1:2 extract.
    water_content : array_like, shape (...)
        Water the sample held before [L/L].
    reference_water_content : array_like, shape (...)
        Water content of the medium in the state referred to [L/L]: its porosity for the
        saturated extract, container capacity for the pore water.

    Returns
    -------
    ndarray, shape (...)
        EC of the reference water over EC of the extract [-].

    Examples
    --------
    A 1:2 extract of a medium that held 0.5 of its volume, against the saturated extract.

    >>> print(dilution_factor(2.0, 0.5, 0.9).round(2))
    2.78
    """
    return np.asarray(
        (np.asarray(water_added, dtype=np.float64) + np.asarray(water_content, dtype=np.float64))
        / np.asarray(reference_water_content, dtype=np.float64)
    )


def _arguments(
    ec: ArrayLike, method: ArrayLike, medium: ArrayLike, pores: Pores
) -> tuple[Floats, Codes, _Media]:
    reading = np.asarray(ec, dtype=np.float64)
    codes, kinds = np.asarray(method, dtype=np.int64), np.asarray(medium, dtype=np.int64)
    if least_and_most(reading)[0] < 0:
        raise ValueError("an electrical conductivity cannot be negative")
    for name, given, known in (
        ("extraction method", codes, len(extraction_methods())),
        ("kind of medium", kinds, len(MEDIUM_KINDS)),
    ):
        least, greatest = least_and_most(given)
        if least < 0 or greatest >= known:
            raise ValueError(f"unknown code of {name}")
    return reading, codes, _Media(kinds, *(np.asarray(each, dtype=np.float64) for each in pores))


def _own_basis(reading: Floats, method: Codes, media: _Media) -> _Spread:
    """Bring readings to the basis of their method, pore water to container capacity."""
    found = _by_conversion(_Spread(reading, np.zeros(())), method, media, forward())
    return _Spread(found.value * _drying(method, media), found.variance)


def _on_basis(own: _Spread, method: Codes, media: _Media, pore_water: Flags | bool) -> _Spread:
    """Bring what is on the basis of its method to pore water, or else to the saturated extract."""
    from_pores, strength = _is_pore_water()[method], _strengthening(media)
    other = from_pores != pore_water
    carried = np.where(from_pores, own.value * (1.0 / strength), own.value * strength)
    return _Spread(
        np.where(other, carried, own.value),
        np.where(other, own.variance + DILUTION_SCATTER**2, own.variance),
    )


def _off_basis(start: _Spread, method: Codes, media: _Media) -> _Spread:
    """Give the readings that methods would show, from what is on the basis of each."""
    as_it_is = _Spread(start.value / _drying(method, media), start.variance)
    return _by_conversion(as_it_is, method, media, backward())


def _strengthening(media: _Media) -> Floats:
    """Pore water over saturated extract, by dilution alone; see :func:`dilution_factor`."""
    return media.total_porosity / media.container_capacity


def _drying(method: Codes, media: _Media) -> Floats:
    """Water content at the time of a sensor reading over container capacity; 1 for the rest."""
    current = media.water_content / media.container_capacity
    is_sensor = method == method_codes()["pore_water_sensor"]
    return np.asarray(np.where(is_sensor & ~np.isnan(media.water_content), current, 1.0))


@cache
def _is_pore_water() -> Flags:
    """Whether each method reads pore water."""
    return np.array([each.basis == PORE_WATER for each in extraction_methods()])


def _by_conversion(start: _Spread, method: Codes, media: _Media, lines: Lines) -> _Spread:
    """Go along the governing conversion; how far the others lie off it is variance."""
    row = method * len(MEDIUM_KINDS) + media.medium
    # Along a straight line from zero a ratio is the same however small the reading.
    least = np.maximum(start.value, _LEAST)
    along = lines.along(least, row)
    value = np.where(start.value < _LEAST, start.value * lines.first[row], along[..., 0])
    gaps = np.square(np.log(along[..., 1:] / along[..., :1]))
    variance = start.variance + lines.scatter[row] ** 2
    return _Spread(value, variance + gaps.sum(axis=-1) / lines.others[row])


_LEAST = float(np.finfo(np.float64).tiny ** 0.5)
"""Least EC at which conversions are compared [dS/m]."""
