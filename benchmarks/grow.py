"""“Could 24 more drops go in?” for every site of a fleet, against reading the same records.

Each site is read (YAML to a site, references checked) and then asked, one after the other, so that
both meet the same machine. Sites have 96 outlets in two cabinets, crowded more or less, so
that several verdicts occur. The table for 12, 24, 48, 96 and the most is timed the same way.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable
from random import Random
from typing import TypeVar

from asbuilt.growth.answers import growth_answer, growth_table
from asbuilt.model.paths import cabling_graph
from asbuilt.model.site import Site, site_of
from asbuilt.records.reading import read_folder

SITES = 200
OUTLETS = 48  # a cabinet: two panels of 24

T = TypeVar("T")


def run() -> None:
    reading = asking = table = 0.0
    verdicts: Counter[str] = Counter()
    slowest = 0.0
    for number in range(SITES):
        files = site_files(number)
        site, seconds = timed(lambda files=files: read(files))  # type: ignore[misc]
        reading += seconds
        net = cabling_graph(site)
        growth, seconds = timed(lambda site=site, net=net: growth_answer(site, net, 24, 3))  # type: ignore[misc]
        asking += seconds
        slowest = max(slowest, seconds)
        verdicts[str(growth.verdict)] += 1
        _, seconds = timed(lambda site=site, net=net: growth_table(site, net, 3))  # type: ignore[misc]
        table += seconds
    print(f"read {SITES} sites of {2 * OUTLETS} outlets: {reading:.2f} s")
    print(f"24 more drops in each: {asking:.2f} s, the slowest {slowest * 1000:.0f} ms")
    for verdict, count in sorted(verdicts.items()):
        print(f"  {count:4} {verdict}")
    print(f"time, grow / reading: {asking / reading:.2f}")
    print(f"time, the whole table / reading: {table / reading:.2f}")


def timed(work: Callable[[], T]) -> tuple[T, float]:
    start = time.perf_counter()
    result = work()
    return result, time.perf_counter() - start


def read(files: dict[str, bytes]) -> Site:
    records = read_folder("site", files)
    site = site_of(records)
    assert site is not None and not records.problems
    return site


def site_files(number: int) -> dict[str, bytes]:
    """One site, a function of its number."""
    rng = Random(number)
    site = ["name: Harbour Lane", "circuits:", "  main: {lands on: 1A/R1/WAN}", "rooms:"]
    site += [f'  "{room}": {{}}' for room in range(100, 130)]
    outlets: list[str] = []
    files = {}
    for key in ("1A", "2A"):
        text, lines = cabinet(rng, key)
        files[f"enclosures/{key}.yml"] = text
        outlets += lines
    files["site.yml"] = "\n".join(site)
    files["outlets.yml"] = "\n".join(outlets)
    files["pathways.yml"] = "".join(
        f"T{key}: {{kind: tray, width: {rng.choice((60, 100, 150))} mm, height: 50 mm}}\n"
        for key in ("1A", "2A")
    )
    return {path: text.encode() for path, text in files.items()}


def cabinet(rng: Random, key: str) -> tuple[str, list[str]]:
    """A cabinet, from the top: panels of one unit or two, managers, switches, a router, a shelf, a
    UPS at the bottom, and what free units there are."""
    mounted = [
        "panel A",
        "manager M1",
        "switch SW1",
        "panel B",
        "switch SW2",
        "router R1",
        "shelf SH1",
    ]
    tall = {"panel A": rng.choice((1, 2)), "panel B": rng.choice((1, 2))}
    height = 2 + sum(tall.get(what, 1) for what in mounted) + rng.choice((0, 0, 1, 2, 4))
    lines = [f'room: "{100 + rng.randrange(30)}"', f"height: {height} U", "depth: 600 mm", "front:"]
    unit = height
    facts = {
        "panel": f"ports: {rng.choice((24, 24, 48))}, category: 6, depth: 90 mm",
        "switch": f"ports: {rng.choice((24, 48))}, uplinks: 4, poe: 370 W, depth: 330 mm",
        "router": "ports: 4, named ports: [WAN], depth: 180 mm",
        "manager": "depth: 70 mm",
        "shelf": "depth: 300 mm",
    }
    for what in mounted:
        low = unit - tall.get(what, 1) + 1
        span = f"{low}" if low == unit else f"{low}-{unit}"
        kind, _, name = what.partition(" ")
        lines.append(f"  {span}: {{{kind}: {name}, {facts[kind]}}}")
        unit = low - 1
    lines += ["  1-2: {ups: UPS1, output: 1350 W, depth: 480 mm}", "patching:"]
    outlets = []
    for n in range(OUTLETS):
        panel, switch, port = ("A", "SW1", n + 1) if n < 24 else ("B", "SW2", n - 23)
        serves = rng.choice(("desk", "desk", "phone, poe: class 2", "camera, poe: class 3"))
        outlets.append(
            f'{key}-{panel}{port:02}: {{room: "{100 + n % 30}", port: {key}/{panel}/{port:02}, '
            f"cable: cat6, length: {15 + n % 30} m, serves: {serves}, via: T{key}}}"
        )
        lines.append(f"  {panel}/{port:02}: {{to: {switch}/{port:02}, cord: 0.5 m}}")
    uplink = int(facts["switch"].partition("ports: ")[2].partition(",")[0]) + 1
    lines += [f"  SW1/{uplink}: {{to: R1/1}}", f"  SW2/{uplink}: {{to: R1/2}}"]
    return "\n".join(lines), outlets
