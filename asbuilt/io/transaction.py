"""Several files written as one: all of them or none, also when the machine stops half-way.

The new contents are written beside the records first; then a note says which file each of them is
to become; then each is put in its place. Without the note nothing has happened, with it everything
will: whoever comes next finishes what the note says.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import shutil
import sys
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path, PurePosixPath
from typing import Final

from asbuilt.io.files import SITES, explain_os_errors, find_top
from asbuilt.io.lock import locked
from asbuilt.problem import WorldError

FOLDER: Final = ".asbuilt-writing"
_NOTE: Final = "note.json"
PATIENCE: Final = 10.0  # seconds to wait for another command; an edit takes a blink


def write_all(
    top: Path,
    files: Mapping[str, bytes],
    before: Mapping[str, bytes],
    unchanged: Callable[[], bool] = lambda: True,
) -> None:
    """Write path → bytes below `top`. `before` is what each of those files held when the change
    was thought out; a file that isn't so any more stops everything, and so does it when what else
    the change rests on isn't `unchanged`."""
    with _alone(top), explain_os_errors("writing the records"):
        _finish(top)
        for path in files:
            if _held(_below(top, path)) != _digest(before.get(path)):
                raise WorldError(f"{path} was changed meanwhile; nothing was written, try again")
        if not unchanged():
            raise WorldError("the records were changed meanwhile; nothing was written, try again")
        folder = top / FOLDER
        folder.mkdir()
        try:
            entries = _lay_ready(top, folder, files, before)
        except OSError:
            shutil.rmtree(folder, ignore_errors=True)
            raise
        _put_in_place(top, folder, entries)


def _lay_ready(
    top: Path, folder: Path, files: Mapping[str, bytes], before: Mapping[str, bytes]
) -> list[dict[str, str]]:
    """The new contents, and the note that says what is to become of them: from then on it will."""
    entries = []
    for number, path in enumerate(sorted(files)):
        _write(folder / f"{number}.new", files[path], like=_below(top, path))
        entries.append({"path": path, "was": _digest(before.get(path)), "is": _digest(files[path])})
    _write(folder / f"{_NOTE}.new", json.dumps(entries).encode())
    _sync(folder)
    (folder / f"{_NOTE}.new").replace(folder / _NOTE)
    _sync(folder)
    return entries


def records_around(start: Path) -> Path:
    """The records repository around a folder, with nothing left half-written in it."""
    top = find_top(start)
    recover(top)
    return top


def recover(top: Path) -> tuple[str, ...]:
    """Finish, or undo, what an earlier command was stopped in. The paths it finished."""
    if not (top / FOLDER).is_dir():
        return ()
    with _alone(top), explain_os_errors("finishing what was cut short"):
        return _finish(top)


def _finish(top: Path) -> tuple[str, ...]:
    folder = top / FOLDER
    if not folder.is_dir() or folder.is_symlink():
        return ()
    note = folder / _NOTE
    if not note.exists():  # it was stopped before it had decided anything
        shutil.rmtree(folder)
        return ()
    entries = _entries(note)
    for entry in entries:
        held = _held(_below(top, entry["path"]))
        if held not in (entry["was"], entry["is"]):
            raise WorldError(
                f"a command was stopped while it wrote {entry['path']}, which was changed since; "
                f"look at it, then delete the folder {FOLDER}"
            )
    _put_in_place(top, folder, entries)
    return tuple(entry["path"] for entry in entries)


def _entries(note: Path) -> list[dict[str, str]]:
    try:
        entries = json.loads(note.read_bytes())
        return [{name: str(entry[name]) for name in ("path", "was", "is")} for entry in entries]
    except (ValueError, TypeError, KeyError, RecursionError):
        raise WorldError(f"{FOLDER}/{_NOTE} isn’t understood; delete the folder {FOLDER}") from None


def _put_in_place(top: Path, folder: Path, entries: list[dict[str, str]]) -> None:
    for number, entry in enumerate(entries):
        new, final = folder / f"{number}.new", _below(top, entry["path"])
        if new.exists():
            final.parent.mkdir(parents=True, exist_ok=True)
            new.replace(final)
            _sync(final.parent)
    (folder / _NOTE).unlink()
    _sync(folder)
    shutil.rmtree(folder)


def _below(top: Path, path: str) -> Path:
    """A record's file. A note may have come with somebody else's repository, so it is believed in
    nothing else: no hidden file, nothing beside the sites, nothing through a link."""
    parts = PurePosixPath(path).parts
    hidden = any(part.startswith(".") or "\\" in part for part in parts)
    if len(parts) < 3 or parts[0] != SITES or hidden:
        raise WorldError(f"{path!r} is no file of a site’s records; delete the folder {FOLDER}")
    final = top.joinpath(*parts)
    if final.is_symlink() or not final.parent.resolve().is_relative_to(top.resolve() / SITES):
        raise WorldError(f"{path!r} lies behind a link; records are plain files")
    return final


def _write(path: Path, data: bytes, like: Path | None = None) -> None:
    with path.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    if like is not None and like.exists():
        path.chmod(like.stat().st_mode & 0o777)


def _sync(folder: Path) -> None:
    """Have the names in a folder on the disk, where the system can."""
    if sys.platform == "win32":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _held(path: Path) -> str:
    return _digest(path.read_bytes() if path.exists() else None)


def _digest(data: bytes | None) -> str:
    return "" if data is None else hashlib.sha256(data).hexdigest()


@contextlib.contextmanager
def locked_for_reading(top: Path) -> Iterator[None]:
    """Keep commands from writing to the records while they are read as a whole; many may read at
    once. What was cut short is finished first."""
    folder = top / FOLDER
    while True:
        with _locked(top, shared=True):
            if not folder.is_dir() or folder.is_symlink():
                yield
                return
        recover(top)


@contextlib.contextmanager
def _alone(top: Path) -> Iterator[None]:
    """Keep other commands from writing, and from reading all of the records, meanwhile."""
    with _locked(top, shared=False):
        yield


@contextlib.contextmanager
def _locked(top: Path, *, shared: bool) -> Iterator[None]:
    with contextlib.ExitStack() as stack:
        try:
            stack.enter_context(locked(top, f"{FOLDER}.lock", shared=shared, wait=PATIENCE))
        except BlockingIOError:
            doing = "writing to these records" if shared else "at work on these records"
            raise WorldError(f"another command is {doing}; wait for it") from None
        except OSError as error:
            reason = (error.strerror or "").lower()
            raise WorldError(f"locking {top} failed: {reason}") from None
        yield
