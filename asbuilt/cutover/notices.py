"""What must be ready before the window, whom to tell, and what may hurt."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from asbuilt.cutover.equipment import EquipmentChange
from asbuilt.cutover.materials import new_outlets
from asbuilt.cutover.plan import CutoverPlan
from asbuilt.cutover.window import OutageWindow
from asbuilt.model.site import natural
from asbuilt.records.links import FIBRE_CABLES
from asbuilt.records.people import Caution, Contact
from asbuilt.trade.cautions import CUSTOMARY_CAUTIONS, EMERGENCY_CALL_CAUTION

_CEILING: Final = "ceiling"


@dataclass(frozen=True, slots=True)
class LinkToTest:
    """A new or remade link and the last result on record in the plan, if there is one."""

    kind: str
    key: str
    result: str


@dataclass(frozen=True, slots=True)
class Notice:
    """A room that goes dark: who sits there, which outlets, and for how many minutes at most."""

    room: str | None
    persons: tuple[str, ...]
    outlets: tuple[str, ...]
    minutes: float


def links_to_test(plan: CutoverPlan, remade: Iterable[str]) -> tuple[LinkToTest, ...]:
    """What must have a passing result before it carries anything: new links, and those that are
    terminated anew."""
    keys = sorted({*(outlet.key for outlet in new_outlets(plan)), *remade}, key=natural)
    found = [LinkToTest("outlet", key, _last_result(plan, key)) for key in keys]
    found += [
        LinkToTest("backbone", new.key, _last_result(plan, new.key))
        for old, new in plan.backbones
        if new and old is None
    ]
    return tuple(found)


def notices(plan: CutoverPlan, window: OutageWindow) -> tuple[Notice, ...]:
    """The rooms that go dark, in order of their keys; those of no recorded room last."""
    rooms: dict[str | None, list[str]] = {}
    for key in (*window.downtime_minutes, *window.removed_outlets):
        rooms.setdefault(room_of(plan, key), []).append(key)
    found = []
    for room in sorted(rooms, key=lambda key: (key is None, natural(key or ""))):
        keys = rooms[room]
        persons = {person for key in keys if (person := person_of(plan, key))}
        longest = max(window.downtime_minutes.get(key, 0.0) for key in keys)
        outlets = tuple(sorted(keys, key=natural))
        found.append(Notice(room, tuple(sorted(persons)), outlets, longest))
    return tuple(found)


def contacts_to_inform(plan: CutoverPlan) -> tuple[Contact, ...]:
    """Those who may order a change first, then the others of the client."""
    client = [c for c in plan.after.contacts.values() if c.party == "client"]
    return tuple(sorted(client, key=lambda c: (not c.authorises, natural(c.key))))


def preparations(
    plan: CutoverPlan, window: OutageWindow, touched: dict[str, EquipmentChange]
) -> Iterator[str]:
    """What must be so before the window opens."""
    yield "Everything under Materials is on site, counted and unpacked."
    if window.before_window:
        yield "All of phase 1 is done; new plant is terminated, labelled and tested."
    swapped = [
        item
        for key, touch in touched.items()
        if touch in (EquipmentChange.SWAPPED, EquipmentChange.ADDED)
        and (item := plan.after.items.get(key))
        and item.role in ("switch", "router", "device")
    ]  # fmt: skip
    for item in sorted(swapped, key=lambda item: natural(item.key)):
        yield (
            f"The new {item.role} {item.key} has started once on a bench, with its final software "
            "and settings; the settings of what it takes the place of are kept."
        )
    if window.downtime_minutes:
        count = len(window.downtime_minutes)
        yield (
            f"Baseline: each of the {count} links that lose service was seen working as "
            "found (link, "
            "network, device), and what didn’t work is written down."
        )
    if window.steps:
        yield "Nothing else is changed between this sheet and the window (a freeze)."
        yield "What is taken out stays at hand, unchanged, until phase 3 is signed."


def enclosures_to_photograph(
    plan: CutoverPlan, window: OutageWindow, touched: dict[str, EquipmentChange]
) -> tuple[str, ...]:
    """The enclosures to be photographed, front and rear."""
    keys = {key.partition("/")[0] for key in touched}
    for operation in (*window.before_window, *(step.operation for step in window.steps)):
        if operation.kind in ("cord", "drop", "terminate"):
            ports = f"{operation.old} – {operation.new}".replace(",", " –").split(" – ")
            keys |= {port.partition("/")[0] for port in ports if port.count("/") == 2}
    known = plan.before.enclosures.keys() | plan.after.enclosures.keys()
    return tuple(sorted(keys & known, key=natural))


def customary_cautions(
    plan: CutoverPlan, window: OutageWindow, touched: dict[str, EquipmentChange]
) -> tuple[str, ...]:
    """The customary cautions of the work this plan asks for."""
    hazards: list[str] = []
    kinds = {o.kind for o in (*window.before_window, *(step.operation for step in window.steps))}
    pulled = bool(kinds & {"pull", "drop", "remove", "backbone"})
    plates = {outlet.plate or "" for outlet in new_outlets(plan)}
    if pulled or any(_CEILING in plate for plate in plates):
        hazards += ["work at height", "asbestos"]
    vias = {via for outlet in new_outlets(plan) for via in outlet.via}
    walls = [p for via in vias if (p := plan.after.pathways.get(via)) and p.barrier]
    if pulled or walls:
        hazards.append("rated barrier")
    roles = {
        item.role
        for key in touched
        for site in (plan.before, plan.after)
        if (item := site.items.get(key))
    }
    if roles & {"ups", "power strip"} or "power" in kinds:
        hazards.append("mains power")
    if "ups" in roles:
        hazards.append("batteries")
    if _touches_fibre(plan, touched) or any(
        c.media == "fibre" for pair in plan.cords if pair[0] != pair[1] for c in pair if c
    ):
        hazards.append("laser light")
    if any(outlet.poe for outlet in new_outlets(plan)):
        hazards.append("powered bundles")
    hazards += ["lone work", "other trade's system"]
    found = [CUSTOMARY_CAUTIONS[hazard] for hazard in dict.fromkeys(hazards)]
    return tuple(found)


def recorded_cautions(plan: CutoverPlan) -> tuple[Caution, ...]:
    """What the site itself is on record for; all of it, since a crew walks through it."""
    return tuple(plan.after.cautions.values())


def phone_outlets(plan: CutoverPlan, outlets: Iterable[str]) -> tuple[str, ...]:
    """The outlets named that serve a phone, before or after."""
    found = []
    for key in outlets:
        was = plan.outlet_key_before.get(key, key)
        sides = (plan.after.outlets.get(key), plan.before.outlets.get(was))
        if any(outlet and outlet.serves == "phone" for outlet in sides):
            found.append(key)
    return tuple(sorted(found, key=natural))


def emergency_call_text(keys: tuple[str, ...]) -> str:
    if not keys:
        return ""
    return f"{EMERGENCY_CALL_CAUTION} Have it checked for each phone, and note down that it was."


def room_of(plan: CutoverPlan, key: str) -> str | None:
    """The room an outlet is in today; of a new one, where it will be."""
    outlet = plan.before.outlets.get(
        plan.outlet_key_before.get(key, key)
    ) or plan.after.outlets.get(key)
    return outlet.room if outlet else None


def person_of(plan: CutoverPlan, key: str) -> str | None:
    """Who sits there today; where nobody is on record today, who will."""
    today = plan.before.outlets.get(plan.outlet_key_before.get(key, key))
    then = plan.after.outlets.get(key)
    return (today.person if today else None) or (then.person if then else None)


def _last_result(plan: CutoverPlan, key: str) -> str:
    results = plan.after.tests_of.get(key, ())
    if not results:
        return "no result on record"
    last = results[-1]
    return f"{last.result} on {last.date}"


def _touches_fibre(plan: CutoverPlan, touched: dict[str, EquipmentChange]) -> bool:
    items = (plan.after.items.get(key) or plan.before.items.get(key) for key in touched)
    if any(getattr(item, "media", None) == "fibre" for item in items):
        return True
    return any(
        one.cable in FIBRE_CABLES
        for old, new in plan.backbones
        if (old is None) != (new is None) or (old and new and (old.from_, old.to) !=
                                              (new.from_, new.to))
        for one in (old, new)
        if one
    )  # fmt: skip
