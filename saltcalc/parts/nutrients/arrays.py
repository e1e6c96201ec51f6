"""Nutrients of a batch: status against published ranges, share of the salts, nitrogen supply."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from saltcalc.case.batch import NOT_GIVEN, Samples
from saltcalc.case.vocabulary import FEEDINGS, MICRONUTRIENT_EXTRACTS, STAGES
from saltcalc.data.crop_ph import ACID_LOVING, Basis, crop_ph_range, ph_group
from saltcalc.data.extraction import extraction_methods, method_codes
from saltcalc.data.nutrients import (
    DTPA,
    NO_RANGE,
    NUTRIENTS,
    REFERENCE_METHOD,
    NutrientRange,
    amendment_figures,
    comparable_with_reference,
    governing_range,
    nutrient_ranges,
    salt_shares,
)
from saltcalc.data.reported_ions import reported_ions
from saltcalc.parts.nutrients.cat import cat_places, own_cat_places, with_cat
from saltcalc.parts.nutrients.supply import weeks_of_supply
from saltcalc.parts.plantings import NO_CROP
from saltcalc.parts.salinity import SalinityArrays, hardly_diluted_methods
from saltcalc.parts.shown import later
from saltcalc.science._arrays import Codes, Flags, Floats, in_shape
from saltcalc.science.extraction import convert, to_pore_water
from saltcalc.science.nutrients import (
    lime_rate,
    nitrogen_in_held_water,
    nutrient_status,
    organic_nitrogen_rate,
    salt_share,
)
from saltcalc.science.uncertainty import Interval

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

STATUSES = ("low", "in_range", "high", "undetermined")
"""Words for the values of `NutrientStatus`, by their codes."""

TARGET_NITRATE_N = 100.0
"""Nitrate nitrogen that feeding aims at [mg/L, saturated media extract]: where optimum begins."""

ORGANIC_NITROGEN_CONTENT = 0.12
"""Nitrogen in a 12-0-0 [g/g]."""

_LIQUID = ("liquid_feed", "coated_and_liquid")

_PLACE = {nutrient: place for place, nutrient in enumerate(NUTRIENTS)}


@dataclass(frozen=True)
class NutrientArrays:
    """Nutrients of a batch; samples by nutrients unless said otherwise.

    Attributes
    ----------
    value : (n, nutrients) ndarray
        As reported, in the order of :data:`saltcalc.data.nutrients.NUTRIENTS` [mg/L; pH].
    judged : Interval of (n, nutrients) ndarray
        On the extract of the range that governs [mg/L; pH].
    ranges : tuple of NutrientRange
        The published ranges, then those of pH for the crops of this batch.
    limits : (n, nutrients) ndarray of int
        Place of the range that governs in `ranges`, or `NO_RANGE`.
    low, high : (n, nutrients) ndarray
        Ends of that range [mg/L; pH]; NaN where it has none.
    ph_planting : (n,) ndarray of int
        The planting whose range of pH governs, or `NO_CROP`.
    status, status_low, status_high : (n, nutrients) ndarray of int
        Values of `NutrientStatus`, for the value and for the ends of its interval.
    share : (n, nutrients) ndarray
        Share of the total soluble salts [-]; NaN where the rule does not apply.
    by_cat : (n, nutrients) ndarray of bool
        Where the figure is by CaCl2/DTPA, in a litre of medium; nitrate_n with a range is then all
        mineral nitrogen.
    share_status : (n, nutrients) ndarray of int
        That share against the balance rule.
    nitrogen_held : callable that returns Interval of (m,) ndarray
        Mineral nitrogen in the water of one container, one row a container [mg].
    nitrogen_weeks : tuple of (callable that returns Interval of (m,) ndarray)
        By stage, how long it lasts the plants of a container, those told each at its own stage,
        else one at that stage [week].
    target_ph : (n,) ndarray
        Middle of the range of pH; NaN for plants that suffer from lime.
    lime : callable that returns Interval of (n,) ndarray
        Ground limestone that would bring the pH there [g/L of medium].
    organic_nitrogen : callable that returns Interval of (n,) ndarray
        12-0-0 that would bring nitrate to `TARGET_NITRATE_N` [g/L of medium].
    """

    value: Floats
    judged: Interval
    ranges: tuple[NutrientRange, ...]
    limits: Codes
    low: Floats
    high: Floats
    ph_planting: Codes
    status: Codes
    status_low: Codes
    status_high: Codes
    share: Floats
    by_cat: Flags
    share_status: Codes
    nitrogen_held: Callable[[], Interval]
    nitrogen_weeks: tuple[Callable[[], Interval], ...]
    target_ph: Floats
    lime: Callable[[], Interval]
    organic_nitrogen: Callable[[], Interval]


def assess_nutrients(assessment: Assessment) -> NutrientArrays:
    """Hold the nutrients of a batch against the published ranges."""
    samples = assessment.batch.samples
    value, by_cat = with_cat(samples, _reported(samples))
    limits, converted = _limits(samples, assessment.mineral_soil)
    own = _own_places(assessment)
    if by_cat.any():
        limits, converted = np.where(by_cat, cat_places(assessment), limits), converted & ~by_cat
        own = np.where(by_cat, own_cat_places(assessment), own)
    limits, converted = np.where(own == NO_RANGE, limits, own), converted & (own == NO_RANGE)
    ranges, planting = _ph_by_crop(assessment, value[:, _PLACE["ph"]], limits)
    by_feeding = _by_feeding(assessment, limits, (own != NO_RANGE) | by_cat)
    converted &= ~by_feeding
    low, high = _ends(ranges, limits)
    target = _target_ph(assessment, planting, low[:, _PLACE["ph"]], high[:, _PLACE["ph"]])
    judged = _as_judged(assessment, value, converted & ~np.isnan(value))
    for end, error in ((judged.low, -samples.ph_error), (judged.high, samples.ph_error)):
        end[:, _PLACE["ph"]] += error
    share = np.where(by_cat, np.nan, _share(assessment, value))
    nitrogen_by_cat = by_cat[:, _PLACE["nitrate_n"]]
    held = later(lambda: _nitrogen(assessment, value, nitrogen_by_cat))

    def weeks(stage: str) -> Callable[[], Interval]:
        supply: Callable[[], Interval] = later(lambda: weeks_of_supply(assessment, held(), stage))
        return supply

    status, status_low, status_high = nutrient_status(np.stack(judged), low, high)
    return NutrientArrays(
        value=value,
        judged=judged,
        ranges=ranges,
        limits=limits,
        low=low,
        high=high,
        ph_planting=planting,
        status=status,
        status_low=status_low,
        status_high=status_high,
        share=share,
        by_cat=by_cat,
        share_status=nutrient_status(share, *_share_ends()),
        nitrogen_held=held,
        nitrogen_weeks=tuple(map(weeks, STAGES)),
        target_ph=target,
        lime=later(lambda: _lime(value[:, _PLACE["ph"]], target)),
        organic_nitrogen=later(
            lambda: _organic_nitrogen(
                np.where(nitrogen_by_cat, np.nan, judged.value[:, _PLACE["nitrate_n"]]),
                assessment.sample_water.total_porosity,
            )
        ),
    )


def _as_judged(assessment: Assessment, value: Floats, converted: Flags) -> Interval:
    """Bring figures to the extract of their range where that is another one."""
    if not converted.any():
        return Interval(value, value.copy(), value.copy())
    return Interval(
        *(
            np.where(converted, value * part[:, np.newaxis], value)
            for part in _to_reference(assessment)
        )
    )


def _reported(samples: Samples) -> Floats:
    facts, found = reported_ions(), np.full((samples.count, len(NUTRIENTS)), np.nan)
    found[:, _PLACE["ph"]] = samples.medium.ph
    for ion, amounts in samples.medium.ions.items():
        if ion in _PLACE:
            found[:, _PLACE[ion]] = amounts * facts[ion].mass_per_charge
    for element, amounts in samples.micronutrients.items():
        column = found[:, _PLACE[element]]
        np.copyto(column, amounts, where=~np.isnan(amounts))
    return found


def _limits(samples: Samples, mineral: Flags) -> tuple[Codes, Flags]:
    """Return the place of the governing range, and whether the figure is scaled to reach it."""
    own, reference, by_dtpa = _governing_places()
    limits = own[samples.extraction]
    scaled = (limits == NO_RANGE) & (reference[samples.extraction] != NO_RANGE)
    limits = np.where(scaled, reference[samples.extraction], limits)
    is_ph = np.arange(len(NUTRIENTS)) == _PLACE["ph"]
    is_dtpa = samples.micronutrient_extract == MICRONUTRIENT_EXTRACTS.index(DTPA)
    dtpa = np.zeros(limits.shape, dtype=bool)
    for element, amounts in samples.micronutrients.items():
        dtpa[:, _PLACE[element]] = is_dtpa & ~np.isnan(amounts)
    limits, scaled = np.where(dtpa, by_dtpa, limits), scaled & ~dtpa
    paste, extract = method_codes()["saturated_paste"], method_codes()[REFERENCE_METHOD]
    limits[mineral] = np.where(is_ph, own[paste, _PLACE["ph"]], NO_RANGE)
    # The pH range of the saturated paste is that of mineral soils.
    by_paste = ~mineral & (samples.extraction == paste)
    limits[by_paste, _PLACE["ph"]] = own[extract, _PLACE["ph"]]
    return limits, scaled & ~is_ph & (limits != NO_RANGE)


@cache
def _governing_places() -> tuple[Codes, Codes, Codes]:
    """Return places of ranges: by method, by the reference for each method, and by DTPA."""
    places = {each: place for place, each in enumerate(nutrient_ranges())}

    def place(method: str, nutrient: str) -> int:
        found = governing_range(method, nutrient)
        return NO_RANGE if found is None else places[found]

    methods = [method.id for method in extraction_methods()]
    own = np.array([[place(method, nutrient) for nutrient in NUTRIENTS] for method in methods])
    reference = np.array(
        [
            [
                place(REFERENCE_METHOD, nutrient)
                if comparable_with_reference(method, nutrient)
                else NO_RANGE
                for nutrient in NUTRIENTS
            ]
            for method in methods
        ]
    )
    return own, reference, np.array([place(DTPA, nutrient) for nutrient in NUTRIENTS])


def _ends(ranges: tuple[NutrientRange, ...], limits: Codes) -> tuple[Floats, Floats]:
    lows = np.array([each.low for each in ranges] + [np.nan])
    highs = np.array([each.high for each in ranges] + [np.nan])
    return lows[limits], highs[limits]


def _ph_by_crop(
    assessment: Assessment, ph: Floats, limits: Codes
) -> tuple[tuple[NutrientRange, ...], Codes]:
    """Let the crop say which range of pH governs, in place of the general one.

    Of several crops that do not thrive the one counts whose range the pH misses most, then the one
    that is taken to stall.
    """
    plantings, samples = assessment.batch.plantings, assessment.batch.samples
    stalled, thriving = assessment.reference_plantings.stalled, assessment.batch.thriving
    mineral = assessment.mineral_soil
    ranges, column = [*nutrient_ranges(), *assessment.own_ranges], _PLACE["ph"]
    chosen, worst = stalled.copy(), np.full(ph.shape, -1.0)
    general = limits[:, column].copy()
    thrives = set(zip(thriving.sample.tolist(), thriving.crop.tolist(), strict=True))
    stalls = set(stalled.tolist())
    alike = [*zip(assessment.crop_ids, plantings.stage.tolist(), strict=True)]
    rows = range(plantings.sample.size)
    for row in sorted(rows, key=lambda row: (row not in stalls, alike[row])):
        sample = int(plantings.sample[row])
        if (sample, int(plantings.crop[row])) in thrives:
            continue
        method = extraction_methods()[samples.extraction[sample]].id
        basis: Basis = "mineral" if mineral[sample] else "soilless"
        own = crop_ph_range(assessment.crop_ids[row], method, basis)
        place = int(general[sample])
        if own is not None:
            place = len(ranges)
            ranges.append(own)
        low, high = (
            (ranges[place].low, ranges[place].high) if place != NO_RANGE else (np.nan, np.nan)
        )
        reading = float(ph[sample])
        missed = max(0.0, low - reading, reading - high)  # a missing end is missed by nothing
        if missed > worst[sample]:
            worst[sample], chosen[sample], limits[sample, column] = missed, row, place
    return tuple(ranges), chosen


def _own_places(assessment: Assessment) -> Codes:
    """Return places of own ranges behind the published ones, samples by nutrients."""
    extraction = assessment.batch.samples.extraction
    places = np.full((extraction.size, len(NUTRIENTS)), NO_RANGE)
    for place, each in enumerate(assessment.own_ranges, start=len(nutrient_ranges())):
        of_method = extraction == method_codes().get(each.method, NOT_GIVEN - 1)
        places[of_method, _PLACE[each.nutrient]] = place
    return places


def _by_feeding(assessment: Assessment, limits: Codes, own: Flags) -> Flags:
    """Let the way of feeding say which range of a pour-through governs; return where it does.

    The ranges for nursery stock differ several times between liquid feed and coated fertilizer.
    Where it is not known which it is, neither governs. A greenhouse crop on liquid feed keeps the
    range that it has; on coated fertilizer it has none.
    """
    samples, changed = assessment.batch.samples, np.zeros(limits.shape, dtype=bool)
    poured = ~assessment.mineral_soil & (samples.extraction == method_codes()["pour_through"])
    if not poured.any():
        return changed
    nursery = _nursery_places()
    coated = assessment.coated_alone
    liquid = np.isin(samples.feeding, [FEEDINGS.index(each) for each in _LIQUID])
    stalled = assessment.reference_plantings.stalled
    woody = np.array(
        [row != NO_CROP and assessment.crop_of(int(row)).woody for row in stalled], dtype=bool
    )
    any_crop = woody | (stalled == NO_CROP)
    known = nursery["liquid_feed"] != NO_RANGE
    known[_PLACE["ph"]] = False
    choose = (
        (poured & woody & liquid, nursery["liquid_feed"]),
        (poured & any_crop & coated, nursery["coated_fertilizer"]),
        (poured & any_crop & ~liquid & ~coated, np.full(len(NUTRIENTS), NO_RANGE)),
        (poured & ~any_crop & coated, np.full(len(NUTRIENTS), NO_RANGE)),
    )
    for rows, places in choose:
        where = rows[:, np.newaxis] & known & ~own
        limits[where] = in_shape(places, limits.shape)[where]
        changed |= where
    return changed


@cache
def _nursery_places() -> Mapping[str, Codes]:
    """Return the places of the ranges of pour-through for nursery stock, by how it is fed."""
    places = {
        feeding: np.full(len(NUTRIENTS), NO_RANGE)
        for feeding in ("liquid_feed", "coated_fertilizer")
    }
    for place, each in enumerate(nutrient_ranges()):
        if each.method == "pour_through":
            for feeding in each.feeding:
                places[feeding][_PLACE[each.nutrient]] = place
    return places


def _target_ph(assessment: Assessment, planting: Codes, low: Floats, high: Floats) -> Floats:
    """Aim at the middle of the range; nothing brings the pH of plants up that suffer from lime."""
    acid = np.array(
        [row != NO_CROP and ph_group(assessment.crop_ids[row]) == ACID_LOVING for row in planting],
        dtype=bool,
    )
    return np.where(acid, np.nan, (low + high) / 2)


def _reading(salinity: SalinityArrays) -> Floats:
    """EC that scales are taken at; any will do where none was measured or it is zero."""
    return np.where(salinity.ec_25c > 0, salinity.ec_25c, 1.0)


def _to_reference(assessment: Assessment) -> Interval:
    reading = _reading(assessment.salinity)
    converted = convert(
        reading,
        assessment.batch.samples.extraction,
        method_codes()[REFERENCE_METHOD],
        assessment.medium_kind,
        assessment.sample_water.pores._replace(
            water_content=assessment.batch.samples.water_content
        ),
    )
    return Interval(*(part / reading for part in converted))


def _share(assessment: Assessment, value: Floats) -> Floats:
    applies = hardly_diluted_methods()[assessment.batch.samples.extraction]
    ec = assessment.ec_of_salts
    ec = np.where((ec > 0) & applies, ec, np.nan)
    return np.where(_ruled(), salt_share(value, ec[:, np.newaxis]), np.nan)


@cache
def _ruled() -> Flags:
    """Return to which nutrients the rule of shares applies."""
    return np.array([nutrient in salt_shares() for nutrient in NUTRIENTS])


@cache
def _share_ends() -> tuple[Floats, Floats]:
    rules = salt_shares()
    low, high = (
        np.array([getattr(rules[n], end) if n in rules else np.nan for n in NUTRIENTS])
        for end in ("low", "high")
    )
    return low, high


def _nitrogen(assessment: Assessment, value: Floats, by_cat: Flags) -> Interval:
    batch, salinity, water = assessment.batch, assessment.salinity, assessment.container_water
    owner = batch.containers.sample
    reading = _reading(salinity)[owner]
    pore = to_pore_water(
        reading,
        batch.samples.extraction[owner],
        assessment.medium_kind[owner],
        water.pores._replace(water_content=batch.samples.water_content[owner]),
    )
    held = batch.containers.volume * water.container_capacity
    nitrate, ammonium = (value[owner, _PLACE[form]] for form in ("nitrate_n", "ammonium_n"))
    in_medium = nitrate * batch.containers.volume
    return Interval(
        *(
            np.where(
                by_cat[owner],
                in_medium,
                nitrogen_in_held_water(nitrate * part / reading, ammonium * part / reading, held),
            )
            for part in pore
        )
    )


def _lime(ph: Floats, target: Floats) -> Interval:
    rates = amendment_figures("dolomitic_lime", "rate_per_ph_unit")
    low, high = min(rate.low for rate in rates), max(rate.high for rate in rates)
    return Interval(*(lime_rate(ph, target, rate) for rate in (np.sqrt(low * high), low, high)))


def _organic_nitrogen(nitrate_n: Floats, total_porosity: Floats) -> Interval:
    (release,) = amendment_figures("organic_nitrogen", "released_in_2_weeks")
    wanted = np.maximum(TARGET_NITRATE_N - nitrate_n, 0.0) * total_porosity
    return Interval(
        *(
            organic_nitrogen_rate(wanted, ORGANIC_NITROGEN_CONTENT, released)
            for released in (
                np.sqrt(release.low * release.high),
                release.high,
                release.low,
            )
        )
    )
