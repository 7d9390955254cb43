"""Strips for the faces of panels: a cell a port, as wide as the ports stand apart. Millimetres.

A strip is one row of a panel's ports. Where a page is too narrow it comes in pieces that are cut
out and put next to each other; the code, which opens the panel's page, goes beside the strip.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from asbuilt.drawings.port_symbols import PortPosition, port_positions
from asbuilt.drawings.text_metrics import text_width
from asbuilt.labels.layout import (
    MIN_TEXT,
    LabelOutline,
    PrintedText,
    PrintElement,
    PrintLayout,
    PrintPage,
    fit_text,
    notice,
    qr_code_area,
)
from asbuilt.labels.qr_codes import MIN_MODULE, qr_code_of
from asbuilt.labels.sheet import LabelCell
from asbuilt.model.site import PortUse, Site, natural
from asbuilt.records.enclosures import Panel

#: How far ports stand apart where no record says it: 24 in a row of a 19-inch panel (common
#: practice). Panels differ: measure.
DEFAULT_PITCH: Final = 17.5
MIN_PITCH: Final = 5.0
#: How high the holders of strips are (common practice).
DEFAULT_HEIGHT: Final = 10.0
_MAX_TEXT: Final = 4.0
_PADDING: Final = 0.6
_LINE_SPACING: Final = 1.2
_CAPTION_SIZE: Final = 2.4
_GAP: Final = 4.0
_CODE_GAP: Final = 2.0  # between a code and its strip: somewhere to cut
_CODE_MODULE: Final = max(0.3, MIN_MODULE)  # mm, a module of its code


@dataclass(frozen=True, slots=True)
class LabelStrip:
    """One row of a panel's ports. `cells` are in the order in which they stand: what is printed
    over the port, and what is behind it; `pitch` is None where no record says it."""

    panel_key: str
    row: int
    title: str
    pitch: float | None
    cells: tuple[tuple[str, ...], ...]


def label_strips(site: Site) -> tuple[LabelStrip, ...]:
    """A strip for each row of ports of each panel, in the order of their keys."""
    panels = [item for item in site.items.values() if isinstance(item, Panel)]
    made: list[LabelStrip] = []
    for panel in sorted(panels, key=lambda one: natural(one.key)):
        uses = {use.id.name: use for use in site.ports_of(panel)}
        rows: dict[int, list[PortPosition]] = {}
        for slot in port_positions(panel):
            rows.setdefault(slot.row, []).append(slot)
        pitch = panel.pitch.to("mm") if panel.pitch else None
        for row, slots in sorted(rows.items()):
            along = sorted(slots, key=lambda slot: slot.column)
            cells = tuple(tuple(_cell_lines(site, uses[slot.name])) for slot in along)
            made.append(
                LabelStrip(panel.key, row, f"{panel.enclosure}/{panel.title}", pitch, cells)
            )
    return tuple(made)


def _cell_lines(site: Site, use: PortUse) -> Iterator[str]:
    yield (use.item.printed or {}).get(use.id.name, use.id.printed)
    links = [site.panel_label_of(outlet) for outlet in use.outlets if outlet.state != "abandoned"]
    links += [one.label or one.key for one in use.backbones if one.state != "abandoned"]
    if links:
        yield ", ".join(links)


def outdated_strips(
    now: Iterable[LabelStrip], before: Iterable[LabelStrip]
) -> tuple[LabelStrip, ...]:
    """Those of `now` that weren't so before: what has to be printed again."""
    known = set(before)
    return tuple(strip for strip in now if strip not in known)


def lay_out_strips(
    strips: Sequence[LabelStrip],
    paper: tuple[float, float],
    margins: tuple[float, float],
    *,
    height: float = DEFAULT_HEIGHT,
    pitch: float = DEFAULT_PITCH,
    addresses: Mapping[str, str] | None = None,
) -> PrintLayout:
    """Strips below each other at true size, on as many pages of `paper` as they need; `pitch` is
    for panels whose record says none, `addresses` are what codes open, by panel."""
    addresses = addresses or {}
    printed = PrintLayout()
    cut: list[str] = []
    assumed = list(dict.fromkeys(strip.panel_key for strip in strips if strip.pitch is None))
    marks: list[PrintElement] = []
    y = margins[1]
    sides = [
        qr_code_of(address).size_with_quiet_zone * _CODE_MODULE for address in addresses.values()
    ]
    left = margins[0] + (max(sides) + _CODE_GAP if sides else 0)
    for strip in strips:
        apart = strip.pitch or pitch
        for number, cells in enumerate(_split_to_width(strip, paper[0] - margins[0] - left, apart)):
            address = addresses.get(strip.panel_key) if number == 0 else None
            side = qr_code_of(address).size_with_quiet_zone * _CODE_MODULE if address else 0.0
            tall = _LINE_SPACING * _CAPTION_SIZE + max(height, side)
            if y + tall > paper[1] - margins[1] and marks:
                printed.pages.append(PrintPage(*paper, tuple(marks)))
                marks, y = [], margins[1]
            marks.append(
                PrintedText(left, y + _CAPTION_SIZE, _CAPTION_SIZE, _caption(strip, cells), False)
            )
            top = y + _LINE_SPACING * _CAPTION_SIZE
            if address:
                marks.append(qr_code_area(qr_code_of(address), margins[0], top, _CODE_MODULE))
            for at, cell in enumerate(cells):
                place = LabelCell(left + at * apart, top, apart, height)
                marks.append(LabelOutline(place))
                marks += _cell_text(cell, place, f"{strip.title} {cell[0]}", cut)
            y += tall + _GAP
    if marks:
        printed.pages.append(PrintPage(*paper, tuple(marks)))
    if assumed:
        told = f"ports taken to stand {pitch:g} mm apart, since the records don’t say how far; "
        printed.notices.append(notice(f"{told}measure, and record it as “pitch”", assumed))
    if cut:
        printed.notices.append(notice("texts cut, too long for their cells", cut))
    return printed


def strip_layout_error(
    strips: Iterable[LabelStrip],
    paper: tuple[float, float],
    margins: tuple[float, float],
    height: float,
    pitch: float,
) -> str | None:
    """Why no strips fit so, if they don't."""
    least = _LINE_SPACING * MIN_TEXT * 2 + 2 * _PADDING
    if height < least:
        return f"strips of {height:g} mm have no room for two lines; {least:.1f} mm is the least"
    if paper[1] < 2 * margins[1] + 60 or paper[0] < 2 * margins[0] + 60:
        return "a page for strips leaves 60 mm either way between its margins at least"
    if height > paper[1] - 2 * margins[1] - 10:
        return f"strips of {height:g} mm are higher than the page"
    for apart, whose in ((pitch, "--pitch"), *((s.pitch, s.panel_key) for s in strips if s.pitch)):
        if not MIN_PITCH <= apart <= 40:
            return f"{whose}: ports {apart:g} mm apart; {MIN_PITCH:g} to 40 mm is what there is"
    return None


def _split_to_width(
    strip: LabelStrip, width: float, pitch: float
) -> Iterator[tuple[tuple[str, ...], ...]]:
    """The strip in as few pieces as fit the width, as even as can be."""
    most = max(1, int((width + 1e-6) // pitch))
    pieces = -(-len(strip.cells) // most)
    size = -(-len(strip.cells) // pieces)
    for first in range(0, len(strip.cells), size):
        yield strip.cells[first : first + size]


def _caption(strip: LabelStrip, cells: Sequence[tuple[str, ...]]) -> str:
    return f"{strip.title}, ports {cells[0][0]}–{cells[-1][0]}"


def _cell_text(
    cell: Sequence[str], place: LabelCell, name: str, cut: list[str]
) -> Iterator[PrintedText]:
    """The port's number above what is behind it, each in the middle of its cell."""
    width = place.width - 2 * _PADDING
    room = (place.height - 2 * _PADDING) / 2
    for number, text in enumerate(cell):
        one = " ".join(text.split())
        bold = number == 1
        size = min(_MAX_TEXT if bold else 0.7 * _MAX_TEXT, room / _LINE_SPACING)
        size, shown = fit_text(one, max(size, MIN_TEXT), width, bold)
        if shown != one:
            cut.append(f"{name}, {one}")
        x = place.x + (place.width - min(width, text_width(shown, size, bold))) / 2
        middle = place.y + _PADDING + (number + 0.5) * room
        yield PrintedText(x, middle + 0.35 * size, size, shown, bold)
