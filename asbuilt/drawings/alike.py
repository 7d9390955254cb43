"""Graphs that differ in their words only are laid out once.

Most outlets of a site hang on the same few switches: their paths have the same boxes and lines, and
words of about the same length. `stand_in` puts figures in place of all words and names, a few
widths instead of many; what is drawn of that is drawn for all that are alike, and `fill` puts
each one's own words back.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from asbuilt.drawings.dottext import Line, lettered, size_of
from asbuilt.drawings.graph import Box, Frame, Graph, Tie
from asbuilt.drawings.lettering import width_of
from asbuilt.escape import html

_DIGITS: Final = 3  # of the number that each stand-in begins with
_STEP: Final = 3  # widths go up by so many figures
_FIGURE: Final = "0"

_WORD: Final = re.compile(r'(?<=>)\d+(?=</text>|</title>)|(?<= href=")\d+(?=")')
_NAMED: Final = re.compile(r'(?<=aria-label=")[^"]*(?=")')


@dataclass(frozen=True, slots=True)
class Words:
    """What stand-ins stand for: the graph's name, and texts and addresses by their numbers."""

    name: str
    texts: tuple[str, ...]


def stand_in(graph: Graph) -> tuple[Graph, Words]:
    """A graph with figures in place of its words, and the words."""
    texts: list[str] = []
    names: dict[str, str] = {}

    def named(name: str) -> str:
        return names.setdefault(name, str(len(names)))

    def word(text: str, bold: bool) -> str:
        shown, figures = _measured(text, bold)
        texts.append(shown)
        return _token(len(texts) - 1, figures)

    def lines(given: tuple[Line, ...]) -> tuple[Line, ...]:
        found = []
        for text, bold, port, href in given:
            if href:
                texts.append(href)
                href = _token(len(texts) - 1, _DIGITS)
            found.append(Line(word(text, bold), bold, port, href))
        return tuple(found)

    def part(given: Box | Frame | Tie) -> Box | Frame | Tie:
        if isinstance(given, Box):
            return box(given)
        if isinstance(given, Frame):
            label = lines(given.label)
            return Frame(named(f"frame {given.name}"), label, tuple(map(box, given.boxes)))
        words = tuple(word(text, bold=False) for text in given.words)
        return Tie(named(given.tail), named(given.head), words, given.dashed)

    def box(given: Box) -> Box:
        return Box(named(given.name), lines(given.lines), given.ending)

    parts = tuple(map(part, graph.parts))
    return Graph("path", parts), Words(graph.name, tuple(texts))


@lru_cache(maxsize=2**13)
def _measured(text: str, bold: bool) -> tuple[str, int]:
    """A text as it is lettered, and how many figures are about as wide."""
    shown, size = lettered(text, bold) or " ", size_of(bold)
    wanted = width_of(shown, size, bold) / width_of(_FIGURE, size, bold)
    return shown, max(_DIGITS, math.ceil(wanted / _STEP) * _STEP)


@lru_cache(maxsize=2**13)
def _token(number: int, figures: int) -> str:
    return f"{number:0{_DIGITS}}".ljust(figures, _FIGURE)


def fill(svg: str, words: Words) -> str:
    """A drawing of stand-ins, with words in their places."""
    name = html(words.name)
    return "".join(
        part if isinstance(part, str) else name if part == _NAME else html(words.texts[part])
        for part in _taken_apart(svg)
    )


_NAME: Final = -1  # where the graph's name stands


@lru_cache(maxsize=256)  # each is filled many times, one after another
def _taken_apart(svg: str) -> tuple[str | int, ...]:
    """A drawing as pieces, and between them the numbers of the words that belong there."""
    parts: list[str | int] = []
    before, *after = _NAMED.split(svg, maxsplit=1)
    for place, text in enumerate((before, *after)):
        parts += [_NAME] if place else []
        end = 0
        for match in _WORD.finditer(text):
            parts += [text[end : match.start()], int(match[0][:_DIGITS])]
            end = match.end()
        parts.append(text[end:])
    return tuple(parts)
