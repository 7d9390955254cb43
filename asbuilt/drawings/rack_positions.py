"""Where things sit in an enclosure, in millimetres: EIA/ECA-310-E (see trade/rack.py).

The origin is the middle of the rack at the bottom of its lowest unit; y runs down, so a height h
above it stands at −h.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from asbuilt.drawings.svg_elements import Box
from asbuilt.model.describe import unit_count
from asbuilt.model.site import Site
from asbuilt.records.enclosures import Enclosure, Item
from asbuilt.trade.rack import (
    MIN_RAIL_OPENING,
    PANEL_GAP,
    PANEL_WIDTH,
    lower_edge,
    panel_height,
    units_from_bottom,
)

OTHER_FACE: Final = {"front": "rear", "rear": "front"}


@dataclass(frozen=True, slots=True)
class PlacedItem:
    """An item with the units it takes, counted from the bottom whatever is printed, and where
    it is drawn."""

    item: Item
    lowest: int
    highest: int
    box: Box


def items_on_face(
    site: Site, enclosure_key: str, seen_from: str, face: str
) -> tuple[PlacedItem, ...]:
    """The items mounted on `face`, as they are drawn when seen from the front or the rear.

    Halves are left and right as seen by who faces the item; from behind they change sides.
    """
    enclosure = site.enclosures[enclosure_key]
    total = unit_count(enclosure)
    found = []
    for item in site.items_in.get(enclosure_key, ()):
        if item.face != face or item.at is None or not 1 <= item.at[0] <= item.at[1] <= total:
            continue
        low, high = units_from_bottom(item.at, total, enclosure.numbered_from)
        found.append(
            PlacedItem(item, low, high, _box_of(item, low, high, mirrored=face != seen_from))
        )
    return tuple(sorted(found, key=lambda placed: (-placed.highest, placed.box.x)))


def printed_units(enclosure: Enclosure, low: int, high: int) -> tuple[int, int]:
    """The numbers printed at units counted from the bottom: the same rule the other way round."""
    return units_from_bottom((low, high), unit_count(enclosure), enclosure.numbered_from)


def _box_of(item: Item, low: int, high: int, mirrored: bool) -> Box:
    top = PANEL_GAP / 2 - lower_edge(high + 1)
    left, width = -PANEL_WIDTH / 2, PANEL_WIDTH
    if item.part:
        width /= 2
        left = 0.0 if (item.part == "right") != mirrored else left
    return Box(left, top, width, panel_height(high - low + 1))


@dataclass(frozen=True, slots=True)
class FreeUnits:
    """Neighbouring free units, counted from the bottom, with what stands on their other side."""

    low: int
    high: int
    opposite: tuple[PlacedItem, ...]


def free_units(
    total: int, own: Sequence[PlacedItem], across: Sequence[PlacedItem]
) -> Iterator[FreeUnits]:
    """The units that nothing in `own` takes, from the top down. A run ends where what stands on
    the other side changes."""
    taken = {unit for placed in own for unit in range(placed.lowest, placed.highest + 1)}
    free = [unit for unit in range(total, 0, -1) if unit not in taken]
    run: FreeUnits | None = None
    for unit in free:
        beyond = tuple(placed for placed in across if placed.lowest <= unit <= placed.highest)
        if run and run.low == unit + 1 and run.opposite == beyond:
            run = FreeUnits(unit, run.high, beyond)
            continue
        if run:
            yield run
        run = FreeUnits(unit, unit, beyond)
    if run:
        yield run


def free_halves(own: Sequence[PlacedItem], ghosts: Sequence[PlacedItem]) -> Iterator[Box]:
    """The halves beside items of half width, where nothing else takes them."""
    for placed in own:
        if placed.item.part:
            box = placed.box
            beside = Box(-box.right, box.y, box.width, box.height)
            if not any(beside.overlaps(other.box) for other in (*own, *ghosts)):
                yield beside


def clip_to_opening(box: Box) -> Box:
    """What of a box lies in the clear opening."""
    left, right = max(box.x, -MIN_RAIL_OPENING / 2), min(box.right, MIN_RAIL_OPENING / 2)
    return Box(left, box.y, right - left, box.height)


def items_opposite(placed: PlacedItem, across: Sequence[PlacedItem]) -> list[PlacedItem]:
    """What shares an item's units from the other side."""
    return [other for other in across if other.box.overlaps(placed.box)]
