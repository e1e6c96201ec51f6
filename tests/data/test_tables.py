from dataclasses import dataclass
from types import SimpleNamespace

import marshmallow as ma
import pytest

from saltcalc.data import nutrients
from saltcalc.data.crops import catalogue
from saltcalc.data.sources import Sourced
from saltcalc.data.tables import Row, TableError, Uncertain, column, keyed, read_table, schema_of
from saltcalc.service.health import _loaders


@dataclass(frozen=True, kw_only=True)
class _Row(Sourced):
    id: str
    figure: float | None = None


@dataclass(frozen=True, kw_only=True)
class _Interval(Row):
    rate: Uncertain = column(validate=ma.validate.Range(0))


def _table(tmp_path, *rows):
    table = tmp_path / "figures.csv"
    table.write_text("\n".join(("id,figure,source,provenance,note", *rows)) + "\n")
    return table


def test_an_empty_cell_takes_the_default_of_its_column(tmp_path):
    (row,) = read_table(_table(tmp_path, "a, ,judgement,judgement,"), _Row)
    assert row.figure is None
    assert row.note == ""


def test_an_empty_cell_of_a_column_that_must_be_filled_is_an_error(tmp_path):
    with pytest.raises(TableError, match=r"figures.csv, line 2, column id: "):
        read_table(_table(tmp_path, ",1,judgement,judgement,"), _Row)


def test_a_source_that_the_bibliography_lacks_is_named_with_its_line(tmp_path):
    with pytest.raises(TableError, match=r"line 3, .*'hearsay' is not in the bibliography"):
        read_table(_table(tmp_path, "a,1,judgement,judgement,", "b,1,hearsay,memory,"), _Row)


def test_a_row_that_contradicts_itself_is_named_with_its_line(tmp_path):
    def refuse(row):
        raise ma.ValidationError("too good to be true", "figure")

    with pytest.raises(TableError, match=r"line 2, column figure: too good to be true"):
        read_table(_table(tmp_path, "a,1,judgement,judgement,"), _Row, refuse)


@pytest.mark.parametrize(
    ("cells", "fault"),
    [
        ("2,1,3", None),
        ("2,2,3", "column rate: the value lies outside its interval"),
        ("2,-1,3", "column rate_low: Must be greater than or equal to 0"),
        ("2,1,", "column rate_high: Missing data"),
    ],
)
def test_an_interval_stands_in_three_columns(tmp_path, cells, fault):
    table = tmp_path / "rates.csv"
    table.write_text(f"rate,rate_low,rate_high\n{cells}\n")
    if fault is None:
        assert read_table(table, _Interval)[0].rate == Uncertain(2.0, 1.0, 3.0)
    else:
        with pytest.raises(TableError, match=rf"rates.csv, line 2, {fault}"):
            read_table(table, _Interval)


def test_a_schema_follows_from_the_dataclass():
    schema = schema_of(_Row)
    assert list(schema.fields) == ["source", "provenance", "note", "id", "figure"]
    assert [name for name, each in schema.fields.items() if each.required] == [
        "source",
        "provenance",
        "id",
    ]


def test_two_records_of_one_key_are_an_error_even_when_alike():
    one, two, again = (SimpleNamespace(id=name) for name in ("a", "b", "a"))
    assert list(keyed("figures.csv", [one, two], lambda row: row.id)) == ["a", "b"]
    with pytest.raises(TableError, match=r"figures.csv: 'a' occurs twice"):
        keyed("figures.csv", [one, two, again], lambda row: row.id)


def test_readiness_reads_the_tables_that_answers_read_piecewise():
    assert {nutrients.amendments, catalogue} <= set(_loaders())
