"""What is said on a terminal: lines, what is wrong, how far something has got."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from rich.console import Console
from rich.progress import (
    BarColumn,
    MofNCompleteColumn,
    Progress,
    ProgressColumn,
    TextColumn,
    TimeRemainingColumn,
)
from rich.text import Text

from asbuilt.checks import report
from asbuilt.escape import terminal
from asbuilt.problem import Level, Problem


def out() -> Console:
    return Console(soft_wrap=True, highlight=False, markup=False, emoji=False)


def err() -> Console:
    return Console(stderr=True, soft_wrap=True, highlight=False, markup=False, emoji=False)


def line(text: str) -> None:
    out().print(Text(text))


def problem_lines(problems: Sequence[Problem]) -> None:
    """The problems, site by site and file by file; on a terminal in colour."""
    console = out()
    site = file = ""
    for problem in problems:
        if report.site_key_of(problem) != site:
            console.print(
                Text(f"{site and chr(10)}{terminal(report.site_key_of(problem))}", "bold")
            )
            site = report.site_key_of(problem)
        elif problem.place.path != file and console.is_terminal:
            console.print()
        file = problem.place.path
        console.print(
            Text(report.problem_line(problem), "red" if problem.level is Level.ERROR else "yellow")
        )
    if problems:
        console.print()


class Bar:
    def __init__(self, bar: Progress, what: str, total: int) -> None:
        self._bar = bar
        self._task = bar.add_task(what, total=total, made=0)
        self._made = 0

    def now(self, what: str) -> None:
        self._bar.update(self._task, description=what)

    def step(self, made: int = 0) -> None:
        self._made += made
        self._bar.update(self._task, advance=1, made=self._made)


@contextmanager
def progress(what: str, total: int, counted: str = "") -> Iterator[Bar]:
    """A bar on a terminal, with the time left; nothing where nobody looks. `counted` names what
    each step may say it made."""
    console = err()
    columns: list[ProgressColumn] = [
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
    ]
    columns += [TextColumn("{task.fields[made]} " + counted)] if counted else []
    columns += [TimeRemainingColumn(elapsed_when_finished=True)]
    with Progress(
        *columns, console=console, transient=True, disable=not console.is_terminal
    ) as bar:
        yield Bar(bar, what, total)
