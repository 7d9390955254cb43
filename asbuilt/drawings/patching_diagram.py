"""The patching of one enclosure: which ports its cords join, neighbours told as one run."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from asbuilt.drawings.dot_text import NodeLine, digraph, edge, node
from asbuilt.drawings.sheet import FindHref, no_href
from asbuilt.model.describe import describe_item, format_state_counts, item_name
from asbuilt.model.site import PortState, Site, natural
from asbuilt.records.enclosures import Device, Item, Panel, Router, Switch
from asbuilt.records.fields import PortId

#: From left to right. A cord is drawn from the left of its two ends.
_LEFT_TO_RIGHT = (Panel, Switch, Router, Device)


@dataclass(frozen=True, slots=True)
class CordGroup:
    """Cords between two items whose ports follow each other at both ends, as pairs of ports."""

    cords: tuple[tuple[PortId, PortId], ...]

    @property
    def count(self) -> int:
        return len(self.cords)

    def port_range(self, end: int) -> str:
        """The ports of one end: `01–12`, `48–37`, `WAN`."""
        first, last = self.cords[0][end], self.cords[-1][end]
        return first.printed if self.count == 1 else f"{first.printed}–{last.printed}"


def group_cords(cords: Iterable[tuple[PortId, PortId]]) -> list[CordGroup]:
    """Cords grouped in runs: the port number rises by one at the left end, and rises or falls by
    one all along at the right end."""
    by_items: dict[tuple[str, str], list[tuple[PortId, PortId]]] = defaultdict(list)
    for left, right in cords:
        by_items[left.item, right.item].append((left, right))
    runs: list[CordGroup] = []
    for key in sorted(by_items, key=lambda pair: (natural(pair[0]), natural(pair[1]))):
        pending: list[tuple[PortId, PortId]] = []
        for cord in sorted(by_items[key], key=lambda ends: natural(ends[0].name)):
            if pending and not _continues_group(pending, cord):
                runs.append(CordGroup(tuple(pending)))
                pending = []
            pending.append(cord)
        runs.append(CordGroup(tuple(pending)))
    return runs


def _continues_group(run: Sequence[tuple[PortId, PortId]], cord: tuple[PortId, PortId]) -> bool:
    names = [port.name for port in (*run[-1], *cord)]
    if not all(name.isdigit() for name in names):
        return False
    left, right, next_left, next_right = map(int, names)
    step = next_right - right
    if next_left != left + 1 or abs(step) != 1:
        return False
    return len(run) == 1 or int(run[1][1].name) - int(run[0][1].name) == step


def patching_dot(site: Site, enclosure_key: str, *, link: FindHref = no_href) -> str:
    """The cords that touch an enclosure, as a graph from panels to switches and on. Items without
    a cord are left out; those of other enclosures are dashed."""
    pairs = [
        _in_drawing_order(site, cord.from_, cord.to)
        for cord in site.cords.values()
        if enclosure_key in (cord.from_.enclosure, cord.to.enclosure)
    ]
    runs = group_cords(pairs)
    cells: dict[str, list[tuple[str, str]]] = defaultdict(list)
    edges = []
    for number, run in enumerate(runs):
        ends = run.cords[0]
        for end in (0, 1):
            cells[ends[end].item].append((f"r{number}", run.port_range(end)))
        words = [f"{run.count} cords"] if run.count > 1 else []
        edges.append(
            edge(
                ends[0].item,
                ends[1].item,
                words,
                tail_port=f"r{number}:e",
                head_port=f"r{number}:w",
                **({"penwidth": "2"} if run.count > 1 else {}),
            )
        )
    nodes = [
        _item_node(site, key, enclosure_key, cells[key], link)
        for key in sorted(cells, key=lambda key: (_rank(site, key), natural(key)))
    ]
    if not nodes:
        nodes = [node("none", [NodeLine("No cord is recorded.")], dashed=True)]
    return digraph(f"Patching of {enclosure_key}", [*nodes, *edges], "LR", ranksep=1.4)


def _rank(site: Site, key: str) -> int:
    item = site.items.get(key)
    return next(
        (i for i, kind in enumerate(_LEFT_TO_RIGHT) if isinstance(item, kind)), len(_LEFT_TO_RIGHT)
    )


def _in_drawing_order(site: Site, one: PortId, other: PortId) -> tuple[PortId, PortId]:
    return (other, one) if _rank(site, other.item) < _rank(site, one.item) else (one, other)


def _item_node(
    site: Site, key: str, enclosure: str, cells: Sequence[tuple[str, str]], link: FindHref
) -> str:
    item = site.items.get(key)
    own = key.partition("/")[0] == enclosure
    lines = [NodeLine(_title(key, item, own), bold=True, href=link("item", key))]
    if item is not None:
        lines.append(NodeLine(describe_item(item)))
    lines += [
        NodeLine(text, port=port) for port, text in sorted(cells, key=lambda c: natural(c[1]))
    ]
    if item is not None and own:
        idle = [use for use in site.ports_of(item) if use.state is not PortState.IN_USE]
        if idle:
            lines.append(NodeLine(format_state_counts(idle)))
    return node(key, lines, dashed=not own)


def _title(key: str, item: Item | None, own: bool) -> str:
    if item is None:
        return key
    return item_name(item) if own else f"{item.enclosure}/{item_name(item)}"
