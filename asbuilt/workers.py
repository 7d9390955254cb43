"""Processes that build beside the one that was started: they end with it, and their own end is
told."""

from __future__ import annotations

import contextlib
import gc
import multiprocessing
import os
import threading
from collections.abc import Iterator
from concurrent.futures.process import BrokenProcessPool

from asbuilt.problem import WorldError


def collect_seldom() -> None:
    """Records and pages are many small values and few cycles: looking for some at every step costs
    a third."""
    gc.set_threshold(20_000, 20, 20)


def end_with_parent() -> None:
    """Called as a worker starts. Whoever gave it work holds the locks: without them, another
    command may be at work in the same folders."""
    collect_seldom()
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_end_after, args=(parent,), daemon=True).start()


def _end_after(parent: multiprocessing.process.BaseProcess) -> None:
    parent.join()
    os._exit(1)


def stop_if_orphaned() -> None:
    """Called before a worker's last step: nothing is published for nobody."""
    parent = multiprocessing.parent_process()
    if parent is not None and not parent.is_alive():
        os._exit(1)


@contextlib.contextmanager
def telling_of_deaths() -> Iterator[None]:
    """A worker that was killed is one sentence, not a broken pool."""
    try:
        yield
    except BrokenProcessPool:
        raise WorldError(
            "a process that was building was killed, perhaps for want of memory; each site is as "
            "it was or built anew, build again for the rest"
        ) from None
