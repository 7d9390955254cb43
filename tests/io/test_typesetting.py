"""The binder as a PDF, read back by pypdf."""

from __future__ import annotations

import builtins
import re
from io import BytesIO
from pathlib import Path
from typing import Any

import pypdf
import pypdfium2 as pdfium
import pytest
import zxingcpp
from click.testing import CliRunner
from PIL import ImageFile

from asbuilt.cli import main
from asbuilt.io.sources import theme_folder
from asbuilt.io.typesetting import Size, pdf_of
from asbuilt.pages.binder import STYLE_PATH
from asbuilt.pages.page import Asset, Page, PageTree
from asbuilt.pages.tree import site_tree
from asbuilt.problem import WorldError
from asbuilt.records.edition import Edition
from tests.books import PRACTICE, book_of, no_drawing

try:
    import weasyprint  # noqa: F401

    ImageFile.LOAD_TRUNCATED_IMAGES = False  # what it sets is undone where we load it
except (ImportError, OSError):
    pytest.skip("the PDF needs asbuilt[binder] and Pango", allow_module_level=True)

#: ISO 216; US Letter is 8½ × 11 in. Width and height in mm.
PAPER = {Size.A4: (210.0, 297.0), Size.LETTER: (215.9, 279.4)}


def tree_of(edition: Edition = Edition.INTERNAL) -> PageTree:
    return site_tree(book_of(PRACTICE, edition), no_drawing)


def made(tree: PageTree, size: Size) -> bytes:
    page = next(part for part in tree if isinstance(part, Page) and part.path == "binder.html")
    files = {part.path: part.data for part in tree if isinstance(part, Asset)}
    styles = [
        (theme_folder() / "assets" / name).read_text("utf-8")
        for name in ("asbuilt.css", "paper.css")
    ]
    styles.append(files[STYLE_PATH].decode().replace('@charset "utf-8";', ""))
    return pdf_of(page.html, "Binder", "\n".join(styles), files, size)


@pytest.mark.parametrize("size", list(Size))
def test_read_back_it_is_whole(size: Size) -> None:
    book = book_of(PRACTICE, Edition.INTERNAL)
    data = made(tree_of(), size)
    pdf = pypdf.PdfReader(BytesIO(data))
    for page in pdf.pages:
        box = tuple(float(side) * 25.4 / 72 for side in (page.mediabox.width, page.mediabox.height))
        assert box == pytest.approx(PAPER[size], abs=0.1)
    texts = [" ".join(page.extract_text().split()) for page in pdf.pages]
    assert book.site.name in texts[0] and str(book.revision) in texts[0]
    for number, text in enumerate(texts, start=1):
        assert f"{number} of {len(texts)}" in text
        assert f"revision {book.revision}" in text  # at the foot of each sheet
    whole = " ".join(texts)
    for outlet in book.visible_outlets():
        assert book.site.label_of(outlet) in whole
    for title in ("Site brief", "Outlets by room", "Tests", "Findings", "Changes"):
        (mark,) = [m for m in pdf.outline if not isinstance(m, list) and m.title == title]
        at = pdf.get_destination_page_number(mark)
        assert at is not None and title in texts[at]
        named = re.search(rf"{title} ?[. ]+(\d+)", texts[0])
        assert named and int(named[1]) == at + 1  # as the contents say
    assert data == made(tree_of(), size)


@pytest.mark.parametrize("size", list(Size))
def test_each_door_has_a_sheet_at_the_end_whose_code_can_be_scanned(size: Size) -> None:
    """Drawn by PDFium, read by zxing-cpp; a long cabinet and a short one."""
    tall = PRACTICE["enclosures/1A.yml"].replace("12 U", "47 U").replace("1A", "MDF")
    tall = "".join(line for line in tall.splitlines(True) if "{to:" not in line)
    texts = {
        **PRACTICE,
        "site.yml": PRACTICE["site.yml"] + "pages at: https://records.example.com/harbour\n",
        "enclosures/MDF.yml": tall.replace("patching:\n", ""),
    }
    data = made(site_tree(book_of(texts, Edition.INTERNAL), no_drawing), size)
    pdf = pdfium.PdfDocument(data)
    first = len(pdf) - 2
    for at, key in enumerate(("1A", "MDF"), start=first):
        assert f"Door sheet of {key}" in pdf[at].get_textpage().get_text_bounded()
        codes = zxingcpp.read_barcodes(pdf[at].render(scale=4, grayscale=True).to_numpy())
        assert [code.text for code in codes] == [
            f"https://records.example.com/harbour/enclosures/{key}.html"
        ]
    contents = " ".join(pypdf.PdfReader(BytesIO(data)).pages[0].extract_text().split())
    assert re.search(rf"Door sheet of MDF ?[. ]+{first + 2}\b", contents)


def test_nothing_is_fetched(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[Any] = []
    monkeypatch.setattr("urllib.request.OpenerDirector.open", lambda *a, **k: asked.append(a))
    page = '<p>kept</p><img src="https://example.org/a.png"><img src="file:///etc/hostname">'
    data = pdf_of(page, "Binder", "", {}, Size.A4)
    assert "kept" in pypdf.PdfReader(BytesIO(data)).pages[0].extract_text()
    assert not asked


def test_without_the_typesetter_one_message(monkeypatch: pytest.MonkeyPatch) -> None:
    real = builtins.__import__

    def missing(name: str, *rest: Any, **more: Any) -> Any:
        if name == "weasyprint":
            raise ImportError(name)
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", missing)
    with pytest.raises(WorldError, match=r"asbuilt\[binder\]"):
        pdf_of("<p>x</p>", "Binder", "", {}, Size.A4)


def test_into_no_folder_is_one_message(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(Path(__file__).parents[2])
    result = CliRunner().invoke(main, ["binder", "hollow-lane", "--output", "nowhere/b.pdf"])
    assert result.exit_code == 1
