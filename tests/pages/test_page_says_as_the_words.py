"""The page, its picture and its paper hold what the short words hold."""

import html
import re

import pytest

from saltcalc.words.catalogue import languages

TYPED = {
    "/medium/extraction": "one_to_two",
    "/medium/ec": "0.8",
    "/medium/ec@unit": "mS/cm",
    "/medium/ions/nitrate_n": "120",
    "/medium/ions/sodium": "65",
    "/water/ec": "0.6",
    "/water/ec@unit": "mS/cm",
    "/crops/0/crop": "lettuce",
    "/containers/0/volume": "11",
    "/containers/0/volume@unit": "L",
}


def told(page):
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<[^>]+>", " ", page)))


@pytest.fixture
def page(client):
    def ask(**typed):
        reply = client.post("/", data=TYPED | typed)
        assert reply.status_code == 200
        return reply.text

    return ask


def row(page, name):
    return told(next(each for each in page.split("<tr") if f">{name}<" in each))


class TestRangesOfAnotherExtract:
    def test_they_are_carried_to_the_extract_of_the_report(self, page):
        assert "about 16–80" in row(page(), "nitrate nitrogen")

    def test_those_of_its_own_extract_stand_as_published(self, page):
        sme = {"/medium/extraction": "saturated_media_extract"}
        said = row(page(**sme), "nitrate nitrogen")
        assert "40–199" in said
        assert "about" not in said

    def test_the_picture_says_the_same(self, page):
        assert "nitrate nitrogen 120 mg/L (about 16–80)" in told(page())


class TestPaper:
    def paper(self, page):
        return told(page.partition('class="on-paper">')[2].partition("</section>")[0])

    def test_it_holds_what_was_told_and_what_was_taken(self, page):
        paper = self.paper(page())
        assert "Volume of one container 11 L" in paper
        assert "The water: Electrical conductivity (EC) 0.6 mS/cm" in paper
        assert "Drainage of the container" in paper

    def test_what_was_ticked_is_told_once(self, page):
        paper = self.paper(page(**{"/observations": "wilting_while_wet"}))
        assert paper.count("Wilting while wet") == 1

    def test_what_was_not_told_is_not_there(self, page):
        assert "Hardness" not in self.paper(page()).partition("What was taken")[0]


def test_the_next_check_is_told_where_there_is_nothing_to_do_yet(client, page):
    """As in JSON and in the words."""
    typed = {"/medium/ec": "0.3", "/medium/ions/nitrate_n": "", "/medium/ions/sodium": ""}
    asked = {
        "medium": {"extraction": "one_to_two", "ec": "0.3 mS/cm"},
        "water": {"ec": "0.6 mS/cm"},
        "crops": [{"crop": "lettuce"}],
        "containers": [{"volume": "11 L"}],
        "observations": ["stalled_at_first_leaves"],
    }
    summary = client.post("/v1/assessments", json=asked).json["summary"]
    assert not summary["actions"]
    assert summary["next_check"]["sentence"] in told(
        page(**typed, **{"/observations": "stalled_at_first_leaves"})
    )


@pytest.mark.parametrize("language", languages())
def test_what_an_answer_asks_for_has_its_entry(client, language):
    form = client.get(f"/?language={language}").text
    for name in ("/medium/alkalinity", "/water/alkalinity", "/root_zone_temperature"):
        assert f'name="{name}"' in form


def test_alkalinity_that_is_typed_is_reckoned_with(page):
    said = page(**{"/water/alkalinity": "120", "/water/alkalinity@unit": "mg/L CaCO3"})
    assert "Bicarbonate of the water, from its alkalinity" in told(said)


def test_no_field_is_told_by_its_pointer(page):
    assert "/medium/ph_in_cacl2<" not in page(**{"/medium/ph_in_cacl2": "5.5"})
