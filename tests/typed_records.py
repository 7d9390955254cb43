"""Records as somebody might type them: texts of files made from the declared kinds and fields, so
that a new field is covered the day it is declared. And what an editor makes of such a text.
"""

from __future__ import annotations

import csv
import io
import json
import re
from collections.abc import Mapping
from typing import Any

import yaml
from hypothesis import strategies as st

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
    is_web_address,
)
from asbuilt.records.kind import Kind
from asbuilt.records.layout import ROLES, SITE_SECTIONS, TABLES
from asbuilt.records.quantity import UNITS

Typed = str  # a value as it stands after “name: ”, in YAML's flow style


class EditorLoader(yaml.SafeLoader):
    """YAML 1.2 core schema (YAML 1.2.2, chapter 10.3.2), as far as plain scalars go."""


EditorLoader.yaml_implicit_resolvers = {}
for tag, pattern, first in (
    ("null", r"~|null|Null|NULL|", ["~", "n", "N", ""]),
    ("bool", r"true|True|TRUE|false|False|FALSE", list("tTfF")),
    ("int", r"[-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+", list("-+0123456789")),
    (
        "float",
        r"[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?|[-+]?\.(?:inf|Inf|INF)"
        r"|\.(?:nan|NaN|NAN)",
        list("-+.0123456789"),
    ),
):
    EditorLoader.add_implicit_resolver(
        f"tag:yaml.org,2002:{tag}", re.compile(rf"(?:{pattern})\Z"), first
    )


def _int(loader: EditorLoader, node: yaml.ScalarNode) -> int:
    text = str(node.value)
    return int(text, 0) if text[:2] in ("0o", "0x") else int(text, 10)


def _mapping(loader: EditorLoader, node: yaml.MappingNode) -> dict[str, Any]:
    """An editor holds a property's name as the text that was typed."""
    return {str(key.value): loader.construct_object(value, deep=True) for key, value in node.value}


EditorLoader.add_constructor("tag:yaml.org,2002:int", _int)
EditorLoader.add_constructor("tag:yaml.org,2002:map", _mapping)


def as_editor_sees(text: str) -> Any:
    return yaml.load(text, Loader=EditorLoader)


def as_spreadsheet(fields: Mapping[str, Typed]) -> str:
    """One record as the only row of a list, as a spreadsheet writes it (RFC 4180)."""
    sheet = io.StringIO(newline="")
    row = [str(as_editor_sees(value)) for value in fields.values()]
    csv.writer(sheet).writerows([[*fields], row])
    return sheet.getvalue()


_PLAIN = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9 ./+%_-]*[A-Za-z0-9/+%_-])?")
_NO_TEXTS = {"true", "false", "null"}


def typed(text: str) -> Typed:
    """A text as one types it: plain where that reads back as the same text, else in quotes."""
    if _PLAIN.fullmatch(text) and text.lower() not in _NO_TEXTS:
        return text
    return "".join(
        f"\\U{ord(c):08X}" if ord(c) > 0xFFFF else json.dumps(c)[1:-1] for c in text
    ).join('""')


def flow(fields: Mapping[str, Typed]) -> Typed:
    return "{" + ", ".join(f"{typed(name)}: {value}" for name, value in fields.items()) + "}"


def file_of(kind: Kind, key: str, fields: Mapping[str, Typed]) -> tuple[str, str]:
    """The path within a site and the text of the smallest file that holds this one record."""
    name = kind.name
    if name in ("site", "enclosure", "job"):
        path = {"site": "site.yml", "job": f"jobs/{key}.yml"}.get(name, f"enclosures/{key}.yml")
        return path, "".join(f"{typed(field)}: {value}\n" for field, value in fields.items())
    if name in ROLES:
        own = {name: typed(key), **fields}
        return "enclosures/1A.yml", f"height: 42 U\nfront:\n  12: {flow(own)}\n"
    if name == "cord":
        return "enclosures/1A.yml", f"height: 42 U\npatching:\n  {typed(key)}: {flow(fields)}\n"
    for table, held in TABLES.items():
        if held == name:
            return f"{table}.yml", f"{typed(key)}: {flow(fields)}\n"
    for section, held in SITE_SECTIONS.items():
        if held == name:
            return "site.yml", f"name: Harbour Lane\n{section}:\n  {typed(key)}: {flow(fields)}\n"
    raise AssertionError(f"no YAML file holds a {name}")


KEYS = st.from_regex(r"[A-Za-z0-9][A-Za-z0-9._+-]{0,6}[A-Za-z0-9]", fullmatch=True)
_PORT_NAMES = st.one_of(st.integers(1, 48).map(lambda n: f"{n:02}"), st.sampled_from(("WAN", "L1")))
_NUMBERS = st.one_of(
    st.integers(0, 99999).map(str),
    st.tuples(st.integers(0, 9999), st.integers(0, 999999)).map(lambda n: f"{n[0]}.{n[1]}"),
)
_DAYS = st.dates().map(str)
_CLOCKS = st.times().map(lambda time: f"{time:%H:%M}")
_TEXTS = st.one_of(
    st.text(
        st.characters(exclude_categories=["Cc", "Cs"], exclude_characters="\ufffe\uffff")
    ).filter(
        lambda text: bool(text.replace("\ufeff", "").strip())  # blank to ECMA-262, not to Python
    ),
    st.sampled_from(("12", "1.10", "012", "yes", "No", "22:22", "-3", "1e3", "2025-03-07", "a: b")),
)


def values(type_: FieldType[Any]) -> st.SearchStrategy[Typed]:
    """Values a reader of this type takes, as typed."""
    match type_:
        case Text():
            return _TEXTS.map(typed)
        case Word(words=words):
            return st.sampled_from(words).map(typed)
        case Flag():
            return st.sampled_from(("yes", "no"))
        case Count(low=low, high=high):
            numbers = st.integers(low, high)
            return st.one_of(numbers.map(str), numbers.map(lambda number: f'"{number}"'))
        case Measure(dimension=dimension):
            return _measures(dimension).map(typed)
        case WebAddress():
            return (
                st.from_regex(
                    r"https?://[a-z0-9.-]{1,20}(:[0-9]{1,5})?(/[A-Za-z0-9._~%+-]{1,9}){0,3}/?",
                    fullmatch=True,
                )
                .filter(is_web_address)
                .map(typed)
            )
        case Day():
            return _DAYS
        case Period():
            return (
                st.tuples(_DAYS, _CLOCKS, st.just("9999-12-31"), _CLOCKS)
                .filter(lambda parts: parts[0] < parts[2])
                .map(lambda parts: typed(f"{parts[0]} {parts[1]} to {parts[2]} {parts[3]}"))
            )
        case Sighting():
            return _DAYS.map(lambda day: typed(f"{day} by Mara Quist"))
        case SpotOnPlan():
            metres = _measures("length")
            in_metres = st.tuples(metres, metres).map(lambda spot: f"{spot[0]}, {spot[1]}")
            return (in_metres | st.sampled_from(("A1", "C4", "Z99"))).map(typed)
        case Ref(kind="item"):
            return st.tuples(KEYS, KEYS).map(lambda keys: typed("/".join(keys)))
        case Ref():
            return KEYS.map(typed)
        case Port():
            return _ports()
        case Ports():
            several = st.lists(_ports(), min_size=1, max_size=3, unique_by=str.casefold)
            return st.one_of(_ports(), several.map(_list), st.just("1A/F/01-06"))
        case Numbers():
            one = st.one_of(_PORT_NAMES, st.just("13-18"), st.just("13 - 18"))
            return st.one_of(one, st.lists(one, max_size=4).map(_list))
        case Units():
            return st.sampled_from(("12", "9-10", "042"))
        case Listed(of=of):
            return st.one_of(values(of), st.lists(values(of), max_size=3).map(_list))
        case PortTexts():
            return st.dictionaries(st.integers(1, 48).map(str), _TEXTS.map(typed), max_size=3).map(
                flow
            )
    raise AssertionError(f"no values are made for {type_}")


def records(kind: Kind) -> st.SearchStrategy[dict[str, Typed]]:
    """The fields of a record, as typed, any of those that may be left out left out."""
    typed_fields = {name: spec for name, spec in kind.specs.items() if not by_place(kind, name)}
    return st.fixed_dictionaries(
        {name: values(spec.type) for name, spec in typed_fields.items() if spec.required},
        optional={name: values(s.type) for name, s in typed_fields.items() if not s.required},
    )


def by_place(kind: Kind, field: str) -> bool:
    """Whether a field is said by where a record stands in its file, and never typed."""
    return (
        field in ("face", "at") if kind.name in ROLES else kind.name == "cord" and field == "from"
    )


def needed(kind: Kind) -> dict[str, Typed]:
    """The fewest fields a record of this kind can have."""
    return {
        name: ANY[type(spec.type)](spec.type)
        for name, spec in kind.specs.items()
        if spec.required and not by_place(kind, name)
    }


ANY: dict[type, Any] = {
    Text: lambda _: "something",
    Word: lambda word: typed(word.words[0]),
    Flag: lambda _: "yes",
    Count: lambda count: str(count.low + 2),
    Measure: lambda measure: typed(measure.example),
    Port: lambda _: "1A/A/01",
    Ports: lambda _: "1A/A/01",
    Day: lambda _: "2025-03-07",
    Ref: lambda _: "K1",
}


def _measures(dimension: str) -> st.SearchStrategy[str]:
    units = st.sampled_from(tuple(UNITS[dimension]))
    parts = st.tuples(_NUMBERS, st.sampled_from(("", " ", "  ")), units)
    return parts.map("".join)


def _ports() -> st.SearchStrategy[Typed]:
    return st.tuples(KEYS, KEYS, _PORT_NAMES).map(lambda parts: typed("/".join(parts)))


def _list(items: list[Typed]) -> Typed:
    return f"[{', '.join(items)}]"
