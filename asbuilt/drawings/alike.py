"""Graphs that differ in their words only are laid out once.

Most outlets of a site hang on the same few switches: their paths have the same boxes and lines, and
words of about the same length. `stand_in` puts figures in place of all words and names, a few
widths instead of many; what is drawn of that is drawn for all that are alike, and `fill` puts
each one's own words back.
"""

from __future__ import annotations

import html as entities
import math
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from asbuilt.drawings.dottext import SMALL
from asbuilt.drawings.lettering import width_of
from asbuilt.escape import html

_DIGITS: Final = 3  # of the number that each stand-in begins with
_STEP: Final = 3  # widths go up by so many figures
_FIGURE: Final = "0"
_BOLD: Final = 12  # the size of bold words

_PART: Final = re.compile(
    r'(?P<graph>^digraph "(?:[^"\\]|\\.)*")'
    r'|(?P<name>(?:^ *(?:subgraph )?|-> )"(?:[^"\\]|\\.)*")'
    r'| HREF="(?P<href>[^"]*)" TITLE="[^"]*"><(?P<linked>B|FONT[^>]*)>(?P<title>[^<]*)<'
    r"|<(?P<mark>B|FONT[^>]*)>(?P<text>[^<]*)<",
    re.MULTILINE,
)
_WORD: Final = re.compile(r'(?<=>)\d+(?=</text>|</title>)|(?<= href=")\d+(?=")')
_NAMED: Final = re.compile(r'(?<=aria-label=")[^"]*(?=")')


@dataclass(frozen=True, slots=True)
class Words:
    """What stand-ins stand for: the graph's name, and texts and addresses by their numbers."""

    name: str
    texts: tuple[str, ...]


def stand_in(dot: str) -> tuple[str, Words]:
    """A graph with figures in place of its words, and the words."""
    texts: list[str] = []
    names: dict[str, str] = {}
    graph: list[str] = []

    def token(text: str, mark: str) -> str:
        texts.append(_plain(text))
        return f"{len(texts) - 1:0{_DIGITS}}".ljust(_figures(texts[-1], mark == "B"), _FIGURE)

    def replace(match: re.Match[str]) -> str:
        if match["graph"]:
            graph.append(match["graph"].partition('"')[2][:-1])
            return 'digraph "path"'
        if match["name"]:
            before, _, name = match["name"].partition('"')
            kind = "cluster " if name.startswith("cluster ") else ""
            return f'{before}"{kind}{names.setdefault(name, str(len(names)))}"'
        if match["linked"]:
            texts.append(_plain(match["href"]))
            address = f"{len(texts) - 1:0{_DIGITS}}"
            word = token(match["title"], match["linked"])
            return f' HREF="{address}" TITLE="{word}"><{match["linked"]}>{word}<'
        return f"<{match['mark']}>{token(match['text'], match['mark'])}<"

    alike = _PART.sub(replace, dot)
    name = re.sub(r"\\(.)", r"\1", graph[0]) if graph else ""
    return alike, Words(name, tuple(texts))


@lru_cache(maxsize=2**13)
def _figures(text: str, bold: bool) -> int:
    """How many figures are about as wide as a text."""
    size = _BOLD if bold else SMALL
    wanted = width_of(text, size, bold) / width_of(_FIGURE, size, bold)
    return max(_DIGITS, math.ceil(wanted / _STEP) * _STEP)


@lru_cache(maxsize=2**13)
def _plain(text: str) -> str:
    """What `escape.dot` was given."""
    return entities.unescape(text.replace("\\\\", "\\"))


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
