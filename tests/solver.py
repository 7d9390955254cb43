"""The smallest re-racking as a mixed-integer programme, solved by scipy (HiGHS).

It knows enclosures with full-width things on the front. Every thing that may be touched has a
variable for each place it may take; what follows from the rules are rows.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy import optimize  # type: ignore[import-untyped]

from asbuilt.growth.rearrange import (
    PortNeed,
    RackAction,
    RackContents,
    RackCost,
    RackRules,
    RackStep,
)

# A link is worth more than all steps, a step more than all that can be bought.
_LINK, _STEP = 10_000, 100


@dataclass
class Programme:
    """Variables with an upper bound each, rows of them with a lower and an upper bound."""

    upper: list[float] = field(default_factory=list)
    rows: list[tuple[Mapping[int, float], float, float]] = field(default_factory=list)

    def variable(self, most: float = 1) -> int:
        self.upper.append(most)
        return len(self.upper) - 1

    def row(self, terms: Mapping[int, float], low: float, high: float) -> None:
        self.rows.append((terms, low, high))

    def at_most_one(self, variables: Iterable[int]) -> None:
        self.row(dict.fromkeys(variables, 1.0), 0, 1)

    def implies(self, one: int, others: Iterable[int]) -> None:
        """`one` only where any of the others."""
        self.row({one: 1.0, **dict.fromkeys(others, -1.0)}, -np.inf, 0)

    def least(self, worth: Mapping[int, float]) -> float | None:
        matrix = np.zeros((len(self.rows), len(self.upper)))
        for number, (terms, _, _) in enumerate(self.rows):
            for index, factor in terms.items():
                matrix[number, index] = factor
        costs = np.zeros(len(self.upper))
        for index, value in worth.items():
            costs[index] = value
        result = optimize.milp(
            costs,
            constraints=optimize.LinearConstraint(
                matrix, [low for _, low, _ in self.rows], [high for _, _, high in self.rows]
            ),
            bounds=optimize.Bounds(0, self.upper),
            integrality=np.ones(len(self.upper)),
        )
        return None if result.x is None else float(result.fun)


@dataclass
class _Stand:
    """A place a thing may take: its variable, its units, whether it took them before."""

    kind: str
    at: int
    low: int
    high: int
    as_before: bool
    open_if: list[int] | None  # None: its ports are open anyway; []: never; else after a step


def by_solver(
    rack: RackContents, steps: Sequence[RackStep], need: PortNeed, rules: RackRules
) -> RackCost | None:
    p = Programme()
    units = range(1, rack.height + 1)
    touched = {step: p.variable() for step in steps}
    stands = _stands(p, rack, steps, touched)
    panel = {unit: p.variable() for unit in units}
    switch = {unit: p.variable() for unit in units}
    for unit in units:
        there = [stand.at for stand in stands if stand.low <= unit <= stand.high]
        p.at_most_one([*there, panel[unit], switch[unit]])
    _enough(p, panel, 48, need.panel_ports, {touched[s]: s.panel_ports for s in steps})
    _enough(
        p, switch, need.per_switch, need.switch_ports, {touched[s]: s.switch_ports for s in steps}
    )
    _reach(p, stands, panel, switch, rules)
    _air(p, stands, switch, rules)
    dark = {link: p.variable() for step in steps for link in sorted(step.interrupts)}
    for step in steps:
        for link in sorted(step.interrupts):
            p.implies(touched[step], [dark[link]])
    worth: dict[int, float] = dict.fromkeys(dark.values(), _LINK)
    for step, index in touched.items():
        worth[index] = _STEP + (step.action in (RackAction.TO_ONE_UNIT, RackAction.SWAP))
    worth |= dict.fromkeys((*panel.values(), *switch.values()), 1)
    found = p.least(worth)
    if found is None:
        return None
    value = round(found)
    return RackCost(value // _LINK, value % _LINK // _STEP, value % _STEP)


def _stands(
    p: Programme, rack: RackContents, steps: Sequence[RackStep], touched: Mapping[RackStep, int]
) -> list[_Stand]:
    """Each thing takes one of its places, and another than before only when it is touched."""
    found: list[_Stand] = []
    for thing in rack.items:
        own = [step for step in steps if step.key == thing.key]
        gains = [touched[step] for step in own if step.panel_ports or step.switch_ports]
        p.at_most_one([touched[step] for step in own])
        spots = [(p.variable(), thing.low, thing.high)]
        somewhere = {spots[0][0]: 1.0}
        for step in own:
            if step.action in (RackAction.TAKE_OUT, RackAction.TO_ONE_UNIT):
                p.at_most_one([spots[0][0], touched[step]])
            if step.action is RackAction.TAKE_OUT:
                somewhere[touched[step]] = 1.0
                continue
            small = step.action is RackAction.TO_ONE_UNIT
            tall = 1 if small else thing.height
            lows = range(thing.low, thing.high + 1) if small else range(1, rack.height - tall + 2)
            for low in lows:
                if not (thing.heavy and low > thing.low):
                    spot = p.variable()
                    p.implies(spot, [touched[step]])
                    somewhere[spot] = 1.0
                    spots.append((spot, low, low + tall - 1))
        p.row(somewhere, 1, 1)
        for spot, low, high in spots:
            as_before = thing.low <= low and high <= thing.high
            opens = None if thing.has_free_ports else gains
            found.append(_Stand(thing.kind, spot, low, high, as_before, opens))
    return found


def _enough(
    p: Programme, new: Mapping[int, int], each: int, wanted: int, gained: Mapping[int, int]
) -> None:
    """As many new ones as are wanting, and one more at most."""
    slack = max(sum(gained.values()) - wanted, 0) + 2 * each
    over = p.variable(slack)  # ports beyond what is wanted
    one_new = p.variable()  # one new at most, though there be ports enough
    terms: dict[int, float] = dict.fromkeys(new.values(), each)
    terms |= {index: float(ports) for index, ports in gained.items() if ports}
    p.row({**terms, over: -1}, wanted, wanted)
    p.row({over: 1, one_new: -slack}, -np.inf, 2 * each - 1)
    p.row({**dict.fromkeys(new.values(), 1.0), one_new: len(new)}, -np.inf, len(new) + 1)


def _reach(
    p: Programme,
    stands: Sequence[_Stand],
    panel: Mapping[int, int],
    switch: Mapping[int, int],
    rules: RackRules,
) -> None:
    """A new panel is near a new switch, or where none is new near an open one; a new switch near
    a new panel or an open one."""
    any_new = p.variable()
    p.implies(any_new, switch.values())
    p.row({**dict.fromkeys(switch.values(), 1.0), any_new: -len(switch)}, -np.inf, 0)
    for unit in panel:
        near = [other for other in panel if 0 < abs(other - unit) <= rules.max_panel_distance]
        open_near: dict[str, list[int]] = {"panel": [], "switch": []}
        for stand in stands:
            within = (
                stand.low - rules.max_panel_distance
                <= unit
                <= stand.high + rules.max_panel_distance
            )
            if stand.kind in open_near and within and stand.open_if != []:
                helps = p.variable()
                p.implies(helps, [stand.at])
                if stand.open_if:
                    p.implies(helps, stand.open_if)
                if stand.kind == "switch":
                    p.at_most_one([helps, any_new])
                open_near[stand.kind].append(helps)
        p.implies(panel[unit], [*(switch[other] for other in near), *open_near["switch"]])
        p.implies(switch[unit], [*(panel[other] for other in near), *open_near["panel"]])


def _air(
    p: Programme, stands: Sequence[_Stand], switch: Mapping[int, int], rules: RackRules
) -> None:
    """A UPS and a switch keep their distance where one of them is put."""

    def close(low: int, high: int, other_low: int, other_high: int) -> bool:
        return max(low - other_high, other_low - high) - 1 < rules.ups_clearance

    for stand in stands:
        if stand.kind == "ups":
            for unit, new in switch.items():
                if close(stand.low, stand.high, unit, unit):
                    p.at_most_one([stand.at, new])
    for one, other in itertools.combinations(stands, 2):
        at_odds = {one.kind, other.kind} == {"ups", "switch"}
        put = not (one.as_before and other.as_before)
        if at_odds and put and close(one.low, one.high, other.low, other.high):
            p.at_most_one([one.at, other.at])
