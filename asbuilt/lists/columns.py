"""Which column of somebody's list is which field: a small file beside the list.

list: outlets
decimal comma: yes          # 41,2 is 41.2
header row: 3               # where the titles of the columns stand; else the first row
encoding: cp1252            # of a CSV that isn't UTF-8
empty clears: [person]      # an empty cell there takes the field out; else it says nothing
columns:
  Jack: outlet
  Rm.: room
  Run (m): {field: length, unit: m}
  For: {field: serves, words: {PC: desk, WAP: access point}}
  Remarks: not used
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from asbuilt.edits.requests import Refusal
from asbuilt.edits.yaml_values import scalar
from asbuilt.lists.cells import Cell, CellPosition, Grid, ListProblem
from asbuilt.lists.exporting import KEYS
from asbuilt.problem import nearest, suggestion
from asbuilt.records.fields import Measure
from asbuilt.records.kinds import KINDS
from asbuilt.records.quantity import UNITS
from asbuilt.records.schema import own_first
from asbuilt.yamltext import MappingNode, Node, ScalarNode, SequenceNode, compose, entries

NOT_USED: Final = "not used"
UNDECIDED: Final = "?"
LISTS: Final = {
    "outlets": "outlet", "patching": "cord", "findings": "finding", "tests": "test",
    "switch-status": "switch-status",
}  # fmt: skip

#: Kinds of records a list of which is held against the site, field by field.
TAKEN_IN: Final = ("outlet", "cord", "finding")

#: Lists that aren't of records: what their columns can be.
OTHER: Final = {"switch-status": ("switch", "port", "link", "neighbour", "neighbour port")}


@dataclass(frozen=True, slots=True)
class Column:
    """One column: the field it holds (or NOT_USED), the unit its bare numbers are in, and what
    its words mean."""

    field: str
    unit: str | None = None
    words: Mapping[str, str] = dataclasses.field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Columns:
    """How a list is to be read. Titles are compared without regard to case and outer spaces."""

    kind: str
    by_title: Mapping[str, Column] = dataclasses.field(default_factory=dict)
    header_row: int | None = None
    decimal_comma: bool = False
    sheet: str | None = None
    encoding: str | None = None
    empty_clears: tuple[str, ...] = ()


def fields_of(kind: str) -> tuple[str, ...]:
    """What a column of such a list can be."""
    if kind in OTHER:
        return OTHER[kind]
    names = (spec.name for spec in own_first(KINDS[kind]))
    return tuple(dict.fromkeys((KEYS[kind], *names)))


def folded(title: str) -> str:
    return " ".join(title.split()).casefold()


def read_columns(path: str, text: str, name: str) -> Columns:
    """The file beside a list. Refuses what it doesn't understand, with the line."""
    root, problems = compose(path, text)
    if problems:
        raise Refusal(str(problems[0]))
    said = {key.value: value for key, value in entries(root)} if root else {}
    for key in said:
        if key not in _KNOWN:
            hint = suggestion(key, _KNOWN, f"known are: {', '.join(_KNOWN)}")
            raise Refusal(f"{path} has an unknown “{key}”", hint)
    if "list" in said and _text(path, said["list"]) != name:
        raise Refusal(f"{path} is for a list of {_text(path, said['list'])}", f"not of {name}")
    kind = LISTS[name]
    by_title: dict[str, Column] = {}
    columns = said.get("columns")
    if isinstance(columns, MappingNode):
        for key, value in entries(columns):
            by_title[folded(key.value)] = _column(path, kind, key.value, value)
    row = said.get("header row")
    return Columns(
        kind,
        by_title,
        _row(path, row) if row else None,
        _text(path, said["decimal comma"]) == "yes" if "decimal comma" in said else False,
        _text(path, said["sheet"]) if "sheet" in said else None,
        _text(path, said["encoding"]) if "encoding" in said else None,
        _cleared(path, kind, said["empty clears"]) if "empty clears" in said else (),
    )


_KNOWN: Final = (
    "list", "sheet", "header row", "encoding", "decimal comma", "empty clears", "columns",
)  # fmt: skip


def _cleared(path: str, kind: str, node: Node) -> tuple[str, ...]:
    """Fields an empty cell takes out: none a record can't be without."""
    if kind not in TAKEN_IN:
        raise Refusal(f"{path}: nothing is cleared by such a list", "take “empty clears” out")
    items = node.value if isinstance(node, SequenceNode) else [node]
    names = tuple(_text(path, item) for item in items)
    for name in names:
        spec = KINDS[kind].specs.get(name)
        if spec is None or spec.required or name == KEYS[kind]:
            free = [known for known, spec in KINDS[kind].specs.items() if not spec.required]
            hint = suggestion(name, free, f"fields: {', '.join(free)}")
            raise Refusal(f"{path}: a {kind} has no “{name}” that could be cleared", hint)
    return names


def _text(path: str, node: Node) -> str:
    if isinstance(node, ScalarNode):
        return str(node.value)
    raise Refusal(f"{path}:{node.start_mark.line + 1} holds more than one value", "write one")


def _row(path: str, node: Node) -> int:
    text = _text(path, node)
    if not text.isdigit() or not int(text):
        raise Refusal(f"{path}: “{text}” is no row", "write its number: 3")
    return int(text)


def _column(path: str, kind: str, title: str, node: Node) -> Column:
    if isinstance(node, ScalarNode):
        column = Column(str(node.value))
    elif isinstance(node, MappingNode):
        said = {key.value: value for key, value in entries(node)}
        odd = set(said) - {"field", "unit", "words"}
        if odd or "field" not in said:
            raise Refusal(f"{path}: “{title}” isn't understood", "write {field: …, unit: …}")
        words = said.get("words")
        column = Column(
            _text(path, said["field"]),
            _text(path, said["unit"]) if "unit" in said else None,
            {key.value: _text(path, value) for key, value in entries(words)}
            if isinstance(words, MappingNode)
            else {},
        )
    else:
        raise Refusal(f"{path}: “{title}” isn't understood", "write the name of a field")
    known = fields_of(kind)
    if column.field == UNDECIDED:
        hint = f"write the name of a field, or “{NOT_USED}”"
        raise Refusal(f"{path} doesn't say yet what the column “{title}” holds", hint)
    if column.field not in (*known, NOT_USED):
        hint = suggestion(column.field, known, f"fields: {', '.join(known)}")
        raise Refusal(f"{path}: a {kind} has no “{column.field}”", hint)
    if column.unit is not None:
        spec = KINDS[kind].specs.get(column.field) if kind in KINDS else None
        units = UNITS[spec.type.dimension] if spec and isinstance(spec.type, Measure) else {}
        if column.unit not in units:
            hint = f"units: {', '.join(units)}" if units else "it isn't measured in a unit"
            raise Refusal(f"{path}: “{column.unit}” is no unit of “{column.field}”", hint)
    return column


@dataclass(frozen=True, slots=True)
class TitledList:
    """A list whose columns are known: which column is which field, and its rows."""

    columns: tuple[tuple[int, Column], ...]
    rows: tuple[tuple[Cell, ...], ...]


def under_titles(
    grid: Grid, columns: Columns
) -> tuple[TitledList | None, list[ListProblem], list[str]]:
    """The rows under their titles; the titles nobody has said the meaning of."""
    rows = list(grid.rows)
    if columns.header_row is not None:
        rows = [row for row in rows if row[0].spot.row >= columns.header_row]
        if rows and rows[0][0].spot.row != columns.header_row:
            rows = []
    if not rows:
        return (
            None,
            [
                ListProblem(
                    CellPosition(columns.header_row or 1), "no titles stand here", "say where"
                )
            ],
            [],
        )
    known = {folded(name): name for name in fields_of(columns.kind)}
    found: list[tuple[int, Column]] = []
    unknown: list[str] = []
    wrong: list[ListProblem] = []
    seen: dict[str, Cell] = {}
    for cell in rows[0]:
        title = folded(cell.text)
        if not title:
            continue
        column = columns.by_title.get(title)
        if column is None and title in known:
            column = Column(known[title])
        if column is None:
            unknown.append(cell.text)
            continue
        if column.field == NOT_USED:
            continue
        if column.field in seen:
            first = seen[column.field]
            message = f"“{cell.text}” holds “{column.field}”, as “{first.text}” does already"
            wrong.append(ListProblem(cell.spot, message, f"say “{NOT_USED}” of one of the two"))
            continue
        seen[column.field] = cell
        found.append((cell.spot.column, column))
    for name in columns.empty_clears:
        if name not in seen and not unknown:
            message = f"no column holds “{name}”, of which “empty clears” speaks"
            wrong.append(
                ListProblem(rows[0][0].spot, message, "say in the columns file which one does")
            )
    return TitledList(tuple(found), tuple(rows[1:])), wrong, unknown


def row_of_titles(grid: Grid, columns: Columns) -> int:
    """The row the titles are looked for in: the one that is said, else the first; below a line
    that fills one cell only, the first that fills more."""
    if columns.header_row is not None:
        return columns.header_row
    filled = {row[0].spot.row: sum(bool(cell.text.strip()) for cell in row) for row in grid.rows}
    first = next(iter(filled))
    if filled[first] > 1:
        return first
    return next((row for row, cells in filled.items() if cells > 1), first)


def proposal(name: str, columns: Columns, titles: Sequence[str], unknown: Sequence[str]) -> str:
    """A columns file to be filled in: what is known stands there, what isn't has a “?”."""
    lines = [
        "# Which column holds what. Write the name of a field, or “not used”; a unit for bare",
        "# numbers: {field: length, unit: m}; what words mean: {field: serves, words: {PC: desk}}.",
        f"# Fields: {', '.join(fields_of(columns.kind))}",
        f"list: {name}",
    ]
    if columns.sheet:
        lines.append(f"sheet: {scalar(columns.sheet)}")
    if columns.header_row:
        lines.append(f"header row: {columns.header_row}")
    if columns.encoding:
        lines.append(f"encoding: {scalar(columns.encoding)}")
    if columns.decimal_comma:
        lines.append("decimal comma: yes")
    if columns.empty_clears:
        lines.append(f"empty clears: [{', '.join(map(scalar, columns.empty_clears))}]")
    lines.append("columns:")
    known = {folded(name): name for name in fields_of(columns.kind)}
    for title in dict.fromkeys(title for title in titles if title.strip()):
        told = columns.by_title.get(folded(title))
        if told is not None:
            lines.append(f"  {scalar(title)}: {_written(told)}")
        elif title in unknown:
            near = nearest(folded(title), known)
            hint = f"   # {known[near]}?" if near else ""
            lines.append(f'  {scalar(title)}: "{UNDECIDED}"{hint}')
        else:
            lines.append(f"  {scalar(title)}: {known[folded(title)]}")
    return "\n".join(lines) + "\n"


def _written(column: Column) -> str:
    if column.unit is None and not column.words:
        return scalar(column.field)
    parts = [f"field: {scalar(column.field)}"]
    if column.unit:
        parts.append(f"unit: {scalar(column.unit)}")
    if column.words:
        words = ", ".join(f"{scalar(k)}: {scalar(v)}" for k, v in column.words.items())
        parts.append(f"words: {{{words}}}")
    return f"{{{', '.join(parts)}}}"
