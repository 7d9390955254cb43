"""Where each record stands in its file, to the character.

`records.layout` says which records a file holds; this says which stretch of its text each is. The
positions are those of the YAML library.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import TypeAlias

from asbuilt.edits.requests import Refusal
from asbuilt.records.fields import inside, read_port
from asbuilt.records.layout import FACES, ROLES, SITE_SECTIONS, TABLES, take_apart
from asbuilt.yamltext import MappingNode, Node, ScalarNode, SequenceNode, compose, entries

Holder: TypeAlias = MappingNode | SequenceNode
Key: TypeAlias = tuple[str, str]
_LINE_END = re.compile(r"\r\n|\n|\r")
_BOM = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True)
class TextSpan:
    """A record's place: its key (none in a list, none for a whole file), its fields, and what it
    stands in: the mapping of its section, and within that the list of those that share a unit."""

    key: ScalarNode | None
    body: MappingNode
    holder: MappingNode | None = None
    row: SequenceNode | None = None


@dataclass(frozen=True, slots=True)
class Section:
    """A part of a file that holds records: its name before the colon, and what follows it."""

    key: ScalarNode
    value: Node


@dataclass(frozen=True, slots=True)
class FilePositions:
    """A file's text with everything found in it. `root` is None while it holds nothing."""

    path: str
    text: str
    bom: bool
    root: MappingNode | None
    spots: Mapping[Key, TextSpan]
    sections: Mapping[str, Section]

    @property
    def newline(self) -> str:
        found = _LINE_END.search(self.text)
        return found[0] if found else "\n"

    def bytes_of(self, text: str) -> bytes:
        return (_BOM if self.bom else b"") + text.encode()


def positions_in(path: str, data: bytes) -> FilePositions:
    """The file taken in. Refuses one that can't be read: it has to be mended by hand first."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise Refusal(f"{path} is not UTF-8 text", "save the file as UTF-8") from error
    bom = data.startswith(_BOM)
    if path.endswith(".csv"):
        return FilePositions(path, text, bom, None, {}, {})
    root, problems = compose(path, text)
    if problems:
        raise Refusal(f"{path} can't be edited as it stands", str(problems[0]))
    if root is None:
        return FilePositions(path, text, bom, None, {}, {})
    spots: dict[Key, TextSpan] = {}
    sections: dict[str, Section] = {}
    for key, spot in _spots(path, root, sections):
        spots.setdefault(key, spot)
    return FilePositions(path, text, bom, root, spots, sections)


def table_of(path: str) -> str | None:
    """The kind of record a file is a table of, if it is one."""
    parts = PurePosixPath(path).parts
    return TABLES.get(parts[0].removesuffix(".yml")) if len(parts) < 3 else None


def _spots(
    path: str, root: MappingNode, sections: dict[str, Section]
) -> Iterator[tuple[Key, TextSpan]]:
    parts = PurePosixPath(path)
    if path == "site.yml":
        yield ("site", "site"), TextSpan(None, root)
        for key, value in entries(root):
            if key.value in SITE_SECTIONS:
                sections[key.value] = Section(key, value)
                yield from _table(SITE_SECTIONS[key.value], value)
    elif parts.parts[0] == "enclosures":
        yield ("enclosure", parts.stem), TextSpan(None, root)
        for key, value in entries(root):
            if key.value in FACES:
                sections[key.value] = Section(key, value)
                yield from _mounted(parts.stem, value)
            elif key.value == "patching":
                sections[key.value] = Section(key, value)
                yield from _patching(parts.stem, value)
    elif parts.parts[0] == "jobs":
        yield ("job", parts.stem), TextSpan(None, root)
    else:
        kind = table_of(path)
        if kind:
            yield from _table(kind, root)


def _table(kind: str, node: Node) -> Iterator[tuple[Key, TextSpan]]:
    if isinstance(node, MappingNode):
        for key, value in entries(node):
            if isinstance(value, MappingNode):
                yield (kind, key.value), TextSpan(key, value, node)


def _mounted(enclosure: str, node: Node) -> Iterator[tuple[Key, TextSpan]]:
    if isinstance(node, SequenceNode):
        for item in node.value:
            yield from _item(enclosure, None, item, None, node)
    elif isinstance(node, MappingNode):
        for at, value in entries(node):
            if isinstance(value, SequenceNode):
                for item in value.value:
                    yield from _item(enclosure, at, item, node, value)
            else:
                yield from _item(enclosure, at, value, node, None)


def _item(
    enclosure: str,
    at: ScalarNode | None,
    node: Node,
    holder: MappingNode | None,
    row: SequenceNode | None,
) -> Iterator[tuple[Key, TextSpan]]:
    if isinstance(node, MappingNode):
        for key, value in entries(node):
            if key.value in ROLES and isinstance(value, ScalarNode):
                yield (key.value, f"{enclosure}/{value.value}"), TextSpan(at, node, holder, row)
                return


def _patching(enclosure: str, node: Node) -> Iterator[tuple[Key, TextSpan]]:
    if isinstance(node, MappingNode):
        for key, value in entries(node):
            port = read_port(inside(enclosure, key.value))
            if port and isinstance(value, MappingNode):
                yield ("cord", str(port)), TextSpan(key, value, node)


def end_of(node: Node) -> int:
    """Where a node's own text ends; the library lets a block end only where the next begins."""
    if isinstance(node, MappingNode) and not node.flow_style and node.value:
        key, value = node.value[-1]
        return max(end_of(value), int(key.end_mark.index))
    if isinstance(node, SequenceNode) and not node.flow_style and node.value:
        return end_of(node.value[-1])
    return int(node.end_mark.index)


def start_of(node: Node) -> int:
    return int(node.start_mark.index)


def line_start(text: str, index: int) -> int:
    """Where the line that holds `index` begins."""
    return max(text.rfind("\n", 0, index), text.rfind("\r", 0, index)) + 1


def line_end(text: str, index: int) -> int:
    """Where the line that holds `index` ends, before its line break."""
    found = _LINE_END.search(text, index)
    return found.start() if found else len(text)


def next_line(text: str, index: int) -> int:
    found = _LINE_END.search(text, index)
    return found.end() if found else len(text)


def after_lines(text: str, node: Node) -> int:
    """Where the line after a node's last one begins, comments on that one included."""
    end = end_of(node)
    at_start = end > 0 and text[end - 1] in "\r\n"  # a block scalar takes its line breaks along
    return end if at_start else next_line(text, end)


def test_rows(path: str, data: bytes) -> Mapping[str, tuple[int, int]]:
    """The stretch of a file of test results each of its records takes, by the record's key."""
    text = data.decode("utf-8-sig")
    raws, _ = take_apart(path, path, data)
    lines = {raw.node.start_mark.line + 1: raw.key for raw in raws}
    starts = [0, *(found.end() for found in _LINE_END.finditer(text)), len(text)]
    rows: dict[str, tuple[int, int]] = {}
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    before = 0
    for _ in reader:
        key = lines.get(before + 1)
        if key is not None:
            rows[key] = (starts[before], starts[min(reader.line_num, len(starts) - 1)])
        before = reader.line_num
    return rows
