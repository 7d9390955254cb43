"""What comes into the building, and the networks that run on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from asbuilt.records.fields import Count, Flag, Measure, Port, PortId, Ref, Text, Word
from asbuilt.records.kind import Audience, Kind, Record, fact
from asbuilt.records.quantity import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit(Record):
    about: ClassVar[str] = "A carrier's circuit that enters the building."

    carrier: str | None = fact(Text("a name"), "Who provides it.", client=True)
    service: str | None = fact(
        Text(), "What it is for: internet, voice, a leased line.", client=True
    )
    speed: Quantity | None = fact(Measure("speed", "500 Mb/s"), "Download speed.", client=True)
    reference: str | None = fact(Text(), "What the carrier calls it.", client=True)
    account_holder: str | None = fact(Text("a name"), "Whose contract it is.", client=True)
    support: str | None = fact(Text(), "Where a fault is reported.", client=True)
    confirms: str | None = fact(Text(), "Who confirms service afterwards.")
    room: str | None = fact(Ref("room"), "Where it enters.", client=True)
    lands_on: PortId | None = fact(Port(), "The port it ends at.", client=True)
    backup: bool = fact(
        Flag(), "yes: it carries only while another one fails.", client=True, default=False
    )
    state: str = fact(
        Word(("live", "ordered", "ceased", "unknown")),
        "Whether it carries.",
        client=True,
        default="live",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Network(Record):
    about: ClassVar[str] = "A network that runs on the cabling: a segment, not a cable."

    name: str | None = fact(Text("a name"), "What it is called.")
    number: int | None = fact(Count(1, 4094), "Its IEEE 802.1Q tag.")
    addresses: str | None = fact(Text(), "Its address range.")
    purpose: str | None = fact(Text(), "What it is for.")


CIRCUIT = Kind("circuit", Circuit, "circuits", Audience.CLIENT)
NETWORK = Kind("network", Network, "networks")
