"""The strokes our own drawings are made of: SVG elements as text. Lengths are in millimetres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

from asbuilt.drawings.text_metrics import shorten
from asbuilt.escape import html


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle by its upper left corner; y runs down the sheet."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        return self.x + self.width

    @property
    def bottom(self) -> float:
        return self.y + self.height

    @property
    def centre_y(self) -> float:
        return self.y + self.height / 2

    def inset(self, dx: float, dy: float = 0) -> Box:
        return Box(self.x + dx, self.y + dy, self.width - 2 * dx, self.height - 2 * dy)

    def overlaps(self, other: Box) -> bool:
        """Whether the two share more than an edge."""
        apart = (
            self.right <= other.x
            or other.right <= self.x
            or self.bottom <= other.y
            or other.bottom <= self.y
        )
        return not apart


@lru_cache(maxsize=2**14)
def coordinate(value: float) -> str:
    """A coordinate to a hundredth, without what says nothing."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def rect(box: Box, names: str, extra: str = "") -> str:
    return (
        f'<rect x="{coordinate(box.x)}" y="{coordinate(box.y)}" width="{coordinate(box.width)}" '
        f'height="{coordinate(box.height)}" class="{names}"{extra}/>'
    )


def line(x1: float, y1: float, x2: float, y2: float, names: str) -> str:
    return path(f"M{coordinate(x1)} {coordinate(y1)}L{coordinate(x2)} {coordinate(y2)}", names)


def path(data: str, names: str) -> str:
    return f'<path d="{data}" class="{names}"/>'


def polygon(points: Sequence[tuple[float, float]], names: str) -> str:
    steps = "L".join(f"{coordinate(x)} {coordinate(y)}" for x, y in points)
    return path(f"M{steps}Z", names)


def circle(x: float, y: float, radius: float, names: str) -> str:
    return (
        f'<circle cx="{coordinate(x)}" cy="{coordinate(y)}" r="{coordinate(radius)}" '
        f'class="{names}"/>'
    )


def text_line(
    x: float,
    y: float,
    text: str,
    size: float,
    *,
    width: float | None = None,
    names: str = "",
    anchor: str = "start",
    bold: bool = False,
) -> str:
    """`text` on one line with its baseline at y, cut where it is wider than `width`."""
    shown = text if width is None else shorten(text, width, size, bold)
    if not shown:
        return ""
    classes = " ".join(name for name in (names, "bold" if bold else "") if name)
    return (
        f'<text x="{coordinate(x)}" y="{coordinate(y)}" font-size="{coordinate(size)}"'
        + (f' class="{classes}"' if classes else "")
        + (f' text-anchor="{anchor}"' if anchor != "start" else "")
        + f">{html(shown)}</text>"
    )


def title_element(text: str) -> str:
    """What a pointer shows and a screen reader says of the element it stands in first."""
    return f"<title>{html(text)}</title>"


def linked(href: str | None, inner: str, names: str = "", extra: str = "") -> str:
    """`inner` as one thing, a link when there is somewhere to go; `extra` are attributes."""
    attributes = (f' class="{names}"' if names else "") + extra
    if href is None:
        return f"<g{attributes}>{inner}</g>"
    return f'<a href="{html(href)}"{attributes}>{inner}</a>'
