"""The built demonstration in a real browser: the journeys of people who read it."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.support.expected_conditions import staleness_of
from selenium.webdriver.support.ui import WebDriverWait

from tests.chromium import (
    DESKTOP,
    PHONE,
    browser,
    complaints,
    look,
    needs_browser,
    overflow,
    requested,
    served,
)

pytestmark = [pytest.mark.browser, needs_browser]

DOUBLED = (DESKTOP[0] // 2, DESKTOP[1] // 2)  # WCAG 2.2, 1.4.4: text at 200 %


@pytest.fixture(scope="module")
def desk(public: Path) -> Iterator[Chrome]:
    with browser(DESKTOP) as driver:
        yield driver


def kinds_of_page(public: Path) -> list[str]:
    """One page of every kind of the largest site, and the front page."""
    site = max((s for s in public.iterdir() if (s / "outlets").is_dir()), key=_outlets)
    enclosure = sorted((site / "enclosures").glob("*.html"))[0]
    outlet = sorted((site / "outlets").glob("*.html"))[0]
    item = sorted((site / "enclosures" / enclosure.stem).glob("*.html"))[0]
    job = sorted((site / "jobs").glob("*.html"))[0]
    plan = sorted((site / "plans").glob("*.html"))[0]
    door = site / "doors" / enclosure.name
    chapters = sorted(site.glob("*.html"))
    pages = [public / "index.html", enclosure, outlet, item, job, plan, door, *chapters]
    return [str(page.relative_to(public)) for page in pages if page.name != "404.html"]


def _outlets(site: Path) -> int:
    return len(list((site / "outlets").glob("*.html")))


def test_every_kind_of_page_is_whole(public: Path) -> None:
    """No complaint, no request to another host, nothing wider than the window, ink on paper, on a
    desk and on a phone, in the light and in the dark; and with text twice as large at a desk."""
    sizes = DESKTOP, PHONE
    looks = [*itertools.product(sizes, (False, True)), (DOUBLED, False)]
    with served(public) as address, browser() as driver:
        for number, page in enumerate(kinds_of_page(public)):
            look(driver, sizes[number % 2])  # one is opened in the one, the next in the other
            driver.get(f"{address}/{page}")
            assert driver.find_element(By.TAG_NAME, "h1").text, page
            for size, dark in looks:
                look(driver, size, dark)
                assert overflow(driver) <= 0, page
                scheme = driver.execute_script(
                    "return getComputedStyle(document.body)"
                    ".backgroundColor.match(/[0-9]+/g).map(Number)"
                )
                assert (sum(scheme[:3]) < 200) == dark, (page, scheme)
        assert complaints(driver) == []
        hosts = {urlsplit(url).hostname for url in requested(driver) if url.startswith("http")}
        assert hosts == {"127.0.0.1"}


def search(driver: Chrome, words: str, wanted: str) -> bool:
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
    from asbuilt.io.files import read_site_files
    from asbuilt.model.site import site_of
    from asbuilt.records.reading import read_folder

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
        assert "is connected to switch port" in answer
        assert "Last changed on" in answer


def test_from_the_front_page_to_the_answer_by_one_search(public: Path) -> None:
    """One search over all sites and one tap on what it found."""
    _, label, _, _ = a_desk(public)
    with browser(PHONE) as driver:
        driver.get((public / "index.html").as_uri())
        driver.find_element(By.CSS_SELECTOR, ".finder input").send_keys(label)
        WebDriverWait(driver, 20).until(
            lambda d: d.find_elements(By.CSS_SELECTOR, '.finder ol a[href*="/outlets/"]')
        )[0].click()
        assert (
            "is connected to switch port" in driver.find_element(By.CSS_SELECTOR, "p.answer").text
        )
        assert label in driver.find_element(By.TAG_NAME, "h1").text


def test_the_filter_narrows_a_long_list(public: Path, desk: Chrome) -> None:
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


def test_a_drawing_can_be_followed_by_keyboard(public: Path, desk: Chrome) -> None:
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


# Plans


def plan_with_picture(public: Path) -> Path:
    """The plan of the largest floor that has a picture."""
    plans = [page for page in public.glob("*/plans/*.html") if "<img" in page.read_text("utf-8")]
    return max(plans, key=lambda page: page.stat().st_size)


def shown_signs(driver: Chrome) -> list[str]:
    """The outlets on the plan that haven't stepped back."""
    script = "return [...document.querySelectorAll('.plan-layer a:not(.set-aside)')].map(a => a.dataset.outlet)"
    found: list[str] = driver.execute_script(script)
    return found


def choose(driver: Chrome, by: str, value: str) -> str:
    """Choose in one of the plan's lists; gives what the page says to it."""
    script = """const s = document.querySelector(`select[data-by="${arguments[0]}"]`);
                s.value = arguments[1]; s.dispatchEvent(new Event('change'));
                return document.querySelector('.choices output').textContent"""
    said: str = driver.execute_script(script, by, value)
    return said


def test_a_plan_shows_what_is_asked_for(public: Path, desk: Chrome) -> None:
    desk.get(plan_with_picture(public).as_uri())
    every = shown_signs(desk)
    assert len(every) > 40
    said = choose(desk, "serves", "access point")
    some = shown_signs(desk)
    assert 0 < len(some) < len(every)
    assert said.startswith(f"{len(some)} of ")
    words = desk.execute_script(
        "return [...document.querySelectorAll('.plan-layer a:not(.set-aside) > title')].map(t => t.textContent)"
    )
    assert all("access point" in word for word in words)
    choose(desk, "serves", "")
    assert shown_signs(desk) == every


def test_a_plan_shows_what_goes_dark_by_ring_word_and_colour(public: Path, desk: Chrome) -> None:
    desk.get(plan_with_picture(public).as_uri())
    option = desk.find_elements(By.CSS_SELECTOR, 'select[data-by="dark"] option')[-1]
    part, dark = option.text.removesuffix(")").rpartition(" (")[::2]
    said = choose(desk, "dark", option.get_attribute("value") or "")
    assert said.startswith(f"{dark} of ") and said.endswith("lose service"), part
    ringed = desk.execute_script(
        """return [...document.querySelectorAll('.plan-layer a.goes-dark')].map(
             a => getComputedStyle(a.querySelector('.sign-ring')).stroke)"""
    )
    assert ringed and "none" not in ringed
    label = desk.find_element(By.CSS_SELECTOR, "li.goes-dark .label")
    after = desk.execute_script("return getComputedStyle(arguments[0], '::after').content", label)
    assert "loses service" in after


def test_signs_lie_where_the_plan_s_picture_is(public: Path, desk: Chrome) -> None:
    """The layer covers the picture exactly, also when looked at closely."""
    desk.get(plan_with_picture(public).as_uri())
    boxes = """const r = e => e.getBoundingClientRect(), b = document.querySelector('.plan-board');
               return [b.querySelector('img'), b.querySelector('.plan-layer')].map(
                 e => [r(e).left, r(e).top, r(e).width, r(e).height].map(Math.round))"""
    before, layer = desk.execute_script(boxes)
    assert before == layer
    for _ in range(2):
        desk.find_element(By.CSS_SELECTOR, 'button[data-zoom="in"]').click()
    after, layer = desk.execute_script(boxes)
    assert after == layer
    assert after[2] > 2 * before[2]
    assert overflow(desk) <= 0
    desk.find_element(By.CSS_SELECTOR, 'button[data-zoom="whole"]').click()
    assert desk.execute_script(boxes)[0][2:] == before[2:]


def test_a_finger_s_first_tap_tells_and_its_second_follows(public: Path) -> None:
    with browser(PHONE) as driver:
        driver.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": True})
        page = plan_with_picture(public).as_uri()
        driver.get(page)
        sign = driver.find_element(By.CSS_SELECTOR, ".plan-layer a")
        driver.execute_script(
            "arguments[0].scrollIntoView({block: 'center', inline: 'center'})", sign
        )

        def tap() -> None:
            x, y = driver.execute_script(
                "const r = arguments[0].getBoundingClientRect(); return [r.x + r.width/2, r.y + r.height/2]",
                sign,
            )
            for kind in ("touchStart", "touchEnd"):
                points = [{"x": x, "y": y}] if kind == "touchStart" else []
                driver.execute_cdp_cmd(
                    "Input.dispatchTouchEvent", {"type": kind, "touchPoints": points}
                )

        tap()
        told = driver.find_element(By.CSS_SELECTOR, "figure .telling")
        WebDriverWait(driver, 5).until(lambda _: "tap again" in told.text)
        assert str(sign.get_dom_attribute("data-outlet")) in told.text
        assert driver.current_url == page
        tap()
        WebDriverWait(driver, 5).until(lambda d: "/outlets/" in d.current_url)


def test_without_javascript_a_plan_is_a_picture_with_links(public: Path) -> None:
    with browser(DESKTOP) as driver:
        driver.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
        driver.get(plan_with_picture(public).as_uri())
        assert driver.find_elements(By.CSS_SELECTOR, ".plan-layer a")
        assert driver.find_elements(By.CSS_SELECTOR, "li.in-room a")
        assert not driver.find_element(By.CSS_SELECTOR, ".choices").is_displayed()
        assert not driver.find_element(By.CSS_SELECTOR, ".plan-tools").is_displayed()


# Elevations


def test_a_port_that_is_focused_says_where_it_goes_and_shows_its_cord(
    public: Path, desk: Chrome
) -> None:
    key, _, _, _ = a_desk(public)
    enclosure = sorted((public / key / "enclosures").glob("*.html"))[0]
    desk.get(enclosure.as_uri())
    words = desk.execute_script(
        """const port = [...document.querySelectorAll('figure.sheet svg a.port')].find(
             a => a.querySelector('title').textContent.includes('cord to'));
           port.focus(); return port.querySelector('title').textContent"""
    )
    assert desk.find_element(By.CSS_SELECTOR, "figure.sheet .telling").text == words
    assert len(desk.find_elements(By.CSS_SELECTOR, "svg a.on-path")) >= 2
    assert desk.find_elements(By.CSS_SELECTOR, "svg .cord-drawn")


# Lists


def lit(driver: Chrome) -> set[str]:
    ports = driver.find_elements(By.CSS_SELECTOR, "figure.sheet svg a.on-path")
    own = (port.get_dom_attribute("data-port") or port.get_dom_attribute("href") for port in ports)
    return set(map(str, own))


def test_a_panel_port_lights_itself_and_what_it_is_patched_to(public: Path, desk: Chrome) -> None:
    """It leads to its outlet, and is on the path all the same."""
    key, _, _, _ = a_desk(public)
    enclosure = sorted((public / key / "enclosures").glob("*.html"))[0]
    desk.get(enclosure.as_uri())
    own = desk.execute_script(
        """const port = [...document.querySelectorAll('figure.sheet svg a.port[href*="/outlets/"]')]
             .find(a => a.querySelector('title').textContent.includes('cord to'));
           port.focus(); return port.dataset.port"""
    )
    ports = lit(desk)
    assert own in ports and len(ports) >= 2
    assert desk.find_elements(By.CSS_SELECTOR, "svg .cord-drawn")


def test_a_path_is_followed_lit_from_enclosure_to_enclosure(public: Path, desk: Chrome) -> None:
    """From an outlet's page on, by keyboard: in each enclosure the path's own ports are lit."""
    outlets = sorted((public / a_desk(public)[0] / "outlets").glob("*.html"))
    page = next(p for p in outlets if p.read_text().count("#path-") > 1)
    desk.get(page.as_uri())
    told = set(re.findall(r'href="(\.\./enclosures/[^"]+#port-[^"]+)"', page.read_text()))
    told = {href.removeprefix("../enclosures/") for href in told}
    first = desk.find_element(By.CSS_SELECTOR, 'a[href*="#path-"]')
    seen: set[str] = set()
    for _ in range(2):
        first.send_keys(Keys.ENTER)
        WebDriverWait(desk, 10).until(staleness_of(first))
        said = WebDriverWait(desk, 10).until(
            lambda d: d.find_element(By.CSS_SELECTOR, ".path-lit:focus")
        )
        assert desk.switch_to.active_element == said
        ports = {href.partition("enclosures/")[2] for href in lit(desk)}
        here = unquote(urlsplit(desk.current_url).path.rpartition("/")[2]).removesuffix(".html")
        assert ports and ports == {port for port in told if port.startswith(f"{here}/")}
        assert not ports & seen
        seen |= ports
        first = said.find_element(By.CSS_SELECTOR, 'a[href*="#path-"]')
    assert complaints(desk) == []


def column(driver: Chrome, number: int) -> list[str]:
    script = """return [...document.querySelectorAll('#outlets tbody tr:not(.group)')].map(
                  r => (r.cells[arguments[0]] || {}).innerText || '').filter(Boolean)"""
    found: list[str] = driver.execute_script(script, number)
    return found


def test_a_list_sorts_by_any_column_and_back(public: Path, desk: Chrome) -> None:
    from asbuilt.model.site import natural

    key, _, _, _ = a_desk(public)
    desk.get((public / key / "outlets.html").as_uri())
    before = column(desk, 0)
    heads = desk.find_elements(By.CSS_SELECTOR, "#outlets thead button")
    assert [head.text.strip() for head in heads[:3]] == ["Outlet", "Serves", "Switch port"]
    heads[2].click()
    up = column(desk, 2)
    assert up == sorted(up, key=lambda port: natural(port.lower()))
    assert desk.find_elements(By.CSS_SELECTOR, '#outlets th[aria-sort="ascending"]')
    heads[2].click()
    assert column(desk, 2) == up[::-1]
    rooms = desk.find_elements(By.CSS_SELECTOR, "#outlets tr th .sorted-in")
    assert len(rooms) == len(desk.find_elements(By.CSS_SELECTOR, "#outlets tbody tr:not(.group)"))
    desk.find_element(By.XPATH, "//button[text()='In the order they came']").click()
    assert column(desk, 0) == before


def test_a_list_copies_as_csv(public: Path, desk: Chrome) -> None:
    import csv
    import io

    key, label, _, _ = a_desk(public)
    desk.get((public / key / "outlets.html").as_uri())
    desk.execute_script(
        """Object.defineProperty(navigator, 'clipboard', {value: {writeText: text => {
             window.copied = text; return Promise.resolve()}}});
           document.querySelector('#outlets tbody tr:not(.group) td').textContent = '=1+1, "x"'"""
    )
    desk.find_element(By.XPATH, "//button[text()='Copy as CSV']").click()
    rows = list(csv.reader(io.StringIO(desk.execute_script("return window.copied"))))
    assert rows[0][:3] == ["Group", "Outlet", "Serves"]
    assert len({len(row) for row in rows}) == 1
    assert any(row[1] == label for row in rows)
    assert rows[1][2] == '\'=1+1, "x"', "no spreadsheet takes it for a formula"


def test_the_header_of_a_list_stays_in_view(public: Path, desk: Chrome) -> None:
    key, _, _, _ = a_desk(public)
    desk.get((public / key / "outlets.html").as_uri())
    desk.execute_script("window.scrollTo(0, 1500)")
    head = desk.find_element(By.CSS_SELECTOR, "#outlets thead th")
    top = desk.execute_script("return arguments[0].getBoundingClientRect().top", head)
    assert 0 <= top < 120


# Paper


def pages_on_paper(driver: Chrome, width: float, height: float) -> int:
    """How many sheets of a size in inches a page takes, counted in the PDF (ISO 32000, 7.7.3.3)."""
    import base64
    import re

    printed = driver.execute_cdp_cmd(
        "Page.printToPDF", {"paperWidth": width, "paperHeight": height}
    )
    return len(re.findall(rb"/Type\s*/Page\b(?!s)", base64.b64decode(printed["data"])))


@pytest.mark.parametrize("paper", [(8.27, 11.69), (8.5, 11.0)], ids=["A4", "US Letter"])
def test_a_door_s_sheet_is_one_page(public: Path, desk: Chrome, paper: tuple[float, float]) -> None:
    doors = sorted(public.glob("*/doors/*.html"))
    assert len(doors) >= 5
    for door in doors:
        desk.get(door.as_uri())
        assert pages_on_paper(desk, *paper) == 1, door


@pytest.mark.parametrize("paper", [(8.27, 11.69), (8.5, 11.0)], ids=["A4", "US Letter"])
def test_the_binder_prints_a_chapter_a_page(
    public: Path, desk: Chrome, paper: tuple[float, float]
) -> None:
    """At least the cover, a page before one calls, front and rear of each enclosure, its ports. Of
    the site with the fewest pages that has more than one enclosure."""
    binders = (site for site in public.iterdir() if len([*site.glob("doors/*.html")]) > 1)
    site = min(binders, key=lambda site: (site / "binder.html").stat().st_size)
    enclosures = len(list((site / "doors").glob("*.html")))
    desk.get((site / "binder.html").as_uri())
    assert 2 + 3 * enclosures <= pages_on_paper(desk, *paper) <= 4 + 12 * enclosures
