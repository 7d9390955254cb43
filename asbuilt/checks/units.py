"""Rack units: what is mounted lies within its enclosure, and no two things take one unit.

A unit is 44.45 mm (EIA/ECA-310-E); things are placed by the units they take, as the enclosure
numbers them. On one face, two things share a unit only when each says which half it takes
(`part: left`, `part: right`). Space that is reserved counts as taken.

Depth isn't part of that standard, so it is compared as recorded: no thing deeper than the
enclosure's usable depth, nor a front and a rear one in the same unit deeper than it together.
Depths are often measured by hand and a door may be off, so this is a remark.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from asbuilt.model.paths import CablingGraph
from asbuilt.model.site import Site
from asbuilt.problem import Problem
from asbuilt.records.enclosures import Enclosure, Item

MAX_UNITS = 100  # no rack is so high; a larger number is a slip


def check_units(site: Site, net: CablingGraph) -> Iterator[Problem]:
    for enclosure in site.enclosures.values():
        height = enclosure.height.value
        if height != int(height) or not 1 <= height <= MAX_UNITS:
            hint = f"give whole units from 1 to {MAX_UNITS}"
            message = f"enclosure {enclosure.key} can't be {enclosure.height} high"
            yield enclosure.error("height", "enclosure-height", message, hint)
            continue
        in_order = sorted(site.items_in.get(enclosure.key, ()), key=lambda item: item.place)
        mounted = [item for item in in_order if item.at]
        yield from _outside(mounted, int(height))
        for face in ("front", "rear"):
            inside = [item for item in mounted if item.at and item.at[1] <= height]
            yield from _overlaps([item for item in inside if item.face == face])
        yield from _depths(enclosure, in_order)


def _item_text(item: Item) -> str:
    return f"{item.role} {item.name}"


def _units_text(low: int, high: int) -> str:
    return f"U {low}" if low == high else f"U {low}-{high}"


def _outside(mounted: Sequence[Item], height: int) -> Iterator[Problem]:
    for item in mounted:
        if item.at and item.at[1] > height:
            message = (
                f"{_item_text(item)} is at {_units_text(*item.at)}, but enclosure {item.enclosure} "
            )
            message += f"has {height} U"
            yield item.error("at", "unit-outside", message, f"name units from 1 to {height}")


def _overlaps(mounted: Sequence[Item]) -> Iterator[Problem]:
    for number, item in enumerate(mounted):
        others = [other for other in mounted[:number] if _collide(item, other)]
        if not others:
            continue
        assert item.at
        message = f"{_item_text(item)} is at {_units_text(*item.at)}, where "
        message += (
            f"{' and '.join(map(_item_text, others))} already {'is' if len(others) == 1 else 'are'}"
        )
        hint = "move one of the two; if they share a unit, say “part: left” and “part: right”"
        yield item.error("at", "unit-overlap", message, hint)


def _collide(one: Item, other: Item) -> bool:
    if not _same_units(one, other):
        return False
    return not (one.part and other.part and one.part != other.part)


def _same_units(one: Item, other: Item) -> bool:
    if not one.at or not other.at:
        return False
    return one.at[0] <= other.at[1] and other.at[0] <= one.at[1]


def _depths(enclosure: Enclosure, items: Sequence[Item]) -> Iterator[Problem]:
    if enclosure.depth is None:
        return
    usable = enclosure.depth.to("mm")
    fitting: list[tuple[Item, float]] = []
    for item in items:
        if item.depth is None:
            continue
        depth = item.depth.to("mm")
        if depth > usable:
            message = f"{_item_text(item)} is {item.depth} deep, enclosure {enclosure.key} "
            message += f"{enclosure.depth} between its doors"
            hint = "measure again, plugs and cord bends included"
            yield item.remark("depth", "too-deep", message, hint)
            continue
        behind = [
            other
            for other, other_depth in fitting
            if {other.face, item.face} == {"front", "rear"}
            and _collide(item, other)
            and other_depth + depth > usable
        ]
        if behind:
            message = (
                f"{_item_text(item)} ({item.depth}) and {_item_text(behind[0])} "
                f"({behind[0].depth}) "
            )
            message += f"share a unit front and rear, but enclosure {enclosure.key} is only "
            message += f"{enclosure.depth} deep"
            yield item.remark("depth", "depth-clash", message, "measure again, or move one of them")
        fitting.append((item, depth))
