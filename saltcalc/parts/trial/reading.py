"""What the outcomes of a trial say of its media, by their figures."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import IntEnum
from functools import cached_property
from typing import Any

import numpy as np

from saltcalc.case.trial import MOISTURE, OF_A_PLACE, OUTCOMES, Trial
from saltcalc.data.causes import causes
from saltcalc.data.nutrients import NUTRIENTS
from saltcalc.data.observations import observations
from saltcalc.parts.trial.figures import FORMS, MediaFigures
from saltcalc.science._arrays import Codes, Flags, Floats
from saltcalc.science.diagnosis import POSSIBLE, SUPPORTED, VERDICTS
from saltcalc.science.trial import Tracking, differs, track

FAR_APART = 2
"""Grades between a good and a bad outcome from which a pair of media says something."""

WELL_ABOVE = 2.0
"""Times the limit of a crop from which an EC at which it throve is looked at again (judgement)."""

SALTY = ("total_salts", "sodium_toxicity", "chloride_toxicity")
"""Causes that leaching mends."""

MEASURED = ("ec", "mineral_n", "nutrient")
_EARLY_DEATH = ("emergence", "cotyledons")
_GREENS_UP = "greens_up_after_feeding"

HUNGER = "nitrogen_shortage"
LIKELY = "likely"
_, UNLIKE = MOISTURE
TOLD_VERDICTS = (*VERDICTS, LIKELY)
"""Verdicts on a medium of a trial; likely is what is supported and yet not shown by itself."""


class Refutation(IntEnum):
    """What a good medium says against a cause of how a crop fared in a bad one."""

    NONE = 0
    OF_WHAT_IS_KNOWN = 1
    """It has as much as is known of the bad one, which may have more."""
    CERTAIN = 2


@dataclass(frozen=True)
class Reading(MediaFigures):
    """A trial, read from its outcomes.

    Attributes
    ----------
    trial : Trial
        What was kept alike, and what is wanted.
    """

    trial: Trial

    def throve(self, crop: str) -> bool:
        """Tell whether a crop throve in any medium."""
        fared = (one.of(crop) for one in self.media)
        return any(outcome is not None and outcome.grade == "thrived" for outcome in fared)

    def pairs(self, crop: str) -> Iterator[tuple[int, int]]:
        """Yield each bad medium with each good one of a crop."""
        grades = [
            (place, OUTCOMES.index(outcome.grade), outcome.good)
            for place, one in enumerate(self.media)
            if (outcome := one.of(crop))
        ]
        for bad, worse, sound in grades:
            for good, better, bore in grades:
                if bore and not sound and better - worse >= FAR_APART:
                    yield bad, good

    @cached_property
    def tracking(self) -> dict[str, dict[tuple[int, int], Codes]]:
        """What each pair says of each figure, by crop."""
        return {
            crop: dict(zip(pairs, self._track(crop, pairs), strict=True)) if pairs else {}
            for crop in self.crops
            for pairs in [list(self.pairs(crop))]
        }

    def _track(self, crop: str, pairs: Sequence[tuple[int, int]]) -> Codes:
        """Return what pairs of a bad and a good medium say of each figure, a row a pair."""
        low, high = self.over[crop]
        most = high.copy()
        # A floor says nothing of how much there is at most.
        most[self.floors, 0] = np.inf
        bad, good = (list(each) for each in zip(*pairs, strict=True))
        codes = track(low[bad], most[bad], low[good], most[good], self.errors)
        fed = [not self.hungry_by_ec(each) for each in bad]
        codes[fed, self.at("low_ec")] = Tracking.SILENT
        early = np.array([self._died_early(each, crop) for each in bad])
        return np.where(early[:, None] & self._starves, Tracking.SILENT, codes)

    def hungry_by_ec(self, place: int) -> bool:
        """Tell whether the EC of a medium is too low to feed, and its nitrogen is not known."""
        return self._hungry[place]

    @cached_property
    def _hungry(self) -> list[bool]:
        forms = [NUTRIENTS.index(form) for form in FORMS]
        samples = [one.samples[0] for one in self.media]
        told = self.assessment.nutrients.value[samples][:, forms]
        low = self.over[self.crops[0]][0][:, self.at("low_ec")]
        hungry: list[bool] = ((low > 1) & np.isnan(told).all(axis=1)).tolist()
        return hungry

    def unlike_in_moisture(self, place: int) -> bool:
        """Tell whether a medium with an outcome was kept moister or drier than another."""
        return bool(self.media[place].outcomes) and self.trial.moisture == UNLIKE

    def told_verdict(self, place: int, cause: str, verdict: int) -> str:
        """Return how sure a cause of a medium is, as it is told.

        A shortage of nitrogen is likely at most where a low EC stands for nitrogen that nobody
        measured, and plants were not seen to green up after feeding; too much salt, where media
        were not kept equally moist, as one that dries concentrates its salt.
        """
        if verdict == SUPPORTED and cause in SALTY and self.unlike_in_moisture(place):
            return LIKELY
        sign = list(observations()).index(_GREENS_UP)
        seen = self.assessment.batch.samples.observations[self.media[place].samples[0], sign]
        by_ec = cause == HUNGER and bool(self.media[place].outcomes) and self.hungry_by_ec(place)
        return LIKELY if verdict == SUPPORTED and by_ec and not seen else VERDICTS[verdict]

    def _died_early(self, place: int, crop: str) -> bool:
        """Tell whether a crop died before it lived on what the medium holds."""
        outcome = self.media[place].of(crop)
        return outcome is not None and outcome.died_at in _EARLY_DEATH

    @cached_property
    def _starves(self) -> Flags:
        """Figures that harm by a shortage: too little of a nutrient, or a pH that holds it back."""
        return np.array(
            [each.harm == ("high" if each.figure == "ph" else "low") for each in self.figures]
        )

    @cached_property
    def errors(self) -> Floats:
        """Ratio from which two figures differ."""
        return np.array([each.error for each in self.figures])

    def apart(self, places: Sequence[int]) -> Flags:
        """Tell which figures differ among media by more than their error."""
        low, high = self.over[self.crops[0]]
        low, high = low[list(places)].copy(), high[list(places)].copy()
        floors = np.flatnonzero(self.floors[list(places)])
        for at in (self.at("salts"), self.at("low_ec")):
            low[floors, at] = high[floors, at] = np.nan
        return differs(low, high, self.errors)

    def refutes(self, cause: str, crop: str, bad: int, good: int) -> Refutation:
        """Tell whether a good medium refutes a cause of how a crop fared in a bad one.

        It does where it has as much or more of what the cause rests on, or less by no more than the
        error. A sign of which nothing was told of it refutes nothing. Where the bad medium may
        have more than is known, as by an EC that is only a floor, what is known of it is matched,
        and the cause is not settled.
        """
        return Refutation(int(self._refutations(cause, crop, bad, [good])[0]))

    def _refutations(self, cause: str, crop: str, bad: int, good: list[int]) -> Codes:
        """Return the same of several good media, as codes."""
        own = self._own[cause]
        if not own or not good:
            return np.zeros(len(good), dtype=np.int64)
        codes = np.array([self.tracking[crop][bad, each][own] for each in good])
        low, high = (ends[:, own] for ends in self.over[crop])
        known = ~np.isnan(low[bad] + low[good])
        if not self.hungry_by_ec(bad):
            known &= self._takes[own] != "low_ec"
        measured = self._is_measured[own]
        told = known & measured
        # Signs count where nothing that was measured is known, and all that were seen were told.
        signs = ~measured & (low[bad] > 1)
        by_signs = ~told.any(axis=1) & ~(np.isnan(low[good]) & signs).any(axis=1)
        told |= by_signs[:, np.newaxis] & signs
        floor = np.array([self.is_floor(bad, at) for at in own])
        certain = told & ((codes == Tracking.CONTRADICTED) | ((low[good] >= high[bad]) & ~floor))
        certain |= self._no_limit_and_as_much(own, bad, good) & measured & ~floor
        matched = told & (low[bad] > 1) & (low[good] * self.errors[own] >= low[bad])
        found = np.where(matched.any(axis=1), Refutation.OF_WHAT_IS_KNOWN, Refutation.NONE)
        found = np.where(certain.any(axis=1), Refutation.CERTAIN, found)
        fits = (codes == Tracking.CONSISTENT).any(axis=1)
        return np.asarray(np.where(fits, Refutation.NONE, found))

    @cached_property
    def _own(self) -> dict[str, list[int]]:
        """Places of the figures that count for or against each cause."""
        return {
            cause: [place for place, each in enumerate(self.figures) if cause in each.causes]
            for cause in causes()
        }

    @cached_property
    def _takes(self) -> Any:
        return np.array([each.takes for each in self.figures])

    @cached_property
    def _is_measured(self) -> Flags:
        return np.isin(self._takes, MEASURED)

    def _no_limit_and_as_much(self, own: list[int], bad: int, good: list[int]) -> Flags:
        """Tell which figures that have no limit here are as bad in each good medium, or worse."""
        low, high = (ends[:, own] for ends in self.values)
        over = next(iter(self.over.values()))[0][:, own]
        unknown = np.isnan(over[bad]) & np.isnan(over[good])
        short = np.array([self.figures[at].harm == "low" for at in own])
        as_bad = np.where(short, high[good] <= low[bad], low[good] >= high[bad])
        return np.asarray(as_bad & unknown)

    def is_floor(self, medium: int, figure: int) -> bool:
        """Tell whether a figure of a medium is an EC that is only the least that it can be."""
        return self.figures[figure].takes == "ec" and bool(self.floors[medium])

    def refuted_by(self, cause: str, crop: str, bad: int) -> list[int]:
        """Return the media that refute a cause of how a crop fared in a bad one, or its ground."""
        asked = (cause, crop, bad)
        if asked not in self._refuting:
            good = self._better[crop].get(bad, [])
            codes = self._refutations(cause, crop, bad, good)
            self._refuting[asked] = [good[at] for at in np.flatnonzero(codes)]
        return self._refuting[asked]

    @cached_property
    def _refuting(self) -> dict[tuple[str, str, int], list[int]]:
        """What was asked of :meth:`refuted_by` before."""
        return {}

    @cached_property
    def _better(self) -> dict[str, dict[int, list[int]]]:
        """Media in which a crop did better than in another, by crop and that other."""
        found: dict[str, dict[int, list[int]]] = {crop: {} for crop in self.crops}
        for crop, pairs in self.tracking.items():
            for bad, good in pairs:
                found[crop].setdefault(bad, []).append(good)
        return found

    def standing_out(self, place: int) -> list[tuple[str, int]]:
        """Return the causes that stand out in a medium, the best supported first, each verdict.

        Where its nitrogen may be either form, a cause holds as far as it holds for both; none is
        named that rests on ammonium, which was not told.
        """
        findings, samples = self.assessment.causes.findings, list(self.media[place].samples)
        verdict = findings.diagnosis.verdict[samples]
        least = verdict.min(axis=0)
        rank = findings.diagnosis.rank[samples].min(axis=0)
        names = list(causes())
        told = [
            (names[cause], int(max(least[cause], POSSIBLE)))
            for cause in np.lexsort((rank, -least))
            if verdict[0, cause] >= POSSIBLE
        ]
        return told

    def would_by_ammonium(self, place: int) -> bool:
        """Tell whether a cause would stand out, were the nitrogen of a medium all ammonium."""
        as_nitrate, *others = self.assessment.causes.findings.diagnosis.verdict[
            list(self.media[place].samples)
        ]
        return any(((each >= POSSIBLE) & (as_nitrate < POSSIBLE)).any() for each in others)

    def open_causes(self, place: int) -> list[tuple[str, int]]:
        """Return those of them that no other medium refutes, for any crop that failed here.

        What the pairs with other media bear out is supported, and first of those as sure, before
        what was not measured itself; what is refuted for one of several crops is possible at most.
        """
        return self._open_causes[place]

    @cached_property
    def _open_causes(self) -> list[list[tuple[str, int]]]:
        return [self._open_causes_of(place) for place in range(len(self.media))]

    def _open_causes_of(self, place: int) -> list[tuple[str, int]]:
        failed = self.media[place].failed
        if not failed and self.media[place].outcomes:
            return []
        borne_out = {cause for crop in failed for cause in self._clear(place, crop)}
        ammonium, standing = self.at("ammonium"), self.standing_out(place)
        if (SALTY[0], SUPPORTED) in standing and self.goes_with_salt(place, ammonium):
            borne_out -= {*self.figures[ammonium].causes}
        still = []
        for cause, verdict in standing:
            refuted = [bool(self.refuted_by(cause, crop, place)) for crop in failed]
            if refuted and all(refuted):
                continue
            held = SUPPORTED if cause in borne_out else verdict
            if failed and all(self.stands(crop, cause, place) for crop in failed):
                held = min(held, POSSIBLE)
            # What does not explain every crop that failed here is not sure of any.
            still.append((cause, min(held, POSSIBLE) if any(refuted) else held))

        def order(each: tuple[str, int]) -> tuple[int, bool, bool]:
            cause, verdict = each
            by_ec = cause == HUNGER and self.told_verdict(place, cause, verdict) == LIKELY
            return -verdict, by_ec, cause not in borne_out

        return sorted(still, key=order)

    def goes_with_salt(self, place: int, figure: int) -> bool:
        """Tell whether a figure that counts in the EC rises with it wherever it fits a failure.

        Then the one cannot be told from the other, unless it is smelt.
        """
        salts, smelt = self.at("salts"), self.values[0][place, self.at("ammonia_smell")] > 0
        fitting = [
            found[salts] == Tracking.CONSISTENT
            for crop in self.media[place].failed
            for (bad, _), found in self.tracking[crop].items()
            if bad == place and found[figure] == Tracking.CONSISTENT
        ]
        return bool(fitting) and all(fitting) and not smelt

    def is_explained(self, place: int) -> bool:
        """Tell whether a supported cause of what failed in a medium is refuted by no other."""
        return SUPPORTED in (verdict for _, verdict in self.open_causes(place))

    def shown_by_signs(self, place: int) -> bool:
        """Tell whether the first cause that stands in a medium is one that no figure measures."""
        first = next((cause for cause, _ in self.open_causes(place)), None)
        measured = (each.causes for each in self.figures if each.takes in MEASURED)
        return first is not None and not any(first in each for each in measured)

    def stood_elsewhere(self, place: int, other: int) -> bool:
        """Tell whether a sign of where a medium stood was told of it, and not of another."""
        seen = self.assessment.batch.samples.observations
        own, others = (seen[self.media[each].samples[0]] for each in (place, other))
        return any(
            own[at] and not others[at]
            for at, sign in enumerate(observations())
            if sign in OF_A_PLACE
        )

    def stands(self, crop: str, cause: str, place: int) -> bool:
        """Tell whether what a cause is measured by is known, and within the limits of a crop.

        A crop that died at emergence starved of nothing.
        """
        high = self.over[crop][1][place]
        own = [at for at, each in enumerate(self.figures) if cause in each.causes]
        if own and self._died_early(place, crop) and self._starves[own].all():
            return True
        known = [at for at in own if self.figures[at].takes in MEASURED and not np.isnan(high[at])]
        return bool(known) and all(high[at] <= 1 and not self.is_floor(place, at) for at in known)

    def is_suspected(self, crop: str, cause: str, place: int) -> bool:
        """Tell whether what a cause is measured by lies so high that one might think of it.

        It does not where it is the least of all media, or within its error of the limit of a crop.
        """
        low, high = self.over[crop]
        measured = [
            at
            for at, each in enumerate(self.figures)
            if cause in each.causes and each.takes in MEASURED and not np.isnan(high[place, at])
        ]
        return not measured or any(
            self.is_floor(place, at)
            or (high[place, at] >= self.errors[at] and low[place, at] > np.nanmin(low[:, at]))
            for at in measured
        )

    def _clear(self, place: int, crop: str) -> set[str]:
        """Return the causes that explain a failure, of what lies beyond its limit by its error."""
        low = self.over[crop][0][place]
        return {
            cause
            for at in self.explaining(place, crop)
            if low[at] >= self.errors[at]
            for cause in self.figures[at].causes
        }

    def explanation_of(self, place: int, crop: str) -> str | None:
        """Return the supported cause of a failure that the pairs with other media bear out."""
        clear = self._clear(place, crop)
        supported = (c for c, verdict in self.open_causes(place) if verdict == SUPPORTED)
        return next((cause for cause in supported if cause in clear), None)

    def leaches(self, place: int) -> bool:
        """Tell whether to leach a medium: outcomes apart, or where salts are supported."""
        causes = dict(self.open_causes(place))
        return not self.media[place].outcomes or any(
            causes.get(each) == SUPPORTED for each in SALTY
        )

    def grew_above_limit(self, place: int) -> tuple[str, float] | None:
        """Return a crop that throve though the EC is high and well above its limit.

        Of several that throve it is the one of the lowest limit; and how many times the EC is that.
        """
        at = self.at("salts")
        over = {
            each.crop: float(self.over[each.crop][0][place, at])
            for each in self.media[place].outcomes
            if each.grade == "thrived"
        }
        worst = max(over, key=lambda crop: np.nan_to_num(over[crop]), default=None)
        # What feeds plants well is no surprise, however low the limit of seedlings.
        if worst is None or not over[worst] >= WELL_ABOVE or not self.reads_high(place):
            return None
        return worst, over[worst]

    def may_be_swapped(self, place: int) -> list[int]:
        """Return media that fared as if their sample were that of a medium, and the other way.

        There a crop failed that throve here, though the EC is within its limit, the least first.
        """
        at, found = self.at("salts"), self.grew_above_limit(place)
        if found is None:
            return []
        crop, _ = found
        low, high = (ends[:, at] for ends in self.over[crop])
        swapped = [
            other
            for other, one in enumerate(self.media)
            if (outcome := one.of(crop)) and not outcome.good and not self.floors[other]
            if high[other] * self.errors[at] < low[place] and high[other] <= 1
        ]
        return sorted(swapped, key=lambda other: float(high[other]))

    def is_contradicted(self, place: int, figure: int) -> bool:
        """Tell whether a figure is contradicted for some crop that failed in a medium."""
        return any(
            found[figure] == Tracking.CONTRADICTED
            for crop in self.media[place].failed
            for (bad, _), found in self.tracking[crop].items()
            if bad == place
        )

    def explains(self, figure: int, among: Iterable[str]) -> bool:
        """Tell whether a figure would explain any of some causes."""
        return bool({*among} & {*self.figures[figure].causes})

    def bearing_out(self, place: int, figures: Sequence[int]) -> list[int]:
        """Return the media in which a crop did well that failed here, as any of figures have it."""
        codes = (
            found for crop in self.media[place].failed for found in self.tracking[crop].items()
        )
        return sorted(
            {
                good
                for (bad, good), found in codes
                if bad == place and (found[list(figures)] == Tracking.CONSISTENT).any()
            }
        )

    def explaining(self, place: int, crop: str) -> list[int]:
        """Return the figures that are consistent with a failure and contradicted by no medium."""
        return self._explaining[crop].get(place, [])

    @cached_property
    def _explaining(self) -> dict[str, dict[int, list[int]]]:
        """The same by crop and by each medium in which it failed."""
        found: dict[str, dict[int, list[int]]] = {}
        for crop, better in self._better.items():
            found[crop] = {}
            for bad, goods in better.items():
                codes = np.array([self.tracking[crop][bad, good] for good in goods])
                fits = (codes == Tracking.CONSISTENT).any(axis=0)
                fits &= ~(codes == Tracking.CONTRADICTED).any(axis=0)
                found[crop][bad] = np.flatnonzero(fits).tolist()
        return found
