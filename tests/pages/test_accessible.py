"""Every page in every language: faults of accessibility, zoom, weight, and paper."""

import re

import pytest

from saltcalc.words.catalogue import languages
from tests.pages.screenshots import PAGES, fill, walk
from tests.pages.test_browser import _axe
from tests.pages.test_trial import TYPED

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]

REFLOW = 320
"""CSS pixels of a window of 640 at 200 % zoom, and the width of reflow in WCAG 2.1, 1.4.10."""
MOST_BYTES = 150_000


def unfold(page):
    page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")


@pytest.mark.parametrize("language", languages())
def test_every_page_in_every_language(open_page, address, language):
    page = open_page(f"/?language={language}", REFLOW)
    walked = []
    for name in walk(page, address, language):
        walked.append(name)
        assert page.evaluate("document.documentElement.lang") == language
        assert len(page.content().encode()) < MOST_BYTES, name
        unfold(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= REFLOW, name
        assert _axe(page) == [], name
    assert set(walked) == set(PAGES)


@pytest.mark.parametrize("language", languages())
def test_a_form_with_faults_in_every_language(open_page, language):
    page = open_page(f"/?language={language}", REFLOW)
    for name in ("/medium/ec", "/containers/0/volume", "/crops/0/crop"):
        page.locator(f"[name='{name}']").fill("zzz")
    page.locator("#again .send button").first.click()
    page.wait_for_selector("[aria-invalid]")
    unfold(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= REFLOW
    assert _axe(page) == []


def test_a_picture_tells_its_figures_also_where_they_are_folded(open_page):
    page = open_page("/example", 360)
    page.locator("#again .send button").first.click()
    page.wait_for_selector(".lead")
    nodes = page.context.new_cdp_session(page).send("Accessibility.getFullAXTree")["nodes"]
    pictures = [
        each
        for each in nodes
        if each.get("role", {}).get("value") in ("image", "img", "graphics-document")
    ]
    assert len(pictures) >= 5
    for each in pictures:
        assert re.search(r"\d", each.get("description", {}).get("value", "")), each["name"]


def test_the_steps_of_a_flush_are_numbered_and_its_table_is_printed(open_page):
    page = open_page("/example", 360)
    page.locator("#again .send button").first.click()
    page.wait_for_selector(".lead")
    assert page.locator("ol.steps li").count() >= 4
    closed = [page.locator(f".{each}").first for each in ("clipboard table", "printed li")]
    assert page.get_by_text("See the options").first.is_visible()
    assert not any(each.is_visible() for each in closed)
    page.emulate_media(media="print")
    assert all(each.is_visible() for each in closed)
    assert page.get_by_text("Let a dripper of").first.is_visible()
    assert not page.locator(".sources details").first.is_visible()


def test_the_log_goes_by_the_flush_that_is_advised(open_page):
    page = open_page("/example", 360)
    page.locator("#again .send button").first.click()
    page.wait_for_selector(".lead")
    advised = [each.inner_text() for each in page.locator(".todo .key").all()]
    litres, reading = (re.search(r"[\d.]+", each).group() for each in advised[:2])
    page.locator("form[action='/flush-log'] button").first.click()
    page.wait_for_selector("#log")
    now = page.locator(".todo").inner_text()
    assert f"{litres} L" in now
    assert f"{reading} dS/m" in now


def test_a_trial_of_five_media_prints_on_three_pages(open_page, address):
    page = open_page("/trial")
    media = {f"/media/{place}/name": f"medium {place + 1}" for place in range(5)}
    figures = {f"/media/{place}/medium/ec": f"{1 + place / 2}" for place in range(5)}
    fared = {
        f"/media/{place}/outcomes/{crop}/outcome": "stunted" if place > 2 else "thrived"
        for place in range(5)
        for crop in (0, 2)
    }
    nitrogen = {f"/media/{place}/medium/mineral_n": f"{150 + 20 * place}" for place in range(5)}
    for _ in range(2):
        page.locator("button[name=more]").click()
    fill(page, TYPED | media | figures | fared | nitrogen | {"media": "5"})
    page.locator("#again .send button:not([name])").last.click()
    page.wait_for_selector(".todo")
    printed = page.pdf(format="A4")
    assert 1 <= len(re.findall(rb"/Type\s*/Page\b", printed)) <= 3
