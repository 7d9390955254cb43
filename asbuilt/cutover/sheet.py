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
from asbuilt.cutover.materials import Material, materials_of
from asbuilt.cutover.minutes import PRACTICE, SOURCE
from asbuilt.cutover.notices import LinkToTest, Notice
from asbuilt.cutover.operations import Operation
from asbuilt.cutover.plan import CutoverPlan, cutover_plan
from asbuilt.cutover.tasks import tasks_of
from asbuilt.cutover.window import OutageWindow, window_of
from asbuilt.model.paths import paths_of
from asbuilt.model.site import Site, natural
from asbuilt.records.people import Caution, Contact

TICKS: Final = ("link up", "right network", "device works")


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
    dark: float  # minutes


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
    touched: Mapping[str, EquipmentChange]
    tests: tuple[LinkToTest, ...]
    notices: tuple[Notice, ...]
    contacts: tuple[Contact, ...]
    ready: tuple[str, ...]
    pictures: tuple[str, ...]
    links: tuple[CutoverLink, ...]
    gone: tuple[str, ...]
    materials: tuple[Material, ...]
    cautions: tuple[str, ...]
    recorded: tuple[Caution, ...]
    phones: tuple[str, ...]
    paper: tuple[str, ...]
    assumptions: tuple[str, ...]

    @property
    def early(self) -> tuple[Operation, ...]:
        return self.window.early

    @property
    def early_minutes(self) -> float:
        return sum(operation.minutes for operation in self.window.early)


def sheet_of(
    before: Site,
    after: Site,
    states: tuple[State, State],
    changes: tuple[Change, ...],
    base: str = "",
    target: str = "",
    minutes: Mapping[str, float] = PRACTICE,
) -> CutoverSheet:
    """The sheet of what leads from one state of a site to another. `changes` are those between
    the two `states`; `base` and `target` say what the two are called."""
    plan = cutover_plan(before, after, changes)
    tasks = tasks_of(plan, minutes)
    window = window_of(plan, tasks)
    links, gone = _links(plan, window)
    remade = [
        key
        for operation in _all(window)
        if operation.kind == "drop"
        for key in operation.outlets
        if key in after.outlets
    ]
    moved = [link.outlet for link in links if _is_elsewhere(plan, link)]
    return CutoverSheet(
        key=after.key,
        name=after.name,
        base=base,
        target=target,
        plan=plan,
        window=window,
        touched=tasks.touched,
        tests=notices.to_be_tested(plan, remade),
        notices=notices.notices(plan, window),
        contacts=notices.whom_to_tell(plan),
        ready=tuple(notices.ready(plan, window, tasks.touched)),
        pictures=notices.pictures(plan, window, tasks.touched),
        links=links,
        gone=gone,
        materials=materials_of(plan, tasks.touched),
        cautions=notices.cautions(plan, window, tasks.touched),
        recorded=notices.recorded_cautions(plan),
        phones=notices.phones(plan, [*moved, *gone]),
        paper=_on_paper(changes, states, tasks.done_for),
        assumptions=_assumptions(plan, window, minutes),
    )


def _all(window: OutageWindow) -> tuple[Operation, ...]:
    return (*window.early, *(step.operation for step in window.steps))


def _links(
    plan: CutoverPlan, window: OutageWindow
) -> tuple[tuple[CutoverLink, ...], tuple[str, ...]]:
    late = {key for step in window.steps for key in (*step.dark, *step.operation.outlets)}
    early = {key for operation in window.early for key in operation.outlets} - late
    named = sorted(late | early | set(window.gone), key=natural)
    there = [key for key in named if key in plan.after.outlets and key not in window.gone]
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
        old_port=_switch_port(plan, plan.outlet_was.get(key), old=True),
        new_port=_switch_port(plan, key, old=False),
        dark=window.dark_minutes.get(key, 0.0),
    )


def _is_elsewhere(plan: CutoverPlan, link: CutoverLink) -> bool:
    """Whether what an outlet serves is at another place, or on another port of a switch: either
    may be what an emergency call is located by."""
    old = plan.before.outlets.get(plan.outlet_was.get(link.outlet, ""))
    new = plan.after.outlets[link.outlet]
    if old is None or link.old_port != link.new_port:
        return True
    return (old.room, old.plate, old.serves) != (new.room, new.plate, new.serves)


def _switch_port(plan: CutoverPlan, key: str | None, old: bool) -> str:
    site, net = (plan.before, plan.net_before) if old else (plan.after, plan.net_after)
    if key is None or key not in site.outlets:
        return ""
    ports = (path.switch_port for path in paths_of(net, site.outlets[key]))
    return ", ".join(str(port) for port in ports if port)


def _on_paper(
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
    own = sorted(task for task in minutes if minutes[task] != PRACTICE[task])
    found = [
        "One crew does one step after the other.",
        "Minutes a task: "
        + ", ".join(f"{task} {number:g}" for task, number in sorted(minutes.items()))
        + f" ({SOURCE}"
        + (f"; given for this sheet: {', '.join(own)}" if own else "")
        + ").",
        "An outlet is dark from the start of the step that unplugs it to the end of the step that "
        "brings it back; a second way round on record keeps it lit.",
    ]
    if window.steps:
        found.append(
            "No order of these steps has less dark time, by search over all of them."
            if window.least
            else "The order is the best that was found; it was not proved that none has less dark "
            "time."
        )
        found.append(
            "The point of no return is the first step that can’t be undone quickly, or after "
            "which undoing takes longer than going on."
        )
    roots = len(plan.net_before.roots)
    if not roots:
        found.append("These records say of no outlet how it is fed, so none is told to go dark.")
    return tuple(found)
