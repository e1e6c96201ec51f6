"""What a flush starts from and goes to, container by container, with the spread of each figure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.batch import NOT_GIVEN, Batch, Solutions
from saltcalc.case.vocabulary import BY_HAND, DRAINAGE, MEANS, SALT_PROFILES, WETTING_AGENTS
from saltcalc.data.extraction import method_codes
from saltcalc.data.observations import observations
from saltcalc.data.substrates import substrates
from saltcalc.data.washout import washout_defaults
from saltcalc.data.watering import WETTING_STATES, IntakeRate, intake_rates, wetting_reaches
from saltcalc.parts.containers import Water
from saltcalc.parts.crops.tolerance import EXTRACT
from saltcalc.parts.ions.arrays import gypsum_plateau
from saltcalc.parts.shown import Column
from saltcalc.parts.water import RAIN_EC
from saltcalc.science._arrays import Codes, Flags, Floats, filled
from saltcalc.science.application import HEAVIEST_RAIN, dripper_hours, whole_runs
from saltcalc.science.extraction import from_saturated_extract, to_both_bases, to_pore_water
from saltcalc.science.instruction import (
    METER_ERROR,
    PRACTICAL_VOLUMES,
    SAMPLE_ERROR,
    Reading,
    too_close,
)
from saltcalc.science.pass_days import Timing
from saltcalc.science.plan import Flush, UncertainWashout, headspace_volume
from saltcalc.science.sampled_pots import GATHERED_ON_TOP, NO_PROFILE, Start, Uncertain
from saltcalc.science.schedule import pass_time, rate_from_time, timing_with_rest
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

POUR_THROUGH = "pour_through"

DEFAULT_TARGET = 2.0
"""EC of the saturated extract [dS/m] at the top of the class that suits seedlings."""

MAX_PASSES = 240
"""Most passes that are worked out (judgement): about a fortnight of days."""

CAPACITY_SPREAD = 0.10
"""Half-width of the 80 % interval of a capacity from a table, as a share of it (judgement)."""

STATED_CAPACITY_SPREAD = 0.03
"""The same of a measured capacity (judgement)."""

DRIPPER_FLOW = 4.0
"""Flow of one dripper where it is not given (common practice). [L/h]"""

REPELLING_SYMPTOMS = ("repels_water_after_drying", "water_runs_down_the_wall")

GYPSUM_MARGIN = 1.05
"""How far above the plateau that gypsum holds a flush is aimed, as a factor (judgement)."""

_WASHOUT = ("efficiency", "immobile_water_fraction", "mass_transfer_coefficient", "sorbed_ratio")


_BY_HAND = np.isin(MEANS, BY_HAND)


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
    known : Uncertain of (m,) ndarray
        What is known of the containers, with intervals; its ``ec_medium`` is the EC of the pore
        water against its target, its ``conversion`` the factor on both alike from the conversion
        to pore water.
    reading : Reading of (m,) ndarray
        How a check strays.
    confidence : (m,) ndarray
        Share of such containers to bring to their target [-].
    by : (m,) ndarray of int
        What the water is poured with, as a place in ``MEANS``.
    timing : Timing of (m,) ndarray
        Schedules that follow from what was given; a missing ``duration`` where one is to be chosen.
    target_reading : (m,) ndarray
        The target, by the medium's own extraction method [dS/m].
    target_pore_water : (m,) ndarray
        The target as pore water [dS/m]; ``flush.ec_target`` lies above it where gypsum is there.
    target_extract : (m,) ndarray
        The target as saturated extract [dS/m].
    target_pour_through : (m,) ndarray
        The target, by pour-through [dS/m].
    extract : (m,) ndarray
        The medium now, as saturated extract [dS/m].
    pore_over_reading, pore_over_extract : (m,) ndarray
        Concentration in the pore water over that in the medium's own extract, and over that in the
        saturated extract [-].
    settled_over_reading : (m,) ndarray
        The first of these once the medium is flushed and drained [-].
    limit_pore_water, limit_extract : (m,) ndarray
        What the crops stand in the long run, as pore water and as saturated extract [dS/m]: above
        the target where that is lower for a single ion.
    for_ion : (m,) ndarray of bool
        Where a single ion sets the target.
    other_water : (m,) ndarray of bool
        Where another water than the one that is watered with is poured.
    gypsum_plateau : (m,) ndarray
        EC that dissolving gypsum holds the pore water at [dS/m]; NaN without gypsum.
    repelling : (m,) ndarray of bool
        Where the medium was seen to repel water.
    """

    owner: Codes
    sealed: Flags
    volume: Floats
    area: Floats
    flush: Column
    known: Column
    reading: Column
    confidence: Floats
    by: Codes
    timing: Column
    target_reading: Floats
    target_pore_water: Floats
    target_extract: Floats
    target_pour_through: Floats
    extract: Floats
    pore_over_reading: Floats
    settled_over_reading: Floats
    pore_over_extract: Floats
    limit_pore_water: Floats
    limit_extract: Floats
    for_ion: Flags
    other_water: Flags
    gypsum_plateau: Floats
    repelling: Flags

    @property
    def practical_water(self) -> Floats:
        """Most water that is still practical to pour through each container [L]."""
        return PRACTICAL_VOLUMES * self.volume

    @property
    def gypsum_bound(self) -> Flags:
        """Where gypsum holds the medium clearly above its target."""
        return np.asarray(self.gypsum_plateau > GYPSUM_MARGIN * self.target_pore_water)

    @property
    def by_hand(self) -> Flags:
        """Where a person is needed at every pouring."""
        return np.asarray(_BY_HAND[self.by])

    @property
    def read_by_pour_through(self) -> Flags:
        """Where the medium's own extraction method is the pour-through, or reads as it does."""
        apart = np.abs(self.target_reading - self.target_pour_through)
        return np.asarray(apart <= 1e-8 + 1e-9 * np.abs(self.target_pour_through))

    @property
    def too_close(self) -> Flags:
        """Where meters can hardly tell the water from the target."""
        return too_close(self.flush.ec_target, self.flush.ec_water)

    @property
    def needed(self) -> Flags:
        """Where the medium is above its target."""
        return np.asarray(self.flush.ec_medium) > self.target_pore_water

    def going_on(self, goal: Floats, timing: Timing) -> FlushCase:
        """Return the same with another target where there is one, poured by a given schedule.

        Parameters
        ----------
        goal : (m,) ndarray
            The other target, as pore water [dS/m]; NaN where it stays.
        timing : Timing of (m,) ndarray
            The schedule.
        """
        with np.errstate(divide="ignore", invalid="ignore"):
            share = goal / self.target_pore_water
        share = np.where(np.isnan(goal), 1.0, share)
        flush = self.flush._replace(ec_target=np.where(np.isnan(goal), self.flush.ec_target, goal))
        return replace(
            self,
            flush=flush,
            timing=timing,
            target_reading=np.where(
                np.isnan(goal), self.target_reading, goal / self.settled_over_reading
            ),
            target_pore_water=share * self.target_pore_water,
            target_extract=share * self.target_extract,
            target_pour_through=share * self.target_pour_through,
        )


def assess_flush_case(assessment: Assessment) -> FlushCase:
    """Gather what the flush of every container starts from and goes to."""
    batch, salinity = assessment.batch, assessment.salinity
    water, tolerated = assessment.container_water, assessment.crops.max_tolerated_ec
    samples, containers = batch.samples, batch.containers
    owner = containers.sample
    method, kind = samples.extraction[owner], salinity.medium_kind[owner]
    basis = np.full(owner.shape, method_codes()[EXTRACT])
    pores = water.pores._replace(water_content=samples.water_content[owner])
    reading = salinity.ec_25c[owner]
    # After a flush the medium holds what it holds after draining, so a sensor reads there.
    drained = water.pores
    extract, before = to_both_bases(reading, method, kind, pores)
    start = before.value
    wanted = target_extracts(batch, tolerated)[owner]
    own = samples.target_ec[owner]
    has_own = ~np.isnan(own)
    target_reading = np.where(
        has_own, own, from_saturated_extract(wanted, method, kind, drained).value
    )
    extract_after, target = to_both_bases(target_reading, method, kind, drained)
    limit, limit_extract = target.value, extract_after.value
    aims = assessment.ion_aims
    for_ion = aims.ec[owner] < limit
    down_to = np.where(for_ion, aims.ec[owner] / limit, 1.0)
    target_pore, target_extract = down_to * limit, down_to * limit_extract
    target_reading = down_to * target_reading
    ec_water = np.where(falls_as_rain(batch) | aims.other_water, RAIN_EC, assessment.water_ec_25c)
    from_extract = to_pore_water(wanted, basis, kind, pores)
    held = containers.volume * water.container_capacity
    area = np.where(
        np.isnan(containers.top_diameter),
        1000.0 * containers.volume / containers.height,
        np.pi / 4 * containers.top_diameter**2,
    )
    each = headspace_volume(containers.volume, area, containers.head_space)
    each = whole_runs(each, _run_volume(batch, area))
    duration = _pass_time(batch, each, area)
    plateau = _gypsum_plateaus(assessment)[owner]
    repelling = _repelling(batch)[owner]
    with np.errstate(divide="ignore", invalid="ignore"):
        pore_over_reading = np.where(reading > 0, start / reading, np.nan)
        settled_over_reading = np.where(
            target_reading > 0, target_pore / target_reading, pore_over_reading
        )
        pore_over_extract = np.where(extract.value > 0, start / extract.value, np.nan)
    return FlushCase(
        owner=owner,
        sealed=containers.drainage == DRAINAGE.index("sealed"),
        volume=containers.volume,
        area=area,
        flush=Flush(
            ec_medium=start,
            ec_target=np.fmax(target_pore, GYPSUM_MARGIN * plateau),
            ec_water=ec_water[owner],
            water_held=held,
            deficit=held * (1.0 - containers.relative_water_content),
            pass_volume=each,
            ceiling=np.minimum(PRACTICAL_VOLUMES * containers.volume, MAX_PASSES * each),
            duration=duration,
        ),
        known=Uncertain(
            washout=_washout(batch),
            water_held=_held(containers.volume, water),
            ec_medium=_scaled(start, extract, exact=has_own),
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
            start=_start(batch, repelling),
        ),
        reading=Reading(
            np.full(owner.shape, METER_ERROR),
            np.full(owner.shape, SAMPLE_ERROR),
            _pots_read(assessment),
        ),
        confidence=samples.confidence[owner],
        by=samples.by[owner],
        timing=_timing(batch, duration),
        target_reading=target_reading,
        target_pore_water=target_pore,
        target_extract=target_extract,
        target_pour_through=from_saturated_extract(
            target_extract, np.full(owner.shape, method_codes()[POUR_THROUGH]), kind, drained
        ).value,
        extract=extract.value,
        pore_over_reading=pore_over_reading,
        settled_over_reading=settled_over_reading,
        pore_over_extract=pore_over_extract,
        limit_pore_water=np.fmax(limit, GYPSUM_MARGIN * plateau),
        limit_extract=limit_extract,
        for_ion=for_ion,
        other_water=aims.other_water[owner],
        gypsum_plateau=plateau,
        repelling=repelling,
    )


def _pots_read(assessment: Assessment) -> Codes:
    """Return how many containers a check reads: no more than there are, where that was told."""
    pots = assessment.batch.samples.pots_read[assessment.batch.containers.sample]
    told = assessment.given.containers.count
    return np.where(told == NOT_GIVEN, pots, np.minimum(pots, told))


def _run_volume(batch: Batch, area: Floats) -> Floats:
    """Water that one run of a boom brings to each container [L]; NaN without one."""
    samples, owner = batch.samples, batch.containers.sample
    with np.errstate(divide="ignore", invalid="ignore"):
        share_of_tray = samples.tray_length * samples.tray_width / samples.cells_per_tray
    share_of_tray = np.where(
        np.isfinite(share_of_tray) & (share_of_tray > 0), share_of_tray, np.nan
    )
    surface = np.where(np.isnan(share_of_tray[owner]), area, share_of_tray[owner])
    by_boom = samples.by[owner] == MEANS.index("boom")
    depth = np.where(by_boom & (samples.run_depth[owner] > 0), samples.run_depth[owner], np.nan)
    return np.asarray(depth * surface / 10_000.0)


def target_extracts(batch: Batch, tolerated: Floats) -> Floats:
    """EC of the saturated extract that suits the most sensitive planting of each sample [dS/m]."""
    targets = np.full(batch.samples.count, np.inf)
    known = ~np.isnan(tolerated)
    np.minimum.at(targets, batch.plantings.sample[known], tolerated[known])
    return np.where(np.isinf(targets), DEFAULT_TARGET, targets)


def _gypsum_plateaus(assessment: Assessment) -> Floats:
    """EC that gypsum holds each sample's medium at while flushed [dS/m]; NaN without gypsum."""
    plateaus = np.full(assessment.batch.samples.count, np.nan)
    for row in np.flatnonzero(assessment.medium_ions.gypsum_saturated):
        plateaus[row] = gypsum_plateau(poured_water(assessment.batch), int(row))
    return plateaus


def _scaled(value: Floats, interval: Interval, exact: Flags) -> Interval:
    """Lend the relative width of an interval to another value."""
    with np.errstate(divide="ignore", invalid="ignore"):
        low, high = interval.low / interval.value, interval.high / interval.value
    plain = exact | np.isnan(low) | np.isnan(high)
    return Interval(value, value * np.where(plain, 1.0, low), value * np.where(plain, 1.0, high))


def _held(volume: Floats, water: Water) -> Interval:
    width = np.where(water.stated, STATED_CAPACITY_SPREAD, CAPACITY_SPREAD)
    held = volume * water.container_capacity
    return Interval(
        held,
        held * (1.0 - width),
        np.minimum(held * (1.0 + width), volume * water.total_porosity),
    )


def _washout(batch: Batch) -> UncertainWashout:
    """Choose the defaults of each container's class of medium; a stated efficiency is exact."""
    owner = batch.containers.sample
    substrate = batch.samples.substrate[owner]
    table = _washout_columns()
    efficiency, *others = (
        Interval(*(figures[substrate] for figures in table[name])) for name in _WASHOUT
    )
    stated = batch.samples.leaching_efficiency[owner]
    efficiency = Interval(*(np.where(np.isnan(stated), part, stated) for part in efficiency))
    return UncertainWashout(efficiency, *others)


def _start(batch: Batch, repelling: Flags) -> Start:
    """Say how salt and dryness lie in each container before the flush."""
    owner = batch.containers.sample
    on_top = batch.samples.salt_profile[owner] == SALT_PROFILES.index("on_top")
    state = wetting_state(batch, repelling)
    reaches = [wetting_reaches()[each] for each in WETTING_STATES]
    return Start(
        top_over_rest=Interval(
            *(np.where(on_top, *ends) for ends in zip(GATHERED_ON_TOP, NO_PROFILE, strict=True))
        ),
        height=batch.containers.height,
        unswept=Interval(
            *(
                np.array([getattr(each, name) for each in reaches])[state]
                for name in ("unswept", "unswept_low", "unswept_high")
            )
        ),
        reach=np.array([each.in_lots for each in reaches])[state],
    )


def wetting_state(batch: Batch, repelling: Flags) -> Codes:
    """Return how each container takes water up, as a place in ``WETTING_STATES``."""
    used = batch.samples.wetting_agent[batch.containers.sample] == WETTING_AGENTS.index("used")
    with_agent = WETTING_STATES.index("repelling_with_wetting_agent")
    state = np.where(used, with_agent, WETTING_STATES.index("repelling"))
    return np.where(repelling, state, WETTING_STATES.index("wettable"))


def _intake(batch: Batch) -> Floats:
    """Return how fast water sinks into each sample's medium [mm/h], as timed or as usual."""
    timed = rate_from_time(60.0 * batch.samples.sink_time)
    return np.where(np.isnan(timed), _usual_intake()[batch.samples.substrate], timed)


@cache
def _usual_intake() -> Floats:
    return np.array([intake_of(each).rate.value for each in substrates()])


def intake_of(substrate: str) -> IntakeRate:
    """Return the usual intake rate of a substrate."""
    return intake_rates().get(substrate, intake_rates()["soilless"])


def falls_as_rain(batch: Batch) -> Flags:
    """Tell for which samples rain does the flush."""
    return np.asarray(batch.samples.by == MEANS.index("rain"))


def poured_water(batch: Batch) -> Solutions:
    """Return the water that each sample is flushed with; rain holds no ions."""
    rain, water = falls_as_rain(batch), batch.samples.water
    if not rain.any():
        return water
    ions = {ion: np.where(rain, 0.0, found) for ion, found in water.ions.items()}
    return replace(water, ions=ions)


def _pass_time(batch: Batch, each: Floats, area: Floats) -> Floats:
    """Return the time of a pass [h]: as fast as it is brought, and as the medium takes it in."""
    owner = batch.containers.sample
    taken_in = pass_time(each, area, _intake(batch)[owner])
    by_dripper = (batch.samples.by == MEANS.index("dripper"))[owner]
    by_rain = falls_as_rain(batch)[owner]
    if not (by_dripper | by_rain).any():
        return taken_in
    brought = np.where(by_rain, pass_time(each, area, HEAVIEST_RAIN), 0.0)
    brought = np.where(by_dripper, dripper_hours(each, dripper_flow(batch)[owner]), brought)
    return np.asarray(np.maximum(brought, taken_in))


def _timing(batch: Batch, duration: Floats) -> Timing:
    """Return the schedules that follow from what was given; NaN where one is to be chosen."""
    owner = batch.containers.sample
    # Rain falls when it does: no rest is counted on.
    rest = np.where(falls_as_rain(batch)[owner], 0.0, batch.samples.rest[owner])
    given = timing_with_rest(duration, filled(rest, 0.0))
    return Timing(*(np.where(np.isnan(rest), np.nan, each) for each in given))


def dripper_flow(batch: Batch) -> Floats:
    """Return the flow of all drippers of one container of each sample [L/h]."""
    samples = batch.samples
    flow = np.where(np.isnan(samples.flow), DRIPPER_FLOW, samples.flow)
    return np.asarray(flow * np.maximum(samples.drippers, 1))


@cache
def _washout_columns() -> dict[str, tuple[Floats, Floats, Floats]]:
    """Value, low and high of each washout figure, one row a substrate."""
    rows = [washout_defaults()[each.medium_class] for each in substrates().values()]
    return {
        name: (
            np.array([getattr(row, name).value for row in rows]),
            np.array([getattr(row, name).low for row in rows]),
            np.array([getattr(row, name).high for row in rows]),
        )
        for name in _WASHOUT
    }


def _repelling(batch: Batch) -> Flags:
    symptoms = [list(observations()).index(symptom) for symptom in REPELLING_SYMPTOMS]
    return np.asarray(batch.samples.observations[:, symptoms].any(axis=1))
