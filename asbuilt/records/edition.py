"""What of the records the client may read: an allow-list, applied before anything is derived.

A kind is internal unless declared for the client; so is every field. A record of an internal
kind may be opened by a flag of its own (`share with client: yes`).

An outlet that serves a camera, an alarm or a door, or says `withhold: yes`, is known to the client
only as a device on its port. So is a mounted thing that says so, and whatever is mounted as a
`device` (a server, a recorder, a controller) unless it says `withhold: no`: each stays in its
place with its ports, under a key that only says where it is, so that counts still add up. What is
withheld stays withheld, whatever else is opened.

It works on raw records, so that the same function serves today's records and those of any old
revision; of those, only what today's types can read is let through. The last word counts for all
of them: what today's records (or of a thing that is gone, the last that knew it) withhold or don't
tell is shown of no older revision, and what a revision withheld is named in no text.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from functools import lru_cache
from typing import Final

from asbuilt.records.enclosures import Device
from asbuilt.records.fields import (
    Listed,
    Numbers,
    Ports,
    Ref,
    Sighting,
    Text,
    WebAddress,
    port_name,
    read_port,
)
from asbuilt.records.kind import Audience, Kind, Raw, Spec
from asbuilt.records.kinds import KINDS, REFERABLE
from asbuilt.records.links import DEVICE, OUTLET, SERVES, WITHHELD
from asbuilt.records.reading import Records, read_records
from asbuilt.records.redaction import names_withheld, redact_text
from asbuilt.records.work import LINK_TEST
from asbuilt.yamltext import MappingNode, Node, ScalarNode, SequenceNode, is_nothing, scalar_at


class Edition(StrEnum):
    INTERNAL = "internal"
    CLIENT = "client"


@dataclass(slots=True)
class Withheld:
    """What an edition left out, by kind of record or “kind: field”."""

    counts: Counter[str] = field(default_factory=Counter)


@dataclass(frozen=True, slots=True)
class Alias:
    """What a withheld thing is called instead: its key, and its ports that have names."""

    key: str
    ports: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class WithheldKeys:
    """What the client may know of only as a device.

    `words` are the keys and labels that would give one away in a text; `untold` are the findings,
    jobs and photos (kind and key) that are not told, whatever an older revision said; `told` are
    those that are told in the records at hand, with the keys they go by there.
    """

    outlets: frozenset[str] = frozenset()
    items: Mapping[str, Alias] = field(default_factory=dict)
    ports: frozenset[str] = frozenset()
    words: frozenset[str] = frozenset()
    untold: frozenset[tuple[str, str]] = frozenset()
    told: Mapping[tuple[str, str], str] = field(default_factory=dict)

    def __or__(self, other: WithheldKeys) -> WithheldKeys:
        """Both; a thing both know goes by the name it has on the left."""
        items = dict(self.items)
        taken = {alias.key.casefold() for alias in items.values()}
        for key, alias in other.items.items():
            if key not in items:
                items[key] = Alias(_untaken(alias.key, taken), alias.ports)
        return WithheldKeys(
            self.outlets | other.outlets,
            items,
            self.ports | other.ports,
            self.words | other.words,
            self.untold | other.untold,
        )

    @property
    def folded(self) -> frozenset[str]:
        return _folded(self.words)

    def redact(self, text: str) -> str:
        """`text` with each word that names a withheld thing replaced by “device”."""
        return redact_text(text, self.words)

    def alias(self, item: str) -> Alias | None:
        """What an item is called instead, if it is withheld, in whatever case it is named."""
        found = self.items.get(item)
        if found or not self.items:
            return found
        folded = item.casefold()
        return next((alias for key, alias in self.items.items() if key.casefold() == folded), None)

    def port(self, text: str) -> str:
        """A port as the client may know it; a range (`1A/F/01-06`) too."""
        item, _, name = text.rpartition("/")
        alias = self.alias(item)
        return f"{alias.key}/{_port_alias(alias, name)}" if alias else text

    def keeps_back(self, kind: Kind, raw: Raw) -> bool:
        """Whether a record stays untold though its flag says otherwise."""
        return (raw.kind, raw.key) in self.untold or (
            kind.declared is not None and self.concerns(raw)
        )

    def concerns(self, raw: Raw) -> bool:
        """Whether a finding or a job is about withheld things and nothing else: its outlets tell,
        or where it names none its port, or else its mounted thing."""
        specs = [spec for spec in KINDS[raw.kind].specs.values() if spec.name in raw.fields]
        texts = [(spec, text) for spec in specs for text in _texts(raw.fields[spec.name])]
        hidden = _folded(self.outlets)
        outlets = [t.casefold() in hidden for spec, t in texts if spec.refers_to == OUTLET.name]
        ports = [self._hides(t) for spec, t in texts if spec.names_ports]
        items = [self.alias(t) is not None for spec, t in texts if spec.refers_to == "item"]
        named = outlets or ports or items
        return bool(named) and all(named)

    def _hides(self, text: str) -> bool:
        port = read_port(text)
        return port is not None and (str(port) in self.ports or self.alias(port.item) is not None)


@lru_cache(maxsize=64)
def _folded(words: frozenset[str]) -> frozenset[str]:
    return frozenset(map(str.casefold, words))


#: What is left of an outlet, and of a mounted thing, that is withheld. The power class stays:
#: without it there would seem to be more power over Ethernet to spare than there is.
OUTLET_REST: Final = ("port", "cable", "state", "poe")
ITEM_REST: Final = (
    "at", "face", "part", "depth", "ports", "uplinks", "named ports", "dead", "abandoned",
    "reserved", "unknown", "media", "category", "speed", "uplink speed", "poe", "poe ports",
    "sockets", "in use", "output", "apparent",
)  # fmt: skip
_LONGEST: Final = 36  # a key has 40 characters at most; some are kept for a number
_ITEM_KINDS: Final = frozenset(REFERABLE["item"])
_NAMED_KINDS: Final = _ITEM_KINDS | {OUTLET.name}
_DECLARED: Final = frozenset(kind.name for kind in KINDS.values() if kind.declared)
_RENAMED: Final = _DECLARED | {OUTLET.name}
_LABELS: Final = ("label", "label at panel")
_BY_ENGINEERS: Final = ("host name", "address", "serial")
_OPEN_USES: Final = frozenset(SERVES) - frozenset(WITHHELD)


def is_withheld(raw: Raw) -> bool:
    """Whether the client may know of this only that a device is there. In doubt: yes."""
    flag = _text(raw, "withhold")
    if raw.kind == OUTLET.name:
        return flag not in (None, "no") or _text(raw, "serves") not in (None, "", *_OPEN_USES)
    if raw.kind == Device.role:
        return flag != "no"
    return raw.kind in _ITEM_KINDS and flag not in (None, "no")


def withheld_keys(raws: Iterable[Raw]) -> WithheldKeys:
    """What is withheld in these records."""
    raws = list(raws)
    hidden = [raw for raw in raws if is_withheld(raw)]
    taken = {raw.key.casefold() for raw in raws if raw.kind in _ITEM_KINDS}
    things = sorted((raw for raw in hidden if raw.kind in _ITEM_KINDS), key=lambda raw: raw.key)
    outlets = [raw for raw in hidden if raw.kind == OUTLET.name]
    return WithheldKeys(
        frozenset(raw.key for raw in outlets),
        {raw.key: Alias(_untaken(_place_key(raw), taken), _ports_alias(raw)) for raw in things},
        frozenset(port for raw in outlets for port in _ports(raw)),
        frozenset(word for raw in hidden for word in identifying_words(raw)),
    )


def not_shared(raws: Iterable[Raw]) -> frozenset[tuple[str, str]]:
    """The kinds and keys of findings, jobs and photos that aren't told to the client."""
    declared = ((KINDS[raw.kind], raw) for raw in raws if raw.kind in KINDS)
    return frozenset(
        (kind.name, raw.key) for kind, raw in declared if kind.declared and not _opened(kind, raw)
    )


def shown_names(raws: Iterable[Raw], withheld: WithheldKeys) -> frozenset[str]:
    """The keys and labels under which the client knows what isn't withheld, in small letters."""
    gone = withheld.outlets | withheld.items.keys()
    named = (raw for raw in raws if raw.kind in _NAMED_KINDS and raw.key not in gone)
    return frozenset(name.casefold() for raw in named for name in _names(raw))


def for_client(
    raws: Iterable[Raw], withheld: WithheldKeys, tally: Withheld | None = None
) -> list[Raw]:
    """The records as the client may read them. References to what isn't there are dropped.

    Nothing of the file they come from is kept but line and column, for messages to engineers.
    """
    counts = tally.counts if tally else Counter()
    raws = list(raws)
    withheld = withheld | withheld_keys(raws)
    taken = {raw.key.casefold() for raw in raws if raw.kind in _RENAMED}
    taken -= {key.casefold() for key in withheld.outlets}
    withheld = replace(withheld, told=_told(raws, withheld, taken))
    tests: set[str] = set()
    shown: list[Raw] = []
    for raw in raws:
        kind = KINDS.get(raw.kind)
        if kind is None or not _opened(kind, raw) or withheld.keeps_back(kind, raw):
            counts[raw.kind] += 1
        elif raw.kind == OUTLET.name and raw.key in withheld.outlets:
            counts["outlet shown as device"] += 1
            shown.append(_outlet_as_device(raw, withheld, taken))
        elif raw.key in withheld.items and raw.kind in _ITEM_KINDS:
            counts[f"{raw.kind} shown as device"] += 1
            shown.append(_item_as_device(raw, withheld.items[raw.key]))
        else:
            fields = _allowed(kind, raw, withheld, counts)
            if any(spec.name not in fields for spec in _required(kind, raw)):
                counts[raw.kind] += 1  # what it is about is withheld
                continue
            key = raw.key
            if kind is LINK_TEST:  # its key holds the name of the file it came from
                stem = f"{_text(raw, 'link')}-{_text(raw, 'date')}"
                key = _untaken(stem, tests, ".")
            elif kind.declared:
                key = withheld.told[raw.kind, key]
            elif read_port(key):
                key = withheld.port(key)
            shown.append(_raw(raw, key, fields))
    return shown


def in_edition(
    edition: Edition,
    records: Records,
    tally: Withheld | None = None,
    withheld: WithheldKeys | None = None,
) -> Records:
    """The records of one edition; `withheld` is what older revisions withheld besides. What is
    wrong with them is told of the whole records only."""
    if edition is Edition.INTERNAL:
        return records
    return read_records(
        records.site, for_client(records.raw, withheld or WithheldKeys(), tally), []
    )


def audience_table() -> Mapping[str, Mapping[str, Audience]]:
    """For the documentation: who may read which field of which kind."""
    table: dict[str, Mapping[str, Audience]] = {}
    for name, kind in KINDS.items():
        closed = kind.audience is Audience.INTERNAL and not kind.declared
        table[name] = {
            spec.name: Audience.INTERNAL if closed else spec.audience
            for spec in kind.specs.values()
        }
    return table


def _named_otherwise(key: str, withheld: WithheldKeys, taken: set[str]) -> str:
    """The key of a finding, a job or a photo, which may name what is withheld as a text may."""
    told = withheld.redact(key)
    return key if told == key else _untaken(told[:_LONGEST].rstrip(".+-"), taken)


def _told(
    raws: Iterable[Raw], withheld: WithheldKeys, taken: set[str]
) -> dict[tuple[str, str], str]:
    """The findings, jobs and photos that are told, and the key each goes by."""
    return {
        (raw.kind, raw.key): _named_otherwise(raw.key, withheld, taken)
        for raw in raws
        if (kind := KINDS.get(raw.kind)) is not None
        and kind.declared
        and _opened(kind, raw)
        and not withheld.keeps_back(kind, raw)
        and all(
            spec.type.read(raw.fields[spec.name], _tell_nobody) is not None
            for spec in _required(kind, raw)
        )
    }


def _opened(kind: Kind, raw: Raw) -> bool:
    if kind.declared:
        return _text(raw, kind.declared) == "yes"
    return kind.audience is Audience.CLIENT


def _required(kind: Kind, raw: Raw) -> list[Spec]:
    return [spec for spec in kind.specs.values() if spec.required and spec.name in raw.fields]


def _outlet_as_device(raw: Raw, withheld: WithheldKeys, taken: set[str]) -> Raw:
    ports = [withheld.port(port).replace("/", "-") for port in _ports(raw)]
    stem = f"{DEVICE}-{ports[0] if ports else 'unplaced'}"
    if len(stem) > _LONGEST:  # its end is what tells it from the others
        stem = f"{DEVICE}-{stem[-28:].lstrip('._+-')}"
    fields = _rest(raw, OUTLET_REST, withheld)
    fields["serves"] = _bare(raw.node, DEVICE)
    return _raw(raw, _untaken(stem, taken), fields)


def _item_as_device(raw: Raw, alias: Alias) -> Raw:
    fields = _rest(raw, ITEM_REST, WithheldKeys())
    specs = KINDS[raw.kind].specs
    for name in [name for name in fields if isinstance(specs[name].type, Numbers)]:
        fields[name] = _each(fields[name], lambda text: _port_alias(alias, text))
    return _raw(raw, alias.key, fields)


def _rest(raw: Raw, names: Iterable[str], withheld: WithheldKeys) -> dict[str, Node]:
    specs = KINDS[raw.kind].specs
    found = ((name, raw.fields[name]) for name in names if name in raw.fields)
    shown = ((name, _shown(specs[name], node, withheld)) for name, node in found)
    return {name: node for name, node in shown if node is not None}


def _allowed(kind: Kind, raw: Raw, withheld: WithheldKeys, counts: Counter[str]) -> dict[str, Node]:
    fields: dict[str, Node] = {}
    for name, node in raw.fields.items():
        if name in (kind.declared, "withhold"):
            continue  # it says what is told and is nothing to tell
        spec = kind.specs.get(name)
        open_ = spec is not None and spec.audience is Audience.CLIENT
        shown = _shown(spec, node, withheld) if spec and open_ else None
        if shown is None:
            counts[f"{kind.name}: {name}" if spec else f"{kind.name}: (unknown field)"] += 1
        else:
            fields[name] = shown
    return fields


def _shown(spec: Spec, node: Node, withheld: WithheldKeys) -> Node | None:
    """A field's value as the client may read it, or None when nothing of it may be."""
    if spec.type.read(node, _tell_nobody) is None:
        return None
    inner = spec.type.of if isinstance(spec.type, Listed) else spec.type
    if spec.refers_to in (OUTLET.name, "link"):
        return _without(node, _folded(withheld.outlets))
    if spec.refers_to in _DECLARED:
        key = withheld.told.get((spec.refers_to, str(node.value)))
        return None if key is None else _bare(node, key)
    if isinstance(inner, Ref) and inner.kind == "item":
        return _each(node, lambda key: (withheld.alias(key) or Alias(key)).key)
    if spec.names_ports:
        return _each(node, withheld.port)
    if isinstance(inner, WebAddress) and withheld.redact(node.value) != node.value:
        return None  # with another word in it, it would lead nowhere
    if isinstance(inner, (Text, Sighting)):
        own = spec.name in _LABELS and str(node.value).casefold() in withheld.folded
        return _each(node, str if own else withheld.redact)
    return _each(node, str)


def _without(node: Node, keys: frozenset[str]) -> Node | None:
    """Less these keys, in whatever case they are named."""
    if isinstance(node, SequenceNode):
        rest = [_bare(one, one.value) for one in node.value if one.value.casefold() not in keys]
        return _listed(node, rest) if rest else None
    return None if node.value.casefold() in keys else _bare(node, node.value)


def _each(node: Node, change: Callable[[str], str]) -> Node:
    """A node of its own, with every text changed and nothing of its file but where it stood."""
    if isinstance(node, SequenceNode):
        return _listed(node, [_each(item, change) for item in node.value])
    if isinstance(node, MappingNode):
        pairs = [(_bare(key, key.value), _each(value, change)) for key, value in node.value]
        mark = _bare(node, "").start_mark
        return MappingNode(node.tag, pairs, mark, mark)
    return _bare(node, change(str(node.value)))


def _listed(node: Node, items: Sequence[Node]) -> SequenceNode:
    mark = _bare(node, "").start_mark
    return SequenceNode(node.tag, list(items), mark, mark)


def _bare(node: Node, text: str) -> ScalarNode:
    """A scalar that stands where `node` stands and knows nothing else of its file."""
    return scalar_at(text, node.start_mark.line + 1, node.start_mark.column + 1)


def _raw(raw: Raw, key: str, fields: Mapping[str, Node]) -> Raw:
    """File names aren't the client's either."""
    return Raw(raw.kind, key, fields, raw.kind, _bare(raw.node, key))


def _place_key(raw: Raw) -> str:
    """`1A/device-u12`: where a thing stands is the one thing that is told of it."""
    enclosure = raw.key.partition("/")[0]
    at = _text(raw, "at") or ""
    what = raw.kind.replace(" ", "-")
    return f"{enclosure}/{what}-u{at}" if re.fullmatch("[0-9-]+", at) else f"{enclosure}/{what}-x"


def _ports_alias(raw: Raw) -> dict[str, str]:
    node = raw.fields.get("named ports")
    names = Numbers().read(node, _tell_nobody) if node is not None else None
    named = [name for name in names or () if not name.isdigit()]
    return {name: f"N{number}" for number, name in enumerate(named, start=1)}


def _port_alias(alias: Alias, name: str) -> str:
    if re.fullmatch(r"[0-9]+(?:\s*-\s*[0-9]+)?", name):
        return name
    return alias.ports.get(port_name(name), "N")


def _untaken(stem: str, taken: set[str], mark: str = "-") -> str:
    """`stem`, or with the next free number. It is taken then: `taken` holds keys in one case."""
    key, number = stem, 2
    while key.casefold() in taken:
        key, number = f"{stem}{mark}{number}", number + 1
    taken.add(key.casefold())
    return key


def identifying_words(raw: Raw) -> Iterator[str]:
    """Whatever a text may name an outlet or a mounted thing by: key, labels, host name, address and
    serial number, the names of its ports; of a label of several words also each that has a
    digit."""
    if raw.kind not in _NAMED_KINDS:
        return
    texts = [*_names(raw), *(_text(raw, name) or "" for name in _BY_ENGINEERS)]
    texts += [name for name in _ports_alias(raw) if not name.isalpha()]
    words = (word for text in texts for word in (text, *_numbered(text)))
    yield from filter(names_withheld, map(" ".join, map(str.split, words)))


def _names(raw: Raw) -> list[str]:
    """The key, that within the enclosure, and the labels."""
    return [raw.key, raw.key.rpartition("/")[2], *(_text(raw, name) or "" for name in _LABELS)]


def _numbered(text: str) -> Iterator[str]:
    """The words in a text of several that have letters and digits."""
    parts = re.split(r"[\s,;:/()]+", text)
    for part in parts if len(parts) > 1 else ():
        letters, digits = (any(f(c) for c in part) for f in (str.isalpha, str.isdigit))
        if letters and digits and len(part) >= 3:
            yield part


def _ports(raw: Raw) -> list[str]:
    node = raw.fields.get("port")
    found = Ports().read(node, _tell_nobody) if node is not None else None
    return [str(port) for port in found or ()]


def _texts(node: Node) -> list[str]:
    nodes = node.value if isinstance(node, SequenceNode) else [node]
    return [str(item.value) for item in nodes if isinstance(item, ScalarNode)]


def _text(raw: Raw, name: str) -> str | None:
    """What a field says: "" when nothing, “?” when more than one value; None: no such field."""
    node = raw.fields.get(name)
    if node is None:
        return None
    if not isinstance(node, ScalarNode):
        return "?"
    return "" if is_nothing(node) else str(node.value)


def _tell_nobody(node: Node, code: str, message: str, hint: str) -> None:
    """The engineers' edition has told it already."""
