"""What has to be done with hands, from what a plan changes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

from asbuilt.cutover.equipment import (
    EquipmentChange,
    devices_fed_by,
    equipment_change,
    half_units_of,
    is_in_use,
)
from asbuilt.cutover.operations import Operation, PlantPart
from asbuilt.cutover.plan import CutoverPlan
from asbuilt.model.describe import cable_name
from asbuilt.model.paths import ACTIVE, Edge, Node, nodes_of, via
from asbuilt.model.site import Site
from asbuilt.records.enclosures import (
    Device,
    Item,
    Panel,
    PortedItem,
    PowerStrip,
    Reserve,
    Router,
    Switch,
    Ups,
)
from asbuilt.records.fields import PortId, Spot
from asbuilt.records.links import Backbone, Cord, Outlet
from asbuilt.records.services import Circuit

_ROLE_NAMES: Final = {"ups": "UPS", "manager": "cable manager"}
_MOVED_METRES: Final = 0.5  # metres on the plan, from which on a jack is taken to be put elsewhere


@dataclass(slots=True)
class CutoverTasks:
    """All operations of a plan, the parts they take down, and what was found on the way."""

    operations: list[Operation] = field(default_factory=list)
    plant_parts: list[PlantPart] = field(default_factory=list)
    #: What a change of the records is done by: kind and key (after, else before).
    done_for: set[tuple[str, str]] = field(default_factory=set)
    #: How each mounted thing is touched, by its key after the plan, else before.
    equipment_changes: dict[str, EquipmentChange] = field(default_factory=dict)


def collect_tasks(plan: CutoverPlan, minutes: Mapping[str, float]) -> CutoverTasks:
    return _TaskCollector(plan, minutes).collect()


@dataclass(slots=True)
class _TaskCollector:
    plan: CutoverPlan
    minutes: Mapping[str, float]
    tasks: CutoverTasks = field(default_factory=CutoverTasks)
    take_out_operations: dict[str, Operation] = field(default_factory=dict)  # by key before
    mount_operations: dict[str, Operation] = field(default_factory=dict)  # by key after
    swapped: set[str] = field(default_factory=set)  # by key after
    terminations: dict[str, Operation] = field(default_factory=dict)  # what terminates at a port
    at_front: dict[str, list[Operation]] = field(default_factory=dict)  # a port's cord
    outlets_over: Mapping[Node | Edge, tuple[str, ...]] = field(default_factory=dict)

    def collect(self) -> CutoverTasks:
        self.outlets_over = via(self.plan.graph_before)
        for items in self.plan.items:
            self._item(*items)
        for outlets in self.plan.outlets:
            self._outlet(*outlets)
        for backbones in self.plan.backbones:
            self._backbone(*backbones)
        for circuits in self.plan.circuits:
            self._circuit(*circuits)
        for cords in sorted(self.plan.cords, key=self._leads_to_an_outlet):
            self._cord(*cords)
        return self.tasks

    def _leads_to_an_outlet(self, cords: tuple[Cord | None, Cord | None]) -> bool:
        """Those between devices are done first: others depend on them."""
        old, new = cords
        return not (
            (old and all(_is_active(self.plan.before, port) for port in (old.from_, old.to)))
            or (new and all(_is_active(self.plan.after, port) for port in (new.from_, new.to)))
        )

    # Mounted things

    def _item(self, old: Item | None, new: Item | None) -> None:
        # Kept units are only on paper.
        old = None if isinstance(old, Reserve) else old
        new = None if isinstance(new, Reserve) else new
        one = new or old
        if one is None:
            return
        touch = equipment_change(self.plan, old, new)
        if touch is None:
            if old and new and old.title != new.title:
                self._label(one.role, one.key, f"{item_text(new)}: label it")
            return
        self._mark_done(one.role, one.key)
        self.tasks.equipment_changes[one.key] = touch
        if touch is EquipmentChange.POWER_MOVED:
            assert old and new
            self._power_lead(old, new)
            return
        live = old is not None and is_in_use(self.plan.before, old)
        if old:
            self._take_out(old, new, touch, live)
        if new:
            self._mount(old, new, touch)
        if touch is EquipmentChange.SWAPPED:
            self.swapped.add(one.key)
        if old and live:
            self._item_part(old, new)

    def _take_out(self, old: Item, new: Item | None, touch: EquipmentChange, live: bool) -> None:
        feeds = isinstance(old, (Ups, PowerStrip)) and live
        off = self.minutes["take out"] + (self.minutes["shut down"] if feeds else 0)
        cords = self._cords_on(old)
        off += self.minutes["unplug"] * cords
        words = f"Take {item_text(old)} out of {location_text(old)}"
        if feeds:
            fed = ", ".join(one.title for one in devices_fed_by(self.plan.before, old))
            words = f"Shut down what {item_text(old)} feeds ({fed}) and t{words[1:]}"
        elif cords:
            words = f"Unplug {cords} cord{'s'[: cords > 1]}, t{words[1:]}"
        operation = Operation(
            "item", words, minutes_off=off, old=location_text(old), is_live=live,
            way_back=f"mount it again in {location_text(old)}, "
            "plug every cord back as photographed",
            frees_places=half_units_of(self.plan.before, old),
        )  # fmt: skip
        self.take_out_operations[old.key] = self._add(operation)

    def _mount(self, old: Item | None, new: Item, touch: EquipmentChange) -> None:
        on = self.minutes["mount"]
        starts = isinstance(new, ACTIVE) or (old and devices_fed_by(self.plan.after, new))
        on += self.minutes["start"] if starts else 0
        what = "the new " if touch is EquipmentChange.SWAPPED else ""
        words = f"Mount {what}{item_text(new)} in {location_text(new)}"
        check = "it sits on four screws and is bonded where the site bonds"
        if starts:
            words += ", power it and wait until it has started"
            check = "it has started and shows no alarm"
        operation = Operation(
            "item", words, minutes_on=on, new=location_text(new), check=check,
            way_back=f"take it out of {location_text(new)}",
            needs_places=half_units_of(self.plan.after, new),
        )  # fmt: skip
        if old:
            operation.waits_for.append(self.take_out_operations[old.key])
        self.mount_operations[new.key] = self._add(operation)

    def _item_part(self, old: Item, new: Item | None) -> None:
        mends = [self.mount_operations[new.key]] if new else []
        before = frozenset(
            (*nodes_of(self.plan.before, old), *_powered_device_nodes(self.plan.before, old))
        )
        after: frozenset[Node | Edge] = frozenset()
        if new:
            after = frozenset(
                (*nodes_of(self.plan.after, new), *_powered_device_nodes(self.plan.after, new))
            )
        self.tasks.plant_parts.append(
            PlantPart(
                [self.take_out_operations[old.key]],
                mends,
                before,
                after,
                changes_connection=not new,
            )
        )

    def _power_lead(self, old: Item, new: Item) -> None:
        devices = devices_fed_by(self.plan.before, old)
        words = f"Move the power lead of {item_text(new)} from {old.fed_by} to {new.fed_by}"
        operation = Operation(
            "power", words, minutes_off=self.minutes["power lead"], old=old.fed_by or "",
            minutes_on=self.minutes["start"] if devices else 0, new=new.fed_by or "",
            is_live=bool(devices),
            check="it has started and shows no alarm", way_back=f"back to {old.fed_by}",
        )  # fmt: skip
        self._add(operation)
        if devices:
            before, after = (
                _powered_device_nodes(self.plan.before, old),
                _powered_device_nodes(self.plan.after, new),
            )
            self.tasks.plant_parts.append(PlantPart([operation], [operation], before, after))

    # Drops, backbones, circuits

    def _outlet(self, old: Outlet | None, new: Outlet | None) -> None:
        if old is None:
            assert new
            self._new_drop(new)
        elif new is None:
            self._removed_drop(old)
        else:
            self._kept_drop(old, new)

    def _new_drop(self, new: Outlet) -> None:
        self._mark_done("outlet", new.key)
        name = self.plan.after.label_of(new)
        room = self.plan.after.room_name(new.room)
        ends = ", ".join(map(str, new.port))
        cable = cable_name(new.cable) if new.cable and new.cable != "unknown" else "cable"
        pull = Operation(
            "pull", f"Pull {cable} for {name} from {ends or 'its panel'} to {room}",
            minutes_on=self.minutes["pull"], new=ends, outlets=(new.key,),
            check="bends, support and pull tension as its maker asks", way_back="leave it coiled",
        )  # fmt: skip
        self._add(pull)
        terminate = Operation(
            "terminate", f"Terminate and test {name} at both ends, label it at both ends",
            minutes_on=2 * self.minutes["terminate"] + 2 * self.minutes["label"], new=ends,
            outlets=(new.key,), check="permanent link test passed and kept", waits_for=[pull],
            way_back="leave it unpatched", needs_places=_rear_places(new.port),
        )  # fmt: skip
        self._wait_for_mounting(terminate, new.port)
        self._add(terminate)
        for port in new.port:
            self.terminations[str(port)] = terminate

    def _removed_drop(self, old: Outlet) -> None:
        self._mark_done("outlet", old.key)
        live = self._is_in_service(old.key)
        name = self.plan.before.label_of(old)
        ends = ", ".join(map(str, old.port))
        operation = Operation(
            "remove", f"Take away drop {name} from {ends or 'its panel'}", old=ends, is_live=live,
            minutes_off=self.minutes["take away"],
            frees_places=_rear_places(map(self.plan.port_after, old.port)),
            way_back="pull a new drop", is_irreversible=True, outlets=(old.key,),
            check="nothing is left above the ceiling; barriers it went through are sealed again",
        )  # fmt: skip
        self._add(operation)
        if live:
            self.tasks.plant_parts.append(
                PlantPart([operation], [], _drop_edge(old), changes_connection=True)
            )

    def _kept_drop(self, old: Outlet, new: Outlet) -> None:
        plan = self.plan
        live = self._is_in_service(old.key)
        name = plan.after.label_of(new)
        ports = tuple(map(plan.port_after, old.port))
        words, minutes, final = "", 0.0, False
        if _recorded_differently(old.cable, new.cable):
            words = (
                f"Change the cable of {name} from {cable_name(old.cable)} to "
                f"{cable_name(new.cable)}"
            )
            minutes, final = self.minutes["pull back"], True
        elif _recorded_differently(old.room, new.room) and not self._renamed_room(
            old.room, new.room
        ):
            there = plan.after.room_name(new.room)
            words = f"Pull {name} back and to {there}, terminate and test it"
            minutes, final = self.minutes["pull back"], True
        elif (
            _recorded_differently(old.plate, new.plate)
            or _distance_on_plan(old, new) > _MOVED_METRES
        ):
            words = f"Move {name} to {new.plate or 'its new place'}, terminate and test it"
            minutes, final = self.minutes["another plate"], True
        elif _recorded_differently(old.terminated, new.terminated):
            words = f"Terminate {name} anew at the outlet and test it"
            minutes = self.minutes["terminate"]
        again = bool(ports and new.port) and set(ports) != set(new.port)
        remade = [port for port in new.port if port.item in self.swapped and not again]
        if again or remade:
            ends = ", ".join(map(str, new.port))
            more = f"terminate it at {ends} and test it"
            words = f"{words}; {more}" if words else f"{name}: t{more[1:]}"
            minutes += self.minutes["terminate"]
        if words:
            self._mark_done("outlet", new.key)
            self._remade_drop(old, new, words, minutes, final, live, again or bool(remade))
        elif _recorded_differently(old.network, new.network) and live:
            self._mark_done("outlet", new.key)
            self._set_port(old, new)
        old_label = (plan.before.label_of(old), plan.before.panel_label_of(old))
        if old_label != (name, plan.after.panel_label_of(new)):
            self._label("outlet", new.key, f"{old_label[0]} → {name}: label both ends", new.key)

    def _remade_drop(
        self, old: Outlet, new: Outlet, words: str, minutes: float, final: bool, live: bool,
        at_panel: bool,
    ) -> None:  # fmt: skip
        plan = self.plan
        outs = [
            self.take_out_operations[port.item]
            for port in old.port
            if port.item in self.take_out_operations
        ]
        swapped = [port for port in new.port if port.item in self.swapped]
        ends = ", ".join(map(str, new.port))
        operation = Operation(
            "drop", words, minutes_off=minutes / 2, minutes_on=minutes / 2, new=ends, is_live=live,
            is_irreversible=final,
            old=", ".join(map(str, old.port)), outlets=(new.key,),
            check="permanent link test passed and kept",
            way_back="no quick way back" if final else "terminate it where it was",
            frees_places=(
                _rear_places(map(plan.port_after, old.port))
                if at_panel and not swapped
                else frozenset()
            ),
            needs_places=_rear_places(new.port) if at_panel and not swapped else frozenset(),
        )  # fmt: skip
        self._wait_for_mounting(operation, new.port)
        operation.waits_for += [out for out in outs if out not in operation.waits_for]
        self._add(operation)
        for port in new.port:
            self.terminations[str(port)] = operation
        cuts = outs if swapped and outs else [operation]
        if live:
            part = PlantPart(
                cuts, [operation], _drop_edge(old), _drop_edge(new), changes_connection=True
            )
            self.tasks.plant_parts.append(part)

    def _set_port(self, old: Outlet, new: Outlet) -> None:
        names = [
            (site.networks[key].name or key) if key in site.networks else key
            for site, key in (
                (self.plan.before, old.network or ""),
                (self.plan.after, new.network or ""),
            )
        ]
        label = self.plan.after.label_of(new)
        operation = Operation(
            "set", f"Set the switch port of {label} from {names[0]} to {names[1]}",
            minutes_on=self.minutes["set port"], old=names[0], new=names[1], is_live=True,
            outlets=(new.key,), check=f"{label} is on {names[1]}", way_back=f"set it to {names[0]}",
        )  # fmt: skip
        self._add(operation)
        self.tasks.plant_parts.append(
            PlantPart([operation], [operation], _drop_edge(old), _drop_edge(new))
        )

    def _backbone(self, old: Backbone | None, new: Backbone | None) -> None:
        plan = self.plan
        one = new or old
        assert one
        ends_now = {plan.port_after(port) for port in (*old.from_, *old.to)} if old else set()
        ends_then = {*new.from_, *new.to} if new else set()
        remade = {port for port in ends_then if port.item in self.swapped}
        changed = (
            old and new and (ends_now != ends_then or _recorded_differently(old.cable, new.cable))
        )
        if old and new and not changed and not remade:
            return
        self._mark_done("backbone", one.key)
        edges = frozenset((Edge("backbone", old.key),)) if old else frozenset[Edge]()
        live = any(self.outlets_over.get(edge) for edge in edges)
        if old is None:
            words, minutes = f"Pull, terminate and test backbone {one.key}", "backbone"
        elif new is None:
            words, minutes = f"Take away backbone {one.key}", "take away"
        else:
            words, minutes = f"Terminate backbone {one.key} anew and test it", "backbone end"
        took = self.minutes[minutes]
        operation = Operation(
            "backbone", words, minutes_off=took / 2 if old else 0,
            minutes_on=took / 2 if old else took,
            old=_ends_text(old), new=_ends_text(new), is_live=live, is_irreversible=old is not None,
            check="tested from both ends, results kept", way_back="no quick way back",
            frees_places=_rear_places(ends_now - ends_then),
            needs_places=_rear_places(ends_then - ends_now),
        )  # fmt: skip
        for port in sorted(ends_then, key=str):
            self._wait_for_mounting(operation, [port])
            self.terminations[str(port)] = operation
        self._add(operation)
        if live:
            after = frozenset((Edge("backbone", new.key),)) if new else frozenset[Edge]()
            mends = [operation] if new else []
            self.tasks.plant_parts.append(
                PlantPart([operation], mends, edges, after, changes_connection=True)
            )
        elif old is None and new:
            self.tasks.plant_parts.append(
                PlantPart(
                    [], [operation], frozenset(), frozenset((Edge("backbone", new.key),)), True
                )
            )

    def _circuit(self, old: Circuit | None, new: Circuit | None) -> None:
        was = self.plan.port_after(old.lands_on) if old and old.lands_on else None
        now = new.lands_on if new else None
        one = new or old
        assert one
        items = [port.item for port in (was, now) if port]
        disturbed = any(item in self.mount_operations for item in items) or (
            was and was.item in self.take_out_operations
        )
        if was == now and not disturbed:
            return
        self._mark_done("circuit", one.key)
        live = bool(old and was and old.state == "live")
        what = f"circuit {one.key}" + (f" of {one.carrier}" if one.carrier else "")
        words = f"Land {what} on {now}" if now else f"Take {what} off {was}"
        out = self.take_out_operations.get(old.lands_on.item) if old and old.lands_on else None
        who = f"{one.confirms} confirms service" if one.confirms else "its carrier confirms service"
        operation = Operation(
            "circuit", words, minutes_on=self.minutes["land circuit"], old=str(was or ""),
            new=str(now or ""), check=who, way_back=f"land it on {was}" if was else "take it off",
            is_live=live,
            needs_places=frozenset((f"front {now}",)) if now and not out else frozenset(),
            frees_places=frozenset((f"front {was}",)) if was and not out else frozenset(),
        )  # fmt: skip
        if out:
            operation.waits_for.append(out)
        if now:
            self._wait_for_mounting(operation, [now])
        self._add(operation)
        before = frozenset((Edge("landing", old.key),)) if old else frozenset[Edge]()
        after = frozenset((Edge("landing", new.key),)) if new and now else frozenset[Edge]()
        cuts = [out] if out else [operation]
        if live or now:
            mends = [operation] if now else []
            self.tasks.plant_parts.append(
                PlantPart(cuts if live else [], mends, before, after, True)
            )

    # Cords

    def _cord(self, old: Cord | None, new: Cord | None) -> None:
        one = new or old
        assert one
        was = {self.plan.port_after(p) for p in (old.from_, old.to)} if old else set()
        now = {new.from_, new.to} if new else set()
        outs = (
            [
                self.take_out_operations[p.item]
                for p in (old.from_, old.to)
                if p.item in self.take_out_operations
            ]
            if old
            else []
        )
        ups = (
            [
                self.mount_operations[p.item]
                for p in (new.from_, new.to)
                if p.item in self.mount_operations
            ]
            if new
            else []
        )
        outs, ups = _unique(outs), _unique(ups)
        another = bool(
            old
            and new
            and (
                _recorded_differently(old.cord, new.cord)
                or _recorded_differently(old.media, new.media)
            )
        )
        changed = was != now or another
        if not changed and not outs and not ups:
            if old and new and old.label != new.label:
                self._label("cord", new.key, f"Label the cord at {new.from_}")
            return
        self._mark_done("cord", one.key)
        live = bool(old and self._in_use(old))
        operation = self._cord_operation(old, new, bool(outs), another and was == now)
        operation.is_live = live and not (outs and not new)
        operation.waits_for += [*outs, *ups]
        for port in sorted(now, key=str):
            if str(port) in self.terminations:
                operation.waits_for.append(self.terminations[str(port)])
        if new or not outs:
            self._add(operation)
        before = frozenset((Edge("cord", old.key),)) if old else frozenset[Edge]()
        after = frozenset((Edge("cord", new.key),)) if new else frozenset[Edge]()
        for out in outs:  # the cord is off at its other end too
            out.frees_places |= {f"front {port}" for port in was if port.item not in self.swapped}
        cuts = outs or ([operation] if old else [])
        mends = [operation] if new else []
        self.tasks.plant_parts.append(
            PlantPart(cuts, mends, before, after, changes_connection=was != now)
        )

    def _cord_operation(
        self, old: Cord | None, new: Cord | None, unplugged: bool, another: bool
    ) -> Operation:
        """`unplugged` says that the cord came off with what it was plugged into."""
        plan = self.plan
        kept: set[PortId] = set()
        if old and new and not unplugged:
            kept = {plan.port_after(p) for p in (old.from_, old.to)} & {new.from_, new.to}
        was = [plan.port_after(p) for p in (old.from_, old.to)] if old else []
        now = [new.from_, new.to] if new else []
        if old and new:
            words = f"Re-patch {new.from_}"
            if another:
                words = f"Another cord at {new.from_}"
            elif unplugged:
                words = f"Plug {new.from_}"
        else:
            words = f"Plug a cord into {now[0]}" if now else f"Unplug {was[0]} for good"
        outlets = self._outlets_of(new, plan.after) or self._outlets_of(old, plan.before)
        return Operation(
            "cord",
            f"{words} → {now[1]}" if now else words,
            minutes_off=self.minutes["unplug"] if old and not unplugged else 0.0,
            minutes_on=self.minutes["plug"] if new else 0.0,
            old=" – ".join(map(str, (old.from_, old.to))) if old else "",
            new=" – ".join(map(str, now)),
            check=self._cord_check(new, outlets),
            way_back=f"plug {old.from_} – {old.to} again" if old else "unplug it",
            outlets=outlets,
            frees_places=frozenset(f"front {p}" for p in was if p not in kept) if not unplugged
            else frozenset(),
            needs_places=frozenset(f"front {p}" for p in now if p not in kept),
        )  # fmt: skip

    def _cord_check(self, new: Cord | None, outlets: tuple[str, ...]) -> str:
        if new is None:
            return "no link is lost"
        lamps = [str(p) for p in (new.from_, new.to) if _is_active(self.plan.after, p)]
        check = f"link lamp on at {' and '.join(lamps)}" if lamps else "it holds at both ends"
        if len(outlets) == 1:
            outlet = self.plan.after.outlets.get(outlets[0])
            network = self.plan.after.networks.get(outlet.network or "") if outlet else None
            check += f"; on {network.name or network.key}" if network else ""
            if outlet and outlet.serves not in (None, "spare", "unknown", "other"):
                check += f"; the {outlet.serves} works"
        return check

    def _outlets_of(self, cord: Cord | None, site: Site) -> tuple[str, ...]:
        if cord is None:
            return ()
        uses = [site.ports[p] for p in (cord.from_, cord.to) if p in site.ports]
        keys = [outlet.key for use in uses for outlet in use.outlets]
        if site is self.plan.before:
            keys = [self.plan.outlet_key_after.get(key, key) for key in keys]
        return tuple(dict.fromkeys(keys))

    # What they share

    def _add(self, operation: Operation) -> Operation:
        self.tasks.operations.append(operation)
        return operation

    def _mark_done(self, kind: str, key: str) -> None:
        self.tasks.done_for.add((kind, key))

    def _label(self, kind: str, key: str, words: str, *outlets: str) -> None:
        self._mark_done(kind, key)
        minutes = self.minutes["label"]
        check = "it says what the records say"
        self._add(Operation("label", words, minutes_on=minutes, check=check, outlets=outlets))

    def _wait_for_mounting(self, operation: Operation, ports: Iterable[PortId]) -> None:
        for port in ports:
            up = self.mount_operations.get(port.item)
            if up and up not in operation.waits_for:
                operation.waits_for.append(up)

    def _cords_on(self, item: Item) -> int:
        if not isinstance(item, PortedItem):
            return 0
        return sum(len(use.cords) for use in self.plan.before.ports_of(item))

    def _is_in_service(self, outlet: str) -> bool:
        return Node("jack", outlet) in self.plan.graph_before.towards_root

    def _in_use(self, cord: Cord) -> bool:
        """Whether a cord is on the way of an outlet that works, or between two devices."""
        hanging = self.outlets_over.get(Edge("cord", cord.key), ())
        if any(self._is_in_service(key) for key in hanging):
            return True
        return all(_is_active(self.plan.before, port) for port in (cord.from_, cord.to))

    def _renamed_room(self, old: str | None, new: str | None) -> bool:
        return any(
            change.kind == "room" and change.before and change.after
            and (change.before.key, change.after.key) == (old, new)
            for change in self.plan.changes
        )  # fmt: skip


def item_text(item: Item) -> str:
    role = _ROLE_NAMES.get(item.role, item.role)
    size = f"{item.ports}-port " if isinstance(item, PortedItem) and item.ports else ""
    if isinstance(item, (Device, Router)):
        return f"{item.title} ({item.does or role})"
    if isinstance(item, Panel) and item.media == "fibre":
        return f"{size}fibre panel {item.title}"
    if isinstance(item, Switch):
        return f"{size}switch {item.title}"
    named = item.title.casefold().startswith(role.casefold())
    return f"{size}{item.title if named else f'{role} {item.title}'}"


def location_text(item: Item) -> str:
    if item.at is None:
        return f"{item.enclosure}, {item.where or 'outside the units'}"
    low, high = item.at
    units = f"U{low}" if low == high else f"U{low}–{high}"
    part = f" {item.part}" if item.part else ""
    return f"{item.enclosure} {units}{' rear' if item.face == 'rear' else ''}{part}"


def _powered_device_nodes(site: Site, item: Item) -> frozenset[Node | Edge]:
    return frozenset(Node("device", one.key) for one in devices_fed_by(site, item))


def _rear_places(ports: Iterable[PortId]) -> frozenset[str]:
    return frozenset(f"rear {port}" for port in ports)


def _drop_edge(outlet: Outlet) -> frozenset[Node | Edge]:
    return frozenset((Edge("drop", outlet.key),))


def _ends_text(backbone: Backbone | None) -> str:
    if backbone is None or not backbone.from_ or not backbone.to:
        return ""
    return f"{backbone.from_[0]} – {backbone.to[0]}"


def _is_active(site: Site, port: PortId) -> bool:
    return isinstance(site.items.get(port.item), ACTIVE)


def _recorded_differently(old: object, new: object) -> bool:
    return old is not None and new is not None and old != new


def _distance_on_plan(old: Outlet, new: Outlet) -> float:
    if not isinstance(old.position, Spot) or not isinstance(new.position, Spot):
        return 0.0  # how large a cell of a plan's grid is depends on its picture
    return math.hypot(old.position.x - new.position.x, old.position.y - new.position.y)


def _unique(operations: Iterable[Operation]) -> list[Operation]:
    return list(dict.fromkeys(operations))
