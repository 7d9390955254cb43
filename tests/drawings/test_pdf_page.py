"""Floor plans that are PDFs: pages made by fpdf2 and pypdf, drawn, and held against what was put
on them."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pypdf
import pytest
from fpdf import FPDF
from PIL import Image
from pypdf.generic import RectangleObject

from asbuilt.drawings import pdf_page
from asbuilt.drawings.picture import MAX_BYTES, Picture, UnusablePictureError
from asbuilt.io import cache
from asbuilt.pages.page import Asset, Page
from asbuilt.pages.tree import site_tree
from asbuilt.publish.load import SiteLoader, load_site
from asbuilt.records.edition import Edition
from tests.books import book_of, no_drawing
from tests.pages.test_plans import DRAWN
from tests.small_site import write_site

AUTHOR = "Draughtsman of the landlord"


def plan(*squares: tuple[float, float], grey: bool = True) -> bytes:
    """A plan of 400 by 200 mm; on each page a dark square of 40 mm with its upper left corner
    there, in mm from the page's."""
    pdf = FPDF(unit="mm", format=(200, 400))
    pdf.set_author(AUTHOR)
    pdf.set_title(f"{AUTHOR}: ground floor")
    pdf.set_auto_page_break(False)
    for x, y in squares:
        pdf.add_page(orientation="L")
        pdf.set_fill_color(0, 0, 0 if grey else 255)
        pdf.rect(x, y, 40, 40, style="F")
    return bytes(pdf.output())


def changed(data: bytes, *, turned: int = 0, cut: tuple[float, ...] = (), key: str = "") -> bytes:
    """The same plan turned, cut to a box in points, locked with a password."""
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(data))
    for page in writer.pages:
        page.rotate(turned)
        if cut:
            page.cropbox = RectangleObject(cut)
    if key:
        writer.encrypt(key, algorithm="RC4-128")
    written = io.BytesIO()
    writer.write(written)
    return written.getvalue()


def dark(picture: Picture) -> tuple[float, float, float, float]:
    """What of the picture is dark, as shares of its width and height: left, top, right, bottom."""
    ink = np.asarray(Image.open(io.BytesIO(picture.data)).convert("L")) < 128
    rows, columns = np.flatnonzero(ink.any(axis=1)), np.flatnonzero(ink.any(axis=0))
    assert ink[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1].all(), "one square"
    high, wide = ink.shape
    edges = columns[0] / wide, rows[0] / high, (columns[-1] + 1) / wide, (rows[-1] + 1) / high
    return tuple(map(float, edges))  # type: ignore[return-value]


HERE = (40 / 400, 60 / 200, 80 / 400, 100 / 200)


def test_what_stands_on_the_page_stands_on_the_picture() -> None:
    drawn = pdf_page.render_pdf_page(plan((40, 60)), 1)
    assert (drawn.width, drawn.height) == (pdf_page.MAX_SIDE, pdf_page.MAX_SIDE / 2)
    assert dark(drawn) == pytest.approx(HERE, abs=0.001)
    assert drawn == pdf_page.render_pdf_page(plan((40, 60)), 1), "the same bytes"


def test_a_page_is_shown_as_it_is_turned_and_cut() -> None:
    """ISO 32000-1, table 30: Rotate is clockwise, CropBox is what is shown."""
    turned = pdf_page.render_pdf_page(changed(plan((40, 60)), turned=90), 1)
    assert turned.height == 2 * turned.width
    assert dark(turned) == pytest.approx((0.5, 0.1, 0.7, 0.2), abs=0.001)
    half = (0, 0, 200 / 25.4 * 72, 200 / 25.4 * 72)  # the left half of the sheet
    cut = pdf_page.render_pdf_page(changed(plan((40, 60)), cut=half), 1)
    assert dark(cut) == pytest.approx((0.2, 0.3, 0.4, 0.5), abs=0.001)


def test_another_page_may_be_the_plan() -> None:
    two = plan((40, 60), (200, 0))
    assert dark(pdf_page.render_pdf_page(two, 2)) == pytest.approx((0.5, 0, 0.6, 0.2), abs=0.001)


def test_colours_stay_and_nothing_but_pixels_is_kept() -> None:
    for grey, mode in ((True, "L"), (False, "RGB")):
        drawn = pdf_page.render_pdf_page(plan((40, 60), grey=grey), 1)
        opened = Image.open(io.BytesIO(drawn.data))
        assert (drawn.suffix, opened.mode, opened.info) == ("png", mode, {})
        assert AUTHOR.encode() not in drawn.data


def test_a_scan_is_packed_as_a_photo_is() -> None:
    noise = np.random.default_rng(7).integers(0, 256, (600, 900, 3), np.uint8)
    pdf = FPDF(unit="mm", format=(300, 200))
    pdf.add_page()
    pdf.image(Image.fromarray(noise), 0, 0, 300, 200)
    drawn = pdf_page.render_pdf_page(bytes(pdf.output()), 1)
    assert drawn.suffix == "jpg" and len(drawn.data) < MAX_BYTES


def of_size(wide: float, high: float) -> bytes:
    writer = pypdf.PdfWriter()
    writer.add_blank_page(wide, high)
    written = io.BytesIO()
    writer.write(written)
    return written.getvalue()


def without_pages() -> bytes:
    written = io.BytesIO()
    pypdf.PdfWriter().write(written)
    return written.getvalue()


UNFIT = [
    (changed(plan((0, 0)), key="secret"), 1, "asks for a password"),
    (plan((0, 0))[:200], 1, "the PDF is broken"),
    (b"%PDF-1.7\n<svg", 1, "the PDF is broken"),
    (without_pages(), 1, "has no page|is broken"),
    (plan((0, 0)), 2, "it has one page, and no page 2"),
    (plan(*[(0, 0)] * 300), 301, "it has 300 pages, and no page 301"),
    (of_size(14400, 1), 1, "can't be shown: it is 14400 × 1 points"),
    (plan((0, 0)) + b"%" * MAX_BYTES, 1, "larger than 16 MiB"),
]


@pytest.mark.parametrize(("data", "page", "why"), UNFIT, ids=[why for _, _, why in UNFIT])
def test_what_cannot_be_shown_says_why(data: bytes, page: int, why: str) -> None:
    for see in (pdf_page.check_pdf_page, pdf_page.render_pdf_page):
        with pytest.raises(UnusablePictureError, match=why):
            see(data, page)


def test_the_largest_sheet_there_is_takes_no_more_pixels() -> None:
    """ISO 32000-1, annex C.2: 14,400 units a side."""
    drawn = pdf_page.render_pdf_page(of_size(14400, 14400), 1)
    assert (drawn.width, drawn.height) == (pdf_page.MAX_SIDE, pdf_page.MAX_SIDE)


def test_a_page_of_too_much_is_not_drawn(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pdf_page, "MAX_OBJECTS", 0)
    with pytest.raises(UnusablePictureError, match="more than can be drawn"):
        pdf_page.check_pdf_page(plan((0, 0)), 1)


# In a site

SITE = DRAWN["site.yml"].replace("ground.svg", "ground.pdf")


def with_plan(top: Path, data: bytes, site: str = SITE) -> Path:
    write_site(top, site=site, outlets=DRAWN["outlets.yml"])
    file = top / "sites/harbour/plans/ground.pdf"
    file.parent.mkdir(exist_ok=True)
    file.write_bytes(data)
    return top


def test_a_check_looks_and_a_build_draws_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    top = with_plan(tmp_path, plan((40, 60), (200, 0)))
    looked = load_site(top, "harbour")
    assert not looked.plans and not [p for p in looked.problems if p.code.startswith("plan-")]
    first = load_site(top, "harbour", ready=True).plans["1"]
    assert dark(first) == pytest.approx(HERE, abs=0.001)
    monkeypatch.setattr(pdf_page, "render_pdf_page", lambda *_: pytest.fail("drawn again"))
    assert load_site(top, "harbour", ready=True).plans["1"] == first
    (kept,) = (top / cache.FOLDER).glob("plan-*")
    monkeypatch.undo()
    kept.write_bytes(kept.read_bytes()[:-9])
    assert load_site(top, "harbour", ready=True).plans["1"] == first, "what is cut off isn't used"
    other = SiteLoader(ready=True)
    with_plan(top, plan((200, 0)))
    assert dark(other.read(top, "harbour").plans["1"]) == pytest.approx(
        (0.5, 0, 0.6, 0.2), abs=1e-3
    )
    assert len(list((top / cache.FOLDER).glob("plan-*"))) == 1, "what nobody needs isn't kept"


def test_two_floors_may_be_pages_of_one_file(tmp_path: Path) -> None:
    floor = '  "1": {name: ground floor, level: 0, plan: plans/ground.pdf, plan width: 20 m}\n'
    assert floor in SITE
    second = floor.replace('"1"', '"2"').replace("plan width", "plan page: 2, plan width")
    top = with_plan(tmp_path, plan((40, 60), (200, 0)), SITE.replace(floor, floor + second))
    plans = load_site(top, "harbour", ready=True).plans
    assert dark(plans["1"]) == pytest.approx(HERE, abs=0.001)
    assert dark(plans["2"]) == pytest.approx((0.5, 0, 0.6, 0.2), abs=0.001)


@pytest.mark.parametrize("ready", [False, True])
def test_one_message_where_the_plan_stands(tmp_path: Path, ready: bool) -> None:
    site = SITE.replace("plan width", "plan page: 3, plan width")
    top = with_plan(tmp_path, plan((0, 0)), site)
    reading = load_site(top, "harbour", ready=ready)
    (problem,) = [p for p in reading.problems if p.code.startswith("plan-")]
    assert "sites/harbour/site.yml" in str(problem) and "no page 3" in problem.message
    (top / "sites/harbour/plans/ground.pdf").write_bytes(b"\x89PNG")
    (problem,) = [
        p for p in load_site(top, "harbour", ready=ready).problems if p.code == "plan-unfit"
    ]
    assert "it is no PDF, and has no page 3" in problem.message


@pytest.mark.parametrize("edition", Edition)
def test_outlets_stand_on_it_as_on_any_plan(edition: Edition) -> None:
    """20 m across 400 mm: an outlet 5 m in is a quarter across; the client sees no plan."""
    book = book_of({**DRAWN, "site.yml": SITE}, edition)
    if book.site.floors["1"].plan:
        object.__setattr__(
            book, "plan_pictures", {"1": pdf_page.render_pdf_page(plan((40, 60)), 1)}
        )
    tree = site_tree(book, no_drawing)
    html = next(p.html for p in tree if isinstance(p, Page) and p.path == "plans/1.html")
    drawn = [part for part in tree if isinstance(part, Asset) and part.path == "plans/1.png"]
    if edition is Edition.CLIENT:
        assert not drawn and "<img" not in html
        return
    assert '<img src="../plans/1.png" width="4000" height="2000"' in html
    assert 'viewBox="0 0 1000 500"' in html and 'data-outlet="1A-A01"' in html
    assert AUTHOR.encode() not in drawn[0].data
