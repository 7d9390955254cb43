"""Processes that build beside the one that was started: they end with it, and their own end is
told."""

from __future__ import annotations

import contextlib
import gc
import itertools
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from multiprocessing import resource_tracker
from typing import Protocol, TypeVar

from asbuilt.problem import WorldError

_Task = TypeVar("_Task")
_Done = TypeVar("_Done")


class ParallelMap(Protocol):
    """Does the same work on each of several tasks, in any order, perhaps side by side."""

    def __call__(
        self, work: Callable[[_Task], _Done], tasks: Iterable[_Task], /
    ) -> Iterable[_Done]: ...


def in_sequence(work: Callable[[_Task], _Done], tasks: Iterable[_Task], /) -> Iterable[_Done]:
    return map(work, tasks)


@contextlib.contextmanager
def in_parallel(workers: int | None, preload: Sequence[str]) -> Iterator[ParallelMap]:
    """Several tasks at once in so many processes (None: one a processor), which begin when there
    are two tasks to be done and then wait for more; modules to `preload` are read once for all.
    A single task is done here."""
    count = workers or os.cpu_count() or 1
    with contextlib.ExitStack() as stack:
        pool: ProcessPoolExecutor | None = None

        def each(work: Callable[[_Task], _Done], tasks: Iterable[_Task], /) -> Iterable[_Done]:
            nonlocal pool
            coming = iter(tasks)
            first = list(itertools.islice(coming, 2))
            every = itertools.chain(first, coming)
            if min(count, len(first)) < 2:
                return in_sequence(work, every)
            if pool is None:
                pool = stack.enter_context(_pool(count, preload))
            return _done_in(pool, work, every, 2 * count)

        yield each


def _pool(count: int, preload: Sequence[str]) -> ProcessPoolExecutor:
    methods = multiprocessing.get_all_start_methods()
    if "forkserver" not in methods:
        return ProcessPoolExecutor(count, multiprocessing.get_context("spawn"), end_with_parent)
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(list(preload))
    return ProcessPoolExecutor(count, context, end_with_parent)


def _done_in(
    pool: ProcessPoolExecutor,
    work: Callable[[_Task], _Done],
    tasks: Iterator[_Task],
    ahead: int,
) -> Iterator[_Done]:
    """A task is asked for when it is nearly its turn: all of them would take room."""
    waiting: set[Future[_Done]] = set()
    try:
        while True:
            with interrupts_put_off():  # whenever a process may begin
                more = itertools.islice(tasks, ahead - len(waiting))
                waiting |= {pool.submit(work, task) for task in more}
            if not waiting:
                return
            done, waiting = wait(waiting, return_when=FIRST_COMPLETED)
            for one in done:
                yield one.result()
    finally:
        for one in waiting:
            one.cancel()


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
def worker_crash_as_error() -> Iterator[None]:
    """A worker that was killed is one sentence, not a broken pool."""
    try:
        yield
    except BrokenProcessPool:
        raise WorldError(
            "a process that was building was killed, perhaps for want of memory; each site is as "
            "it was or built anew, build again for the rest"
        ) from None
