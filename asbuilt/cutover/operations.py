"""The operations of a plan: each takes something off, puts something on, or both. What it takes off
frees a place; what it puts on needs its place free.

An operation is live when what it takes off is in use. What has to wait for a live one belongs to
the outage window too; the rest touches no live link.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, field, replace

from asbuilt.model.paths import Edge, Node


@dataclass(slots=True, eq=False)
class Operation:
    """`off` and `on` are the minutes of its two halves. A `final` one has no quick way back.
    `outlets` are those it is done for, by their key after the plan."""

    kind: str
    text: str
    minutes_off: float = 0.0
    minutes_on: float = 0.0
    old: str = ""
    new: str = ""
    check: str = ""
    way_back: str = ""
    is_live: bool = False
    is_irreversible: bool = False
    outlets: tuple[str, ...] = ()
    frees_places: frozenset[str] = frozenset()
    needs_places: frozenset[str] = frozenset()
    waits_for: list[Operation] = field(default_factory=list)
    #: The half that is done first, where it had to be divided.
    unplug_half: Operation | None = None

    @property
    def minutes(self) -> float:
        return self.minutes_off + self.minutes_on


@dataclass(slots=True, eq=False)
class PlantPart:
    """A part of the plant that some operations take down and bring back. `before` and `after`
    are what it is in the two nets; `carries` says that a path may lead over it."""

    down_from: list[Operation]
    up_after: list[Operation]
    before: frozenset[Node | Edge] = frozenset()
    after: frozenset[Node | Edge] = frozenset()
    #: Whether it connects something else afterwards, not only at another place.
    changes_connection: bool = False


def resolve_waits(operations: Sequence[Operation]) -> list[Operation]:
    """The operations with all that each waits for; those that would wait for each other in a
    circle (two cords that change ports) are divided into unplugging and plugging."""
    asked = {operation: list(operation.waits_for) for operation in operations}
    _wait_for_places(operations)
    circle = _in_cycles(operations)
    settled: list[Operation] = []
    for operation in operations:
        if operation in circle and operation.frees_places and operation.needs_places:
            settled += _split_in_halves(operation)
        else:
            settled.append(operation)
    if len(settled) > len(operations):
        for operation, waits in asked.items():
            operation.waits_for = [
                *waits,
                *([operation.unplug_half] if operation.unplug_half else []),
            ]
        _wait_for_places(settled)
    return settled


def operations_in_window(operations: Sequence[Operation]) -> set[Operation]:
    """The live operations and whatever waits for one."""
    late = {operation for operation in operations if operation.is_live}
    more = True
    while more:
        waiting = {o for o in operations if o not in late and not late.isdisjoint(o.waits_for)}
        more = bool(waiting)
        late |= waiting
    return late


def in_dependency_order(operations: Collection[Operation]) -> list[Operation]:
    """In the order given, but each after what it waits for."""
    found: list[Operation] = []
    left = list(operations)
    while left:
        waiting = set(left)
        ready = [o for o in left if waiting.isdisjoint(o.waits_for)] or left
        found += ready
        left = [o for o in left if o not in set(ready)]
    return found


def _wait_for_places(operations: Iterable[Operation]) -> None:
    operations = list(operations)
    freed: dict[str, list[Operation]] = {}
    for operation in operations:
        for place in sorted(operation.frees_places):
            freed.setdefault(place, []).append(operation)
    for operation in operations:
        for place in sorted(operation.needs_places):
            for other in freed.get(place, ()):
                if other is not operation and other not in operation.waits_for:
                    operation.waits_for.append(other)


def _in_cycles(operations: Sequence[Operation]) -> set[Operation]:
    """What is left when all that waits for nothing, or is waited for by nothing, is taken away."""
    left = set(operations)
    while True:
        waited_for = {other for operation in left for other in operation.waits_for}
        free = {o for o in left if left.isdisjoint(o.waits_for) or o not in waited_for}
        if not free:
            return left
        left -= free


def _split_in_halves(operation: Operation) -> list[Operation]:
    first = replace(
        operation,
        text=f"{operation.text}: unplug",
        minutes_on=0.0,
        new="",
        check="",
        needs_places=frozenset(),
        waits_for=[],
        unplug_half=None,
    )
    operation.text = f"{operation.text}: plug"
    operation.minutes_off, operation.frees_places, operation.unplug_half = 0.0, frozenset(), first
    return [first, operation]
