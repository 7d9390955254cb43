"""Pictures for the demonstration, drawn by code where a real job would have photographs.

Line drawings of the front of a cabinet, of no make. Colours come from one palette and lines aren't
smoothed, so the same pixels come out everywhere.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from functools import cache
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from PIL.ImageDraw import ImageDraw

WIDTH: Final = 900
HEIGHT: Final = 675

PAPER, INK, METAL, DARK, LABEL, BLUE, RED, GREEN, YELLOW, GREY = range(10)
_PALETTE: Final = (
    (247, 245, 240),
    (35, 40, 48),
    (214, 218, 224),
    (96, 104, 116),
    (255, 255, 255),
    (44, 98, 168),
    (184, 52, 48),
    (46, 130, 84),
    (196, 150, 30),
    (150, 156, 166),
)
_CORDS: Final = (BLUE, GREY, RED, BLUE, GREEN, GREY, YELLOW)
_LEFT: Final = 150
_RIGHT: Final = 750
_PORTS: Final = 24
_PITCH: Final = (_RIGHT - _LEFT - 48) / _PORTS


@cache
def panel_as_found() -> bytes:
    """A panel without labels; long cords in loops over panel and switch."""
    return _png(_panel, False)


@cache
def panel_as_left() -> bytes:
    """The same, labelled; short cords, each straight down to its port."""
    return _png(_panel, True)


@cache
def ups_high() -> bytes:
    """The heaviest thing of the cabinet above everything else."""
    return _png(_tall, True)


@cache
def ups_low() -> bytes:
    """The heaviest thing at the bottom."""
    return _png(_tall, False)


@cache
def cords_across() -> bytes:
    """Cords of a panel hanging over the front of a recorder."""
    return _png(_recorder, True)


def _png(draw: Callable[[ImageDraw, bool], None], state: bool) -> bytes:
    from PIL import Image, ImageDraw  # the command as a whole starts without it

    picture = Image.new("P", (WIDTH, HEIGHT), PAPER)
    picture.putpalette([part for colour in _PALETTE for part in colour])
    draw(ImageDraw.Draw(picture), state)
    written = io.BytesIO()
    picture.save(written, "PNG", bits=4, optimize=True)
    return written.getvalue()


def _panel(pen: ImageDraw, tidy: bool) -> None:
    _frame(pen)
    _ports(pen, 150, labelled=tidy)
    _ports(pen, 430, labelled=False, active=True)
    taken = [n for n in range(_PORTS) if n not in (7, 21, 23)]
    for turn, port in enumerate(taken):
        colour = BLUE if tidy else _CORDS[turn % len(_CORDS)]
        start = (_port(port), 218)
        if tidy:
            _curve(pen, [start, (start[0], 300), (start[0], 380), (start[0], 462)], colour)
        else:
            far = _port((port * 11 + 5) % _PORTS)
            low = 470 + (port * 37) % 190
            side = start[0] + (port * 53) % 260 - 130
            _curve(pen, [start, (side, low + 60), (far + 90, low), (far, 462)], colour)


def _tall(pen: ImageDraw, high: bool) -> None:
    _frame(pen)
    top = 60 if high else 500
    pen.rectangle((_LEFT, top, _RIGHT, top + 120), METAL, INK, 4)
    for n in range(12):
        x = _LEFT + 60 + 24 * n
        pen.line((x, top + 28, x, top + 92), DARK, 5)
    pen.rectangle((_RIGHT - 160, top + 36, _RIGHT - 60, top + 84), DARK, INK, 3)
    pen.ellipse((_RIGHT - 44, top + 48, _RIGHT - 20, top + 72), GREEN, INK, 3)
    for y in (230, 340) if high else (80, 190):
        _ports(pen, y, labelled=not high)
    y = 450 if high else 300
    _ports(pen, y, labelled=False, active=True)


def _recorder(pen: ImageDraw, across: bool) -> None:
    _frame(pen)
    _ports(pen, 90, labelled=True)
    pen.rectangle((_LEFT, 300, _RIGHT, 450), METAL, INK, 4)
    pen.rectangle((_LEFT + 40, 330, _LEFT + 330, 420), LABEL, DARK, 4)
    pen.ellipse((_RIGHT - 120, 345, _RIGHT - 60, 405), DARK, INK, 3)
    _ports(pen, 540, labelled=False, active=True)
    for port in range(10 if across else 0):
        start, end = _port(2 * port), _port((2 * port + 7) % _PORTS)
        sway = (port * 47) % 120 - 60
        _curve(pen, [(start, 158), (start + sway, 360), (end + sway, 430), (end, 572)], GREY)


def _frame(pen: ImageDraw) -> None:
    pen.rectangle((70, 20, WIDTH - 70, HEIGHT - 20), PAPER, INK, 6)
    for x in (_LEFT - 36, _RIGHT + 8):
        pen.rectangle((x, 30, x + 28, HEIGHT - 30), METAL, DARK, 3)
        for y in range(50, HEIGHT - 40, 26):
            pen.rectangle((x + 10, y, x + 18, y + 8), DARK)


def _ports(pen: ImageDraw, y: int, *, labelled: bool, active: bool = False) -> None:
    """A row of ports; `active` equipment has its lamps above them."""
    pen.rectangle((_LEFT, y, _RIGHT, y + 90), DARK if active else METAL, INK, 4)
    if labelled:
        pen.rectangle((_LEFT + 20, y + 10, _RIGHT - 20, y + 36), LABEL, INK, 2)
    for n in range(_PORTS):
        x = _port(n)
        if labelled:
            pen.line((x - 6, y + 20, x + 6, y + 20), INK, 3)
            pen.line((x - 4, y + 27, x + 4, y + 27), GREY, 3)
        elif active:
            pen.rectangle((x - 3, y + 20, x + 3, y + 26), GREEN)
        pen.rectangle((x - 8, y + 48, x + 8, y + 72), INK)


def _port(number: int) -> int:
    return round(_LEFT + 24 + (number + 0.5) * _PITCH)


def _curve(pen: ImageDraw, through: Sequence[tuple[int, int]], colour: int) -> None:
    """A Bézier curve with plugs at its ends; in whole numbers, so the same anywhere."""
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = through
    steps = 48
    points = []
    for t in range(steps + 1):
        u = steps - t
        parts = (u**3, 3 * u * u * t, 3 * u * t * t, t**3)
        x = sum(w * v for w, v in zip(parts, (ax, bx, cx, dx), strict=True)) // steps**3
        y = sum(w * v for w, v in zip(parts, (ay, by, cy, dy), strict=True)) // steps**3
        points.append((x, y))
    pen.line(points, INK, 9, joint="curve")
    pen.line(points, colour, 5, joint="curve")
    for x, y in (through[0], through[-1]):
        pen.rectangle((x - 7, y - 14, x + 7, y + 10), LABEL, INK, 2)
