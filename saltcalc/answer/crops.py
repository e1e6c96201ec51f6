"""How each crop stands the medium, in words and quantities."""

from __future__ import annotations

import math

import numpy as np

from saltcalc.answer.ledger import Ledger
from saltcalc.answer.quantities import EC_UNIT, Json, quantity
from saltcalc.assessment.batch import Plantings
from saltcalc.assessment.crops import CropsResult
from saltcalc.assessment.vocabulary import STAGES
from saltcalc.data.crops import Crop
from saltcalc.data.extraction import extraction_methods
from saltcalc.data.stage_limits import medium_limits
from saltcalc.science.tolerance import Limit, Verdict

VERDICTS = {
    Verdict.CANNOT_TELL: "cannot tell",
    Verdict.STANDS_IT: "stands it",
    Verdict.REDUCED: "reduced",
    Verdict.FAILS: "fails",
}

GOVERNING = {
    Limit.YIELD: "yield response",
    Limit.EMERGENCE: "emergence",
    Limit.STAGE_CAP: "limit for this crop at this stage",
    Limit.CONTAINER: "limit for container media at this stage",
    Limit.RATING: "tolerance rating",
    Limit.APPEARANCE: "limit of acceptable look",
    Limit.CHLORIDE: "chloride",
    Limit.BORON: "boron",
}


def answer_crops(
    result: CropsResult,
    plantings: Plantings,
    catalogue: tuple[Crop, ...],
    rows: list[int],
    ledger: Ledger,
) -> list[Json]:
    """Return how each planting in ``rows`` stands its medium."""
    return [
        _answer_one(result, plantings, catalogue[plantings.crop[row]], row, position, ledger)
        for position, row in enumerate(rows)
    ]


def _answer_one(
    result: CropsResult, plantings: Plantings, crop: Crop, row: int, position: int, ledger: Ledger
) -> Json:
    verdicts, stage = result.verdicts, STAGES[plantings.stage[row]]
    verdict = Verdict(int(verdicts.verdict[row]))
    ends = (Verdict(int(verdicts.best[row])), Verdict(int(verdicts.worst[row])))
    if verdict is Verdict.FAILS:
        ledger.warn(
            "crop-fails",
            "stop",
            f"{crop.name} ({stage}) does not stand this medium as it is.",
            f"crops/{position}/verdict",
        )
    container = medium_limits(extraction_methods()[result.zone_method[row]].id, stage)
    has_container = not math.isnan(np.asarray(result.zone.suits)[row])
    return {
        "crop": crop.id,
        "name": crop.name,
        "stage": stage,
        "threshold": quantity(crop.threshold, EC_UNIT),
        "slope": quantity(crop.slope, "%/(dS/m)"),
        "relative_yield": quantity(
            float(verdicts.response[row]),
            "%",
            float(verdicts.response_low[row]),
            float(verdicts.response_high[row]),
        ),
        "verdict": VERDICTS[verdict],
        "verdict_range": list(dict.fromkeys(VERDICTS[end] for end in ends)),
        "note": _note(result, crop, stage, row, has_container),
        "governing": GOVERNING.get(Limit(int(verdicts.governing[row]))),
        "sources": ledger.cite(
            *crop.source_keys, *((container.source,) if has_container else ()), "maas-hoffman-1977"
        ),
    }


def _note(result: CropsResult, crop: Crop, stage: str, row: int, has_container: bool) -> str:
    parts = []
    if not math.isnan(crop.threshold):
        parts.append(
            f"Established plants lose {crop.slope:g} % for each dS/m of saturated extract above "
            f"{crop.threshold:g} (soil-based)."
        )
    if has_container:
        method = extraction_methods()[result.zone_method[row]].name
        suits = float(np.asarray(result.zone.suits)[row])
        injures = float(np.asarray(result.zone.injures)[row])
        parts.append(
            f"Container media at this stage ({stage}): up to {suits:g} dS/m suits, from "
            f"{injures:g} most crops are injured ({method})."
        )
    if result.verdicts.verdict[row] == Verdict.CANNOT_TELL:
        parts.append("No limit is published for this crop that this reading can be held against.")
    elif len(parts) > 1:
        parts.append("The stricter of the two governs.")
    if not math.isnan(result.stands_up_to[row]):
        parts.append(f"It stands up to {result.stands_up_to[row]:.2g} dS/m of saturated extract.")
    return " ".join(parts)
