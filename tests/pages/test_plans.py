"""Floor plans: what of a picture may be shown, where outlets stand on it, what is said of them."""

from __future__ import annotations

import re
import struct
import zlib
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest

from asbuilt.drawings.floor_plan import (
    SYMBOLS,
    PlanSymbol,
    define_symbols,
    draw_plan_layer,
    draw_scale_bar,
)
from asbuilt.drawings.picture import MAX_BYTES, Picture, UnusablePictureError, picture_of
from asbuilt.drawings.svg_elements import Box
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Asset, Page
from asbuilt.pages.tree import site_tree
from asbuilt.publish.load import load_site
from asbuilt.records.edition import Edition
from asbuilt.records.links import SERVES
from tests.books import PRACTICE, book_of, no_drawing, pages_of
from tests.small_site import write_site

SVG = "http://www.w3.org/2000/svg"
PLAN = f'<svg xmlns="{SVG}" viewBox="0 0 400 200"><rect width="400" height="200"/></svg>'.encode()

#: The practice, its ground floor 20 m wide on a plan of 2 : 1.
DRAWN = {
    **PRACTICE,
    "site.yml": PRACTICE["site.yml"].replace(
        "{name: ground floor, level: 0}",
        "{name: ground floor, level: 0, plan: plans/ground.svg, plan width: 20 m}",
    ),
    "outlets.yml": PRACTICE["outlets.yml"]
    .replace("plate: west wall, port: 1A/A/01", 'position: "5 m, 2.5 m", port: 1A/A/01')
    .replace("plate: west wall, port: 1A/A/02", 'position: "5 m, 2.5 m", port: 1A/A/02')
    .replace("plate: ceiling, port: 1A/A/03", 'position: "21 m, 2.5 m", port: 1A/A/03'),
}


def drawn_book(edition: Edition = Edition.INTERNAL) -> PageContext:
    book = book_of(DRAWN, edition)
    plans = {"1": picture_of(PLAN)} if book.site.floors["1"].plan else {}
    return PageContext(
        book.site,
        book.net,
        edition,
        book.revision,
        book.history,
        book.problems,
        plan_pictures=plans,
    )


# Pictures


def png(width: int, height: int) -> bytes:
    """A PNG by its specification (ISO/IEC 15948): signature, IHDR, IDAT, IEND."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
        )

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0))
    rows = zlib.compress((b"\0" + b"\xff" * width) * min(height, 100))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def jpeg(width: int, height: int) -> bytes:
    """The head of a JPEG (ITU-T T.81): a comment that looks like a frame, then the frame."""
    comment = b"\xff\xfe" + struct.pack(">H", 8) + b"\xff\xc0\x00\x11\x08\x00"
    frame = b"\xff\xc2" + struct.pack(">HBHHB", 11, 8, height, width, 1) + b"\x01\x11\x00"
    return b"\xff\xd8" + comment + frame + b"\xff\xd9"


def test_a_picture_is_known_by_its_bytes_and_says_its_size() -> None:
    assert picture_of(png(30, 20)) == Picture("png", png(30, 20), 30, 20)
    assert picture_of(jpeg(640, 480)) == Picture("jpg", jpeg(640, 480), 640, 480)
    drawn = picture_of(PLAN)
    assert (drawn.suffix, drawn.width, drawn.height) == ("svg", 400, 200)


@pytest.mark.parametrize(
    ("data", "why"),
    [
        (b"GIF89a", "no SVG, PNG, JPEG or PDF"),
        (b"<html><svg></svg></html>", "no SVG"),
        (b"<svg/>", "no SVG"),
        (png(30, 20)[:20], "PNG is broken"),
        (png(50_000, 2), "pixels can't be shown"),
        (jpeg(3, 2)[:12], "JPEG is broken"),
        (PLAN[:-4], "broken in line 1"),
        (PLAN.replace(b"viewBox", b"box"), "doesn't say how large"),
        (PLAN.replace(b"400 200", b"nan 200"), "doesn't say how large"),
        (b'<?xml version="1.0" encoding="nowhere"?>' + PLAN, "isn't UTF-8"),
        (b'<!DOCTYPE svg [<!ENTITY a "aa">]>' + PLAN, "entities of its own"),
        (b" " * MAX_BYTES + PLAN, "larger than"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'>" + b"<g>" * 300, "too deep"),
    ],
)
def test_what_cannot_be_shown_says_why(data: bytes, why: str) -> None:
    with pytest.raises(UnusablePictureError, match=why):
        picture_of(data)


HOSTILE = [
    "<script>alert(1)</script>",
    '<rect onload="alert(1)"/>',
    '<a href="javascript:alert(1)"><rect/></a>',
    "<foreignObject><body xmlns='http://www.w3.org/1999/xhtml' onload='alert(1)'/></foreignObject>",
    '<image href="http://example.org/x.png"/>',
    '<image xlink:href="//example.org/x.png" xmlns:xlink="http://www.w3.org/1999/xlink"/>',
    '<image href="data:image/svg+xml;base64,PHN2Zy8+"/>',
    '<use href="http://example.org/x.svg#a"/>',
    "<style>@import 'http://example.org/x.css';</style>",
    "<style>rect{fill:url(http://example.org/x)}</style>",
    "<style>rect{fill:u\\72l(http://example.org/x)}</style>",
    "<style>rect{background:image-set('http://example.org/x' 1x)}</style>",
    '<rect style="fill:url(//example.org/x)"/>',
    '<rect fill="URL( http://example.org/x )"/>',
    '<set attributeName="href" to="javascript:alert(1)"/>',
    '<animate attributeName="onload" values="alert(1)"/>',
    '<x:script xmlns:x="http://www.w3.org/2000/svg">alert(1)</x:script>',
    '<?xml-stylesheet href="http://example.org/x.css"?>',
    '<rect xml:base="http://example.org/"/>',
    "<text>]]&gt;&lt;script>alert(1)&lt;/script></text>",
]


@pytest.mark.parametrize("inside", HOSTILE)
def test_an_svg_loses_what_does_more_than_draw(inside: str) -> None:
    data = f'<svg xmlns="{SVG}" viewBox="0 0 4 2" onload="alert(1)">{inside}<path d="M0 0"/></svg>'
    written = picture_of(data.encode()).data.decode()
    tree = ElementTree.fromstring(written)
    assert tree.find(f"{{{SVG}}}path") is not None, "what draws stays"
    for element in tree.iter():
        assert element.tag.startswith(f"{{{SVG}}}")
        assert element.tag.rpartition("}")[2] not in (
            "script",
            "a",
            "set",
            "animate",
            "foreignObject",
        )
        assert not any(name.rpartition("}")[2].startswith("on") for name in element.attrib)
        assert not any("example.org" in value for value in element.attrib.values())
    assert "example.org" not in written
    assert "<script" not in written


def unfolding(levels: int) -> bytes:
    """Ten of each level in the next: a number of elements with `levels` zeros."""
    parts = ['<g id="l0"><path d="M0 0"/></g>']
    parts += [
        f'<g id="l{level}">' + f'<use href="#l{level - 1}"/>' * 10 + "</g>"
        for level in range(1, levels + 1)
    ]
    return f'<svg xmlns="{SVG}" viewBox="0 0 4 2">{"".join(parts)}</svg>'.encode()


def test_an_svg_may_repeat_itself_but_not_without_end() -> None:
    assert picture_of(unfolding(3)).suffix == "svg"
    loop = f'<svg xmlns="{SVG}" viewBox="0 0 4 2"><g id="a"><use href="#a"/></g></svg>'.encode()
    for data in (unfolding(9), loop):
        with pytest.raises(UnusablePictureError, match="more than a browser can draw"):
            picture_of(data)


def test_an_svg_keeps_its_looks() -> None:
    inside = (
        '<defs><linearGradient id="g"><stop stop-color="#fff"/></linearGradient></defs>'
        "<style>.wall{stroke:#000;fill:url(#g)}</style>"
        '<rect class="wall" style="fill:url(#g)" width="3" height="2"/><use href="#g"/>'
        '<image href="data:image/png;base64,iVBORw0KGgo="/><text x="1">R &amp; D</text>'
    )
    data = f'<svg xmlns="{SVG}" viewBox="0 0 4 2">{inside}</svg>'.encode()
    kept = picture_of(data).data.decode()
    for part in ("url(#g)", 'class="wall"', 'href="#g"', "base64,iVBORw0KGgo=", "R &amp; D"):
        assert part in kept
    assert picture_of(kept.encode()).data.decode() == kept, "once is enough"


# Where outlets stand


def mark(key: str, x: float, y: float, serves: str = "desk") -> PlanSymbol:
    return PlanSymbol(key, serves, "patched", f"{key}: {serves}", f"../outlets/{key}.html", x, y)


def places(drawn: str) -> dict[str, Box]:
    """Each outlet's sign as it is drawn."""
    found = {}
    pattern = r'data-outlet="([^"]+)".*?<use href="#sign-[\w-]+" x="([-\d.]+)" y="([-\d.]+)"'
    for key, x, y in re.findall(pattern, drawn):
        found[key] = Box(float(x), float(y), 20, 20)
    return found


def test_positions_are_metres_from_the_lower_left_corner() -> None:
    """20 m wide, 10 m deep: 5 m, 2.5 m is a quarter across and a quarter up."""
    drawn = draw_plan_layer("plan", [mark("A1", 5, 2.5)], 20, 10, "Plan")
    assert 'viewBox="0 0 1000 500"' in drawn
    box = places(drawn)["A1"]
    assert (box.x + 10, box.y + 10) == (250, 375)
    ElementTree.fromstring(drawn)


def on_a_grid(cells: tuple[str, str]) -> PageContext:
    """The practice on a plan of 400 by 200 with 8 columns and 4 rows, and no width recorded."""
    texts = DRAWN | {
        "site.yml": DRAWN["site.yml"].replace("plan width: 20 m", "grid columns: 8, grid rows: 4"),
        "outlets.yml": DRAWN["outlets.yml"]
        .replace('"5 m, 2.5 m", port: 1A/A/01', f"{cells[0]}, port: 1A/A/01")
        .replace('"5 m, 2.5 m", port: 1A/A/02', f"{cells[1]}, port: 1A/A/02"),
    }
    book = book_of(texts)
    plans = {"1": picture_of(PLAN)}
    return PageContext(
        book.site,
        book.net,
        book.edition,
        book.revision,
        book.history,
        book.problems,
        plan_pictures=plans,
    )


def test_a_cell_is_its_middle_counted_from_the_upper_left() -> None:
    """8 by 4 cells of 125 by 125: C4 is 2.5 cells across, 3.5 down. No scale without a width."""
    html = pages_of(on_a_grid(("C4", "A1")))["plans/1.html"].html
    layer = html[html.index('<svg class="plan-layer"') : html.index('<dl class="titleblock"')]
    found = {key: (box.x + 10, box.y + 10) for key, box in places(layer).items()}
    assert found == {"1A-A01": (312.5, 437.5), "1A-A02": (62.5, 62.5)}
    assert layer.count("grid-line") == 7 + 3
    assert "plan-scale" not in html and "1A-A03" in html[html.index("Not on the plan") :][:300]


def test_outlets_in_one_cell_stand_side_by_side() -> None:
    html = pages_of(on_a_grid(("H1", "H1")))["plans/1.html"].html
    boxes = places(html[html.index('<svg class="plan-layer"') : html.index('id="rooms"')])
    assert (boxes["1A-A01"].y, boxes["1A-A02"].y) == (52.5, 52.5)
    assert boxes["1A-A02"].x - boxes["1A-A01"].x == 20


def test_signs_do_not_hide_each_other_and_stay_on_the_plan() -> None:
    marks = [mark(f"A{n}", 5 + n % 5 / 10, 0.1) for n in range(24)]
    boxes = list(places(draw_plan_layer("plan", marks, 20, 10, "Plan")).values())
    assert len(boxes) == 24
    for number, box in enumerate(boxes):
        assert not any(box.overlaps(other) for other in boxes[number + 1 :])
        assert box.x >= 0 and box.y >= 0 and box.right <= 1000 and box.bottom <= 500


def test_the_scale_bar_is_a_round_length() -> None:
    """28 m: a sixth is 4.67 m, so 2 m, 71.43 of a thousand; in feet (0.3048 m) 10 ft, 108.86."""
    metric, customary = draw_scale_bar(28, "metric"), draw_scale_bar(28, "customary")
    assert "2 m" in metric and 'width="35.71"' in metric
    assert "10 ft" in customary and 'width="54.43"' in customary


def test_every_use_of_an_outlet_has_a_sign_of_its_own() -> None:
    assert set(SERVES) <= set(SYMBOLS)
    letters = [letter for _, letter in SYMBOLS.values()]
    assert len(set(letters)) == len(letters)
    assert define_symbols(SYMBOLS).count("<symbol") == len(SYMBOLS) + 1


# Pages


def test_an_outlet_stands_on_its_floor_s_plan_and_leads_to_its_page() -> None:
    tree = site_tree(drawn_book(), no_drawing)
    files = {part.path: part.data for part in tree if isinstance(part, Asset)}
    html = next(
        part.html for part in tree if isinstance(part, Page) and part.path == "plans/1.html"
    )
    assert ElementTree.fromstring(files["plans/1.svg"]).get("viewBox") == "0 0 400 200"
    assert '<img src="../plans/1.svg" width="400" height="200"' in html
    layer = html[html.index('<svg class="plan-layer"') : html.index("plan-scale")]
    assert re.findall(r'href="(\.\./outlets/[^"]+)"', layer) == [
        "../outlets/1A-A01.html",
        "../outlets/1A-A02.html",
    ]
    assert "1A-A01: desk of Nils Ferro, 101 reception; switch port 1A/SW1/01" in layer
    off = html[html.index("Not on the plan") :]
    assert "1A-A03" in off[:300], "21 m is off a plan of 20 m"


def test_a_site_s_own_svg_is_never_written_into_a_page() -> None:
    for page in pages_of(drawn_book()).values():
        assert 'viewBox="0 0 400 200"' not in page.html


def test_without_a_plan_rooms_are_laid_out() -> None:
    html = pages_of(book_of())["plans/1.html"].html
    assert "<img" not in html
    for room in ("room-101", "room-104", "room-110"):
        assert f'id="{room}"' in html
    assert html.count('<li class="in-room') == 4


def test_what_goes_dark_is_for_engineers_and_so_is_the_plan() -> None:
    internal = pages_of(drawn_book())["plans/1.html"].html
    assert "Without 1A/SW1: 3 outlets" in internal
    assert internal.count("data-dark=") >= 3
    client = site_tree(drawn_book(Edition.CLIENT), no_drawing)
    assert not any(part.path.startswith("plans/") for part in client if isinstance(part, Asset))
    html = next(p.html for p in client if isinstance(p, Page) and p.path == "plans/1.html")
    assert "Without" not in html and "data-dark" not in html and "<img" not in html
    assert "1A-A03" not in html, "a camera's outlet"


# From the disk


def test_a_plan_is_read_from_the_site_s_folder(tmp_path: Path) -> None:
    write_site(tmp_path, site=DRAWN["site.yml"])
    assert codes(tmp_path) == {"plan-missing"}
    plan = tmp_path / "sites/harbour/plans/ground.svg"
    plan.parent.mkdir()
    plan.write_bytes(b"not a plan")
    assert codes(tmp_path) == {"plan-unfit"}
    plan.write_bytes(PLAN)
    assert codes(tmp_path) == set()
    assert set(load_site(tmp_path, "harbour").plans) == {"1"}


def codes(top: Path) -> set[str]:
    reading = load_site(top, "harbour")
    assert reading.sound
    return {problem.code for problem in reading.problems if problem.code.startswith("plan-")}


def test_floors_come_in_order() -> None:
    texts = {
        "site.yml": (
            "name: Tower\nbuildings:\n  N: {name: North}\nfloors:\n"
            "  b: {name: attic, building: N, level: 9}\n  a: {name: cellar, building: N, level: 0}\n"
            "  c: {name: shed}\n"
        )
    }
    html = pages_of(book_of(texts))["plans.html"].html
    at = [html.index(name) for name in ("cellar", "attic", "shed")]
    assert all(one < other for one, other in pairwise(at))
