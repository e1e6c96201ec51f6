"""Published trials of several media or strengths: the explanation that their authors give.

``trial_cases.csv`` holds a row an outcome, with the readings as printed in the source beside it;
``expected`` is the cause that the authors name, ``figure`` the reading that must fit the outcomes.
"""

import csv
from itertools import groupby
from pathlib import Path

import pytest

TABLE = Path(__file__).with_name("trial_cases.csv").read_text(encoding="utf-8")
ROWS = list(csv.DictReader(TABLE.splitlines()))
TRIALS = {name: list(rows) for name, rows in groupby(ROWS, key=lambda row: row["trial"])}


def _request(rows):
    media = {}
    for row in rows:
        medium = {
            name: row[column]
            for name, column in (("extraction", "extraction"), ("ec", "ec_dS_m"), ("ph", "ph"))
            if row[column]
        }
        one = media.setdefault(row["medium"], {"name": row["medium"], "medium": medium})
        one.setdefault("outcomes", []).append({"crop": row["crop"], "outcome": row["outcome"]})
        one.setdefault("observations", []).extend(filter(None, row["signs"].split(";")))
    crops = {row["crop"]: {"crop": row["crop"], "stage": row["stage"]} for row in rows}
    return {"crops": list(crops.values()), "media": list(media.values())}


def test_there_are_six_at_least():
    assert len(TRIALS) >= 6
    assert all(row["source"] for row in ROWS)


@pytest.mark.parametrize("name", TRIALS)
def test_the_explanation_is_that_of_the_authors(post, name):
    rows = TRIALS[name]
    answer = post("/v1/comparisons", _request(rows))
    trial = answer["trial"]
    assert trial["contradictions"] == []
    for row in rows:
        (found,) = (each for each in trial["tried"] if each["name"] == row["medium"])
        (outcome,) = (
            each
            for each in found["outcomes"]
            if (each["outcome"] == row["outcome"] and each["crop"] in row["crop"].replace(" ", "_"))
            or len(found["outcomes"]) == 1
        )
        if all(each["outcome"] in ("thrived", "slow") for each in found["outcomes"]):
            assert "cause" not in found
            assert {each["id"] for each in found["actions"]}.isdisjoint({"leach", "way_out"})
        if row["expected"]:
            assert found["cause"] in row["expected"].split(";")
        if row["figure"]:
            assert row["figure"] in outcome["explained_by"]
