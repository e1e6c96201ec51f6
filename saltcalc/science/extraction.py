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

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from saltcalc.data.extraction import (
    MEDIUM_KINDS,
    PORE_WATER,
    EcConversion,
    ec_conversions,
    extraction_methods,
    method_codes,
)
from saltcalc.science._arrays import Codes, Flags, Floats
from saltcalc.science.uncertainty import Z_HIGH, Interval

DILUTION_SCATTER = 0.10
"""Standard deviation of the logarithm of pore water over saturated extract [-]; a judgement."""


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


def to_saturated_extract(
    ec: ArrayLike,
    method: ArrayLike,
    medium: ArrayLike,
    *,
    total_porosity: ArrayLike = np.nan,
    container_capacity: ArrayLike = np.nan,
    water_content: ArrayLike = np.nan,
) -> Interval:
    r"""EC of the saturated extract from a reading by any method.

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
    total_porosity : array_like, shape (...)
        Volume of all pores by volume of medium [L/L]; needed for readings of pore water only.
    container_capacity : array_like, shape (...)
        Water held after drainage by volume of medium [L/L]; needed as `total_porosity` is.
    water_content : array_like, shape (...)
        Water held when a pore-water sensor was read [L/L]; container capacity where NaN.

    Returns
    -------
    Interval of ndarray, shape (...)
        EC of the saturated extract at 25 °C [dS/m]; exact, without spread, for a reading that
        is one. NaN where an argument it needs is NaN.

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

    >>> codes = method_codes()
    >>> found = to_saturated_extract(1.3, codes["one_to_two"], MEDIUM_KINDS.index("soilless"))
    >>> print(found.value, found.low.round(2), found.high.round(2))
    3.5 2.87 4.27
    """
    reading, codes, media = _arguments(
        ec, method, medium, total_porosity, container_capacity, water_content
    )
    return _saturated(reading, codes, media).interval()


def to_pore_water(
    ec: ArrayLike,
    method: ArrayLike,
    medium: ArrayLike,
    *,
    total_porosity: ArrayLike,
    container_capacity: ArrayLike,
    water_content: ArrayLike = np.nan,
) -> Interval:
    r"""EC of the pore water at container capacity from a reading by any method.

    .. math:: EC_{pore} = EC_{saturated}\,\frac{\varphi}{\theta_{cc}}

    Dilution arithmetic: the salt of the saturated extract, which fills the pores (:math:`\varphi`),
    in the water that stays after drainage (:math:`\theta_{cc}`). Sparingly soluble salts (gypsum)
    break it. No published conversion was found for container media; for mineral soil at field
    capacity FAO 29 takes a factor of two.

    Parameters
    ----------
    ec, method, medium, total_porosity, container_capacity, water_content : array_like, shape (...)
        As for `to_saturated_extract`.

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
    >>> found = to_pore_water(
    ...     3.5, codes["saturated_media_extract"], 0, total_porosity=0.9, container_capacity=0.7
    ... )
    >>> print(found.value.round(2))
    4.5
    """
    reading, codes, media = _arguments(
        ec, method, medium, total_porosity, container_capacity, water_content
    )
    return _pore(reading, codes, media).interval()


def from_saturated_extract(
    ec: ArrayLike,
    method: ArrayLike,
    medium: ArrayLike,
    *,
    total_porosity: ArrayLike = np.nan,
    container_capacity: ArrayLike = np.nan,
    water_content: ArrayLike = np.nan,
) -> Interval:
    """Give the reading a method would show, from the EC of the saturated extract.

    Central values are the exact inverse of `to_saturated_extract`.

    Parameters
    ----------
    ec : array_like, shape (...)
        EC of the saturated extract at 25 °C [dS/m].
    method, medium, total_porosity, container_capacity, water_content : array_like, shape (...)
        As for `to_saturated_extract`, for the method wanted.

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
    value, codes, media = _arguments(
        ec, method, medium, total_porosity, container_capacity, water_content
    )
    return _reading(_Spread(value, np.zeros_like(value)), codes, media).interval()


def convert(
    ec: ArrayLike,
    method: ArrayLike,
    to: ArrayLike,
    medium: ArrayLike,
    *,
    total_porosity: ArrayLike = np.nan,
    container_capacity: ArrayLike = np.nan,
    water_content: ArrayLike = np.nan,
) -> Interval:
    """Give a reading by one method as another method would show it.

    Parameters
    ----------
    ec : array_like, shape (...)
        Reading at 25 °C [dS/m].
    method, to : array_like of int, shape (...)
        Extraction method of the reading, and the one wanted, as codes [-].
    medium, total_porosity, container_capacity, water_content : array_like, shape (...)
        As for `to_saturated_extract`.

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
    reading, codes, media = _arguments(
        ec, method, medium, total_porosity, container_capacity, water_content
    )
    reading, codes, wanted, *broadcast = np.broadcast_arrays(
        reading, codes, np.asarray(to, dtype=np.int64), *media
    )
    media = _Media(*broadcast)
    between_pore_waters = _is_pore_water(codes) & _is_pore_water(wanted)
    pore = _pore(reading, codes, media)
    saturated = _saturated(reading, codes, media)
    result = _choose(
        between_pore_waters,
        _from_pore(pore, wanted, media),
        _reading(saturated, wanted, media),
    )
    return _choose(codes == wanted, _Spread(reading, np.zeros_like(reading)), result).interval()


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
    >>> conversion = ec_conversions("one_to_two", "soilless")[0]
    >>> print(on_basis([0.8, 1.3], conversion))
    [2.  3.5]
    """
    return _forward(conversion, np.asarray(ec, dtype=np.float64))


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
    ec: ArrayLike, method: ArrayLike, medium: ArrayLike, *water: ArrayLike
) -> tuple[Floats, Codes, _Media]:
    reading = np.asarray(ec, dtype=np.float64)
    codes, kinds = np.asarray(method, dtype=np.int64), np.asarray(medium, dtype=np.int64)
    if np.any(reading < 0.0):
        raise ValueError("an electrical conductivity cannot be negative")
    for name, given, known in (
        ("extraction method", codes, len(extraction_methods())),
        ("kind of medium", kinds, len(MEDIUM_KINDS)),
    ):
        if np.any((given < 0) | (given >= known)):
            raise ValueError(f"unknown code of {name}")
    waters = [np.asarray(each, dtype=np.float64) for each in water]
    reading, codes, kinds, *waters = np.broadcast_arrays(reading, codes, kinds, *waters)
    return reading, codes, _Media(kinds, *waters)


def _saturated(reading: Floats, method: Codes, media: _Media) -> _Spread:
    own = _on_own_basis(reading, method, media)
    pore = _to_container_capacity(own, method, media)
    return _choose(_is_pore_water(method), _diluted(pore, 1.0 / _strengthening(media)), own)


def _pore(reading: Floats, method: Codes, media: _Media) -> _Spread:
    own = _on_own_basis(reading, method, media)
    return _choose(
        _is_pore_water(method),
        _to_container_capacity(own, method, media),
        _diluted(own, _strengthening(media)),
    )


def _reading(saturated: _Spread, method: Codes, media: _Media) -> _Spread:
    direct = _off_basis(saturated, method, media)
    through_pores = _from_pore(_diluted(saturated, _strengthening(media)), method, media)
    return _choose(_is_pore_water(method), through_pores, direct)


def _from_pore(pore: _Spread, method: Codes, media: _Media) -> _Spread:
    at_sensor = _Spread(pore.value / _drying(method, media), pore.variance)
    return _off_basis(at_sensor, method, media)


def _strengthening(media: _Media) -> Floats:
    return dilution_factor(0.0, media.total_porosity, media.container_capacity)


def _diluted(spread: _Spread, factor: Floats) -> _Spread:
    return _Spread(spread.value * factor, spread.variance + DILUTION_SCATTER**2)


def _to_container_capacity(pore: _Spread, method: Codes, media: _Media) -> _Spread:
    return _Spread(pore.value * _drying(method, media), pore.variance)


def _drying(method: Codes, media: _Media) -> Floats:
    """Water content at the time of a sensor reading over container capacity; 1 for the rest."""
    current = media.water_content / media.container_capacity
    is_sensor = method == method_codes()["pore_water_sensor"]
    return np.asarray(np.where(is_sensor & ~np.isnan(media.water_content), current, 1.0))


def _is_pore_water(method: Codes) -> Flags:
    bases = np.array([each.basis == PORE_WATER for each in extraction_methods()])
    return np.asarray(bases[method])


def _choose(condition: Flags, yes: _Spread, no: _Spread) -> _Spread:
    return _Spread(
        np.where(condition, yes.value, no.value), np.where(condition, yes.variance, no.variance)
    )


def _on_own_basis(reading: Floats, method: Codes, media: _Media) -> _Spread:
    start = _Spread(reading, np.zeros(np.shape(reading)))
    return _by_conversion(start, method, media, _forward)


def _off_basis(spread: _Spread, method: Codes, media: _Media) -> _Spread:
    return _by_conversion(spread, method, media, _backward)


def _by_conversion(
    start: _Spread,
    method: Codes,
    media: _Media,
    along: Callable[[EcConversion, Floats], Floats],
) -> _Spread:
    start_value, start_variance, method, medium = np.broadcast_arrays(
        start.value, start.variance, method, media.medium
    )
    value = np.full(start_value.shape, np.nan)
    variance = start_variance.copy()
    for code, kind in set(zip(method.ravel().tolist(), medium.ravel().tolist(), strict=True)):
        here = (method == code) & (medium == kind)
        governing, *others = ec_conversions(extraction_methods()[code].id, MEDIUM_KINDS[kind])
        ec = start_value[here]
        value[here] = along(governing, ec)
        variance[here] += governing.scatter**2
        if others:
            # Along a straight line from zero a ratio is the same however small the reading.
            least = np.maximum(ec, np.finfo(np.float64).tiny ** 0.5)
            central = along(governing, least)
            gaps = [np.square(np.log(along(other, least) / central)) for other in others]
            variance[here] += np.mean(gaps, axis=0)
    return _Spread(value, variance)


def _forward(conversion: EcConversion, ec: Floats) -> Floats:
    given, basis = zip((0.0, 0.0), *conversion.points, strict=True)
    return _piecewise(ec, given, basis)


def _backward(conversion: EcConversion, ec: Floats) -> Floats:
    given, basis = zip((0.0, 0.0), *conversion.points, strict=True)
    return _piecewise(ec, basis, given)


def _piecewise(x: Floats, xs: tuple[float, ...], ys: tuple[float, ...]) -> Floats:
    beyond = x > xs[-1]
    return np.asarray(np.where(beyond, x * (ys[-1] / xs[-1]), np.interp(x, xs, ys)))
