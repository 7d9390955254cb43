"""Drawings in a real browser: its lettering against our estimate, light and dark, wide and small."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from selenium.webdriver import Chrome

from asbuilt.drawings.diagrams import site_dot
from asbuilt.drawings.elevation import draw_elevation
from asbuilt.drawings.item_face import draw_item_face
from asbuilt.drawings.side_view import draw_side_view
from asbuilt.drawings.text_metrics import text_width
from asbuilt.io.graphviz import render_dots
from asbuilt.model.paths import cabling_graph
from tests.chromium import browser, complaints, needs_browser, overflow
from tests.drawn import MILL, TITLE, page_of, site_from

pytestmark = [pytest.mark.browser, needs_browser]

SITE = site_from(MILL)

DRAWINGS = [
    *(
        draw_elevation(SITE, key, face, TITLE, link=page_of)
        for key in SITE.enclosures
        for face in ("front", "rear")
    ),
    draw_item_face(SITE, "MDF/A", link=page_of),
    draw_item_face(SITE, "MDF/SW1", link=page_of),
    draw_side_view(SITE, "MDF", TITLE) or "",
    *render_dots([site_dot(SITE, cabling_graph(SITE), link=page_of)]),
]


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """All drawings on one page, and one of them in a file of its own."""
    folder = tmp_path_factory.mktemp("drawings")
    (folder / "alone.svg").write_text(DRAWINGS[0], encoding="utf-8")
    head = '<!doctype html><html lang="en"><meta charset="utf-8"><title>Drawings</title>'
    path = folder / "page.html"
    path.write_text(head + "".join(DRAWINGS), encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def driver(page: Path) -> Iterator[Chrome]:
    with browser() as opened:
        opened.get(page.as_uri())
        yield opened


def test_our_own_texts_are_no_wider_than_estimated(driver: Chrome) -> None:
    """Measured in the browser in Liberation Sans, whose metrics are Arial's."""
    if not driver.execute_script("return document.fonts.check('16px \"Liberation Sans\"')"):
        pytest.skip("Liberation Sans isn't installed")
    measured: list[tuple[str, float, bool, float]] = driver.execute_script(
        """return [...document.querySelectorAll('svg.drawing:not(.diagram) text')].map(t =>
           [t.textContent, parseFloat(t.getAttribute('font-size')),
            t.classList.contains('bold'), t.getComputedTextLength()])"""
    )
    assert len(measured) > 500
    for text, size, bold, wide in measured:
        estimate = text_width(text, size, bold)
        assert wide <= estimate * 1.005, text
        assert wide >= estimate * 0.8, f"{text}: far too generous"


def test_no_text_runs_over_the_drawing(driver: Chrome) -> None:
    outside: list[str] = driver.execute_script(
        """return [...document.querySelectorAll('svg.drawing text')].filter(t => {
             const a = t.getBoundingClientRect(), b = t.ownerSVGElement.getBoundingClientRect();
             return a.left < b.left || a.right > b.right || a.top < b.top || a.bottom > b.bottom;
           }).map(t => t.textContent)"""
    )
    assert outside == []


def test_words_in_a_diagram_stay_in_their_boxes(driver: Chrome) -> None:
    """Graphviz laid them out for Arial."""
    wide: list[str] = driver.execute_script(
        """return [...document.querySelectorAll('svg.diagram g.node')].flatMap(node => {
             const box = node.querySelector('polygon, path').getBoundingClientRect();
             return [...node.querySelectorAll('text')].filter(
               t => t.getBoundingClientRect().right > box.right + 0.5).map(t => t.textContent);
           })"""
    )
    assert wide == []


INK = "return getComputedStyle(document.querySelector('svg.drawing .on-ink')).fill"
PAPER = "return getComputedStyle(document.querySelector('svg.drawing .ground')).fill"


def test_colours_are_the_page_s(driver: Chrome) -> None:
    assert driver.execute_script(INK) == "rgb(34, 38, 43)"
    assert driver.execute_script(PAPER) == "rgb(251, 250, 245)"
    driver.execute_script(
        """const s = document.documentElement.style;
           s.setProperty('--ink', 'rgb(230, 230, 230)'); s.setProperty('--paper', 'rgb(1, 2, 3)')"""
    )
    assert driver.execute_script(INK) == "rgb(230, 230, 230)"
    assert driver.execute_script(PAPER) == "rgb(1, 2, 3)"
    driver.execute_script("document.documentElement.removeAttribute('style')")


def test_a_drawing_fits_a_phone_and_can_be_read(page: Path) -> None:
    """390 px wide: no sideways scrolling, and no label of an elevation under 8 px."""
    with browser((390, 844)) as phone:
        phone.get(page.as_uri())
        assert overflow(phone) == 0
        small: list[float] = phone.execute_script(
            """const svg = document.querySelector('svg.drawing');
               const scale = svg.getBoundingClientRect().width / svg.viewBox.baseVal.width;
               return [...svg.querySelectorAll('.item .label text, .units text, .free-units text')]
                 .map(t => t.getAttribute('font-size') * scale)"""
        )
        assert min(small) >= 8
        assert complaints(phone) == []


def test_a_drawing_stands_alone_in_its_own_file(page: Path, driver: Chrome) -> None:
    driver.get((page.parent / "alone.svg").as_uri())
    assert driver.execute_script("return document.documentElement.localName") == "svg"
    assert driver.execute_script(INK) == "rgb(34, 38, 43)"
    assert complaints(driver) == []
