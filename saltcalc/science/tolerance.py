"""What salt does to a crop at a stage: the verdict of every limit, and the order of crops.

All EC here is the EC of the saturated extract at 25 °C [dS/m] unless said otherwise. Every
function broadcasts over samples and crops; a missing figure is NaN and stays NaN.
"""

from __future__ import annotations

from functools import reduce
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Codes, Flags, Floats
from saltcalc.science.crop_limits import (
    OF_EC,
    CropLimits,
    CropVerdicts,
    Limit,
    RootZone,
    Stage,
    Verdict,
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


def _by_response(response: Floats, fails_below: npt.ArrayLike) -> Codes:
    """Verdict codes of a response [%]: tolerant, reduced, fails."""
    codes = np.where(response >= TOLERATES_FROM, Verdict.TOLERATES, Verdict.REDUCED)
    codes = np.where(response < np.asarray(fails_below), Verdict.FAILS, codes)
    return np.where(np.isnan(response), Verdict.CANNOT_TELL, codes).astype(np.int8)


def _by_cap(value: npt.ArrayLike, cap: npt.ArrayLike) -> Codes:
    """Verdict codes of a bare limit: below it the crop is well, above it no response is known."""
    amount, limit = np.asarray(value, float), np.asarray(cap, float)
    codes = np.where(amount > limit, Verdict.REDUCED, Verdict.TOLERATES)
    unknown = np.isnan(amount) | np.isnan(limit)
    return np.where(unknown, Verdict.CANNOT_TELL, codes).astype(np.int8)


def _by_threshold(
    value: npt.ArrayLike, threshold: npt.ArrayLike, slope: npt.ArrayLike, fails_below: npt.ArrayLike
) -> Codes:
    """Verdict codes of an ion: by its response where a slope is published, else as a bare limit."""
    response = relative_yield(value, threshold, slope)
    return np.where(
        np.isnan(response), _by_cap(value, threshold), _by_response(response, fails_below)
    ).astype(np.int8)


def _by_degree(ratio: npt.ArrayLike) -> Codes:
    """Verdict codes of a figure over its limit: above it a caution, above twice it reduced."""
    times = np.asarray(ratio, float)
    codes = np.where(times > FAR_FROM_RANGE, Verdict.REDUCED, Verdict.CAUTION)
    codes = np.where(times > 1.0, codes, Verdict.TOLERATES)
    return np.where(np.isnan(times), Verdict.CANNOT_TELL, codes).astype(np.int8)


def _short(least: npt.ArrayLike, amount: npt.ArrayLike) -> Floats:
    """How many times a figure is short of the least that suits; infinite where there is none."""
    with np.errstate(divide="ignore"):
        return np.asarray(np.asarray(least, float) / np.asarray(amount, float))


def _by_ph(limits: CropLimits, zone: RootZone) -> Codes:
    """Verdict codes of the pH against its range: outside a caution, farther out reduced."""
    ph = np.asarray(zone.ph, float)
    far_above = np.where(np.asarray(zone.mineral), FAR_ABOVE_IN_SOIL, FAR_IN_PH)
    below = np.asarray(limits.ph_low, float) - ph
    above = ph - np.asarray(limits.ph_high, float)
    far = (below > FAR_IN_PH) | (above > far_above)
    codes = np.where(far, Verdict.REDUCED, Verdict.CAUTION)
    codes = np.where((below > 0) | (above > 0), codes, Verdict.TOLERATES)
    unknown = np.isnan(below) & np.isnan(above)
    return np.where(unknown, Verdict.CANNOT_TELL, codes).astype(np.int8)


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
    tolerant or tolerant the limits count one step milder. A crop that is rated sensitive or not
    at all is held to ``sensitive`` once grown. A crop of which nothing is published is never found
    tolerant.

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
        What suits salt-sensitive pot plants on that method [dS/m].

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
    young, code = np.asarray(stage, int) != Stage.ESTABLISHED, np.asarray(rating, int)
    own = np.asarray(measured, bool)
    codes = np.where(amount >= upper, Verdict.FAILS, _by_cap(amount, suits))
    milder = np.where(
        codes == Verdict.FAILS,
        Verdict.REDUCED,
        np.where(young, Verdict.CAUTION, Verdict.TOLERATES),
    )
    hardy = code >= Rating.MODERATELY_TOLERANT
    codes = np.where(hardy & (codes > Verdict.TOLERATES), milder, codes)
    most = np.where(young, Verdict.CAUTION, Verdict.REDUCED)
    codes = np.where(own, np.minimum(codes, most), codes)
    fits = codes == Verdict.TOLERATES
    touched = fits & ~own & (code <= Rating.SENSITIVE) & (amount > np.asarray(sensitive, float))
    codes = np.where(touched, Verdict.CAUTION, codes)
    nothing = ~own & (code == Rating.UNRATED) & (codes <= Verdict.CAUTION)
    return np.where(nothing, Verdict.CANNOT_TELL, codes).astype(np.int8)


def _by_rating(low: Floats, high: Floats, in_container: npt.ArrayLike) -> Codes:
    """Verdict codes of a rating: the two lines that bound its class; it never tells of failing.

    In a container the range of the stage goes before it, and only what both lines say counts.
    """
    open_ = np.where(np.asarray(in_container), Verdict.TOLERATES, Verdict.CAUTION)
    codes = np.where(
        high < TOLERATES_FROM,
        Verdict.REDUCED,
        np.where(low < TOLERATES_FROM, open_, Verdict.TOLERATES),
    )
    return np.where(np.isnan(low), Verdict.CANNOT_TELL, codes).astype(np.int8)


class _End(NamedTuple):
    """The figures that are ranges, each at one end of what is uncertain."""

    ec: npt.ArrayLike
    """EC of the saturated extract [dS/m]."""
    reading: npt.ArrayLike
    """EC on the method of the container limits [dS/m]."""
    emergence: Floats
    """Emergence by its half-value [%]."""
    stage_cap: npt.ArrayLike
    """Most EC advised for the crop at the stage [dS/m]."""
    look: npt.ArrayLike
    """Highest EC at which an ornamental looks acceptable [dS/m]."""
    chloride: npt.ArrayLike
    """Threshold of chloride [mmol/L]."""
    boron: npt.ArrayLike
    """Threshold of boron [mg/L]."""
    ammonium: npt.ArrayLike
    """Ammonium nitrogen [mg/L]."""
    nitrogen: npt.ArrayLike
    """Mineral nitrogen [mg/L]."""


def _together(shape: tuple[int, ...], *ends: _End) -> _End:
    """Figures at several ends, along a first axis before those of a shape."""
    figures = np.empty((len(_End._fields), len(ends), *shape))
    for place, end in enumerate(ends):
        for field, part in enumerate(end):
            figures[field, place] = part
    return _End(*figures)


def _limit_codes(stage: npt.ArrayLike, limits: CropLimits, zone: RootZone, end: _End) -> Codes:
    """Verdict codes of each `Limit` at the ends of what is uncertain, shape (limits, ends, ...)."""
    age = np.asarray(stage, int)
    germinating, young = age == Stage.GERMINATION, age != Stage.ESTABLISHED
    fails_below = np.where(young, FAILS_BELOW_SEEDLING, FAILS_BELOW_ESTABLISHED)
    unknown = Verdict.CANNOT_TELL
    response = relative_yield(end.ec, limits.threshold, limits.slope)
    by_yield = _by_response(response, fails_below)
    touched = young & (response < 100.0)
    by_yield = np.where(touched, np.maximum(by_yield, Verdict.REDUCED), by_yield)
    by_emergence = np.where(
        germinating, _by_response(end.emergence, FAILS_BELOW_EMERGENCE), unknown
    )
    measured = ~np.isnan(own_figure(stage, limits))
    in_container = ~np.isnan(np.asarray(zone.suits, float))
    rated = _by_rating(*rated_yield(end.ec, limits.rating), in_container)
    return np.stack(
        np.broadcast_arrays(
            by_yield,
            by_emergence,
            _by_cap(end.ec, end.stage_cap),
            container_verdict(
                stage,
                end.reading,
                zone.suits,
                zone.injures,
                limits.rating,
                measured,
                zone.sensitive,
            ),
            np.where(measured, unknown, rated),
            _by_cap(end.ec, end.look),
            _by_threshold(zone.chloride, end.chloride, limits.chloride_slope, fails_below),
            _by_threshold(zone.boron, end.boron, limits.boron_slope, fails_below),
            _by_cap(zone.esp, limits.esp_limit),
            _by_degree(
                np.asarray(end.ammonium, float)
                / np.fmax(np.asarray(zone.most_ammonium, float), limits.ammonium_stood)
            ),
            _by_degree(np.where(germinating, np.nan, _short(zone.least_nitrogen, end.nitrogen))),
            _by_ph(limits, zone),
        )
    ).astype(np.int8)


def _overall(codes: Codes, counts: Flags) -> Codes:
    """Worst of the limits that count; what no limit of the EC speaks of is not found tolerant."""
    worst = codes[counts].max(axis=0)
    silent = (codes[[each for each in OF_EC if counts[each]]] == Verdict.CANNOT_TELL).all(axis=0)
    return np.where(silent & (worst == Verdict.TOLERATES), Verdict.CANNOT_TELL, worst).astype(
        np.int8
    )


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

    >>> bean = CropLimits(threshold=1.0, slope=19.0, rating=Rating.SENSITIVE)
    >>> zone = RootZone(ec_low=[1.0, 3.0], ec=[1.2, 3.5], ec_high=[1.4, 4.0])
    >>> found = judge(Stage.SEEDLING, bean, zone)
    >>> [Verdict(code).name for code in found.verdict], Limit(found.governing[1]).name
    (['REDUCED', 'FAILS'], 'YIELD')
    """
    rated_low, _ = rated_yield(zone.ec_high, limits.rating)
    _, rated_high = rated_yield(zone.ec_low, limits.rating)
    rated = np.mean(rated_yield(zone.ec, limits.rating), axis=0)
    low_half = np.asarray(limits.emergence_low, float)
    high_half = np.asarray(limits.emergence_high, float)
    emergence = s_curve_response(zone.ec, (low_half + high_half) / 2)
    emergence_low = s_curve_response(zone.ec_high, low_half)
    emergence_high = s_curve_response(zone.ec_low, high_half)
    strict = _End(
        ec=zone.ec,
        reading=zone.reading,
        emergence=emergence,
        stage_cap=stage_cap(stage, limits, 0),
        look=limits.appearance_low,
        chloride=limits.chloride_low,
        boron=limits.boron_low,
        ammonium=zone.ammonium,
        nitrogen=zone.nitrogen,
    )
    strictest = strict._replace(
        ec=zone.ec_high,
        reading=zone.reading_high,
        emergence=emergence_low,
        ammonium=zone.ammonium_high,
        nitrogen=zone.nitrogen_low,
    )
    mildest = _End(
        ec=zone.ec_low,
        reading=zone.reading_low,
        emergence=emergence_high,
        stage_cap=stage_cap(stage, limits, 1),
        look=limits.appearance_high,
        chloride=limits.chloride_high,
        boron=limits.boron_high,
        ammonium=zone.ammonium_low,
        nitrogen=zone.nitrogen_high,
    )
    known = (stage, *vars(limits).values(), *vars(zone).values())
    shape = np.broadcast_shapes(*map(np.shape, known))
    codes = _limit_codes(stage, limits, zone, _together(shape, strict, strictest, mildest))
    middle, harsh, kind = codes.swapaxes(0, 1)

    counts = np.arange(len(middle)) != Limit.EMERGENCE
    verdict, best, worst = (_overall(each, counts) for each in (middle, kind, harsh))
    first = np.flatnonzero(counts)[middle[counts].argmax(axis=0)]
    governing = np.where(verdict == Verdict.CANNOT_TELL, Limit.NONE, first)
    response = relative_yield(zone.ec, limits.threshold, limits.slope)
    response_low = relative_yield(zone.ec_high, limits.threshold, limits.slope)
    response_high = relative_yield(zone.ec_low, limits.threshold, limits.slope)
    unmeasured = np.isnan(response) & np.isnan(np.asarray(limits.appearance_low, float))
    return CropVerdicts(
        verdict=verdict,
        best=best,
        worst=worst,
        governing=governing.astype(np.int8),
        by_limit=middle,
        response=np.where(unmeasured, rated, response),
        response_low=np.where(unmeasured, rated_low, response_low),
        response_high=np.where(unmeasured, rated_high, response_high),
        emergence=emergence,
        emergence_low=emergence_low,
        emergence_high=emergence_high,
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

    >>> bean = CropLimits(threshold=1.0, slope=19.0, rating=Rating.SENSITIVE)
    >>> print(max_tolerated_ec([Stage.ESTABLISHED, Stage.SEEDLING], bean, np.nan, np.nan).round(1))
    [1.5 1. ]
    """
    young = np.asarray(stage, int) != Stage.ESTABLISHED
    own, rating = own_figure(stage, limits), np.asarray(limits.rating, int)
    grown = np.fmin(
        ec_at_yield(TOLERATES_FROM, limits.threshold, limits.slope),
        np.asarray(limits.appearance_low, float),
    )
    measured = ~np.isnan(own)
    milder = ~young & (rating >= Rating.MODERATELY_TOLERANT)
    weaker = ~young & ~measured & (rating <= Rating.SENSITIVE)
    by_container = np.where(milder, injures, np.where(weaker, np.fmin(suits, sensitive), suits))
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
        -np.nan_to_num(np.broadcast_to(own, unknown.shape), nan=-1.0),
        -np.nan_to_num(np.broadcast_to(highest_tolerated, unknown.shape), nan=-1.0),
        -np.nan_to_num(np.broadcast_to(response, unknown.shape), nan=-1.0),
        verdicts.worst.astype(int),
        np.where(unknown, int(Verdict.FAILS) + 1, verdicts.verdict),
    )
    return np.asarray(np.lexsort(keys, axis=-1))
