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
    words: str
    off: float = 0.0
    on: float = 0.0
    old: str = ""
    new: str = ""
    check: str = ""
    back: str = ""
    live: bool = False
    final: bool = False
    outlets: tuple[str, ...] = ()
    frees: frozenset[str] = frozenset()
    takes: frozenset[str] = frozenset()
    waits: list[Operation] = field(default_factory=list)
    #: The half that is done first, where it had to be divided.
    first: Operation | None = None

    @property
    def minutes(self) -> float:
        return self.off + self.on


@dataclass(slots=True, eq=False)
class OperationPart:
    """A part of the plant that some operations take down and bring back. `before` and `after`
    are what it is in the two nets; `carries` says that a path may lead over it."""

    cuts: list[Operation]
    mends: list[Operation]
    before: frozenset[Node | Edge] = frozenset()
    after: frozenset[Node | Edge] = frozenset()
    #: Whether it connects something else afterwards, not only at another place.
    changes: bool = False


def settle(operations: Sequence[Operation]) -> list[Operation]:
    """The operations with all that each waits for; those that would wait for each other in a
    circle (two cords that change ports) are divided into unplugging and plugging."""
    asked = {operation: list(operation.waits) for operation in operations}
    _wait_for_places(operations)
    circle = _in_circles(operations)
    settled: list[Operation] = []
    for operation in operations:
        if operation in circle and operation.frees and operation.takes:
            settled += _divided(operation)
        else:
            settled.append(operation)
    if len(settled) > len(operations):
        for operation, waits in asked.items():
            operation.waits = [*waits, *([operation.first] if operation.first else [])]
        _wait_for_places(settled)
    return settled


def late_ones(operations: Sequence[Operation]) -> set[Operation]:
    """The live operations and whatever waits for one."""
    late = {operation for operation in operations if operation.live}
    more = True
    while more:
        waiting = {o for o in operations if o not in late and not late.isdisjoint(o.waits)}
        more = bool(waiting)
        late |= waiting
    return late


def in_turn(operations: Collection[Operation]) -> list[Operation]:
    """In the order given, but each after what it waits for."""
    found: list[Operation] = []
    left = list(operations)
    while left:
        waiting = set(left)
        ready = [o for o in left if waiting.isdisjoint(o.waits)] or left
        found += ready
        left = [o for o in left if o not in set(ready)]
    return found


def _wait_for_places(operations: Iterable[Operation]) -> None:
    operations = list(operations)
    freed: dict[str, list[Operation]] = {}
    for operation in operations:
        for place in sorted(operation.frees):
            freed.setdefault(place, []).append(operation)
    for operation in operations:
        for place in sorted(operation.takes):
            for other in freed.get(place, ()):
                if other is not operation and other not in operation.waits:
                    operation.waits.append(other)


def _in_circles(operations: Sequence[Operation]) -> set[Operation]:
    """What is left when all that waits for nothing, or is waited for by nothing, is taken away."""
    left = set(operations)
    while True:
        waited_for = {other for operation in left for other in operation.waits}
        free = {o for o in left if left.isdisjoint(o.waits) or o not in waited_for}
        if not free:
            return left
        left -= free


def _divided(operation: Operation) -> list[Operation]:
    first = replace(
        operation,
        words=f"{operation.words}: unplug",
        on=0.0,
        new="",
        check="",
        takes=frozenset(),
        waits=[],
        first=None,
    )
    operation.words = f"{operation.words}: plug"
    operation.off, operation.frees, operation.first = 0.0, frozenset(), first
    return [first, operation]
