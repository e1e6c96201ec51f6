"""How units are written in the trade, spelled out for the registry, and those that cannot be."""

from __future__ import annotations

import re

_US_MEASURES = r"(?:gal|gallons?|qt|quarts?|pt|pints?|fl\.?\s*oz)"
BARE_US_MEASURE = re.compile(rf"\s*{_US_MEASURES}\s*", re.IGNORECASE)
_SPELLINGS: tuple[tuple[re.Pattern[str], str], ...] = tuple(
    (re.compile(pattern, re.IGNORECASE), plain)
    for pattern, plain in (
        (r"\b(?:li?te?rs?|litres?|litern|litros?|litri|lt|ltrs?|lts)\b", "L"),
        (r"\b(?:wks?|w|wochen?|semaines?|semanas?|settiman[ae]|weken)\b", "week"),
        (r"\b(?:tage?n?|jours?|d[ií]as?|dagen|giorn[io])\b", "day"),
        (r"\b(?:mos?|mths?|monat(?:en?)?|mois|mes(?:es)?|mes[ei]|maand(?:en)?)\b", "month"),
        (r"\b(?:std|stunden?|heures?|horas?|uur|or[ae])\b", "hour"),
        (r"\s+(?:a|each|every|pro|par|al|je)\s+(?=(?:week|day|hour|d|h)\b)", "/"),
        (r"\bcent(?:im[eè]tres?|imeters?|[ií]metros?|imetri)\b|\bzentimetern?\b", "cm"),
        (r"\bmill(?:im[eè]tres?|imeters?|[ií]metros?|imetri)\b|\bmillimetern?\b", "mm"),
        (r"\bDAS\b", "day"),
        (r"\bmScm\b", "mS/cm"),
        (r"\b[uµμ]Scm\b", "µS/cm"),
        (r"\b(?:zoll|pouces?|pulgadas?|pollic[ei]|duim)\b", "inch"),
        (
            r"\b(?:deg(?:rees?)?\.?|grad[ei]?n?|gr\.|degr[eé]s?|grados?|gradi)\s*"
            r"(?=(?:[df][HKG]?H?|KH|GH|C|F|celsius|fahrenheit|clark)\b)",
            "°",
        ),
        (r"(?:°\s*)?(?:\bf\s*)?(?:(?<=f)|\b)(?:TH|TAC)\b", "french_degree"),
        (r"\bmmhos?\b(?!\s*(?:/|per\b|cm))", "mmho/cm"),
        (
            r"\b(?:mg|milligrams?)\s*CaCO3\s*(?:/|per)\s*(?:L|lit(?:er|re))",
            "milligram_calcium_carbonate/L",
        ),
        (
            r"\b(?:gpg|grains?\s*(?:/|per)\s*(?:US\s*)?gal(?:lon)?|gr\s*/\s*gal)\b",
            "grain_per_gallon",
        ),
        (r"\bepm\b", "millicharge_equivalent/L"),
        (r"\b(?:german|deutsche?r?)\s*(?:degrees?|grade?|hardness)\b", "german_degree"),
        (r"\bfrench\s*degrees?\b", "french_degree"),
        (r"\b(?:english|clark)\s*degrees?\b", "english_degree"),
        (r"(?:°\s*d(?:GH|KH)|\bd[GK]H\b|(?:°\s*|\b)[GK]H\b|°\s*d\b)", "german_degree"),
        (r"(?:%\s*(?:by\s*)?(?:vol(?:ume)?|v/v)|\bvol\.?\s*-?\s*%|\bv/v\s*%)\.?", "%"),
        (r"\b(?:milli)?m?mhos\s*(?:/|per)\s*cm\b", "mmho/cm"),
        (r"\bmillimhos?\b(?:\s*(?:/|per)\s*cm\b)?", "mmho/cm"),
        (r"\b(?:micro|u|µ|μ)mhos?\s*(?:/|per)\s*cm\b", "µS/cm"),
        (r"\bmicrosiemens\b", "µS"),
        (r"\bmillisiemens\b", "mS"),
        (r"\bdecisiemens\b", "dS"),
        (r"\bmcg\b", "µg"),
        (r"(?<=[A-Za-z])\s*[.·]\s*(?=L-?1|[cd]?m-[123]\b)", " "),
        (r"\bmg\s*/\s*100\s*mL\b", "mg/dL"),
        (r"\bcc\b", "mL"),
        (r"\b(?:CF|CF units?)\b", "conductivity_factor"),
        (r"(?:mg\s*/\s*L|ppm)\s*(?:as\s+)?CaCO3\b", "milligram_calcium_carbonate/L"),
        (r"(?:mg\s*/\s*L|ppm)\s*(?:as\s+)?HCO3-?", "milligram_bicarbonate/L"),
        (r"(?:mg\s*/\s*L|ppm)\s*(?:as\s+)?CaO\b", "milligram_calcium_oxide/L"),
        (r"(?:°\s*|\b)dH\b", "german_degree"),
        (r"(?:°\s*|\b)fH\b", "french_degree"),
        (r"(?:°\s*(?:e|Clark)|\bClark)\b", "english_degree"),
        (r"\b(?:imperial|imp|uk)[ ._]*(?:gal|gallons?)\b", "imperial_gallon"),
        (r"\b(?:imperial|imp|uk)[ ._]*(?:qt|quarts?)\b", "imperial_quart"),
        (r"\b(?:imperial|imp|uk)[ ._]*(?:pt|pints?)\b", "imperial_pint"),
        (r"\b(?:u\.?s\.?|us)[ ._]*(?:liq(?:uid)?[ ._]*)?(?:gal|gallons?)\b", "gallon"),
        (r"\b(?:u\.?s\.?|us)[ ._]*(?:liq(?:uid)?[ ._]*)?(?:qt|quarts?)\b", "quart"),
        (r"\b(?:u\.?s\.?|us)[ ._]*(?:liq(?:uid)?[ ._]*)?(?:pt|pints?)\b", "pint"),
        (r"\b(?:gal|gallons?)\s*\(\s*us\s*\)", "gallon"),
        (r"\b(?:gal|gallons?)\s*\(\s*(?:imperial|imp|uk)\s*\)", "imperial_gallon"),
        (r"(?:\"|″|”|“|''|’’|′′)", "inch"),
        (r"(?:'|’|′)", "foot"),
        (r"\b(?:cu|cubic)[ .]*(?:ft|feet|foot)\b", "foot**3"),
        (r"\b(?:cu|cubic)[ .]*(?:in|inch|inches)\b", "inch**3"),
        (r"\b(?:cu|cubic)[ .]*yards?\b", "yard**3"),
        (r"\bcubic[ ]*(?:m|met(?:er|re)s?)\b", "meter**3"),
        (r"\bfl\.?\s*oz\b", "fluid_ounce"),
        (r"\bqt\b", "quart"),
        (r"\bpt\b", "pint"),
        (r"\bgal\b", "gallon"),
        (r"\bm(?:eq|e|val)\b", "millicharge_equivalent"),
        (r"\bmmol(?:_c|c|\(c\))", "millicharge_equivalent"),
        (r"\s*°?\s*(?:C|celsius)\s*", "degC"),
        (r"\s*°?\s*(?:F|fahrenheit)\s*", "degF"),
    )
)
_WHOLE_WORD_ONLY = {"degC", "degF", "foot"}
_BARE_EXPONENT = re.compile(r"(?<=[A-Za-z])(-?[1-3])(?!\d)")

_METER = re.compile(
    r"(?:ppm|mg\s*/\s*L|TDS)\s*(?:\(?\s*TDS\s*\)?)?\s*[(\[]?\s*(?:scale|factor|x|×|on|@|at)?\s*"
    r"(?P<scale>500|640|700)\s*(?:scale|factor|TDS)?\s*[)\]]?",
    re.IGNORECASE,
)
_REFUSED = tuple(
    (re.compile(pattern, re.IGNORECASE), why)
    for pattern, why in (
        (r"(?:grains?|gr)\.?", "unit.grains_of_which_gallon"),
        (
            r".*\s(?:after|since|nach|après|desde|na)\s.*(?:plant|pott|repiq|verpot|topf).*",
            "unit.count_from_sowing",
        ),
        (r".*/\s*100\s*g\b.*", "unit.by_weight"),
        (r"(?:[mµuμ]?g|mmol|meq|cmol.*|mval|%)\s*(?:/|per)\s*k?g\b.*", "unit.by_weight"),
        (r"(?:[mµuμ]?g|mmol|meq|cmol\S*)\s*k?g-1\b.*", "unit.by_weight"),
        (r"pp[mb]\s*\(?(?:D[MW]|T[SM]|MS|w/w|dry\b.*|(?:in\s)?soil)\)?", "unit.by_weight"),
        (
            r"(?:kg|t|g|lbs?|pounds?)\s*(?:/|per\b|\s)\s*"
            r"(?:ha|acre|ac|A|hectare|m2|m²|1000\s*sq)(?:\b|-).*",
            "unit.by_area",
        ),
    )
)


def spelled_out(text: str) -> str:
    """Return a unit as the registry knows it, as far as its spelling is one of the trade's."""
    plain = " ".join(text.split())
    for spelling, name in _SPELLINGS:
        if name in _WHOLE_WORD_ONLY:
            plain = name if spelling.fullmatch(plain) else plain
        else:
            plain = spelling.sub(name, plain)
    return _BARE_EXPONENT.sub(r"**\1", plain)


def written_by_a_meter(unit: str) -> float | None:
    """Return the ppm that a meter shows for 1 mS/cm, where a unit names its scale."""
    scale = _METER.fullmatch(unit.strip())
    return float(scale["scale"]) if scale else None


def why_not(unit: str) -> str | None:
    """Return the id of the message why figures in a unit cannot be taken, or None."""
    return next((why for pattern, why in _REFUSED if pattern.fullmatch(unit)), None)
