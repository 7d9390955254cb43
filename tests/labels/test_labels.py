"""Labels: what stands on them, where on the sheet, and whether their codes open the page."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Mapping, Sequence
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
import zxingcpp
from click.testing import CliRunner
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fpdf import FPDF
from pypdf import PageObject, PdfReader

from asbuilt.cli import main
from asbuilt.labels.layout import (
    FilledArea,
    LabelOutline,
    PrintedText,
    PrintLayout,
    PrintPage,
    lay_out_labels,
)
from asbuilt.labels.pdf import pdf_of, unprintable
from asbuilt.labels.qr_codes import QUIET_ZONE, qr_code_of
from asbuilt.labels.sheet import DEFAULT_GRIDS, LabelSheet, parse_pair
from asbuilt.labels.strips import label_strips, lay_out_strips, outdated_strips
from asbuilt.labels.svg import svg_of
from asbuilt.labels.texts import PURPOSES, Label, labels_of, outdated_labels
from asbuilt.labels.wraps import MIN_BAND, printed_band, wrap_length
from asbuilt.pages import links
from tests.books import PRACTICE, book_of, pages_of, site_from
from tests.gitrepo import GitRepo
from tests.small_site import write_site

Rects = Sequence[tuple[float, float, float, float]]
DOTS = 16  # a millimetre, when a sheet is looked at: some 400 dots an inch
POINT = 25.4 / 72
UNTESTED = {path: text for path, text in PRACTICE.items() if not path.startswith("tests/")}
BASE = "https://records.example/built"


def address(label: Label) -> str:
    return f"{BASE}/harbour/{links.record(label.target_kind, label.target_key)}"


def sheets(purpose: str, sheet: LabelSheet | None = None) -> list[PrintPage]:
    columns, rows = DEFAULT_GRIDS[purpose]
    wanted = labels_of(site_from(PRACTICE), purpose)
    laid = sheet or LabelSheet(columns=columns, rows=rows)
    return lay_out_labels([(label, address(label)) for label in wanted], laid).pages


def seen(rects: Rects, width: float, height: float) -> list[str]:
    """What a camera reads on a sheet, by a reader that isn't ours."""
    paper = np.full((round(height * DOTS), round(width * DOTS)), 255, np.uint8)
    for x, y, w, h in rects:
        top, left = round(y * DOTS), round(x * DOTS)
        paper[top : round((y + h) * DOTS), left : round((x + w) * DOTS)] = 0
    return [found.text for found in zxingcpp.read_barcodes(paper)]


_RUN = re.compile(r"M([\d.]+) ([\d.]+)h([\d.]+)v([\d.]+)h-[\d.]+z")


def svg_rects(text: str) -> list[tuple[float, float, float, float]]:
    root = ET.fromstring(text)
    paths = root.iter("{http://www.w3.org/2000/svg}path")
    found = [_RUN.findall(path.get("d", "")) for path in paths]
    return [tuple(map(float, run)) for runs in found for run in runs]  # type: ignore[misc]


def pdf_rects(page: PageObject) -> Iterator[tuple[float, float, float, float]]:
    """The rectangles a page fills, in millimetres from its top left corner."""
    contents = page.get_contents()
    assert contents is not None
    top = float(page.mediabox.height)
    for operands, operator in contents.operations:
        if operator == b"re":
            x, y, w, h = map(float, operands)
            left, upper = min(x, x + w), max(y, y + h)
            yield left * POINT, (top - upper) * POINT, abs(w) * POINT, abs(h) * POINT


# What stands on them


def test_a_cable_is_labelled_at_both_ends_with_one_identifier() -> None:
    """ANSI/TIA-606: both ends of a horizontal cable carry the identifier of its link."""
    ends = [
        label for label in labels_of(site_from(PRACTICE), "cables") if label.target_key == "1A-A01"
    ]
    assert [(label.cable_end, label.lines) for label in ends] == [
        ("jack", ("1A-A01", "to 1A/A/01")),
        ("panel", ("1A-A01", "to 101 reception")),
    ]


def test_ends_may_carry_different_texts() -> None:
    texts = {
        **UNTESTED,
        "outlets.yml": '1A-A01: {port: 1A/A/01, label: "101.1", label at panel: "R 101"}\n',
    }
    found = labels_of(site_from(texts), "cables")
    assert [label.lines for label in found] == [("101.1", "to 1A/A/01"), ("R 101",)]


def test_panels_faceplates_and_enclosures() -> None:
    site = site_from(PRACTICE)
    assert [label.lines for label in labels_of(site, "panels")] == [
        ("1A/A", "ports 01–24", "U 12"),
        ("1A/R1", "5 ports", "U 8"),
        ("1A/SW1", "ports 01–28", "U 11"),
    ]
    assert labels_of(site, "faceplates")[3].lines == ("<b>GYM</b> & 4", "1A/A/04")
    assert [label.lines for label in labels_of(site, "enclosures")] == [
        ("1A", "110 store", "Harbour Lane Practice")
    ]


def test_a_backbone_says_where_its_other_end_is() -> None:
    texts = {**PRACTICE, "backbones.yml": "BB1: {from: 1A/A/11-14, to: 1A/A/17-20, cable: cat6A}\n"}
    found = [
        label for label in labels_of(site_from(texts), "cables") if label.target_kind == "backbone"
    ]
    assert [label.lines for label in found] == [("BB1", "to 1A/A/17–20"), ("BB1", "to 1A/A/11–14")]
    assert {label.cable_diameter for label in found} == {7.6}


def test_abandoned_cable_gets_no_label() -> None:
    texts = {
        **UNTESTED,
        "outlets.yml": "o1: {port: 1A/A/01, state: abandoned}\no2: {port: 1A/A/02}\n",
    }
    assert {label.target_key for label in labels_of(site_from(texts), "cables")} == {"o2"}


@pytest.mark.parametrize("purpose", PURPOSES)
def test_every_code_opens_a_page_that_is_built(purpose: str) -> None:
    built = pages_of(book_of())
    for label in labels_of(site_from(PRACTICE), purpose):
        target = links.record(label.target_kind, label.target_key)
        assert target is not None
        assert target.partition("#")[0] in built


def test_only_what_is_printed_otherwise_is_printed_again() -> None:
    now = dict(PRACTICE)
    now["outlets.yml"] = now["outlets.yml"].replace("port: 1A/A/02,", "port: 1A/A/05,")
    again = {
        purpose: [(label.target_key, label.cable_end) for label in outdated_labels(
            labels_of(site_from(now), purpose), labels_of(site_from(PRACTICE), purpose)
        )]
        for purpose in PURPOSES
    }  # fmt: skip
    assert again == {
        "panels": [],
        "faceplates": [("1A-A02", "")],
        "cables": [("1A-A02", "jack")],
        "cords": [],
        "enclosures": [],
    }


def test_a_cord_is_labelled_at_both_ends_and_names_both() -> None:
    found = labels_of(site_from(PRACTICE), "cords")
    assert len(found) == 2 * 4
    ends = {label.target_key: label.lines for label in found}
    assert ends["1A/A/01"] == ("1A/A/01", "to 1A/SW1/01")
    assert ends["1A/SW1/01"] == ("1A/SW1/01", "to 1A/A/01")


def test_only_cords_patched_otherwise_are_labelled_again() -> None:
    now = dict(PRACTICE)
    file = "enclosures/1A.yml"
    now[file] = now[file].replace("A/02: {to: SW1/02,", "A/02: {to: SW1/07,")
    before, after = labels_of(site_from(PRACTICE), "cords"), labels_of(site_from(now), "cords")
    assert [label.target_key for label in outdated_labels(after, before)] == [
        "1A/A/02",
        "1A/SW1/07",
    ]


# Where they lie


def test_labels_lie_where_the_stocks_leaflet_has_them() -> None:
    """Worked by hand: 210 × 297 mm, margins 7.2 and 15.1, 3 × 7, 2.5 between columns: a label has
    (210 - 14.4 - 5) / 3 = 63.533 mm by (297 - 30.2) / 7 = 38.114 mm."""
    sheet = LabelSheet(210, 297, 3, 7, (7.2, 15.1), (2.5, 0))
    assert math.isclose(sheet.label_width, 63.5333, abs_tol=1e-3)
    assert math.isclose(sheet.label_height, 38.1143, abs_tol=1e-3)
    at, cell = sheet.cell_of(4)  # the second of the second row
    assert at == 0
    assert math.isclose(cell.x, 7.2 + 63.5333 + 2.5, abs_tol=1e-3)
    assert math.isclose(cell.y, 15.1 + 38.1143, abs_tol=1e-3)
    assert sheet.cell_of(20)[0] == 0
    assert sheet.cell_of(21) == (1, sheet.cell_of(0)[1])


def test_places_used_already_are_left_out() -> None:
    sheet = LabelSheet(columns=2, rows=2)
    label = Label("outlet", "o1", ("o1",))
    pages = lay_out_labels([(label, None), (label, None)], sheet, skip=3, outlines=True).pages
    outlines = [[m.cell for m in page.elements if isinstance(m, LabelOutline)] for page in pages]
    assert outlines == [[sheet.cell_of(3)[1]], [sheet.cell_of(0)[1]]]


@pytest.mark.parametrize(
    ("text", "pair"),
    [("210x297", (210, 297)), ("63.5 × 38.1", (63.5, 38.1)), ("210", None), ("axb", None)],
)
def test_pairs_of_millimetres(text: str, pair: tuple[float, float] | None) -> None:
    assert parse_pair(text) == pair


@pytest.mark.parametrize("purpose", PURPOSES)
def test_everything_printed_is_within_its_label(purpose: str) -> None:
    columns, rows = DEFAULT_GRIDS[purpose]
    sheet = LabelSheet(columns=columns, rows=rows)
    (page,) = sheets(purpose, sheet)
    cells = [sheet.cell_of(n)[1] for n in range(sheet.capacity)]

    def inside(x: float, y: float, right: float, bottom: float) -> bool:
        e = 1e-6
        return any(
            c.x - e <= x
            and right <= c.x + c.width + e
            and c.y - e <= y
            and bottom <= c.y + c.height + e
            for c in cells
        )

    for mark in page.elements:
        if isinstance(mark, PrintedText):
            assert inside(mark.x, mark.y - mark.size, mark.x, mark.y + 0.3 * mark.size), mark
        if isinstance(mark, FilledArea):
            for x, y, w, h in mark.rectangles:
                assert inside(x, y, x + w, y + h)


@pytest.mark.parametrize("purpose", PURPOSES)
def test_no_text_is_wider_than_its_label(purpose: str) -> None:
    """By the metrics of Helvetica that the PDF library brings along, not by our estimate."""
    columns, rows = DEFAULT_GRIDS[purpose]
    sheet = LabelSheet(columns=columns, rows=rows)
    (page,) = sheets(purpose, sheet)
    pdf = FPDF(unit="mm")
    pdf.core_fonts_encoding = "windows-1252"
    for mark in page.elements:
        if isinstance(mark, PrintedText):
            pdf.set_font("Helvetica", "B" if mark.bold else "", mark.size / POINT)
            column = int((mark.x - sheet.margins[0]) // sheet.label_width)
            right = sheet.cell_of(column)[1].x + sheet.label_width
            assert mark.x + pdf.get_string_width(mark.text) <= right, mark


# Wraps


def test_a_wrap_is_as_long_as_the_cable_is_around_and_its_overlap() -> None:
    """π·d + overlap, common practice. Worked: 6.1 mm is 19.16 mm around, with 10 mm 29.16 mm."""
    assert math.isclose(wrap_length(6.1, 10), 29.164, abs_tol=1e-3)
    assert math.isclose(printed_band(29.164, 6.1), 10, abs_tol=1e-3)
    assert math.isclose(printed_band(100, 6.1), math.pi * 6.1)  # no more than all around
    assert printed_band(15, 6.1) < 0


def test_print_on_a_wrap_is_covered_by_its_clear_part() -> None:
    sheet = LabelSheet(columns=4, rows=6)
    label = Label("outlet", "o1", ("1A-A01", "to 1A/A/01"), "jack", cable_diameter=7.6)
    (page,) = lay_out_labels([(label, None)], sheet).pages
    cell = sheet.cell_of(0)[1]
    lowest = max(mark.y for mark in page.elements if isinstance(mark, PrintedText))
    assert lowest <= cell.y + cell.height - math.pi * 7.6


def test_a_wrap_too_short_for_its_cable_is_told() -> None:
    label = Label("outlet", "o1", ("1A-A01",), "jack", cable_diameter=7.6)
    told = lay_out_labels([(label, None)], LabelSheet(columns=4, rows=10)).notices
    needed = wrap_length(7.6, MIN_BAND)
    assert told == [
        f"labels of 27.1 mm don't go around a cable of 7.6 mm and cover 6 mm of print, {needed:.1f} mm "
        "would: 1A-A01"
    ]


# Lettering and codes that don't fit


def test_a_text_too_long_is_cut_and_told() -> None:
    long = "the label of an outlet that somebody described in a whole sentence"
    done = lay_out_labels([(Label("outlet", "o1", (long,)), None)], LabelSheet(columns=6, rows=20))
    assert done.notices == [f"texts cut, too long for their labels: {long}"]
    (text,) = [mark for mark in done.pages[0].elements if isinstance(mark, PrintedText)]
    assert text.text.endswith("…")
    assert text.size >= 1.8


def test_a_code_too_small_to_read_is_told() -> None:
    done = lay_out_labels([(Label("outlet", "o1", ("o1",)), BASE)], LabelSheet(columns=6, rows=40))
    assert "codes of 6.8 mm are too small to read" in done.notices[0]


# Codes, by an independent decoder


@pytest.mark.parametrize("purpose", PURPOSES)
def test_codes_on_the_svg_are_read_back(purpose: str) -> None:
    wanted = sorted(address(label) for label in labels_of(site_from(PRACTICE), purpose))
    (page,) = sheets(purpose)
    assert sorted(seen(svg_rects(svg_of(page)), page.width, page.height)) == wanted


@pytest.mark.parametrize("purpose", PURPOSES)
def test_codes_in_the_pdf_are_read_back(purpose: str) -> None:
    wanted = sorted(address(label) for label in labels_of(site_from(PRACTICE), purpose))
    (page,) = PdfReader(BytesIO(pdf_of(sheets(purpose), "labels"))).pages
    assert sorted(seen(list(pdf_rects(page)), 210, 297)) == wanted


@pytest.mark.parametrize(
    ("text", "version"),
    # ISO/IEC 18004: what level M holds of alphanumerics and of bytes.
    [("HTTPS://X.CO/1A-A47", 1), ("https://example.com/l/1A-A47", 3), ("A" * 38, 2), ("A" * 39, 3)],
)
def test_a_code_is_as_large_as_its_text_needs(text: str, version: int) -> None:
    code = qr_code_of(text)
    assert code.size == 17 + 4 * version
    assert code.size_with_quiet_zone == code.size + 2 * QUIET_ZONE == code.size + 8


# True size


def test_the_pdf_is_at_true_size() -> None:
    """By pypdf: the page in millimetres, and the texts of the sheet in it."""
    sheet = LabelSheet(100, 62, 2, 2, (5, 5), (0, 0))
    reader = PdfReader(BytesIO(pdf_of(sheets("faceplates", sheet), "Labels of Harbour Lane")))
    (page,) = reader.pages
    assert math.isclose(float(page.mediabox.width) * POINT, 100, abs_tol=0.01)
    assert math.isclose(float(page.mediabox.height) * POINT, 62, abs_tol=0.01)
    text = page.extract_text()
    assert "1A-A01" in text
    assert "<b>GYM</b> & 4" in text
    assert reader.metadata and reader.metadata.title == "Labels of Harbour Lane"


def test_a_code_in_the_pdf_is_as_wide_as_it_was_laid_out() -> None:
    pages = sheets("enclosures")
    (area,) = [mark for mark in pages[0].elements if isinstance(mark, FilledArea)]
    laid = max(x + w for x, _, w, _ in area.rectangles) - min(x for x, *_ in area.rectangles)
    (page,) = PdfReader(BytesIO(pdf_of(pages, "labels"))).pages
    rects = list(pdf_rects(page))
    drawn = max(x + w for x, _, w, _ in rects) - min(x for x, *_ in rects)
    assert math.isclose(laid, drawn, abs_tol=0.02)


def test_texts_in_the_pdf_stand_where_and_as_large_as_they_were_laid_out() -> None:
    pages = sheets("enclosures")
    laid = [mark for mark in pages[0].elements if isinstance(mark, PrintedText)]
    (page,) = PdfReader(BytesIO(pdf_of(pages, "labels"))).pages
    contents = page.get_contents()
    assert contents is not None
    sizes = [float(o[1]) for o, operator in contents.operations if operator == b"Tf"]
    spots = [tuple(map(float, o)) for o, operator in contents.operations if operator == b"Td"]
    top = float(page.mediabox.height)
    for mark in laid:
        assert any(math.isclose(size * POINT, mark.size, abs_tol=0.02) for size in sizes), mark
        assert any(
            math.isclose(x * POINT, mark.x, abs_tol=0.02)
            and math.isclose((top - y) * POINT, mark.y, abs_tol=0.02)
            for x, y in spots
        ), mark


def test_the_svg_is_at_true_size_and_escapes_its_texts() -> None:
    (page,) = sheets("faceplates")
    root = ET.fromstring(svg_of(page))
    assert (root.get("width"), root.get("height")) == ("210mm", "297mm")
    assert root.get("viewBox") == "0 0 210 297"
    texts = [text.text for text in root.iter("{http://www.w3.org/2000/svg}text")]
    assert "<b>GYM</b> & 4" in texts


def test_the_same_labels_are_the_same_bytes() -> None:
    assert pdf_of(sheets("cables"), "labels") == pdf_of(sheets("cables"), "labels")


# Letters


def _font(path: Path, letters: str) -> str:
    """A font of squares that knows these letters."""
    pen = TTGlyphPen(None)
    pen.moveTo((0, 0))
    for point in ((0, 500), (500, 500), (500, 0)):
        pen.lineTo(point)
    pen.closePath()
    square = pen.glyph()
    names = [".notdef", *(f"uni{ord(sign):04X}" for sign in letters)]
    made = FontBuilder(1000, isTTF=True)
    made.setupGlyphOrder(names)
    made.setupCharacterMap({ord(sign): f"uni{ord(sign):04X}" for sign in letters})
    made.setupGlyf(dict.fromkeys(names, square))
    made.setupHorizontalMetrics(dict.fromkeys(names, (600, 0)))
    made.setupHorizontalHeader(ascent=800, descent=-200)
    made.setupNameTable({"familyName": "Squares", "styleName": "Regular"})
    made.setupOS2()
    made.setupPost()
    made.save(path)
    return str(path)


def test_letters_the_pdfs_font_lacks_are_told(tmp_path: Path) -> None:
    assert unprintable(["1A–A01 “Zoë”", "Ж"]) == ["Ж"]
    font = _font(tmp_path / "squares.ttf", "ЖA1")
    assert unprintable(["Ж1", "Я"], font) == ["Я"]
    page = PrintPage(50, 20, (PrintedText(2, 10, 5, "Ж1", True),))
    data = pdf_of([page], "labels", font)
    assert data == pdf_of([page], "labels", font)
    assert "Ж1" in PdfReader(BytesIO(data)).pages[0].extract_text()


# The command


def test_the_command_prints_what_is_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_site(tmp_path)
    monkeypatch.chdir(tmp_path)
    words = ["labels", "harbour", "--for", "faceplates", "--sheet", "100x62", "--grid", "2x2"]
    ran = CliRunner().invoke(
        main, [*words, "--margins", "5x5", "--url", BASE, "--pdf", "a.pdf", "--svg", "svg"]
    )
    assert ran.exit_code == 0, ran.output
    assert "4 labels of 45.0 × 26.0 mm on 1 sheet" in ran.output
    (page,) = PdfReader(BytesIO((tmp_path / "a.pdf").read_bytes())).pages
    assert math.isclose(float(page.mediabox.width) * POINT, 100, abs_tol=0.01)
    assert sorted(seen(list(pdf_rects(page)), 100, 62))[0] == f"{BASE}/harbour/outlets/1A-A01.html"
    assert [file.name for file in (tmp_path / "svg").iterdir()] == ["labels-001.svg"]


def test_the_records_say_where_pages_are_unless_it_is_said_otherwise(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    site = PRACTICE["site.yml"] + "pages at: https://records.example.com/here\n"
    write_site(tmp_path, site=site)
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("ASBUILT_URL", raising=False)
    words = ["labels", "harbour", "--for", "enclosures", "--sheet", "100x62", "--grid", "1x1"]
    for more, address in (
        ([], "https://records.example.com/here/enclosures/1A.html"),
        (["--url", BASE], f"{BASE}/harbour/enclosures/1A.html"),
    ):
        ran = CliRunner().invoke(main, [*words, *more, "--pdf", "a.pdf"])
        assert ran.exit_code == 0 and "No codes" not in ran.output, ran.output
        (page,) = PdfReader(BytesIO((tmp_path / "a.pdf").read_bytes())).pages
        assert seen(list(pdf_rects(page)), 100, 62) == [address]


def test_without_an_address_labels_carry_no_code(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_site(tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("ASBUILT_URL", raising=False)
    ran = CliRunner().invoke(main, ["labels", "harbour", "--pdf", "a.pdf"])
    assert ran.exit_code == 0, ran.output
    assert "No codes are on them" in ran.output
    pages = PdfReader(BytesIO((tmp_path / "a.pdf").read_bytes())).pages
    assert len(pages) == len(PURPOSES)
    assert [rect for page in pages for rect in pdf_rects(page)] == []


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "say where to"),
        (("--pdf", "a.pdf", "--sheet", "210"), "is no pair of numbers"),
        (("--pdf", "a.pdf", "--grid", "2.5x3"), "whole numbers"),
        (("--pdf", "a.pdf", "--grid", "90x3"), "the least either way"),
        (("--pdf", "a.pdf", "--url", "javascript:alert(1)"), "begins with https://"),
        (("--pdf", "a.pdf", "--since", "HEAD"), "aren’t kept in git"),
        (("--pdf", "a.pdf", "--font", "sites/harbour/site.yml"), "no TrueType"),
    ],
)
def test_what_cant_be_printed_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], said: str
) -> None:
    write_site(tmp_path)
    monkeypatch.chdir(tmp_path)
    ran = CliRunner().invoke(main, ["labels", "harbour", *words])
    assert ran.exit_code == 1, ran.output
    assert said in ran.output
    assert not (tmp_path / "a.pdf").exists()


def test_since_a_revision_only_what_changed_is_printed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    top = tmp_path / "records"
    write_site(top)
    GitRepo(top).commit({}, "as found")
    old = PRACTICE["outlets.yml"]
    write_site(top, outlets=old.replace("1A-A01: {", '1A-A01: {label: "R1", '))
    monkeypatch.chdir(top)
    words = ["labels", "harbour", "--since", "HEAD", "--svg", "svg"]
    ran = CliRunner().invoke(main, words)
    assert ran.exit_code == 0, ran.output
    assert "faceplates: 1 label of" in ran.output
    assert "cables: 2 labels" in ran.output
    assert "panels: nothing to print" in ran.output


# Strips for panels

PANEL_PAGE = f"{BASE}/harbour/{links.record('item', '1A/A')}"


def with_pitch(pitch: str) -> dict[str, str]:
    file = "enclosures/1A.yml"
    return {**PRACTICE, file: PRACTICE[file].replace("{panel: A,", f"{{panel: A, pitch: {pitch},")}


def strips(texts: Mapping[str, str], width: float = 210, pitch: float = 17.5) -> PrintLayout:
    made = label_strips(site_from(texts))
    pages = {strip.panel_key: PANEL_PAGE for strip in made}
    return lay_out_strips(made, (width, 297), (8, 13), pitch=pitch, addresses=pages)


def cells(printed: PrintLayout) -> list[tuple[float, float, float]]:
    found = [m.cell for page in printed.pages for m in page.elements if isinstance(m, LabelOutline)]
    return [(cell.x, cell.y, cell.width) for cell in found]


def test_a_strip_says_what_is_behind_each_port_of_a_panel() -> None:
    (strip,) = label_strips(site_from(PRACTICE))
    assert (strip.panel_key, len(strip.cells), strip.pitch) == ("1A/A", 24, None)
    assert strip.cells[:4] == (
        ("01", "1A-A01"),
        ("02", "1A-A02"),
        ("03", "1A-A03"),
        ("04", "<b>GYM</b> & 4"),
    )
    assert strip.cells[23] == ("24",)


def test_cells_stand_as_far_apart_as_the_ports() -> None:
    """By the record, in whatever unit it was measured: 0.65 in are 16.51 mm exactly."""
    for pitch, apart in (("16.2 mm", 16.2), ("0.65 in", 16.51)):
        printed = strips(with_pitch(pitch), width=450)
        assert not any("pitch" in notice for notice in printed.notices)
        places = cells(printed)
        assert len(places) == 24
        assert len({y for _, y, _ in places}) == 1, "in one piece"
        for number, (x, _, width) in enumerate(places):
            assert math.isclose(x, places[0][0] + number * apart, abs_tol=1e-6)
            assert math.isclose(width, apart, abs_tol=1e-6)


def test_a_pitch_nobody_recorded_is_told() -> None:
    assert strips(PRACTICE, pitch=18).notices == [
        "ports taken to stand 18 mm apart, since the records don’t say how far; measure, and "
        "record it as “pitch”: 1A/A"
    ]


def test_a_strip_wider_than_the_page_comes_in_even_pieces() -> None:
    """24 × 17.5 mm are 420 mm; beside the code some 180 mm are left of 210: three pieces."""
    places = cells(strips(PRACTICE))
    rows = sorted({y for _, y, _ in places})
    assert [sum(y == row for _, y, _ in places) for row in rows] == [8, 8, 8]
    assert max(x + width for x, _, width in places) <= 210 - 8


def test_texts_of_a_strip_are_within_their_cells_or_told() -> None:
    """By the metrics of Helvetica that the PDF library brings along, not by our estimate."""
    printed = strips(with_pitch("9 mm"))
    assert printed.notices == ["texts cut, too long for their cells: 1A/A 04, <b>GYM</b> & 4"]
    pdf = FPDF(unit="mm")
    pdf.core_fonts_encoding = "windows-1252"
    (page,) = printed.pages
    boxes = [mark.cell for mark in page.elements if isinstance(mark, LabelOutline)]
    texts = [
        m
        for m in page.elements
        if isinstance(m, PrintedText) and not m.text.startswith("1A/A, ports")
    ]
    assert len(texts) == 24 + 4
    for mark in texts:
        pdf.set_font("Helvetica", "B" if mark.bold else "", mark.size / POINT)
        right = mark.x + pdf.get_string_width(mark.text)
        assert any(
            box.x <= mark.x
            and right <= box.x + box.width
            and box.y <= mark.y - 0.75 * mark.size
            and mark.y + 0.25 * mark.size <= box.y + box.height
            for box in boxes
        ), mark


def test_a_strips_code_opens_its_panels_page() -> None:
    assert links.record("item", "1A/A") in pages_of(book_of())
    printed = strips(PRACTICE)
    (page,) = printed.pages
    assert seen(svg_rects(svg_of(page)), 210, 297) == [PANEL_PAGE]
    (read,) = PdfReader(BytesIO(pdf_of(printed.pages, "strips"))).pages
    areas = [mark for mark in page.elements if isinstance(mark, FilledArea)]
    assert len(areas) == 1
    filled = [rect for rect in pdf_rects(read) if rect[3] < 1]  # the code's modules, no cells
    assert seen(filled, 210, 297) == [PANEL_PAGE]


def test_strips_that_changed_are_printed_again_and_no_others() -> None:
    file = "enclosures/1A.yml"
    two = PRACTICE[file].replace("  12: {", "  3: {panel: B, ports: 24}\n  12: {")
    old = {**PRACTICE, file: two}
    now = {**old, "outlets.yml": old["outlets.yml"].replace("port: 1A/A/02,", "port: 1A/A/05,")}
    before, after = label_strips(site_from(old)), label_strips(site_from(now))
    assert [strip.panel_key for strip in before] == ["1A/A", "1A/B"]
    assert [strip.panel_key for strip in outdated_strips(after, before)] == ["1A/A"]
    assert outdated_strips(before, before) == ()


def test_many_strips_go_on_over_several_pages_at_true_size(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    file = "enclosures/1A.yml"
    more = "".join(f"  {n}: {{panel: Z{n}, ports: 48}}\n" for n in range(3, 7))
    text = PRACTICE[file].replace("  12: {", f"{more}  12: {{")
    write_site(tmp_path)
    (tmp_path / "sites/harbour" / file).write_text(text)
    monkeypatch.chdir(tmp_path)
    words = ["labels", "harbour", "--for", "strips", "--pdf", "a.pdf", "--svg", "svg"]
    ran = CliRunner().invoke(main, [*words, "--url", BASE])
    assert ran.exit_code == 0, ran.output
    assert "strips: 9 rows of ports on 2 pages" in ran.output
    pages = PdfReader(BytesIO((tmp_path / "a.pdf").read_bytes())).pages
    assert len(pages) == len(list((tmp_path / "svg").iterdir())) == 2
    for page in pages:
        assert math.isclose(float(page.mediabox.width) * POINT, 210, abs_tol=0.01)
        widths = [w for _, _, w, h in pdf_rects(page) if math.isclose(h, 10, abs_tol=0.02)]
        assert widths and all(math.isclose(width, 17.5, abs_tol=0.02) for width in widths)
    text = "".join(page.extract_text() for page in pages)
    assert "1A/Z3, ports 41–48" in text
    assert text.count("GYM") == 1


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--pitch", "wide"), "--pitch “wide” is no length"),
        (("--pitch", "2"), "ports 2 mm apart"),
        (("--height", "3"), "no room for two lines"),
        (("--sheet", "60x297"), "60 mm either way"),
    ],
)
def test_strips_that_cant_be_are_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], said: str
) -> None:
    write_site(tmp_path)
    monkeypatch.chdir(tmp_path)
    ran = CliRunner().invoke(
        main, ["labels", "harbour", "--for", "strips", "--pdf", "a.pdf", *words]
    )
    assert ran.exit_code == 1, ran.output
    assert said in ran.output
    assert not (tmp_path / "a.pdf").exists()


def test_since_a_revision_strips_and_cords_that_changed_are_printed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    top = tmp_path / "records"
    write_site(top)
    GitRepo(top).commit({}, "as found")
    monkeypatch.chdir(top)
    words = ["labels", "harbour", "--for", "strips", "--for", "cords", "--since", "HEAD"]
    ran = CliRunner().invoke(main, [*words, "--pdf", "a.pdf"])
    assert ran.exit_code == 0, ran.output
    assert ran.output == "strips: nothing to print\ncords: nothing to print\n"
    write_site(top, outlets=PRACTICE["outlets.yml"].replace("1A-A01: {", '1A-A01: {label: "R1", '))
    file = top / "sites/harbour/enclosures/1A.yml"
    file.write_text(file.read_text().replace("A/02: {to: SW1/02,", "A/02: {to: SW1/07,"))
    ran = CliRunner().invoke(main, [*words, "--pdf", "a.pdf"])
    assert "strips: 1 row of ports on 1 page" in ran.output
    assert "cords: 2 labels" in ran.output
    assert "R1" in PdfReader(top / "a.pdf").pages[0].extract_text()
