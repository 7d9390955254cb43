"""The smallest re-racking: against trying everything, and against an independent solver.

Trying everything is written down again here from the rules as they are stated, over all sets of
steps and all places. The solver's programme is in `solver`.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from random import Random

import pytest

from asbuilt.growth.rearrange import (
    MountedItem,
    PortNeed,
    RackAction,
    RackContents,
    RackCost,
    RackLayout,
    RackRules,
    RackStep,
    fit_as_mounted,
    fits_with_all_steps,
    rearrange,
)
from tests.solver import by_solver

RULES = RackRules(max_panel_distance=2, ups_clearance=1, panel_depth=110, switch_depth=330)
THOROUGH = {"places": 30_000, "all_places": 100_000}

# Trying everything


def everything(
    rack: RackContents, steps: Sequence[RackStep], need: PortNeed, rules: RackRules
) -> RackCost | None:
    best: RackCost | None = None
    for count in range(len(steps) + 1):
        for tried in itertools.combinations(steps, count):
            if len({step.key for step in tried}) < count:
                continue
            dark = {link for step in tried for link in step.interrupts}
            buys = sum(step.action in (RackAction.TO_ONE_UNIT, RackAction.SWAP) for step in tried)
            for panels, switches in _bought(need, tried):
                cost = RackCost(len(dark), count, buys + panels + switches)
                if best is not None and cost >= best:
                    continue
                if any(
                    valid(rack, tried, *layout, rules)
                    for layout in _all_layouts(rack, tried, panels, switches)
                ):
                    best = cost
    return best


def _bought(need: PortNeed, steps: Sequence[RackStep]) -> Iterator[tuple[int, int]]:
    """As many as the drops fill; where they fill any, one more of each may be bought."""
    panels, switches = _wanted(need, steps)
    for more_panels, more_switches in itertools.product((0, 1), (0, 1)):
        if panels or switches or not (more_panels or more_switches):
            yield panels + more_panels, switches + more_switches


def _wanted(need: PortNeed, steps: Sequence[RackStep]) -> tuple[int, int]:
    panel = need.panel_ports - sum(step.panel_ports for step in steps)
    switch = need.switch_ports - sum(step.switch_ports for step in steps)
    return max(0, -(-panel // 48)), max(0, -(-switch // need.per_switch))


Spot = tuple[int, int, str | None]


def _all_layouts(
    rack: RackContents, steps: Sequence[RackStep], panels: int, switches: int
) -> Iterator[tuple[dict[str, Spot], tuple[int, ...], tuple[int, ...]]]:
    things = {thing.key: thing for thing in rack.items}
    choices: list[list[tuple[str, Spot]]] = []
    for step in steps:
        thing = things[step.key]
        if step.action is RackAction.TAKE_OUT:
            continue
        if step.action is RackAction.TO_ONE_UNIT:
            choices.append(
                [(step.key, (u, u, thing.part)) for u in range(thing.low, thing.high + 1)]
            )
            continue
        high = thing.high - thing.low
        choices.append(
            [
                (step.key, (low, low + high, part))
                for low in range(1, rack.height - high + 1)
                for part in (("left", "right") if thing.part else (None,))
                if not (thing.heavy and low > thing.low)
            ]
        )
    units = range(1, rack.height + 1)
    for combination in itertools.product(*choices):
        for new_panels in itertools.combinations(units, panels):
            for new_switches in itertools.combinations(units, switches):
                yield dict(combination), new_panels, new_switches


def valid(
    rack: RackContents,
    steps: Sequence[RackStep],
    placed: dict[str, Spot],
    new_panels: Sequence[int],
    new_switches: Sequence[int],
    rules: RackRules,
) -> bool:
    """Whether everything stands where the rules allow it."""
    acts = {step.key: step.action for step in steps}
    gained = {step.key for step in steps if step.panel_ports or step.switch_ports}
    stands: list[tuple[MountedItem, Spot, bool]] = []  # and whether it isn't where it was
    for thing in rack.items:
        if acts.get(thing.key) is RackAction.TAKE_OUT:
            continue
        spot = placed.get(thing.key, (thing.low, thing.high, thing.part))
        within = thing.low <= spot[0] and spot[1] <= thing.high and spot[2] == thing.part
        stands.append((thing, spot, not within))
    for kind, units, depth in (
        ("panel", new_panels, rules.panel_depth),
        ("switch", new_switches, rules.switch_depth),
    ):
        for unit in units:
            new = MountedItem(f"new {kind} {unit}", unit, unit, "front", kind, depth=depth)
            stands.append((new, (unit, unit, None), True))
    for (one, spot, moved), (other, other_spot, other_moved) in itertools.combinations(stands, 2):
        if not (moved or other_moved):
            continue
        shared = spot[0] <= other_spot[1] and other_spot[0] <= spot[1]
        halves = spot[2] is None or other_spot[2] is None or spot[2] == other_spot[2]
        if shared and "kept" in (one.kind, other.kind):
            return False
        if shared and halves:
            if one.face == other.face:
                return False
            if rack.depth is None or one.depth is None or other.depth is None:
                return False
            if one.depth + other.depth > rack.depth:
                return False
        if {one.kind, other.kind} == {"ups", "switch"}:
            gap = max(spot[0] - other_spot[1], other_spot[0] - spot[1]) - 1
            if shared or gap < rules.ups_clearance:
                return False
    for thing, _, moved in stands:
        if moved and thing.depth and rack.depth and thing.depth > rack.depth:
            return False
    return _reached(rack, stands, gained, new_panels, new_switches, rules)


def _reached(
    rack: RackContents,
    stands: Sequence[tuple[MountedItem, Spot, bool]],
    gained: set[str],
    new_panels: Sequence[int],
    new_switches: Sequence[int],
    rules: RackRules,
) -> bool:
    def spots(kind: str) -> list[Spot]:
        return [s for t, s, _ in stands if t.kind == kind and (t.has_free_ports or t.key in gained)]

    def near(unit: int, found: Sequence[Spot]) -> bool:
        return any(
            low - rules.max_panel_distance <= unit <= high + rules.max_panel_distance
            for low, high, _ in found
        )

    new_switch_spots: list[Spot] = [(unit, unit, None) for unit in new_switches]
    new_panel_spots: list[Spot] = [(unit, unit, None) for unit in new_panels]
    serving = new_switch_spots or spots("switch")
    served = [*new_panel_spots, *spots("panel")]
    any_switch = not new_switches and "switch" in rack.kinds_without_unit
    return all(any_switch or near(unit, serving) for unit in new_panels) and all(
        "panel" in rack.kinds_without_unit or near(unit, served) for unit in new_switches
    )


def random_case(rng: Random, plain: bool = False) -> tuple[RackContents, list[RackStep], PortNeed]:
    """A small enclosure; `plain` has only full-width things on the front."""
    height = rng.randint(4, 6 if plain else 5)
    things: list[MountedItem] = []
    taken: set[tuple[str, int, int]] = set()
    steps: list[RackStep] = []
    kinds = ["panel", "panel2", "switch", "manager", "shelf", "ups"]
    kinds += [] if plain else ["router", "router", "strip", "kept"]
    links = [f"link {n}" for n in range(6)]
    for number in range(rng.randint(2, 5)):
        what = rng.choice(kinds)
        tall = 2 if what in ("panel2", "ups") else 1
        low = rng.randint(1, height - tall + 1)
        face = "rear" if what == "strip" else "front"
        part = rng.choice(("left", "right")) if what == "router" else None
        cells = {
            (face, unit, half)
            for unit in range(low, low + tall)
            for half in {None: (0, 1), "left": (0,), "right": (1,)}[part]
        }
        if cells & taken:
            continue
        taken |= cells
        kind = {"panel2": "panel", "manager": "other", "shelf": "other", "router": "other"}
        depth = rng.choice((60.0, 200.0, 400.0, None)) if not plain else 100.0
        key = f"{what}{number}"
        things.append(
            MountedItem(
                key, low, low + tall - 1, face, {"strip": "other"}.get(what, kind.get(what, what)),
                part, depth, has_free_ports=rng.random() < 0.6, heavy=what == "ups",
            )
        )  # fmt: skip
        dark = frozenset(rng.sample(links, rng.randint(0, 3)))
        if what == "panel2":
            steps.append(
                RackStep(RackAction.TO_ONE_UNIT, key, dark, panel_ports=rng.choice((0, 24)))
            )
        elif what == "manager":
            steps.append(RackStep(RackAction.TAKE_OUT, key, dark))
        elif what == "switch":
            steps.append(RackStep(RackAction.MOVE, key, dark))
            if rng.random() < 0.5:
                steps.append(RackStep(RackAction.SWAP, key, dark, switch_ports=24))
        elif what not in ("kept", "panel"):
            steps.append(RackStep(RackAction.MOVE, key, dark))
    rack = RackContents(
        height, rng.choice((450.0, 500.0, None)) if not plain else 600.0, tuple(things)
    )
    need = PortNeed(rng.choice((0, 20, 48, 60)), rng.choice((0, 20, 48)))
    return rack, steps, need


@pytest.mark.parametrize("seed", range(150))
def test_as_cheap_as_trying_everything(seed: int) -> None:
    rack, steps, need = random_case(Random(seed))
    expected = everything(rack, steps, need, RULES)
    answer = rearrange(rack, steps, need, RULES, **THOROUGH)
    assert answer.proved_cheapest
    assert answer.cost == expected
    if answer.layout is not None:
        assert stands_valid(rack, answer.steps, answer.layout, need)


def stands_valid(
    rack: RackContents, steps: Sequence[RackStep], layout: RackLayout, need: PortNeed
) -> bool:
    """The layout handed out keeps the rules and holds what is wanted."""
    assert (len(layout.panels), len(layout.switches)) in _bought(need, steps)
    placed: dict[str, Spot] = {p.key: (p.low, p.high, p.part) for p in layout.places}
    return valid(rack, steps, placed, layout.panels, layout.switches, RULES)


def test_the_random_cases_are_worth_trying() -> None:
    # some need nothing, some need steps, some can't be done at all
    answers = []
    for seed in range(150):
        rack, steps, need = random_case(Random(seed))
        answers.append(rearrange(rack, steps, need, RULES, **THOROUGH))
    touched = [answer for answer in answers if answer.layout and answer.steps]
    assert len(touched) >= 15
    assert sum(1 for answer in touched if len(answer.steps) > 1) >= 3
    assert sum(1 for answer in answers if answer.layout is None) >= 15
    assert sum(1 for answer in answers if answer.layout and not answer.steps) >= 15


# An independent solver


@pytest.mark.parametrize("seed", range(1000, 1060))
def test_as_cheap_as_the_solver_finds(seed: int) -> None:
    rack, steps, need = random_case(Random(seed), plain=True)
    answer = rearrange(rack, steps, need, RULES, **THOROUGH)
    assert answer.proved_cheapest
    assert answer.cost == by_solver(rack, steps, need, RULES)


# By hand


def _full(*things: MountedItem) -> RackContents:
    return RackContents(max(thing.high for thing in things), 450, things)


PANEL = MountedItem("A", 5, 6, "front", "panel", depth=60, has_free_ports=True)
SWITCH = MountedItem("SW1", 4, 4, "front", "switch", depth=260, has_free_ports=True)
MANAGER = MountedItem("M1", 3, 3, "front", "other", depth=60)
UPS = MountedItem("UPS1", 1, 2, "front", "ups", depth=400, heavy=True)


def test_a_free_unit_is_taken_as_it_stands() -> None:
    rack = RackContents(7, 450, (PANEL, SWITCH, MANAGER, UPS))
    answer = fit_as_mounted(rack, PortNeed(24, 0), RackRules())
    assert answer.layout == RackLayout((), panels=(7,), switches=())
    assert rearrange(rack, [], PortNeed(24, 0), RackRules()).layout == answer.layout


def test_the_cheaper_of_two_ways() -> None:
    rack = _full(PANEL, SWITCH, MANAGER, UPS)
    onto_one = RackStep(RackAction.TO_ONE_UNIT, "A", frozenset(f"link {n}" for n in range(40)))
    take_out = RackStep(RackAction.TAKE_OUT, "M1", frozenset({"link 1", "link 2"}))
    need = PortNeed(24, 0)
    assert fit_as_mounted(rack, need, RackRules()).layout is None
    assert rearrange(rack, [onto_one, take_out], need, RackRules()).steps == (take_out,)
    both = rearrange(rack, [onto_one, take_out], PortNeed(96, 0), RackRules())
    assert set(both.steps) == {onto_one, take_out}
    assert both.cost == RackCost(40, 2, 3)  # links both take down count once
    assert not fits_with_all_steps(rack, [onto_one, take_out], PortNeed(144, 0), RackRules())


def test_a_thing_in_the_way_of_short_cords_is_moved() -> None:
    # The free unit is nine units from the switch; a shelf stands next to it.
    switch = MountedItem("SW1", 12, 12, "front", "switch", depth=260, has_free_ports=True)
    full = [MountedItem(f"P{u}", u, u, "front", "panel", depth=60) for u in (11, 10, 9, 8, 7, 6)]
    shelf = MountedItem("SH1", 5, 5, "front", "other", depth=300)
    near_shelf = MountedItem("SH2", 13, 13, "front", "other", depth=300)
    low = [MountedItem(f"K{u}", u, u, "front", "kept") for u in (4, 2, 1)]
    rack = RackContents(13, 450, (switch, *full, shelf, near_shelf, *low))
    assert fit_as_mounted(rack, PortNeed(24, 0), RackRules()).layout is None
    steps = [RackStep(RackAction.MOVE, "SH1"), RackStep(RackAction.MOVE, "SH2")]
    answer = rearrange(rack, steps, PortNeed(24, 0), RackRules())
    assert [step.key for step in answer.steps] == ["SH2"]
    assert answer.layout is not None
    assert [(place.key, place.low) for place in answer.layout.places] == [("SH2", 3)]
    assert answer.layout.panels == (13,)


def test_heavy_things_don_t_go_up_and_kept_units_stay_kept() -> None:
    kept = MountedItem("RES1", 3, 4, "front", "kept")
    rack = RackContents(5, 450, (MountedItem("UPS1", 1, 2, "front", "ups", heavy=True), kept))
    steps = [RackStep(RackAction.MOVE, "UPS1")]
    need = PortNeed(48, 48)
    assert rearrange(rack, steps, need, RackRules()).layout is None


def test_a_new_switch_keeps_its_distance_from_a_ups() -> None:
    rack = RackContents(4, 450, (MountedItem("UPS1", 1, 2, "front", "ups", heavy=True),))
    answer = fit_as_mounted(rack, PortNeed(48, 48), RackRules())
    assert answer.layout == RackLayout((), panels=(3,), switches=(4,))
    assert fit_as_mounted(rack, PortNeed(48, 48), RackRules(ups_clearance=2)).layout is None


def test_a_switch_too_deep_for_what_is_behind() -> None:
    strip = MountedItem("P1", 2, 2, "rear", "other", depth=150)
    rack = RackContents(2, 450, (strip,))
    answer = fit_as_mounted(rack, PortNeed(48, 48), RackRules())
    assert answer.layout == RackLayout((), panels=(2,), switches=(1,))
    unknown = RackContents(2, 450, (MountedItem("P1", 2, 2, "rear", "other"),))
    assert fit_as_mounted(unknown, PortNeed(48, 48), RackRules()).layout is None
    assert fit_as_mounted(RackContents(2, 300, ()), PortNeed(48, 48), RackRules()).layout is None


def test_many_new_things_stand_side_by_side() -> None:
    answer = fit_as_mounted(RackContents(42, 800, ()), PortNeed(20 * 48, 20 * 48), RackRules())
    assert answer.layout is not None
    assert all(
        min(abs(panel - switch) for switch in answer.layout.switches) == 1
        for panel in answer.layout.panels
    )
    assert (
        fit_as_mounted(RackContents(42, 800, ()), PortNeed(22 * 48, 22 * 48), RackRules()).layout
        is None
    )


def test_a_crowded_cabinet_ends_in_time_and_says_so() -> None:
    things = [
        MountedItem(f"X{u}", u, u, "front", "other", depth=300)
        for u in range(1, 42)
        if u not in (20, 3)
    ]
    things.append(MountedItem("SW1", 42, 42, "front", "switch", depth=300, has_free_ports=True))
    things += [MountedItem("K1", 20, 20, "front", "kept")]
    steps = [
        RackStep(RackAction.MOVE, thing.key, frozenset({thing.key}))
        for thing in things
        if thing.key != "K1"
    ]
    answer = rearrange(
        RackContents(42, 800, tuple(things)), steps, PortNeed(48 * 1, 0), RackRules()
    )
    assert answer.layout is not None
    assert answer.cost is not None and answer.cost.links == 1


def test_need_counts_whole_things() -> None:
    assert PortNeed(1, 1).items_to_buy(()) == (1, 1)
    assert PortNeed(49, 17, per_switch=16).items_to_buy(()) == (2, 2)
    assert PortNeed(0, 0).items_to_buy(()) == (0, 0)
    assert PortNeed(24, 24).items_to_buy((RackStep(RackAction.SWAP, "x", switch_ports=24),)) == (
        1,
        0,
    )
