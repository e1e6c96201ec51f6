"""What is wrong is told of fields by their labels, once; signs may be parted by either mark."""

import html
import re

import pytest

from saltcalc.words.catalogue import languages

TYPED = {
    "media": "3",
    "/crops/0/crop": "squash",
    "/crops/1/crop": "pea",
    "method": "saturated_media_extract",
    **{f"/media/{place}/medium/ec": "1.5 mS/cm" for place in range(3)},
    **{f"/media/{place}/outcomes/0/outcome": "pale" for place in range(3)},
    **{f"/media/{place}/outcomes/1/outcome": "thrived" for place in range(3)},
}


def _said(page):
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


@pytest.mark.parametrize("language", languages())
def test_a_crop_that_may_be_several_is_told_once_beside_its_field(client, language):
    page = client.post("/trial", data={**TYPED, "language": language})
    assert page.status_code == 422
    alert = re.search(r'role="alert">(.*?)</div>', page.text, re.DOTALL)[1]
    assert alert.count("<a href=") == 1
    assert '<a href="#crops-0-crop">' in alert
    assert "/media/" not in _said(page.text)
    assert page.text.count('<p class="fault"') == 1


@pytest.mark.parametrize("language", languages())
def test_no_pointer_stands_on_a_page(client, language):
    typed = {**TYPED, "/crops/0/crop": "zucchini", "/feeding/what": "x", "/trial/weeks": "-3"}
    page = client.post("/trial", data={**typed, "language": language})
    assert page.status_code == 422
    assert not re.search(r"(?<![\w<:])/(media|crops|feeding|trial)/", _said(page.text))


@pytest.mark.parametrize("mark", ["; ", ", "])
def test_signs_of_a_row_are_parted_by_either_mark(client, mark):
    signs = mark.join(["white crust", "water repellent"])
    rows = f'sample_id,ec,method,signs\na,2 mS/cm,SME,"{signs}"\n'
    answer = client.post("/v1/assessments/batch", data=rows, headers={"Content-Type": "text/csv"})
    assert answer.status_code == 200
    assert "not known" not in answer.text
    assert "water repellent" not in answer.text


def test_a_heading_that_is_not_known_says_what_is_accepted(client):
    rows = "sample_id,ec,Bemerkung,Wetter\na,2 mS/cm,x,y\n"
    answer = client.post("/v1/assessments/batch", data=rows, headers={"Content-Type": "text/csv"})
    assert answer.status_code == 422
    detail = answer.json["detail"]
    assert "'Bemerkung' is not known." in detail
    assert detail.count("Accepted are names such as ec") == 1
    table = "name,ec,Bemerkung,outcome: bean\na,2,x,pale\nb,1,y,thrived\n"
    page = client.post("/trial", data={"fill": "1", "table": table, "language": "de"})
    assert "Angenommen werden Namen wie ec" in _said(page.text)


def test_the_hint_of_the_page_is_what_it_says(post):
    request = {"medium": {"extraction": "SME", "ec": 1}, "observations": ["water runs off"]}
    answer = post("/v1/assessments", request)
    assert "down the wall" not in str(answer["assumptions"])
    assert "left it open" not in str(answer["assumptions"])
