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

from asbuilt.drawings.dot_text import NodeLine, font_size, shorten_to_node
from asbuilt.drawings.graph import Graph, GraphCluster, GraphEdge, GraphNode
from asbuilt.drawings.text_metrics import text_width
from asbuilt.escape import html

_DIGITS: Final = 3  # of the number that each stand-in begins with
_WIDTH_STEP: Final = 3  # widths go up by so many figures
_DIGIT: Final = "0"

_PLACEHOLDER: Final = re.compile(r'(?<=>)\d+(?=</text>|</title>)|(?<= href=")\d+(?=")')
_ARIA_LABEL: Final = re.compile(r'(?<=aria-label=")[^"]*(?=")')


@dataclass(frozen=True, slots=True)
class GraphTexts:
    """What stand-ins stand for: the graph's name, and texts and addresses by their numbers."""

    graph_name: str
    texts: tuple[str, ...]


def with_placeholders(graph: Graph) -> tuple[Graph, GraphTexts]:
    """A graph with figures in place of its words, and the words."""
    texts: list[str] = []
    names: dict[str, str] = {}

    def named(name: str) -> str:
        return names.setdefault(name, str(len(names)))

    def word(text: str, bold: bool) -> str:
        shown, figures = _width_in_digits(text, bold)
        texts.append(shown)
        return _placeholder(len(texts) - 1, figures)

    def lines(given: tuple[NodeLine, ...]) -> tuple[NodeLine, ...]:
        found = []
        for text, bold, port, href in given:
            if href:
                texts.append(href)
                href = _placeholder(len(texts) - 1, _DIGITS)
            found.append(NodeLine(word(text, bold), bold, port, href))
        return tuple(found)

    def part(given: GraphNode | GraphCluster | GraphEdge) -> GraphNode | GraphCluster | GraphEdge:
        if isinstance(given, GraphNode):
            return box(given)
        if isinstance(given, GraphCluster):
            label = lines(given.label)
            return GraphCluster(named(f"frame {given.name}"), label, tuple(map(box, given.nodes)))
        words = tuple(word(text, bold=False) for text in given.texts)
        return GraphEdge(named(given.tail), named(given.head), words, given.dashed)

    def box(given: GraphNode) -> GraphNode:
        return GraphNode(named(given.name), lines(given.lines), given.dead_end)

    parts = tuple(map(part, graph.parts))
    return Graph("path", parts), GraphTexts(graph.name, tuple(texts))


@lru_cache(maxsize=2**13)
def _width_in_digits(text: str, bold: bool) -> tuple[str, int]:
    """A text as it is lettered, and how many figures are about as wide."""
    shown, size = shorten_to_node(text, bold) or " ", font_size(bold)
    wanted = text_width(shown, size, bold) / text_width(_DIGIT, size, bold)
    return shown, max(_DIGITS, math.ceil(wanted / _WIDTH_STEP) * _WIDTH_STEP)


@lru_cache(maxsize=2**13)
def _placeholder(number: int, figures: int) -> str:
    return f"{number:0{_DIGITS}}".ljust(figures, _DIGIT)


def fill_placeholders(svg: str, words: GraphTexts) -> str:
    """A drawing of stand-ins, with words in their places."""
    name = html(words.graph_name)
    return "".join(
        part
        if isinstance(part, str)
        else name
        if part == _NAME_POSITION
        else html(words.texts[part])
        for part in _split_at_placeholders(svg)
    )


_NAME_POSITION: Final = -1  # where the graph's name stands


@lru_cache(maxsize=256)  # each is filled many times, one after another
def _split_at_placeholders(svg: str) -> tuple[str | int, ...]:
    """A drawing as pieces, and between them the numbers of the words that belong there."""
    parts: list[str | int] = []
    before, *after = _ARIA_LABEL.split(svg, maxsplit=1)
    for place, text in enumerate((before, *after)):
        parts += [_NAME_POSITION] if place else []
        end = 0
        for match in _PLACEHOLDER.finditer(text):
            parts += [text[end : match.start()], int(match[0][:_DIGITS])]
            end = match.end()
        parts.append(text[end:])
    return tuple(parts)
