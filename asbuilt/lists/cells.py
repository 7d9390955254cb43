"""What was read from somebody's list: cells that know where they stand, and what is wrong."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from asbuilt.problem import some_of


@dataclass(frozen=True, slots=True, order=True)
class CellPosition:
    """Where a cell stands: row and column count from 1, as a spreadsheet shows them; column 0 is
    the whole row, row 0 the whole list."""

    row: int = 0
    column: int = 0

    def __str__(self) -> str:
        if not self.row:
            return "the list"
        if not self.column:
            return f"row {self.row}"
        return f"row {self.row}, column {letters(self.column)}"


@dataclass(frozen=True, slots=True, order=True)
class ListProblem:
    """One thing wrong with a list: what is there, what would be right."""

    spot: CellPosition
    message: str
    hint: str = ""

    def __str__(self) -> str:
        return f"{self.spot}: {self.message}" + (f"; {self.hint}" if self.hint else "")


def told_once(wrong: Iterable[ListProblem]) -> list[str]:
    """What is wrong, a line each; what is wrong in one way in many rows of a column in one line."""
    alike: dict[tuple[int, str, str], list[ListProblem]] = {}
    for one in wrong:
        alike.setdefault((one.spot.column, one.message, one.hint), []).append(one)
    return [_together(same) for same in alike.values()]


def _together(same: Sequence[ListProblem]) -> str:
    first = same[0]
    rows = dict.fromkeys(one.spot.row for one in same)
    if len(rows) == 1:
        return str(first)
    return f"rows {_rows(list(rows))}{str(first).removeprefix(f'row {first.spot.row}')}"


def _rows(numbers: Sequence[int]) -> str:
    first, last = numbers[0], numbers[-1]
    if len(numbers) > 2 and list(numbers) == list(range(first, last + 1)):
        return f"{first} to {last}"
    return some_of([str(number) for number in numbers])


@dataclass(frozen=True, slots=True)
class Cell:
    spot: CellPosition
    text: str


@dataclass(frozen=True, slots=True)
class Grid:
    """All cells, row by row; rows that hold nothing are left out. `notes` say how the list was
    read where it could have been read otherwise."""

    rows: tuple[tuple[Cell, ...], ...]
    wrong: tuple[ListProblem, ...] = ()
    notes: tuple[str, ...] = ()


def letters(column: int) -> str:
    """The letters a spreadsheet heads a column with: 1 is A, 27 is AA."""
    name = ""
    while column:
        column, rest = divmod(column - 1, 26)
        name = chr(ord("A") + rest) + name
    return name


_SHIELDED = re.compile(r"'+\s*[=+\-@\t\r]")


def shielded(text: str) -> bool:
    """Whether a cell begins with a quote that keeps a spreadsheet from computing it."""
    return _SHIELDED.match(text) is not None
