"""Whoever reads, and with whatever: on little bandwidth, with large text, without JavaScript."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By

from tests.chromium import (
    DESKTOP,
    PHONE,
    browser,
    complaints,
    look,
    needs_browser,
    one_of_each_kind,
    requested,
    served,
)

pytestmark = [pytest.mark.browser, needs_browser]

HUNDRED = "ostrel-vane"  # the demonstration's site of about a hundred outlets


@pytest.fixture(scope="module")
def desk() -> Iterator[Chrome]:
    with browser(DESKTOP) as driver:
        yield driver


def test_the_brief_is_light(public: Path, desk: Chrome) -> None:
    """Our own HTML with the SVG in it, CSS and SVG, unpacked; not the theme's style sheets."""
    with served(public) as address:
        desk.get(f"{address}/{HUNDRED}/index.html")
        paths = {url.removeprefix(address + "/") for url in requested(desk) if address in url}
    own = {path for path in paths if re.search(r"(\.html|\.svg|/asbuilt\.css)$", path)}
    assert {f"{HUNDRED}/index.html", f"{HUNDRED}/assets/asbuilt.css"} <= own
    assert sum((public / path).stat().st_size for path in own) <= 150_000
    outlets = len(list((public / HUNDRED / "outlets").glob("*.html")))
    assert 80 <= outlets <= 120


@pytest.mark.parametrize("size", [DESKTOP, PHONE], ids=["desktop", "phone"])
def test_the_brief_begins_with_the_way_in_and_the_cautions(
    public: Path, desk: Chrome, size: tuple[int, int]
) -> None:
    """On the first screen; whom to call and what changed are the next things, by one tap."""
    desk.get((public / HUNDRED / "index.html").as_uri())
    look(desk, size)
    seen = {
        element.text.split("\n")[0]: element.rect["y"]
        for element in desk.find_elements(By.CSS_SELECTOR, "main dt, main h2")
    }
    for words in ("Hours", "Access", "Maintenance window", "Records kept by", "Cautions"):
        assert seen[words] < size[1], (words, seen)
    assert list(seen)[-20:].index("Cautions") < list(seen)[-20:].index("Contacts")
    assert {"Contacts", "What changed since the last visit"} <= set(seen)
    look(desk, DESKTOP)


def test_whom_to_call_when_one_may_enter_and_what_is_dangerous_are_on_a_phone_s_first_screen(
    public: Path, desk: Chrome
) -> None:
    """Each whole, with the number to tap, before anybody scrolls."""
    look(desk, PHONE)
    for brief in sorted(public.glob("*/index.html")):
        desk.get(brief.as_uri())
        bottoms = desk.execute_script(
            """const found = {};
               document.querySelectorAll('.titleblock > div').forEach(e => {
                 const box = e.getBoundingClientRect();
                 found[e.querySelector('dt').textContent] = [box.top, box.bottom, box.left, box.right]});
               const call = document.querySelector('.titleblock a[href^="tel:"]');
               const box = call.getBoundingClientRect();
               found.number = [box.top, box.bottom, box.left, box.right];
               return found"""
        )
        for words in ("Call", "number", "Hazards", "Hours", "Access"):
            top, bottom, left, right = bottoms[words]
            assert 0 < top < bottom <= PHONE[1], (brief.parent.name, words)
            assert 0 <= left < right <= PHONE[0], (brief.parent.name, words)
    look(desk, DESKTOP)


def test_the_brief_marks_what_is_new_since_this_reader_last_looked(
    public: Path, desk: Chrome
) -> None:
    """From a disk as over HTTP; nothing is new to whoever comes first, or comes again."""
    marked = "return [...document.querySelectorAll('[data-since] .log > li')].map(e => !!e.querySelector('.new-here'))"
    page = public / HUNDRED / "index.html"
    with served(public) as address:
        for at in (page.as_uri(), f"{address}/{HUNDRED}/"):
            desk.get(at)
            desk.execute_script("localStorage.clear()")
            for _ in range(2):
                desk.refresh()
                shown = desk.execute_script(marked)
                assert len(shown) > 1 and not any(shown), at
            desk.execute_script(
                """const before = document.querySelectorAll('[data-since] .stamp a:first-child')[1].hash.slice(1);
                   localStorage.setItem(Object.keys(localStorage).find(
                     e => e.startsWith('asbuilt:')), before)"""
            )
            desk.refresh()
            assert desk.execute_script(marked) == [True, *[False] * (len(shown) - 1)], at
            desk.refresh()
            assert not any(desk.execute_script(marked)), at
    assert complaints(desk) == []


def test_nothing_moves_for_whoever_wants_it_still(public: Path, desk: Chrome) -> None:
    moving = """return [...document.querySelectorAll('*')].filter(e => {
        const s = getComputedStyle(e);
        return s.animationName !== 'none' || parseFloat(s.transitionDuration) > 0}).length"""
    desk.get((public / HUNDRED / "index.html").as_uri())
    desk.execute_cdp_cmd("Emulation.setEmulatedMedia", {"features": []})
    assert desk.execute_script(moving) > 0
    look(desk, DESKTOP)  # asks for reduced motion
    assert desk.execute_script(moving) == 0


def lines_of(driver: Chrome, page: Path) -> set[str]:
    """The lines of a page's main text, without what only works with JavaScript."""
    driver.get(page.as_uri())
    text = driver.execute_script(
        """const main = document.querySelector('main');
           main.querySelectorAll('button, [hidden], .finder, label:has(input), .filter, .choices, .plan-tools, .telling, .over-tools, select, output'
             ).forEach(e => e.remove());
           return main.innerText"""
    )
    return {line for cell in re.split(r"[\n\t]", text) if (line := " ".join(cell.split()))}


def test_without_javascript_every_kind_of_page_says_the_same(public: Path, desk: Chrome) -> None:
    kinds = one_of_each_kind(public)
    told = {kind: lines_of(desk, page) for kind, page in kinds.items()}
    with browser(DESKTOP) as plain:
        plain.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
        for kind, page in kinds.items():
            assert told[kind], kind
            assert told[kind] - lines_of(plain, page) == set(), kind
    assert complaints(desk) == []


def test_a_name_from_right_to_left_leaves_its_sentence_alone(public: Path, desk: Chrome) -> None:
    """A number after such a name stays after it (Unicode UAX #9 would put it before)."""
    desk.get((public / HUNDRED / "index.html").as_uri())
    name, number = desk.execute_script(
        """const line = document.querySelector('.people li');
           line.innerHTML = '<b>\u05d0\u05d1\u05d2</b>, <span>12</span>';
           return ['b', 'span'].map(e => line.querySelector(e).getBoundingClientRect().left)"""
    )
    assert name < number


def test_a_list_of_a_thousand_outlets_answers_at_once(
    public: Path, desk: Chrome, tmp_path: Path
) -> None:
    """The longest list there is, its lines repeated up to a thousand, and one of its own."""
    site = max(public.glob("*/outlets.html"), key=lambda page: page.stat().st_size).parent
    shutil.copytree(site / "assets", tmp_path / "assets")
    text = (site / "outlets.html").read_text("utf-8")
    head, _, rest = text.rpartition("</tbody>")
    line = re.findall(r"<tr(?! class=.?group).*?</tr>", head, re.DOTALL)[-1]
    one = re.sub(r">[^<>]+<", ">the only one<", line, count=1)
    (tmp_path / "outlets.html").write_text(f"{head}{line * 1000}{one}</tbody>{rest}", "utf-8")
    desk.get((tmp_path / "outlets.html").as_uri())
    milliseconds, shown = desk.execute_script(
        """const box = document.querySelector('.filter input'), began = performance.now();
           box.value = 'the only one';
           box.dispatchEvent(new Event('input', {bubbles: true}));
           document.body.getBoundingClientRect();
           return [performance.now() - began,
             [...document.querySelectorAll('#outlets tbody tr:not(.group)')].filter(
               e => e.checkVisibility()).length]"""
    )
    assert shown == 1
    assert milliseconds < 1000
