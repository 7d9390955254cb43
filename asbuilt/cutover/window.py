"""The outage window: the steps in order, and who is without service at each, by the two graphs.

An outlet counts that works before the plan and after it. Which parts of the plant it can't do
without is asked of each net; a second path keeps it lit. Once the order is found, each step's
dark is asked again with everything down together that is down then, so that two ways round that
are open at the same time are seen.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from asbuilt.cutover.operations import (
    Operation,
    PlantPart,
    in_dependency_order,
    operations_in_window,
    resolve_waits,
)
from asbuilt.cutover.plan import CutoverPlan
from asbuilt.cutover.sequence import Downtime, OutageGroup, SequenceInput, best_step_sequence
from asbuilt.cutover.tasks import CutoverTasks
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
    without_service: tuple[str, ...]
    loses_service: tuple[str, ...]
    regains_service: tuple[str, ...]
    ends: float


@dataclass(frozen=True, slots=True)
class OutageWindow:
    """`least` says that no order has less dark time; `gone` are outlets that work before the plan
    and not after it; `dark_minutes` how long each outlet is dark."""

    before_window: tuple[Operation, ...]
    steps: tuple[WindowStep, ...]
    removed_outlets: tuple[str, ...]
    downtime_minutes: dict[str, float]
    proved_least: bool
    point_of_no_return: int | None

    @property
    def minutes(self) -> float:
        return self.steps[-1].ends if self.steps else 0.0

    @property
    def total_downtime(self) -> float:
        return sum(self.downtime_minutes.values())


def outage_window(plan: CutoverPlan, tasks: CutoverTasks) -> OutageWindow:
    operations = resolve_waits(tasks.operations)
    late = operations_in_window(operations)
    early = in_dependency_order([operation for operation in operations if operation not in late])
    steps = [operation for operation in operations if operation in late]
    number = {operation: place for place, operation in enumerate(steps)}
    outage = _OutageSimulation(
        plan, [_with_unplug_halves(part) for part in tasks.plant_parts], number
    )
    waits = tuple(frozenset(number[w] for w in o.waits_for if w in number) for o in steps)
    work = SequenceInput(tuple(o.minutes for o in steps), waits, outage.outage_groups())
    order = best_step_sequence(work)
    told = outage.simulate([steps[place] for place in order.steps])
    dark: Counter[str] = Counter()
    for step in told:
        for outlet in step.without_service:
            dark[outlet] += step.operation.minutes  # type: ignore[assignment]
    as_expected = abs(sum(dark.values()) - order.downtime) < 1e-6
    return OutageWindow(
        tuple(early), told, outage.removed_outlets,
        {key: dark[key] for key in sorted(dark, key=natural)},
        order.proved_least and as_expected, _point_of_no_return(told),
    )  # fmt: skip


def _with_unplug_halves(part: PlantPart) -> PlantPart:
    """A part with the halves of divided operations in their places."""
    cuts = [operation.unplug_half or operation for operation in part.down_from]
    return PlantPart(cuts, part.up_after, part.before, part.after, part.changes_connection)


@dataclass(slots=True, eq=False)
class _OutageSimulation:
    plan: CutoverPlan
    parts: list[PlantPart]
    number: dict[Operation, int]
    leaving_steps: dict[str, frozenset[int]]
    arriving_steps: dict[str, frozenset[int]]
    #: For each part, who can't do without it before and after, and by which steps it is down.
    dependent_outlets: list[tuple[frozenset[str], frozenset[str]]]
    downtimes: list[Downtime]
    working_before_and_after: frozenset[str]
    removed_outlets: tuple[str, ...]

    def __init__(
        self, plan: CutoverPlan, parts: Iterable[PlantPart], number: dict[Operation, int]
    ) -> None:
        self.plan, self.number = plan, number
        self.parts = [part for part in parts if self._is_in_window(part)]
        was = {
            plan.outlet_key_after.get(key, key) for key in _outlets_in_service(plan.graph_before)
        }
        now = _outlets_in_service(plan.graph_after)
        self.working_before_and_after = frozenset(was & now)
        self.removed_outlets = tuple(sorted(was - now, key=natural))
        self.dependent_outlets = [
            (
                self._outlets_without(plan.graph_before, part.before),
                self._outlets_without(plan.graph_after, part.after),
            )
            for part in self.parts
        ]
        self.downtimes = [
            Downtime(
                self._sorted(part.down_from),
                self._sorted(part.up_after),
                down_at_start=not part.down_from,
            )
            for part in self.parts
        ]
        self.leaving_steps, self.arriving_steps = self._changeover_steps()

    def outage_groups(self) -> tuple[OutageGroup, ...]:
        before: dict[str, list[Downtime]] = {}
        after: dict[str, list[Downtime]] = {}
        for span, (old, new) in zip(self.downtimes, self.dependent_outlets, strict=True):
            for outlet in old:
                before.setdefault(outlet, []).append(span)
            for outlet in new:
                after.setdefault(outlet, []).append(span)
        lots: Counter[OutageGroup] = Counter()
        for outlet in sorted({*before, *after}, key=natural):
            lots[
                OutageGroup(
                    tuple(sorted(self.leaving_steps.get(outlet, ()))),
                    tuple(sorted(self.arriving_steps.get(outlet, ()))),
                    tuple(sorted(set(before.get(outlet, ())))),
                    tuple(sorted(set(after.get(outlet, ())))),
                )
            ] += 1
        return tuple(
            OutageGroup(lot.leaving_steps, lot.arriving_steps, lot.before, lot.after, weight)
            for lot, weight in sorted(lots.items())
        )

    def simulate(self, order: Sequence[Operation]) -> tuple[WindowStep, ...]:
        done: set[int] = set()
        touching: dict[int, list[int]] = {}
        for place, span in enumerate(self.downtimes):
            for number in {*span.down_from, *span.up_after}:
                touching.setdefault(number, []).append(place)
        down = {place for place, span in enumerate(self.downtimes) if not _is_up(span, done, done)}
        resting = self._without_service(down, done, done)
        leaving = frozenset().union(*self.leaving_steps.values())
        ends, block = 0.0, 0
        found: list[WindowStep] = []
        for place, operation in enumerate(order, start=1):
            number = self.number[operation]
            begun = done | {number}
            mine = touching.get(number, ())
            fallen = {at for at in mine if not _is_up(self.downtimes[at], done, begun)}
            dark = resting
            if fallen or number in leaving:
                dark |= self._without_service(down | fallen, done, begun)
            block += not resting and (bool(dark) or not found or bool(found[-1].without_service))
            done = begun
            down.difference_update(mine)
            down.update(at for at in mine if not _is_up(self.downtimes[at], done, done))
            after = self._without_service(down, done, done)
            ends += operation.minutes
            found.append(
                WindowStep(
                    place, block, operation, _sorted(dark), _sorted(dark - resting),
                    _sorted(dark - after), ends,
                )
            )  # fmt: skip
            resting = after
        return tuple(found)

    def _without_service(self, down: set[int], done: set[int], begun: set[int]) -> frozenset[str]:
        """The outlets that neither their old connection nor their new one carries, with these
        parts down."""
        old = self._outlets_without(
            self.plan.graph_before, _union(self.parts[p].before for p in down)
        )
        new = self._outlets_without(
            self.plan.graph_after, _union(self.parts[p].after for p in down)
        )
        nobody: frozenset[int] = frozenset()
        dark: set[str] = set()
        for outlet in (old & new) | self.leaving_steps.keys():
            by_old = outlet not in old and self.leaving_steps.get(outlet, nobody).isdisjoint(begun)
            by_new = outlet not in new and self.arriving_steps.get(outlet, nobody) <= done
            if not by_old and not by_new:
                dark.add(outlet)
        return frozenset(dark)

    def _changeover_steps(self) -> tuple[dict[str, frozenset[int]], dict[str, frozenset[int]]]:
        """For outlets whose way leads over other parts afterwards, the steps with which they
        leave the old way and those with which they are on the new one."""
        rerouted: set[str] = set()
        for part, (old, new) in zip(self.parts, self.dependent_outlets, strict=True):
            if not part.before or not part.after:
                rerouted |= old | new
            else:
                rerouted |= old ^ new
        begin: dict[str, set[int]] = {}
        end: dict[str, set[int]] = {}
        for part, (old, new) in zip(self.parts, self.dependent_outlets, strict=True):
            if part.changes_connection:
                for outlet in old & new & rerouted:
                    begin.setdefault(outlet, set()).update(self._numbers(part.down_from))
                    end.setdefault(outlet, set()).update(self._numbers(part.up_after))
        return (
            {key: frozenset(steps) for key, steps in begin.items()},
            {key: frozenset(steps) for key, steps in end.items()},
        )

    def _is_in_window(self, part: PlantPart) -> bool:
        """Whether the window takes it down, or brings it into being."""
        steps = part.down_from or part.up_after
        return any(operation in self.number for operation in steps)

    def _sorted(self, operations: Iterable[Operation]) -> tuple[int, ...]:
        return tuple(sorted(self._numbers(operations)))

    def _numbers(self, operations: Iterable[Operation]) -> frozenset[int]:
        return frozenset(self.number[o] for o in operations if o in self.number)

    def _outlets_without(self, net: CablingGraph, gone: Iterable[Node | Edge]) -> frozenset[str]:
        """Which of the outlets that work before and after go dark without this."""
        nodes = [part for part in gone if isinstance(part, Node)]
        edges = [part for part in gone if isinstance(part, Edge)]
        if not nodes and not edges:
            return frozenset()
        keys = outlets_without_service(net, nodes, edges)
        if net is self.plan.graph_before:
            keys = tuple(self.plan.outlet_key_after.get(key, key) for key in keys)
        return self.working_before_and_after.intersection(keys)


def _is_up(span: Downtime, done: set[int], begun: set[int]) -> bool:
    if not span.down_at_start and begun.isdisjoint(span.down_from):
        return True
    return bool(span.up_after) and done.issuperset(span.up_after)


def _outlets_in_service(net: CablingGraph) -> set[str]:
    return {node.key for node in net.towards_root if node.kind == "jack"}


def _union(parts: Iterable[frozenset[Node | Edge]]) -> frozenset[Node | Edge]:
    return frozenset().union(*parts)


def _sorted(keys: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(keys, key=natural))


def _point_of_no_return(steps: Sequence[WindowStep]) -> int | None:
    """The first step after which going back takes longer than going on: it can't be undone
    quickly, or undoing what was done takes as long as doing it and more than what is left."""
    total = steps[-1].ends if steps else 0.0
    for step in steps:
        if step.operation.is_irreversible or step.ends > total - step.ends:
            return step.number
    return None
