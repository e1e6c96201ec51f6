"""A check that is told without what it may show is of no use to whoever makes it."""

import pytest

from saltcalc.words.catalogue import languages, words
from saltcalc.words.text import as_text, short

SME = "saturated_media_extract"
LETTUCE = [{"crop": "lettuce", "stage": "seedling"}]
TRAY = [{"volume": "60 mL", "height": "5 cm", "count": 200, "drainage": "open"}]
TUBS = [
    {"name": "open", "volume": "60 L", "drainage": "open"},
    {"name": "lined", "volume": "60 L", "drainage": "sealed"},
]
MANY = {
    "extraction": SME,
    "ec": 4.8,
    "ph": 7.4,
    "ions": {"potassium": 380, "nitrate_n": 160, "calcium": 180, "magnesium": 45},
}
LONG = {
    "one reading": {"medium": {"extraction": "one_to_two", "ec": 1.8}},
    "a report": {"medium": MANY, "water": {"ec": 1.1, "alkalinity": 200}},
    "a tray": {"medium": MANY, "containers": TRAY, "observations": ["marginal_burn"]},
    "two kinds of tubs": {"medium": MANY, "containers": TUBS, "feed_ec": 1.5},
    "repels water": {
        "medium": MANY | {"substrate": "sphagnum_peat"},
        "containers": TUBS,
        "observations": ["repels_water_after_drying", "white_crust_when_dry"],
    },
}


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("name", LONG)
def test_what_it_shows_goes_with_it(client, name, language):
    request = {"crops": LETTUCE, "containers": [{"volume": "3 gal"}]} | LONG[name]
    request["language"] = language
    reply = client.post("/v1/assessments", json=request)
    assert reply.status_code == 200
    check = reply.json["causes"]["next_check"]
    told = " ".join(as_text(short(reply.json, request, words(language))).split())
    assert check["how"] in told
    shown = check["outcomes"][0]["outcome"]
    assert shown[1:] in told
