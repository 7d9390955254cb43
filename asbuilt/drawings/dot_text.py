"""The text of graphs for Graphviz: nodes are HTML-like tables, lines are polylines.

One typeface, since a list of them falls back to other metrics; no ids, no styles: what a graph
looks like on a page is settled where it is rendered (asbuilt/io/graphviz.py).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import NamedTuple

from asbuilt.drawings.sheet import COLOURS
from asbuilt.drawings.text_metrics import shorten
from asbuilt.escape import dot as escaped

_INK, _PAPER = COLOURS["ink"], COLOURS["paper"]
SMALL_SIZE = 10
_LARGE_SIZE = 12
_MAX_LINE_WIDTH = 640  # points a line may be wide; of a longer one the page says all
_BORDERLESS = 'BORDER="0" CELLPADDING="1"'


class NodeLine(NamedTuple):
    """One line of a node: its text, a port for edges to end at, and where it leads."""

    text: str
    bold: bool = False
    port: str = ""
    href: str | None = None


def digraph(name: str, body: Iterable[str], rankdir: str, ranksep: float = 0.5) -> str:
    """A whole graph. `name` is what a screen reader says; it is made of keys and our own words."""
    return "\n".join(
        (
            f"digraph {quoted(name)} {{",
            f"  graph [rankdir={rankdir}, ranksep={ranksep}, nodesep=0.3, splines=polyline, "
            f'fontname=Arial, fontsize=12, fontcolor="{_INK}", color="{COLOURS["hatch"]}", '
            "bgcolor=transparent, pad=0.1, labeljust=l]",
            f'  node [shape=plain, fontname=Arial, fontsize=12, fontcolor="{_INK}", '
            f'color="{_INK}"]',
            f'  edge [dir=none, fontname=Arial, fontsize={SMALL_SIZE}, fontcolor="{_INK}", '
            f'color="{_INK}"]',
            *indented(body),
            "}\n",
        )
    )


def indented(parts: Iterable[str]) -> list[str]:
    return [f"  {line}" for part in parts for line in part.splitlines()]


def quoted(text: str) -> str:
    """A name of our own, made of keys, as a DOT string."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def node(
    name: str, lines: Sequence[NodeLine], *, dashed: bool = False, accent: bool = False
) -> str:
    """A box with a line a row, the first usually its label."""
    style = ' STYLE="dashed"' if dashed else ""
    return node_of_rows(name, [cell(line) for line in lines], style=style, accent=accent)


def node_of_rows(name: str, rows: Iterable[str], *, style: str = "", accent: bool = False) -> str:
    """A box with rows of cells."""
    colour = COLOURS["accent"] if accent else _INK
    attributes = f'BORDER="1" CELLPADDING="3" COLOR="{colour}" BGCOLOR="{_PAPER}"{style}'
    return f"{quoted(name)} [label=<{_table(attributes, rows)}>]"


def _table(attributes: str, rows: Iterable[str]) -> str:
    inside = "".join(f"\n    <TR>{row}</TR>" for row in rows)
    return f'<TABLE CELLBORDER="0" CELLSPACING="0" {attributes}>{inside}</TABLE>'


def font_size(bold: bool) -> int:
    """Of a line's letters, in points."""
    return _LARGE_SIZE if bold else SMALL_SIZE


def shorten_to_node(text: str, bold: bool) -> str:
    """A line's text as far as there is room for it."""
    return shorten(text, _MAX_LINE_WIDTH, font_size(bold), bold)


@lru_cache(maxsize=2**13)  # what many paths pass is on the diagram of each
def cell(line: NodeLine, span: str = "") -> str:
    port = f' PORT="{line.port}"' if line.port else ""
    link = f' HREF="{escaped(line.href)}" TITLE="{escaped(line.text)}"' if line.href else ""
    text = escaped(shorten_to_node(line.text, line.bold)) or " "
    shown = f"<B>{text}</B>" if line.bold else f'<FONT POINT-SIZE="{SMALL_SIZE}">{text}</FONT>'
    return f'<TD ALIGN="LEFT"{span}{port}{link}>{shown}</TD>'


def edge(
    tail: str,
    head: str,
    lines: Sequence[str] = (),
    *,
    tail_port: str = "",
    head_port: str = "",
    href: str | None = None,
    **attributes: str,
) -> str:
    """A line between two nodes, with its words. Ports may carry a compass point: `p1:e`."""
    start = quoted(tail) + (f":{tail_port}" if tail_port else "")
    end = quoted(head) + (f":{head_port}" if head_port else "")
    parts = [f"{name}={value}" for name, value in attributes.items()]
    if lines:
        rows = [cell(NodeLine(text, href=href)) for text in lines]
        parts.insert(0, f"label=<{_table(_BORDERLESS, rows)}>")
    return f"{start} -> {end} [{', '.join(parts)}]" if parts else f"{start} -> {end}"


def cluster(
    name: str,
    label: Sequence[NodeLine],
    body: Iterable[str],
    *,
    dashed: bool = False,
    foot: bool = False,
) -> str:
    """A frame around nodes, with its label at the upper left, or at the lower left."""
    table = _table(_BORDERLESS, [cell(line) for line in label])
    style = "dashed" if dashed else "solid"
    return "\n".join(
        (
            f"subgraph {quoted('cluster ' + name)} {{",
            f"  graph [style={style}, margin=10, labelloc={'b' if foot else 't'}, label=<{table}>]",
            *indented(body),
            "}",
        )
    )
