"""The web form of every paper in a real browser: axe-core finds nothing, Arabic is mirrored."""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from selenium import webdriver
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service

from conftest import LANGUAGES, PAPERS, suited
from plainleaf.desk import Desk, write
from plainleaf.office.visits import Visit

FLAGS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--window-size=1000,1400",
)


@pytest.fixture(scope="module")
def axe() -> str:
    """The source of axe-core; tests/all puts it in place and says where."""
    return Path(os.environ["PLAINLEAF_AXE"]).read_text("utf-8")


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[webdriver.Chrome]:
    options = Options()
    for flag in (*FLAGS, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(flag)
    options.binary_location = shutil.which("chromium") or "/usr/bin/chromium"
    driver = webdriver.Chrome(options, Service(shutil.which("chromedriver")))
    yield driver
    driver.quit()


def findings(browser: webdriver.Chrome, axe: str, file: Path) -> list[str]:
    browser.get(file.as_uri())
    browser.execute_script(axe)
    result = browser.execute_async_script("axe.run().then(arguments[0])")
    assert len(result["passes"]) > 10
    return [f"{one['id']}: {one['nodes'][0]['html'][:90]}" for one in result["violations"]]


@contextmanager
def on_a_telephone(browser: webdriver.Chrome) -> Iterator[None]:
    """The browser with a screen of 390 pixels, which no window of it can be."""
    screen = {"width": 390, "height": 844, "deviceScaleFactor": 1, "mobile": True}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", screen)
    yield
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})


def widest(browser: webdriver.Chrome) -> int:
    found: int = browser.execute_script("return document.documentElement.scrollWidth")
    return found


@pytest.mark.parametrize("tag", LANGUAGES)
@pytest.mark.parametrize("name", PAPERS)
def test_axe_finds_nothing_and_no_page_is_wider_than_a_telephone(
    name: str,
    tag: str,
    desk: Desk,
    visits: dict[str, Visit],
    browser: webdriver.Chrome,
    axe: str,
    tmp_path: Path,
) -> None:
    file = tmp_path / "paper.html"
    file.write_bytes(write([desk.page(name, suited(visits[tag], name), tag)], "html"))
    assert findings(browser, axe, file) == []
    with on_a_telephone(browser):
        assert widest(browser) == 390


@pytest.mark.parametrize(("tag", "beside"), [("es", "en"), ("ar", "en")])
@pytest.mark.parametrize("name", ["consent", "decline", "photo-permission"])
def test_axe_finds_nothing_on_a_form_in_two_languages(
    name: str,
    tag: str,
    beside: str,
    desk: Desk,
    visits: dict[str, Visit],
    browser: webdriver.Chrome,
    axe: str,
    tmp_path: Path,
) -> None:
    file = tmp_path / "form.html"
    file.write_bytes(write([desk.page_beside(name, beside, visits[tag], tag)], "html"))
    assert findings(browser, axe, file) == []
    where = (
        "const pair = document.querySelector('section .beside');"
        "return [...pair.children].map(e => e.getBoundingClientRect()).map(r => [r.left, r.top])"
    )
    first, second = browser.execute_script(where)
    assert (first[0] < second[0]) == (tag != "ar")
    assert first[1] == second[1]
    with on_a_telephone(browser):
        assert widest(browser) == 390
        first, second = browser.execute_script(where)
    assert first[1] < second[1]


@pytest.mark.parametrize("tag", ["en", "de", "ru", "ar"])
def test_a_table_of_many_columns_is_a_list_on_a_telephone(
    tag: str, desk: Desk, browser: webdriver.Chrome, axe: str, tmp_path: Path
) -> None:
    # Three columns of long words made the page wider than the screen.
    file = tmp_path / "paper.html"
    file.write_bytes(write([desk.page("options", None, tag)], "html"))
    cell = (
        "const cell = document.querySelector('table.many tbody td:nth-child(2)');"
        "const head = getComputedStyle(cell, '::before').content;"
        "return [cell.getBoundingClientRect().width, head.slice(1, -1), cell.dataset.head]"
    )
    with on_a_telephone(browser):
        assert findings(browser, axe, file) == []
        assert widest(browser) == 390
        wide, shown, head = browser.execute_script(cell)
        assert wide > 300
        assert shown == head
    assert browser.execute_script(cell)[1] != head


def test_axe_does_find_a_page_without_language_and_title(
    browser: webdriver.Chrome, axe: str, tmp_path: Path
) -> None:
    file = tmp_path / "bad.html"
    file.write_text(
        "<!doctype html><p>grey</p><img src='data:,'>" + "<a href='#'></a>" * 3, "utf-8"
    )
    browser.get(file.as_uri())
    browser.execute_script(axe)
    found = browser.execute_async_script("axe.run().then(arguments[0])")["violations"]
    assert {"html-has-lang", "document-title", "image-alt"} <= {one["id"] for one in found}


def test_arabic_headings_stand_right_of_their_text(
    desk: Desk, visits: dict[str, Visit], browser: webdriver.Chrome, tmp_path: Path
) -> None:
    places = {}
    for tag in ("en", "ar"):
        file = tmp_path / f"{tag}.html"
        file.write_bytes(write([desk.page("introduction", visits[tag], tag)], "html"))
        browser.get(file.as_uri())
        places[tag] = browser.execute_script(
            "const s = document.querySelector('section');"
            "return [s.querySelector('h2'), s.querySelector('div')]"
            ".map(e => e.getBoundingClientRect().left)"
        )
    assert places["en"][0] < places["en"][1]
    assert places["ar"][0] > places["ar"][1]
