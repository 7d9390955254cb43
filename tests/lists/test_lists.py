"""Lists out to spreadsheets and in again: nothing is lost, nothing guessed, all of it told."""

from __future__ import annotations

import csv
import datetime as dt
import io
import os
import shutil
import subprocess
import time
import zipfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import MappingProxyType

import click
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook
from openpyxl.comments import Comment

from asbuilt.cli import FrontDoor
from asbuilt.commands import edits, lists
from asbuilt.edits.apply import edit
from asbuilt.edits.requests import AddRecord, Refusal, SetFields
from asbuilt.edits.yaml_values import Said
from asbuilt.io.files import read_site_files, site_names
from asbuilt.lists.cells import CellPosition, Grid, ListProblem, letters, told_once
from asbuilt.lists.columns import Columns, proposal, read_columns, under_titles
from asbuilt.lists.csv_file import csv_bytes, read_csv
from asbuilt.lists.exporting import TABLES, outlets_table, ports_table
from asbuilt.lists.importing import ImportPlan, Numbering, Trust, plan_import
from asbuilt.lists.table import Table
from asbuilt.lists.xlsx_file import read_xlsx, xlsx_bytes
from asbuilt.model.site import Site, site_of
from asbuilt.records.reading import read_folder

FILES = {
    "site.yml": "name: x\nrooms:\n  '101': {}\n  '104': {}\n",
    "enclosures/1A.yml": """\
height: 12 U
front:
  12: {panel: A, ports: 24}
  11: {switch: SW1, ports: 24}
patching:
  A/01: {to: SW1/01, cord: 0.3 m}
  A/02: {to: SW1/02}
""",
    "outlets.yml": """\
1A-A01: {label: "=1+1", room: "101", plate: "west, left", port: 1A/A/01, cable: cat6, length: 23.40 m}
1A-A02: {label: "007", room: "101", port: [1A/A/02, 1A/A/03], person: "Zoë \\"Z\\" Ö", serves: phone}
1A-A04: {label: "'=x", room: "104", port: 1A/A/04, note: "two\\nlines"}
""",
    "findings.yml": "F1: {what: '-dusty', found on: 2025-03-07, outlet: [1A-A01, 1A-A02]}\n",
}  # fmt: skip


def site(**more: str) -> Site:
    texts = FILES | more
    found = site_of(read_folder("x", {path: text.encode() for path, text in texts.items()}))
    assert found
    return found


def intake_of(
    grid: Grid, columns: Columns, here: Site, trust: Trust | None = None,
    number: Numbering | None = None, for_new: Mapping[str, Said] = MappingProxyType({}),
) -> ImportPlan:  # fmt: skip
    assert not grid.wrong
    titled, wrong, unknown = under_titles(grid, columns)
    assert titled and not wrong and not unknown
    return plan_import(here, titled, columns, trust, number, for_new)


def listed(text: str, kind: str = "outlet", here: Site | None = None, **rest: object) -> ImportPlan:
    return intake_of(read_csv(text.encode()), Columns(kind), here or site(), **rest)  # type: ignore[arg-type]


def told(intake: ImportPlan) -> list[str]:
    return [str(wrong) for wrong in intake.wrong]


def workbook(*rows: Sequence[object], title: str = "Jacks") -> Workbook:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = title
    for row in rows:
        sheet.append(list(row))
    return book


def saved(book: Workbook) -> bytes:
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


# Out


def test_csv_is_what_rfc_4180_says() -> None:
    # RFC 4180, section 2: CRLF after each record (1), a header (3), as many fields in each (4),
    # fields with commas, quotes or line breaks between quotes (6), quotes doubled (7).
    data = csv_bytes(Table("t", ("a", "b"), (("x,y", 'say "so"'), ("two\nlines", ""))))
    assert data == b'a,b\r\n"x,y","say ""so"""\r\n"two\nlines",\r\n'


def test_no_cell_is_a_formula_to_a_spreadsheet() -> None:
    cells = ("=1+1", "+1", "-1", "@x", "'=1", "''=1", "'x", " =1")
    rows = list(csv.reader(io.StringIO(csv_bytes(Table("t", ("a",) * 8, (cells,))).decode())))
    assert all(not cell.lstrip().startswith(("=", "+", "-", "@")) for cell in rows[1])
    back = read_csv(csv_bytes(Table("t", ("a",) * 8, (cells,))))
    assert [cell.text for cell in back.rows[1]] == [cell.strip() for cell in cells]
    assert not back.wrong


def test_a_workbook_holds_texts_only_and_the_same_bytes_every_time() -> None:
    tables = [make(site()) for make in TABLES.values()]
    data = xlsx_bytes(tables)
    time.sleep(0.01)
    assert xlsx_bytes(tables) == data
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        assert {entry.date_time for entry in packed.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert str(dt.datetime.now(dt.UTC).year).encode() not in packed.read("docProps/core.xml")
    book = load_workbook(io.BytesIO(data))
    assert book.sheetnames == ["outlets", "patching", "ports", "findings", "materials"]
    kinds = {
        cell.data_type for sheet in book for row in sheet.iter_rows() for cell in row if cell.value
    }
    assert kinds == {"s"}
    assert book["outlets"]["B2"].value == "=1+1"


@pytest.mark.skipif(
    shutil.which("soffice") is None, reason="LibreOffice isn’t installed: nothing to compare with"
)
def test_a_spreadsheet_shows_what_the_records_say(tmp_path: Path) -> None:
    """LibreOffice is an independent reader of XLSX (ECMA-376): it opens every sheet of the
    workbook and writes it as CSV, cell by cell what we wrote, nothing computed or taken for a date
    or a number."""
    tables = [make(site()) for make in TABLES.values()]
    tables.append(
        Table("odd", ("a", "b"), (("=1+1", "007"), ("1/2", "2025-03-07"), ("1e5", "é–Ω")))
    )
    (tmp_path / "all.xlsx").write_bytes(xlsx_bytes(tables))
    # UTF-8, commas, quotes, all sheets (-1): LibreOffice Help, “Filter Options for CSV”.
    form = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1"
    subprocess.run(
        ["soffice", f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}", "--headless",
         "--convert-to", form, "--outdir", str(tmp_path), str(tmp_path / "all.xlsx")],
        check=True, capture_output=True, timeout=120,
    )  # fmt: skip
    for table in tables:
        text = (tmp_path / f"all-{table.title}.csv").read_text("utf-8")
        rows = [tuple(row) for row in csv.reader(io.StringIO(text))]
        assert rows == [table.header, *table.rows]


def test_the_port_map_has_every_port_once() -> None:
    here = site()
    table = ports_table(here)
    assert [row[0] for row in table.rows] == [str(port) for port in here.ports]
    by_port = {row[0]: dict(zip(table.header, row, strict=True)) for row in table.rows}
    assert by_port["1A/A/01"]["patched to"] == "1A/SW1/01"
    assert by_port["1A/SW1/01"]["cord"] == "0.3 m"
    assert by_port["1A/A/03"]["outlet"] == "1A-A02"
    assert by_port["1A/A/24"]["state"] == "free"


# Out and in again changes nothing


@pytest.mark.parametrize("name", ["outlets", "patching", "findings"])
@pytest.mark.parametrize("form", ["csv", "xlsx"])
@pytest.mark.parametrize("trust", [None, Trust.LIST])
def test_out_and_in_changes_nothing(name: str, form: str, trust: Trust | None) -> None:
    kind = {"outlets": "outlet", "patching": "cord", "findings": "finding"}[name]
    top = Path(__file__).parents[2]
    sites = [site()]
    for key in site_names(top):
        found = site_of(read_folder(key, read_site_files(top, key).texts))
        assert found
        sites.append(found)
    for here in sites:
        table = TABLES[name](here)
        grid = read_csv(csv_bytes(table)) if form == "csv" else read_xlsx(xlsx_bytes([table]))
        intake = intake_of(grid, Columns(kind), here, trust)
        assert intake.wishes == []
        assert (intake.new, intake.filled, intake.differing, intake.absent) == ([], [], [], [])
        assert intake.same == len(table.rows)


labels = st.text(
    st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=12
).filter(lambda text: text.strip())  # fmt: skip


@settings(max_examples=80, deadline=None)
@given(st.lists(labels, min_size=1, max_size=4))
def test_any_label_goes_out_and_in(texts: list[str]) -> None:
    wishes = [
        AddRecord("outlet", f"Z{number}", {"label": text.strip()})
        for number, text in enumerate(texts)
    ]
    files = {"site.yml": b"name: x\n"}
    files |= edit(files, wishes)
    here = site_of(read_folder("x", files))
    assert here
    for grid in (
        read_csv(csv_bytes(outlets_table(here))),
        read_xlsx(xlsx_bytes([outlets_table(here)])),
    ):
        intake = intake_of(grid, Columns("outlet"), here, Trust.LIST)
        assert intake.wishes == [] and not intake.wrong


# In: what is new, what is not yet recorded, what differs


def test_new_rows_and_missing_facts_are_taken_in() -> None:
    intake = listed(
        "outlet,room,port,length\n1A-A05,104,1A/A/5,12 m\n1A-A02,101,,20 m\n1A-A01,,,23.4 m\n"
    )
    assert not intake.wrong
    assert intake.wishes == [
        AddRecord("outlet", "1A-A05", {"room": "104", "port": "1A/A/05", "length": "12 m"}),
        SetFields("outlet", "1A-A02", "length", "20 m"),
    ]
    assert intake.same == 1  # 23.4 m is 23.40 m
    assert intake.absent == ["1A-A04"]


def test_where_they_differ_somebody_has_to_say_whom_to_trust() -> None:
    text = "outlet,room,length\n1A-A01,104,23.4 m\n1A-A02,101,20 m\n"
    assert listed(text).wishes == []
    assert [str(one) for one in listed(text).differing] == [
        "row 2, column B: 1A-A01: room: “101” → “104”"
    ]
    assert listed(text, trust=Trust.RECORDS).wishes == [
        SetFields("outlet", "1A-A02", "length", "20 m")
    ]
    assert SetFields("outlet", "1A-A01", "room", "104") in listed(text, trust=Trust.LIST).wishes


def test_an_empty_cell_says_nothing() -> None:
    assert listed("outlet,room,person\n1A-A02,,\n", trust=Trust.LIST).wishes == []


def test_a_label_finds_its_outlet() -> None:
    assert listed("label,length\n007,20 m\n").wishes == [
        SetFields("outlet", "1A-A02", "length", "20 m")
    ]
    assert listed("label,room\n1A-A09,104\n").wishes == [
        AddRecord("outlet", "1A-A09", {"room": "104"})
    ]
    assert "it isn't said which outlet" in told(listed("label,room\nG/9,104\n"))[0]


def test_rows_without_a_key_are_numbered_when_asked() -> None:
    text = "room,plate\n104,north\n104,south\n101,west\n"
    assert len(told(listed(text))) == 3
    intake = listed(text, number=Numbering())
    assert [wish.key for wish in intake.wishes if isinstance(wish, AddRecord)] == [
        "1A-A05", "1A-A06", "1A-A07",
    ]  # fmt: skip
    first = intake.wishes[0]
    assert isinstance(first, AddRecord)
    assert first.fields == {"room": "104", "plate": "north", "port": "1A/A/05"}


def test_a_cord_is_the_same_from_either_end() -> None:
    assert listed("from,to\n1A/SW1/1,1A/A/1\n", "cord").same == 1
    intake = listed("from,to\nSW1/1,A/5\nA/6,SW1/6\n", "cord", trust=Trust.LIST)
    assert [type(wish).__name__ for wish in intake.wishes] == ["Relocate", "AddRecord"]
    assert [str(one) for one in intake.differing] == [
        "row 2, column B: 1A/A/01: to: “1A/A/01” → “1A/A/05”"
    ]


def test_findings_without_a_key_get_the_next_one() -> None:
    text = "what,found on\n-dusty,2025-03-07\nno bonding,2025-03-08\nloose plate,2025-03-08\n"
    intake = listed(text, "finding")
    assert [wish.key for wish in intake.wishes if isinstance(wish, AddRecord)] == ["F2", "F3"]
    assert intake.same == 1


# In: what is wrong is told by row and column


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("outlet,room\n1A-A09,999\n", "row 2, column B: there is no room “999”"),
        ("outlet,length\n1A-A09,12\n", "row 2, column B: “12” has no unit"),
        ("outlet,length\n1A-A09,\"12,5 m\"\n", "row 2, column B: “12,5 m” has a comma"),
        ("outlet,serves\n1A-A09,Desk\n", "row 2, column B: “Desk” is no use of an outlet; did you"),
        ("outlet,port\n1A-A09,1A/A/25\n", "row 2, column B: there is no port 1A/A/25"),
        ("outlet,port\n1A-A09,1A/A/04\n", "row 2, column B: 1A-A04 ends at port 1A/A/04"),
        ("outlet,port\nX1,1A/A/09\nX2,1A/A/9\n", "row 3, column B: port 1A/A/09 stands in row 2 too"),
        ("outlet,room\nX1,101\n\nx1,101\n", "row 4: x1 stands here a second time, first in row 2"),
        ("outlet,room\nG 1,101\n", "row 2, column A: “G 1” can't be a key"),
        ("outlet,installed\nX1,7.3.2025\n", "row 2, column B: “7.3.2025” is no date"),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_by_row_and_column(text: str, expected: str) -> None:
    intake = listed(text, trust=Trust.LIST)
    assert told(intake) and told(intake)[0].startswith(expected)
    assert intake.wishes == []


def test_everything_wrong_is_told_in_one_run() -> None:
    assert len(told(listed("outlet,room,length\nX1,999,12\nX2,998,13\n"))) == 4


def test_formulas_in_csv() -> None:
    grid = read_csv(b"outlet,room\nX1,=A1\nX2,'=A1\n")
    assert [str(wrong) for wrong in grid.wrong] == [
        "row 2, column B: “=A1” is a formula; replace it by its value"
    ]
    assert grid.rows[2][1].text == "=A1"


@pytest.mark.parametrize(
    ("data", "notes"),
    [
        (b"\xef\xbb\xbfoutlet,room\nX1,101\n", ()),
        (b"outlet;room\r\nX1;101\r\n", ("cells are set apart by semicolons",)),
        (b"outlet\troom\nX1\t101\n", ("cells are set apart by tabs",)),
        ("outlet,room\nX1,101\n".encode("utf-16"), ("read as utf-16",)),
        (b"sep=;\noutlet;room\nX1;101\n", ("cells are set apart by semicolons",)),
        (b"outlet,room\rX1,101\r", ()),
        (b"\n\noutlet,room\n,,,\nX1,101\n", ()),
    ],
)
def test_csv_as_it_comes(data: bytes, notes: tuple[str, ...]) -> None:
    grid = read_csv(data)
    assert not grid.wrong and grid.notes == notes
    assert [[cell.text for cell in row] for row in grid.rows] == [["outlet", "room"], ["X1", "101"]]


def test_rows_are_counted_as_a_spreadsheet_counts_them() -> None:
    grid = read_csv(b'outlet,plate,room\nX1,"two\nlines",101\n\nX2,b,999\n')
    assert [row[0].spot.row for row in grid.rows] == [1, 2, 4]
    assert [letters(column) for column in (1, 26, 27, 702, 703)] == ["A", "Z", "AA", "ZZ", "AAA"]


def test_an_encoding_is_not_guessed() -> None:
    data = "outlet,person\nX1,a\nX2,Zoë\n".encode("cp1252")
    (wrong,) = read_csv(data).wrong
    assert str(wrong).startswith("row 3, column B: byte 0xeb is no UTF-8 text")
    assert "cp1252" in wrong.hint
    assert read_csv(data, "cp1252").rows[2][1].text == "Zoë"
    assert read_csv(data, "klingon").wrong


def test_broken_quotes_and_odd_characters() -> None:
    assert "not CSV" in read_csv(b'outlet,room\nX1,"10"1\n').wrong[0].message
    assert "can't be shown" in read_csv("outlet\nX\u202e1\n".encode()).wrong[0].message
    assert read_csv(b"").rows == ()


def test_workbooks_as_they_come() -> None:
    book = workbook(
        ["Outlet", "Room", "Length", "Installed", "Label"],
        ["X1", 101, "12.5 m", dt.date(2025, 3, 7), 7],
        ["X2", 101.0, None, dt.datetime(2025, 3, 8), "  x "],  # noqa: DTZ001
    )
    sheet = book.active
    assert sheet is not None
    sheet["E2"].number_format = "000"
    grid = read_xlsx(saved(book))
    assert not grid.wrong
    assert [[cell.text for cell in row] for row in grid.rows[1:]] == [
        ["X1", "101", "12.5 m", "2025-03-07", "007"],
        ["X2", "101", "", "2025-03-08", "x"],
    ]


def test_formulas_merged_cells_and_errors_in_workbooks() -> None:
    book = workbook(["outlet", "room", "note", "tell"], ["X1", "=B9", "#REF!", True], ["X2", "101"])
    sheet = book.active
    assert sheet is not None
    sheet.merge_cells("C3:D4")
    sheet["C2"].data_type = "e"
    sheet["A5"] = dt.datetime(2025, 3, 7, 18, 30)  # noqa: DTZ001
    assert [str(wrong) for wrong in read_xlsx(saved(book)).wrong] == [
        "row 2, column B: “=B9” is a formula; replace it by its value",
        "row 2, column C: #REF! is an error of the spreadsheet; correct it there",
        "row 2, column D: TRUE stands here; write yes or no, as a text",
        "row 3, column C: C3:D4 are merged cells; take the merge apart and fill every cell",
        "row 5, column A: 2025-03-07 18:30:00 is a date with a time; write the date alone, or a text",
    ]


def test_what_is_hidden_in_a_workbook_is_not_taken_in_unseen() -> None:
    """A client's list may hold what nobody meant to send."""
    book = workbook(["outlet", "room", "note", "person"], ["X1", "101", "s3cret", "a"], ["X2"])
    sheet = book.active
    assert sheet is not None
    sheet.column_dimensions["C"].hidden = True
    sheet.column_dimensions["D"].hidden = True
    sheet.column_dimensions["F"].hidden = True
    sheet.row_dimensions[3].hidden = True
    sheet.row_dimensions[9].hidden = True
    show = "show it and look at it, or delete it"
    assert [str(wrong) for wrong in read_xlsx(saved(book)).wrong] == [
        f"the list: column C is hidden; {show}",
        f"the list: column D is hidden; {show}",
        f"row 3: it is hidden; {show}",
    ]
    book = workbook(["outlet"], ["X1"])
    hidden = book.create_sheet("Notes")
    hidden.append(["s3cret"])
    hidden.append(["s3cret"])
    for state in ("hidden", "veryHidden"):
        hidden.sheet_state = state
        assert [c.text for row in read_xlsx(saved(book)).rows for c in row] == ["outlet", "X1"]
        (wrong,) = read_xlsx(saved(book), "Notes").wrong
        assert str(wrong) == f"the list: the sheet “Notes” is hidden; {show}"
        assert "Notes" not in str(read_xlsx(saved(book), "Mor").wrong[0])


def test_nothing_hidden_in_a_workbook_comes_into_the_records(top: Path) -> None:
    """Nor what stands beside the cells: comments, names, the properties of the file."""
    book = workbook(["outlet", "room", "port"], ["1A-A09", "104", "1A/A/09"])
    sheet = book.active
    assert sheet is not None
    sheet["A2"].comment = Comment("s3cret", "s3cret")
    sheet["B2"].hyperlink = "https://records.example/s3cret"
    book.properties.creator = book.properties.description = "s3cret"
    book.create_sheet("s3cret").sheet_state = "hidden"
    book["s3cret"].append(["s3cret"])
    (top / "jacks.xlsx").write_bytes(saved(book))
    code, out = command("import", "harbour", "outlets", "jacks.xlsx")
    assert code == 0, out
    written = "".join(f.read_text("utf-8") for f in sorted((top / "sites").rglob("*.yml")))
    assert "1A-A09" in written
    assert "s3cret" not in written + out
    before = written
    sheet.column_dimensions["C"].hidden = True
    (top / "jacks.xlsx").write_bytes(saved(book))
    code, out = command("import", "harbour", "outlets", "jacks.xlsx", "--trust", "list")
    assert code == 1 and "column C is hidden" in out
    assert before == "".join(f.read_text("utf-8") for f in sorted((top / "sites").rglob("*.yml")))


def test_a_workbook_with_several_sheets() -> None:
    book = workbook(["outlet"], ["X1"])
    book.create_sheet("Empty")
    assert len(read_xlsx(saved(book)).rows) == 2
    book.create_sheet("More").append(["outlet"])
    assert "name one with --sheet: Jacks, More" in str(read_xlsx(saved(book)).wrong[0])
    assert len(read_xlsx(saved(book), "More").rows) == 1
    assert "there is no sheet “Mor”" in str(read_xlsx(saved(book), "Mor").wrong[0])
    for data in (b"PK\x03\x04nonsense", csv_bytes(Table("t", ("a",), ())), b""):
        assert "no XLSX workbook" in str(read_xlsx(data).wrong[0])


# Which column is which


COLUMNS = """\
list: outlets
header row: 3
decimal comma: yes
columns:
  Jack: outlet
  "Rm. ": room
  Run (m): {field: length, unit: m}
  For: {field: serves, words: {PC: desk, WAP: access point}}
  Remarks: not used
"""


def test_a_columns_file_says_what_somebodys_titles_mean() -> None:
    columns = read_columns("jacks.columns.yml", COLUMNS, "outlets")
    text = "Northmere jacks;;;;\n;;;;\njack;RM.;Run  (m);For;Remarks\nX1;104;41,2;WAP;old\nX2;104;12;PC;\n"
    intake = intake_of(read_csv(text.encode()), columns, site())
    assert not intake.wrong
    assert intake.wishes == [
        AddRecord("outlet", "X1", {"room": "104", "length": "41.2 m", "serves": "access point"}),
        AddRecord("outlet", "X2", {"room": "104", "length": "12 m", "serves": "desk"}),
    ]


def test_unknown_titles_are_asked_for() -> None:
    grid = read_csv(b"outlet,Rm.,Lengths\nX1,101,3\n")
    _, _, unknown = under_titles(grid, Columns("outlet"))
    assert unknown == ["Rm.", "Lengths"]
    text = proposal("outlets", Columns("outlet"), ["outlet", "Rm.", "Lengths"], unknown)
    assert '  outlet: outlet\n  Rm.: "?"\n  Lengths: "?"   # length?\n' in text
    with pytest.raises(Refusal, match="doesn't say yet what the column “Rm"):
        read_columns("x", text, "outlets")
    told_now = text.replace('Rm.: "?"', "Rm.: room").replace('"?"   # length?', "length")
    assert read_columns("x", told_now, "outlets").by_title["rm."].field == "room"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("lists: outlets\n", "did you mean “list”"),
        ("list: findings\n", "not of outlets"),
        ("columns: {a: rooms}\n", "did you mean “room”"),
        ("columns: {a: {field: length, unit: kg}}\n", "“kg” is no unit"),
        ("columns: {a: {unit: m}}\n", "isn't understood"),
        ("columns: {a: [room]}\n", "isn't understood"),
        ("header row: three\n", "is no row"),
        ("a: [\n", "yaml-syntax"),
    ],
)
def test_a_columns_file_that_is_not_understood(text: str, said: str) -> None:
    with pytest.raises(Refusal) as refused:
        read_columns("x.yml", text, "outlets")
    assert said in str(refused.value)


def test_two_columns_for_one_field() -> None:
    columns = read_columns("x", "columns: {a: room, b: room}\n", "outlets")
    _, wrong, _ = under_titles(read_csv(b"outlet,a,b\nX1,1,2\n"), columns)
    assert str(wrong[0]).startswith("row 1, column C: “b” holds “room”, as “a” does already")


# In: what is said beside the list


def test_an_empty_cell_clears_what_the_columns_file_names() -> None:
    columns = read_columns("c.yml", "list: outlets\nempty clears: [person, serves]\n", "outlets")
    grid = read_csv(b"outlet,person,serves,room\n1A-A01,,,101\n1A-A02,,phone,\n1A-A09,,,101\n")
    asked = intake_of(grid, columns, site())
    assert [str(one) for one in asked.differing] == [
        'row 3, column B: 1A-A02: person: “Zoë "Z" Ö” → nothing (an empty cell clears it)'
    ]
    assert asked.wishes == []  # which one is right is to be said, as wherever they differ
    wishes = intake_of(grid, columns, site(), Trust.LIST).wishes
    assert wishes[0] == SetFields("outlet", "1A-A02", "person", None)
    assert [type(wish).__name__ for wish in wishes[1:]] == ["AddRecord"]
    assert (
        SetFields("outlet", "1A-A02", "person", None)
        not in intake_of(grid, columns, site(), Trust.RECORDS).wishes
    )


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("outlets", "empty clears: [persn]", "no “persn” that could be cleared"),
        ("patching", "empty clears: [to]", "no “to” that could be cleared"),
        ("findings", "empty clears: what", "no “what” that could be cleared"),
        ("tests", "empty clears: [limit]", "nothing is cleared by such a list"),
    ],
)
def test_what_no_empty_cell_can_clear(name: str, text: str, said: str) -> None:
    with pytest.raises(Refusal, match=said):
        read_columns("c.yml", f"list: {name}\n{text}\n", name)


def test_what_is_to_be_cleared_has_a_column() -> None:
    columns = read_columns("c.yml", "list: outlets\nempty clears: [person]\n", "outlets")
    _, wrong, _ = under_titles(read_csv(b"outlet,room\n1A-A01,101\n"), columns)
    assert "no column holds “person”" in str(wrong[0])


def test_a_fact_of_all_new_ones_is_said_once() -> None:
    text = "outlet,room,cable\n1A-A09,104,\n1A-A10,104,cat6\n1A-A01,101,\n"
    intake = listed(text, for_new={"cable": "cat5e"})
    assert intake.wishes == [
        AddRecord("outlet", "1A-A09", {"room": "104", "cable": "cat5e"}),
        AddRecord("outlet", "1A-A10", {"room": "104", "cable": "cat6"}),
    ]


def test_what_is_wrong_in_many_rows_is_told_once() -> None:
    wrong = listed("outlet,room\n" + "".join(f"X{n},999\n" for n in range(30)) + "X99,998\n").wrong
    lines = told_once(wrong)
    assert len(wrong) == 31
    assert lines[0].startswith("rows 2 to 31, column B: there is no room “999”; ")
    assert lines[1].startswith("row 32, column B: there is no room “998”")
    scattered = [ListProblem(CellPosition(row, 2), "x") for row in (2, 5, 9)]
    assert told_once([*scattered, ListProblem(CellPosition(), "y"), ListProblem(CellPosition(), "y")]) == [
        "rows 2, 5, 9, column B: x", "the list: y",
    ]  # fmt: skip


# Whole


def command(*words: str) -> tuple[int, str]:
    @click.group(cls=FrontDoor)
    def commands() -> None:
        """All commands."""

    edits.register(commands)
    lists.register(commands)
    ran = CliRunner().invoke(commands, words)
    assert ran.exception is None or isinstance(ran.exception, SystemExit), ran.exception
    return ran.exit_code, ran.output


@pytest.fixture
def top(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    for path, text in FILES.items():
        file = tmp_path / "sites/harbour" / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, "utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_clients_list_becomes_records(top: Path) -> None:
    (top / "jacks.csv").write_bytes(b"Rm.;Where\r\n104;north wall\r\n104;south wall\r\n")
    code, out = command("import", "harbour", "outlets", "jacks.csv", "--number")
    assert code == 1 and "it isn’t known what these columns hold" in out
    columns = top / "jacks.csv.columns.yml"
    filled = columns.read_text("utf-8").replace('Rm.: "?"', "Rm.: room")
    columns.write_text(filled.replace('Where: "?"', "Where: plate"), "utf-8")
    code, out = command("import", "harbour", "outlets", "jacks.csv", "--number", "--dry-run")
    assert code == 0 and "new: 2" in out and "nothing was written" in out
    assert (top / "sites/harbour/outlets.yml").read_text("utf-8") == FILES["outlets.yml"]
    code, out = command("import", "harbour", "outlets", "jacks.csv", "--number")
    assert code == 0, out
    new = (top / "sites/harbour/outlets.yml").read_text("utf-8")
    assert new == FILES["outlets.yml"] + (
        '1A-A05: {room: "104", plate: north wall, port: 1A/A/05}\n'
        '1A-A06: {room: "104", plate: south wall, port: 1A/A/06}\n'
    )


def test_export_and_import_by_command(top: Path) -> None:
    assert command("export", "harbour", "all", "all.xlsx")[0] == 0
    for name, sheet in (("outlets", "outlets"), ("patching", "patching")):
        code, out = command("import", "harbour", name, "all.xlsx", "--sheet", sheet)
        assert code == 0 and "Nothing changes" in out, out
    assert command("export", "harbour", "outlets", "o.csv")[0] == 0
    text = (top / "o.csv").read_text("utf-8").replace("west, left", "east")
    (top / "o.csv").write_text(text, "utf-8")
    code, out = command("import", "harbour", "outlets", "o.csv")
    assert code == 1 and "which one is right" in out
    code, out = command("import", "harbour", "outlets", "o.csv", "--trust", "list")
    assert code == 0, out
    new = (top / "sites/harbour/outlets.yml").read_text("utf-8")
    assert new == FILES["outlets.yml"].replace('"west, left"', '"east"')
    assert command("export", "harbour", "all", "x.csv")[0] == 1


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_five_thousand_rows_in_seconds(form: str) -> None:
    panels = "".join(f"  {u}: {{panel: P{u}, ports: 48}}\n" for u in range(1, 106))
    files = {
        "site.yml": b"name: x\nrooms:\n" + b"".join(b"  R%d: {}\n" % n for n in range(100)),
        "enclosures/Z.yml": f"height: 110 U\nfront:\n{panels}".encode(),
    }
    here = site_of(read_folder("x", files))
    assert here
    rows = tuple(
        (f"Z-{n:04}", f"R{n % 100}", f"wall {n}", f"Z/P{n // 48 + 1}/{n % 48 + 1:02}", "12.5 m")
        for n in range(5000)
    )
    table = Table("outlets", ("outlet", "room", "plate", "port", "length"), rows)
    data = csv_bytes(table) if form == "csv" else xlsx_bytes([table])
    start = os.times().user
    grid = read_csv(data) if form == "csv" else read_xlsx(data)
    intake = intake_of(grid, Columns("outlet"), here)
    new = edit(files, intake.wishes)
    spent = os.times().user - start
    assert new["outlets.yml"].count(b"\n") == 5000
    assert spent < 10  # seconds of processor time; a few on a small machine


def test_a_list_with_a_line_above_its_titles(top: Path) -> None:
    book = workbook(["Patching as of May"], [], ["Panel", "Switch"], ["1A/A/07", "1A/SW1/07"])
    (top / "p.xlsx").write_bytes(saved(book))
    code, out = command("import", "harbour", "patching", "p.xlsx")
    assert code == 1 and "“Panel”, “Switch”" in out and "May" not in out
    proposed = (top / "p.xlsx.columns.yml").read_text("utf-8")
    assert 'header row: 3\ncolumns:\n  Panel: "?"   # label?\n  Switch: "?"\n' in proposed
    proposed = proposed.replace('Panel: "?"', "Panel: from").replace('Switch: "?"', "Switch: to")
    (top / "p.xlsx.columns.yml").write_text(proposed, "utf-8")
    code, out = command("import", "harbour", "patching", "p.xlsx")
    assert code == 0, out


def test_an_encoding_that_was_said_is_kept_with_the_columns(top: Path) -> None:
    (top / "o.csv").write_bytes("outlet,Wo,room\n1A-A17,Café,101\n".encode("cp1252"))
    assert command("import", "harbour", "outlets", "o.csv", "--encoding", "cp1252")[0] == 1
    file = top / "o.csv.columns.yml"
    assert "encoding: cp1252\n" in file.read_text("utf-8")
    file.write_text(file.read_text("utf-8").replace('Wo: "?"', "Wo: plate"), "utf-8")
    code, out = command("import", "harbour", "outlets", "o.csv")
    assert code == 0, out
    assert "plate: Café" in (top / "sites/harbour/outlets.yml").read_text("utf-8")


def test_rooms_a_list_names_are_recorded_when_asked(top: Path) -> None:
    job = top / "sites/harbour/jobs/J1.yml"
    job.parent.mkdir()
    job.write_text("title: Three drops\n", "utf-8")
    (top / "o.csv").write_text("outlet,room\n1A-A17,901\n1A-A18,902\n1A-A19,901\n", "utf-8")
    assert command("import", "harbour", "outlets", "o.csv")[0] == 1
    code, out = command("import", "harbour", "outlets", "o.csv", "--new-rooms", "cable=cat6",
                    "--job", "J1")  # fmt: skip
    assert code == 0, out
    again = read_folder("harbour", read_site_files(top, "harbour").texts)
    found = site_of(again)
    assert found is not None and {"901", "902"} <= set(found.rooms)
    assert found.outlets["1A-A18"].room == "902"
    assert found.outlets["1A-A18"].cable == "cat6"
    assert set(found.jobs["J1"].outlets) >= {"1A-A17", "1A-A18", "1A-A19"}
    assert "outlets.yml" in out and "jobs/J1.yml" in out
