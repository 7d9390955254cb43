"""Enclosures and what is mounted in them."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import ClassVar

from asbuilt.records.fields import (
    Count,
    Day,
    Flag,
    Measure,
    Numbers,
    PortId,
    PortTexts,
    Ref,
    Text,
    Units,
    Word,
)
from asbuilt.records.kind import Audience, Kind, Record, fact
from asbuilt.records.quantity import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Enclosure(Record):
    about: ClassVar[str] = "A cabinet, rack or wall mount, and what is fixed in it."

    label: str | None = fact(Text("a label"), "The text on its door, if not its key.", client=True)
    kind: str | None = fact(
        Word(
            (
                "floor-standing cabinet",
                "wall-mounted cabinet",
                "open rack",
                "wall bracket",
                "box",
                "other",
            ),
            "a kind of enclosure",
        ),
        "What it is.",
        client=True,
    )
    room: str | None = fact(Ref("room"), "The room it stands in.", client=True)
    position: str | None = fact(Text("a place"), "Where in the room.", client=True)
    height: Quantity = fact(
        Measure("rack height", "12 U"), "Its rack units.", client=True, required=True
    )
    numbered_from: str = fact(
        Word(("bottom", "top")),
        "Where its printed unit numbers start (EIA/ECA-310-E: the bottom).",
        client=True,
        default="bottom",
    )
    depth: Quantity | None = fact(
        Measure("length", "600 mm"), "Usable depth between closed doors.", client=True
    )
    width: Quantity | None = fact(Measure("length", "600 mm"), "Outside width.", client=True)
    load_limit: Quantity | None = fact(Measure("mass", "60 kg"), "What it may carry.")
    front_door: str | None = fact(Text(), "Hinge side and kind of the front door.")
    rear_door: str | None = fact(Text(), "Hinge side and kind of the rear door or access.")
    clearance_front: Quantity | None = fact(Measure("length", "1.0 m"), "Free floor in front.")
    clearance_rear: Quantity | None = fact(Measure("length", "0.6 m"), "Free floor behind.")
    locked: bool | None = fact(Flag(), "Whether a key is needed.")
    key_with: str | None = fact(Text(), "Who has the key.")
    supply: str | None = fact(Text(), "Which breaker feeds it: information for an electrician.")
    supply_limit: Quantity | None = fact(Measure("current", "16 A"), "Rating of that breaker.")
    supply_voltage: Quantity | None = fact(Measure("voltage", "230 V"), "Nominal voltage.")
    bonding: str | None = fact(Text(), "Conductor, busbar and result of the bonding test.")
    installed: dt.date | None = fact(Day(), "When it was installed.", client=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Item(Record):
    """What is mounted in an enclosure, whatever it is."""

    role: ClassVar[str] = ""

    label: str | None = fact(
        Text("a label"), "The text printed on it, if not its key.", client=True
    )
    at: tuple[int, int] | None = fact(Units(), "The rack units it takes.", client=True)
    face: str = fact(
        Word(("front", "rear", "none")), "The side it is mounted on.", client=True, required=True
    )
    part: str | None = fact(
        Word(("left", "right")), "The half of the unit it takes, when two share it.", client=True
    )
    where: str | None = fact(Text(), "Where it is, when it takes no unit.")
    depth: Quantity | None = fact(
        Measure("length", "250 mm"), "How deep it is, plugs and bend included.", client=True
    )
    weight: Quantity | None = fact(Measure("mass", "4.2 kg"), "How heavy it is.")
    nameplate: Quantity | None = fact(Measure("power", "60 W"), "Power on its nameplate.")
    measured: Quantity | None = fact(Measure("power", "42 W"), "Power measured.")
    fed_by: str | None = fact(Text(), "The UPS or strip it is plugged into.")
    serial: str | None = fact(Text(), "Its serial number.")
    installed: dt.date | None = fact(Day(), "When it was installed.", client=True)
    warranty_until: dt.date | None = fact(Day(), "When its warranty ends.", client=True)
    owner: str | None = fact(
        Text("a name"), "Whose it is, when it isn't the client's.", client=True
    )
    withhold: bool = fact(
        Flag(), "yes: the client sees only that there is a device, and its ports.", default=False
    )

    @property
    def enclosure(self) -> str:
        return self.key.partition("/")[0]

    @property
    def name(self) -> str:
        """Its key within the enclosure."""
        return self.key.partition("/")[2]

    @property
    def title(self) -> str:
        return self.label or self.name

    @property
    def height(self) -> int:
        return self.at[1] - self.at[0] + 1 if self.at else 0

    def port_names(self) -> tuple[str, ...]:
        return ()

    def port_ids(self) -> tuple[PortId, ...]:
        return _port_ids(self.key, self.port_names())


@lru_cache
def _numbers(count: int) -> tuple[str, ...]:
    return tuple(str(number) for number in range(1, count + 1))


@lru_cache(maxsize=2**10)
def _port_ids(item: str, names: tuple[str, ...]) -> tuple[PortId, ...]:
    return tuple(PortId(item, name) for name in names)


@dataclass(frozen=True, slots=True, kw_only=True)
class PortedItem(Item):
    ports: int | None = fact(Count(0, 288), "How many ports it has.", client=True)
    dead: tuple[str, ...] = fact(Numbers(), "Ports that don't work.", client=True, many=True)
    abandoned: tuple[str, ...] = fact(
        Numbers(),
        "Ports that still have something on them which nobody uses or looks after.",
        client=True,
        many=True,
    )
    reserved: tuple[str, ...] = fact(Numbers(), "Ports kept for something.", client=True, many=True)
    unknown: tuple[str, ...] = fact(Numbers(), "Ports nobody has traced.", client=True, many=True)
    printed: Mapping[str, str] | None = fact(
        PortTexts(), "What is printed over ports, where it isn't the number."
    )

    def port_names(self) -> tuple[str, ...]:
        return _numbers(self.ports or 0)


COPPER = ("3", "5", "5e", "6", "6A", "7", "7A", "8")


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel(PortedItem):
    about: ClassVar[str] = "A patch panel, copper or fibre."
    role: ClassVar[str] = "panel"

    media: str = fact(
        Word(("copper", "fibre")), "What its ports take.", client=True, default="copper"
    )
    category: str | None = fact(Word(COPPER, "a category"), "Its category.", client=True)
    connector: str | None = fact(Text(), "Its connector: 8P8C, LC duplex, SC…", client=True)
    angled: bool | None = fact(Flag(), "Whether it is angled.", client=True)
    pitch: Quantity | None = fact(
        Measure("length", "17.5 mm"), "How far its ports stand apart, middle to middle."
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Switch(PortedItem):
    about: ClassVar[str] = "A network switch. Its uplinks are numbered on after its access ports."
    role: ClassVar[str] = "switch"

    uplinks: int | None = fact(Count(0, 64), "How many uplink ports it has.", client=True)
    speed: Quantity | None = fact(
        Measure("speed", "1 Gb/s"), "Speed of an access port.", client=True
    )
    uplink_speed: Quantity | None = fact(
        Measure("speed", "10 Gb/s"), "Speed of an uplink port.", client=True
    )
    poe: Quantity | None = fact(
        Measure("power", "370 W"), "Power over Ethernet it can give in all.", client=True
    )
    poe_ports: tuple[str, ...] = fact(
        Numbers(),
        "The ports that give power, when not all access ports do.",
        client=True,
        many=True,
    )
    poe_measured: Quantity | None = fact(Measure("power", "120 W"), "Power over Ethernet measured.")
    host_name: str | None = fact(Text(), "Its host name.")
    address: str | None = fact(Text(), "Its management address.")

    def port_names(self) -> tuple[str, ...]:
        return _numbers((self.ports or 0) + (self.uplinks or 0))

    def is_uplink(self, name: str) -> bool:
        return name.isdigit() and int(name) > (self.ports or 0)

    def speed_of(self, name: str) -> Quantity | None:
        return self.uplink_speed if self.is_uplink(name) else self.speed


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedPortsItem(PortedItem):
    named_ports: tuple[str, ...] = fact(
        Numbers(), "Ports that have a name instead of a number.", client=True, many=True
    )
    speed: Quantity | None = fact(Measure("speed", "1 Gb/s"), "Speed of its ports.", client=True)
    host_name: str | None = fact(Text(), "Its host name.")
    address: str | None = fact(Text(), "Its management address.")

    def port_names(self) -> tuple[str, ...]:
        numbered = _numbers(self.ports or 0)
        return (*numbered, *(name for name in self.named_ports if name not in numbered))


@dataclass(frozen=True, slots=True, kw_only=True)
class Router(NamedPortsItem):
    about: ClassVar[str] = (
        "What stands between a circuit and the switches: router, firewall, modem."
    )
    role: ClassVar[str] = "router"

    does: str | None = fact(
        Word(
            (
                "router",
                "firewall",
                "modem",
                "optical terminal",
                "media converter",
                "telephone system",
            )
        ),
        "Which of these it is.",
        client=True,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Device(NamedPortsItem):
    about: ClassVar[str] = "Anything else that is mounted: server, recorder, controller."
    role: ClassVar[str] = "device"

    does: str | None = fact(Text(), "What it is.", client=True)
    withhold: bool = fact(
        Flag(),
        "no: the client may read what it is, not only that there is a device.",
        default=True,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Ups(Item):
    about: ClassVar[str] = "An uninterruptible power supply."
    role: ClassVar[str] = "ups"

    output: Quantity | None = fact(Measure("power", "900 W"), "What it can carry.", client=True)
    apparent: Quantity | None = fact(
        Measure("apparent power", "1000 VA"), "Its apparent power.", client=True
    )
    runtime: Quantity | None = fact(
        Measure("time", "12 min"),
        "Run time by its maker's table at the measured load.",
        client=True,
    )
    battery_changed: dt.date | None = fact(
        Day(), "When its batteries were last changed.", client=True
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class PowerStrip(Item):
    about: ClassVar[str] = "A power strip."
    role: ClassVar[str] = "power strip"

    sockets: int | None = fact(Count(1, 64), "How many sockets it has.", client=True)
    in_use: int | None = fact(Count(0, 64), "How many are taken.", client=True)
    limit: Quantity | None = fact(Measure("current", "16 A"), "Its rating.")


@dataclass(frozen=True, slots=True, kw_only=True)
class CableManager(Item):
    about: ClassVar[str] = "A cable manager: rings, fingers or a brush."
    role: ClassVar[str] = "manager"


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf(Item):
    about: ClassVar[str] = "A shelf."
    role: ClassVar[str] = "shelf"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reserve(Item):
    about: ClassVar[str] = "Rack units reserved for something."
    role: ClassVar[str] = "reserve"

    for_: str | None = fact(Text(), "What they are kept for.")


ENCLOSURE = Kind("enclosure", Enclosure, "enclosures", Audience.CLIENT)

#: Every kind of thing that is mounted. Its role is the word it is written with: `{panel: A, …}`.
ITEMS = tuple(
    Kind(item.role, item, plural, Audience.CLIENT)
    for item, plural in (
        (Panel, "panels"),
        (Switch, "switches"),
        (Router, "routers"),
        (Device, "devices"),
        (Ups, "ups"),
        (PowerStrip, "power strips"),
        (CableManager, "managers"),
        (Shelf, "shelves"),
        (Reserve, "reserves"),
    )
)
