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

from asbuilt.drawings.picture import MAX_BYTES, Picture, UnusablePictureError

PDF_SIGNATURE: Final = b"%PDF-"
MAX_SIDE: Final = 4000  # pixels of the longer side: on A1, letters of 2 mm are 9 pixels high
MAX_PNG_BYTES: Final = (
    2 * 1024 * 1024
)  # of a drawing without loss; a scan that takes more is a JPEG
JPEG_QUALITY: Final = 85
MAX_OBJECTS: Final = 500_000  # lines, letters and pictures on a page


def check_pdf_page(data: bytes, number: int) -> None:
    """Raises UnfitPictureError where page `number` of a PDF can't be shown; draws nothing."""
    with _open_page(data, number):
        pass


def render_pdf_page(data: bytes, number: int) -> Picture:
    """Page `number` of a PDF on white; raises UnfitPictureError."""
    with _open_page(data, number) as (page, scale):
        bitmap = page.render(scale=scale, rev_byteorder=True)
        pixels = bitmap.to_pil().convert("RGB")
        bitmap.close()
    red, green, blue = pixels.split()
    grey = not any(ImageChops.difference(red, other).getbbox() for other in (green, blue))
    return _encode(red if grey else pixels)


def _encode(pixels: Image.Image) -> Picture:
    drawing = io.BytesIO()
    pixels.save(drawing, "PNG")
    if drawing.tell() <= MAX_PNG_BYTES:
        return Picture("png", drawing.getvalue(), *pixels.size)
    scan = io.BytesIO()
    pixels.save(scan, "JPEG", quality=JPEG_QUALITY)
    return Picture("jpg", scan.getvalue(), *pixels.size)


@contextmanager
def _open_page(data: bytes, number: int) -> Iterator[tuple[Any, float]]:
    """The page, and how many pixels a point of it (1/72 in, ISO 32000-1, 8.3.2.3) becomes."""
    if len(data) > MAX_BYTES:
        raise UnusablePictureError(f"it is larger than {MAX_BYTES // 1024 // 1024} MiB")
    pdfium = _pdfium()
    try:
        document = pdfium.PdfDocument(data)
    except pdfium.PdfiumError as error:
        if error.err_code == pdfium.raw.FPDF_ERR_PASSWORD:
            raise UnusablePictureError("the PDF asks for a password") from error
        raise UnusablePictureError("the PDF is broken") from error
    try:
        if not len(document):
            raise UnusablePictureError("the PDF has no page")
        if number > len(document):
            many = "one page" if len(document) == 1 else f"{len(document)} pages"
            raise UnusablePictureError(f"it has {many}, and no page {number}")
        try:
            page = document[number - 1]
        except pdfium.PdfiumError as error:
            raise UnusablePictureError(f"page {number} of the PDF is broken") from error
        wide, high = page.get_size()
        if not (wide > 0 and high > 0 and max(wide, high) / min(wide, high) < MAX_SIDE):
            size = f"{wide:g} × {high:g} points"
            raise UnusablePictureError(f"page {number} of the PDF can't be shown: it is {size}")
        if pdfium.raw.FPDFPage_CountObjects(page) > MAX_OBJECTS:
            raise UnusablePictureError(f"page {number} of the PDF holds more than can be drawn")
        yield page, MAX_SIDE / max(wide, high)
    finally:
        document.close()


@cache
def _pdfium() -> Any:
    import pypdfium2  # slow to load, and few sites have a plan that needs it

    pypdfium2.raw.FPDF_SetSystemFontInfo(None)  # takes away the machine's fonts
    return pypdfium2
