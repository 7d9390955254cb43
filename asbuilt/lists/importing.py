"""Somebody's list held against a site: what is new, what the records don't say yet, where the two
say different things; and what is to be written.

A cell that holds nothing says nothing: the records stay as they are, unless the columns file says
that an empty cell of that column clears the field. Where list and records
differ, nothing is written until it is said whom to trust.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from types import MappingProxyType

from asbuilt import escape
from asbuilt.edits.apply import said_by
from asbuilt.edits.jobs import typed_value
from asbuilt.edits.numbering import next_key, panels_for, propose_for
from asbuilt.edits.patching import end_goes_to, port_of
from asbuilt.edits.requests import AddRecord, Refusal, SetFields, Wish
from asbuilt.edits.yaml_values import Said
from asbuilt.lists.cells import Cell, CellPosition, ListProblem
from asbuilt.lists.columns import Column, Columns, TitledList
from asbuilt.lists.exporting import KEYS, cell
from asbuilt.model.site import Site
from asbuilt.problem import suggestion
from asbuilt.records.enclosures import Panel
from asbuilt.records.fields import KEY, KEY_RULE, Listed, Measure, Numbers, PortId, Ports, read_port
from asbuilt.records.kind import Record, Spec
from asbuilt.records.kinds import KINDS, REFERABLE
from asbuilt.records.links import Cord
from asbuilt.records.schema import own_first
from asbuilt.yamltext import Node, SequenceNode, scalar_at


class Trust(StrEnum):
    """Whose word counts where list and records differ."""

    LIST = "list"
    RECORDS = "records"


@dataclass(frozen=True, slots=True)
class RecordDifference:
    """A cell that says something else than the records do."""

    spot: CellPosition
    key: str
    field: str
    recorded: str
    listed: str

    def __str__(self) -> str:
        listed = f"“{self.listed}”" if self.listed else "nothing (an empty cell clears it)"
        return f"{self.spot}: {self.key}: {self.field}: “{self.recorded}” → {listed}"


@dataclass(slots=True)
class ImportPlan:
    """What a list means for a site. `wishes` is empty while something is wrong."""

    new: list[tuple[CellPosition, str]] = field(default_factory=list)
    filled: list[RecordDifference] = field(default_factory=list)  # the records said nothing there
    differing: list[RecordDifference] = field(default_factory=list)
    same: int = 0
    absent: list[str] = field(default_factory=list)  # recorded, but not in the list
    wrong: list[ListProblem] = field(default_factory=list)
    wishes: list[Wish] = field(default_factory=list)
    rows_of: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Numbering:
    """Rows without a key get the next free ones: outlets at the panels of an enclosure, or at one
    panel."""

    enclosure: str | None = None
    panel: str | None = None


@dataclass(frozen=True, slots=True)
class _Row:
    spot: CellPosition
    cells: Mapping[str, tuple[Cell, Said]]
    key: str | None
    emptied: Mapping[str, CellPosition] = field(default_factory=dict)  # cells that clear a field

    def spot_of(self, name: str) -> CellPosition:
        return self.cells[name][0].spot if name in self.cells else self.spot

    def said(self) -> dict[str, Said]:
        return {name: said for name, (_, said) in self.cells.items()}


def plan_import(
    site: Site,
    titled: TitledList,
    columns: Columns,
    trust: Trust | None = None,
    numbering: Numbering | None = None,
    for_new: Mapping[str, Said] = MappingProxyType({}),
) -> ImportPlan:
    """Hold every row against the site. Wishes are made only where nothing is wrong, and where
    list and records differ only by the word of whom `trust` names. `for_new` are facts of each
    new record that its row doesn't say."""
    intake = ImportPlan()
    rows = [row for row in _rows(site, titled, columns, intake) if row is not None]
    if columns.kind == "outlet":
        rows = _with_keys_of_outlets(site, rows, intake, numbering)
    elif columns.kind == "finding":
        rows = _with_keys_of_findings(site, rows)
    _twice(rows, intake)
    records = site.by_kind[columns.kind]
    met: set[str] = set()
    for row in rows:
        if row.key is None:
            continue
        record = _cord_of(site, row.key) if columns.kind == "cord" else records.get(row.key)
        if record is None:
            _new(columns.kind, row, intake, for_new)
        else:
            met.add(record.key)
            _known(site, columns.kind, record, row, intake, trust)
    intake.absent = [key for key in records if key not in met]
    _ports_twice(columns.kind, rows, site, intake)
    intake.wrong.sort()
    if intake.wrong or (intake.differing and trust is None):
        intake.wishes.clear()
    return intake


def new_rooms(site: Site, titled: TitledList) -> list[Wish]:
    """The rooms a list names that aren't recorded, to be recorded by their number alone."""
    words = {place: column.words for place, column in titled.columns if column.field == "room"}
    named = dict.fromkeys(
        words[one.spot.column].get(one.text, one.text)
        for row in titled.rows
        for one in row
        if one.spot.column in words
    )
    return [
        AddRecord("room", key, {}) for key in named if key not in site.rooms and KEY.fullmatch(key)
    ]


# Reading the rows


def _rows(
    site: Site, titled: TitledList, columns: Columns, intake: ImportPlan
) -> Iterator[_Row | None]:
    kind, key_name = columns.kind, KEYS[columns.kind]
    keys = _keys(site)
    ports = {str(port) for port in site.ports}
    by_column = dict(titled.columns)
    for cells in titled.rows:
        spot = CellPosition(cells[0].spot.row)
        said: dict[str, tuple[Cell, Said]] = {}
        emptied: dict[str, CellPosition] = {}
        key: str | None = None
        for one in cells:
            column = by_column.get(one.spot.column)
            if column is None:
                continue
            text = column.words.get(one.text, one.text)
            if not text:
                if column.field in columns.empty_clears:
                    emptied[column.field] = one.spot
                continue
            if column.field == key_name:
                key = text
                if kind != "cord" and not KEY.fullmatch(text):
                    hint = f"{KEY_RULE}; a text on a faceplate is its label"
                    intake.wrong.append(ListProblem(one.spot, f"“{text}” can't be a key", hint))
                continue
            value = value_of(site, kind, column, Cell(one.spot, text), columns, intake)
            if value is not None:
                said[column.field] = (one, value)
                intake.wrong += _dangling(kind, column.field, value, one.spot, keys, ports)
        if kind == "cord":
            key = _port_key(site, key, cells[0].spot, intake)
        yield _Row(spot, said, key, emptied)


def _port_key(site: Site, text: str | None, spot: CellPosition, intake: ImportPlan) -> str | None:
    if text is None:
        intake.wrong.append(
            ListProblem(CellPosition(spot.row), "it isn't said where this cord leaves from", "")
        )
        return None
    try:
        port = port_of(site, text)
    except Refusal as refusal:
        intake.wrong.append(ListProblem(CellPosition(spot.row), refusal.message, refusal.hint))
        return None
    if port not in site.ports:
        hint = suggestion(str(port), map(str, site.ports))
        intake.wrong.append(ListProblem(CellPosition(spot.row), f"there is no port {port}", hint))
        return None
    return str(port)


_COMMA = re.compile(r"(-?[0-9]+),([0-9]+)(\s*[A-Za-z%/]*)")
_BARE = re.compile(r"-?[0-9]+(?:\.[0-9]+)?")


def value_of(
    site: Site, kind: str, column: Column, one: Cell, columns: Columns, intake: ImportPlan
) -> Said | None:
    """What a cell says, as it would be typed into the records; None after telling what is wrong."""
    spec = KINDS[kind].specs[column.field]
    text = one.text
    if isinstance(spec.type, Measure):
        text = _measured(text, column, columns, one.spot, intake)
    if spec.name == "to" and kind == "cord" and text.count("/") == 1:
        try:
            text = str(port_of(site, text))
        except Refusal as refusal:
            intake.wrong.append(ListProblem(one.spot, refusal.message, refusal.hint))
            return None
    try:
        said = typed_value(kind, column.field, text.replace(";", ",") if _many(spec) else text)
    except Refusal as refusal:
        intake.wrong.append(ListProblem(one.spot, refusal.message, refusal.hint))
        return None
    told: list[ListProblem] = []
    spec.type.read(
        _node(said, one.spot),
        lambda node, code, message, hint: told.append(ListProblem(one.spot, message, hint)),
    )
    intake.wrong += told
    if told:
        return None
    return _printed(said) if spec.names_ports else said


def _printed(said: Said) -> Said:
    """Ports as the records write them: `1A/A/01`."""
    if isinstance(said, str):
        port = read_port(said)
        return str(port) if port and "-" not in port.name else said
    return tuple(str(_printed(text)) for text in said)


def _measured(
    text: str, column: Column, columns: Columns, spot: CellPosition, intake: ImportPlan
) -> str:
    comma = _COMMA.fullmatch(text)
    if comma:
        if not columns.decimal_comma:
            hint = "write a point, or say “decimal comma: yes” in the columns file"
            intake.wrong.append(
                ListProblem(spot, f"“{text}” has a comma for a decimal point", hint)
            )
        text = f"{comma[1]}.{comma[2]}{comma[3]}"
    if column.unit and _BARE.fullmatch(text):
        text = f"{text} {column.unit}"
    return text


def _many(spec: Spec) -> bool:
    return isinstance(spec.type, (Listed, Ports, Numbers))


def _node(said: Said, spot: CellPosition) -> Node:
    if isinstance(said, str):
        return scalar_at(said, spot.row, spot.column)
    items = [scalar_at(text, spot.row, spot.column) for text in said]
    mark = scalar_at("", spot.row, spot.column).start_mark
    return SequenceNode("tag:yaml.org,2002:seq", items, mark, mark)


def _keys(site: Site) -> Mapping[str, frozenset[str]]:
    """The keys a reference may name, by what it refers to."""
    return {kind: frozenset(site.records_of(kind)) for kind in REFERABLE}


def _dangling(
    kind: str,
    name: str,
    said: Said,
    spot: CellPosition,
    keys: Mapping[str, frozenset[str]],
    ports: set[str],
) -> Iterator[ListProblem]:
    spec = KINDS[kind].specs[name]
    texts = (said,) if isinstance(said, str) else tuple(said)
    known = keys.get(spec.refers_to or "")
    if known is not None:
        for text in texts:
            if text not in known:
                hint = suggestion(text, known, f"record it first, or correct the {spec.refers_to}")
                yield ListProblem(spot, f"there is no {spec.refers_to} “{text}”", hint)
    elif spec.names_ports:
        read = spec.type.read(_node(said, spot), _tell_nobody) or ()
        for port in (read,) if isinstance(read, PortId) else read:
            if str(port) not in ports:
                yield ListProblem(spot, f"there is no port {port}", suggestion(str(port), ports))


def _tell_nobody(node: Node, code: str, message: str, hint: str) -> None:
    """It was told already."""


# Which record a row is about


def _with_keys_of_outlets(
    site: Site, rows: Sequence[_Row], intake: ImportPlan, numbering: Numbering | None
) -> list[_Row]:
    """Rows without a key are known by their label, or get the next free key."""
    labelled: dict[str, list[str]] = {}
    for outlet in site.outlets.values():
        labelled.setdefault(site.label_of(outlet), []).append(outlet.key)
    done: list[_Row] = []
    nameless: list[int] = []
    for row in rows:
        if row.key is None:
            label = row.said().get("label")
            found = labelled.get(str(label), []) if label else []
            if len(found) > 1:
                message = f"{len(found)} outlets are labelled “{label}”"
                hint = f"give a column with their keys: {', '.join(found)}"
                intake.wrong.append(ListProblem(row.spot_of("label"), message, hint))
            elif found:
                row = replace(row, key=found[0])
            elif label and KEY.fullmatch(str(label)):
                cells = {name: cell for name, cell in row.cells.items() if name != "label"}
                row = replace(row, cells=cells, key=str(label))
            elif numbering is not None:
                nameless.append(len(done))
            else:
                hint = "give it a key, or have rows without one numbered: --number"
                intake.wrong.append(
                    ListProblem(row.spot, "it isn't said which outlet this is", hint)
                )
        done.append(row)
    if nameless and numbering is not None:
        try:
            _number(site, done, nameless, numbering)
        except Refusal as refusal:
            intake.wrong.append(ListProblem(CellPosition(), refusal.message, refusal.hint))
    return done


def _number(site: Site, rows: list[_Row], nameless: Sequence[int], numbering: Numbering) -> None:
    """Each gets the next free port with its label, save where the row names its own."""
    rooms = [str(rows[at].said().get("room", "")) or None for at in nameless]
    if numbering.panel:
        panel = site.items.get(numbering.panel)
        if not isinstance(panel, Panel):
            raise Refusal(f"there is no panel “{numbering.panel}”")
        panels: tuple[Panel, ...] = (panel,)
    else:
        one_room = rooms[0] if len(set(rooms)) == 1 else None
        panels = panels_for(site, one_room, numbering.enclosure)
    named = [row.key for row in rows if row.key]
    if any("port" in rows[at].cells for at in nameless):
        raise Refusal("some rows without a key name their own port", "give them keys too")
    places = propose_for(site, rooms, panels, taken=named).places
    for at, place in zip(nameless, places, strict=True):
        row = rows[at]
        cells = dict(row.cells)
        cells["port"] = (Cell(row.spot, ""), str(place.port))
        if place.label and "label" not in cells:
            cells["label"] = (Cell(row.spot, ""), place.label)
        rows[at] = replace(row, cells=cells, key=place.key)


def _with_keys_of_findings(site: Site, rows: Sequence[_Row]) -> list[_Row]:
    """A finding without a key is the one that says the same, or a new one with the next key."""
    said = {(one.what, str(one.found_on or "")): one.key for one in site.findings.values()}
    keys = [*site.findings, *(row.key for row in rows if row.key)]
    last: str | None = None
    done: list[_Row] = []
    for row in rows:
        if row.key is None:
            told = row.said()
            key = said.get((str(told.get("what", "")), str(told.get("found on", ""))))
            if key is None:
                key = last = next_key([last] if last else keys, "F1")
            row = replace(row, key=key)
        done.append(row)
    return done


def _cord_of(site: Site, key: str) -> Cord | None:
    """The cord on a port, from whichever end it is recorded."""
    return next((cord for port in [_port(key)] for cord in site.ports[port].cords), None)


def _port(text: str) -> PortId:
    item, _, name = text.rpartition("/")
    return PortId(item, str(int(name)) if name.isdigit() else name)


def _twice(rows: Sequence[_Row], intake: ImportPlan) -> None:
    for row in rows:
        if row.key is None:
            continue
        folded = row.key.casefold()
        if folded in intake.rows_of:
            message = f"{row.key} stands here a second time, first in row {intake.rows_of[folded]}"
            intake.wrong.append(ListProblem(row.spot, message, "keep one of the two"))
        else:
            intake.rows_of[folded] = row.spot.row


def _ports_twice(kind: str, rows: Sequence[_Row], site: Site, intake: ImportPlan) -> None:
    """A port two rows name, or one that another outlet of the records, not in the list, is on."""
    if kind != "outlet":
        return
    listed: dict[str, _Row] = {}
    keys = {row.key for row in rows}
    for row in rows:
        said = row.cells.get("port")
        texts = () if said is None else (said[1],) if isinstance(said[1], str) else tuple(said[1])
        for text in texts:
            port = _port(str(text))
            if str(port) in listed and "-" not in str(text).rpartition("/")[2]:
                first = listed[str(port)].spot.row
                message = f"port {port} stands in row {first} too"
                intake.wrong.append(
                    ListProblem(row.spot_of("port"), message, "one cable ends at a port")
                )
            listed[str(port)] = row
            use = site.ports.get(port)
            others = [o.key for o in use.outlets if o.key not in keys] if use else []
            if others:
                message = f"{others[0]} ends at port {port} by the records"
                hint = "correct the list, or re-terminate or remove that outlet first"
                intake.wrong.append(ListProblem(row.spot_of("port"), message, hint))


# What it means


def _new(kind: str, row: _Row, intake: ImportPlan, for_new: Mapping[str, Said]) -> None:
    assert row.key is not None
    said = {**for_new, **row.said()}
    order = {spec.name: at for at, spec in enumerate(own_first(KINDS[kind]))}
    missing = [
        spec.name
        for spec in KINDS[kind].specs.values()
        if spec.required and spec.name not in said and spec.name != "from"
    ]
    if missing:
        message = f"{kind} {row.key} is new and says nothing about “{missing[0]}”"
        intake.wrong.append(ListProblem(row.spot, message, "fill it in"))
    intake.new.append((row.spot, row.key))
    fields = {name: said[name] for name in sorted(said, key=lambda name: order[name])}
    if kind == "outlet" and fields.get("label") == row.key:
        del fields["label"]
    intake.wishes.append(AddRecord(kind, row.key, fields))


def _known(
    site: Site, kind: str, record: Record, row: _Row, intake: ImportPlan, trust: Trust | None
) -> None:
    """A row about something recorded: each of its cells against the field."""
    alike = True
    for name, (one, said) in row.cells.items():
        if kind == "cord" and name == "to":
            assert isinstance(record, Cord) and row.key is not None
            alike &= _far_end(site, record, row, said, intake, trust)
            continue
        node = record.raw.fields.get(name)
        recorded = "" if node is None else cell(said_by(node))
        if kind == "outlet" and name == "label" and not recorded and said == record.key:
            continue
        if one.text == escape.plain(recorded).strip() or (
            node is not None and _means(kind, name, node, said, one.spot)
        ):
            continue
        alike = False
        difference = RecordDifference(one.spot, record.key, name, recorded, cell(said))
        (intake.differing if recorded else intake.filled).append(difference)
        if not recorded or trust is Trust.LIST:
            intake.wishes.append(SetFields(kind, record.key, name, said))
    for name, spot in row.emptied.items():
        node = record.raw.fields.get(name)
        if node is None:
            continue
        alike = False
        intake.differing.append(RecordDifference(spot, record.key, name, cell(said_by(node)), ""))
        if trust is Trust.LIST:
            intake.wishes.append(SetFields(kind, record.key, name, None))
    intake.same += alike


def _far_end(
    site: Site, cord: Cord, row: _Row, said: Said, intake: ImportPlan, trust: Trust | None
) -> bool:
    assert row.key is not None
    here = _port(row.key)
    far = cord.to if cord.from_ == here else cord.from_
    there = _port(str(said))
    if far == there:
        return True
    spot = row.spot_of("to")
    intake.differing.append(RecordDifference(spot, cord.key, "to", str(far), str(there)))
    if trust is Trust.LIST:
        intake.wishes += end_goes_to(site, cord, far, there)
    return False


def _means(kind: str, name: str, node: Node, said: Said, spot: CellPosition) -> bool:
    """Whether a cell means what the records say, though it is written otherwise (23.40 m)."""
    type_ = KINDS[kind].specs[name].type
    listed = type_.read(_node(said, spot), _tell_nobody)
    return listed is not None and listed == type_.read(node, _tell_nobody)
