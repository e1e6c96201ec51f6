"""What sodium does to structure, and chloride and boron by the scales for waters."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from saltcalc.case.batch import Solutions
from saltcalc.data.water_classes import ClassScale, cax_table, class_scales, infiltration_bands
from saltcalc.message import Message, say
from saltcalc.parts.choices import names_of
from saltcalc.parts.notes import Known, Notes, Range
from saltcalc.parts.salinity import hardly_diluted_methods
from saltcalc.parts.shown import (
    Amount,
    Column,
    how_known,
    later,
    note_of,
    part,
    row_of,
    shown,
    source_keys,
)
from saltcalc.science import sodicity
from saltcalc.science._arrays import Codes, Flags, Floats, filled
from saltcalc.science.uncertainty import Interval
from saltcalc.science.water_classes import (
    INFILTRATION_CLASSES,
    NO_CLASS,
    SODIUM_HAZARD_CLASSES,
    SOIL_GROUPS,
    classify,
    infiltration_hazard,
    sodium_hazard_hb60,
    soil_group_hb60,
)

if TYPE_CHECKING:
    from saltcalc.parts.assessment import Assessment

SAR_UNIT = "(mmol/L)^0.5"
CHARGE_UNIT = "mmol_c/L"

SODIC_SAR = 13.0
"""SAR of an extract from which a medium is sodic, Handbook 60."""
_HARMLESS_SAR = 3.0  # FAO 29 Table 1, no restriction below
_TOO_PURE = 0.2  # dS/m, the least EC of FAO 29 Table 1
_MEDIUM_SCALE = ("sssa", "sar_saturation_extract")
_WATER_SCALE = ("fao29", "sodium_surface")
_RSC_SCALE = ("hb60", "rsc")
_SAR_IONS = ("sodium", "calcium", "magnesium")
_ION_SCALES = (
    ("chloride", ("fao29", "chloride_surface"), CHARGE_UNIT),
    ("boron", ("fao29", "boron"), "mg/L"),
)
HAZARD_CLASSES = tuple(each.split()[0].lower() for each in SODIUM_HAZARD_CLASSES)
"""Ids of the classes of Handbook 60: s1 is low, s4 very high."""

SODICITY_CLASSES = names_of(_MEDIUM_SCALE, _WATER_SCALE)
_OF_IONS = (_MEDIUM_SCALE, _WATER_SCALE, *(scale for _, scale, _ in _ION_SCALES))
_HAZARD_CLASSES = names_of(*_OF_IONS)
_PARAMETERS = tuple(parameter for _, parameter in _OF_IONS)
_NEEDED = {
    "sar": _SAR_IONS,
    "adjusted_sar": (*_SAR_IONS, "bicarbonate"),
    "rsc": ("calcium", "magnesium", "bicarbonate"),
    "cross": (*_SAR_IONS, "potassium"),
    "infiltration_hazard": _SAR_IONS,
}
_NEED_EC = {"adjusted_sar", "infiltration_hazard"}


@dataclass(frozen=True)
class SodicityArrays:
    """Sodium hazard, one row a sample; NaN where an ion that a figure needs is missing.

    What is only shown where an ion was reported is worked out at the first look.

    Attributes
    ----------
    sar : (n,) ndarray
        Sodium adsorption ratio [(mmol/L)^0.5].
    of_extract : Interval of (n,) ndarray
        The same of the saturated extract, which an extract with more water understates.
    before_flush : (n,) ndarray
        The same as far as it is known before a flush: where calcium or magnesium was not reported,
        the least that the EC leaves.
    thinned : float or (n,) ndarray
        EC of the saturated extract over that of the extract as made [-].
    esp : (n,) ndarray
        Exchangeable sodium percentage expected from it [%].
    infiltration : InfiltrationHazard
        Hazard by SAR and EC together.
    adjusted : AdjustedSar
        SAR after calcium has precipitated or dissolved.
    rsc : (n,) ndarray
        Residual sodium carbonate [mmol_c/L].
    hazard_class : (n,) ndarray of int
        Class of Handbook 60 by SAR and EC together, S1 to S4.
    cross, mcar, par : (n,) ndarray
        Ratios that count potassium too [(mmol/L)^0.5].
    """

    sar: Floats
    of_extract: Interval
    before_flush: Column
    thinned: Floats | float
    esp: Floats
    infiltration: Column
    adjusted: Column
    rsc: Column
    hazard_class: Column
    cross: Column
    mcar: Column
    par: Column


@part
class AdjustedSar:
    """Adjusted SAR, with the calcium it was computed from."""

    value: float = shown("SAR with the calcium that stays dissolved.")
    unit: str = shown("'1' for a pure number.")
    low: float = shown("Lower end of its 80 % interval.", optional=True)
    high: float = shown("Upper end of its 80 % interval.", optional=True)
    calcium_used: float = shown("Calcium that stays in solution near the surface.", CHARGE_UNIT)
    clamped: bool | None = shown(
        "True where the edge of the published table was used, or else left out.", optional=True
    )
    would_dissolve_lime: bool | None = shown(
        "True where lime would dissolve, or else left out; without lime the calcium of the "
        "solution itself was used.",
        optional=True,
    )


@part
class IonHazard:
    """The hazard of one ion by a published scheme."""

    ion: str = shown("The ion that may harm.", choices=("sodium", "chloride", "boron"))
    figure: Amount = shown("SAR for sodium, the concentration for the others.")
    class_: str | None = shown(choices=_HAZARD_CLASSES)
    class_range: Range = shown()
    scheme: str = shown(choices=("sssa", "fao29"))
    parameter: str = shown("The table of the scheme.", choices=_PARAMETERS)
    note: str | Message = shown(
        "What the class means; left out of the harmless one.", optional=True
    )
    provenance: str = how_known()
    sources: list[str] = source_keys()


@part
class SolutionSodicity:
    """Sodium hazard of a solution."""

    sar: float = shown("Sodium adsorption ratio, of the ions as reported.", SAR_UNIT)
    class_: str | None = shown(choices=SODICITY_CLASSES)
    adjusted_sar: AdjustedSar | None = shown()
    rsc: float = shown("Residual sodium carbonate.", CHARGE_UNIT)
    rsc_class: str | None = shown(
        "Class of the residual sodium carbonate.", choices=names_of(_RSC_SCALE)
    )
    cross: float = shown("Cation ratio of structural stability.", SAR_UNIT)
    mcar: float = shown("Monovalent cation adsorption ratio.", SAR_UNIT)
    par: float = shown("Potassium adsorption ratio.", SAR_UNIT)
    infiltration_hazard: str | None = shown(
        "Hazard that water enters slowly, by SAR and EC together.", choices=INFILTRATION_CLASSES
    )
    infiltration_at_least: bool | None = shown(
        "True where SAR lies beyond the table, so that it may be worse, or else left out.",
        optional=True,
    )
    hazards: list[IonHazard] = shown(
        "What sodium, chloride and boron do to crops, by published schemes."
    )
    sentence: Message | None = shown("What SAR and EC mean together.")
    provenance: str = how_known()
    sources: list[str] = source_keys()


@part
class MediumSodicity(SolutionSodicity):
    """Sodium hazard of the medium's extract."""

    sar_saturated_extract: Interval | None = shown(
        "What the saturated extract would show, by which the classes are; left out where the "
        "extract is that one or none thinner.",
        SAR_UNIT,
        optional=True,
    )
    esp: float = shown("Exchangeable sodium percentage, by regression.", "%")
    soil_group: str | None = shown(
        "Group of salt-affected soils, as if it were a mineral soil.", choices=SOIL_GROUPS
    )


@part
class WaterSodicity(SolutionSodicity):
    """Sodium hazard of the water."""

    hazard_class: str | None = shown(
        "S1 to S4 of Handbook 60, by SAR and EC.", choices=HAZARD_CLASSES
    )


@part
class Sodicity:
    """Sodium hazard of medium and water."""

    medium: MediumSodicity | None = shown()
    water: WaterSodicity | None = shown()


def assess_sodicity(
    solutions: Solutions, ec: Floats, lime: Flags, thinned: Floats | float = 1.0
) -> SodicityArrays:
    """Compute the sodium hazard of solutions.

    Parameters
    ----------
    solutions : Solutions
        The extracts of the media, or the waters.
    ec : (n,) ndarray
        Their EC at 25 °C [dS/m].
    lime : (n,) ndarray of bool
        Whether the medium that they meet holds lime which can dissolve.
    thinned : float or (n,) ndarray, optional
        EC of the saturated extract over that of a thinner one.
    """
    ions = solutions.ions
    sodium, potassium = ions["sodium"], ions["potassium"]
    calcium, magnesium, bicarbonate = ions["calcium"], ions["magnesium"], ions["bicarbonate"]
    cations = sodium, potassium, calcium, magnesium
    ratio = sodicity.sar(sodium, calcium, magnesium)
    of_extract = sodicity.sar_of_saturated_extract(ratio, thinned)

    def before_flush() -> Floats:
        others = filled(potassium, 0.0) + filled(ions["ammonium_n"], 0.0)
        least = sodicity.sar_by_ec(sodium, others, calcium, magnesium, ec)
        by_ec = sodicity.sar_of_saturated_extract(least, thinned).value
        return np.where(np.isnan(ratio), by_ec, of_extract.value)

    return SodicityArrays(
        sar=ratio,
        of_extract=of_extract,
        before_flush=later(before_flush),
        thinned=thinned,
        esp=sodicity.exchangeable_sodium_percentage(of_extract.value),
        infiltration=later(lambda: infiltration_hazard(of_extract.value, ec * thinned)),
        adjusted=later(
            lambda: sodicity.adjusted_sar_suarez(
                sodium, calcium, magnesium, bicarbonate, ec, lime=lime
            )
        ),
        rsc=later(lambda: sodicity.residual_sodium_carbonate(bicarbonate, calcium, magnesium)),
        hazard_class=later(lambda: sodium_hazard_hb60(of_extract.value, ec * thinned)),
        cross=later(lambda: sodicity.cross(*cations)),
        mcar=later(lambda: sodicity.mcar(*cations)),
        par=later(lambda: sodicity.par(potassium, calcium, magnesium)),
    )


def thinned_by(extraction: Codes, ec: Floats, extract: Floats) -> Floats:
    """Return the EC of the saturated extract over that of one with more water; 1 of another.

    Parameters
    ----------
    extraction : (n,) ndarray of int
        Code of the method.
    ec, extract : (n,) ndarray
        The reading, and what the saturated extract would show [dS/m].
    """
    more_water = ~hardly_diluted_methods()[extraction] & (ec > 0) & (extract > ec)
    return np.where(more_water, extract / np.where(more_water, ec, 1.0), 1.0)


def show_sodicity(assessment: Assessment, sample: int, notes: Notes) -> Sodicity:
    """Return the sodium hazard of a sample's medium and water."""
    return Sodicity(_medium(assessment, sample, notes), _water(assessment, sample, notes))


def _medium(assessment: Assessment, sample: int, notes: Notes) -> MediumSodicity | None:
    ions = row_of(assessment.batch.samples.medium.ions, sample)
    if not _any_reported(ions, "medium", notes):
        return None
    result = row_of(assessment.medium_sodicity, sample)
    extract_ec = float(assessment.salinity.saturated_extract.value[sample])
    figures = _figures(result, ions, extract_ec, "medium", _MEDIUM_SCALE, notes)
    if not math.isnan(result.sar):
        notes.find("esp_is_indicative", "note", "sodicity/medium/esp")
    if result.of_extract.value >= SODIC_SAR:
        notes.find("sodic_medium", "caution", "sodicity/medium/sar")
    group = int(soil_group_hb60(extract_ec, result.esp))
    thinner = result.of_extract.value > result.sar
    if thinner:
        figures["sources"] = notes.cite(*figures["sources"], "irrig_drain_72_503")
    return MediumSodicity(
        **figures,
        sar_saturated_extract=result.of_extract if thinner else None,
        esp=result.esp,
        soil_group=_named(group, SOIL_GROUPS),
    )


def _water(assessment: Assessment, sample: int, notes: Notes) -> WaterSodicity | None:
    ions = row_of(assessment.batch.samples.water.ions, sample)
    if not _any_reported(ions, "water", notes):
        return None
    result = row_of(assessment.water_sodicity, sample)
    ec = float(assessment.water_ec[sample])
    figures = _figures(result, ions, ec, "water", _WATER_SCALE, notes)
    if figures["infiltration_hazard"] == "severe":
        why = "pure" if result.sar < _HARMLESS_SAR else "sodium"
        notes.find(
            "infiltration_hazard",
            "caution",
            "sodicity/water/infiltration_hazard",
            why=say(f"sodicity.seals_by_{why}"),
        )
    hazard_class = _named(int(result.hazard_class), HAZARD_CLASSES)
    return WaterSodicity(**figures, hazard_class=hazard_class)


def _any_reported(ions: dict[str, float], owner: str, notes: Notes) -> bool:
    if not all(math.isnan(amount) for amount in ions.values()):
        return True
    missing = [f"/{owner}/ions/{ion}" for ion in _SAR_IONS]
    notes.miss(f"sodicity/{owner}", missing, say("missing.sodicity"))
    return False


def _figures(
    result: SodicityArrays,
    ions: dict[str, float],
    ec: float,
    owner: str,
    scale_key: tuple[str, str],
    notes: Notes,
) -> dict[str, Any]:
    """Return the members that medium and water have in common."""
    _say_what_is_missing(ions, ec, owner, notes)
    code, scale = int(result.infiltration.code), class_scales()[scale_key]
    rsc_scale = class_scales()[_RSC_SCALE]
    classed: list[Known] = [
        scale,
        rsc_scale,
        *(infiltration_bands()[:1] if code != NO_CLASS else ()),
    ]
    also = [
        "hb60",
        infiltration_bands()[0].source,
        "rengasamy_marchuk_2011",
        "smiles_smith_2004",
        *([] if math.isnan(result.adjusted.sar) else [cax_table().source, "suarez_1981"]),
    ]
    return {
        "sar": result.sar,
        "class_": _class_name(float(result.of_extract.value), scale),
        "adjusted_sar": _adjusted(result, owner, notes),
        "rsc": result.rsc,
        "rsc_class": _class_name(float(result.rsc), rsc_scale),
        "cross": result.cross,
        "mcar": result.mcar,
        "par": result.par,
        "infiltration_hazard": _named(code, INFILTRATION_CLASSES),
        "infiltration_at_least": bool(result.infiltration.at_least) or None,
        "hazards": [
            _hazard("sodium", scale_key, SAR_UNIT, float(result.of_extract.value), owner, notes),
            *(_hazard(ion, key, unit, ions[ion], owner, notes) for ion, key, unit in _ION_SCALES),
        ],
        "sentence": _reading(float(result.of_extract.value), ec, code),
        **notes.rest_on(*classed, also=also),
    }


def _say_what_is_missing(ions: dict[str, float], ec: float, owner: str, notes: Notes) -> None:
    for figure, needed in _NEEDED.items():
        missing = [f"/{owner}/ions/{ion}" for ion in needed if math.isnan(ions[ion])]
        if figure in _NEED_EC and math.isnan(ec):
            missing.append(f"/{owner}/ec")
        if missing:
            notes.miss(f"sodicity/{owner}/{figure}", missing, say(f"missing.{figure}"))
    if ions["calcium"] + ions["magnesium"] == 0:
        missing = [f"/{owner}/ions/calcium", f"/{owner}/ions/magnesium"]
        notes.miss(f"sodicity/{owner}/sar", missing, say("missing.sar_without_calcium"))


def _adjusted(result: SodicityArrays, owner: str, notes: Notes) -> AdjustedSar | None:
    adjusted = result.adjusted
    if math.isnan(adjusted.sar):
        return None
    if adjusted.clamped:
        notes.find("adjusted_sar_outside_table", "note", f"sodicity/{owner}/adjusted_sar")
    return AdjustedSar(
        value=float(f"{adjusted.sar:.10g}"),
        unit=SAR_UNIT,
        low=math.nan,
        high=math.nan,
        calcium_used=float(adjusted.calcium),
        clamped=bool(adjusted.clamped) or None,
        would_dissolve_lime=bool(adjusted.dissolves) or None,
    )


def _hazard(
    ion: str, key: tuple[str, str], unit: str, value: float, owner: str, notes: Notes
) -> IonHazard:
    scale = class_scales()[key]
    code = int(classify(value, scale))
    if code == NO_CLASS and ion != "sodium":
        missing = [f"/{owner}/ions/{ion}"]
        notes.miss(
            f"sodicity/{owner}/hazards/{ion}",
            missing,
            say("missing.hazard", ion=say(f"reported_ions.name.{ion}")),
        )
    of_water = owner == "medium" and ion != "sodium"
    return IonHazard(
        ion=ion,
        figure=Amount(value, unit),
        class_=_named(code, scale.names),
        class_range=Range(
            *((None, None) if code == NO_CLASS else scale.range_of(code)), scale.unit
        ),
        scheme=scale.scheme,
        parameter=scale.parameter,
        note=""
        if code == 0
        else say("sodicity.classed_as_water")
        if of_water
        else note_of("water_class", scale),
        **notes.rest_on(scale),
    )


def _reading(ratio: float, ec: float, infiltration: int) -> Message | None:
    """Say in one sentence what SAR and EC mean together."""
    if math.isnan(ratio) or infiltration == NO_CLASS:
        return None
    hazard = INFILTRATION_CLASSES[infiltration]
    if ratio >= SODIC_SAR:
        which = "swells" if hazard == "severe" else "salt_keeps_pores_open"
    elif hazard == "severe":
        which = "slakes" if ec < _TOO_PURE else "soaks_in_badly"
    elif hazard != "none":
        which = "slakes_a_little" if ratio < _HARMLESS_SAR else "may_swell"
    else:
        which = "more_sodium_than_suits" if ratio >= _HARMLESS_SAR else "no_problem"
    return say(f"sodicity.{which}")


def _named(code: int, names: tuple[str, ...]) -> str | None:
    return None if code == NO_CLASS else names[code]


def _class_name(value: float, scale: ClassScale) -> str | None:
    return _named(int(classify(value, scale)), scale.names)
