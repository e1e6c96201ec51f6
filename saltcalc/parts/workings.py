"""How each headline figure came about: equation, inputs, source and what lies between.

The equations are the published ones, written as a person redoes them with a calculator. A test
holds what they come to against the figures of the other parts, which are computed by ``science``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.data.extraction import (
    MEDIUM_KINDS,
    PORE_WATER,
    EcConversion,
    ec_conversions,
    extraction_methods,
)
from saltcalc.data.reported_ions import reported_ions
from saltcalc.data.substrates import substrates
from saltcalc.message import Message, say
from saltcalc.parts.crops.tolerance import YIELDS
from saltcalc.parts.equations import evaluate
from saltcalc.parts.notes import Notes
from saltcalc.parts.shown import part, row_of, shown, source_keys
from saltcalc.science.balance import ANIONS, CATIONS, phosphate_charge
from saltcalc.science.sodicity import THINNING_POWERS

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

EC_UNIT = "dS/m"
CHARGE_UNIT = "mmol_c/L"
SAR_UNIT = "(mmol/L)^0.5"

WORKINGS = (
    "ec_25c",
    "ec_saturated_extract",
    "ec_pore_water",
    "osmotic_potential",
    "charge_balance",
    "sar",
    "esp",
    "rsc",
    "relative_yield",
    "emergence",
    "ec_at_90_percent",
    "leaching_requirement",
    "gross_irrigation_ratio",
    "leaching_fraction",
    "steady_state_ec",
    "water_held",
    "flush_water",
)
"""Ids of the figures whose workings are shown."""

_SYMBOLS = {
    "sodium": "Na",
    "potassium": "K",
    "calcium": "Ca",
    "magnesium": "Mg",
    "ammonium_n": "NH4",
    "chloride": "Cl",
    "sulfate_s": "SO4",
    "nitrate_n": "NO3",
    "phosphorus": "P",
    "bicarbonate": "HCO3",
}


@part
class WorkingInput:
    """A figure that enters an equation."""

    symbol: str = shown("As the equations write it.")
    value: float = shown("Its figure, in the unit beside it.")
    unit: str = shown("'1' for a pure number.")
    meaning: Message = shown()


@part
class WorkingStep:
    """One line of a calculation."""

    symbol: str = shown("Symbol of the result.")
    equation: str = shown("The right side, in symbols that stand above.")
    value: float = shown("The result, in the unit beside it.")
    unit: str = shown("'1' for a pure number.")


@part
class Working:
    """How one figure came about."""

    id: str = shown(choices=WORKINGS)
    part: str = shown("Path of the figure in the answer.")
    title: Message = shown("What is worked out, in words.")
    inputs: list[WorkingInput] = shown("Figures that enter the equations.")
    steps: list[WorkingStep] = shown("Line by line; the last gives the figure.")
    sources: list[str] = source_keys()


Input = tuple[str, float, str] | tuple[str, float, str, Message]
"""Symbol, value and unit; its meaning where that is not the message ``symbol.<symbol>``."""

Step = tuple[str, str, str]
"""Symbol, equation and unit."""


def _working(
    which: str,
    path: str,
    inputs: Iterable[Input],
    steps: Iterable[Step],
    sources: Iterable[str],
    **told: object,
) -> Iterator[Working]:
    """Yield how a figure came about, if all that enters it is known."""
    entered = [
        WorkingInput(symbol, float(value), unit, *(meaning or (say(f"symbol.{symbol}"),)))
        for symbol, value, unit, *meaning in inputs
    ]
    figures = {each.symbol: each.value for each in entered}
    lines = []
    if not all(map(math.isfinite, figures.values())):
        return
    for symbol, equation, unit in steps:
        figures[symbol] = evaluate(equation, figures)
        lines.append(WorkingStep(symbol, equation, figures[symbol], unit))
    if math.isfinite(lines[-1].value):
        title = say(f"workings.{which}", **told)
        yield Working(which, path, title, entered, lines, list(sources))


def _of_salinity(assessment: Assessment, sample: int, notes: Notes) -> Iterator[Working]:
    medium = assessment.batch.samples.medium
    ec = float(assessment.salinity.ec_25c[sample])
    if math.isnan(ec) or assessment.ec_is_lower_bound[sample]:
        return
    yield from _working(
        "ec_25c",
        "salinity/ec_25c",
        [
            ("EC_T", float(medium.ec[sample]), EC_UNIT),
            ("T", float(medium.temperature[sample]), "°C"),
        ],
        [
            ("f_T", "0.4470 + 1.4034 × exp(−T / 26.815)", "1"),
            ("f_25", "0.4470 + 1.4034 × exp(−25 / 26.815)", "1"),
            ("EC25", "EC_T × f_T / f_25", EC_UNIT),
        ],
        notes.cite("hb60", "sheets_hendrickx_1995"),
    )
    method = extraction_methods()[assessment.batch.samples.extraction[sample]]
    kind = MEDIUM_KINDS[assessment.medium_kind[sample]]
    governing, *_ = ec_conversions(method.id, kind)
    table, along = _along(governing, ec)
    water = row_of(assessment.sample_water, sample)
    pores: list[Input] = [
        ("φ", water.total_porosity, "1"),
        ("θ", water.container_capacity, "1"),
    ]
    inputs: list[Input] = [("EC25", ec, EC_UNIT), *table]
    sources = notes.cite(governing.source)
    if method.basis == PORE_WATER:
        steps: list[Step] = [("ECp", along, EC_UNIT)]
        held = float(assessment.batch.samples.water_content[sample])
        if method.id == "pore_water_sensor" and not math.isnan(held):
            inputs.append(("θ_now", held, "1"))
            pores_now = [("EC_s", along, EC_UNIT), ("ECp", "EC_s × θ_now / θ", EC_UNIT)]
            steps = pores_now
            inputs.append(pores[1])
        back: Step = ("ECe", "ECp × θ / φ", EC_UNIT)
        known = {symbol for symbol, *_ in inputs}
        extract = [*inputs, *(each for each in pores if each[0] not in known)], [*steps, back]
        pore_water = inputs, steps
    else:
        own: Step = ("ECe", along, EC_UNIT)
        extract = inputs, [own]
        pore_water = [*inputs, *pores], [own, ("ECp", "ECe × φ / θ", EC_UNIT)]
    told = {"method": say(f"extraction_methods.name.{method.id}")}
    for which, (entered, steps) in (
        ("ec_saturated_extract", extract),
        ("ec_pore_water", pore_water),
    ):
        yield from _working(which, f"salinity/{which}", entered, steps, sources, **told)
    if assessment.medium_is_whole[sample]:
        return  # From every ion by its own activity, which no calculator does.
    pore = float(assessment.salinity.pore_water.value[sample])
    yield from _working(
        "osmotic_potential",
        "salinity/osmotic_potential",
        [("ECp", pore, EC_UNIT)],
        [("Ψ", "−0.36 × 101.325 × ECp", "kPa")],
        notes.cite("hb60"),
    )


def _along(conversion: EcConversion, ec: float) -> tuple[list[Input], str]:
    """Return the two points of a published conversion that a reading lies between, and the line."""
    points = ((0.0, 0.0), *conversion.points)
    readings = [x for x, _ in points]
    above = int(np.searchsorted(readings, ec))
    if above <= 1 or above == len(points):
        x, y = points[min(max(above, 1), len(points) - 1)]
        return [("x_2", x, EC_UNIT), ("y_2", y, EC_UNIT)], "EC25 × y_2 / x_2"
    (x, y), (x_2, y_2) = points[above - 1], points[above]
    ends: list[Input] = [("x_1", x, EC_UNIT), ("y_1", y, EC_UNIT)]
    ends += [("x_2", x_2, EC_UNIT), ("y_2", y_2, EC_UNIT)]
    return ends, "y_1 + (EC25 − x_1) × (y_2 − y_1) / (x_2 − x_1)"


def _reported(ions: Mapping[str, float], which: Iterable[str]) -> tuple[list[Input], list[Step]]:
    """Return concentrations as reported, and the lines that bring them to charges."""
    inputs: list[Input] = []
    steps: list[Step] = []
    for ion in which:
        symbol, facts = _SYMBOLS[ion], reported_ions()[ion]
        name = say("symbol.concentration", ion=say(f"reported_ions.name.{ion}"))
        inputs.append((f"c_{symbol}", ions[ion] * facts.mass_per_charge, "mg/L", name))
        steps.append((symbol, f"c_{symbol} / {facts.mass_per_charge:.6g}", CHARGE_UNIT))
    return inputs, steps


def _solutions(
    assessment: Assessment, sample: int
) -> Iterator[tuple[str, dict[str, float], float]]:
    """Yield the medium's extract and the water: their ions and their pH."""
    samples = assessment.batch.samples
    for owner, solution in (("medium", samples.medium), ("water", samples.water)):
        yield owner, row_of(solution.ions, sample), float(solution.ph[sample])


def _of_ions(assessment: Assessment, sample: int, notes: Notes) -> Iterator[Working]:
    for owner, ions, ph in _solutions(assessment, sample):
        known = [ion for ion in _SYMBOLS if not math.isnan(ions[ion])]
        cations, anions = ([ion for ion in known if ion in side] for side in (CATIONS, ANIONS))
        if not (cations and anions) or ph < 4.5:  # where free acid counts too
            continue
        inputs, steps = _reported(ions, known)
        if "phosphorus" in known:
            inputs.append(("z_P", float(phosphate_charge(ph)), "1"))
        sums = {
            symbol: " + ".join("P × z_P" if ion == "phosphorus" else _SYMBOLS[ion] for ion in side)
            for symbol, side in (("S_c", cations), ("S_a", anions))
        }
        steps += [(symbol, equation, CHARGE_UNIT) for symbol, equation in sums.items()]
        steps.append(("E", "100 × (S_c − S_a) / (S_c + S_a)", "%"))
        yield from _working(
            "charge_balance",
            f"ions/{owner}/charge_balance/error",
            inputs,
            steps,
            notes.cite("standard_methods"),
            of=say(f"workings.{owner}"),
        )


def _of_sodicity(assessment: Assessment, sample: int, notes: Notes) -> Iterator[Working]:
    for owner, ions, _ in _solutions(assessment, sample):
        told = {"of": say(f"workings.{owner}")}
        inputs, steps = _reported(ions, ("sodium", "calcium", "magnesium"))
        steps.append(("SAR", "Na / sqrt((Ca + Mg) / 2)", SAR_UNIT))
        path, sources = f"sodicity/{owner}", notes.cite("hb60")
        yield from _working("sar", f"{path}/sar", inputs, steps, sources, **told)
        if owner == "medium":
            times = float(row_of(assessment.medium_sodicity, sample).thinned)
            if times > 1:
                inputs = [*inputs, ("f", times, "1")]
                sources = notes.cite("hb60", "irrig_drain_72_503")
                steps.append(("SARe", f"SAR × power(f, {THINNING_POWERS[0]})", SAR_UNIT))
            steps += [
                ("ESR", f"max(−0.0126 + 0.01475 × {steps[-1][0]}, 0)", "1"),
                ("ESP", "100 × ESR / (1 + ESR)", "%"),
            ]
            yield from _working("esp", f"{path}/esp", inputs, steps, sources, **told)
        inputs, steps = _reported(ions, ("bicarbonate", "calcium", "magnesium"))
        steps.append(("RSC", "HCO3 − Ca − Mg", CHARGE_UNIT))
        yield from _working("rsc", f"{path}/rsc", inputs, steps, sources, **told)


def _of_crops(assessment: Assessment, sample: int, notes: Notes) -> Iterator[Working]:
    if math.isnan(assessment.salinity.ec_25c[sample]) or assessment.ec_is_lower_bound[sample]:
        return
    found = assessment.crops
    for place, row in enumerate(assessment.plantings_of(sample)):
        crop, stage = assessment.crop_of(row), assessment.stage_names[row]
        told = {"crop": crop.name, "stage": say(f"stage.{stage}")}
        path, sources = f"crops/{place}", notes.cite(crop.source)
        met = ("ECe", float(row_of(found.zone, row).ec), EC_UNIT, say("symbol.ECe_met"))
        response = [("a", crop.threshold, EC_UNIT), ("b", crop.slope, "%/(dS/m)")]
        yield from _working(
            "relative_yield",
            f"{path}/relative_yield",
            [met, *response],
            [("Y", "max(min(100 − b × (ECe − a), 100), 0)", "%")],
            sources,
            **told,
        )
        if crop.emergence:
            yield from _working(
                "emergence",
                f"{path}/emergence",
                [
                    met,
                    ("h_1", crop.emergence.ec50_emergence_low, EC_UNIT),
                    ("h_2", crop.emergence.ec50_emergence_high, EC_UNIT),
                ],
                [
                    ("EC50", "(h_1 + h_2) / 2", EC_UNIT),
                    ("Y", "100 / (1 + power(ECe / EC50, 3))", "%"),
                ],
                notes.cite(crop.emergence.source),
                **told,
            )
        shift = float(found.tolerance_shift[row])
        gypsum = [("g", shift, EC_UNIT)] if shift > 0 else []
        yield from _working(
            "ec_at_90_percent",
            f"{path}/flush_down_to/saturated_extract/values/{YIELDS.index(90.0)}",
            [*response, *gypsum],
            [("EC90", "a + (100 − 90) / b" + (" + g" if gypsum else ""), EC_UNIT)],
            sources,
            **told,
        )


def _of_leaching(assessment: Assessment, sample: int, notes: Notes) -> Iterator[Working]:
    for place, row in enumerate(assessment.plantings_of(sample)):
        crop, stage = assessment.crop_of(row), assessment.stage_names[row]
        told = {"crop": crop.name, "stage": say(f"stage.{stage}")}
        found, path = row_of(assessment.leaching, row), f"leaching/{place}"
        if math.isnan(found.requirement):
            continue
        sources = notes.cite("rhoades_1974", "fao29", crop.source)
        asked: list[Input] = [("LR", float(found.requirement), "1")]
        lines: list[Step] = []
        if found.rule == "rhoades" and not found.rain > 0:
            asked = [("ECw", float(found.ec_applied), EC_UNIT), ("a", crop.threshold, EC_UNIT)]
            lines = [("LR", "ECw / (5 × a − ECw)", "1")]
            yield from _working(
                "leaching_requirement", f"{path}/requirement", asked, lines, sources, **told
            )
        yield from _working(
            "gross_irrigation_ratio",
            f"{path}/gross_irrigation_ratio",
            asked,
            [*lines, ("AW_ET", "1 / (1 − LR)", "1")],
            sources,
            **told,
        )


def _of_upkeep(assessment: Assessment, sample: int, notes: Notes) -> Iterator[Working]:
    if math.isnan(assessment.salinity.ec_25c[sample]) or assessment.ec_is_lower_bound[sample]:
        return
    for place, row in enumerate(assessment.containers_of(sample)):
        found, path = row_of(assessment.upkeep, row), f"upkeep/{place}"
        if found.sealed:
            continue
        told = {"container": found.container or say("workings.container")}
        rain = 0.0 if math.isnan(found.rain) else float(found.rain)
        watered = [
            ("I", float(found.irrigation), "L/day"),
            ("R", rain, "L/day"),
            ("ET", float(found.evapotranspiration), "L/day"),
        ]
        fraction = ("LF", "max(I + R − ET, 0) / (I + R)", "1")
        sources = notes.cite("fao29")
        yield from _working(
            "leaching_fraction", f"{path}/leaching_fraction", watered, [fraction], sources, **told
        )
        # A crop takes 40, 30, 20 and 10 % of its water from the quarters of the root zone.
        yield from _working(
            "steady_state_ec",
            f"{path}/steady_state_ec",
            [("ECa", float(found.ec_applied), EC_UNIT), *watered],
            [
                fraction,
                ("u", "1 − LF", "1"),
                (
                    "f",
                    "(1 + 1 / (1 − 0.4 × u) + 1 / (1 − 0.7 × u) + 1 / (1 − 0.9 × u) + 1 / LF) / 5",
                    "1",
                ),
                ("EC_end", "ECa × f", EC_UNIT),
            ],
            sources,
            **told,
        )


def _of_flush_plan(assessment: Assessment, sample: int, notes: Notes) -> Iterator[Working]:
    if math.isnan(assessment.salinity.ec_25c[sample]):
        return
    for place, row in enumerate(assessment.containers_of(sample)):
        plan, path = assessment.flush_of(row), f"flush_plan/{place}"
        name = row_of(assessment.batch.containers, row).name or say("workings.container")
        substrate = list(substrates().values())[assessment.batch.samples.substrate[sample]]
        held: Input = ("W", float(plan.case.flush.water_held), "L")
        share = row_of(assessment.container_water, row).container_capacity
        yield from _working(
            "water_held",
            f"{path}/water_held",
            [("V", float(plan.case.volume), "L"), ("θ", float(share), "1")],
            [("W", "V × θ", "L")],
            notes.cite(substrate.source),
            container=name,
        )
        start, water = float(plan.case.flush.ec_medium), float(plan.case.flush.ec_water)
        target = float(plan.case.target_pore_water)
        if not plan.flushed or not start > target > water:
            continue
        mixed = float(plan.case.flush.water_held) * math.log((start - water) / (target - water))
        yield from _working(
            "flush_water",
            f"{path}/water_per_container",
            [
                held,
                ("C_0", start, EC_UNIT),
                ("C_t", target, EC_UNIT),
                ("C_w", water, EC_UNIT),
                ("k", float(plan.told.litres) / mixed, "1"),
            ],
            [("D_mixed", "W × ln((C_0 − C_w) / (C_t − C_w))", "L"), ("D", "D_mixed × k", "L")],
            notes.cite("judgement"),
            container=name,
        )


_OF_PART: Mapping[str, Callable[[Assessment, int, Notes], Iterator[Working]]] = {
    "salinity": _of_salinity,
    "ions": _of_ions,
    "sodicity": _of_sodicity,
    "crops": _of_crops,
    "leaching": _of_leaching,
    "upkeep": _of_upkeep,
    "flush_plan": _of_flush_plan,
}

WORKED_PARTS = frozenset(_OF_PART)
"""Parts of an answer with figures whose workings are shown."""


def show_workings(
    assessment: Assessment, sample: int, parts: Iterable[str], notes: Notes
) -> list[Working]:
    """Return how the headline figures of parts of an answer came about."""
    return [
        working
        for each in parts
        if each in _OF_PART
        for working in _OF_PART[each](assessment, sample, notes)
    ]
