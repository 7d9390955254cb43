"""A list as it goes to a spreadsheet: a header and rows, every cell a text."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Table:
    """`title` names the list and its sheet; each row has as many cells as the header."""

    title: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
