"""A trial on paper: three A4 pages for as many as fifty media, in print that can be read."""

import html
import re

import pytest

from tests.pages.many_media import trial

MOST_PAGES = 3
SMALLEST = 7 * 96 / 72
"""Seven points, in pixels."""
ON_PAPER = 718
"""Pixels of the width of A4 within its margins."""

TRIALS = [
    pytest.param(
        *(media, language, crops, chance), marks=pytest.mark.long if media in (12, 20) else ()
    )
    for media in (5, 12, 20, 50)
    for language in ("en", "de")
    for crops, chance in ((3, True), (8, False))
] + [(50, language, 8, False) for language in ("fr", "es")]
"""The fewest and the most media always; those between when the long tests run."""


def _pages(pdf):
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


@pytest.fixture
def printed(client, open_page, address):
    """Open the answer to a trial as it is printed."""

    def opened(asked):
        answer = client.post("/v1/comparisons", json=asked, headers={"Accept": "text/html"})
        assert answer.status_code == 200
        page = open_page("/healthz", ON_PAPER)
        page.route(
            "**/printed", lambda route: route.fulfill(body=answer.text, content_type="text/html")
        )
        page.goto(f"{address}/printed")
        page.emulate_media(media="print")
        return page

    return opened


@pytest.mark.browser
@pytest.mark.xdist_group("browser")
@pytest.mark.parametrize(("media", "language", "crops", "chance"), TRIALS)
def test_it_prints_on_three_pages(printed, media, language, crops, chance):
    page = printed(trial(media, language, crops, chance=chance))
    assert _pages(page.pdf(format="A4", prefer_css_page_size=True)) <= MOST_PAGES
    assert page.evaluate("document.documentElement.scrollWidth") <= ON_PAPER
    print_sizes = page.evaluate(
        """() => {
            const shown = [...document.querySelectorAll('main *')].filter(each =>
                each.checkVisibility() && [...each.childNodes].some(node =>
                    node.nodeType === Node.TEXT_NODE && node.textContent.trim()));
            const scale = each => each.ownerSVGElement
                ? each.ownerSVGElement.getBoundingClientRect().width
                    / each.ownerSVGElement.viewBox.baseVal.width
                : 1;
            return shown.map(each => parseFloat(getComputedStyle(each).fontSize) * scale(each));
        }"""
    )
    assert min(print_sizes) >= SMALLEST - 0.05
    cut = page.evaluate(
        """() => [...document.querySelectorAll('svg text')].filter(each => {
            const own = each.getBoundingClientRect();
            const whole = each.ownerSVGElement.getBoundingClientRect();
            return own.left < whole.left - 1 || own.right > whole.right + 1
                || own.top < whole.top - 1 || own.bottom > whole.bottom + 1;
        }).map(each => each.textContent)"""
    )
    assert not cut


@pytest.mark.parametrize(("media", "language", "crops", "chance"), TRIALS)
def test_the_pdf_has_three_pages(client, media, language, crops, chance):
    asked = trial(media, language, crops, chance=chance)
    response = client.post("/v1/comparisons", json=asked, headers={"Accept": "application/pdf"})
    assert response.status_code == 200
    assert _pages(response.data) <= MOST_PAGES


def test_what_is_done_to_several_media_is_told_once_and_found_by_its_letter(client):
    asked = trial(20)
    told = client.post("/v1/comparisons", json=asked, headers={"Accept": "text/html"}).text
    answer = client.post("/v1/comparisons", json=asked).json
    deeds = re.search(r'<section class="deeds">(.*?)</section>', told, re.DOTALL)[1]
    lines = deeds.replace("</li>", "\n")
    said = html.unescape(re.sub(r'<i class="by-name">.*?</i>|<[^>]+>', "", lines))
    rows = re.findall(
        r"<tr[^>]*><th scope=\"row\">(\d+) (.*?)</th>.*?<td[^>]*>([A-Z ]*)</td></tr>", told
    )
    assert len(rows) == 20
    for number, name, letters in rows:
        one = asked["media"][int(number) - 1]
        assert html.unescape(name) == one["name"]
        tried = next(each for each in answer["trial"]["tried"] if each["name"] == one["name"])
        assert len(letters.split()) == len(tried["actions"])
        for letter in letters.split():
            line = re.search(rf"^\s*{letter} \((.*?)\):(.*)$", said, re.MULTILINE)
            assert number in re.findall(r"\d+", line[1])
        for action in tried["actions"]:
            assert said.count(action["sentence"]) >= 1
    assert max(said.count(each) for each in _sentences(answer)) == 1


def _sentences(answer):
    return {
        action["sentence"]
        for each in answer["trial"]["tried"]
        for action in each["actions"]
        if action["id"] not in ("leach", "way_out")
    }


def test_names_are_told_on_a_screen_and_numbers_on_paper(client):
    asked = trial(12)
    asked["media"][0]["name"] = "coir \ue0007\ue001 <b>&"
    told = client.post("/v1/comparisons", json=asked, headers={"Accept": "text/html"}).text
    assert '<i class="by-name">' in told
    assert "<b>&" not in told
    shown = re.sub(r'<a class="by-number".*?</a>', "", told)
    for each in asked["media"][1:]:
        assert f'<i class="by-name">{html.escape(each["name"])}</i>' in shown
    few = client.post("/v1/comparisons", json=trial(5), headers={"Accept": "text/html"}).text
    assert "by-number" not in few


def test_numbers_in_a_row_say_once_that_they_are(client):
    asked = trial(12, "de")
    pdf = client.post("/v1/comparisons", json=asked, headers={"Accept": "text/html"}).text
    by_number = re.sub(r'<i class="by-name">.*?</i>|<[^>]+>', "", pdf)
    assert re.search(r"Nr\. \d+, \d+", by_number)
    assert not re.search(r"Nr\. \d+, Nr\. \d+", by_number)
