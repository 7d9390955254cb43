"""Words without a place to break, the longest texts there may be, names from right to left: no page is
wider than its window, nothing lies over another thing in a drawing, numbers stay where they belong."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import chdir
from pathlib import Path

import pytest
from click.testing import CliRunner
from selenium.webdriver import Chrome

from asbuilt.cli import main
from asbuilt.pages.view import isolate_direction, join_names
from tests.chromium import DESKTOP, PHONE, browser, look, needs_browser
from tests.wordy import HEBREW, WORDS, Words, WordySite

SITES = (0, 3, 6)  # together they have each of the words in most fields


@pytest.fixture(scope="module")
def wordy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    top = tmp_path_factory.mktemp("wordy")
    for first in SITES:
        for path, text in WordySite(Words(next=first)).files().items():
            file = top / f"sites/w{first}" / path
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(text if isinstance(text, bytes) else text.encode())
    with chdir(top):
        result = CliRunner().invoke(main, ["build"])
    assert result.exit_code == 0, result.output
    return top / "public"


@pytest.fixture(scope="module")
def desk() -> Iterator[Chrome]:
    with browser(DESKTOP) as driver:
        yield driver


def pages_of_each_kind(wordy: Path) -> list[Path]:
    """Of each kind of page one of each site; sites differ in what stands in which field."""
    return [page for site in sorted(wordy.glob("w*")) for page in one_of_each_kind_in(site)]


def one_of_each_kind_in(site: Path) -> Iterator[Path]:
    seen = set()
    for page in sorted(site.rglob("*.html")):
        kind = page.relative_to(site).parts[0]
        if kind not in seen:
            seen.add(kind)
            yield page


@pytest.mark.browser
@needs_browser
def test_no_page_is_wider_than_its_window(wordy: Path, desk: Chrome) -> None:
    """WCAG 2.2, 1.4.4 (text at 200 %) and 1.4.10 (no scrolling in two dimensions)."""
    pages = [wordy / "index.html", *pages_of_each_kind(wordy)]
    assert len(pages) > 40
    looks = [(PHONE, "100%"), (DESKTOP, "200%")]
    look(desk, PHONE)
    for page in pages:
        desk.get(page.as_uri())
        for size, letters in looks:
            desk.execute_script("document.documentElement.style.fontSize = arguments[0]", letters)
            look(desk, size)
            wide, window = desk.execute_script(
                "return [document.scrollingElement.scrollWidth, innerWidth]"
            )
            assert wide <= window, (page.relative_to(wordy), letters)
        looks.reverse()  # the next is opened in the window that is there
    look(desk, DESKTOP)


@pytest.mark.browser
@needs_browser
def test_no_lettering_of_an_elevation_lies_over_another(wordy: Path, desk: Chrome) -> None:
    """What is too long is cut with an ellipsis, and all of it is the thing's title."""
    for site in sorted(wordy.glob("w*")):
        desk.get((site / "enclosures/1A.html").as_uri())
        over, cut, untold = desk.execute_script(
            """const over = []; let cut = 0, untold = [];
               document.querySelectorAll('figure.sheet:not(.diagram-sheet) > svg').forEach(svg => {
                 const texts = [...svg.querySelectorAll('text')].filter(e => e.textContent.trim());
                 const boxes = texts.map(e => e.getBoundingClientRect());
                 texts.forEach((text, i) => {
                   if (/^…|…$/.test(text.textContent)) {
                     cut += 1;
                     const part = text.textContent.replace('…', '').trim();
                     const titles = [...svg.querySelectorAll('title, desc')].map(e => e.textContent);
                     if (!titles.some(t => t.includes(part)) &&
                         !document.body.textContent.includes(part)) untold.push(part);
                   }
                   for (let j = i + 1; j < texts.length; j += 1) {
                     const x = Math.min(boxes[i].right, boxes[j].right) - Math.max(boxes[i].left, boxes[j].left);
                     const y = Math.min(boxes[i].bottom, boxes[j].bottom) - Math.max(boxes[i].top, boxes[j].top);
                     if (x > 1 && y > boxes[i].height / 3) over.push([text.textContent, texts[j].textContent]);
                   }
                 });
               });
               return [over, cut, untold]"""
        )
        assert over == [], site.name
        assert cut > 20 and untold == [], site.name


@pytest.mark.browser
@needs_browser
def test_the_diagram_of_a_site_stays_one_that_can_be_read(wordy: Path, desk: Chrome) -> None:
    """A label of thousands of signs would shrink all others to nothing."""
    for site in sorted(wordy.glob("w*")):
        desk.get((site / "connectivity.html").as_uri())
        tall = desk.execute_script(
            """const texts = [...document.querySelectorAll('.diagram-sheet svg text')];
               return Math.min(...texts.map(e => e.getBoundingClientRect().height))"""
        )
        assert tall >= 4, site.name


def test_a_name_from_right_to_left_is_set_apart_and_no_other() -> None:
    assert isolate_direction(HEBREW) == f"<bdi>{HEBREW}</bdi>"
    assert isolate_direction("Tower 12 & <b>") == "Tower 12 & <b>"
    assert isolate_direction(f"<i>{HEBREW}") == f"<bdi>&lt;i&gt;{HEBREW}</bdi>"
    assert join_names(("101", HEBREW)) == f"101, <bdi>{HEBREW}</bdi>"
    assert str(join_names(("<101>", HEBREW))).startswith("&lt;101&gt;, <bdi>")
    assert isolate_direction(None) == ""


@pytest.mark.browser
@needs_browser
def test_numbers_beside_a_name_from_right_to_left_stay_beside_it(wordy: Path, desk: Chrome) -> None:
    """What follows such a name in a sentence stands to its right, in whichever line of the first
    page it is (Unicode UAX #9 would put “, 12” to its left)."""
    assert any("\u0590" <= sign <= "\u06ff" for word in WORDS for sign in word)
    for site in sorted(wordy.glob("w*")):
        desk.get((site / "index.html").as_uri())
        wrong = desk.execute_script(
            """const rtl = /[\\u0590-\\u07ff]/, bad = [];
               const walker = document.createTreeWalker(document.querySelector('main'), NodeFilter.SHOW_TEXT);
               while (walker.nextNode()) {
                 const text = walker.currentNode;
                 if (!rtl.test(text.data) || text.parentElement.closest('svg, select, pre')) continue;
                 let apart = false;
                 for (let e = text.parentElement; e && !apart; e = e.parentElement) {
                   const style = getComputedStyle(e);
                   apart = style.unicodeBidi === 'plaintext'
                     || (style.unicodeBidi === 'isolate' && style.display === 'inline');
                   if (style.display !== 'inline') break;
                 }
                 if (!apart) bad.push(text.parentElement.tagName + ' ' + text.data.trim().slice(0, 60));
               }
               return bad"""
        )
        assert wrong == [], site.name
