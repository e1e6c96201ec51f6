"""Which crops of the catalogue tolerate a medium, and which to grow in place of one that fails."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from functools import lru_cache
from itertools import takewhile
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.vocabulary import STAGES
from saltcalc.data.crops import GROUPS, RATINGS, Crop, Crops, sowings
from saltcalc.message import Message, say
from saltcalc.parts.crops.limits import grown_figures, limits_of, most_tolerant, with_ph
from saltcalc.parts.crops.tolerance import highest_tolerated, root_zone
from saltcalc.parts.crops.verdicts import VERDICT_IDS, VERDICTS, Standing, standing_of
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import how_known, part, row_of, shown, source_keys
from saltcalc.science._arrays import Codes, Floats
from saltcalc.science.crop_limits import (
    CropLimits,
    CropVerdicts,
    RootZone,
    Verdict,
    only_above,
)
from saltcalc.science.tolerance import judge, order_of_tolerance
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

CONTAINER_CROPS = frozenset({"vegetable"})
"""Groups of crops that are named where no crop was asked about."""

ALTERNATIVES = 3


@dataclass(frozen=True)
class CropRanking:
    """How crops of the catalogue tolerate media, one row a medium and stage.

    Attributes
    ----------
    codes : (crops,) ndarray of int
        Which crops, rising.
    limits : CropLimits
        Of the crops, of shape (crops,).
    verdicts : CropVerdicts
        Of shape (k, crops).
    max_tolerated_ec : (k, crops) ndarray
        Highest EC of the saturated extract that each crop tolerates [dS/m].
    """

    codes: Codes
    limits: CropLimits
    verdicts: CropVerdicts
    max_tolerated_ec: Floats

    @property
    def order(self) -> Codes:
        """Places of the crops here, the most tolerant first; (k, crops)."""
        return order_of_tolerance(self.verdicts, self.limits, self.max_tolerated_ec)


@part
class VerdictCount:
    """How many crops have a verdict."""

    verdict: str = shown(choices=VERDICT_IDS)
    count: int = shown("Number of crops.")


@part
class RankedCrop(Standing):
    """A crop in its place."""

    rank: int = shown("Place in the ranking; 1 tolerates the medium best.")
    group: str = shown(choices=GROUPS)
    rating: str | None = shown("S, MS, MT or T.", choices=RATINGS)
    local: bool = shown("Whether the row is the grower's own.")
    provenance: str = how_known()
    sources: list[str] = source_keys()


@part
class Ranking:
    """The crops, from the one that tolerates the medium best."""

    stage: str = shown(choices=STAGES)
    ec_saturated_extract: Interval = shown("What the roots meet, as saturated extract.", "dS/m")
    counts: list[VerdictCount] | None = shown("How many crops have each verdict.")
    ranking: list[RankedCrop] | None = shown(
        "The crops, the one that tolerates the medium best first."
    )
    intervals: Message = shown("How low and high are made.")


def rank_crops(
    assessment: Assessment,
    sample: Codes,
    stage: Codes,
    codes: Codes | None = None,
    zone: RootZone | None = None,
) -> CropRanking:
    """Hold what roots meet against the limits of every crop, or of some.

    Parameters
    ----------
    assessment : Assessment
        Of the samples.
    sample, stage : (k,) ndarray of int
        Samples, and a stage for each.
    codes : (crops,) ndarray of int, optional
        Those crops alone, rising.
    zone : RootZone, optional
        What roots of those stages meet in those samples, where that is known already.
    """
    if codes is None:
        codes = np.arange(len(assessment.catalogue))
    general = limits_of(assessment.catalogue, codes)
    limits = with_ph(
        general,
        assessment.catalogue,
        codes,
        assessment.batch.samples.extraction[sample][:, None],
        assessment.mineral_soil[sample][:, None],
        assessment.own_ranges,
    )
    if zone is None:
        zone, _ = root_zone(assessment, sample, stage)
    columns = {name: np.asarray(field)[..., None] for name, field in vars(zone).items()}
    return CropRanking(
        codes,
        general,
        only_above(
            judge(stage[:, None], limits, RootZone(**columns)),
            assessment.ec_is_lower_bound[sample][:, None],
        ),
        highest_tolerated(assessment, limits, sample[:, None], stage[:, None]),
    )


def alternatives(ranking: CropRanking, row: int, crop: int, catalogue: Crops) -> list[int]:
    """Return crops to sow in place of one, of :func:`to_sow_instead`.

    Those that tolerate the medium come before those of which only the grown plants are known to,
    then those that do so at the harsh end too, then the hardiest.

    Parameters
    ----------
    ranking : CropRanking
        Of the medium, with all that could be sown.
    row : int
        Its row.
    crop : int
        Code of the crop to replace.
    catalogue : Crops
        The crops, in the order of their codes.
    """
    hardiest_first = to_sow_instead(catalogue, crop)
    places = np.searchsorted(ranking.codes, hardiest_first)
    verdict, worst = ranking.verdicts.verdict[row][places], ranking.verdicts.worst[row][places]
    best_first = np.lexsort((worst, verdict))
    fit = (verdict == Verdict.TOLERATES) | (verdict == Verdict.CAUTION)
    found: list[int] = hardiest_first[best_first[fit[best_first]]][:ALTERNATIVES].tolist()
    return found


@lru_cache(maxsize=128)
def to_sow_instead(catalogue: Crops, crop: int) -> Codes:
    """Return the crops that could be sown in place of one, the hardiest once grown first.

    They are of the same use and season, and of another species, and have a threshold of their own:
    a rating is a class and no figure.

    Parameters
    ----------
    catalogue : Crops
        The crops, in the order of their codes.
    crop : int
        Code of the crop to replace.
    """
    replaced = catalogue[crop]
    asked, species = sowings().get(replaced.id, frozenset()), _species(replaced)
    figures = grown_figures(catalogue)
    known = np.flatnonzero(~np.isnan(figures)).tolist()
    alike = [
        code
        for code in known
        for other in (catalogue[code],)
        if not other.unknown
        and asked & sowings().get(other.id, frozenset())
        and _species(other) != species
    ]
    codes = np.array(alike, dtype=np.intp)
    return codes[np.argsort(-figures[codes], kind="stable")]


def tolerant_crops(assessment: Assessment, sample: int) -> list[str]:
    """Return the names of the crops that tolerate a medium best by figures of their own.

    They are of a use and season of the crops that were asked about, or of `CONTAINER_CROPS` where
    none was.
    """
    asked = [assessment.crop_of(row) for row in assessment.plantings_of(sample)]
    uses = {use for crop in asked for use in sowings().get(crop.id, ())}
    extract = float(assessment.salinity.saturated_extract.value[sample])
    able = takewhile(lambda each: each[0] >= extract, most_tolerant(assessment.catalogue))
    alike = [
        crop.name
        for _, crop in able
        if (sowings().get(crop.id, frozenset()) & uses if asked else crop.group in CONTAINER_CROPS)
    ]
    return alike[:ALTERNATIVES]


def _species(crop: Crop) -> str:
    return " ".join(crop.botanical.split()[:2])


def show_ranking(
    assessment: Assessment, stage: str, group: str, rating: str, notes: Notes
) -> Ranking:
    """Rank the crops of the catalogue in the medium of a one-sample assessment.

    Parameters
    ----------
    assessment : Assessment
        Of one sample.
    stage : str
        Age of the crops.
    group, rating : str
        Only crops of this group or rating; empty for any.
    notes : Notes
        Where to note what was found.
    """
    extract = row_of(assessment.salinity.saturated_extract, 0)
    if assessment.ec_is_lower_bound[0]:
        extract = extract._replace(high=math.inf)
    ranked = None
    if math.isnan(extract.value):
        notes.miss("ranking", ["/medium/ec"], say("missing.crop_limit"))
    else:
        ranked = _ranked(assessment, stage, group, rating, notes)
        notes.cite("umass_media", "judgement")
    return Ranking(
        stage=stage,
        ec_saturated_extract=extract,
        counts=None if ranked is None else _counts(ranked),
        ranking=ranked,
        intervals=say("intervals"),
    )


def _ranked(
    assessment: Assessment, stage: str, group: str, rating: str, notes: Notes
) -> list[RankedCrop]:
    ranking = rank_crops(assessment, np.array([0]), np.array([STAGES.index(stage)]))
    ordered = ((code, assessment.catalogue[code]) for code in ranking.order[0].tolist())
    wanted = [
        (code, crop)
        for code, crop in ordered
        if group in ("", crop.group) and rating in ("", crop.rating)
    ]
    return [
        RankedCrop(
            **standing_of(
                crop, ranking.verdicts, (0, code), float(ranking.max_tolerated_ec[0, code])
            ),
            rank=rank,
            group=crop.group,
            rating=crop.rating or None,
            local=crop.local,
            provenance=crop.provenance,
            sources=notes.cite(*crop.source_keys),
        )
        for rank, (code, crop) in enumerate(wanted, start=1)
    ]


def _counts(ranked: list[RankedCrop]) -> list[VerdictCount]:
    counted = Counter(crop.verdict for crop in ranked)
    return [VerdictCount(verdict, counted[verdict]) for verdict in VERDICTS.values()]
