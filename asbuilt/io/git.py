"""Git: the only module that runs it. A function a question.

Commands go through GitPython's command layer; its commit and diff objects would take a process
or a parse a commit. Nothing of the user's surroundings changes an answer: variables that point
git elsewhere (it sets some of them itself while a hook runs) are taken out, settings that change
output are overruled, replaced objects are ignored. Paths are separated by NUL, so that a name in
any script comes through.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import functools
import hashlib
import importlib.util
import itertools
import os
import subprocess
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import IO, Final

os.environ.setdefault("GIT_PYTHON_REFRESH", "quiet")  # a missing git is told by us, when asked

from git.cmd import Git
from git.exc import GitCommandNotFound

from asbuilt.problem import WorldError

_FILE_MODES: Final = ("100644", "100755", "100664")  # no links (120000), no submodules (160000)
_KEPT: Final = frozenset({"GIT_EXEC_PATH", "GIT_CEILING_DIRECTORIES", "GIT_SSL_NO_VERIFY"})
_KEPT_STARTS: Final = ("GIT_CONFIG_", "GIT_PYTHON_", "GIT_TRACE")
_SETTINGS: Final = (
    "core.quotepath=off",
    "core.fsmonitor=false",
    "core.autocrlf=false",
    "core.hooksPath=/dev/null",
    "log.showRoot=true",
    "log.showSignature=false",
    "log.follow=false",
    "log.mailmap=false",
    "diff.orderFile=/dev/null",
    "diff.ignoreSubmodules=none",
    "i18n.logOutputEncoding=UTF-8",
    "trailer.separators=:",
    "color.ui=false",
    "gc.auto=0",
)
_LOG_FIELDS: Final = (
    "%H", "%P", "%an", "%ad", "%(trailers:key=Job,valueonly,unfold,separator=%x1f)", "%s", "%b",
    "%(trailers)",
)  # fmt: skip
_JOBS: Final = f"%H%x00%P%x00{_LOG_FIELDS[4]}"
_AHEAD: Final = 64
_PART: Final = 1 << 16  # bytes
_GITS: Final = frozenset({"HEAD", "config", "objects", "refs"})  # what is in a folder of git's
_START: Final = threading.Lock()


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


@dataclass(frozen=True, slots=True)
class NewCommit:
    """A commit to be made: the files it sets (path → bytes), or removes (path → None)."""

    message: str
    author: str
    email: str
    when: dt.datetime
    files: Mapping[str, bytes | None] = field(default_factory=dict)


# Questions


def top_of(folder: Path) -> Path | None:
    """The top of the work tree that `folder` is in; None when it is in none."""
    if not folder.is_dir():
        return None
    code, out, said = _ask(folder, "rev-parse", "--show-toplevel")
    if code == 0:
        return Path(os.fsdecode(out.removesuffix(b"\n")))
    if "dubious ownership" in said:
        raise WorldError(
            f"git won’t read {folder}, which belongs to another user; if you trust it: "
            f"git config --global --add safe.directory {folder}"
        )
    if "not a git repository" in said and not _looks_like_git(folder):
        return None
    raise WorldError(f"git can’t read the repository around {folder}: {_reason(said)}")


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
    code, out, said = _ask(top, "log", "-1", "--date=raw", "--format=%H%x00%cd")
    if code != 0 and "does not have any commits yet" in said:
        return None
    if code != 0:
        raise WorldError(f"git can’t read what is checked out in {top}: {_reason(said)}")
    commit, date = out.decode().strip().split("\0")
    return Head(commit, _moment(date))


def revision(top: Path, name: str) -> Head:
    """The commit a name stands for: a branch, a tag, an id or the beginning of one."""
    code, out, _ = _ask(top, "rev-parse", "--quiet", "--verify", f"{name}^{{commit}}")
    if code != 0 or name.startswith("-"):
        raise WorldError(f"there is no revision “{name}” in this repository")
    commit = out.decode().strip()
    date = _told(top, "log", "-1", "--no-walk", "--date=raw", "--format=%cd", commit, "--")
    return Head(commit, _moment(date.decode()))


def is_shallow(top: Path) -> bool:
    """Whether older commits were left behind when this copy was made."""
    return _told(top, "rev-parse", "--is-shallow-repository").strip() == b"true"


def branch(top: Path) -> str | None:
    """The branch that is checked out; None when a commit is, rather than a branch."""
    code, out, _ = _ask(top, "symbolic-ref", "--quiet", "--short", "HEAD")
    return out.decode("utf-8", "surrogateescape").strip() if code == 0 else None


def merge_base(top: Path, one: str, other: str) -> str:
    """Where two revisions parted."""
    ids = [revision(top, name).id for name in (one, other)]
    code, out, _ = _ask(top, "merge-base", *ids)
    if code != 0:
        raise WorldError(f"“{one}” and “{other}” have no revision in common")
    return out.decode().strip()


def unsaved(top: Path, folder: str) -> tuple[str, ...]:
    """The files below `folder` that differ from the last commit or are new, sorted."""
    args = ("status", "--porcelain=v1", "-z", "--untracked-files=all", "--no-renames")
    out = _told(top, *args, "--", folder or ".")
    return tuple(sorted(_path(line[3:]) for line in out.split(b"\0") if line))


def head_log(top: Path) -> Path:
    """The file git adds a line to with each commit."""
    out = _told(top, "rev-parse", "--git-path", "logs/HEAD")
    return top / os.fsdecode(out.removesuffix(b"\n"))


def log(top: Path, until: str = "HEAD", since: str | None = None) -> list[Commit]:
    """The commits from the first to `until`, oldest first, along the line of first parents: a
    merge counts as one commit, with all that it brought. `since` and what came before it are
    left out."""
    span = [until] if since is None else [until, f"^{since}"]
    layout = "%x00%x00" + "".join(f"{name}%x00" for name in _LOG_FIELDS)
    commits = list(_commits(_pieces(
        top, "log", "--raw", "-z", "--no-abbrev", "--no-renames", "--first-parent",
        "--diff-merges=first-parent", "--reverse", "--root", "--date=raw", "--no-decorate",
        "--no-notes", f"--format={layout}", *span, "--",
    )))  # fmt: skip
    if any(len(commit.parents) > 1 for commit in commits):
        return _with_merged_jobs(commits, _told(top, "log", "-z", f"--format={_JOBS}", *span, "--"))
    return commits


def tree(top: Path, revision: str, folder: str = "") -> dict[str, str]:
    """The files below `folder` at a revision (an id): path within it → id of its contents."""
    where = f"{folder}/" if folder else ""
    within = ("--", where) if where else ()
    out = _told(top, "ls-tree", "-r", "-z", "--full-tree", revision, *within)
    found: dict[str, str] = {}
    for line in out.split(b"\0"):
        about, _, path = line.partition(b"\t")
        if path and about.split()[0].decode() in _FILE_MODES:
            found[_path(path).removeprefix(where)] = about.split()[2].decode()
    return found


@contextlib.contextmanager
def contents(top: Path) -> Iterator[Contents]:
    """The store of all contents, kept open for many questions."""
    with _running(top, "cat-file", "--batch") as process:
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


# Writing: a history told by a storyboard


def commit_files(top: Path, paths: Sequence[str], message: str) -> None:
    """Commit these files and nothing else, whatever is staged beside them."""
    _told(top, "add", "--", *paths)
    _told(top, "commit", "--quiet", "--file=-", "--", *paths, told=message.encode())


def staged_at(top: Path, folder: Path) -> Path:
    """What is to be committed, written to an empty folder: where in it the records of `top` are.
    While git commits, it may name an index of its own for that (`commit -a`, `commit FILE`)."""
    work_tree = top_of(top)
    if work_tree is None:
        raise WorldError("there is no git repository here: nothing is staged")
    index = os.environ.get("GIT_INDEX_FILE")
    args = ("checkout-index", "--all", "--quiet", f"--prefix={folder.absolute().as_posix()}/")
    _told(work_tree, *args, env={"GIT_INDEX_FILE": str(work_tree / index)} if index else None)
    return folder / top.resolve().relative_to(work_tree.resolve())


def copy_at(top: Path, commit: str, folder: Path) -> None:
    """A copy of the repository in a new folder, in which a commit (an id) and no other is checked
    out. It leans on the original, so it is quick, and only good while that one stays."""
    copied = ("clone", "--quiet", "--shared", "--no-checkout", "--template=", "--no-tags")
    _told(top, *copied, "--", str(top.absolute()), str(folder.absolute()))
    if not _has(folder, commit):
        raise WorldError(f"the records in {top} don’t hold the commit {commit[:10]}")
    _told(folder, "checkout", "--quiet", "--detach", commit)


def import_commits(directory: Path, commits: Iterable[NewCommit], name: str = "main") -> list[str]:
    """Make a repository in `directory` whose branch `name` holds these commits, check it out and
    return their ids. The same commits have the same ids, whoever makes them, wherever."""
    if (directory / ".git").exists():
        raise WorldError(f"{directory} is a repository already")
    try:
        directory.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WorldError(f"can’t make {directory}: {error.strerror}") from error
    _told(
        directory,
        "init",
        "--quiet",
        "--template=",
        "--object-format=sha1",
        f"--initial-branch={name}",
    )
    marks = directory.absolute() / ".git" / "asbuilt-marks"  # git runs in another folder
    told = b"".join(_import_stream(commits, f"refs/heads/{name}"))
    _told(directory, "fast-import", "--quiet", "--date-format=raw", f"--export-marks={marks}",
          told=told)  # fmt: skip
    lines = marks.read_text(encoding="ascii").split() if marks.exists() else []
    marks.unlink(missing_ok=True)
    if lines:
        _told(directory, "reset", "--quiet", "--hard", "HEAD")
    by_mark = dict(zip(lines[::2], lines[1::2], strict=True))
    return [by_mark[f":{number}"] for number in range(1, len(by_mark) + 1)]


def _import_stream(commits: Iterable[NewCommit], ref: str) -> Iterator[bytes]:
    for number, commit in enumerate(commits, start=1):
        who = f"{_one_line(commit.author)} <{_one_line(commit.email)}> {_raw_date(commit.when)}"
        message = commit.message.encode()
        yield f"commit {ref}\nmark :{number}\nauthor {who}\ncommitter {who}\n".encode()
        yield f"data {len(message)}\n".encode() + message + b"\n"
        for path in sorted(commit.files):
            data = commit.files[path]
            if data is None:
                yield f"D {_quoted(path)}\n".encode()
            else:
                yield f"M 100644 inline {_quoted(path)}\ndata {len(data)}\n".encode() + data + b"\n"
        yield b"\n"


def _one_line(text: str) -> str:
    return "".join(sign for sign in text if sign not in "<>\n\0")


def _quoted(path: str) -> str:
    escaped = path.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{escaped}"'


def _raw_date(when: dt.datetime) -> str:
    offset = when.utcoffset()
    assert offset is not None, "a commit's time knows its zone"
    minutes = int(offset.total_seconds()) // 60
    sign = "-" if minutes < 0 else "+"
    return f"{int(when.timestamp())} {sign}{abs(minutes) // 60:02}{abs(minutes) % 60:02}"


# What was told of commits, kept beside them


@dataclass(frozen=True, slots=True)
class Shelf:
    """A folder for what can be made again. Nothing on it is believed without its check sum, and
    a shelf that can't be written to is only a slower one."""

    folder: Path

    def get(self, name: str) -> bytes | None:
        """What was put there under this name; None when it isn't there, or not whole."""
        try:
            stored = (self.folder / name).read_bytes()
        except OSError:
            return None
        digest, _, data = stored.partition(b"\n")
        return data if hashlib.sha256(data).hexdigest().encode() == digest else None

    def put(self, name: str, data: bytes) -> bool:
        """Whether it lies there now. Whoever looks meanwhile finds what was there before, or
        this."""
        digest = hashlib.sha256(data).hexdigest().encode()
        part = self.folder / f"{name}.{os.getpid()}"
        try:
            if not self.folder.is_dir():
                self.folder.mkdir(parents=True)
                (self.folder / ".gitignore").write_text("*\n", encoding="ascii")
            for left in self.folder.glob(f"{name}.*"):
                left.unlink()  # by a command that was killed
            part.write_bytes(digest + b"\n" + data)
            part.replace(self.folder / name)
        except OSError:
            with contextlib.suppress(OSError):
                part.unlink()
            return False
        return True


@functools.cache
def code_digest(*modules: str) -> str:
    """A digest of the sources of these modules and the packages among them: what one version of
    them has told isn't mistaken for what another would."""
    digest = hashlib.sha256()
    for name in modules:
        spec = importlib.util.find_spec(name)
        origin = Path(spec.origin) if spec and spec.origin else None
        if origin is None:
            continue
        sources = sorted(origin.parent.glob("*.py")) if origin.stem == "__init__" else [origin]
        for source in sources:
            digest.update(source.name.encode() + b"\0" + source.read_bytes())
    return digest.hexdigest()


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


def _has(top: Path, name: str) -> bool:
    return _ask(top, "rev-parse", "--quiet", "--verify", f"{name}^{{commit}}")[0] == 0


# Running git


def _told(
    where: Path, *args: str, told: bytes = b"", env: Mapping[str, str] | None = None
) -> bytes:
    """What git says; WorldError when it refuses."""
    code, out, said = _ask(where, *args, told=told, env=env)
    _accepted(args[0], code, said)
    return out


def _accepted(command: str, code: int, said: str) -> None:
    if code != 0:
        raise WorldError(f"git {command} failed: {_reason(said) or f'it ended with {code}'}")


def _pieces(where: Path, *args: str) -> Iterator[bytes]:
    """What git says between zeros, as it comes; WorldError in the end when it refuses."""
    with _running(where, *args) as process:
        assert process.stdin and process.stdout and process.stderr
        process.stdin.close()
        complaints: list[bytes] = []
        # Git would wait for who doesn't hear its complaints.
        hearing = threading.Thread(target=lambda: complaints.extend(process.stderr or ()))
        hearing.start()
        try:
            rest = b""
            while part := process.stdout.read(_PART):
                *pieces, rest = (rest + part).split(b"\0")
                yield from pieces
            yield rest
        finally:
            process.stdout.close()  # by which git ends, if it isn't heard to its end
            code = process.wait()
            hearing.join()
            process.stderr.close()
    _accepted(args[0], code, b"".join(complaints).decode("utf-8", "replace"))


def _reason(said: str) -> str:
    """The first thing git complains of: what follows is advice, or follows from it."""
    lines = [line.strip() for line in said.splitlines() if line.strip()]
    for start in ("fatal: ", "error: "):
        for line in lines:
            if line.startswith(start):
                return line.removeprefix(start).rstrip(".")
    return lines[-1] if lines else ""


def _ask(
    where: Path, *args: str, told: bytes = b"", env: Mapping[str, str] | None = None
) -> tuple[int, bytes, str]:
    """Git's exit code, what it says and what it complains of."""
    with _running(where, *args, env=env) as process:
        out, said = process.communicate(told)
        return process.returncode, out, said.decode("utf-8", "replace")


@contextlib.contextmanager
def _running(
    where: Path, *args: str, env: Mapping[str, str] | None = None
) -> Iterator[subprocess.Popen[bytes]]:
    settings = [part for setting in _SETTINGS for part in ("-c", setting)]
    command = [
        "git", "--no-pager", "--no-replace-objects", "--literal-pathspecs", "--no-optional-locks",
        *settings, *args,
    ]  # fmt: skip
    try:
        with _START, _own_surroundings():
            started = Git(where).execute(command, istream=subprocess.PIPE, as_process=True, env=env)
    except GitCommandNotFound as error:
        raise WorldError("git isn’t installed here, or not on the PATH") from error
    assert started.proc is not None
    yield started.proc  # which ends when `started` is dropped, if not before


@contextlib.contextmanager
def _own_surroundings() -> Iterator[None]:
    """Without the variables that tell git which repository, index or objects to take."""
    taken = {
        name: os.environ.pop(name)
        for name in list(os.environ)
        if name.startswith("GIT_") and name not in _KEPT and not name.startswith(_KEPT_STARTS)
    }
    try:
        yield
    finally:
        os.environ.update(taken)
