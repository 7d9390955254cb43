"""A label in its place, as marks: text, filled areas, lines. What doesn't fit is said."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final, TypeAlias

from asbuilt.drawings.lettering import shorten, width_of
from asbuilt.labels.codes import LEAST_MODULE, QUIET, Code, code_of
from asbuilt.labels.sheet import Cell, Sheet
from asbuilt.labels.texts import Label
from asbuilt.labels.wraps import LEAST_BAND, printed_band, wrap_length

#: Sizes of lettering: the least that is read without a glass, the most a label needs (common
#: practice).
LEAST_TEXT: Final = 1.8
MOST_TEXT: Final = 9.0
_SMALLER: Final = 0.62  # the lines below the first
_LINE: Final = 1.2
_PAD: Final = 1.0


@dataclass(frozen=True, slots=True)
class Text:
    """`x` and `y` are where its baseline begins; `size` is the height of the face."""

    x: float
    y: float
    size: float
    text: str
    bold: bool


@dataclass(frozen=True, slots=True)
class Area:
    """Filled rectangles that belong together: (x, y, width, height)."""

    parts: tuple[tuple[float, float, float, float], ...]


@dataclass(frozen=True, slots=True)
class Outline:
    """The edge of a label, for a trial on plain paper."""

    cell: Cell


Mark: TypeAlias = Text | Area | Outline


@dataclass(frozen=True, slots=True)
class Page:
    width: float
    height: float
    marks: tuple[Mark, ...]


@dataclass(slots=True)
class Printed:
    """Sheets full of labels, and what of them wouldn't fit or read well."""

    pages: list[Page] = field(default_factory=list)
    notices: list[str] = field(default_factory=list)


def lay_out(
    labels: Sequence[tuple[Label, str | None]], sheet: Sheet, skip: int = 0, outlines: bool = False
) -> Printed:
    """Labels, each with the address its code opens, on as many sheets as they need; `skip` places
    of the first sheet are used already."""
    printed = Printed()
    on_sheet: dict[int, list[Mark]] = {}
    odd: dict[str, list[str]] = {}
    for number, (label, address) in enumerate(labels, start=skip):
        at, cell = sheet.place(number)
        marks = on_sheet.setdefault(at, [])
        if outlines:
            marks.append(Outline(cell))
        marks += _label(label, address, cell, odd)
    for at in sorted(on_sheet):
        printed.pages.append(Page(sheet.width, sheet.height, tuple(on_sheet[at])))
    printed.notices += [notice(what, names) for what, names in odd.items()]
    return printed


def notice(what: str, names: Sequence[str]) -> str:
    """What is the matter, and with which; of many the first."""
    named = ", ".join(dict.fromkeys(names[:5]))
    return f"{what}: {named}{f' and {len(names) - 5} more' if len(names) > 5 else ''}"


def area_of(code: Code, x: float, y: float, module: float) -> Area:
    """A code, its quiet zone's corner at (x, y), drawn in modules of this size."""
    left, top = x + QUIET * module, y + QUIET * module
    return Area(
        tuple((left + c * module, top + r * module, n * module, module) for r, c, n in code.runs)
    )


def fitted(text: str, size: float, width: float, bold: bool) -> tuple[float, str]:
    """The size, made smaller as far as it can be read, at which a text fits a width; and the text,
    cut where it doesn't even then."""
    wide = width_of(text, size, bold)
    if wide > width:
        size = max(LEAST_TEXT, size * width / wide)
    return size, shorten(text, width + 1e-6, size, bold)


def _label(
    label: Label, address: str | None, cell: Cell, odd: dict[str, list[str]]
) -> Iterator[Mark]:
    band = cell
    if label.around is not None:
        height = printed_band(cell.height, label.around)
        if height < LEAST_BAND:
            needed = wrap_length(label.around, LEAST_BAND)
            what = f"labels of {cell.height:.1f} mm don't go around a cable of {label.around:g} mm "
            what += f"and cover {LEAST_BAND:g} mm of print, {needed:.1f} mm would"
            odd.setdefault(what, []).append(label.lines[0])
            height = min(LEAST_BAND, cell.height)
        band = Cell(cell.x, cell.y, cell.width, height)
    left = band.x + _PAD
    if address is not None:
        code = code_of(address)
        side = min(band.height, band.width * 0.45)
        module = side / code.side
        if module < LEAST_MODULE:
            what = f"codes of {side:.1f} mm are too small to read: their modules have "
            what += f"{module:.2f} mm, {LEAST_MODULE:g} mm is the least"
            odd.setdefault(what, []).append(label.lines[0])
        yield area_of(code, band.x, band.y + (band.height - side) / 2, module)
        left = band.x + side
    yield from _lettering(label.lines, left, band, odd)


def _lettering(
    lines: Sequence[str], left: float, band: Cell, odd: dict[str, list[str]]
) -> Iterator[Mark]:
    """The lines below each other, each as large as there is room for; fewer where not all fit."""
    width = band.x + band.width - _PAD - left
    height = band.height - 2 * _PAD
    shares = [1.0, *(_SMALLER for _ in lines[1:])]
    while len(shares) > 1 and height / (_LINE * sum(shares)) * _SMALLER < LEAST_TEXT:
        shares.pop()
        what = f"labels of {band.height:.1f} mm have no room for their last line"
        odd.setdefault(what, []).append(lines[0])
    full = min(MOST_TEXT, height / (_LINE * sum(shares)))
    sizes: list[float] = []
    texts: list[str] = []
    for text, share in zip(lines, shares, strict=False):
        bold = not sizes
        one = " ".join(text.split())
        size, shown = fitted(one, full * share, width, bold)
        if shown != one:
            odd.setdefault("texts cut, too long for their labels", []).append(one)
        sizes.append(size)
        texts.append(shown)
    y = band.y + (band.height - _LINE * sum(sizes)) / 2
    for number, (text, size) in enumerate(zip(texts, sizes, strict=True)):
        y += _LINE * size
        yield Text(left, y - 0.3 * size, size, text, bold=number == 0)
