"""The JSON Schema (2020-12) of each kind of record file, so that an editor completes and checks
while one types. They follow from the same declarations as the reader.

They describe what a YAML 1.2 editor makes of a file. What one file can't tell (does the room
exist, is the port taken, does the range run upwards) is left to `asbuilt check`.
"""

from __future__ import annotations

import dataclasses
import json
from typing import Any, Final

from asbuilt.records.fields import KEY, Schema
from asbuilt.records.kind import Audience, Kind, Record, Spec, specs_of
from asbuilt.records.kinds import KINDS
from asbuilt.records.layout import FACES, ROLES, SITE_SECTIONS, TABLES

DIALECT: Final = "https://json-schema.org/draft/2020-12/schema"
_KEY: Final = f"^{KEY.pattern}$"
_UNITS: Final = "^[0-9]{1,3}(?:-[0-9]{1,3})?$"
_PORT_INSIDE: Final = f"^(?:{KEY.pattern}/)?{KEY.pattern}/{KEY.pattern}$"
#: Fields the place in the file says, so that nobody types them.
SAID_BY_PLACE: Final = {"cord": {"from"}} | {role: {"face", "at"} for role in ROLES}


def schemas() -> dict[str, Schema]:
    """One document for each kind of file, by the name it is written under."""
    documents = {
        "site": _site(),
        "enclosure": _enclosure(),
        "job": _file("jobs/<key>.yml", KINDS["job"]),
        **{name: _table(name, KINDS[kind]) for name, kind in TABLES.items()},
    }
    return {
        f"{name}.schema.json": {
            "$schema": DIALECT,
            "$id": f"urn:asbuilt:schema:{name}",
            **documents[name],
        }
        for name in sorted(documents)
    }


def schema_texts() -> dict[str, str]:
    """The same as texts to write to disk."""
    return {
        name: json.dumps(schema, indent=2, ensure_ascii=False) + "\n"
        for name, schema in schemas().items()
    }


def _file(title: str, kind: Kind) -> Schema:
    """A file that is one record."""
    return {"title": title, **_record(kind)}


def _table(name: str, kind: Kind) -> Schema:
    """A file that is a table of records. An empty one is fine while a site is surveyed."""
    return {
        "title": f"{name}.yml",
        "description": f"One line each, under its key. {kind.about}",
        **_keyed(_KEY, _ref(kind)),
        "$defs": {_slug(kind): _record(kind)},
    }


def _site() -> Schema:
    site = _file("site.yml", KINDS["site"])
    sections = {section: KINDS[kind] for section, kind in SITE_SECTIONS.items()}
    site["properties"] |= {
        section: {"description": f"Each under its key. {kind.about}"} | _keyed(_KEY, _ref(kind))
        for section, kind in sections.items()
    }
    site["$defs"] = {_slug(kind): _record(kind) for kind in sections.values()}
    return site


def _enclosure() -> Schema:
    enclosure = _file("enclosures/<key>.yml", KINDS["enclosure"])
    item: Schema = {"$ref": "#/$defs/item"}
    for section, face in FACES.items():
        if face == "none":
            enclosure["properties"][section] = {
                "description": "What is mounted but takes no rack unit.",
                "type": ["array", "null"],
                "items": item,
            }
        else:
            enclosure["properties"][section] = {
                "description": f"What is mounted on the {face}, by rack unit: 12, or 9-10 for a "
                "thing two units high. Things that share a unit are a list.",
                **_keyed(_UNITS, {"anyOf": [item, {"type": "array", "items": item}]}),
            }
    enclosure["properties"]["patching"] = {
        "description": "One line a cord, under the port it leaves from: A/01: {to: SW1/01}.",
        **_keyed(_PORT_INSIDE, {"$ref": "#/$defs/cord"}),
    }
    enclosure["$defs"] = {
        "item": {"type": "object", "oneOf": [_ref(KINDS[role]) for role in ROLES]},
        **{_slug(KINDS[role]): _item(KINDS[role]) for role in ROLES},
        "cord": _cord(),
    }
    return enclosure


def _item(kind: Kind) -> Schema:
    """A closed object that begins with the word for what it is: `{panel: A, ports: 24}`."""
    record = _record(kind)
    key: Schema = {
        "description": f"Its key within the enclosure. {kind.about}",
        "type": ["string", "number"],
        "minimum": 0,
        "pattern": _KEY,
        "examples": ["A"],
    }
    return record | {
        "properties": {kind.name: key, **record["properties"]},
        "required": [kind.name, *record.get("required", [])],
    }


def _cord() -> Schema:
    cord = _record(KINDS["cord"])
    cord["properties"]["to"] |= {"pattern": _PORT_INSIDE, "examples": ["SW1/01", "1B/A/01"]}
    return cord


def _keyed(keys: str, values: Schema) -> Schema:
    return {
        "type": ["object", "null"],
        "propertyNames": {"pattern": keys},
        "additionalProperties": values,
    }


def _record(kind: Kind) -> Schema:
    by_place = SAID_BY_PLACE.get(kind.name, set())
    typed = [spec for spec in own_first(kind) if spec.name not in by_place]
    required = [spec.name for spec in typed if spec.required]
    record: Schema = {
        "description": kind.about,
        "type": "object",
        "properties": {spec.name: _field(kind, spec) for spec in typed},
        "additionalProperties": False,
    }
    return record | ({"required": required} if required else {})


def _field(kind: Kind, spec: Spec) -> Schema:
    default = _default(kind, spec)
    return {
        "description": f"{spec.meaning} {who_reads(kind, spec)}",
        **spec.type.schema(),
        **({} if default is None else {"default": default}),
    }


def who_reads(kind: Kind, spec: Spec) -> str:
    """The audience of a field as a sentence."""
    if spec.audience is not Audience.CLIENT:
        return "Engineers only."
    if kind.declared:
        return f"The client may read it where “{kind.declared}: yes” stands."
    return "The client may read it." if kind.audience is Audience.CLIENT else "Engineers only."


def own_first(kind: Kind) -> list[Spec]:
    """A kind's fields in reading order: what every record may have comes last."""
    general = specs_of(Record)
    return [
        *(spec for name, spec in kind.specs.items() if name not in general),
        *(spec for name, spec in kind.specs.items() if name in general),
    ]


def _default(kind: Kind, spec: Spec) -> Any:
    entry = {field.name: field for field in dataclasses.fields(kind.record)}[spec.attribute]
    if isinstance(entry.default, bool):
        return "yes" if entry.default else "no"
    return entry.default if isinstance(entry.default, (str, int)) else None


def _ref(kind: Kind) -> Schema:
    return {"$ref": f"#/$defs/{_slug(kind)}"}


def _slug(kind: Kind) -> str:
    return kind.name.replace(" ", "-")
