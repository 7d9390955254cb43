"""What of the records the client may read: an allow-list, applied before anything is derived.

A kind is internal unless declared for the client; so is every field. A record of an internal
kind may be opened by a flag of its own (`tell client: yes`). An outlet that serves a camera, an
alarm or a door, or says `withhold: yes`, is known to the client only as a device on its port.

It works on raw records, so that the same function serves today's records and those of any old
revision.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from asbuilt.records.fields import read_port
from asbuilt.records.kind import Audience, Kind, Raw, Spec
from asbuilt.records.kinds import KINDS
from asbuilt.records.links import DEVICE, OUTLET, WITHHELD
from asbuilt.yamltext import Node, ScalarNode, SequenceNode, scalar_like


class Edition(StrEnum):
    INTERNAL = "internal"
    CLIENT = "client"


@dataclass(slots=True)
class Withheld:
    """What an edition left out, by kind of record or “kind: field”."""

    counts: Counter[str] = field(default_factory=Counter)


#: What is left of an outlet that is withheld.
_OUTLET_REST = ("port", "cable", "state")


def is_withheld(raw: Raw) -> bool:
    """Whether the client may know of this outlet only that a device hangs on its port."""
    return raw.kind == OUTLET.name and (
        _text(raw, "serves") in WITHHELD or _text(raw, "withhold") == "yes"
    )


def withheld_keys(raws: Iterable[Raw]) -> frozenset[str]:
    """The keys of withheld outlets; those of today hold for every old revision too."""
    return frozenset(raw.key for raw in raws if is_withheld(raw))


def for_client(
    raws: Iterable[Raw], withheld: frozenset[str], tally: Withheld | None = None
) -> list[Raw]:
    """The records as the client may read them. References to what isn't there are dropped."""
    counts = tally.counts if tally else Counter()
    shown: list[Raw] = []
    for raw in raws:
        kind = KINDS.get(raw.kind)
        if kind is None or not _opened(kind, raw):
            counts[raw.kind] += 1
        elif raw.kind == OUTLET.name and raw.key in withheld:
            counts["outlet shown as device"] += 1
            shown.append(_as_device(raw, counts["outlet shown as device"]))
        else:
            allowed = _allowed(kind, raw, withheld, counts)
            if any(spec.name not in allowed.fields for spec in _required(kind, raw)):
                counts[raw.kind] += 1  # what it is about is withheld
            else:
                shown.append(allowed)
    return shown


def _required(kind: Kind, raw: Raw) -> list[Spec]:
    return [spec for spec in kind.specs.values() if spec.required and spec.name in raw.fields]


def _opened(kind: Kind, raw: Raw) -> bool:
    if kind.declared:
        return _text(raw, kind.declared) == "yes"
    return kind.audience is Audience.CLIENT


def _as_device(raw: Raw, number: int) -> Raw:
    port = raw.fields.get("port")
    first = port.value[0] if isinstance(port, SequenceNode) and port.value else port
    stands = read_port(str(first.value)) if isinstance(first, ScalarNode) else None
    name = str(stands).replace("/", "-") if stands else f"unplaced-{number}"
    fields: dict[str, Node] = {n: raw.fields[n] for n in _OUTLET_REST if n in raw.fields}
    fields["serves"] = scalar_like(raw.node, DEVICE)
    return Raw(raw.kind, f"{DEVICE}-{name}"[:40], fields, raw.path, raw.node)


def _allowed(kind: Kind, raw: Raw, withheld: frozenset[str], counts: Counter[str]) -> Raw:
    fields: dict[str, Node] = {}
    for name, node in raw.fields.items():
        spec = kind.specs.get(name)
        if spec is None or spec.audience is not Audience.CLIENT:
            counts[f"{kind.name}: {name}" if spec else f"{kind.name}: (unknown field)"] += 1
            continue
        if spec.refers_to in (OUTLET.name, "link"):
            kept = _without(node, withheld)
            if kept is None:
                counts[f"{kind.name}: {name}"] += 1
                continue
            node = kept
        fields[name] = node
    return replace(raw, fields=fields)


def _without(node: Node, keys: frozenset[str]) -> Node | None:
    if isinstance(node, SequenceNode):
        rest = [item for item in node.value if item.value not in keys]
        return SequenceNode(node.tag, rest, node.start_mark, node.end_mark) if rest else None
    return None if node.value in keys else node


def _text(raw: Raw, name: str) -> str | None:
    node = raw.fields.get(name)
    return str(node.value) if isinstance(node, ScalarNode) else None


def apply_edition(edition: Edition, raws: list[Raw], tally: Withheld | None = None) -> list[Raw]:
    if edition is Edition.INTERNAL:
        return raws
    return for_client(raws, withheld_keys(raws), tally)


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
