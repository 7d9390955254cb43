"""Changes in words: one plain sentence each, with what is alike in one sentence together, and the
technical detail behind it."""

from __future__ import annotations

import functools
from collections import defaultdict
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from asbuilt.changes.compare import Change
from asbuilt.changes.identity import ITEM_KINDS
from asbuilt.changes.meaning import ORDER, Aspect, Meaning, aspects_of, renames_in
from asbuilt.changes.names import Names, Phrase, Piece, shown
from asbuilt.changes.sentences import SentenceWriter, crowd, patched, single
from asbuilt.changes.state import Facts, State, text_of, texts_of
from asbuilt.model.site import natural
from asbuilt.records.kinds import KINDS

__all__ = ["LogLine", "Piece", "lines_of_changes"]

MOST_GROUPS = 4  # sentences about one sort of change; of more, small ones are told as one
LARGE = 3


@dataclass(frozen=True, slots=True)
class LogLine:
    """What is told of some changes: `verb` names what happened, `sentence` says it, `details`
    hold each field as it was and is."""

    verb: str
    sentence: Phrase
    details: tuple[str, ...]
    changes: tuple[Change, ...]

    @property
    def text(self) -> str:
        """The sentence without its links."""
        return "".join(piece.text for piece in self.sentence)


def lines_of_changes(changes: Sequence[Change], before: State, after: State) -> tuple[LogLine, ...]:
    """What a set of changes between two states means. Every change is in what is told."""
    teller = SentenceWriter(Names(before), Names(after))
    renames = renames_in(changes)
    sorts: dict[tuple[int, int, str], list[Aspect]] = defaultdict(list)
    for change in changes:
        for aspect in aspects_of(change, renames):
            sorts[_sort(aspect)].append(aspect)
    return tuple(
        _told(teller, group) for sort in sorted(sorts) for group in _groups(teller, sorts[sort])
    )


def _told(teller: SentenceWriter, aspects: Sequence[Aspect]) -> LogLine:
    aspects = sorted(aspects, key=lambda aspect: _natural(aspect.change))
    sentence = crowd(teller, aspects) if len(aspects) > 1 else single(teller, aspects[0])
    details = tuple(line for aspect in aspects for line in _details(aspect))
    return LogLine(
        aspects[0].what.value, sentence, details, tuple(aspect.change for aspect in aspects)
    )


#: Kinds in the order in which a reader wants to hear of them.
_ORDER = (
    "site", "job", "finding", "caution", "contact", "building", "floor", "room", "enclosure",
    "item", "outlet", "cord", "backbone", "circuit", "network", "pathway", "photo", "test",
)  # fmt: skip


def _sort(aspect: Aspect) -> tuple[int, int, str]:
    """What is alike enough to stand together."""
    family = "item" if aspect.change.kind in ITEM_KINDS else aspect.change.kind
    what = ORDER[aspect.what]
    if aspect.what is Meaning.FOLLOWED:
        return len(_ORDER) + 1, what, ""
    return (_ORDER.index(family) if family in _ORDER else len(_ORDER)), what, family


def _groups(teller: SentenceWriter, aspects: Sequence[Aspect]) -> Iterable[list[Aspect]]:
    """Those that share what one would say of them; all in one where that would be many."""
    if aspects[0].what is Meaning.FOLLOWED:
        return [list(aspects)]
    groups: dict[Hashable, list[Aspect]] = defaultdict(list)
    for aspect in aspects:
        groups[_alike(teller, aspect)].append(aspect)
    if len(groups) <= MOST_GROUPS or aspects[0].what in (Meaning.RENAMED, Meaning.REPLACED):
        return groups.values()
    if aspects[0].what is Meaning.CHANGED:
        # Different fields have nothing in common to be told of; only their values can go unsaid.
        by_fields: dict[Hashable, list[Aspect]] = defaultdict(list)
        for aspect in aspects:
            by_fields[aspect.change.kind, aspect.fields].append(aspect)
        return by_fields.values()
    large = sorted(groups.values(), key=lambda group: -len(group))[: MOST_GROUPS - 1]
    large = [group for group in large if len(group) >= LARGE]
    kept = {id(aspect) for group in large for aspect in group}
    return [*large, [aspect for aspect in aspects if id(aspect) not in kept]]


def _alike(teller: SentenceWriter, aspect: Aspect) -> Hashable:
    change, what = aspect.change, aspect.what
    facts = change.thing.facts
    names = teller.after if change.after else teller.before
    if what is Meaning.CHANGED:
        recorded = all(change.was(name) is None for name in aspect.fields)
        if recorded or len(aspect.fields) > 1:
            return change.kind, aspect.fields, recorded
        (name,) = aspect.fields
        return change.kind, name, shown(change.was(name)), shown(change.now(name))
    if change.kind == "outlet":
        if what in (Meaning.ADDED, Meaning.REMOVED):
            return names.floor_of(text_of(facts, "room"))
        if what is Meaning.MOVED:
            return shown(change.was("room")), shown(change.now("room"))
        if what is Meaning.RETERMINATED:
            return _items(texts_of(facts, "port")), bool(change.now("port"))
        return None
    if change.kind == "cord":
        outlets, here, there = patched(names, facts)
        return bool(outlets), (there if outlets else here).rpartition("/")[0]
    if change.kind in ITEM_KINDS and what in (Meaning.ADDED, Meaning.REMOVED, Meaning.CHANGED):
        return change.key.partition("/")[0]
    if change.kind == "room" and what in (Meaning.ADDED, Meaning.REMOVED):
        return names.floor_of(change.key)
    if change.kind in ("test", "contact", "floor", "building", "network", "pathway", "photo"):
        return change.kind
    return change.kind, change.key


def _items(ports: Sequence[str]) -> tuple[str, ...]:
    return tuple(sorted({port.rpartition("/")[0] for port in ports}))


def _details(aspect: Aspect) -> list[str]:
    change = aspect.change
    who = f"{change.kind} {change.key}"
    if change.before and change.after:
        lines = []
        if aspect.what in (Meaning.RENAMED, Meaning.REPLACED, Meaning.RERACKED, Meaning.REPATCHED):
            was, now = (f"{thing.kind} {thing.key}" for thing in (change.before, change.after))
            lines = [f"{was} → {now}"] if was != now else []
        fields = [
            f"{name}: {shown(change.was(name))} → {shown(change.now(name))}"
            for name in _in_order(change.kind, aspect.fields)
        ]
        return [*lines, f"{who}: {'; '.join(fields)}"] if fields else lines or [who]
    facts = change.thing.facts
    said = [f"{name}: {shown(facts[name])}" for name in _in_order(change.kind, facts)]
    return [f"{who}: {'; '.join(said)}" if said else who]


def _in_order(kind: str, fields: Iterable[str] | Facts) -> list[str]:
    """Fields in the order of the schema, then those it doesn't know."""
    places = _places(kind)
    return sorted(fields, key=lambda name: (places.get(name, len(places)), name))


@functools.cache
def _places(kind: str) -> dict[str, int]:
    specs = KINDS[kind].specs if kind in KINDS else {}
    return {name: place for place, name in enumerate(specs)}


def _natural(change: Change) -> Any:
    return change.kind if change.kind in ITEM_KINDS else "", natural(change.key)
