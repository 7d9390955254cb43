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
from asbuilt.trade.bundles import count_bundles
from asbuilt.trade.fill import (
    CABLE_DIAMETERS,
    CrossSection,
    cables_area,
    conduit_section,
    duct_section,
    max_more_cables,
    tray_section,
)


@dataclass(frozen=True, slots=True)
class PathwayCable:
    """A cable that runs in a pathway: kind and key of its record, kind of cable, power class."""

    record: tuple[str, str]
    cable: str
    poe: int | None = None

    @property
    def diameter(self) -> float:
        return CABLE_DIAMETERS[self.cable]


@dataclass(frozen=True, slots=True)
class PathwayHeadroom:
    """`inside` is None where its size isn't recorded (hooks have none), `others` are cables these
    records don't know, taken to be as thick as `unknown`."""

    record: Pathway
    cross_section: CrossSection | None
    cables: tuple[PathwayCable, ...]

    @property
    def other_cables(self) -> int:
        return self.record.others or 0

    @property
    def count(self) -> int:
        return len(self.cables) + self.other_cables

    @property
    def diameters(self) -> list[float]:
        return [cable.diameter for cable in self.cables] + [
            CABLE_DIAMETERS["unknown"]
        ] * self.other_cables

    @property
    def fill_ratio(self) -> float | None:
        """The share of its inside that is taken."""
        return cables_area(self.diameters) / self.cross_section.area if self.cross_section else None

    @property
    def fill_limit(self) -> float | None:
        """The share that as many cables as there are may take."""
        return (
            self.cross_section.allowed_area(self.count) / self.cross_section.area
            if self.cross_section
            else None
        )

    @property
    def is_overfull(self) -> bool:
        """Whether it holds more than its limit, by share or by the count given for it."""
        by_share = (
            self.fill_ratio is not None
            and self.fill_limit is not None
            and self.fill_ratio > self.fill_limit + 1e-9
        )
        return by_share or (self.record.holds is not None and self.count > self.record.holds)

    def max_more_cables(self, cable: str) -> int | None:
        """How many more cables of a kind it takes; None where neither its size nor a count is
        recorded."""
        rooms = []
        if self.cross_section:
            rooms.append(
                max_more_cables(self.cross_section, self.diameters, CABLE_DIAMETERS[cable])
            )
        if self.record.holds is not None:
            rooms.append(max(0, self.record.holds - self.count))
        return min(rooms) if rooms else None

    @property
    def bundles(self) -> tuple[int, int]:
        """Bundles of 24 its cables make, and the room left in the last."""
        return count_bundles(self.count)

    @property
    def powered_count(self) -> int:
        return sum(1 for cable in self.cables if cable.poe is not None)

    @property
    def basis(self) -> tuple[Basis, ...]:
        thing = (("pathway", self.record.key),)
        lines = [Basis(self._size_text(), thing)]
        for kind in sorted({cable.cable for cable in self.cables}):
            alike = [cable for cable in self.cables if cable.cable == kind]
            words = (
                f"{len(alike)} × {kind}, {CABLE_DIAMETERS[kind]:g} mm across (usual for the kind)"
            )
            lines.append(Basis(words, tuple(cable.record for cable in alike)))
        if self.other_cables:
            words = (
                f"{self.other_cables} not in these records, taken as "
                f"{CABLE_DIAMETERS['unknown']:g} mm"
            )
            lines.append(Basis(words, thing))
        return tuple(lines)

    def _size_text(self) -> str:
        parts = []
        if self.cross_section:
            share = self.cross_section.allowed_area(self.count) / self.cross_section.area
            parts.append(
                f"{self.cross_section.area:.0f} mm² inside, {share:.0%} of it for "
                f"{self.count} cables ({self.cross_section.source})"
            )
        if self.record.holds is not None:
            parts.append(f"said to hold {self.record.holds} cables")
        return "; ".join(parts) or "size not recorded"


def pathway_headroom(site: Site) -> tuple[PathwayHeadroom, ...]:
    """The room in each pathway of a site, in order of their keys."""
    inside: dict[str, list[PathwayCable]] = {key: [] for key in site.pathways}
    for outlet in site.outlets.values():
        poe = int(outlet.poe.removeprefix("class ")) if outlet.poe else None
        cable = PathwayCable(("outlet", outlet.key), outlet.cable or "unknown", poe)
        for key in dict.fromkeys(outlet.via):
            # A jack with two cables has two in the pathway.
            inside.get(key, []).extend([cable] * max(1, len(outlet.port)))
    for backbone in site.backbones.values():
        trunk = PathwayCable(("backbone", backbone.key), backbone.cable or "unknown")
        for key in dict.fromkeys(backbone.via):
            inside.get(key, []).append(trunk)
    return tuple(
        PathwayHeadroom(record, cross_section_of(record), tuple(inside[key]))
        for key, record in site.pathways.items()
    )


def cross_section_of(pathway: Pathway) -> CrossSection | None:
    """The inside of a pathway by its recorded size and kind."""
    if pathway.bore is not None:
        return conduit_section(pathway.bore.to("mm"))
    if pathway.width is None or pathway.height is None:
        return None
    width, height = pathway.width.to("mm"), pathway.height.to("mm")
    return (
        tray_section(width, height)
        if pathway.kind in ("tray", "basket")
        else duct_section(width, height)
    )


def fullest_pathway(rooms: Iterable[PathwayHeadroom], cable: str) -> PathwayHeadroom | None:
    """The pathway that takes the fewest more cables of a kind, of those whose room is known."""
    known = [(room.max_more_cables(cable), room) for room in rooms]
    counted = [(more, room) for more, room in known if more is not None]
    return min(counted, key=lambda pair: (pair[0], pair[1].record.key))[1] if counted else None
