"""The one lock: on a folder, and let go of by the system however a process ends."""

from __future__ import annotations

import contextlib
import os
import sys
import time
from collections.abc import Iterator
from pathlib import Path

_INTERVAL = 0.02  # seconds between two tries


@contextlib.contextmanager
def locked(folder: Path, guard: str, *, shared: bool = False, wait: float = 0) -> Iterator[None]:
    """Hold a folder, which many may do at once if they only want to `share` it. `guard` names the
    file that is locked where a folder can't be. Raises BlockingIOError when somebody else still
    holds it after so many seconds, OSError when it can't be locked at all."""
    handle = _acquired(folder, guard, shared, time.monotonic() + wait)
    try:
        yield
    finally:
        if handle is not None:
            os.close(handle)


def _acquired(folder: Path, guard: str, shared: bool, until: float) -> int | None:
    while True:
        try:
            return _acquired_now(folder, guard, shared)
        except BlockingIOError:
            if time.monotonic() >= until:
                raise
        time.sleep(_INTERVAL)


def _acquired_now(folder: Path, guard: str, shared: bool) -> int | None:
    """The handle of a lock; None where there is no need of one."""
    if sys.platform == "win32":
        import msvcrt

        if shared:
            return None  # there is no lock to share: whoever writes isn't kept off there
        handle = os.open(folder / guard, os.O_RDWR | os.O_CREAT)
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError as error:
            os.close(handle)
            raise BlockingIOError from error
        return handle
    import fcntl

    handle = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(handle, (fcntl.LOCK_SH if shared else fcntl.LOCK_EX) | fcntl.LOCK_NB)
    except OSError:
        os.close(handle)
        raise
    return handle
