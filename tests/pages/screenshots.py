"""Pictures of every page at three widths in every language, to be looked at.

``python -m tests.pages.screenshots [FOLDER]`` starts the service and writes them: whole into it,
or their first screens into docs/pages; what each shows is the invented example, or a trial
as invented.
"""

from __future__ import annotations

import io
import sys
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from saltcalc.demo import running_service
from saltcalc.words.catalogue import languages
from saltcalc.words.reader import ENGLISH
from tests.conftest import BROWSER, ROOT
from tests.pages.test_trial import TYPED

WIDTHS = (360, 768, 1440)
PAGES = ("form", "answer", "trial", "trial-answer", "flush-log")
_NAMES = {"/media/0/name": "reused coir", "/media/2/name": "fresh coir"}
"""Of the invented media of the trial."""
_QUALITY = 8
"""Of WebP, which keeps a picture small; letters stay sharp."""
_TALLEST, _FIRST = 16_383, 1_400
"""Pixels that WebP takes, and those of the first screens."""


def walk(page: Page, address: str, language: str):
    """Open the pages one after the other, and yield the name of each."""
    page.goto(f"{address}/example?language={language}")
    yield "form"
    _send(page, ".lead")
    yield "answer"
    page.locator("form[action='/flush-log'] button").first.click()
    page.wait_for_selector("#log")
    yield "flush-log"
    page.goto(f"{address}/trial?language={language}")
    yield "trial"
    fill(page, TYPED | _NAMES)
    _send(page, ".todo")
    yield "trial-answer"


def _send(page: Page, found: str) -> None:
    page.locator("#again .send button:not([name])").last.click()
    page.wait_for_selector(found)


def fill(page: Page, typed: dict[str, str]) -> None:
    """Type entries into the form that is open."""
    for name, value in typed.items():
        field = page.locator(f'[name="{name}"]').first
        kind = field.evaluate("each => each.type")
        if kind == "select-one":
            field.select_option(value)
        elif kind != "hidden":
            field.fill(value)


def main(folder: Path, *, whole: bool) -> None:
    """Write the pictures into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    with running_service() as address, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=BROWSER, args=["--no-sandbox"])
        for language in languages():
            for width in WIDTHS if whole or language == ENGLISH else WIDTHS[:1]:
                _shoot(browser, address, language, width, folder, _TALLEST if whole else _FIRST)
        browser.close()


def _shoot(
    browser: Browser, address: str, language: str, width: int, folder: Path, tallest: int
) -> None:
    page = browser.new_page(viewport={"width": width, "height": 800})
    for name in walk(page, address, language):
        whole = Image.open(io.BytesIO(page.screenshot(full_page=True))).convert("RGB")
        path = folder / f"{name}-{language}-{width}.webp"
        whole.crop((0, 0, width, min(whole.height, tallest))).save(path, quality=_QUALITY, method=4)
        wide = page.evaluate("document.documentElement.scrollWidth")
        if wide > width:
            print(f"{path.name}: {wide} px wide")
    page.close()


if __name__ == "__main__":
    main(
        Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "docs" / "pages", whole=len(sys.argv) > 1
    )
