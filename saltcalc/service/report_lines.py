"""One line of a laboratory's report, taken apart: figures, units, ratios, dates, and its words."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from saltcalc.data.name_forms import SUBSCRIPTS, plain
from saltcalc.data.report_names import found_in

_NUMBER = r"\d+(?:[.,'’\u00a0\u202f]\d+)*(?:[eE][-+]?\d{1,2})?"
_TO = r"(?:-|–|—|\.\.+|…|\b(?:to|bis|à|a|tot|und|y|e|et|al)\b)"
_FORM = r"[A-Z][A-Za-z0-9]*(?:-[A-Z][A-Za-z0-9]*)?"
_AS = r"(?:(?:as|als|en|come|como|of)\s)?"
_END = r"(?![A-Za-z\d])"
_UNIT = re.compile(
    rf"(?<![A-Za-z])(?:(?P<amount>[mµuμn]?g|[mµuμ]?mol(?:_c|\(c\)|c)?|[mµuμ]?[eE]q|mval|me|cmol\S*)"
    rf"\s?(?:{_AS}(?P<inner>{_FORM})\s?)?"
    rf"(?:(?:/|[·.*]|\b(?:per|pro|par|por)\b)\s?"
    rf"(?P<base>(?:100\s?|1000\s?)?(?:m[lL]|cm[3³]|d?[lL]|[lL]t|ltr|[lL]it(?:er|re)|d?m[3³]|kg|g))"
    rf"(?:\^?-1|⁻¹)?|\s?(?P<inverse>[lL]|dm|kg)\s?(?:\^?-[13]|⁻[¹³])){_END}"
    rf"(?P<extract>\s\(?(?i:extra[ck]t\w*|extrait|estratto|auszug|filtra\w+)\)?(?![A-Za-z]))?"
    rf"(?P<of>\s(?:of\s)?(?:(?i:substrat\w*|sustrato|terriccio|erde|boden|soil|medium|media)|FM|TS|DM|MS)\b)?"
    rf"(?:\s\(?{_AS}(?P<outer>{_FORM})\)?(?![A-Za-z]))?"
    rf"|(?:ppm|ppb|PPM)\d{{0,3}}{_END}(?:\s\(?{_AS}(?P<ppm>{_FORM})\)?(?![A-Za-z]))?"
    rf"|(?:[mµuμd]?S|[mµuμ]?mhos?|[mµuμd]?[sS]iemens)\s?(?:/|[·.*]|\bper\b)\s?[cd]?m{_END}"
    rf"|(?:[mµuμd]S|mmho)\s[cd]?m\s?(?:\^?-1|⁻¹){_END}|mmhos?{_END}|°\s?[CFdfe]H?{_END}|%)"
)
_END_POINT = re.compile(
    r"\b(?:bis|to|up to|à|a|fino a|hasta|tot|jusqu'à)\s+(?:zu[mr]?\s)?pH(?:-Wert)?\s*"
    r"(?:4[.,][2-5]|8[.,][23])\b",
    re.IGNORECASE,
)
"""Where a titration ends, which is no figure of the report."""
_ACID_CAPACITY = re.compile(r"\bK(?P<gap>\s?)S(?P<more>\s?)(?=4[.,]3\b)")
_RATIO = re.compile(
    r"(?<![\d:/.,+-])1\s?(?P<mark>[:/+])\s?(?P<parts>1[.,]5|1½|2[.,]5|10|2|3|5)(?![\d/:½-]|[.,]\d)"
    r"(?P<basis>\s?\(?(?:[wmgp]\s?/\s?[vwpm]|v\s?/\s?v|vol\.?\s?/\s?vol\.?)\)?)?",
    re.IGNORECASE,
)
_WATER_FIRST = re.compile(
    r"(?<![\d:/.,])(1[.,]5|2|5)(\s?:\s?)1(?=\s?\(?(?:water|wasser|eau|agua|acqua))", re.IGNORECASE
)
"""A ratio that tells the water before the medium."""
_NORM = re.compile(
    r"\b(?:DIN|EN|ISO|NF|UNI|UNE|NEN|BS|VDLUFA|CEN|EPA|APHA)\b[\s-]*(?:(?:EN|ISO|TS)[\s-]*)*"
    r"(?:Method\w*\s)?[A-Z]?\s?\d[\d.-]*(?::\s?\d{4})?"
)
_DATE = re.compile(
    r"(?<![\d.,])(?:\d{4}[-/.]\d{1,2}[-/.]\d{1,2}|\d{1,2}[-/.]\s?\d{1,2}[-/.]\s?(?:\d{4}|\d{2}))(?!\d)"
)
_TEMPERATURE = re.compile(
    r"[(,]?\s?(?:(?:(?:at|bei|à|a|bij|@|comp\.?)\s?)?(?P<degrees>\d{2})(?:[.,]0)?\s?[°º]"
    r"|(?:\b(?:at|bei|bij)\s?|@\s?|(?<=[a-zC]))(?P<bare>\d{2}))\s?C\b\s?\)?"
)
_LEADER = re.compile(r"(?<=[^\W\d])\.?[.·_…]{3,}|(?<=[)\s])[.·_…]{3,}|[.·_…]{5,}")
"""What leads the eye from a name to its figure."""

_BAR = re.compile(r"[|\[]?\s?(?:[xX#=█▓■▒]{2,}|\*{4,})\s?[|\]]?\s*$")
"""How a report draws how high a figure is, behind all else."""
_WORD_OF_LIMIT = r"max\.?|min\.?|bis|until|up to|jusqu'à|hasta|fino a|tot|about"
_FIGURES = re.compile(
    rf"(?<![\w.,:/+<>≤≥=-])(?:(?P<range>{_NUMBER} ?{_TO} ?{_NUMBER})"
    rf"|(?P<limit>(?:{_WORD_OF_LIMIT})\s*{_NUMBER})"
    rf"|(?P<bound>(?:[<>]=?|≤|≥)\s*{_NUMBER})"
    rf"|(?P<one>-?{_NUMBER}(?:\s?(?:±|\+/-)\s?{_NUMBER})?))(?![\w:/]|[.,]\d)",
    re.IGNORECASE,
)
_MARKS = re.compile(r"(?<!\w)(?:x{1,9}|\*+|\++|-+|o+)(?!\w)", re.IGNORECASE)
_PLACE_IN_LIST = re.compile(r"^\s*\d{1,3}[.)]?\s+(?=[^\W\d])")
_DEGREE = re.compile(r"º(?=\s?[CFf]\b)")
_JOINT = "\u202f"
_BLANK = re.compile(r"(?<!\d)\u00a0|\u00a0(?!\d)")
_THOUSANDS = re.compile(r"(?<=\d) (?=\d{3}(?!\d))")
_GROUPED = re.compile(r"\s*[<>≤≥~]?\s*\d{1,3}(?: \d{3})+(?:[.,]\d+)?(?:\s*[^\d\s].*)?")
"""A figure with its thousands parted by blanks, alone in its column."""
_OF_METER = re.compile(r"(?<![\d.,] )(?<!\S)\d{1,2} \d{3}(?=\s*[µu]S\b)")
_GAP = re.compile(r"\t|[;|]|\s{2,}")
_COMMA = re.compile(r",(?!\d)|(?<!\d),")


class Figure(NamedTuple):
    """A figure of a line: ``kind`` is one, bound, limit or range."""

    kind: str
    text: str
    start: int
    end: int
    cell: int


class Unit(NamedTuple):
    """A unit of a line, the chemical form that it names, and what it says to be per litre of."""

    text: str
    form: str
    of_medium: bool
    of_extract: bool
    start: int
    cell: int


class Line(NamedTuple):
    """A line taken apart.

    ``before`` are the plain words before its first figure, ``after`` those behind it; ``cells``
    the texts of its columns, parted ``by_mark`` or by white space; ``starts`` where each begins.
    """

    number: int
    text: str
    cells: tuple[str, ...]
    starts: tuple[int, ...]
    by_mark: bool
    figures: tuple[Figure, ...]
    units: tuple[Unit, ...]
    ratio: str
    loose_ratio: bool
    """Whether the ratio is written in a way that a page number is too."""
    norms: tuple[str, ...]
    dates: tuple[str, ...]
    degrees: int | None
    before: tuple[str, ...]
    after: tuple[str, ...]


def line_of(number: int, text: str) -> Line:
    """Take a line apart.

    Examples
    --------
    >>> line = line_of(1, "Nitrat-N (NO3-N)   45,2 mg/l   20 - 80")
    >>> [(each.kind, each.text) for each in line.figures], line.units[0].text
    ([('one', '45,2'), ('range', '20 - 80')], 'mg/l')
    """
    return _taken_apart(text)._replace(number=number)


@lru_cache(maxsize=1000)
def _taken_apart(text: str) -> Line:
    """Take a line apart once for all who look at it, one after another."""
    whole = _BLANK.sub(" ", text.translate(SUBSCRIPTS).replace("\u00ad", "")).rstrip()
    whole = _DEGREE.sub("°", whole)
    whole = _WATER_FIRST.sub(r"1\2\1", whole.replace('"', " ").replace("μ", "µ"))
    whole = _END_POINT.sub(lambda end: " " * len(end[0]), whole)
    whole = _ACID_CAPACITY.sub(lambda name: f"{name['gap']}{name['more']}KS", whole)
    whole = _LEADER.sub(lambda leader: " " * len(leader[0]), whole)
    whole = _BAR.sub(lambda bar: " " * len(bar[0]), whole)
    spans, by_mark = _cells(whole)
    whole = _thousands_joined(whole, spans)

    def cell(at: int) -> int:
        return next((place for place, (_, end) in enumerate(spans) if at < end), len(spans) - 1)

    left = _with_gaps(whole, spans)
    norms, left = _taken(_NORM, left)
    dates, left = _taken(_DATE, left)
    ratios, left = _taken(_RATIO, left)
    temperatures, left = _taken(_TEMPERATURE, left)
    units, left = _taken(_UNIT, left)
    if (listed := _PLACE_IN_LIST.match(left)) and _FIGURES.search(left, listed.end()):
        first_unit = units[0].start() if units else len(left)
        if first_unit > listed.end() + 1:
            left = " " * listed.end() + left[listed.end() :]
    figures, left = _taken(_FIGURES, left)
    left = _MARKS.sub(lambda found: " " * len(found[0]), left)
    first = figures[0].start() if figures else len(left)
    return Line(
        0,
        text.strip(),
        tuple(whole[start:end].strip() for start, end in spans),
        tuple(start for start, _ in spans),
        by_mark,
        tuple(
            Figure(_kind(each, before, left), each[0].strip(), *each.span(), cell(each.start()))
            for before, each in zip((None, *figures), figures, strict=False)
        ),
        tuple(_unit(each, cell(each.start())) for each in units),
        f"1:{ratios[0]['parts']}{_basis(ratios[0]['basis'])}" if ratios else "",
        bool(ratios) and ratios[0]["mark"] != ":",
        tuple(each[0] for each in norms),
        tuple(each[0] for each in dates),
        int(temperatures[0]["degrees"] or temperatures[0]["bare"]) if temperatures else None,
        tuple(plain(left[:first]).split()),
        tuple(plain(left[first:]).split()),
    )


def _kind(found: re.Match[str], before: re.Match[str] | None, left: str) -> str:
    """Return what a figure is; one behind a word such as "target" is what others aim at."""
    if before is not None:
        words = tuple(plain(left[before.end() : found.start()]).split())
        if words and any(row.means == "reference" for row in found_in(words[-1:], "column")[0]):
            return "limit"
    return found.lastgroup or ""


def _thousands_joined(text: str, spans: Sequence[tuple[int, int]]) -> str:
    """Join the thousands of a figure that a blank parts, where it is alone in its column."""
    if len(spans) > 1:
        for start, end in spans:
            if _GROUPED.fullmatch(text, start, end):
                text = f"{text[:start]}{_THOUSANDS.sub(_JOINT, text[start:end])}{text[end:]}"
    return _OF_METER.sub(lambda found: _THOUSANDS.sub(_JOINT, found[0]), text)


def _basis(text: str | None) -> str:
    return " " + text.strip().strip("()") if text else ""


def _taken(pattern: re.Pattern[str], text: str) -> tuple[Sequence[re.Match[str]], str]:
    """Return what a pattern finds, and the text with blanks in its place."""
    found = [*pattern.finditer(text)]
    return found, pattern.sub(lambda each: " " * len(each[0]), text)


def _cells(text: str) -> tuple[list[tuple[int, int]], bool]:
    by_mark = any(mark in text for mark in "\t;|")
    commas = [] if by_mark or "  " in text.strip() else [*_COMMA.finditer(text)]
    if len(commas) > 1:
        gaps, by_mark = commas, True
    elif by_mark:
        gaps = [*re.finditer(r"\t" if "\t" in text else "[;|]", text)]
    else:
        gaps = [*_GAP.finditer(text)]
    starts = [0, *(each.end() for each in gaps)]
    ends = [*(each.start() for each in gaps), len(text)]
    spans = [*zip(starts, ends, strict=True)]
    kept = spans if by_mark else [span for span in spans if text[span[0] : span[1]].strip()]
    return kept or [(0, len(text))], by_mark


def _with_gaps(text: str, spans: Sequence[tuple[int, int]]) -> str:
    """Return a line of the same length with a tab wherever a mark parts two columns."""
    marks = {end for _, end in spans if end < len(text) and text[end] in ",;|"}
    return "".join("\t" if place in marks else each for place, each in enumerate(text))


def _unit(found: re.Match[str], cell: int) -> Unit:
    form = found["inner"] or found["outer"] or found["ppm"] or ""
    if found["amount"]:
        base = found["base"] or found["inverse"]
        text = f"{found['amount']}/{base}"
    else:
        text = found[0] if not found["ppm"] else found[0].split()[0]
    return Unit(
        " ".join(text.split()), form, bool(found["of"]), bool(found["extract"]), found.start(), cell
    )
