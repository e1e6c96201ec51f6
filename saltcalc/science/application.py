"""A flush in the form of what is at hand: can, hose, dripper, boom over trays, rain.

The litres of a plan are the same by any means; what differs is how they are counted. Slow
application is counted for the time it gives the standing water, which the washout model does by
itself, and not in the share of water that runs past: between 148 and 270 mL a minute no effect was
found on bark (Lamack & Niemiera 1993), and no figure for trickling was.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from saltcalc.science._arrays import Floats, not_negative

HEAVIEST_RAIN = 7.6
"""Rain is counted as falling no slower than this: the most of a moderate rain. [mm/h]

American Meteorological Society, Glossary of Meteorology, "rain": moderate up to 0.76 cm an hour.
"""


class TrayWater(NamedTuple):
    """Water on trays of cells, whole trays and never cells. Arrays of shape (...)."""

    depth: Floats
    """Depth of one pass over the tray, which is the litres on a square metre of bench. [mm]"""
    runs: Floats
    """Runs of the boom that make up one pass, at least 1."""
    litres_a_tray: Floats
    """Water on one tray in one pass. [L]"""


def depth_of(litres: npt.ArrayLike, area: npt.ArrayLike) -> Floats:
    """Depth of water that is so many litres on a surface.

    Parameters
    ----------
    litres : array_like, shape (...)
        Water. [L]
    area : array_like, shape (...)
        Surface it falls on. [cm²]

    Returns
    -------
    ndarray, shape (...)
        Depth. [mm]

    Raises
    ------
    ValueError
        If an argument is negative.

    Examples
    --------
    A cell of 25 mL with 5 cm² of surface that is given a quarter of its volume.

    >>> float(depth_of(0.00625, 5.0))
    12.5
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(1e4 * not_negative(litres, "litres") / not_negative(area, "area"))


def hose_seconds(pass_volume: npt.ArrayLike, flow: npt.ArrayLike) -> Floats:
    """Time to hold a hose on one container for one pass.

    Parameters
    ----------
    pass_volume : array_like, shape (...)
        Water of the pass. [L]
    flow : array_like, shape (...)
        Flow of the hose. [L/min]

    Returns
    -------
    ndarray, shape (...)
        Time. [s]

    Raises
    ------
    ValueError
        If an argument is negative.

    Examples
    --------
    >>> float(hose_seconds(3.33, 10.0).round(0))
    20.0
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        seconds = 60.0 * not_negative(pass_volume, "pass_volume") / not_negative(flow, "flow")
    return np.asarray(seconds)


def dripper_hours(
    litres: npt.ArrayLike, flow: npt.ArrayLike, drippers: npt.ArrayLike = 1
) -> Floats:
    """Time that drippers run for so many litres in one container.

    Parameters
    ----------
    litres : array_like, shape (...)
        Water of the whole flush. [L]
    flow : array_like, shape (...)
        Flow of one dripper. [L/h]
    drippers : array_like, shape (...)
        Drippers in the container.

    Returns
    -------
    ndarray, shape (...)
        Time. [h]

    Raises
    ------
    ValueError
        If an argument is negative.

    Examples
    --------
    >>> float(dripper_hours(36.0, 4.0))
    9.0
    """
    whole = not_negative(flow, "flow") * not_negative(drippers, "drippers")
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(not_negative(litres, "litres") / whole)


def whole_runs(pass_volume: npt.ArrayLike, run_volume: npt.ArrayLike) -> Floats:
    """Water of a pass that is poured in runs of a fixed depth: as many whole ones as it takes.

    Parameters
    ----------
    pass_volume : array_like, shape (...)
        Water that there is room for. [L]
    run_volume : array_like, shape (...)
        Water that one run brings to the container [L]; NaN where water comes in any amount.

    Returns
    -------
    ndarray, shape (...)
        As many runs as there is room for, one at the least. [L]

    Examples
    --------
    >>> print(whole_runs(10.0, [3.0, 25.0, np.nan]))
    [ 9. 25. 10.]
    """
    room, run = np.asarray(pass_volume, dtype=np.float64), np.asarray(run_volume)
    with np.errstate(divide="ignore", invalid="ignore"):
        runs = np.maximum(np.floor(room / run * (1 + 1e-9)), 1.0)
    return np.where(run > 0, runs * run, room)


def tray_water(
    cell_litres: npt.ArrayLike,
    cells: npt.ArrayLike,
    tray_area: npt.ArrayLike,
    run_depth: npt.ArrayLike = np.nan,
) -> TrayWater:
    """Water of one pass over trays: millimetres of a boom, litres a tray and a bench.

    Parameters
    ----------
    cell_litres : array_like, shape (...)
        Water that one cell is to have in a pass. [L]
    cells : array_like, shape (...)
        Cells of a tray.
    tray_area : array_like, shape (...)
        Area of a tray, ribs with it, which overhead water falls on alike. [cm²]
    run_depth : array_like, shape (...)
        Depth that one run of the boom gives [mm]; NaN where it is not known.

    Returns
    -------
    TrayWater

    Raises
    ------
    ValueError
        If an argument is negative.

    Notes
    -----
    Water on the ribs runs into the cells or off; it is counted as running in. Catch what a tray
    gets to see whether it does.

    Examples
    --------
    128 cells of 25 mL on a tray of 54 by 28 cm, a quarter of the volume a pass, 3 mm a run.

    >>> got = tray_water(0.00625, 128, 54 * 28, 3.0)
    >>> float(got.litres_a_tray), float(got.depth.round(1)), float(got.runs)
    (0.8, 5.3, 2.0)
    """
    tray = not_negative(cell_litres, "cell_litres") * not_negative(cells, "cells")
    depth = depth_of(tray, tray_area)
    with np.errstate(divide="ignore", invalid="ignore"):
        runs = np.ceil(depth / not_negative(run_depth, "run_depth") * (1 - 1e-9))
    return TrayWater(depth, np.asarray(np.maximum(runs, 1.0)), np.asarray(tray))
