"""A list as XLSX: texts only, the same bytes every time; and the cells of one from elsewhere."""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
from collections.abc import Iterator, Sequence
from typing import Any, Final

from asbuilt import escape
from asbuilt.lists.cells import Cell, CellPosition, Grid, ListProblem, letters
from asbuilt.lists.table import Table

MAX_UNPACKED: Final = 256 * 1024 * 1024
MAX_ROWS: Final = 100_000
_LONGEST: Final = 32_767  # characters in a cell (ECMA-376 leaves it open; spreadsheets don't)
_THEN: Final = dt.datetime(1980, 1, 1)  # noqa: DTZ001 - not the moment it was made
_SHOW: Final = "show it and look at it, or delete it"
_ZEROS = re.compile(r"0{2,}")


def xlsx_bytes(tables: Sequence[Table]) -> bytes:
    """A workbook with a sheet a list. Every cell is a text: nothing is computed."""
    from xlsxwriter import Workbook  # takes its time to load, and most commands write none

    packed = io.BytesIO()
    book = Workbook(packed, {"in_memory": True})
    book.set_properties({"author": "asbuilt", "created": _THEN})
    text, heading = (book.add_format({"num_format": "@", "bold": bold}) for bold in (False, True))
    for table in tables:
        sheet = book.add_worksheet(table.title)
        for number, row in enumerate((table.header, *table.rows)):
            for column, cell in enumerate(row):
                if cell:
                    shown = escape.plain(cell)[:_LONGEST]
                    sheet.write_string(number, column, shown, text if number else heading)
        for column, name in enumerate(table.header):
            longest = max((len(row[column]) for row in table.rows), default=0)
            sheet.set_column(column, column, min(max(len(name), longest) + 2, 60))
        sheet.freeze_panes(1, 1)
    book.close()
    return packed.getvalue()


def read_xlsx(data: bytes, sheet: str | None = None) -> Grid:
    """The cells of a workbook's sheet: the named one, or the only one that holds something. What is
    hidden isn't taken in unseen: it is told."""
    from openpyxl import load_workbook
    from openpyxl.utils.exceptions import InvalidFileException

    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            size = sum(entry.file_size for entry in packed.infolist())
        if size > MAX_UNPACKED:
            return _nothing(f"unpacked it has {size // 1024 // 1024} MiB", "take a smaller list")
        book = load_workbook(io.BytesIO(data), data_only=False, keep_links=False)
    except (zipfile.BadZipFile, InvalidFileException, KeyError, ValueError, OSError) as error:
        return _nothing(
            f"it is no XLSX workbook ({type(error).__name__})", "save it as XLSX or CSV"
        )
    seen = [one for one in book.worksheets if one.sheet_state == "visible"]
    filled = [one for one in seen if one.max_row > 1 or one["A1"].value is not None]
    if sheet is not None:
        chosen = [one for one in book.worksheets if one.title == sheet]
        if not chosen:
            names = ", ".join(one.title for one in seen)
            return _nothing(f"there is no sheet “{sheet}”", f"there are: {names}")
        if chosen[0] not in seen:
            return _nothing(f"the sheet “{sheet}” is hidden", _SHOW)
    else:
        chosen = filled
        if len(chosen) > 1:
            names = ", ".join(one.title for one in chosen)
            return _nothing("it has several sheets", f"name one with --sheet: {names}")
    if not chosen:
        return Grid(())
    return _cells(chosen[0])


def _nothing(message: str, hint: str) -> Grid:
    return Grid((), (ListProblem(CellPosition(), message, hint),))


def _cells(sheet: Any) -> Grid:
    wrong: list[ListProblem] = []
    if sheet.max_row > MAX_ROWS:
        return _nothing(f"it has {sheet.max_row} rows", f"{MAX_ROWS} at most")
    for merged in sheet.merged_cells.ranges:
        hint = "take the merge apart and fill every cell"
        spot = CellPosition(merged.min_row, merged.min_col)
        wrong.append(ListProblem(spot, f"{merged.coord} are merged cells", hint))
    wrong += _hidden(sheet)
    rows: list[tuple[Cell, ...]] = []
    for row in sheet.iter_rows():
        cells: list[Cell] = []
        for cell in row:
            spot = CellPosition(cell.row, cell.column)
            text, problem = _text(cell)
            if problem:
                wrong.append(ListProblem(spot, *problem))
            cells.append(Cell(spot, text))
        if any(cell.text for cell in cells) or any(w.spot.row == row[0].row for w in wrong[-3:]):
            rows.append(tuple(cells))
    return Grid(tuple(rows), tuple(sorted(wrong)))


def _hidden(sheet: Any) -> Iterator[ListProblem]:
    """Columns and rows that hold something nobody sees."""
    for dimension in sheet.column_dimensions.values():
        if dimension.hidden:
            for number in range(dimension.min, min(dimension.max, sheet.max_column) + 1):
                cells = sheet.iter_rows(min_col=number, max_col=number, values_only=True)
                if any(value is not None for (value,) in cells):
                    yield ListProblem(CellPosition(), f"column {letters(number)} is hidden", _SHOW)
    for number, dimension in sorted(sheet.row_dimensions.items()):
        if dimension.hidden:
            row = next(sheet.iter_rows(min_row=number, max_row=number, values_only=True), ())
            if any(value is not None for value in row):
                yield ListProblem(CellPosition(number), "it is hidden", _SHOW)


def _text(cell: Any) -> tuple[str, tuple[str, str] | None]:
    """A cell as one reads it on the screen, or what is wrong with it."""
    value = cell.value
    if value is None:
        return "", None
    if cell.data_type == "f":
        shown = str(getattr(value, "text", value))[:30]
        return "", (f"“{shown}” is a formula", "replace it by its value")
    if cell.data_type == "e":
        return "", (f"{value} is an error of the spreadsheet", "correct it there")
    if isinstance(value, bool):
        return "", (f"{str(value).upper()} stands here", "write yes or no, as a text")
    if isinstance(value, dt.datetime):
        if value.time() != dt.time():
            return "", (f"{value} is a date with a time", "write the date alone, or a text")
        return value.date().isoformat(), None
    if isinstance(value, (dt.time, dt.timedelta)):
        return "", (f"{value} is a time", "write it as a text")
    if isinstance(value, (int, float)):
        whole = float(value).is_integer()
        text = str(int(value)) if whole else repr(value)
        if whole and _ZEROS.fullmatch(cell.number_format or ""):
            text = text.zfill(len(cell.number_format))
        return text, None
    text = str(value).strip()
    if escape.plain(text) != text:
        return "", ("a character that can't be shown stands in the text", "delete it")
    return text, None
