"""Outlets: adding one or a run of them, moving, relabelling, re-terminating, removing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from asbuilt.edits.numbering import FreePortPlace, bundles, panels_for, place_at, propose
from asbuilt.edits.patching import end_goes_to
from asbuilt.edits.references import forget, one_or_more
from asbuilt.edits.requests import AddRecord, Refusal, RemoveRecord, SetFields, Wish
from asbuilt.edits.yaml_values import Said
from asbuilt.model.site import PortState, Site
from asbuilt.problem import suggestion
from asbuilt.records.enclosures import Panel
from asbuilt.records.fields import PortId
from asbuilt.records.links import Outlet


@dataclass(frozen=True, slots=True)
class OutletRun:
    """New drops: where each ends and what it is called; which are pulled together; which free
    ports were passed over because their label is in use."""

    places: tuple[FreePortPlace, ...]
    bundles: tuple[tuple[FreePortPlace, ...], ...]
    passed_over: tuple[tuple[PortId, str], ...]
    wishes: tuple[Wish, ...]


def add_outlets(
    site: Site,
    room: str,
    count: int = 1,
    *,
    panel: str | None = None,
    enclosure: str | None = None,
    port: PortId | None = None,
    label: str | None = None,
    fields: Mapping[str, Said] | None = None,
) -> OutletRun:
    """New outlets in a room, on the next free panel ports (from `port` on, where it is given).

    `fields` are what all of them say beside room and port: plate, cable, what they serve.
    """
    _room(site, room)
    if count < 1:
        raise Refusal("no drops were asked for", "ask for one or more")
    if label and count > 1:
        raise Refusal("one label can't be given to several outlets", "leave it to the scheme")
    if port and count == 1:
        free_panel_port(site, port)
        places: tuple[FreePortPlace, ...] = (place_at(site, port, room, label),)
        passed: tuple[tuple[PortId, str], ...] = ()
    else:
        proposal = propose(site, count, _panels(site, room, panel, enclosure, port), room, port)
        places, passed = proposal.places, proposal.passed_over
        if label:
            places = (place_at(site, places[0].port, room, label),)
    said = dict(fields or {})
    wishes = tuple(
        AddRecord(
            "outlet",
            place.key,
            {
                **({"label": place.label} if place.label else {}),
                "room": room,
                **{name: said[name] for name in ("plate", "position") if name in said},
                "port": str(place.port),
                **{k: v for k, v in said.items() if k not in ("plate", "position")},
            },
        )
        for place in places
    )
    return OutletRun(places, bundles(places), passed, wishes)


def move_outlet(
    site: Site,
    key: str,
    room: str,
    *,
    plate: str | None = None,
    length: str | None = None,
    terminated: str | None = None,
) -> list[Wish]:
    """The outlet is in another room, or elsewhere in the same one. What was true of the old place
    alone (its plate, its spot on the plan, the length of its cable) isn't written any more unless
    it is given anew."""
    outlet = outlet_of(site, key)
    _room(site, room)
    if outlet.room == room and plate in (None, outlet.plate):
        raise Refusal(f"{key} is there already", "name another room, or another place in it")
    wishes: list[Wish] = [] if outlet.room == room else [SetFields("outlet", key, "room", room)]
    for name, said, was in (
        ("plate", plate, outlet.plate),
        ("position", None, outlet.position),
        ("length", length, outlet.length),
    ):
        if said is not None or was is not None:
            wishes.append(SetFields("outlet", key, name, said))
    if terminated:
        wishes.append(SetFields("outlet", key, "terminated", terminated))
    return wishes


def relabel(site: Site, key: str, label: str | None, at_panel: str | None = None) -> list[Wish]:
    """Another text on the faceplate, or at the panel's end. The key stays: other records and old
    revisions know the outlet by it."""
    outlet = outlet_of(site, key)
    wishes: list[Wish] = []
    if label is not None and label != site.label_of(outlet):
        wishes.append(SetFields("outlet", key, "label", None if label == key else label))
    front = label if label is not None else site.label_of(outlet)
    if at_panel is not None and at_panel != site.panel_label_of(outlet):
        wishes.append(
            SetFields("outlet", key, "label at panel", None if at_panel == front else at_panel)
        )
    if not wishes:
        raise Refusal(f"{key} is labelled so already")
    return wishes


def terminate(
    site: Site,
    key: str,
    ports: Sequence[PortId],
    *,
    terminated: str | None = None,
    leave_cord: bool = False,
) -> list[Wish]:
    """The outlet's cable ends at another panel port. The cord follows, so that the outlet stays
    patched as it was; `leave_cord` leaves it on the old port."""
    outlet = outlet_of(site, key)
    new = [port for port in ports if port not in outlet.port]
    if not new:
        raise Refusal(f"{key} ends at {', '.join(map(str, ports))} already")
    for port in new:
        free_panel_port(site, port, cord_too=leave_cord)
    wishes: list[Wish] = [
        SetFields("outlet", key, "port", one_or_more([str(port) for port in ports]))
    ]
    if terminated:
        wishes.append(SetFields("outlet", key, "terminated", terminated))
    if not leave_cord:
        left = [port for port in outlet.port if port not in ports]
        for old, port in zip(left, new, strict=False):
            for cord in site.ports[old].cords if old in site.ports else ():
                wishes += end_goes_to(site, cord, old, port)
    return wishes


def remove_outlet(site: Site, key: str, *, leave_cord: bool = False) -> list[Wish]:
    """The outlet and its cable are taken out, with the cord on its panel port and the results of
    its tests; findings and jobs name it no more. History keeps all of it."""
    outlet = outlet_of(site, key)
    wishes: list[Wish] = [RemoveRecord("outlet", key)]
    wishes += forget(site, ("outlet", "link"), key)
    wishes += [RemoveRecord("test", test.key) for test in site.tests_of.get(key, ())]
    if not leave_cord:
        cords = {
            cord.key
            for port in outlet.port
            if port in site.ports
            for cord in site.ports[port].cords
        }
        wishes += [RemoveRecord("cord", cord) for cord in sorted(cords)]
    return wishes


def phones(site: Site, keys: Sequence[str]) -> tuple[str, ...]:
    """Those of these outlets that serve a phone: an emergency call may be placed from them."""
    return tuple(key for key in keys if key in site.outlets and site.outlets[key].serves == "phone")


def outlet_of(site: Site, key: str) -> Outlet:
    """The outlet of this key, or the only one labelled so."""
    if key in site.outlets:
        return site.outlets[key]
    labelled = [o for o in site.outlets.values() if key in (o.label, o.label_at_panel)]
    if len(labelled) == 1:
        return labelled[0]
    if labelled:
        keys = ", ".join(outlet.key for outlet in labelled)
        raise Refusal(f"{len(labelled)} outlets are labelled “{key}”", f"name its key: {keys}")
    raise Refusal(f"there is no outlet “{key}”", suggestion(key, site.outlets))


def free_panel_port(site: Site, port: PortId, cord_too: bool = False) -> None:
    """Refuses a port a cable can't end at."""
    use = site.ports.get(port)
    if use is None:
        raise Refusal(f"there is no port {port}", suggestion(str(port), map(str, site.ports)))
    if not isinstance(use.item, Panel):
        raise Refusal(f"{port} is a port of a {use.item.role}", "a cable ends at a panel")
    if use.outlets or use.backbones:
        there = ", ".join(thing.key for thing in (*use.outlets, *use.backbones))
        raise Refusal(f"{there} ends at {port}", "name a free port")
    if use.state in (PortState.DEAD, PortState.ABANDONED, PortState.UNKNOWN):
        raise Refusal(f"port {port} is {use.state.value}", "name a free port, or clear that first")
    if use.cords and not cord_too:
        raise Refusal(f"there is a cord on {port}", "take it out first, or name a free port")


def _panels(
    site: Site, room: str, panel: str | None, enclosure: str | None, port: PortId | None
) -> tuple[Panel, ...]:
    if panel is None and enclosure is None and port is not None:
        enclosure = port.enclosure
    if panel is None:
        return panels_for(site, room, enclosure)
    found = site.items.get(panel)
    if not isinstance(found, Panel):
        known = [key for key, item in site.items.items() if isinstance(item, Panel)]
        raise Refusal(f"there is no panel “{panel}”", suggestion(panel, known, ", ".join(known)))
    return (found,)


def _room(site: Site, room: str) -> None:
    if room not in site.rooms:
        known = f"rooms: {', '.join(site.rooms)}" if site.rooms else "record it in site.yml"
        raise Refusal(f"there is no room “{room}”", suggestion(room, site.rooms, known))
