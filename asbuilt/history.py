"""A site's history: every commit that altered what its records mean, told as changes.

    log       one listing of all commits and the files each changed, for all sites together
    lineage   → the steps of one site, also from when its folder had another name
    walk      the site's state before and after each step; only files that changed are read
    compare   → changes, in words: an entry; none for a step that altered only the layout

A commit never changes, and with it neither does what is told of it: what was told once is kept,
by commit, and only new commits are walked. Kept histories are checked before they are believed,
and told anew where anything is wrong with them. As they are kept they take little room and little
time: of a fleet's histories only those are unfolded that pages are made from.
"""

from __future__ import annotations

import contextlib
import gc
import hashlib
import json
from collections import OrderedDict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import Final

from asbuilt import __version__, repo
from asbuilt.changes import kept as plainly
from asbuilt.changes.compare import compare
from asbuilt.changes.log import UNCOMMITTED, Entry, History
from asbuilt.changes.sheet import (
    EMPTY,
    NOBODY,
    Sheet,
    read_sheet,
    state_of_sheets,
    state_shown,
    withheld_in,
)
from asbuilt.changes.state import NOTHING, State
from asbuilt.changes.words import tell
from asbuilt.facts.trend import COUNTED, Counts, Point, counts_of
from asbuilt.problem import WorldError
from asbuilt.records.edition import (
    Edition,
    WithheldKeys,
    shown_names,
    telling_words,
    untold,
    withheld_keys,
)
from asbuilt.records.kind import Raw
from asbuilt.records.kinds import REFERABLE
from asbuilt.records.layout import is_record_file

#: Goes up with every change to what is told of a commit, so that nothing older is shown.
FORMAT: Final = 2
_REMEMBERED: Final = 256  # files of one site, for those that come back as they were
_SHALLOW = (
    "This copy of the records doesn’t hold all of their history: it was made without the older "
    "commits (“git fetch --unshallow” brings them)."
)
_BEGINS_LATE = "Older changes aren’t at hand, so this list begins late."
_NO_GIT = "These records aren’t kept in git, so there is no history to show."
_NO_COMMIT = "Nothing of these records is committed yet, so there is no history to show."
_UNREADABLE = "Part of the records could not be read at this revision."


def read_history(
    top: Path,
    folder: str,
    edition: Edition = Edition.INTERNAL,
    withheld: WithheldKeys = NOBODY,
    today: Mapping[str, bytes] | None = None,
    cache: Path | None = None,
) -> History:
    """The history of one site, whose folder is named from the top of the repository."""
    work = {folder: today} if today else None
    found = read_chronicles(top, [folder], edition, {folder: withheld}, work, cache)
    return found[folder].unfolded()


@dataclass(frozen=True, slots=True)
class Chronicle:
    """A history, folded together: plain text in which each thing stands once."""

    folded: bytes = b""
    notices: tuple[str, ...] = ()

    @property
    def digest(self) -> str:
        return hashlib.sha256(repr(self.notices).encode() + self.folded).hexdigest()

    def unfolded(self) -> History:
        if not self.folded:
            return History(notices=self.notices)
        told = _unfolded(self.folded)
        return History(told.entries, self.notices, told.points)


def histories_in(chronicles: Mapping[str, Chronicle]) -> dict[str, History]:
    with _no_collection():
        return {name: chronicle.unfolded() for name, chronicle in chronicles.items()}


def read_chronicles(
    top: Path | None,
    folders: Sequence[str],
    edition: Edition = Edition.INTERNAL,
    withheld: Mapping[str, WithheldKeys] | None = None,
    today: Mapping[str, Mapping[str, bytes]] | None = None,
    cache: Path | None = None,
) -> dict[str, Chronicle]:
    """The histories of many sites from one listing of the commits of the repository at `top`
    (None: there is none).

    `withheld` is what the client may not know, by folder; `today` the record files as they
    stand on disk (path within the site → bytes), for work not committed yet; `cache` a folder
    where histories are kept between runs.
    """
    if top is None:
        return {folder: Chronicle(notices=(_NO_GIT,)) for folder in folders}
    head = repo.head(top)
    if head is None:
        return {folder: Chronicle(notices=(_NO_COMMIT,)) for folder in folders}
    shallow = repo.is_shallow(top)
    # What a shallow copy tells of its oldest commits would be wrong once it is completed.
    shelf = repo.Shelf(cache) if cache and not shallow else None
    everybody = _View(edition, NOBODY)
    views = {
        folder: _View(edition, withheld[folder]) if withheld and folder in withheld else everybody
        for folder in folders
    }
    folded = _committed(top, head, views, shelf)
    notice = _SHALLOW if edition is Edition.INTERNAL else _BEGINS_LATE
    notices = (notice,) if shallow else ()
    if today:
        for folder, entry in _uncommitted(top, head, views, today):
            told = _unfolded(folded[folder])
            folded[folder] = _folded(replace(told, entries=(entry, *told.entries)))
    return {folder: Chronicle(folded[folder], notices) for folder in folders}


def withheld_ever(top: Path | None, today: Mapping[str, Sequence[Raw]]) -> dict[str, WithheldKeys]:
    """What the client may not know of each site, by its folder; `today` are its records as they
    stand. The last word counts: a thing is withheld, a finding untold, if today's records say so,
    or of what is gone the last revision that had it. Withheld is any word that ever named such a
    thing, or any other when it was withheld, unless it names something the client knows today."""
    found = {
        folder: replace(withheld_keys(raws), untold=untold(raws)) for folder, raws in today.items()
    }
    head = repo.head(top) if top else None
    if top is None or head is None:
        return found
    lineages = Lineages(repo.log(top, head.id), today)
    with repo.contents(top) as contents:
        for folder, raws in today.items():
            past = _past(lineages.steps(folder), contents)
            standing = {_named(raw) for raw in raws}
            gone = [raw for name, raw in past.last.items() if name not in standing]
            # Others may be on their ports now.
            then = replace(withheld_keys(gone), ports=frozenset(), untold=untold(gone))
            hidden = found[folder] | then
            words = past.withheld | past.words_of(hidden)
            shown = shown_names(raws, hidden)
            words = {word for word in words if word.casefold() not in shown}
            found[folder] = replace(hidden, words=found[folder].words | words)
    return found


@dataclass(frozen=True, slots=True)
class _Past:
    """Each record that ever was, as it last stood; the words that ever named it, and those that
    named what was withheld then."""

    last: dict[tuple[str, str], Raw] = field(default_factory=dict)
    words: dict[tuple[str, str], set[str]] = field(default_factory=dict)
    withheld: set[str] = field(default_factory=set)

    def words_of(self, hidden: WithheldKeys) -> set[str]:
        things = [("outlet", key) for key in hidden.outlets]
        things += [("item", key) for key in hidden.items]
        return set().union(*(self.words.get(thing, ()) for thing in things))


def _past(steps: Sequence[Step], contents: repo.Contents) -> _Past:
    past = _Past()
    walk = _Walk(_View(Edition.CLIENT, NOBODY))
    before: dict[str, Sheet] = {}
    for step in walk.take_all(steps, contents):
        for path in sorted(step.files):
            sheet, old = walk.sheets.get(path, EMPTY), before.get(path, EMPTY)
            before[path] = sheet
            for text, part in sheet.parts.items():
                if old.parts.get(text) is part:
                    continue
                past.withheld.update(part.withheld.words)
                for raw in part.raws:
                    past.last[_named(raw)] = raw
                    past.words.setdefault(_named(raw), set()).update(telling_words(raw))
    return past


def _named(raw: Raw) -> tuple[str, str]:
    """What tells a record from others: a mounted thing may become one of another kind."""
    return ("item" if raw.kind in REFERABLE["item"] else raw.kind), raw.key


def state_at(
    top: Path, folder: str, revision: str, edition: Edition = Edition.INTERNAL,
    withheld: WithheldKeys = NOBODY,
) -> tuple[State, tuple[str, ...]]:  # fmt: skip
    """The state of a site at a revision, and what of it can't be read."""
    walk = _Walk(_View(edition, withheld))
    with repo.contents(top) as contents:
        walk.stand_at(top, repo.revision(top, revision).id, folder, contents)
    _, state = walk.states({})
    return state, tuple(walk.broken[path] for path in sorted(walk.broken))


def files_at(top: Path, folder: str, revision: str) -> dict[str, bytes]:
    """The record files of a site at a revision: path within its folder → bytes."""
    found: dict[str, bytes] = {}
    with repo.contents(top) as contents:
        blobs = repo.tree(top, repo.revision(top, revision).id, folder)
        for path in sorted(filter(is_record_file, blobs)):
            data = contents.read(blobs[path])
            if data is not None:
                found[path] = data
    return found


# Lineage: the steps of one site


@dataclass(frozen=True, slots=True)
class Step:
    """What one commit did to the record files of one site: path within it → id of the contents
    it has now, None when it is gone."""

    commit: repo.Commit
    folder: str
    files: Mapping[str, str | None]


class Lineages:
    """The commits by the site folders they touch."""

    def __init__(self, commits: Sequence[repo.Commit], folders: Iterable[str]) -> None:
        self.commits = commits
        known = {folder.strip("/") for folder in folders}
        for commit in commits:
            for change in commit.files:
                folder, _, name = change.path.rpartition("/")
                if name == "site.yml":
                    known.add(folder)
        self._by_folder: dict[str, dict[int, dict[str, repo.FileChange]]] = {}
        for number, commit in enumerate(commits):
            for change in commit.files:
                for folder, path in _within(change.path, known):
                    changes = self._by_folder.setdefault(folder, {})
                    changes.setdefault(number, {})[path] = change

    def steps(self, folder: str) -> list[Step]:
        """What happened to a site, oldest first; where its folder was renamed, under its former
        name before that."""
        steps: list[Step] = []
        name, bound = folder.strip("/"), len(self.commits)
        while True:
            touched = self._by_folder.get(name, {})
            renamed: tuple[int, str] | None = None
            for number in sorted((n for n in touched if n < bound), reverse=True):
                files = {path: change.after for path, change in touched[number].items()}
                former = self._former(name, number)
                if former:
                    renamed = number, former
                    left = self._by_folder[former][number]
                    files = {**dict.fromkeys(left), **files}
                steps.append(Step(self.commits[number], name, files))
                if renamed:
                    break
            if renamed is None:
                return steps[::-1]
            bound, name = renamed

    def begins(self, folder: str) -> bool:
        """Whether a site's folder came into being in these commits."""
        touched = self._by_folder.get(folder, {}).values()
        return any("site.yml" in files and not files["site.yml"].before for files in touched)

    def _former(self, name: str, number: int) -> str | None:
        """The folder that became this one in a commit: its site.yml is the same to the byte, or
        most of its files are."""
        came = self._by_folder[name][number]
        if "site.yml" not in came or came["site.yml"].before is not None:
            return None
        best: tuple[int, str] | None = None
        for other in sorted(self._by_folder):
            left = self._by_folder[other].get(number, {})
            gone = {path: change.before for path, change in left.items() if not change.after}
            if other == name or "site.yml" not in gone:
                continue
            same = sum(path in came and came[path].after == gone[path] for path in gone)
            alike = came["site.yml"].after == gone["site.yml"] or 2 * same > len(gone)
            if alike and (best is None or same > best[0]):
                best = same, other
        return best[1] if best else None


def _within(path: str, folders: set[str]) -> Iterator[tuple[str, str]]:
    """The known folders a record file is in, and its path within each."""
    folder = path
    while folder:
        folder = folder.rpartition("/")[0]
        inside = path[len(folder) + 1 :] if folder else path
        if folder in folders and is_record_file(inside):
            yield folder, inside


# Walking: the state before and after each step


@dataclass(frozen=True)
class _View:
    """For whom a history is told."""

    edition: Edition
    withheld: WithheldKeys

    @property
    def internal(self) -> bool:
        return self.edition is Edition.INTERNAL

    @cached_property
    def digest(self) -> str:
        hidden = self.withheld
        told = (
            self.edition.value, sorted(hidden.outlets), sorted(hidden.ports), sorted(hidden.words),
            sorted((key, alias.key, sorted(alias.ports.items()))
                   for key, alias in hidden.items.items()),
            sorted(hidden.untold),
        )  # fmt: skip
        return hashlib.sha256(repr(told).encode()).hexdigest()


@dataclass(slots=True)
class _Walk:
    """A site as it stands at one revision, file by file. A file that can't be read stands as it
    was when it last could be, so that the next change to it is told from there."""

    view: _View
    sheets: dict[str, Sheet] = field(default_factory=dict)
    broken: dict[str, str] = field(default_factory=dict)
    _known: OrderedDict[tuple[str, str], Sheet] = field(default_factory=OrderedDict)
    _last: tuple[Mapping[str, Sheet], State] = ({}, NOTHING)

    def take(self, files: Mapping[str, str | None], contents: Iterable[bytes | None]) -> None:
        """Files as they are now, by the ids of their contents, which follow in order of paths;
        None for one that is gone."""
        data = iter(contents)
        for path, blob in sorted(files.items()):
            if blob is None:
                self._put(path, None)
                continue
            text = next(data)
            sheet = self._known.get((path, blob)) or self._read(path, text)
            self._known[path, blob] = sheet
            if len(self._known) > _REMEMBERED:
                self._known.popitem(last=False)
            self._put(path, sheet)

    def take_all(self, steps: Sequence[Step], contents: repo.Contents) -> Iterator[Step]:
        """Each step, once it is taken."""
        blobs = [blob for step in steps for _, blob in sorted(step.files.items()) if blob]
        data = contents.read_all(blobs)
        for step in steps:
            self.take(step.files, data)
            yield step

    def stand_at(self, top: Path, commit: str, folder: str, contents: repo.Contents) -> None:
        """All files as they are at a commit."""
        blobs = {p: b for p, b in repo.tree(top, commit, folder).items() if is_record_file(p)}
        self.take(blobs, contents.read_all([blobs[path] for path in sorted(blobs)]))

    def take_bytes(self, files: Mapping[str, bytes]) -> None:
        """All files as they are on disk."""
        for path in sorted((self.sheets.keys() | self.broken.keys()) - files.keys()):
            self._put(path, None)
        for path in sorted(files):
            if is_record_file(path):
                self._put(path, self._read(path, files[path]))

    def states(self, before: Mapping[str, Sheet]) -> tuple[State, State]:
        """The state of these files, and of those that stand here now, as this reader may see
        both of them."""
        if self.view.internal:
            old = self._last[1] if self._last[0] == before else state_of_sheets(before.values())
            new = state_of_sheets(self.sheets.values())
            self._last = dict(self.sheets), new
            return old, new
        sheets = [*before.values(), *self.sheets.values()]
        hidden = withheld_in([self.view.withheld, *(sheet.withheld for sheet in sheets)])
        return state_shown(before.values(), hidden), state_shown(self.sheets.values(), hidden)

    def _read(self, path: str, data: bytes | None) -> Sheet:
        if data is None:
            return Sheet({}, f"{path}: its contents aren’t in this copy of the repository")
        last = self.sheets.get(path, EMPTY)
        return read_sheet(path, data, last, keep_raws=not self.view.internal)

    def _put(self, path: str, sheet: Sheet | None) -> None:
        self.broken.pop(path, None)
        if sheet is None:
            self.sheets.pop(path, None)
        elif sheet.problem:
            self.broken[path] = sheet.problem
        else:
            self.sheets[path] = sheet


@dataclass(frozen=True, slots=True)
class _Told:
    """What was told of a site up to a commit."""

    entries: tuple[Entry, ...] = ()
    points: tuple[Point, ...] = ()


def _tell_steps(
    walk: _Walk, steps: Sequence[Step], contents: repo.Contents, counts: Counts | None
) -> _Told:
    """The entries of these steps, newest first, from where the walk stands."""
    entries: list[Entry] = []
    points: list[Point] = []
    before = dict(walk.sheets)
    for step in walk.take_all(steps, contents):
        problems = [walk.broken[path] for path in sorted(step.files) if path in walk.broken]
        entry, after = _entry(walk, before, step.commit, step.folder, problems)
        before = dict(walk.sheets)
        if entry:
            entries.append(entry)
            touched = {change.kind for told in entry.told for change in told.changes}
            if walk.view.internal and not COUNTED.isdisjoint(touched):
                now = counts_of(after)
                if now != counts:
                    points.append(Point(step.commit.id, step.commit.when, now))
                counts = now
    return _Told(tuple(reversed(entries)), tuple(points))


def _entry(
    walk: _Walk,
    before: Mapping[str, Sheet],
    commit: repo.Commit,
    folder: str,
    problems: Sequence[str],
) -> tuple[Entry | None, State]:
    old, new = walk.states(before)
    changes = compare(old, new)
    if not changes and not problems:
        return None, new
    told = tell(changes, old, new)
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


def _uncommitted(
    top: Path, head: repo.Head, views: Mapping[str, _View], today: Mapping[str, Mapping[str, bytes]]
) -> Iterator[tuple[str, Entry]]:
    """What the files on disk say that the last commit doesn't, as an entry without a commit."""
    unsaved = repo.unsaved(top, "")
    nobody = repo.Commit("", (), UNCOMMITTED, head.when, "", "", (), ())
    with repo.contents(top) as contents:
        for folder, view in views.items():
            files = today.get(folder)
            if files is None or not any(path.startswith(f"{folder}/") for path in unsaved):
                continue
            walk = _Walk(view)
            walk.stand_at(top, head.id, folder, contents)
            if walk.broken:  # it stands as it was when it could last be read
                steps = Lineages(repo.log(top, head.id), [folder]).steps(folder)
                walk = _Walk(view)
                for _ in walk.take_all(steps, contents):
                    pass
            before = dict(walk.sheets)
            walk.take_bytes(files)
            problems = [walk.broken[path] for path in sorted(walk.broken)]
            entry, _ = _entry(walk, before, nobody, folder, problems)
            if entry:
                yield folder, replace(entry, author=UNCOMMITTED)


# What is kept between two runs


def _committed(
    top: Path, head: repo.Head, views: Mapping[str, _View], shelf: repo.Shelf | None
) -> dict[str, bytes]:
    """What is told of each site up to the head, folded: from the shelf as far as it goes, the rest
    from git."""
    kept = _from_shelf(shelf, views) if shelf else {}
    folded = {folder: known.folded for folder, known in kept.items()}
    bases = {kept[folder].head if folder in kept else "" for folder in views}
    if bases == {head.id}:
        return folded
    fork = _fork(top, bases.pop(), head.id) if len(bases) == 1 and "" not in bases else None
    with repo.contents(top) as contents:
        fresh = _go_on(top, fork, views, folded, contents) if fork else None
        if fresh is None:
            lineages = Lineages(repo.log(top, head.id), views)
            fresh = {
                folder: _folded(_tell_steps(_Walk(view), lineages.steps(folder), contents, None))
                for folder, view in views.items()
            }
    if shelf:
        _onto_shelf(shelf, head.id, views, fresh)
    return {**folded, **fresh}


@dataclass(frozen=True, slots=True)
class _Fork:
    """Where the line of commits that was told last time and today's part: the ids of those that
    are no longer on it, and the commits that are new."""

    commit: str
    dropped: frozenset[str]
    new: tuple[repo.Commit, ...]


def _fork(top: Path, base: str, head: str) -> _Fork | None:
    """None when the two lines don't part at a commit that both pass by first parents."""
    try:
        commit = repo.merge_base(top, base, head)
        old, new = repo.log(top, base, commit), repo.log(top, head, commit)
    except WorldError:  # the old line is gone: pruned after it was rewritten
        return None
    for line, end in ((old, base), (new, head)):
        if (line[0].parents[:1] != (commit,)) if line else (end != commit):
            return None
    return _Fork(commit, frozenset(one.id for one in old), tuple(new))


def _go_on(
    top: Path,
    fork: _Fork,
    views: Mapping[str, _View],
    folded: Mapping[str, bytes],
    contents: repo.Contents,
) -> dict[str, bytes] | None:
    """Tell only what came after the fork, of the sites that it touches. None when that would take
    knowing what came before."""
    lineages = Lineages(fork.new, views)
    fresh: dict[str, bytes] = {}
    for folder, view in views.items():
        if lineages.begins(folder):
            return None  # it may be another folder's history that goes on here
        steps = lineages.steps(folder)
        if not steps and not fork.dropped:
            continue
        known = _without(_unfolded(folded[folder]), fork.dropped)
        if steps:
            walk = _Walk(view)
            walk.stand_at(top, fork.commit, folder, contents)
            if walk.broken:
                return None  # it stands as it was when it could last be read
            counts = known.points[-1].counts if known.points else None
            more = _tell_steps(walk, steps, contents, counts)
            known = _Told(more.entries + known.entries, known.points + more.points)
        fresh[folder] = _folded(known)
    return fresh


def _without(told: _Told, dropped: frozenset[str]) -> _Told:
    if not dropped:
        return told
    return _Told(
        tuple(entry for entry in told.entries if entry.commit not in dropped),
        tuple(point for point in told.points if point.commit not in dropped),
    )


@contextlib.contextmanager
def _no_collection() -> Iterator[None]:
    """Without looking for garbage: plain values by the ten thousand hold none, and looking again
    and again costs as much as making them."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


def _name(folder: str, view: _View) -> str:
    name = hashlib.sha256(f"{folder}\0{view.digest}".encode()).hexdigest()[:24]
    return f"history-{name}"


def _stamp(folder: str, view: _View) -> str:
    """What a kept history has to have been made by, and for."""
    code = repo.code_digest("asbuilt.changes", "asbuilt.records", "asbuilt.facts.trend", __name__,
                            "asbuilt.repo", "asbuilt.yamltext")  # fmt: skip
    return f"{FORMAT} {__version__} {code} {view.digest} {folder}"


def _folded(told: _Told) -> bytes:
    plain = plainly.to_plain(told.entries, told.points)
    return json.dumps(plain, separators=(",", ":")).encode("ascii")


def _unfolded(folded: bytes) -> _Told:
    try:
        return _Told(*plainly.from_plain(json.loads(folded)))
    except (ValueError, TypeError, AttributeError, IndexError, KeyError, RecursionError):
        raise WorldError(
            "what was kept of a history isn’t understood; delete the folder .asbuilt-cache, all in "
            "it is made again"
        ) from None


@dataclass(frozen=True, slots=True)
class _Kept:
    """A history as it was kept, and the commit it was told up to."""

    head: str
    folded: bytes


#: Up to which commit each history is told, and the digest of it: most commits touch one site, and
#: leave what is kept of all others as it is.
_HEADS: Final = "histories"


def _from_shelf(shelf: repo.Shelf, views: Mapping[str, _View]) -> dict[str, _Kept]:
    found: dict[str, _Kept] = {}
    heads = _heads(shelf)
    for folder, view in views.items():
        name = _name(folder, view)
        stored = shelf.get(name) if name in heads else None
        if stored is None:
            continue
        first, _, folded = stored.partition(b"\n")
        head, digest = heads[name]
        is_told_so = first.decode("utf-8", "surrogateescape") == _stamp(folder, view)
        if is_told_so and _digest(folded) == digest:
            found[folder] = _Kept(head, folded)
    return found


def _onto_shelf(
    shelf: repo.Shelf, head: str, views: Mapping[str, _View], fresh: Mapping[str, bytes]
) -> None:
    heads = _heads(shelf)
    for folder, view in views.items():
        name = _name(folder, view)
        if folder in fresh:
            first = f"{_stamp(folder, view)}\n".encode("utf-8", "surrogateescape")
            shelf.put(name, first + fresh[folder])
            heads[name] = head, _digest(fresh[folder])
        elif name in heads:  # unless another command wrote them meanwhile
            heads[name] = head, heads[name][1]
    shelf.put(_HEADS, json.dumps(heads, separators=(",", ":")).encode("ascii"))


def _heads(shelf: repo.Shelf) -> dict[str, tuple[str, str]]:
    try:
        plain = json.loads(shelf.get(_HEADS) or b"{}")
        return {name: (str(head), str(digest)) for name, (head, digest) in plain.items()}
    except (ValueError, TypeError, AttributeError, RecursionError):
        return {}


def _digest(folded: bytes) -> str:
    return hashlib.sha256(folded).hexdigest()
