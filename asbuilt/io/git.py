"""What git knows of a repository: a function a question. Paths are separated by NUL, so that a name
in any script comes through."""

from __future__ import annotations

import contextlib
import datetime as dt
import itertools
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import IO, Final

from asbuilt.io.git_process import answer, ask, pieces, reason, running
from asbuilt.problem import WorldError

_FILE_MODES: Final = ("100644", "100755", "100664")  # no links (120000), no submodules (160000)
_LOG_FIELDS: Final = (
    "%H", "%P", "%an", "%ad", "%(trailers:key=Job,valueonly,unfold,separator=%x1f)", "%s", "%b",
    "%(trailers)",
)  # fmt: skip
_JOBS: Final = f"%H%x00%P%x00{_LOG_FIELDS[4]}"
_AHEAD: Final = 64
_GITS: Final = frozenset({"HEAD", "config", "objects", "refs"})  # what is in a folder of git's


@dataclass(frozen=True, slots=True)
class FileChange:
    """A file before and after a commit, by the ids of its contents; None where there is none."""

    path: str
    before: str | None
    after: str | None


@dataclass(frozen=True, slots=True)
class Commit:
    """A commit as its log tells it, with the files it changed against its first parent.

    `jobs` are the values of its `Job:` trailers, for a merge also those of the commits it
    brought; `body` is without the trailers, which may hold people's addresses.
    """

    id: str
    parents: tuple[str, ...]
    author: str
    when: dt.datetime
    subject: str
    body: str
    jobs: tuple[str, ...]
    files: tuple[FileChange, ...]


@dataclass(frozen=True, slots=True)
class Head:
    """The revision that is checked out, and when it was committed."""

    id: str
    when: dt.datetime


# Questions


def top_of(folder: Path) -> Path | None:
    """The top of the work tree that `folder` is in; None when it is in none."""
    if not folder.is_dir():
        return None
    code, out, said = ask(folder, "rev-parse", "--show-toplevel")
    if code == 0:
        return Path(os.fsdecode(out.removesuffix(b"\n")))
    if "dubious ownership" in said:
        raise WorldError(
            f"git won’t read {folder}, which belongs to another user; if you trust it: "
            f"git config --global --add safe.directory {folder}"
        )
    if "not a git repository" in said and not _looks_like_git(folder):
        return None
    raise WorldError(f"git can’t read the repository around {folder}: {reason(said)}")


def _looks_like_git(folder: Path) -> bool:
    """Whether somebody would say that a folder is kept in git, though git itself doesn't."""
    ceilings = os.environ.get("GIT_CEILING_DIRECTORIES", "").split(os.pathsep)
    for above in (folder.absolute(), *folder.absolute().parents):
        if str(above) in ceilings:
            return False
        try:
            git = above / ".git"
            if git.is_file() or any(entry.name in _GITS for entry in git.iterdir()):
                return True
        except PermissionError:
            return True
        except OSError:
            continue  # there is none here
    return False


def head(top: Path) -> Head | None:
    """What is checked out; None before the first commit."""
    code, out, said = ask(top, "log", "-1", "--date=raw", "--format=%H%x00%cd")
    if code != 0 and "does not have any commits yet" in said:
        return None
    if code != 0:
        raise WorldError(f"git can’t read what is checked out in {top}: {reason(said)}")
    commit, date = out.decode().strip().split("\0")
    return Head(commit, _moment(date))


def revision(top: Path, name: str) -> Head:
    """The commit a name stands for: a branch, a tag, an id or the beginning of one."""
    code, out, _ = ask(top, "rev-parse", "--quiet", "--verify", f"{name}^{{commit}}")
    if code != 0 or name.startswith("-"):
        raise WorldError(f"there is no revision “{name}” in this repository")
    commit = out.decode().strip()
    date = answer(top, "log", "-1", "--no-walk", "--date=raw", "--format=%cd", commit, "--")
    return Head(commit, _moment(date.decode()))


def is_shallow(top: Path) -> bool:
    """Whether older commits were left behind when this copy was made."""
    return answer(top, "rev-parse", "--is-shallow-repository").strip() == b"true"


def branch(top: Path) -> str | None:
    """The branch that is checked out; None when a commit is, rather than a branch."""
    code, out, _ = ask(top, "symbolic-ref", "--quiet", "--short", "HEAD")
    return out.decode("utf-8", "surrogateescape").strip() if code == 0 else None


def merge_base(top: Path, one: str, other: str) -> str:
    """Where two revisions parted."""
    ids = [revision(top, name).id for name in (one, other)]
    code, out, _ = ask(top, "merge-base", *ids)
    if code != 0:
        raise WorldError(f"“{one}” and “{other}” have no revision in common")
    return out.decode().strip()


def unsaved(top: Path, folder: str) -> tuple[str, ...]:
    """The files below `folder` that differ from the last commit or are new, sorted."""
    args = ("status", "--porcelain=v1", "-z", "--untracked-files=all", "--no-renames")
    out = answer(top, *args, "--", folder or ".")
    return tuple(sorted(_path(line[3:]) for line in out.split(b"\0") if line))


def head_log(top: Path) -> Path:
    """The file git adds a line to with each commit."""
    out = answer(top, "rev-parse", "--git-path", "logs/HEAD")
    return top / os.fsdecode(out.removesuffix(b"\n"))


def log(top: Path, until: str = "HEAD", since: str | None = None) -> list[Commit]:
    """The commits from the first to `until`, oldest first, along the line of first parents: a
    merge counts as one commit, with all that it brought. `since` and what came before it are
    left out."""
    span = [until] if since is None else [until, f"^{since}"]
    layout = "%x00%x00" + "".join(f"{name}%x00" for name in _LOG_FIELDS)
    commits = list(_commits(pieces(
        top, "log", "--raw", "-z", "--no-abbrev", "--no-renames", "--first-parent",
        "--diff-merges=first-parent", "--reverse", "--root", "--date=raw", "--no-decorate",
        "--no-notes", f"--format={layout}", *span, "--",
    )))  # fmt: skip
    if any(len(commit.parents) > 1 for commit in commits):
        return _with_merged_jobs(
            commits, answer(top, "log", "-z", f"--format={_JOBS}", *span, "--")
        )
    return commits


def tree(top: Path, revision: str, folder: str = "") -> dict[str, str]:
    """The files below `folder` at a revision (an id): path within it → id of its contents."""
    where = f"{folder}/" if folder else ""
    within = ("--", where) if where else ()
    out = answer(top, "ls-tree", "-r", "-z", "--full-tree", revision, *within)
    found: dict[str, str] = {}
    for line in out.split(b"\0"):
        about, _, path = line.partition(b"\t")
        if path and about.split()[0].decode() in _FILE_MODES:
            found[_path(path).removeprefix(where)] = about.split()[2].decode()
    return found


@contextlib.contextmanager
def contents(top: Path) -> Iterator[Contents]:
    """The store of all contents, kept open for many questions."""
    with running(top, "cat-file", "--batch") as process:
        assert process.stdin and process.stdout and process.stderr
        try:
            yield Contents(process.stdin, process.stdout)
        finally:
            with contextlib.suppress(OSError):
                process.stdin.close()
            process.stdout.close()
            process.stderr.close()
            process.wait()


@dataclass(frozen=True, slots=True)
class Contents:
    _ask: IO[bytes]
    _answer: IO[bytes]

    def read(self, blob: str) -> bytes | None:
        """The bytes an id stands for; None when they aren't in this copy."""
        return next(self.read_all([blob]))

    def read_all(self, blobs: Sequence[str]) -> Iterator[bytes | None]:
        """The bytes of many ids, in their order. Git looks for the next while one is used."""
        try:
            asked = 0
            for number, blob in enumerate(blobs):
                if asked <= number:
                    # Few enough that they fit into a pipe, whether git has read them or not.
                    ahead = blobs[number : number + _AHEAD]
                    self._ask.write("".join(f"{one}\n" for one in ahead).encode())
                    self._ask.flush()
                    asked = number + len(ahead)
                said = self._answer.readline().split()
                if len(said) != 3:
                    yield None
                    continue
                data = self._answer.read(int(said[2]) + 1)
                if len(data) != int(said[2]) + 1:
                    raise WorldError(f"git stopped while reading {blob[:10]}")
                yield data[:-1]
        except (OSError, ValueError) as error:
            raise WorldError(f"git stopped while reading: {error}") from error


# Reading what git says


def _commits(fields: Iterator[bytes]) -> Iterator[Commit]:
    """Each commit is two empty fields, its own fields, another empty one, then its files: two
    fields each. What stands in many is one text to all of them: a history is long."""
    count = len(_LOG_FIELDS)
    known: dict[str, str] = {}

    def same(text: str) -> str:
        return known.setdefault(text, text)

    first = next(fields, None)
    while first is not None:
        head = list(itertools.islice(fields, 1 + count + 1))[1 : 1 + count]
        if len(head) < count:
            return
        id_, parents, author, date, jobs, subject, body, trailers = (
            part.decode("utf-8", "replace") for part in head
        )
        files: list[FileChange] = []
        while (first := next(fields, None)) is not None:
            about = first.lstrip(b"\n")
            if not about.startswith(b":"):
                break
            change = _file_change(about, next(fields, b""), same)
            if change:
                files.append(change)
        yield Commit(
            same(id_),
            tuple(map(same, parents.split())),
            same(author),
            _moment(date),
            subject,
            body.rstrip().removesuffix(trailers.rstrip()).rstrip(),
            _jobs(jobs),
            tuple(files),
        )


def _with_merged_jobs(commits: Iterable[Commit], out: bytes) -> list[Commit]:
    """What each merge brought is what its other parents reach and the line before it doesn't."""
    fields = out.decode("utf-8", "replace").split("\0")
    known = {
        id_: (parents.split(), _jobs(jobs))
        for id_, parents, jobs in zip(fields[0::3], fields[1::3], fields[2::3], strict=False)
    }
    seen: set[str] = set()
    found: list[Commit] = []
    for commit in commits:
        jobs = list(commit.jobs)
        seen.add(commit.id)
        todo = [parent for parent in commit.parents if parent in known and parent not in seen]
        while todo:
            id_ = todo.pop()
            if id_ not in seen:
                seen.add(id_)
                parents, named = known[id_]
                jobs += named
                todo += [parent for parent in parents if parent in known]
        found.append(replace(commit, jobs=tuple(dict.fromkeys(jobs))))
    return found


def _jobs(values: str) -> tuple[str, ...]:
    """The values of trailers, each on one line."""
    return tuple(job for job in (" ".join(one.split()) for one in values.split("\x1f")) if job)


def _file_change(about: bytes, path: bytes, same: Callable[[str], str]) -> FileChange | None:
    old_mode, new_mode, old, new, _ = about[1:].decode().split(" ")
    before = same(old) if old_mode in _FILE_MODES else None
    after = same(new) if new_mode in _FILE_MODES else None
    return FileChange(same(_path(path)), before, after) if before != after else None


def _path(raw: bytes) -> str:
    return raw.decode("utf-8", "surrogateescape")


def _moment(raw: str) -> dt.datetime:
    """Git's own date: seconds since 1970 and an offset, either of which may be nonsense."""
    seconds, _, zone = raw.strip().partition(" ")
    sign = -1 if zone.startswith("-") else 1
    digits = zone.lstrip("+-")
    minutes = int(digits[:-2] or 0) * 60 + int(digits[-2:] or 0) if digits.isdigit() else 0
    offset = dt.timedelta(minutes=sign * minutes if minutes < 24 * 60 else 0)
    try:
        return dt.datetime.fromtimestamp(int(seconds), dt.timezone(offset))
    except (ValueError, OverflowError, OSError):
        return dt.datetime.fromtimestamp(0, dt.UTC)
