"""The change log of a site as values: what pages, feeds and commands show of history."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass

from asbuilt.changes.log_lines import LogLine
from asbuilt.facts.trend import TrendPoint

UNCOMMITTED = "uncommitted"


@dataclass(frozen=True, slots=True)
class Entry:
    """One commit that changed what the records mean.

    `commit` is empty for work not committed yet, whose `when` is that of the last commit; author,
    subject and body are empty in the client's edition; `problem` says what of it could not be
    read. `folder` is what the site's folder was called then. A commit that names several jobs has
    the first in `job`, the others in `more_jobs`.
    """

    commit: str
    when: dt.datetime
    author: str
    subject: str
    body: str
    job: str | None
    lines: tuple[LogLine, ...]
    problem: str | None = None
    folder: str = ""
    more_jobs: tuple[str, ...] = ()

    @property
    def short(self) -> str:
        return self.commit[:10]

    @property
    def jobs(self) -> tuple[str, ...]:
        return (self.job, *self.more_jobs) if self.job else self.more_jobs

    def touches(self, kind: str, key: str) -> bool:
        return any((c.kind, c.key) == (kind, key) for told in self.lines for c in told.changes)


@dataclass(frozen=True, slots=True)
class History:
    """Entries newest first; `notices` say where history is short or missing, and why. `points`
    are the counts after each commit that altered them, oldest first."""

    entries: tuple[Entry, ...] = ()
    notices: tuple[str, ...] = ()
    points: tuple[TrendPoint, ...] = ()

    def since(self, day: dt.date) -> tuple[Entry, ...]:
        """Entries of this day and later: no hour is recorded, so none of that day is left out.
        What isn't committed yet is later than any day."""
        return tuple(e for e in self.entries if not e.commit or e.when.date() >= day)


@dataclass(frozen=True, slots=True)
class Revision:
    """The state of the records a site is built from; `id` is empty where there is no git."""

    id: str = ""
    date: dt.date | None = None
    dirty: bool = False

    def __str__(self) -> str:
        if not self.id:
            return "not in git"
        return f"{self.id[:10]}{' + uncommitted work' if self.dirty else ''}"
