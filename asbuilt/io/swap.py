"""Files and folders written so that they are whole or not there: made aside, then swapped in."""

from __future__ import annotations

import contextlib
import ctypes
import os
import shutil
import sys
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path, PurePosixPath
from typing import Final

from asbuilt.io.files import explain_os_errors, world_error
from asbuilt.io.lock import locked
from asbuilt.problem import WorldError

_ASIDE: Final = ".asbuilt-"  # no site can be called so: keys begin with a letter or digit


def only_into_nothing(folder: Path) -> None:
    """Raises WorldError unless a folder is new, or empty."""
    with explain_os_errors(f"reading {folder}"):
        if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
            raise WorldError(f"{folder} isn’t empty; name a folder that is new")


def write_tree(folder: Path, files: Iterable[tuple[str, bytes]]) -> None:
    """Write path → bytes below `folder`. Paths that leave it, or that clash, are our own mistake
    and raise ValueError."""
    written: set[str] = set()
    for path, data in files:
        parts = PurePosixPath(path).parts
        if not parts or ".." in parts or PurePosixPath(path).is_absolute() or "\\" in path:
            raise ValueError(f"not a path within the tree: {path!r}")
        if path.casefold() in written:
            raise ValueError(f"two files of the tree are called {path!r}")
        written.add(path.casefold())
        target = folder.joinpath(*parts)
        try:
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(data)
        except OSError as error:
            raise world_error(error, f"writing {path}") from error


def write_file(path: Path, data: bytes) -> None:
    """Write a file somebody asked for: whole, or what was there before stays. What is no plain
    file (a pipe, a terminal) is written to as it is."""
    with explain_os_errors(f"writing {path}"):
        if path.exists() and not path.is_file():
            path.write_bytes(data)
            return
        final = path.resolve()
        fresh = final.with_name(f"{_ASIDE}{os.getpid()}-{final.name}")
        try:
            fresh.write_bytes(data)
            fresh.replace(final)
        finally:
            fresh.unlink(missing_ok=True)


@contextlib.contextmanager
def exclusive_output(folder: Path) -> Iterator[None]:
    """Make `folder` and keep every other build out of it meanwhile. What a killed build left
    behind in it is cleared away."""
    with contextlib.ExitStack() as stack:
        try:
            folder.mkdir(parents=True, exist_ok=True)
            stack.enter_context(locked(folder, f"{_ASIDE}lock"))
        except BlockingIOError:
            raise WorldError(
                f"another build is writing to {folder}; wait for it, or give another --output"
            ) from None
        except OSError as error:
            raise world_error(error, f"making {folder}") from error
        remove_left_aside(folder)
        yield


def make_aside(folder: Path) -> Path:
    """A new empty folder within `folder`, to build in: on the same disk, so that what is built
    can be moved to its place, and readable by whom the published folder is (a temporary folder
    by itself is its owner's only)."""
    try:
        made = Path(tempfile.mkdtemp(prefix=_ASIDE, dir=folder))
        made.chmod(0o777 & ~_umask())
    except OSError as error:
        raise world_error(error, f"writing to {folder}") from error
    return made


def remove_left_aside(folder: Path) -> None:
    """Remove what a build that was killed left behind in `folder`."""
    for entry in folder.glob(f"{_ASIDE}*"):
        if entry.is_dir() and not entry.is_symlink():
            shutil.rmtree(entry, ignore_errors=True)


def swap_in(new: Path, final: Path) -> None:
    """Put the file or folder `new` in the place of `final`; `new` is gone afterwards. Whoever
    looks meanwhile sees the old one or the new one, whole."""
    try:
        if not final.exists() or not final.is_dir() or new.is_file():
            new.replace(final)
        elif _exchange(new, final):
            shutil.rmtree(new)
        else:
            old = Path(tempfile.mkdtemp(prefix=_ASIDE, dir=final.parent))
            final.rename(old / final.name)
            new.rename(final)
            shutil.rmtree(old)
    except OSError as error:
        raise world_error(error, f"putting the new {final.name} in place") from error


def copy_tree(folder: Path, into: Path) -> None:
    """Copy all that stands in a folder into another, which is empty."""
    with explain_os_errors(f"copying {folder}"):
        shutil.copytree(folder, into, symlinks=True, dirs_exist_ok=True)


def overlay_tree(new: Path, final: Path, gone: Iterable[str] = ()) -> None:
    """Put each file below `new` in its place below `final`, whole or not at all, and remove those
    that are `gone`."""
    with explain_os_errors(f"writing {final.name}"):
        for path in sorted(file for file in new.rglob("*") if file.is_file()):
            target = final / path.relative_to(new)
            target.parent.mkdir(parents=True, exist_ok=True)
            path.replace(target)
        for name in sorted(gone):
            (final / name).unlink(missing_ok=True)


def _exchange(one: Path, other: Path) -> bool:
    """Exchange two folders in one step, where the system can (Linux, renameat2(2))."""
    if not sys.platform.startswith("linux"):
        return False
    here, exchange = -100, 2  # AT_FDCWD, RENAME_EXCHANGE
    try:
        rename = ctypes.CDLL(None, use_errno=True).renameat2
    except (OSError, AttributeError):
        return False
    return bool(rename(here, os.fsencode(one), here, os.fsencode(other), exchange) == 0)


def remove_tree(folder: Path) -> None:
    """Remove a folder and what is in it; one that isn't there is removed already."""
    with explain_os_errors(f"removing {folder.name}"):
        if folder.is_dir():
            shutil.rmtree(folder)


def _umask() -> int:
    mask = os.umask(0o022)
    os.umask(mask)
    return mask
