"""What is to become of the records, as plain values: the language requests are put in.

Field values are texts as they would be typed; ports are written in full (`1A/A/01`), however
short the file itself may write them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

from asbuilt.edits.yaml_values import Said


@dataclass(frozen=True, slots=True)
class SetFields:
    """A field is to say something else; with None it isn't written any more."""

    kind: str
    key: str
    field: str
    said: Said | None


@dataclass(frozen=True, slots=True)
class AddRecord:
    """A new record. What is mounted says with `face` and `at` where, a cord with its key."""

    kind: str
    key: str
    fields: Mapping[str, Said]


@dataclass(frozen=True, slots=True)
class RemoveRecord:
    kind: str
    key: str


@dataclass(frozen=True, slots=True)
class Relocate:
    """A mounted thing or a cord goes to another place, under its key there; whatever else its
    line says goes with it. `face` and `at` are for what is mounted."""

    kind: str
    key: str
    to: str
    face: str | None = None
    at: str | None = None


Wish: TypeAlias = SetFields | AddRecord | RemoveRecord | Relocate


class Refusal(Exception):
    """A request that can't be met: what stands in its way, what would be right."""

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message, hint)
        self.message = message
        self.hint = hint

    def __str__(self) -> str:
        return f"{self.message}; {self.hint}" if self.hint else self.message
