"""Which crops of the catalogue stand a medium, and which stand it in place of one that does not."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from saltcalc.assessment.batch import FloatArray, IntArray
from saltcalc.assessment.crop_limits import catalogue_limits
from saltcalc.assessment.crops import highest_stood
from saltcalc.assessment.salinity import Salinity
from saltcalc.data.crops import Crop
from saltcalc.science.tolerance import CropVerdicts, RootZone, Verdict, judge, order_of_standing

ALTERNATIVES = 5


@dataclass(frozen=True)
class CropRanking:
    """How every crop of the catalogue stands media, one row a medium and stage.

    Attributes
    ----------
    verdicts : CropVerdicts
        Of shape (k, crops).
    stands_up_to : (k, crops) ndarray
        Highest EC of the saturated extract that each crop stands [dS/m].
    order : (k, crops) ndarray of int
        Places of the crops in the catalogue, from the one that stands it best.
    """

    verdicts: CropVerdicts
    stands_up_to: FloatArray
    order: IntArray


def rank_crops(
    zone: RootZone,
    salinity: Salinity,
    sample: IntArray,
    stage: IntArray,
    catalogue: tuple[Crop, ...],
) -> CropRanking:
    """Hold what roots meet against the limits of every crop.

    Parameters
    ----------
    zone : RootZone
        Every field of shape (k,).
    salinity : Salinity
        Of the samples.
    sample, stage : (k,) ndarray of int
        Samples, and a stage for each.
    catalogue : tuple of Crop
        The crops, in the order of their codes.
    """
    limits = catalogue_limits(catalogue)
    columns = {name: np.asarray(field)[:, None] for name, field in vars(zone).items()}
    verdicts = judge(stage[:, None], limits, RootZone(**columns))
    highest = highest_stood(salinity, limits, sample[:, None], stage[:, None])
    return CropRanking(verdicts, highest, order_of_standing(verdicts, limits, highest))


def alternatives(
    ranking: CropRanking, row: int, crop: int, catalogue: tuple[Crop, ...]
) -> list[int]:
    """Return crops of the same group that stand the medium, the nearest to a crop first.

    Those that stand it at the harsh end too come first, then those that are woody or not as the
    crop is, then those with figures of their own and not only a rating; among them, those whose
    highest EC is nearest to the crop's own.

    Parameters
    ----------
    ranking : CropRanking
        Of the medium.
    row : int
        Its row.
    crop : int
        Code of the crop to replace.
    catalogue : tuple of Crop
        The crops, in the order of their codes.
    """
    group = np.array([each.group == catalogue[crop].group for each in catalogue])
    stands = ranking.verdicts.verdict[row] == Verdict.STANDS_IT
    found = np.flatnonzero(group & stands & (np.arange(len(catalogue)) != crop))
    highest = ranking.stands_up_to[row]
    away = np.nan_to_num(np.abs(highest[found] - highest[crop]), nan=np.inf)
    rated_only = np.isnan(np.asarray(catalogue_limits(catalogue).threshold)[found])
    other_kind = [catalogue[code].woody != catalogue[crop].woody for code in found]
    order = np.lexsort((away, rated_only, other_kind, ranking.verdicts.worst[row][found]))
    return [int(code) for code in found[order][:ALTERNATIVES]]
