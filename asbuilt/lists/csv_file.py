"""A list as CSV, by RFC 4180 (comma, CRLF, quotes doubled), in UTF-8; and what is made of the CSV
that comes from elsewhere."""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections.abc import Iterator
from typing import Final

from asbuilt import escape
from asbuilt.lists.cells import Cell, CellPosition, Grid, ListProblem, shielded
from asbuilt.lists.table import Table

SEPARATORS: Final = {"comma": ",", "semicolon": ";", "tab": "\t"}
_WIDE: Final = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_SEP_LINE = re.compile(r"sep=(.)\r?\n", re.IGNORECASE)


def csv_bytes(table: Table) -> bytes:
    """The list as a file. No cell is a formula to a spreadsheet; `read_csv` takes that back."""
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    for row in (table.header, *table.rows):
        writer.writerow([_shield(cell) for cell in row])
    return text.getvalue().encode()


def _shield(text: str) -> str:
    return f"'{text}" if shielded(text) else escape.csv(text)


def read_csv(data: bytes, encoding: str | None = None, separator: str | None = None) -> Grid:
    """The cells of a CSV file. The encoding is what its first bytes say, else UTF-8, unless it is
    given; the separator the one its first line has most of, unless it is given."""
    text, encoding, wrong = _decoded(data, encoding)
    if wrong:
        return Grid((), (wrong,))
    notes = [] if encoding in ("utf-8", "utf-8-sig") else [f"read as {encoding}"]
    first_row = 1
    told = _SEP_LINE.match(text)
    if told:
        separator, first_row = separator or told[1], 2
        text = text[told.end() :]
    if separator is None:
        separator = _separator_of(text)
    if separator != ",":
        name = next((word for word, sign in SEPARATORS.items() if sign == separator), separator)
        notes.append(f"cells are set apart by {name}s")
    problems: list[ListProblem] = []
    rows = tuple(_rows(text, separator, first_row, problems))
    return Grid(rows, tuple(problems), tuple(notes))


def _decoded(data: bytes, encoding: str | None) -> tuple[str, str, ListProblem | None]:
    guessed = next((name for mark, name in _WIDE if data.startswith(mark)), "utf-8")
    name = encoding or guessed
    try:
        text = data.decode(name)
    except LookupError:
        return (
            "",
            name,
            ListProblem(CellPosition(), f"there is no encoding “{name}”", "try cp1252 or utf-16"),
        )
    except UnicodeDecodeError as error:
        before = data[: error.start]
        row = before.count(b"\n") + 1
        start = before.rfind(b"\n") + 1
        cell = 1 + max(before[start:].count(sign) for sign in (b",", b";", b"\t"))
        byte = data[error.start] if error.start < len(data) else 0
        hint = "save it as UTF-8, or say what it is: --encoding cp1252 (Windows, western Europe)"
        message = f"byte 0x{byte:02x} is no {name.upper()} text"
        return "", name, ListProblem(CellPosition(row, cell), message, hint)
    return text.removeprefix("\ufeff"), name, None


def _separator_of(text: str) -> str:
    """The sign the first line that holds something has the most cells by."""
    line = next((line for line in text.splitlines() if line.strip()), "")
    counts = {}
    for sign in SEPARATORS.values():
        try:
            counts[sign] = len(next(csv.reader([line], delimiter=sign), []))
        except csv.Error:
            counts[sign] = 0
    best = max(counts.values(), default=0)
    return next((sign for sign in SEPARATORS.values() if counts[sign] == best), ",")


def _rows(
    text: str, separator: str, first: int, wrong: list[ListProblem]
) -> Iterator[tuple[Cell, ...]]:
    """Rows are counted as a spreadsheet counts them: a cell with line breaks is in one row."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    number = first - 1
    try:
        for row in reader:
            number += 1
            cells: list[Cell] = []
            for column, raw in enumerate(row, start=1):
                spot = CellPosition(number, column)
                cell = raw[1:] if shielded(raw) else raw
                cell = cell.strip()
                if cell == raw.strip() and cell.startswith("="):
                    hint = "replace it by its value"
                    wrong.append(ListProblem(spot, f"“{cell[:30]}” is a formula", hint))
                    cell = ""
                if escape.plain(cell) != cell or "\0" in cell:
                    message = "a character that can't be shown stands in the text"
                    wrong.append(ListProblem(spot, message, "delete it"))
                    cell = ""
                cells.append(Cell(spot, cell))
            if any(cell.text for cell in cells) or _has(wrong, number):
                yield tuple(cells)
    except csv.Error as error:
        wrong.append(
            ListProblem(CellPosition(number + 1), f"not CSV: {error}", "look at the quotes there")
        )


def _has(wrong: list[ListProblem], row: int) -> bool:
    return bool(wrong) and wrong[-1].spot.row == row
