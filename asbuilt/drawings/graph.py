"""A graph as values, so that two can be compared before either is drawn: boxes with lines in them,
frames around boxes, ties between."""

from __future__ import annotations

from typing import NamedTuple

from asbuilt.drawings.dottext import Line, cluster, digraph, edge, node


class Box(NamedTuple):
    """`ending` where a path ends that should go on."""

    name: str
    lines: tuple[Line, ...]
    ending: bool = False


class Frame(NamedTuple):
    name: str
    label: tuple[Line, ...]
    boxes: tuple[Box, ...]


class Tie(NamedTuple):
    """A line between two boxes, by their names, with its words."""

    tail: str
    head: str
    words: tuple[str, ...] = ()
    dashed: bool = False


class Graph(NamedTuple):
    """`name` is what a screen reader says."""

    name: str
    parts: tuple[Box | Frame | Tie, ...]


def dot_of(graph: Graph) -> str:
    """A graph from left to right, for Graphviz."""
    return digraph(graph.name, map(_part, graph.parts), "LR", ranksep=0.3)


def _part(part: Box | Frame | Tie) -> str:
    if isinstance(part, Box):
        return node(part.name, part.lines, dashed=part.ending, accent=part.ending)
    if isinstance(part, Frame):
        return cluster(part.name, part.label, map(_part, part.boxes), dashed=True)
    style = {"style": "dashed"} if part.dashed else {}
    return edge(part.tail, part.head, part.words, **style)
