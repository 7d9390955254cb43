"""Ports by state, and the power over Ethernet behind those of a switch.

Only what is known to be free counts as free: dead, abandoned, reserved and unknown ports don't,
and a powered outlet whose class nobody recorded is set aside what a switch sets aside for a device
that doesn't say: class 0 (IEEE 802.3).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

from asbuilt.facts.basis import Basis, item_keys, outlet_keys, ports_text
from asbuilt.model.site import PortState, PortUse, Site
from asbuilt.records.enclosures import Panel, Switch
from asbuilt.records.fields import PortId
from asbuilt.records.links import Outlet
from asbuilt.trade.poe import pse_watts


@dataclass(frozen=True, slots=True)
class PortsByState:
    """Ports by state; only states that occur are there."""

    ids: Mapping[PortState, tuple[PortId, ...]] = field(default_factory=dict)

    @property
    def counts(self) -> Mapping[PortState, int]:
        return {state: len(ports) for state, ports in self.ids.items()}

    @property
    def total(self) -> int:
        return sum(len(ports) for ports in self.ids.values())

    @property
    def free(self) -> int:
        return self.count(PortState.FREE)

    @property
    def used(self) -> int:
        """In use, or taken by a cable that isn't patched."""
        return self.count(PortState.IN_USE) + self.count(PortState.CABLED)

    @property
    def unavailable(self) -> int:
        """Neither used nor free: dead, abandoned, reserved, unknown."""
        return self.total - self.used - self.free

    def count(self, state: PortState) -> int:
        return len(self.ids.get(state, ()))

    @property
    def basis(self) -> tuple[Basis, ...]:
        return tuple(
            Basis(
                f"{len(ports)} {state}: {ports_text(ports)}",
                item_keys(sorted({port.item for port in ports})),
            )
            for state, ports in self.ids.items()
        )


def ports_by_state(uses: Iterable[PortUse]) -> PortsByState:
    found: dict[PortState, list[PortId]] = {}
    for use in uses:
        found.setdefault(use.state, []).append(use.id)
    return PortsByState({state: tuple(found[state]) for state in PortState if state in found})


def add_ports(parts: Iterable[PortsByState]) -> PortsByState:
    parts = tuple(parts)
    return PortsByState(
        {
            state: tuple(port for part in parts for port in part.ids.get(state, ()))
            for state in PortState
            if any(state in part.ids for part in parts)
        }
    )


@dataclass(frozen=True, slots=True)
class PoePower:
    """Power over Ethernet of one switch or several, in watts.

    `classes` counts the powered outlets by class. `measured` is None unless it was measured on
    every switch that gives power; `unstated` are the outlets that take power by the look of them,
    whose class isn't recorded.
    """

    budget: float
    classes: Mapping[int, int]
    measured: float | None
    powered_outlets: tuple[str, ...]
    outlets_without_class: tuple[str, ...]
    switches: tuple[str, ...]

    @property
    def allocated_by_class(self) -> float:
        """What the recorded classes set aside at the switch (IEEE 802.3)."""
        return sum(pse_watts(number) * count for number, count in self.classes.items())

    @property
    def allocated(self) -> float:
        """The same with class 0 for each outlet whose class isn't recorded."""
        return self.allocated_by_class + self.without_class * pse_watts(0)

    @property
    def free(self) -> float:
        return max(0.0, self.budget - self.allocated)

    @property
    def free_by_measurement(self) -> float | None:
        """What the measured draw leaves: more than a switch gives that sets aside by class."""
        return None if self.measured is None else max(0.0, self.budget - self.measured)

    @property
    def powered(self) -> int:
        return len(self.powered_outlets)

    @property
    def without_class(self) -> int:
        return len(self.outlets_without_class)

    @property
    def basis(self) -> tuple[Basis, ...]:
        lines = [
            Basis(
                f"{_watts_text(self.budget)} is what the switches can give",
                item_keys(self.switches),
            )
        ]
        for number, count in sorted(self.classes.items()):
            watts = pse_watts(number)
            words = (
                f"{count} × class {number}: {_watts_text(watts)} each, {_watts_text(count * watts)}"
            )
            lines.append(Basis(words))
        if self.powered_outlets:
            lines.append(Basis("the powered outlets", outlet_keys(self.powered_outlets)))
        if self.outlets_without_class:
            words = (
                f"{self.without_class} × class not recorded, taken as class 0: "
                f"{_watts_text(pse_watts(0))} each"
            )
            lines.append(Basis(words, outlet_keys(self.outlets_without_class)))
        if self.measured is not None:
            lines.append(Basis(f"{_watts_text(self.measured)} measured", item_keys(self.switches)))
        return tuple(lines)


@dataclass(frozen=True, slots=True)
class SwitchHeadroom:
    item: Switch
    access: PortsByState
    uplinks: PortsByState
    poe: PoePower | None


@dataclass(frozen=True, slots=True)
class PanelHeadroom:
    item: Panel
    ports: PortsByState


def switch_headroom(site: Site, switch: Switch) -> SwitchHeadroom:
    uses = site.ports_of(switch)
    access = [use for use in uses if not switch.is_uplink(use.id.name)]
    uplinks = [use for use in uses if switch.is_uplink(use.id.name)]
    return SwitchHeadroom(
        switch, ports_by_state(access), ports_by_state(uplinks), poe_power(site, switch)
    )


def panel_headroom(site: Site, panel: Panel) -> PanelHeadroom:
    return PanelHeadroom(panel, ports_by_state(site.ports_of(panel)))


#: What usually takes its power from the cable (common practice).
USUALLY_POWERED: Final = ("phone", "access point", "camera", "door")


def poe_power(site: Site, switch: Switch) -> PoePower | None:
    """None for a switch that gives no power."""
    return None if switch.poe is None else poe_demand(site, switch)


def poe_demand(site: Site, switch: Switch) -> PoePower:
    """What the outlets behind a switch ask of it, whether it gives any power or not."""
    classes: Counter[int] = Counter()
    powered: list[str] = []
    unstated: list[str] = []
    for use in site.ports_of(switch):
        for outlet in outlets_at_switch_port(site, use.id):
            if outlet.poe is not None:
                classes[int(outlet.poe.removeprefix("class "))] += 1
                powered.append(outlet.key)
            elif outlet.serves in USUALLY_POWERED:
                # A desk draws nothing; a camera without a class is a fact not recorded.
                unstated.append(outlet.key)
    measured = switch.poe_measured.to("W") if switch.poe_measured else None
    budget = switch.poe.to("W") if switch.poe else 0.0
    return PoePower(budget, classes, measured, tuple(powered), tuple(unstated), (switch.key,))


def add_poe(parts: Iterable[PoePower | None]) -> PoePower | None:
    known = [part for part in parts if part is not None]
    if not known:
        return None
    classes: Counter[int] = Counter()
    for part in known:
        classes.update(part.classes)
    measured = [part.measured for part in known if part.measured is not None]
    return PoePower(
        sum(part.budget for part in known),
        classes,
        sum(measured) if len(measured) == len(known) else None,
        tuple(key for part in known for key in part.powered_outlets),
        tuple(key for part in known for key in part.outlets_without_class),
        tuple(key for part in known for key in part.switches),
    )


def outlets_at_switch_port(site: Site, port: PortId) -> list[Outlet]:
    """The outlets patched, or directly cabled, to a switch port through one panel at most."""
    use = site.ports[port]
    found = list(use.outlets)
    for cord in use.cords:
        far = site.ports.get(use.far_end(cord))
        if far is not None and isinstance(far.item, Panel):
            found += far.outlets
    return found


def _watts_text(watts: float) -> str:
    return f"{round(watts, 1):g} W"
