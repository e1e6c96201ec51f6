"""The pages in each language: no wider than a phone, switched without losing what was typed."""

import pytest

from saltcalc.words.catalogue import languages

pytestmark = pytest.mark.browser


def _width(page):
    return page.evaluate("document.documentElement.scrollWidth")


@pytest.mark.parametrize("language", languages())
def test_a_phone_shows_the_pages_without_overflow(language, open_page):
    page = open_page(f"/example?language={language}", width=360)
    assert page.locator("html").get_attribute("lang") == language
    assert _width(page) <= 360
    page.locator("main button").first.click()
    page.wait_for_selector(".lead")
    assert page.locator("html").get_attribute("lang") == language
    assert _width(page) <= 360


def test_the_switch_keeps_what_was_typed(open_page):
    page = open_page("/", width=360)
    page.locator("#medium-ec").fill("1,8")
    page.get_by_role("button", name="gal, in, °F").click()
    assert page.locator("#medium-ec").input_value() == "1,8"
    assert page.locator("select[name='/containers/0/volume@unit']").input_value() == "gal"
    for language in languages()[1:2]:
        page.locator(f".reader button[value={language}]").click()
        assert page.locator("html").get_attribute("lang") == language
        assert page.locator("#medium-ec").input_value() == "1,8"
        page.locator("main button").first.click()
        page.wait_for_selector(".lead")
        assert page.locator("html").get_attribute("lang") == language
        assert " gal" in page.locator("main").inner_text() or "°F" in page.content()
