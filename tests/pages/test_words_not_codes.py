"""A grower reads words: no id and no pointer of the interface stands on a page."""

import html
import re

import pytest

from saltcalc.words.catalogue import languages

POINTER = re.compile(r"(?<![\w/])/(?:medium|water|media|containers|crops)\b")
REPORT = "\n".join(
    (
        "Saturated media extract",
        "pH 6.1",
        "EC 2.1 mS/cm",
        "Nitrate-N 80 mg/L",
        "Iron 1.2 mg/L",
        "Manganese 0.4 mg/L",
        "Alkalinity 120 mg/L CaCO3",
    )
)
ID = "saturated_media_extract"


def told(page):
    page = re.sub(r"<textarea.*?</textarea>", " ", page, flags=re.S)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", page)))


@pytest.mark.parametrize("language", languages())
def test_a_pasted_report_is_previewed_in_words(client, language):
    page = told(client.post("/", data={"report": REPORT, "language": language}).text)
    assert not POINTER.search(page)
    assert ID not in page


def test_the_names_of_what_the_form_has_no_room_for(client):
    page = told(client.post("/", data={"report": REPORT}).text)
    for name in ("Iron", "Manganese", "Alkalinity", "Saturated media extract"):
        assert name in page


@pytest.mark.parametrize("language", languages())
def test_an_empty_form_is_told_what_is_missing(client, language):
    response = client.post("/", data={"language": language})
    page = told(response.text)
    assert response.status_code == 422
    assert "observations" not in page
    if language == "en":
        assert "Something is missing or could not be read." in page
        assert "Give the EC, the ions, the pH, or signs that were seen." in page


def test_a_ratio_by_weight_is_refused_without_a_list_of_ids(client):
    typed = {"/medium/ec": "1.8 mS/cm", "how": "mixed", "parts": "2", "by": "weight"}
    response = client.post("/", data=typed)
    page = told(response.text)
    assert response.status_code == 422
    assert "Ask for an extract by volume" in page
    assert "saturated_paste" not in page


@pytest.mark.parametrize("language", languages())
def test_charges_are_told_in_the_unit_that_the_form_offers(client, language):
    ions = {"calcium": "400", "sodium": "300", "chloride": "100", "nitrate_n": "20"}
    typed = {f"/medium/ions/{ion}": amount for ion, amount in ions.items()}
    method = {"/medium/extraction": ID, "/medium/ec": "3", "language": language}
    page = told(client.post("/", data=typed | method).text)
    assert "mmol_c" not in page
    assert "meq/L" in page


def test_two_methods_that_differ_are_not_silently_one(client):
    typed = {"/medium/ec": "1.8 mS/cm", "/medium/extraction": "one_to_two", "how": "drained"}
    response = client.post("/", data=typed)
    page = told(response.text)
    assert response.status_code == 422
    assert "The method chosen above is 1:2 by volume; this answer means Pour-through" in page
    for alike in ({**typed, "how": ""}, {**typed, "/medium/extraction": "pour_through"}):
        assert client.post("/", data=alike).status_code == 200
