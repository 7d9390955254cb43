"""The outage window: the steps in order, and who is dark at each, by the two nets.

An outlet counts that works before the plan and after it. Which parts of the plant it can't do
without is asked of each net; a second way round keeps it lit. Once the order is found, each step's
dark is asked again with everything down together that is down then, so that two ways round that
are open at the same time are seen.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from asbuilt.cutover.operations import Operation, OperationPart, in_turn, late_ones, settle
from asbuilt.cutover.plan import CutoverPlan
from asbuilt.cutover.sequence import Downtime, OutageGroup, SequenceWork, best_step_sequence
from asbuilt.cutover.tasks import Tasks
from asbuilt.model.paths import CablingGraph, Edge, Node, outlets_without_service
from asbuilt.model.site import natural


@dataclass(frozen=True, slots=True)
class WindowStep:
    """One step of the window: `dark` while it is done, `goes` and `comes` what it darkens and
    brings back, `ends` the minutes since the window began. By outlet keys after the plan. Between
    two blocks nobody is dark."""

    number: int
    block: int
    operation: Operation
    dark: tuple[str, ...]
    goes: tuple[str, ...]
    comes: tuple[str, ...]
    ends: float


@dataclass(frozen=True, slots=True)
class OutageWindow:
    """`least` says that no order has less dark time; `gone` are outlets that work before the plan
    and not after it; `dark_minutes` how long each outlet is dark."""

    early: tuple[Operation, ...]
    steps: tuple[WindowStep, ...]
    gone: tuple[str, ...]
    dark_minutes: dict[str, float]
    least: bool
    no_return: int | None

    @property
    def minutes(self) -> float:
        return self.steps[-1].ends if self.steps else 0.0

    @property
    def dark_total(self) -> float:
        return sum(self.dark_minutes.values())


def window_of(plan: CutoverPlan, tasks: Tasks) -> OutageWindow:
    operations = settle(tasks.operations)
    late = late_ones(operations)
    early = in_turn([operation for operation in operations if operation not in late])
    steps = [operation for operation in operations if operation in late]
    number = {operation: place for place, operation in enumerate(steps)}
    outage = _Outage(plan, [_divided(part) for part in tasks.parts], number)
    waits = tuple(frozenset(number[w] for w in o.waits if w in number) for o in steps)
    work = SequenceWork(tuple(o.minutes for o in steps), waits, outage.lots())
    order = best_step_sequence(work)
    told = outage.told([steps[place] for place in order.steps])
    dark: Counter[str] = Counter()
    for step in told:
        for outlet in step.dark:
            dark[outlet] += step.operation.minutes  # type: ignore[assignment]
    as_expected = abs(sum(dark.values()) - order.dark) < 1e-6
    return OutageWindow(
        tuple(early), told, outage.gone, {key: dark[key] for key in sorted(dark, key=natural)},
        order.least and as_expected, _no_return(told),
    )  # fmt: skip


def _divided(part: OperationPart) -> OperationPart:
    """A part with the halves of divided operations in their places."""
    cuts = [operation.first or operation for operation in part.cuts]
    return OperationPart(cuts, part.mends, part.before, part.after, part.changes)


@dataclass(slots=True, eq=False)
class _Outage:
    plan: CutoverPlan
    parts: list[OperationPart]
    number: dict[Operation, int]
    begin: dict[str, frozenset[int]]
    end: dict[str, frozenset[int]]
    #: For each part, who can't do without it before and after, and by which steps it is down.
    essential: list[tuple[frozenset[str], frozenset[str]]]
    spans: list[Downtime]
    both: frozenset[str]
    gone: tuple[str, ...]

    def __init__(
        self, plan: CutoverPlan, parts: Iterable[OperationPart], number: dict[Operation, int]
    ) -> None:
        self.plan, self.number = plan, number
        self.parts = [part for part in parts if self._matters(part)]
        was = {plan.outlet_now.get(key, key) for key in _lit(plan.net_before)}
        now = _lit(plan.net_after)
        self.both = frozenset(was & now)
        self.gone = tuple(sorted(was - now, key=natural))
        self.essential = [
            (self._without(plan.net_before, part.before), self._without(plan.net_after, part.after))
            for part in self.parts
        ]
        self.spans = [
            Downtime(self._sorted(part.cuts), self._sorted(part.mends), fresh=not part.cuts)
            for part in self.parts
        ]
        self.begin, self.end = self._changing_over()

    def lots(self) -> tuple[OutageGroup, ...]:
        before: dict[str, list[Downtime]] = {}
        after: dict[str, list[Downtime]] = {}
        for span, (old, new) in zip(self.spans, self.essential, strict=True):
            for outlet in old:
                before.setdefault(outlet, []).append(span)
            for outlet in new:
                after.setdefault(outlet, []).append(span)
        lots: Counter[OutageGroup] = Counter()
        for outlet in sorted({*before, *after}, key=natural):
            lots[
                OutageGroup(
                    tuple(sorted(self.begin.get(outlet, ()))),
                    tuple(sorted(self.end.get(outlet, ()))),
                    tuple(sorted(set(before.get(outlet, ())))),
                    tuple(sorted(set(after.get(outlet, ())))),
                )
            ] += 1
        return tuple(
            OutageGroup(lot.begin, lot.end, lot.before, lot.after, weight)
            for lot, weight in sorted(lots.items())
        )

    def told(self, order: Sequence[Operation]) -> tuple[WindowStep, ...]:
        done: set[int] = set()
        touching: dict[int, list[int]] = {}
        for place, span in enumerate(self.spans):
            for number in {*span.cuts, *span.mends}:
                touching.setdefault(number, []).append(place)
        down = {place for place, span in enumerate(self.spans) if not _up(span, done, done)}
        resting = self._dark(down, done, done)
        leaving = frozenset().union(*self.begin.values())
        ends, block = 0.0, 0
        found: list[WindowStep] = []
        for place, operation in enumerate(order, start=1):
            number = self.number[operation]
            begun = done | {number}
            mine = touching.get(number, ())
            fallen = {at for at in mine if not _up(self.spans[at], done, begun)}
            dark = resting
            if fallen or number in leaving:
                dark |= self._dark(down | fallen, done, begun)
            block += not resting and (bool(dark) or not found or bool(found[-1].dark))
            done = begun
            down.difference_update(mine)
            down.update(at for at in mine if not _up(self.spans[at], done, done))
            after = self._dark(down, done, done)
            ends += operation.minutes
            found.append(
                WindowStep(
                    place, block, operation, _sorted(dark), _sorted(dark - resting),
                    _sorted(dark - after), ends,
                )
            )  # fmt: skip
            resting = after
        return tuple(found)

    def _dark(self, down: set[int], done: set[int], begun: set[int]) -> frozenset[str]:
        """The outlets that neither their old connection nor their new one carries, with these
        parts down."""
        old = self._without(self.plan.net_before, _joined(self.parts[p].before for p in down))
        new = self._without(self.plan.net_after, _joined(self.parts[p].after for p in down))
        nobody: frozenset[int] = frozenset()
        dark: set[str] = set()
        for outlet in (old & new) | self.begin.keys():
            by_old = outlet not in old and self.begin.get(outlet, nobody).isdisjoint(begun)
            by_new = outlet not in new and self.end.get(outlet, nobody) <= done
            if not by_old and not by_new:
                dark.add(outlet)
        return frozenset(dark)

    def _changing_over(self) -> tuple[dict[str, frozenset[int]], dict[str, frozenset[int]]]:
        """For outlets whose way leads over other parts afterwards, the steps with which they
        leave the old way and those with which they are on the new one."""
        rerouted: set[str] = set()
        for part, (old, new) in zip(self.parts, self.essential, strict=True):
            if not part.before or not part.after:
                rerouted |= old | new
            else:
                rerouted |= old ^ new
        begin: dict[str, set[int]] = {}
        end: dict[str, set[int]] = {}
        for part, (old, new) in zip(self.parts, self.essential, strict=True):
            if part.changes:
                for outlet in old & new & rerouted:
                    begin.setdefault(outlet, set()).update(self._numbers(part.cuts))
                    end.setdefault(outlet, set()).update(self._numbers(part.mends))
        return (
            {key: frozenset(steps) for key, steps in begin.items()},
            {key: frozenset(steps) for key, steps in end.items()},
        )

    def _matters(self, part: OperationPart) -> bool:
        """Whether the window takes it down, or brings it into being."""
        steps = part.cuts or part.mends
        return any(operation in self.number for operation in steps)

    def _sorted(self, operations: Iterable[Operation]) -> tuple[int, ...]:
        return tuple(sorted(self._numbers(operations)))

    def _numbers(self, operations: Iterable[Operation]) -> frozenset[int]:
        return frozenset(self.number[o] for o in operations if o in self.number)

    def _without(self, net: CablingGraph, gone: Iterable[Node | Edge]) -> frozenset[str]:
        """Which of the outlets that work before and after go dark without this."""
        nodes = [part for part in gone if isinstance(part, Node)]
        edges = [part for part in gone if isinstance(part, Edge)]
        if not nodes and not edges:
            return frozenset()
        keys = outlets_without_service(net, nodes, edges)
        if net is self.plan.net_before:
            keys = tuple(self.plan.outlet_now.get(key, key) for key in keys)
        return self.both.intersection(keys)


def _up(span: Downtime, done: set[int], begun: set[int]) -> bool:
    if not span.fresh and begun.isdisjoint(span.cuts):
        return True
    return bool(span.mends) and done.issuperset(span.mends)


def _lit(net: CablingGraph) -> set[str]:
    return {node.key for node in net.towards_root if node.kind == "jack"}


def _joined(parts: Iterable[frozenset[Node | Edge]]) -> frozenset[Node | Edge]:
    return frozenset().union(*parts)


def _sorted(keys: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(keys, key=natural))


def _no_return(steps: Sequence[WindowStep]) -> int | None:
    """The first step after which going back takes longer than going on: it can't be undone
    quickly, or undoing what was done takes as long as doing it and more than what is left."""
    total = steps[-1].ends if steps else 0.0
    for step in steps:
        if step.operation.final or step.ends > total - step.ends:
            return step.number
    return None
