"""A label in its place, as marks: text, filled areas, lines. What doesn't fit is said."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final, TypeAlias

from asbuilt.drawings.text_metrics import shorten, text_width
from asbuilt.labels.qr_codes import MIN_MODULE, QUIET_ZONE, QrCode, qr_code_of
from asbuilt.labels.sheet import LabelCell, LabelSheet
from asbuilt.labels.texts import Label
from asbuilt.labels.wraps import MIN_BAND, printed_band, wrap_length

#: Sizes of lettering: the least that is read without a glass, the most a label needs (common
#: practice).
MIN_TEXT: Final = 1.8
MAX_TEXT: Final = 9.0
_LATER_LINE_SHARE: Final = 0.62  # the lines below the first
_LINE_SPACING: Final = 1.2
_PADDING: Final = 1.0


@dataclass(frozen=True, slots=True)
class PrintedText:
    """`x` and `y` are where its baseline begins; `size` is the height of the face."""

    x: float
    y: float
    size: float
    text: str
    bold: bool


@dataclass(frozen=True, slots=True)
class FilledArea:
    """Filled rectangles that belong together: (x, y, width, height)."""

    rectangles: tuple[tuple[float, float, float, float], ...]


@dataclass(frozen=True, slots=True)
class LabelOutline:
    """The edge of a label, for a trial on plain paper."""

    cell: LabelCell


PrintElement: TypeAlias = PrintedText | FilledArea | LabelOutline


@dataclass(frozen=True, slots=True)
class PrintPage:
    width: float
    height: float
    elements: tuple[PrintElement, ...]


@dataclass(slots=True)
class PrintLayout:
    """Sheets full of labels, and what of them wouldn't fit or read well."""

    pages: list[PrintPage] = field(default_factory=list)
    notices: list[str] = field(default_factory=list)


def lay_out_labels(
    labels: Sequence[tuple[Label, str | None]],
    sheet: LabelSheet,
    skip: int = 0,
    outlines: bool = False,
) -> PrintLayout:
    """Labels, each with the address its code opens, on as many sheets as they need; `skip` places
    of the first sheet are used already."""
    printed = PrintLayout()
    on_sheet: dict[int, list[PrintElement]] = {}
    odd: dict[str, list[str]] = {}
    for number, (label, address) in enumerate(labels, start=skip):
        at, cell = sheet.cell_of(number)
        marks = on_sheet.setdefault(at, [])
        if outlines:
            marks.append(LabelOutline(cell))
        marks += _label(label, address, cell, odd)
    for at in sorted(on_sheet):
        printed.pages.append(PrintPage(sheet.width, sheet.height, tuple(on_sheet[at])))
    printed.notices += [notice(what, names) for what, names in odd.items()]
    return printed


def notice(what: str, names: Sequence[str]) -> str:
    """What is the matter, and with which; of many the first."""
    named = ", ".join(dict.fromkeys(names[:5]))
    return f"{what}: {named}{f' and {len(names) - 5} more' if len(names) > 5 else ''}"


def qr_code_area(code: QrCode, x: float, y: float, module: float) -> FilledArea:
    """A code, its quiet zone's corner at (x, y), drawn in modules of this size."""
    left, top = x + QUIET_ZONE * module, y + QUIET_ZONE * module
    return FilledArea(
        tuple(
            (left + c * module, top + r * module, n * module, module) for r, c, n in code.dark_runs
        )
    )


def fit_text(text: str, size: float, width: float, bold: bool) -> tuple[float, str]:
    """The size, made smaller as far as it can be read, at which a text fits a width; and the text,
    cut where it doesn't even then."""
    wide = text_width(text, size, bold)
    if wide > width:
        size = max(MIN_TEXT, size * width / wide)
    return size, shorten(text, width + 1e-6, size, bold)


def _label(
    label: Label, address: str | None, cell: LabelCell, odd: dict[str, list[str]]
) -> Iterator[PrintElement]:
    band = cell
    if label.cable_diameter is not None:
        height = printed_band(cell.height, label.cable_diameter)
        if height < MIN_BAND:
            needed = wrap_length(label.cable_diameter, MIN_BAND)
            what = f"labels of {cell.height:.1f} mm don't go around a cable of "
            what += f"{label.cable_diameter:g} mm and cover "
            what += f"{MIN_BAND:g} mm of print, {needed:.1f} mm would"
            odd.setdefault(what, []).append(label.lines[0])
            height = min(MIN_BAND, cell.height)
        band = LabelCell(cell.x, cell.y, cell.width, height)
    left = band.x + _PADDING
    if address is not None:
        code = qr_code_of(address)
        side = min(band.height, band.width * 0.45)
        module = side / code.size_with_quiet_zone
        if module < MIN_MODULE:
            what = f"codes of {side:.1f} mm are too small to read: their modules have "
            what += f"{module:.2f} mm, {MIN_MODULE:g} mm is the least"
            odd.setdefault(what, []).append(label.lines[0])
        yield qr_code_area(code, band.x, band.y + (band.height - side) / 2, module)
        left = band.x + side
    yield from _label_lines(label.lines, left, band, odd)


def _label_lines(
    lines: Sequence[str], left: float, band: LabelCell, odd: dict[str, list[str]]
) -> Iterator[PrintElement]:
    """The lines below each other, each as large as there is room for; fewer where not all fit."""
    width = band.x + band.width - _PADDING - left
    height = band.height - 2 * _PADDING
    shares = [1.0, *(_LATER_LINE_SHARE for _ in lines[1:])]
    while len(shares) > 1 and height / (_LINE_SPACING * sum(shares)) * _LATER_LINE_SHARE < MIN_TEXT:
        shares.pop()
        what = f"labels of {band.height:.1f} mm have no room for their last line"
        odd.setdefault(what, []).append(lines[0])
    full = min(MAX_TEXT, height / (_LINE_SPACING * sum(shares)))
    sizes: list[float] = []
    texts: list[str] = []
    for text, share in zip(lines, shares, strict=False):
        bold = not sizes
        one = " ".join(text.split())
        size, shown = fit_text(one, full * share, width, bold)
        if shown != one:
            odd.setdefault("texts cut, too long for their labels", []).append(one)
        sizes.append(size)
        texts.append(shown)
    y = band.y + (band.height - _LINE_SPACING * sum(sizes)) / 2
    for number, (text, size) in enumerate(zip(texts, sizes, strict=True)):
        y += _LINE_SPACING * size
        yield PrintedText(left, y - 0.3 * size, size, text, bold=number == 0)
