"""What the figures rest on: how many rows were looked up, and that no level is used for another."""

import csv
from collections import Counter
from functools import cache

import pytest

from saltcalc.data.sources import bibliography
from saltcalc.data.tables import PROVENANCES, TableError, read_table, weakest
from saltcalc.data.water_classes import WaterClass
from tests.test_bibliography import TABLES

NAMES = {"crop_names", "other_crops"}
"""Tables of names: no row of theirs holds a limit, a range or a factor."""

AIM_OF_ALL = 0.15
AIM_OF_A_KIND = 0.25
"""Shares from memory that are aimed at: of all rows with a figure, and of each kind below."""

KINDS = ("crop_chloride", "crop_emergence", "crop_sodium", "crop_boron", "thresholds")

MOST_FROM_MEMORY = {
    "crop_emergence": 16,
    "crop_sodium": 4,
}
"""Of the kinds that miss their aim: rows with a figure that was published and could not be read.

A figure that is read lowers these, and nothing may raise them.
"""


@cache
def _rows():
    """Every row that says how it is known, with its table."""
    found = []
    for table in TABLES:
        if table.stem in NAMES:
            continue
        with table.open(encoding="utf-8", newline="") as lines:
            reader = csv.DictReader(lines)
            if "provenance" in reader.fieldnames:
                found += [(table.stem, row) for row in reader]
    return found


def _holds_a_figure(row):
    return any(
        cell.replace(".", "", 1).replace("-", "", 1).isdigit()
        for column, cell in row.items()
        if column not in {"note", "rank", "cost_rank"}
    )


@cache
def _counted():
    """Rows with a figure, and those of them from memory, of each table and of the thresholds."""
    with_figure, memory = Counter(), Counter()
    for table, row in _rows():
        kinds = [table] * _holds_a_figure(row)
        kinds += ["thresholds"] * (table == "crops" and bool(row["threshold"]))
        with_figure.update(kinds)
        memory.update(kinds if row["provenance"] == "memory" else ())
    return with_figure, memory


def test_the_rows_from_memory_only_become_fewer(capsys):
    with_figure, memory = _counted()
    tables = with_figure.keys() - {"thresholds"}
    of_all = sum(memory[table] for table in tables)
    lines = [
        f"{name:24}{memory[name]:5} of {with_figure[name]:4}{memory[name] / with_figure[name]:6.0%}"
        for name in sorted(memory)
    ]
    total = sum(with_figure[table] for table in tables)
    with capsys.disabled():
        print("\nFrom memory, rows with a figure", *lines, sep="\n")
        print(f"{'all':24}{of_all:5} of {total:4}{of_all / total:6.0%}")
    assert of_all / total <= AIM_OF_ALL
    missed = {kind for kind in KINDS if memory[kind] / with_figure[kind] > AIM_OF_A_KIND}
    assert {kind: memory[kind] for kind in missed} == MOST_FROM_MEMORY


def test_chloride_limits_are_worked_out_as_their_source_says():
    rows = [row for table, row in _rows() if table == "crop_chloride"]
    worked_out = [row for row in rows if row["source"] == "chloride_worked_out"]
    assert len(worked_out) > 50
    crops = {row["id"]: row for table, row in _rows() if table == "crops"}
    for row in worked_out:
        for crop in (crops[crop] for crop in row["crops"].split(";")):
            assert crop["provenance"] != "memory", crop["id"]
            chloride = round(10 * float(crop["threshold"]), 6)
            wanted = 5 * (chloride // 5) if chloride >= 10 else chloride
            assert float(row["threshold"]) == wanted, crop["id"]
            slope = float(crop["slope"]) / 10
            assert float(row["slope"]) == pytest.approx(slope, abs=0.0051), crop["id"]


def test_every_level_is_one_of_ours_and_each_is_used():
    of_growers = {"own_trial"}
    assert {row["provenance"] for _, row in _rows()} == set(PROVENANCES) - of_growers


@pytest.mark.parametrize("own", ["common_practice", "judgement", "computed"])
def test_a_row_of_ours_is_called_what_its_source_is(own):
    called = {row["provenance"] for _, row in _rows() if bibliography()[row["source"]].kind == own}
    assert called == {own}


def test_what_notes_say_was_read_in_a_copy_is_called_so():
    said = [
        row
        for _, row in _rows()
        if "read in a copy" in row.get("note", "") or "read in two open" in row.get("note", "")
    ]
    assert len(said) > 20
    assert {row["provenance"] for row in said} == {"seen_in_copy"}


@pytest.mark.parametrize(
    ("source", "provenance", "fits"),
    [
        ("fao29", "seen", True),
        ("fao29", "computed", True),
        ("fao29", "judgement", False),
        ("fao29", "common_practice", False),
        ("judgement", "judgement", True),
        ("judgement", "common_practice", False),
        ("common_practice", "memory", False),
        ("fao29", "dreamt", False),
    ],
)
def test_a_table_refuses_a_level_that_its_source_cannot_have(tmp_path, source, provenance, fits):
    table = tmp_path / "water.csv"
    table.write_text(
        "scheme,parameter,low,low_included,high,unit,class,source,provenance\n"
        f"x,ecw,,,1,dS/m,low,{source},{provenance}\n"
    )
    if fits:
        (row,) = read_table(table, WaterClass)
        assert row.provenance == provenance
    else:
        with pytest.raises(TableError, match="column provenance"):
            read_table(table, WaterClass)


def test_the_weakest_of_several_counts():
    assert weakest(["seen", "memory", "judgement"]) == "memory"
    assert weakest(["seen_in_copy", "seen"]) == "seen_in_copy"
    assert weakest([]) == "seen"
