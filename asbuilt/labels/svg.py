"""A sheet of labels as SVG at true size: a unit is a millimetre."""

from __future__ import annotations

from markupsafe import Markup

from asbuilt.drawings.ink import number
from asbuilt.escape import html
from asbuilt.labels.codes import code_of
from asbuilt.labels.layout import Area, Mark, Outline, Page, Text, area_of

_FACE = "Arial,Helvetica,'Liberation Sans',sans-serif"


def code_svg(address: str) -> Markup:
    """The code that opens an address, to lie in a page: black on white, whatever the page wears.
    A unit is a module."""
    code = code_of(address)
    drawn = _mark(area_of(code, 0, 0, 1)).strip()
    return Markup(  # noqa: S704 - escaped above
        f'<svg class="code" viewBox="0 0 {code.side} {code.side}" role="img" '
        f'aria-label="{html(f"Code that opens {address}")}">'
        f'<rect width="{code.side}" height="{code.side}" fill="#fff"/>{drawn}</svg>'
    )


def svg_of(page: Page) -> str:
    width, height = number(page.width), number(page.height)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}" font-family="{_FACE}" fill="#000">\n'
        f'<rect width="{width}" height="{height}" fill="#fff"/>\n'
        f"{''.join(map(_mark, page.marks))}</svg>\n"
    )


def _mark(mark: Mark) -> str:
    if isinstance(mark, Text):
        weight = ' font-weight="700"' if mark.bold else ""
        return (
            f'<text x="{_n(mark.x)}" y="{_n(mark.y)}" font-size="{_n(mark.size)}"{weight}>'
            f"{html(mark.text)}</text>\n"
        )
    if isinstance(mark, Area):
        path = "".join(
            f"M{_n(x)} {_n(y)}h{_n(width)}v{_n(height)}h-{_n(width)}z"
            for x, y, width, height in mark.parts
        )
        return f'<path shape-rendering="crispEdges" d="{path}"/>\n'
    assert isinstance(mark, Outline)
    cell = mark.cell
    return (
        f'<rect x="{_n(cell.x)}" y="{_n(cell.y)}" width="{_n(cell.width)}" '
        f'height="{_n(cell.height)}" fill="none" stroke="#999" stroke-width="0.1"/>\n'
    )


def _n(value: float) -> str:
    """To a thousandth of a millimetre."""
    return f"{value:.3f}".rstrip("0").rstrip(".")
