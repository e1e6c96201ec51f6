"""The page of a trial: as it is filled in, and in a real browser."""

import html
import re

import pytest

from saltcalc.data.observations import observations
from saltcalc.service.pages.trial import signs_of
from saltcalc.service.pages.trial_table import filled_by
from saltcalc.words.catalogue import languages, sentence
from saltcalc.words.reader import telling
from tests.conftest import CONTRACT
from tests.pages.test_browser import _axe

TYPED = {
    "media": "3",
    "/crops/0/crop": "French bean",
    "/crops/2/crop": "beetroot",
    "/containers/0/volume": "11",
    "/containers/0/volume@unit": "L",
    "method": "saturated_media_extract",
    "ec": "mS/cm",
    "nutrients": "mg/L",
    "/trial/moisture": "alike",
    "/media/0/name": "reused coir",
    "/media/0/medium/ec": "3,6",
    "/media/0/medium/mineral_n": "180",
    "/media/0/outcomes/0/outcome": "stunted",
    "/media/0/outcomes/2/outcome": "thrived",
    "/media/0/observations": "white crust, water runs off",
    "/media/2/name": 'peat, "bagged" | <b>',
    "/media/2/medium/ec": "1.4",
    "/media/2/medium/mineral_n": "210",
    "/media/2/outcomes/0/outcome": "thrived",
    "/media/2/outcomes/2/outcome": "thrived",
}


def said(page):
    return html.unescape(re.sub(r"<svg.*?</svg>|<[^>]+>", " ", page, flags=re.DOTALL))


def test_it_says_what_to_do_before_what_is_alike(client):
    page = client.post("/trial", data=TYPED)
    assert page.status_code == 200
    titles = re.findall(r"<h2>(.*?)</h2>", page.text)
    assert titles.index("Which medium for which crop, and what to find out") < titles.index(
        "Alike and different"
    )
    assert "reused coir" in said(page.text)
    assert "Red beet: now in" in said(page.text)
    assert len(page.data) < 150_000


def test_a_medium_in_the_middle_may_stay_empty_and_a_fault_keeps_its_place(client):
    page = client.post("/trial", data={**TYPED, "/media/2/medium/ec": "soup"})
    assert page.status_code == 422
    field = re.search(r'<input id="media-2-medium-ec"[^>]*>', page.text).group()
    assert 'value="soup"' in field
    assert 'aria-invalid="true"' in field


def test_a_fault_is_linked_and_names_signs_in_the_words_of_the_page(client):
    typed = {**TYPED, "/media/2/observations": "riecht komisch", "language": "de"}
    page = client.post("/trial", data=typed)
    assert page.status_code == 422
    alert = re.search(r'role="alert">(.*?)</div>', page.text, re.DOTALL)[1]
    assert '<a href="#media-2-observations">' in alert
    faults = " ".join(re.findall(r'<p class="fault".*?</p>', page.text))
    assert "Weiße Kruste bei Trockenheit" in faults
    assert "white_crust" not in faults


def test_one_more_medium_keeps_what_was_typed(client):
    page = client.post("/trial", data={**TYPED, "more": "1"})
    assert 'name="/media/3/name"' in page.text
    assert 'formaction="/trial#medium-5"' in page.text
    assert 'id="medium-4"' in page.text
    assert 'value="reused coir"' in page.text


def test_each_medium_is_asked_about_the_crops_that_were_named(client):
    empty = client.get("/trial").text
    assert 'name="/media/0/outcomes/2/outcome"' in empty
    page = client.post("/trial", data={"/crops/0/crop": "lettuce", "media": "2", "more": "1"}).text
    assert page.count("<legend>lettuce</legend>") == 3
    assert 'name="/media/0/outcomes/1/outcome"' not in page
    fared = {"/crops/0/crop": "lettuce", "/media/0/outcomes/2/outcome": "died"}
    faulty = client.post("/trial", data={**fared, "media": "2"}).text
    assert 'name="/media/0/outcomes/2/outcome"' in faulty


def test_figures_get_the_keys_for_figures_of_a_telephone(client):
    for path in ("/", "/trial"):
        fields = re.findall(r"<input [^>]*>", client.get(path).text)
        keys = {name[1] for each in fields if (name := re.search(r'name="([^"]*)".*decimal', each))}
        steps = {each.rpartition("/")[2] for each in keys}
        assert {"ec", "ph", "sodium"} <= steps
        assert not {"volume", "crop", "name", "observations"} & steps


def test_the_design_tells_age_plants_and_whether_it_drains(client):
    typed = {
        **TYPED,
        "/crops/0/plants": "2",
        "/crops/2/plants": "4",
        "/trial/weeks": "5",
        "/containers/0/drainage": "sealed",
    }
    page = client.post("/trial", data=typed)
    assert page.status_code == 200
    told = " ".join(said(page.text).split())
    assert "Do not flush a container that cannot drain" in told
    assert re.search(r"[Aa]ge of the plants: 35\b", told)
    one = said(client.post("/trial", data={**typed, "/crops/2/plants": "40"}).text)
    lasts = r"Its nitrogen lasts these plants about ([\d.]+) week"
    assert float(re.search(lasts, one)[1]) < float(re.search(lasts, told)[1])


def test_media_that_are_alike_are_told_together(client):
    asked = _asked(12)
    for place, each in enumerate(asked["media"]):
        each["medium"]["ec"] = 0.5
        each["outcomes"] = [{"crop": "bean", "outcome": "died" if place % 3 == 0 else "thrived"}]
    told = client.post("/v1/comparisons", json=asked, headers={"Accept": "text/plain"}).text
    told = " ".join(told.split())
    assert told.count("why is not known yet") == 1
    assert told.count("Change nothing yet") == 1


def test_markup_in_a_name_stays_text(client):
    assert "<b>" not in client.post("/trial", data=TYPED).text


@pytest.mark.parametrize(
    "typed", [{"media": "x"}, {"media": "-1"}, {"media": "999999"}, {"/media/0/name": "a"}]
)
def test_garbage_is_a_form_with_its_faults(client, typed):
    assert client.post("/trial", data=typed).status_code == 422


TABLE = """\ufeffsample_id;method;ec [mS/cm];pH;nitrate_n [mg/L];signs;outcome:bean;outcome:beetroot
reused coir;SME;3,6;6,1;170;white crust, water runs off;stunted;thrived
"peat; bagged";SME;1,4;5,8;200;;thrived;thrived
"""


def test_a_table_fills_the_form_which_then_answers(client):
    page = client.post("/trial", data={"fill": "1", "table": TABLE})
    assert page.status_code == 200
    fields = dict(re.findall(r'<input id="[^"]*" name="([^"]*)" value="([^"]*)"', page.text))
    assert fields["/media/0/name"] == "reused coir"
    assert fields["/media/0/medium/ec"] == "3,6 mS/cm"
    assert fields["/media/1/name"] == "peat; bagged"
    assert fields["/crops/1/crop"] == "beetroot"
    assert '<option value="stunted" selected>' in page.text
    sent = {name: html.unescape(value) for name, value in fields.items()}
    outcomes = {
        f"/media/{medium}/outcomes/{crop}/outcome": fared
        for medium, crop, fared in [(0, 0, "stunted"), (0, 1, "thrived"), (1, 0, "thrived")]
    }
    answer = client.post("/trial", data={"media": "2", **sent, **outcomes})
    assert answer.status_code == 200
    assert "reused coir" in answer.text


def test_what_a_table_tells_of_one_medium_alone_is_not_lost(client):
    table = "sample_id,ec [mS/cm],volume [L],outcome: bean\na,2,10,pale\n,,,slow\nb,1,12,thrived\n"
    page = client.post("/trial", data={"fill": "1", "table": table}).text
    for place, volume in ((0, "10 L"), (1, "12 L")):
        assert f'name="/media/{place}/containers/0/volume" value="{volume}"' in page
    chosen = re.findall(
        r'name="/media/(\d)/outcomes/0/outcome".*?value="(\w+)" selected',
        client.post("/trial", data={"fill": "1", "table": table}).text,
        re.DOTALL,
    )
    assert chosen == [("0", "pale"), ("1", "thrived")]


@pytest.mark.parametrize(
    "table", ["", "colour;taste\nred;good\n", "outcome: bean\nthrived\n", 'a,b\n"x']
)
def test_a_table_of_something_else_says_so_or_fills_what_it_can(client, table):
    page = client.post("/trial", data={"fill": "1", "table": table})
    assert page.status_code == 200


def test_a_quote_that_never_ends_in_a_table_is_told(app):
    with app.test_request_context():
        filled = filled_by('sample_id,ec\na,2\n"' + 200 * (999 * "x" + "\n"), 3, 3)
    assert filled.typed == {}
    assert "from row 3 on" in filled.left[0]


def _enter(page, name, value):
    """Fill a field, or choose in a list."""
    field = page.locator(f'[name="{name}"]').first
    if field.evaluate("each => each.tagName") == "SELECT":
        field.select_option(value)
    else:
        field.fill(value)


@pytest.mark.browser
@pytest.mark.xdist_group("browser")
@pytest.mark.parametrize("width", [360, 1280])
def test_in_a_browser(open_page, width):
    page = open_page("/trial", width)
    assert _axe(page) == []
    for name, value in TYPED.items():
        if name == "media":
            continue
        _enter(page, name, value)
    page.get_by_role("button", name="Compare them").click()
    page.wait_for_selector(".todo")
    assert page.locator("svg[role=img]").count() >= 2
    page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert _axe(page) == []


@pytest.mark.browser
@pytest.mark.xdist_group("browser")
@pytest.mark.parametrize(
    "language",
    [pytest.param(each, marks=pytest.mark.long if each != "en" else ()) for each in languages()],
)
def test_on_a_telephone_in_every_language(open_page, language):
    page = open_page(f"/trial?language={language}", 360)
    for name, value in {**TYPED, "/trial/weeks": "5", "/containers/0/drainage": "sealed"}.items():
        if name in ("media", "/media/0/observations"):
            continue
        _enter(page, name, value)
    page.locator(".send button").last.evaluate("each => each.form.submit()")
    page.wait_for_selector(".todo")
    page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    assert page.locator("html").get_attribute("lang") == language
    assert page.evaluate("document.documentElement.scrollWidth") <= 360


def _asked(media=2, crops=("bean", "beetroot")):
    return {
        "media": [
            {
                "name": f"medium {place}",
                "medium": {"extraction": "one_to_two", "ec": 0.4 + 0.3 * (place % 7), "ph": 6.1},
                "outcomes": [
                    {"crop": crop, "outcome": ("thrived", "stunted")[(place + bool(at)) % 2]}
                    for at, crop in enumerate(crops)
                ],
            }
            for place in range(media)
        ],
        "containers": [{"volume": "40 L", "drainage": "open"}],
    }


@pytest.mark.parametrize(
    ("accept", "kind"),
    [
        ("*/*", "application/json"),
        ("text/plain", "text/plain"),
        ("text/markdown", "text/markdown"),
        ("text/html,*/*;q=0.8", "text/html"),
        ("application/pdf", "application/pdf"),
    ],
)
def test_the_interface_compares_as_asked(client, accept, kind):
    response = client.post("/v1/comparisons", json=_asked(), headers={"Accept": accept})
    assert (response.status_code, response.mimetype) == (200, kind)
    assert "Accept" in response.headers["Vary"]
    if kind == "text/html":
        assert response.text.count("<svg") == 2
        assert "<form" not in response.text
        assert "style-src 'self'" in response.headers["Content-Security-Policy"]
    if kind in ("text/plain", "text/markdown", "text/html"):
        order = [html.unescape(response.text).index(each) for each in SECTIONS]
        assert order == sorted(order)
        assert "medium 1" in response.text
    if kind == "application/pdf":
        assert response.data.startswith(b"%PDF-")


SECTIONS = ("Which medium for which crop", "Each medium", "Alike and different", "First cause")


def test_all_forms_say_the_same(client):
    asked = [
        client.post("/v1/comparisons", json=_asked(), headers={"Accept": each}).text
        for each in ("application/json", "text/plain", "text/markdown", "text/html")
    ]
    ranked = client.post("/v1/comparisons", json=_asked()).json["trial"]["ranking"]
    assert ranked
    for each in ranked:
        for text in asked:
            assert " ".join(html.unescape(each["sentence"]).split()) in " ".join(
                html.unescape(text).split()
            )


def test_a_form_of_a_comparison_that_there_is_not_is_refused(client):
    refused = client.post("/v1/comparisons", json=_asked(), headers={"Accept": "image/png"})
    assert refused.status_code == 406
    assert refused.mimetype == "application/problem+json"


@pytest.mark.parametrize("path", ["/v1/assessments", "/v1/comparisons"])
def test_the_contract_tells_the_forms_and_their_refusal(path):
    told = CONTRACT["paths"][path]["post"]["responses"]
    assert {"application/json", "text/html", "text/plain", "text/markdown", "application/pdf"} == (
        set(told["200"]["content"])
    )
    assert "406" in told


@pytest.mark.parametrize(("tried", "size"), [(True, b"595.28 841.89"), (False, b"841.89 595.28")])
def test_many_crops_have_room_on_paper(client, tried, size):
    crops = ("bean", "beetroot", "tomato", "lettuce", "cucumber", "spinach", "leek", "pea")
    asked = _asked(12, crops)
    if not tried:
        asked["crops"] = [{"crop": each} for each in crops]
        asked["media"] = [each | {"outcomes": []} for each in asked["media"]]
    response = client.post("/v1/comparisons", json=asked, headers={"Accept": "application/pdf"})
    assert response.status_code == 200
    assert b"/MediaBox [0 0 " + size + b"]" in response.data


@pytest.mark.parametrize("language", languages())
def test_signs_are_understood_in_the_language_of_the_page(client, language):
    with telling(language):
        named = {each: sentence(f"observations.name.{each}") for each in observations()}
        for sign, name in named.items():
            assert list(signs_of(name)) == [sign]
        _, _, examples = sentence("page.hint.seen").partition(":")
    typed = {**TYPED, "language": language, "/media/0/observations": examples.strip(" .")}
    assert client.post("/trial", data=typed).status_code == 200
