"""Cress that is kept warm shows nothing of a cold root zone."""

from saltcalc.data.causes import next_measurements


def test_cress_kept_warm_shows_nothing_of_cold():
    assert "cold_root_zone" not in next_measurements()["cress_three_ways"].outcomes


def test_no_outcome_of_the_cress_is_told_of_cold(post):
    answer = post(
        "/v1/assessments",
        {
            "medium": {"substrate": "peat_perlite", "extraction": "one_to_two", "ec": 0.5},
            "root_zone_temperature": "55 F",
            "crops": [{"crop": "cucumber", "stage": "seedling"}],
            "observations": ["cold_nights", "recovers_in_warmth", "stalled_at_first_leaves"],
        },
    )
    causes = answer["causes"]
    told = [causes["next_check"], *causes.get("other_checks", [])]
    for check in told:
        if check and check["id"] == "cress_three_ways":
            outcomes = check.get("outcomes", [])
            failing = [each for each in outcomes if each["outcome"] != check["otherwise"]]
            assert "cold_root_zone" not in {each["cause"] for each in failing}
