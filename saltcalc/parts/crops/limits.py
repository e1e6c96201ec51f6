"""The published limits of crops as arrays, ready to be held against any number of samples."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from math import isnan, nan

import numpy as np

from saltcalc.data.crop_ph import BASES, ammonium_stood, ph_range
from saltcalc.data.crops import RATINGS, BoronLimit, ChlorideLimit, Crop, Crops
from saltcalc.data.extraction import extraction_methods
from saltcalc.data.low_feeders import light_feeders
from saltcalc.data.nutrients import Own
from saltcalc.science._arrays import Codes, Flags, Floats
from saltcalc.science.crop_limits import CropLimits, Stage, grown_figure, own_figure
from saltcalc.science.crop_response import Rating

_RATING_CODES = {"": Rating.UNRATED, **dict(zip(RATINGS, list(Rating)[1:], strict=True))}


def main_boron(rows: Sequence[BoronLimit]) -> BoronLimit | None:
    """Return the row that warns, so no later trial that found more tolerance.

    A row with a slope goes before one without.
    """
    cautious = [row for row in rows if row.variety != "later trial"] or list(rows)
    return next((row for row in cautious if not isnan(row.slope)), next(iter(cautious), None))


def main_chloride(rows: Sequence[ChlorideLimit]) -> tuple[ChlorideLimit, ...]:
    """Return the row with a yield response, or else every rootstock and cultivar."""
    return tuple(row for row in rows if not isnan(row.slope))[:1] or tuple(rows)


def _limits_of(crop: Crop) -> CropLimits:
    caps = {cap.stage: (cap.ec_low, cap.ec_high) for cap in crop.stage_limits}
    germination, seedling = caps.get("germination", (nan, nan)), caps.get("seedling", (nan, nan))
    chloride = main_chloride(crop.chloride)
    chlorides = [row.threshold for row in chloride]
    boron = main_boron(crop.boron)
    return CropLimits(
        threshold=crop.threshold,
        slope=crop.slope,
        rating=_RATING_CODES[crop.rating],
        light_feeder=crop.id in light_feeders() or not crop.listed,
        appearance_low=crop.appearance_low,
        appearance_high=nan
        if isnan(crop.appearance_low)
        else np.nan_to_num(crop.appearance_high, nan=np.inf),
        emergence_low=crop.emergence.ec50_emergence_low if crop.emergence else nan,
        emergence_high=crop.emergence.ec50_emergence_high if crop.emergence else nan,
        germination_cap_low=germination[0],
        germination_cap_high=germination[1],
        seedling_cap_low=seedling[0],
        seedling_cap_high=seedling[1],
        chloride_low=min(chlorides, default=nan),
        chloride_high=max(chlorides, default=nan),
        chloride_slope=chloride[0].slope if chloride else nan,
        boron_low=(boron.threshold_high if isnan(boron.threshold_low) else boron.threshold_low)
        if boron
        else nan,
        boron_high=max((row.threshold_high for row in crop.boron), default=nan),
        boron_slope=boron.slope if boron else nan,
        esp_limit=crop.sodium.esp_limit if crop.sodium else nan,
        ammonium_stood=ammonium_stood(crop.id),
    )


def crop_limits(crops: Sequence[Crop]) -> CropLimits:
    """Gather the limits of crops into arrays.

    Parameters
    ----------
    crops : sequence of Crop
        Crops of the catalogue.

    Returns
    -------
    CropLimits
        Every field an array of shape (crops,).
    """
    rows = [vars(_limits_of(crop)) for crop in crops]
    columns = {name: np.array([row[name] for row in rows]) for name in vars(CropLimits())}
    return CropLimits(**columns)


@lru_cache(maxsize=4)
def _ph_ranges(catalogue: Crops, own: Own) -> Floats:
    """Return the ends of the ranges of pH, of shape (ends, methods, kinds of medium, crops)."""
    first = len(catalogue.known or ())
    ranges = [
        [
            [ph_range(crop.id, method.id, basis, own) for crop in catalogue[first:]]
            for basis in BASES
        ]
        for method in extraction_methods()
    ]
    ends = np.array(
        [
            [[[getattr(each, end, nan) for each in row] for row in kinds] for kinds in ranges]
            for end in ("low", "high")
        ]
    )
    if catalogue.known is None:
        return ends
    return np.concatenate([_ph_ranges(catalogue.known, own), ends], axis=-1)


def with_ph(
    limits: CropLimits,
    catalogue: Crops,
    crops: Codes,
    method: Codes,
    mineral: Flags,
    own: Own,
) -> CropLimits:
    """Return limits of crops with the range of pH of each in its medium.

    Parameters
    ----------
    limits : CropLimits
        Of the crops.
    catalogue : Crops
        The crops, in the order of their codes.
    crops, method : ndarray of int
        Codes of the crops, and of the extraction methods; they broadcast together.
    mineral : ndarray of bool
        Whether the medium is a mineral soil.
    own : tuple of OwnRange
        A laboratory's own ranges.
    """
    low, high = _ph_ranges(catalogue, own)[:, method, mineral.astype(np.intp), crops]
    return replace(limits, ph_low=low, ph_high=high)


@lru_cache(maxsize=4)
def catalogue_limits(catalogue: Crops) -> CropLimits:
    """Return the limits of a whole catalogue, gathered once.

    Parameters
    ----------
    catalogue : Crops
        The crops, in the order of their codes.
    """
    if catalogue.known is None:
        return crop_limits(catalogue)
    known = vars(catalogue_limits(catalogue.known))
    others = vars(crop_limits(catalogue[len(catalogue.known) :]))
    return CropLimits(**{name: np.concatenate([known[name], others[name]]) for name in known})


@lru_cache(maxsize=4)
def grown_figures(catalogue: Crops) -> Floats:
    """Return the EC up to which the grown plants of each crop lose nothing by a figure of its own.

    Parameters
    ----------
    catalogue : Crops
        The crops, in the order of their codes.

    Returns
    -------
    (crops,) ndarray
        EC of the saturated extract [dS/m]; NaN where there is none.
    """
    return grown_figure(catalogue_limits(catalogue))


@lru_cache(maxsize=4)
def most_tolerant(catalogue: Crops) -> tuple[tuple[float, Crop], ...]:
    """Return the crops with a figure of their own and what seedlings stand, the most first."""
    if catalogue.known is not None:
        return most_tolerant(catalogue.known)
    tolerated = own_figure(Stage.SEEDLING, catalogue_limits(catalogue))
    best_first = np.argsort(-np.nan_to_num(tolerated))
    known = best_first[~np.isnan(tolerated[best_first])]
    return tuple((float(tolerated[code]), catalogue[code]) for code in known)


def limits_of(catalogue: Crops, codes: Codes) -> CropLimits:
    """Return the limits of crops by their codes.

    Parameters
    ----------
    catalogue : Crops
        The crops, in the order of their codes.
    codes : (k,) ndarray of int
        Places in ``catalogue``.

    Returns
    -------
    CropLimits
        Every field an array of shape (k,).
    """
    figures, ratings = _as_rows(catalogue)
    return CropLimits(**dict(zip(_FIGURES, figures[:, codes], strict=True)), rating=ratings[codes])


_FIGURES = tuple(name for name in vars(CropLimits()) if name != "rating")


@lru_cache(maxsize=4)
def _as_rows(catalogue: Crops) -> tuple[Floats, Codes]:
    """Return every figure of a catalogue, of shape (figures, crops), and the ratings."""
    columns = vars(catalogue_limits(catalogue))
    return np.array([columns[name] for name in _FIGURES]), np.asarray(columns["rating"])
