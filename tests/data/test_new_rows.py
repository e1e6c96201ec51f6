"""A new crop, substrate or extraction method takes rows of CSV, and its words in the catalogue.

Each case adds rows to copies of the tables and asks the whole service, in a process of its own.
"""

import csv
import json
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import saltcalc
from saltcalc.data import substrates, tables
from saltcalc.data.tables import TableError

SERVE = """
import json, sys
from pathlib import Path
from saltcalc.data import tables
from saltcalc.words import catalogue
tables.DATA_DIR, catalogue._LOCALES = Path(sys.argv[1]), Path(sys.argv[1]) / "locale"
from saltcalc.service.app import create_app
from saltcalc.service.config import read_settings
client = create_app(read_settings({})).test_client()
ready = client.get("/readyz")
assert ready.status_code == 200, ready.json
requests = json.loads(Path(sys.argv[2]).read_text())
answers = [client.open(path, method=method, json=body).json for method, path, body in requests]
Path(sys.argv[3]).write_text(json.dumps(answers))
"""
TWIN = re.compile(r"[ _-]twin\b")
METHODS_IN = {
    "extraction_methods.csv": "id",
    "ec_classes.csv": "method",
    "ec_conversions.csv": "method",
    "stage_limits.csv": "extraction",
    "nutrient_ranges.csv": "method",
}
"""Tables with rows of an extraction method, and the column that names it."""

IONS = {"potassium": 100, "calcium": 150, "nitrate_n": 90, "sodium": 60, "chloride": 80}


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """Copies of all tables, in a folder that the loaders read from here on."""
    copies = tmp_path / "tables"
    source = Path(saltcalc.__file__).parent / "data"
    for table in source.rglob("*.csv"):
        copy = copies / table.relative_to(source)
        copy.parent.mkdir(parents=True, exist_ok=True)
        copy.write_bytes(table.read_bytes())
    shutil.copytree(source.parent / "words" / "locale", copies / "locale")
    monkeypatch.setattr(tables, "DATA_DIR", copies)
    return copies


def add(table, *rows):
    """Add rows to a table; a column that a row lacks stays empty."""
    with table.open(encoding="utf-8", newline="") as lines:
        columns = csv.DictReader(lines).fieldnames
    with table.open("a", encoding="utf-8", newline="") as lines:
        csv.DictWriter(lines, columns, restval="").writerows(rows)


def add_words(folder, table, old, new, end=""):
    """Give a new row of a table the words of an old one."""
    path = folder / "locale" / "en" / "LC_MESSAGES" / f"{table}.po"
    if not path.exists():
        return
    found = re.findall(
        rf'^msgid "({table}\.\w+\.){re.escape(old)}"\nmsgstr "(.*)"$', path.read_text(), re.M
    )
    with path.open("a", encoding="utf-8") as catalogue:
        for start, words in found:
            ended = words + end if ".name." in start else words
            catalogue.write(f'\nmsgid "{start}{new}"\nmsgstr "{ended}"\n')


def rows_of(table, column, value):
    with table.open(encoding="utf-8", newline="") as lines:
        return [row for row in csv.DictReader(lines) if row[column] == value]


def serve(folder, *requests):
    """Start a service with these tables and let it answer; return the process when it has ended."""
    asked = folder / "requests.json"
    asked.write_text(json.dumps(requests))
    command = [sys.executable, "-c", SERVE, folder, asked, folder / "answers.json"]
    return subprocess.run(command, capture_output=True, text=True, check=False)


def ask(folder, *requests):
    """Return what a service with these tables answers."""
    run = serve(folder, *requests)
    assert run.returncode == 0, run.stdout + run.stderr
    return json.loads((folder / "answers.json").read_text())


def assessed(crop="bean", **medium):
    crops = [{"crop": crop, "stage": "seedling"}, {"crop": "beetroot", "stage": "established"}]
    container = {"volume": 8, "count": 2}
    request = {"medium": medium, "crops": crops, "containers": [container], "water": {"ec": 0.5}}
    return "POST", "/v1/assessments", request


def converted(extraction):
    request = {"ec": 2.0, "extraction": extraction, "to": "saturated_media_extract"}
    return "POST", "/v1/conductivity/convert", request


def without_twin(answer):
    return TWIN.sub("", json.dumps(answer | {"trace": None}))


def test_a_method_added_by_rows_has_the_verdicts_of_its_twin(folder):
    methods = ("press", "pour_through", "one_to_two", "one_to_five")
    for method in methods:
        for table, column in METHODS_IN.items():
            twins = [
                row | {column: f"{method}_twin"} for row in rows_of(folder / table, column, method)
            ]
            if table == "extraction_methods.csv":
                add_words(folder, "extraction_methods", method, f"{method}_twin", " twin")
            if table == "ec_conversions.csv":
                for row in twins:
                    add_words(folder, "ec_conversions", row["id"], f"{row['id']}_twin")
                twins = [row | {"id": f"{row['id']}_twin"} for row in twins]
            add(folder / table, *twins)
    both = [method + end for method in methods for end in ("", "_twin")]
    medium = {"ec": 2.0, "ions": IONS, "substrate": "coir_green_compost"}
    answers = ask(
        folder,
        *(assessed(extraction=method, **medium) for method in both),
        *(converted(method) for method in both),
    )
    by_press = {row["nutrient"]: row["status"] for row in answers[1]["nutrients"]["elements"]}
    assert (by_press["potassium"], by_press["calcium"]) == ("in_range", "in_range")
    for one, twin in zip(answers[::2], answers[1::2], strict=True):
        assert "errors" not in one
        assert without_twin(one) == without_twin(twin)


def test_a_method_without_a_conversion_is_refused(folder):
    (press,) = rows_of(folder / "extraction_methods.csv", "id", "press")
    add(folder / "extraction_methods.csv", press | {"id": "press_twin"})
    add_words(folder, "extraction_methods", "press", "press_twin")
    run = serve(folder)
    assert run.returncode != 0
    assert "ec_conversions.csv: press_twin in soilless has not one governing row" in run.stderr


def test_a_crop_takes_one_row(folder):
    (bean,) = rows_of(folder / "crops.csv", "id", "bean")
    new = bean | {"id": "new_bean", "name": "New bean", "botanical": "", "synonyms": ""}
    add(folder / "crops.csv", new)
    answer, crop = ask(
        folder,
        assessed("New bean", extraction="saturated_media_extract", ec=2.0),
        ("GET", "/v1/crops/new_bean", None),
    )
    assert (crop["name"], crop["local"]) == ("New bean", False)
    assert crop["threshold"] == {"value": float(bean["threshold"]), "unit": "dS/m"}
    assert answer["crops"][0]["crop"] == "new_bean"
    # Maas and Hoffman (1977): 100 % less the slope times what is above the threshold.
    loss = float(bean["slope"]) * (2.0 - float(bean["threshold"]))
    assert answer["crops"][0]["relative_yield"]["value"] == pytest.approx(100 - loss)


def test_a_substrate_takes_one_row(folder):
    (coir,) = rows_of(folder / "substrates.csv", "id", "coir_green_compost")
    add(folder / "substrates.csv", coir | {"id": "coir_green_compost_twin"})
    add_words(folder, "substrates", "coir_green_compost", "coir_green_compost_twin")
    medium = {"extraction": "one_to_two", "ec": 1.4, "ions": IONS}
    one, twin = ask(
        folder,
        assessed(substrate="coir_green_compost", **medium),
        assessed(substrate="coir_green_compost_twin", **medium),
    )
    assert "errors" not in one
    assert without_twin(one) == without_twin(twin)


def test_a_substrate_without_its_make_up_stops_the_start(folder):
    (coir,) = rows_of(folder / "substrates.csv", "id", "coir_perlite")
    add(folder / "substrates.csv", coir | {"id": "coir_new", "composition_source": ""})
    fault = r"substrates\.csv, line \d+, column composition_source: The make-up is missing"
    with pytest.raises(TableError, match=fault):
        substrates.substrates.__wrapped__()
    run = serve(folder)
    assert run.returncode != 0
    assert re.search(fault, run.stderr)
