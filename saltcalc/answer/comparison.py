"""Several media side by side: one row each, and first the differences that matter."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from saltcalc.answer.quantities import INTERVALS, Json, quantity
from saltcalc.case.vocabulary import STAGES
from saltcalc.data.nutrients import NUTRIENTS
from saltcalc.parts.answer import Readings
from saltcalc.parts.assessment import Assessment
from saltcalc.parts.assumptions import state_defaults, state_readings, uses_of
from saltcalc.parts.causes.show import WeighedCause, show_causes
from saltcalc.parts.crops.verdicts import VERDICTS, Standing, standing_of
from saltcalc.parts.flush.show import show_flush_plan
from saltcalc.parts.notes import Notes
from saltcalc.parts.nutrients.arrays import STATUSES
from saltcalc.parts.salinity import show_salinity
from saltcalc.parts.sodicity import show_sodicity
from saltcalc.science.character import CHARACTERS, NO_CHARACTER, salt_character
from saltcalc.science.diagnosis import POSSIBLE, SUPPORTED
from saltcalc.science.diagnosis import VERDICTS as DIAGNOSES
from saltcalc.science.tolerance import Verdict
from saltcalc.words.catalogue import words
from saltcalc.words.rendering import as_json

OF_MEDIUM = ("/medium", "/observations", "/not_seen")
"""Parts of a request that each medium has of its own; all others are shared."""


def answer_comparison(
    assessment: Assessment, names: Sequence[str], readings: Sequence[Readings]
) -> Json:
    """Return media side by side.

    Parameters
    ----------
    assessment : Assessment
        One sample a medium, all with the same containers and crops.
    names : sequence of str
        Of the media.
    readings : sequence of list
        Of the request of each, as :func:`saltcalc.case.intake.readings_of` finds them.
    """
    whole = assessment.notes()
    rows = [
        _row(assessment, name, each, sample, whole)
        for sample, (name, each) in enumerate(zip(names, readings, strict=True))
    ]
    found = [(difference.id, list(difference.tell(rows))) for difference in DIFFERENCES]
    return {
        "differences": [record for _, records in found for record in records],
        "alike": [name for name, records in found if not records],
        "matrix": rows,
        "intervals": INTERVALS,
    } | as_json(whole.closing(), words())


def _row(assessment: Assessment, name: str, readings: Readings, sample: int, whole: Notes) -> Json:
    notes = assessment.notes()
    state_readings(readings, notes)
    state_defaults(assessment, sample, uses_of(assessment, sample) - {"upkeep", "water_use"}, notes)
    samples = assessment.batch.samples
    salinity = as_json(show_salinity(assessment, sample, notes), words())
    sodicity = as_json(show_sodicity(assessment, sample, notes), words())["medium"]
    flush = as_json(show_flush_plan(assessment, sample, notes) or [], words())
    character = int(salt_character(samples.medium.ions).code[sample])
    row = {
        "medium": name,
        "ec_25c": salinity and salinity["ec_25c"],
        "method": salinity and salinity["method"],
        "class": salinity and salinity["class"],
        "ec_saturated_extract": salinity and salinity["ec_saturated_extract"],
        "character": None if character == NO_CHARACTER else CHARACTERS[character],
        "sar": sodicity and sodicity["sar"],
        "sodicity_class": sodicity and sodicity["class"],
        "nitrate_n": quantity(_reported(assessment, sample, "nitrate_n"), "mg/L"),
        "nitrogen_status": _status(assessment, sample, "nitrate_n"),
        "ph": quantity(float(samples.medium.ph[sample]), "1"),
        "ph_status": _status(assessment, sample, "ph"),
        "main_cause": main_cause(show_causes(assessment, sample, notes)),
        "crops": _crops(assessment, sample),
        "flush": [{member: plan[member] for member in _OF_PLAN} for plan in flush],
    }
    whole.adopt(notes, {part: f"/media/{sample}{part}" for part in OF_MEDIUM})
    return row


_STANDS_OUT = {DIAGNOSES[POSSIBLE], DIAGNOSES[SUPPORTED]}


def main_cause(causes: list[WeighedCause]) -> Json | None:
    """Return the best supported cause, with those tied with it, or None where none is possible."""
    leading = next((each for each in causes if each.verdict in _STANDS_OUT), None)
    if leading is None:
        return None
    return {member: getattr(leading, member) for member in _OF_CAUSE}


_OF_CAUSE = ("cause", "name", "verdict", "tied_with")
_OF_PLAN = ("container", "drainage", "water_per_container", "water_total")


def _reported(assessment: Assessment, sample: int, nutrient: str) -> float:
    return float(assessment.nutrients.value[sample, NUTRIENTS.index(nutrient)])


def _status(assessment: Assessment, sample: int, nutrient: str) -> str:
    return STATUSES[assessment.nutrients.status[sample, NUTRIENTS.index(nutrient)]]


_OF_STANDING = (
    "crop",
    "name",
    "relative_yield",
    "emergence",
    "verdict",
    "verdict_range",
    "governing",
)


def _crops(assessment: Assessment, sample: int) -> list[Json]:
    plantings, crops = assessment.batch.plantings, assessment.crops
    if math.isnan(assessment.salinity.ec_25c[sample]):
        return []
    rows = []
    for row in assessment.plantings_of(sample):
        highest = float(crops.stands_up_to[row])
        standing = Standing(**standing_of(assessment.crop_of(row), crops.verdicts, row, highest))
        shown = as_json(standing, words())
        stage = STAGES[plantings.stage[row]]
        rows.append({member: shown[member] for member in _OF_STANDING} | {"stage": stage})
    return rows


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _by_value(rows: list[Json], value: Callable[[Json], str | None]) -> dict[str, list[str]]:
    """Names of the media by what they show, those that show nothing left out."""
    found: dict[str, list[str]] = {}
    for row in rows:
        shown = value(row)
        if shown is not None:
            found.setdefault(shown, []).append(row["medium"])
    return found


def _told(found: dict[str, list[str]]) -> str:
    return "; ".join(f"{shown}: {_listed(names)}" for shown, names in found.items())


_IN_WORDS = {
    VERDICTS[Verdict.FAILS]: "fails",
    VERDICTS[Verdict.REDUCED]: "is held back",
    VERDICTS[Verdict.CANNOT_TELL]: "is not known",
    VERDICTS[Verdict.STANDS_IT]: "tolerant",
}
_WORST_FIRST = tuple(_IN_WORDS)


def _verdicts(rows: list[Json]) -> Iterator[Json]:
    """Crops that stand one medium and not another; those that fail somewhere first."""
    records = []
    judged = [row for row in rows if row["crops"]]
    for position, planting in enumerate(judged[0]["crops"] if judged else []):
        shown = [(row["medium"], row["crops"][position]["verdict"]) for row in judged]
        found: dict[str, list[str]] = {}
        for verdict in _WORST_FIRST:
            names = [name for name, each in shown if each == verdict]
            if names:
                found[verdict] = names
        if len(found) > 1:
            worst = _WORST_FIRST.index(next(iter(found)))
            told = "; ".join(f"{_IN_WORDS[v]} in {_listed(names)}" for v, names in found.items())
            sentence = f"{planting['name']} ({planting['stage']}) {told}."
            records.append((worst, _difference("crop_verdict", sentence, found)))
    yield from (record for _, record in sorted(records, key=lambda each: each[0]))


def _ec(rows: list[Json]) -> Iterator[Json]:
    """Tell the least from the most salty medium, if their intervals do not meet."""
    read = [row for row in rows if row["ec_saturated_extract"]]
    if len(read) < 2:
        return
    least = min(read, key=lambda row: float(row["ec_saturated_extract"]["value"]))
    most = max(read, key=lambda row: float(row["ec_saturated_extract"]["value"]))
    low, high = least["ec_saturated_extract"], most["ec_saturated_extract"]
    if low.get("high", low["value"]) >= high.get("low", high["value"]):
        return
    yield _difference(
        "ec",
        f"Salt, as saturated extract, runs from {low['value']:.2g} dS/m ({least['medium']}) to "
        f"{high['value']:.2g} dS/m ({most['medium']}).",
        {least["class"]: [least["medium"]], most["class"]: [most["medium"]]}
        if least["class"] != most["class"]
        else {},
    )


def _of_member(which: str, member: str, title: str) -> Callable[[list[Json]], Iterator[Json]]:
    """Tell the media apart by one member of their rows."""

    def tell(rows: list[Json]) -> Iterator[Json]:
        def value(row: Json) -> str | None:
            return None if row[member] in (None, "undetermined") else str(row[member])

        found = _by_value(rows, value)
        if len(found) > 1:
            yield _difference(which, f"{title}: {_told(found)}.", found)

    return tell


def _causes(rows: list[Json]) -> Iterator[Json]:
    """Tell the media apart by what most likely ails them."""

    def value(row: Json) -> str:
        cause = row["main_cause"]
        return f"{cause['name']} ({cause['verdict']})" if cause else "nothing stands out"

    found = _by_value(rows, value)
    if len(found) > 1:
        yield _difference("main_cause", f"What ails them first: {_told(found)}.", found)


def _litres(rows: list[Json]) -> Iterator[Json]:
    """Which containers need water in one medium and not, or much more, in another."""
    planned = [row for row in rows if row["flush"]]
    for position, container in enumerate(planned[0]["flush"] if planned else []):
        if container["drainage"] == "sealed":
            continue
        litres = {
            row["medium"]: (row["flush"][position]["water_per_container"] or {"value": 0.0})[
                "value"
            ]
            for row in planned
        }
        least, most = min(litres.values()), max(litres.values())
        if most <= _MUCH_MORE_WATER * least:
            continue
        name = container["container"] or "container"
        told = "; ".join(
            f"{medium}: {value:.2g} L" if value else f"{medium}: none"
            for medium, value in litres.items()
        )
        yield _difference("litres_to_flush", f"Water to flush each {name}: {told}.", {})


_MUCH_MORE_WATER = 1.5
"""Ratio of litres from which a difference is worth telling (judgement)."""


def _difference(which: str, sentence: str, found: dict[str, list[str]]) -> Json:
    return {
        "id": which,
        "sentence": sentence,
        "media": [{"value": value, "media": names} for value, names in found.items()],
    }


@dataclass(frozen=True)
class Difference:
    """One way in which media can differ; the order of them is the order in which they matter."""

    id: str
    tell: Callable[[list[Json]], Iterator[Json]]


DIFFERENCES = (
    Difference("crop_verdict", _verdicts),
    Difference("main_cause", _causes),
    Difference("ec", _ec),
    Difference("salt_character", _of_member("salt_character", "character", "Kind of salt")),
    Difference("sodicity", _of_member("sodicity", "sodicity_class", "Sodium hazard")),
    Difference("nitrogen", _of_member("nitrogen", "nitrogen_status", "Nitrate nitrogen")),
    Difference("ph", _of_member("ph", "ph_status", "pH")),
    Difference("litres_to_flush", _litres),
)
