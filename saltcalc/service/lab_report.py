"""A laboratory's report as it was printed: its lines to the fields of a request."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from typing import Any, NamedTuple

from saltcalc.data.name_forms import plain
from saltcalc.data.nutrients import CAT_FIELDS
from saltcalc.data.report_names import ASK_FORM, ReportName, found_in
from saltcalc.data.reported_ions import other_forms, reported_ions
from saltcalc.service.report_lines import Figure, Line, Unit, line_of
from saltcalc.service.schemas.requests import AssessmentRequestSchema
from saltcalc.words.catalogue import sentence

LONGEST = 20_000
"""Characters that are read of a report."""

LEAST = 2
"""Fields that a text has to fill in to be taken for a report."""

_BY_MASS = re.compile(r"(?:[mµun]?g)/|pp[mb]", re.IGNORECASE)
_SALTS = ("KCl", "NaCl")
_BY_PARTS = {"1.5": "one_to_one_and_half", "2": "one_to_two", "5": "one_to_five"}
_PAGE = frozenset({"page", "seite", "pagina", "blatt", "feuille", "hoja", "foglio", "blad"})
_LETTERS = re.compile(r"[^\W\d_]|\d")
_FORMS_AS_WORDS = {
    plain(form): form
    for form in ("N", "P", "S", "NO3", "NH4", "PO4", "P2O5", "SO4", "K2O", "CaO", "MgO", "CaCO3")
} | dict.fromkeys(
    ("nitrogen", "stickstoff", "azote", "nitrogeno", "azoto", "stikstof", "stickstoffs"), "N"
)
_DAY_FIRST = re.compile(r"(\d{1,2})[-/.]\s?(\d{1,2})[-/.]\s?(\d{4}|\d{2})")
_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")


class Taken(NamedTuple):
    """What a line filled in: where in the request, and with what."""

    pointer: str
    value: str
    line: int


class Left(NamedTuple):
    """A line that filled in nothing, and why."""

    line: int
    text: str
    why: str


class Report(NamedTuple):
    """What a report came to.

    ``asked`` are the questions that it leaves open as a whole; those of single lines stand with
    the lines in ``left``.
    """

    taken: list[Taken]
    left: list[Left]
    asked: list[str]

    @property
    def request(self) -> dict[str, Any]:
        """The request that the fields come to."""
        request: dict[str, Any] = {}
        for each in self.taken:
            _put(request, each.pointer, each.value)
        return request


class _UnreadError(Exception):
    """Why a line fills in nothing, in words."""


class _Reader:
    """Goes through the lines and keeps what holds for those that follow."""

    def __init__(self) -> None:
        self.report = Report([], [], [])
        self.owner = "medium"
        self.roles: tuple[str, ...] = ()
        self.unit: Unit | None = None
        self.other_extractant = ""
        self.by_cat = False
        self.schema = AssessmentRequestSchema()

    def read(self, line: Line) -> None:
        """Take a line, or list it with the reason."""
        if not _LETTERS.search(line.text):
            return
        if not line.by_mark and any(":" in cell for cell in line.cells[1:]):
            for cell in line.cells:
                self.read(line_of(line.number, cell))
            return
        try:
            if not (self._label(line) or self._heading(line) or self._figure(line)):
                self._beside(line)
        except _UnreadError as why:
            self.report.left.append(Left(line.number, line.text, str(why)))

    def _label(self, line: Line) -> bool:
        """Take a line that names something and then says it: the crop, the day, the method."""
        label, value = _parted(line)
        named, rest = found_in(tuple(plain(label).split()), "label")
        if not named or rest or not value:
            if (begun := _begun(line)) is None:
                return False
            field, value = begun
        else:
            field = named[0].means
        if field == "extraction":
            return self._method(line, value)
        if field == "sampled_on":
            self._take("/sampled_on", _day(value), line)
        elif field == "sample_id":
            self._take("/sample_id", value[:100], line)
        elif field == "crop":
            self._take("/crops/0/crop", value, line)
        elif owner := found_in(tuple(plain(value).split()), "owner")[0]:
            self.owner = owner[0].means
        else:
            self._take("/medium/substrate", value, line)
        return True

    def _heading(self, line: Line) -> bool:
        """Keep what a line says of those below it: its columns, the unit of all, whose figures."""
        if line.figures:
            return False
        words = line.before + line.after
        roles = [_role(cell) for cell in line.cells]
        if not line.by_mark and sum(map(bool, roles)) < 2:
            roles = [row.means for row in found_in(words, "column")[0]]
        known = [role for role in roles if role]
        if len(known) > 1 and {"result", "reference", "unit"} & {*known}:
            self.roles = tuple(roles)
            self.unit = self._unit_of_results(line) if line.units else None
            return True
        used = self._method(line, line.text, sure=False)
        if owner := found_in(words, "owner")[0]:
            self.owner, used = owner[0].means, True
        if line.units and not found_in(words, "figure")[0]:
            self.unit, used = line.units[0], True
        return used

    def _unit_of_results(self, line: Line) -> Unit | None:
        places = {place for place, role in enumerate(self.roles) if role == "result"}
        near = [unit for unit in line.units if unit.cell in places]
        return (near or [*line.units])[0]

    def _method(self, line: Line, value: str, *, sure: bool = True) -> bool:
        """Take how the water was drawn out, where a line tells it."""
        words = tuple(plain(value).split())
        others = found_in(words, "extractant")[0]
        norms = [
            row
            for each in line.norms
            for row in found_in(tuple(plain(each).split()), "extractant")[0]
        ]
        if (others or norms) and (others or norms)[0].means == "cat":
            self.by_cat = True
            return True
        if others or norms:
            self.other_extractant = (others or norms)[0].name
            raise _UnreadError(sentence("lab_report.other_extractant", name=self.other_extractant))
        named = found_in(words, "method")[0]
        if line.ratio and not (line.loose_ratio and not sure and not _of_extract(words)):
            self._extraction(_of_ratio(line.ratio), line)
        elif named:
            self._extraction(named[0].means, line)
        elif sure:
            self._extraction(value, line)
        else:
            return False
        return True

    def _extraction(self, method: str, line: Line) -> None:
        if self.owner != "medium":
            return
        before = [each for each in self.report.taken if each.pointer == "/medium/extraction"]
        if not before:
            self._take("/medium/extraction", method, line)
        elif before[0].value != method:
            told = {"method": method, "first": before[0].value, "line": before[0].line}
            raise _UnreadError(sentence("lab_report.two_methods", **told))

    def _figure(self, line: Line) -> bool:
        """Take a line with a figure and the name of a field."""
        if not line.figures:
            return False
        words = line.before if found_in(line.before, "figure")[0] else line.after
        named, rest = found_in(words, "figure")
        if not named:
            return False
        extractants, rest = found_in(rest, "extractant")
        row, form = _meant(named, rest)
        row = row._replace(means=self._field(row.means, extractants))
        result = self._result(line)
        unit = self._unit(line, result)
        if row.means == "ec" and (salt := _salt(line)):
            raise _UnreadError(sentence("lab_report.salt_as", salt=salt))
        value = self._value(row, form, result, unit)
        if row.means == "ec":
            if line.ratio:
                self._extraction(_of_ratio(line.ratio), line)
            elif method := found_in(words, "method")[0]:
                self._extraction(method[0].means, line)
            if line.degrees not in (None, 25) and self.owner == "medium":
                self._take("/medium/temperature", f"{line.degrees} °C", line)
        self._take(f"/{self.owner}/{row.means}", value, line)
        return True

    def _field(self, means: str, extractants: list[ReportName]) -> str:
        """Return the field of a figure by what it was drawn out with; refuse what has none."""
        kind = extractants[0].means if extractants else ""
        if means == "ph" and kind:
            return "ph_in_cacl2"
        if self.owner != "medium" or means in ("ec", "ph"):
            name = extractants[0].name if extractants else ""
        elif kind == "cat" or (self.by_cat and not extractants):
            nutrient = means.rpartition("/")[2]
            if nutrient in CAT_FIELDS:
                return f"cat/{nutrient}"
            name = "CaCl2/DTPA"
        else:
            name = extractants[0].name if extractants else self.other_extractant * ("/" in means)
        if name:
            raise _UnreadError(sentence("lab_report.other_extractant", name=name))
        return means

    def _result(self, line: Line) -> Figure:
        """Return the figure that is the result, not one that it is compared with."""
        figures = line.figures
        roles = self.roles
        if line.by_mark and roles:
            here = [each for each in figures if _at(roles, each.cell) == "result"]
            if len(here) == 1:
                return here[0]
            if "result" in roles:
                raise _UnreadError(_which(figures))
        unit_first = bool(line.units) and line.units[0].start < figures[0].start
        if unit_first and tuple(role for role in roles if role in ("result", "unit")) == (
            "result",
            "unit",
        ):
            raise _UnreadError(_which(figures))
        numeric = [role for role in roles if role in ("result", "reference")]
        if numeric.count("result") == 1 and not line.by_mark:
            if len(figures) == len(numeric):
                return figures[numeric.index("result")]
            if numeric[0] == "result" and figures[0].kind in ("one", "bound"):
                return figures[0]
        ones = [each for each in figures if each.kind == "one"]
        if len(ones) == 1 and figures[0].kind != "bound":
            return ones[0]
        if (
            not ones
            and figures[0].kind == "bound"
            and (len(figures) == 1 or figures[1].kind != "bound")
        ):
            return figures[0]
        if len(ones) == 2 and len({unit.text for unit in line.units}) == 2:
            return ones[0]
        raise _UnreadError(_which(figures))

    def _unit(self, line: Line, result: Figure) -> Unit | None:
        following = min(
            (each.start for each in line.figures if each.start > result.start), default=10**6
        )
        behind = [each for each in line.units if result.end <= each.start < following]
        before = [each for each in line.units if each.start < result.start]
        elsewhere = [each for each in line.units if each.text != "%"]
        return next(iter(behind or before[-1:] or elsewhere), self.unit)

    def _value(self, row: ReportName, form: str, result: Figure, unit: Unit | None) -> str:
        """Return a figure as the field takes it, with its unit and its chemical form."""
        if row.means in ("ph", "ph_in_cacl2"):
            return result.text
        if unit is None:
            raise _UnreadError(sentence("lab_report.no_unit"))
        if unit.of_medium and not row.means.startswith("cat/"):
            raise _UnreadError(sentence("lab_report.per_litre_of_medium"))
        ion = row.means.rpartition("/")[2].replace("mineral_n", "nitrate_n")
        if ion not in reported_ions() or not _BY_MASS.match(unit.text):
            extra = " CaCO3" if unit.form == "CaCO3" else ""
            return f"{result.text} {unit.text}{extra}"
        own = reported_ions()[ion].reported_as
        said = _base(unit.form) or form
        known = {own, *other_forms().get(ion, {}), *(("CaCO3",) if ion == "bicarbonate" else ())}
        if said == ASK_FORM:
            forms = " / ".join([own, *other_forms().get(ion, {})])
            raise _UnreadError(sentence("lab_report.which_form", forms=forms))
        if said and said not in known:
            raise _UnreadError(sentence("lab_report.unknown_form", form=said))
        text = "mg/L" if plain(unit.text) == "mg l" else unit.text
        return f"{result.text} {text}" + (f" {said}" if said and said != own else "")

    def _beside(self, line: Line) -> None:
        """List a line that names no field."""
        why = "lab_report.unknown_figure" if line.figures else "lab_report.no_figure"
        raise _UnreadError(sentence(why))

    def _take(self, pointer: str, value: str, line: Line) -> None:
        for each in self.report.taken:
            if each.pointer == pointer:
                raise _UnreadError(
                    sentence("lab_report.given_before", value=each.value, line=each.line)
                )
        if fault := self._fault(pointer, value):
            raise _UnreadError(fault)
        self.report.taken.append(Taken(pointer, value, line.number))

    def _fault(self, pointer: str, value: str) -> str:
        """Return what the field says against a value."""
        request: dict[str, Any] = {}
        _put(request, pointer, value)
        if not pointer.startswith("/medium"):
            request["medium"] = {"ec": "1 dS/m"}
        found: Any = self.schema.validate(request)
        for step in pointer.strip("/").split("/"):
            key = int(step) if step.isdecimal() else step
            found = found.get(key, {}) if isinstance(found, Mapping) else found
        return " ".join(found) if isinstance(found, list) else ""

    def end(self) -> Report:
        """Return the report, with what it leaves open as a whole."""
        given = {each.pointer for each in self.report.taken}
        of_medium = {each for each in given if each.startswith("/medium/")}
        by_water = {each for each in of_medium if "/cat/" not in each and "cacl2" not in each}
        if by_water and "/medium/extraction" not in given:
            self.report.asked.append(sentence("lab_report.which_method"))
        if of_medium and "/medium/ec" not in given:
            self.report.asked.append(sentence("lab_report.which_ec"))
        return self.report


def read_report(text: str) -> Report:
    """Read a laboratory's report line by line.

    Parameters
    ----------
    text : str
        The report as copied: a figure a line with its name and unit, in any order; columns parted
        by tabs, semicolons, bars, commas or blanks.

    Returns
    -------
    Report
        What was taken, and every other line with the reason.
    """
    reader = _Reader()
    for number, line in enumerate(text[:LONGEST].splitlines(), start=1):
        reader.read(line_of(number, line))
    return reader.end()


def _parted(line: Line) -> tuple[str, str]:
    """Return the label of a line and what stands behind it."""
    label, mark, value = line.text.partition(":")
    if mark and label.strip() and not re.search(r"\d$", label):
        return label.strip(" .\t"), value.strip(" \t;|:")
    filled = [cell for cell in line.cells if cell]
    return (filled[0], " ".join(filled[1:])) if len(filled) > 1 else ("", "")


def _begun(line: Line) -> tuple[str, str] | None:
    """Return the field and the text of a line that begins with a label and no mark behind it."""
    words = line.text.split()
    for count in range(min(4, len(words) - 1), 0, -1):
        named, rest = found_in(tuple(plain(" ".join(words[:count])).split()), "label")
        value = " ".join(words[count:])
        if named and not rest and named[0].means in ("sample_id", "sampled_on"):
            return (named[0].means, value) if re.search(r"\d", value) else None
    return None


def _role(cell: str) -> str:
    """Return what a heading says of its column."""
    words = line_of(0, cell).before
    found, _ = found_in(words, "column")
    return found[0].means if found and not found_in(words, "figure")[0] else ""


def _which(figures: tuple[Figure, ...]) -> str:
    told = " · ".join(each.text for each in figures)
    return sentence("lab_report.which_figure", figures=told)


def _at(roles: tuple[str, ...], place: int) -> str:
    return roles[place] if place < len(roles) else ""


def _of_ratio(ratio: str) -> str:
    """Return the method that a ratio is; as written where it is by weight, or none known."""
    parts, _, basis = ratio.removeprefix("1:").partition(" ")
    by_volume = not basis or basis.lower().startswith("v")
    method = _BY_PARTS.get(parts.replace(",", ".").replace("½", ".5"))
    return method if method and by_volume else ratio


def _of_extract(words: tuple[str, ...]) -> bool:
    named = found_in(words, "label")[0]
    return not _PAGE & {*words} and any(row.means == "extraction" for row in named)


def _salt(line: Line) -> str:
    """Return the salt that a figure is counted in, where its line names one."""
    words = {*line.before, *line.after, *(plain(each.form) for each in line.units)}
    return next((salt for salt in _SALTS if plain(salt) in words), "")


def _base(form: str) -> str:
    """Return the chemical form that a unit counts in: NO3-N and N-NO3 count nitrogen."""
    elements = [part for part in form.split("-") if part in ("N", "P", "S")]
    return elements[0] if elements else form


def _meant(named: list[ReportName], rest: tuple[str, ...]) -> tuple[ReportName, str]:
    """Return the field that the names of a line mean, and the form that they count in."""
    fields = {row.means for row in named}
    if len(fields) > 1:
        raise _UnreadError(sentence("lab_report.two_names", names=[row.name for row in named]))
    forms = {row.form for row in named if row.form not in ("", ASK_FORM)}
    _, strange = found_in(rest, "beside")
    for word in strange:
        if form := _FORMS_AS_WORDS.get(word):
            forms.add(form)
        else:
            raise _UnreadError(sentence("lab_report.unknown_words", words=word, name=named[0].name))
    if len(forms) > 1:
        raise _UnreadError(sentence("lab_report.which_form", forms=" / ".join(sorted(forms))))
    open_ = any(row.form == ASK_FORM for row in named)
    return named[0], next(iter(forms), ASK_FORM if open_ else "")


def _day(text: str) -> str:
    """Return a day as the field takes it; as written where its order is open."""
    if found := _YEAR_FIRST.search(text):
        return "-".join((found[1], found[2].zfill(2), found[3].zfill(2)))
    found = _DAY_FIRST.search(text)
    if found is None:
        return text
    day, month, year = int(found[1]), int(found[2]), int(found[3])
    if "/" in found[0] and day <= 12 and day != month:
        raise _UnreadError(sentence("lab_report.which_day", text=found[0]))
    try:
        return date(year + 2000 if year < 100 else year, month, day).isoformat()
    except ValueError:
        return text


def _put(request: dict[str, Any], pointer: str, value: str) -> None:
    *within, last = pointer.strip("/").split("/")
    node: Any = request
    for step in within:
        if step.isdecimal():
            continue
        node = node.setdefault(step, [{}] if step in ("crops", "containers") else {})
        node = node[0] if isinstance(node, list) else node
    node[last] = value
