"""The verdict on a crop, and every limit that it rests on: what was found, and what is allowed."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from saltcalc.data.crop_ph import BASES, ph_range
from saltcalc.data.crops import Crop
from saltcalc.data.extraction import extraction_methods, method_codes
from saltcalc.data.nutrients import governing_range
from saltcalc.data.stage_limits import medium_limits
from saltcalc.message import Message, say
from saltcalc.parts.crop_listings import BORON_UNIT, CHLORIDE_UNIT
from saltcalc.parts.crops.limits import main_boron, main_chloride
from saltcalc.parts.crops.tolerance import EXTRACT, CropsResult
from saltcalc.parts.notes import Known, Notes
from saltcalc.parts.shown import Amount, Text, how_known, part, shown, shows, source_keys
from saltcalc.science._arrays import Floats
from saltcalc.science.crop_limits import CropVerdicts, Limit, Verdict
from saltcalc.science.crop_response import Rating
from saltcalc.science.uncertainty import Interval

VERDICTS = {
    Verdict.TOLERATES: "tolerant",
    Verdict.CAUTION: "caution",
    Verdict.REDUCED: "reduced",
    Verdict.FAILS: "fails",
    Verdict.CANNOT_TELL: "undetermined",
}
"""The verdicts by their ids, the most lenient first."""

LIMITS = {
    Limit.YIELD: "yield_response",
    Limit.EMERGENCE: "emergence",
    Limit.STAGE_CAP: "crop_stage_limit",
    Limit.CONTAINER: "medium_stage_range",
    Limit.RATING: "tolerance_rating",
    Limit.APPEARANCE: "acceptable_appearance",
    Limit.CHLORIDE: "chloride",
    Limit.BORON: "boron",
    Limit.SODIUM: "exchangeable_sodium",
    Limit.AMMONIUM: "ammonium",
    Limit.NITROGEN: "mineral_nitrogen",
    Limit.PH: "ph",
}

VERDICT_IDS, LIMIT_IDS = tuple(VERDICTS.values()), tuple(LIMITS.values())
_UNKNOWN = VERDICTS[Verdict.CANNOT_TELL]
_BASES = (*method_codes(), "pore_water", "exchangeable_sodium_percentage")


def _open_below(value: Floats, low: Floats, high: Floats) -> Interval:
    """Let a figure without a low end, from an EC that is only the least, be the most there is."""
    return Interval(value, np.where(np.isnan(low) & ~np.isnan(high), -np.inf, low), high)


@part
class Standing:
    """How a crop tolerates a medium."""

    crop: str = shown()
    name: str = shown()
    verdicts: CropVerdicts

    @property
    @shows("Yield against that without salt.", "%")
    def relative_yield(self) -> Interval:
        """Of the yield response, or of the rating where that is all that is published."""
        found = self.verdicts
        return _open_below(found.response, found.response_low, found.response_high)

    @property
    @shows("Seeds that emerge; left out unless their half-value is published.", "%", optional=True)
    def emergence(self) -> Interval:
        """Of the seeds."""
        found = self.verdicts
        return _open_below(found.emergence, found.emergence_low, found.emergence_high)

    @property
    @shows(choices=VERDICT_IDS)
    def verdict(self) -> str:
        """The verdict by its id."""
        return VERDICTS[Verdict(int(self.verdicts.verdict))]

    @property
    @shows(
        "Verdicts over the interval, the mildest first; left out where all are `verdict`.",
        choices=VERDICT_IDS,
        optional=True,
    )
    def verdict_range(self) -> list[str]:
        """Those that can be told, if not all are the verdict."""
        ends = (self.verdicts.best, self.verdicts.verdict, self.verdicts.worst)
        known = [code for code in map(int, ends) if code != Verdict.CANNOT_TELL]
        told = [VERDICTS[Verdict(code)] for code in dict.fromkeys(known)] or [_UNKNOWN]
        return [] if told == [self.verdict] else told

    @property
    @shows("The limit that the verdict rests on.", choices=LIMIT_IDS)
    def governing_limit(self) -> str | None:
        """The limit by its id, if there is any."""
        return LIMITS.get(Limit(int(self.verdicts.governing)))

    max_tolerated_ec: float = shown(
        "Highest EC of the saturated extract that the crop still tolerates.", "dS/m"
    )


def standing_of(
    crop: Crop, verdicts: CropVerdicts, place: int | tuple[int, int], max_tolerated_ec: float
) -> dict[str, Any]:
    """Return the members of a :class:`Standing`.

    Parameters
    ----------
    crop : Crop
        Which crop.
    verdicts : CropVerdicts
        Of many.
    place : int or (int, int)
        Where in the arrays the crop is.
    max_tolerated_ec : float
        Highest EC of the saturated extract that it tolerates [dS/m].
    """
    where = (..., *place) if isinstance(place, tuple) else (..., place)
    one = CropVerdicts(**{name: column[where] for name, column in vars(verdicts).items()})
    return {
        "crop": crop.id,
        "name": crop.name,
        "verdicts": one,
        "max_tolerated_ec": max_tolerated_ec,
    }


@part
class CropLimit:
    """One limit that the crop is held against."""

    shown_as: ClassVar[str] = "Limit"

    code: Verdict
    id: str = shown(choices=LIMIT_IDS)
    verdict: str = shown(choices=VERDICT_IDS)
    governs: bool | None = shown("Left out where it does not.", optional=True)
    found: Amount = shown("What the roots meet, on the basis of the limit.")
    allowed: Amount = shown(
        "Where the limit begins to harm; low and high where sources give a range."
    )
    basis: str = shown("Extraction method, or what is compared.", choices=_BASES)
    in_words: tuple[Message, ...]

    @property
    @shows(
        "Left out of a limit that is met, and of the one that governs, which `note` tells.",
        optional=True,
    )
    def sentence(self) -> Text | None:
        """The limit in words, where it is not met and does not govern."""
        met = self.code == Verdict.TOLERATES
        return None if met or self.governs else self.in_words

    provenance: str = how_known()
    sources: list[str] = source_keys()


@dataclass(frozen=True)
class _Planting:
    """One planting, for the functions that hold it against its limits."""

    result: CropsResult
    crop: Crop
    stage: str
    row: int
    notes: Notes

    def zone(self, name: str) -> float:
        """Return one figure of what the roots meet."""
        return float(np.asarray(getattr(self.result.zone, name))[self.row])

    def hold(
        self,
        limit: Limit,
        zone: str,
        allowed: tuple[float, float],
        unit: str,
        basis: str,
        sentence: Sequence[Message],
        *rows: Known,
        also: Iterable[str] = (),
    ) -> CropLimit | None:
        """Return a limit with its verdict; None where it does not count for what was found."""
        verdict = Verdict(int(self.result.verdicts.by_limit[limit][self.row]))
        found, (low, high) = self.zone(zone), allowed
        if verdict is Verdict.CANNOT_TELL and not math.isnan(found):
            return None
        return CropLimit(
            code=verdict,
            id=LIMITS[limit],
            verdict=VERDICTS[verdict],
            governs=limit == int(self.result.verdicts.governing[self.row]) or None,
            found=Amount(found, unit),
            allowed=Amount(high if math.isnan(low) else low, unit, low, high),
            basis=basis,
            in_words=tuple(sentence),
            **self.notes.rest_on(*rows, also=also),
        )

    def hold_ec(
        self,
        limit: Limit,
        allowed: tuple[float, float],
        sentence: Sequence[Message],
        *rows: Known,
        also: Iterable[str] = (),
    ) -> CropLimit | None:
        """Return a limit of the EC of the saturated extract with its verdict."""
        return self.hold(limit, "ec", allowed, "dS/m", EXTRACT, sentence, *rows, also=also)

    def unreported(self, zone: str) -> list[Message]:
        """Say that the report does not give what a limit is of, if so."""
        return [say(f"crops.{zone}_unreported")] if math.isnan(self.zone(zone)) else []


def limits_held(
    result: CropsResult, crop: Crop, stage: str, row: int, notes: Notes
) -> list[CropLimit]:
    """Return each limit that is published for a planting, with its verdict.

    A limit of an ion that was not reported is listed too, with a verdict that cannot be told.
    """
    planting = _Planting(result, crop, stage, row, notes)
    return [held for hold in _LIMITS if (held := hold(planting)) is not None]


def _yield_response(planting: _Planting) -> CropLimit | None:
    crop, result, row = planting.crop, planting.result, planting.row
    if math.isnan(crop.threshold):
        return None
    ec, gypsum = planting.zone("ec"), float(result.tolerance_shift[row])
    left = float(result.verdicts.response[row])
    # From an EC that is only the least, what is left is the most that may be.
    open_below = math.isnan(result.verdicts.response_low[row]) and not math.isnan(left)
    kept = "kept" if left >= 100 else "left_at_most" if open_below else "left"
    sentence = say(
        f"crops.yield_{kept}_less_gypsum" if gypsum > 0 else f"crops.yield_{kept}",
        slope=crop.slope,
        threshold=crop.threshold,
        ec=ec,
        left=left,
        with_gypsum=ec + gypsum,
        gypsum=gypsum,
    )
    grown = planting.stage == "established"
    loses = result.verdicts.by_limit[Limit.YIELD][row] > Verdict.CAUTION
    return planting.hold_ec(
        Limit.YIELD,
        (crop.threshold, crop.threshold),
        [sentence, *([say("crops.young_is_weaker")] if loses and not grown else [])],
        crop,
        also=("maas_hoffman_1977", *([] if grown else ["judgement"])),
    )


def _emergence(planting: _Planting) -> CropLimit | None:
    figures = planting.crop.emergence
    if figures is None:
        return None
    half = (figures.ec50_emergence_low, figures.ec50_emergence_high)
    emerging = float(planting.result.verdicts.emergence[planting.row])
    return planting.hold_ec(
        Limit.EMERGENCE,
        half,
        [say("crops.emergence", half=_range(*half), emerging=emerging)],
        figures,
        also=("van_genuchten_hoffman_1984", "van_genuchten_gupta_1993"),
    )


def _stage_cap(planting: _Planting) -> CropLimit | None:
    stage = planting.stage
    cap = next((cap for cap in planting.crop.stage_limits if cap.stage == stage), None)
    if cap is None:
        return None
    allowed = (cap.ec_low, cap.ec_high)
    return planting.hold_ec(
        Limit.STAGE_CAP,
        allowed,
        [say("crops.stage_cap", most=_range(*allowed), stage=say(f"stage.{stage}"))],
        cap,
    )


def _container(planting: _Planting) -> CropLimit | None:
    suits, injures = planting.zone("suits"), planting.zone("injures")
    if math.isnan(suits):
        return None
    result, row, stage = planting.result, planting.row, planting.stage
    method = extraction_methods()[result.zone_method[row]]
    hardy = np.asarray(result.limits.rating)[row] >= Rating.MODERATELY_TOLERANT
    allowed = injures if hardy else suits
    sentence = say(
        "crops.container",
        stage=say(f"stage.{stage}"),
        suits=suits,
        injures=injures,
        method=say(f"extraction_methods.name.{method.id}"),
    )
    return planting.hold(
        Limit.CONTAINER,
        "reading",
        (allowed, allowed),
        "dS/m",
        method.id,
        [sentence, *([say("crops.container_for_hardier")] if hardy else [])],
        medium_limits(method.id, stage),
        also=("judgement",),
    )


def _rating(planting: _Planting) -> CropLimit | None:
    crop, verdicts, row = planting.crop, planting.result.verdicts, planting.row
    if not crop.rating or not math.isnan(crop.threshold) or math.isnan(verdicts.response[row]):
        return None
    low, high = float(verdicts.response_low[row]), float(verdicts.response_high[row])
    sentence = say(
        "crops.rating_estimated" if crop.rating_estimated else "crops.rating",
        rating=say(f"crop_rating.{crop.rating}"),
        kept=say("crops.kept_at_most" if math.isnan(low) else "crops.kept", low=low, high=high),
    )
    return planting.hold_ec(
        Limit.RATING, (math.nan, math.inf), [sentence], crop, also=("fao29", "judgement")
    )


def _look(planting: _Planting) -> CropLimit | None:
    crop = planting.crop
    if math.isnan(crop.appearance_low):
        return None
    most = _range(crop.appearance_low, crop.appearance_high)
    return planting.hold_ec(
        Limit.APPEARANCE,
        (crop.appearance_low, crop.appearance_high),
        [say("crops.look", most=most)],
        crop,
    )


def _chloride(planting: _Planting) -> CropLimit | None:
    rows = main_chloride(planting.crop.chloride)
    if not rows:
        return None
    low, high = min(row.threshold for row in rows), max(row.threshold for row in rows)
    which = "loss" if not math.isnan(rows[0].slope) else "injury" if low == high else "injuries"
    others = [row for row in planting.crop.chloride if row not in rows]
    return planting.hold(
        Limit.CHLORIDE,
        "chloride",
        (low, high),
        CHLORIDE_UNIT,
        EXTRACT,
        [
            say(f"crops.chloride_{which}", low=low, high=high, slope=rows[0].slope),
            *(
                say("crops.chloride_of_variety", variety=row.variety, threshold=row.threshold)
                for row in others
            ),
            *planting.unreported("chloride"),
        ],
        *planting.crop.chloride,
    )


def _boron(planting: _Planting) -> CropLimit | None:
    main = main_boron(planting.crop.boron)
    if main is None:
        return None
    low = main.threshold_high if math.isnan(main.threshold_low) else main.threshold_low
    high = max(row.threshold_high for row in planting.crop.boron)
    which = "boron" if math.isnan(main.slope) else "boron_loss"
    return planting.hold(
        Limit.BORON,
        "boron",
        (low, high),
        BORON_UNIT,
        "pore_water",
        [
            say(f"crops.{which}", most=_range(low, high), slope=main.slope),
            *planting.unreported("boron"),
        ],
        *planting.crop.boron,
    )


def _sodium(planting: _Planting) -> CropLimit | None:
    limit = planting.crop.sodium
    if limit is None:
        return None
    which = "sodium" if math.isfinite(limit.esp_limit) else "sodium_tolerant"
    return planting.hold(
        Limit.SODIUM,
        "esp",
        (limit.esp_limit, limit.esp_limit),
        "%",
        "exchangeable_sodium_percentage",
        [say(f"crops.{which}", most=limit.esp_limit), *planting.unreported("esp")],
        limit,
    )


def _ammonium(planting: _Planting) -> CropLimit | None:
    stood = float(np.asarray(planting.result.limits.ammonium_stood)[planting.row])
    most = float(np.fmax(planting.zone("most_ammonium"), stood))
    return _fed(planting, Limit.AMMONIUM, "ammonium", most, "ammonium_n")


def _nitrogen(planting: _Planting) -> CropLimit | None:
    least = planting.zone("least_nitrogen")
    return _fed(planting, Limit.NITROGEN, "nitrogen", least, "nitrate_n")


def _fed(
    planting: _Planting, limit: Limit, zone: str, allowed: float, nutrient: str
) -> CropLimit | None:
    """Hold what the medium feeds against its published range, where it is out of it."""
    if planting.result.verdicts.by_limit[limit][planting.row] <= Verdict.TOLERATES:
        return None
    published = governing_range(EXTRACT, nutrient, planting.result.own_ranges)
    return planting.hold(
        limit,
        zone,
        (allowed, allowed),
        "mg/L",
        EXTRACT,
        [say(f"crops.{zone}_limits", found=planting.zone(zone), allowed=allowed)],
        *((published,) if published else ()),
    )


def _ph(planting: _Planting) -> CropLimit | None:
    """Hold the pH against its range, where it is out of it."""
    result, row = planting.result, planting.row
    if result.verdicts.by_limit[Limit.PH][row] <= Verdict.TOLERATES:
        return None
    method = extraction_methods()[result.method[row]].id
    basis = BASES[int(np.asarray(result.zone.mineral)[row])]
    published = ph_range(planting.crop.id, method, basis, result.own_ranges)
    found, low = planting.zone("ph"), float(np.asarray(result.limits.ph_low)[row])
    side, end = "low", low
    if not found < low:
        side, end = "high", float(np.asarray(result.limits.ph_high)[row])
    return planting.hold(
        Limit.PH,
        "ph",
        (end, end),
        "1",
        method,
        [say(f"crops.ph_too_{side}", found=found, end=end)],
        *((published,) if published else ()),
        also=("judgement",),
    )


def _range(low: float, high: float) -> float | Message:
    """Return a range for a sentence; one figure where it has no other end."""
    return low if math.isnan(high) or low == high else say("crops.range", low=low, high=high)


_LIMITS = (
    _yield_response,
    _emergence,
    _stage_cap,
    _container,
    _rating,
    _look,
    _chloride,
    _boron,
    _sodium,
    _ammonium,
    _nitrogen,
    _ph,
)
