"""Payloads where somebody else's words come in: as keys, as titles and cells of lists, as columns of
test results. Each is refused with one message or taken as text; no terminal is steered."""

from __future__ import annotations

import csv
import io
import json
import re
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from openpyxl import Workbook

from asbuilt.checks.report import problem_line
from asbuilt.cli import main
from asbuilt.commands.lists import TAKEN_IN
from asbuilt.lists.columns import folded, read_columns
from asbuilt.publish.load import LoadedSite, load_texts
from asbuilt.records.fields import KEY, KEY_RULE
from asbuilt.records.layout import SITE_SECTIONS, TABLES
from tests.books import PRACTICE
from tests.fuzz import CONTROL
from tests.hostile import CONTROLS, PAYLOADS, file_name
from tests.small_site import write_site
from tests.typed_records import typed

#: Where a key is typed: the file, and what stands there with the key.
KEYED = {
    **{table: (f"{table}.yml", "{key}: {{}}\n") for table in TABLES},
    **{part: ("site.yml", f"name: x\n{part}:\n  {{key}}: {{{{}}}}\n") for part in SITE_SECTIONS},
    "item": ("enclosures/9Z.yml", "height: 9 U\nfront:\n  1: {{panel: {key}, ports: 24}}\n"),
}


@pytest.mark.parametrize("where", KEYED)
def test_a_payload_is_no_key_and_one_message_says_so(where: str) -> None:
    path, text = KEYED[where]
    base = {} if where in SITE_SECTIONS else {"site.yml": "name: x\n"}
    for payload in PAYLOADS:
        assert not KEY.fullmatch(payload)
        _refused(base | {path: text.format(key=typed(payload))}, f"sites/harbour/{path}")


@pytest.mark.parametrize(("folder", "text"), [("enclosures", "height: 9 U\n"), ("jobs", "title: x\n")])  # fmt: skip
def test_nor_is_the_name_of_a_file_that_is_a_key(folder: str, text: str) -> None:
    for payload in (*PAYLOADS, *CONTROLS):
        path = f"{folder}/{file_name(payload)}.yml"
        _refused({"site.yml": "name: x\n", path: text}, f"sites/harbour/{path}")


def _refused(texts: dict[str, str], path: str) -> None:
    wrong = [p for p in _read(texts).problems if p.code == "bad-key"]
    assert [(p.place.path, p.hint) for p in wrong] == [(path, KEY_RULE)], (texts, wrong)
    assert not CONTROL.search(problem_line(wrong[0]))


def test_a_column_of_test_results_that_is_a_payload_is_told() -> None:
    for payload in PAYLOADS:
        sheet = io.StringIO(newline="")
        rows = (("link", "date", "result", payload), ("1A-A01", "2025-03-07", "pass", "x"))
        csv.writer(sheet).writerows(rows)
        reading = _read({**PRACTICE, "tests/new.csv": sheet.getvalue()})
        wrong = [p for p in reading.problems if p.place.path.endswith("tests/new.csv")]
        assert [p.code for p in wrong] == ["unknown-key"], (payload, wrong)
        assert not CONTROL.search(problem_line(wrong[0]))


def _read(texts: dict[str, str]) -> LoadedSite:
    return load_texts("harbour", {path: text.encode() for path, text in texts.items()})


# Lists


@pytest.fixture
def top(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(write_site(tmp_path))
    return tmp_path


def _run(*words: str) -> tuple[int, str]:
    done = CliRunner().invoke(main, words)
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    assert not [line for line in done.output.split("\n") if CONTROL.search(line)]
    return done.exit_code, done.output


def _list(file: Path, *rows: tuple[str, ...]) -> None:
    if file.suffix == ".csv":
        with file.open("w", newline="", encoding="utf-8") as out:
            csv.writer(out).writerows(rows)
        return
    book = Workbook()
    for row, cells in enumerate(rows, start=1):
        for column, text in enumerate(cells, start=1):
            cell = book.worksheets[0].cell(row, column, text)
            cell.data_type = "s"  # somebody's text that only looks like a formula
    book.save(file)


def _is_formula(file: Path, text: str) -> bool:
    return file.suffix == ".csv" and text.strip().startswith("=")


@pytest.mark.parametrize("name", ["new.csv", "new.xlsx"])
def test_titles_that_are_payloads_are_asked_for(top: Path, name: str) -> None:
    titles = [p for p in PAYLOADS if not _is_formula(top / name, p)]
    titles = list({folded(title): title for title in titles if _shown(title)}.values())
    _list(top / name, ("outlet", *titles), ("1A-A01", *("x" for _ in titles)))
    before = _records(top)
    code, said = _run("import", "harbour", "outlets", name)
    assert code == 1 and "it isn’t known what these columns hold" in said
    proposed = (top / f"{name}.columns.yml").read_text("utf-8")
    filled = proposed.replace('"?"', "not used")
    known = read_columns("columns.yml", filled, "outlets").by_title
    assert set(known) == {folded("outlet"), *map(folded, titles)}
    assert {column.field for column in known.values()} == {"outlet", "not used"}
    (top / f"{name}.columns.yml").write_text(filled, "utf-8")
    code, said = _run("import", "harbour", "outlets", name)
    assert code == 0 and "Nothing changes" in said, said
    assert _records(top) == before


@pytest.mark.parametrize("name", ["new.csv", "new.xlsx"])
@pytest.mark.parametrize("form", ["text", "json"])
def test_cells_that_are_payloads_are_previewed_and_taken_as_text(
    top: Path, name: str, form: str
) -> None:
    cells = [p for p in PAYLOADS if not _is_formula(top / name, p) and _shown(p)]
    keys = [f"1A-N{number}" for number in range(len(cells))]
    _list(top / name, ("outlet", "label", "note"), *zip(keys, cells, reversed(cells), strict=True))
    before = _records(top)
    words = ("import", "harbour", "outlets", name, "--format", form)
    code, said = _run(*words, "--dry-run")
    assert code == 0 and _records(top) == before, said
    if form == "json":
        assert len(_document(said)["preview"]["new"]) == len(cells)
    code, said = _run(*words)
    assert code == 0, said
    read = _read(_records(top)).site
    assert read
    taken = [(read.outlets[key].label, read.outlets[key].note) for key in keys]
    assert taken == list(zip(cells, reversed(cells), strict=True))
    # The same list with the labels one row down differs everywhere, and shows both.
    moved = [*cells[1:], cells[0]]
    _list(top / name, ("outlet", "label"), *zip(keys, moved, strict=True))
    code, said = _run(*words)
    assert code == 1 and "say which one is right" in said
    if form == "json":
        told = _document(said)["preview"]["differs"]
        assert [(one["recorded"], one["listed"]) for one in told] == list(zip(cells, moved, strict=True))  # fmt: skip


@pytest.mark.parametrize("name", ["new.csv", "new.xlsx"])
def test_cells_and_titles_nobody_can_see_or_that_compute_are_refused(top: Path, name: str) -> None:
    odd = [p for p in (*PAYLOADS, *CONTROLS) if not _shown(p) or _is_formula(top / name, p)]
    if name.endswith(".xlsx"):  # which can't hold some at all (XML 1.0, 2.2)
        odd = [p for p in odd if not re.search("[\x00-\x08\x0b\x0c\x0e-\x1f]", p)]
    before = _records(top)
    assert odd
    for payload in odd:
        for rows in (
            [("outlet", "label"), ("1A-N1", payload)],
            [("outlet", payload), ("1A-N1", "x")],
            [("outlet", "label"), (payload, "x")],
        ):
            _list(top / name, *rows)
            code, said = _run("import", "harbour", "outlets", name, "--separator", "comma")
            assert code == 1 and "can’t be taken in as it is; nothing was written" in said, rows
            assert len(said.splitlines()) == 2, said
    assert _records(top) == before


@pytest.mark.parametrize("listed", TAKEN_IN)
def test_a_payload_that_leads_nowhere_is_told_by_its_row(top: Path, listed: str) -> None:
    cells = [p for p in PAYLOADS if not _is_formula(top / "new.csv", p) and _shown(p)]
    lists: dict[str, list[tuple[str, ...]]] = {
        "outlets": [("outlet", "room"), *((f"1A-N{n}", c) for n, c in enumerate(cells))],
        "patching": [("from", "to"), *((c, "1A/SW1/01") for c in cells)],
        "findings": [("what", "outlet"), *((c, c) for c in cells)],
        "tests": [("link", "date", "result"), *((c, "2025-03-07", "pass") for c in cells)],
    }
    _list(top / "new.csv", *lists[listed])
    before = _records(top)
    code, said = _run("import", "harbour", listed, "new.csv", "--format", "json")
    assert code == 1 and _records(top) == before, said
    told = _document(said)["wrong"]
    assert {one["row"] for one in told} == set(range(2, len(cells) + 2))
    assert all(one["message"] and one["hint"] for one in told)


def _document(said: str) -> Any:
    """The document; after it stands the error, as it went to standard error."""
    return json.JSONDecoder().raw_decode(said)[0]


def _records(top: Path) -> dict[str, str]:
    folder = top / "sites/harbour"
    return {
        path.relative_to(folder).as_posix(): path.read_text("utf-8")
        for path in folder.rglob("*")
        if path.is_file()
    }


def _shown(text: str) -> bool:
    return not CONTROL.search(text)
