"""Nutrients in words and quantities: status, remedies in generic terms, weeks of nitrogen."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from saltcalc.answer.quantities import SHARE_UNIT, Json, quantity
from saltcalc.answer.wording import figure
from saltcalc.case.vocabulary import STAGES
from saltcalc.data.causes import causes
from saltcalc.data.extraction import extraction_methods
from saltcalc.data.nutrients import (
    MICRONUTRIENTS,
    NUTRIENTS,
    NutrientRange,
    amendment_figures,
    nitrogen_uptake,
    nutrient_ranges,
    salt_shares,
)
from saltcalc.data.reported_ions import reported_ions
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.notes import Notes
from saltcalc.parts.nutrients import (
    NO_RANGE,
    ORGANIC_NITROGEN_CONTENT,
    TARGET_NITRATE_N,
    TARGET_PH,
    Nutrients,
    range_at,
)
from saltcalc.science.diagnosis import UNLIKELY
from saltcalc.science.nutrients import NutrientStatus, nutrient_status

STATUSES = {
    NutrientStatus.LOW: "low",
    NutrientStatus.IN_RANGE: "in range",
    NutrientStatus.HIGH: "high",
    NutrientStatus.CANNOT_TELL: "cannot tell",
}

_PLANTS = {
    "germination": {"seedling"},
    "seedling": {"seedling", "young"},
    "established": {"young", "potted", "bedding", "woody"},
}

_FED = ("nitrate_n", "phosphorus", "potassium", "calcium", "magnesium")
_MOST_OF_THEM = 3

_LOCAL = "Rates are a guide; ask your local advisory service, and try a small batch first."
_LOW, _HIGH = NutrientStatus.LOW, NutrientStatus.HIGH


def answer_nutrients(
    assessment: Assessment, names: list[str | None], sample: int, notes: Notes
) -> Json | None:
    """Return the nutrients of a sample, or None where neither pH nor a nutrient was reported.

    Parameters
    ----------
    assessment : Assessment
        Of the batch.
    names : list of str or None
        Names of this sample's containers.
    sample : int
        Which sample.
    notes : Notes
        Where to list what the part rests on.
    """
    result = assessment.nutrients
    reported = np.flatnonzero(~np.isnan(result.value[sample]))
    if not reported.size:
        notes.miss(
            "nutrients",
            ["/medium/ph", "/medium/ions"],
            "A laboratory's pH and nutrients are held against published ranges.",
        )
        return None
    return {
        "elements": [_element(assessment, sample, int(place), notes) for place in reported],
        "nitrogen": _nitrogen(assessment, names, sample, notes),
        "remedies": list(_remedies(assessment, sample, notes)),
    }


def _name(nutrient: str) -> str:
    facts = reported_ions()
    return {"ph": "pH"}.get(nutrient) or (facts[nutrient].name if nutrient in facts else nutrient)


def _unit(nutrient: str) -> str:
    return SHARE_UNIT if nutrient == "ph" else "mg/L"


def _element(assessment: Assessment, row: int, place: int, notes: Notes) -> Json:
    result, nutrient = assessment.nutrients, NUTRIENTS[place]
    method = extraction_methods()[assessment.batch.samples.extraction[row]].id
    limits = int(result.limits[row, place])
    governing = None if limits == NO_RANGE else range_at(limits)
    judged = tuple(float(part[row, place]) for part in result.judged)
    ends = [STATUSES[NutrientStatus(int(s[row, place]))] for s in _ends_of(result)]
    rule = salt_shares().get(nutrient)
    share = float(result.share[row, place])
    others = [
        each
        for each in nutrient_ranges()
        if each.nutrient == nutrient
        and not each.governing
        and each.method in {method, governing.method if governing else method}
        and each.plants in _plants_meant(assessment, row)
    ]
    sources = [governing.source] if governing else []
    if rule and not math.isnan(share):
        sources.append(rule.source)
    return {
        "nutrient": nutrient,
        "name": _name(nutrient),
        "value": quantity(float(result.value[row, place]), _unit(nutrient)),
        "status": STATUSES[NutrientStatus(int(result.status[row, place]))],
        "status_range": list(dict.fromkeys(ends)),
        "range": _range(governing) if governing else None,
        "range_method": governing.method if governing else None,
        "on_range_method": quantity(judged[0], _unit(nutrient), *judged[1:])
        if governing and governing.method != method
        else None,
        "share_of_salts": quantity(share, SHARE_UNIT) if rule else None,
        "share_range": {
            "low": _open(rule.low),
            "high": _open(rule.high),
            "unit": SHARE_UNIT,
        }
        if rule
        else None,
        "share_status": STATUSES[NutrientStatus(int(result.share_status[row, place]))]
        if rule
        else None,
        "other_ranges": [
            {
                "applies_to": each.applies_to,
                "method": each.method,
                "range": _range(each),
                "status": _other_status(each, judged[0]),
                "sources": notes.cite(each.source),
            }
            for each in others
        ],
        "note": governing.note if governing else _why_not(assessment, nutrient, row),
        "sources": notes.cite(*sources),
    }


def _plants_meant(assessment: Assessment, row: int) -> set[str]:
    """Return the kinds of plants whose ranges say something about this sample's crops."""
    plantings = assessment.batch.plantings
    stages = {STAGES[stage] for stage in plantings.stage[plantings.sample == row]} or set(STAGES)
    return {"general"}.union(*(_PLANTS[stage] for stage in stages))


def _ends_of(result: Nutrients) -> tuple[np.ndarray, ...]:
    return result.status_low, result.status, result.status_high


def _other_status(other: NutrientRange, judged: float) -> str:
    return STATUSES[NutrientStatus(int(nutrient_status(judged, other.low, other.high)))]


def _open(end: float) -> float | None:
    return None if math.isnan(end) else end


def _range(limits: NutrientRange) -> Json:
    return {
        "low": _open(limits.low),
        "high": _open(limits.high),
        "unit": _unit(limits.nutrient),
    }


def _why_not(assessment: Assessment, nutrient: str, row: int) -> str:
    if assessment.salinity.medium_kind[row] != 0:
        return "The published ranges are for container media, not for mineral soil."
    if nutrient in MICRONUTRIENTS:
        return "No range is published for this extract; ask for the saturated media extract."
    return (
        "No range is published for this extract, and the medium gives off more of it as water is "
        "added, so it cannot be scaled; ask for the saturated media extract."
    )


def _nitrogen(
    assessment: Assessment, names: list[str | None], sample: int, notes: Notes
) -> list[Json] | None:
    result, batch = assessment.nutrients, assessment.batch
    rows = np.flatnonzero(batch.containers.sample == sample)
    known = [row for row in rows if not math.isnan(result.nitrogen_held.value[row])]
    if not known:
        missing = [] if rows.size else ["/containers"]
        if not _reports_nitrogen(result, sample):
            missing.append("/medium/ions/nitrate_n")
        notes.miss(
            "nutrients/nitrogen",
            missing,
            "How long the nitrogen lasts depends on the nitrate in the water a container holds.",
        )
        return None
    stages = np.unique(batch.plantings.stage[batch.plantings.sample == sample])
    if not stages.size:
        stages = np.array([STAGES.index("seedling")])
    for stage in stages:
        _state_uptake(STAGES[stage], notes)
    answers = []
    for row, name in zip(rows, names, strict=True):
        held = tuple(float(part[row]) for part in result.nitrogen_held)
        for stage in stages:
            weeks = tuple(float(part[row, stage]) for part in result.nitrogen_weeks)
            answers.append(
                {
                    "container": name,
                    "stage": STAGES[stage],
                    "nitrogen_held": quantity(held[0], "mg", *held[1:]),
                    "weeks": quantity(weeks[0], "week", *weeks[1:]),
                    "sentence": _supply(assessment, sample, name, held[0], weeks[0], STAGES[stage]),
                    "sources": notes.cite(nitrogen_uptake()[STAGES[stage]].source),
                }
            )
    return answers


_SMALL_PLANT = 42.0
"""Age from which a plant is larger than the seedling that the weeks are counted for [days]."""


def _supply(
    assessment: Assessment, sample: int, name: str | None, held: float, weeks: float, stage: str
) -> str:
    """Say what the weeks of nitrogen count, and where a plant does not get at it."""
    place = name or "the container"
    size = "a plant past the seedling stage" if stage == "established" else "one small plant"
    count = figure(weeks, 1 if weeks < 1 else 2)
    text = (
        f"The water in {place} holds about {figure(held)} mg of dissolved nitrogen, as much as "
        f"{size} takes up in about {count} {'week' if count == '1' else 'weeks'} if its roots "
        "reach all of it; nitrogen bound in the medium, fed or leached is not counted."
    )
    if assessment.batch.samples.plant_age[sample] > _SMALL_PLANT and stage != "established":
        text += " These plants are older and larger, so it lasts them less."
    if assessment.nutrients.is_(_LOW, "nitrate_n", sample):
        text += (
            " The nitrate is below the usual range, but that is not why they stall."
            if _shortage_is_unlikely(assessment, sample)
            else " At so low a strength roots take it up slowly: plants that are pale or stand "
            "still are short of it now, whatever the weeks say."
        )
    return text


def _shortage_is_unlikely(assessment: Assessment, sample: int) -> bool:
    shortage = list(causes()).index("nitrogen_shortage")
    return bool(assessment.causes.findings.diagnosis.verdict[sample, shortage] == UNLIKELY)


def _reports_nitrogen(result: Nutrients, sample: int) -> bool:
    forms = [NUTRIENTS.index(form) for form in ("nitrate_n", "ammonium_n")]
    return not bool(np.all(np.isnan(result.value[sample, forms])))


def _state_uptake(stage: str, notes: Notes) -> None:
    row = nitrogen_uptake()[stage]
    notes.assume(
        f"nitrogen-uptake-{stage}",
        quantity(row.growth, "1/week", row.growth_low, row.growth_high),
        f"One plant a container at the {stage} stage starts at {row.dry_mass:g} g of dry matter, "
        f"doubles every {math.log(2) / row.growth:.1f} weeks, and holds {row.tissue_n:g} mg of "
        "nitrogen in a gram. Nitrogen bound in compost, fed or leached is not counted.",
        "",
        row.source,
        "common-practice",
    )


def _remedies(assessment: Assessment, row: int, notes: Notes) -> Iterator[Json]:
    """Yield what usually helps, in generic terms."""
    result = assessment.nutrients
    if result.is_(_LOW, "ph", row):
        yield _lime(result, row, notes)
    if result.is_(_HIGH, "ph", row):
        acid_feed = (
            "; no feeds with ammonium for it, as ammonium is high already, and at this pH part of "
            "it turns into ammonia gas, which harms roots"
            if result.is_(_HIGH, "ammonium_n", row)
            else "; feeds with more ammonium make a medium more acid"
        )
        yield _plain(
            "less-alkalinity",
            ["ph"],
            "Add no more lime or wood ash, and have the alkalinity of the water tested"
            f"{acid_feed}. Acid in the water is for licensed practice.",
            notes,
        )
    if result.is_(_LOW, "nitrate_n", row) and not result.is_(_HIGH, "ammonium_n", row):
        if not _complete_feed_helps(result, row):
            yield _liquid_feed(notes, why_they_stall=not _shortage_is_unlikely(assessment, row))
        if not _shortage_is_unlikely(assessment, row):
            yield _organic_nitrogen(result, row, notes)
    if result.is_(_HIGH, "ammonium_n", row):
        yield _plain(
            "let-ammonium-turn",
            ["ammonium_n"],
            "Keep the medium warm, above 15 °C, and let it dry between waterings so that air gets "
            "in and ammonium turns into nitrate; feed no ammonium, urea or fresh organic nitrogen.",
            notes,
            "mattson-2011",
            "umass-ammonium-2019",
        )
    if result.is_(_HIGH, "nitrate_n", row):
        yield _plain(
            "stop-feeding",
            ["nitrate_n"],
            "Feed nothing until the reading has come down; see the flush plan, and catch the "
            "drainage: it carries the nitrate.",
            notes,
        )
    salts = [each for each in ("sodium", "chloride") if result.is_(_HIGH, each, row)]
    if salts:
        yield _plain(
            "wash-out",
            salts,
            f"Flush with a water that is low in {' and '.join(salts)}, where the container drains, "
            "and find out whether the irrigation water or the compost brings it.",
            notes,
        )
    yield from _feeds(result, row, notes)


def _complete_feed_helps(result: Nutrients, row: int) -> bool:
    short = [each for each in _FED if result.is_(_LOW, each, row)]
    return len(short) >= _MOST_OF_THEM or bool({"phosphorus", "potassium"} & set(short))


def _feeds(result: Nutrients, row: int, notes: Notes) -> Iterator[Json]:
    """Yield what to feed where single elements, or most of them, are short."""
    short = [each for each in _FED if result.is_(_LOW, each, row)]
    if _complete_feed_helps(result, row):
        yield _plain(
            "complete-feed",
            short,
            "A complete soluble feed at a seedling rate, watered on, brings what is short; plants "
            f"that stand already can have it too. {_LOCAL}",
            notes,
        )
        return
    if "magnesium" in short and not result.is_(_LOW, "ph", row):
        yield _plain(
            "magnesium-salt",
            ["magnesium"],
            f"Magnesium sulfate in the feed lifts magnesium without changing the pH. {_LOCAL}",
            notes,
        )
    if "calcium" in short and not result.is_(_LOW, "ph", row):
        yield _plain(
            "calcium-salt",
            ["calcium"],
            "Gypsum, or calcium nitrate where nitrogen is short too, lifts calcium without "
            f"changing the pH much. {_LOCAL}",
            notes,
        )


def _plain(remedy: str, nutrients: list[str], sentence: str, notes: Notes, *sources: str) -> Json:
    return {
        "id": remedy,
        "for": nutrients,
        "sentence": sentence,
        "rate": None,
        "wait": None,
        "sources": notes.cite(*(sources or ("common-practice",))),
    }


def _liquid_feed(notes: Notes, *, why_they_stall: bool) -> Json:
    feed = (
        "a dilute complete liquid feed, its nitrogen mostly nitrate, at a seedling rate with a "
        "watering; read the EC again after a week and look for greener growth."
    )
    start = (
        f"Plants that stand already: {feed}"
        if why_they_stall
        else f"Nitrate is below the usual range; not why they stall. Once they grow: {feed}"
    )
    return _plain("liquid-feed", ["nitrate_n"], f"{start} {_LOCAL}", notes)


def _lime(result: Nutrients, row: int, notes: Notes) -> Json:
    magnesium = int(result.status[row, NUTRIENTS.index("magnesium")])
    rates = amendment_figures("dolomitic_lime", "rate_per_ph_unit")
    (wait,) = amendment_figures("dolomitic_lime", "weeks_moist_before_use")
    (full,) = amendment_figures("dolomitic_lime", "weeks_to_full_effect")
    if magnesium == _LOW:
        kind, why = "Dolomitic", "pH and magnesium are both low, and it brings magnesium too"
    elif magnesium == NutrientStatus.CANNOT_TELL:
        kind, why = "Ground", "the pH is low; take the dolomitic kind if magnesium is low too"
    else:
        kind, why = "Calcitic", "the pH is low while magnesium is not"
    lime = tuple(float(part[row]) for part in result.lime)
    return {
        "id": "dolomitic-lime" if magnesium == _LOW else "ground-limestone",
        "for": ["ph", "magnesium"] if magnesium == _LOW else ["ph"],
        "sentence": f"{kind} limestone, finely ground: {why}. Mix it in to bring the pH to about "
        f"{TARGET_PH:g}, keep the medium moist for {wait.low:g} to {wait.high:g} weeks, read the "
        f"pH again, and only then sow; coarse lime goes on working for {full.low:g} to "
        f"{full.high:g} weeks. Twice the lime does not lift the pH twice as far. {_LOCAL}",
        "rate": quantity(lime[0], "g/L", *lime[1:]),
        "wait": quantity(math.sqrt(wait.low * wait.high), "week", wait.low, wait.high),
        "sources": notes.cite(*(each.source for each in rates), wait.source, full.source),
    }


def _organic_nitrogen(result: Nutrients, row: int, notes: Notes) -> Json:
    (release,) = amendment_figures("organic_nitrogen", "released_in_2_weeks")
    rate = tuple(float(part[row]) for part in result.organic_nitrogen)
    return {
        "id": "organic-nitrogen",
        "for": ["nitrate_n"],
        "sentence": "Before the next sowing: an organic nitrogen source such as a 12-0-0 "
        f"({ORGANIC_NITROGEN_CONTENT:.0%} nitrogen), mixed in: the rate "
        f"brings nitrate nitrogen to about {TARGET_NITRATE_N:g} mg/L by saturated media extract, "
        f"with {release.low:.0%} to {release.high:.0%} set free in two weeks. It comes free as "
        "ammonium first and raises the EC: too much burns, so mix well, keep warm, wait before "
        f"sowing and read the EC again. {_LOCAL}",
        "rate": quantity(rate[0], "g/L", *rate[1:]),
        "wait": quantity(2.0, "week"),
        "sources": notes.cite(release.source, "warncke-1998", "vce-organic-n"),
    }
