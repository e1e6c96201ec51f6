"""How long the nitrogen of a container lasts its plants, by crop and age."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.batch import NOT_GIVEN
from saltcalc.case.vocabulary import STAGES
from saltcalc.data.nutrients import (
    CROP_GROWTH,
    amendment_figures,
    crop_growth,
    nitrogen_uptake,
)
from saltcalc.data.substrates import substrates
from saltcalc.science._arrays import Codes, Floats
from saltcalc.science.nutrients import grown, nitrogen_taken_up, weeks_of_nitrogen_together
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

EMERGENCE = 7.0
"""Time from sowing to emergence [day] (common practice)."""

_WEEKS_MEASURED = 12.0
_LONGEST, _ROUNDS = 52.0, 20
_DAYS_A_WEEK = 7.0
_CM2_PER_M2 = 1e4
_CM3_PER_L = 1e3
_INPUTS = ("dry_mass", "growth", "tissue_n", "cover_growth")
_ENDS = ("low", "value", "high")

Ends = tuple[float, float, float]
"""Low, middle and high."""


@dataclass(frozen=True)
class Growing:
    """A kind of plant in a container: how many, and the ends of each figure of its growth."""

    plants: float
    figures: dict[str, Ends]


def plants_in(assessment: Assessment) -> Codes:
    """Return how many plants stand in each container, one where none are told.

    Of several crops those without a number count as one plant each where another has one.
    """
    plantings = assessment.batch.plantings
    told = plantings.plants != NOT_GIVEN
    count = assessment.batch.samples.count
    some = np.bincount(plantings.sample, told, minlength=count) > 0
    each = np.where(told, plantings.plants, some[plantings.sample])
    plants = np.bincount(plantings.sample, each, minlength=count).astype(np.intp)
    return np.maximum(plants, 1)[assessment.batch.containers.sample]


def growth_of(crop: str | None, stage: str, age: float) -> dict[str, Ends]:
    """Return the ends of each figure of the growth of a crop at a stage.

    Parameters
    ----------
    crop : str or None
        Id; what is published of plugs at large is taken where it has no figures of its own.
    stage : str
        One of `STAGES`; an established plant grows as such plants do.
    age : float
        Time since sowing [day]; NaN where not known, then the mass is that of the stage.
    """
    row = nitrogen_uptake()[stage]
    found = {
        name: (getattr(row, f"{name}_low"), getattr(row, name), getattr(row, f"{name}_high"))
        for name in _INPUTS
    }
    if crop is None or (crop, "growth") not in crop_growth():
        return found
    own = {
        name: tuple(getattr(crop_growth()[crop, name], end) for end in _ENDS)
        for name in CROP_GROWTH
    }
    found["tissue_n"] = own["tissue_n"]
    if stage != STAGES[-1]:
        found["growth"] = own["growth"]
        if stage == STAGES[0]:
            found["dry_mass"] = own["emergence_mass"]
        elif age > EMERGENCE:
            found["emergence_mass"] = own["emergence_mass"]
    return found


def _kinds(assessment: Assessment, sample: int, stage: str) -> list[Growing]:
    """Return the plants of a sample: those told, else those at a stage as one plant."""
    plantings, rows = assessment.batch.plantings, assessment.plantings_of(sample)
    age = float(assessment.batch.samples.plant_age[sample])
    told = [row for row in rows if plantings.plants[row] != NOT_GIVEN]
    chosen = rows if told else [row for row in rows if STAGES[plantings.stage[row]] == stage]
    if not chosen:
        return [Growing(1.0, growth_of(None, stage, age))]
    count = {row: max(int(plantings.plants[row]), 1) if told else 1 / len(chosen) for row in chosen}
    return [
        Growing(
            count[row],
            growth_of(assessment.crop_ids[row], STAGES[plantings.stage[row]], age),
        )
        for row in chosen
    ]


class _Plants:
    """The plants of some containers, as columns: one row a kind of plant in a container."""

    def __init__(self, assessment: Assessment, containers: Sequence[int], stage: str) -> None:
        batch = assessment.batch
        known: dict[int, list[Growing]] = {}
        rows: list[tuple[int, Growing]] = []
        for place, container in enumerate(containers):
            sample = int(batch.containers.sample[container])
            if sample not in known:
                known[sample] = _kinds(assessment, sample, stage)
            rows += [(place, kind) for kind in known[sample]]
        self.owner = np.array([place for place, _ in rows], dtype=np.intp)
        self.plants = np.array([kind.plants for _, kind in rows])
        total = np.bincount(self.owner, self.plants, minlength=len(containers))
        surface = (
            batch.containers.volume[containers] * _CM3_PER_L / batch.containers.height[containers]
        ) / _CM2_PER_M2
        self.room = (surface / total)[self.owner]
        """Surface for each plant [m²]."""
        age = batch.samples.plant_age[batch.containers.sample[containers]][self.owner]
        self.since = np.maximum(age - EMERGENCE, 0.0) / _DAYS_A_WEEK
        """Time since it emerged [week]."""
        self.ends = {
            name: np.array([kind.figures.get(name, (np.nan,) * 3) for _, kind in rows])
            for name in (*_INPUTS, "emergence_mass")
        }

    def at_ends(self) -> list[dict[str, int]]:
        """Return trials of each figure that is not known exactly: at its low, then its high end."""
        unsure = [name for name, ends in self.ends.items() if not np.isnan(ends).all()]
        return [{name: end} for name in unsure for end in (0, 2)]

    def growing(self, trials: Sequence[dict[str, int]]) -> tuple[Floats, Floats, Floats, Floats]:
        """Return mass, growth, tissue nitrogen and full growth, shape (trials, kinds).

        In each trial some are at an end of theirs.
        """
        taken = {
            name: np.stack([ends[:, at.get(name, 1)] for at in trials])
            for name, ends in self.ends.items()
        }
        most = taken["cover_growth"] * self.room
        start = taken["emergence_mass"]
        aged = ~np.isnan(start)
        mass = np.where(
            aged,
            grown(
                np.where(aged, start, 1.0),
                taken["growth"],
                np.where(aged, self.since, 0.0),
                most,
            ),
            taken["dry_mass"],
        )
        return mass, taken["growth"], taken["tissue_n"], most


def weeks_of_supply(assessment: Assessment, held: Interval, stage: str) -> Interval:
    """Return how long nitrogen lasts the plants of each container [week].

    Parameters
    ----------
    assessment : Assessment
        Of a batch.
    held : Interval of (m,) ndarray
        Nitrogen of each container [mg].
    stage : str
        One of `STAGES`, of plants whose number is not told.
    """
    plants = _Plants(assessment, range(held.value.size), stage)
    at_ends = plants.at_ends()
    stock = np.stack([*held, *[held.value] * len(at_ends)])
    trials, containers = stock.shape
    weeks, *ends = weeks_of_nitrogen_together(
        stock.ravel(),
        (plants.owner + containers * np.arange(trials)[:, np.newaxis]).ravel(),
        np.tile(plants.plants, trials),
        *(each.ravel() for each in plants.growing([{}, {}, {}, *at_ends])),
    ).reshape(stock.shape)
    return _spread(weeks, _pairs(ends))


def nitrogen_wanted(assessment: Assessment, container: int, stage: str, weeks: float) -> Interval:
    """Return the nitrogen that the plants of a container take up in some weeks [mg]."""
    plants = _Plants(assessment, [container], stage)

    mass, growth, tissue, most = plants.growing([{}, *plants.at_ends()])
    taken_up = plants.plants * nitrogen_taken_up(mass, growth, tissue, weeks, most)
    wanted, *ends = taken_up.sum(axis=-1)
    return _spread(wanted, _pairs(ends))


def released_in(assessment: Assessment, container: int) -> Interval:
    """Return the nitrogen that compost in a container sets free [mg/week]; NaN without compost.

    Fresh compost may bind nitrogen instead.
    """
    batch = assessment.batch
    sample = int(batch.containers.sample[container])
    medium = list(substrates().values())[int(batch.samples.substrate[sample])]
    if not medium.contains_compost:
        return Interval.of(np.nan, np.nan, np.nan)
    whole = medium.medium_class == "compost"
    (content,) = amendment_figures("compost", "organic_nitrogen")
    (released,) = amendment_figures("compost", "released_in_12_weeks")
    (share,) = amendment_figures("compost", "share_of_a_mix")
    volume = float(batch.containers.volume[container])
    low, high = (
        1000.0 * volume * (1.0 if whole else part) * stock * freed / _WEEKS_MEASURED
        for part, stock, freed in (
            (share.low, content.low, released.low),
            (share.high, content.high, released.high),
        )
    )
    return Interval.of(float(np.sqrt(low * high)), low, high)


def lasting_with(
    assessment: Assessment, container: int, stage: str, held: float, released: float
) -> float:
    """Return how long nitrogen lasts where some is set free each week [week]; a year at most."""
    plants = _Plants(assessment, [container], stage)
    growing = [each[0] for each in plants.growing([{}])]
    weeks = 0.0
    for _ in range(_ROUNDS):
        stock = np.array([held + released * weeks])
        found = weeks_of_nitrogen_together(stock, plants.owner, plants.plants, *growing)
        weeks = min(float(found[0]), _LONGEST)
    return weeks


def _pairs(ends: Sequence[Floats]) -> list[tuple[Floats, Floats]]:
    """Return figures at low and high ends in turn, two by two."""
    return list(zip(ends[::2], ends[1::2], strict=True))


def _spread(figure: Floats, ends: Sequence[tuple[Floats, Floats]]) -> Interval:
    """Return a figure with the spreads that the ends of each of its inputs give it."""
    spread = np.zeros(np.shape(figure))
    for at_low, at_high in ends:
        ratio = np.divide(at_high, at_low, out=np.ones(np.shape(figure)), where=at_low > 0)
        spread = np.hypot(spread, np.log(ratio) / 2.0)
    widening = np.exp(spread)
    return Interval(figure, figure / widening, figure * widening)
