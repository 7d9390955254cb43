"""Cords: each joins two ports, and is written down once.

A cord is keyed by the port it leaves from, so one that is written from its other end as well
stands there twice. One whose two ends are the same port joins nothing; one whose two ends are in
the same switch makes a loop (common practice).
"""

from __future__ import annotations

from collections.abc import Iterator

from asbuilt.model.paths import FORWARDING, CablingGraph
from asbuilt.model.site import Site
from asbuilt.problem import Problem
from asbuilt.records.fields import PortId
from asbuilt.records.links import Cord


def check_cords(site: Site, net: CablingGraph) -> Iterator[Problem]:
    first: dict[frozenset[PortId], Cord] = {}
    for cord in sorted(site.cords.values(), key=lambda cord: cord.place):
        ends = frozenset((cord.from_, cord.to))
        if cord.from_ == cord.to:
            message = f"both ends of this cord are in port {cord.to}"
            yield cord.error("to", "cord-loop", message, "name the port at its other end")
        elif ends in first:
            message = f"this cord is recorded already, from its other end ({first[ends].place})"
            yield cord.error("to", "cord-twice", message, "delete one of the two lines")
        elif cord.from_.item == cord.to.item and isinstance(
            site.items.get(cord.to.item), FORWARDING
        ):
            message = f"both ends of this cord are in {cord.to.item}, which makes a loop"
            hint = "look at where its other end goes"
            yield cord.remark("to", "cord-same-switch", message, hint)
        first.setdefault(ends, cord)
