"""A value as YAML text.

The library decides what may stand without quotes; beyond that, a text is quoted where a reader of
YAML 1.1 or of YAML 1.2's core schema (YAML 1.2.2, 10.3.2) would see a number, a date, a yes or a
nothing in it, unless the field means just that.
"""

from __future__ import annotations

import io
import re
from collections.abc import Mapping
from functools import lru_cache
from typing import Any, Final, TypeAlias

import yaml

from asbuilt.records.fields import Count, Day, FieldType, Flag, Listed, Numbers, Units, Word
from asbuilt.records.kinds import KINDS

#: What a field says, as it would be typed.
Said: TypeAlias = str | tuple[str, ...] | Mapping[str, str]

_STR: Final = "tag:yaml.org,2002:str"
_NUMBER = re.compile(
    r"[-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+|[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?"
    r"|[-+]?\.(?:inf|Inf|INF)|\.(?:nan|NaN|NAN)"
)
_LETTER = ("y", "Y", "n", "N")  # YAML 1.1 lists them; not every reader of it does
_RESOLVER: Final = yaml.resolver.Resolver()
_ANALYST: Final = yaml.emitter.Emitter(io.StringIO(), allow_unicode=True)
#: Fields that mean a number, a date or a yes: what a reader sees in them is what is meant.
_MEANT = (Count, Day, Flag, Numbers, Units, Word)


def means_more(text: str) -> bool:
    """Whether some reader of YAML would take the plain text for something else than a text."""
    tag = _RESOLVER.resolve(yaml.ScalarNode, text, (True, False))  # type: ignore[no-untyped-call]
    return tag != _STR or text in _LETTER or _NUMBER.fullmatch(text) is not None


@lru_cache(maxsize=8192)
def scalar(text: str, bare: bool = False, quotes: str = "", *, line: bool = False) -> str:
    """`text` as a scalar that may stand anywhere, also between braces; with `line` only as the
    whole value of a line of its own, where a colon needs no quotes.

    `bare` leaves a number, a date or a yes without quotes; `quotes` are those that stood there
    before, which stay.
    """
    plain = _ANALYST.analyze_scalar(text)
    fits = (plain.allow_block_plain if line else plain.allow_flow_plain) and not plain.multiline
    if fits and not quotes and (bare or not means_more(text)):
        return text
    style = "'" if quotes == "'" and plain.allow_single_quoted and not plain.multiline else '"'
    return _quoted(text, style)


def _quoted(text: str, style: str) -> str:
    endless: Any = float("inf")
    node = yaml.ScalarNode(_STR, text, style=style)
    return yaml.serialize(node, allow_unicode=True, width=endless).rstrip("\n")


def value(kind: str, field: str, said: Said, quotes: str = "", *, line: bool = False) -> str:
    """The value of a field of a kind of record; lists and groups between brackets and braces."""
    bare = _is_meant(kind, field)
    if isinstance(said, str):
        return scalar(said, bare, quotes, line=line)
    if isinstance(said, tuple):
        return f"[{', '.join(scalar(text, bare) for text in said)}]"
    pairs = (f"{scalar(name, True)}: {scalar(text)}" for name, text in said.items())
    return f"{{{', '.join(pairs)}}}"


def record(kind: str, fields: Mapping[str, Said]) -> str:
    """The fields of a record between braces, in their order."""
    return f"{{{', '.join(pair(kind, name, said) for name, said in fields.items())}}}"


def pair(kind: str, field: str, said: Said, *, line: bool = False) -> str:
    return f"{scalar(field, True)}: {value(kind, field, said, line=line)}"


def _is_meant(kind: str, field: str) -> bool:
    spec = KINDS[kind].specs.get(field) if kind in KINDS else None
    if spec is None:
        return False
    inner: FieldType[Any] = spec.type.of if isinstance(spec.type, Listed) else spec.type
    return isinstance(inner, _MEANT)
