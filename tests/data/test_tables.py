from types import SimpleNamespace

import marshmallow as ma
import pytest

from saltcalc.data import nutrients
from saltcalc.data.crops import catalogue
from saltcalc.data.sources import SourcedSchema
from saltcalc.data.tables import TableError, keyed, read_table
from saltcalc.service.health import _loaders


class _Row(SourcedSchema):
    id = ma.fields.String(required=True)
    figure = ma.fields.Float(load_default=None)


def _table(tmp_path, *rows):
    table = tmp_path / "figures.csv"
    table.write_text("\n".join(("id,figure,source,provenance,note", *rows)) + "\n")
    return table


def test_an_empty_cell_takes_the_default_of_its_column(tmp_path):
    (row,) = read_table(_table(tmp_path, "a, ,judgement,memory,"), _Row())
    assert row["figure"] is None
    assert row["note"] == ""


def test_an_empty_cell_of_a_column_that_must_be_filled_is_an_error(tmp_path):
    with pytest.raises(TableError, match=r"figures.csv, line 2, column id: "):
        read_table(_table(tmp_path, ",1,judgement,memory,"), _Row())


def test_a_source_that_the_bibliography_lacks_is_named_with_its_line(tmp_path):
    with pytest.raises(TableError, match=r"line 3, .*'hearsay' is not in the bibliography"):
        read_table(_table(tmp_path, "a,1,judgement,memory,", "b,1,hearsay,memory,"), _Row())


def test_two_records_of_one_key_are_an_error_even_when_alike():
    one, two, again = (SimpleNamespace(id=name) for name in ("a", "b", "a"))
    assert list(keyed("figures.csv", [one, two], lambda row: row.id)) == ["a", "b"]
    with pytest.raises(TableError, match=r"figures.csv: 'a' stands twice"):
        keyed("figures.csv", [one, two, again], lambda row: row.id)


def test_readiness_reads_the_tables_that_answers_read_piecewise():
    assert {nutrients.amendments, catalogue} <= set(_loaders())
