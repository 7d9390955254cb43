"""The cutover sheet. The order of its steps is held against all orders tried one by one, and
against the shortest way through the sets of done steps as networkx finds it; who is dark against
what the two nets say. What the plan doesn't touch is not on the sheet."""

from __future__ import annotations

import base64
import csv
import hashlib
import io
import itertools
import json
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from random import Random
from typing import Any

import html5lib
import networkx as nx
import pytest
from click.testing import CliRunner, Result

from asbuilt.changes.compare import compare
from asbuilt.changes.state import state_of
from asbuilt.cli import main
from asbuilt.cutover import sheet_output
from asbuilt.cutover.materials import cord_stock_length
from asbuilt.cutover.minutes import DEFAULT_MINUTES, override_minutes
from asbuilt.cutover.sequence import (
    Downtime,
    OutageGroup,
    SequenceInput,
    best_step_sequence,
    downtime_of,
)
from asbuilt.cutover.sheet import CutoverSheet, cutover_sheet
from asbuilt.io.sources import theme_folder
from asbuilt.model.paths import Edge, Node, cabling_graph, outlets_without_service, paths_of
from asbuilt.model.site import Site, site_of
from asbuilt.pages.cutover import cutover_page
from asbuilt.problem import WorldError
from asbuilt.records.reading import Records, read_folder
from tests.books import PRACTICE as BEGIN
from tests.chromium import browser, needs_browser
from tests.gitrepo import GitRepo
from tests.random_sites import random_records

SMALL = range(150)
SITES = range(30)


# The order of steps


def small_work(seed: int) -> SequenceInput:
    """A few steps as they occur: things taken out and put back, cords re-patched, between them."""
    rng = Random(seed)
    count = rng.randint(2, 6)
    minutes = tuple(float(rng.choice((1, 1, 2, 3, 5))) for _ in range(count))
    waits = tuple(frozenset(w for w in range(s) if rng.random() < 0.2) for s in range(count))
    spans = [Downtime((rng.randrange(count),), (rng.randrange(count),)) for _ in range(3)]
    lots = []
    for _ in range(rng.randint(1, 6)):
        steps = (rng.randrange(count),) if rng.random() < 0.6 else ()
        some = [tuple(span for span in spans if rng.random() < 0.4) for _ in range(2)]
        lots.append(OutageGroup(steps, steps, some[0], some[1], rng.randint(1, 3)))
    return SequenceInput(minutes, waits, tuple(lots))


def dark_by_the_clock(work: SequenceInput, order: tuple[int, ...]) -> float:
    """Outlet minutes, from when each step starts and ends."""
    starts: dict[int, float] = {}
    ends: dict[int, float] = {}
    now = 0.0
    for step in order:
        starts[step], now = now, now + work.minutes[step]
        ends[step] = now

    def up(span: Downtime, at: float) -> bool:
        uncut = not span.down_at_start and all(starts[cut] > at for cut in span.down_from)
        return uncut or (bool(span.up_after) and all(ends[mend] <= at for mend in span.up_after))

    dark = 0.0
    for step in order:
        at = starts[step]
        for lot in work.outage_groups:
            old = all(starts[s] > at for s in lot.leaving_steps) and all(
                up(s, at) for s in lot.before
            )
            new = all(ends[s] <= at for s in lot.arriving_steps) and all(
                up(s, at) for s in lot.after
            )
            dark += 0 if old or new else lot.outlet_count * work.minutes[step]
    return dark


def allowed(work: SequenceInput) -> Iterator[tuple[int, ...]]:
    for order in itertools.permutations(range(len(work.minutes))):
        if all(order.index(w) < order.index(s) for s in order for w in work.waits_for[s]):
            yield order


@pytest.mark.parametrize("seed", SMALL)
def test_no_order_of_all_has_less_dark_time(seed: int) -> None:
    work = small_work(seed)
    found = best_step_sequence(work)
    assert found.proved_least
    assert found.steps in set(allowed(work))
    assert found.downtime == pytest.approx(dark_by_the_clock(work, found.steps))
    assert found.downtime == pytest.approx(downtime_of(work, found.steps))
    assert found.downtime == pytest.approx(min(dark_by_the_clock(work, o) for o in allowed(work)))


@pytest.mark.parametrize("seed", SMALL[:40])
def test_no_way_through_the_sets_of_done_steps_is_shorter(seed: int) -> None:
    """The same question put to networkx: sets of done steps as nodes, dark time as distance."""
    work = small_work(1000 + seed)
    every = frozenset(range(len(work.minutes)))
    ways: Any = nx.DiGraph()
    for size in range(len(every)):
        for done in map(frozenset, itertools.combinations(sorted(every), size)):
            if not all(work.waits_for[step] <= done for step in done):
                continue
            for step in sorted(every - done):
                if work.waits_for[step] <= done:
                    weight = work.minutes[step] * dark_during(work, done, step)
                    ways.add_edge(done, done | {step}, weight=weight)
    length = nx.dijkstra_path_length(ways, frozenset(), every)
    assert best_step_sequence(work).downtime == pytest.approx(length)


def dark_during(work: SequenceInput, done: frozenset[int], step: int) -> int:
    """The outlets dark while a step is done after these."""
    begun = done | {step}

    def up(span: Downtime) -> bool:
        uncut = not span.down_at_start and begun.isdisjoint(span.down_from)
        return uncut or (bool(span.up_after) and done.issuperset(span.up_after))

    return sum(
        lot.outlet_count
        for lot in work.outage_groups
        if not (begun.isdisjoint(lot.leaving_steps) and all(map(up, lot.before)))
        and not (done.issuperset(lot.arriving_steps) and all(map(up, lot.after)))
    )


def test_a_switch_of_48_is_proved_though_nobody_could_try_all_orders() -> None:
    """Out 8 min, in 16 min, then a cord a minute: all wait 24, the nth another n."""
    out, up, plugs = 0, 1, range(2, 50)
    waits = (frozenset[int](), frozenset({out}), *(frozenset({up}) for _ in plugs))
    lots = tuple(
        OutageGroup((), (), (Downtime((out,), (up,)), Downtime((out,), (plug,))),
            (Downtime((out,), (up,)), Downtime((out,), (plug,))))
        for plug in plugs
    )  # fmt: skip
    found = best_step_sequence(SequenceInput((8.0, 16.0, *(1.0 for _ in plugs)), waits, lots))
    assert found.proved_least
    assert found.downtime == 48 * 24 + 48 * 49 / 2


def test_the_cord_that_many_depend_on_comes_first() -> None:
    """Smith's rule: of two cords, the one that brings back more a minute."""
    lots = (
        OutageGroup((), (), (Downtime((0,), (1,)),), (Downtime((0,), (1,)),), 3),
        OutageGroup((), (), (Downtime((0,), (2,)),), (Downtime((0,), (2,)),), 10),
    )
    found = best_step_sequence(
        SequenceInput((1.0, 1.0, 2.0), (frozenset(), frozenset({0}), frozenset({0})), lots)
    )
    assert found.steps == (0, 2, 1)
    assert found.proved_least


def test_a_search_cut_short_does_not_claim_a_proof() -> None:
    worse = 0
    for seed in SMALL:
        work = small_work(seed)
        short, whole = best_step_sequence(work, most_sets=0), best_step_sequence(work)
        assert short.downtime >= whole.downtime - 1e-9
        if short.downtime > whole.downtime + 1e-9:
            worse += 1
            assert not short.proved_least
    assert worse, "no case shows what the search is for"


def test_steps_that_wait_for_each_other_are_refused() -> None:
    with pytest.raises(ValueError, match="circle"):
        best_step_sequence(SequenceInput((1.0, 1.0), (frozenset({1}), frozenset({0})), ()))


# Sheets


def records(texts: Mapping[str, str]) -> Records:
    return read_folder("harbour", {path: text.encode() for path, text in texts.items()})


def site(found: Records) -> Site:
    one = site_of(found)
    assert one is not None
    return one


def sheet_between(
    old: Records, new: Records, minutes: Mapping[str, float] = DEFAULT_MINUTES
) -> CutoverSheet:
    states = state_of(old.raw), state_of(new.raw)
    return cutover_sheet(site(old), site(new), states, compare(*states), "main", "plan", minutes)


def planned(*changed: tuple[str, str, str], **own: float) -> CutoverSheet:
    """The sheet for the practice with some texts replaced: (file, text, new text)."""
    texts = dict(BEGIN)
    for path, text, new in changed:
        assert text in texts[path], text
        texts[path] = texts[path].replace(text, new)
    found = records(texts)
    assert not found.problems, found.problems
    return sheet_between(records(BEGIN), found, {**DEFAULT_MINUTES, **own})


CABINET = "enclosures/1A.yml"
PANEL_B = (
    (CABINET, "  8: {router", "  10: {panel: B, ports: 24, category: 6}\n  8: {router"),
    (CABINET, "  SW1/25:", "  B/01: {to: SW1/05, cord: 0.3 m}\n  SW1/25:"),
    ("outlets.yml", "1A-A04:", '1A-B01: {room: "101", plate: desk, port: 1A/B/01, cable: cat6, '
     "length: 31.5 m, serves: till}\n1A-A04:"),
)  # fmt: skip
SWAP = (CABINET, "{switch: SW1, ports: 24", "{switch: SW1, ports: 48")
UPLINK = (CABINET, "SW1/25: {to: R1/1", "SW1/49: {to: R1/1")
CROSSED = (
    (CABINET, "A/01: {to: SW1/01", "A/01: {to: SW1/x"),
    (CABINET, "A/02: {to: SW1/02", "A/02: {to: SW1/01"),
    (CABINET, "A/01: {to: SW1/x", "A/01: {to: SW1/02"),
)


def words(sheet: CutoverSheet) -> list[str]:
    return [step.operation.text for step in sheet.window.steps]


def test_a_new_panel_and_its_drop_touch_no_live_link() -> None:
    sheet = planned(*PANEL_B)
    assert sheet.window.steps == ()
    assert [o.kind for o in sheet.before_window] == ["item", "pull", "terminate", "cord"]
    assert [(link.outlet, link.phase) for link in sheet.links] == [("1A-B01", 1)]
    assert [(test.key, test.result) for test in sheet.links_to_test] == [
        ("1A-B01", "no result on record")
    ]
    assert sheet.notices == ()
    assert sheet.enclosures_to_photograph == ("1A",)


def test_what_is_plugged_into_a_swapped_switch_waits_for_it() -> None:
    """The drop is built beforehand; its cord is plugged when everybody is back."""
    sheet = planned(*PANEL_B, SWAP, UPLINK)
    assert {o.kind for o in sheet.before_window} == {"item", "pull", "terminate"}
    assert words(sheet)[-1] == "Plug a cord into 1A/B/01 → 1A/SW1/05"
    assert sheet.window.steps[-1].without_service == ()
    assert {link.outlet: link.phase for link in sheet.links}["1A-B01"] == 2


def test_a_swapped_switch_darkens_all_its_ports_at_once() -> None:
    sheet = planned(SWAP, UPLINK)
    out, up, uplink, *plugs = sheet.window.steps
    assert out.operation.text == "Unplug 4 cords, take 24-port switch SW1 out of 1A U11"
    assert out.loses_service == ("1A-A01", "1A-A02", "1A-A03")
    assert up.operation.minutes == DEFAULT_MINUTES["mount"] + DEFAULT_MINUTES["start"]
    assert uplink.operation.old == "1A/SW1/25 – 1A/R1/01"
    assert uplink.operation.new == "1A/SW1/49 – 1A/R1/01"
    assert [step.regains_service for step in plugs] == [("1A-A01",), ("1A-A02",), ("1A-A03",)]
    # 10 min out, 16 in, 1 for the uplink, then one a minute: 3 × 27 + 1 + 2 + 3
    assert sheet.window.total_downtime == 3 * 27 + 6
    assert sheet.window.proved_least
    assert {step.block for step in sheet.window.steps} == {1}


def test_who_is_told_of_an_outage() -> None:
    sheet = planned(SWAP, UPLINK)
    assert [(n.room, n.persons, n.outlets) for n in sheet.notices] == [
        ("101", ("Nils Ferro",), ("1A-A01", "1A-A02")),
        ("104", (), ("1A-A03",)),
    ]
    assert [contact.name for contact in sheet.contacts] == ["Iris Quill"]
    assert (
        sheet.phone_outlets == ()
    )  # it is dark for a while, but neither moves nor changes its port


def test_two_cords_that_change_ports_are_unplugged_before_one_is_plugged() -> None:
    sheet = planned(*CROSSED)
    assert len(sheet.window.steps) == 4
    free = {"1A/SW1/01": False, "1A/SW1/02": False}
    for step in sheet.window.steps:
        o = step.operation
        if o.new:
            port = o.new.rpartition(" – ")[2]
            assert free[port], f"{port} is taken when {o.text}"
            free[port] = False
        else:
            free[o.old.rpartition(" – ")[2]] = True
    # Unplug, unplug, plug, plug: the first is dark for 0.5 + 0.5 + 1, the other 0.5 + 1 + 1.
    assert sheet.window.total_downtime == 4.5
    assert sheet.window.proved_least
    assert sheet.phone_outlets == ("1A-A02",)


def test_a_re_patch_darkens_one_for_as_long_as_it_takes() -> None:
    sheet = planned((CABINET, "A/01: {to: SW1/01", "A/01: {to: SW1/07"), plug=2.0)
    (step,) = sheet.window.steps
    assert (step.without_service, step.regains_service) == (("1A-A01",), ("1A-A01",))
    assert sheet.window.downtime_minutes == {"1A-A01": 2.5}
    assert "the desk works" in step.operation.check
    assert step.operation.way_back == "plug 1A/A/01 – 1A/SW1/01 again"


def test_a_re_racked_panel_darkens_what_is_patched_on_it_and_no_more() -> None:
    sheet = planned((CABINET, "  12: {panel: A", "  10: {panel: A"))
    assert {key for step in sheet.window.steps for key in step.without_service} == {
        "1A-A01", "1A-A02", "1A-A03",
    }  # fmt: skip
    assert "1A-A04" not in {link.outlet for link in sheet.links}  # ends there, patched to nothing


def test_a_ups_takes_down_all_it_feeds() -> None:
    fed = BEGIN[CABINET].replace("poe: 370 W}", "poe: 370 W, fed by: UPS1}")
    fed = fed.replace("named ports: [WAN]}", "named ports: [WAN], fed by: UPS1}")
    moved = fed.replace("  1-2: {ups", "  3-4: {ups")
    sheet = sheet_between(records({**BEGIN, CABINET: fed}), records({**BEGIN, CABINET: moved}))
    out, up = sheet.window.steps
    assert out.operation.text.startswith("Shut down what UPS1 feeds (SW1, R1)")
    assert out.without_service == up.without_service == ("1A-A01", "1A-A02", "1A-A03")
    assert any("batteries" in caution.casefold() for caution in sheet.cautions)
    assert any("licensed people" in caution for caution in sheet.cautions)


def test_a_thing_waits_for_the_unit_another_one_leaves() -> None:
    sheet = planned(
        (CABINET, "  11: {switch: SW1", "  9: {switch: SW1"),
        (CABINET, "  12: {panel: A", "  11: {panel: B, ports: 24}\n  12: {panel: A"),
    )
    order = words(sheet)
    assert order.index("Mount 24-port panel B in 1A U11") > next(
        place for place, text in enumerate(order) if "SW1 out of 1A U11" in text
    )
    assert sheet.before_window == ()


def test_a_drop_pulled_back_to_another_room_has_no_quick_way_back() -> None:
    sheet = planned(("outlets.yml", '1A-A02: {room: "101"', '1A-A02: {room: "104"'))
    (step,) = sheet.window.steps
    assert step.operation.is_irreversible
    assert sheet.window.point_of_no_return == 1
    assert sheet.phone_outlets == ("1A-A02",)  # a phone moves
    assert [test.key for test in sheet.links_to_test] == ["1A-A02"]
    assert any("asbestos register" in caution for caution in sheet.cautions)


def test_what_is_only_written_down_is_only_on_paper() -> None:
    sheet = planned(
        ("outlets.yml", "person: Nils Ferro", "person: Ada Brook"),
        ("site.yml", "name: gym", "name: weights"),
    )
    assert sheet.before_window == () and sheet.window.steps == () and sheet.links == ()
    assert len(sheet.record_only_changes) == 2
    assert sheet.materials == ()


def test_what_goes_for_good_is_told_apart() -> None:
    texts = dict(BEGIN)
    texts["outlets.yml"] = texts["outlets.yml"].replace("1A-A02:", "#")
    texts[CABINET] = texts[CABINET].replace("  A/02:", "  #")
    sheet = sheet_between(records(BEGIN), records(texts))
    assert sheet.removed_outlets == ("1A-A02",)
    assert "1A-A02" not in {link.outlet for link in sheet.links}
    assert sheet.window.downtime_minutes == {}


@pytest.mark.parametrize("seed", SITES)
def test_what_the_plan_does_not_touch_is_not_on_the_sheet(seed: int) -> None:
    """Of two random sites: each outlet named has a change of its own, another way through the
    plant, or hangs on what is changed; and each is in one phase."""
    old, new = random_records(seed), random_records(seed + 1)
    sheet = sheet_between(old, new)
    before, after = site(old), site(new)
    nets = cabling_graph(before), cabling_graph(after)
    changes = compare(state_of(old.raw), state_of(new.raw))
    touched: set[str] = set()
    things: set[str] = set()
    for change in changes:
        for side in (change.before, change.after):
            if side and change.kind == "outlet":
                touched.add(side.key)
            elif side:
                things.add(side.key)
    changed = things | {f"{key}/" for key in things}
    for net, one in zip(nets, (before, after), strict=True):
        for key, outlet in one.outlets.items():
            for path in paths_of(net, outlet):
                keys = {part.key for hop in path.hops for part in (hop.edge, hop.node)}
                items = {part.rpartition("/")[0] for part in keys}
                if not changed.isdisjoint(keys | items):
                    touched.add(key)
            # Other ways than the nearest count as well: what it would miss if the thing went.
        parts = [part for part in net.beyond if part.key in things]
        nodes = [part for part in parts if isinstance(part, Node)]
        edges = [part for part in parts if isinstance(part, Edge)]
        touched |= {
            *outlets_without_service(net, nodes),
            *outlets_without_service(net, edges=edges),
        }
    dark = {key for step in sheet.window.steps for key in step.without_service}
    named = {link.outlet for link in sheet.links} | set(sheet.removed_outlets)
    assert named <= touched | dark
    assert len(sheet.links) == len({link.outlet for link in sheet.links})
    early = {k for o in sheet.before_window for k in o.outlets}
    late = dark | {k for step in sheet.window.steps for k in step.operation.outlets}
    assert {link.outlet for link in sheet.links if link.phase == 2} == late & {
        link.outlet for link in sheet.links
    }
    assert {link.outlet for link in sheet.links if link.phase == 1} <= early - late


DEMONSTRATION = Path(__file__).parents[2] / "sites" / "ostrel-vane"


def of_demonstration(text: str, new: str) -> CutoverSheet:
    """The sheet of a plan that changes one text in cabinet 1A of the demonstration."""
    files = {
        path.relative_to(DEMONSTRATION).as_posix(): path.read_text("utf-8")
        for path in sorted(DEMONSTRATION.rglob("*"))
        if path.suffix in (".yml", ".csv")
    }
    assert files[CABINET].count(text) == 1
    plan = {**files, CABINET: files[CABINET].replace(text, new)}
    return sheet_between(records(files), records(plan))


def named_on(sheet: CutoverSheet) -> set[str]:
    return {link.outlet for link in sheet.links} | set(sheet.removed_outlets)


def test_one_that_is_re_patched_is_all_the_sheet_names() -> None:
    sheet = of_demonstration("A/14:    {to: SW1/14", "A/14:    {to: SW1/36")
    assert len(sheet.plan.before.outlets) > 90
    assert named_on(sheet) == {"1A-A14"}
    text = "\n".join(sheet_output.lines(sheet))
    others = sheet.plan.before.outlets.keys() - {"1A-A14"}
    assert not [key for key in others if key in text]


def test_a_swapped_switch_names_what_is_patched_to_it_by_the_records_text() -> None:
    sheet = of_demonstration("{switch: SW2, ports: 24", "{switch: SW2, ports: 25")
    lines = (DEMONSTRATION / CABINET).read_text("utf-8").splitlines()
    patched = {
        f"1A-{match[1]}{match[2]}"
        for line in lines
        if (match := re.match(r" +([A-D])/(\d\d): +\{to: SW2/", line))
    }
    assert len(patched) == 19
    assert named_on(sheet) == patched
    assert all(link.phase == 2 for link in sheet.links)


@pytest.mark.parametrize("seed", SITES)
def test_everybody_is_back_when_the_window_closes(seed: int) -> None:
    sheet = sheet_between(random_records(seed), random_records(seed + 5))
    lit: set[str] = set()
    dark: set[str] = set()
    total = 0.0
    for step in sheet.window.steps:
        assert set(step.loses_service) <= set(step.without_service) and set(
            step.regains_service
        ) <= set(step.without_service)
        dark |= set(step.loses_service)
        assert dark == set(step.without_service), (
            f"step {step.number} doesn't follow from those before"
        )
        total += step.operation.minutes * len(step.without_service)
        dark -= set(step.regains_service)
        lit |= set(step.regains_service)
    assert dark == set()
    assert total == pytest.approx(sheet.window.total_downtime)
    assert lit == set(sheet.window.downtime_minutes)


@pytest.mark.parametrize("seed", SITES)
def test_nothing_is_done_before_what_it_waits_for(seed: int) -> None:
    sheet = sheet_between(random_records(seed), random_records(seed + 9))
    order = [*sheet.before_window, *(step.operation for step in sheet.window.steps)]
    place = {operation: number for number, operation in enumerate(order)}
    for operation in order:
        assert all(place[other] < place[operation] for other in operation.waits_for)
    assert not any(operation.is_live for operation in sheet.before_window)


def test_the_same_records_change_nothing_with_hands() -> None:
    for seed in SITES[:10]:
        sheet = sheet_between(random_records(seed), random_records(seed))
        assert sheet.before_window == () and sheet.window.steps == () and sheet.links == ()


def test_the_way_back_is_a_plan_too() -> None:
    """What a plan takes down, its opposite takes down as well."""
    there, back = planned(SWAP, UPLINK), None
    texts = dict(BEGIN)
    for path, text, new in (SWAP, UPLINK):
        texts[path] = texts[path].replace(text, new)
    back = sheet_between(records(texts), records(BEGIN))
    assert back.window.downtime_minutes.keys() == there.window.downtime_minutes.keys()
    assert back.window.total_downtime == there.window.total_downtime


# Materials


def counted(sheet: CutoverSheet) -> dict[str, float]:
    return {material.name: material.count for material in sheet.materials}


def test_materials_of_a_panel_and_a_drop() -> None:
    """31.5 m as recorded, 0.5 m cut back at each end; from U10 to U11 a cord takes
    44 mm + 2 × 60 + 100 = 0.27 m, so 0.3 m (common practice, see the trade's cords)."""
    found = counted(planned(*PANEL_B))
    assert found == {
        "24-port panel, Cat 6": 1,
        "faceplate": 1,
        "jack": 1,
        "Cat 6 cable": 33,  # 32.5 rounded up
        "cord of 0.3 m": 1,
        "cord at the outlet": 1,
        "label": 4 + 2 + 1,
    }


def test_a_length_nobody_recorded_is_that_of_its_neighbours() -> None:
    """23.4 m, the mean of the two others from 1A to 101, and a metre cut back."""
    sheet = planned(*PANEL_B[:2], (*PANEL_B[2][:2], PANEL_B[2][2].replace("length: 31.5 m, ", "")))
    (cable,) = [m for m in sheet.materials if m.unit]
    assert (cable.count, cable.unit) == (25, "m")
    assert "as long as others to the same room" in cable.basis


def test_a_length_nobody_can_tell_is_not_counted_and_said_so() -> None:
    lone = PANEL_B[2][2].replace("length: 31.5 m, ", "").replace('room: "101"', 'room: "104"')
    (cable,) = [
        m for m in planned(*PANEL_B[:2], (*PANEL_B[2][:2], lone)).materials if m.unit
    ]  # fmt: skip
    assert cable.count == 0
    assert "NOT counted" in cable.basis


def test_cords_are_counted_by_what_they_have_to_reach() -> None:
    """From U1 to U11, 10 × 44.45 + 120 + 100 + 450 mm = 1.11 m: 1.5 m, whatever is recorded."""
    far = (
        (CABINET, "  1-2: {ups", "  4: {panel: B, ports: 24}\n  1-2: {ups"),
        (CABINET, "  SW1/25:", "  B/01: {to: SW1/05, cord: 0.3 m}\n  SW1/25:"),
    )
    sheet = planned(*far)
    assert counted(sheet)["cord of 1 m"] == 1  # 7 × 44.45 + 670 = 0.98 m
    assert counted(sheet)["cord to look at"] == 1
    cord = sheet.plan.after.cords["1A/B/01"]
    assert cord_stock_length(sheet.plan.after, cord) == 1.0


def test_a_cord_that_still_reaches_is_not_bought_again() -> None:
    assert counted(planned(SWAP, UPLINK)) == {"48-port switch": 1}


# Minutes


def test_own_minutes() -> None:
    assert override_minutes({"plug": "1.5"})["plug"] == 1.5
    sheet = planned(SWAP, UPLINK, mount=30.0)
    assert any("given for this sheet: mount" in line for line in sheet.assumptions)
    assert sheet.window.minutes == planned(SWAP, UPLINK).window.minutes + 20


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"plugg": "1"}, "did you mean “plug”?"),
        ({"plug": "-1"}, "“-1” is no number of minutes"),
        ({"plug": "nan"}, "“nan” is no number of minutes"),
        ({"plug": "9999"}, "from 0 to 1440"),
    ],
)
def test_minutes_nobody_can_mean(said: dict[str, str], told: str) -> None:
    with pytest.raises(WorldError, match=told.replace("?", r"\?")):
        override_minutes(said)


# Page, list, lines


def test_the_page_is_whole_and_asks_nothing_of_anybody() -> None:
    hostile = ("outlets.yml", "1A-A01: {", '1A-A01: {label: "<script>x</script>", ')
    sheet = planned(SWAP, UPLINK, hostile)
    script = "window.ours = 1;"
    page = cutover_page(sheet, "body { color: black; }", script)
    html5lib.HTMLParser(strict=True).parse(page)
    assert page.count("<script") == page.count(f"<script>{script}</script>") == 1
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    assert f"script-src &#39;sha256-{digest}&#39;" in page.replace("'", "&#39;")
    assert "http://" not in page.replace("http://www.w3.org/", "")
    for step in sheet.window.steps:
        assert str(step.operation.way_back).replace("'", "&#39;") in page
    assert page.count('<span class="box">') >= 3 * len(sheet.links)
    told = page.partition("<body")[2].casefold()
    assert "safe" not in told and "compliant" not in told
    assert cutover_page(sheet, "", "") == cutover_page(sheet, "", "")


@needs_browser
def test_the_page_is_dark_on_a_dark_screen_and_ink_on_paper(tmp_path: Path) -> None:
    style = (theme_folder() / "assets" / "asbuilt.css").read_text("utf-8")
    page = tmp_path / "cutover.html"
    page.write_text(cutover_page(planned(SWAP, UPLINK), style, ""), "utf-8")
    ink = "return getComputedStyle(document.body).color"
    with browser(dark=True) as driver:
        driver.get(page.as_uri())
        assert driver.execute_script(ink) == "rgb(232, 229, 219)"  # the light ink of dark pages
        driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
        assert driver.execute_script(ink) == "rgb(0, 0, 0)"
    with browser() as driver:
        driver.get(page.as_uri())
        assert driver.execute_script(ink) == "rgb(34, 38, 43)"


def test_the_list_for_a_spreadsheet() -> None:
    sheet = planned(*PANEL_B, SWAP, UPLINK)
    found = list(sheet_output.rows(sheet))
    assert {len(row) for row in found} == {len(sheet_output.HEADER)}
    by_phase = [row[0] for row in found]
    assert by_phase == sorted(by_phase, key=["before", "1", "2", "3", "materials"].index)
    told = json.loads(sheet_output.as_json(sheet))
    assert [step["what"] for step in told["phase 2"]["steps"]] == words(sheet)


def test_lines_steer_no_terminal() -> None:
    texts = {**BEGIN, CABINET: BEGIN[CABINET].replace(*SWAP[1:])}
    old, new = records(BEGIN), records(texts)
    states = state_of(old.raw), state_of(new.raw)
    sheet = cutover_sheet(site(old), site(new), states, compare(*states), "ma\x1b[2Jin", "plan\n")
    assert not any("\x1b" in line or "\n" in line for line in sheet_output.lines(sheet))


@pytest.mark.parametrize(
    ("minutes", "clock"), [(0, "0:00"), (0.5, "0:00.5"), (67, "1:07"), (59.5, "0:59.5")]
)
def test_minutes_as_a_clock(minutes: float, clock: str) -> None:
    assert sheet_output.format_minutes(minutes) == clock


# The command


def in_site(texts: Mapping[str, str]) -> dict[str, str | bytes | None]:
    return {f"sites/harbour/{path}": text for path, text in texts.items()}


@pytest.fixture
def repo(tmp_path: Path) -> GitRepo:
    """main as found; plan/switch swaps SW1."""
    repo = GitRepo(tmp_path / "records")
    repo.commit(in_site(BEGIN), "As found")
    repo.switch("plan/switch", new=True)
    cabinet = BEGIN[CABINET]
    for _, text, new in (SWAP, UPLINK):
        cabinet = cabinet.replace(text, new)
    repo.commit(in_site({CABINET: cabinet}), "48 ports")
    repo.switch("main")
    return repo


def run(repo: GitRepo, monkeypatch: pytest.MonkeyPatch, *args: str) -> Result:
    monkeypatch.chdir(repo.path)
    return CliRunner().invoke(main, ["cutover", *args])


def test_a_sheet_from_two_revisions(repo: GitRepo, monkeypatch: pytest.MonkeyPatch) -> None:
    result = run(repo, monkeypatch, "main", "plan/switch")
    assert result.exit_code == 0, result.output
    assert "Phase 2, the outage window: 0:30," in result.stdout
    assert "take 24-port switch SW1 out of 1A U11" in result.stdout
    table = run(repo, monkeypatch, "main", "plan/switch", "harbour", "--format", "csv").stdout
    assert [row[0] for row in csv.reader(io.StringIO(table))].count("2") == 6
    quick = run(repo, monkeypatch, "main", "plan/switch", "--minutes", "start=0")
    assert "Phase 2, the outage window: 0:24," in quick.stdout


def test_a_sheet_to_a_file(repo: GitRepo, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    page = tmp_path / "sheet.html"
    result = run(repo, monkeypatch, "main", "plan/switch", "--output", str(page))
    assert result.exit_code == 0, result.output
    text = page.read_text("utf-8")
    assert text.startswith("<!doctype html>")
    assert "--accent: #" in text, "it carries the style of the pages"
    html5lib.HTMLParser(strict=True).parse(text)


def test_plans_there_is_no_sheet_for(repo: GitRepo, monkeypatch: pytest.MonkeyPatch) -> None:
    repo.switch("plan/broken", new=True)
    repo.commit(in_site({CABINET: "front: [\n"}), "Half typed")
    repo.switch("plan/nothing", new=True, at="main")
    repo.commit({"README.md": "words\n"}, "Words")
    repo.switch("plan/comment", new=True, at="main")
    repo.commit(in_site({CABINET: "# seen\n" + BEGIN[CABINET]}), "A comment")
    repo.switch("plan/old", new=True, at="main")
    repo.commit(in_site({"jobs/J2.yml": "title: Old plan\n"}), "Old plan")
    repo.switch("main")
    repo.commit(in_site({"jobs/J3.yml": "title: Since then\n"}), "Since then")
    expected = {
        ("main", "plan/none"): "there is no revision “plan/none”",
        ("main", "--", "-x"): "there is no revision “-x”",
        ("main~1", "plan/broken"): "the records of harbour at plan/broken can’t be worked by",
        ("main~1", "plan/nothing"): "plan/nothing changes no records",
        ("main~1", "plan/comment"): "plan/comment changes nothing in the records of harbour",
        ("main", "plan/old"): "plan/old is behind main by 1 commit",
        ("main", "main~1"): "main~1 is behind main and plans nothing",
        ("main", "HEAD"): "main and HEAD are the same revision",
        ("main~1", "plan/switch", "quay"): "there is no site “quay” at main~1",
        ("main~1", "plan/switch", "--minutes", "plug"): "“plug” gives no minutes",
    }
    for args, said in expected.items():
        result = run(repo, monkeypatch, *args)
        assert result.exit_code == 1, args
        assert said in result.stderr, (args, result.stderr)
        assert len(result.stderr.strip().splitlines()) == 1, args
        assert result.stdout == ""


def test_of_several_sites_one_is_named(repo: GitRepo, monkeypatch: pytest.MonkeyPatch) -> None:
    other = {f"sites/quay/{path}": text for path, text in BEGIN.items()}
    repo.switch("plan/two", new=True, at="plan/switch")
    repo.commit(dict(other), "A second site")
    result = run(repo, monkeypatch, "main", "plan/two")
    assert "changes 2 sites; name the one the sheet is for: harbour, quay" in result.stderr
    assert run(repo, monkeypatch, "main", "plan/two", "harbour").exit_code == 0
    assert "there is no site “quay” at main" in run(
        repo, monkeypatch, "main", "plan/two", "quay"
    ).stderr  # fmt: skip
