"""Jobs held against history: a job says what was to happen, the history of the records what did.

What doesn't agree is a remark for somebody to look into, never an error: the work may be right
and only its record late.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator, Sequence
from typing import Final, Protocol

from asbuilt.model.site import Site
from asbuilt.problem import Level, Problem
from asbuilt.records.kinds import REFERABLE
from asbuilt.records.work import Job

#: Work is recorded within a week of when it was done (Washington State University, telecom
#: design guide: drawings are never more than a week behind the work).
RECORDING_DELAY: Final = dt.timedelta(days=7)
#: Remarks on single commits; older ones are only counted.
MAX_REMARKS: Final = 20
_DONE: Final = ("done", "verified")
#: What only a crew can have done, and what it is done to.
_WORK_VERBS: Final = frozenset(
    {"added", "removed", "replaced", "moved", "re-racked", "re-terminated", "re-patched",
     "relabelled"}
)  # fmt: skip
_WORK_KINDS: Final = frozenset(
    {"outlet", "cord", "backbone", "enclosure", *REFERABLE["item"]} - {"reserve"}
)


class ChangedRecord(Protocol):
    """A thing that was changed."""

    @property
    def kind(self) -> str: ...
    @property
    def key(self) -> str: ...


class LoggedLine(Protocol):
    """What is told of some changes."""

    @property
    def verb(self) -> str: ...
    @property
    def text(self) -> str: ...
    @property
    def changes(self) -> Sequence[ChangedRecord]: ...


class LoggedCommit(Protocol):
    """An entry of a site's history; `commit` is empty for work not committed yet."""

    @property
    def commit(self) -> str: ...
    @property
    def when(self) -> dt.datetime: ...
    @property
    def jobs(self) -> tuple[str, ...]: ...
    @property
    def lines(self) -> Sequence[LoggedLine]: ...


def compare_jobs_with_history(
    site: Site, entries: Sequence[LoggedCommit], *, complete: bool = True
) -> list[Problem]:
    """What jobs and history don't agree on. `entries` are newest first; `complete` says that
    they reach back to the first commit.

    A site that records no jobs isn't held to them.
    """
    if not site.jobs or not entries:
        return []
    problems = [
        problem
        for job in site.jobs.values()
        for problem in (*_never_recorded(job, entries, complete), *_outside_window(job, entries))
    ]
    return sorted([*problems, *_changes_without_job(site, entries)])


def _never_recorded(job: Job, entries: Sequence[LoggedCommit], complete: bool) -> Iterator[Problem]:
    """A job that is done and left no trace."""
    if job.state not in _DONE or job.kind == "survey":
        return
    begun = entries[-1].when.date()
    if not complete or (job.done_on and job.done_on < begun):
        return
    if not any(_changes_more_than_jobs(entry) for entry in entries if _belongs_to(job.key, entry)):
        message = f"job {job.key} is {job.state}, and no change of the records belongs to it"
        hint = f"record what was done, with a line “Job: {job.key}” at the end of the message"
        yield job.remark("state", "job-never-recorded", message, hint)


def _outside_window(job: Job, entries: Sequence[LoggedCommit]) -> Iterator[Problem]:
    if job.window is None or job.state not in _DONE:
        return
    first, last = job.window.start.date(), job.window.end.date()
    commits = [entry for entry in entries if entry.commit and _belongs_to(job.key, entry)]
    commits = [entry for entry in commits if _work_lines(entry)]
    if job.done_on:
        if not first <= job.done_on <= last:
            message = f"job {job.key} was done on {job.done_on}, planned for {job.window}"
            named = f" (recorded by {_revisions_text(commits)})" if commits else ""
            hint = "correct the date, or record the window it was moved to"
            yield job.remark("done on", "job-outside-window", message + named, hint)
        return
    odd = [entry for entry in commits if not first <= entry.when.date() <= last + RECORDING_DELAY]
    if odd:
        message = (
            f"work of job {job.key}, planned for {job.window}, was recorded by "
            f"{_revisions_text(odd)}"
        )
        hint = "record when it was done, or the window it was moved to"
        yield job.remark("window", "job-outside-window", message, hint)


def _changes_without_job(site: Site, entries: Sequence[LoggedCommit]) -> Iterator[Problem]:
    """Work that no job accounts for, newest first."""
    found = [entry for entry in entries if entry.commit and not _has_a_job(site, entry)]
    for entry in found[:MAX_REMARKS]:
        unknown = [key for key in entry.jobs if key not in site.jobs]
        work = _work_lines(entry)
        said = work[0].text.removesuffix(".")
        more = f" (and {len(work) - 1} more)" if len(work) > 1 else ""
        why = f"names job {unknown[0]}, which isn’t recorded" if unknown else "names no job"
        message = f"{_revisions_text([entry])} {why}: {said}{more}"
        hint = "record the job it was done for: when, and which rooms, enclosures or outlets"
        yield Problem(site.info.place, "change-without-job", message, hint, Level.REMARK)
    if len(found) > MAX_REMARKS:
        message = f"{len(found) - MAX_REMARKS} older revisions hold work that no job accounts for"
        hint = "record jobs for what still matters"
        yield Problem(site.info.place, "change-without-job", message, hint, Level.REMARK)


def _has_a_job(site: Site, entry: LoggedCommit) -> bool:
    work = _work_lines(entry)
    if not work or _is_first_entry(entry) or any(key in site.jobs for key in entry.jobs):
        return True
    if any(change.kind == "job" for line in entry.lines for change in line.changes):
        return True
    day = entry.when.date()
    touched = {(change.kind, change.key) for line in work for change in line.changes}
    return any(
        job.done_on is not None
        and day - RECORDING_DELAY <= job.done_on <= day
        and not touched.isdisjoint(_records_in_scope(site, job))
        for job in site.jobs.values()
    )


def _records_in_scope(site: Site, job: Job) -> Iterator[tuple[str, str]]:
    """What a job says it is about, with all that is in those rooms and enclosures."""
    for key in job.outlets:
        yield "outlet", key
    for room in job.rooms:
        for outlet in site.outlets_in.get(room, ()):
            yield "outlet", outlet.key
    for enclosure in job.enclosures:
        yield "enclosure", enclosure
        for item in site.items_in.get(enclosure, ()):
            yield item.role, item.key
        for cord in site.cords.values():
            if cord.from_.enclosure == enclosure:
                yield "cord", cord.key


def _belongs_to(job: str, entry: LoggedCommit) -> bool:
    """Whether an entry belongs to a job: it names it, or brings its record forward."""
    return job in entry.jobs or any(
        (change.kind, change.key) == ("job", job) for line in entry.lines for change in line.changes
    )


def _changes_more_than_jobs(entry: LoggedCommit) -> bool:
    return any(change.kind != "job" for line in entry.lines for change in line.changes)


def _work_lines(entry: LoggedCommit) -> list[LoggedLine]:
    return [
        line
        for line in entry.lines
        if line.verb in _WORK_VERBS and any(change.kind in _WORK_KINDS for change in line.changes)
    ]


def _is_first_entry(entry: LoggedCommit) -> bool:
    """Whether the records of the site begin here: what stood there already was nobody's job."""
    return any(
        line.verb == "added" and change.kind == "site"
        for line in entry.lines
        for change in line.changes
    )


def _revisions_text(entries: Iterable[LoggedCommit]) -> str:
    listed = [f"{entry.commit[:10]} of {entry.when.date()}" for entry in entries]
    return f"revision{'s' if len(listed) > 1 else ''} {', '.join(listed)}"
