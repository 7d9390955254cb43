"""A site's history as plain lists, for keeping it between two runs, and back again.

Things and pieces of sentences come up again and again, so each is kept once and referred to by
its number. What comes back is checked for its shape only: whoever keeps it makes sure that it is
what was put there.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, TypeAlias

from asbuilt.changes.compare import Change, RecordState
from asbuilt.changes.log import Entry
from asbuilt.changes.log_lines import LogLine
from asbuilt.changes.names import Piece
from asbuilt.changes.state import Value
from asbuilt.facts.trend import SiteCounts, TrendPoint, Usage

#: What JSON can hold.
Plain: TypeAlias = Any


def to_plain(entries: Iterable[Entry], points: Iterable[TrendPoint]) -> Plain:
    tables = _SharedValues()
    listed = [_entry_to_plain(entry, tables) for entry in entries]
    counted = [
        [point.commit, _moment_to_plain(point.when), *_counts_to_plain(point.counts)]
        for point in points
    ]
    return [tables.things, tables.pieces, listed, counted]


def from_plain(plain: Plain) -> tuple[tuple[Entry, ...], tuple[TrendPoint, ...]]:
    plain_things, plain_pieces, listed, counted = plain
    things: list[RecordState | None] = [None]
    for kind, key, facts, lists, groups in plain_things:
        for name in lists:
            facts[name] = tuple(facts[name])
        for name in groups:
            facts[name] = _value(facts[name])
        things.append(RecordState(kind, key, facts))
    pieces = [Piece(text, kind, key) for text, kind, key in plain_pieces]
    entries = tuple([_entry_from_plain(entry, things, pieces) for entry in listed])
    return entries, tuple(
        TrendPoint(commit, _moment_from_plain(when), _counts_from_plain(counts))
        for commit, when, *counts in counted
    )


@dataclass(slots=True)
class _SharedValues:
    """Everything that is met, once. Number 0 is no thing."""

    things: list[Plain] = field(default_factory=list)
    pieces: list[Plain] = field(default_factory=list)
    _numbers: dict[Any, int] = field(default_factory=dict)
    _held: list[RecordState] = field(default_factory=list)

    def thing(self, thing: RecordState | None) -> int:
        if thing is None:
            return 0
        # What one commit left is what the next one met: the same facts are the same object.
        known = (thing.kind, thing.key, id(thing.facts))
        number = self._numbers.get(known)
        if number is None:
            # Which values were lists of texts, the most usual, and which anything else.
            other = {name: value for name, value in thing.facts.items() if type(value) is not str}
            lists = [name for name, value in other.items() if _is_flat(value)]
            groups = [name for name in other if name not in lists]
            self.things.append([thing.kind, thing.key, thing.facts, lists, groups])
            self._held.append(thing)
            number = self._numbers[known] = len(self.things)
        return number

    def piece(self, piece: Piece) -> int:
        number = self._numbers.get(piece)
        if number is None:
            number = self._numbers[piece] = len(self.pieces)
            self.pieces.append([piece.text, piece.kind, piece.key])
        return number


def _entry_to_plain(entry: Entry, tables: _SharedValues) -> Plain:
    numbers: dict[int, int] = {}
    changes: list[Plain] = []
    told: list[Plain] = []
    for one in entry.lines:
        for change in one.changes:
            if id(change) not in numbers:
                numbers[id(change)] = len(changes)
                changes.append([tables.thing(change.before), tables.thing(change.after)])
        sentence = [tables.piece(piece) for piece in one.sentence]
        told.append([one.verb, sentence, one.details, [numbers[id(c)] for c in one.changes]])
    return [
        entry.commit,
        _moment_to_plain(entry.when),
        entry.author,
        entry.subject,
        entry.body,
        entry.job,
        entry.problem,
        entry.folder,
        entry.more_jobs,
        changes,
        told,
    ]


def _entry_from_plain(
    plain: Plain, things: Sequence[RecordState | None], pieces: Sequence[Piece]
) -> Entry:
    commit, when, author, subject, body, job, problem, folder, more_jobs, listed, told = plain
    changes = [Change(things[before], things[after]) for before, after in listed]
    return Entry(
        commit,
        _moment_from_plain(when),
        author,
        subject,
        body,
        job,
        tuple(
            [
                LogLine(
                    verb,
                    tuple([pieces[number] for number in sentence]),
                    tuple(details),
                    tuple([changes[number] for number in numbers]),
                )
                for verb, sentence, details, numbers in told
            ]
        ),
        problem,
        folder,
        tuple(more_jobs),
    )


def _counts_to_plain(counts: SiteCounts) -> list[Plain]:
    fills = (counts.units, counts.panel_ports, counts.access_ports, counts.uplink_ports)
    return [
        counts.outlets,
        *([fill.total, fill.used, fill.free] for fill in fills),
        counts.poe_budget,
        counts.poe_allocated,
    ]


def _counts_from_plain(plain: list[Plain]) -> SiteCounts:
    outlets, units, panel, access, uplink, budget, aside = plain
    return SiteCounts(
        outlets, Usage(*units), Usage(*panel), Usage(*access), Usage(*uplink), budget, aside
    )


def _moment_to_plain(when: dt.datetime) -> Plain:
    offset = when.utcoffset() or dt.timedelta()
    return [int(when.timestamp()), int(offset.total_seconds())]


def _moment_from_plain(plain: Plain) -> dt.datetime:
    seconds, offset = plain
    return dt.datetime.fromtimestamp(seconds, _zone(offset))


@lru_cache(maxsize=256)
def _zone(offset: int) -> dt.timezone:
    return dt.timezone(dt.timedelta(seconds=offset)) if offset else dt.UTC


def _is_flat(value: Value) -> bool:
    return type(value) is tuple and all(type(item) is str for item in value)


def _value(plain: Plain) -> Value:
    if isinstance(plain, list):
        return tuple(_value(item) for item in plain)
    if isinstance(plain, dict):
        return {name: _value(item) for name, item in plain.items()}
    return str(plain)
