"""The ports of one thing at large, and the side of an enclosure."""

from __future__ import annotations

from collections import Counter
from xml.etree import ElementTree

import pytest

from asbuilt.drawings.item_face import draw_item_face
from asbuilt.drawings.port_symbols import state_class
from asbuilt.drawings.side_view import draw_side_view
from asbuilt.records.enclosures import PortedItem
from tests.drawn import (
    MILL,
    SVG,
    TITLE,
    page_of,
    parsed,
    rect_of,
    site_from,
    texts,
    title_of,
    unwelcome,
    with_class,
)

SITE = site_from(MILL)
PORTED = [
    key for key, item in SITE.items.items() if isinstance(item, PortedItem) and item.port_ids()
]


@pytest.mark.parametrize("key", PORTED)
def test_each_port_has_one_cell_in_its_state(key: str) -> None:
    svg = draw_item_face(SITE, key, link=page_of)
    assert unwelcome(svg) == []
    cells = list(with_class(parsed(svg), "port"))
    uses = SITE.ports_of(SITE.items[key])
    assert len(cells) == len(uses)
    drawn = Counter(cell.get("class", "").split()[1] for cell in cells)
    assert drawn == Counter(state_class(use.state) for use in uses)
    boxes = [rect_of(cell) for cell in cells]
    for i, box in enumerate(boxes):
        assert not any(box.overlaps(other) for other in boxes[i + 1 :])


def cell_of(root: ElementTree.Element, printed: str) -> list[str]:
    found = [texts(cell) for cell in with_class(root, "port") if printed in texts(cell)[:1]]
    assert len(found) == 1
    return found[0]


def test_a_cell_says_number_label_and_room() -> None:
    panel = parsed(draw_item_face(SITE, "MDF/A"))
    assert cell_of(panel, "01") == ["01", "…F-A01", "G10"], "cut at its start: the end tells more"
    assert cell_of(panel, "11") == ["11"]
    switch = parsed(draw_item_face(SITE, "MDF/SW1"))
    assert cell_of(switch, "01") == ["01", "A/01", "G10"]
    fibre = parsed(draw_item_face(SITE, "MDF/F"))
    assert cell_of(fibre, "07") == ["07", "B2", "…E/F/01"]
    router = parsed(draw_item_face(SITE, "MDF/R1"))
    assert cell_of(router, "LAN")[0] == "LAN", "what is printed there, not the number"


def test_a_dozen_columns_at_most() -> None:
    boxes = [rect_of(c) for c in with_class(parsed(draw_item_face(SITE, "MDF/B")), "port")]
    assert len({box.x for box in boxes}) == 12
    assert len({box.y for box in boxes}) == 4


def test_a_port_at_large_leads_to_its_outlet() -> None:
    links = {
        title_of(a).partition(" ")[0]: a.get("href")
        for a in parsed(draw_item_face(SITE, "MDF/A", link=page_of)).iter(f"{SVG}a")
    }
    assert links["A/01"] == "../outlet/MDF-A01.html"
    assert links["A/11:"] == "../port/MDF/A/11.html"


def test_the_side_is_to_scale() -> None:
    svg = draw_side_view(SITE, "MDF", TITLE, link=page_of)
    assert svg is not None
    assert unwelcome(svg) == []
    boxes = {title_of(g): rect_of(g) for g in with_class(parsed(svg), "item")}
    switch = boxes["U 38: SW1, 48-port switch, 4 uplinks, 740 W PoE"]
    assert (switch.x, switch.width) == (0, 380)
    assert switch.bottom == pytest.approx(-37 * 44.45 - 0.395, abs=0.011)
    strip = boxes["U 42: PDU1, power strip, 12 sockets, 9 in use"]
    assert (strip.right, strip.width) == (900, 50)


def test_an_unknown_depth_is_dashed_and_said() -> None:
    root = parsed(draw_side_view(SITE, "MDF", TITLE) or "")
    group = next(g for g in with_class(root, "item") if title_of(g).startswith("U 39"))
    assert "M1, depth not known" in texts(group)
    assert "dash" in next(group.iter(f"{SVG}rect")).get("class", "").split()


def test_too_deep_shows() -> None:
    files = {
        "site.yml": "name: X\n",
        "enclosures/1A.yml": "height: 4 U\ndepth: 450 mm\nfront:\n  1: {ups: U, depth: 5 m}\n",
    }
    root = parsed(draw_side_view(site_from(files), "1A", TITLE) or "")
    outline = next(next(with_class(root, "item")).iter(f"{SVG}rect"))
    assert "by-accent" in outline.get("class", "").split()
    assert 450 < rect_of(outline).right < 500, "and stays on the sheet"


def test_no_depth_no_side() -> None:
    assert draw_side_view(SITE, "DYE", TITLE) is None
