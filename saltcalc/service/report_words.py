"""What a line of a laboratory's report says by its words: labels, columns, methods, days."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from functools import cache

from babel.dates import get_month_names

from saltcalc.data.crop_lookup import find
from saltcalc.data.crop_names import LANGUAGES
from saltcalc.data.name_forms import plain
from saltcalc.data.report_names import ASK_FORM, ReportName, found_in
from saltcalc.service.catalogues import crop_catalogue
from saltcalc.service.report_lines import Figure, Line, line_of
from saltcalc.words.catalogue import sentence

_BOTANICAL = "la"
"""Has names of crops, and none of months."""
_SALTS = ("KCl", "NaCl")
_BY_PARTS = {"1.5": "one_to_one_and_half", "2": "one_to_two", "5": "one_to_five"}
_PAGE = frozenset({"page", "seite", "pagina", "blatt", "feuille", "hoja", "foglio", "blad"})
_FORMS_AS_WORDS = {
    plain(form): form
    for form in (
        *("N", "P", "S", "NO3", "NH4", "PO4", "P2O5", "SO4", "HCO3"),
        *("K2O", "CaO", "MgO", "CaCO3"),
    )
} | dict.fromkeys(
    ("nitrogen", "stickstoff", "azote", "nitrogeno", "azoto", "stikstof", "stickstoffs"), "N"
)
_COLON = re.compile(r"[^\W\d]\W{0,2}:(?!\d)")
_DAY_FIRST = re.compile(r"(\d{1,2})[-/.]\s?(\d{1,2})[-/.]\s?(\d{4}|\d{2})")
_NAMED_MONTH = re.compile(
    r"(?:(?P<day>\d{1,2})(?:st|nd|rd|th|er|[.º°])?\s*(?:de\s|of\s|-)?\s*)?"
    r"(?<![^\W\d_])(?P<month>[^\W\d_]{3,})\.?,?\s*"
    r"(?:(?P<later>\d{1,2})(?:st|nd|rd|th)?,\s*)?(?:de\s|-)?\s*(?P<year>\d{4})\b",
    re.IGNORECASE,
)
_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
_OF_SUM = {
    "alkalinity": (("bicarbonate",), "problem.alkalinity_twice"),
    "hardness": (("calcium", "magnesium"), "problem.hardness_twice"),
    "mineral_n": (("nitrate_n", "ammonium_n"), "problem.mineral_n_twice"),
}
"""The ions that say what a sum says, and the sentence for one that is given beside them."""


class UnreadError(Exception):
    """Why a line fills in nothing, in words."""


def parted(line: Line) -> tuple[str, str]:
    """Return the label of a line and what is behind it."""
    label, mark, value = line.text.partition(":")
    if mark and label.strip() and not re.search(r"\d$", label):
        return label.strip(" .\t"), value.strip(" \t;|:")
    filled = [cell for cell in line.cells if cell]
    return (filled[0], "\t".join(filled[1:])) if len(filled) > 1 else ("", "")


def begun(line: Line) -> tuple[str, str] | None:
    """Return the field and the text of a line that begins with a label and no mark behind it."""
    words = line.text.split()
    for count in range(min(4, len(words) - 1), 0, -1):
        named, rest = found_in(tuple(plain(" ".join(words[:count])).split()), "label")
        value = " ".join(words[count:])
        if not named or rest:
            continue
        if named[0].means in ("sample_id", "sampled_on"):
            return (named[0].means, value) if re.search(r"\d", value) else None
        if named[0].means == "crop" and find(value, None, crop_catalogue().local).crop:
            return "crop", value
    return None


def columns_of(value: str) -> list[str]:
    """Return what a label says, and what stands in columns behind it."""
    return re.split(r"\s{2,}|\t", value) or [value]


def by_mark_of_others(value: str, lines: Iterable[str]) -> str:
    """Part a figure into thousands where its mark is not the decimal mark of the other lines.

    Examples
    --------
    >>> by_mark_of_others("1.480 µS/cm", ["pH 7,6", "Ca 4,1 meq/L"])
    '1 480 µS/cm'
    """
    text = " ".join(lines)
    decimals = {
        mark for mark in ".," if re.search(rf"(?<![\d.,])\d+[{mark}]\d{{1,2}}(?![\d.,/])", text)
    }
    if len(decimals) != 1:
        return value
    (decimal,) = decimals
    other = "." if decimal == "," else ","
    return re.sub(rf"(?<![\d.,])(\d{{1,3}})[{other}](?=\d{{3}}(?![\d.,]))", r"\1 ", value)


def in_norms(line: Line, of: str) -> list[ReportName]:
    """Return the names of a kind among the standards that a line cites."""
    return [row for norm in line.norms for row in found_in(tuple(plain(norm).split()), of)[0]]


def is_several(line: Line) -> bool:
    """Tell whether a line holds several labels, each with what it says."""
    if any(_COLON.search(cell) for cell in line.cells[1:]):
        return True
    return len(line.cells) > 1 and all(begun(line_of(line.number, cell)) for cell in line.cells)


def is_run_on(line: Line) -> bool:
    """Tell whether a line holds several figures, each in a column with its own name."""
    cells = [line_of(line.number, cell) for cell in line.cells if cell]
    return len(cells) > 1 and all(
        len(cell.figures) == 1 and cell.before and found_in(cell.before, "figure")[0]
        for cell in cells
    )


def role(cell: str) -> str:
    """Return what a heading says of its column."""
    words = line_of(0, cell).before
    found, _ = found_in(words, "column")
    return found[0].means if found and not found_in(words, "figure")[0] else ""


def of_ratio(ratio: str) -> str:
    """Return the method that a ratio is; as written where it is by weight, or none known."""
    parts, _, basis = ratio.removeprefix("1:").partition(" ")
    by_volume = not basis or basis.lower().startswith("v")
    method = _BY_PARTS.get(parts.replace(",", ".").replace("½", ".5"))
    return method if method and by_volume else ratio


def of_extract(words: tuple[str, ...]) -> bool:
    """Tell whether a line names an extract, so that a ratio in it is no number of a page."""
    named = found_in(words, "label")[0]
    return not _PAGE & {*words} and any(row.means == "extraction" for row in named)


def salt(line: Line) -> str:
    """Return the salt that a figure is counted in, where its line names one."""
    words = {*line.before, *line.after, *(plain(each.form) for each in line.units)}
    return next((salt for salt in _SALTS if plain(salt) in words), "")


def base(form: str) -> str:
    """Return the chemical form that a unit counts in: NO3-N and N-NO3 count nitrogen."""
    elements = [part for part in form.split("-") if part in ("N", "P", "S")]
    return elements[0] if elements else form


@cache
def _months() -> Mapping[str, int]:
    """Return the months by their names, in full and short, in every language of reports."""
    return {
        plain(name): month
        for language in LANGUAGES.keys() - {_BOTANICAL}
        for width in ("wide", "abbreviated")
        for month, name in get_month_names(width, locale=language).items()
    }


def day(text: str) -> str:
    """Return a day as the field takes it; as written where its order is open."""
    if found := _YEAR_FIRST.search(text):
        return "-".join((found[1], found[2].zfill(2), found[3].zfill(2)))
    for named in _NAMED_MONTH.finditer(text):
        month_day = named["day"] or named["later"]
        if month_day and (number := _months().get(plain(named["month"]))):
            text = f"{month_day}.{number}.{named['year']}"
            break
    found = _DAY_FIRST.search(text)
    if found is None:
        return text
    day, month, year = int(found[1]), int(found[2]), int(found[3])
    if "/" in found[0] and day <= 12 and day != month:
        raise UnreadError(sentence("lab_report.which_day", text=found[0]))
    try:
        return date(year + 2000 if year < 100 else year, month, day).isoformat()
    except ValueError:
        return text


def meant(named: list[ReportName], rest: tuple[str, ...]) -> tuple[ReportName, str]:
    """Return the field that the names of a line mean, and the form that they count in."""
    fields = {row.means for row in named}
    if len(fields) > 1:
        raise UnreadError(sentence("lab_report.two_names", names=[row.name for row in named]))
    forms = {row.form for row in named if row.form and not row.form.endswith(ASK_FORM)}
    _, strange = found_in(rest, "beside")
    for word in strange:
        if form := _FORMS_AS_WORDS.get(word):
            forms.add(form)
        else:
            raise UnreadError(sentence("lab_report.unknown_words", words=word, name=named[0].name))
    if len(forms) > 1:
        raise UnreadError(sentence("lab_report.which_form", forms=" / ".join(sorted(forms))))
    if forms:
        return named[0], forms.pop()
    usual = max((row.form for row in named), key=len)
    return named[0], usual if usual == ASK_FORM else usual.removesuffix(ASK_FORM)


def which(figures: tuple[Figure, ...]) -> str:
    """Return the question which of some figures is the result."""
    told = " · ".join(each.text for each in figures)
    return sentence("lab_report.which_figure", figures=told)


def said_by_others(pointer: str, given: set[str]) -> str:
    """Return why a sum of ions is left out: the ions are in the report themselves."""
    owner, _, name = pointer.rpartition("/")
    parts, why = _OF_SUM.get(name, ((), ""))
    within = owner if owner.endswith("/cat") else f"{owner}/ions"
    return why if parts and all(f"{within}/{each}" in given for each in parts) else ""


def open_questions(given: set[str]) -> Iterator[str]:
    """Yield what a report leaves open, by the fields that it gave."""
    of_medium = {each for each in given if each.startswith("/medium/")}
    by_water = {each for each in of_medium if "/cat/" not in each and "cacl2" not in each}
    if by_water and "/medium/extraction" not in given:
        yield sentence("lab_report.which_method")
    if of_medium and "/medium/ec" not in given:
        yield sentence("lab_report.which_ec")
    if not of_medium and any(each.startswith("/water/") for each in given):
        yield sentence("lab_report.only_water")
