"""What the commands that read somebody's list share: where it is, and how it is to be read."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from typing import Any

import click

from asbuilt.commands.reply import for_machines, say, tell_wrong
from asbuilt.io.files import explain_os_errors
from asbuilt.io.swap import write_file
from asbuilt.lists.cells import Grid, ListProblem, told_once
from asbuilt.lists.columns import (
    LISTS,
    Columns,
    TitledList,
    proposal,
    read_columns,
    row_of_titles,
    under_titles,
)
from asbuilt.lists.csv_file import SEPARATORS, read_csv
from asbuilt.problem import WorldError

MAX_BYTES = 64 * 1024 * 1024
SHOWN = 40  # lines of what is wrong


@dataclass(frozen=True, slots=True)
class ListSource:
    """Somebody's list: the file, and what was said of how to read it."""

    file: Path
    columns_file: Path | None = None
    sheet: str | None = None
    encoding: str | None = None
    separator: str | None = None


def reads_a_list(command: Callable[..., Any]) -> Callable[..., Any]:
    """FILE last, --columns, --sheet, --encoding and --separator; the command gets a `source`."""

    @click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
    @click.option(
        "--columns",
        "columns_file",
        type=click.Path(path_type=Path),
        metavar="FILE",
        help="What the columns hold; FILE.columns.yml beside the list, unless it is said.",
    )
    @click.option("--sheet", metavar="NAME", help="The sheet of a workbook that has several.")
    @click.option("--encoding", metavar="NAME", help="Of a CSV that isn’t UTF-8: cp1252, utf-16 …")
    @click.option(
        "--separator", type=click.Choice(list(SEPARATORS)), help="Between the cells of a CSV."
    )
    @wraps(command)
    def wrapped(
        *args: Any,
        file: Path,
        columns_file: Path | None,
        sheet: str | None,
        encoding: str | None,
        separator: str | None,
        **rest: Any,
    ) -> Any:
        source = ListSource(file, columns_file, sheet, encoding, separator)
        return command(*args, source=source, **rest)

    return wrapped


def titled_list(name: str, source: ListSource) -> tuple[TitledList, Columns]:
    """A list from a file, its rows under titles whose meaning the columns file says."""
    path = source.columns_file or source.file.with_name(f"{source.file.name}.columns.yml")
    columns = _columns(path, name)
    columns = dataclasses.replace(
        columns,
        sheet=source.sheet or columns.sheet,
        encoding=source.encoding or columns.encoding,
    )
    grid = _grid(source, columns)
    return _titled(source.file, path, name, columns, grid), columns


def refuse_wrong(file: Path, wrong: Sequence[ListProblem], outcome: str) -> None:
    """Tell what is wrong with a list, the same in many rows once; there is no going on."""
    tell_wrong(wrong)
    lines = told_once(wrong) if not for_machines() else []
    for line in lines[:SHOWN]:
        say(f"{file.name}: {line}")
    if len(lines) > SHOWN:
        say(f"{file.name}: and {len(lines) - SHOWN} more")
    if wrong:
        raise WorldError(f"{file.name} {outcome}")


TAKE_IN = "can’t be taken in as it is; nothing was written"


def _titled(file: Path, path: Path, name: str, columns: Columns, grid: Grid) -> TitledList:
    """The rows under titles that are known; what stands in the way is told."""
    for note in grid.notes:
        say(f"{file.name}: {note}")
    refuse_wrong(file, grid.wrong, TAKE_IN)
    titled, wrong, unknown = under_titles(grid, columns)
    refuse_wrong(file, wrong, TAKE_IN)
    assert titled is not None
    if unknown:
        _ask_for_columns(path, name, columns, grid, unknown)
    return titled


def _columns(path: Path, name: str) -> Columns:
    if not path.exists():
        return Columns(LISTS[name])
    with explain_os_errors(f"reading {path}"):
        try:
            text = path.read_text("utf-8-sig")
        except UnicodeDecodeError:
            raise WorldError(f"{path} is not UTF-8 text; save it as UTF-8") from None
    return read_columns(path.name, text, name)


def _grid(source: ListSource, columns: Columns) -> Grid:
    file = source.file
    with explain_os_errors(f"reading {file}"):
        if file.stat().st_size > MAX_BYTES:
            raise WorldError(f"{file.name} has more than {MAX_BYTES // 1024 // 1024} MiB")
        data = file.read_bytes()
    if data.startswith(b"PK"):
        from asbuilt.lists.xlsx_file import read_xlsx  # it takes its time to load

        return read_xlsx(data, columns.sheet)
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise WorldError(f"{file.name} is a workbook of an old kind; save it as .xlsx")
    separator = SEPARATORS[source.separator] if source.separator else None
    return read_csv(data, columns.encoding, separator)


def _ask_for_columns(
    path: Path, name: str, columns: Columns, grid: Grid, unknown: Sequence[str]
) -> None:
    if path.exists():
        named = ", ".join(f"“{title}”" for title in unknown)
        raise WorldError(f"{path} doesn’t say what these columns hold: {named}")
    where = row_of_titles(grid, columns)
    if where != grid.rows[0][0].spot.row:
        columns = dataclasses.replace(columns, header_row=where)
        _, _, unknown = under_titles(grid, columns)
    row = next(row for row in grid.rows if row[0].spot.row == where)
    text = proposal(name, columns, [cell.text for cell in row], unknown)
    write_file(path, text.encode())
    named = ", ".join(f"“{title}”" for title in unknown) or "those of the row above the list"
    raise WorldError(
        f"it isn’t known what these columns hold: {named}; say it in {path}, then type this again "
        "(if these are no titles, say there in which row they stand: “header row: 3”)"
    )
