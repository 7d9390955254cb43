"""What the commits of one site changed, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from asbuilt.changes.compare import compare
from asbuilt.changes.log import UNCOMMITTED, Entry
from asbuilt.changes.log_lines import lines_of_changes
from asbuilt.changes.parsed_file import ParsedFile
from asbuilt.changes.state import State
from asbuilt.facts.trend import COUNTED_KINDS, SiteCounts, TrendPoint, count_site
from asbuilt.history.commits import CommitsBySite, SiteCommit
from asbuilt.history.replay import HistoryView, SiteReplay
from asbuilt.io import git

_UNREADABLE: Final = "Part of the records could not be read at this revision."


@dataclass(frozen=True, slots=True)
class HistoryPart:
    """What was told of a site up to a commit."""

    entries: tuple[Entry, ...] = ()
    points: tuple[TrendPoint, ...] = ()


def entries_of_commits(
    walk: SiteReplay, steps: Sequence[SiteCommit], contents: git.Contents, counts: SiteCounts | None
) -> HistoryPart:
    """The entries of these steps, newest first, from where the walk stands."""
    entries: list[Entry] = []
    points: list[TrendPoint] = []
    before = dict(walk.files)
    for step in walk.apply_all(steps, contents):
        problems = [walk.broken[path] for path in sorted(step.files) if path in walk.broken]
        entry, after = _entry(walk, before, step.commit, step.folder, problems)
        before = dict(walk.files)
        if entry:
            entries.append(entry)
            touched = {change.kind for told in entry.lines for change in told.changes}
            if walk.view.internal and not COUNTED_KINDS.isdisjoint(touched):
                now = count_site(after)
                if now != counts:
                    points.append(TrendPoint(step.commit.id, step.commit.when, now))
                counts = now
    return HistoryPart(tuple(reversed(entries)), tuple(points))


def entries_from_start(top: Path, until: str, folder: str, view: HistoryView) -> HistoryPart:
    """All there is to tell of a site up to a commit."""
    steps = CommitsBySite(git.log(top, until), [folder]).steps(folder)
    with git.contents(top) as contents:
        return entries_of_commits(SiteReplay(view), steps, contents, None)


def _entry(
    walk: SiteReplay,
    before: Mapping[str, ParsedFile],
    commit: git.Commit,
    folder: str,
    problems: Sequence[str],
) -> tuple[Entry | None, State]:
    old, new = walk.states(before)
    changes = compare(old, new)
    if not changes and not problems:
        return None, new
    told = lines_of_changes(changes, old, new)
    if walk.view.internal:
        problem = "Can’t be read at this revision: " + "; ".join(problems) if problems else None
        jobs = commit.jobs
        words = (commit.author, commit.subject, commit.body)
    else:
        problem = _UNREADABLE if problems else None
        jobs = tuple(job for job in commit.jobs if ("job", job) in new or ("job", job) in old)
        words = ("", "", "")
        folder = ""
    job = jobs[0] if jobs else None
    return Entry(commit.id, commit.when, *words, job, told, problem, folder, jobs[1:]), new


def uncommitted(
    top: Path,
    head: git.Head,
    views: Mapping[str, HistoryView],
    today: Mapping[str, Mapping[str, bytes]],
) -> Iterator[tuple[str, Entry]]:
    """What the files on disk say that the last commit doesn't, as an entry without a commit."""
    unsaved = git.unsaved(top, "")
    nobody = git.Commit("", (), UNCOMMITTED, head.when, "", "", (), ())
    with git.contents(top) as contents:
        for folder, view in views.items():
            files = today.get(folder)
            if files is None or not any(path.startswith(f"{folder}/") for path in unsaved):
                continue
            walk = SiteReplay(view)
            walk.start_at(top, head.id, folder, contents)
            if walk.broken:  # it stands as it was when it could last be read
                steps = CommitsBySite(git.log(top, head.id), [folder]).steps(folder)
                walk = SiteReplay(view)
                for _ in walk.apply_all(steps, contents):
                    pass
            before = dict(walk.files)
            walk.apply_bytes(files)
            problems = [walk.broken[path] for path in sorted(walk.broken)]
            entry, _ = _entry(walk, before, nobody, folder, problems)
            if entry:
                yield folder, replace(entry, author=UNCOMMITTED)


def without(told: HistoryPart, dropped: frozenset[str]) -> HistoryPart:
    """What was told but for these commits."""
    if not dropped:
        return told
    return HistoryPart(
        tuple(entry for entry in told.entries if entry.commit not in dropped),
        tuple(point for point in told.points if point.commit not in dropped),
    )
