"""Files of samples answered from the shell: every form, a break in the midst, exit codes."""

import csv
import json
import signal
import subprocess
import sys

import pandas as pd
import pytest
from click.testing import CliRunner

from saltcalc.cli import main
from tests.service.samples import samples

TABLE = "sample_id;ec [mS/cm];method;volume [L];crop\r\na;1,45;1:2;40;bean\r\nb;zz;1:2;;\r\n"

BREAK = """
import itertools, os, signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)  # a job in the background ignores it
from saltcalc import batch_files, cli
keep, turns = batch_files._keep, itertools.count(1)
def keep_and_break(*told):
    keep(*told)
    if next(turns) == 2:
        os.kill(os.getpid(), int(sys.argv[1]))
batch_files._keep = keep_and_break
cli.main(["batch", *sys.argv[2:]])
"""
"""The same command; a signal reaches it after its second chunk."""


def saltcalc(*arguments):
    return CliRunner().invoke(main, ["batch", *map(str, arguments)], catch_exceptions=False)


@pytest.fixture
def lines(tmp_path):
    source = tmp_path / "season.ndjson"
    source.write_text("\n".join(json.dumps(each) for each in samples(400, seed=3)))
    return source


def test_a_table_is_answered_in_a_table_lines_or_parquet(tmp_path):
    source = tmp_path / "samples.csv"
    source.write_text(TABLE, encoding="utf-8")
    told = {}
    for suffix in (".csv", ".ndjson", ".parquet"):
        target = tmp_path / f"answers{suffix}"
        ended = saltcalc(source, target)
        assert ended.exit_code == 1, ended.stderr
        assert "2 samples, 1 refused; 1 supported" in ended.stderr
        told[suffix] = target
    with told[".csv"].open(encoding="utf-8", newline="") as stream:
        first, second = csv.DictReader(stream, delimiter=";")
    on_lines = [json.loads(each) for each in told[".ndjson"].read_text().splitlines()]
    frame = pd.read_parquet(told[".parquet"])
    litres = "water_per_container [L]"
    assert float(first[litres].replace(",", ".")) == on_lines[0][litres] == frame[litres][0]
    assert "row 3: ec [mS/cm]" in second["problem"]
    assert second["problem"] == frame["problem"][1]
    assert sorted(each.name for each in tmp_path.iterdir()) == [
        "answers.csv",
        "answers.ndjson",
        "answers.parquet",
        "samples.csv",
    ]


def test_a_file_is_answered_in_us_units(tmp_path):
    source, target = tmp_path / "samples.csv", tmp_path / "answers.csv"
    source.write_text("ec [mS/cm],method,volume [gal],crop\n2,1:2,10,bean\n", encoding="utf-8")
    poured = []
    for units, unit in (("us", "gal"), ("metric", "L")):
        assert saltcalc(source, target, "--units", units).exit_code == 0
        with target.open(encoding="utf-8", newline="") as stream:
            (row,) = csv.DictReader(stream)
        poured.append(float(row[f"water_per_container [{unit}]"]))
    assert poured[0] == pytest.approx(poured[1] / 3.7854, rel=1e-3)


def test_parquet_is_read(tmp_path):
    source, target = tmp_path / "samples.parquet", tmp_path / "answers.ndjson"
    pd.DataFrame({"ec [mS/cm]": [1.45, None], "method": "1:2", "crop": "bean"}).to_parquet(source)
    assert saltcalc(source, target).exit_code == 1
    first, second = (json.loads(each) for each in target.read_text().splitlines())
    assert first["first_cause"] == "total_salts"
    assert second["problem"]["status"] == 422


def test_after_a_break_nothing_is_lost_and_nothing_stands_twice(tmp_path, lines):
    whole, broken = tmp_path / "whole.ndjson", tmp_path / "broken.ndjson"
    assert saltcalc(lines, whole).exit_code == 1
    part = tmp_path / "broken.ndjson.part"
    for end, code in ((signal.SIGKILL, -signal.SIGKILL), (signal.SIGINT, 130)):
        run = subprocess.run(
            [sys.executable, "-c", BREAK, str(int(end)), lines, broken],
            capture_output=True,
            text=True,
            check=False,
        )
        assert run.returncode == code, run.stderr
        assert not broken.exists()
    with part.open("ab") as half:  # what a power cut may leave behind
        half.write(b'{"line": 99, "sam')
    ended = saltcalc(lines, broken)
    assert ended.exit_code == 1
    assert "Went on after" in ended.stderr
    assert broken.read_bytes() == whole.read_bytes()


def test_another_file_of_the_same_name_begins_anew(tmp_path):
    source, target = tmp_path / "a.ndjson", tmp_path / "b.ndjson"
    target.with_name("b.ndjson.part").write_text("old")
    target.with_name("b.ndjson.part.json").write_text('{"of": {"size": 1}, "row": 5, "bytes": 1}')
    source.write_text('{"medium": {"ec": 2}}\n')
    assert saltcalc(source, target).exit_code == 0
    assert [json.loads(each)["line"] for each in target.read_text().splitlines()] == [1]


@pytest.mark.parametrize(
    ("name", "held", "why"),
    [
        ("a.txt", "x", "ends in none of"),
        ("a.csv", "ec,colour\n1,2\n", "colour"),
        ("a.csv", "", "no headings"),
    ],
)
def test_what_cannot_be_read_ends_with_two_and_says_why(tmp_path, name, held, why):
    source = tmp_path / name
    source.write_text(held)
    ended = saltcalc(source, tmp_path / "out.csv")
    assert ended.exit_code == 2
    assert why in ended.stderr
