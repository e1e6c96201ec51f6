"""A water that will harm a medium which is well yet: changing it is what to do today."""

import pytest

from saltcalc.data.alkalinity_limits import alkalinity_limits


def request_of(volume=1.0, ph=6.0, crop="pansy", ec=0.5, **water):
    return {
        "medium": {"extraction": "one_to_two", "ec": ec, "substrate": "peat_perlite", "ph": ph},
        "water": {"ec": 0.8} | water,
        "containers": [{"volume": volume, "drainage": "open"}],
        "crops": [{"crop": crop, "stage": "established"}],
    }


def told(post, client, request):
    summary = post("/v1/assessments", request)["summary"]
    page = client.post("/v1/assessments", json=request, headers={"Accept": "text/plain"})
    actions = [each["sentence"] for each in summary["actions"] if each["id"] == "change_water"]
    return summary, actions, " ".join(page.get_data(as_text=True).split())


@pytest.mark.parametrize(
    ("volume", "most"),
    # Greenhouse Management, understanding alkalinity: plugs to 60, packs and flats to 100 mg/L;
    # Kent County Extension 2009: acid from 150 mg/L on.
    [(0.015, 60), (0.3, 100), (1.0, 150), (10.0, 150)],
)
def test_alkaline_water_is_told_by_the_size_of_the_container(post, client, volume, most):
    summary, actions, page = told(post, client, request_of(volume, alkalinity=most + 20))
    assert len(actions) == 1
    assert f"up to {most}" in actions[0]
    assert "licensed practice" in actions[0]
    assert "Nothing to correct now" not in page
    assert "water: alkalinity" in page
    assert summary["leading_cause"]["cause"] is None
    _, actions, page = told(post, client, request_of(volume, alkalinity=most - 10))
    assert not actions
    assert "water: alkalinity" not in page


def test_a_limit_rises_with_the_container():
    assert [each.most for each in alkalinity_limits()] == [60, 100, 150]


def test_a_low_ph_is_not_warned_of_alkaline_water(post, client):
    assert not told(post, client, request_of(alkalinity=350, ph=5.0))[1]


def test_soil_holds_its_ph(post, client):
    request = request_of(alkalinity=350, ph=6.5)
    request["medium"] |= {"substrate": "clay_loam"}
    assert not told(post, client, request)[1]


def test_softened_water_is_changed_before_its_sodium_gathers(post, client):
    ions = {"sodium": 220, "calcium": 2, "magnesium": 1, "chloride": 40}
    _, actions, page = told(post, client, request_of(2, crop="impatiens", ions=ions))
    assert ["softener" in each for each in actions] == [True]
    assert "water: sodium 220 mg/L up to 69" in page
    assert "No flush" not in page


def test_a_salty_water_is_changed_before_the_medium_gets_salty(post, client):
    request = request_of(2, crop="lettuce", ec=0.4) | {"water": {"ec": 2.5}}
    request["crops"] = [{"crop": "lettuce", "stage": "seedling"}]
    _, actions, page = told(post, client, request)
    assert "Blend in at least" in actions[0]
    assert page.count("Blend in at least") == 1
    request["water"] = {"ec": 0.4}
    assert not told(post, client, request)[1]
