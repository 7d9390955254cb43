"""How full a site was at a moment, from the plain values of its records then.

Old revisions may not satisfy today's schema, so nothing here needs a `Site`: it counts what is
there, by the same rules as `headroom` does today.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final

from asbuilt.facts.ports import USUALLY_POWERED
from asbuilt.records.fields import PortId
from asbuilt.records.quantity import Quantity, read_quantity
from asbuilt.trade.poe import pse_watts

#: Kind and key of a record → its fields as plain values.
PlainRecords = Mapping[tuple[str, str], Mapping[str, Any]]
#: Kinds whose records these counts depend on.
COUNTED_KINDS: Final = frozenset(
    {
        "outlet", "backbone", "cord", "circuit", "enclosure", "panel", "switch", "router",
        "device", "ups", "power strip", "manager", "shelf", "reserve",
    }
)  # fmt: skip
_NOT_FREE: Final = ("dead", "abandoned", "unknown", "reserved")


@dataclass(frozen=True, slots=True)
class Usage:
    """How much of a thing there is, how much is taken and how much free. What is neither is dead,
    abandoned, reserved or unknown."""

    total: int = 0
    used: int = 0
    free: int = 0


@dataclass(frozen=True, slots=True)
class SiteCounts:
    """What a site held. Power over Ethernet is in watts: what the switches can give, and what
    they set aside for the outlets patched to them."""

    outlets: int = 0
    units: Usage = Usage()
    panel_ports: Usage = Usage()
    access_ports: Usage = Usage()
    uplink_ports: Usage = Usage()
    poe_budget: float = 0.0
    poe_allocated: float = 0.0


@dataclass(frozen=True, slots=True)
class TrendPoint:
    """The counts after a commit."""

    commit: str
    when: dt.datetime
    counts: SiteCounts


def last_point_of_each_day(points: Iterable[TrendPoint]) -> tuple[TrendPoint, ...]:
    """The last point of each day, oldest first."""
    days: dict[dt.date, TrendPoint] = {}
    for point in points:
        days[point.when.date()] = point
    return tuple(days[day] for day in sorted(days))


def usage_points(
    points: Iterable[TrendPoint], what: str
) -> tuple[tuple[dt.date, float, float], ...]:
    """By day, how much of a thing was used and how much there was. `what` names one of the
    counts; “poe” is the power over Ethernet set aside, of what can be given."""
    found: list[tuple[dt.date, float, float]] = []
    for point in last_point_of_each_day(points):
        if what == "poe":
            used, total = point.counts.poe_allocated, point.counts.poe_budget
        else:
            fill: Usage = getattr(point.counts, what)
            used, total = float(fill.used), float(fill.total)
        found.append((point.when.date(), used, total))
    return tuple(found)


def count_site(state: PlainRecords) -> SiteCounts:
    taken: set[str] = set()
    lost: set[str] = set()
    classes: dict[str, list[str]] = defaultdict(list)  # port → power classes of its outlets
    far: dict[str, list[str]] = defaultdict(list)
    stands: list[tuple[str, str, Mapping[str, Any]]] = []  # enclosures and what is in them
    outlets = 0
    for (kind, key), facts in state.items():
        if kind == "outlet":
            outlets += 1
            ports = _texts(facts, "port")
            (lost if facts.get("state") in _NOT_FREE else taken).update(ports)
            if "poe" in facts or facts.get("serves") in USUALLY_POWERED:
                for port in ports:
                    classes[port].append(str(facts.get("poe", "class 0")))
        elif kind == "cord":
            one, other = str(facts.get("from", "")), str(facts.get("to", ""))
            far[one].append(other)
            far[other].append(one)
        elif kind == "backbone":
            ports = (*_texts(facts, "from"), *_texts(facts, "to"))
            (lost if facts.get("state") in _NOT_FREE else taken).update(ports)
        elif kind == "circuit":
            taken.update(_texts(facts, "lands on"))
        elif kind in COUNTED_KINDS:
            stands.append((kind, key, facts))
    taken.update(far)
    panel, access, uplink = [], [], []
    budget = aside = 0.0
    for kind, key, facts in stands:
        if kind == "panel":
            panel.append(_port_usage(key, facts, taken, lost, 1, _count(facts, "ports")))
        elif kind == "switch":
            ports_, uplinks = _count(facts, "ports"), _count(facts, "uplinks")
            access.append(_port_usage(key, facts, taken, lost, 1, ports_))
            uplink.append(_port_usage(key, facts, taken, lost, ports_ + 1, ports_ + uplinks))
            watts = _quantity(facts, "poe", "power", "W")
            if watts is not None:
                budget += watts
                for port in sorted(_port_texts(key, 1, ports_ + uplinks)):
                    fed = (port, *(p for p in far.get(port, ()) if _on_panel(state, p)))
                    aside += sum(
                        _allocated_watts(poe) for end in fed for poe in classes.get(end, ())
                    )
    return SiteCounts(
        outlets,
        _unit_usage(stands),
        _sum_usage(panel),
        _sum_usage(access),
        _sum_usage(uplink),
        budget,
        aside,
    )


def _port_usage(
    item: str, facts: Mapping[str, Any], taken: set[str], lost: set[str], first: int, last: int
) -> Usage:
    """The ports from `first` to `last`. What says that a port is no good outweighs what is on
    it."""
    ports = _port_texts(item, first, last)
    bad = {_port_text(item, name) for field in _NOT_FREE for name in _texts(facts, field)} | lost
    used = len((ports & taken) - bad)
    return Usage(len(ports), used, len(ports - taken - bad))


def _on_panel(state: PlainRecords, port: str) -> bool:
    return ("panel", port.rpartition("/")[0]) in state


@lru_cache(maxsize=4096)
def _port_texts(item: str, first: int, last: int) -> frozenset[str]:
    return frozenset(_port_text(item, str(number)) for number in range(first, last + 1))


def _port_text(item: str, name: str) -> str:
    return str(PortId(item, name))


def _allocated_watts(poe: str) -> float:
    number = poe.removeprefix("class ")
    return pse_watts(int(number)) if number.isdecimal() and int(number) <= 8 else 0.0


def _unit_usage(stands: Iterable[tuple[str, str, Mapping[str, Any]]]) -> Usage:
    """A unit is free when nothing is mounted in it, front or rear."""
    heights: dict[str, int] = {}
    used: dict[str, set[int]] = defaultdict(set)
    kept: dict[str, set[int]] = defaultdict(set)
    for kind, key, facts in stands:
        if kind == "enclosure":
            heights[key] = int(_quantity(facts, "height", "rack height", "U") or 0)
        elif "at" in facts and "face" in facts:
            low, _, high = str(facts["at"]).partition("-")
            if low.isdecimal() and (high or low).isdecimal():
                units = range(int(low), int(high or low) + 1)
                (kept if kind == "reserve" else used)[key.partition("/")[0]].update(units)
    total = taken = free = 0
    for key, height in heights.items():
        units_here = set(range(1, height + 1))
        total += height
        taken += len(units_here & used[key])
        free += len(units_here - used[key] - kept[key])
    return Usage(total, taken, free)


def _sum_usage(parts: Iterable[Usage]) -> Usage:
    parts = list(parts)
    return Usage(
        sum(part.total for part in parts),
        sum(part.used for part in parts),
        sum(part.free for part in parts),
    )


def _texts(facts: Mapping[str, Any], field: str) -> tuple[str, ...]:
    value = facts.get(field, ())
    if isinstance(value, str):
        return (value,)
    return tuple(text for text in value if isinstance(text, str)) if type(value) is tuple else ()


def _count(facts: Mapping[str, Any], field: str) -> int:
    text = str(facts.get(field, ""))
    return min(int(text), 9999) if text.isascii() and text.isdigit() and len(text) < 10 else 0


def _quantity(facts: Mapping[str, Any], field: str, dimension: str, unit: str) -> float | None:
    quantity = read_quantity(str(facts.get(field, "")), dimension)
    return quantity.to(unit) if isinstance(quantity, Quantity) else None
