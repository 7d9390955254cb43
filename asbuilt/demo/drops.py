"""Runs of outlets as an engineer types them: one line a jack, columns lined up; and the cords and
the test results that belong to them.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

from asbuilt.demo.floors import DrawnFloor, cable_run, cell_of, filled, spot, vary

#: Power classes (IEEE 802.3) of what usually hangs on a powered port (common practice).
POWERED: Final = {
    "phone": "class 2",
    "camera": "class 3",
    "door": "class 3",
    "access point": "class 4",
}


@dataclass(frozen=True, slots=True)
class Jack:
    """One jack: the facts every line of a run has, and those only some have, in their order."""

    key: str
    port: str
    length: float
    cable: str
    columns: tuple[tuple[str, str], ...]
    rest: tuple[tuple[str, str], ...]
    serves: str


@dataclass(frozen=True, slots=True)
class Run:
    """Drops that were pulled together: from where, in what cable, along which way."""

    enclosure: str
    at: tuple[float, float]  # where the enclosure stands on the plan
    cable: str
    #: What an outlet serves, or room and what → the network it is on.
    networks: Mapping[str, str]
    key: str = "{enclosure}-{panel}{port:02}"
    #: Room, or room and plate → pathways; "" for all others.
    via: Mapping[str, str] = field(default_factory=dict)
    quote_rooms: bool = False
    classes: Mapping[str, str] = field(default_factory=lambda: dict(POWERED))
    installed: str = ""
    more: Mapping[str, str] = field(default_factory=dict)  # what else is known of the cable
    cell: float = 0.0  # metres a side of the plan's grid, where places are given by its cells

    def jacks(
        self, floors: Collection[DrawnFloor], panel: str, first: int, rows: str
    ) -> list[Jack]:
        """Jacks from a table of plates: room, plate, what each jack of it serves, who works
        there; terminated on the panel one after the other from port `first` on."""
        found: list[Jack] = []
        for row in filled(rows):
            number, plate, serves, *people = row
            names = [name.strip() for name in people[0].split(",")] if people else []
            floor, room = next((f, r) for f in floors for r in f.rooms if r.key == number)
            port = first + len(found)
            where = spot(room, plate, f"{self.enclosure}{panel}{port}")
            position = (
                cell_of(floor, where, self.cell)
                if self.cell
                else f'"{where[0]:.1f} m, {where[1]:.1f} m"'
            )
            for nth, use in enumerate(serves.split(", ")):
                person = names[min(nth, len(names) - 1)] if names else ""
                found.append(
                    self._jack(number, plate, where, position, panel, port + nth, use, person)
                )
        return found

    def _jack(
        self,
        room: str,
        plate: str,
        where: tuple[float, float],
        position: str,
        panel: str,
        port: int,
        serves: str,
        person: str,
    ) -> Jack:
        key = self.key.format(enclosure=self.enclosure, panel=panel, port=port)
        length = cable_run(self.at, where, key)
        place = f"{self.enclosure}/{panel}/{port:02}"
        columns = [
            ("room", f'"{room}"' if self.quote_rooms else room),
            ("plate", plate),
            ("position", position),
            ("port", place),
            ("cable", self.cable),
            ("length", f"{length:.1f} m"),
            ("serves", serves),
        ]
        rest = [
            ("state", "spare" if serves == "spare" else ""),
            ("network", self.networks.get(f"{room} {serves}", self.networks.get(serves, ""))),
            ("poe", self.classes.get(serves, "")),
            ("person", person),
            ("via", self.via.get(f"{room} {plate}", self.via.get(room, self.via.get("", "")))),
            ("installed", self.installed),
            *self.more.items(),
        ]
        given = tuple((name, value) for name, value in rest if value)
        return Jack(key, place, length, self.cable, tuple(columns), given, serves)


def outlet_lines(jacks: Iterable[Jack]) -> str:
    jacks = list(jacks)
    widths = [
        max(len(f"{name}: {value},") for name, value in column)
        for column in zip(*(jack.columns for jack in jacks), strict=True)
    ]
    lines = []
    for jack in jacks:
        cells = [
            f"{name}: {value},".ljust(width)
            for (name, value), width in zip(jack.columns, widths, strict=True)
        ]
        ragged = [f"{name}: {value}" for name, value in jack.rest]
        text = " ".join(cells).rstrip().removesuffix(",") if not ragged else " ".join(cells)
        lines.append(f"{jack.key}: {{{text}{' ' if ragged else ''}{', '.join(ragged)}}}")
    return "\n".join(lines)


def cord_lines(
    jacks: Iterable[Jack], switch: str, first: int, cord: str | Callable[[str], str]
) -> str:
    """One cord a jack to a switch port each, from `first` on; a spare's port stays free."""
    lines = []
    for port, jack in enumerate(jacks, start=first):
        if jack.serves == "spare":
            continue
        item = jack.port.partition("/")[2]
        length = cord if isinstance(cord, str) else cord(item)
        lines.append(f"  {item}: {{to: {switch}/{port:02}, cord: {length}}}")
    return "\n".join(lines)


#: What a certifier is set to for each cable.
LIMITS: Final = {
    "cat5e": "Cat 5e permanent link",
    "cat6": "Cat 6 permanent link",
    "cat6A": "Cat 6A permanent link",
}
HEADER: Final = "link,date,result,limit,length,margin,instrument,calibrated,by"


def result_lines(
    jacks: Iterable[Jack],
    date: str,
    instrument: str,
    calibrated: str,
    by: str,
    others: Mapping[str, tuple[str, str]] | None = None,
) -> str:
    """A certifier's results, one line a link; `others` names those that did not just pass, with
    their margin."""
    lines = []
    for jack in jacks:
        result, margin = (others or {}).get(
            jack.key, ("pass", f"{vary(f'{jack.key} {date}', 1.6, 8.4):.1f} dB")
        )
        length = jack.length - vary(f"{jack.key} measured", 0.0, 0.3)
        lines.append(
            f"{jack.key},{date},{result},{LIMITS[jack.cable]},{length:.1f} m,{margin},"
            f"{instrument},{calibrated},{by}"
        )
    return "\n".join(lines)
