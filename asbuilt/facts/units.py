"""Rack units of an enclosure: taken, kept, free; of both faces together and of each with the depth
that is left in front of what the other face carries.

Numbers are those printed on the enclosure, whichever end they start from.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from asbuilt.facts.basis import Basis, item_keys, units_text
from asbuilt.records.enclosures import Enclosure, Item, Reserve

_OPPOSITE_FACE = {"front": "rear", "rear": "front"}


@dataclass(frozen=True, slots=True)
class FreeRun:
    """Units in a row that are free on one face; `depth` is the least depth left there in mm,
    None where a depth that counts isn't recorded."""

    low: int
    high: int
    depth: float | None

    @property
    def units(self) -> int:
        return self.high - self.low + 1


@dataclass(frozen=True, slots=True)
class RackUnits:
    """Units of one enclosure, or of several. `used`, `reserved` and `runs` take front and rear
    together, since most things are deep: a unit is free when nothing is in it on either face."""

    total: int
    used: int
    reserved: int
    free_runs: tuple[tuple[int, int], ...]  # free runs, lowest and highest unit
    front_free_runs: tuple[FreeRun, ...] = ()
    rear_free_runs: tuple[FreeRun, ...] = ()
    mounted: tuple[Item, ...] = ()

    @property
    def free(self) -> int:
        return sum(high - low + 1 for low, high in self.free_runs)

    @property
    def largest_run(self) -> int:
        return max((high - low + 1 for low, high in self.free_runs), default=0)

    @property
    def front_free_units(self) -> int:
        return sum(run.units for run in self.front_free_runs)

    @property
    def rear_free_units(self) -> int:
        return sum(run.units for run in self.rear_free_runs)

    @property
    def basis(self) -> tuple[Basis, ...]:
        lines = []
        for item in self.mounted:
            assert item.at
            what = "reserved" if isinstance(item, Reserve) else item.role
            words = f"{units_text([item.at])} {item.face}: {what} {item.title}"
            lines.append(Basis(words, item_keys([item.key])))
        if self.free_runs:
            lines.append(Basis(f"free on both faces: {units_text(self.free_runs)}"))
        return tuple(lines)


def rack_units(enclosure: Enclosure, mounted: Iterable[Item]) -> RackUnits:
    total = int(enclosure.height.to("U"))
    placed = [item for item in mounted if item.at and item.at[0] <= total]
    used: set[int] = set()
    reserved: set[int] = set()
    for item in placed:
        (reserved if isinstance(item, Reserve) else used).update(units_of(item, total))
    free = [unit for unit in range(1, total + 1) if unit not in used and unit not in reserved]
    return RackUnits(
        total,
        len(used),
        len(reserved - used),
        _consecutive_runs(free),
        _free_runs_on("front", enclosure, placed, total),
        _free_runs_on("rear", enclosure, placed, total),
        tuple(placed),
    )


def add_units(parts: Iterable[RackUnits]) -> RackUnits:
    parts = tuple(parts)
    return RackUnits(
        sum(part.total for part in parts),
        sum(part.used for part in parts),
        sum(part.reserved for part in parts),
        tuple(run for part in parts for run in part.free_runs),
        tuple(run for part in parts for run in part.front_free_runs),
        tuple(run for part in parts for run in part.rear_free_runs),
        tuple(item for part in parts for item in part.mounted),
    )


def units_of(item: Item, total: int) -> range:
    """The units an item takes, as far as the enclosure has them."""
    return range(item.at[0], min(item.at[1], total) + 1) if item.at else range(0)


def _free_runs_on(
    face: str, enclosure: Enclosure, placed: Iterable[Item], total: int
) -> tuple[FreeRun, ...]:
    """Reserved units are reserved on both faces."""
    taken: set[int] = set()
    behind: dict[int, list[Item]] = {}
    for item in placed:
        for unit in units_of(item, total):
            if item.face == face or isinstance(item, Reserve):
                taken.add(unit)
            elif item.face == _OPPOSITE_FACE[face]:
                behind.setdefault(unit, []).append(item)
    runs: list[FreeRun] = []
    for unit in range(1, total + 1):
        if unit in taken:
            continue
        depth = _depth_left(enclosure, behind, unit)
        if runs and runs[-1].high == unit - 1 and runs[-1].depth == depth:
            runs[-1] = FreeRun(runs[-1].low, unit, depth)
        else:
            runs.append(FreeRun(unit, unit, depth))
    return tuple(runs)


def _depth_left(enclosure: Enclosure, behind: Mapping[int, list[Item]], unit: int) -> float | None:
    if enclosure.depth is None:
        return None
    depths = [item.depth.to("mm") if item.depth else None for item in behind.get(unit, ())]
    known = [depth for depth in depths if depth is not None]
    if len(known) < len(depths):
        return None
    return max(0.0, enclosure.depth.to("mm") - max(known, default=0.0))


def _consecutive_runs(units: Iterable[int]) -> tuple[tuple[int, int], ...]:
    runs: list[tuple[int, int]] = []
    for unit in units:
        if runs and runs[-1][1] == unit - 1:
            runs[-1] = (runs[-1][0], unit)
        else:
            runs.append((unit, unit))
    return tuple(runs)
