"""Outcomes of a trial that a reading or a week does not fit; every figure here is invented."""

import pytest

DIED = {"outcome": "died", "died_at": "first_true_leaves"}
THROVE = {"outcome": "thrived"}


def _request(*bags, crop="lettuce", weeks=4):
    media = [
        {
            "name": name,
            "medium": {"extraction": "SME", **medium},
            "outcomes": [{"crop": crop, **outcome}],
        }
        for name, medium, outcome in bags
    ]
    crops = [{"crop": crop, "stage": "seedling"}]
    return {"media": media, "crops": crops, "trial": {"weeks": weeks}}


def _of(answer, name):
    return next(each for each in answer["trial"]["tried"] if each["name"] == name)


def test_a_crop_that_throve_far_above_its_limit_calls_for_another_reading(post):
    answer = post(
        "/v1/comparisons", _request(("M1", {"ec": 3.8}, THROVE), ("M2", {"ec": 0.9}, DIED))
    )
    told = _of(answer, "M1")
    assert told["outcomes"] == [{"crop": "lettuce", "outcome": "thrived"}]
    assert "grew well" in told["explanation"]
    assert "EC of 3.8 dS/m" in told["explanation"]
    assert "2.9 times the limit of lettuce" in told["explanation"]
    (check,) = told["actions"]
    assert check["id"] == "check_reading"
    assert "not swapped with that of M2" in check["sentence"]
    assert "meter" in check["sentence"]
    expected = "Measure next: the EC in M1 and M2, by one method on one day."
    assert answer["trial"]["next_measurement"] == expected
    assert answer["comparison"]["matrix"][0]["crops"][0]["verdict"] == "tolerant"


def test_where_no_other_sample_can_be_its_own_the_meter_is_checked(post):
    answer = post(
        "/v1/comparisons", _request(("M1", {"ec": 3.8}, THROVE), ("M2", {"ec": 0.9}, THROVE))
    )
    (check,) = _of(answer, "M1")["actions"]
    assert check["id"] == "check_reading"
    assert "swapped" not in check["sentence"]
    assert [each["id"] for each in _of(answer, "M2")["actions"]] == ["nothing"]


@pytest.mark.parametrize(
    ("first", "second"),
    [
        # Well fed, and above the low limit of seedlings by twice.
        ({"ec": 2.8}, {"ec": 2.6}),
        ({"ec": 1.2}, {"ec": 1.1}),
        # Only the least that the ions make, which no meter has read.
        ({"ions": {"nitrate_n": 400, "potassium": 900}}, {"ions": {"nitrate_n": 60}}),
    ],
)
def test_a_medium_that_feeds_its_crop_well_is_left_alone(post, first, second):
    answer = post("/v1/comparisons", _request(("a", first, THROVE), ("b", second, THROVE)))
    assert "check_reading" not in str(answer["trial"])
    assert "odd" not in str([each["explanation"] for each in answer["trial"]["tried"]])


def test_a_crop_that_stands_salt_is_no_surprise(post):
    request = _request(("a", {"ec": 3.8}, THROVE), ("b", {"ec": 1.0}, THROVE), crop="beetroot")
    request["crops"][0]["stage"] = "established"
    assert "check_reading" not in str(post("/v1/comparisons", request)["trial"])


def test_an_outcome_after_the_end_of_the_trial_is_refused(refuse):
    late = {"outcome": "died", "from_week": 9}
    request = _request(("a", {"ec": 1.0}, THROVE), ("b", {"ec": 1.1}, late))
    (error,) = refuse("/v1/comparisons", request)["errors"]
    assert error["pointer"] == "/media/1/outcomes/0/from_week"
    assert error["value"] == "9"
    assert "week 4" in error["detail"]


@pytest.mark.parametrize(("week", "weeks"), [(4, 4), (3, 4), (9, None)])
def test_a_week_within_the_trial_is_taken(post, week, weeks):
    late = {"outcome": "stunted", "from_week": week}
    request = _request(("a", {"ec": 1.0}, THROVE), ("b", {"ec": 1.1}, late), weeks=weeks)
    if weeks is None:
        del request["trial"]
    assert _of(post("/v1/comparisons", request), "b")["outcomes"][0]["outcome"] == "stunted"
