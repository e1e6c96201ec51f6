"""A trial of fewer than two media, and of media of which no EC is known."""

import re

import pytest

TYPED = {"media": "3", "method": "one_to_two", "/media/0/medium/ec": "1.4 mS/cm"}
NEEDED = "A comparison needs at least two media"


def _page(client, typed):
    return client.post("/trial", data=typed, headers={"Accept-Language": "en"})


@pytest.mark.parametrize(
    ("typed", "marked"),
    [
        (TYPED, "/media/1/medium/ec"),
        ({"media": "3", "/media/1/medium/ec": "1.4 mS/cm"}, "/media/0/medium/ec"),
        ({"media": "2", "/trial/weeks": "4"}, "/media/0/medium/ec"),
    ],
)
def test_one_medium_is_told_beside_the_next_to_fill(typed, marked, client):
    page = _page(client, typed)
    assert page.status_code == 422
    assert page.text.count(NEEDED) == 1
    assert "Length" not in page.text
    (invalid,) = re.findall(r'name="([^"]+)"[^>]*aria-invalid', page.text)
    assert invalid == marked


def test_two_media_are_compared(client):
    page = _page(client, {**TYPED, "/media/1/medium/ec": "0.6 mS/cm"})
    assert page.status_code == 200
    assert NEEDED not in page.text


def _text(client, media, crops):
    request = {"media": media, "crops": crops, "containers": [{"volume": 5}]}
    reply = client.post("/v1/comparisons", json=request, headers={"Accept": "text/plain"})
    assert reply.status_code == 200
    return reply.text


def _medium(name, **medium):
    return {"name": name, "medium": {"extraction": "one_to_two", **medium}}


def test_a_medium_without_an_ec_has_an_empty_verdict_on_each_crop(client):
    media = [_medium("A", ec=1.6), _medium("B", ph=6)]
    text = _text(client, media, [{"crop": "bean"}])
    assert re.search(r"^A +fails", text, re.MULTILINE)
    assert re.search(r"^B +6 ", text, re.MULTILINE)


def test_a_crop_at_two_ages_has_a_column_for_each(client):
    crops = [{"crop": "tomato", "stage": each} for each in ("seedling", "established")]
    text = _text(client, [_medium("A", ec=1.1), _medium("B", ec=0.5)], crops)
    assert re.search(r"^Medium +Tomato +Tomato ", text, re.MULTILINE)


def test_litres_of_an_ec_that_is_only_the_least_are_not_known(client):
    media = [_medium("A", ec=1.6), _medium("B", ions={"nitrate_n": 30})]
    text = _text(client, media, [{"crop": "bean"}])
    assert "B: not known" in text
    assert "B: none" not in text


def test_a_sealed_container_at_its_target_needs_none(client):
    media = [_medium("A", ec=1.6), _medium("B", ec=0.2)]
    request = {"media": media, "containers": [{"volume": 5, "drainage": "sealed"}]}
    request["crops"] = [{"crop": "tomato", "stage": "established"}]
    reply = client.post("/v1/comparisons", json=request, headers={"Accept": "text/plain"})
    assert "not known" not in reply.text
