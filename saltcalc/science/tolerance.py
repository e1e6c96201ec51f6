"""What salt does to a crop at a stage: the verdict of every limit, and the order of crops.

All EC here is the EC of the saturated extract at 25 °C [dS/m] unless said otherwise. Every
function broadcasts over samples and crops; a missing figure is NaN and stays NaN.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import reduce
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Codes, Floats, filled, in_shape, one_shape
from saltcalc.science.crop_limits import (
    ESTABLISHED,
    GERMINATION,
    OF_EC,
    CropLimits,
    CropVerdicts,
    Limit,
    RootZone,
    Verdict,
    grown_figure,
    own_figure,
    stage_cap,
)
from saltcalc.science.crop_response import (
    Rating,
    ec_at_rated_yield,
    ec_at_yield,
    rated_yield,
    relative_yield,
    s_curve_response,
)

# A grown plant tolerates the salt while it loses no more than a tenth (so the USDA Plants Database
# defines tolerance), and fails once it loses half, the loss by which Handbook 60 ranks crops. Those
# trials salinized plants after they were established, so a young plant is taken to tolerate no
# more than the threshold, and to fail from a quarter lost: the next column of FAO 29, Table 4
# (judgement; the seedling is the weaker stage of most crops, Maas 1986).
TOLERATES_FROM = 90.0
FAILS_BELOW_ESTABLISHED = 50.0
FAILS_BELOW_SEEDLING = 75.0
FAILS_BELOW_EMERGENCE = 50.0
# Up to half a unit outside the range of pH is a caution, above that of a mineral soil up to a whole
# one: from there on the pH alone is strong evidence for a cause (judgement).
FAR_IN_PH = 0.5
FAR_ABOVE_IN_SOIL = 1.0
# Up to twice the range of ammonium or down to half of that of nitrogen is a caution: ammonium above
# 20 mg/L, twice the upper end, is called very high (the rest a judgement).
FAR_FROM_RANGE = 2.0

# The codes as they stand in arrays; a member of an Enum is slow to look up and to convert.
CANNOT_TELL, TOLERATES, CAUTION, REDUCED, FAILS = (np.int8(code) for code in Verdict)
_NO_LIMIT = np.int8(Limit.NONE)
_UNRATED, _SENSITIVE, _, _MODERATELY_TOLERANT, _ = (int(rating) for rating in Rating)
_COUNTED = [limit for limit in Limit if limit not in (Limit.NONE, Limit.EMERGENCE)]
_COUNTED_OF_EC = [limit for limit in _COUNTED if limit in OF_EC]
_COUNTED_LIMITS = np.array(_COUNTED, np.int8)


def _by_response(response: Floats, fails_below: Floats | float) -> Codes:
    """Verdict codes of a response [%]: tolerant, reduced, fails."""
    codes = np.where(response >= TOLERATES_FROM, TOLERATES, REDUCED)
    codes = np.where(response < fails_below, FAILS, codes)
    return np.where(np.isnan(response), CANNOT_TELL, codes)


def _by_cap(value: npt.ArrayLike, cap: npt.ArrayLike) -> Codes:
    """Verdict codes of a bare limit: below it the crop is well, above it no response is known."""
    amount, limit = np.asarray(value, float), np.asarray(cap, float)
    below = np.where(amount <= limit, TOLERATES, CANNOT_TELL)
    return np.where(amount > limit, REDUCED, below)


def _by_threshold(
    value: npt.ArrayLike,
    threshold: npt.ArrayLike,
    slope: npt.ArrayLike,
    fails_below: Floats | float,
) -> Codes:
    """Verdict codes of an ion: by its response where a slope is published, else as a bare limit."""
    response = relative_yield(value, threshold, slope)
    by_response = _by_response(response, fails_below)
    return np.where(np.isnan(response), _by_cap(value, threshold), by_response)


def _by_degree(ratio: npt.ArrayLike) -> Codes:
    """Verdict codes of a figure over its limit: above it a caution, above twice it reduced."""
    times = np.asarray(ratio, float)
    codes = np.where(times > FAR_FROM_RANGE, REDUCED, CAUTION)
    codes = np.where(times > 1.0, codes, TOLERATES)
    return np.where(np.isnan(times), CANNOT_TELL, codes)


def _short(least: npt.ArrayLike, amount: npt.ArrayLike) -> Floats:
    """How many times a figure is short of the least that suits; infinite where there is none."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.asarray(least, float) / np.asarray(amount, float))


def _by_ph(limits: CropLimits, zone: RootZone) -> Codes:
    """Verdict codes of the pH against its range: outside a caution, farther out reduced."""
    ph = np.asarray(zone.ph, float)
    far_above = np.where(zone.mineral, FAR_ABOVE_IN_SOIL, FAR_IN_PH)
    below = np.asarray(limits.ph_low, float) - ph
    above = ph - np.asarray(limits.ph_high, float)
    far = (below > FAR_IN_PH) | (above > far_above)
    codes = np.where(far, REDUCED, CAUTION)
    codes = np.where((below > 0) | (above > 0), codes, TOLERATES)
    return np.where(np.isnan(below) & np.isnan(above), CANNOT_TELL, codes)


def container_verdict(
    stage: npt.ArrayLike,
    reading: npt.ArrayLike,
    suits: npt.ArrayLike,
    injures: npt.ArrayLike,
    rating: npt.ArrayLike,
    measured: npt.ArrayLike = False,
    sensitive: npt.ArrayLike = np.nan,
) -> Codes:
    """Verdict of the limits for container media, which are drawn up for mixed plants.

    Up to ``suits`` the crop tolerates it, above it is reduced, from ``injures`` on it fails. The
    published classes speak of most crops and of salt-sensitive ones, so judgements go with them.
    A young crop with a figure of its own is held to that one, and the range of its stage is a
    caution; a grown one with a figure is at most told to be held back. For crops rated moderately
    tolerant or tolerant the limits count one step milder. A crop that is rated sensitive or is a
    light feeder is held to ``sensitive`` once grown. A crop of which nothing is published is never
    found tolerant.

    Parameters
    ----------
    stage : array_like of int
        `Stage` codes.
    reading : array_like
        EC on the method of the limits [dS/m].
    suits, injures : array_like
        Limits of the stage on that method [dS/m].
    rating : array_like of int
        `Rating` codes.
    measured : array_like of bool, optional
        Whether the crop has a figure of its own.
    sensitive : array_like, optional
        What suits salt-sensitive pot plants on that method [dS/m]; NaN for a crop that is none.

    Returns
    -------
    ndarray of int8
        `Verdict` codes.

    Examples
    --------
    >>> found = container_verdict(1, [1.5, 2.5, 6.0], 2.0, 6.0, Rating.MODERATELY_SENSITIVE)
    >>> [Verdict(code).name for code in found]
    ['TOLERATES', 'REDUCED', 'FAILS']
    """
    amount, upper = np.asarray(reading, float), np.asarray(injures, float)
    young, code = np.asarray(stage, int) != ESTABLISHED, np.asarray(rating, int)
    own = np.asarray(measured, bool)
    codes = np.where(amount >= upper, FAILS, _by_cap(amount, suits))
    milder = np.where(codes == FAILS, REDUCED, np.where(young, CAUTION, TOLERATES))
    hardy = code >= _MODERATELY_TOLERANT
    codes = np.where(hardy & (codes > TOLERATES), milder, codes)
    most = np.where(young, CAUTION, REDUCED)
    codes = np.where(own, np.minimum(codes, most), codes)
    touched = (codes == TOLERATES) & ~own & (code <= _SENSITIVE) & (amount > sensitive)
    codes = np.where(touched, CAUTION, codes)
    nothing = ~own & (code == _UNRATED) & (codes <= CAUTION)
    return np.where(nothing, CANNOT_TELL, codes)


def _for_sensitive(limits: CropLimits, sensitive: npt.ArrayLike) -> Floats:
    """Limit of salt-sensitive pot plants for crops that are such; NaN for others [dS/m]."""
    held = (np.asarray(limits.rating, int) == _SENSITIVE) | np.asarray(limits.light_feeder, bool)
    return np.where(held, sensitive, np.nan)


def _by_rating(low: Floats, high: Floats, in_container: npt.ArrayLike) -> Codes:
    """Verdict codes of a rating: the two lines that bound its class; it never tells of failing.

    In a container the range of the stage goes before it, and only what both lines say counts.
    """
    open_ = np.where(in_container, TOLERATES, CAUTION)
    mild = np.where(low < TOLERATES_FROM, open_, TOLERATES)
    codes = np.where(high < TOLERATES_FROM, REDUCED, mild)
    return np.where(np.isnan(low), CANNOT_TELL, codes)


def _if_known(figure: npt.ArrayLike, judge_it: Callable[[], Codes]) -> Codes | np.int8:
    """Verdict codes of a figure; none can be told, nor need be worked out, where it is nowhere."""
    return CANNOT_TELL if np.isnan(figure).all() else judge_it()


class _Ends(NamedTuple):
    """The figures that are ranges at the ends of what is uncertain, along a first axis of each.

    In the middle, but with the low end of published ranges; at the harsh end; at the kind end.
    """

    ec: Floats
    """EC of the saturated extract [dS/m]."""
    reading: Floats
    """EC on the method of the container limits [dS/m]."""
    half: Floats
    """EC that halves emergence [dS/m]; the middle of its range first."""
    stage_cap: Floats
    """Most EC advised for the crop at the stage [dS/m]."""
    look: Floats
    """Highest EC at which an ornamental looks acceptable [dS/m]."""
    chloride: Floats
    """Threshold of chloride [mmol/L]."""
    boron: Floats
    """Threshold of boron [mg/L]."""
    ammonium: Floats
    """Ammonium nitrogen [mg/L]."""
    nitrogen: Floats
    """Mineral nitrogen [mg/L]."""

    @classmethod
    def of(
        cls, stage: npt.ArrayLike, limits: CropLimits, zone: RootZone, shape: tuple[int, ...]
    ) -> _Ends:
        """Lay the figures out, each of shape (3, *shape)."""
        least, most = stage_cap(stage, limits, 0), stage_cap(stage, limits, 1)
        half, half_high = (
            np.asarray(end, float) for end in (limits.emergence_low, limits.emergence_high)
        )
        ends = (
            (zone.ec, zone.ec_high, zone.ec_low),
            (zone.reading, zone.reading_high, zone.reading_low),
            ((half + half_high) / 2, half, half_high),
            (least, least, most),
            (limits.appearance_low, limits.appearance_low, limits.appearance_high),
            (limits.chloride_low, limits.chloride_low, limits.chloride_high),
            (limits.boron_low, limits.boron_low, limits.boron_high),
            (zone.ammonium, zone.ammonium_high, zone.ammonium_low),
            (zone.nitrogen, zone.nitrogen_low, zone.nitrogen_high),
        )
        figures = np.empty((len(ends), 3, *shape))
        for figure, parts in zip(figures, ends, strict=True):
            for place, part in enumerate(parts):
                figure[place] = part
        return cls(*figures)


class _Responses(NamedTuple):
    """What is left [%] at the ends of what is uncertain, as :class:`_Ends` has them."""

    crop: Floats
    """Yield by threshold and slope."""
    rated_low: Floats
    rated_high: Floats
    """Yield on the two lines of the rating."""
    emergence: Floats
    """Emergence by its half-value."""


def _limit_codes(
    stage: npt.ArrayLike, limits: CropLimits, zone: RootZone, end: _Ends, left: _Responses
) -> Codes:
    """Verdict codes of each `Limit` at the ends of what is uncertain, shape (limits, ends, ...)."""
    age = np.asarray(stage, int)
    germinating, young = age == GERMINATION, age != ESTABLISHED
    fails_below = np.where(young, FAILS_BELOW_SEEDLING, FAILS_BELOW_ESTABLISHED)
    by_yield = _by_response(left.crop, fails_below)
    touched = young & (left.crop < 100.0)
    by_emergence = _by_response(left.emergence, FAILS_BELOW_EMERGENCE)
    measured = ~np.isnan(np.fmin(grown_figure(limits), end.stage_cap[0]))
    in_container = ~np.isnan(np.asarray(zone.suits, float))
    rated = _by_rating(left.rated_low, left.rated_high, in_container)
    in_vessel = container_verdict(
        stage,
        end.reading,
        zone.suits,
        zone.injures,
        limits.rating,
        measured,
        _for_sensitive(limits, zone.sensitive),
    )

    def by_ammonium() -> Codes:
        most = np.fmax(np.asarray(zone.most_ammonium, float), limits.ammonium_stood)
        return _by_degree(end.ammonium / most)

    def by_nitrogen() -> Codes:
        short = _short(zone.least_nitrogen, end.nitrogen)
        return _by_degree(np.where(germinating, np.nan, short))

    def by_ion(amount: npt.ArrayLike, threshold: Floats, slope: npt.ArrayLike) -> Codes:
        return _by_threshold(amount, threshold, slope, fails_below)

    by_limit = (
        np.where(touched, np.maximum(by_yield, REDUCED), by_yield),
        np.where(germinating, by_emergence, CANNOT_TELL),
        _by_cap(end.ec, end.stage_cap),
        in_vessel,
        np.where(measured, CANNOT_TELL, rated),
        _by_cap(end.ec, end.look),
        _if_known(
            zone.chloride, lambda: by_ion(zone.chloride, end.chloride, limits.chloride_slope)
        ),
        _if_known(zone.boron, lambda: by_ion(zone.boron, end.boron, limits.boron_slope)),
        _if_known(zone.esp, lambda: _by_cap(zone.esp, limits.esp_limit)),
        _if_known(end.ammonium, by_ammonium),
        _if_known(end.nitrogen, by_nitrogen),
        _if_known(zone.ph, lambda: _by_ph(limits, zone)),
    )
    codes = np.empty((len(by_limit), *end.ec.shape), np.int8)
    for place, found in enumerate(by_limit):
        codes[place] = found
    return codes


def _overall(codes: Codes) -> Codes:
    """Worst of the limits that count; what no limit of the EC speaks of is not found tolerant."""
    worst = codes[_COUNTED].max(axis=0)
    silent = (codes[_COUNTED_OF_EC] == CANNOT_TELL).all(axis=0)
    return np.where(silent & (worst == TOLERATES), CANNOT_TELL, worst)


def judge(stage: npt.ArrayLike, limits: CropLimits, zone: RootZone) -> CropVerdicts:
    """Hold what the roots meet against every published limit of a crop at a stage.

    Each limit gives a verdict of its own and the worst of them governs; none is averaged away.
    Above the threshold of the grown plant a young one is held back at the least, and between the
    range of its stage and its own higher figure there is a caution. Emergence, of which only the
    half-value is published, is told and governs nothing. A rating counts only where the crop has no
    figure. Of a crop with neither, nothing mild is said. The best and the worst verdict take the
    ends of the EC and of each published range.

    Parameters
    ----------
    stage : array_like of int
        `Stage` codes.
    limits : CropLimits
        Published limits, for instance with shape (crops,).
    zone : RootZone
        EC and ions, for instance with shape (samples, 1).

    Returns
    -------
    CropVerdicts
        For instance with shape (samples, crops).

    References
    ----------
    .. [1] Maas, E.V. & Hoffman, G.J. (1977). Crop salt tolerance: current assessment.
       J. Irrig. Drain. Div. ASCE 103(IR2):115-134.
    .. [2] Maas, E.V. (1986). Salt tolerance of plants. Applied Agricultural Research 1:12-26.
    .. [3] University of Massachusetts Extension. Greenhouse media soil-test fact sheet, Table 2.

    Examples
    --------
    Bean seedlings (threshold 1.0 dS/m, 19 % per dS/m; Maas & Hoffman 1977) at two EC.

    >>> from saltcalc.science.crop_limits import Stage
    >>> bean = CropLimits(threshold=1.0, slope=19.0, rating=Rating.SENSITIVE)
    >>> zone = RootZone(ec_low=[1.0, 3.0], ec=[1.2, 3.5], ec_high=[1.4, 4.0])
    >>> found = judge(Stage.SEEDLING, bean, zone)
    >>> [Verdict(code).name for code in found.verdict], Limit(found.governing[1]).name
    (['REDUCED', 'FAILS'], 'YIELD')
    """
    known = (stage, *vars(limits).values(), *vars(zone).values())
    shape = one_shape(*known)
    end = _Ends.of(stage, limits, zone, shape)
    left = _Responses(
        relative_yield(end.ec, limits.threshold, limits.slope),
        *rated_yield(end.ec, limits.rating),
        s_curve_response(end.ec, end.half),
    )
    codes = _limit_codes(stage, limits, zone, end, left)
    middle = codes[:, 0]
    verdict, worst, best = _overall(codes)
    first = _COUNTED_LIMITS[middle[_COUNTED].argmax(axis=0)]
    unmeasured = np.isnan(left.crop[0]) & np.isnan(np.asarray(limits.appearance_low, float))
    rated = (left.rated_low[0] + left.rated_high[0]) / 2, left.rated_low[1], left.rated_high[2]
    response, response_low, response_high = (
        np.where(unmeasured, by_rating, own)
        for by_rating, own in zip(rated, left.crop, strict=True)
    )
    return CropVerdicts(
        verdict=verdict,
        best=best,
        worst=worst,
        governing=np.where(verdict == CANNOT_TELL, _NO_LIMIT, first),
        by_limit=middle,
        response=response,
        response_low=response_low,
        response_high=response_high,
        emergence=left.emergence[0],
        emergence_low=left.emergence[1],
        emergence_high=left.emergence[2],
    )


def max_tolerated_ec(
    stage: npt.ArrayLike,
    limits: CropLimits,
    suits: npt.ArrayLike,
    injures: npt.ArrayLike,
    sensitive: npt.ArrayLike = np.nan,
) -> Floats:
    """Highest EC at which a crop still tolerates it at a stage: the least of its limits.

    Parameters
    ----------
    stage : array_like of int
        `Stage` codes.
    limits : CropLimits
        Published limits.
    suits, injures, sensitive : array_like
        Container limits, read on the saturated extract, as in `container_verdict` [dS/m].

    Returns
    -------
    ndarray
        EC of the saturated extract [dS/m]; NaN where no limit is published. Chloride, boron and
        sodium are left out, as they do not follow the EC.

    Examples
    --------
    Bean, up to a loss of a tenth: FAO 29, Table 4 prints 1.5. As a seedling, up to its threshold.

    >>> from saltcalc.science.crop_limits import Stage
    >>> bean = CropLimits(threshold=1.0, slope=19.0, rating=Rating.SENSITIVE)
    >>> print(max_tolerated_ec([Stage.ESTABLISHED, Stage.SEEDLING], bean, np.nan, np.nan).round(1))
    [1.5 1. ]
    """
    young = np.asarray(stage, int) != ESTABLISHED
    own, rating = own_figure(stage, limits), np.asarray(limits.rating, int)
    grown = np.fmin(
        ec_at_yield(TOLERATES_FROM, limits.threshold, limits.slope),
        np.asarray(limits.appearance_low, float),
    )
    measured = ~np.isnan(own)
    milder = ~young & (rating >= _MODERATELY_TOLERANT)
    weaker = ~young & ~measured & (rating <= _SENSITIVE)
    touched = np.fmin(suits, _for_sensitive(limits, sensitive))
    by_container = np.where(milder, injures, np.where(weaker, touched, suits))
    lower, upper = ec_at_rated_yield(TOLERATES_FROM, limits.rating)
    by_rating = np.where(np.isnan(np.asarray(suits, float)), lower, upper)
    bounds = (
        np.where(young, own, grown),
        by_container,
        np.where(measured, np.nan, by_rating),
    )
    return np.asarray(reduce(np.fmin, bounds))


def order_of_tolerance(
    verdicts: CropVerdicts, limits: CropLimits, highest_tolerated: npt.ArrayLike
) -> Codes:
    """Order crops from the most tolerant to those of which nothing is known.

    By the verdict, then by the verdict at the harsh end, then by the yield or emergence, then by
    how high an EC the crop tolerates with all its limits, then by its own yield response alone.

    Parameters
    ----------
    verdicts : CropVerdicts
        Crops along the last axis.
    limits : CropLimits
        Of the crops, shape (crops,).
    highest_tolerated : array_like
        Result of `max_tolerated_ec`, of the same shape [dS/m].

    Returns
    -------
    ndarray of int
        Places of the crops along the last axis, best first.

    Examples
    --------
    Bean, then beet (4.0 dS/m and 9 % per dS/m; Maas & Hoffman 1977), at 3.5 dS/m: beet comes first.

    >>> from saltcalc.science.crop_limits import Stage
    >>> crops = CropLimits(threshold=np.array([1.0, 4.0]), slope=np.array([19.0, 9.0]))
    >>> found = judge(Stage.ESTABLISHED, crops, RootZone(ec_low=3.0, ec=3.5, ec_high=4.0))
    >>> highest = max_tolerated_ec(Stage.ESTABLISHED, crops, np.nan, np.nan)
    >>> print(order_of_tolerance(found, crops, highest))
    [1 0]
    """
    unknown = verdicts.verdict == Verdict.CANNOT_TELL
    response = np.where(np.isnan(verdicts.response), verdicts.emergence, verdicts.response)
    own = ec_at_yield(TOLERATES_FROM, limits.threshold, limits.slope)
    keys = (
        -filled(in_shape(own, unknown.shape), -1.0),
        -filled(in_shape(highest_tolerated, unknown.shape), -1.0),
        -filled(in_shape(response, unknown.shape), -1.0),
        verdicts.worst.astype(int),
        np.where(unknown, int(Verdict.FAILS) + 1, verdicts.verdict),
    )
    return np.asarray(np.lexsort(keys, axis=-1))
