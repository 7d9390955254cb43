"""A sheet of labels as SVG at true size: a unit is a millimetre."""

from __future__ import annotations

from markupsafe import Markup

from asbuilt.drawings.svg_elements import coordinate
from asbuilt.escape import html
from asbuilt.labels.layout import (
    FilledArea,
    LabelOutline,
    PrintedText,
    PrintElement,
    PrintPage,
    qr_code_area,
)
from asbuilt.labels.qr_codes import qr_code_of

_FONT_FAMILY = "Arial,Helvetica,'Liberation Sans',sans-serif"


def code_svg(address: str) -> Markup:
    """The code that opens an address, to lie in a page: black on white, whatever the page wears.
    A unit is a module."""
    code = qr_code_of(address)
    drawn = _element(qr_code_area(code, 0, 0, 1)).strip()
    size = code.size_with_quiet_zone
    return Markup(  # noqa: S704 - escaped above
        f'<svg class="code" viewBox="0 0 {size} {size}" role="img" '
        f'aria-label="{html(f"Code that opens {address}")}">'
        f'<rect width="{size}" height="{size}" fill="#fff"/>{drawn}</svg>'
    )


def svg_of(page: PrintPage) -> str:
    width, height = coordinate(page.width), coordinate(page.height)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" font-family="{_FONT_FAMILY}" fill="#000">\n'
        f'<rect width="{width}" height="{height}" fill="#fff"/>\n'
        f"{''.join(map(_element, page.elements))}</svg>\n"
    )


def _element(mark: PrintElement) -> str:
    if isinstance(mark, PrintedText):
        weight = ' font-weight="700"' if mark.bold else ""
        return (
            f'<text x="{_mm(mark.x)}" y="{_mm(mark.y)}" font-size="{_mm(mark.size)}"{weight}>'
            f"{html(mark.text)}</text>\n"
        )
    if isinstance(mark, FilledArea):
        path = "".join(
            f"M{_mm(x)} {_mm(y)}h{_mm(width)}v{_mm(height)}h-{_mm(width)}z"
            for x, y, width, height in mark.rectangles
        )
        return f'<path shape-rendering="crispEdges" d="{path}"/>\n'
    assert isinstance(mark, LabelOutline)
    cell = mark.cell
    return (
        f'<rect x="{_mm(cell.x)}" y="{_mm(cell.y)}" width="{_mm(cell.width)}" '
        f'height="{_mm(cell.height)}" fill="none" stroke="#999" stroke-width="0.1"/>\n'
    )


def _mm(value: float) -> str:
    """To a thousandth of a millimetre."""
    return f"{value:.3f}".rstrip("0").rstrip(".")
