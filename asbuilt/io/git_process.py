"""Git: the only module that runs it.

Commands go through GitPython's command layer; its commit and diff objects would take a process
or a parse a commit. Nothing of the user's surroundings changes an answer: variables that point
git elsewhere (it sets some of them itself while a hook runs) are taken out, settings that change
output are overruled, replaced objects are ignored.
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import threading
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Final

from asbuilt.problem import WorldError

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
_PART: Final = 1 << 16  # bytes
_START: Final = threading.Lock()


def answer(
    where: Path, *args: str, stdin: bytes = b"", env: Mapping[str, str] | None = None
) -> bytes:
    """What git says; WorldError when it refuses."""
    code, out, said = ask(where, *args, stdin=stdin, env=env)
    _accept(args[0], code, said)
    return out


def _accept(command: str, code: int, said: str) -> None:
    if code != 0:
        raise WorldError(f"git {command} failed: {reason(said) or f'it ended with {code}'}")


def pieces(where: Path, *args: str) -> Iterator[bytes]:
    """What git says between zeros, as it comes; WorldError in the end when it refuses."""
    with running(where, *args) as process:
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
    _accept(args[0], code, b"".join(complaints).decode("utf-8", "replace"))


def reason(said: str) -> str:
    """The first thing git complains of: what follows is advice, or follows from it."""
    lines = [line.strip() for line in said.splitlines() if line.strip()]
    for start in ("fatal: ", "error: "):
        for line in lines:
            if line.startswith(start):
                return line.removeprefix(start).rstrip(".")
    return lines[-1] if lines else ""


def ask(
    where: Path, *args: str, stdin: bytes = b"", env: Mapping[str, str] | None = None
) -> tuple[int, bytes, str]:
    """Git's exit code, what it says and what it complains of."""
    with running(where, *args, env=env) as process:
        out, said = process.communicate(stdin)
        return process.returncode, out, said.decode("utf-8", "replace")


@contextlib.contextmanager
def running(
    where: Path, *args: str, env: Mapping[str, str] | None = None
) -> Iterator[subprocess.Popen[bytes]]:
    settings = [part for setting in _SETTINGS for part in ("-c", setting)]
    command = [
        "git", "--no-pager", "--no-replace-objects", "--literal-pathspecs", "--no-optional-locks",
        *settings, *args,
    ]  # fmt: skip
    # It takes longer to load than many a question: a command without one does without it.
    os.environ.setdefault("GIT_PYTHON_REFRESH", "quiet")  # a missing git is told by us, when asked
    from git.cmd import Git
    from git.exc import GitCommandNotFound

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
