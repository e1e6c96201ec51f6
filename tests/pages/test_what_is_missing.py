"""What could not be worked out: whose figure is missing, and each once."""

import html
import re

import pytest

from saltcalc.words.catalogue import languages

BASE = {
    "/medium/extraction": "saturated_media_extract",
    "/medium/ec": "2.4 mS/cm",
    "/crops/0/crop": "lettuce",
    "/containers/0/volume": "11 L",
    "/containers/0/drainage": "open",
}
AMOUNTS = {"calcium": 100, "magnesium": 40, "sodium": 200, "potassium": 100, "chloride": 300}
AMOUNTS |= {"sulfate_s": 60, "nitrate_n": 40, "bicarbonate": 60, "boron": 0.3}
IONS = {f"/medium/ions/{ion}": str(amount) for ion, amount in AMOUNTS.items()}
WATER = {"/water/ions/sodium": "30", "/water/ions/calcium": "40", "/water/ec": "0.6 mS/cm"}


@pytest.fixture
def gaps(client):
    def ask(**typed):
        page = client.post("/", data=BASE | typed).text
        found = page.partition('<section class="gaps">')[2].partition("</section>")[0]
        return [html.unescape(each) for each in re.findall(r"<li>(.*?)</li>", found)]

    return ask


def test_what_was_given_for_the_medium_is_asked_of_the_water(gaps):
    told = gaps(**IONS)
    assert (
        "The water: without the ions of a laboratory report nothing says which salt it is." in told
    )
    assert not [each for each in told if each.startswith("The medium: without the ions")]
    assert not [each for each in told if each.startswith("Without the ions")]


def test_a_hazard_that_is_missing_names_the_water(gaps):
    told = [each for each in gaps(**IONS, **WATER) if "chloride" in each or "boron" in each]
    assert told
    assert all(each.startswith("The water: ") for each in told)


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("typed", [{}, IONS, WATER, IONS | WATER])
def test_nothing_is_told_twice(gaps, typed, language):
    told = gaps(**typed, language=language)
    assert told
    assert len(set(told)) == len(told)
    assert not [each for each in told if "needs all three" in each]
