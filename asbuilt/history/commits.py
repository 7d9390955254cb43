"""The commits by the sites whose record files they alter, also from when a site's folder had
another name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from asbuilt.io import git
from asbuilt.records.layout import is_record_file


@dataclass(frozen=True, slots=True)
class SiteCommit:
    """What one commit did to the record files of one site: path within it → id of the contents
    it has now, None when it is gone."""

    commit: git.Commit
    folder: str
    files: Mapping[str, str | None]


class CommitsBySite:
    """The commits by the site folders they touch."""

    def __init__(self, commits: Sequence[git.Commit], folders: Iterable[str]) -> None:
        self._commits = [replace(commit, files=()) for commit in commits]  # they are many
        known = {folder.strip("/") for folder in folders}
        for commit in commits:
            for change in commit.files:
                folder, _, name = change.path.rpartition("/")
                if name == "site.yml":
                    known.add(folder)
        self._by_folder: dict[str, dict[int, dict[str, git.FileChange]]] = {}
        for number, commit in enumerate(commits):
            for change in commit.files:
                for folder, path in _within(change.path, known):
                    changes = self._by_folder.setdefault(folder, {})
                    changes.setdefault(number, {})[path] = change

    def steps(self, folder: str) -> list[SiteCommit]:
        """What happened to a site, oldest first; where its folder was renamed, under its former
        name before that."""
        steps: list[SiteCommit] = []
        name, bound = folder.strip("/"), len(self._commits)
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
                steps.append(SiteCommit(self._commits[number], name, files))
                if renamed:
                    break
            if renamed is None:
                return steps[::-1]
            bound, name = renamed

    def count(self, folder: str) -> int:
        """How many commits touch a site's folder, by the name it has now."""
        return len(self._by_folder.get(folder.strip("/"), ()))

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
