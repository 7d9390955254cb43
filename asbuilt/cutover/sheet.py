"""The sheet of a cutover as one value."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from asbuilt.changes.compare import Change
from asbuilt.changes.identity import ITEM_KINDS
from asbuilt.changes.log_lines import lines_of_changes
from asbuilt.changes.state import State
from asbuilt.cutover import notices
from asbuilt.cutover.equipment import EquipmentChange
from asbuilt.cutover.materials import Material, list_materials
from asbuilt.cutover.minutes import DEFAULT_MINUTES, DEFAULT_SOURCE
from asbuilt.cutover.notices import LinkToTest, Notice
from asbuilt.cutover.operations import Operation
from asbuilt.cutover.plan import CutoverPlan, cutover_plan
from asbuilt.cutover.tasks import collect_tasks
from asbuilt.cutover.window import OutageWindow, outage_window
from asbuilt.model.paths import paths_of
from asbuilt.model.site import Site, natural
from asbuilt.records.people import Caution, Contact

VERIFICATION_CHECKS: Final = ("link up", "right network", "device works")


@dataclass(frozen=True, slots=True)
class CutoverLink:
    """A link to be verified: in exactly one phase, 1 where nothing live was touched for it."""

    outlet: str
    label: str
    phase: int
    room: str
    person: str
    serves: str
    network: str
    old_port: str
    new_port: str
    downtime: float  # minutes


@dataclass(frozen=True, slots=True)
class CutoverSheet:
    """`links` are all that the plan touches or darkens, apart from `gone`, which are taken away
    or dead afterwards; `paper` are changes of the records nobody needs a tool for."""

    key: str
    name: str
    base: str
    target: str
    plan: CutoverPlan
    window: OutageWindow
    equipment_changes: Mapping[str, EquipmentChange]
    links_to_test: tuple[LinkToTest, ...]
    notices: tuple[Notice, ...]
    contacts: tuple[Contact, ...]
    preparations: tuple[str, ...]
    enclosures_to_photograph: tuple[str, ...]
    links: tuple[CutoverLink, ...]
    removed_outlets: tuple[str, ...]
    materials: tuple[Material, ...]
    cautions: tuple[str, ...]
    site_cautions: tuple[Caution, ...]
    phone_outlets: tuple[str, ...]
    record_only_changes: tuple[str, ...]
    assumptions: tuple[str, ...]

    @property
    def before_window(self) -> tuple[Operation, ...]:
        return self.window.before_window

    @property
    def minutes_before_window(self) -> float:
        return sum(operation.minutes for operation in self.window.before_window)


def cutover_sheet(
    before: Site,
    after: Site,
    states: tuple[State, State],
    changes: tuple[Change, ...],
    base: str = "",
    target: str = "",
    minutes: Mapping[str, float] = DEFAULT_MINUTES,
) -> CutoverSheet:
    """The sheet of what leads from one state of a site to another. `changes` are those between
    the two `states`; `base` and `target` say what the two are called."""
    plan = cutover_plan(before, after, changes)
    tasks = collect_tasks(plan, minutes)
    window = outage_window(plan, tasks)
    links, gone = _links(plan, window)
    remade = [
        key
        for operation in _all_operations(window)
        if operation.kind == "drop"
        for key in operation.outlets
        if key in after.outlets
    ]
    moved = [link.outlet for link in links if _changed_location(plan, link)]
    return CutoverSheet(
        key=after.key,
        name=after.name,
        base=base,
        target=target,
        plan=plan,
        window=window,
        equipment_changes=tasks.equipment_changes,
        links_to_test=notices.links_to_test(plan, remade),
        notices=notices.notices(plan, window),
        contacts=notices.contacts_to_inform(plan),
        preparations=tuple(notices.preparations(plan, window, tasks.equipment_changes)),
        enclosures_to_photograph=notices.enclosures_to_photograph(
            plan, window, tasks.equipment_changes
        ),
        links=links,
        removed_outlets=gone,
        materials=list_materials(plan, tasks.equipment_changes),
        cautions=notices.customary_cautions(plan, window, tasks.equipment_changes),
        site_cautions=notices.recorded_cautions(plan),
        phone_outlets=notices.phone_outlets(plan, [*moved, *gone]),
        record_only_changes=_record_only_changes(changes, states, tasks.done_for),
        assumptions=_assumptions(plan, window, minutes),
    )


def _all_operations(window: OutageWindow) -> tuple[Operation, ...]:
    return (*window.before_window, *(step.operation for step in window.steps))


def _links(
    plan: CutoverPlan, window: OutageWindow
) -> tuple[tuple[CutoverLink, ...], tuple[str, ...]]:
    late = {
        key for step in window.steps for key in (*step.without_service, *step.operation.outlets)
    }
    early = {key for operation in window.before_window for key in operation.outlets} - late
    named = sorted(late | early | set(window.removed_outlets), key=natural)
    there = [
        key for key in named if key in plan.after.outlets and key not in window.removed_outlets
    ]
    gone = tuple(key for key in named if key not in set(there))
    return tuple(_link(plan, window, key, 2 if key in late else 1) for key in there), gone


def _link(plan: CutoverPlan, window: OutageWindow, key: str, phase: int) -> CutoverLink:
    outlet = plan.after.outlets[key]
    network = plan.after.networks.get(outlet.network or "")
    number = f" ({network.number})" if network and network.number else ""
    return CutoverLink(
        outlet=key,
        label=plan.after.label_of(outlet),
        phase=phase,
        room=plan.after.room_name(outlet.room),
        person=outlet.person or "",
        serves=outlet.serves or "",
        network=f"{network.name or network.key}{number}" if network else "",
        old_port=_switch_port(plan, plan.outlet_key_before.get(key), old=True),
        new_port=_switch_port(plan, key, old=False),
        downtime=window.downtime_minutes.get(key, 0.0),
    )


def _changed_location(plan: CutoverPlan, link: CutoverLink) -> bool:
    """Whether what an outlet serves is at another place, or on another port of a switch: either
    may be what an emergency call is located by."""
    old = plan.before.outlets.get(plan.outlet_key_before.get(link.outlet, ""))
    new = plan.after.outlets[link.outlet]
    if old is None or link.old_port != link.new_port:
        return True
    return (old.room, old.plate, old.serves) != (new.room, new.plate, new.serves)


def _switch_port(plan: CutoverPlan, key: str | None, old: bool) -> str:
    site, net = (plan.before, plan.graph_before) if old else (plan.after, plan.graph_after)
    if key is None or key not in site.outlets:
        return ""
    ports = (path.switch_port for path in paths_of(net, site.outlets[key]))
    return ", ".join(str(port) for port in ports if port)


def _record_only_changes(
    changes: Iterable[Change], states: tuple[State, State], done_for: set[tuple[str, str]]
) -> tuple[str, ...]:
    """What the plan changes in the records that no task is for, in words."""
    left = tuple(change for change in changes if not _has_a_task(change, done_for))
    return tuple(told.text for told in lines_of_changes(left, *states))


def _has_a_task(change: Change, done_for: set[tuple[str, str]]) -> bool:
    sides = [side for side in (change.after, change.before) if side]
    if change.kind in ITEM_KINDS:
        keys = {side.key for side in sides}
        return any(kind in ITEM_KINDS and key in keys for kind, key in done_for)
    return any((side.kind, side.key) in done_for for side in sides)


def _assumptions(
    plan: CutoverPlan, window: OutageWindow, minutes: Mapping[str, float]
) -> tuple[str, ...]:
    own = sorted(task for task in minutes if minutes[task] != DEFAULT_MINUTES[task])
    found = [
        "One crew does one step after the other.",
        "Minutes a task: "
        + ", ".join(f"{task} {number:g}" for task, number in sorted(minutes.items()))
        + f" ({DEFAULT_SOURCE}"
        + (f"; given for this sheet: {', '.join(own)}" if own else "")
        + ").",
        "An outlet is out of service from the start of the step that unplugs it to the "
        "end of the step that "
        "brings it back; a second path on record keeps it lit.",
    ]
    if window.steps:
        found.append(
            "No order of these steps takes outlets out of service for less time: all were tried."
            if window.proved_least
            else "The order is the best that was found; it was not proved that none has less dark "
            "time."
        )
        found.append(
            "The point of no return is the first step that can’t be undone quickly, or after "
            "which undoing takes longer than going on."
        )
    roots = len(plan.graph_before.roots)
    if not roots:
        found.append(
            "These records say of no outlet how it is fed, so none is said to lose service."
        )
    return tuple(found)
