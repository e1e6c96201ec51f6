"""What a flush starts from and goes to, container by container, with the spread of each figure."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from saltcalc.case.batch import Batch, BoolArray, FloatArray, IntArray
from saltcalc.case.vocabulary import DRAINAGE
from saltcalc.data.extraction import method_codes
from saltcalc.data.observations import observations
from saltcalc.data.substrates import substrates
from saltcalc.data.washout import washout_defaults
from saltcalc.parts.containers import Water
from saltcalc.parts.salinity import SalinityArrays
from saltcalc.science.extraction import (
    from_saturated_extract,
    to_pore_water,
    to_saturated_extract,
)
from saltcalc.science.plan import (
    CEILING_VOLUMES,
    PASS_HOURS,
    Flush,
    UncertainWashout,
    headspace_volume,
)
from saltcalc.science.uncertainty import Interval

DEFAULT_TARGET = 2.0
"""EC of the saturated extract [dS/m] at the top of the class that suits seedlings."""

FARTHEST = 2.0
"""Plans are worked out up to this many times the practical ceiling, to say how far beyond it."""

MOST_PASSES = 240
"""Most passes that are worked out (judgement): about a fortnight of days."""

CAPACITY_SPREAD = 0.10
"""Half-width of the 80 % interval of a capacity from a table, as a share of it (judgement)."""

STATED_CAPACITY_SPREAD = 0.03
"""The same of a measured capacity (judgement)."""

REPELLING_EFFICIENCY = 0.6
"""Efficiency of a medium that repels water, over that of the same medium wetted (judgement)."""

REPELLING_SIGNS = ("repels_water_after_drying", "water_runs_down_the_wall")

GYPSUM_MARGIN = 1.05
"""How far above the plateau that gypsum holds a flush is aimed, as a factor (judgement)."""

_BASIS = "saturated_media_extract"


@dataclass(frozen=True)
class FlushCase:
    """What a flush starts from and goes to, one row a container.

    Attributes
    ----------
    owner : (m,) ndarray of int
        Sample of each container.
    sealed : (m,) ndarray of bool
        Where nothing may be flushed in place.
    volume, area : (m,) ndarray
        Of the medium [L], and of its surface [cm²].
    flush : Flush of (m,) ndarray
        EC of pore water at capacity [dS/m], volumes [L], times [h].
    washout : UncertainWashout of (m,) ndarray
        How the medium lets go of its salt.
    held : Interval of (m,) ndarray
        Water held after drainage [L].
    start : Interval of (m,) ndarray
        EC of the pore water against its target [dS/m].
    conversion : Interval of (m,) ndarray
        Factor on start and target alike, from the conversion to pore water [-].
    target_reading : (m,) ndarray
        The target, by the medium's own extraction method [dS/m].
    target_pore_water : (m,) ndarray
        The target as pore water [dS/m]; ``flush.ec_target`` lies above it where gypsum is there.
    target_extract : (m,) ndarray
        The target as saturated extract [dS/m].
    extract : (m,) ndarray
        The medium now, as saturated extract [dS/m].
    pore_over_reading, pore_over_extract : (m,) ndarray
        Concentration in the pore water over that in the medium's own extract, and over that in the
        saturated extract [-].
    settled_over_reading : (m,) ndarray
        The first of these once the medium is flushed and drained [-].
    gypsum_plateau : (m,) ndarray
        EC that dissolving gypsum holds the pore water at [dS/m]; NaN without gypsum.
    repelling : (m,) ndarray of bool
        Where the medium was seen to repel water.
    """

    owner: IntArray
    sealed: BoolArray
    volume: FloatArray
    area: FloatArray
    flush: Flush
    washout: UncertainWashout
    held: Interval
    start: Interval
    conversion: Interval
    target_reading: FloatArray
    target_pore_water: FloatArray
    target_extract: FloatArray
    extract: FloatArray
    pore_over_reading: FloatArray
    settled_over_reading: FloatArray
    pore_over_extract: FloatArray
    gypsum_plateau: FloatArray
    repelling: BoolArray

    @property
    def practical_water(self) -> FloatArray:
        """Most water that is still practical to pour through each container [L]."""
        return CEILING_VOLUMES * self.volume

    @property
    def gypsum_bound(self) -> BoolArray:
        """Where gypsum holds the medium clearly above its target."""
        return np.asarray(self.gypsum_plateau > GYPSUM_MARGIN * self.target_pore_water)

    @property
    def needed(self) -> BoolArray:
        """Where the medium is above its target."""
        return np.asarray(self.flush.ec_medium) > self.target_pore_water


def flush_case(
    batch: Batch,
    salinity: SalinityArrays,
    water: Water,
    stands_up_to: FloatArray,
    gypsum_plateau: FloatArray,
) -> FlushCase:
    """Gather what a flush starts from and goes to.

    Parameters
    ----------
    batch : Batch
        With its gaps filled.
    salinity : SalinityArrays
        Of its samples.
    water : Water
        Of its containers.
    stands_up_to : (k,) ndarray
        EC of the saturated extract that each planting stands [dS/m].
    gypsum_plateau : (n,) ndarray
        EC that gypsum holds the water in each sample's medium at [dS/m]; NaN without gypsum.
    """
    samples, containers = batch.samples, batch.containers
    owner = containers.sample
    method, kind = samples.extraction[owner], salinity.medium_kind[owner]
    basis = np.full(owner.shape, method_codes()[_BASIS])
    pores = {
        "total_porosity": water.total_porosity,
        "container_capacity": water.container_capacity,
        "water_content": samples.water_content[owner],
    }
    reading = salinity.ec_25c[owner]
    # After a flush the medium holds what it holds after draining, so a sensor reads there.
    drained = pores | {"water_content": np.full(owner.shape, np.nan)}
    extract = to_saturated_extract(reading, method, kind, **pores)
    wanted = target_extracts(batch, stands_up_to)[owner]
    own = samples.target_ec[owner]
    has_own = ~np.isnan(own)
    target_reading = np.where(
        has_own, own, from_saturated_extract(wanted, method, kind, **drained).value
    )
    start = to_pore_water(reading, method, kind, **pores).value
    target = to_pore_water(target_reading, method, kind, **drained)
    from_extract = to_pore_water(wanted, basis, kind, **pores)
    held = containers.volume * water.container_capacity
    area = np.where(
        np.isnan(containers.top_diameter),
        1000.0 * containers.volume / containers.height,
        np.pi / 4 * containers.top_diameter**2,
    )
    each = headspace_volume(containers.volume, area, containers.head_space)
    plateau = gypsum_plateau[owner]
    repelling = _repelling(batch)[owner]
    with np.errstate(divide="ignore", invalid="ignore"):
        pore_over_reading = np.where(reading > 0, start / reading, np.nan)
        settled_over_reading = np.where(
            target_reading > 0, target.value / target_reading, pore_over_reading
        )
        pore_over_extract = np.where(extract.value > 0, start / extract.value, np.nan)
    return FlushCase(
        owner=owner,
        sealed=containers.drainage == DRAINAGE.index("sealed"),
        volume=containers.volume,
        area=area,
        flush=Flush(
            ec_medium=start,
            ec_target=np.fmax(target.value, GYPSUM_MARGIN * plateau),
            ec_water=salinity.water_ec_25c[owner],
            water_held=held,
            deficit=held * (1.0 - containers.moisture),
            pass_volume=each,
            ceiling=np.minimum(FARTHEST * CEILING_VOLUMES * containers.volume, MOST_PASSES * each),
            duration=np.full(owner.shape, PASS_HOURS),
            rest_between=samples.rest[owner],
        ),
        washout=_washout(batch, repelling),
        held=_held(containers.volume, water),
        start=_scaled(start, extract, exact=has_own),
        conversion=_scaled(
            np.ones(owner.shape),
            Interval(
                *(
                    np.where(has_own, mine, other)
                    for mine, other in zip(target, from_extract, strict=True)
                )
            ),
            exact=np.zeros(owner.shape, dtype=bool),
        ),
        target_reading=target_reading,
        target_pore_water=target.value,
        target_extract=to_saturated_extract(target_reading, method, kind, **drained).value,
        extract=extract.value,
        pore_over_reading=pore_over_reading,
        settled_over_reading=settled_over_reading,
        pore_over_extract=pore_over_extract,
        gypsum_plateau=plateau,
        repelling=repelling,
    )


def target_extracts(batch: Batch, stands_up_to: FloatArray) -> FloatArray:
    """EC of the saturated extract that suits the most sensitive planting of each sample [dS/m]."""
    targets = np.full(batch.samples.count, np.inf)
    known = ~np.isnan(stands_up_to)
    np.minimum.at(targets, batch.plantings.sample[known], stands_up_to[known])
    return np.where(np.isinf(targets), DEFAULT_TARGET, targets)


def _scaled(value: FloatArray, interval: Interval, exact: BoolArray) -> Interval:
    """Lend the relative width of an interval to another value."""
    with np.errstate(divide="ignore", invalid="ignore"):
        low, high = interval.low / interval.value, interval.high / interval.value
    plain = exact | np.isnan(low) | np.isnan(high)
    return Interval(value, value * np.where(plain, 1.0, low), value * np.where(plain, 1.0, high))


def _held(volume: FloatArray, water: Water) -> Interval:
    width = np.where(water.stated, STATED_CAPACITY_SPREAD, CAPACITY_SPREAD)
    held = volume * water.container_capacity
    return Interval(
        held,
        held * (1.0 - width),
        np.minimum(held * (1.0 + width), volume * water.total_porosity),
    )


def _washout(batch: Batch, repelling: BoolArray) -> UncertainWashout:
    """Choose the defaults of each container's class of medium; a stated efficiency is exact."""
    owner = batch.containers.sample
    substrate = batch.samples.substrate[owner]
    table = _washout_columns()
    efficiency, immobile, rate, store = (
        Interval(*(figures[substrate] for figures in table[name])) for name in _FIGURES
    )
    factor = np.where(repelling, REPELLING_EFFICIENCY, 1.0)
    stated = batch.samples.leaching_efficiency[owner]
    efficiency = Interval(
        *(np.where(np.isnan(stated), factor * np.asarray(part), stated) for part in efficiency)
    )
    return UncertainWashout(efficiency, immobile, rate, store)


_FIGURES = ("efficiency", "immobile_share", "exchange_rate", "store_ratio")


@cache
def _washout_columns() -> dict[str, tuple[FloatArray, FloatArray, FloatArray]]:
    """Value, low and high of each washout figure, one row a substrate."""
    rows = [washout_defaults()[each.medium_class] for each in substrates().values()]
    return {
        name: (
            np.array([getattr(row, name).value for row in rows]),
            np.array([getattr(row, name).low for row in rows]),
            np.array([getattr(row, name).high for row in rows]),
        )
        for name in _FIGURES
    }


def _repelling(batch: Batch) -> BoolArray:
    signs = [list(observations()).index(sign) for sign in REPELLING_SIGNS]
    return np.asarray(batch.samples.observations[:, signs].any(axis=1))
