"""Every column of a pasted table of media is kept, or named as not used."""

import html
import re

import pytest

BY_VOLUME = """sample_id,method,ec [mS/cm],ph,nitrate_n [mg/L],volume [L],drainage,outcome: lettuce
green compost,1:2,1.9,6.2,60,9,open,died
mix,1:2,1.2,6.1,60,9,open,stunted
peat,1:2,0.4,5.9,60,9,open,thrived
"""
BORON = """sample_id,ec [mS/cm],ph,nitrate_n [mg/L],B [mg/L],Cl [mg/L],method,outcome: blackberry
ash compost,1.5,7.4,70,5.2,40,SME,died
peat,1.0,5.9,80,0.2,20,SME,thrived
"""
WHOLE = "\n".join(
    map(
        ",".join,
        zip(
            ("sample_id", "ash compost", "peat"),
            ("ec [mS/cm]", "1.5", "1.0"),
            ("ph", "7.4", "5.9"),
            ("nitrate_n [mg/L]", "70", "80"),
            ("Ca [mg/L]", "120", "80"),
            ("Mg [mg/L]", "30", "25"),
            ("B [mg/L]", "5.2", "0.2"),
            ("SO4 [mg/L]", "90", "40"),
            ("HCO3 [mg/L]", "200", "60"),
            ("Zn [mg/L]", "9", "0.3"),
            ("P [mg/L]", "4", "6"),
            ("water ec [mS/cm]", "1.4", "1.4"),
            ("water Na [mg/L]", "200", "200"),
            ("method", "1:2", "SME"),
            ("substrate", "green compost", "peat"),
            ("volume [L]", "7", "12"),
            ("height [cm]", "30", "20"),
            ("drainage", "sealed", "open"),
            ("stage", "seedling", "seedling"),
            ("temperature [C]", "12", "22"),
            ("wetting_agent", "used", ""),
            ("sampled_on", "2026-05-02", ""),
            ("outcome: beetroot", "died", "thrived"),
            strict=True,
        ),
    )
)


def _said(page):
    return " ".join(html.unescape(re.sub(r"<svg.*?</svg>|<[^>]+>", " ", page)).split())


def _fields(page):
    """Return what a browser would send of a page."""
    fields = {
        name: html.unescape(value)
        for name, value in re.findall(r'<input [^>]*?name="([^"]*)" value="([^"]*)"', page)
    }
    for name, options in re.findall(r'<select [^>]*?name="([^"]*)".*?>(.*?)</select>', page, re.S):
        chosen = re.search(r'<option(?: value="([^"]*)")? selected>([^<]*)', options)
        first = re.search(r'<option(?: value="([^"]*)")?>([^<]*)', options)
        value, text = (chosen or first).groups()
        fields[name] = text if value is None else value
    return {name: value for name, value in fields.items() if value}


def _filled(client, table):
    page = client.post("/trial", data={"fill": "1", "table": table, "language": "en"})
    assert page.status_code == 200
    return page.text


def test_the_method_of_a_table_is_the_method_of_the_reports(client):
    fields = _fields(_filled(client, BY_VOLUME))
    assert fields["method"] == "one_to_two"
    answer = client.post("/trial", data=fields)
    assert answer.status_code == 200
    assert "Nothing that was measured explains it" not in _said(answer.text)


def test_boron_of_a_table_is_weighed_as_the_interface_does(client):
    fields = _fields(_filled(client, BORON))
    assert fields["/media/0/medium/ions/boron"] == "5.2 mg/L"
    answer = client.post("/trial", data=fields)
    assert "Boron toxicity (strong evidence)" in _said(answer.text)


def test_nothing_that_a_table_tells_is_lost(client):
    page = _filled(client, WHOLE)
    fields = _fields(page)
    assert "no room" not in _said(page)
    wanted = {
        "/media/0/medium/extraction": "one_to_two",
        "/media/1/medium/extraction": "saturated_media_extract",
        "/media/0/medium/substrate": "green compost",
        "/media/0/medium/ions/sulfate_s": "90 mg/L SO4",
        "/media/0/medium/ions/bicarbonate": "200 mg/L",
        "/media/0/medium/micronutrients/zinc": "9 mg/L",
        "/media/0/medium/temperature": "12 C",
        "/media/0/medium/wetting_agent": "used",
        "/media/0/sampled_on": "2026-05-02",
        "/media/0/containers/0/volume": "7 L",
        "/media/0/containers/0/height": "30 cm",
        "/media/1/containers/0/volume": "12 L",
        "/media/1/containers/0/drainage": "open",
        "/water/ec": "1.4",
        "/water/ions/sodium": "200 mg/L",
        "/crops/0/stage": "seedling",
    }
    assert {name: fields.get(name) for name in wanted} == wanted
    answer = client.post("/trial", data=fields)
    assert answer.status_code == 200, _said(answer.text)[:3000]
    again = _fields(answer.text)
    assert {name: again.get(name) for name in wanted} == wanted


def test_what_a_trial_has_once_and_a_table_twice_is_named(client):
    table = "name,ec [mS/cm],water ec [mS/cm],stage,outcome: bean\n"
    table += "a,2,0.5,seedling,pale\nb,1,0.9,established,thrived\n"
    said = _said(_filled(client, table))
    assert "There was no room for b, Electrical conductivity (EC): 0.9 mS/cm." in said, said[:600]
    assert re.search(r"There was no room for b, [^:]*: established\.", said)


def test_a_column_that_a_trial_cannot_use_is_named(client):
    table = "name,ec [mS/cm],thriving_crops,applied [L],outcome: bean\n"
    table += "a,2,leek,3,pale\nb,1,leek,3,thrived\n"
    page = _filled(client, table)
    assert _fields(page)["/thriving_crops"] == "leek"
    assert "is not used in a trial (3 L)" in _said(page)


def test_boron_can_be_told_on_the_page_and_stays_folded_where_it_is_not(client):
    empty = client.get("/trial?language=en").text
    assert 'name="/media/0/medium/ions/boron"' in empty
    folded = re.search(r"<details[^>]*><summary>More figures of its report", empty)
    assert " open" not in folded[0]
    typed = {
        "media": "2",
        "method": "saturated_media_extract",
        "ec": "mS/cm",
        "nutrients": "mg/L",
        "/crops/0/crop": "blackberry",
        "/media/0/medium/ec": "1.5",
        "/media/0/medium/ions/boron": "5.2",
        "/media/0/outcomes/0/outcome": "died",
        "/media/1/medium/ec": "1.0",
        "/media/1/medium/ions/boron": "0.2",
        "/media/1/outcomes/0/outcome": "thrived",
    }
    said = _said(client.post("/trial", data=typed).text)
    assert "Boron toxicity (strong evidence)" in said, said[:600]


@pytest.mark.parametrize("method", ["SME", ""])
def test_a_medium_of_another_method_keeps_it(client, method):
    typed = {
        "media": "2",
        "method": "one_to_two",
        "/media/0/medium/ec": "1.5 mS/cm",
        "/media/1/medium/ec": "1.0 mS/cm",
        "/media/1/medium/extraction": method,
    }
    page = client.post("/trial", data=typed)
    assert page.status_code == 200
    assert _fields(page.text).get("/media/1/medium/extraction", "") == method
    table = re.search(r"<tbody>(.*?)</tbody>", page.text, re.DOTALL)[1]
    read = re.findall(r'data-head="EC[^"]*"[^>]*>([\d.]+)', table)
    asked = {
        "media": [
            {"medium": {"extraction": "one_to_two", "ec": 1.5}},
            {"medium": {"extraction": method or "one_to_two", "ec": 1.0}},
        ]
    }
    told = client.post("/v1/comparisons", json=asked).json["comparison"]["matrix"]
    assert [float(each) for each in read] == pytest.approx(
        [each["ec_saturated_extract"]["value"] for each in told], rel=0.05
    )


@pytest.mark.parametrize("media", [20, 50])
def test_what_a_browser_sends_of_many_media_is_read(client, media):
    heads = "sample_id,method,ec [mS/cm],ph,nitrate_n [mg/L],B [mg/L],outcome: bean,outcome: leek"
    rows = [f"medium {each},1:2,{1 + each / 50},6.1,70,0.{each},pale,slow" for each in range(media)]
    page = _filled(client, "\n".join([heads, *rows]))
    names = re.findall(r'<(?:input|select)[^>]* name="([^"]*)"', page)
    fields = _fields(page)
    assert fields[f"/media/{media - 1}/medium/ions/boron"] == f"0.{media - 1} mg/L"
    sent = client.post("/trial", data={name: fields.get(name, "") for name in names})
    assert sent.status_code == 200


@pytest.mark.browser
@pytest.mark.xdist_group("browser")
def test_the_filled_form_has_room_on_a_telephone(open_page):
    page = open_page("/trial", 390)
    page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    page.locator('[name="table"]').fill(WHOLE)
    page.locator('button[name="fill"]').click()
    page.wait_for_load_state("load")
    page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert page.locator('[name="/media/0/medium/ions/boron"]').input_value() == "5.2 mg/L"
