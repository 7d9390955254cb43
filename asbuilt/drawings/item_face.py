"""The ports of one panel, switch, router or device at large."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from asbuilt.drawings.port_symbols import (
    LEGEND_ROW,
    PortPosition,
    draw_legend,
    linked_port,
    port_positions,
    port_symbol,
)
from asbuilt.drawings.sheet import FindHref, no_href, svg_document
from asbuilt.drawings.svg_elements import Box, rect, text_line, title_element
from asbuilt.drawings.text_metrics import shorten
from asbuilt.model.describe import describe_item, describe_port, item_name, port_destination
from asbuilt.model.site import PortUse, Site
from asbuilt.records.enclosures import PortedItem

_COLUMNS: Final = 12
_CELL: Final = Box(0, 0, 46, 66)


def draw_item_face(site: Site, item_key: str, *, link: FindHref = no_href) -> str:
    """The face of one panel, switch, router or device at large, as SVG text: a cell a port, with
    its number, the sign of its state, and in two lines what it leads to.

    A row of more than a dozen ports goes on below, so that it can be read on a phone.
    """
    item = site.items[item_key]
    assert isinstance(item, PortedItem)
    uses = {use.id.name: use for use in site.ports_of(item)}
    words = {name: describe_port(site, use) for name, use in uses.items()}
    drawn = []
    top = 0.0
    for band in _rows_of_twelve(port_positions(item)):
        rows = sorted({slot.row for slot in band})
        for slot in band:
            x = _CELL.width * (slot.column % _COLUMNS)
            y = top + _CELL.height * rows.index(slot.row)
            cell = Box(x, y, _CELL.width, _CELL.height)
            drawn.append(_port_cell(site, uses[slot.name], words[slot.name], cell, link))
        top += _CELL.height * len(rows) + 10
    width = _COLUMNS * _CELL.width
    legend = Box(0, top + 4, width, 2 * LEGEND_ROW)
    drawn.append(draw_legend(uses.values(), legend, marked=False))
    paper = Box(0, 0, width, legend.bottom).inset(-8, -8)
    heading = f"Face of {item_key}"
    description = f"{item_name(item)}, {describe_item(item)}. {'; '.join(words.values())}."
    return svg_document(f"face-{item_key}", paper, "".join(drawn), heading, description)


def _rows_of_twelve(slots: Sequence[PortPosition]) -> list[list[PortPosition]]:
    """The slots by the dozen columns, those that stand apart in bands of their own."""
    bands: dict[tuple[bool, int], list[PortPosition]] = {}
    for slot in slots:
        bands.setdefault((slot.separate, slot.column // _COLUMNS), []).append(slot)
    return [bands[key] for key in sorted(bands)]


def _port_cell(site: Site, use: PortUse, words: str, cell: Box, link: FindHref) -> str:
    middle, width = cell.x + cell.width / 2, cell.width - 5
    printed = (use.item.printed or {}).get(use.id.name, use.id.printed)
    lines = [
        text_line(middle, cell.y + base, shorten(text, width, 9.5, end=True), 9.5, anchor="middle")
        for text, base in zip(port_destination(site, use), (50, 61), strict=False)
    ]
    inner = (
        title_element(words)
        + rect(cell, "thin grey on-paper")
        + text_line(middle, cell.y + 14, printed, 13, width=width, anchor="middle", bold=True)
        + port_symbol(use.state, Box(middle - 11, cell.y + 19, 22, 18))
        + "".join(lines)
    )
    return linked_port(use, inner, link)
