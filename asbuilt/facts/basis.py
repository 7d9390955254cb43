"""What a figure was computed from, so that a page can open it to the things it counts."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from asbuilt.records.fields import PortId

#: Kind and key of a record; an item's kind is “item”.
RecordKey = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Basis:
    """One line: a short sentence, and the things it speaks of."""

    text: str
    records: tuple[RecordKey, ...] = ()


def item_keys(keys: Iterable[str]) -> tuple[RecordKey, ...]:
    return tuple(("item", key) for key in keys)


def outlet_keys(keys: Iterable[str]) -> tuple[RecordKey, ...]:
    return tuple(("outlet", key) for key in keys)


def ports_text(ports: Iterable[PortId]) -> str:
    """Ports in few words, in the order given: `A/03, A/13–24, SW1/07`."""
    runs: list[tuple[PortId, PortId]] = []
    for port in ports:
        if runs and _is_next_port(runs[-1][1], port):
            runs[-1] = (runs[-1][0], port)
        else:
            runs.append((port, port))
    return ", ".join(
        _port_text(first) if first == last else f"{_port_text(first)}–{last.printed}"
        for first, last in runs
    )


def units_text(runs: Sequence[tuple[int, int]]) -> str:
    """Rack units: `U 3–7, U 12`."""
    return ", ".join(f"U {low}" if low == high else f"U {low}–{high}" for low, high in runs)


def _port_text(port: PortId) -> str:
    return f"{port.item.partition('/')[2]}/{port.printed}"


def _is_next_port(one: PortId, other: PortId) -> bool:
    numbered = one.name.isdigit() and other.name.isdigit()
    return numbered and one.item == other.item and int(other.name) == int(one.name) + 1
