"""The histories of many sites: what is kept of each, and what came since."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from asbuilt.changes.log import History
from asbuilt.changes.parsed_file import NOTHING_WITHHELD
from asbuilt.history.commits import CommitsBySite, SiteCommit
from asbuilt.history.entries import HistoryPart, entries_of_commits, uncommitted, without
from asbuilt.history.packed import (
    CachedHistory,
    KnownHistory,
    LazyHistory,
    PackedHistory,
    known_histories,
    note_heads,
    pack_history,
)
from asbuilt.history.replay import HistoryView, SiteReplay
from asbuilt.io import git
from asbuilt.io.cache import Cache
from asbuilt.io.workers import ParallelMap, in_sequence
from asbuilt.problem import WorldError
from asbuilt.records.edition import Edition, WithheldKeys

_NO_GIT: Final = "These records aren’t kept in git, so there is no history to show."
_NO_COMMIT: Final = "Nothing of these records is committed yet, so there is no history to show."
_SHALLOW: Final = (
    "This copy of the records doesn’t hold all of their history: it was made without the older "
    "commits (“git fetch --unshallow” brings them)."
)
_BEGINS_LATE: Final = "Older changes aren’t at hand, so this list begins late."
_TOGETHER: Final = 8  # sites whose histories are told in one go, by one reader of git's contents


def read_history(
    top: Path,
    folder: str,
    edition: Edition = Edition.INTERNAL,
    withheld: WithheldKeys = NOTHING_WITHHELD,
    today: Mapping[str, bytes] | None = None,
    cache: Path | None = None,
) -> History:
    """The history of one site, whose folder is named from the top of the repository."""
    work = {folder: today} if today else None
    found = read_histories(top, [folder], edition, {folder: withheld}, work, cache)
    return found[folder].load()


def read_histories(
    top: Path | None,
    folders: Sequence[str],
    edition: Edition = Edition.INTERNAL,
    withheld: Mapping[str, WithheldKeys] | None = None,
    today: Mapping[str, Mapping[str, bytes]] | None = None,
    cache: Path | None = None,
    each: ParallelMap = in_sequence,
) -> dict[str, LazyHistory]:
    """The histories of many sites from one listing of the commits of the repository at `top`
    (None: there is none).

    `withheld` is what the client may not know, by folder; `today` the record files as they
    stand on disk (path within the site → bytes), for work not committed yet; `cache` a folder
    where histories are kept between runs; `each` may tell of several sites at once.
    """
    if top is None:
        return {folder: LazyHistory(notices=(_NO_GIT,)) for folder in folders}
    head = git.head(top)
    if head is None:
        return {folder: LazyHistory(notices=(_NO_COMMIT,)) for folder in folders}
    shallow = git.is_shallow(top)
    # What a shallow copy tells of its oldest commits would be wrong once it is completed.
    store = Cache(cache) if cache and not shallow else None
    everybody = HistoryView(edition, NOTHING_WITHHELD)
    views = {
        folder: HistoryView(edition, withheld[folder])
        if withheld and folder in withheld
        else everybody
        for folder in folders
    }
    folded = _committed(top, head, views, store, each)
    notice = _SHALLOW if edition is Edition.INTERNAL else _BEGINS_LATE
    notices = (notice,) if shallow else ()
    if today:
        for folder, entry in uncommitted(top, head, views, today):
            told = folded[folder].unpack()
            folded[folder] = pack_history(replace(told, entries=(entry, *told.entries)))
    return {folder: LazyHistory(folded[folder], notices) for folder in folders}


def _committed(
    top: Path,
    head: git.Head,
    views: Mapping[str, HistoryView],
    store: Cache | None,
    each: ParallelMap,
) -> dict[str, PackedHistory]:
    """What is told of each site up to the head: from the cache as far as it goes, the rest from
    git."""
    known = known_histories(store, top, views) if store else {}
    folded = {folder: one.folded for folder, one in known.items()}
    bases = {known[folder].head if folder in known else "" for folder in views}
    if bases == {head.id}:
        return folded
    fork = _fork(top, bases.pop(), head.id) if len(bases) == 1 and "" not in bases else None
    work = _Common(top, head.id, store)
    fresh = _continue(work, fork, views, known, each) if fork else None
    if fresh is None:
        fresh = _read_all(work, CommitsBySite(git.log(top, head.id), views), views, {}, each)
        assert fresh is not None
    if store:
        note_heads(store, head.id, views, fresh)
    return {**folded, **fresh}


@dataclass(frozen=True, slots=True)
class _Fork:
    """Where the line of commits that was told last time and today's part: the ids of those that
    are no longer on it, and the commits that are new."""

    commit: str
    dropped: frozenset[str]
    new: tuple[git.Commit, ...]


def _fork(top: Path, base: str, head: str) -> _Fork | None:
    """None when the two lines don't part at a commit that both pass by first parents."""
    try:
        commit = git.merge_base(top, base, head)
        old, new = git.log(top, base, commit), git.log(top, head, commit)
    except WorldError:  # the old line is gone: pruned after it was rewritten
        return None
    for line, end in ((old, base), (new, head)):
        if (line[0].parents[:1] != (commit,)) if line else (end != commit):
            return None
    return _Fork(commit, frozenset(one.id for one in old), tuple(new))


def _continue(
    work: _Common,
    fork: _Fork,
    views: Mapping[str, HistoryView],
    known: Mapping[str, KnownHistory],
    each: ParallelMap,
) -> dict[str, PackedHistory] | None:
    """Tell only what came after the fork, of the sites that it touches. None when that would take
    knowing what came before."""
    lineages = CommitsBySite(fork.new, views)
    if any(lineages.begins(folder) for folder in views):
        return None  # it may be another folder's history that goes on there
    touched = {
        folder: view for folder, view in views.items() if fork.dropped or lineages.count(folder)
    }
    before = {folder: known[folder].folded for folder in touched}
    since = replace(work, since=fork.commit, dropped=fork.dropped)
    return _read_all(since, lineages, touched, before, each)


# Telling, perhaps side by side


@dataclass(frozen=True, slots=True)
class _SiteTask:
    """A site whose history is to be told: from its beginning, or on from what is known of it."""

    folder: str
    view: HistoryView
    steps: Sequence[SiteCommit]
    known: PackedHistory | None = None


@dataclass(frozen=True, slots=True)
class _Common:
    """What tellers have in common: the repository, and `until` which commit they tell. What is
    known of a site was told up to the commit `since`, but for those that were `dropped` after it.
    """

    top: Path
    until: str
    store: Cache | None
    since: str = ""
    dropped: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class _Task:
    work: _Common
    stories: Sequence[_SiteTask]


def _read_all(
    work: _Common,
    lineages: CommitsBySite,
    views: Mapping[str, HistoryView],
    known: Mapping[str, PackedHistory],
    each: ParallelMap,
) -> dict[str, PackedHistory] | None:
    """By folder; None when one of them can't be told without what came before."""

    def story(folder: str) -> _SiteTask:
        return _SiteTask(folder, views[folder], lineages.steps(folder), known.get(folder))

    ranked = sorted(views, key=lineages.count, reverse=True)
    count = -(-len(ranked) // _TOGETHER)
    tasks = (_Task(work, [story(folder) for folder in ranked[at::count]]) for at in range(count))
    found: dict[str, PackedHistory] = {}
    for told in each(_read_batch, tasks):
        if told is None:
            return None
        found |= told
    return found


def _read_batch(task: _Task) -> dict[str, PackedHistory] | None:
    work = task.work
    found: dict[str, PackedHistory] = {}
    with git.contents(work.top) as contents:
        for story in task.stories:
            told = _read_site(work, story, contents)
            if told is None:
                return None
            kept = (
                CachedHistory(work.store, work.top, work.until, story.folder, story.view)
                if work.store
                else None
            )
            found[story.folder] = pack_history(told, kept)
    return found


def _read_site(work: _Common, story: _SiteTask, contents: git.Contents) -> HistoryPart | None:
    walk = SiteReplay(story.view)
    if story.known is None:
        return entries_of_commits(walk, story.steps, contents, None)
    known = without(story.known.unpack(), work.dropped)
    if not story.steps:
        return known
    walk.start_at(work.top, work.since, story.folder, contents)
    if walk.broken:
        return None  # it stands as it was when it could last be read
    counts = known.points[-1].counts if known.points else None
    more = entries_of_commits(walk, story.steps, contents, counts)
    return HistoryPart(more.entries + known.entries, known.points + more.points)
