"""The histories of the sites of a records repository, and what of each the client may not know."""

from __future__ import annotations

import posixpath
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from asbuilt.changes.log import History, Revision
from asbuilt.facts.job_history import compare_jobs_with_history
from asbuilt.history.packed import LazyHistory, load_histories
from asbuilt.history.read import read_histories
from asbuilt.history.withheld import withheld_ever
from asbuilt.io import cache, git
from asbuilt.io.files import SITES, read_site_files
from asbuilt.io.workers import ParallelMap, in_sequence
from asbuilt.model.site import Site
from asbuilt.problem import Problem
from asbuilt.publish.load import LoadedSite
from asbuilt.records.edition import Edition, WithheldKeys
from asbuilt.records.layout import is_record_file


@dataclass(frozen=True, slots=True)
class SiteHistory:
    """What there is to tell of a site's past: its history, and what of it is withheld in every
    revision; for the client also the revision that the records stand at: what they aren't told of
    can alter their pages all the same."""

    history: LazyHistory
    revision: Revision | None = None
    withheld: WithheldKeys | None = None


def site_histories(
    top: Path,
    keys: Sequence[str],
    edition: Edition,
    read: Callable[[str], LoadedSite],
    each: ParallelMap = in_sequence,
) -> dict[str, SiteHistory]:
    """By site. `read` gives the records of one, which say what is withheld; `each` may tell the
    histories of several at once."""
    everything = lazy_histories_of(top, keys, each=each)
    if edition is Edition.INTERNAL:
        return {key: SiteHistory(chronicle) for key, chronicle in everything.items()}
    withheld = withheld_from(top, map(read, keys))
    told = lazy_histories_of(top, keys, withheld)
    revisions = {key: revision_of(everything[key].load()) for key in keys}
    return {key: SiteHistory(told[key], revisions[key], withheld.get(key)) for key in keys}


def place_in_git(top: Path) -> tuple[Path | None, str]:
    """The top of the git work tree around these records, if they are in one, and the folder of
    their sites as git names it."""
    above = git.top_of(top)
    inside = top.resolve().relative_to(above.resolve()).as_posix() if above else ""
    return above, posixpath.normpath(posixpath.join(inside, SITES))


def histories_of(
    top: Path, keys: Sequence[str], withheld: Mapping[str, WithheldKeys] | None = None
) -> dict[str, History]:
    return load_histories(lazy_histories_of(top, keys, withheld))


def lazy_histories_of(
    top: Path,
    keys: Sequence[str],
    withheld: Mapping[str, WithheldKeys] | None = None,
    each: ParallelMap = in_sequence,
) -> dict[str, LazyHistory]:
    """The history of each site, uncommitted work included; for the client where it is said what
    is `withheld`, by site."""
    above, inside = place_in_git(top)
    folders = {key: f"{inside}/{key}" for key in keys}
    unsaved = git.unsaved(above, inside) if above else ()
    today = {
        folder: _record_texts(top, key)
        for key, folder in folders.items()
        if any(path.startswith(f"{folder}/") for path in unsaved)
    }
    found = read_histories(
        above,
        list(folders.values()),
        Edition.INTERNAL if withheld is None else Edition.CLIENT,
        {folders[key]: hidden for key, hidden in withheld.items()} if withheld else None,
        today,
        top / cache.FOLDER,
        each,
    )
    return {key: found[folder] for key, folder in folders.items()}


def withheld_from(top: Path, readings: Iterable[LoadedSite]) -> dict[str, WithheldKeys]:
    """What the client may not know of each site, by its key, today and of the past."""
    above, inside = place_in_git(top)
    raws = {f"{inside}/{reading.key}": reading.records.raw for reading in readings}
    found = withheld_ever(above, raws)
    return {folder.rpartition("/")[2]: hidden for folder, hidden in found.items()}


def _record_texts(top: Path, key: str) -> dict[str, bytes]:
    texts = read_site_files(top, key).texts
    return {path: text for path, text in texts.items() if is_record_file(path)}


def revision_of(history: History) -> Revision:
    """The last commit that altered what the records mean: what comes after it, a comment or
    another site's records, leaves every page as it is."""
    for entry in history.entries:
        if entry.commit:
            dirty = entry is not history.entries[0]
            return Revision(entry.commit, entry.when.date(), dirty)
    return Revision(dirty=bool(history.entries))


def job_remarks(site: Site, history: History) -> list[Problem]:
    """What the jobs say was done and what history says, where the two don't agree."""
    return compare_jobs_with_history(site, history.entries, complete=not history.notices)
