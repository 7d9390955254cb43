"""Elevations held against EIA/ECA-310-E (figures as in trade/rack.py's tests) and against the
model: every port drawn once and in its state, nothing over anything else, no text out of its box.
"""

from __future__ import annotations

import re
from collections import Counter
from itertools import combinations, pairwise
from xml.etree import ElementTree

import pytest

from asbuilt.drawings.elevation import draw_elevation
from asbuilt.drawings.port_symbols import state_class
from asbuilt.drawings.text_metrics import text_width
from asbuilt.model.site import PortState, Site
from asbuilt.records.enclosures import Item
from tests.conftest import Golden
from tests.drawn import (
    MILL,
    SVG,
    TITLE,
    Rect,
    page_of,
    parsed,
    rect_of,
    site_from,
    texts,
    title_of,
    unwelcome,
    with_class,
)
from tests.random_sites import random_site

MILL_SITE = site_from(MILL)
FACES = [(key, face) for key in MILL_SITE.enclosures for face in ("front", "rear")]


def elevation(site: Site, key: str, face: str = "front") -> ElementTree.Element:
    return parsed(draw_elevation(site, key, face, TITLE))


def item_boxes(root: ElementTree.Element) -> dict[str, Rect]:
    """What is mounted on this face: label → its outline."""
    found = {}
    for group in with_class(root, "item"):
        label = title_of(group).partition(": ")[2].partition(", ")[0]
        found[label] = rect_of(group)
    return found


def enclosure_of(text: str, height: int = 12, **more: str) -> Site:
    facts = "".join(f"{name.replace('_', ' ')}: {value}\n" for name, value in more.items())
    files = {"site.yml": "name: X\n", "enclosures/1A.yml": f"height: {height} U\n{facts}{text}"}
    return site_from(files)


# ---- geometry: EIA/ECA-310-E


def test_a_unit_is_44_45_mm_and_counts_from_the_bottom() -> None:
    """1U = 44.45 mm; U1 is the lowest (EIA/ECA-310-E)."""
    root = elevation(MILL_SITE, "MDF")
    left = [
        t for t in next(with_class(root, "units")).iter(f"{SVG}text") if float(t.get("x", "")) < 0
    ]
    heights = {int(t.text or ""): float(t.get("y", "")) for t in left}
    assert sorted(heights) == list(range(1, 43))
    for lower, upper in pairwise(range(1, 43)):
        assert heights[lower] - heights[upper] == pytest.approx(44.45, abs=0.011)
    assert heights[1] > heights[42], "y runs down the sheet"


def test_both_sides_carry_the_same_numbers() -> None:
    root = elevation(MILL_SITE, "1A")
    numbers: dict[bool, list[tuple[str, str | None]]] = {True: [], False: []}
    for text in next(with_class(root, "units")).iter(f"{SVG}text"):
        numbers[float(text.get("x", "")) < 0].append((text.text or "", text.get("y")))
    assert numbers[True] == numbers[False]


@pytest.mark.parametrize(
    ("units", "millimetres"), [(12, 533.40), (42, 1866.90), (45, 2000.25), (48, 2133.60)]
)
def test_a_rack_is_as_high_as_its_units(units: int, millimetres: float) -> None:
    """Worked examples: n × 44.45 mm (EIA/ECA-310-E)."""
    root = elevation(enclosure_of("", units), "1A")
    rails = [rect_of(e) for e in with_class(root, "holes")]
    assert [rail.height for rail in rails] == [pytest.approx(millimetres, abs=0.01)]
    assert rails[0].bottom == 0


@pytest.mark.parametrize(
    ("at", "low", "units"), [("1", 1, 1), ("10-13", 10, 4), ("41-42", 41, 2), ("42", 42, 1)]
)
def test_an_item_fills_its_units_less_a_thirty_second_of_an_inch(
    at: str, low: int, units: int
) -> None:
    """Panel width 482.6 mm; panel height n × 44.45 − 0.79 mm (1/32 in). An item is placed by its
    lowest unit: 4U at U10 takes U10 to U13."""
    root = elevation(enclosure_of(f"front:\n  {at}: {{ups: U}}\n", 42), "1A")
    box = item_boxes(root)["U"]
    assert box.width == pytest.approx(482.6)
    assert box.x + box.width / 2 == pytest.approx(0)
    assert box.height == pytest.approx(units * 44.45 - 0.79, abs=0.011)
    assert -box.bottom == pytest.approx((low - 1) * 44.45 + 0.395, abs=0.011)


def test_holes_repeat_15_875_15_875_12_70() -> None:
    """The universal hole pattern, and 465.1 mm from column to column (EIA/ECA-310-E)."""
    root = elevation(MILL_SITE, "MDF")
    pattern = next(p for p in root.iter(f"{SVG}pattern") if p.get("id", "").endswith("-holes"))
    assert float(pattern.get("height", "")) == pytest.approx(44.45)
    assert float(pattern.get("width", "")) == pytest.approx(465.1)
    holes = [rect_of(e) for e in pattern.iter(f"{SVG}rect")]
    centres = sorted(44.45 - hole.y - hole.height / 2 for hole in holes)
    centres.append(centres[0] + 44.45)
    steps = [upper - lower for lower, upper in pairwise(centres)]
    assert steps == pytest.approx([15.875, 15.875, 12.70], abs=0.011)
    assert [hole.x + hole.width / 2 for hole in holes] == pytest.approx([465.1 / 2] * 3, abs=0.01)


def test_numbered_from_the_top_the_first_unit_is_the_highest() -> None:
    root = elevation(MILL_SITE, "1A")
    boxes = item_boxes(root)
    assert boxes["F"].y == pytest.approx(-12 * 44.45 + 0.395, abs=0.011)
    assert boxes["UPS1"].bottom == pytest.approx(-0.395, abs=0.011)
    numbers = next(with_class(root, "units")).findall(f"{SVG}text")
    lowest = max(numbers, key=lambda text: float(text.get("y", "")))
    assert lowest.text == "12"


def test_two_halves_share_a_unit_side_by_side_and_change_sides_from_behind() -> None:
    boxes = item_boxes(elevation(MILL_SITE, "MDF"))
    left, right = boxes["OT1"], boxes["D1"]
    assert left.width == right.width == pytest.approx(482.6 / 2)
    assert left.right == pytest.approx(right.x) == pytest.approx(0)
    assert left.y == right.y
    ghosts = {
        title_of(g): rect_of(g) for g in with_class(elevation(MILL_SITE, "MDF", "rear"), "ghost")
    }
    behind = {words.partition(": ")[2].partition(", ")[0]: box for words, box in ghosts.items()}
    assert behind["OT1"].x > behind["D1"].x


# ---- what is free


@pytest.mark.parametrize(("key", "face"), FACES)
def test_mounted_ghosts_and_free_units_cover_the_rack_once(key: str, face: str) -> None:
    root = elevation(MILL_SITE, key, face)
    halves = {"half free"}
    free = [g for g in with_class(root, "free-units") if title_of(g) not in halves]
    drawn = [rect_of(e) for e in (*with_class(root, "item"), *with_class(root, "ghost"), *free)]
    spans = {(round(-box.bottom / 44.45), round(-box.y / 44.45)) for box in drawn}
    units = Counter(unit for low, high in spans for unit in range(low, high))
    assert units == Counter(range(int(MILL_SITE.enclosures[key].height.value)))


def test_a_free_run_says_how_much_and_what_is_behind_it() -> None:
    front = [title_of(g) for g in with_class(elevation(MILL_SITE, "MDF"), "free-units")]
    assert front == [
        "free, 5 U",
        "free, 5 U",
        "free, 7 U",
        "free; behind it RSW, 160 mm deep",
        "free, 8 U",
    ]
    rear = [title_of(g) for g in with_class(elevation(MILL_SITE, "MDF", "rear"), "free-units")]
    assert rear == ["free, 5 U", "free, 5 U", "free, 7 U", "free, 8 U", "half free"]


def test_reserved_units_are_told_and_not_free() -> None:
    root = elevation(MILL_SITE, "MDF")
    assert [title_of(g) for g in with_class(root, "reserve")] == [
        "U 20–22: RS1, reserved for second dye house link"
    ]


def test_from_behind_the_front_shows_dashed_with_its_depth() -> None:
    ghosts = [title_of(g) for g in with_class(elevation(MILL_SITE, "MDF", "rear"), "ghost")]
    assert "U 38: SW1, in front, 380 mm deep, 520 mm left" in ghosts
    assert "U 39: M1, in front, depth not known" in ghosts
    outlines = [
        next(g.iter(f"{SVG}rect")) for g in with_class(elevation(MILL_SITE, "MDF", "rear"), "ghost")
    ]
    assert all("dash" in outline.get("class", "").split() for outline in outlines)


def test_items_that_take_no_unit_are_listed_beside() -> None:
    root = elevation(MILL_SITE, "MDF")
    assert [title_of(g) for g in with_class(root, "aside")] == [
        "GW4, modem, 4 ports; on top",
        "P1, power strip, 8 sockets; right rear upright",
    ]


# ---- ports


def drawn_states(root: ElementTree.Element) -> Counter[str]:
    return Counter(e.get("class", "").split()[1] for e in with_class(root, "port"))


def states_of(site: Site, items: list[Item]) -> Counter[str]:
    return Counter(state_class(use.state) for item in items for use in site.ports_of(item))


def drawn_items(site: Site, key: str, face: str) -> list[Item]:
    shown = (face, "none") if face == "front" else (face,)
    return [item for item in site.items_in[key] if item.face in shown]


@pytest.mark.parametrize(("key", "face"), FACES)
def test_every_port_is_drawn_once_and_in_its_state(key: str, face: str) -> None:
    root = elevation(MILL_SITE, key, face)
    items = drawn_items(MILL_SITE, key, face)
    assert drawn_states(root) == states_of(MILL_SITE, items)
    labels = [re.split(r" \(printed| → |: ", title_of(e))[0] for e in with_class(root, "port")]
    expected = [f"{i.name}/{port.printed}" for i in items for port in i.port_ids()]
    assert sorted(labels) == sorted(expected)


@pytest.mark.parametrize("seed", range(12))
def test_random_sites_ports_states_and_room(seed: int) -> None:
    site = random_site(seed)
    for key in site.enclosures:
        for face in ("front", "rear"):
            root = elevation(site, key, face)
            items = drawn_items(site, key, face)
            assert drawn_states(root) == states_of(site, items)
            assert_nothing_overlaps(root)


def test_each_state_has_a_shape_of_its_own() -> None:
    """Colour alone tells nothing: the shapes differ without their classes."""
    root = elevation(MILL_SITE, "MDF")
    shapes = {}
    for port in with_class(root, "port"):
        state = port.get("class", "").split()[1]
        parts = [
            (e.tag, "dots" in e.get("class", ""), "on-ink" in e.get("class", "")) for e in port
        ]
        shapes[state] = tuple(parts[1:])
    assert len(shapes) == len(PortState)
    assert len(set(shapes.values())) == len(PortState)


def test_the_legend_counts_as_the_model_does() -> None:
    root = elevation(MILL_SITE, "MDF")
    uses = [u for i in drawn_items(MILL_SITE, "MDF", "front") for u in MILL_SITE.ports_of(i)]
    counts = Counter(use.state for use in uses)
    legend = texts(next(with_class(root, "legend")))
    assert [t for t in legend if t != "?"] == [f"{state} {counts[state]}" for state in PortState]


def test_a_port_says_where_it_leads() -> None:
    titles = [title_of(e) for e in with_class(elevation(MILL_SITE, "MDF"), "port")]
    assert "A/01 → outlet MDF-A01, room G10 office; cord to SW1/01; in use" in titles
    assert "A/04 → outlet MDF-A04, room G10 office; cabled, not patched" in titles
    assert "A/07: dead" in titles
    assert "A/11: free" in titles
    assert "SW1/01 → cord to A/01, outlet MDF-A01, room G10 office; in use" in titles
    assert "F/07 → backbone B2 to DYE/F/01; cord to CORE/04; in use" in titles
    assert "R1/01 (printed “LAN”) → cord to CORE/02; in use" in titles
    assert "R1/WAN → Northmere Telecom, internet; in use" in titles


@pytest.mark.parametrize(
    ("item", "rows", "columns"),
    [
        ("panel: P, ports: 24", 1, 24),
        ("panel: P, ports: 48", 2, 24),
        ("panel: P, ports: 16", 1, 16),
        ("panel: P, ports: 32", 2, 16),
        ("panel: P, ports: 25", 2, 13),
        ("panel: P, ports: 96", 4, 24),
        ("panel: P, ports: 1", 1, 1),
        ("switch: P, ports: 8", 1, 8),
        ("switch: P, ports: 24", 2, 12),
        ("switch: P, ports: 48, uplinks: 4", 2, 26),
        ("switch: P, ports: 0, uplinks: 6", 1, 6),
        ("switch: P, ports: 96", 4, 24),
        ("router: P, ports: 4, named ports: [WAN, MGMT]", 1, 6),
        ("panel: P, ports: 288", 12, 24),
    ],
)
def test_ports_sit_in_rows_as_on_the_thing(item: str, rows: int, columns: int) -> None:
    """Common practice: panels in rows of 24, switches in pairs of rows, odd above even."""
    root = elevation(enclosure_of(f"front:\n  3: {{{item}}}\n"), "1A")
    boxes = [rect_of(e) for e in with_class(root, "port")]
    assert len({box.y for box in boxes}) == rows
    assert len({box.x for box in boxes}) == columns
    assert_nothing_overlaps(root)


def test_a_switch_counts_down_its_columns() -> None:
    root = elevation(enclosure_of("front:\n  3: {switch: S, ports: 24, uplinks: 2}\n"), "1A")
    boxes = {title_of(e).partition(":")[0]: rect_of(e) for e in with_class(root, "port")}
    assert boxes["S/01"].x == boxes["S/02"].x < boxes["S/03"].x
    assert boxes["S/01"].y < boxes["S/02"].y
    assert boxes["S/25"].x > boxes["S/24"].right + boxes["S/24"].width


# ---- nothing over anything else


def assert_nothing_overlaps(root: ElementTree.Element) -> None:
    outlines = [rect_of(g) for g in with_class(root, "item")]
    for one, other in combinations(outlines, 2):
        assert not one.overlaps(other)
    for group in with_class(root, "item"):
        outline = rect_of(group)
        ports = [rect_of(port) for port in with_class(group, "port")]
        assert all(outline.holds(port) for port in ports)
        for i, one in enumerate(ports):
            assert not any(one.overlaps(other) for other in ports[i + 1 :])
        for text in group.iter(f"{SVG}text"):
            assert outline.holds(extent(text), slack=1), text.text


def extent(text: ElementTree.Element) -> Rect:
    """Where a text stands by estimate; capitals are 0.72 of the size high (Arial; memory)."""
    size = float(text.get("font-size", ""))
    width = text_width(text.text or "", size, "bold" in text.get("class", "").split())
    x, y = float(text.get("x", "")), float(text.get("y", ""))
    left = {"middle": x - width / 2, "end": x - width}.get(text.get("text-anchor", ""), x)
    return Rect(left, y - 0.72 * size, width, 0.72 * size)


LONG = "Wörterbuchverlag-Zwischenverteiler 配線架 " * 4


@pytest.mark.parametrize("face", ["front", "rear"])
def test_no_text_leaves_its_box_however_long(face: str) -> None:
    site = enclosure_of(
        f"""\
label: "{LONG}"
depth: 600 mm
front:
  12: {{panel: A, label: "{LONG}", ports: 24, connector: "{LONG}"}}
  11: [{{router: L, label: "{LONG}", ports: 4, part: left}}, {{ups: R, label: "{LONG}", part: right}}]
  9-10: {{reserve: RS, for: "{LONG}"}}
rear:
  7: {{panel: B, label: "{LONG}", ports: 24}}
without U:
  - {{power strip: P, label: "{LONG}", where: "{LONG}"}}
""",
    )
    root = elevation(site, "1A", face)
    assert_nothing_overlaps(root)
    x, y, width, height = map(float, root.get("viewBox", "").split())
    paper = Rect(x, y, width, height)
    for text in root.iter(f"{SVG}text"):
        assert paper.holds(extent(text)), text.text
    for group in with_class(root, "ghost"):
        for text in group.iter(f"{SVG}text"):
            assert rect_of(group).holds(extent(text), slack=1), text.text
    whole = " ".join(LONG.split())
    shown = " ".join(" ".join(t.text or "" for t in root.iter(f"{SVG}title")).split())
    assert whole in shown, "what is cut is told in full"


# ---- what it may hold

HOSTILE = """<script>alert(1)</script> "q" 'p' & ]]> onload=x <!-- &amp; \\u202e"""


@pytest.mark.parametrize("face", ["front", "rear"])
def test_hostile_labels_are_only_text(face: str) -> None:
    label = HOSTILE.replace("'", "''")
    site = enclosure_of(
        f"""\
label: '{label}'
front:
  12: {{panel: A, label: '{label}', ports: 2, printed: {{1: '{label}'}}}}
rear:
  7: {{router: B, label: '{label}', ports: 1}}
without U:
  - {{shelf: P, label: '{label}', where: '{label}'}}
"""
    )
    svg = draw_elevation(site, "1A", face, TITLE, link=page_of)
    assert unwelcome(svg) == []
    titles = [title_of(e) for e in parsed(svg).iter()]
    assert any(HOSTILE in title for title in titles), "and it is all there"


@pytest.mark.parametrize(("key", "face"), FACES)
def test_nothing_comes_from_outside_and_ids_are_unique(key: str, face: str) -> None:
    drawings = [draw_elevation(MILL_SITE, k, f, TITLE, link=page_of) for k, f in FACES]
    assert all(unwelcome(svg) == [] for svg in drawings)
    ids = [e.get("id") for svg in drawings for e in parsed(svg).iter() if e.get("id")]
    assert len(ids) == len(set(ids)), "several drawings stand on one page"


def test_links_go_where_they_are_told_and_nowhere_without() -> None:
    svg = draw_elevation(MILL_SITE, "MDF", "front", TITLE, link=page_of)
    links = [e.get("href") for e in parsed(svg).iter(f"{SVG}a")]
    assert "../outlet/MDF-A01.html" in links, "a port with an outlet leads to it"
    assert "../port/MDF/A/11.html" in links
    assert "../item/MDF/SW1.html" in links
    assert "<a " not in draw_elevation(MILL_SITE, "MDF", "front", TITLE)


def test_it_has_a_title_and_tells_all_in_words() -> None:
    root = parsed(draw_elevation(MILL_SITE, "MDF", "front", TITLE))
    title, desc = root[0], root[1]
    assert (title.tag, desc.tag) == (f"{SVG}title", f"{SVG}desc")
    assert root.get("aria-labelledby") == title.get("id")
    assert root.get("aria-describedby") == desc.get("id")
    assert title.text == "Front of Main frame"
    words = desc.text or ""
    assert words.startswith("floor-standing cabinet, 42 U, numbered from the bottom. U 42: A,")
    for item in MILL_SITE.items_in["MDF"]:
        if item.face != "rear":
            assert f"{item.title}," in words
    assert "U 31–35: free, 5 U." in words


def test_what_changed_is_marked() -> None:
    plain = draw_elevation(MILL_SITE, "MDF", "front", TITLE)
    marked = draw_elevation(MILL_SITE, "MDF", "front", TITLE, highlight=["MDF/SW1", "MDF/A/03"])
    assert "changed" not in texts(parsed(plain))
    assert "changed" in texts(parsed(marked))
    thick = [
        title_of(g)
        for g in (*with_class(parsed(marked), "item"), *with_class(parsed(marked), "port"))
        if any("thick by-accent" in e.get("class", "") for e in g)
    ]
    assert [words.partition(",")[0].partition(" →")[0] for words in thick] == ["U 38: SW1", "A/03"]


def test_the_title_block_says_what_it_was_given() -> None:
    block = texts(next(with_class(elevation(MILL_SITE, "1A"), "title-block")))
    assert block == [
        *("site", TITLE.site, "sheet", TITLE.sheet),
        *("subject", TITLE.subject, "scale", TITLE.scale),
        *("revision", TITLE.revision, "date", TITLE.date, "drawn by", TITLE.drawn_by),
    ]


def test_the_same_records_make_the_same_bytes() -> None:
    again = site_from(MILL)
    for key, face in FACES:
        one = draw_elevation(MILL_SITE, key, face, TITLE, link=page_of)
        assert one == draw_elevation(again, key, face, TITLE, link=page_of)


def test_an_item_outside_the_rack_is_told_not_drawn() -> None:
    root = elevation(enclosure_of("front:\n  13: {ups: U}\n"), "1A")
    assert item_boxes(root) == {}
    assert [title_of(g) for g in with_class(root, "aside")] == [
        "U, UPS; U 13, which this enclosure doesn't have"
    ]


def test_inches_where_the_site_asks_for_them() -> None:
    """450 mm = 17.7 in (1 in = 25.4 mm exactly)."""
    files = {
        "site.yml": "name: X\nmeasures: customary\n",
        "enclosures/1A.yml": "height: 4 U\ndepth: 450 mm\nfront:\n  1: {ups: U, depth: 250 mm}\n",
    }
    rear = elevation(site_from(files), "1A", "rear")
    assert [title_of(g) for g in with_class(rear, "ghost")] == [
        "U 1: U, in front, 9.8 in deep, 7.9 in left"
    ]


def test_a_small_elevation_as_looked_at(golden: Golden) -> None:
    site = enclosure_of(
        """\
front:
  3: {panel: A, ports: 7, category: 6, dead: [2], abandoned: [3], reserved: [4], unknown: [5]}
  1: [{router: R1, ports: 1, part: left}]
""",
        3,
    )
    svg = draw_elevation(site, "1A", "front", TITLE, link=page_of)
    golden("drawings/elevation-small.svg", svg.replace("><", ">\n<"))
