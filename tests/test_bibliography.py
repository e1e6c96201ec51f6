"""Every source is named, and every column is read: a table holds nothing that no answer needs."""

import ast
import csv
import re
from functools import cache
from itertools import chain
from pathlib import Path

import pytest

import saltcalc
from saltcalc.data.sources import bibliography
from tests.sentences import sentences

PACKAGE = Path(saltcalc.__file__).parent
TABLES = sorted((PACKAGE / "data").glob("*.csv"))
MADE_UP = {
    "cax.csv": ("ec_",),
    "washout_defaults.csv": ("_low", "_high"),
    "ion_retention.csv": ("_low", "_high"),
    "intake_rates.csv": ("_low", "_high"),
    "uptake_concentrations.csv": ("_low", "_high"),
    "nitrogen_uptake.csv": ("_low", "_high"),
    "crop_growth.csv": ("low", "value", "high"),
}
"""Tables whose readers make up names of columns, and how these begin or end."""

BESIDE_THE_FIGURES = {"source", "provenance", "note", "composition_source", "composition_note"}


def _rows(table):
    with table.open(encoding="utf-8", newline="") as lines:
        yield from csv.DictReader(lines)


@cache
def _words_of_code():
    """Names looked up on an object or shown by a part, and text constants, but in docstrings."""
    words = set()
    for module in PACKAGE.rglob("*.py"):
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Load):
                words.add(node.attr)
            elif module.parent.name == "parts" and isinstance(node, ast.AnnAssign):
                words.add(getattr(node.target, "id", ""))  # a shown member reads its namesake
            elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                words.add(node.value)
    return words


@cache
def _words_of_tables():
    """Sources of the rows, and every word of their notes and of those that answers show."""
    notes = [text for message, text in sentences().items() if ".note." in message]
    words = set()
    for table in TABLES:
        for row in _rows(table):
            notes.append(row.get("note", ""))
            words.update(
                row[column]
                for column in ("source", "shape_source", "composition_source")
                if column in row
            )
    words |= {word for note in notes for word in re.split(r"[\s,)]+", note)}
    return {word.strip("(.;:") for word in words}


def test_every_source_has_a_citation():
    sources = bibliography()
    assert len(sources) > 10
    assert all(source.citation for source in sources.values())


@pytest.mark.parametrize("key", bibliography())
def test_every_source_is_named_by_a_row_or_by_code(key):
    assert key in _words_of_code() | _words_of_tables()


@pytest.mark.parametrize("table", TABLES, ids=lambda table: table.stem)
def test_every_column_is_read(table):
    columns = set(chain.from_iterable(row.keys() for row in _rows(table))) - BESIDE_THE_FIGURES
    made_up = MADE_UP.get(table.name, ())
    unread = {
        column
        for column in columns - _words_of_code()
        if not any(column.startswith(stem) or column.endswith(stem) for stem in made_up)
    }
    assert not unread


def test_published_sources_without_a_year_only_become_fewer():
    undated = [
        source.key
        for source in bibliography().values()
        if source.kind == "published" and not re.search(r"\b(18|19|20)\d\d\b", source.citation)
    ]
    assert len(undated) <= 70


def test_the_paper_on_rice_names_its_first_author():
    assert bibliography()["grattan_2002"].citation.startswith("Grattan, S.R., Zeng, L.")
