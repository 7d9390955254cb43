"""What the commits of one job touched and put in, taken from what they changed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from asbuilt.changes.compare import Change, RecordState
from asbuilt.changes.identity import ITEM_KINDS
from asbuilt.changes.log import Entry
from asbuilt.changes.state import text_of, texts_of
from asbuilt.model.site import natural
from asbuilt.records.quantity import Quantity, read_quantity

#: Fields of a mounted thing that change how its enclosure looks.
_LOOKS: Final = ("at", "face", "part", "ports", "dead", "abandoned", "reserved", "unknown", "label")


@dataclass(frozen=True, slots=True)
class Scope:
    """`first` and `last` are the commits of the job, the oldest and the newest; `marked` holds
    the mounted things and ports that changed, `enclosures` those that look different since."""

    first: str
    last: str
    outlets: tuple[str, ...]
    enclosures: tuple[str, ...]
    marked: frozenset[str]
    materials: tuple[str, ...]


def scope_of(entries: Sequence[Entry]) -> Scope | None:
    """The scope of these entries, newest first; None where none of them is committed."""
    committed = [entry for entry in entries if entry.commit]
    if not committed:
        return None
    changes = list(_changes(committed))
    items = [c for c in changes if c.kind in ITEM_KINDS and _looks_different(c)]
    marked = {thing.key for c in items for thing in (c.before, c.after) if thing}
    marked |= {port for c in changes if c.kind == "cord" for port in _ends(c)}
    return Scope(
        first=committed[-1].commit,
        last=committed[0].commit,
        outlets=_in_order(c.key for c in changes if c.kind == "outlet"),
        enclosures=_in_order({key.partition("/")[0] for c in items for key in _keys(c)}),
        marked=frozenset(marked),
        materials=tuple(_materials(changes)),
    )


def _changes(entries: Iterable[Entry]) -> Iterator[Change]:
    """Each change once, though it may be told in two sentences."""
    seen: set[int] = set()
    for entry in entries:
        for told in entry.lines:
            for change in told.changes:
                if id(change) not in seen:
                    seen.add(id(change))
                    yield change


def _looks_different(change: Change) -> bool:
    came_or_went = change.before is None or change.after is None
    moved = not came_or_went and change.before != change.after and len(set(_keys(change))) > 1
    return came_or_went or moved or any(name in _LOOKS for name in change.fields)


def _keys(change: Change) -> list[str]:
    return [thing.key for thing in (change.before, change.after) if thing]


def _ends(change: Change) -> Iterator[str]:
    for thing in (change.before, change.after):
        if thing:
            yield from texts_of(thing.facts, "from")
            yield from texts_of(thing.facts, "to")


def _in_order(keys: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(set(keys), key=natural))


def _materials(changes: Sequence[Change]) -> Iterator[str]:
    """What was put in, counted: mounted things, jacks, cable and cords by length."""
    added = [change.after for change in changes if change.before is None and change.after]
    for kind in ("panel", "switch", "router", "ups", "power strip", "manager", "shelf"):
        kinds = Counter(_item_words(thing) for thing in added if thing.kind == kind)
        yield from (f"{count} × {words}" for words, count in sorted(kinds.items()))
    outlets = [thing for thing in added if thing.kind == "outlet"]
    if outlets:
        yield f"{len(outlets)} × jack"
    for cable in sorted({text_of(thing.facts, "cable") or "" for thing in outlets} - {""}):
        lengths = [_metres(t, "length") for t in outlets if text_of(t.facts, "cable") == cable]
        known = [length for length in lengths if length is not None]
        missing = len(lengths) - len(known)
        more = f", and {missing} of unknown length" if missing else ""
        drops = "1 drop" if len(known) == 1 else f"{len(known)} drops"
        yield f"{sum(known):.0f} m of {cable} in {drops}{more}"
    cords = Counter(text_of(t.facts, "cord") or "" for t in added if t.kind == "cord")
    for length, count in sorted(cords.items(), key=lambda pair: natural(pair[0])):
        yield f"{count} × cord{f' of {length}' if length else ', length not recorded'}"


def _item_words(thing: RecordState) -> str:
    ports = text_of(thing.facts, "ports")
    return f"{ports}-port {thing.kind}" if ports else thing.kind


def _metres(thing: RecordState, field: str) -> float | None:
    text = text_of(thing.facts, field)
    quantity = read_quantity(text, "length") if text else None
    return quantity.to("m") if isinstance(quantity, Quantity) else None
