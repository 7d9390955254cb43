"""What is mounted: swapped for another, mounted elsewhere, taken out."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping, Sequence
from typing import Final

from asbuilt.edits import yaml_values
from asbuilt.edits.references import NewName, follow, forget, one_or_more
from asbuilt.edits.requests import Refusal, Relocate, RemoveRecord, SetFields, Wish
from asbuilt.edits.yaml_values import Said
from asbuilt.model.site import Site
from asbuilt.problem import suggestion
from asbuilt.records.enclosures import Item, PortedItem, Switch
from asbuilt.records.fields import KEY, KEY_RULE
from asbuilt.records.kind import read_record
from asbuilt.records.kinds import KINDS
from asbuilt.yamltext import compose, entries

#: What is true of one piece of hardware only, and not of the one that takes its place.
_ITS_OWN: Final = (
    "serial", "installed", "warranty until", "measured", "poe measured", "battery changed", "dead",
)  # fmt: skip
_PORT_LISTS: Final = ("abandoned", "reserved", "unknown", "poe ports")


def swap(
    site: Site,
    key: str,
    fields: Mapping[str, Said],
    *,
    name: str | None = None,
    at: str | None = None,
) -> list[Wish]:
    """Another one takes the place of a mounted thing; what ends at its ports ends at the same
    ports of the new one. Uplinks stay uplinks, though their numbers may change.

    `fields` are what is different about the new one; what was the old one's own (its serial
    number, its dead ports) goes with it.
    """
    item = item_of(site, key)
    new = _as(item, fields)
    to = f"{item.enclosure}/{name}" if name else key
    _free_key(site, key, to)
    wishes: list[Wish] = [SetFields(item.role, key, field, said) for field, said in fields.items()]
    wishes += [
        SetFields(item.role, key, field, None)
        for field in _ITS_OWN
        if field in item.raw.fields and field not in fields
    ]
    rename = _port_rename(item, new)
    if isinstance(item, PortedItem) and isinstance(new, PortedItem):
        _room_for(site, item, new, rename)
        wishes += _port_lists(item, new, rename, fields)
    units = at if at is not None else _units(item)
    if to != key or units != _units(item):
        wishes.append(Relocate(item.role, key, to, face=item.face, at=units))
    wishes += follow(site, {key: NewName(to, rename)})
    if not wishes:
        raise Refusal(f"nothing is said about what takes the place of {key}", "say what differs")
    return wishes


def rerack(
    site: Site,
    key: str,
    at: str | None,
    *,
    face: str | None = None,
    enclosure: str | None = None,
    name: str | None = None,
) -> list[Wish]:
    """A mounted thing goes to other rack units, to the other face, or to another enclosure; its
    cords and what is terminated on it go with it. `at` None: it takes no unit there. `name` is
    what it is called there, if not the same."""
    item = item_of(site, key)
    if face and not at:
        raise Refusal(f"it isn't said at which rack units of the {face}", "write 12, or 9-10")
    face = face or ("front" if at and item.face == "none" else item.face if at else "none")
    there = enclosure or item.enclosure
    if there not in site.enclosures:
        known = ", ".join(site.enclosures)
        hint = suggestion(there, site.enclosures, f"enclosures: {known}")
        raise Refusal(f"there is no enclosure “{there}”", hint)
    to = f"{there}/{name or item.name}"
    _free_key(site, key, to)
    if (to, face, at) == (key, item.face, _units(item)):
        raise Refusal(f"{key} is mounted there already")
    wishes: list[Wish] = [Relocate(item.role, key, to, face=face, at=at)]
    return wishes + (follow(site, {key: NewName(to)}) if to != key else [])


def remove_item(site: Site, key: str) -> list[Wish]:
    """A mounted thing is taken out, with the cords on it. Nothing may be terminated on it."""
    item = item_of(site, key)
    uses = site.ports_of(item)
    held = sorted(
        {thing.key for use in uses for thing in (*use.outlets, *use.backbones, *use.circuits)}
    )
    if held:
        named = ", ".join(held[:5]) + (f" and {len(held) - 5} more" if len(held) > 5 else "")
        raise Refusal(f"{named} end at {key}", "re-terminate or remove them first")
    cords = sorted({cord.key for use in uses for cord in use.cords})
    wishes: list[Wish] = [
        RemoveRecord(item.role, key),
        *(RemoveRecord("cord", cord) for cord in cords),
    ]
    return wishes + forget(site, ("item",), key)


def item_of(site: Site, key: str) -> Item:
    """What is mounted under this key; short (`A`) where the site has one enclosure."""
    if "/" not in key and len(site.enclosures) == 1:
        key = f"{next(iter(site.enclosures))}/{key}"
    found = site.items.get(key)
    if found is None:
        hint = suggestion(key, site.items, "write it like “1A/A”")
        raise Refusal(f"nothing called “{key}” is mounted", hint)
    return found


def _units(item: Item) -> str | None:
    node = item.raw.fields.get("at")
    return str(node.value) if node is not None else None


def _as(item: Item, fields: Mapping[str, Said]) -> Item:
    """The item with these fields; refuses what can't be read."""
    node, _ = compose("", yaml_values.record(item.role, fields))
    new = {key.value: value for key, value in entries(node)} if node else {}
    raw = dataclasses.replace(item.raw, fields={**item.raw.fields, **new})
    record, problems = read_record(KINDS[item.role], raw)
    if problems or not isinstance(record, Item):
        raise Refusal(problems[0].message, problems[0].hint)
    return record


def _port_rename(item: Item, new: Item) -> Callable[[str], str]:
    if not (isinstance(item, Switch) and isinstance(new, Switch)) or item.ports == new.ports:
        return str
    old_access, new_access = item.ports or 0, new.ports or 0

    def rename(name: str) -> str:
        if name.isdigit() and int(name) > old_access:
            return str(int(name) - old_access + new_access)
        return name

    return rename


def _room_for(site: Site, item: PortedItem, new: PortedItem, rename: Callable[[str], str]) -> None:
    """Refuses when a port in use has no port to go to, or would become an uplink."""
    names = set(new.port_names())
    lost: list[str] = []
    for use in site.ports_of(item):
        used = use.outlets or use.backbones or use.cords or use.circuits
        to = rename(use.id.name)
        turned = (
            isinstance(item, Switch)
            and isinstance(new, Switch)
            and item.is_uplink(use.id.name) != new.is_uplink(to)
        )
        if used and (to not in names or turned):
            lost.append(use.id.printed)
    if lost:
        named = ", ".join(lost)
        raise Refusal(
            f"what ends at {item.key} on port {named} would have nowhere to go",
            "free those ports first, or take one with more",
        )


def _port_lists(
    item: PortedItem, new: PortedItem, rename: Callable[[str], str], fields: Mapping[str, Said]
) -> list[Wish]:
    """Reserved, abandoned and untraced ports carry over; those the new one lacks don't."""
    wishes: list[Wish] = []
    names = set(new.port_names())
    for field in _PORT_LISTS:
        old: Sequence[str] = getattr(item, field.replace(" ", "_"), ())
        kept = [rename(name) for name in old if rename(name) in names]
        if field not in fields and kept != list(old):
            wishes.append(
                SetFields(item.role, item.key, field, one_or_more(kept) if kept else None)
            )
    return wishes


def _free_key(site: Site, key: str, to: str) -> None:
    name = to.partition("/")[2]
    if not KEY.fullmatch(name):
        raise Refusal(f"“{name}” can't be a key", KEY_RULE)
    there = {known.casefold() for known in site.items if known != key}
    if to.casefold() in there:
        raise Refusal(f"something called {to} is mounted already", "give it another key")
