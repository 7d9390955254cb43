"""What people call the things of a state: by the label on the wall, the number on the door."""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from asbuilt.changes.identity import ITEM_KINDS
from asbuilt.changes.state import Facts, State, Value, text_of, texts_of
from asbuilt.records.fields import KEY
from asbuilt.records.kinds import REFERABLE
from asbuilt.records.links import DEVICE


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of a sentence; with kind and key it names a thing and can be a link to it."""

    text: str
    kind: str | None = None
    key: str | None = None


Phrase = tuple[Piece, ...]

_KIND_WORDS = {"ups": "UPS", "manager": "cable manager", "reserve": "reserved space"}
_PLURALS = {
    "UPS": "UPS",
    "switch": "switches",
    "shelf": "shelves",
    "site": "sites",
    "reserved space": "reserved spaces",
}


def phrase(*parts: str | Piece | Iterable[Piece]) -> Phrase:
    """Texts and pieces in a row, neighbouring texts joined."""
    pieces: list[Piece] = []
    for part in parts:
        new = (
            [Piece(part)] if isinstance(part, str) else [part] if isinstance(part, Piece) else part
        )
        for piece in new:
            if piece.kind is None and pieces and pieces[-1].kind is None:
                pieces[-1] = Piece(pieces[-1].text + piece.text)
            elif piece.text:
                pieces.append(piece)
    return tuple(pieces)


def capital(words: Sequence[Piece]) -> Phrase:
    """The same with a capital at its beginning, unless it begins with a name."""
    first, *rest = words
    if first.kind is None or first.kind == "port" or first.kind in ITEM_KINDS:
        first = Piece(first.text[:1].upper() + first.text[1:], first.kind, first.key)
    return (first, *rest)


def listing(parts: Sequence[Sequence[Piece]]) -> Phrase:
    """“A”, “A and B”, “A, B and C”."""
    if len(parts) < 2:
        return phrase(*parts)
    commas = [part for one in parts[:-1] for part in (", ", one)][1:]
    return phrase(*commas, " and ", parts[-1])


def kind_word(kind: str) -> str:
    return _KIND_WORDS.get(kind, kind)


def plural(word: str) -> str:
    ies = word.endswith("y") and word[-2:-1] not in "aeiou"
    return _PLURALS.get(word, f"{word[:-1]}ies" if ies else f"{word}s")


def shown(value: Value | None) -> str:
    """A value in words, for the technical detail."""
    if value is None:
        return "not recorded"
    if isinstance(value, str):
        return value
    if isinstance(value, tuple):
        return ", ".join(_runs([shown(item) for item in value]))
    return "; ".join(f"{name}: {shown(value[name])}" for name in sorted(value))


def _runs(texts: Sequence[str]) -> list[str]:
    """Port numbers in a row as one says them: 15-20."""
    runs: list[list[str]] = []
    for text in texts:
        number = int(text) if text.isascii() and text.isdigit() and len(text) < 5 else None
        if number is not None and runs and runs[-1][-1] == str(number - 1):
            runs[-1].append(text)
        else:
            runs.append([text])
    return [text for run in runs for text in ([f"{run[0]}-{run[-1]}"] if len(run) > 2 else run)]


class Names:
    """The names of the things of one state."""

    def __init__(self, state: State) -> None:
        self.state = state

    def facts(self, kind: str, key: str) -> Facts:
        return self.state.get((kind, key), {})

    def thing(self, kind: str, key: str, facts: Facts | None = None) -> Phrase:
        """A thing with the word for what it is: “outlet 1A-A01”, “panel A in enclosure 1A”."""
        facts = self.facts(kind, key) if facts is None else facts
        if kind in ITEM_KINDS:
            return phrase(
                self.item(kind, key, facts), " in ", self.enclosure(key.partition("/")[0])
            )
        if kind == "room":
            return self.room(key)
        if kind == "outlet":
            if is_device(facts):
                return phrase("a ", self.short(kind, key, facts))
            return phrase("outlet ", self.short(kind, key, facts))
        if kind == "cord":
            one, other = text_of(facts, "from") or key, text_of(facts, "to") or "?"
            return phrase("the cord from ", self.port_to_port(one, " to ", other))
        if kind == "site":
            return phrase("the site")
        if kind == "test":
            link = text_of(facts, "link") or key
            return phrase("the test of ", self.link(link), f" on {text_of(facts, 'date') or '?'}")
        if kind in ("contact", "building"):
            return self.short(kind, key, facts)
        if kind == "floor":
            return phrase(self._floor(key, facts))
        return phrase(f"{kind_word(kind)} ", self.short(kind, key, facts))

    def short(self, kind: str, key: str, facts: Facts | None = None) -> Phrase:
        """A thing by its label or name alone, as it stands in a list of its like."""
        facts = self.facts(kind, key) if facts is None else facts
        if kind in ITEM_KINDS:
            return self.item(kind, key, facts)
        if kind == "room":
            return self.room(key)
        if kind == "outlet" and is_device(facts):
            return (Piece(DEVICE, kind, key),)
        if kind == "cord":
            one, other = text_of(facts, "from") or key, text_of(facts, "to") or "?"
            return phrase(Piece(one, "port", one), "–", Piece(other, "port", other))
        if kind == "test":
            return self.link(text_of(facts, "link") or key)
        name = text_of(facts, "label") or key
        if kind == "outlet" and name != key and self._labels[name] > 1:
            name = f"{name} ({key})"
        if kind == "floor":
            name = self._floor(key, facts).removeprefix("the ")
        if kind in ("contact", "building", "network", "site"):
            name = text_of(facts, "name") or name
        if kind == "caution":
            name = text_of(facts, "hazard") or name
        return (_link(name, kind, key),)

    def link(self, key: str) -> Phrase:
        """What a test was made of."""
        for kind in REFERABLE["link"]:
            if (kind, key) in self.state:
                return self.thing(kind, key)
        return phrase(f"link {key}")

    def enclosure(self, key: str) -> Phrase:
        label = text_of(self.facts("enclosure", key), "label") or key
        return phrase("enclosure ", Piece(label, "enclosure", key))

    def item(self, kind: str, key: str, facts: Facts | None = None) -> Phrase:
        """A mounted thing: “panel A”; one whose name isn't told goes by its place."""
        facts = self.facts(kind, key) if facts is None else facts
        name = key.partition("/")[2]
        word = kind_word(kind)
        label = text_of(facts, "label")
        if kind == "reserve":
            return (Piece(f"{word} {label or name}", kind, key),)
        placed = re.fullmatch(
            rf"{re.escape(kind.replace(' ', '-'))}-(?:u([0-9-]+)|x(?:-\d+)?)", name
        )
        if placed and not label:
            at = f" at U{placed[1]}" if placed[1] else ""
            return (Piece(f"{word}{at}", kind, key),)
        return (Piece(f"{word} {label or name}", kind, key),)

    def room(self, key: str | None) -> Phrase:
        if not key:
            return phrase("a room not recorded")
        name = text_of(self.facts("room", key), "name")
        return phrase("room ", Piece(f"{key} ({name})" if name else key, "room", key))

    def port(self, text: str) -> Phrase:
        """“port 5 of switch SW1 in enclosure 1A”."""
        item = text.rpartition("/")[0]
        kind = self._kind_of(item)
        if kind is None:
            return phrase("port ", Piece(text, "port", text))
        owner = self.facts(kind, item)
        enclosure = self.enclosure(item.partition("/")[0])
        whole = self.item(kind, item, owner)
        return phrase(Piece(f"port {_bare(text)}", "port", text), " of ", whole, " in ", enclosure)

    def ports(self, texts: Sequence[str]) -> Phrase:
        """“ports 3 and 4 of panel A in enclosure 1A”."""
        owners = {text.rpartition("/")[0] for text in texts}
        if len(texts) < 2 or len(owners) > 1 or self._kind_of(owners.pop()) is None:
            return listing([self.port(text) for text in texts])
        numbers = [(Piece(_bare(text), "port", text),) for text in texts]
        return phrase("ports ", listing(numbers), " of ", self.item_of(texts[0]))

    def item_of(self, port: str) -> Phrase:
        """The mounted thing a port belongs to."""
        item = port.rpartition("/")[0]
        kind = self._kind_of(item)
        return self.thing(kind, item) if kind else phrase(item)

    def port_to_port(
        self, one: str, between: str, other: str, names: Names | None = None
    ) -> Phrase:
        """Two ports, with what they share said once: “port 1 to port 2 of switch SW1”.

        `names` are those the other port is called by, where they aren't these."""
        names = names or self
        last = names.port(other)
        item = one.rpartition("/")[0]
        kind = self._kind_of(item)
        if names._kind_of(other.rpartition("/")[0]) is None or kind is None:
            return phrase(self.port(one), between, last)
        port = Piece(f"port {_bare(one)}", "port", one)
        if item == other.rpartition("/")[0]:
            return phrase(port, between, last)
        if item.partition("/")[0] == other.partition("/")[0]:
            return phrase(port, " of ", self.item(kind, item), between, last)
        return phrase(self.port(one), between, last)

    def floor_of(self, room: str | None) -> str | None:
        """“the second floor”, “the ground floor of North Hall”; None when it isn't recorded."""
        floor = text_of(self.facts("room", room or ""), "floor")
        return None if floor is None else self._floor(floor, self.facts("floor", floor))

    def _floor(self, key: str, facts: Facts) -> str:
        name = text_of(facts, "name")
        words = f"floor {key}" if name is None else f"the {name}" if _is_noun(name) else name
        building = text_of(facts, "building")
        if building:
            words += f" of {text_of(self.facts('building', building), 'name') or building}"
        return words

    def served_by(self, port: str) -> tuple[str, ...]:
        """The outlets whose cables end at a port."""
        return self._outlets_by_port.get(port, ())

    def is_panel(self, port: str) -> bool:
        return self._kind_of(port.rpartition("/")[0]) == "panel"

    @cached_property
    def _labels(self) -> Counter[str]:
        """How many outlets carry each label: it is no identity."""
        return Counter(
            text_of(facts, "label") or key
            for (kind, key), facts in self.state.items()
            if kind == "outlet"
        )

    @cached_property
    def _outlets_by_port(self) -> dict[str, tuple[str, ...]]:
        found: dict[str, list[str]] = defaultdict(list)
        for (kind, key), facts in self.state.items():
            if kind == "outlet":
                for port in texts_of(facts, "port"):
                    found[port].append(key)
        return {port: tuple(sorted(keys)) for port, keys in found.items()}

    def _kind_of(self, item: str) -> str | None:
        return next((kind for kind in REFERABLE["item"] if (kind, item) in self.state), None)


def is_device(facts: Facts) -> bool:
    """Whether this is all that a reader may know of an outlet."""
    return text_of(facts, "serves") == DEVICE


def _bare(port: str) -> str:
    """The number or name of a port as one says it: 1, not 01."""
    name = port.rpartition("/")[2]
    return name.lstrip("0") or name


def _link(text: str, kind: str, key: str) -> Piece:
    return Piece(text, kind, key) if all(map(KEY.fullmatch, key.split("/"))) else Piece(text)


def _is_noun(name: str) -> bool:
    """Whether one says “the” before it: “ground floor”, but not “Level 2” or “3. OG”."""
    return name[:1].islower() and not any(sign.isdigit() for sign in name)
