"""YAML text to nodes that know their place, or problems.

Texts are composed, never loaded: `no`, `012` and `22:22` stay what was typed, no tag builds an
object, and both of two equal keys are still there to be told about.
"""

from __future__ import annotations

from collections.abc import Iterator

import yaml

from asbuilt.problem import Place, Problem

Node = yaml.Node
ScalarNode = yaml.ScalarNode
SequenceNode = yaml.SequenceNode
MappingNode = yaml.MappingNode

MAX_BYTES = 8 * 1024 * 1024  # a record file of 8 MiB holds some 60,000 outlets
MAX_DEPTH = 12
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_PLAIN_TAGS = (
    "tag:yaml.org,2002:str",
    "tag:yaml.org,2002:seq",
    "tag:yaml.org,2002:map",
)
_TAG_STEM = "tag:yaml.org,2002:"


def place_of(path: str, node: Node) -> Place:
    mark = node.start_mark
    return Place(path, mark.line + 1, mark.column + 1)


def read_text(path: str, data: bytes) -> tuple[str, list[Problem]]:
    """The bytes of a record file as text; on a problem the text is empty."""
    if len(data) > MAX_BYTES:
        size = len(data) / 1024 / 1024
        message = f"the file is {size:.0f} MiB"
        return "", [Problem(Place(path), "file-size", message, "a record file has 8 MiB at most")]
    try:
        return data.decode("utf-8-sig"), []
    except UnicodeDecodeError as error:
        before = data[: error.start]
        line = before.count(b"\n") + 1
        column = error.start - (before.rfind(b"\n") + 1) + 1
        message = f"byte 0x{data[error.start]:02x} is not UTF-8 text"
        return "", [
            Problem(Place(path, line, column), "file-encoding", message, "save the file as UTF-8")
        ]


def compose(path: str, text: str) -> tuple[MappingNode | None, list[Problem]]:
    """The top-level mapping of `text`; None with a problem, or for a text that holds nothing."""
    try:
        node = yaml.compose(text, Loader=_LOADER)
    except yaml.reader.ReaderError as error:
        line = text.count("\n", 0, error.position) + 1
        column = error.position - (text.rfind("\n", 0, error.position) + 1) + 1
        code = error.character if isinstance(error.character, int) else ord(str(error.character))
        message = f"the character U+{code:04X} can't stand in YAML"
        return None, [Problem(Place(path, line, column), "yaml-syntax", message, "delete it")]
    except yaml.MarkedYAMLError as error:
        return None, [_syntax_problem(path, text, error)]
    except RecursionError:
        return None, [_too_deep(Place(path))]
    if node is None:
        return None, []
    if not isinstance(node, MappingNode):
        message = f"the file holds {_shape(node)} at its top"
        hint = "write “name: value” lines"
        return None, [Problem(place_of(path, node), "yaml-shape", message, hint)]
    problems = list(_refuse(path, text, node))
    return (None if problems else node), problems


def entries(node: MappingNode) -> list[tuple[ScalarNode, Node]]:
    """The pairs of a mapping; `compose` has made sure that every key is a scalar, met once."""
    return [(key, value) for key, value in node.value]


def is_nothing(node: Node) -> bool:
    """Whether nothing was written: an empty value or YAML's own null."""
    return (
        isinstance(node, ScalarNode)
        and not node.style  # plain: None from one loader, "" from the C one
        and node.value in ("", "~", "null", "Null", "NULL")
    )


def scalar_like(node: Node, text: str) -> ScalarNode:
    """A scalar that says `text` and stands where `node` stands."""
    return ScalarNode("tag:yaml.org,2002:str", text, node.start_mark, node.end_mark, style='"')


def scalar_at(text: str, line: int, column: int) -> ScalarNode:
    """A scalar from a text that isn't YAML (a CSV cell); line and column count from 1."""
    mark = yaml.Mark("", 0, line - 1, column - 1, None, None)  # type: ignore[arg-type]
    return ScalarNode("tag:yaml.org,2002:str", text, mark, mark, style='"')


def _refuse(path: str, text: str, root: MappingNode) -> Iterator[Problem]:
    """What composes but may not stand in a record: repeats, references, tags, odd keys, depth."""
    seen: set[int] = set()
    todo: list[tuple[Node, int]] = [(root, 1)]
    while todo:
        node, depth = todo.pop()
        if id(node) in seen:
            # One message is enough, and walking on could take for ever.
            yield _alias_problem(path, text)
            return
        seen.add(id(node))
        if depth > MAX_DEPTH:
            yield _too_deep(place_of(path, node))
            return
        if node.tag not in _PLAIN_TAGS and not node.tag.startswith(_TAG_STEM):
            hint = "leave the tag out"
            yield Problem(place_of(path, node), "yaml-tag", f"the tag {node.tag}", hint)
        if isinstance(node, SequenceNode):
            todo.extend((item, depth + 1) for item in node.value)
        elif isinstance(node, MappingNode):
            yield from _refuse_keys(path, node)
            todo.extend((value, depth + 1) for _, value in node.value)


def _refuse_keys(path: str, node: MappingNode) -> Iterator[Problem]:
    first: dict[str, ScalarNode] = {}
    for key, _ in node.value:
        place = place_of(path, key)
        if not isinstance(key, ScalarNode):
            message = f"{_shape(key)} stands where a name should"
            yield Problem(place, "yaml-key", message, "write a name before the colon")
        elif key.tag.endswith(":merge"):
            yield Problem(place, "yaml-alias", "a merge key “<<”", "write the values out")
        elif key.value in first:
            line = first[key.value].start_mark.line + 1
            message = f"“{key.value}” stands here a second time, first in line {line}"
            yield Problem(place, "duplicate-key", message, "keep one of the two")
        else:
            first[key.value] = key


def _syntax_problem(path: str, text: str, error: yaml.MarkedYAMLError) -> Problem:
    mark = error.problem_mark or error.context_mark
    line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    lines = text.split("\n")
    written = lines[line - 1] if line <= len(lines) else ""
    place = Place(path, line, column)
    indent = written[: len(written) - len(written.lstrip())]
    if "\t" in indent or written[column - 1 : column] == "\t":
        column = written.index("\t") + 1
        place = Place(path, line, column)
        return Problem(place, "yaml-tab", "a tab", "YAML is indented with spaces only")
    said = error.problem or error.context or "the text breaks off"
    if said.startswith("found undefined alias"):
        return Problem(place, "yaml-alias", "an alias “*name”", "write the value out")
    if ("document" in said and "another" in said) or "single document" in (error.context or ""):
        hint = "one file holds one document: delete the line “---”"
        return Problem(place, "yaml-syntax", "a second document begins", hint)
    hint = "look at the quotes, brackets and indentation on this line and the one before"
    return Problem(place, "yaml-syntax", f"not YAML: {said}", hint)


def _alias_problem(path: str, text: str) -> Problem:
    place = Place(path)
    for event in yaml.parse(text, Loader=_LOADER):
        if isinstance(event, yaml.AliasEvent):
            mark = event.start_mark
            place = Place(path, mark.line + 1, mark.column + 1) if mark else place
            break
    return Problem(place, "yaml-alias", "an alias “*name”", "write the value out")


def _too_deep(place: Place) -> Problem:
    return Problem(place, "yaml-depth", f"nested more than {MAX_DEPTH} deep", "flatten it")


def _shape(node: Node) -> str:
    if isinstance(node, MappingNode):
        return "a list of “name: value”"
    return "a list" if isinstance(node, SequenceNode) else "a single value"
