"""The next free panel ports, labels and keys, by the site's own scheme.

Ports are taken in order: panel by panel, port by port, and only what is free. A label follows from
its port (ANSI/TIA-606: `1A-A07`; or the site's pattern), so a port whose label is already printed
elsewhere is passed over and told.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final, TypeVar

from asbuilt.edits.requests import Refusal
from asbuilt.model.site import PortState, Site, natural
from asbuilt.records.enclosures import Panel
from asbuilt.records.fields import KEY, PortId
from asbuilt.trade.identifiers import LabelPattern, is_space, link_label, read_label_pattern

T = TypeVar("T")

TIA: Final = "ANSI/TIA-606"
#: Cables pulled and dressed together. Common practice; larger bundles of powered cables run
#: warmer (remembered: TSB-184-A gives its tables for bundles of up to 24 and more).
BUNDLE: Final = 24


@dataclass(frozen=True, slots=True)
class FreePortPlace:
    """A free port with the key and label an outlet there would have; no label: the key is it."""

    port: PortId
    key: str
    label: str | None = None

    @property
    def printed(self) -> str:
        return self.label or self.key


@dataclass(frozen=True, slots=True)
class NumberingProposal:
    """`passed_over` are free ports whose label is in use elsewhere."""

    places: tuple[FreePortPlace, ...]
    passed_over: tuple[tuple[PortId, str], ...] = ()


def panels_for(site: Site, room: str | None, enclosure: str | None = None) -> tuple[Panel, ...]:
    """The copper panels a new drop can end at. Without a named enclosure, the one the room's
    outlets end in already, or the only one; where that isn't certain, it has to be named."""
    with_panels = sorted(
        {item.enclosure for item in site.items.values() if isinstance(item, Panel)}, key=natural
    )
    if enclosure is None:
        near = sorted(
            {port.enclosure for outlet in site.outlets_in.get(room, ()) for port in outlet.port},
            key=natural,
        )
        choice = near if len(near) == 1 else with_panels
        if len(choice) != 1:
            known = ", ".join(with_panels) or "none yet"
            raise Refusal(
                "it isn't certain which enclosure the drops end in",
                f"name it or a panel; enclosures with panels: {known}",
            )
        enclosure = choice[0]
    items = (item for item in site.items_in.get(enclosure, ()) if isinstance(item, Panel))
    panels = sorted((p for p in items if p.media == "copper"), key=lambda p: natural(p.key))
    if not panels:
        raise Refusal(f"enclosure {enclosure} has no copper panel", "record one first")
    return tuple(panels)


def free_ports(site: Site, panels: Iterable[Panel]) -> Iterator[PortId]:
    """The free ports of these panels, in order."""
    for panel in panels:
        for use in site.ports_of(panel):
            if use.state is PortState.FREE and not use.cords:
                yield use.id


def propose(
    site: Site,
    count: int,
    panels: Sequence[Panel],
    room: str | None = None,
    start: PortId | None = None,
) -> NumberingProposal:
    """The next `count` free places for a room, from port `start` on where one is given."""
    return propose_for(site, [room] * count, panels, start)


def propose_for(
    site: Site,
    rooms: Sequence[str | None],
    panels: Sequence[Panel],
    start: PortId | None = None,
    taken: Iterable[str] = (),
) -> NumberingProposal:
    """The next free places, one for each of these rooms, in their order. `taken` are names that
    aren't free either."""
    names = taken_names(site) | {name.casefold() for name in taken}
    places: list[FreePortPlace] = []
    passed: list[tuple[PortId, str]] = []
    started = start is None
    for port in free_ports(site, panels):
        started = started or _reached(port, start)
        if len(places) == len(rooms):
            break
        if not started:
            continue
        label = label_for(site, port, rooms[len(places)])
        if label and label.casefold() in names and not _may_repeat(site):
            passed.append((port, label))
            continue
        places.append(_place(port, label, names))
    if len(places) < len(rooms):
        where = ", ".join(panel.key for panel in panels)
        more = f", {len(passed)} more whose labels are in use" if passed else ""
        raise Refusal(
            f"{len(rooms)} free ports were asked for; {where} has {len(places)}{more}",
            "name another enclosure or panel, or fewer drops",
        )
    return NumberingProposal(tuple(places), tuple(passed))


def place_at(site: Site, port: PortId, room: str | None, label: str | None = None) -> FreePortPlace:
    """The place at a port that was named, with the label that was given or follows from it."""
    return _place(port, label or label_for(site, port, room), taken_names(site))


def _place(port: PortId, label: str | None, taken: set[str]) -> FreePortPlace:
    key = label if label and KEY.fullmatch(label) and label.casefold() not in taken else None
    key = key or _untaken(_plain_label(port), taken)
    taken.add(key.casefold())
    if label:
        taken.add(label.casefold())
    return FreePortPlace(port, key, label if label and label != key else None)


def label_for(site: Site, port: PortId, room: str | None) -> str | None:
    """The label the site's scheme gives an outlet at `port`; None when it names something that
    isn't known. Without a scheme, labels are formed as ANSI/TIA-606 forms them."""
    panel = port.item.partition("/")[2]
    scheme = (site.info.labels or TIA).strip()
    if scheme.upper().removeprefix("ANSI/").startswith("TIA-606"):
        if is_space(port.enclosure) and port.name.isdigit():
            return link_label(port.enclosure, panel, int(port.name))
        return _plain_label(port)
    pattern = read_label_pattern(scheme)
    if not isinstance(pattern, LabelPattern):
        raise Refusal(f"the site's label scheme can't be read: {pattern}", "correct it in site.yml")
    place = site.rooms.get(room or "")
    values = {"enclosure": port.enclosure, "panel": panel, "port": port.name}
    if place:
        values["room"] = place.key
        if place.floor:
            values["floor"] = place.floor
    return pattern.fill(values)


def _may_repeat(site: Site) -> bool:
    """Whether the site's pattern leaves the port out, so that labels repeat by intent."""
    pattern = read_label_pattern(site.info.labels or "")
    return isinstance(pattern, LabelPattern) and not pattern.has_part("port")


def taken_names(site: Site) -> set[str]:
    """Every key and label of an outlet, folded: none of them is free."""
    names = {key.casefold() for key in site.outlets}
    for outlet in site.outlets.values():
        names |= {text.casefold() for text in (outlet.label, outlet.label_at_panel) if text}
    return names


def next_key(keys: Iterable[str], otherwise: str) -> str:
    """The key after the highest of these: F9 after F8, J07 after J06; `otherwise` for the first.

    Keys that don't end in a number don't count.
    """
    numbered = [match for key in keys if (match := re.fullmatch(r"(.*?)([0-9]+)", key))]
    if not numbered:
        return otherwise
    last = max(numbered, key=lambda match: (int(match[2]), match[1]))
    return f"{last[1]}{int(last[2]) + 1:0{len(last[2])}}"


def bundles(
    places: Sequence[FreePortPlace], size: int = BUNDLE
) -> tuple[tuple[FreePortPlace, ...], ...]:
    """The cables to be pulled together: in order, one panel's in one bundle, `size` at most."""
    found: list[tuple[FreePortPlace, ...]] = []
    for _, group in groupby(places, key=lambda place: place.port.item):
        same = tuple(group)
        found += [same[at : at + size] for at in range(0, len(same), size)]
    return tuple(found)


def _reached(port: PortId, start: PortId | None) -> bool:
    return start is None or (
        (natural(port.item), natural(port.name)) >= (natural(start.item), natural(start.name))
    )


def _plain_label(port: PortId) -> str:
    return f"{port.enclosure}-{port.item.partition('/')[2]}{port.printed}"


def _untaken(stem: str, taken: set[str]) -> str:
    key, number = stem, 2
    while key.casefold() in taken:
        key, number = f"{stem}.{number}", number + 1
    return key
