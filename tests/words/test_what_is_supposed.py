"""What was taken for granted is counted only where there is more of it than is told."""

import pytest

SME = {"extraction": "saturated_media_extract", "ec": 4}


@pytest.fixture
def supposed(client):
    def ask(**request):
        body = {"medium": SME} | request
        told = client.post("/v1/assessments", json=body, headers={"Accept": "text/plain"}).text
        return " ".join(told.partition("Assumed")[2].split())

    return ask


def test_what_is_told_whole_is_not_counted(supposed):
    told = supposed()
    assert told
    assert "(1 things" not in told


def test_more_than_is_told_is_counted(supposed):
    told = supposed(containers=[{"volume": "5 L"}], crops=[{"crop": "lettuce"}])
    assert "things in all" in told
