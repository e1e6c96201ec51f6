"""What crops are judged by, what their roots meet, and the verdicts: the arrays, and their codes.

All EC here is the EC of the saturated extract at 25 °C [dS/m] unless said otherwise; a missing
figure is NaN.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import IntEnum

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Codes, Floats
from saltcalc.science.crop_response import Rating

SCATTER = 1.1
"""Times a limit up to which a reading is not surely above it: samples scatter (judgement)."""


class Stage(IntEnum):
    """Age of the plant."""

    GERMINATION = 0
    SEEDLING = 1
    ESTABLISHED = 2


GERMINATION, SEEDLING, ESTABLISHED = (int(stage) for stage in Stage)
"""The codes of the stages as plain numbers, which arrays are compared with faster."""


class Verdict(IntEnum):
    """How the crop fares; a higher code is worse, and CANNOT_TELL never wins over a finding."""

    CANNOT_TELL = -1
    TOLERATES = 0
    CAUTION = 1
    REDUCED = 2
    FAILS = 3


class Limit(IntEnum):
    """Which limit a verdict rests on. The order settles ties: the earlier one governs."""

    NONE = -1
    YIELD = 0
    EMERGENCE = 1
    STAGE_CAP = 2
    CONTAINER = 3
    RATING = 4
    APPEARANCE = 5
    CHLORIDE = 6
    BORON = 7
    SODIUM = 8
    AMMONIUM = 9
    NITROGEN = 10
    PH = 11


OF_EC = (
    Limit.YIELD,
    Limit.EMERGENCE,
    Limit.STAGE_CAP,
    Limit.CONTAINER,
    Limit.RATING,
    Limit.APPEARANCE,
)
"""Limits of the EC."""

OF_FEEDING = (Limit.AMMONIUM, Limit.NITROGEN, Limit.PH)
"""Limits of what the medium feeds and of its pH, which are put right and not flushed away."""


@dataclass(frozen=True, kw_only=True)
class CropLimits:
    """Published limits of crops as arrays that broadcast together; NaN where none is published.

    Attributes
    ----------
    threshold, slope : array_like
        Yield response [dS/m], [% per dS/m].
    rating : array_like of int
        `Rating` codes.
    light_feeder : array_like of bool
        Whether it is a light feeder, which salt touches first among pot plants.
    appearance_low, appearance_high : array_like
        Highest EC at which an ornamental looks acceptable, as a range [dS/m].
    emergence_low, emergence_high : array_like
        EC that halves emergence, as a range [dS/m].
    germination_cap_low, germination_cap_high, seedling_cap_low, seedling_cap_high : array_like
        The most EC advised for this crop at that stage, as a range [dS/m].
    chloride_low, chloride_high, chloride_slope : array_like
        Chloride of the saturated extract, as a range over rootstocks [mmol/L], [% per mmol/L]; no
        slope: a limit of injury.
    boron_low, boron_high, boron_slope : array_like
        Boron of the pore water, as a range [mg/L], [% per mg/L]; no slope: a limit of injury.
    esp_limit : array_like
        Exchangeable sodium percentage up to which the crop grows well [%].
    ammonium_stood : array_like
        Ammonium nitrogen that the crop is known to stand, as saturated extract [mg/L].
    ph_low, ph_high : array_like
        Range of pH, of the crop or of all crops [-].
    """

    threshold: npt.ArrayLike = np.nan
    slope: npt.ArrayLike = np.nan
    rating: npt.ArrayLike = Rating.UNRATED
    light_feeder: npt.ArrayLike = False
    appearance_low: npt.ArrayLike = np.nan
    appearance_high: npt.ArrayLike = np.nan
    emergence_low: npt.ArrayLike = np.nan
    emergence_high: npt.ArrayLike = np.nan
    germination_cap_low: npt.ArrayLike = np.nan
    germination_cap_high: npt.ArrayLike = np.nan
    seedling_cap_low: npt.ArrayLike = np.nan
    seedling_cap_high: npt.ArrayLike = np.nan
    chloride_low: npt.ArrayLike = np.nan
    chloride_high: npt.ArrayLike = np.nan
    chloride_slope: npt.ArrayLike = np.nan
    boron_low: npt.ArrayLike = np.nan
    boron_high: npt.ArrayLike = np.nan
    boron_slope: npt.ArrayLike = np.nan
    esp_limit: npt.ArrayLike = np.nan
    ammonium_stood: npt.ArrayLike = np.nan
    ph_low: npt.ArrayLike = np.nan
    ph_high: npt.ArrayLike = np.nan


@dataclass(frozen=True, kw_only=True)
class RootZone:
    """What the roots meet, each figure with its low and high end; NaN where not known.

    Attributes
    ----------
    ec_low, ec, ec_high : array_like
        EC of the saturated extract [dS/m].
    reading_low, reading, reading_high : array_like
        EC on the extraction method of the container limits [dS/m].
    suits, injures : array_like
        Container limits of the stage on that method [dS/m].
    sensitive : array_like
        What suits salt-sensitive pot plants on that method [dS/m].
    chloride : array_like
        Chloride of the saturated extract [mmol/L].
    boron : array_like
        Boron of the pore water [mg/L].
    esp : array_like
        Exchangeable sodium percentage [%].
    ammonium_low, ammonium, ammonium_high : array_like
        Ammonium nitrogen of the saturated extract [mg/L].
    nitrogen_low, nitrogen, nitrogen_high : array_like
        Mineral nitrogen of the saturated extract [mg/L]; NaN where a slow release feeds too.
    most_ammonium, least_nitrogen : array_like
        Ends of their published ranges [mg/L].
    ph : array_like
        Of the medium [-].
    mineral : array_like of bool
        Whether the medium is a mineral soil.
    """

    ec_low: npt.ArrayLike
    ec: npt.ArrayLike
    ec_high: npt.ArrayLike
    reading_low: npt.ArrayLike = np.nan
    reading: npt.ArrayLike = np.nan
    reading_high: npt.ArrayLike = np.nan
    suits: npt.ArrayLike = np.nan
    injures: npt.ArrayLike = np.nan
    sensitive: npt.ArrayLike = np.nan
    chloride: npt.ArrayLike = np.nan
    boron: npt.ArrayLike = np.nan
    esp: npt.ArrayLike = np.nan
    ammonium_low: npt.ArrayLike = np.nan
    ammonium: npt.ArrayLike = np.nan
    ammonium_high: npt.ArrayLike = np.nan
    nitrogen_low: npt.ArrayLike = np.nan
    nitrogen: npt.ArrayLike = np.nan
    nitrogen_high: npt.ArrayLike = np.nan
    most_ammonium: npt.ArrayLike = np.nan
    least_nitrogen: npt.ArrayLike = np.nan
    ph: npt.ArrayLike = np.nan
    mineral: npt.ArrayLike = False


@dataclass(frozen=True)
class CropVerdicts:
    """Verdicts of crops; every array has the shape that the limits and the root zone broadcast to.

    Attributes
    ----------
    verdict, best, worst : ndarray of int8
        `Verdict` codes at the middle, the kind and the harsh end of what is uncertain.
    governing : ndarray of int8
        `Limit` code that the middle verdict rests on.
    by_limit : ndarray of int8, shape (limits, ...)
        The middle verdict of each `Limit` alone.
    response, response_low, response_high : ndarray
        Relative yield [%], from threshold and slope, or between the lines of the rating.
    emergence, emergence_low, emergence_high : ndarray
        Emergence [%] from its half-value.
    """

    verdict: Codes
    best: Codes
    worst: Codes
    governing: Codes
    by_limit: Codes
    response: Floats
    response_low: Floats
    response_high: Floats
    emergence: Floats
    emergence_low: Floats
    emergence_high: Floats


def own_figure(stage: npt.ArrayLike, limits: CropLimits) -> Floats:
    """EC up to which nothing is published to be lost by a crop at a stage.

    The crop's own figure for the stage, else the threshold of the grown plant, else the highest EC
    at which an ornamental looks well; the least of them, as a young plant is no hardier than the
    grown one.

    Parameters
    ----------
    stage : array_like of int
        `Stage` codes.
    limits : CropLimits
        Published limits.

    Returns
    -------
    ndarray
        EC of the saturated extract [dS/m]; NaN where the crop has no figure of its own.

    Examples
    --------
    Bean (Maas & Hoffman 1977), and a crop that is only rated.

    >>> print(own_figure(Stage.SEEDLING, CropLimits(threshold=[1.0, np.nan], slope=[19.0, np.nan])))
    [ 1. nan]
    """
    return np.asarray(np.fmin(grown_figure(limits), stage_cap(stage, limits, 0)))


def grown_figure(limits: CropLimits) -> Floats:
    """EC up to which nothing is published to be lost by the grown plants of a crop.

    Parameters
    ----------
    limits : CropLimits
        Published limits.

    Returns
    -------
    ndarray
        EC of the saturated extract [dS/m]; NaN where the crop has no figure of its own.

    Examples
    --------
    An ornamental that looks well up to 2.

    >>> print(grown_figure(CropLimits(appearance_low=2.0)))
    2.0
    """
    answered = np.where(np.isnan(np.asarray(limits.slope, float)), np.nan, limits.threshold)
    return np.asarray(np.fmin(answered, np.asarray(limits.appearance_low, float)))


def stage_cap(stage: npt.ArrayLike, limits: CropLimits, end: int) -> Floats:
    """Most EC advised for a crop at a stage.

    Parameters
    ----------
    stage : array_like of int
        `Stage` codes.
    limits : CropLimits
        Published limits.
    end : int
        0 for the low end of the range, 1 for the high one.

    Returns
    -------
    ndarray
        EC of the saturated extract [dS/m]; NaN where none is advised.

    Examples
    --------
    >>> print(stage_cap(Stage.SEEDLING, CropLimits(seedling_cap_low=3.0), 0))
    3.0
    """
    age = np.asarray(stage, int)
    germination = (limits.germination_cap_low, limits.germination_cap_high)[end]
    seedling = (limits.seedling_cap_low, limits.seedling_cap_high)[end]
    of_seedling = np.where(age == SEEDLING, seedling, np.nan)
    return np.asarray(np.where(age == GERMINATION, germination, of_seedling))


def only_above(verdicts: CropVerdicts, floor: npt.ArrayLike) -> CropVerdicts:
    """Keep of verdicts what holds where the EC is only the least that it can be.

    From a floor it can be told that a limit is passed, never that one is kept.

    Parameters
    ----------
    verdicts : CropVerdicts
        At the floor.
    floor : array_like of bool
        Where the EC is a floor; broadcasts with the verdicts.

    Returns
    -------
    CropVerdicts
        A yield or an emergence of 100 % is left out, a lower one is the most that is left.

    Examples
    --------
    >>> from saltcalc.science.tolerance import judge
    >>> bean = CropLimits(threshold=1.0, slope=19.0)
    >>> zone = RootZone(ec_low=[0.5, 1.5], ec=[0.5, 1.5], ec_high=np.inf)
    >>> found = only_above(judge(Stage.ESTABLISHED, bean, zone), True)
    >>> [Verdict(code).name for code in found.verdict], found.response_low
    (['CANNOT_TELL', 'CANNOT_TELL'], array([nan, nan]))
    """
    open_ = np.asarray(floor, bool)
    if not open_.any():
        return verdicts
    of_ec = np.isin(np.arange(len(Limit) - 1), OF_EC).reshape(-1, *[1] * verdicts.verdict.ndim)
    kept = verdicts.verdict <= Verdict.TOLERATES
    lost = {
        name: np.where(open_ & (getattr(verdicts, f"{name}_high") >= 100.0), np.nan, value)
        for name in ("response", "emergence")
        for value in [getattr(verdicts, name)]
    }
    return replace(
        verdicts,
        verdict=np.where(open_ & kept, Verdict.CANNOT_TELL, verdicts.verdict).astype(np.int8),
        governing=np.where(open_ & kept, Limit.NONE, verdicts.governing).astype(np.int8),
        by_limit=np.where(
            open_ & of_ec & (verdicts.by_limit <= Verdict.TOLERATES),
            Verdict.CANNOT_TELL,
            verdicts.by_limit,
        ).astype(np.int8),
        **lost,
        **{
            f"{name}_low": np.where(open_, np.nan, getattr(verdicts, f"{name}_low"))
            for name in lost
        },
        **{
            f"{name}_high": np.where(
                open_ & np.isnan(middle), np.nan, getattr(verdicts, f"{name}_high")
            )
            for name, middle in lost.items()
        },
    )
