"""How much salt container media may hold by stage and by extraction method."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from math import inf, nan
from types import MappingProxyType

import marshmallow as ma

from saltcalc.data.sources import Noted
from saltcalc.data.tables import TableError, column, read_table, weakest

KINDS = ("short", "suits", "high", "injures", "observed")

UNHARMED = "no_significant_loss_of_dry_weight"
"""What a response that was observed means where the plants lost nothing."""


@dataclass(frozen=True, kw_only=True)
class StageLimit(Noted):
    """One published range of EC [dS/m] as read by one extraction method.

    ``ec_low`` is 0 and ``ec_high`` infinite where the range is open; ``extraction`` is "" where
    the source does not print the method, and such a row must not be converted.
    """

    plants: str
    stage: str
    extraction: str = ""
    ec_low: float = 0.0
    ec_high: float = inf
    kind: str = column(validate=ma.validate.OneOf(KINDS))
    meaning: str
    """Id of the words for what the range means."""


@cache
def stage_limits() -> tuple[StageLimit, ...]:
    """Return every row of ``stage_limits.csv``, in file order.

    Raises
    ------
    TableError
        If a range ends before it starts, or a row names an unknown source.
    """
    limits = read_table("stage_limits.csv", StageLimit)
    for limit in limits:
        if limit.ec_high < limit.ec_low:
            raise TableError(
                f"stage_limits.csv: {limit.plants}, {limit.stage} ends below its start"
            )
    return limits


@dataclass(frozen=True)
class MediumLimits:
    """What a mixed house of container plants tolerates, on one extraction method [dS/m].

    Up to ``suits`` the medium is within the published range of the stage; from ``injures`` on
    most crops are injured. NaN where nothing is published for the method.
    """

    suits: float
    injures: float
    source: str
    provenance: str


@cache
def medium_limits(extraction: str, stage: str) -> MediumLimits:
    """Return the general limits of a stage on an extraction method; NaN where there are none."""
    rows = {
        row.kind: row
        for row in stage_limits()
        if (row.plants, row.extraction, row.stage) == ("general", extraction, stage)
    }
    if not rows:
        return MediumLimits(nan, nan, "", "judgement")
    suits, injures = rows["suits"], rows["injures"]
    known = weakest((suits.provenance, injures.provenance))
    return MediumLimits(suits.ec_high, injures.ec_low, suits.source, known)


@cache
def stood_unharmed() -> Mapping[tuple[str, str, str], float]:
    """Return the EC that a crop was seen to stand without loss [dS/m], by crop, method and stage.

    That is no limit of the crop: it may stand more.
    """
    return MappingProxyType(
        {
            (crop.strip(), row.extraction, row.stage): row.ec_low
            for row in stage_limits()
            if row.meaning == UNHARMED
            for crop in row.plants.split(";")
        }
    )
