"""What connects: cords, outlet jacks with their drops, backbones; and the pathways they run in."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import ClassVar

from asbuilt.records.fields import (
    Count,
    Day,
    Flag,
    GridCell,
    Listed,
    Measure,
    Port,
    PortId,
    Ports,
    Ref,
    Spot,
    SpotOnPlan,
    Text,
    Word,
)
from asbuilt.records.kind import Audience, Kind, Record, fact
from asbuilt.records.people import KNOWLEDGE
from asbuilt.records.quantity import Quantity

CABLES = (
    "cat3", "cat5", "cat5e", "cat6", "cat6A", "cat7", "cat7A", "cat8",
    "OM1", "OM2", "OM3", "OM4", "OM5", "OS1", "OS2", "coax", "unknown",
)  # fmt: skip
COPPER_CABLES = tuple(cable for cable in CABLES if cable.startswith("cat"))
FIBRE_CABLES = tuple(cable for cable in CABLES if cable.startswith("O"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Cord(Record):
    about: ClassVar[str] = "A patch cord, keyed by the port it leaves from."

    from_: PortId = fact(Port(), "The port it leaves from.", client=True, required=True)
    to: PortId = fact(Port(), "The port it goes to.", client=True, required=True)
    cord: Quantity | None = fact(Measure("length", "0.3 m"), "Its length.", client=True)
    media: str | None = fact(Word(("copper", "fibre")), "What it is made of.", client=True)
    colour: str | None = fact(Text("a colour"), "Its colour.")
    label: str | None = fact(Text("a label"), "The text on it.")


#: What an outlet serves. Those in WITHHELD are shown to the client as "device" only.
SERVES = (
    "desk", "phone", "printer", "access point", "camera", "alarm", "door", "display",
    "till", "server", "machine", "meeting table", "building control", "spare", "other", "unknown",
)  # fmt: skip
WITHHELD = ("camera", "alarm", "door")
#: What is seen of a withheld thing.
DEVICE = "device"


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlet(Record):
    about: ClassVar[str] = (
        "One jack of an outlet, with the drop that ends in it. Its key is ours; its label is the "
        "text on the faceplate."
    )

    label: str | None = fact(
        Text("a label"), "The text on the faceplate, if not the key.", client=True
    )
    label_at_panel: str | None = fact(
        Text("a label"), "The text at the panel's end, if it differs.", client=True
    )
    room: str | None = fact(Ref("room"), "The room it is in.", client=True)
    plate: str | None = fact(
        Text("a place"), "Where in the room: wall, floor box, ceiling.", client=True
    )
    position: Spot | GridCell | None = fact(SpotOnPlan(), "Where on the floor plan.", client=True)
    port: tuple[PortId, ...] = fact(
        Ports(), "The panel port, or ports, its cable ends at.", client=True, many=True
    )
    cable: str | None = fact(Word(CABLES, "a cable"), "The kind of cable.", client=True)
    length: Quantity | None = fact(
        Measure("length", "23.4 m"), "Installed length, loops and slack included.", client=True
    )
    serves: str | None = fact(
        Word((*SERVES, DEVICE), "a use of an outlet"), "What it serves.", client=True
    )
    person: str | None = fact(Text("a name"), "Who works there.", client=True)
    poe: str | None = fact(
        Word(tuple(f"class {number}" for number in range(9)), "a power class"),
        "Its power over Ethernet class (IEEE 802.3).",
        client=True,
    )
    network: str | None = fact(Ref("network"), "The network it is on.")
    state: str = fact(
        Word(("in use", "spare", "dead", "abandoned", "reserved", "unknown")),
        "Whether it works.",
        client=True,
        default="in use",
    )
    via: tuple[str, ...] = fact(
        Listed(Ref("pathway")), "The pathways its cable runs in.", many=True
    )
    jacket: str | None = fact(Text("a colour"), "Colour of the cable's jacket.", client=True)
    rating: str | None = fact(Text(), "Fire rating printed on the jacket.", client=True)
    made: dt.date | None = fact(Day(), "When the cable was made.")
    installed: dt.date | None = fact(Day(), "When it was installed.", client=True)
    terminated: dt.date | None = fact(Day(), "When it was last terminated.", client=True)
    wiring: str | None = fact(Word(("T568A", "T568B")), "Pin and pair order.", client=True)
    owner: str | None = fact(
        Text("a name"), "Whose it is, when it isn't the client's.", client=True
    )
    withhold: bool = fact(
        Flag(), "yes: the client sees only that there is a device.", default=False
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Backbone(Record):
    about: ClassVar[str] = "A cable between two panels, port by port."

    label: str | None = fact(Text("a label"), "The text on it, if not its key.", client=True)
    from_: tuple[PortId, ...] = fact(
        Ports(), "The ports at its one end.", client=True, required=True
    )
    to: tuple[PortId, ...] = fact(
        Ports(), "The ports at its other end, in the same order.", client=True, required=True
    )
    cable: str | None = fact(Word(CABLES, "a cable"), "The kind of cable.", client=True)
    strands: int | None = fact(Count(1, 864), "Strands or pairs in it.", client=True)
    length: Quantity | None = fact(Measure("length", "62 m"), "Installed length.", client=True)
    via: tuple[str, ...] = fact(Listed(Ref("pathway")), "The pathways it runs in.", many=True)
    outdoors: bool | None = fact(Flag(), "Whether it leaves the building.", client=True)
    state: str = fact(
        Word(("in use", "spare", "dead", "abandoned", "unknown")),
        "Whether it works.",
        client=True,
        default="in use",
    )
    installed: dt.date | None = fact(Day(), "When it was installed.", client=True)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pathway(Record):
    about: ClassVar[str] = "A conduit, sleeve, tray or run of hooks. Cables name it with `via`."

    label: str | None = fact(Text("a label"), "The text on it, if not its key.")
    kind: str | None = fact(
        Word(("conduit", "sleeve", "tray", "basket", "hooks", "trunking", "duct")), "What it is."
    )
    from_room: str | None = fact(Ref("room"), "The room at its one end.")
    to_room: str | None = fact(Ref("room"), "The room at its other end.")
    route: str | None = fact(Text(), "Where it runs.")
    bore: Quantity | None = fact(Measure("length", "52.5 mm"), "Inside diameter, if round.")
    width: Quantity | None = fact(Measure("length", "100 mm"), "Inside width, if not round.")
    height: Quantity | None = fact(Measure("length", "50 mm"), "Inside height, if not round.")
    length: Quantity | None = fact(Measure("length", "12 m"), "How long it is.")
    bends: int | None = fact(Count(0, 20), "How many 90° bends it has.")
    holds: int | None = fact(Count(1, 5000), "How many cables it may hold, when that is given.")
    others: int | None = fact(Count(0, 5000), "Cables in it that these records don't know.")
    pull_cord: bool | None = fact(Flag(), "Whether a pull cord is in it.")
    barrier: str | None = fact(Text(), "The rated wall or floor it goes through, and its rating.")
    barrier_known: str | None = fact(
        Word(KNOWLEDGE), "How that rating is known: surveyed, reported or not known."
    )
    seal: str | None = fact(Text(), "The fire-stop system in place, its tag and who put it in.")


CORD = Kind("cord", Cord, "cords", Audience.CLIENT)
OUTLET = Kind("outlet", Outlet, "outlets", Audience.CLIENT)
BACKBONE = Kind("backbone", Backbone, "backbones", Audience.CLIENT)
PATHWAY = Kind("pathway", Pathway, "pathways")
