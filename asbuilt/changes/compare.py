"""Two states → the changes between them, as values that form a small algebra.

A change has two sides, one of them empty for what came or went. The laws, for any states a and b:

    apply(compare(a, b), a) == b
    compare(a, a) == ()
    compare(b, a) == inverse(compare(a, b))

A thing is known by its kind and key. One that lost its key and one that gained it are told to be
the same where the evidence is good (see `evidence`), else they are a removal and an addition.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from asbuilt.changes.identity import match_renamed
from asbuilt.changes.state import Facts, Key, State, Value


@dataclass(frozen=True, slots=True)
class RecordState:
    """A record as it stood before or after a change."""

    kind: str
    key: str
    facts: Facts

    @property
    def id(self) -> Key:
        return self.kind, self.key


@dataclass(frozen=True, slots=True)
class Change:
    """What a thing was and what it became. Without `before` it came, without `after` it went."""

    before: RecordState | None
    after: RecordState | None

    def __invert__(self) -> Change:
        return Change(self.after, self.before)

    @property
    def thing(self) -> RecordState:
        """The thing as it stands now, or as it last stood."""
        thing = self.after or self.before
        assert thing is not None, "a change has a side"
        return thing

    @property
    def kind(self) -> str:
        return self.thing.kind

    @property
    def key(self) -> str:
        return self.thing.key

    @property
    def fields(self) -> tuple[str, ...]:
        """The fields that say something else than before, sorted."""
        old = self.before.facts if self.before else {}
        new = self.after.facts if self.after else {}
        return tuple(sorted(n for n in old.keys() | new.keys() if old.get(n) != new.get(n)))

    def was(self, field: str) -> Value | None:
        return self.before.facts.get(field) if self.before else None

    def now(self, field: str) -> Value | None:
        return self.after.facts.get(field) if self.after else None


def compare(old: State, new: State) -> tuple[Change, ...]:
    """Every difference between two states, in order of kind and key."""
    changes: list[Change] = []
    gone: dict[Key, Facts] = {}
    for key, facts in old.items():
        other = new.get(key)
        if other is None:
            gone[key] = facts
        elif other is not facts and other != facts:
            changes.append(Change(RecordState(*key, facts), RecordState(*key, other)))
    come: dict[Key, Facts] = {}
    if len(new) != len(old) - len(gone):
        come = {key: facts for key, facts in new.items() if key not in old}
    for before, after in match_renamed(old, new, gone, come):
        changes.append(
            Change(RecordState(*before, gone.pop(before)), RecordState(*after, come.pop(after)))
        )
    changes += [Change(RecordState(*key, facts), None) for key, facts in gone.items()]
    changes += [Change(None, RecordState(*key, facts)) for key, facts in come.items()]
    return tuple(sorted(changes, key=_order))


def inverse(changes: Iterable[Change]) -> tuple[Change, ...]:
    """The changes that lead back."""
    return tuple(~change for change in changes)


def apply(changes: Iterable[Change], state: State) -> State:
    """The state after these changes. ValueError when they weren't made from this state."""
    changes = tuple(changes)
    after = dict(state)
    for change in changes:
        if change.before and after.pop(change.before.id, None) != change.before.facts:
            raise ValueError(f"{change.before.kind} {change.before.key} isn't as it was before")
    for change in changes:
        if change.after:
            if change.after.id in after:
                raise ValueError(f"{change.after.kind} {change.after.key} is there already")
            after[change.after.id] = change.after.facts
    return after


def _order(change: Change) -> Any:
    """The same for a change and its inverse."""
    return sorted(thing.id for thing in (change.before, change.after) if thing)
