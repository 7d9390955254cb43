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
MOST_SETS: Final = 20_000
_PASSES: Final = 8
_HAIR: Final = 1e-9


@dataclass(frozen=True, slots=True, order=True)
class Downtime:
    """A part of the plant: down from the first of its `cuts` until all its `mends` are done; a
    `fresh` one is down from the start; without mends it never comes back."""

    cuts: tuple[int, ...]
    mends: tuple[int, ...]
    fresh: bool = False


@dataclass(frozen=True, slots=True, order=True)
class OutageGroup:
    """Outlets that are dark and lit together, `weight` of them."""

    begin: tuple[int, ...]
    end: tuple[int, ...]
    before: tuple[Downtime, ...]
    after: tuple[Downtime, ...]
    weight: int = 1

    @property
    def steps(self) -> frozenset[int]:
        spans = (*self.before, *self.after)
        return frozenset(
            (*self.begin, *self.end, *(s for span in spans for s in (*span.cuts, *span.mends)))
        )


@dataclass(frozen=True, slots=True)
class SequenceWork:
    """Steps by number: how many minutes each takes, and which others it waits for."""

    minutes: tuple[float, ...]
    waits: tuple[frozenset[int], ...]
    lots: tuple[OutageGroup, ...]


@dataclass(frozen=True, slots=True)
class StepSequence:
    """`dark` is minutes times outlets; `least` says that no order has less, by search."""

    steps: tuple[int, ...]
    dark: float
    least: bool


def best_step_sequence(work: SequenceWork, most_sets: int = MOST_SETS) -> StepSequence:
    """The order of least dark time, or the best met where the search would take too long.

    ValueError where steps wait for each other in a circle.
    """
    in_turn = _in_turn(work)
    last = _nobody_waits(work, in_turn)
    steps: list[int] = []
    dark, least = 0.0, True
    for part in _apart(work, [step for step in in_turn if step not in last]):
        found = _Search(work, part, most_sets).best()
        steps += found.steps
        dark += found.dark
        least = least and found.least
    steps += [step for step in in_turn if step in last]
    return StepSequence(tuple(steps), dark, least)


def dark_of(work: SequenceWork, steps: Sequence[int]) -> float:
    """Minutes times outlets that are dark when the steps are done in this order."""
    search = _Search(work, sorted(steps), 0)
    return search.cost([search.place[step] for step in steps])


def _in_turn(work: SequenceWork) -> list[int]:
    """The steps in an order that respects who waits for whom, else by number."""
    left = dict(enumerate(work.waits))
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


def _nobody_waits(work: SequenceWork, in_turn: Sequence[int]) -> frozenset[int]:
    """Steps that darken nobody and that nothing which does waits for: left for last."""
    needed = {step for lot in work.lots for step in lot.steps}
    for step in reversed(in_turn):
        if step in needed:
            needed |= work.waits[step]
    return frozenset(in_turn) - needed


def _apart(work: SequenceWork, steps: Sequence[int]) -> list[list[int]]:
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
        join((step, *work.waits[step]))
    for lot in work.lots:
        join(lot.steps)
    parts: dict[int, list[int]] = {}
    for step in sorted(steps):
        parts.setdefault(find(step), []).append(step)
    return [parts[head] for head in sorted(parts)]


def _bits(steps: Iterable[int]) -> int:
    mask = 0
    for step in steps:
        mask |= 1 << step
    return mask


@dataclass(frozen=True, slots=True)
class _Masked:
    """A lot with its steps as bits."""

    begin: int
    end: int
    before: tuple[tuple[int, int, bool], ...]
    after: tuple[tuple[int, int, bool], ...]
    weight: int

    def lit(self, done: int, begun: int) -> bool:
        if not self.begin & begun and all(_up(span, done, begun) for span in self.before):
            return True
        return not self.end & ~done and all(_up(span, done, begun) for span in self.after)

    def needs(self, done: int) -> int:
        """The undone steps, fewest, that give it a whole connection."""
        old, new = self._ways(done)
        return new if old is None or new.bit_count() <= old.bit_count() else old

    def surely_needs(self, done: int) -> int:
        """The undone steps without which it can't be lit, by its old connection or its new one."""
        old, new = self._ways(done)
        return new if old is None else old & new

    def _ways(self, done: int) -> tuple[int | None, int]:
        new = (self.end | _mends(self.after, done)) & ~done
        if self.begin & done or any(cuts & done and not mends for cuts, mends, _ in self.before):
            return None, new
        return _mends(self.before, done) & ~done, new


def _up(span: tuple[int, int, bool], done: int, begun: int) -> bool:
    cuts, mends, fresh = span
    if not fresh and not cuts & begun:
        return True
    return bool(mends) and not mends & ~done


def _mends(spans: Iterable[tuple[int, int, bool]], done: int) -> int:
    wanted = 0
    for cuts, mends, fresh in spans:
        if fresh or cuts & done:
            wanted |= mends
    return wanted


@dataclass(slots=True)
class _Search:
    """The steps of one part, renumbered from 0."""

    work: SequenceWork
    steps: Sequence[int]
    most_sets: int
    place: dict[int, int] = field(init=False)
    minutes: list[float] = field(init=False)
    waits: list[int] = field(init=False)
    lots: list[_Masked] = field(init=False)
    touching: list[list[_Masked]] = field(init=False)
    alike: list[int] = field(init=False)  # of alike steps, the one that goes before; -1: none

    def __post_init__(self) -> None:
        self.place = {step: place for place, step in enumerate(self.steps)}
        self.minutes = [self.work.minutes[step] for step in self.steps]
        here = self.place.keys()
        waits = [[self.place[w] for w in self.work.waits[s] if w in here] for s in self.steps]
        self.waits = [_bits(wait) for wait in waits]
        lots: dict[OutageGroup, int] = {}
        for lot in self.work.lots:
            if lot.steps <= here and lot.steps:
                plain = OutageGroup(lot.begin, lot.end, lot.before, lot.after, 0)
                lots[plain] = lots.get(plain, 0) + lot.weight
        self.lots = [self._masked(lot, weight) for lot, weight in sorted(lots.items())]
        self.touching = [[] for _ in self.steps]
        for masked, (lot, _) in zip(self.lots, sorted(lots.items()), strict=True):
            for step in lot.steps:
                self.touching[self.place[step]].append(masked)
        self.alike = self._alike()

    def best(self) -> StepSequence:
        guess = self._improved(self._guess())
        cost = self.cost(guess)
        proved, better = self._search(cost)
        if better is not None:
            guess, cost = better, self.cost(better)
        return StepSequence(tuple(self.steps[place] for place in guess), cost, proved)

    def cost(self, order: Sequence[int]) -> float:
        done, resting, total = 0, self.resting(0), 0.0
        for place in order:
            total += self.minutes[place] * (resting + self.added(done, place))
            resting += self.change(done, place)
            done |= 1 << place
        return total

    def resting(self, done: int) -> int:
        """Outlets dark between two steps."""
        return sum(lot.weight for lot in self.lots if not lot.lit(done, done))

    def added(self, done: int, place: int) -> int:
        """Outlets that a step darkens while it is done."""
        begun = done | 1 << place
        return sum(
            lot.weight
            for lot in self.touching[place]
            if lot.lit(done, done) and not lot.lit(done, begun)
        )

    def change(self, done: int, place: int) -> int:
        """How many more outlets are dark after a step than before it."""
        after = done | 1 << place
        return sum(
            lot.weight * (lot.lit(done, done) - lot.lit(after, after))
            for lot in self.touching[place]
        )

    # A good order

    def _guess(self) -> list[int]:
        """Bring back what is dark, most outlets a minute first; where nothing is, do what darkens
        least."""
        order: list[int] = []
        done, everything = 0, (1 << len(self.steps)) - 1
        dark = [lot for lot in self.lots if not lot.lit(0, 0)]
        while done != everything:
            if dark:
                chosen = self._relight(done, dark)
            else:
                chosen = [min(self._ready(done), key=lambda place: self._burden(done, place))]
            for place in chosen:
                order.append(place)
                touched = {id(lot) for lot in self.touching[place]}
                done |= 1 << place
                dark = [lot for lot in dark if id(lot) not in touched]
                dark += [lot for lot in self.touching[place] if not lot.lit(done, done)]
        return order

    def _relight(self, done: int, dark: Sequence[_Masked]) -> list[int]:
        worth: dict[int, int] = {}
        for lot in dark:
            wanted = self._with_waits(lot.needs(done), done)
            worth[wanted] = worth.get(wanted, 0) + lot.weight
        if not worth or 0 in worth:
            return [next(self._ready(done))]

        everything = _bits(place for wanted in worth for place in _places(wanted))
        darkens = {place: self.added(done, place) for place in _places(everything)}

        def ratio(wanted: int) -> tuple[float, int]:
            gain = sum(weight for other, weight in worth.items() if not other & ~wanted)
            gain -= sum(darkens[place] for place in _places(wanted))
            spent = sum(self.minutes[place] for place in _places(wanted))
            return (-gain / max(spent, _HAIR), wanted & -wanted)

        return self._ordered(min(worth, key=ratio), done)

    def _with_waits(self, wanted: int, done: int) -> int:
        todo = wanted
        while todo:
            place = (todo & -todo).bit_length() - 1
            todo &= todo - 1
            more = self.waits[place] & ~done & ~wanted
            wanted |= more
            todo |= more
        return wanted

    def _ordered(self, wanted: int, done: int) -> list[int]:
        found: list[int] = []
        while wanted:
            place = next(p for p in _places(wanted) if not self.waits[p] & ~done)
            found.append(place)
            wanted &= ~(1 << place)
            done |= 1 << place
        return found

    def _burden(self, done: int, place: int) -> tuple[float, float, int]:
        return (self.change(done, place), self.minutes[place] * self.added(done, place), place)

    def _improved(self, order: list[int]) -> list[int]:
        """Neighbours change places as long as that helps."""
        for _ in range(_PASSES):
            done, resting, helped = 0, self.resting(0), False
            for at in range(len(order)):
                if at + 1 < len(order):
                    one, other = order[at], order[at + 1]
                    if not self.waits[other] >> one & 1:
                        gain = self._pair(done, resting, one, other)
                        gain -= self._pair(done, resting, other, one)
                        if gain > _HAIR:
                            order[at], order[at + 1] = other, one
                            helped = True
                resting += self.change(done, order[at])
                done |= 1 << order[at]
            if not helped:
                break
        return order

    def _pair(self, done: int, resting: int, one: int, other: int) -> float:
        first = self.minutes[one] * (resting + self.added(done, one))
        resting += self.change(done, one)
        done |= 1 << one
        return first + self.minutes[other] * (resting + self.added(done, other))

    # The proof

    def _search(self, bound: float) -> tuple[bool, list[int] | None]:
        """Whether all sets were looked at that could lead to less than `bound`, and the order
        that does, if one does."""
        everything = (1 << len(self.steps)) - 1
        layer: dict[int, tuple[float, int]] = {0: (0.0, self.resting(0))}
        came: dict[int, int] = {}
        sets = 0
        for _ in self.steps:
            following: dict[int, tuple[float, int]] = {}
            for done, (cost, resting) in layer.items():
                for place in self._ready(done, first_of_alike=True):
                    dark = resting + self.added(done, place)
                    after = done | 1 << place
                    spent = cost + self.minutes[place] * dark
                    known = following.get(after)
                    if known is not None and known[0] <= spent:
                        continue
                    if spent >= bound - _HAIR:
                        continue
                    if known is None:
                        if spent + self._at_least(after) >= bound - _HAIR:
                            continue
                        sets += 1
                        if sets > self.most_sets:
                            return False, None
                        following[after] = (spent, resting + self.change(done, place))
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

    def _at_least(self, done: int) -> float:
        """Dark time that is still to come, whatever the order. Of what is dark, a step's minutes
        are shared among those who need it; what is left is a single machine with weights, whose
        least is by ratio (W. E. Smith, 1956)."""
        dark: list[tuple[int, int]] = []
        asked = [0] * len(self.steps)
        total = 0.0
        for lot in self.lots:
            if not lot.lit(done, done):
                wanted = self._with_waits(lot.surely_needs(done), done)
                dark.append((wanted, lot.weight))
                for place in _places(wanted):
                    asked[place] += 1
            else:
                own = lot.begin & lot.end & ~done
                if own:
                    total += lot.weight * sum(self.minutes[place] for place in _places(own))
        jobs = [
            (sum(self.minutes[place] / asked[place] for place in _places(wanted)), weight)
            for wanted, weight in dark
        ]
        ended = 0.0
        for spent, weight in sorted(jobs, key=lambda job: job[0] / job[1]):
            ended += spent
            total += weight * ended
        return total

    def _ready(self, done: int, first_of_alike: bool = False) -> Iterator[int]:
        for place, waits in enumerate(self.waits):
            if done >> place & 1 or waits & ~done:
                continue
            before = self.alike[place]
            if first_of_alike and before >= 0 and not done >> before & 1:
                continue
            yield place

    def _masked(self, lot: OutageGroup, weight: int) -> _Masked:
        def bits(steps: Iterable[int]) -> int:
            return _bits(self.place[step] for step in steps)

        def spans(found: Iterable[Downtime]) -> tuple[tuple[int, int, bool], ...]:
            return tuple((bits(span.cuts), bits(span.mends), span.fresh) for span in found)

        before, after = spans(lot.before), spans(lot.after)
        return _Masked(bits(lot.begin), bits(lot.end), before, after, weight)

    def _alike(self) -> list[int]:
        """Steps that could change names without anything else changing: same minutes, same
        neighbours, lots that differ in nothing but the step (and so never hold two of them)."""
        followers = [0] * len(self.steps)
        for place, waits in enumerate(self.waits):
            for other in _places(waits):
                followers[other] |= 1 << place
        groups: dict[object, list[int]] = {}
        for place in range(len(self.steps)):
            bit = 1 << place
            lots = tuple(sorted(_without(lot, bit) for lot in self.touching[place]))
            key = (self.minutes[place], self.waits[place], followers[place], lots)
            groups.setdefault(key, []).append(place)
        alike = [-1] * len(self.steps)
        for group in groups.values():
            for earlier, later in pairwise(group):
                alike[later] = earlier
        return alike


def _places(mask: int) -> Iterator[int]:
    while mask:
        yield (mask & -mask).bit_length() - 1
        mask &= mask - 1


def _without(lot: _Masked, bit: int) -> tuple[object, ...]:
    """A lot as seen from one of its steps: that step is written as −1."""

    def seen(mask: int) -> tuple[int, int]:
        return (mask & ~bit, -1 if mask & bit else 0)

    def spans(found: tuple[tuple[int, int, bool], ...]) -> tuple[object, ...]:
        return tuple(sorted((seen(cuts), seen(mends), fresh) for cuts, mends, fresh in found))

    return (lot.weight, seen(lot.begin), seen(lot.end), spans(lot.before), spans(lot.after))
