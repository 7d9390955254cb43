"""Wishes → the new text of one file: cut and joined where they concern it, and nowhere else.

A new line is written as its neighbours are: fields between braces on one line, or one below the
other; values in one column where theirs are.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cache
from pathlib import PurePosixPath
from typing import Any, Final

from asbuilt.edits.positions import (
    FilePositions,
    Key,
    Section,
    TextSpan,
    after_lines,
    end_of,
    line_start,
    next_line,
    start_of,
)
from asbuilt.edits.requests import AddRecord, Refusal, Relocate, RemoveRecord, SetFields, Wish
from asbuilt.edits.yaml_values import Said, pair, record, scalar, value
from asbuilt.model.site import natural
from asbuilt.records.fields import inside
from asbuilt.records.kinds import KINDS, REFERABLE
from asbuilt.records.layout import FACES, SITE_SECTIONS
from asbuilt.records.schema import own_first
from asbuilt.yamltext import MappingNode, Node, ScalarNode, SequenceNode, entries, is_nothing

ITEM_KINDS: Final = frozenset(REFERABLE["item"])
_BY_HAND: Final = "change this one by hand"
#: Where a record stands says these; they aren't written inside it.
_BY_PLACE: Final = {"cord": ("from",), **dict.fromkeys(ITEM_KINDS, ("face", "at"))}


@dataclass(frozen=True, slots=True)
class TextEdit:
    """A stretch of a text and what stands there instead. `rank` orders what is put in at one
    place: what belongs inside a record before the record that follows it."""

    start: int
    end: int
    new: str
    rank: tuple[Any, ...] = ()


def apply_text_edits(
    text: str, cuts: Iterable[TextEdit], start: int = 0, end: int | None = None
) -> str:
    """The stretch of `text` with all cuts made. Cuts that overlap are our own mistake."""
    end = len(text) if end is None else end
    parts: list[str] = []
    at = start
    for cut in sorted(cuts, key=lambda c: (c.start, c.end > c.start, c.rank)):
        if cut.start < at or cut.end > end:
            raise Refusal("two of these changes meet in one place of a file", "make them singly")
        parts += [text[at : cut.start], cut.new]
        at = cut.end
    return "".join([*parts, text[at:end]])


def new_texts(
    sheets: Mapping[str, FilePositions], wishes: Mapping[str, Sequence[Wish]]
) -> dict[str, str]:
    """The texts of files after what is wished for in each, by the path the wished-for stands in
    now or is to stand in. What goes from one enclosure to another finds its way by itself."""
    benches = {path: _FileEditor(sheet) for path, sheet in sheets.items()}
    for path, found in wishes.items():
        benches[path].take(found)
    for path, found in wishes.items():
        benches[path].work(found, benches)
    return {path: bench.finish() for path, bench in benches.items()}


def file_of(kind: str, fields: Mapping[str, Said]) -> str:
    """The text of a new file that is one record: a job, or an enclosure with nothing in it yet."""
    return _lines_of(kind, fields, "", "\n")


def _lines_of(kind: str, fields: Mapping[str, Said], indent: str, newline: str) -> str:
    pairs = (pair(kind, name, said, line=True) for name, said in fields.items())
    return "".join(f"{indent}{text}{newline}" for text in pairs)


@dataclass(frozen=True, slots=True)
class _Insertion:
    """What is to stand in a section: its key as compared and as written, and its line from the
    colon on, or None when it is written from `fields`."""

    order: Any
    key: str
    kind: str
    fields: Mapping[str, Said]
    carried: str | None = None
    deep: int = 0


@dataclass(slots=True)
class _FileEditor:
    sheet: FilePositions
    cuts: list[TextEdit] = field(default_factory=list)
    gone: set[int] = field(default_factory=set)  # ids of the bodies that leave their place
    coming: dict[str, list[_Insertion]] = field(default_factory=lambda: defaultdict(list))

    @property
    def enclosure(self) -> str:
        return PurePosixPath(self.sheet.path).stem

    def take(self, wishes: Sequence[Wish]) -> None:
        """Note first what leaves its place: what comes is put beside what stays."""
        for wish in wishes:
            if isinstance(wish, RemoveRecord) or (
                isinstance(wish, Relocate) and not self._stays(wish)
            ):
                self.gone.add(id(self._spot(wish.kind, wish.key).body))

    def work(self, wishes: Sequence[Wish], benches: Mapping[str, _FileEditor]) -> None:
        puts: dict[Key, list[SetFields]] = defaultdict(list)
        for wish in wishes:
            if isinstance(wish, SetFields):
                puts[wish.kind, wish.key].append(wish)
        for wish in wishes:
            if isinstance(wish, Relocate):
                self._carry(wish, puts.pop((wish.kind, wish.key), []), benches)
            elif isinstance(wish, AddRecord):
                self.coming[_section_name(wish.kind, wish.fields)].append(self._new(wish))
            elif isinstance(wish, RemoveRecord):
                self._take_out(self._spot(wish.kind, wish.key))
        for (kind, key), found in puts.items():
            self.cuts += self._edits(self._spot(kind, key), kind, found)

    def finish(self) -> str:
        for section, found in self.coming.items():
            self._settle(section, found)
        return apply_text_edits(self.sheet.text, self.cuts)

    def _spot(self, kind: str, key: str) -> TextSpan:
        spot = self.sheet.spots.get((kind, key))
        if spot is None:
            raise Refusal(f"{kind} {key} doesn't stand in {self.sheet.path}", _BY_HAND)
        return spot

    # Fields

    def _edits(self, spot: TextSpan, kind: str, puts: Sequence[SetFields]) -> list[TextEdit]:
        """The cuts that make the fields of a record say what they are to say."""
        body, text = spot.body, self.sheet.text
        pairs = {key.value: (key, value) for key, value in entries(body)}
        dropped = {put.field for put in puts if put.said is None and put.field in pairs}
        cuts: list[TextEdit] = []
        added: dict[str, Said] = {}
        for put in puts:
            if put.said is None:
                continue
            if put.field not in pairs:
                added[put.field] = put.said
                continue
            key, old = pairs[put.field]
            cuts.append(self._replaced(kind, put, key, old, bool(body.flow_style)))
        cuts += [_dropped(text, body, name, dropped) for name in sorted(dropped)]
        order = _field_order(kind)
        for name, said in sorted(added.items(), key=lambda item: order.get(item[0], 0)):
            rank = order.get(name, len(order))
            cuts.append(self._inserted(body, kind, name, said, rank, order, dropped))
        return cuts

    def _replaced(
        self, kind: str, put: SetFields, key: ScalarNode, old: Node, flow: bool
    ) -> TextEdit:
        assert put.said is not None
        said = self._as_here(kind, put, old)
        quotes = old.style if isinstance(old, ScalarNode) and old.style in ("'", '"') else ""
        new = value(kind, put.field, said, quotes or "", line=not flow)
        start, end = start_of(old), end_of(old)
        if start == end:  # nothing was written: the value comes after the colon
            colon = self.sheet.text.find(":", key.end_mark.index)
            return TextEdit(colon + 1, colon + 1, f" {new}")
        if end and self.sheet.text[end - 1] in "\r\n":
            new += self.sheet.newline
        return TextEdit(start, end, new)

    def _as_here(self, kind: str, put: SetFields, old: Node | None) -> Said:
        """A cord's far end is written short within its own enclosure, unless it wasn't so far."""
        if kind != "cord" or put.field != "to" or not isinstance(put.said, str):
            assert put.said is not None
            return put.said
        if isinstance(old, ScalarNode) and _enclosure(old.value) == self.enclosure:
            return put.said if old.value.count("/") == 2 else self._short(put.said)
        return self._short(put.said)

    def _short(self, port: str) -> str:
        return port.removeprefix(f"{self.enclosure}/")

    def _inserted(
        self,
        body: MappingNode,
        kind: str,
        name: str,
        said: Said,
        rank: int,
        order: Mapping[str, int],
        dropped: set[str],
    ) -> TextEdit:
        """A new field, after those that come before it in reading order."""
        text = self.sheet.text
        if kind == "cord" and name == "to" and isinstance(said, str):
            said = self._short(said)
        new = pair(kind, name, said, line=not body.flow_style)
        kept = [(k, v) for k, v in entries(body) if k.value not in dropped]
        before = [i for i, (k, _) in enumerate(kept) if order.get(k.value, len(order)) < rank]
        if body.flow_style:
            if not kept:
                return TextEdit(start_of(body) + 1, start_of(body) + 1, new, (0, rank))
            if not before:
                at = start_of(kept[0][0])
                return TextEdit(at, at, f"{new}, ", (0, rank))
            key, old = kept[before[-1]]
            at = max(end_of(old), end_of(key))
            return TextEdit(at, at, f", {new}", (0, rank))
        newline = self.sheet.newline
        key, old = kept[before[-1]] if before else kept[0]
        at = after_lines(text, old) if before else line_start(text, start_of(key))
        line = " " * kept[0][0].start_mark.column + new
        return TextEdit(at, at, _line_at(text, at, line, newline), (0, rank))

    # Records that go

    def _take_out(self, spot: TextSpan) -> None:
        text = self.sheet.text
        if spot.row is not None and self._left_in(spot.row):
            self.cuts.append(_without_entry(text, spot.row, spot.body))
            return
        if spot.row is not None and spot.holder is None:  # the last without a unit
            self.cuts.append(_without_entry(text, spot.row, spot.body))
            return
        if spot.holder is None or spot.key is None:
            raise Refusal(f"{self.sheet.path} is one record", "delete the file with git")
        cut = _without_pair(text, spot.holder, spot.key, self._gone_keys(spot.holder))
        if cut not in self.cuts:  # the last two of a shared unit go as one
            self.cuts.append(cut)

    def _left_in(self, row: SequenceNode) -> bool:
        return any(id(node) not in self.gone for node in row.value)

    def _gone_keys(self, holder: MappingNode) -> set[str]:
        return {key.value for key, value in entries(holder) if self._is_gone(value)}

    def _is_gone(self, value: Node) -> bool:
        if isinstance(value, SequenceNode) and value.value:
            return not self._left_in(value)
        return id(value) in self.gone

    # Records that go elsewhere

    def _stays(self, wish: Relocate) -> bool:
        """Whether it is enough to write another key where the thing stands."""
        spot = self._spot(wish.kind, wish.key)
        if _enclosure(wish.to) != self.enclosure:
            return False
        if wish.kind == "cord":
            return True
        if self._face_of(spot) != wish.face:
            return False
        if (spot.key.value if spot.key else None) == wish.at:
            return True
        if spot.key is None or wish.at is None or spot.holder is None or spot.row is not None:
            return False
        keys = [key.value for key, _ in entries(spot.holder)]
        up = _ascending([_unit(key) for key in keys])
        at = keys.index(spot.key.value)
        if wish.at in keys:
            return False
        keys[at] = wish.at
        near = [_unit(key) for key in keys[max(at - 1, 0) : at + 2]]
        return near == sorted(near, reverse=not up)

    def _face_of(self, spot: TextSpan) -> str:
        for name, section in self.sheet.sections.items():
            if section.value is (spot.holder or spot.row):
                return FACES.get(name, "")
        return ""

    def _carry(
        self, wish: Relocate, puts: list[SetFields], benches: Mapping[str, _FileEditor]
    ) -> None:
        spot, text = self._spot(wish.kind, wish.key), self.sheet.text
        name = wish.to.partition("/")[2]
        item = wish.kind in ITEM_KINDS
        if item and name != wish.key.partition("/")[2]:
            puts = [*puts, SetFields(wish.kind, wish.key, wish.kind, name)]
        if self._stays(wish):
            self.cuts += self._edits(spot, wish.kind, puts)
            new = wish.at if item else name
            if spot.key is not None and new is not None and new != spot.key.value:
                quotes = spot.key.style if spot.key.style in ("'", '"') else ""
                written = scalar(new, True, quotes or "")
                self.cuts.append(TextEdit(start_of(spot.key), end_of(spot.key), written))
            return
        inner = self._edits(spot, wish.kind, [put for put in puts if item or put.field != "to"])
        if not item:
            inner += self._far_end(wish, spot, puts)
        self._take_out(spot)
        deep = 0
        if spot.row is None and spot.holder is not None and not spot.holder.flow_style:
            assert spot.key is not None  # its own lines, with what is noted on them
            start = text.index(":", end_of(spot.key)) + 1
            end = after_lines(text, spot.body)
            carried = apply_text_edits(text, inner, start, end).rstrip("\r\n")
            deep = spot.key.start_mark.column
        elif spot.body.flow_style:
            carried = " " + apply_text_edits(text, inner, start_of(spot.body), end_of(spot.body))
        else:
            raise Refusal(f"{wish.key} is written over several lines in a list", _BY_HAND)
        key = (wish.at or "") if item else name
        section = _section_name(wish.kind, {"face": wish.face or ""})
        newcomer = _Insertion(_order_of(wish.kind, key), key, wish.kind, {}, carried, deep)
        there = benches[f"enclosures/{_enclosure(wish.to)}.yml"]
        there.coming[section].append(newcomer)

    def _far_end(self, wish: Relocate, spot: TextSpan, puts: list[SetFields]) -> list[TextEdit]:
        """A cord's far end as it is to be written in the other enclosure's file."""
        old = next(value for key, value in entries(spot.body) if key.value == "to")
        said = next((put.said for put in puts if put.field == "to"), None)
        full = str(said) if said is not None else inside(self.enclosure, old.value)
        short = full.removeprefix(f"{_enclosure(wish.to)}/")
        return [] if short == old.value else [TextEdit(start_of(old), end_of(old), scalar(short))]

    # Records that come

    def _new(self, wish: AddRecord) -> _Insertion:
        key, fields = wish.key, dict(wish.fields)
        by_place = {name: fields.pop(name, None) for name in _BY_PLACE.get(wish.kind, ())}
        if wish.kind in ITEM_KINDS:
            fields = {wish.kind: key.partition("/")[2], **fields}
            at = by_place["at"]
            key = at if isinstance(at, str) else ""
        elif wish.kind == "cord":
            key = key.partition("/")[2]
            if isinstance(fields.get("to"), str):
                fields["to"] = self._short(str(fields["to"]))
        return _Insertion(_order_of(wish.kind, key), key, wish.kind, fields)

    def _settle(self, name: str, found: list[_Insertion]) -> None:
        """Put newcomers into their section, each after the one that comes before it."""
        sheet = self.sheet
        found = sorted(found, key=lambda new: new.order)
        if not name:  # the file is one table
            if sheet.root is not None:
                self._into_mapping(sheet.root, found)
                return
            self._append([(new, "") for new in found])
            return
        section = sheet.sections.get(name)
        if section is None:
            self._open_section(name, found)
        elif is_nothing(section.value) or not getattr(section.value, "value", None):
            self._into_empty(section, name, found)
        elif isinstance(section.value, MappingNode):
            self._into_mapping(section.value, found)
        elif isinstance(section.value, SequenceNode):
            for new in found:
                self._into_list(section.value, new)
        else:
            raise Refusal(f"“{name}” of {sheet.path} holds no records", _BY_HAND)

    def _append(self, found: list[tuple[_Insertion, str]], before: str = "") -> None:
        """Lines at the end of the file."""
        sheet, end = self.sheet, len(self.sheet.text)
        lines = [before] if before else []
        lines += [self._line(new, indent, None) for new, indent in found]
        joined = sheet.newline.join(lines)
        self.cuts.append(TextEdit(end, end, _line_at(sheet.text, end, joined, sheet.newline), (3,)))

    def _open_section(self, name: str, found: list[_Insertion]) -> None:
        indent = self._section_indent()
        self._append([(new, indent) for new in found], f"{name}:")

    def _section_indent(self) -> str:
        for section in self.sheet.sections.values():
            node = section.value
            if isinstance(node, MappingNode) and node.value and not node.flow_style:
                return " " * int(node.value[0][0].start_mark.column)
        return "  "

    def _into_empty(self, section: Section, name: str, found: list[_Insertion]) -> None:
        text, newline, indent = self.sheet.text, self.sheet.newline, self._section_indent()
        start, end = start_of(section.value), end_of(section.value)
        key_end = end_of(section.key)
        if start > key_end and end > start:  # `~`, `{}` or `[]` stood there
            self.cuts.append(TextEdit(text.index(":", key_end) + 1, end, ""))
        at = next_line(text, max(key_end, end) if end > start else key_end)
        lines = newline.join(self._line(new, indent, None) for new in found)
        self.cuts.append(TextEdit(at, at, _line_at(text, at, lines, newline), (2,)))

    def _into_list(self, row: SequenceNode, new: _Insertion) -> None:
        text = self.sheet.text
        body = self._body(new)
        last = row.value[-1]
        if row.flow_style:
            at = end_of(last)
            self.cuts.append(TextEdit(at, at, f", {body}", (1, new.order)))
            return
        at = after_lines(text, last)
        dash = text[line_start(text, start_of(last)) : start_of(last)]
        if dash.strip() != "-":
            raise Refusal(f"the list in {self.sheet.path} can't be added to", _BY_HAND)
        line = f"{dash}{body}"
        self.cuts.append(
            TextEdit(at, at, _line_at(text, at, line, self.sheet.newline), (1, new.order))
        )

    def _body(self, new: _Insertion) -> str:
        if new.carried is None:
            return record(new.kind, new.fields)
        body = new.carried.strip()
        if not body.startswith("{") or "\n" in body or "\r" in body:
            raise Refusal("a thing written over several lines can't go into a list", _BY_HAND)
        return body

    def _into_mapping(self, holder: MappingNode, found: Sequence[_Insertion]) -> None:
        text, newline = self.sheet.text, self.sheet.newline
        there = {key.value: value for key, value in entries(holder)}
        kept = [(k, v) for k, v in entries(holder) if not self._is_gone(v)]
        orders = [_order_of(found[0].kind, key.value) for key, _ in kept]
        falling = found[0].kind in ITEM_KINDS and not _ascending(orders)
        order = _Order([key.value for key, _ in kept], orders, falling)
        for new in found:
            if new.key in there and not self._is_gone(there[new.key]):
                self._share(there[new.key], new)
                continue
            follows = order.before(new)
            rank = (1, _reversed(new.order) if falling else new.order)
            if holder.flow_style:
                self._into_braces(holder, kept, follows, new, rank)
                continue
            neighbour = kept[follows] if follows is not None else kept[0] if kept else None
            if neighbour is None:  # all others go: it takes their place
                key = holder.value[0][0]
                at, indent = line_start(text, start_of(key)), " " * key.start_mark.column
                model: tuple[ScalarNode, Node] | None = holder.value[0]
            else:
                at = (
                    after_lines(text, neighbour[1])
                    if follows is not None
                    else line_start(text, start_of(neighbour[0]))
                )
                indent, model = " " * neighbour[0].start_mark.column, neighbour
            line = self._line(new, indent, model, _column(holder))
            self.cuts.append(TextEdit(at, at, _line_at(text, at, line, newline), rank))

    def _into_braces(
        self,
        holder: MappingNode,
        kept: Sequence[tuple[ScalarNode, Node]],
        follows: int | None,
        new: _Insertion,
        rank: tuple[Any, ...],
    ) -> None:
        line = f"{scalar(new.key, new.kind in ITEM_KINDS)}: {self._body(new)}"
        if follows is not None:
            at = end_of(kept[follows][1])
            self.cuts.append(TextEdit(at, at, f", {line}", rank))
        else:
            at = start_of(kept[0][0]) if kept else start_of(holder) + 1
            self.cuts.append(TextEdit(at, at, f"{line}, " if kept else line, rank))

    def _share(self, value: Node, new: _Insertion) -> None:
        """Two things in one unit are a list."""
        if isinstance(value, SequenceNode) and value.value:
            self._into_list(value, new)
        elif isinstance(value, MappingNode) and value.flow_style and new.kind in ITEM_KINDS:
            start, end = start_of(value), end_of(value)
            self.cuts.append(TextEdit(start, start, "[", (-1,)))
            self.cuts.append(TextEdit(end, end, f", {self._body(new)}]", (9,)))
        else:
            raise Refusal(f"“{new.key}” is taken in {self.sheet.path}", _BY_HAND)

    def _line(
        self,
        new: _Insertion,
        indent: str,
        model: tuple[ScalarNode, Node] | None,
        column: int | None = None,
    ) -> str:
        """The line or lines of a newcomer, without the last line break."""
        newline = self.sheet.newline
        if not new.key:
            return f"{indent}- {self._body(new)}"
        key = f"{indent}{scalar(new.key, new.kind in ITEM_KINDS)}:"
        if new.carried is not None:
            first, *rest = re.split(r"\r\n|\n|\r", new.carried)
            shift = len(indent) - new.deep
            gap = " " * max(1, (column or 0) - len(key))
            written = first.lstrip(" ")
            first = gap + written if written and not written.startswith("#") else first
            return newline.join([key + first, *(_shifted(line, shift) for line in rest)])
        if model and isinstance(model[1], MappingNode) and not model[1].flow_style:
            inner = " " * model[1].start_mark.column
            return f"{key}{newline}{_lines_of(new.kind, new.fields, inner, newline)}".rstrip("\r\n")
        gap = " " * max(1, (column or 0) - len(key))
        return f"{key}{gap}{record(new.kind, new.fields)}"


class _Order:
    """Where in a section a newcomer comes: after the one before it. In a section that isn't in
    order, after the last of those below it that are numbered as it is."""

    def __init__(self, keys: Sequence[str], orders: Sequence[Any], falling: bool) -> None:
        self._orders = orders
        self._falling = falling
        self._ranked = sorted(range(len(orders)), key=lambda at: orders[at])
        self._sorted = [orders[at] for at in self._ranked]
        self._straight = falling or self._ranked == list(range(len(orders)))
        self._by_stem: dict[str, list[int]] = defaultdict(list)
        for at, key in enumerate(keys):
            self._by_stem[_stem(key)].append(at)

    def before(self, new: _Insertion) -> int | None:
        """The place of the one it follows; None: it comes first."""
        at = bisect_left(self._sorted, new.order)
        if self._falling:  # it stands below the next higher one
            return self._ranked[at] if at < len(self._ranked) else None
        if self._straight or not at:
            return self._ranked[at - 1] if at else None
        alike = self._by_stem.get(_stem(new.key), [])
        below = [one for one in alike if self._orders[one] < new.order]
        return max(below or self._ranked[:at])


def _stem(key: str) -> str:
    return key.rstrip("0123456789")


def _shifted(line: str, by: int) -> str:
    if not line.strip():
        return line
    return " " * by + line if by >= 0 else line[min(-by, len(line) - len(line.lstrip(" "))) :]


def _column(holder: MappingNode) -> int | None:
    """The column all values begin in, where some were moved there."""
    starts = [
        (value.start_mark.column, value.start_mark.column - key.end_mark.column)
        for key, value in entries(holder)
        if value.start_mark.line == key.end_mark.line
    ]
    columns = {column for column, _ in starts}
    wide = any(gap > 2 for _, gap in starts)
    return columns.pop() if len(columns) == 1 and wide else None


def _line_at(text: str, at: int, line: str, newline: str) -> str:
    """A line put in at the start of another, or after a last line that has no line break."""
    if at and text[at - 1] not in "\r\n":
        return newline + line
    return line + newline


def _without_pair(text: str, holder: MappingNode, key: ScalarNode, gone: set[str]) -> TextEdit:
    if holder.flow_style:
        return _dropped(text, holder, key.value, gone)
    body = next(value for other, value in entries(holder) if other is key)
    start = line_start(text, start_of(key))
    if text[start : start_of(key)].strip():
        raise Refusal(f"“{key.value}” shares its line with something else", _BY_HAND)
    return TextEdit(start, after_lines(text, body), "")


def _without_entry(text: str, row: SequenceNode, body: MappingNode) -> TextEdit:
    start, end = start_of(body), end_of(body)
    if row.flow_style:
        return _closed_up(text, start, end, start_of(row) + 1)
    first = line_start(text, start)
    if text[first:start].strip() != "-":
        raise Refusal("a list here can't be taken apart", _BY_HAND)
    return TextEdit(first, after_lines(text, body), "")


def _dropped(text: str, body: MappingNode, name: str, dropped: set[str]) -> TextEdit:
    """A field taken out, with the comma that set it apart."""
    pairs = entries(body)
    at = next(i for i, (key, _) in enumerate(pairs) if key.value == name)
    key, value = pairs[at]
    if not body.flow_style:
        start = line_start(text, start_of(key))
        return TextEdit(start, after_lines(text, value if end_of(value) else key), "")
    end = max(
        end_of(value),
        text.index(":", end_of(key)) + 1 if start_of(value) > end_of(key) else end_of(key),
    )
    rest_goes = all(other.value in dropped for other, _ in pairs[at:])
    left = [i for i in range(at) if pairs[i][0].value not in dropped]
    if rest_goes and left:  # the last of them: the comma before it goes
        before = pairs[at - 1]
        start = max(end_of(before[1]), end_of(before[0]))
        if "#" not in text[start : start_of(key)]:
            return TextEdit(start, end, "")
    return _closed_up(text, start_of(key), end, start_of(body) + 1)


_COMMA_AFTER = re.compile(r"[ \t]*,[ \t]*")
_COMMA_BEFORE = re.compile(r"[ \t]*,[ \t]*$")


def _closed_up(text: str, start: int, end: int, floor: int) -> TextEdit:
    """A stretch between commas, cut out with one of them."""
    after = _COMMA_AFTER.match(text, end)
    if after:
        return TextEdit(start, after.end(), "")
    before = _COMMA_BEFORE.search(text[floor:start])
    return TextEdit(floor + before.start() if before else start, end, "")


@cache
def _field_order(kind: str) -> Mapping[str, int]:
    """Reading order of a kind's fields; the word that says what is mounted comes first."""
    names = [spec.name for spec in own_first(KINDS[kind])]
    return {kind: -1} | {name: at for at, name in enumerate(names)}


def _section_name(kind: str, fields: Mapping[str, Said]) -> str:
    if kind in ITEM_KINDS:
        return next(name for name, face in FACES.items() if face == fields.get("face"))
    if kind == "cord":
        return "patching"
    return next((name for name, held in SITE_SECTIONS.items() if held == kind), "")


def _enclosure(key: str) -> str:
    return key.partition("/")[0]


def _order_of(kind: str, key: str) -> Any:
    return _unit(key) if kind in ITEM_KINDS else natural(key)


def _unit(key: str) -> tuple[int, int]:
    low, _, high = key.partition("-")
    low, high = low.strip(), (high or low).strip()
    return (int(high), int(low)) if low.isdigit() and high.isdigit() else (0, 0)


def _ascending(units: Sequence[Any]) -> bool:
    return len(units) > 1 and units[0] < units[-1]


def _reversed(order: tuple[int, int]) -> tuple[int, int]:
    return -order[0], -order[1]
