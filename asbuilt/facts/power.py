"""Electricity: what each UPS feeds and on an enclosure's circuit, and the heat it leaves.

Measured and nameplate watts are kept apart: a nameplate says what a thing may take, usually more
than it does. A thing with neither is counted as not recorded, not as nothing. UPS and power strips
pass power on; their own loss isn't counted.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from asbuilt.facts.basis import Basis, item_keys
from asbuilt.facts.ports import PoePower
from asbuilt.model.site import Site
from asbuilt.records.enclosures import Device, Enclosure, Item, PowerStrip, Router, Switch, Ups
from asbuilt.trade.heat import btu_per_hour, heat_left_in_room
from asbuilt.trade.supply import CONTINUOUS_SHARE, CONTINUOUS_SOURCE, max_continuous_watts

#: What takes power for itself.
POWER_CONSUMERS = (Switch, Router, Device)
POWER_PASS_THROUGH = (Ups, PowerStrip)


@dataclass(frozen=True, slots=True)
class ElectricalLoad:
    """What some items take together, in watts."""

    measured: float
    nameplate: float  # of those that weren't measured
    measured_items: tuple[str, ...]
    nameplate_items: tuple[str, ...]
    unrecorded_items: tuple[str, ...]

    @property
    def recorded(self) -> float:
        return self.measured + self.nameplate

    @property
    def basis(self) -> tuple[Basis, ...]:
        lines = []
        if self.measured_items:
            lines.append(
                Basis(f"{_watts_text(self.measured)} measured", item_keys(self.measured_items))
            )
        if self.nameplate_items:
            words = f"{_watts_text(self.nameplate)} by nameplate, an upper bound"
            lines.append(Basis(words, item_keys(self.nameplate_items)))
        if self.unrecorded_items:
            words = f"{len(self.unrecorded_items)} with no watts recorded"
            lines.append(Basis(words, item_keys(self.unrecorded_items)))
        return tuple(lines)


NO_LOAD = ElectricalLoad(0.0, 0.0, (), (), ())


@dataclass(frozen=True, slots=True)
class UpsHeadroom:
    """A UPS and what it feeds; `limit` is its output in watts, where recorded."""

    item: Ups
    load: ElectricalLoad
    limit: float | None

    @property
    def free(self) -> float | None:
        return None if self.limit is None else self.limit - self.load.recorded

    @property
    def basis(self) -> tuple[Basis, ...]:
        return (_limit_basis(self.limit, "output", self.item.key), *self.load.basis)


@dataclass(frozen=True, slots=True)
class PowerStripHeadroom:
    """A power strip's sockets; `used` as recorded, or counted by what says it is fed by it."""

    item: PowerStrip
    sockets: int | None
    used: int
    counted: bool

    @property
    def free(self) -> int | None:
        return None if self.sockets is None else max(0, self.sockets - self.used)


@dataclass(frozen=True, slots=True)
class SupplyHeadroom:
    """An enclosure's circuit; `limit` is what its breaker may carry for three hours and more, in
    watts, where rating and voltage are recorded."""

    enclosure: Enclosure
    load: ElectricalLoad
    limit: float | None

    @property
    def free(self) -> float | None:
        return None if self.limit is None else self.limit - self.load.recorded

    @property
    def basis(self) -> tuple[Basis, ...]:
        enclosure = self.enclosure
        thing = (("enclosure", enclosure.key),)
        if self.limit is None:
            line = Basis("rating or voltage of the breaker not recorded", thing)
        else:
            words = (
                f"{_watts_text(self.limit)}: {CONTINUOUS_SHARE:.0%} of {enclosure.supply_limit} at "
                f"{enclosure.supply_voltage}, the rule for continuous loads of {CONTINUOUS_SOURCE}"
            )
            line = Basis(words, thing)
        return (line, *self.load.basis)


@dataclass(frozen=True, slots=True)
class HeatLoad:
    """What stays in the enclosure: what its items take less what its switches send out over
    their cables. With nameplates in it, an upper bound."""

    load: ElectricalLoad
    poe_sent: float
    switches: tuple[str, ...] = ()

    @property
    def watts(self) -> float:
        return heat_left_in_room(self.load.recorded, self.poe_sent)

    @property
    def btu_per_hour(self) -> float:
        return btu_per_hour(self.watts)

    @property
    def basis(self) -> tuple[Basis, ...]:
        lines = list(self.load.basis)
        if self.poe_sent:
            words = f"less {_watts_text(self.poe_sent)} sent out as power over Ethernet"
            lines.append(Basis(words, item_keys(self.switches)))
        return tuple(lines)


@dataclass(frozen=True, slots=True)
class PowerHeadroom:
    """The electricity of one enclosure, or of several."""

    load: ElectricalLoad
    ups: tuple[UpsHeadroom, ...]
    strips: tuple[PowerStripHeadroom, ...]
    supplies: tuple[SupplyHeadroom, ...]
    heat: HeatLoad


def power_headroom(
    site: Site, enclosure: Enclosure, poe: Mapping[str, PoePower | None]
) -> PowerHeadroom:
    """`poe` has the power over Ethernet of each switch of the enclosure, by key."""
    mounted = site.items_in.get(enclosure.key, ())
    fed = fed_directly(mounted)
    load = electrical_load(item for item in mounted if isinstance(item, POWER_CONSUMERS))
    ups = [
        UpsHeadroom(
            item,
            electrical_load(_fed_through(item, fed)),
            item.output.to("W") if item.output else None,
        )
        for item in mounted
        if isinstance(item, Ups)
    ]
    strips = [
        PowerStripHeadroom(
            item,
            item.sockets,
            len(fed.get(item.key, ())) if item.in_use is None else item.in_use,
            item.in_use is None,
        )
        for item in mounted
        if isinstance(item, PowerStrip)
    ]
    supply = SupplyHeadroom(enclosure, load, _supply_limit(enclosure))
    return PowerHeadroom(load, tuple(ups), tuple(strips), (supply,), _heat_load(mounted, load, poe))


def add_power(parts: Iterable[PowerHeadroom]) -> PowerHeadroom:
    parts = tuple(parts)
    load = add_loads(part.load for part in parts)
    return PowerHeadroom(
        load,
        tuple(ups for part in parts for ups in part.ups),
        tuple(strip for part in parts for strip in part.strips),
        tuple(supply for part in parts for supply in part.supplies),
        HeatLoad(
            load,
            sum(part.heat.poe_sent for part in parts),
            tuple(key for part in parts for key in part.heat.switches),
        ),
    )


def electrical_load(loads: Iterable[Item]) -> ElectricalLoad:
    measured = nameplate = 0.0
    measured_items, nameplate_items, unstated = [], [], []
    for item in loads:
        if isinstance(item, POWER_PASS_THROUGH):
            continue
        if item.measured is not None:
            measured += item.measured.to("W")
            measured_items.append(item.key)
        elif item.nameplate is not None:
            nameplate += item.nameplate.to("W")
            nameplate_items.append(item.key)
        elif isinstance(item, POWER_CONSUMERS):
            unstated.append(item.key)
    return ElectricalLoad(
        measured, nameplate, tuple(measured_items), tuple(nameplate_items), tuple(unstated)
    )


def add_loads(parts: Iterable[ElectricalLoad]) -> ElectricalLoad:
    parts = tuple(parts)
    return ElectricalLoad(
        sum(part.measured for part in parts),
        sum(part.nameplate for part in parts),
        tuple(key for part in parts for key in part.measured_items),
        tuple(key for part in parts for key in part.nameplate_items),
        tuple(key for part in parts for key in part.unrecorded_items),
    )


def fed_directly(mounted: Sequence[Item]) -> Mapping[str, tuple[Item, ...]]:
    """The items that say they are fed by another of the same enclosure, by that one's key.

    `fed by` is free text: a name within the enclosure, or a full key.
    """
    keys = {
        name: item.key for item in mounted for name in (item.name, item.key, item.label) if name
    }
    found: dict[str, list[Item]] = {}
    for item in mounted:
        source = keys.get(item.fed_by or "")
        if source is not None and source != item.key:
            found.setdefault(source, []).append(item)
    return {key: tuple(fed) for key, fed in found.items()}


def all_fed_by(item: Item, mounted: Sequence[Item]) -> tuple[Item, ...]:
    """What loses power with an item, directly or through what it feeds."""
    return _fed_through(item, fed_directly(mounted))


def _fed_through(item: Item, fed: Mapping[str, tuple[Item, ...]]) -> tuple[Item, ...]:
    found: dict[str, Item] = {}
    todo = list(fed.get(item.key, ()))
    while todo:
        other = todo.pop(0)
        if other.key not in found and other.key != item.key:
            found[other.key] = other
            todo += fed.get(other.key, ())
    return tuple(found.values())


def _supply_limit(enclosure: Enclosure) -> float | None:
    if enclosure.supply_limit is None or enclosure.supply_voltage is None:
        return None
    return max_continuous_watts(enclosure.supply_limit.to("A"), enclosure.supply_voltage.to("V"))


def _heat_load(
    mounted: Iterable[Item], load: ElectricalLoad, poe: Mapping[str, PoePower | None]
) -> HeatLoad:
    sent = 0.0
    switches = []
    for item in mounted:
        power = poe.get(item.key)
        if power is None:
            continue
        if item.measured is not None:
            # Held against a measured input, only a measured output keeps the heat a bound.
            out = min(power.measured or 0.0, item.measured.to("W"))
        elif item.nameplate is not None:
            out = min(power.allocated_by_class, power.budget, item.nameplate.to("W"))
        else:
            continue
        if out:
            sent += out
            switches.append(item.key)
    return HeatLoad(load, sent, tuple(switches))


def _limit_basis(limit: float | None, what: str, key: str) -> Basis:
    words = f"{what} not recorded" if limit is None else f"{_watts_text(limit)} {what}"
    return Basis(words, item_keys([key]))


def _watts_text(watts: float) -> str:
    return f"{round(watts, 1):g} W"
