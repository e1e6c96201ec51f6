"""The catalogues and those who speak by them: no id without a sentence, none without a use."""

import ast
import csv
import re
import string
from pathlib import Path

import pytest

import saltcalc
from saltcalc.data.causes import (
    causes,
    evidence_rules,
    next_measurements,
)
from saltcalc.data.extraction import class_schemes, extraction_methods
from saltcalc.data.minerals import evaporites, salts
from saltcalc.data.nutrients import NUTRIENTS, nitrogen_sources
from saltcalc.data.observations import observations
from saltcalc.data.reported_ions import reported_ions
from saltcalc.data.substrates import substrates
from saltcalc.data.washout import slow_releases
from saltcalc.message import say
from saltcalc.parts.causes.told import MEASURES_TOLD
from saltcalc.parts.shown import Amount
from saltcalc.words.catalogue import words
from tests.sentences import CATALOGUES, sentences

PACKAGE = Path(saltcalc.__file__).parent
TABLES = PACKAGE / "data"
MODULES = sorted(PACKAGE.rglob("*.py"))

CELLS = {
    "measurement_outcomes": ("outcome",),
    "ec_classes": ("applies_to",),
    "ec_conversions": ("applies_to",),
    "nutrient_ranges": ("applies_to",),
    "stage_limits": ("meaning",),
    "diagnostic_measures": ("basis",),
}
"""Columns that hold the ids of their words; a column ``note_id`` holds one of a note."""


def _ids(table, columns, rows):
    return {f"{table}.{column}.{row}" for column in columns for row in rows}


def _rows(file):
    with file.open(encoding="utf-8", newline="") as lines:
        yield from csv.DictReader(lines)


def _ids_of_cells():
    files = [(file.stem, file) for file in TABLES.glob("*.csv")]
    files += [("sources", file) for file in (TABLES / "sources").glob("*.csv")]
    for table, file in files:
        with file.open(encoding="utf-8", newline="") as lines:
            for row in csv.DictReader(lines):
                yield from (
                    f"{table}.{name}.{row[name]}" for name in CELLS.get(table, ()) if row[name]
                )
                if row.get("note_id"):
                    yield f"{table}.note.{row['note_id']}"


def ids_of_tables():
    """Return the ids that the rows of the tables ask for."""
    methods = [method.id for method in extraction_methods()]
    classes = [f"{scheme.id}.{each.id}" for scheme in class_schemes() for each in scheme.classes]
    return {
        *_ids("causes", ("name", "mechanism", "usual_remedy"), causes()),
        *_ids("cause_evidence", ("sentence",), evidence_rules()),
        *_ids("diagnostic_measures", ("name",), MEASURES_TOLD),
        *_ids("next_measurements", ("name", "how"), next_measurements()),
        *_ids("observations", ("name", "description", "hints_at"), observations()),
        *_ids("extraction_methods", ("name", "description", "dilution"), methods),
        *_ids("ec_classes", ("meaning",), classes),
        *_ids("substrates", ("name",), substrates()),
        *_ids("nitrogen_sources", ("name",), (each.id for each in nitrogen_sources())),
        *_ids("slow_release", ("name",), slow_releases()),
        *_ids("reported_ions", ("name",), {*reported_ions(), *NUTRIENTS}),
        *_ids("minerals", ("name",), (each.id for each in (*salts().values(), *evaporites()))),
        *_ids_of_cells(),
    }


OF_TABLES = ids_of_tables()
"""Ids that rows ask for."""


def _told_by_code():
    """Return the texts and names in code, and patterns of texts with parts that are put in."""
    texts, patterns = set(), set()
    for module in MODULES:
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
            match node:
                case ast.Constant(value=str(text)):
                    texts.add(text)
                case ast.Name(id=name) | ast.Attribute(attr=name):
                    texts.add(name.lower())
                case ast.JoinedStr():
                    patterns.add(
                        "".join(
                            re.escape(part.value) if isinstance(part, ast.Constant) else "(.+)"
                            for part in node.values
                        )
                    )
    for page in PACKAGE.rglob("templates/*.html"):
        said = re.findall(r"""\bt\(["']([a-z_.]+)["']""", page.read_text(encoding="utf-8"))
        texts.update(f"page.{told}" for told in said)
    return texts, [re.compile(pattern) for pattern in patterns]


def _cells():
    return {cell for file in TABLES.glob("*.csv") for row in _rows(file) for cell in row.values()}


def _placeholders(sentence):
    names = (name for _, name, _, _ in string.Formatter().parse(sentence) if name)
    return {name for name in names if not name[0].isdecimal()}  # a figure written out: {25:2 °C}


def test_every_id_of_a_table_has_a_sentence():
    assert not OF_TABLES - sentences().keys()


def test_every_sentence_is_used():
    texts, patterns = _told_by_code()
    known = texts | _cells()

    def told(text, depth=2):
        """Whether code has a text, or puts it together of texts and cells."""
        if text in known or not depth:
            return text in known
        found = (pattern.fullmatch(text) for pattern in patterns)
        return any(all(told(part, depth - 1) for part in each.groups()) for each in found if each)

    of_rows = tuple({message.rpartition(".")[0] + "." for message in OF_TABLES})
    unused = [
        message
        for message in sentences().keys() - OF_TABLES
        if message.startswith(of_rows) or not told(message)
    ]
    assert not sorted(unused)


def _said_in_code():
    """Yield where code says a message by its whole id, with what it tells."""
    begins = {"say": "", "sentence": "", "tell": "", "find": "finding.", "missing": "missing."}
    for module in MODULES:
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
            match node:
                case ast.Call(
                    func=ast.Name(id=name) | ast.Attribute(attr=name),
                    args=[ast.Constant(value=str(message)), *others],
                ) if name in begins and not (name == "find" and len(others) < 2):
                    told = {keyword.arg for keyword in node.keywords}
                    yield begins[name] + message, told, f"{module.name}:{node.lineno}"


@pytest.mark.parametrize(("message", "told", "place"), list(_said_in_code()))
def test_what_code_says_has_a_sentence_and_all_that_it_tells(message, told, place):
    assert message in sentences(), place
    if None not in told:
        assert _placeholders(sentences()[message]) <= told, place


@pytest.mark.parametrize("message", sorted(OF_TABLES))
def test_the_sentence_of_a_table_can_be_written(message):
    figures = {"value": Amount(1.5, "dS/m"), "threshold": Amount(1.0, "dS/m"), "missing": "x"}
    figures["nitrogen"] = say("causes.nitrate_n")
    given = {name: figures[name] for name in _placeholders(sentences()[message])}
    written = words().say(say(message, **given))
    assert written
    assert "{" not in written
    assert not re.search(r"\b(nan|inf|None)\b", written)


def test_no_id_stands_twice():
    ids = [
        line
        for file in CATALOGUES.glob("*.po")
        for line in file.read_text(encoding="utf-8").splitlines()
        if line.startswith('msgid "') and line != 'msgid ""'
    ]
    assert len(ids) == len(set(ids))


# Words for users outside ``words``: only where they document the interface or the program, or are
# for whoever runs or develops it.

DECLARING = {
    "shown", "shows", "given", "source_keys", "Kind", "Counter", "Histogram",
    "Choice", "Quantity", "Concentration", "Number", "Count", "TableId", "observation_list",
    "Blueprint", "warning", "error", "info",
}  # fmt: skip
"""Calls whose texts describe a field, an option or an operation, or are logged."""
DEVELOPERS = {"TableError", "ValueError", "KeyError", "TypeError", "RuntimeError", "LookupError"}
DESCRIBING = {"description", "summary", "metadata", "help", "doc"}
NOT_SCANNED = {
    "data": "faults of a table, for whoever keeps it; matching of crop names",
    "words": "the words themselves",
}
ALLOWED = {
    "config.py": "faults of the settings, for whoever runs the service",
    "health.py": "what /readyz tells whoever runs the service",
    "contract.py": "the document of the interface",
    "spec.py": "the document of the interface",
    "app.py": "the document of the interface",
    "docs.py": "HTML",
    "phreeqc.py": "input of PHREEQC",
    "gunicorn_conf.py": "bytes of HTTP",
    "library_words.py": "what a library says, to be told in words of ours",
}
EXAMPLES = {"assessments.py": {"fresh from the bag"}}
"""Names in the examples of the contract."""

SENTENCE = re.compile(r"[A-Za-z]{2,}(?:[,;:]?\s+[A-Za-z'’]+){3,}")


def _set_apart(node):
    """Yield what of a node is a docstring, a description, or for those who develop or run it."""
    match node:
        case ast.Expr(value=ast.Constant()):
            yield node.value
        case ast.Call(func=ast.Name(id=name) | ast.Attribute(attr=name)):
            yield from [node] if name in DECLARING | DEVELOPERS else ()
            yield from (each.value for each in node.keywords if each.arg in DESCRIBING)
        case ast.Dict():
            for key, value in zip(node.keys, node.values, strict=True):
                if isinstance(key, ast.Constant) and key.value in DESCRIBING:
                    yield value
        case ast.arguments() if any(each.arg in DESCRIBING for each in node.args):
            yield from node.defaults
        case ast.Assign(targets=[ast.Name(id=name)], value=ast.Constant()):
            if re.fullmatch("_[A-Z_]+", name):  # a meaning that several members share
                yield node.value


def _texts_for_users(tree):
    """Yield texts of four words and more that are for users."""
    passed = {
        inner for node in ast.walk(tree) for apart in _set_apart(node) for inner in ast.walk(apart)
    }
    for node in ast.walk(tree):
        match node:
            case ast.Constant(value=str(text)) if node not in passed and SENTENCE.search(text):
                yield node


SCANNED = [
    module
    for module in MODULES
    if module.name not in ALLOWED and module.relative_to(PACKAGE).parts[0] not in NOT_SCANNED
]


@pytest.mark.parametrize("module", SCANNED, ids=lambda module: str(module.relative_to(PACKAGE)))
def test_no_sentence_stands_in_code(module):
    found = _texts_for_users(ast.parse(module.read_text(encoding="utf-8")))
    examples = EXAMPLES.get(module.name, ())
    assert not [f"{node.lineno}: {node.value}" for node in found if node.value not in examples]


def test_no_sentence_stands_in_a_table():
    """What is left of English in tables is a name, a unit or a remark for those who keep it."""
    kept = {"note", "composition_note", "name", "synonyms", "botanical", "variety", "plants"}
    found = [
        f"{file.name}: {cell}"
        for file in TABLES.glob("*.csv")
        for row in _rows(file)
        for column, cell in row.items()
        if column not in kept and SENTENCE.search(cell)
    ]
    assert not found
