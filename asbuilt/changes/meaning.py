"""What a change means to the trade. One change may mean several things: an outlet that was moved
and ends on another port as well is told both; each field that differs belongs to one of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from asbuilt.changes.compare import Change
from asbuilt.changes.identity import ITEM_KINDS, PLACE
from asbuilt.changes.state import Facts, Key, Value, text_of
from asbuilt.records.kinds import KINDS


class Meaning(StrEnum):
    """What happened to a thing, in the order in which it is told."""

    ADDED = "added"
    OPENED = "opened"
    REMOVED = "removed"
    REPLACED = "replaced"
    RENAMED = "renamed"
    MOVED = "moved"
    RERACKED = "re-racked"
    RETERMINATED = "re-terminated"
    REPATCHED = "re-patched"
    RELABELLED = "relabelled"
    CLEARED = "cleared"
    REOPENED = "reopened"
    ADVANCED = "advanced"
    CHANGED = "changed"
    REWRITTEN = "rewritten"  # the same thing said in another way: a cord from its other end
    FOLLOWED = "followed"  # nothing but the new name of something it refers to


ORDER: Final = {what: place for place, what in enumerate(Meaning)}


@dataclass(frozen=True, slots=True)
class Aspect:
    """One meaning of a change, and the fields that bear it."""

    what: Meaning
    change: Change
    fields: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Renames:
    """The new keys of what was renamed in a set of changes, so that what only follows from a
    new name isn't taken for a change of its own."""

    keys: Mapping[Key, str]

    def key(self, kind: str, key: str) -> str:
        kind = "item" if kind in ITEM_KINDS else kind
        known = self.keys.get((kind, key))
        if known is None and kind == "item":
            enclosure, slash, name = key.partition("/")
            return f"{self.key('enclosure', enclosure)}{slash}{name}"
        return known or key

    def port(self, text: str) -> str:
        item, slash, name = text.rpartition("/")
        return f"{self.key('item', item)}{slash}{name}" if item else text

    def value(self, kind: str, field: str, value: Value) -> Value:
        """What an old value of a field would be called now."""
        spec = KINDS[kind].specs.get(field) if kind in KINDS else None
        if spec is None or not (spec.names_ports or spec.refers_to) or not self.keys:
            return value
        if isinstance(value, tuple):
            return tuple(self.value(kind, field, item) for item in value)
        if not isinstance(value, str):
            return value
        if spec.names_ports:
            return self.port(value)
        if spec.refers_to == "link":
            outlet = self.key("outlet", value)
            return outlet if outlet != value else self.key("backbone", value)
        return self.key(spec.refers_to or "", value)


def renames_in(changes: Iterable[Change]) -> Renames:
    keys: dict[Key, str] = {}
    for change in changes:
        if change.before and change.after and change.before.key != change.after.key:
            kind = "item" if change.before.kind in ITEM_KINDS else change.before.kind
            keys[kind, change.before.key] = change.after.key
    return Renames(keys)


def aspects_of(change: Change, renames: Renames) -> tuple[Aspect, ...]:
    """All that a change means. Every field that says something else is in one aspect."""
    if change.before is None or change.after is None:
        return (_came_or_went(change),)
    differing = [
        name
        for name in change.fields
        if name not in change.before.facts
        or renames.value(change.kind, name, change.before.facts[name]) != change.now(name)
    ]
    following = tuple(name for name in change.fields if name not in differing)
    found: dict[Meaning, list[str]] = {}
    for what in _of_key(change, renames):
        found[what] = []
    if Meaning.REPLACED in found:
        found[Meaning.REPLACED] = differing
        differing = []
    ended = _TURN.get(change.kind)
    if ended and ended[0] in differing:
        about = [name for name in (ended[0], *ended[1]) if name in differing]
        found[_turned(change)] = about
        differing = [name for name in differing if name not in about]
    for name in differing:
        found.setdefault(_of_field(change, name), []).append(name)
    if change.kind == "cord" and Meaning.REPATCHED in found and _same_ends(change, renames):
        found[Meaning.REWRITTEN] = found.pop(Meaning.REPATCHED)
    if following or not found:
        found[Meaning.FOLLOWED] = list(following)
    return tuple(
        Aspect(what, change, tuple(fields))
        for what, fields in sorted(found.items(), key=lambda pair: ORDER[pair[0]])
    )


#: The field that says how far a thing has come, and those that say more about that.
_TURN: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "finding": ("cleared on", ("cleared by", "evidence")),
    "job": (
        "state",
        (
            "authorised by",
            "authorised on",
            "done by",
            "done on",
            "verified by",
            "verified on",
            "refused because",
            "refused by",
            "refused on",
            "emergency location",
        ),
    ),
}

_MEANS: Mapping[str, Mapping[str, Meaning]] = {
    "outlet": {
        "room": Meaning.MOVED,
        "plate": Meaning.MOVED,
        "position": Meaning.MOVED,
        "label": Meaning.RELABELLED,
        "label at panel": Meaning.RELABELLED,
        "port": Meaning.RETERMINATED,
    },
    "cord": {"from": Meaning.REPATCHED, "to": Meaning.REPATCHED, "label": Meaning.RELABELLED},
    "backbone": {
        "from": Meaning.RETERMINATED,
        "to": Meaning.RETERMINATED,
        "label": Meaning.RELABELLED,
    },
    "circuit": {"lands on": Meaning.RETERMINATED, "room": Meaning.MOVED},
    "enclosure": {"room": Meaning.MOVED, "position": Meaning.MOVED, "label": Meaning.RELABELLED},
    "pathway": {"label": Meaning.RELABELLED},
    **{kind: {"label": Meaning.RELABELLED} for kind in ITEM_KINDS},
}


def _came_or_went(change: Change) -> Aspect:
    opens = change.kind in ("finding", "job")
    came = Meaning.OPENED if opens else Meaning.ADDED
    return Aspect(came if change.after else Meaning.REMOVED, change, change.fields)


def _of_key(change: Change, renames: Renames) -> list[Meaning]:
    """What a change of kind, key and place means."""
    assert change.before and change.after
    before, after = change.before, change.after
    found: list[Meaning] = []
    if change.kind in ITEM_KINDS:
        enclosure, _, name = before.key.partition("/")
        here, _, called = after.key.partition("/")
        moved_out = renames.key("enclosure", enclosure) != here
        if before.kind != after.kind or _another(before.facts, after.facts):
            found.append(Meaning.REPLACED)
        elif name != called:
            found.append(Meaning.RENAMED)
        if moved_out:
            found.append(Meaning.RERACKED)
        return found
    if before.kind == "cord":
        moved = renames.port(before.key) != after.key
        return [Meaning.REPATCHED] if moved else []
    if before.kind == "test":
        return []
    return [Meaning.RENAMED] if before.key != after.key else []


def _another(before: Facts, after: Facts) -> bool:
    """Whether two serial numbers say that it is another thing of the same kind."""
    one, other = text_of(before, "serial"), text_of(after, "serial")
    return one is not None and other is not None and one != other


def _turned(change: Change) -> Meaning:
    if change.kind == "job":
        return Meaning.ADVANCED
    return Meaning.CLEARED if change.now("cleared on") else Meaning.REOPENED


def _of_field(change: Change, name: str) -> Meaning:
    if change.kind in ITEM_KINDS and name in PLACE:
        return Meaning.RERACKED if _both(change, name) or name == "part" else Meaning.CHANGED
    means = _MEANS.get(change.kind, {}).get(name, Meaning.CHANGED)
    if means is Meaning.MOVED and not _moved(change, name):
        return Meaning.CHANGED  # where it is was only written down
    return means


def _moved(change: Change, name: str) -> bool:
    if name != "room" and change.was("room") != change.now("room") and _both(change, "room"):
        return True  # the room says it; where in the room comes with it
    return _both(change, name)


def _both(change: Change, name: str) -> bool:
    return change.was(name) is not None and change.now(name) is not None


def _same_ends(change: Change, renames: Renames) -> bool:
    assert change.before and change.after
    ends = [
        {renames.port(text_of(change.before.facts, name) or "") for name in ("from", "to")},
        {text_of(change.after.facts, name) or "" for name in ("from", "to")},
    ]
    return ends[0] == ends[1]
