"""YAML text to nodes that know their place, or problems.

Texts are composed, never loaded: `no`, `012` and `22:22` stay what was typed, no tag builds an
object, and both of two equal keys are still there to be told about.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any, Final

import yaml

try:
    from yaml import CSafeLoader as _BaseLoader
except ImportError:  # PyYAML was built without its C library: slower, the same otherwise
    from yaml import SafeLoader as _BaseLoader  # type: ignore[assignment]

from asbuilt.problem import Place, Problem, quoted

Node = yaml.Node
ScalarNode = yaml.ScalarNode
SequenceNode = yaml.SequenceNode
MappingNode = yaml.MappingNode

MAX_BYTES = 8 * 1024 * 1024  # a record file of 8 MiB holds some 60,000 outlets
MAX_DEPTH = 12
_STR, _SEQ, _MAP, _MERGE = (f"tag:yaml.org,2002:{name}" for name in ("str", "seq", "map", "merge"))
# What neither YAML nor an editor shows, and what YAML 1.1 takes for a line break but editors
# don't: line numbers would be wrong after it.
_UNSEEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ufeff\ufffe\uffff]")


class _Loader(_BaseLoader):
    """Texts and shapes only: nothing that was typed is taken for a number, a date or a truth."""

    def resolve(self, kind: type[Node], value: Any, implicit: Any) -> str:
        if kind is ScalarNode:
            return _MERGE if value == "<<" and implicit[0] else _STR
        return _MAP if kind is MappingNode else _SEQ


def place_of(path: str, node: Node) -> Place:
    mark = node.start_mark
    return Place(path, mark.line + 1, mark.column + 1)


def read_text(path: str, data: bytes) -> tuple[str, list[Problem]]:
    """The bytes of a record file as text; on a problem the text is empty."""
    if len(data) > MAX_BYTES:
        message = f"the file is larger than {MAX_BYTES // 1024 // 1024} MiB"
        hint = "a table may be split: outlets/*.yml beside outlets.yml"
        return "", [Problem(Place(path), "file-size", message, hint)]
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        before = data[data.rfind(b"\n", 0, error.start) + 1 : error.start].decode()
        place = Place(path, data.count(b"\n", 0, error.start) + 1, len(before) + 1)
        message = f"byte 0x{data[error.start]:02x} is not UTF-8 text"
        return "", [Problem(place, "file-encoding", message, "save the file as UTF-8")]
    unseen = _UNSEEN.search(text)
    if unseen:
        start = unseen.start()
        column = start - text.rfind("\n", 0, start)
        place = Place(path, text.count("\n", 0, start) + 1, column)
        message = f"the invisible character U+{ord(unseen[0]):04X} stands in the text"
        return "", [Problem(place, "control-character", message, "delete it")]
    return text, []


def compose(path: str, text: str) -> tuple[MappingNode | None, list[Problem]]:
    """The top-level mapping of `text` and what is wrong with it; None for a text that holds
    nothing or can't be read at all. Of two equal keys the first stays."""
    try:
        node = yaml.compose(text, Loader=_Loader)
    except yaml.YAMLError as error:
        return None, [_syntax_problem(path, text, error)]
    except RecursionError:
        return None, [_too_deep(Place(path))]
    if node is None or is_nothing(node):
        return None, []
    if not isinstance(node, MappingNode):
        message = f"the file holds {_shape(node)} at its top"
        hint = "write “name: value” lines"
        return None, [Problem(place_of(path, node), "yaml-shape", message, hint)]
    fatal = _refuse(path, text, node)
    if fatal:
        return None, [fatal]
    return node, list(_drop_keys(path, node))


def entries(node: MappingNode) -> list[tuple[ScalarNode, Node]]:
    """The pairs of a mapping; `compose` has made sure that every key is a scalar, met once."""
    return [(key, value) for key, value in node.value]


_NOTHING: Final = frozenset(("", "~", "null", "Null", "NULL"))


def is_nothing(node: Node) -> bool:
    """Whether nothing was written: an empty value or YAML's own null, not quoted."""
    # The style of a plain scalar is None from one loader, "" from the C one.
    return node.value in _NOTHING and not node.style if type(node) is ScalarNode else False


def scalar_like(node: Node, text: str) -> ScalarNode:
    """A scalar that says `text` and stands where `node` stands."""
    return ScalarNode("tag:yaml.org,2002:str", text, node.start_mark, node.end_mark, style='"')


def scalar_at(text: str, line: int, column: int) -> ScalarNode:
    """A scalar from a text that isn't YAML (a CSV cell); line and column count from 1."""
    mark = yaml.Mark("", 0, line - 1, column - 1, None, None)  # type: ignore[arg-type]
    return ScalarNode("tag:yaml.org,2002:str", text, mark, mark, style='"')


def _refuse(path: str, text: str, root: MappingNode) -> Problem | None:
    """What composes but may not stand in a record anywhere: references, tags, depth."""
    aliases = "*" in text
    seen = {id(root)}
    level: list[Node] = [root]
    for _ in range(MAX_DEPTH):
        inner: list[Node] = []
        for node in level:
            if type(node) is ScalarNode:
                if node.tag is not _STR and node.tag not in (_STR, _MERGE):
                    return _tag_problem(path, node)
            elif node.tag not in (_MAP, _SEQ):
                return _tag_problem(path, node)
            elif type(node) is MappingNode:
                for pair in node.value:
                    inner += pair
            else:
                inner += node.value
        if aliases:
            # Each node is met once, unless an alias names it again; walking on could take
            # for ever.
            before = len(seen)
            seen.update(map(id, inner))
            if len(seen) - before < len(inner):
                return _alias_problem(path, text)
        if not inner:
            return None
        level = inner
    return _too_deep(place_of(path, level[0]))


def _drop_keys(path: str, root: MappingNode) -> Iterator[Problem]:
    """Take out of every mapping the pairs whose key can't stand there, telling of each."""
    todo: list[Node] = [root]
    while todo:
        node = todo.pop()
        if type(node) is MappingNode:
            pairs = node.value
            todo += [value for _, value in pairs if type(value) is not ScalarNode]
            names = {key.value for key, _ in pairs if type(key) is ScalarNode}
            if len(names) < len(pairs) or "<<" in names:
                kept: dict[str, tuple[Node, Node]] = {}
                yield from _sift(path, pairs, kept)
                node.value = list(kept.values())
        elif type(node) is SequenceNode:
            todo += [item for item in node.value if type(item) is not ScalarNode]


def _sift(
    path: str, pairs: list[tuple[Node, Node]], kept: dict[str, tuple[Node, Node]]
) -> Iterator[Problem]:
    for key, value in pairs:
        place = place_of(path, key)
        if not isinstance(key, ScalarNode):
            message = f"{_shape(key)} stands where a name should"
            yield Problem(place, "yaml-key", message, "write a name before the colon")
        elif key.tag == _MERGE:
            yield Problem(
                place, "yaml-alias", "a merge key “<<” stands here", "write the values out"
            )
        elif key.value in kept:
            line = kept[key.value][0].start_mark.line + 1
            message = f"{quoted(key.value)} stands here a second time, first in line {line}"
            yield Problem(place, "duplicate-key", message, "keep one of the two")
        else:
            kept[key.value] = (key, value)


#: What the parser says → what is wrong and what would be right. `{}` is the sign it stumbled on.
_IN_COLUMN: Final = "begin lines of one group in the same column"
_IN_QUOTES: Final = "put the text in quotes"
_SAID: Final = (
    ("did not find expected ',' or '}'", "a comma or “}” is missing before this",
     "close the bracket; a text with a colon, comma or bracket in it needs quotes"),
    ("did not find expected ',' or ']'", "a comma or “]” is missing before this",
     "close the bracket; a text with a colon, comma or bracket in it needs quotes"),
    ("mapping values are not allowed", "a colon can't stand here",
     f"put a text with a colon in it in quotes; {_IN_COLUMN}"),
    ("found character that cannot start any token", "a text can't begin with “{}”", _IN_QUOTES),
    ("found unknown escape character", "a backslash stands in a text in double quotes",
     "write it twice, or put the text in single quotes"),
    ("did not find expected key", "this line doesn't fit those before it", _IN_COLUMN),
    ("did not find expected '-' indicator", "this line doesn't fit the list before it", _IN_COLUMN),
    ("did not find expected node content", "a value is missing here", "write it"),
    ("block sequence entries are not allowed", "“- ” can't stand here", _IN_COLUMN),
)  # fmt: skip
#: The same for what it was about, told where that begins.
_WHILE: Final = (
    ("quoted scalar", "a quote is opened here and not closed", "close it"),
    ("simple key", "a colon is missing after this name", "write “name: value”"),
    ("scanning an alias", "a text can't begin with “*”", _IN_QUOTES),
    ("scanning an anchor", "a text can't begin with “&”", _IN_QUOTES),
    ("scanning a directive", "a line can't begin with “%”", _IN_QUOTES),
    ("scanning a tag", "a text can't begin with “!”", _IN_QUOTES),
)


def _syntax_problem(path: str, text: str, error: yaml.YAMLError) -> Problem:
    mark = getattr(error, "problem_mark", None) or getattr(error, "context_mark", None)
    said = getattr(error, "problem", None) or "the text breaks off"
    about = getattr(error, "context", None) or ""
    place = Place(path, mark.line + 1, mark.column + 1) if mark else Place(path)
    lines = text.split("\n")
    written = lines[place.line - 1] if place.line <= len(lines) else ""
    sign = written[place.column - 1 : place.column]
    if sign == "\t" or "\t" in written[: len(written) - len(written.lstrip())]:
        place = Place(path, place.line, written.index("\t") + 1)
        return Problem(place, "yaml-tab", "a tab", "YAML is indented with spaces only")
    if said.startswith("exceeded maximum nesting"):
        return _too_deep(place)
    if said.startswith("found undefined alias"):
        return _alias(place)
    if ("document" in said and "another" in said) or "single document" in about:
        hint = "one file holds one document: delete the line “---”"
        return Problem(place, "yaml-syntax", "a second document begins", hint)
    begun = getattr(error, "context_mark", None)
    for part, message, hint in _WHILE:
        if begun is not None and part in about and "escape" not in said:
            place = Place(path, begun.line + 1, begun.column + 1)
            return Problem(place, "yaml-syntax", message, hint)
    for part, message, hint in _SAID:
        if said.startswith(part):
            return Problem(place, "yaml-syntax", message.replace("{}", sign), hint)
    hint = "look at the quotes, brackets and indentation on this line and the one before"
    return Problem(place, "yaml-syntax", f"not YAML: {said}", hint)


def _alias_problem(path: str, text: str) -> Problem:
    place = Place(path)
    for event in yaml.parse(text, Loader=_Loader):
        if isinstance(event, yaml.AliasEvent):
            mark = event.start_mark
            place = Place(path, mark.line + 1, mark.column + 1) if mark else place
            break
    return _alias(place)


def _alias(place: Place) -> Problem:
    message = "an alias “*name” stands here"
    return Problem(
        place, "yaml-alias", message, "write the value out; a text with “*” needs quotes"
    )


def _tag_problem(path: str, node: Node) -> Problem:
    place = place_of(path, node)
    tag = str(node.tag).replace("tag:yaml.org,2002:", "!!")
    return Problem(
        place,
        "yaml-tag",
        f"the tag {quoted(tag)} stands here",
        "leave it out; a text with “!” needs quotes",
    )


def _too_deep(place: Place) -> Problem:
    return Problem(place, "yaml-depth", f"nested more than {MAX_DEPTH} deep", "close a bracket")


def _shape(node: Node) -> str:
    if isinstance(node, MappingNode):
        return "a list of “name: value”"
    return "a list" if isinstance(node, SequenceNode) else "a single value"
