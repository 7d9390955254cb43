"""A graph as values, so that two can be compared before either is drawn: boxes with lines in them,
frames around boxes, ties between."""

from __future__ import annotations

from typing import NamedTuple

from asbuilt.drawings.dot_text import NodeLine, cluster, digraph, edge, node


class GraphNode(NamedTuple):
    """`ending` where a path ends that should go on."""

    name: str
    lines: tuple[NodeLine, ...]
    dead_end: bool = False


class GraphCluster(NamedTuple):
    name: str
    label: tuple[NodeLine, ...]
    nodes: tuple[GraphNode, ...]


class GraphEdge(NamedTuple):
    """A line between two boxes, by their names, with its words."""

    tail: str
    head: str
    texts: tuple[str, ...] = ()
    dashed: bool = False


class Graph(NamedTuple):
    """`name` is what a screen reader says."""

    name: str
    parts: tuple[GraphNode | GraphCluster | GraphEdge, ...]


def dot_of(graph: Graph) -> str:
    """A graph from left to right, for Graphviz."""
    return digraph(graph.name, map(_dot_of_part, graph.parts), "LR", ranksep=0.3)


def _dot_of_part(part: GraphNode | GraphCluster | GraphEdge) -> str:
    if isinstance(part, GraphNode):
        return node(part.name, part.lines, dashed=part.dead_end, accent=part.dead_end)
    if isinstance(part, GraphCluster):
        return cluster(part.name, part.label, map(_dot_of_part, part.nodes), dashed=True)
    style = {"style": "dashed"} if part.dashed else {}
    return edge(part.tail, part.head, part.texts, **style)
