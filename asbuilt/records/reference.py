"""The reference of the records in Markdown: every kind and field, and what the client may read.

All text is ours, from the declarations, and holds no sign that means something in a table.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

from asbuilt.records.edition import ITEM_REST, OUTLET_REST, audience_table
from asbuilt.records.enclosures import Device, Item
from asbuilt.records.fields import (
    Count,
    Day,
    FieldType,
    Flag,
    Listed,
    Measure,
    Numbers,
    Period,
    Port,
    Ports,
    PortTexts,
    Ref,
    Sighting,
    SpotOnPlan,
    Text,
    Units,
    WebAddress,
    Word,
)
from asbuilt.records.kind import Audience, Kind, Record, Spec, specs_of
from asbuilt.records.kinds import ALL_KINDS
from asbuilt.records.layout import FACES, ROLES, SITE_SECTIONS, TABLES
from asbuilt.records.links import WITHHELD
from asbuilt.records.quantity import UNITS
from asbuilt.records.schema import SAID_BY_PLACE, own_first

_GENERAL: Final = specs_of(Record)
_MOUNTED: Final = specs_of(Item)
_BY_PLACE: Final = ("face", "at")


def reference_markdown() -> str:
    """Both tables under their headings, in the order of the files."""
    return f"## Records, kind by kind\n\n{kinds_markdown()}\n\n{client_markdown()}"


def kinds_markdown() -> str:
    """A table for each kind: what may be written, what it means, who may read it. What several
    kinds share comes first, once."""
    every = _table("Every record", "These may stand in any record.", None, _GENERAL.values())
    mounted = [spec for spec in _MOUNTED.values() if spec.name not in (*_GENERAL, *_BY_PLACE)]
    items = _table("Every mounted thing", "These may stand in whatever is mounted.", None, mounted)
    return "\n\n".join((every, items, *(_kind(kind) for kind in ALL_KINDS)))


def client_markdown() -> str:
    """Every field of every kind of record and who reads it: a line a kind."""
    rows = [
        f"| {kind.name} | {_opened(kind)} | {_fields(kind, Audience.CLIENT)} | "
        f"{_fields(kind, Audience.INTERNAL)} |"
        for kind in ALL_KINDS
    ]
    return "\n".join(
        (
            "## What the client may read",
            "",
            "Everything is for engineers only unless the client is named. Comments in the files, "
            "names of files, and who committed what and why are for engineers as well.",
            "",
            "| kind | shown to the client | the client reads | only engineers read |",
            "|---|---|---|---|",
            *rows,
            "",
            f"An outlet that serves a {_or(WITHHELD)}, or says `withhold: yes`, is shown as a "
            f"device: only its {_and(OUTLET_REST)} are kept, so that counts still add up. "
            "Of a mounted `device` that doesn't say `withhold: no`, and of any other mounted item "
            "that says `withhold: yes`, only place and ports are shown: "
            f"{_and(ITEM_REST)}. Both get a key that says where they are and nothing else.",
            "",
            "What is about withheld things only is not shown, even where it is shared with the "
            "client. In all other texts a key or label that names a withheld thing reads “device”, "
            "in upper or lower case and with any characters between its parts. A photo names its "
            "finding or job only where that is shared too.",
            "",
            "The same holds for the past. What today's records withhold or don't share is left out "
            "of every older revision. If a thing no longer exists, its last record decides. What a "
            "revision withheld at its time stays withheld in it, and its names read “device”.",
            "",
        )
    )


def _kind(kind: Kind) -> str:
    shared = _MOUNTED if kind.name in ROLES else _GENERAL
    by_place = SAID_BY_PLACE.get(kind.name, set())
    own = [s for s in kind.specs.values() if s != shared.get(s.name) and s.name not in by_place]
    return _table(kind.name, f"{kind.about} {_stands(kind)}", kind, own)


def _table(title: str, about: str, kind: Kind | None, specs: Iterable[Spec]) -> str:
    lines = [f"### {title}", "", about]
    rows = [
        f"| `{spec.name}` | {spec.meaning} | {written(spec.type)} | "
        f"{'yes' if spec.required else ''} | {_reader(kind, spec)} |"
        for spec in specs
    ]
    if rows:
        lines += ["", "| field | meaning | what is written | needed | who may read it |"]
        lines += ["|---|---|---|---|---|", *rows]
    return "\n".join(lines)


def written(type_: FieldType[Any]) -> str:
    """What one writes for a value of a type, in words."""
    match type_:
        case Text(what=what):
            return what
        case Word(words=words):
            return f"one of: {', '.join(words)}"
        case Flag():
            return "yes or no"
        case Count(low=low, high=high):
            return f"a whole number from {low} to {high}"
        case Measure(dimension=dimension, example=example):
            return f"{_an(dimension)} with its unit, like `{example}` ({_or([*UNITS[dimension]])})"
        case WebAddress():
            return "the address of a folder of pages, like `https://records.example.com/north`"
        case Day():
            return "a date, like `2025-03-07`"
        case Period():
            return "from when to when, like `2025-03-07 18:00 to 22:00`"
        case Sighting():
            return "a date and a name, like `2025-03-07 by A. Name`"
        case SpotOnPlan():
            return (
                "metres from the plan's lower left corner, like `4.2 m, 1.5 m`, "
                "or a cell of the plan's grid, like `C4`"
            )
        case Ref(kind=kind):
            return {
                "item": "a mounted thing, like `1A/A`",
                "link": "the key of an outlet or a backbone",
            }.get(kind, f"the key of {_an(kind)}")
        case Port():
            return "a port, like `1A/A/01`"
        case Ports():
            return "a port, a range (`1A/F/01-06`) or a list of them"
        case Numbers():
            return "port numbers and names, like `[3, 13-18, WAN]`"
        case Units():
            return "rack units, like `12` or `9-10`"
        case Listed(of=of):
            return f"{written(of)}, or a list of them"
        case PortTexts():
            return "port and text, like `{1: room 4, 2: room 4}`"
    raise TypeError(f"no words for {type_}")


def _stands(kind: Kind) -> str:
    """Where such a record stands."""
    sections = {held: section for section, held in SITE_SECTIONS.items()}
    tables = {held: table for table, held in TABLES.items()}
    if kind.name in ROLES:
        faces = ", ".join(f"`{section}`" for section in FACES)
        return (
            f"In `enclosures/<key>.yml` under {faces}, beginning with `{kind.name}:` and its key."
        )
    if kind.name in sections:
        return f"In `site.yml` under `{sections[kind.name]}`, each under its key."
    if kind.name in tables:
        name = tables[kind.name]
        return f"In `{name}.yml`, or in several files under `{name}/`, each under its key."
    return {
        "site": "The top of `site.yml`.",
        "enclosure": "The top of `enclosures/<key>.yml`.",
        "cord": "In `enclosures/<key>.yml` under `patching`, each under the port it leaves from.",
        "job": "The file `jobs/<key>.yml`.",
        "test": "A line of a file `tests/*.csv`, whose first line names the columns.",
    }[kind.name]


def _reader(kind: Kind | None, spec: Spec) -> str:
    """The client reads a field only if the record may be read."""
    if spec.audience is not Audience.CLIENT:
        return "engineers"
    if kind is not None and kind.declared:
        return f"the client, if `{kind.declared}: yes`"
    closed = kind is not None and kind.audience is not Audience.CLIENT
    return "engineers" if closed else "the client"


def _opened(kind: Kind) -> str:
    if kind.declared:
        return f"if `{kind.declared}: yes`"
    if kind.name == Device.role:
        return "if `withhold: no`"
    return "yes" if kind.audience is Audience.CLIENT else "no"


def _fields(kind: Kind, audience: Audience) -> str:
    """The fields these may read where it is the client, or nobody else where it is engineers."""
    readers = audience_table()[kind.name]
    names = [spec.name for spec in own_first(kind) if readers[spec.name] is audience]
    return ", ".join(names) or "nothing"


def _an(noun: str) -> str:
    return f"an {noun}" if noun[0] in "aeiou" else f"a {noun}"


def _and(words: tuple[str, ...]) -> str:
    return " and ".join((", ".join(words[:-1]), words[-1]))


def _or(words: list[str] | tuple[str, ...]) -> str:
    return " or ".join((", ".join(words[:-1]), words[-1])) if len(words) > 1 else words[0]
