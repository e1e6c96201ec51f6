"""Every limit that a crop is held against: what was found, what is allowed, what it says."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from saltcalc.answer.quantities import EC_UNIT, Json, quantity
from saltcalc.answer.wording import figure
from saltcalc.data.crops import Crop
from saltcalc.data.extraction import extraction_methods
from saltcalc.data.stage_limits import medium_limits
from saltcalc.parts.crop_limits import main_boron, main_chloride
from saltcalc.parts.crops import EXTRACT, CropsResult
from saltcalc.parts.notes import Notes
from saltcalc.science.crop_response import Rating
from saltcalc.science.tolerance import Limit, Verdict

VERDICTS = {
    Verdict.CANNOT_TELL: "cannot tell",
    Verdict.STANDS_IT: "stands it",
    Verdict.REDUCED: "reduced",
    Verdict.FAILS: "fails",
}

LIMITS = {
    Limit.YIELD: "yield response",
    Limit.EMERGENCE: "emergence",
    Limit.STAGE_CAP: "limit for this crop at this stage",
    Limit.CONTAINER: "limit for container media at this stage",
    Limit.RATING: "tolerance rating",
    Limit.APPEARANCE: "limit of acceptable look",
    Limit.CHLORIDE: "chloride",
    Limit.BORON: "boron",
    Limit.SODIUM: "exchangeable sodium",
}

RATING_WORDS = {
    "S": "sensitive",
    "MS": "moderately sensitive",
    "MT": "moderately tolerant",
    "T": "tolerant",
}

SLOPE_UNIT = "%/(dS/m)"
CHLORIDE_UNIT, BORON_UNIT = "mmol/L", "mg/L"


@dataclass(frozen=True)
class _Held:
    """One figure held against one limit."""

    found: float
    unit: str
    low: float
    high: float
    basis: str
    sentence: str
    sources: tuple[str, ...]


@dataclass(frozen=True)
class _Case:
    """One planting, for the functions that word its limits."""

    result: CropsResult
    crop: Crop
    stage: str
    row: int

    def zone(self, name: str) -> float:
        return float(np.asarray(getattr(self.result.zone, name))[self.row])


def limit_records(
    result: CropsResult, crop: Crop, stage: str, row: int, notes: Notes
) -> list[Json]:
    """Return each limit that is published for a planting, with its verdict.

    A limit of an ion that was not reported is listed too, as "cannot tell".
    """
    case = _Case(result, crop, stage, row)
    governing = int(result.verdicts.governing[row])
    records = []
    for limit, word in _WORDED.items():
        verdict = Verdict(int(result.verdicts.by_limit[limit][row]))
        held = word(case)
        if held is None or (verdict is Verdict.CANNOT_TELL and not math.isnan(held.found)):
            continue
        allowed = held.high if math.isnan(held.low) else held.low
        records.append(
            {
                "limit": LIMITS[limit],
                "verdict": VERDICTS[verdict],
                "governs": limit == governing,
                "found": quantity(held.found, held.unit),
                "allowed": quantity(allowed, held.unit, held.low, held.high)
                if math.isfinite(allowed)
                else None,
                "basis": held.basis,
                "sentence": held.sentence,
                "sources": notes.cite(*held.sources),
            }
        )
    return records


def _yield_response(case: _Case) -> _Held | None:
    crop = case.crop
    if math.isnan(crop.threshold):
        return None
    left = float(case.result.verdicts.response[case.row])
    at = f"at {figure(case.zone('ec'))} dS/m{_less_gypsum(case)}"
    lost = f"nothing is lost {at}" if left >= 100 else f"about {left:.0f} % is left {at}"
    return _Held(
        case.zone("ec"),
        EC_UNIT,
        crop.threshold,
        crop.threshold,
        EXTRACT,
        f"Established plants lose {crop.slope:g} % for each dS/m of saturated extract above "
        f"{crop.threshold:g} (soil-based), so {lost}.{_young(case)}",
        (
            crop.source,
            "maas-hoffman-1977",
            *(() if case.stage == "established" else ("judgement",)),
        ),
    )


def _less_gypsum(case: _Case) -> str:
    """Say where the EC comes from that a crop is judged by, if gypsum is taken off it."""
    shift, felt = float(case.result.tolerance_shift[case.row]), case.zone("ec")
    return f" ({figure(felt + shift)} less {figure(shift)} for gypsum)" if shift > 0 else ""


def _young(case: _Case) -> str:
    loses = case.result.verdicts.by_limit[Limit.YIELD][case.row] > Verdict.STANDS_IT
    if case.stage == "established" or not loses:
        return ""
    return " A young plant is the weaker stage: more than a quarter lost counts as failing."


def _emergence(case: _Case) -> _Held | None:
    figures = case.crop.emergence
    if figures is None:
        return None
    low, high = figures.ec50_emergence_low, figures.ec50_emergence_high
    shown = f"{low:g}" if low == high else f"{low:g} to {high:g}"
    return _Held(
        case.zone("ec"),
        EC_UNIT,
        low,
        high,
        EXTRACT,
        f"Half of the seeds fail to emerge at {shown} dS/m of saturated extract; about "
        f"{float(case.result.verdicts.emergence[case.row]):.0f} % emerge here. A seed that emerges "
        "may still fail as a seedling.",
        (figures.source, "van-genuchten-hoffman-1984", "van-genuchten-gupta-1993"),
    )


def _stage_cap(case: _Case) -> _Held | None:
    cap = next((cap for cap in case.crop.stage_caps if cap.stage == case.stage), None)
    if cap is None:
        return None
    shown = f"{cap.ec_low:g}" if cap.ec_low == cap.ec_high else f"{cap.ec_low:g} to {cap.ec_high:g}"
    return _Held(
        case.zone("ec"),
        EC_UNIT,
        cap.ec_low,
        cap.ec_high,
        EXTRACT,
        f"This crop should not meet more than {shown} dS/m of saturated extract at this stage "
        f"({case.stage}).",
        (cap.source,),
    )


def _container(case: _Case) -> _Held | None:
    suits, injures = case.zone("suits"), case.zone("injures")
    if math.isnan(suits):
        return None
    method = extraction_methods()[case.result.zone_method[case.row]]
    hardy = np.asarray(case.result.limits.rating)[case.row] >= Rating.MODERATELY_TOLERANT
    milder = (
        " These limits are drawn up for mixed and salt-sensitive plants; for a hardier crop they "
        "count one step milder."
        if hardy
        else ""
    )
    return _Held(
        case.zone("reading"),
        EC_UNIT,
        injures if hardy else suits,
        injures if hardy else suits,
        method.id,
        f"Container media at this stage ({case.stage}): up to {suits:g} dS/m suits, from "
        f"{injures:g} most crops are injured ({method.name}).{milder}",
        (medium_limits(method.id, case.stage).source, "judgement"),
    )


def _rating(case: _Case) -> _Held | None:
    crop = case.crop
    if not crop.rating or not math.isnan(crop.threshold):
        return None
    verdicts = case.result.verdicts
    if math.isnan(verdicts.response[case.row]):
        return None
    guess = " (an estimate)" if crop.rating_estimated else ""
    return _Held(
        case.zone("ec"),
        EC_UNIT,
        math.nan,
        math.inf,
        EXTRACT,
        f"Only a rating is published: {RATING_WORDS[crop.rating]}{guess}. Crops so rated keep "
        f"{verdicts.response_low[case.row]:.0f} to {verdicts.response_high[case.row]:.0f} % "
        "of their yield at this EC.",
        (crop.source, "fao29", "judgement"),
    )


def _look(case: _Case) -> _Held | None:
    crop = case.crop
    if math.isnan(crop.look_low):
        return None
    shown = (
        f"{crop.look_low:g} dS/m"
        if math.isnan(crop.look_high)
        else f"{crop.look_low:g} to {crop.look_high:g} dS/m"
    )
    return _Held(
        case.zone("ec"),
        EC_UNIT,
        crop.look_low,
        crop.look_high,
        EXTRACT,
        f"It keeps an acceptable look up to {shown} of saturated extract, in the ground.",
        (crop.source,),
    )


def _chloride(case: _Case) -> _Held | None:
    rows = main_chloride(case.crop.chloride)
    if not rows:
        return None
    low, high = min(row.threshold for row in rows), max(row.threshold for row in rows)
    shown = f"{low:g}" if low == high else f"{low:g} to {high:g}, by rootstock or cultivar,"
    then = (
        "without leaf injury"
        if math.isnan(rows[0].slope)
        else f"and loses {rows[0].slope:g} % for each mmol/L above"
    )
    others = [row for row in case.crop.chloride if row not in rows]
    varieties = "".join(
        f" Without leaf injury, {row.variety} stands {row.threshold:g}." for row in others
    )
    return _Held(
        case.zone("chloride"),
        CHLORIDE_UNIT,
        low,
        high,
        EXTRACT,
        f"It stands {shown} mmol/L of chloride in the saturated extract {then}.{varieties}"
        + _unreported(case.zone("chloride"), "chloride"),
        tuple(dict.fromkeys(row.source for row in case.crop.chloride)),
    )


def _boron(case: _Case) -> _Held | None:
    main = main_boron(case.crop.boron)
    if main is None:
        return None
    low = main.threshold_high if math.isnan(main.threshold_low) else main.threshold_low
    high = max(row.threshold_high for row in case.crop.boron)
    loses = "" if math.isnan(main.slope) else f" and loses {main.slope:g} % for each mg/L above"
    shown = f"{low:g}" if low == high else f"{low:g} to {high:g}"
    return _Held(
        case.zone("boron"),
        BORON_UNIT,
        low,
        high,
        "pore_water",
        f"It stands {shown} mg/L of boron in the pore water{loses}."
        + _unreported(case.zone("boron"), "boron"),
        tuple(dict.fromkeys(row.source for row in case.crop.boron)),
    )


def _sodium(case: _Case) -> _Held | None:
    limit = case.crop.sodium
    if limit is None:
        return None
    words = (
        f"It stands an exchangeable sodium of up to {limit.esp_limit:g} %."
        if math.isfinite(limit.esp_limit)
        else "It is tolerant of exchangeable sodium."
    )
    return _Held(
        case.zone("esp"),
        "%",
        limit.esp_limit,
        limit.esp_limit,
        "exchangeable_sodium_percentage",
        words + _unreported(case.zone("esp"), "sodium, calcium and magnesium"),
        (limit.source,),
    )


def _unreported(found: float, ion: str) -> str:
    return f" The report does not give {ion}." if math.isnan(found) else ""


_WORDED = {
    Limit.YIELD: _yield_response,
    Limit.EMERGENCE: _emergence,
    Limit.STAGE_CAP: _stage_cap,
    Limit.CONTAINER: _container,
    Limit.RATING: _rating,
    Limit.APPEARANCE: _look,
    Limit.CHLORIDE: _chloride,
    Limit.BORON: _boron,
    Limit.SODIUM: _sodium,
}
