"""Certification results from a tester's list: each row a result of one link, in our own columns.

A link is known by its key, or by its label where only one has it; what matches no link is told,
with the nearest there is. What is recorded already isn't taken in twice. Nothing is guessed: which
of a date's numbers is the day, and the unit of a bare number, have to be said.
"""

from __future__ import annotations

import csv
import datetime as dt
import io
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from asbuilt.lists.cells import Cell, CellPosition, ListProblem
from asbuilt.lists.columns import NOT_USED, Column, Columns, TitledList
from asbuilt.lists.importing import ImportPlan, value_of
from asbuilt.model.site import Site
from asbuilt.problem import suggestion
from asbuilt.records.kinds import KINDS
from asbuilt.records.layout import TEST_COLUMNS
from asbuilt.records.quantity import read_quantity
from asbuilt.records.schema import own_first
from asbuilt.records.work import LinkTest

#: How a list writes its dates, by what stands first.
DATE_ORDERS: Final = {
    "year-month-day": (0, 1, 2),
    "day-month-year": (2, 1, 0),
    "month-day-year": (2, 0, 1),
}
_DATE = re.compile(r"(\d{1,4})[-./ ](\d{1,2})[-./ ](\d{1,4})(?:[T ,].*)?")
#: ANSI/TIA-1152 (recalled from memory): an asterisk marks what lies within the accuracy of the
#: instrument. A fail stays a fail.
_STARRED: Final = {"pass*": "marginal", "fail*": "fail"}
_DATES: Final = ("date", "calibrated")


@dataclass(slots=True)
class Results:
    """What a list of results means. `rows` are to be written, each field as it is recorded."""

    rows: list[Mapping[str, str]] = field(default_factory=list)
    spots: list[CellPosition] = field(default_factory=list)
    known: int = 0
    left_out: int = 0
    notes: list[str] = field(default_factory=list)
    wrong: list[ListProblem] = field(default_factory=list)


def take_results(site: Site, titled: TitledList, columns: Columns, dates: str | None) -> Results:
    """Every row read and matched with its link; `dates` is one of DATE_ORDERS."""
    found = Results()
    names = _names(site)
    by_column = dict(titled.columns)
    have = {column.field for column in by_column.values()}
    for name in TEST_COLUMNS:
        if name not in have:
            hint = "say in the columns file which column holds it"
            found.wrong.append(ListProblem(CellPosition(), f"no column holds “{name}”", hint))
    if found.wrong:
        return found
    seen: set[tuple[tuple[str, str], ...]] = set()
    starred: set[str] = set()
    for cells in titled.rows:
        wrong_before = len(found.wrong)
        row: dict[str, str] = {}
        unwanted = False
        for one in cells:
            column = by_column.get(one.spot.column)
            if column is None or not one.text:
                continue
            text = column.words.get(one.text, one.text)
            unwanted |= text == NOT_USED
            said = None
            if text != NOT_USED:
                said = _said(site, names, column, Cell(one.spot, text), columns, dates, found)
                if text.casefold() in _STARRED and column.field == "result":
                    starred.add(text)
            if said is not None:
                row[column.field] = said
        if unwanted:
            found.left_out += 1
            del found.wrong[wrong_before:]
            continue
        for name in TEST_COLUMNS:
            if name not in row and len(found.wrong) == wrong_before:
                spot = CellPosition(cells[0].spot.row)
                found.wrong.append(
                    ListProblem(spot, f"the row says nothing about “{name}”", "fill it in")
                )
        if len(found.wrong) > wrong_before:
            continue
        same = tuple(sorted(row.items()))
        if same in seen or _is_known(site, row):
            found.known += 1
            continue
        seen.add(same)
        found.rows.append(row)
        found.spots.append(CellPosition(cells[0].spot.row))
    found.notes += [
        f"{text} is recorded as {_STARRED[text.casefold()]}" for text in sorted(starred)
    ]
    return found


def results_bytes(rows: Iterable[Mapping[str, str]]) -> bytes:
    """The rows as a file of `tests/`, with the columns anything stands in."""
    rows = list(rows)
    used = {name for row in rows for name in row}
    header = [spec.name for spec in own_first(KINDS["test"]) if spec.name in used]
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(header)
    for row in rows:
        writer.writerow([row.get(name, "") for name in header])
    return text.getvalue().encode()


def _said(
    site: Site,
    names: _Names,
    column: Column,
    one: Cell,
    columns: Columns,
    dates: str | None,
    found: Results,
) -> str | None:
    """A cell as our column has it, or None after telling what is wrong."""
    if column.field == "link":
        return _link(names, one, found)
    if column.field in _DATES:
        return _day(one, dates, found)
    if column.field == "result":
        folded = one.text.casefold()
        one = Cell(one.spot, _STARRED.get(folded, folded))
    intake = ImportPlan()
    said = value_of(site, "test", column, one, columns, intake)
    found.wrong += intake.wrong
    assert said is None or isinstance(said, str)
    return said


@dataclass(frozen=True, slots=True)
class _Names:
    """What a tester may know a link by, folded: the keys, and the labels with whose they are."""

    keys: Mapping[str, str]
    labelled: Mapping[str, Sequence[str]]
    known: Sequence[str]


def _names(site: Site) -> _Names:
    links = (*site.outlets, *site.backbones)
    labels: dict[str, list[str]] = {}
    shown = dict.fromkeys(links)
    for outlet in site.outlets.values():
        for label in dict.fromkeys((site.label_of(outlet), site.panel_label_of(outlet))):
            labels.setdefault(label.casefold(), []).append(outlet.key)
            shown[label] = None
    for backbone in site.backbones.values():
        labels.setdefault((backbone.label or backbone.key).casefold(), []).append(backbone.key)
    return _Names({key.casefold(): key for key in links}, labels, tuple(shown))


def _link(names: _Names, one: Cell, found: Results) -> str | None:
    text = one.text
    key = names.keys.get(text.casefold())
    if key is not None:
        return key
    known = names.labelled.get(text.casefold(), ())
    if len(known) == 1:
        return known[0]
    if known:
        message = f"{len(known)} links are labelled “{text}”"
        hint = f"say in the columns file which is meant: {', '.join(known)}"
    else:
        message = f"“{text}” is no link of these records"
        near = suggestion(text, names.known)
        mend = "correct it, or say in the columns file what it means: "
        mend += f"{{field: link, words: {{{text}: …}}}}, “{NOT_USED}” to leave it out"
        hint = f"{near} {mend}" if near else mend
    found.wrong.append(ListProblem(one.spot, message, hint))
    return None


def _day(one: Cell, dates: str | None, found: Results) -> str | None:
    match = _DATE.fullmatch(one.text)
    if match is None:
        found.wrong.append(
            ListProblem(one.spot, f"“{one.text}” is no date", "write it like 2025-03-07")
        )
        return None
    numbers = match.groups()
    if dates is None and len(numbers[0]) != 4:
        message = f"of “{one.text}” it isn't said which is the day and which the month"
        orders = ", ".join(list(DATE_ORDERS)[1:])
        found.wrong.append(ListProblem(one.spot, message, f"say it with --dates: {orders}"))
        return None
    order = DATE_ORDERS["year-month-day" if len(numbers[0]) == 4 else dates or ""]
    year, month, day = (int(numbers[at]) for at in order)
    try:
        if len(numbers[order[0]]) != 4:
            raise ValueError
        return dt.date(year, month, day).isoformat()
    except ValueError:
        hint = f"by {dates or 'year-month-day'}, with four digits for the year"
        found.wrong.append(ListProblem(one.spot, f"“{one.text}” is no date", hint))
        return None


def _is_known(site: Site, row: Mapping[str, str]) -> bool:
    return any(_same(test, row) for test in site.tests_of.get(row["link"], ()))


def _same(test: LinkTest, row: Mapping[str, str]) -> bool:
    """Whether a recorded result is this one: its day, its outcome and what was measured."""
    length = read_quantity(row["length"], "length") if "length" in row else None
    margin = read_quantity(row["margin"], "loss", signed=True) if "margin" in row else None
    return (
        test.date.isoformat() == row["date"]
        and test.result == row["result"]
        and test.length == length
        and test.margin == margin
    )
