"""Processes that build beside the one that was started: they end with it, and their own end is
told."""

from __future__ import annotations

import contextlib
import gc
import multiprocessing
import os
import signal
import threading
from collections.abc import Iterator
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import resource_tracker

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
def interrupts_put_off() -> Iterator[None]:
    """Ctrl-C reaches every process of a terminal, and one of them is enough to end it. Those
    started meanwhile inherit that it is put off, and never hear of it; we do afterwards."""
    in_main_thread = threading.current_thread() is threading.main_thread()
    if not hasattr(signal, "pthread_sigmask") or not in_main_thread:
        yield
        return
    heard: list[int] = []
    resource_tracker.ensure_running()  # its start would lift the mask again
    mask = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    # A thread some library has started may be told in our place, so that the mask isn't enough.
    handler = signal.signal(signal.SIGINT, lambda number, frame: heard.append(number))
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, mask)
        signal.signal(signal.SIGINT, handler)
    if heard:
        raise KeyboardInterrupt


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
