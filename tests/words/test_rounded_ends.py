"""No rounded end of a range contradicts what is said of the figure beside it."""

import pytest

MEDIUM = {"extraction": "saturated_media_extract", "ec": 1.0}


@pytest.fixture
def row(client):
    def ask(medium, name):
        body = {"medium": MEDIUM | medium, "crops": [{"crop": "lettuce"}]}
        told = client.post("/v1/assessments", json=body, headers={"Accept": "text/plain"}).text
        return next((line for line in told.splitlines() if line.startswith(name)), "")

    return ask


@pytest.mark.parametrize(
    ("ion", "name", "found", "end"),
    [
        ("nitrate_n", "nitrate nitrogen", "202 mg/L", "40 to 199"),
        ("potassium", "potassium", "253 mg/L", "60 to 249"),
    ],
)
def test_an_end_just_passed_is_told_as_fine_as_that_takes(row, ion, name, found, end):
    said = row({"ions": {ion: found}}, name)
    assert end in said
    assert "high" in said


def test_what_a_laboratory_rounds_is_not_past_it(row):
    assert not row({"ions": {"nitrate_n": "200 mg/L"}}, "nitrate nitrogen")


def test_far_from_it_two_figures_do(row):
    assert "40 to 200" in row({"ions": {"nitrate_n": "400 mg/L"}}, "nitrate nitrogen")


def test_what_is_the_end_itself_is_not_below_it(row):
    assert not row({"ec": 0.8}, "EC, SME")
    assert "low" in row({"ec": 0.7}, "EC, SME")
