"""The built demonstration in a real browser: the journeys of people who read it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from click.testing import CliRunner
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.remote.webdriver import WebDriver
from selenium.webdriver.support.ui import WebDriverWait

from asbuilt.cli import main
from tests.browser import (
    DESKTOP,
    PHONE,
    browser,
    complaints,
    needs_browser,
    overflow,
    requested,
    served,
)

pytestmark = [pytest.mark.browser, needs_browser]


@pytest.fixture(scope="module")
def public(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demonstration, built as the README's first command builds it."""
    folder = tmp_path_factory.mktemp("demo") / "records"
    result = CliRunner().invoke(main, ["demo", str(folder)])
    assert result.exit_code == 0, result.output
    return folder / "public"


@pytest.fixture(scope="module")
def desk(public: Path) -> Iterator[WebDriver]:
    with browser(DESKTOP) as driver:
        yield driver


def kinds_of_page(public: Path) -> list[str]:
    """One page of every kind of the largest site, and the front page."""
    site = max((s for s in public.iterdir() if (s / "outlets").is_dir()), key=_outlets)
    enclosure = sorted((site / "enclosures").glob("*.html"))[0]
    outlet = sorted((site / "outlets").glob("*.html"))[0]
    item = sorted((site / "enclosures" / enclosure.stem).glob("*.html"))[0]
    job = sorted((site / "jobs").glob("*.html"))[0]
    chapters = sorted(site.glob("*.html"))
    pages = [public / "index.html", enclosure, outlet, item, job, *chapters]
    return [str(page.relative_to(public)) for page in pages if page.name != "404.html"]


def _outlets(site: Path) -> int:
    return len(list((site / "outlets").glob("*.html")))


@pytest.mark.parametrize("size", [DESKTOP, PHONE], ids=["desktop", "phone"])
@pytest.mark.parametrize("dark", [False, True], ids=["light", "dark"])
def test_every_kind_of_page_is_whole(public: Path, size: tuple[int, int], dark: bool) -> None:
    """No complaint, no request to another host, nothing wider than the window, ink on paper."""
    with served(public) as address, browser(size, dark) as driver:
        for page in kinds_of_page(public):
            driver.get(f"{address}/{page}")
            assert driver.find_element(By.TAG_NAME, "h1").text, page
            assert overflow(driver) <= 0, page
            scheme = driver.execute_script(
                "return getComputedStyle(document.body).backgroundColor.match(/[0-9]+/g).map(Number)"
            )
            assert (sum(scheme[:3]) < 200) == dark, (page, scheme)
        assert complaints(driver) == []
        hosts = {urlsplit(url).hostname for url in requested(driver) if url.startswith("http")}
        assert hosts == {"127.0.0.1"}


def search(driver: WebDriver, words: str, wanted: str) -> bool:
    """Whether the page's own search finds something with `wanted` in its title."""
    box = driver.find_element(By.CSS_SELECTOR, "input.md-search__input")
    box.click()
    box.send_keys(words)
    titles = (
        "return [...document.querySelectorAll('.md-search-result__item article')]"
        ".map(e => e.querySelector('h1, h2').textContent)"
    )
    found = WebDriverWait(driver, 20).until(
        lambda d: any(wanted in title for title in d.execute_script(titles))
    )
    return bool(found)


def a_desk(public: Path) -> tuple[str, str, str, str]:
    """A site, and of one of its outlets that serves a person: label, person, panel port."""
    from asbuilt.files import read_site_files
    from asbuilt.records.reading import read_folder
    from asbuilt.site import site_of

    top = public.parent
    for folder in sorted((top / "sites").iterdir()):
        site = site_of(read_folder(folder.name, read_site_files(top, folder.name).texts))
        assert site is not None
        for outlet in site.outlets.values():
            if outlet.person and outlet.port and len(site.label_of(outlet)) > 4:
                return site.key, site.label_of(outlet), outlet.person, str(outlet.port[0])
    raise AssertionError("no site of the demonstration has a person at an outlet")


@pytest.mark.parametrize("scheme", ["http", "file"])
def test_search_finds_an_outlet_by_label_person_and_panel_port(public: Path, scheme: str) -> None:
    key, label, person, port = a_desk(public)
    with served(public) as address, browser(DESKTOP) as driver:
        start = address if scheme == "http" else public.as_uri()
        for words in (label, person, port):
            driver.get(f"{start}/{key}/index.html")
            assert search(driver, words, label), words


def test_from_the_front_page_to_the_switch_port_in_three_taps(public: Path) -> None:
    key, label, _, _ = a_desk(public)
    with browser(PHONE) as driver:
        driver.get((public / "index.html").as_uri())
        driver.find_element(By.CSS_SELECTOR, f'article a[href^="{key}/"]').click()
        driver.find_element(By.CSS_SELECTOR, '.md-header label[for="__drawer"]').click()
        link = driver.find_element(By.CSS_SELECTOR, 'nav.md-nav--primary a[href$="outlets.html"]')
        driver.execute_script("arguments[0].click()", link)
        driver.find_element(By.LINK_TEXT, label).click()
        answer = driver.find_element(By.CSS_SELECTOR, "p.answer").text
        assert "hangs on switch port" in answer
        assert "Last changed on" in answer


def test_the_filter_narrows_a_long_list(public: Path, desk: WebDriver) -> None:
    key, label, _, _ = a_desk(public)
    desk.get((public / key / "outlets.html").as_uri())
    lines = "#outlets tbody tr:not(.group)"
    every = len(desk.find_elements(By.CSS_SELECTOR, lines))
    desk.find_element(By.CSS_SELECTOR, ".filter input").send_keys(label)
    left = [line for line in desk.find_elements(By.CSS_SELECTOR, lines) if line.is_displayed()]
    assert 1 <= len(left) < every
    assert all(label.lower() in line.text.lower() for line in left)


def test_everything_can_be_read_without_javascript(public: Path) -> None:
    key, _, _, _ = a_desk(public)
    with browser(DESKTOP) as driver:
        driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
        driver.get((public / key / "outlets.html").as_uri())
        assert driver.find_elements(By.CSS_SELECTOR, "#outlets tbody tr")
        assert not driver.find_element(By.CSS_SELECTOR, ".filter").is_displayed()


def test_a_drawing_can_be_followed_by_keyboard(public: Path, desk: WebDriver) -> None:
    """Every port of an elevation that leads somewhere is a link the tab key reaches."""
    key, _, _, _ = a_desk(public)
    enclosure = sorted((public / key / "enclosures").glob("*.html"))[0]
    desk.get(enclosure.as_uri())
    links = desk.find_elements(By.CSS_SELECTOR, "figure.sheet svg a")
    assert links
    desk.execute_script("arguments[0].focus()", links[0])
    first = desk.switch_to.active_element
    first.send_keys(Keys.TAB)
    assert desk.switch_to.active_element != first
