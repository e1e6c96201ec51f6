"""A laboratory's report as it was printed: its lines to the fields of a request."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, NamedTuple

from saltcalc.data.name_forms import plain
from saltcalc.data.nutrients import CAT_FIELDS
from saltcalc.data.report_names import ASK_FORM, ReportName, found_in
from saltcalc.data.reported_ions import other_forms, reported_ions
from saltcalc.service.forms import put_at
from saltcalc.service.report_lines import Figure, Line, Unit, line_of
from saltcalc.service.report_tables import upright
from saltcalc.service.report_words import (
    UnreadError,
    base,
    begun,
    by_mark_of_others,
    columns_of,
    day,
    in_norms,
    is_run_on,
    is_several,
    meant,
    of_extract,
    of_ratio,
    open_questions,
    parted,
    role,
    said_by_others,
    salt,
    which,
)
from saltcalc.service.schemas.requests import AssessmentRequestSchema
from saltcalc.words.catalogue import sentence

LONGEST = 20_000
"""Characters that are read of a report."""

_ALIGNED = 8
"""Characters from one column to the next where a heading is laid out by blanks."""

LEAST = 2
"""Fields that a text has to fill in to be taken for a report."""

_BY_MASS = re.compile(r"(?:[mµun]?g)/|pp[mb]", re.IGNORECASE)
_SUMS = {"alkalinity": ("CaCO3", "HCO3"), "hardness": ("CaCO3", "CaO")}
"""What the milligrams of a sum of charges are counted in."""


_LETTERS = re.compile(r"[^\W_]")


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
            put_at(request, each.pointer, each.value)
        return request


class _Reader:
    """Goes through the lines and keeps what holds for those that follow."""

    def __init__(self) -> None:
        self.report = Report([], [], [])
        self.owner = "medium"
        self.lines: dict[int, str] = {}
        self.roles: tuple[str, ...] = ()
        self.starts: tuple[int, ...] = ()
        self.section = ""
        self.basis = ""
        self.by_weight = False
        self.unit: Unit | None = None
        self.other_extractant = ""
        self.by_cat = False
        self.schema = AssessmentRequestSchema()

    def read(self, line: Line) -> None:
        """Take a line, or list it with the reason."""
        self.lines[line.number] = line.text
        if not _LETTERS.search(line.text):
            return
        run_on = is_run_on(line)
        if run_on or (not line.by_mark and is_several(line)):
            above = self.unit
            of_all = len(line.units) == 1 and (run_on or line.units[0].text == "%")
            self.unit = line.units[0] if of_all else above
            for cell in line.cells:
                self.read(line_of(line.number, cell))
            self.unit = above
            return
        try:
            read = self._label(line) or self._heading(line) or self._figure(line)
            if not (read or self._title(line)):
                self._beside(line)
        except UnreadError as why:
            self.report.left.append(Left(line.number, line.text, str(why)))

    def _label(self, line: Line) -> bool:
        """Take a line that names something and then says it: the crop, the day, the method."""
        label, value = parted(line)
        value, *others = columns_of(value)
        named, rest = found_in(tuple(plain(label).split()), "label")
        if not named or rest or not value:
            if (label_first := begun(line)) is None:
                return False
            field, value = label_first
            value, *others = columns_of(value)
        else:
            field = named[0].means
        if field == "extraction":
            return self._method(line, value)
        if field == "sampled_on":
            self._take("/sampled_on", day(value), line)
        elif field == "sample_id":
            self._take("/sample_id", value[:100], line)
        elif field == "crop":
            self._take("/crops/0/crop", value, line)
        elif owner := found_in(tuple(plain(value).split()), "owner")[0]:
            self.owner = owner[0].means
        else:
            self._take("/medium/substrate", value, line)
        for cell in others:
            self.read(line_of(line.number, cell))
        return True

    def _heading(self, line: Line) -> bool:
        """Keep what a line says of those below it: its columns, the unit of all, whose figures."""
        if line.figures:
            return False
        words = line.before + line.after
        roles = [role(cell) for cell in line.cells]
        if not line.by_mark and sum(map(bool, roles)) < 2:
            roles = [row.means for row in found_in(words, "column")[0]]
        known = [role for role in roles if role]
        if len(known) > 1 and {"result", "reference", "unit"} & {*known}:
            self.roles = tuple(roles)
            self.starts = line.starts if len(roles) == len(line.starts) else ()
            self.unit = self._unit_of_results(line) if line.units else None
            return True
        sections, rest = found_in(words, "section")
        self._basis([*sections, *in_norms(line, "section")])
        used = self._method(line, line.text, sure=False)
        if used or any(row.means == "extract" for row in sections):
            self.section = ""
        elif {row.means for row in sections} & ({"other"} if rest else {"other", "alone"}):
            self.section = line.text
        used = self._owner(words, used=used) or used
        if line.units and not found_in(words, "figure")[0]:
            self.unit, used = line.units[0], True
            self._several_units(line)
        return used

    def _title(self, line: Line) -> bool:
        """Keep what a line without a name of a figure says; tell whether it is the method."""
        in_title = all("/medium/" not in each.pointer for each in self.report.taken)
        used = in_title and self._method(line, line.text, sure=False)
        words = line.before + line.after
        if not found_in(words, "figure")[0]:
            self._basis(found_in(words, "section")[0])
            self._owner(words, used=used)
        return used

    def _owner(self, words: tuple[str, ...], *, used: bool) -> bool:
        """Keep whose the figures below are; what drains is of no field, unless it is the method."""
        for row in (named := found_in(words, "owner")[0][:1]):
            if not (used and row.means == "drainage"):
                self.owner, self.section = row.means, ""
        return bool(named)

    def _basis(self, named: list[ReportName]) -> None:
        """Keep what the figures below count a litre of, where a heading tells it."""
        for row in named:
            if row.means in ("of_medium", "of_extract"):
                self.basis = row.name if row.means == "of_medium" else ""
            self.by_weight |= row.means == "of_soil"

    def _several_units(self, line: Line) -> None:
        """Keep the columns of a heading of units alone: the first is read, the others repeat it."""
        first = line.units[0].cell
        filled = [place for place, cell in enumerate(line.cells) if cell and place >= first]
        if len(line.units) < 2 or len(filled) < len(line.units):
            return
        roles = ["reference" if place in filled else "" for place in range(len(line.cells))]
        roles[first] = "result"
        self.roles, self.starts = tuple(roles), line.starts

    def _unit_of_results(self, line: Line) -> Unit | None:
        places = {place for place, role in enumerate(self.roles) if role == "result"}
        near = [unit for unit in line.units if unit.cell in places]
        return (near or [*line.units])[0]

    def _method(self, line: Line, value: str, *, sure: bool = True) -> bool:
        """Take how the water was drawn out, where a line tells it."""
        words = tuple(plain(value).split())
        others = found_in(words, "extractant")[0]
        norms = in_norms(line, "extractant")
        if (others or norms) and (others or norms)[0].means == "cat":
            self.by_cat = True
            return True
        if others or norms:
            self.other_extractant = (others or norms)[0].name
            raise UnreadError(sentence("lab_report.other_extractant", name=self.other_extractant))
        named = found_in(words, "method")[0]
        if line.ratio and not (line.loose_ratio and not sure and not of_extract(words)):
            self._extraction(self._ratio(line.ratio), line)
        elif named:
            self._extraction(named[0].means, line)
        elif sure:
            self._extraction(value, line)
        else:
            return False
        return True

    def _ratio(self, ratio: str) -> str:
        """Return the method that a ratio is: in a report on soil by weight, unless it says so."""
        return of_ratio(f"{ratio} w/w" if self.by_weight and " " not in ratio else ratio)

    def _extraction(self, method: str, line: Line) -> None:
        if self.owner != "medium":
            return
        before = [each for each in self.report.taken if each.pointer == "/medium/extraction"]
        if not before:
            self._take("/medium/extraction", method, line)
        elif before[0].value != method:
            told = {"method": method, "first": before[0].value, "line": before[0].line}
            raise UnreadError(sentence("lab_report.two_methods", **told))

    def _figure(self, line: Line) -> bool:
        """Take a line with a figure and the name of a field."""
        if not line.figures:
            return False
        words = line.before if found_in(line.before, "figure")[0] else line.after
        named, rest = found_in(words, "figure")
        if not named:
            return False
        extractants, rest = found_in(rest, "extractant")
        row, form = meant(named, rest)
        result = self._result(line) if row.means == "ec" else None
        unit = self._unit(line, result) if result else None
        counted_in = (salt(line) or self._of_salt(unit)) if row.means == "ec" else ""
        if not (counted_in and unit and _BY_MASS.match(unit.text)):
            row = row._replace(means=self._field(row.means, extractants))
        if self.section and row.means not in ("ec", "ph"):
            raise UnreadError(sentence("lab_report.section", section=self.section))
        if not self._has(row.means):
            self._beside(line)
        result = result or self._result(line)
        unit = unit or self._unit(line, result)
        if row.means == "ec" and counted_in:
            if counted_in != "KCl" or not self.by_cat or self.owner != "medium":
                raise UnreadError(sentence("lab_report.salt_as", salt=counted_in))
            row = row._replace(means="cat/salts")
        told = [row for row in in_norms(line, "section") if row.means == "of_medium"]
        basis = next((row.name for row in told), self.basis) if self.owner == "medium" else ""
        sure = any(row.means == "of_extract" for row in found_in(words, "section")[0])
        of_extract_alone = sure or (unit is not None and unit.of_extract)
        value = self._value(line, row, form, result, unit, "" if of_extract_alone else basis)
        if row.means == "ec":
            if line.ratio:
                self._extraction(self._ratio(line.ratio), line)
            else:
                methods = found_in(line.before + line.after, "method")[0]
                for method in (*methods, *in_norms(line, "method"))[:1]:
                    self._extraction(method.means, line)
            if line.degrees not in (None, 25):
                self._take(f"/{self.owner}/temperature", f"{line.degrees} °C", line)
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
            raise UnreadError(sentence("lab_report.other_extractant", name=name))
        return means

    def _has(self, means: str) -> bool:
        """Tell whether the medium or the water that is read has such a field."""
        schema: Any = self.schema
        for step in (self.owner, *means.split("/")):
            if step not in schema.fields:
                return False
            schema = getattr(schema.fields[step], "schema", None)
        return True

    def _of_soil(self, line: Line) -> bool:
        """Tell whether a figure of a report on soil is not of an extract that it names."""
        beside = found_in(line.before + line.after, "beside")[0]
        by_water = any(each.pointer == "/medium/extraction" for each in self.report.taken)
        return not by_water or any(row.means == "available" for row in beside)

    def _of_salt(self, unit: Unit | None) -> str:
        """Return the salt that a salt content by mass is counted in beside CAT, if it is one."""
        by_mass = self.by_cat and unit is not None and plain(unit.text) in {"g l", "mg l"}
        return "KCl" if by_mass else ""

    def _result(self, line: Line) -> Figure:
        """Return the figure that is the result, not one that it is compared with."""
        figures = line.figures
        roles = self.roles
        if line.by_mark and roles:
            here = [each for each in figures if _at(roles, each.cell) == "result"]
            if len(here) == 1:
                return here[0]
            if "result" in roles:
                raise UnreadError(which(figures))
        unit_first = bool(line.units) and line.units[0].start < figures[0].start
        if unit_first and tuple(role for role in roles if role in ("result", "unit")) == (
            "result",
            "unit",
        ):
            raise UnreadError(which(figures))
        numeric = [role for role in roles if role in ("result", "reference")]
        if numeric.count("result") == 1 and not line.by_mark:
            if len(figures) == len(numeric):
                return figures[numeric.index("result")]
            if numeric[0] == "result" and figures[0].kind in ("one", "bound"):
                if self._is_under_another(figures[0]):
                    raise UnreadError(which(figures))
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
        raise UnreadError(which(figures))

    def _is_under_another(self, figure: Figure) -> bool:
        """Tell whether a figure is under a column that is not the result's."""
        if not self.starts or max(self.starts) - min(self.starts) < _ALIGNED * len(self.starts):
            return False
        under = zip(self.starts, self.roles, strict=True)
        numeric = [each for each in under if each[1] in ("result", "reference")]
        return min(numeric, key=lambda each: abs(each[0] - figure.start))[1] != "result"

    def _unit(self, line: Line, result: Figure) -> Unit | None:
        following = min(
            (each.start for each in line.figures if each.start > result.start), default=10**6
        )
        behind = [each for each in line.units if result.end <= each.start < following]
        before = [each for each in line.units if each.start < result.start]
        elsewhere = [each for each in line.units if each.text != "%"]
        return next(iter(behind or before[-1:] or elsewhere), self.unit)

    def _value(
        self, line: Line, row: ReportName, form: str, result: Figure, unit: Unit | None, basis: str
    ) -> str:
        """Return a figure as the field takes it, with its unit and its chemical form.

        ``basis`` is what says that a litre is one of the medium.
        """
        if row.means in ("ph", "ph_in_cacl2"):
            return result.text
        if unit is None:
            raise UnreadError(sentence("lab_report.no_unit"))
        if unit.of_medium and not row.means.startswith("cat/"):
            raise UnreadError(sentence("lab_report.per_litre_of_medium"))
        ion = row.means.rpartition("/")[2].replace("mineral_n", "nitrate_n")
        if ion not in reported_ions() or not _BY_MASS.match(unit.text):
            counted = unit.form or form
            if row.means in _SUMS and _BY_MASS.match(unit.text) and counted not in _SUMS[row.means]:
                forms = " / ".join(_SUMS[row.means])
                raise UnreadError(sentence("lab_report.which_form", forms=forms))
            extra = f" {counted}" if row.means in _SUMS and counted else ""
            french = row.means in _SUMS and unit.text == "°F"  # degrees of hardness, not of warmth
            return f"{result.text} {'°f' if french else unit.text}{extra}"
        own = reported_ions()[ion].reported_as
        said = base(unit.form) or form
        known = {own, *other_forms().get(ion, {}), *["CaCO3"] * (ion == "bicarbonate")}
        if said == ASK_FORM:
            forms = " / ".join([own, *other_forms().get(ion, {})])
            raise UnreadError(sentence("lab_report.which_form", forms=forms))
        if said and said not in known:
            raise UnreadError(sentence("lab_report.unknown_form", form=said))
        in_medium = self.owner == "medium" and not row.means.startswith("cat/")
        if in_medium and self.by_weight and unit.text.lower() == "ppm" and self._of_soil(line):
            raise UnreadError(sentence("lab_report.ppm_of_soil"))
        if basis and in_medium:
            raise UnreadError(sentence("lab_report.which_litre", basis=basis))
        text = "mg/L" if plain(unit.text) == "mg l" else unit.text
        return f"{result.text} {text}" + (f" {said}" if said and said != own else "")

    def _beside(self, line: Line) -> None:
        """List a line that names no field."""
        why = "lab_report.unknown_figure" if line.figures else "lab_report.no_figure"
        raise UnreadError(sentence(why))

    def _take(self, pointer: str, value: str, line: Line) -> None:
        for each in self.report.taken:
            if each.pointer == pointer:
                raise UnreadError(
                    sentence("lab_report.given_before", value=each.value, line=each.line)
                )
        if fault := self._fault(pointer, value):
            value = by_mark_of_others(value, self.lines.values())
            if self._fault(pointer, value):
                raise UnreadError(fault)
        self.report.taken.append(Taken(pointer, value, line.number))

    def _fault(self, pointer: str, value: str) -> str:
        """Return what the field says against a value."""
        request: dict[str, Any] = {}
        put_at(request, pointer, value)
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
        for each in [*self.report.taken]:
            if why := said_by_others(each.pointer, given):
                self.report.taken.remove(each)
                self.report.left.append(Left(each.line, self.lines[each.line], sentence(why)))
        self.report.left.sort(key=lambda each: each.line)
        given = {each.pointer for each in self.report.taken}
        self.report.asked.extend(open_questions(given))
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
    for line in upright(text[:LONGEST]):
        reader.read(line)
    return reader.end()


def _at(roles: tuple[str, ...], place: int) -> str:
    return roles[place] if place < len(roles) else ""
