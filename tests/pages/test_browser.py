"""The pages in a real browser, as a person uses them."""

import pytest

from saltcalc.words.catalogue import languages

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]

WIDTHS = (360, 768, 1600)


def fill_in(page):
    page.get_by_label("How was the water taken out").select_option("one_to_two")
    page.get_by_label("Electrical conductivity (EC)", exact=True).first.fill("1,8")
    page.get_by_label("Crop", exact=True).first.fill("laitue")
    page.get_by_label("Its age").first.select_option("seedling")
    page.get_by_label("Volume of one container", exact=True).first.fill("11")
    page.get_by_label("Does it drain?").first.select_option("open")


def send(page):
    page.get_by_role("button", name="Show the answer").first.click()


@pytest.mark.parametrize("script", [True, False])
def test_from_an_empty_form_to_an_answer(open_page, script):
    page = open_page(width=360, java_script_enabled=script)
    fill_in(page)
    send(page)
    assert page.locator("h1").inner_text()
    assert page.locator("svg[role=img]").count() >= 3
    for picture in page.locator("svg[role=img]").all():
        assert picture.bounding_box()["width"] > 300
    page.locator(".told > summary").click()
    assert page.get_by_label("Crop", exact=True).first.input_value() == "laitue"


@pytest.mark.parametrize("width", WIDTHS)
def test_nothing_is_wider_than_the_screen(open_page, address, width):
    page = open_page("/example", width)
    send(page)
    page.wait_for_selector(".lead")
    for path in ("", "/", "/example"):
        if path:
            page.goto(address + path)
        page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
        assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("language", languages())
def test_the_five_questions_stand_on_the_first_screen_of_a_phone(open_page, language):
    page = open_page(f"/?language={language}", width=360)
    last = page.locator("[name='/containers/0/drainage']").bounding_box()
    assert last["y"] + last["height"] < 800


def test_enter_in_a_field_answers_after_a_report_was_read(open_page):
    page = open_page(width=360, java_script_enabled=False)
    page.get_by_role("link", name="Paste a laboratory's report").click()
    page.locator("#report").fill("Method: 1:2 v/v\nEC 1,8 mS/cm\nColour brown\n")
    page.get_by_role("button", name="Read it into the fields").click()
    assert page.locator("#medium-ec").input_value() == "1,8"
    assert "One line was not used" in page.get_by_role("status").inner_text()
    page.get_by_label("Crop", exact=True).first.fill("laitue")
    page.get_by_label("Its age").first.select_option("seedling")
    page.get_by_label("Volume of one container", exact=True).first.fill("11")
    page.get_by_label("Does it drain?").first.select_option("open")
    page.locator("#medium-ec").press("Enter")
    page.wait_for_selector(".lead")


def test_faults_stand_beside_their_fields(open_page):
    page = open_page(width=360)
    fill_in(page)
    page.get_by_label("Volume of one container", exact=True).first.fill("huge")
    send(page)
    field = page.get_by_label("Volume of one container", exact=True).first
    assert field.input_value() == "huge"
    assert field.get_attribute("aria-invalid") == "true"
    fault = page.locator(f"#{field.get_attribute('aria-describedby').split()[0]}")
    gap = fault.bounding_box()["y"] - field.bounding_box()["y"]
    assert 0 < gap < 80
    assert page.get_by_label("Crop", exact=True).first.input_value() == "laitue"


def test_markup_that_is_typed_stays_text(open_page):
    page = open_page()
    fill_in(page)
    page.get_by_label("Crop", exact=True).first.fill("<img src=x onerror=alert(1)>")
    send(page)
    assert page.locator("img").count() == 0


def test_the_keyboard_alone_is_enough(open_page):
    page = open_page()
    seen = set()
    for _ in range(60):
        page.keyboard.press("Tab")
        name = page.evaluate("document.activeElement.name || document.activeElement.textContent")
        outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
        assert outline != "none", name
        seen.add(name)
        if name == "/medium/ec":
            page.keyboard.type("1.8")
        if name.startswith("Show"):
            page.keyboard.press("Enter")
            break
    assert {"/medium/extraction", "/medium/ec", "/crops/0/crop", "/containers/0/volume"} <= seen
    page.wait_for_selector(".lead h1")


def test_it_prints(open_page):
    page = open_page("/example")
    send(page)
    page.wait_for_selector(".lead")
    page.emulate_media(media="print")
    assert not page.locator("button").first.is_visible()
    assert page.locator("svg").first.is_visible()
    assert page.locator(".clipboard").first.is_visible()


def _axe(page):
    from axe_playwright_python.sync_playwright import Axe  # noqa: PLC0415

    page.wait_for_load_state()  # else an element may be there without its text
    found = Axe().run(page).response["violations"]
    return [
        (each["id"], each["nodes"][0]["html"])
        for each in found
        if each["impact"] in ("serious", "critical")
    ]


@pytest.mark.parametrize("width", [360, 1600])
def test_axe_finds_no_serious_fault(open_page, width):
    page = open_page("/", width)
    page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    assert _axe(page) == []
    page.get_by_label("Volume of one container", exact=True).first.fill("huge")
    send(page)
    assert _axe(page) == []
    page.goto(page.url + "example")
    send(page)
    page.wait_for_selector(".lead")
    page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    assert _axe(page) == []
