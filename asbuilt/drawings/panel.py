"""The ports of one panel, switch, router or device at large."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from asbuilt.drawings.ink import Box, lettering, rect, told
from asbuilt.drawings.lettering import shorten
from asbuilt.drawings.ports import (
    LEGEND_ROW,
    Slot,
    draw_legend,
    linked_port,
    port_sign,
    slots_of,
)
from asbuilt.drawings.sheet import Link, no_link, svg
from asbuilt.model.describe import item_name, item_words, port_ends, port_words
from asbuilt.model.site import PortUse, Site
from asbuilt.records.enclosures import PortedItem

_COLUMNS: Final = 12
_CELL: Final = Box(0, 0, 46, 66)


def draw_panel(site: Site, item_key: str, *, link: Link = no_link) -> str:
    """The face of one panel, switch, router or device at large, as SVG text: a cell a port, with
    its number, the sign of its state, and in two lines what it leads to.

    A row of more than a dozen ports goes on below, so that it can be read on a phone.
    """
    item = site.items[item_key]
    assert isinstance(item, PortedItem)
    uses = {use.id.name: use for use in site.ports_of(item)}
    words = {name: port_words(site, use) for name, use in uses.items()}
    drawn = []
    top = 0.0
    for band in _bands(slots_of(item)):
        rows = sorted({slot.row for slot in band})
        for slot in band:
            x = _CELL.width * (slot.column % _COLUMNS)
            y = top + _CELL.height * rows.index(slot.row)
            cell = Box(x, y, _CELL.width, _CELL.height)
            drawn.append(_cell(site, uses[slot.name], words[slot.name], cell, link))
        top += _CELL.height * len(rows) + 10
    width = _COLUMNS * _CELL.width
    legend = Box(0, top + 4, width, 2 * LEGEND_ROW)
    drawn.append(draw_legend(uses.values(), legend, marked=False))
    paper = Box(0, 0, width, legend.bottom).inset(-8, -8)
    heading = f"Face of {item_key}"
    description = f"{item_name(item)}, {item_words(item)}. {'; '.join(words.values())}."
    return svg(f"face-{item_key}", paper, "".join(drawn), heading, description)


def _bands(slots: Sequence[Slot]) -> list[list[Slot]]:
    """The slots by the dozen columns, those that stand apart in bands of their own."""
    bands: dict[tuple[bool, int], list[Slot]] = {}
    for slot in slots:
        bands.setdefault((slot.apart, slot.column // _COLUMNS), []).append(slot)
    return [bands[key] for key in sorted(bands)]


def _cell(site: Site, use: PortUse, words: str, cell: Box, link: Link) -> str:
    middle, width = cell.x + cell.width / 2, cell.width - 5
    printed = (use.item.printed or {}).get(use.id.name, use.id.printed)
    lines = [
        lettering(middle, cell.y + base, shorten(text, width, 9.5, end=True), 9.5, anchor="middle")
        for text, base in zip(port_ends(site, use), (50, 61), strict=False)
    ]
    inner = (
        told(words)
        + rect(cell, "thin grey on-paper")
        + lettering(middle, cell.y + 14, printed, 13, width=width, anchor="middle", bold=True)
        + port_sign(use.state, Box(middle - 11, cell.y + 19, 22, 18))
        + "".join(lines)
    )
    return linked_port(use, inner, link)
