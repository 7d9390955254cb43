"""The commits by the sites whose record files they alter, also from when a site's folder had
another name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from asbuilt import repo
from asbuilt.records.layout import is_record_file


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
        # The commits themselves go into every step, without what they did elsewhere.
        self._commits = [replace(commit, files=()) for commit in commits]
        self._files = [commit.files for commit in commits]
        self._known = {folder.strip("/") for folder in folders}
        for commit in commits:
            for change in commit.files:
                folder, _, name = change.path.rpartition("/")
                if name == "site.yml":
                    self._known.add(folder)
        self._touching: dict[str, list[int]] = {}  # by folder: numbers of commits
        for number in range(len(commits)):
            for folder in self._changes(number):
                self._touching.setdefault(folder, []).append(number)

    def steps(self, folder: str) -> list[Step]:
        """What happened to a site, oldest first; where its folder was renamed, under its former
        name before that."""
        steps: list[Step] = []
        name, bound = folder.strip("/"), len(self._commits)
        while True:
            renamed: tuple[int, str] | None = None
            for number in reversed(self._touching.get(name, ())):
                if number >= bound:
                    continue
                changes = self._changes(number)
                files = {path: change.after for path, change in changes[name].items()}
                former = _former(name, changes)
                if former:
                    renamed = number, former
                    files = {**dict.fromkeys(changes[former]), **files}
                steps.append(Step(self._commits[number], name, files))
                if renamed:
                    break
            if renamed is None:
                return steps[::-1]
            bound, name = renamed

    def count(self, folder: str) -> int:
        """How many commits touch a site's folder, by the name it has now."""
        return len(self._touching.get(folder.strip("/"), ()))

    def begins(self, folder: str) -> bool:
        """Whether a site's folder came into being in these commits."""
        touched = (self._changes(number)[folder] for number in self._touching.get(folder, ()))
        return any("site.yml" in files and not files["site.yml"].before for files in touched)

    def _changes(self, number: int) -> dict[str, _Changes]:
        """What a commit did, by the folders it touches."""
        found: dict[str, _Changes] = {}
        for change in self._files[number]:
            for folder, path in _within(change.path, self._known):
                found.setdefault(folder, {})[path] = change
        return found


_Changes = dict[str, repo.FileChange]
"""By path within a site's folder."""


def _former(name: str, changes: Mapping[str, _Changes]) -> str | None:
    """The folder that became this one in a commit: its site.yml is the same to the byte, or most
    of its files are."""
    came = changes[name]
    if "site.yml" not in came or came["site.yml"].before is not None:
        return None
    best: tuple[int, str] | None = None
    for other in sorted(changes):
        gone = {path: one.before for path, one in changes[other].items() if not one.after}
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
