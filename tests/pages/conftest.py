"""A real browser, and the service that it asks."""

import pytest

from saltcalc.demo import running_service
from tests.conftest import BROWSER


@pytest.fixture(scope="session")
def address():
    with running_service() as where:
        yield where


@pytest.fixture(scope="session")
def chromium():
    from playwright.sync_api import sync_playwright  # noqa: PLC0415 - only where there is a browser

    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture
def open_page(chromium, address):
    """Open a page; whatever it asks of another host, or says to the console, fails the test."""
    told, contexts = [], []

    def opened(path="/", width=1024, **options):
        context = chromium.new_context(viewport={"width": width, "height": 800}, **options)
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: told.append(message.text))
        page.on("pageerror", lambda error: told.append(str(error)))
        page.on("request", lambda asked: told.append(asked.url))
        page.goto(address + path)
        return page

    yield opened
    for context in contexts:
        context.close()
    expected = ("422", "net::ERR_INTERNET_DISCONNECTED", "net::ERR_FAILED", "fetching the script")
    strange = [each for each in told if not each.startswith(address)]
    assert not [each for each in strange if not any(known in each for known in expected)]
