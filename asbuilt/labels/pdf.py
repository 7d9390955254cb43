"""Sheets of labels as one PDF at true size, the same bytes every time.

Without a font of one's own the lettering is Helvetica, which every PDF reader has and which knows
the letters of western Europe only (Windows-1252).
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Final

from fontTools.ttLib import TTLibError
from fpdf import FPDF
from fpdf.fonts import TTFFont

from asbuilt.labels.layout import FilledArea, PrintedText, PrintElement, PrintPage

_MM_PER_POINT: Final = 25.4 / 72
_ENCODING: Final = "windows-1252"
#: When a PDF says it was made: always the same, since time doesn't enter what is written.
_CREATION_DATE: Final = dt.datetime(2000, 1, 1, tzinfo=dt.UTC)


class FontError(ValueError):
    """What should be a font is none."""


def pdf_of(pages: Sequence[PrintPage], title: str, font: str | None = None) -> bytes:
    """All sheets; `font` is the file of a TrueType or OpenType font. Texts it can't print are
    told by `unprintable` beforehand."""
    with _new_document(font) as pdf:
        pdf.set_title(title)
        for page in pages:
            pdf.add_page(format=(page.width, page.height))
            for mark in page.elements:
                _draw_element(pdf, mark, "labels" if font else "Helvetica")
        return bytes(pdf.output())


def _draw_element(pdf: FPDF, mark: PrintElement, face: str) -> None:
    if isinstance(mark, PrintedText):
        pdf.set_font(face, "B" if mark.bold else "", mark.size / _MM_PER_POINT)
        pdf.text(mark.x, mark.y, mark.text)
    elif isinstance(mark, FilledArea):
        for x, y, width, height in mark.rectangles:
            pdf.rect(x, y, width, height, style="F")
    else:
        cell = mark.cell
        pdf.rect(cell.x, cell.y, cell.width, cell.height)


def unprintable(texts: Iterable[str], font: str | None = None) -> list[str]:
    """The texts with a letter the font doesn't have."""
    if font is None:
        return [text for text in texts if not _is_western(text)]
    with _new_document(font) as pdf:
        loaded = pdf.fonts["labels"]
        assert isinstance(loaded, TTFFont)
        known = loaded.cmap
        return [text for text in texts if any(ord(sign) not in known for sign in text)]


@contextmanager
def _new_document(font: str | None) -> Iterator[FPDF]:
    """A document to begin with; the font's file, which the library leaves open, is closed."""
    pdf = FPDF(unit="mm")
    pdf.set_auto_page_break(False)
    pdf.set_margin(0)
    pdf.set_creation_date(_CREATION_DATE)
    pdf.core_fonts_encoding = _ENCODING
    pdf.set_fill_color(0)
    pdf.set_draw_color(150)
    pdf.set_line_width(0.1)
    try:
        if font:
            _add_font(pdf, font)
        yield pdf
    finally:
        for loaded in pdf.fonts.values():
            if isinstance(loaded, TTFFont):
                loaded.ttfont.close()


def _add_font(pdf: FPDF, font: str) -> None:
    try:
        pdf.add_font("labels", "", font)
        pdf.add_font("labels", "B", font)
    except (TTLibError, ValueError) as error:
        raise FontError(str(error)) from error


def _is_western(text: str) -> bool:
    try:
        text.encode(_ENCODING)
    except UnicodeEncodeError:
        return False
    return True
