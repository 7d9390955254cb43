"""Pathways: how full each is against its limit, and how many more cables it takes.

A cable is in a pathway when its outlet or backbone names it with `via`; an abandoned cable takes
as much room as one in use. Diameters are those usual for a kind of cable (see trade/fill.py).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from asbuilt.facts.basis import Basis
from asbuilt.model.site import Site
from asbuilt.records.links import Pathway
from asbuilt.trade.bundles import bundles_of
from asbuilt.trade.fill import DIAMETERS, Inside, conduit, duct, more_that_fit, taken, tray


@dataclass(frozen=True, slots=True)
class CableInside:
    """A cable that runs in a pathway: kind and key of its record, kind of cable, power class."""

    thing: tuple[str, str]
    cable: str
    poe: int | None = None

    @property
    def diameter(self) -> float:
        return DIAMETERS[self.cable]


@dataclass(frozen=True, slots=True)
class PathwayRoom:
    """`inside` is None where its size isn't recorded (hooks have none), `others` are cables these
    records don't know, taken to be as thick as `unknown`."""

    record: Pathway
    inside: Inside | None
    cables: tuple[CableInside, ...]

    @property
    def others(self) -> int:
        return self.record.others or 0

    @property
    def count(self) -> int:
        return len(self.cables) + self.others

    @property
    def diameters(self) -> list[float]:
        return [cable.diameter for cable in self.cables] + [DIAMETERS["unknown"]] * self.others

    @property
    def filled(self) -> float | None:
        """The share of its inside that is taken."""
        return taken(self.diameters) / self.inside.area if self.inside else None

    @property
    def limit(self) -> float | None:
        """The share that as many cables as there are may take."""
        return self.inside.allowed(self.count) / self.inside.area if self.inside else None

    @property
    def over(self) -> bool:
        """Whether it holds more than its limit, by share or by the count given for it."""
        by_share = (
            self.filled is not None and self.limit is not None and self.filled > self.limit + 1e-9
        )
        return by_share or (self.record.holds is not None and self.count > self.record.holds)

    def more(self, cable: str) -> int | None:
        """How many more cables of a kind it takes; None where neither its size nor a count is
        recorded."""
        rooms = []
        if self.inside:
            rooms.append(more_that_fit(self.inside, self.diameters, DIAMETERS[cable]))
        if self.record.holds is not None:
            rooms.append(max(0, self.record.holds - self.count))
        return min(rooms) if rooms else None

    @property
    def bundles(self) -> tuple[int, int]:
        """Bundles of 24 its cables make, and the room left in the last."""
        return bundles_of(self.count)

    @property
    def powered(self) -> int:
        return sum(1 for cable in self.cables if cable.poe is not None)

    @property
    def basis(self) -> tuple[Basis, ...]:
        thing = (("pathway", self.record.key),)
        lines = [Basis(self._size_words(), thing)]
        for kind in sorted({cable.cable for cable in self.cables}):
            alike = [cable for cable in self.cables if cable.cable == kind]
            words = f"{len(alike)} × {kind}, {DIAMETERS[kind]:g} mm across (usual for the kind)"
            lines.append(Basis(words, tuple(cable.thing for cable in alike)))
        if self.others:
            words = f"{self.others} not in these records, taken as {DIAMETERS['unknown']:g} mm"
            lines.append(Basis(words, thing))
        return tuple(lines)

    def _size_words(self) -> str:
        parts = []
        if self.inside:
            share = self.inside.allowed(self.count) / self.inside.area
            parts.append(
                f"{self.inside.area:.0f} mm² inside, {share:.0%} of it for "
                f"{self.count} cables ({self.inside.source})"
            )
        if self.record.holds is not None:
            parts.append(f"said to hold {self.record.holds} cables")
        return "; ".join(parts) or "size not recorded"


def pathways_of(site: Site) -> tuple[PathwayRoom, ...]:
    """The room in each pathway of a site, in order of their keys."""
    inside: dict[str, list[CableInside]] = {key: [] for key in site.pathways}
    for outlet in site.outlets.values():
        poe = int(outlet.poe.removeprefix("class ")) if outlet.poe else None
        cable = CableInside(("outlet", outlet.key), outlet.cable or "unknown", poe)
        for key in dict.fromkeys(outlet.via):
            # A jack with two cables has two in the pathway.
            inside.get(key, []).extend([cable] * max(1, len(outlet.port)))
    for backbone in site.backbones.values():
        trunk = CableInside(("backbone", backbone.key), backbone.cable or "unknown")
        for key in dict.fromkeys(backbone.via):
            inside.get(key, []).append(trunk)
    return tuple(
        PathwayRoom(record, inside_of(record), tuple(inside[key]))
        for key, record in site.pathways.items()
    )


def inside_of(pathway: Pathway) -> Inside | None:
    """The inside of a pathway by its recorded size and kind."""
    if pathway.bore is not None:
        return conduit(pathway.bore.to("mm"))
    if pathway.width is None or pathway.height is None:
        return None
    width, height = pathway.width.to("mm"), pathway.height.to("mm")
    return tray(width, height) if pathway.kind in ("tray", "basket") else duct(width, height)


def tightest(rooms: Iterable[PathwayRoom], cable: str) -> PathwayRoom | None:
    """The pathway that takes the fewest more cables of a kind, of those whose room is known."""
    known = [(room.more(cable), room) for room in rooms]
    counted = [(more, room) for more, room in known if more is not None]
    return min(counted, key=lambda pair: (pair[0], pair[1].record.key))[1] if counted else None
