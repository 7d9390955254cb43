"""The types a field of a record can have: each reads the text that was typed, and says what
would be right where it can't.

A reader returns the value, or None after telling what is wrong. No implicit YAML type is used:
`no`, `012` and `22:22` reach the declared type as they were typed.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final, Protocol, TypeVar

from asbuilt.problem import quoted, suggestion
from asbuilt.records.quantity import UNITS, Quantity, read_quantity
from asbuilt.yamltext import MappingNode, Node, ScalarNode, SequenceNode, is_nothing, scalar_like

T_co = TypeVar("T_co", covariant=True)
Schema = dict[str, Any]

#: Tells one problem: (where, code, message, hint).
Tell = Callable[[Node, str, str, str], None]

KEY: Final = re.compile(r"[A-Za-z0-9](?:[A-Za-z0-9._+-]{0,38}[A-Za-z0-9_+])?")
_KEYS = re.compile(f"{KEY.pattern}(?:/{KEY.pattern})*")
KEY_RULE: Final = "a key has letters, digits and . _ + - only, 40 at most, none of .+- at its ends"
MAX_TEXT: Final = 4000
MAX_PORTS: Final = 1000  # no cable has so many ends, no panel so many ports
_CONTROLS: Final = r"\u0000-\u0008\u000b-\u001f\u007f-\u009f"  # tabs and newlines may stand
_DATE: Final = r"[0-9]{4}-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12][0-9]|3[01])"
_CLOCK: Final = r"(?:[01][0-9]|2[0-3]):[0-5][0-9]"
_NUMBER_RANGE = re.compile(r"([0-9]{1,4})\s*-\s*([0-9]{1,4})")
_CONTROL = re.compile(f"[{_CONTROLS}]")


class FieldType(Protocol[T_co]):
    """What a field holds: how it is read, and what an editor is told of it.

    The schema is of what YAML 1.2 makes of the text: `24` and `1.10` are numbers; `yes`, `12 U`,
    `9-10` and `2025-03-07` stay texts. (Nobody labels a thing `true`, and an editor told that it
    may stand would propose it everywhere.)
    """

    def read(self, node: Node, tell: Tell) -> T_co | None: ...

    def schema(self) -> Schema: ...


def scalar(node: Node, tell: Tell, what: str) -> str | None:
    """The text of a single value, or None after telling that it is none."""
    if not isinstance(node, ScalarNode):
        shape = "a list" if isinstance(node, SequenceNode) else "a group of names"
        tell(node, "wrong-type", f"{shape} stands where {what} should", "write one value")
        return None
    text: str = node.value
    if is_nothing(node) or not text or text.isspace():
        tell(node, "empty", "nothing is written here", f"write {what}, or leave the field out")
        return None
    return text


@dataclass(frozen=True, slots=True)
class Text:
    """Free text, as printed or said; any character but controls."""

    what: str = "a text"

    def read(self, node: Node, tell: Tell) -> str | None:
        text = scalar(node, tell, self.what)
        if text is None:
            return None
        if len(text) > MAX_TEXT:
            hint = f"it may have {MAX_TEXT} at most"
            tell(node, "too-long", f"the text has {len(text)} characters", hint)
            return None
        if _CONTROL.search(text):
            tell(node, "control-character", "a control character stands in the text", "delete it")
            return None
        return text.strip()

    def schema(self) -> Schema:
        return {
            "type": ["string", "number"],
            "maxLength": MAX_TEXT,
            "pattern": rf"^[^{_CONTROLS}\S]*[^{_CONTROLS}\s][^{_CONTROLS}]*$",
        }


@dataclass(frozen=True, slots=True)
class Word:
    """One word of a fixed list."""

    words: tuple[str, ...]
    what: str = "a word"

    def read(self, node: Node, tell: Tell) -> str | None:
        text = scalar(node, tell, self.what)
        if text is None or text in self.words:
            return text
        hint = suggestion(text, self.words, f"it is one of: {', '.join(self.words)}")
        what = self.what.removeprefix("a ").replace("word", "word that can stand here")
        tell(node, "unknown-word", f"{quoted(text)} is no {what}", hint)
        return None

    def schema(self) -> Schema:
        listed: list[str | int] = list(self.words)
        listed += [int(word) for word in self.words if word.isdigit()]
        return {"enum": listed}


@dataclass(frozen=True, slots=True)
class Flag:
    """yes or no."""

    def read(self, node: Node, tell: Tell) -> bool | None:
        text = scalar(node, tell, "yes or no")
        if text is None:
            return None
        if text not in ("yes", "no"):
            tell(node, "wrong-type", f"{quoted(text)} is neither yes nor no", "write yes or no")
            return None
        return text == "yes"

    def schema(self) -> Schema:
        return {"enum": ["yes", "no"]}


@dataclass(frozen=True, slots=True)
class Count:
    """A whole number."""

    low: int = 0
    high: int = 9999

    def read(self, node: Node, tell: Tell) -> int | None:
        text = scalar(node, tell, "a whole number")
        if text is None:
            return None
        hint = f"write a whole number from {self.low} to {self.high}"
        if not re.fullmatch(r"[0-9]+", text):
            tell(node, "wrong-type", f"{quoted(text)} is no whole number", hint)
            return None
        number = int(text) if len(text) < 10 else None
        if number is None or not self.low <= number <= self.high:
            tell(node, "out-of-range", f"{quoted(text)} is out of range", hint)
            return None
        return number

    def schema(self) -> Schema:
        return {
            "type": ["integer", "string"],
            "minimum": self.low,
            "maximum": self.high,
            "pattern": "^[0-9]{1,9}$",
        }


@dataclass(frozen=True, slots=True)
class Measure:
    """A number with its unit; a `signed` one may be less than nothing, as a margin may."""

    dimension: str
    example: str
    signed: bool = False

    def read(self, node: Node, tell: Tell) -> Quantity | None:
        text = scalar(node, tell, f"a {self.dimension}")
        if text is None:
            return None
        quantity = read_quantity(text, self.dimension, self.signed)
        if isinstance(quantity, str):
            code = "unit-missing" if quantity.endswith("no unit") else "wrong-type"
            units = ", ".join(UNITS[self.dimension])
            tell(node, code, quantity, f"write it like “{self.example}” (units: {units})")
            return None
        return quantity

    def schema(self) -> Schema:
        sign = "-?" if self.signed else ""
        pattern = rf"^\s*{sign}{_measure(self.dimension)}\s*$"
        return {"type": "string", "pattern": pattern, "examples": [self.example]}


def _measure(dimension: str) -> str:
    units = "|".join(UNITS[dimension])
    return rf"[0-9]{{1,9}}(?:\.[0-9]{{1,6}})?\s*(?:{units})"


@dataclass(frozen=True, slots=True)
class Day:
    """A date, year first."""

    def read(self, node: Node, tell: Tell) -> dt.date | None:
        text = scalar(node, tell, "a date")
        if text is None:
            return None
        day = read_day(text)
        if day is None:
            tell(node, "wrong-type", f"{quoted(text)} is no date", "write it like 2025-03-07")
        return day

    def schema(self) -> Schema:
        return {
            "type": "string",
            "format": "date",
            "pattern": f"^{_DATE}$",
            "examples": ["2025-03-07"],
        }


MAX_ADDRESS: Final = 200  # more makes a code with modules too small to be read
_ADDRESS: Final = (
    r"(?!.*\.html?$)https?://(?:[A-Za-z0-9](?:[A-Za-z0-9.-]*[A-Za-z0-9])?|\[[0-9A-Fa-f:.]+\])"
    r"(?::[0-9]{1,5})?(?:/[A-Za-z0-9._~!$&'()*+,;=:@%-]*)*"
)


@dataclass(frozen=True, slots=True)
class WebAddress:
    """Where pages are served: http or https, a host, a folder (RFC 3986). Nobody's name and no
    password stand in it, since it is printed; no query, since the names of pages follow it."""

    def read(self, node: Node, tell: Tell) -> str | None:
        text = scalar(node, tell, "an address of pages")
        if text is None or is_web_address(text):
            return text
        # Not quoted: what it has too much may be a password.
        hint = (
            "write it like “https://records.example.com/north”: http or https, a host and a "
            f"folder, no user, no “?” or “#”, {MAX_ADDRESS} characters at most"
        )
        tell(node, "bad-address", "this is no address that pages can be served at", hint)
        return None

    def schema(self) -> Schema:
        return {
            "type": "string",
            "maxLength": MAX_ADDRESS,
            "pattern": f"^{_ADDRESS}$",
            "examples": ["https://records.example.com/north"],
        }


def is_web_address(text: str) -> bool:
    return len(text) <= MAX_ADDRESS and re.fullmatch(_ADDRESS, text) is not None


def read_day(text: str) -> dt.date | None:
    if not re.fullmatch(_DATE, text):
        return None
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        return None


@dataclass(frozen=True, slots=True)
class Window:
    """From when to when, in local time: `2025-03-07 18:00 to 22:00`, or with a second date."""

    start: dt.datetime
    end: dt.datetime

    def __str__(self) -> str:
        end = (
            f"{self.end:%H:%M}" if self.end.date() == self.start.date() else f"{self.end:%F %H:%M}"
        )
        return f"{self.start:%F %H:%M} to {end}"


_WINDOW = re.compile(r"(\d{4}-\d{2}-\d{2}) (\d{2}:\d{2}) to (?:(\d{4}-\d{2}-\d{2}) )?(\d{2}:\d{2})")


@dataclass(frozen=True, slots=True)
class Period:
    def read(self, node: Node, tell: Tell) -> Window | None:
        text = scalar(node, tell, "a time window")
        if text is None:
            return None
        hint = "write it like “2025-03-07 18:00 to 22:00”"
        match = _WINDOW.fullmatch(text)
        if match:
            day, start, last_day, end = match.groups()
            try:
                window = Window(
                    dt.datetime.fromisoformat(f"{day}T{start}"),
                    dt.datetime.fromisoformat(f"{last_day or day}T{end}"),
                )
            except ValueError:
                window = None
            if window and window.start < window.end:
                return window
            if window:
                hint = "the end comes after the start; past midnight, give the second date too"
        tell(node, "wrong-type", f"{quoted(text)} is no time window", hint)
        return None

    def schema(self) -> Schema:
        return {
            "type": "string",
            "pattern": f"^{_DATE} {_CLOCK} to (?:{_DATE} )?{_CLOCK}$",
            "examples": ["2025-03-07 18:00 to 22:00"],
        }


@dataclass(frozen=True, slots=True)
class Seen:
    """When a thing was last seen to be true, and by whom."""

    on: dt.date
    by: str

    def __str__(self) -> str:
        return f"{self.on} by {self.by}"


@dataclass(frozen=True, slots=True)
class Sighting:
    def read(self, node: Node, tell: Tell) -> Seen | None:
        text = scalar(node, tell, "a date and a name")
        if text is None:
            return None
        day, by, name = text.partition(" by ")
        on = read_day(day)
        if on is None or not by or not name.strip():
            hint = "write it like “2025-03-07 by A. Name”"
            tell(node, "wrong-type", f"{quoted(text)} is no date and name", hint)
            return None
        return Seen(on, name.strip())

    def schema(self) -> Schema:
        return {
            "type": "string",
            "pattern": rf"^{_DATE} by \s*\S.*$",
            "examples": ["2025-03-07 by A. Name"],
        }


@dataclass(frozen=True, slots=True)
class Spot:
    """A position on the floor plan in metres, from the plan's lower left corner."""

    x: float
    y: float

    def __str__(self) -> str:
        return f"{self.x:g} m, {self.y:g} m"


@dataclass(frozen=True, slots=True)
class GridCell:
    """A cell of the grid over a floor plan, both numbers from 1: C4 is the third column from the
    left, the fourth row from the top."""

    column: int
    row: int

    def __str__(self) -> str:
        return f"{chr(ord('A') + self.column - 1)}{self.row}"


_CELL = re.compile("([A-Z])([1-9][0-9]?)")
_LIKE = "write it like “4.2 m, 1.5 m”, or, where the plan has a grid, like “C4”"


@dataclass(frozen=True, slots=True)
class SpotOnPlan:
    def read(self, node: Node, tell: Tell) -> Spot | GridCell | None:
        text = scalar(node, tell, "a position")
        if text is None:
            return None
        if cell := _CELL.fullmatch(text):
            return GridCell(ord(cell[1]) - ord("A") + 1, int(cell[2]))
        parts = [read_quantity(part, "length") for part in text.split(",")]
        if len(parts) == 2 and isinstance(parts[0], Quantity) and isinstance(parts[1], Quantity):
            return Spot(parts[0].to("m"), parts[1].to("m"))
        tell(node, "wrong-type", f"{quoted(text)} is no position", _LIKE)
        return None

    def schema(self) -> Schema:
        metre = rf"\s*{_measure('length')}\s*"
        return {
            "type": "string",
            "pattern": f"^(?:{metre},{metre}|{_CELL.pattern})$",
            "examples": ["4.2 m, 1.5 m", "C4"],
        }


@dataclass(frozen=True, slots=True)
class Ref:
    """The key of another record of the same site."""

    kind: str

    def read(self, node: Node, tell: Tell) -> str | None:
        kind = f"an {self.kind}" if self.kind[0] in "aeiou" else f"a {self.kind}"
        text = scalar(node, tell, f"the key of {kind}")
        if text is None:
            return None
        if not _KEYS.fullmatch(text):
            tell(node, "bad-key", f"{quoted(text)} can't be the key of {kind}", KEY_RULE)
            return None
        return text

    def schema(self) -> Schema:
        parts = f"{KEY.pattern}/{KEY.pattern}" if self.kind == "item" else KEY.pattern
        return {"type": ["string", "number"], "minimum": 0, "pattern": f"^{parts}$"}


@lru_cache(maxsize=2**12)
def _printed(name: str) -> str:
    return f"{int(name):02}" if name.isdigit() else name


@dataclass(frozen=True, slots=True, order=True)
class PortId:
    """A port: the item it belongs to (`1A/A`: item A of enclosure 1A) and its number or name."""

    item: str
    name: str

    @property
    def enclosure(self) -> str:
        return self.item.partition("/")[0]

    @property
    def printed(self) -> str:
        return _printed(self.name)

    def __str__(self) -> str:
        return f"{self.item}/{self.printed}"


_PORT = re.compile(f"({KEY.pattern}/{KEY.pattern})/({KEY.pattern})")
_SPAN = re.compile(r"([0-9]{1,4})-([0-9]{1,4})")


def port_name(text: str) -> str:
    """The name of a port; numbers lose their leading zeros: `01` is port 1."""
    return str(int(text)) if text.isascii() and text.isdigit() else text


def read_port(text: str) -> PortId | None:
    match = _PORT.fullmatch(text)
    return PortId(match[1], port_name(match[2])) if match else None


def inside(enclosure: str, text: str) -> str:
    """`A/01`, written within an enclosure's file, as the full `1A/A/01`."""
    return f"{enclosure}/{text}" if text.count("/") == 1 else text


@dataclass(frozen=True, slots=True)
class Port:
    """One port: `1A/A/01`."""

    def read(self, node: Node, tell: Tell) -> PortId | None:
        text = scalar(node, tell, "a port")
        if text is None:
            return None
        port = read_port(text)
        if port is None:
            hint = "write enclosure/item/port, like “1A/A/01”"
            tell(node, "bad-port", f"{quoted(text)} is no port", hint)
        return port

    def schema(self) -> Schema:
        pattern = f"^{KEY.pattern}/{KEY.pattern}/{KEY.pattern}$"
        return {"type": "string", "pattern": pattern, "examples": ["1A/A/01"]}


@dataclass(frozen=True, slots=True)
class Ports:
    """One port or several, ranges allowed: `1A/A/01`, `[1A/A/01, 1A/A/02]`, `1A/F/01-06`."""

    def read(self, node: Node, tell: Tell) -> tuple[PortId, ...] | None:
        if not isinstance(node, SequenceNode):
            return self._expand(node, tell)
        if not node.value:
            tell(node, "empty", "a list of ports with none in it", "name one, or leave it out")
        found: dict[PortId, None] = {}
        good = True
        for item in node.value:
            ports = self._expand(item, tell)
            twice = next((port for port in ports or () if port in found), None)
            if twice:
                tell(item, "port-twice", f"port {twice} is named twice here", "name it once")
            good = good and ports is not None and twice is None
            found |= dict.fromkeys(ports or ())
            if len(found) > MAX_PORTS:
                tell(node, "too-long", f"more than {MAX_PORTS} ports are named here", "name fewer")
                return None
        return tuple(found) if good and found else None

    def _expand(self, node: Node, tell: Tell) -> tuple[PortId, ...] | None:
        text = scalar(node, tell, "a port")
        if text is None:
            return None
        item, _, name = text.rpartition("/")
        span = _SPAN.fullmatch(name)
        if not span:
            one = Port().read(node, tell)
            return (one,) if one else None
        first, last = int(span[1]), int(span[2])
        start = read_port(f"{item}/{first}")
        if start is None or not first < last <= first + MAX_PORTS:
            hint = "write it like “1A/F/01-06”"
            tell(node, "bad-port", f"{quoted(text)} is no range of ports", hint)
            return None
        return tuple(PortId(start.item, str(number)) for number in range(first, last + 1))

    def schema(self) -> Schema:
        one = Port().schema() | {"examples": ["1A/A/01", "1A/F/01-06"]}
        return {"anyOf": [one, {"type": "array", "items": one, "minItems": 1}]}


@dataclass(frozen=True, slots=True)
class Numbers:
    """Port numbers and names of one item, ranges allowed: `[3, 13-18, WAN]`."""

    def read(self, node: Node, tell: Tell) -> tuple[str, ...] | None:
        nodes = node.value if isinstance(node, SequenceNode) else [node]
        found: dict[str, None] = {}
        for item in nodes:
            text = scalar(item, tell, "a port number")
            if text is None:
                return None
            span = _NUMBER_RANGE.fullmatch(text)
            if span and int(span[1]) < int(span[2]) <= int(span[1]) + MAX_PORTS:
                found |= dict.fromkeys(map(str, range(int(span[1]), int(span[2]) + 1)))
            elif KEY.fullmatch(text) and not span:
                found[port_name(text)] = None
            else:
                hint = "write 3, 13-18 or a name"
                tell(item, "wrong-type", f"{quoted(text)} is no port number", hint)
                return None
            if len(found) > MAX_PORTS:
                tell(node, "too-long", f"more than {MAX_PORTS} ports are named here", "name fewer")
                return None
        return tuple(found)

    def schema(self) -> Schema:
        one = {
            "type": ["number", "string"],
            "minimum": 0,
            "pattern": rf"^(?:{KEY.pattern}|[0-9]{{1,4}}\s*-\s*[0-9]{{1,4}})$",
            "examples": [3, "13-18", "WAN"],
        }
        return {"anyOf": [one, {"type": "array", "items": one}]}


@dataclass(frozen=True, slots=True)
class Units:
    """Rack units, counted as the enclosure counts them: `12`, or `9-10` for two."""

    def read(self, node: Node, tell: Tell) -> tuple[int, int] | None:
        text = scalar(node, tell, "a rack unit")
        if text is None:
            return None
        match = re.fullmatch(r"([0-9]{1,3})(?:-([0-9]{1,3}))?", text)
        low, high = (int(match[1]), int(match[2] or match[1])) if match else (0, 0)
        if not match or low < 1 or low > high:
            hint = "write 12, or 9-10 for a thing two units high"
            tell(node, "wrong-type", f"{quoted(text)} is no rack unit", hint)
            return None
        return low, high

    def schema(self) -> Schema:
        return {
            "type": ["integer", "string"],
            "minimum": 1,
            "maximum": 999,
            "pattern": "^[0-9]{1,3}(?:-[0-9]{1,3})?$",
            "examples": [12, "9-10"],
        }


@dataclass(frozen=True, slots=True)
class Listed:
    """One value of a type or a list of them."""

    of: FieldType[Any]

    def read(self, node: Node, tell: Tell) -> tuple[Any, ...] | None:
        nodes = node.value if isinstance(node, SequenceNode) else [node]
        values = [self.of.read(item, tell) for item in nodes]
        return None if any(value is None for value in values) else tuple(values)

    def schema(self) -> Schema:
        one = self.of.schema()
        return {"anyOf": [one, {"type": "array", "items": one}]}


@dataclass(frozen=True, slots=True)
class PortTexts:
    """What is printed over the ports, where it isn't the number: `{1: "room 4", 2: "room 4"}`."""

    def read(self, node: Node, tell: Tell) -> Mapping[str, str] | None:
        if not isinstance(node, MappingNode):
            hint = "write {1: text, 2: text}"
            tell(node, "wrong-type", "this is no list of port: text", hint)
            return None
        texts: dict[str, str] = {}
        for key, value in node.value:
            text = Text("the printed text").read(value, tell)
            name = port_name(key.value)
            if not KEY.fullmatch(name):
                hint = "write the port's number or name"
                tell(key, "wrong-type", f"{quoted(key.value)} is no port number", hint)
            elif name in texts:
                tell(key, "port-twice", f"port {name} is named twice here", "name it once")
            elif text is not None:
                texts[name] = text
        return texts

    def schema(self) -> Schema:
        return {
            "type": "object",
            "propertyNames": {"pattern": f"^{KEY.pattern}$"},
            "additionalProperties": Text("the printed text").schema(),
        }


def synthetic(node: Node, text: str) -> Node:
    """A value a file says by where it stands (a face, an enclosure), not by a text of its own."""
    return scalar_like(node, text)
