"""Whether a thing that lost its key and one that gained one are the same thing.

What a thing connects is the evidence: a panel is the same panel while the same outlets end at
it, whatever it is called now; a cord is re-patched while one of its ends stays. Evidence counts
only where it is the only one of its sort on both sides, so that nothing is guessed. It is asked
in rounds, the strongest first; what one round found helps the next.

The two sides are asked in the same way, so that the way back finds the same pairs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TypeAlias

from asbuilt.changes.state import Facts, Key, State, Value, plain_order, text_of, texts_of
from asbuilt.records.kinds import KINDS, REFERABLE

#: What two things are told to be the same by; a thing may have several pieces of it.
Evidence: TypeAlias = Iterable[Hashable]
ITEM_KINDS = frozenset(REFERABLE["item"])
#: Where a mounted thing is.
PLACE = ("at", "face", "part", "where")
#: Fields that tell a thing of its kind from others, each group enough by itself.
_TELLING: Mapping[str, tuple[tuple[str, ...], ...]] = {
    "contact": (("name",),),
    "building": (("name",), ("address",)),
    "floor": (("building", "name"), ("building", "level")),
    "circuit": (("carrier", "reference"), ("lands on",)),
    "network": (("number",), ("name",)),
    "backbone": (("label",),),
    "pathway": (("label",), ("route",)),
    "finding": (("what", "found on"), ("what",)),
    "job": (("title",),),
    "caution": (("hazard", "where"), ("hazard", "room")),
}


def match_renamed(
    old: State, new: State, gone: Mapping[Key, Facts], come: Mapping[Key, Facts]
) -> list[tuple[Key, Key]]:
    """Pairs of what is gone and what has come that are the same thing under two keys."""
    if not gone or not come:
        return []
    before, after = _Side(old, dict(gone)), _Side(new, dict(come))
    pairs: list[tuple[Key, Key]] = []
    for kinds, evidence in _ROUNDS:
        found = list(_only_ones(before, after, kinds, evidence))
        for one, other in found:
            before.take(one, (one, other))
            after.take(other, (one, other))
        pairs += found
    return pairs


@dataclass(slots=True)
class _Side:
    """One of the two states: what of it is still without its other half, and whose is known.

    `names` gives each thing whose other half is known a name that is the same on both sides.
    """

    state: State
    open: dict[Key, Facts]
    names: dict[Key, tuple[Key, Key]] = field(default_factory=dict)
    _cabling: dict[str, list[tuple[str, Key]]] | None = None
    _on_port: dict[str, list[str]] | None = None
    _inside: dict[str, list[tuple[Key, Facts]]] | None = None

    def take(self, key: Key, pair: tuple[Key, Key]) -> None:
        del self.open[key]
        known = ("item" if key[0] in ITEM_KINDS else key[0], key[1])
        first, second = sorted(pair)
        # Two kinds under one key are a mistake in the records, but the same one both ways.
        self.names[known] = min(self.names.get(known, (first, second)), (first, second))

    def name(self, kind: str, key: str) -> Hashable:
        """A thing's key, or the name it has on both sides when the two keys differ."""
        kind = "item" if kind in ITEM_KINDS else kind
        known = self.names.get((kind, key))
        if known is None and kind == "item":
            enclosure, _, name = key.partition("/")
            return (self.name("enclosure", enclosure), name)
        return key if known is None else known

    def port(self, text: str) -> Hashable:
        item, _, name = text.rpartition("/")
        return (self.name("item", item), name)

    def ports(self, facts: Facts, name: str) -> frozenset[Hashable]:
        return frozenset(self.port(text) for text in texts_of(facts, name))

    def value(self, kind: str, name: str, value: Value) -> Hashable:
        """A field's value with the names that both sides share in it."""
        spec = KINDS[kind].specs.get(name) if kind in KINDS else None
        if spec and spec.names_ports:
            return tuple(self.port(text) for text in texts_of({name: value}, name))
        if spec and spec.refers_to:
            keys = texts_of({name: value}, name)
            return tuple(self.name(spec.refers_to, key) for key in keys)
        return plain_order(value)

    def facts(self, kind: str, facts: Facts, without: Iterable[str] = ()) -> Hashable:
        left = facts.keys() - set(without)
        return frozenset((name, self.value(kind, name, facts[name])) for name in left)

    def cabling_of(self, item: str) -> list[tuple[str, Key]]:
        """What ends at an item: port name and the cable, backbone or circuit on it."""
        if self._cabling is None:
            self._cabling = defaultdict(list)
            for (kind, key), facts in self.state.items():
                for name in _CABLED.get(kind, ()):
                    for text in texts_of(facts, name):
                        owner, _, port = text.rpartition("/")
                        self._cabling[owner].append((port, (kind, key)))
        return self._cabling.get(item, [])

    def outlets_on(self, port: str) -> list[str]:
        if self._on_port is None:
            self._on_port = defaultdict(list)
            for (kind, key), facts in self.state.items():
                if kind == "outlet":
                    for text in texts_of(facts, "port"):
                        self._on_port[text].append(key)
        return self._on_port.get(port, [])

    def inside(self, enclosure: str) -> list[tuple[Key, Facts]]:
        if self._inside is None:
            self._inside = defaultdict(list)
            for key, facts in self.state.items():
                if key[0] in ITEM_KINDS:
                    self._inside[key[1].partition("/")[0]].append((key, facts))
        return self._inside.get(enclosure, [])


#: Cabling that stays when a thing is called otherwise, and the fields that name its ports.
_CABLED = {"outlet": ("port",), "backbone": ("from", "to"), "circuit": ("lands on",)}

_Ask: TypeAlias = Callable[[_Side, Key, Facts], Evidence]


def _only_ones(
    before: _Side, after: _Side, kinds: frozenset[str] | None, ask: _Ask
) -> Iterator[tuple[Key, Key]]:
    """The pairs that share evidence with each other and with nothing else."""
    had: dict[Hashable, list[Key]] = defaultdict(list)
    has: dict[Hashable, list[Key]] = defaultdict(list)
    for side, found in ((before, had), (after, has)):
        for key, facts in side.open.items():
            if kinds is None or key[0] in kinds:
                for evidence in ask(side, key, facts):
                    found[evidence].append(key)
    left: dict[Key, set[Key]] = defaultdict(set)
    right: dict[Key, set[Key]] = defaultdict(set)
    for evidence in had.keys() & has.keys():
        for one in had[evidence]:
            left[one].update(has[evidence])
        for other in has[evidence]:
            right[other].update(had[evidence])
    for one in sorted(left):
        if len(left[one]) == 1:
            (other,) = left[one]
            if right[other] == {one}:
                yield one, other


def _structure(side: _Side, key: Key, facts: Facts) -> Evidence:
    """What is mounted in an enclosure, and where."""
    mounted = frozenset(
        (item[0], item[1].partition("/")[2], *(text_of(held, name) for name in PLACE))
        for item, held in side.inside(key[1])
    )
    if mounted:
        yield mounted


def _structure_and_facts(side: _Side, key: Key, facts: Facts) -> Evidence:
    for mounted in _structure(side, key, facts):
        yield mounted, side.facts(key[0], facts, ("label",))


def _all_facts(side: _Side, key: Key, facts: Facts) -> Evidence:
    if facts:
        yield key[0], side.facts(key[0], facts)


def _telling(side: _Side, key: Key, facts: Facts) -> Evidence:
    for names in _TELLING.get(key[0], ()):
        if names[-1] in facts:
            told = (side.value(key[0], name, facts.get(name, "")) for name in names)
            yield key[0], names, tuple(told)


def _room_name(side: _Side, key: Key, facts: Facts) -> Evidence:
    if "name" in facts:
        floor = text_of(facts, "floor")
        yield text_of(facts, "name"), side.name("floor", floor) if floor else None


def _room_contents(side: _Side, key: Key, facts: Facts) -> Evidence:
    inside = frozenset(
        (kind, side.name(kind, other))
        for (kind, other), held in side.state.items()
        if kind in ("outlet", "enclosure") and text_of(held, "room") == key[1]
    )
    if inside:
        yield inside


def _floor_contents(side: _Side, key: Key, facts: Facts) -> Evidence:
    rooms = frozenset(
        side.name(kind, other)
        for (kind, other), held in side.state.items()
        if kind == "room" and text_of(held, "floor") == key[1]
    )
    if rooms:
        yield rooms


def _item_name(side: _Side, key: Key, facts: Facts) -> Evidence:
    """The same name in the same enclosure, which may have another key by now."""
    yield side.name("item", key[1])


def _item_cabling(side: _Side, key: Key, facts: Facts) -> Evidence:
    ends = frozenset(
        (port, kind, side.name(kind, other)) for port, (kind, other) in side.cabling_of(key[1])
    )
    if ends:
        yield key[0], ends


def _item_cords(side: _Side, key: Key, facts: Facts) -> Evidence:
    """The far ends of all cords on it, port by port."""
    ends: set[Hashable] = set()
    for (kind, _), held in side.state.items():
        if kind != "cord":
            continue
        one, other = text_of(held, "from") or "", text_of(held, "to") or ""
        for here, there in ((one, other), (other, one)):
            item, _, port = here.rpartition("/")
            if item == key[1]:
                ends.add((port, side.port(there)))
    if ends:
        yield key[0], frozenset(ends)


def _item_place(side: _Side, key: Key, facts: Facts) -> Evidence:
    if "at" in facts:
        enclosure = side.name("enclosure", key[1].partition("/")[0])
        yield enclosure, *(text_of(facts, name) for name in PLACE)


def _item_elsewhere(side: _Side, key: Key, facts: Facts) -> Evidence:
    """The same thing by all but its place."""
    yield key[0], key[1].partition("/")[2], side.facts(key[0], facts, PLACE)


def _outlet_drop(side: _Side, key: Key, facts: Facts) -> Evidence:
    """The same cable to the same room."""
    ports = side.ports(facts, "port")
    if ports:
        room = text_of(facts, "room")
        yield ports, side.name("room", room) if room else None


def _outlet_label(side: _Side, key: Key, facts: Facts) -> Evidence:
    room = text_of(facts, "room")
    if room and "label" in facts:
        yield side.name("room", room), text_of(facts, "label"), text_of(facts, "plate")


def _ends(facts: Facts) -> tuple[str, str]:
    return text_of(facts, "from") or "", text_of(facts, "to") or ""


def _cord_ends(side: _Side, key: Key, facts: Facts) -> Evidence:
    """Between the same two ports, whichever is written first."""
    yield frozenset(side.port(end) for end in _ends(facts))


def _cord_outlet(side: _Side, key: Key, facts: Facts) -> Evidence:
    for end in _ends(facts):
        for outlet in side.outlets_on(end):
            yield side.name("outlet", outlet)


def _cord_one_end(side: _Side, key: Key, facts: Facts) -> Evidence:
    for end in _ends(facts):
        yield side.port(end)


def _backbone_ends(side: _Side, key: Key, facts: Facts) -> Evidence:
    yield frozenset((side.ports(facts, "from"), side.ports(facts, "to")))


def _only(*kinds: str) -> frozenset[str]:
    return frozenset(kinds)


#: Whom to ask for what, the strongest evidence first.
_ROUNDS: tuple[tuple[frozenset[str] | None, _Ask], ...] = (
    (_only("enclosure"), _structure_and_facts),
    (_only("enclosure"), _structure),
    (_only("building", "floor", "enclosure", "network", "pathway"), _all_facts),
    (_only("building", "floor"), _telling),
    (_only("room"), _room_name),
    (ITEM_KINDS, _item_name),
    (ITEM_KINDS, _item_cabling),
    (_only("outlet"), _outlet_drop),
    (_only("outlet"), _outlet_label),
    (_only("room"), _room_contents),
    (_only("floor"), _floor_contents),
    (ITEM_KINDS, _item_cords),
    (ITEM_KINDS, _item_elsewhere),
    (ITEM_KINDS, _item_place),
    (_only("cord"), _cord_ends),
    (_only("cord"), _cord_outlet),
    (_only("cord"), _cord_one_end),
    (_only("backbone"), _backbone_ends),
    (frozenset(KINDS) - ITEM_KINDS - _only("cord", "outlet"), _all_facts),
    (frozenset(KINDS) - ITEM_KINDS - _only("cord", "outlet"), _telling),
)
