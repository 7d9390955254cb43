"""References that follow when a mounted thing gets another key, its ports other numbers, or when
something they name goes."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from asbuilt.edits.apply import said_by
from asbuilt.edits.requests import Relocate, SetFields, Wish
from asbuilt.edits.yaml_values import Said
from asbuilt.model.site import Site
from asbuilt.records.fields import PortId, read_port
from asbuilt.records.kind import Record, Spec
from asbuilt.records.kinds import KINDS


@dataclass(frozen=True, slots=True)
class NewName:
    """What a mounted thing is called from now on, and each of its ports."""

    item: str
    port: Callable[[str], str] = str


def records_of(site: Site) -> Iterator[Record]:
    """Every record that may name another."""
    yield from site.circuits.values()
    yield from site.items.values()
    yield from site.cords.values()
    yield from site.outlets.values()
    yield from site.backbones.values()
    yield from site.findings.values()
    yield from site.jobs.values()
    yield from site.photos.values()


def follow(site: Site, names: Mapping[str, NewName]) -> list[Wish]:
    """What has to be written otherwise when these mounted things (by their keys) are renamed."""
    wishes: list[Wish] = []
    for record in records_of(site):
        kind = record.raw.kind
        for spec in KINDS[kind].specs.values():
            node = record.raw.fields.get(spec.name)
            if node is None or (kind == "cord" and spec.name == "from"):
                continue
            said = _renamed(spec, _said(said_by(node)), names)
            if said is not None:
                wishes.append(SetFields(kind, record.key, spec.name, said))
        if kind == "cord":
            port = read_port(record.key)
            new = _new_port(port, names) if port else None
            if new is not None:
                wishes.append(Relocate("cord", record.key, str(new)))
    return wishes


def forget(site: Site, kinds: Sequence[str], key: str) -> list[Wish]:
    """What has to be written otherwise when the record `key` of one of these kinds goes: lists
    name it no more; a field that named nothing else goes too."""
    wishes: list[Wish] = []
    for record in records_of(site):
        kind = record.raw.kind
        for spec in KINDS[kind].specs.values():
            node = record.raw.fields.get(spec.name)
            if node is None or spec.refers_to not in kinds:
                continue
            said = _said(said_by(node))
            if said == key:
                wishes.append(SetFields(kind, record.key, spec.name, None))
            elif isinstance(said, tuple) and key in said:
                rest = tuple(text for text in said if text != key)
                wishes.append(
                    SetFields(kind, record.key, spec.name, one_or_more(rest) if rest else None)
                )
    return wishes


def one_or_more(texts: Sequence[str]) -> Said:
    """A list as it is typed: one text by itself, several between brackets."""
    return texts[0] if len(texts) == 1 else tuple(texts)


def _said(value: object) -> Said:
    if isinstance(value, tuple):
        return tuple(str(item) for item in value)
    return value if isinstance(value, dict) else str(value)


def _renamed(spec: Spec, said: Said, names: Mapping[str, NewName]) -> Said | None:
    """The same with new names, or None when nothing in it is renamed."""
    if not isinstance(said, (str, tuple)):
        return None
    texts = (said,) if isinstance(said, str) else said
    if spec.refers_to == "item":
        new = [names[text].item if text in names else text for text in texts]
    elif spec.names_ports:
        new = [renamed for text in texts for renamed in _ports(text, names)]
    else:
        return None
    if new == list(texts):
        return None
    return one_or_more(new) if isinstance(said, str) else tuple(new)


def _ports(text: str, names: Mapping[str, NewName]) -> list[str]:
    """A port or a range of them under its new name; a range stays one while its numbers do."""
    item, _, name = text.rpartition("/")
    new = names.get(item)
    if new is None:
        return [text]
    first, dash, last = name.partition("-")
    if not dash or not (first.isdigit() and last.isdigit()):
        port = _new_port(read_port(text), names)
        return [str(port)] if port else [text]
    numbers = [str(number) for number in range(int(first), int(last) + 1)]
    if all(new.port(number) == number for number in numbers):
        return [f"{new.item}/{name}"]
    return [str(PortId(new.item, new.port(number))) for number in numbers]


def _new_port(port: PortId | None, names: Mapping[str, NewName]) -> PortId | None:
    if port is None or port.item not in names:
        return None
    name = names[port.item]
    new = PortId(name.item, name.port(port.name))
    return None if new == port else new
