"""The site itself and where things are: buildings, floors, rooms."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import ClassVar

from asbuilt.records.fields import Count, Day, Flag, Listed, Measure, Ref, Text, WebAddress, Word
from asbuilt.records.kind import Audience, Kind, Record, fact
from asbuilt.records.quantity import Quantity


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteInfo(Record):
    about: ClassVar[str] = "The site: who and where, how one gets in, what its records go by."

    name: str = fact(Text("a name"), "What the client calls the site.", client=True, required=True)
    business: str | None = fact(Text(), "What is done here, in a word or two.", client=True)
    address: str | None = fact(Text("an address"), "Where it is.", client=True)
    hours: str | None = fact(Text(), "When the client works.", client=True)
    access: str | None = fact(Text(), "How one gets in, whom one asks, what one signs.")
    maintenance_window: str | None = fact(Text(), "The hours in which an outage is acceptable.")
    do_not_touch: tuple[str, ...] = fact(
        Listed(Text()), "What must not be switched off, and whose it is.", client=True, many=True
    )
    vault: str | None = fact(Text(), "Where credentials are kept: a pointer, never the thing.")
    measures: str = fact(
        Word(("metric", "customary")),
        "Whether pages show metres or feet; records may carry either.",
        client=True,
        default="metric",
    )
    labels: str | None = fact(
        Text("a label scheme"),
        "What outlet labels look like: ANSI/TIA-606, or a pattern with {enclosure}, {panel}, "
        "{port}, {port:02}, {room}, {floor}.",
        client=True,
    )
    spare: str | None = fact(
        Text(), "The spare capacity this site asks for, of what, and who says so.", client=True
    )
    spare_ports: Quantity | None = fact(
        Measure("share", "25 %"), "The panel ports to be kept spare, as a share.", client=True
    )
    spare_units: Quantity | None = fact(
        Measure("share", "25 %"), "The rack units to be kept spare, as a share.", client=True
    )
    spare_of: str = fact(
        Word(("total", "used")),
        "Of what these shares are: of all there is, or of what is in use.",
        client=True,
        default="total",
    )
    ask: str | None = fact(Text(), "How the client asks for a change.", client=True)
    records_kept_by: str | None = fact(Text(), "Who keeps these records.", client=True)
    pages_at: str | None = fact(
        WebAddress(), "Where the engineers' pages of this site are served: what codes open."
    )
    client_pages_at: str | None = fact(
        WebAddress(),
        "Where the client's pages of this site are served: what codes in that edition open.",
        client=True,
    )
    binder_handed_over: dt.date | None = fact(
        Day(), "When the last binder was handed over; the next one says what changed.", client=True
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Building(Record):
    about: ClassVar[str] = "A building of the site."

    name: str | None = fact(Text("a name"), "What people call it.", client=True)
    address: str | None = fact(Text("an address"), "Where it is.", client=True)
    built: str | None = fact(Text(), "When it was built, as far as known.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Floor(Record):
    about: ClassVar[str] = "A floor of a building."

    name: str | None = fact(Text("a name"), "What people call it.", client=True)
    building: str | None = fact(Ref("building"), "The building it is in.", client=True)
    level: int | None = fact(
        Count(0, 200), "Its place from the ground up, for sorting.", client=True
    )
    plan: str | None = fact(Text("a file"), "Its plan: an SVG, PNG, JPEG or PDF under plans/.")
    plan_page: int = fact(
        Count(1, 9999), "Which page of the file it is, where that is a PDF.", default=1
    )
    plan_width: Quantity | None = fact(
        Measure("length", "28 m"), "How much of the floor the plan shows from left to right."
    )
    grid_columns: int | None = fact(
        Count(1, 26), "Columns of the grid over the plan: A and on, from the left."
    )
    grid_rows: int | None = fact(
        Count(1, 99), "Rows of the grid over the plan: 1 and on, from the top."
    )


ROOM_USES = (
    "telecommunications space",
    "entrance facility",
    "equipment room",
    "office",
    "meeting room",
    "reception",
    "corridor",
    "treatment room",
    "classroom",
    "laboratory",
    "workshop",
    "store",
    "kitchen",
    "plant room",
    "outdoors",
    "other",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Room(Record):
    about: ClassVar[str] = "A room, by the number people see on its door."

    name: str | None = fact(Text("a name"), "What people call it.", client=True)
    floor: str | None = fact(Ref("floor"), "The floor it is on.", client=True)
    use: str | None = fact(Word(ROOM_USES, "a use of a room"), "What it is for.", client=True)
    locked: bool | None = fact(Flag(), "Whether a key is needed.")
    key_with: str | None = fact(Text(), "Who has the key.")


SITE = Kind("site", SiteInfo, "sites", Audience.CLIENT)
BUILDING = Kind("building", Building, "buildings", Audience.CLIENT)
FLOOR = Kind("floor", Floor, "floors", Audience.CLIENT)
ROOM = Kind("room", Room, "rooms", Audience.CLIENT)
