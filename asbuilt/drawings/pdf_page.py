"""A page of a PDF as a picture: a floor plan as its maker sent it.

Nothing but pixels is taken: no author, title, layer or hidden text goes into a site. Letters whose
font the PDF doesn't carry are drawn with those PDFium brings, never with the machine's, so that the
same PDF gives the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from typing import Any, Final

from PIL import Image, ImageChops

from asbuilt.drawings.picture import MAX_BYTES, Picture, UnfitPictureError

BEGINS: Final = b"%PDF-"
LONGEST: Final = 4000  # pixels of the longer side: on A1, letters of 2 mm are 9 pixels high
MOST_BYTES: Final = 2 * 1024 * 1024  # of a drawing without loss; a scan that takes more is a JPEG
QUALITY: Final = 85
MOST_SHOWN: Final = 500_000  # lines, letters and pictures on a page


def look_at(data: bytes, number: int) -> None:
    """Raises UnfitPictureError where page `number` of a PDF can't be shown; draws nothing."""
    with _opened(data, number):
        pass


def drawn(data: bytes, number: int) -> Picture:
    """Page `number` of a PDF on white; raises UnfitPictureError."""
    with _opened(data, number) as (page, scale):
        bitmap = page.render(scale=scale, rev_byteorder=True)
        pixels = bitmap.to_pil().convert("RGB")
        bitmap.close()
    red, green, blue = pixels.split()
    grey = not any(ImageChops.difference(red, other).getbbox() for other in (green, blue))
    return _packed(red if grey else pixels)


def _packed(pixels: Image.Image) -> Picture:
    drawing = io.BytesIO()
    pixels.save(drawing, "PNG")
    if drawing.tell() <= MOST_BYTES:
        return Picture("png", drawing.getvalue(), *pixels.size)
    scan = io.BytesIO()
    pixels.save(scan, "JPEG", quality=QUALITY)
    return Picture("jpg", scan.getvalue(), *pixels.size)


@contextmanager
def _opened(data: bytes, number: int) -> Iterator[tuple[Any, float]]:
    """The page, and how many pixels a point of it (1/72 in, ISO 32000-1, 8.3.2.3) becomes."""
    if len(data) > MAX_BYTES:
        raise UnfitPictureError(f"it is larger than {MAX_BYTES // 1024 // 1024} MiB")
    pdfium = _pdfium()
    try:
        document = pdfium.PdfDocument(data)
    except pdfium.PdfiumError as error:
        if error.err_code == pdfium.raw.FPDF_ERR_PASSWORD:
            raise UnfitPictureError("the PDF asks for a password") from error
        raise UnfitPictureError("the PDF is broken") from error
    try:
        if not len(document):
            raise UnfitPictureError("the PDF has no page")
        if number > len(document):
            many = "one page" if len(document) == 1 else f"{len(document)} pages"
            raise UnfitPictureError(f"it has {many}, and no page {number}")
        try:
            page = document[number - 1]
        except pdfium.PdfiumError as error:
            raise UnfitPictureError(f"page {number} of the PDF is broken") from error
        wide, high = page.get_size()
        if not (wide > 0 and high > 0 and max(wide, high) / min(wide, high) < LONGEST):
            size = f"{wide:g} × {high:g} points"
            raise UnfitPictureError(f"page {number} of the PDF can't be shown: it is {size}")
        if pdfium.raw.FPDFPage_CountObjects(page) > MOST_SHOWN:
            raise UnfitPictureError(f"page {number} of the PDF holds more than can be drawn")
        yield page, LONGEST / max(wide, high)
    finally:
        document.close()


@cache
def _pdfium() -> Any:
    import pypdfium2  # slow to load, and few sites have a plan that needs it

    pypdfium2.raw.FPDF_SetSystemFontInfo(None)  # takes away the machine's fonts
    return pypdfium2
