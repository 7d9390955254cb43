"""The records of a site at one moment as plain values: what two moments are compared by.

A state holds text, lists of text and groups of them, nothing typed: a revision written under an
older schema has a state too. What says the same has the same value, whatever the layout: the
order of fields, quotes, comments, the file a record stands in, `port: X` for `port: [X]`, `01`
for port 1, `23.40 m` for `23.4 m`, a default written out.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import functools
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from dataclasses import field as dataclass_field
from decimal import Decimal
from types import MappingProxyType
from typing import Any, Final, TypeAlias

from asbuilt.records.fields import FieldType, GridCell, Numbers, Spot
from asbuilt.records.kind import Raw
from asbuilt.records.kinds import KINDS
from asbuilt.records.quantity import Quantity
from asbuilt.yamltext import MappingNode, Node, ScalarNode, SequenceNode, is_nothing

Value: TypeAlias = str | tuple["Value", ...] | Mapping[str, "Value"]
Facts: TypeAlias = Mapping[str, Value]
#: The kind and the key of a record.
Key: TypeAlias = tuple[str, str]
State: TypeAlias = Mapping[Key, Facts]

#: The state before the first revision.
NOTHING: Final[State] = MappingProxyType({})
_REMEMBERED: Final = 20_000  # texts of one field


def state_of(raws: Iterable[Raw]) -> State:
    """The state these records are in.

    Its keys are those of the records, but for a test's, which leaves out the name of its file:
    `1A-A01 2025-03-07`. A key that stands twice is kept twice, the second time as `key (2)`.
    """
    return joined([things_of(raws)])


def things_of(raws: Iterable[Raw]) -> tuple[tuple[Key, Facts], ...]:
    return tuple((_key(raw), facts_of(raw)) for raw in raws)


def joined(parts: Iterable[Iterable[tuple[Key, Facts]]]) -> State:
    """The state that holds the things of all parts, in whichever order they come."""
    state: dict[Key, Facts] = {}
    again: dict[Key, list[Facts]] = {}
    for part in parts:
        for key, facts in part:
            if key in state:
                again.setdefault(key, [state[key]]).append(facts)
            state[key] = facts
    for (kind, name), equals in again.items():
        for number, facts in enumerate(sorted(equals, key=plain_order), start=1):
            state[kind, name if number == 1 else f"{name} ({number})"] = facts
    return state


def facts_of(raw: Raw) -> Facts:
    """What a record says. Fields today's schema doesn't know are carried as they were typed."""
    hearings = _hearings(raw.kind)
    facts: dict[str, Value] = {}
    for name, node in raw.fields.items():
        if is_nothing(node):
            continue
        hearing = hearings.get(name)
        if hearing is None:
            facts[name] = _as_typed(node)
            continue
        value = hearing.read(node)
        if value != () and value != hearing.default:
            facts[name] = value
    return facts


def plain_order(value: Value) -> tuple[Any, ...]:
    """A sort key for any value."""
    if isinstance(value, str):
        return (0, value)
    if isinstance(value, tuple):
        return (1, tuple(plain_order(item) for item in value))
    return (2, tuple((name, plain_order(value[name])) for name in sorted(value)))


def natural_value(value: Value) -> tuple[Any, ...]:
    """A sort key for port numbers and names: 9 before 10."""
    text = value if isinstance(value, str) else ""
    return (0, int(text)) if text.isascii() and text.isdigit() else (1, plain_order(value))


def text_of(facts: Facts | None, name: str) -> str | None:
    """A field that holds one text; None when it isn't there or holds something else."""
    value = facts.get(name) if facts else None
    return value if isinstance(value, str) else None


def texts_of(facts: Facts | None, name: str) -> tuple[str, ...]:
    """The texts of a field that holds one or several."""
    value = facts.get(name, ()) if facts else ()
    if isinstance(value, str):
        return (value,)
    return tuple(item for item in value if isinstance(item, str)) if type(value) is tuple else ()


def _key(raw: Raw) -> Key:
    link, date = raw.fields.get("link"), raw.fields.get("date")
    if raw.kind == "test" and isinstance(link, ScalarNode) and isinstance(date, ScalarNode):
        return raw.kind, f"{link.value} {date.value}"
    return raw.kind, raw.key


@dataclass(slots=True)
class _Normaliser:
    """How the value of one field is understood. Records say the same few things over and over:
    what a text means is worked out once."""

    type: FieldType[Any]
    unordered: bool
    default: Value | None
    known: dict[str, Value] = dataclass_field(default_factory=dict)

    def read(self, node: Node) -> Value:
        if not isinstance(node, ScalarNode):
            return self._said(node)
        value = self.known.get(node.value)
        if value is None:
            value = self._said(node)
            if len(self.known) < _REMEMBERED:
                self.known[node.value] = value
        return value

    def _said(self, node: Node) -> Value:
        """The value as its field's type understands it; as typed where that can't read it."""
        value = self.type.read(node, _tell_nobody)
        if value is None:
            return _as_typed(node)
        said = _plain(value)
        if self.unordered and isinstance(said, tuple):
            return tuple(sorted(said, key=natural_value))
        return said


@functools.cache
def _hearings(kind: str) -> Mapping[str, _Normaliser]:
    if kind not in KINDS:
        return {}
    given = {field.name: field.default for field in dataclasses.fields(KINDS[kind].record)}
    found: dict[str, _Normaliser] = {}
    for spec in KINDS[kind].specs.values():
        default = given.get(spec.attribute)
        # Which ports are dead is the same in any order; the names of ports are shown in theirs.
        unordered = isinstance(spec.type, Numbers) and spec.name != "named ports"
        said = _plain(default) if isinstance(default, (str, bool)) else None
        found[spec.name] = _Normaliser(spec.type, unordered, said)
    return found


def _plain(value: Any) -> Value:
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Quantity):
        return f"{_number(value.value)} {value.unit}"
    if isinstance(value, Spot):
        return f"{_number(Decimal(repr(value.x)))} m, {_number(Decimal(repr(value.y)))} m"
    if isinstance(value, GridCell):
        return str(value)
    if isinstance(value, dt.date):
        return value.isoformat()
    if isinstance(value, Mapping):
        return {name: _plain(item) for name, item in value.items()}
    if isinstance(value, tuple):
        if len(value) == 2 and all(type(number) is int for number in value):
            low, high = value  # rack units
            return f"{low}" if low == high else f"{low}-{high}"
        return tuple(_plain(item) for item in value)
    return str(value)


def _number(value: Decimal) -> str:
    return f"{value.normalize():f}"


def _as_typed(node: Node) -> Value:
    if isinstance(node, SequenceNode):
        return tuple(_as_typed(item) for item in node.value)
    if isinstance(node, MappingNode):
        return {str(key.value): _as_typed(value) for key, value in node.value}
    return str(node.value)


def _tell_nobody(node: Node, code: str, message: str, hint: str) -> None:
    """What is wrong with old records is of no interest to their comparison."""
