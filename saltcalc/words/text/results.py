"""The results of a report against their ranges, in the units that the report had."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any, NamedTuple

from saltcalc.data.extraction import PORE_WATER
from saltcalc.notation import NotationError, Written, read_figure
from saltcalc.parts.summary.rows import MEASURE_OF
from saltcalc.quantities import read_quantity
from saltcalc.units import EC
from saltcalc.words.catalogue import Words
from saltcalc.words.figures import figure
from saltcalc.words.rendering import Json

_MARKS = ("low", "high")
_HARMED = ("fails", "reduced", "caution")
_TOXICITY = "_toxicity"
"""How the ids of causes end that are too much of an ion."""

_MARK_OF_BLAME = {"supported": "high", "possible": "rather_high"}
_TOO_LITTLE = "very_low"
_LOWER_BOUND = "lower_bound"
_UNDETERMINED = "undetermined"


class Result(NamedTuple):
    """One figure against its range, in words; the mark is empty where it is in range."""

    name: str
    found: str
    range: str
    mark: str
    which: str = ""
    """Id of a figure of the medium."""
    goal: str = ""
    """The range of a figure of the medium with its unit, without whose it is."""
    judged: bool = True
    """Whether a range or a limit is known that it could be out of."""

    @property
    def cells(self) -> tuple[str, ...]:
        """What is in the table."""
        return self.name, self.found, self.range, self.mark


def results_of(answer: Json, request: Json | None, words: Words) -> list[Result]:
    """Return the figures of a report against their ranges.

    Parameters
    ----------
    answer : dict
        As the service gives it.
    request : dict, optional
        What was asked; the figures are told in its units.
    words : Words
        Of the language of the answer.
    """
    given: Any = (request or {}).get("medium") or {}
    given = given if isinstance(given, dict) else {"ec": given}
    ions = {**(given.get("micronutrients") or {}), **(given.get("ions") or {})}
    water: Any = (request or {}).get("water") or {}
    water = water if isinstance(water, dict) else {"ec": water}
    found = [
        *_ec(answer, given.get("ec"), words),
        *_elements(answer, ions, words),
        *_without_range(answer, ions, words),
        *_sodium(answer["sodicity"]["medium"], words),
        *_water_ec(answer["water"], water.get("ec"), words),
        *_water_ions(answer, water.get("ions") or {}, words),
        *_water_sodium(answer, water.get("ions") or {}, words),
        *_alkalinity(answer["water"], words),
    ]
    return sorted(found, key=lambda each: not each.mark)


def in_own_unit(answer: Json, request: Json | None, words: Words) -> str:
    """Return what the reading that ends a plan is in the unit that the EC was typed in.

    Nothing where that unit is the one of the plan, or none was typed.
    """
    given: Any = (request or {}).get("medium") or {}
    typed = _typed(given.get("ec")) if isinstance(given, dict) else None
    ends = [each["done_at"] for each in answer["summary"]["actions"] if each.get("done_at")]
    if typed is None or not ends:
        return ""
    times = typed.value / read_quantity(given["ec"], EC).value
    if math.isclose(times, 1.0, rel_tol=0.01):
        return ""
    reading = ends[0]["value"]
    own = _with(_figure(times * reading, words), typed.unit)
    return words.tell("results.in_own_unit", reading=_figure(reading, words), own=own)


def own_over_range(row: Json) -> float:
    """Return what turns the ends of an element's range into the extract of its figure.

    Parameters
    ----------
    row : dict
        Of an element, as the service gives it.

    Returns
    -------
    float
        The figure over what it is by the extract that the range is for; 1 where that is its own.
    """
    scaled = row.get("on_range_method")
    return row["figure"]["value"] / scaled["value"] if scaled and scaled["value"] else 1.0


def as_known(row: Json, words: Words) -> str:
    """Return the sentence of a row, with a word where its limit was not looked up."""
    said = str(row["sentence"])
    if row.get("provenance") != "memory":
        return said
    return f"{said.removesuffix('.')} ({words.tell('figure_from_memory')})."


class _Typed(NamedTuple):
    """A figure in the unit that it was typed in: the middle of what lies below a limit."""

    value: float
    unit: str
    is_limit: bool


def _typed(given: Any) -> _Typed | None:
    """Return the figure and the unit that were typed, or None where they were not.

    Of what was typed as a range it is the middle, by which the answer goes.
    """
    if isinstance(given, dict):
        given = f"{given.get('value')} {given.get('unit') or ''}".strip()
    if not isinstance(given, str):
        return None
    try:
        written: Written = read_figure(given, lambda number, unit: True)
    except NotationError:
        return None
    middle = (written.low + written.high) / 2
    if written.unit is None or not 0 < middle < math.inf:
        return None
    return _Typed(middle, written.unit, written.low == 0)


def _ends(
    low: float | None,
    high: float | None,
    words: Words,
    *,
    beside: float,
    is_converted: bool = False,
) -> str:
    """Return a range from its ends; of another method it is about so much.

    An end has two figures, or as many as it takes to lie on the side of what is ``beside`` it.
    """
    told = {
        name: figure(end, _digits(end, beside), words.language)
        for name, end in (("low", low), ("high", high))
        if end
    }
    which = "between" if len(told) == 2 else "up_to" if "high" in told else "from"
    if not told:
        return ""
    return words.tell(f"results.about_{which}" if is_converted else f"results.{which}", **told)


def _digits(end: float, beside: float) -> int:
    """Return how many figures an end of a range has where a figure lies beyond it."""
    found = float(f"{beside:.2g}")
    for digits in (2, 3, 4):
        told = float(f"{end:.{digits}g}")
        if beside == end or (found - told) * (beside - end) > 0:
            return digits
    return 2


def _figure(value: float, words: Words) -> str:
    return figure(value, language=words.language)


def _with(number: str, unit: str) -> str:
    return number if unit == "1" else f"{number} {unit}".strip()


def _ec(answer: Json, given: Any, words: Words) -> Iterator[Result]:
    part = answer["salinity"]
    if part is None:
        return
    value, unit, times = part["ec_25c"]["value"], part["ec_25c"]["unit"], 1.0
    if typed := _typed(given):
        times, unit = typed.value / read_quantity(given, EC).value, typed.unit
    is_floor = part["basis"] == _LOWER_BOUND
    usual, own = part["usual_range"], part["ec_saturated_extract"]["value"] / value if value else 1
    low, high, of = usual.get("low"), usual.get("high"), ""
    harmed: list[Json] = []
    crops = [each for each in answer["crops"] or [] if each["max_tolerated_ec"]]
    mark = "low" if part["class"] == _TOO_LITTLE and low and value < low and not is_floor else ""
    if crops:
        worst = min(crops, key=lambda each: each["max_tolerated_ec"]["value"])
        if harmed := [each for each in crops if each["verdict"] in _HARMED]:
            worst = min(harmed, key=lambda each: each["max_tolerated_ec"]["value"])
        high, of = worst["max_tolerated_ec"]["value"] / own, _of_crop(worst, words)
        low = low if mark else None
    if high and value > high:
        if harmed or not crops:
            mark = "high"
        elif worst["verdict"] == "undetermined":
            mark = "rather_high"
    if is_floor and not mark:
        return  # The least that it can be says nothing of being in range.
    found = _with(_figure(times * value, words), unit)
    if typed and not math.isclose(typed.value, times * value, rel_tol=0.01):
        found = words.tell("results.at_25", found=found)
    ends = _ends(low and times * low, high and times * high, words, beside=times * value)
    yield Result(
        name=words.tell("results.ec", method=words.tell(f"results.method.{part['method']}")),
        found=words.tell("results.at_least", found=found) if is_floor else found,
        range=ends + of,
        mark=words.tell(f"results.{mark}") if mark else "",
        which="ec",
        goal=_with(ends, unit) if ends else "",
    )


def _of_crop(crop: Json, words: Words) -> str:
    stage = words.tell(f"stage.{crop['stage']}")
    return " " + words.tell("results.of_crop", crop=crop["name"], stage=stage)


def _of_range(crop: str | None, answer: Json, words: Words) -> str:
    """Name the crop of the request whose range it is, where there are others beside it."""
    crops = {each["crop"]: each["name"] for each in answer["crops"] or []}
    if crop not in crops or len(crops) == 1:
        return ""
    return " " + words.tell("results.range_of_crop", crop=crops[crop])


def _limits_passed(answer: Json) -> dict[str, tuple[float, Json]]:
    """Return by ion how far it is above the limit of a crop, and the crop."""
    passed: dict[str, tuple[float, Json]] = {}
    for crop in answer["crops"] or []:
        for limit in crop["limits"]:
            if limit["verdict"] in _HARMED and limit["id"] in ("chloride", "boron"):
                times = limit["found"]["value"] / limit["allowed"]["value"]
                if times > passed.get(limit["id"], (1.0, crop))[0]:
                    passed[limit["id"]] = times, crop
    return passed


def _blamed(answer: Json) -> dict[str, str]:
    """Return by ion the mark of a figure that speaks for its toxicity."""
    marks = {}
    for cause in answer["causes"]["ranked"]:
        ion = MEASURE_OF.get(cause["cause"])
        is_excess = cause["cause"].endswith(_TOXICITY)
        if ion is None or not is_excess or cause["verdict"] not in _MARK_OF_BLAME:
            continue
        measures = (
            figure["measure"]
            for each in cause.get("evidence_for") or []
            for figure in each.get("figures") or []
        )
        if any(each.startswith(ion) for each in measures):
            marks[ion] = _MARK_OF_BLAME[cause["verdict"]]
    return marks


def _elements(answer: Json, ions: Json, words: Words) -> Iterator[Result]:
    passed, blamed = _limits_passed(answer), _blamed(answer)
    for row in (answer["nutrients"] or {"elements": []})["elements"]:
        value, unit, times = row["figure"]["value"], row["figure"]["unit"], 1.0
        typed = _typed(ions.get(row["nutrient"])) if value else None
        if typed:
            times, unit = typed.value / value, typed.unit
        limits = row["range"] or {}
        scaled, to_own = row.get("on_range_method"), times * own_over_range(row)
        low, high = limits.get("low"), limits.get("high")
        of = _of_range(row.get("range_crop"), answer, words)
        mark = row["status"] if row["status"] in _MARKS else ""
        ends = _ends(
            low and to_own * low,
            high and to_own * high,
            words,
            beside=times * value,
            is_converted=bool(scaled),
        )
        if row["nutrient"] in passed:
            above, crop = passed[row["nutrient"]]
            ends, of, mark = (
                _ends(None, times * value / above, words, beside=times * value),
                _of_crop(crop, words),
                "high",
            )
        if not mark and row["nutrient"] in blamed:
            ends, of, mark = "", "", blamed[row["nutrient"]]
        yield Result(
            name=row["name"],
            found=_with(f"<{_figure(2 * typed.value, words)}", unit)
            if typed and typed.is_limit
            else _with(_figure(times * value, words), unit),
            range=ends + of,
            mark=words.tell(f"results.{mark}") if mark else "",
            which=row["nutrient"],
            goal=_with(ends, unit) if ends else "",
            judged=row["status"] != _UNDETERMINED or bool(mark),
        )


def _without_range(answer: Json, ions: Json, words: Words) -> Iterator[Result]:
    """Yield what was reported and has no range, as it was typed."""
    told = {row["nutrient"] for row in (answer["nutrients"] or {"elements": []})["elements"]}
    for ion, given in ions.items():
        if ion not in told and ion in _WITHOUT_RANGE and (typed := _typed(given)):
            yield Result(
                words.tell(f"ion.{ion}"),
                _with(_figure(typed.value, words), typed.unit),
                range="",
                mark="",
                judged=False,
            )


_WITHOUT_RANGE = ("bicarbonate",)


def _sodium(part: Json | None, words: Words) -> Iterator[Result]:
    if part is None or part["sar"] is None or part["class"] in (None, "non_sodic"):
        return
    hazard = next(each for each in part["hazards"] if each["ion"] == "sodium")
    yield Result(
        words.tell("results.sar"),
        _figure(hazard["figure"]["value"], words),
        _ends(None, hazard["class_range"].get("low"), words, beside=hazard["figure"]["value"]),
        words.tell("results.high"),
    )


def _water_ec(part: Json | None, given: Any, words: Words) -> Iterator[Result]:
    if part is None:
        return
    value, unit, times = part["ec_25c"]["value"], part["ec_25c"]["unit"], 1.0
    if typed := _typed(given):
        times, unit = typed.value / read_quantity(given, EC).value, typed.unit
    above = [each for each in part["crops"] if each["exceeds"]]
    high, of, mark = None, "", ""
    if above:
        crop = min(above, key=lambda each: each["highest_ec"]["value"])
        high, mark = crop["highest_ec"]["value"], words.tell("results.high")
    elif part["class"] == "severe":
        high, mark = part["class_range"]["low"], words.tell("results.high")
    yield Result(
        words.tell("results.water", name=words.tell("measure.ec")),
        _with(_figure(times * value, words), unit),
        _ends(None, high and times * high, words, beside=times * value) + of,
        mark,
    )


def _water_ions(answer: Json, ions: Json, words: Words) -> Iterator[Result]:
    """Yield the ions of the water that ask for care, or are too much for a crop."""
    part, crops = answer["sodicity"]["water"], (answer["water"] or {"crops": []})["crops"]
    above = {ion for crop in crops for ion in crop.get("ions_above") or []}
    stood = [
        each["allowed"]["value"]
        for crop in answer["crops"] or []
        for each in crop["limits"]
        if each["id"] == "boron" and each["basis"] == PORE_WATER
    ]
    for hazard in (part or {"hazards": []})["hazards"]:
        limit = hazard["class_range"].get("low")
        is_above = hazard["ion"] in above
        if not is_above and (hazard["class"] in (None, "none") or not limit):
            continue
        value, unit, times = hazard["figure"]["value"], hazard["figure"]["unit"], 1.0
        if hazard["ion"] == "boron" and is_above and stood:
            # What the crop stands in the pores goes before the class of waters in general.
            limit = min(stood)
        if hazard["ion"] == "sodium":
            name, unit = words.tell("results.sar"), ""
        else:
            name = words.tell(f"ion.{hazard['ion']}")
            given = ions.get(hazard["ion"])
            if typed := _typed(given):
                times, unit = typed.value / value, typed.unit
            elif isinstance(given, int | float) and given:
                times, unit = given / value, "mg/L"
        mark = "high" if is_above or hazard["class"] == "severe" else "rather_high"
        yield Result(
            words.tell("results.water", name=name),
            _with(_figure(times * value, words), unit),
            _ends(None, limit and times * limit, words, beside=times * value),
            words.tell(f"results.{mark}"),
        )


def _water_sodium(answer: Json, ions: Json, words: Words) -> Iterator[Result]:
    """Yield the sodium of the water where it speaks for too much of it."""
    figures = [
        figure
        for cause in answer["causes"]["ranked"]
        if cause["cause"] == "sodium_toxicity" and cause["verdict"] in _MARK_OF_BLAME
        for each in cause.get("evidence_for") or []
        for figure in each.get("figures") or []
        if figure["measure"] == "water_sodium"
    ]
    for each in figures[:1]:
        value, limit, unit, times = each["figure"]["value"], each["limit"]["value"], "mg/L", 1.0
        if typed := _typed(ions.get("sodium")):
            times, unit = typed.value / value, typed.unit
        yield Result(
            words.tell("results.water", name=words.tell("ion.sodium")),
            _with(_figure(times * value, words), unit),
            _ends(None, times * limit, words, beside=times * value),
            words.tell("results.rather_high"),
        )


def _alkalinity(part: Json | None, words: Words) -> Iterator[Result]:
    """Yield the alkalinity of the water where it is above what its containers stand."""
    forms = {each["unit"]: each["value"] for each in (part or {"alkalinity": []})["alkalinity"]}
    value, limit = forms.get(_CACO3), (part or {}).get("alkalinity_limit")
    if value is None or not limit or not value > limit["value"]:
        return
    yield Result(
        words.tell("results.water", name=words.tell("results.alkalinity")),
        _with(_figure(value, words), _CACO3),
        _ends(None, limit["value"], words, beside=value),
        words.tell("results.high"),
    )


_CACO3 = "mg/L CaCO3"
