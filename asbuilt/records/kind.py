"""What a kind of record is: a frozen dataclass whose fields say what they mean and who may read
them. The dataclass is the one place a field is declared; reading, the JSON Schema, the client
edition and the reference in the documentation all follow from it.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, ClassVar

from asbuilt.problem import Level, Place, Problem, nearest, quoted
from asbuilt.records.fields import FieldType, Listed, Port, Ports, Ref, Sighting, Text
from asbuilt.records.former_names import FORMER_NAMES, name_today
from asbuilt.yamltext import Node
from asbuilt.yamltext import place_of as node_place


class Audience(StrEnum):
    """Who may read: engineers only, or the client too. Whatever isn't declared is internal."""

    INTERNAL = "internal"
    CLIENT = "client"


@dataclass(frozen=True, slots=True)
class Raw:
    """A record as it stands in its file: its kind, its key and the nodes of its fields."""

    kind: str
    key: str
    fields: Mapping[str, Node]
    path: str
    node: Node

    @property
    def place(self) -> Place:
        return node_place(self.path, self.node)

    def by_todays_names(self) -> Raw:
        """The same record, each field under the name it has today. A field that also stands under
        today's name keeps its former one, so that neither value is lost."""
        former = FORMER_NAMES.get(self.kind, {})
        if not any(name in self.fields for name in former):
            return self
        fields = {
            name if (today := former.get(name, name)) in self.fields else today: node
            for name, node in self.fields.items()
        }
        return dataclasses.replace(self, fields=fields)


@dataclass(frozen=True, slots=True)
class Spec:
    """One field of a kind."""

    name: str  # as typed in YAML: words with spaces
    attribute: str  # as in Python: underscores
    type: FieldType[Any]
    meaning: str
    audience: Audience
    required: bool

    @property
    def refers_to(self) -> str | None:
        """The kind of record this field names by key, if it does."""
        inner = self.type.of if isinstance(self.type, Listed) else self.type
        return inner.kind if isinstance(inner, Ref) else None

    @property
    def names_ports(self) -> bool:
        return isinstance(self.type, (Port, Ports))


def fact(
    type: FieldType[Any],
    meaning: str,
    *,
    client: bool = False,
    required: bool = False,
    many: bool = False,
    default: Any = None,
) -> Any:
    """A field of a record. `client` declares it readable by the client; `required` fields must
    be, since a record can't be built without them in either edition."""
    metadata = {
        "type": type,
        "meaning": meaning,
        "audience": Audience.CLIENT if client else Audience.INTERNAL,
        "required": required,
    }
    if required:
        return field(metadata=metadata, kw_only=True)
    return field(default=() if many else default, metadata=metadata, kw_only=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """What every record has."""

    #: One sentence on what the record is, for the schema and the documentation.
    about: ClassVar[str] = ""

    key: str
    raw: Raw = field(compare=False, repr=False)
    internal: str | None = fact(Text("a note"), "A note for engineers.")
    note: str | None = fact(Text("a note"), "A note the client may read too.", client=True)
    seen: Any = fact(Sighting(), "When this was last verified on site, and by whom.", client=True)

    @property
    def place(self) -> Place:
        return self.raw.place

    def place_of(self, name: str) -> Place:
        """Where a field stands in its file; the record itself when it isn't written."""
        node = self.raw.fields.get(name)
        return self.raw.place if node is None else node_place(self.raw.path, node)

    def remark(self, name: str, code: str, message: str, hint: str = "") -> Problem:
        return Problem(self.place_of(name), code, message, hint, Level.REMARK)

    def error(self, name: str, code: str, message: str, hint: str = "") -> Problem:
        return Problem(self.place_of(name), code, message, hint)


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of record: its name in the trade's words, its dataclass, who may read it at all.

    `declared` names the flag by which a single record of an internal kind is opened to the
    client.
    """

    name: str
    record: type[Record]
    plural: str
    audience: Audience = Audience.INTERNAL
    declared: str | None = None
    specs: Mapping[str, Spec] = field(init=False, repr=False)
    required: tuple[Spec, ...] = field(init=False, repr=False)
    pointing: tuple[Spec, ...] = field(init=False, repr=False)  # at other records, or at ports

    def __post_init__(self) -> None:
        specs = specs_of(self.record)
        object.__setattr__(self, "specs", specs)
        object.__setattr__(self, "required", tuple(s for s in specs.values() if s.required))
        pointing = tuple(s for s in specs.values() if s.refers_to or s.names_ports)
        object.__setattr__(self, "pointing", pointing)

    @property
    def about(self) -> str:
        return self.record.about


def specs_of(record: type[Record]) -> dict[str, Spec]:
    found: dict[str, Spec] = {}
    for entry in dataclasses.fields(record):
        if "type" not in entry.metadata:
            continue
        name = entry.name.removesuffix("_").replace("_", " ")
        found[name] = Spec(
            name,
            entry.name,
            entry.metadata["type"],
            entry.metadata["meaning"],
            entry.metadata["audience"],
            entry.metadata["required"],
        )
    return found


def read_record(
    kind: Kind, raw: Raw, sections: Iterable[str] = ()
) -> tuple[Record | None, list[Problem]]:
    """The typed record, with all that is wrong in it. A field that can't be read is left out of
    the record; a record without a required field is none. `sections` are names that hold other
    records in the same file: a misspelt one may be meant."""
    problems: list[Problem] = []

    def tell(node: Node, code: str, message: str, hint: str) -> None:
        problems.append(Problem(node_place(raw.path, node), code, message, hint))

    values: dict[str, Any] = {}
    meant: set[str] = set()
    specs = kind.specs
    for name, node in raw.fields.items():
        spec = specs.get(name)
        if spec is None:
            problem, close = _unknown(kind, raw, name, node, sections)
            problems.append(problem)
            meant.add(close or "")
            continue
        value = spec.type.read(node, tell)
        if value is not None:
            values[spec.attribute] = value
    missing = [spec for spec in kind.required if spec.attribute not in values]
    for spec in missing:
        # A field that is there but can't be read, or is there by a misspelt name, is told already.
        if spec.name not in raw.fields and spec.name not in meant:
            message = f"{name_of(raw)} has no “{spec.name}”"
            hint = f"add it: {spec.meaning.rstrip('.')}"
            problems.append(Problem(raw.place, "field-missing", message, hint))
    if missing:
        return None, problems
    return kind.record(key=raw.key, raw=raw, **values), problems


def name_of(raw: Raw) -> str:
    """A record as a sentence names it; a site and a line of results have no key to call them by."""
    return {"site": "the site", "test": "this result"}.get(raw.kind, f"{raw.kind} {raw.key}")


def _unknown(
    kind: Kind, raw: Raw, name: str, node: Node, sections: Iterable[str]
) -> tuple[Problem, str | None]:
    """What to say of a field no record of the kind has, and the field that was meant, if any."""
    message = f"{name_of(raw)} has an unknown {quoted(name)}"
    today = name_today(kind.name, name)
    if today:
        hint = f"it is called “{today}” now"
        return Problem(node_place(raw.path, node), "unknown-key", message, hint), today
    known = (*kind.specs, *sections)
    close = nearest(name, [known_name for known_name in known if known_name not in raw.fields])
    hint = f"did you mean “{close}”?" if close else f"known are: {', '.join(sorted(known))}"
    return Problem(node_place(raw.path, node), "unknown-key", message, hint), close
