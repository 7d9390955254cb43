"""Writing to git: commits of an edit, copies to build from, a history made from nothing."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from asbuilt.io.git import top_of
from asbuilt.io.git_process import answer, ask
from asbuilt.problem import WorldError


@dataclass(frozen=True, slots=True)
class NewCommit:
    """A commit to be made: the files it sets (path → bytes), or removes (path → None)."""

    message: str
    author: str
    email: str
    when: dt.datetime
    files: Mapping[str, bytes | None] = field(default_factory=dict)


def commit_files(top: Path, paths: Sequence[str], message: str) -> None:
    """Commit these files and nothing else, whatever is staged beside them."""
    answer(top, "add", "--", *paths)
    answer(top, "commit", "--quiet", "--file=-", "--", *paths, stdin=message.encode())


def staged_at(top: Path, folder: Path) -> Path:
    """What is to be committed, written to an empty folder: where in it the records of `top` are.
    While git commits, it may name an index of its own for that (`commit -a`, `commit FILE`)."""
    work_tree = top_of(top)
    if work_tree is None:
        raise WorldError("there is no git repository here: nothing is staged")
    index = os.environ.get("GIT_INDEX_FILE")
    args = ("checkout-index", "--all", "--quiet", f"--prefix={folder.absolute().as_posix()}/")
    answer(work_tree, *args, env={"GIT_INDEX_FILE": str(work_tree / index)} if index else None)
    return folder / top.resolve().relative_to(work_tree.resolve())


def copy_at(top: Path, commit: str, folder: Path) -> None:
    """A copy of the repository in a new folder, in which a commit (an id) and no other is checked
    out. It leans on the original, so it is quick, and only good while that one stays."""
    copied = ("clone", "--quiet", "--shared", "--no-checkout", "--template=", "--no-tags")
    answer(top, *copied, "--", str(top.absolute()), str(folder.absolute()))
    if not _has(folder, commit):
        raise WorldError(f"the records in {top} don’t hold the commit {commit[:10]}")
    answer(folder, "checkout", "--quiet", "--detach", commit)


def import_commits(directory: Path, commits: Iterable[NewCommit], name: str = "main") -> list[str]:
    """Make a repository in `directory` whose branch `name` holds these commits, check it out and
    return their ids. The same commits have the same ids, whoever makes them, wherever."""
    if (directory / ".git").exists():
        raise WorldError(f"{directory} is a repository already")
    try:
        directory.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise WorldError(f"can’t make {directory}: {error.strerror}") from error
    answer(
        directory,
        "init",
        "--quiet",
        "--template=",
        "--object-format=sha1",
        f"--initial-branch={name}",
    )
    marks = directory.absolute() / ".git" / "asbuilt-marks"  # git runs in another folder
    told = b"".join(_import_stream(commits, f"refs/heads/{name}"))
    answer(directory, "fast-import", "--quiet", "--date-format=raw", f"--export-marks={marks}",
          stdin=told)  # fmt: skip
    lines = marks.read_text(encoding="ascii").split() if marks.exists() else []
    marks.unlink(missing_ok=True)
    if lines:
        answer(directory, "reset", "--quiet", "--hard", "HEAD")
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


def _has(top: Path, name: str) -> bool:
    return ask(top, "rev-parse", "--quiet", "--verify", f"{name}^{{commit}}")[0] == 0
