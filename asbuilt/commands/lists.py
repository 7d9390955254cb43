"""The commands for lists: out to a spreadsheet, and in from one."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

import click

from asbuilt.commands.completion import site_keys
from asbuilt.commands.list_source import (
    TAKE_IN,
    ListSource,
    reads_a_list,
    refuse_wrong,
    titled_list,
)
from asbuilt.commands.reply import answering, for_machines, say, tell
from asbuilt.commands.results import import_tests
from asbuilt.commands.session import EditSession, carry_out, command_for, given, open_session
from asbuilt.edits.apply import edit
from asbuilt.edits.jobs import note_in_job
from asbuilt.edits.mounting import item_of
from asbuilt.edits.requests import AddRecord, SetFields, Wish
from asbuilt.edits.review import edited_site
from asbuilt.io.swap import write_file
from asbuilt.lists.cells import letters
from asbuilt.lists.columns import LISTS
from asbuilt.lists.csv_file import csv_bytes
from asbuilt.lists.exporting import TABLES
from asbuilt.lists.importing import ImportPlan, Numbering, RecordDifference, Trust, plan_import
from asbuilt.lists.importing import new_rooms as rooms_of
from asbuilt.lists.results import DATE_ORDERS, take_results
from asbuilt.model.site import Site
from asbuilt.problem import WorldError
from asbuilt.records.kinds import KINDS

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
    desk = open_session(site)
    tables = [make(desk.site) for key, make in TABLES.items() if name in (key, "all")]
    if file.suffix.lower() == ".xlsx":
        from asbuilt.lists.xlsx_file import xlsx_bytes  # it takes its time to load

        data = xlsx_bytes(tables)
    elif file.suffix.lower() == ".csv" and len(tables) == 1:
        data = csv_bytes(tables[0])
    else:
        raise WorldError(f"{file.name}: a list goes to a .csv or .xlsx, all lists to one .xlsx")
    write_file(file, data)
    tell(file=str(file), rows={table.title: len(table.rows) for table in tables})
    if not for_machines():
        say(f"{sum(len(table.rows) for table in tables)} rows in {file}")
    return 0


@click.command("import")
@command_for
@click.argument("name", metavar="LIST", type=click.Choice(TAKEN_IN))
@reads_a_list
@click.argument("words", metavar="[FIELD=VALUE]...", nargs=-1)
@click.option(
    "--trust",
    type=click.Choice([word.value for word in Trust]),
    help="Which one is right where list and records differ.",
)
@click.option("--number", is_flag=True, help="Outlets without a key get the next free ones.")
@click.option("--enclosure", metavar="KEY", help="Where numbered outlets end.")
@click.option("--panel", metavar="ITEM", help="The panel numbered outlets end at.")
@click.option("--new-rooms", is_flag=True, help="Record the rooms it names that aren’t recorded.")
@click.option(
    "--dates", type=click.Choice(list(DATE_ORDERS)), help="How a list of test results has them."
)
@click.option("--as", "kept_as", metavar="NAME", help="Test results: tests/NAME.csv.")
def import_command(
    desk: EditSession,
    name: str,
    source: ListSource,
    words: tuple[str, ...],
    trust: str | None,
    number: bool,
    enclosure: str | None,
    panel: str | None,
    new_rooms: bool,
    dates: str | None,
    kept_as: str | None,
) -> int:
    """Take a LIST (outlets, patching, findings, tests) from FILE, .csv or .xlsx, into the records.

    What the columns hold is said in a small file beside the list; where a title isn’t known, the
    first run writes that file for you to fill in. FIELD=VALUE is true of all new ones, where the
    list doesn’t say it. --dry-run is the preview.
    """
    file = source.file
    titled, columns = titled_list(name, source)
    if name == "tests":
        if words or new_rooms:
            raise WorldError(
                "test results are kept as they were measured: nothing is added to them"
            )
        return import_tests(desk, file, take_results(desk.site, titled, columns, dates), kept_as)
    rooms = rooms_of(desk.site, titled) if new_rooms else []
    site = _with(desk, rooms)
    numbering = None
    if number:
        at = item_of(site, panel).key if panel else None
        numbering = Numbering(enclosure, at)
    whose = Trust(trust) if trust else None
    intake = plan_import(site, titled, columns, whose, numbering, given(LISTS[name], words))
    _preview(intake)
    refuse_wrong(file, intake.wrong, TAKE_IN)
    if intake.differing and trust is None:
        raise WorldError(
            "list and records differ; say which one is right: --trust list, or --trust records to "
            "leave those as they are; nothing was written"
        )
    return carry_out(desk, [*rooms, *intake.wishes, *_noted(desk, site, intake.wishes)])


def _with(desk: EditSession, rooms: Sequence[Wish]) -> Site:
    """The site as it is with these rooms."""
    if not rooms:
        return desk.site
    texts = {**desk.texts, **edit(desk.texts, rooms)}
    site = edited_site(desk.key, texts, desk.folder).site
    assert site is not None  # rooms that nothing names spoil nothing
    return site


def _noted(desk: EditSession, site: Site, wishes: Sequence[Wish]) -> list[Wish]:
    """The outlets a list adds or changes, in the job it is done for."""
    if not desk.job:
        return []
    touched = [
        wish.key
        for wish in wishes
        if isinstance(wish, AddRecord | SetFields) and wish.kind == "outlet"
    ]
    return note_in_job(site, desk.job, list(dict.fromkeys(touched)))


def _preview(intake: ImportPlan) -> None:
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


def _difference(one: RecordDifference) -> dict[str, str | int]:
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
