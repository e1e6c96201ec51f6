"""What is left of the yield where no EC was measured; and which of several media is sound."""

import pytest

BEAN = {"crop": "bean", "stage": "seedling"}


@pytest.mark.parametrize("nitrate", [150, 230, 300])
def test_from_a_floor_a_yield_is_the_most_that_is_left(client, nitrate):
    request = {"medium": {"ions": {"nitrate_n": nitrate}}, "crops": [BEAN]}
    (bean,) = client.post("/v1/assessments", json=request).json["crops"]
    for told in (bean["relative_yield"], bean["emergence"]):
        assert told is None or ("high" in told and "low" not in told)
        assert told is None or told["value"] == told["high"]
    assert "is left at" in str(bean)
    assert "so at most" in str(bean)
    assert "so about" not in str(bean)
    words = client.post("/v1/assessments", json=request, headers={"Accept": "text/plain"})
    assert words.status_code == 200


def test_from_a_reading_a_yield_is_as_before(client):
    request = {"medium": {"ec": 2.0, "extraction": "saturated_media_extract"}, "crops": [BEAN]}
    (bean,) = client.post("/v1/assessments", json=request).json["crops"]
    assert bean["relative_yield"]["value"] == pytest.approx(100 - 19 * (2.0 - 1.0), abs=0.5)
    assert "high" not in bean["relative_yield"] or "low" in bean["relative_yield"]


def bag(name, nitrate=80, ammonium=3, ec=1.3, ph=6.0):
    return {
        "name": name,
        "medium": {
            "extraction": "saturated_media_extract",
            "ec": ec,
            "ph": ph,
            "ions": {"nitrate_n": nitrate, "ammonium_n": ammonium},
        },
    }


@pytest.mark.parametrize(
    "media",
    [
        [bag("sound"), bag("short of nitrogen", nitrate=3, ec=0.9)],
        [bag("sound"), bag("of much ammonium", ammonium=95, ec=0.8)],
        [bag("sound"), bag("sour", ph=4.2, ec=0.9)],
        [bag("salty", ec=4.5), bag("short of nitrogen", nitrate=3, ec=0.6), bag("sound")],
    ],
)
def test_no_ailing_medium_is_told_to_bear_the_crops(client, media):
    crops = [{"crop": "lettuce", "stage": "seedling"}, {"crop": "tomato", "stage": "seedling"}]
    for order in (media, media[::-1]):
        answer = client.post("/v1/comparisons", json={"media": order, "crops": crops}).json
        told = [
            (group["finding"], group["media"])
            for each in answer["comparison"]["differences"]
            if each["id"] in ("crop_verdict", "main_cause")
            for group in each["groups"]
        ]
        good = [names for what, names in told if what in ("tolerant", "nothing stands out")]
        assert good
        assert all(names == ["sound"] for names in good), told


def test_what_a_floor_does_not_refute_is_told(client):
    beet = {"crop": "beetroot", "outcome": "thrived"}

    def tried(name, nitrate, outcome, **more):
        told = {"crop": "bean", "outcome": outcome}
        if outcome == "died":
            told["died_at"] = "first_true_leaves"
        return {
            "name": name,
            "medium": {"ions": {"nitrate_n": nitrate}} | more,
            "outcomes": [told, beet],
        }

    def refuted(*media):
        request = {"media": media, "crops": [BEAN, BEAN | {"crop": "beetroot"}], "trial": {}}
        answer = client.post("/v1/comparisons", json=request).json
        return str(answer["trial"]["contradictions"])

    by_floors = refuted(tried("one", 230, "died"), tried("two", 260, "thrived"))
    assert "more salt there is not ruled out" in by_floors
    read = refuted(tried("one", 230, "died", ec=2.2), tried("two", 260, "thrived", ec=2.4))
    assert "not ruled out" not in read
