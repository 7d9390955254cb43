"""The commands for lists: out to a spreadsheet, and in from one."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from pathlib import Path

import click

from asbuilt.commands.answer import answering, for_machines, say, tell, tell_wrong
from asbuilt.commands.completing import site_keys
from asbuilt.commands.desk import Desk, carry_out, command_for, desk_of
from asbuilt.commands.results import take_in_tests
from asbuilt.files import telling
from asbuilt.lists.cells import Grid, Wrong, letters
from asbuilt.lists.columns import LISTS, Columns, Titled, proposal, read_columns, under_titles
from asbuilt.lists.csv_file import SEPARATORS, csv_bytes, read_csv
from asbuilt.lists.out import TABLES
from asbuilt.lists.results import DATE_ORDERS, take_results
from asbuilt.lists.taking_in import Difference, Intake, Numbering, Trust, take_in
from asbuilt.moves.mounting import item_of
from asbuilt.problem import WorldError
from asbuilt.records.kinds import KINDS

MAX_BYTES = 64 * 1024 * 1024
TAKEN_IN = [name for name, kind in LISTS.items() if kind in KINDS]
SHOWN = 20  # lines of one sort in a preview


def register(group: click.Group) -> None:
    group.add_command(export_command)
    group.add_command(import_command)


@click.command("export")
@click.argument("site", metavar="SITE", shell_complete=site_keys)
@click.argument("name", metavar="LIST", type=click.Choice([*TABLES, "all"]))
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@answering
def export_command(site: str, name: str, file: Path) -> int:
    """Write a LIST of a site (outlets, patching, ports, findings, materials) to FILE, as .csv or
    .xlsx; all of them are the sheets of one .xlsx. Ports and materials are counted from the
    records: they can’t be imported."""
    desk = desk_of(site)
    tables = [make(desk.site) for key, make in TABLES.items() if name in (key, "all")]
    if file.suffix.lower() == ".xlsx":
        from asbuilt.lists.xlsx_file import xlsx_bytes  # it takes its time to load

        data = xlsx_bytes(tables)
    elif file.suffix.lower() == ".csv" and len(tables) == 1:
        data = csv_bytes(tables[0])
    else:
        raise WorldError(f"{file.name}: a list goes to a .csv or .xlsx, all lists to one .xlsx")
    with telling(f"writing {file}"):
        file.write_bytes(data)
    tell(file=str(file), rows={table.title: len(table.rows) for table in tables})
    if not for_machines():
        say(f"{sum(len(table.rows) for table in tables)} rows in {file}")
    return 0


@click.command("import")
@command_for
@click.argument("name", metavar="LIST", type=click.Choice(TAKEN_IN))
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
@click.option(
    "--trust",
    type=click.Choice([word.value for word in Trust]),
    help="Whose word counts where list and records differ.",
)
@click.option("--number", is_flag=True, help="Outlets without a key get the next free ones.")
@click.option("--enclosure", metavar="KEY", help="Where numbered outlets end.")
@click.option("--panel", metavar="ITEM", help="The panel numbered outlets end at.")
@click.option(
    "--dates", type=click.Choice(list(DATE_ORDERS)), help="How a list of test results has them."
)
@click.option("--as", "kept_as", metavar="NAME", help="Test results: tests/NAME.csv.")
def import_command(
    desk: Desk,
    name: str,
    file: Path,
    columns_file: Path | None,
    sheet: str | None,
    encoding: str | None,
    separator: str | None,
    trust: str | None,
    number: bool,
    enclosure: str | None,
    panel: str | None,
    dates: str | None,
    kept_as: str | None,
) -> int:
    """Take a LIST (outlets, patching, findings, tests) from FILE, .csv or .xlsx, into the records.

    What the columns hold is said in a small file beside the list; where a title isn’t known, the
    first run writes that file for you to fill in. --dry-run is the preview.
    """
    titled, columns = titled_list(name, file, columns_file, sheet, encoding, separator)
    if name == "tests":
        return take_in_tests(desk, file, take_results(desk.site, titled, columns, dates), kept_as)
    numbering = None
    if number:
        at = item_of(desk.site, panel).key if panel else None
        numbering = Numbering(enclosure, at)
    intake = take_in(desk.site, titled, columns, Trust(trust) if trust else None, numbering)
    _preview(file, intake)
    if intake.wrong:
        raise WorldError(f"{file.name} can’t be taken in as it is; nothing was written")
    if intake.differing and trust is None:
        raise WorldError(
            "list and records differ; say whose word counts: --trust list, or --trust records to "
            "leave those as they are; nothing was written"
        )
    return carry_out(desk, intake.wishes)


def titled_list(
    name: str,
    file: Path,
    columns_file: Path | None,
    sheet: str | None,
    encoding: str | None,
    separator: str | None,
) -> tuple[Titled, Columns]:
    """A list from a file, its rows under titles whose meaning the columns file says."""
    path = columns_file or file.with_name(f"{file.name}.columns.yml")
    columns = _columns(path, name)
    if sheet:
        columns = dataclasses.replace(columns, sheet=sheet)
    grid = _grid(file, columns, encoding, separator)
    return _titled(file, path, name, columns, grid), columns


def _titled(file: Path, path: Path, name: str, columns: Columns, grid: Grid) -> Titled:
    """The rows under titles that are known; what stands in the way is told."""
    for note in grid.notes:
        say(f"{file.name}: {note}")
    _tell(file, grid.wrong)
    if grid.wrong:
        raise WorldError(f"{file.name} can’t be taken in as it is; nothing was written")
    titled, wrong, unknown = under_titles(grid, columns)
    _tell(file, wrong)
    if wrong or titled is None:
        raise WorldError(f"{file.name} can’t be taken in as it is; nothing was written")
    if unknown:
        _ask_for_columns(path, name, columns, grid, unknown)
    return titled


def _columns(path: Path, name: str) -> Columns:
    if not path.exists():
        return Columns(LISTS[name])
    with telling(f"reading {path}"):
        try:
            text = path.read_text("utf-8-sig")
        except UnicodeDecodeError:
            raise WorldError(f"{path} is not UTF-8 text; save it as UTF-8") from None
    return read_columns(path.name, text, name)


def _grid(file: Path, columns: Columns, encoding: str | None, separator: str | None) -> Grid:
    with telling(f"reading {file}"):
        if file.stat().st_size > MAX_BYTES:
            raise WorldError(f"{file.name} has more than {MAX_BYTES // 1024 // 1024} MiB")
        data = file.read_bytes()
    if data.startswith(b"PK"):
        from asbuilt.lists.xlsx_file import read_xlsx  # it takes its time to load

        return read_xlsx(data, columns.sheet)
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise WorldError(f"{file.name} is a workbook of an old kind; save it as .xlsx")
    return read_csv(data, encoding, SEPARATORS[separator] if separator else None)


def _ask_for_columns(
    path: Path, name: str, columns: Columns, grid: Grid, unknown: Sequence[str]
) -> None:
    named = ", ".join(f"“{title}”" for title in unknown)
    if path.exists():
        raise WorldError(f"{path} doesn’t say what these columns hold: {named}")
    header = columns.header_row
    row = next(row for row in grid.rows if header in (None, row[0].spot.row))
    text = proposal(name, columns, [cell.text for cell in row], unknown)
    with telling(f"writing {path}"):
        path.write_text(text, "utf-8")
    raise WorldError(
        f"it isn’t known what these columns hold: {named}; say it in {path}, then import again "
        "(if these are no titles, say there in which row they stand: “header row: 3”)"
    )


def _preview(file: Path, intake: Intake) -> None:
    _tell(file, intake.wrong)
    tell(
        preview={
            "new": [{"row": spot.row, "key": key} for spot, key in intake.new],
            "not yet recorded": [_difference(one) for one in intake.filled],
            "differs": [_difference(one) for one in intake.differing],
            "the same": intake.same,
            "recorded and not in the list": intake.absent,
        }
    )
    if for_machines():
        return
    counts = (
        ("new", len(intake.new)),
        ("cells the records don’t say yet", len(intake.filled)),
        ("cells that differ from the records", len(intake.differing)),
        ("the same", intake.same),
        ("recorded and not in the list (they stay)", len(intake.absent)),
    )
    say(
        ", ".join(f"{what}: {count}" for what, count in counts if count)
        or "The list holds nothing."
    )
    _listed("new", (f"{spot}: {key}" for spot, key in intake.new))
    _listed("not yet recorded", map(str, intake.filled))
    _listed("differs", map(str, intake.differing))


def _difference(one: Difference) -> dict[str, str | int]:
    return {
        "row": one.spot.row,
        "column": letters(one.spot.column),
        "key": one.key,
        "field": one.field,
        "recorded": one.recorded,
        "listed": one.listed,
    }


def _listed(what: str, lines: Iterable[str]) -> None:
    lines = list(lines)
    for line in lines[:SHOWN]:
        say(f"  {what}: {line}")
    if len(lines) > SHOWN:
        say(f"  {what}: and {len(lines) - SHOWN} more")


def _tell(file: Path, wrong: Sequence[Wrong]) -> None:
    tell_wrong(wrong)
    if for_machines():
        return
    for one in wrong[: SHOWN * 2]:
        say(f"{file.name}: {one}")
    if len(wrong) > SHOWN * 2:
        say(f"{file.name}: and {len(wrong) - SHOWN * 2} more")
