"""The order of an outage window's steps in which outlets are dark for the least time together.

One crew does one step after the other. A lot of outlets is lit as long as its old connection is
whole, or once its new one is: the connection changes between the first step of `begin` and the
last of `end`; the parts of the plant it passes are down in their spans of steps. A step takes
down what it cuts from its start, and gives back what it mends at its end.

What is dark depends on which steps are done, not on their order. So the search goes over sets of
done steps, and of steps that are alike only one order is tried. Steps that share no outlet and wait
for none of each other are ordered apart: laid one after the other, none adds to the other's dark.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Final

#: Sets of done steps looked at before the search gives up proving.
MAX_SETS: Final = 20_000
_MAX_PASSES: Final = 8
_EPSILON: Final = 1e-9


@dataclass(frozen=True, slots=True, order=True)
class Downtime:
    """A part of the plant: down from the first of its `cuts` until all its `mends` are done; a
    `fresh` one is down from the start; without mends it never comes back."""

    down_from: tuple[int, ...]
    up_after: tuple[int, ...]
    down_at_start: bool = False


@dataclass(frozen=True, slots=True, order=True)
class OutageGroup:
    """Outlets that are dark and lit together, `weight` of them."""

    leaving_steps: tuple[int, ...]
    arriving_steps: tuple[int, ...]
    before: tuple[Downtime, ...]
    after: tuple[Downtime, ...]
    outlet_count: int = 1

    @property
    def steps(self) -> frozenset[int]:
        spans = (*self.before, *self.after)
        return frozenset(
            (
                *self.leaving_steps,
                *self.arriving_steps,
                *(s for span in spans for s in (*span.down_from, *span.up_after)),
            )
        )


@dataclass(frozen=True, slots=True)
class SequenceInput:
    """Steps by number: how many minutes each takes, and which others it waits for."""

    minutes: tuple[float, ...]
    waits_for: tuple[frozenset[int], ...]
    outage_groups: tuple[OutageGroup, ...]


@dataclass(frozen=True, slots=True)
class StepSequence:
    """`dark` is minutes times outlets; `least` says that no order has less, by search."""

    steps: tuple[int, ...]
    downtime: float
    proved_least: bool


def best_step_sequence(work: SequenceInput, most_sets: int = MAX_SETS) -> StepSequence:
    """The order of least dark time, or the best met where the search would take too long.

    ValueError where steps wait for each other in a circle.
    """
    in_turn = _in_dependency_order(work)
    last = _steps_without_outage(work, in_turn)
    steps: list[int] = []
    dark, least = 0.0, True
    for part in _independent_groups(work, [step for step in in_turn if step not in last]):
        found = _Search(work, part, most_sets).best()
        steps += found.steps
        dark += found.downtime
        least = least and found.proved_least
    steps += [step for step in in_turn if step in last]
    return StepSequence(tuple(steps), dark, least)


def downtime_of(work: SequenceInput, steps: Sequence[int]) -> float:
    """Minutes times outlets that are dark when the steps are done in this order."""
    search = _Search(work, sorted(steps), 0)
    return search.cost([search.index_of[step] for step in steps])


def _in_dependency_order(work: SequenceInput) -> list[int]:
    """The steps in an order that respects who waits for whom, else by number."""
    left = dict(enumerate(work.waits_for))
    found: list[int] = []
    done: set[int] = set()
    while left:
        ready = next((step for step, waits in left.items() if waits <= done), None)
        if ready is None:
            raise ValueError("steps wait for each other in a circle")
        found.append(ready)
        done.add(ready)
        del left[ready]
    return found


def _steps_without_outage(work: SequenceInput, in_turn: Sequence[int]) -> frozenset[int]:
    """Steps that darken nobody and that nothing which does waits for: left for last."""
    needed = {step for lot in work.outage_groups for step in lot.steps}
    for step in reversed(in_turn):
        if step in needed:
            needed |= work.waits_for[step]
    return frozenset(in_turn) - needed


def _independent_groups(work: SequenceInput, steps: Sequence[int]) -> list[list[int]]:
    """The steps by what they have to do with each other, each part in order of numbers."""
    group = {step: step for step in steps}

    def find(step: int) -> int:
        while group[step] != step:
            group[step] = group[group[step]]
            step = group[step]
        return step

    def join(together: Iterable[int]) -> None:
        heads = {find(step) for step in together}
        for head in heads:
            group[head] = min(heads)

    for step in steps:
        join((step, *work.waits_for[step]))
    for lot in work.outage_groups:
        join(lot.steps)
    parts: dict[int, list[int]] = {}
    for step in sorted(steps):
        parts.setdefault(find(step), []).append(step)
    return [parts[head] for head in sorted(parts)]


def _mask_of(steps: Iterable[int]) -> int:
    mask = 0
    for step in steps:
        mask |= 1 << step
    return mask


@dataclass(frozen=True, slots=True)
class _MaskedGroup:
    """A lot with its steps as bits."""

    leaving_steps: int
    arriving_steps: int
    before: tuple[tuple[int, int, bool], ...]
    after: tuple[tuple[int, int, bool], ...]
    outlet_count: int

    def in_service(self, done: int, begun: int) -> bool:
        if not self.leaving_steps & begun and all(
            _is_up(span, done, begun) for span in self.before
        ):
            return True
        return not self.arriving_steps & ~done and all(
            _is_up(span, done, begun) for span in self.after
        )

    def fewest_steps_needed(self, done: int) -> int:
        """The undone steps, fewest, that give it a whole connection."""
        old, new = self._restoring_steps(done)
        return new if old is None or new.bit_count() <= old.bit_count() else old

    def steps_always_needed(self, done: int) -> int:
        """The undone steps without which it can't be lit, by its old connection or its new one."""
        old, new = self._restoring_steps(done)
        return new if old is None else old & new

    def _restoring_steps(self, done: int) -> tuple[int | None, int]:
        new = (self.arriving_steps | _pending_restoring_steps(self.after, done)) & ~done
        if self.leaving_steps & done or any(
            cuts & done and not mends for cuts, mends, _ in self.before
        ):
            return None, new
        return _pending_restoring_steps(self.before, done) & ~done, new


def _is_up(span: tuple[int, int, bool], done: int, begun: int) -> bool:
    cuts, mends, fresh = span
    if not fresh and not cuts & begun:
        return True
    return bool(mends) and not mends & ~done


def _pending_restoring_steps(spans: Iterable[tuple[int, int, bool]], done: int) -> int:
    wanted = 0
    for cuts, mends, fresh in spans:
        if fresh or cuts & done:
            wanted |= mends
    return wanted


@dataclass(slots=True)
class _Search:
    """The steps of one part, renumbered from 0."""

    work: SequenceInput
    steps: Sequence[int]
    max_sets: int
    index_of: dict[int, int] = field(init=False)
    minutes: list[float] = field(init=False)
    waits_for: list[int] = field(init=False)
    outage_groups: list[_MaskedGroup] = field(init=False)
    groups_of_step: list[list[_MaskedGroup]] = field(init=False)
    interchangeable: list[int] = field(
        init=False
    )  # of alike steps, the one that goes before; -1: none

    def __post_init__(self) -> None:
        self.index_of = {step: place for place, step in enumerate(self.steps)}
        self.minutes = [self.work.minutes[step] for step in self.steps]
        here = self.index_of.keys()
        waits = [
            [self.index_of[w] for w in self.work.waits_for[s] if w in here] for s in self.steps
        ]
        self.waits_for = [_mask_of(wait) for wait in waits]
        lots: dict[OutageGroup, int] = {}
        for lot in self.work.outage_groups:
            if lot.steps <= here and lot.steps:
                plain = OutageGroup(lot.leaving_steps, lot.arriving_steps, lot.before, lot.after, 0)
                lots[plain] = lots.get(plain, 0) + lot.outlet_count
        self.outage_groups = [self._masked(lot, weight) for lot, weight in sorted(lots.items())]
        self.groups_of_step = [[] for _ in self.steps]
        for masked, (lot, _) in zip(self.outage_groups, sorted(lots.items()), strict=True):
            for step in lot.steps:
                self.groups_of_step[self.index_of[step]].append(masked)
        self.interchangeable = self._interchangeable_steps()

    def best(self) -> StepSequence:
        guess = self._swap_neighbours(self._greedy_order())
        cost = self.cost(guess)
        proved, better = self._search(cost)
        if better is not None:
            guess, cost = better, self.cost(better)
        return StepSequence(tuple(self.steps[place] for place in guess), cost, proved)

    def cost(self, order: Sequence[int]) -> float:
        done, resting, total = 0, self.without_service(0), 0.0
        for place in order:
            total += self.minutes[place] * (resting + self.interrupted_by(done, place))
            resting += self.change_after(done, place)
            done |= 1 << place
        return total

    def without_service(self, done: int) -> int:
        """Outlets dark between two steps."""
        return sum(lot.outlet_count for lot in self.outage_groups if not lot.in_service(done, done))

    def interrupted_by(self, done: int, place: int) -> int:
        """Outlets that a step darkens while it is done."""
        begun = done | 1 << place
        return sum(
            lot.outlet_count
            for lot in self.groups_of_step[place]
            if lot.in_service(done, done) and not lot.in_service(done, begun)
        )

    def change_after(self, done: int, place: int) -> int:
        """How many more outlets are dark after a step than before it."""
        after = done | 1 << place
        return sum(
            lot.outlet_count * (lot.in_service(done, done) - lot.in_service(after, after))
            for lot in self.groups_of_step[place]
        )

    # A good order

    def _greedy_order(self) -> list[int]:
        """Bring back what is dark, most outlets a minute first; where nothing is, do what darkens
        least."""
        order: list[int] = []
        done, everything = 0, (1 << len(self.steps)) - 1
        dark = [lot for lot in self.outage_groups if not lot.in_service(0, 0)]
        while done != everything:
            if dark:
                chosen = self._restore_service(done, dark)
            else:
                chosen = [
                    min(self._ready(done), key=lambda place: self._interruption_order(done, place))
                ]
            for place in chosen:
                order.append(place)
                touched = {id(lot) for lot in self.groups_of_step[place]}
                done |= 1 << place
                dark = [lot for lot in dark if id(lot) not in touched]
                dark += [
                    lot for lot in self.groups_of_step[place] if not lot.in_service(done, done)
                ]
        return order

    def _restore_service(self, done: int, dark: Sequence[_MaskedGroup]) -> list[int]:
        worth: dict[int, int] = {}
        for lot in dark:
            wanted = self._with_prerequisites(lot.fewest_steps_needed(done), done)
            worth[wanted] = worth.get(wanted, 0) + lot.outlet_count
        if not worth or 0 in worth:
            return [next(self._ready(done))]

        everything = _mask_of(place for wanted in worth for place in _set_bits(wanted))
        darkens = {place: self.interrupted_by(done, place) for place in _set_bits(everything)}

        def ratio(wanted: int) -> tuple[float, int]:
            gain = sum(weight for other, weight in worth.items() if not other & ~wanted)
            gain -= sum(darkens[place] for place in _set_bits(wanted))
            spent = sum(self.minutes[place] for place in _set_bits(wanted))
            return (-gain / max(spent, _EPSILON), wanted & -wanted)

        return self._ordered(min(worth, key=ratio), done)

    def _with_prerequisites(self, wanted: int, done: int) -> int:
        todo = wanted
        while todo:
            place = (todo & -todo).bit_length() - 1
            todo &= todo - 1
            more = self.waits_for[place] & ~done & ~wanted
            wanted |= more
            todo |= more
        return wanted

    def _ordered(self, wanted: int, done: int) -> list[int]:
        found: list[int] = []
        while wanted:
            place = next(p for p in _set_bits(wanted) if not self.waits_for[p] & ~done)
            found.append(place)
            wanted &= ~(1 << place)
            done |= 1 << place
        return found

    def _interruption_order(self, done: int, place: int) -> tuple[float, float, int]:
        return (
            self.change_after(done, place),
            self.minutes[place] * self.interrupted_by(done, place),
            place,
        )

    def _swap_neighbours(self, order: list[int]) -> list[int]:
        """Neighbours change places as long as that helps."""
        for _ in range(_MAX_PASSES):
            done, resting, helped = 0, self.without_service(0), False
            for at in range(len(order)):
                if at + 1 < len(order):
                    one, other = order[at], order[at + 1]
                    if not self.waits_for[other] >> one & 1:
                        gain = self._pair_cost(done, resting, one, other)
                        gain -= self._pair_cost(done, resting, other, one)
                        if gain > _EPSILON:
                            order[at], order[at + 1] = other, one
                            helped = True
                resting += self.change_after(done, order[at])
                done |= 1 << order[at]
            if not helped:
                break
        return order

    def _pair_cost(self, done: int, resting: int, one: int, other: int) -> float:
        first = self.minutes[one] * (resting + self.interrupted_by(done, one))
        resting += self.change_after(done, one)
        done |= 1 << one
        return first + self.minutes[other] * (resting + self.interrupted_by(done, other))

    # The proof

    def _search(self, bound: float) -> tuple[bool, list[int] | None]:
        """Whether all sets were looked at that could lead to less than `bound`, and the order
        that does, if one does."""
        everything = (1 << len(self.steps)) - 1
        layer: dict[int, tuple[float, int]] = {0: (0.0, self.without_service(0))}
        came: dict[int, int] = {}
        sets = 0
        for _ in self.steps:
            following: dict[int, tuple[float, int]] = {}
            for done, (cost, resting) in layer.items():
                for place in self._ready(done, first_of_alike=True):
                    dark = resting + self.interrupted_by(done, place)
                    after = done | 1 << place
                    spent = cost + self.minutes[place] * dark
                    known = following.get(after)
                    if known is not None and known[0] <= spent:
                        continue
                    if spent >= bound - _EPSILON:
                        continue
                    if known is None:
                        if spent + self._lower_bound(after) >= bound - _EPSILON:
                            continue
                        sets += 1
                        if sets > self.max_sets:
                            return False, None
                        following[after] = (spent, resting + self.change_after(done, place))
                    else:
                        following[after] = (spent, known[1])
                    came[after] = place
            layer = following
        if everything not in layer:
            return True, None
        order: list[int] = []
        done = everything
        while done:
            order.append(came[done])
            done &= ~(1 << came[done])
        return True, order[::-1]

    def _lower_bound(self, done: int) -> float:
        """Dark time that is still to come, whatever the order. Of what is dark, a step's minutes
        are shared among those who need it; what is left is a single machine with weights, whose
        least is by ratio (W. E. Smith, 1956)."""
        dark: list[tuple[int, int]] = []
        asked = [0] * len(self.steps)
        total = 0.0
        for lot in self.outage_groups:
            if not lot.in_service(done, done):
                wanted = self._with_prerequisites(lot.steps_always_needed(done), done)
                dark.append((wanted, lot.outlet_count))
                for place in _set_bits(wanted):
                    asked[place] += 1
            else:
                own = lot.leaving_steps & lot.arriving_steps & ~done
                if own:
                    total += lot.outlet_count * sum(self.minutes[place] for place in _set_bits(own))
        jobs = [
            (sum(self.minutes[place] / asked[place] for place in _set_bits(wanted)), weight)
            for wanted, weight in dark
        ]
        ended = 0.0
        for spent, weight in sorted(jobs, key=lambda job: job[0] / job[1]):
            ended += spent
            total += weight * ended
        return total

    def _ready(self, done: int, first_of_alike: bool = False) -> Iterator[int]:
        for place, waits in enumerate(self.waits_for):
            if done >> place & 1 or waits & ~done:
                continue
            before = self.interchangeable[place]
            if first_of_alike and before >= 0 and not done >> before & 1:
                continue
            yield place

    def _masked(self, lot: OutageGroup, weight: int) -> _MaskedGroup:
        def bits(steps: Iterable[int]) -> int:
            return _mask_of(self.index_of[step] for step in steps)

        def spans(found: Iterable[Downtime]) -> tuple[tuple[int, int, bool], ...]:
            return tuple(
                (bits(span.down_from), bits(span.up_after), span.down_at_start) for span in found
            )

        before, after = spans(lot.before), spans(lot.after)
        return _MaskedGroup(
            bits(lot.leaving_steps), bits(lot.arriving_steps), before, after, weight
        )

    def _interchangeable_steps(self) -> list[int]:
        """Steps that could change names without anything else changing: same minutes, same
        neighbours, lots that differ in nothing but the step (and so never hold two of them)."""
        followers = [0] * len(self.steps)
        for place, waits in enumerate(self.waits_for):
            for other in _set_bits(waits):
                followers[other] |= 1 << place
        groups: dict[object, list[int]] = {}
        for place in range(len(self.steps)):
            bit = 1 << place
            lots = tuple(sorted(_signature(lot, bit) for lot in self.groups_of_step[place]))
            key = (self.minutes[place], self.waits_for[place], followers[place], lots)
            groups.setdefault(key, []).append(place)
        alike = [-1] * len(self.steps)
        for group in groups.values():
            for earlier, later in pairwise(group):
                alike[later] = earlier
        return alike


def _set_bits(mask: int) -> Iterator[int]:
    while mask:
        yield (mask & -mask).bit_length() - 1
        mask &= mask - 1


def _signature(lot: _MaskedGroup, bit: int) -> tuple[object, ...]:
    """A lot as seen from one of its steps: that step is written as −1."""

    def seen(mask: int) -> tuple[int, int]:
        return (mask & ~bit, -1 if mask & bit else 0)

    def spans(found: tuple[tuple[int, int, bool], ...]) -> tuple[object, ...]:
        return tuple(sorted((seen(cuts), seen(mends), fresh) for cuts, mends, fresh in found))

    return (
        lot.outlet_count,
        seen(lot.leaving_steps),
        seen(lot.arriving_steps),
        spans(lot.before),
        spans(lot.after),
    )
