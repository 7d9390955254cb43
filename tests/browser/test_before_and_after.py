"""Before and after, laid one over the other: by keyboard and finger, without a script, on paper."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from selenium.webdriver import Chrome
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.remote.webelement import WebElement

from asbuilt.io.sources import theme_folder
from asbuilt.pages.cutover import cutover_page
from tests.chromium import DESKTOP, PHONE, browser, complaints, look, needs_browser, overflow
from tests.cutover.test_cutover import SWAP, UPLINK, planned

pytestmark = [pytest.mark.browser, needs_browser]

SITE = "ostrel-vane"
PAGES = {"a job's elevations": "jobs/J8.html", "a finding's photos": "findings.html"}
WORDS = {"jobs/J8.html": ("before", "after"), "findings.html": ("as found", "as left")}


@pytest.fixture(scope="module")
def phone() -> Iterator[Chrome]:
    with browser(PHONE) as driver:
        yield driver


def slider_of(driver: Chrome) -> WebElement:
    return driver.find_element(By.CSS_SELECTOR, ".over-tools input[type=range]")


def parts_shown(driver: Chrome) -> list[tuple[float, float]]:
    """From where to where each of the first pair is shown, as parts of its width."""
    clips = driver.execute_script(
        """const box = document.querySelector('[data-over].laid-over');
           return [...box.querySelectorAll('.over-picture')].map(
             e => getComputedStyle(e).clipPath)"""
    )
    shown = []
    for clip in clips:
        _, right, _, left = re.fullmatch(r"inset\((\S+) (.+) (\S+) (\S+)\)", clip).groups()  # type: ignore[union-attr]
        cut = re.sub(r"calc\(100% - (\S+)%\)", lambda m: f"{100 - float(m[1])}%", right)
        shown.append((float(left.rstrip("%px")), 100 - float(cut.rstrip("%px"))))
    return shown


@pytest.mark.parametrize("page", PAGES.values(), ids=list(PAGES))
def test_the_line_is_moved_by_keys_and_says_how_much_is_shown_of_each(
    public: Path, phone: Chrome, page: str
) -> None:
    phone.get((public / SITE / page).as_uri())
    before, after = WORDS[page]
    slider = slider_of(phone)
    assert before in slider.accessible_name and after in slider.accessible_name
    assert parts_shown(phone) == [(0, 50), (50, 100)]
    button = phone.find_element(By.CSS_SELECTOR, ".over-tools button")
    phone.execute_script("arguments[0].focus()", button)
    ActionChains(phone).send_keys(Keys.TAB).perform()
    assert phone.switch_to.active_element == slider
    for key, at in ((Keys.ARROW_LEFT, 49), (Keys.ARROW_RIGHT, 50), (Keys.HOME, 0), (Keys.END, 100)):
        slider.send_keys(key)
        assert parts_shown(phone) == [(0, at), (at, 100)], key
        told = f"{at} % {before}, {100 - at} % {after}"
        assert slider.get_attribute("aria-valuetext") == told
    assert overflow(phone) <= 0
    assert complaints(phone) == []


def test_a_finger_moves_the_line(public: Path, phone: Chrome) -> None:
    phone.get((public / SITE / "jobs/J8.html").as_uri())
    slider = slider_of(phone)
    phone.execute_script("arguments[0].scrollIntoView({block: 'center'})", slider)
    box = phone.execute_script("return arguments[0].getBoundingClientRect().toJSON()", slider)
    assert box["height"] >= 24  # WCAG 2.2, 2.5.8: the least size of a target

    def touch(kind: str, part: float) -> None:
        points = [{"x": box["x"] + box["width"] * part, "y": box["y"] + box["height"] / 2}]
        told = {"type": kind, "touchPoints": points if kind != "touchEnd" else []}
        phone.execute_cdp_cmd("Input.dispatchTouchEvent", told)

    phone.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": True})
    touch("touchStart", 0.5)
    for part in (0.6, 0.7, 0.8):
        touch("touchMove", part)
    touch("touchEnd", 0.8)
    phone.execute_cdp_cmd("Emulation.setTouchEmulationEnabled", {"enabled": False})
    (_, before), (after, _) = parts_shown(phone)
    assert 70 <= before == after <= 90


def test_each_side_of_the_line_is_pointed_at_for_itself(public: Path, phone: Chrome) -> None:
    """A port before leads where it led, beside one of after."""
    phone.get((public / SITE / "jobs/J8.html").as_uri())
    at_points = """const box = document.querySelector('.laid-over');
        const svg = box.querySelector('svg').getBoundingClientRect();
        scrollTo(0, scrollY + svg.top - 200);
        const y = box.querySelector('svg').getBoundingClientRect().top + 40;
        return [0.25, 0.75].map(part => {
          const e = document.elementFromPoint(svg.left + svg.width * part, y).closest('svg');
          return [...box.querySelectorAll('svg')].indexOf(e)})"""
    assert phone.execute_script(at_points) == [0, 1]


def test_on_a_desk_they_stand_apart_until_somebody_asks(public: Path) -> None:
    lefts = """return [...document.querySelectorAll('[data-over] .over-picture')].slice(0, 2).map(
        e => Math.round(e.getBoundingClientRect().left))"""
    with browser(DESKTOP) as desk:
        desk.get((public / SITE / "jobs/J8.html").as_uri())
        apart = desk.execute_script(lefts)
        assert apart[0] < apart[1]
        assert not slider_of(desk).is_displayed()
        button = desk.find_element(By.CSS_SELECTOR, ".over-tools button")
        button.send_keys(Keys.ENTER)
        over = desk.execute_script(lefts)
        assert over[0] == over[1] and slider_of(desk).is_displayed()
        desk.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        assert not slider_of(desk).is_displayed()
        clips = "return getComputedStyle(document.querySelector('.over-picture')).clipPath"
        assert desk.execute_script(clips) == "none"
        desk.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "screen"})
        look(desk, DESKTOP)
        button.send_keys(Keys.ENTER)
        assert desk.execute_script(lefts) == apart


def test_without_a_script_both_are_there(public: Path) -> None:
    with browser(PHONE) as plain:
        plain.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
        plain.get((public / SITE / "jobs/J8.html").as_uri())
        sides = plain.find_elements(By.CSS_SELECTOR, "[data-over] > figure > svg")
        assert len(sides) >= 2 and all(side.is_displayed() for side in sides)
        assert sides[0].rect["y"] + sides[0].rect["height"] <= sides[1].rect["y"]
        assert not plain.find_elements(By.CSS_SELECTOR, ".over-tools")


def test_drawings_of_another_shape_are_not_laid_over(
    public: Path, phone: Chrome, tmp_path: Path
) -> None:
    """A taller cabinet drawn over the old one would show neither as it is."""
    shutil.copytree(public / SITE / "assets", tmp_path / "assets")
    text = (public / SITE / "jobs/J8.html").read_text("utf-8")
    head, view, rest = text.partition('viewBox="-330 ')
    assert view
    (tmp_path / "jobs").mkdir()
    page = tmp_path / "jobs/J8.html"
    wide = re.sub(r"^(\S+) 660 ", r"\g<1> 900 ", rest)
    assert wide != rest
    page.write_text(head + view + wide, "utf-8")
    phone.get(page.as_uri())
    assert not phone.find_elements(By.CSS_SELECTOR, ".over-tools")


def test_the_sheet_of_a_cutover_has_the_slider_under_its_own_policy(
    phone: Chrome, tmp_path: Path
) -> None:
    style, script = (
        (theme_folder() / "assets" / name).read_text("utf-8") for name in ("asbuilt.css", "over.js")
    )
    page = tmp_path / "cutover.html"
    page.write_text(cutover_page(planned(SWAP, UPLINK), style, script), "utf-8")
    complaints(phone)  # those of other pages are gone then
    phone.get(page.as_uri())
    slider = slider_of(phone)
    slider.send_keys(Keys.HOME)
    assert parts_shown(phone) == [(0, 0), (0, 100)]
    assert slider.get_attribute("aria-valuetext") == "0 % as it stands, 100 % as planned"
    assert complaints(phone) == []
