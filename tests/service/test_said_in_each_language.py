"""What drains and what does not, said in each language of the service; and forms left open."""

import pytest

PAIRS = {
    "en": ("open", "sealed"),
    "de": ("offen", "geschlossen"),
    "fr": ("ouvert", "fermé"),
    "es": ("abierto", "cerrado"),
}
SHORT = [("auf", "open"), ("zu", "sealed"), ("ouverte", "open"), ("étanche", "sealed")]


@pytest.mark.parametrize(
    ("said", "meant"),
    [(said, way) for pair in PAIRS.values() for said, way in zip(pair, PAIRS["en"], strict=True)]
    + SHORT,
)
def test_both_ends_of_drainage_are_known(post, said, meant):
    body = {"medium": {"extraction": "one_to_two", "ec": 1.8}}
    body |= {"containers": [{"volume": 5, "drainage": said}]}
    [plan] = post("/v1/flush-plans", body)["flush_plan"]
    assert plan["drainage"] == meant


@pytest.mark.parametrize("unit", ["ppm", "mg/L"])
def test_an_alkalinity_of_no_form_is_asked_for_its_form(client, unit):
    """As CaCO3 or as HCO3 it differs by a fifth: it is not guessed, and the answer says how."""
    water = {"ec": 0.5, "alkalinity": f"40 {unit}"}
    reply = client.post("/v1/assessments", json={"medium": {"ec": 1}, "water": water})
    assert reply.status_code == 422
    [fault] = reply.json["errors"]
    assert f"'{unit} CaCO3'" in fault["detail"]
    water["alkalinity"] += " CaCO3"
    reply = client.post("/v1/assessments", json={"medium": {"ec": 1}, "water": water})
    assert reply.status_code == 200
