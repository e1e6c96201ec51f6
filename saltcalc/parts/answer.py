"""What an endpoint answers: its parts, and what is said beside them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from saltcalc.message import Message, say
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.assumptions import (
    ALL,
    OF_IONS,
    OF_MEDIUM,
    OF_PLANTINGS,
    OF_UPKEEP,
    EcReadings,
    find_unknown_crops,
    state_defaults,
    state_mean_height,
    state_reading_temperatures,
    state_readings,
    state_reference_height,
    uses_of,
)
from saltcalc.parts.causes.show import (
    CAUSES,
    STANDING_OUT,
    Measurement,
    NextMeasurement,
    WeighedCause,
    in_short,
    show_causes,
    show_checks,
    show_next_measurement,
)
from saltcalc.parts.conversion import show_conversion
from saltcalc.parts.crops.ranking import show_ranking
from saltcalc.parts.crops.show import CropAnswer, show_crops
from saltcalc.parts.doubts import find_doubts, find_open_ends
from saltcalc.parts.flush.assumed import say_intervals
from saltcalc.parts.flush.progress import PassesDone, show_progress
from saltcalc.parts.flush.show import FlushPlan, show_flush_plan
from saltcalc.parts.ions.show import IonAnalyses, find_gypsum, show_ions
from saltcalc.parts.leaching import Leaching, show_leaching
from saltcalc.parts.leaching_fraction import PotWater, leaching_fractions
from saltcalc.parts.notes import Assumption, CitedSource, Finding, NotComputed, Notes
from saltcalc.parts.nutrients.show import Nutrients, show_nutrients
from saltcalc.parts.salinity import Salinity, show_salinity
from saltcalc.parts.shown import Chosen, Joined, Text, part, shown, shows
from saltcalc.parts.sodicity import Sodicity, show_sodicity
from saltcalc.parts.summary.rows import Summary
from saltcalc.parts.summary.show import show_summary
from saltcalc.parts.upkeep.arrays import Upkeep
from saltcalc.parts.upkeep.show import show_upkeep
from saltcalc.parts.water import IrrigationWater, show_water
from saltcalc.parts.workings import WORKED_PARTS, Working, show_workings
from saltcalc.science.diagnosis import VERDICTS as CERTAINTIES

Readings = Iterable[tuple[str, Message]]
"""Pointers to fields whose text left something open, and how each was read."""


Uses = frozenset[str]


@part
class OtherCauses:
    """The causes that are neither supported nor possible, by their verdict."""

    undetermined: list[str] = shown("Nothing speaks for or against them.", choices=CAUSES)
    unlikely: list[str] = shown("Causes that the evidence speaks against.", choices=CAUSES)


@part
class Causes:
    """Why plants may stall, and what to check next."""

    ranked: list[WeighedCause] = shown("Supported and possible causes, the best supported first.")
    others: OtherCauses | None = shown(
        "The rest; `?causes=all` ranks them too, and leaves this out.", optional=True
    )
    next_check: NextMeasurement | None = shown(
        "The cheapest measurement that separates the leading causes."
    )
    other_checks: list[Measurement] = shown(
        "What else settles a cause that is possible.", optional=True
    )


@part
class Answer:
    """An answer to one sample; each part on the first look at it.

    Attributes
    ----------
    assessment : Assessment
        Of the batch.
    sample : int
        Which sample.
    notes : Notes
        What is said beside the parts.
    asked : tuple of str
        The parts that are shown.
    wanted : Wanted
        What else is wanted of it.
    worked : tuple of str
        The parts whose workings are shown.
    """

    assessment: Assessment
    sample: int
    notes: Notes
    asked: tuple[str, ...]
    wanted: Wanted
    worked: tuple[str, ...]

    @cached_property
    @shows("What matters first.")
    def summary(self) -> Summary:
        """What matters first."""
        return show_summary(self)

    @cached_property
    @shows()
    def salinity(self) -> Salinity | None:
        """How salty the medium is."""
        return show_salinity(self.assessment, self.sample, self.notes)

    @cached_property
    @shows()
    def ions(self) -> IonAnalyses | None:
        """Which salts are dissolved."""
        return show_ions(self.assessment, self.sample, self.notes)

    @cached_property
    @shows()
    def sodicity(self) -> Sodicity | None:
        """What sodium does."""
        return show_sodicity(self.assessment, self.sample, self.notes)

    @cached_property
    @shows()
    def water(self) -> IrrigationWater | None:
        """What the irrigation water brings."""
        return show_water(self.assessment, self.sample, self.notes)

    @cached_property
    @shows("How each crop tolerates the medium at its stage.")
    def crops(self) -> list[CropAnswer] | None:
        """How the crops fare."""
        return show_crops(self.assessment, self.sample, self.notes)

    @property
    def _flushed(self) -> Assessment:
        """The assessment with its flushes as they are told: to the limit, or as advised."""
        return self.assessment.as_advised if self.wanted.as_advised else self.assessment

    @cached_property
    @shows("How to take each kind of container down once.")
    def flush_plan(self) -> list[FlushPlan] | None:
        """How to take the salt down once."""
        plans = show_flush_plan(
            self._flushed,
            self.sample,
            self.notes,
            every_pass=self.wanted.all_passes,
            lasting_told=bool({"summary", "upkeep"} & {*self.asked}) and not self.wanted.as_advised,
        )
        find_gypsum(self.assessment, self.sample, self.notes)
        return plans

    @cached_property
    @shows("How salt builds up between flushes, container by container.")
    def upkeep(self) -> list[Upkeep] | None:
        """How to keep it down."""
        return show_upkeep(self.assessment, self.sample, self.notes, self._flushed)

    @cached_property
    @shows("What share of every watering must drain, planting by planting.")
    def leaching(self) -> list[Leaching] | None:
        """What must drain season-long."""
        return show_leaching(self.assessment, self.sample, self.notes)

    @cached_property
    @shows("Nutrients and pH against their ranges, and what usually helps.")
    def nutrients(self) -> Nutrients | None:
        """The nutrients against their ranges."""
        return show_nutrients(self.assessment, self.sample, self.notes)

    @cached_property
    def weighed(self) -> list[WeighedCause]:
        """Every cause, the best supported first."""
        return show_causes(self.assessment, self.sample, self.notes)

    @cached_property
    @shows()
    def causes(self) -> Causes:
        """Why plants may stall."""
        told = [
            each for each in self.weighed if self.wanted.all_causes or each.verdict in STANDING_OUT
        ]
        next_check = show_next_measurement(self.assessment, self.sample, self.notes)
        if not self.wanted.all_causes:
            told = [in_short(each) for each in told]
        settling = [each.settled_by.check for each in told if each.settled_by]
        others = [each for each in settling if not next_check or each != next_check.id]
        return Causes(
            ranked=told,
            others=None if self.wanted.all_causes else self._others(),
            next_check=next_check,
            other_checks=show_checks(self.assessment, self.sample, others, self.notes),
        )

    def _others(self) -> OtherCauses:
        """Return the causes that do not stand out, by their verdict."""
        return OtherCauses(
            **{
                verdict: [each.cause for each in self.weighed if each.verdict == verdict]
                for verdict in CERTAINTIES
                if verdict not in STANDING_OUT
            }
        )

    @cached_property
    @shows("How the headline figures came about; only where it is asked for.")
    def workings(self) -> list[Working]:
        """How the headline figures came about."""
        return show_workings(self._flushed, self.sample, self.worked, self.notes)

    assumptions: list[Assumption] = shown("What was taken for granted.")
    warnings: list[Finding] = shown("What must be known before acting.")

    @property
    @shows("What could not be computed, of the parts shown.")
    def not_computed(self) -> list[NotComputed]:
        """What could not be computed, of the parts shown."""
        return [each for each in self.notes.not_computed if each.part.split("/")[0] in self.asked]

    @property
    @shows("How low and high are made.")
    def intervals(self) -> Text:
        """How low and high are made."""
        of_flush = (say_intervals(),) if "flush_plan" in self.asked else ()
        return (say("intervals"), *of_flush)

    @property
    @shows("The sources that are cited, by key.")
    def sources(self) -> dict[str, CitedSource]:
        """The sources that are cited, by key."""
        return self.notes.sources

    @property
    def thriving(self) -> frozenset[str]:
        """Ids of the crops that thrive in the medium."""
        thriving = self.assessment.batch.thriving
        codes = thriving.crop[thriving.sample == self.sample]
        return frozenset(self.assessment.catalogue[code].id for code in codes)


ALWAYS = ("not_computed",)
BESIDE = ("assumptions", "warnings", "sources")
ON_REQUEST = ("workings",)
"""Parts that are shown only where they are asked for."""

OF_ASSESSMENT = (
    "summary",
    "salinity",
    "ions",
    "sodicity",
    "water",
    "crops",
    "flush_plan",
    "upkeep",
    "leaching",
    "nutrients",
    "causes",
)
WITH_WORKINGS = (*OF_ASSESSMENT, *BESIDE, *ON_REQUEST)
"""All that an assessment can show."""


@dataclass(frozen=True)
class Wanted:
    """What of an answer is wanted.

    Attributes
    ----------
    parts : tuple of str
        The parts; all that there are if empty.
    sources : bool
        Whether the sources are resolved.
    all_causes : bool
        Whether every cause is ranked.
    all_passes : bool
        Whether every pass of a flush is told.
    as_advised : bool
        Whether each flush is told as far as is advised, and not just to the limit.
    """

    parts: tuple[str, ...] = ()
    sources: bool = True
    all_causes: bool = False
    all_passes: bool = False
    as_advised: bool = False

    def of(self, offered: tuple[str, ...]) -> tuple[str, ...]:
        """Return the members to show of an answer that offers these parts."""
        shown = [
            each
            for each in (*offered, *BESIDE)
            if (each in self.parts if self.parts else each not in ON_REQUEST)
            and (self.sources or each != "sources")
        ]
        intervals = ("intervals",) if "assumptions" in shown else ()
        return (*shown, *intervals, *ALWAYS)


WHOLE = Wanted()


def _answer(
    assessment: Assessment,
    readings: Readings,
    sample: int,
    uses: Uses,
    offered: tuple[str, ...],
    wanted: Wanted,
) -> Chosen:
    notes = _started(assessment, readings, sample, uses)
    find_open_ends(assessment, notes)
    if "salinity" in offered:
        state_mean_height(assessment, sample, notes)
        state_reference_height(assessment, sample, notes, "/containers")
    asked = wanted.of((*offered, *ON_REQUEST))
    worked = tuple(each for each in asked if each in WORKED_PARTS) or offered
    said = (notes.assumptions, notes.warnings)
    return Chosen(Answer(assessment, sample, notes, asked, wanted, worked, *said), asked)


def answer_assessment(
    assessment: Assessment, readings: Readings, sample: int = 0, wanted: Wanted = WHOLE
) -> Chosen:
    """Return the answer to one sample of an assessment."""
    uses = uses_of(assessment, sample)
    return _answer(assessment, readings, sample, uses, OF_ASSESSMENT, wanted)


def answer_sodicity(assessment: Assessment, readings: Readings, wanted: Wanted = WHOLE) -> Chosen:
    """Return the sodium hazard of the medium and the water of a one-sample assessment."""
    return _answer(assessment, readings, 0, frozenset(), ("sodicity",), wanted)


def answer_ions(assessment: Assessment, readings: Readings, wanted: Wanted = WHOLE) -> Chosen:
    """Return which salts are in the medium and the water of a one-sample assessment."""
    uses = OF_MEDIUM | OF_IONS | {"water_temperature"}
    return _answer(assessment, readings, 0, uses, ("ions",), wanted)


def answer_leaching(assessment: Assessment, readings: Readings, wanted: Wanted = WHOLE) -> Chosen:
    """Return the leaching requirements of a one-sample assessment."""
    uses = _uses_of_leaching(assessment)
    return _answer(assessment, readings, 0, uses, ("leaching",), wanted)


def _uses_of_leaching(assessment: Assessment) -> Uses:
    """Return the uses of inputs that enter a leaching requirement."""
    uses = OF_PLANTINGS | OF_IONS | {"water_temperature", "brought"}
    if assessment.batch.containers.sample.size:
        uses |= {"substrate", "container"}
    return uses | ({"water_use"} if np.any(assessment.batch.samples.rain > 0) else frozenset())


def answer_flush_plan(assessment: Assessment, readings: Readings, wanted: Wanted = WHOLE) -> Chosen:
    """Return the flush plans of a one-sample assessment."""
    return _answer(assessment, readings, 0, ALL - OF_UPKEEP, ("flush_plan",), wanted)


def answer_progress(
    assessment: Assessment,
    readings: Readings,
    done: PassesDone,
    *ecs: tuple[EcReadings, str],
) -> Joined:
    """Return what the readings of a flush say, of a one-sample assessment with one container.

    Parameters
    ----------
    assessment : Assessment
        Of the medium before the flush.
    readings : iterable of (str, str)
        Of the request.
    done : PassesDone
        What was done and read.
    *ecs : tuple of EcReadings and str
        The readings in it, each with the field of its temperature.
    """
    notes = _started(assessment, readings, 0, frozenset())
    for each, field in ecs:
        state_reading_temperatures(each, "readings", field, notes)
    state_defaults(assessment, 0, ALL - OF_UPKEEP - {"water_use"}, notes)
    return notes.close(show_progress(assessment, done, notes))


def answer_leaching_fractions(assessment: Assessment, readings: Readings, pots: PotWater) -> Joined:
    """Return the leaching fractions of pots; see :func:`leaching_fractions`.

    Parameters
    ----------
    assessment : Assessment
        Of the water and the crops of the pots.
    readings : iterable of (str, str)
        Of the request.
    pots : PotWater
        What they got and gave.
    """
    known = assessment.plantings_of(0) and assessment.water_is_known[0]
    uses = OF_PLANTINGS | {"substrate", "brought"} if known else frozenset()
    if known and assessment.containers_of(0):
        uses |= {"container"}
    notes = _started(assessment, readings, 0, uses)
    state_reading_temperatures(pots.water, "pots", "temperature_applied", notes)
    state_reading_temperatures(pots.drainage, "pots", "temperature_drainage", notes)
    return notes.close(leaching_fractions(assessment, pots, notes))


def answer_ranking(
    assessment: Assessment, readings: Readings, stage: str, group: str = "", rating: str = ""
) -> Joined:
    """Rank the crops, or those of a group or a rating, in the medium of a one-sample assessment."""
    notes = _started(assessment, readings, 0, OF_MEDIUM | OF_IONS | OF_PLANTINGS)
    state_reference_height(assessment, 0, notes, "/medium/container_capacity")
    return notes.close(show_ranking(assessment, stage, group, rating, notes))


def answer_conversion(assessment: Assessment, to: str, readings: Readings) -> Joined:
    """Return the reading of a one-sample assessment as another method would show it."""
    inner, outer = _started(assessment, readings, 0, OF_MEDIUM | OF_IONS), assessment.notes()
    state_reference_height(assessment, 0, inner, "/medium/container_capacity", to)
    found = show_conversion(assessment, to, inner)
    outer.merge(inner, {"/medium": ""})
    return outer.close(found)


def _started(
    assessment: Assessment, readings: Readings, sample: int, uses: frozenset[str]
) -> Notes:
    notes = assessment.notes()
    state_readings(readings, notes)
    find_unknown_crops(assessment, sample, notes)
    find_doubts(assessment, sample, notes)
    state_defaults(assessment, sample, uses, notes)
    return notes
