"""The change log of a site as values: what pages, feeds and commands show of history."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from asbuilt.changes.words import Told


@dataclass(frozen=True, slots=True)
class Entry:
    """One commit that changed what the records mean.

    `commit` is empty for work not committed yet; author, subject and body are empty in the
    client's edition; `problem` says what of it could not be read.
    """

    commit: str
    when: dt.datetime
    author: str
    subject: str
    body: str
    job: str | None
    told: tuple[Told, ...]
    problem: str | None = None

    @property
    def short(self) -> str:
        return self.commit[:10]

    def touches(self, kind: str, key: str) -> bool:
        return any((c.kind, c.key) == (kind, key) for told in self.told for c in told.changes)


@dataclass(frozen=True, slots=True)
class History:
    """Entries newest first; `notices` say where history is short or missing, and why."""

    entries: tuple[Entry, ...] = ()
    notices: tuple[str, ...] = ()
