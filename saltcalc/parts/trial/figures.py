"""The figures of the media of a trial, as they are and over the limits of its crops."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.vocabulary import DRAINAGE, STAGES
from saltcalc.data.causes import evidence_rules
from saltcalc.data.crop_ph import crop_ph_range
from saltcalc.data.extraction import extraction_methods, governing_schemes
from saltcalc.data.nutrients import NUTRIENTS
from saltcalc.data.observations import observations
from saltcalc.data.stage_limits import medium_limits
from saltcalc.data.trial_figures import TrialFigure, trial_figures
from saltcalc.parts.crops.tolerance import EXTRACT
from saltcalc.parts.shown import row_of
from saltcalc.parts.trial.tried import Tried
from saltcalc.science._arrays import Flags, Floats
from saltcalc.science.crop_limits import Stage

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

FORMS = ("nitrate_n", "ammonium_n")
_SEEN, _NOT_SEEN = 2.0, 0.5
_LOW_FOOD = "nitrogen_low_food"
"""The evidence by which a low EC stands for little nitrogen."""


@dataclass(frozen=True)
class MediaFigures:
    """The figures of media.

    Attributes
    ----------
    assessment : Assessment
        Of all samples.
    media : sequence of Tried
        The media in the order of the request.
    """

    assessment: Assessment
    media: Sequence[Tried]

    @cached_property
    def crops(self) -> list[str]:
        """Ids of the crops with an outcome."""
        return list(dict.fromkeys(each.crop for one in self.media for each in one.outcomes))

    @cached_property
    def figures(self) -> tuple[TrialFigure, ...]:
        """What media are told apart by."""
        return tuple(trial_figures().values())

    @cached_property
    def one_method(self) -> bool:
        """Whether all media were read by one method."""
        method = self.assessment.batch.samples.extraction
        return len(set(method.tolist())) == 1

    @cached_property
    def values(self) -> tuple[Floats, Floats]:
        """Ends of each figure, media by figures; 1 or 0 of a sign, NaN where not known."""
        ends = [[self._ends(each, one) for each in self.figures] for one in self.media]
        return tuple(np.moveaxis(np.array(ends, dtype=np.float64), 2, 0))

    @cached_property
    def floors(self) -> Flags:
        """Media whose EC is only the least that their ions allow."""
        return np.array([self.assessment.ec_is_lower_bound[one.samples[0]] for one in self.media])

    def reads_high(self, place: int) -> bool:
        """Tell whether an EC was measured, in a class above what most plants want."""
        found = row_of(self.assessment.salinity, self.media[place].samples[0]).reading_class
        if self.floors[place] or np.isnan(found.ec.value):
            return False
        scheme = governing_schemes()[extraction_methods()[found.method].id]
        return bool(scheme.classes[found.code].rank > 0)

    def _ends(self, figure: TrialFigure, one: Tried) -> tuple[float, float]:
        ends = [self._of_sample(figure, sample) for sample in one.samples]
        return min(low for low, _ in ends), max(high for _, high in ends)

    def _of_sample(self, figure: TrialFigure, sample: int) -> tuple[float, float]:
        batch, nutrients = self.assessment.batch, self.assessment.nutrients
        match figure.takes:
            case "ec":
                read = self.assessment.salinity.saturated_extract
                value = float(read.value[sample])
                return (
                    (value, value)
                    if self.one_method
                    else (float(read.low[sample]), float(read.high[sample]))
                )
            case "low_ec":
                ec, most = self._of_sample(self.figures[self.at("salts")], sample)
                return ec, np.inf if self.assessment.ec_is_lower_bound[sample] else most
            case "sign":
                column = list(observations()).index(figure.figure)
                if batch.samples.observations[sample, column]:
                    return 1.0, 1.0
                return (0.0, 0.0) if batch.samples.not_seen[sample, column] else (np.nan, np.nan)
            case "sealed":
                rows = self.assessment.containers_of(sample)
                sealed = batch.containers.drainage[rows] == DRAINAGE.index("sealed")
                return (float(sealed.any()),) * 2 if rows else (np.nan, np.nan)
            case "mineral_n":
                places = [NUTRIENTS.index(form) for form in FORMS]
                if self._by_unlike_extracts(places[0]):
                    return np.nan, np.nan
                if nutrients.by_cat[sample, places[0]]:
                    places = places[:1]
                if np.isnan(nutrients.value[sample, places[0]]):
                    return np.nan, np.nan
                low, high = self._judged
                return float(np.nansum(low[sample, places])), float(np.nansum(high[sample, places]))
        place = NUTRIENTS.index(figure.figure)
        if self._by_unlike_extracts(place):
            return np.nan, np.nan
        low, high = self._judged
        return float(low[sample, place]), float(high[sample, place])

    def _by_unlike_extracts(self, place: int) -> bool:
        """Tell whether some media have a nutrient by CaCl2/DTPA and others by water."""
        nutrients = self.assessment.nutrients
        known = ~np.isnan(nutrients.value[:, place])
        return bool(np.unique(nutrients.by_cat[known, place]).size > 1)

    @property
    def _judged(self) -> tuple[Floats, Floats]:
        judged = self.assessment.nutrients.judged
        return (judged.value, judged.value) if self.one_method else (judged.low, judged.high)

    def limit(self, figure: TrialFigure, one: Tried, crop: str) -> float:
        """Return the limit of a crop, in the unit of the figure."""
        sample, nutrients = one.samples[0], self.assessment.nutrients
        match figure.takes:
            case "ec":
                rows = [r for s in one.samples for r in self.assessment.plantings_of(s)]
                own = [
                    float(self.assessment.crops.max_tolerated_ec[row])
                    for row in rows
                    if self.assessment.crop_ids[row] == crop
                ]
                known = [each for each in own if not np.isnan(each)]
                return known[0] if known else medium_limits(EXTRACT, STAGES[Stage.SEEDLING]).suits
            case "sign" | "sealed":
                return 1.0
            case "low_ec":
                # The evidence is for media without mineral soil where little feed will not do.
                silent = self.assessment.mineral_soil | self.assessment.little_feed_will_do
                conditions = evidence_rules()[_LOW_FOOD].conditions
                (read,) = (each for each in conditions if each.measure == "ec_extract")
                return np.nan if silent[sample] else read.threshold
            case "mineral_n":
                return float(nutrients.low[sample, NUTRIENTS.index("nitrate_n")])
        if figure.figure == "ph":
            method = extraction_methods()[self.assessment.batch.samples.extraction[sample]].id
            mineral = self.assessment.mineral_soil[sample]
            wanted = crop_ph_range(crop, method, "mineral" if mineral else "soilless")
            if wanted is not None:
                end = getattr(wanted, figure.harm)
                return np.nan if end is None else float(end)
        return float(getattr(nutrients, figure.harm)[sample, NUTRIENTS.index(figure.figure)])

    def _over(self, crop: str) -> tuple[Floats, Floats]:
        """Return the ends of each figure over the limit of a crop; above 1 it harms."""
        limits = np.array([[self.limit(f, one, crop) for f in self.figures] for one in self.media])
        low, high = (each.copy() for each in self.values)
        with np.errstate(divide="ignore", invalid="ignore"):
            for place, figure in enumerate(self.figures):
                at = np.s_[:, place]
                if figure.takes in ("sign", "sealed"):
                    for each in (low, high):
                        each[at] = np.where(
                            np.isnan(each[at]), np.nan, np.where(each[at] > 0, _SEEN, _NOT_SEEN)
                        )
                elif figure.figure == "ph":
                    low[at], high[at] = 10 ** (low[at] - limits[at]), 10 ** (high[at] - limits[at])
                else:
                    low[at], high[at] = low[at] / limits[at], high[at] / limits[at]
                if figure.harm == "low":
                    low[at], high[at] = 1.0 / high[at], 1.0 / low[at]
        return low, high

    @cached_property
    def over(self) -> dict[str, tuple[Floats, Floats]]:
        """The figures over the limits, by crop."""
        return {crop: self._over(crop) for crop in self.crops}

    def at(self, figure: str) -> int:
        """Return the place of a figure among the figures."""
        return [each.id for each in self.figures].index(figure)
