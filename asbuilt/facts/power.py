"""Electricity: what hangs on each UPS and on an enclosure's circuit, and the heat it leaves.

Measured and nameplate watts are kept apart: a nameplate says what a thing may take, usually more
than it does. A thing with neither is counted as not recorded, not as nothing. UPS and power strips
pass power on; their own loss isn't counted.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from asbuilt.facts.basis import Basis, items
from asbuilt.facts.ports import PoePower
from asbuilt.model.site import Site
from asbuilt.records.enclosures import Device, Enclosure, Item, PowerStrip, Router, Switch, Ups
from asbuilt.trade.heat import btu_per_hour, left_in_the_room
from asbuilt.trade.supply import CONTINUOUS_SHARE, CONTINUOUS_SOURCE, continuous_watts

#: What takes power for itself.
ACTIVE = (Switch, Router, Device)
PASSES_ON = (Ups, PowerStrip)


@dataclass(frozen=True, slots=True)
class Load:
    """What some items take together, in watts."""

    measured: float
    nameplate: float  # of those that weren't measured
    measured_items: tuple[str, ...]
    nameplate_items: tuple[str, ...]
    unstated_items: tuple[str, ...]

    @property
    def stated(self) -> float:
        return self.measured + self.nameplate

    @property
    def basis(self) -> tuple[Basis, ...]:
        lines = []
        if self.measured_items:
            lines.append(Basis(f"{_w(self.measured)} measured", items(self.measured_items)))
        if self.nameplate_items:
            words = f"{_w(self.nameplate)} by nameplate, an upper bound"
            lines.append(Basis(words, items(self.nameplate_items)))
        if self.unstated_items:
            words = f"{len(self.unstated_items)} with no watts recorded"
            lines.append(Basis(words, items(self.unstated_items)))
        return tuple(lines)


NO_LOAD = Load(0.0, 0.0, (), (), ())


@dataclass(frozen=True, slots=True)
class UpsRoom:
    """A UPS and what hangs on it; `limit` is its output in watts, where recorded."""

    item: Ups
    load: Load
    limit: float | None

    @property
    def free(self) -> float | None:
        return None if self.limit is None else self.limit - self.load.stated

    @property
    def basis(self) -> tuple[Basis, ...]:
        return (_limit_line(self.limit, "output", self.item.key), *self.load.basis)


@dataclass(frozen=True, slots=True)
class StripRoom:
    """A power strip's sockets; `used` as recorded, or counted by what says it is fed by it."""

    item: PowerStrip
    sockets: int | None
    used: int
    counted: bool

    @property
    def free(self) -> int | None:
        return None if self.sockets is None else max(0, self.sockets - self.used)


@dataclass(frozen=True, slots=True)
class SupplyRoom:
    """An enclosure's circuit; `limit` is what its breaker may carry for three hours and more, in
    watts, where rating and voltage are recorded."""

    enclosure: Enclosure
    load: Load
    limit: float | None

    @property
    def free(self) -> float | None:
        return None if self.limit is None else self.limit - self.load.stated

    @property
    def basis(self) -> tuple[Basis, ...]:
        enclosure = self.enclosure
        thing = (("enclosure", enclosure.key),)
        if self.limit is None:
            line = Basis("rating or voltage of the breaker not recorded", thing)
        else:
            words = (
                f"{_w(self.limit)}: {CONTINUOUS_SHARE:.0%} of {enclosure.supply_limit} at "
                f"{enclosure.supply_voltage}, the rule for continuous loads of {CONTINUOUS_SOURCE}"
            )
            line = Basis(words, thing)
        return (line, *self.load.basis)


@dataclass(frozen=True, slots=True)
class Heat:
    """What stays in the enclosure: what its items take less what its switches send out over
    their cables. With nameplates in it, an upper bound."""

    load: Load
    sent: float
    switches: tuple[str, ...] = ()

    @property
    def watts(self) -> float:
        return left_in_the_room(self.load.stated, self.sent)

    @property
    def btu_per_hour(self) -> float:
        return btu_per_hour(self.watts)

    @property
    def basis(self) -> tuple[Basis, ...]:
        lines = list(self.load.basis)
        if self.sent:
            words = f"less {_w(self.sent)} sent out as power over Ethernet"
            lines.append(Basis(words, items(self.switches)))
        return tuple(lines)


@dataclass(frozen=True, slots=True)
class PowerRoom:
    """The electricity of one enclosure, or of several."""

    load: Load
    ups: tuple[UpsRoom, ...]
    strips: tuple[StripRoom, ...]
    supplies: tuple[SupplyRoom, ...]
    heat: Heat


def power_room(site: Site, enclosure: Enclosure, poe: Mapping[str, PoePower | None]) -> PowerRoom:
    """`poe` has the power over Ethernet of each switch of the enclosure, by key."""
    mounted = site.items_in.get(enclosure.key, ())
    fed = fed_directly(mounted)
    load = load_of(item for item in mounted if isinstance(item, ACTIVE))
    ups = [
        UpsRoom(item, load_of(_behind(item, fed)), item.output.to("W") if item.output else None)
        for item in mounted
        if isinstance(item, Ups)
    ]
    strips = [
        StripRoom(
            item,
            item.sockets,
            len(fed.get(item.key, ())) if item.in_use is None else item.in_use,
            item.in_use is None,
        )
        for item in mounted
        if isinstance(item, PowerStrip)
    ]
    supply = SupplyRoom(enclosure, load, _supply_limit(enclosure))
    return PowerRoom(load, tuple(ups), tuple(strips), (supply,), _heat(mounted, load, poe))


def add_power(parts: Iterable[PowerRoom]) -> PowerRoom:
    parts = tuple(parts)
    load = add_loads(part.load for part in parts)
    return PowerRoom(
        load,
        tuple(ups for part in parts for ups in part.ups),
        tuple(strip for part in parts for strip in part.strips),
        tuple(supply for part in parts for supply in part.supplies),
        Heat(
            load,
            sum(part.heat.sent for part in parts),
            tuple(key for part in parts for key in part.heat.switches),
        ),
    )


def load_of(loads: Iterable[Item]) -> Load:
    measured = nameplate = 0.0
    measured_items, nameplate_items, unstated = [], [], []
    for item in loads:
        if isinstance(item, PASSES_ON):
            continue
        if item.measured is not None:
            measured += item.measured.to("W")
            measured_items.append(item.key)
        elif item.nameplate is not None:
            nameplate += item.nameplate.to("W")
            nameplate_items.append(item.key)
        elif isinstance(item, ACTIVE):
            unstated.append(item.key)
    return Load(measured, nameplate, tuple(measured_items), tuple(nameplate_items), tuple(unstated))


def add_loads(parts: Iterable[Load]) -> Load:
    parts = tuple(parts)
    return Load(
        sum(part.measured for part in parts),
        sum(part.nameplate for part in parts),
        tuple(key for part in parts for key in part.measured_items),
        tuple(key for part in parts for key in part.nameplate_items),
        tuple(key for part in parts for key in part.unstated_items),
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
    return _behind(item, fed_directly(mounted))


def _behind(item: Item, fed: Mapping[str, tuple[Item, ...]]) -> tuple[Item, ...]:
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
    return continuous_watts(enclosure.supply_limit.to("A"), enclosure.supply_voltage.to("V"))


def _heat(mounted: Iterable[Item], load: Load, poe: Mapping[str, PoePower | None]) -> Heat:
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
            out = min(power.by_class, power.budget, item.nameplate.to("W"))
        else:
            continue
        if out:
            sent += out
            switches.append(item.key)
    return Heat(load, sent, tuple(switches))


def _limit_line(limit: float | None, what: str, key: str) -> Basis:
    words = f"{what} not recorded" if limit is None else f"{_w(limit)} {what}"
    return Basis(words, items([key]))


def _w(watts: float) -> str:
    return f"{round(watts, 1):g} W"
