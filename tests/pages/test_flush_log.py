"""The log of a flush in a real browser: at the tub, without a connection, on another phone."""

import re

import pytest

from tests.pages.test_browser import _axe, fill_in, send

POURED, DRAINED = "Water poured on one container", "EC of what drained"

pytestmark = [pytest.mark.browser, pytest.mark.xdist_group("browser")]


@pytest.fixture
def log(open_page):
    page = open_page(width=360)
    fill_in(page)
    page.get_by_label("Electrical conductivity (EC)", exact=True).first.fill("2.6")
    send(page)
    page.get_by_role("button", name="Keep a log").first.click()
    page.wait_for_selector("#log")
    return page


def pour(page, row, litres, drained):
    entry = page.locator(".entry").nth(row)
    entry.get_by_role("button", name="Now").click()
    entry.get_by_label(POURED, exact=True).fill(litres)
    entry.get_by_label(DRAINED, exact=True).fill(drained)


def ask(page):
    with page.expect_response(lambda got: got.request.method == "POST"):
        page.get_by_role("button", name="What now?").click()
    page.wait_for_load_state()
    return page.locator(".todo").inner_text()


def test_it_begins_with_the_plan_and_follows_the_readings(log):
    assert re.search(r"[Pp]our .* L", log.locator(".todo").inner_text())
    pour(log, 0, "2,5", "4,9")
    assert "would now settle" in ask(log)
    assert log.locator(".entry").first.get_by_label(POURED, exact=True).input_value() == "2,5"
    assert log.evaluate("document.documentElement.scrollWidth") <= 360
    assert _axe(log) == []


def test_the_next_row_is_near_the_advice_after_many(log):
    for row in range(4):
        if log.locator(".entry").count() <= row:
            log.get_by_role("button", name="One more row").click()
        pour(log, row, "1", "4")
    log.locator("[name='ec_drainage@unit']").select_option("µS/cm")
    for row in range(4):
        log.locator(".entry").nth(row).get_by_label(DRAINED, exact=True).fill("4000")
    ask(log)
    shown = [each for each in log.locator(".entry").all() if each.is_visible()]
    assert len(shown) == 1
    assert shown[0].locator(".number").inner_text() == "5"
    assert shown[0].locator("select").count() == 4
    assert log.locator("[name='ec_drainage@unit']").input_value() == "µS/cm"
    log.get_by_text("Earlier rows (4)").click()
    assert log.locator(".entry").first.get_by_label(DRAINED, exact=True).input_value() == "4000"
    pour(log, 4, "1", "3500")
    assert "would now settle" in ask(log)
    assert log.get_by_text("Earlier rows (5)").is_visible()
    assert log.evaluate("document.documentElement.scrollWidth") <= 360


def test_a_fault_stands_beside_its_row(log):
    pour(log, 0, "much", "4.9")
    log.get_by_role("button", name="What now?").click()
    log.wait_for_selector("[aria-invalid]")
    field = log.locator(".entry").first.get_by_label(POURED, exact=True)
    assert field.get_attribute("aria-invalid") == "true"
    assert field.input_value() == "much"


def test_what_is_typed_without_a_connection_is_kept_and_sent_when_it_is_back(log):
    log.context.set_offline(True)
    pour(log, 0, "2.5", "4.9")
    log.get_by_role("button", name="What now?").click()
    log.locator("#kept", has_text="No connection").wait_for()
    log.context.set_offline(False)
    log.locator(".todo", has_text="would now settle").wait_for()
    assert log.locator(".entry").first.get_by_label(DRAINED, exact=True).input_value() == "4.9"


def test_an_interrupted_log_goes_on_in_the_same_browser(log, address):
    pour(log, 0, "2.5", "4.9")
    log.goto(address + "/")
    log.goto(address + "/flush-log")
    assert log.locator(".entry").first.get_by_label(POURED, exact=True).input_value() == "2.5"
    assert "would now settle" in ask(log)


def test_it_opens_again_without_a_connection(log, address):
    log.goto(address + "/flush-log")
    log.evaluate("navigator.serviceWorker.ready")
    pour(log, 0, "2.5", "4.9")
    log.context.set_offline(True)
    log.goto(address + "/flush-log")
    assert log.locator(".entry").first.get_by_label(POURED, exact=True).input_value() == "2.5"


def test_what_waits_to_be_sent_is_sent_also_after_the_page_was_opened_anew(log, address):
    log.goto(address + "/flush-log")
    log.evaluate("navigator.serviceWorker.ready")
    plan = log.locator(".todo").inner_text()
    assert re.search(r"[Pp]our .* L", plan)
    pour(log, 0, "2.5", "4.9")
    log.context.set_offline(True)
    log.get_by_role("button", name="What now?").click()
    log.locator("#kept", has_text="No connection").wait_for()
    log.goto("about:blank")
    log.goto(address + "/flush-log")
    assert log.locator(".todo").inner_text() == plan
    log.locator("#kept", has_text="No connection").wait_for()
    log.context.set_offline(False)
    log.locator(".todo", has_text="would now settle").wait_for()
    assert log.locator(".entry").first.get_by_label(POURED, exact=True).input_value() == "2.5"


def test_the_address_carries_the_log_to_another_phone(log, open_page, address):
    pour(log, 0, "2.5", "4.9")
    elsewhere = open_page(log.evaluate("location.href").removeprefix(address), width=360)
    assert elsewhere.locator(".entry").first.get_by_label(POURED, exact=True).input_value() == "2.5"
    elsewhere.get_by_role("button", name="What now?").click()
    elsewhere.wait_for_selector(".todo")


def test_without_script_it_is_a_form(open_page):
    page = open_page(width=360, java_script_enabled=False)
    fill_in(page)
    page.get_by_label("Electrical conductivity (EC)", exact=True).first.fill("2.6")
    send(page)
    page.get_by_role("button", name="Keep a log").first.click()
    entry = page.locator(".entry").first
    entry.get_by_label(POURED, exact=True).fill("2.5")
    entry.get_by_label(DRAINED, exact=True).fill("4.9")
    page.get_by_role("button", name="What now?").click()
    assert "would now settle" in page.locator(".todo").inner_text()


def test_a_link_that_was_cut_opens_an_empty_log(open_page):
    page = open_page("/flush-log#WyJi", width=360)
    assert page.locator("#empty").is_visible()
