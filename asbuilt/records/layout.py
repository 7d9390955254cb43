"""Which file of a site's folder holds which records.

    site.yml               the site; contacts, cautions, circuits, networks, floors, rooms …
    enclosures/<key>.yml   one enclosure, what is mounted in it, its patching
    outlets.yml            or outlets/*.yml: one line a jack
    backbones.yml  pathways.yml  findings.yml  photos.yml
    jobs/<key>.yml         one job
    tests/*.csv            one line a result

A file is taken apart into `Raw` records without asking whether its fields are known: revisions
written under an older schema come apart just as well.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from pathlib import PurePosixPath
from typing import Final

from asbuilt.problem import Level, Place, Problem, nearest, quoted, suggestion
from asbuilt.records.fields import KEY, KEY_RULE, inside, read_port
from asbuilt.records.kind import Raw
from asbuilt.yamltext import (
    MappingNode,
    Node,
    ScalarNode,
    SequenceNode,
    compose,
    entries,
    is_nothing,
    place_of,
    read_text,
    scalar_at,
    scalar_like,
)

#: Sections of site.yml and the kind of record each holds.
SITE_SECTIONS: Final = {
    "contacts": "contact",
    "cautions": "caution",
    "circuits": "circuit",
    "networks": "network",
    "buildings": "building",
    "floors": "floor",
    "rooms": "room",
}
#: Files that are one table of records: key, then fields.
TABLES: Final = {
    "outlets": "outlet",
    "backbones": "backbone",
    "pathways": "pathway",
    "findings": "finding",
    "photos": "photo",
}
#: Sections of an enclosure's file that hold what is mounted, and the face each means.
FACES: Final = {"front": "front", "rear": "rear", "without U": "none"}
ROLES: Final = (
    "panel",
    "switch",
    "router",
    "device",
    "ups",
    "power strip",
    "manager",
    "shelf",
    "reserve",
)
#: Sections of a file that hold records of other kinds than the file's own.
SECTIONS: Final[dict[str, tuple[str, ...]]] = {
    "site": tuple(SITE_SECTIONS),
    "enclosure": (*FACES, "patching"),
}
#: Folders whose files are shown, not read.
ASSETS: Final = ("plans", "photos")

Parsed = tuple[list[Raw], list[Problem]]


def is_record_file(path: str) -> bool:
    """Whether a path within a site's folder names a file that records are read from."""
    return _reader_of(path) is not None


def kinds_in(where: str) -> frozenset[str]:
    """The kinds of record that may stand in a file, told by its path however long: all of them
    when the file is one that no records are read from, though it looks like it."""
    path = PurePosixPath(where)
    readers = [_reader_of("/".join(path.parts[-2:])), _reader_of(path.name)]
    if readers == [None, None]:
        readers = [*_KINDS] if path.suffix in (".yml", ".yaml") else ["site"]
    return frozenset(kind for reader in readers if reader for kind in _KINDS[reader])


#: By what a file is read as, the kinds of record in it.
_KINDS: Final[dict[str, tuple[str, ...]]] = {
    "site": ("site", *SITE_SECTIONS.values()),
    "enclosure": ("enclosure", *ROLES, "cord"),
    "job": ("job",),
    "test": ("test",),
} | {name: (kind,) for name, kind in TABLES.items()}


def take_apart(where: str, path: str, data: bytes) -> Parsed:
    """The records in a file. `where` is the path to print, `path` the one within the site."""
    reader = _reader_of(path)
    if reader is None:
        return [], []
    text, problems = read_text(where, data)
    if problems:
        return [], problems
    if path.endswith(".csv"):
        return _test_file(where, path, text)
    root, problems = compose(where, text)
    if root is None:
        if not problems:
            problems = [Problem(Place(where), "empty", "the file holds nothing", _HINTS[reader])]
            # An empty table is a table of nothing: fine while a site is being surveyed.
            problems = [] if reader in TABLES else problems
        return [], problems
    found, wrong = _records_in(reader, where, path, root)
    return found, problems + wrong


def _records_in(reader: str, where: str, path: str, root: MappingNode) -> Parsed:
    if reader == "site":
        return _site_file(where, root)
    if reader == "enclosure":
        return _enclosure_file(where, PurePosixPath(path).stem, root)
    if reader == "job":
        return _one_record(where, "job", PurePosixPath(path).stem, root)
    return _table(where, TABLES[reader], root)


_HINTS: Final = {
    "site": "write at least “name: …”",
    "enclosure": "write at least “height: 12 U”",
    "job": "write at least “title: …”",
    "test": "",
} | dict.fromkeys(TABLES, "")


def _reader_of(path: str) -> str | None:
    parts = PurePosixPath(path).parts
    match parts:
        case ("site.yml",):
            return "site"
        case ("enclosures", name) if name.endswith(".yml"):
            return "enclosure"
        case ("jobs", name) if name.endswith(".yml"):
            return "job"
        case ("tests", name) if name.endswith(".csv"):
            return "test"
        case (name,) | (name, _) if name.removesuffix(".yml") in TABLES:
            if len(parts) == 1 and name.endswith(".yml"):
                return name.removesuffix(".yml")
            folder = not name.endswith(".yml") and name not in ASSETS
            if len(parts) == 2 and folder and parts[1].endswith(".yml"):
                return name
    return None


_WHERE: Final = (
    "records stand in site.yml, enclosures/, outlets.yml, backbones.yml, pathways.yml, "
    "findings.yml, photos.yml, jobs/ and tests/"
)


def misplaced(where: str, path: str) -> Problem | None:
    """A remark-worthy file: it looks like records but stands where none are read."""
    if PurePosixPath(path).suffix not in (".yml", ".yaml", ".csv"):
        return None
    if is_record_file(path) or PurePosixPath(path).parts[0] in ASSETS:
        return None
    parts = PurePosixPath(path).with_suffix(".yml").parts
    known = ["site.yml", *(f"{name}.yml" for name in TABLES)]
    if len(parts) == 2:
        known = [
            f"{folder}/{parts[1]}"
            for folder in ("enclosures", "jobs", *TABLES)
            if folder not in ASSETS
        ]
    close = nearest("/".join(parts), known)
    hint = f"did you mean “{close}”?" if close and not path.endswith(".csv") else _WHERE
    # A table of somebody's own is no mistake; YAML hardly stands here for anything but records.
    level = Level.REMARK if path.endswith(".csv") else Level.ERROR
    return Problem(
        Place(where), "misplaced-file", "no records are read from this file", hint, level
    )


def _good_key(where: str, key: str, node: Node, problems: list[Problem]) -> bool:
    if KEY.fullmatch(key):
        return True
    problems.append(
        Problem(place_of(where, node), "bad-key", f"{quoted(key)} can't be a key", KEY_RULE)
    )
    return False


def _fields(node: MappingNode) -> dict[str, Node]:
    return {key.value: value for key, value in entries(node)}


def _one_record(where: str, kind: str, key: str, root: MappingNode) -> Parsed:
    problems: list[Problem] = []
    if not _good_key(where, key, root, problems):
        return [], problems
    return [Raw(kind, key, _fields(root), where, root)], problems


def _table(where: str, kind: str, root: MappingNode) -> Parsed:
    records: list[Raw] = []
    problems: list[Problem] = []
    for key, value in entries(root):
        if not _good_key(where, key.value, key, problems):
            continue
        if not isinstance(value, MappingNode):
            problems.append(_no_mapping(where, value, f"{kind} {key.value}"))
            continue
        records.append(Raw(kind, key.value, _fields(value), where, key))
    return records, problems


def _no_mapping(where: str, node: Node, what: str) -> Problem:
    message = f"{what} has no fields here"
    return Problem(place_of(where, node), "yaml-shape", message, "write {field: value, …}")


def _site_file(where: str, root: MappingNode) -> Parsed:
    records: list[Raw] = []
    problems: list[Problem] = []
    own: dict[str, Node] = {}
    for key, value in entries(root):
        kind = SITE_SECTIONS.get(key.value)
        if kind is None:
            own[key.value] = value
        elif isinstance(value, MappingNode):
            found, wrong = _table(where, kind, value)
            records += found
            problems += wrong
        elif not is_nothing(value):
            problems.append(_no_mapping(where, value, quoted(key.value)))
    return [Raw("site", "site", own, where, root), *records], problems


def _enclosure_file(where: str, key: str, root: MappingNode) -> Parsed:
    records: list[Raw] = []
    problems: list[Problem] = []
    if not _good_key(where, key, root, problems):
        return [], problems
    own: dict[str, Node] = {}
    for name, value in entries(root):
        if name.value in FACES:
            records += _mounted(where, key, FACES[name.value], value, problems)
        elif name.value == "patching":
            records += _patching(where, key, value, problems)
        else:
            own[name.value] = value
    return [Raw("enclosure", key, own, where, root), *records], problems


def _mounted(
    where: str, enclosure: str, face: str, node: Node, problems: list[Problem]
) -> Iterator[Raw]:
    """The items of one face. A unit holds one item, or a list of those that share it."""
    if is_nothing(node):
        return
    if isinstance(node, SequenceNode):
        if face != "none":
            hint = "write “12: {panel: A, …}”, the rack unit before the colon"
            message = "items stand here without their rack units"
            problems.append(Problem(place_of(where, node), "yaml-shape", message, hint))
            return
        for item in node.value:
            yield from _item(where, enclosure, face, None, item, problems)
        return
    if not isinstance(node, MappingNode) or face == "none":
        hint = "write “- {power strip: P1, where: …}”, one line each"
        if face != "none":
            hint = "write “12: {panel: A, …}”"
        problems.append(
            Problem(place_of(where, node), "yaml-shape", "no list of items stands here", hint)
        )
        return
    for at, value in entries(node):
        for item in value.value if isinstance(value, SequenceNode) else [value]:
            yield from _item(where, enclosure, face, at, item, problems)


def _item(
    where: str,
    enclosure: str,
    face: str,
    at: ScalarNode | None,
    node: Node,
    problems: list[Problem],
) -> Iterator[Raw]:
    if not isinstance(node, MappingNode):
        message, hint = "what is mounted here isn't described", "write {panel: A, ports: 24}"
        problems.append(Problem(place_of(where, node), "yaml-shape", message, hint))
        return
    fields = _fields(node)
    roles = [role for role in ROLES if role in fields]
    if len(roles) != 1:
        message = "it isn't said what is mounted here"
        hint = f"begin with one of: {', '.join(ROLES)}"
        if len(roles) > 1:
            message = f"one thing is called both {roles[0]} and {roles[1]}"
            hint = "keep one of the two; things that share a unit are a list"
        else:
            hint = suggestion(next(iter(fields), ""), ROLES, hint)
        problems.append(Problem(place_of(where, at or node), "role-missing", message, hint))
        return
    name = fields.pop(roles[0])
    if not isinstance(name, ScalarNode) or is_nothing(name):
        problems.append(_no_key(where, name, roles[0]))
        return
    if not _good_key(where, name.value, name, problems):
        return
    for given in ("face", "at"):
        if given in fields:
            message = f"“{given}” is written again inside {roles[0]} {name.value}"
            hint = "where it stands in the file says it: delete it here"
            problems.append(Problem(place_of(where, fields[given]), "unknown-key", message, hint))
    fields["face"] = scalar_like(at or node, face)
    if at is not None:
        fields["at"] = at
    yield Raw(roles[0], f"{enclosure}/{name.value}", fields, where, at or node)


def _no_key(where: str, node: Node, role: str) -> Problem:
    message = f"the {role} has no key"
    return Problem(place_of(where, node), "bad-key", message, f"write “{role}: A”")


def _patching(where: str, enclosure: str, node: Node, problems: list[Problem]) -> Iterator[Raw]:
    if is_nothing(node):
        return
    if not isinstance(node, MappingNode):
        hint = "write “A/01: {to: SW1/01}”, one line a cord"
        message = "no list of cords stands here"
        problems.append(Problem(place_of(where, node), "yaml-shape", message, hint))
        return
    for start, value in entries(node):
        port = read_port(inside(enclosure, start.value))
        if port is None:
            message = f"{quoted(start.value)} is no port of this enclosure"
            hint = "write item/port, like “A/01”"
            problems.append(Problem(place_of(where, start), "bad-port", message, hint))
            continue
        if not isinstance(value, MappingNode):
            hint = "write “A/01: {to: SW1/01, cord: 0.3 m}”"
            message = f"the cord at {start.value} isn't described"
            problems.append(Problem(place_of(where, value), "yaml-shape", message, hint))
            continue
        fields = _fields(value)
        if "from" in fields:
            message = f"“from” is written again inside the cord at {start.value}"
            hint = "the port before the colon says it: delete it here"
            problems.append(Problem(place_of(where, fields["from"]), "unknown-key", message, hint))
        fields["from"] = scalar_like(start, str(port))
        end = fields.get("to")
        if isinstance(end, ScalarNode):
            fields["to"] = scalar_like(end, inside(enclosure, end.value))
        yield Raw("cord", str(port), fields, where, start)


_TEST_KEY = re.compile(r"[^A-Za-z0-9._+-]+")
#: The columns without which a line says nothing.
TEST_COLUMNS: Final = ("link", "date", "result")


def _test_file(where: str, path: str, text: str) -> Parsed:
    """One result a line. A link tested twice on one day has the better of two tries last."""
    problems: list[Problem] = []
    rows = _csv_rows(where, text, problems)
    first, header = next(rows, (1, []))
    wrong = _wrong_header(where, first, header)
    if wrong:
        return [], [*problems, wrong]
    records: list[Raw] = []
    seen: dict[str, int] = {}
    lines = io.StringIO(text, newline="").readlines()  # as the rows are: a CR alone ends one too
    stem = PurePosixPath(path).stem
    link, date = header.index("link"), header.index("date")
    for line, row in rows:
        if len(row) != len(header):
            message = f"the line has {len(row)} cells, the header has {len(header)}"
            hint = "a cell for each column; a comma within a cell needs quotes around the cell"
            problems.append(Problem(Place(where, line), "csv-cells", message, hint))
            continue
        columns = _columns(lines[line - 1], len(row))
        fields: dict[str, Node] = {
            name: scalar_at(cell.strip(), line, column)
            for name, cell, column in zip(header, row, columns, strict=True)
            if cell.strip()
        }
        key = f"{_TEST_KEY.sub('-', row[link].strip())}-{_TEST_KEY.sub('-', row[date].strip())}"
        seen[key] = seen.get(key, 0) + 1
        times = f".{seen[key]}" if seen[key] > 1 else ""
        node = scalar_at("", line, 1)
        records.append(Raw("test", f"{stem}.{key}{times}", fields, where, node))
    return records, problems


def _csv_rows(where: str, text: str, problems: list[Problem]) -> Iterator[tuple[int, list[str]]]:
    """The lines that hold something, each with the number of the line it begins in."""
    rows = csv.reader(io.StringIO(text, newline=""), strict=True)
    first = 1
    try:
        for row in rows:
            if any(cell.strip() for cell in row):
                yield first, row
            first = rows.line_num + 1
    except csv.Error as error:
        message = f"the line can't be read as CSV: {error}"
        hint = "quotes stand around a whole cell; a quote within one is written twice"
        problems.append(Problem(Place(where, first), "csv-syntax", message, hint))


def _wrong_header(where: str, line: int, header: list[str]) -> Problem | None:
    header[:] = [name.strip().lower() for name in header]
    hint = f"the first line names the columns: {','.join(TEST_COLUMNS)} and others"
    if not header:
        return Problem(Place(where), "empty", "the file holds nothing", hint)
    for sign, name in ((";", "semicolons"), ("\t", "tabs")):
        if len(header) == 1 and sign in header[0]:
            message = f"the cells are separated by {name}"
            return Problem(Place(where, line), "csv-syntax", message, "separate them by commas")
    repeated = next((name for name in header if header.count(name) > 1), None)
    if repeated is not None:
        message = f"the column {quoted(repeated)} stands here twice"
        return Problem(Place(where, line), "duplicate-key", message, "keep one of the two")
    missing = [name for name in TEST_COLUMNS if name not in header]
    if missing:
        message = f"there is no column “{missing[0]}”"
        return Problem(Place(where, line), "field-missing", message, hint)
    return None


def _columns(line: str, count: int) -> list[int]:
    """Where each of `count` cells of a line of CSV begins, counting from 1; those that stand in a
    later line, after a line break in quotes, are said to begin where the last one here does."""
    starts, quoting = [1], False
    if '"' not in line:
        for cell in line.split(","):
            starts.append(starts[-1] + len(cell) + 1)
    for column, sign in enumerate(line if '"' in line else "", start=1):
        if sign == '"':
            quoting = not quoting
        elif sign == "," and not quoting:
            starts.append(column + 1)
    return starts[:count] + starts[-1:] * (count - len(starts))
