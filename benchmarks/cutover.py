"""A cutover of 400 links, against reading the records it is computed from.

An invented site of 400 outlets on ten panels and ten switches, one above the other, joined by a
core switch. The plan swaps every access switch for another, renumbers its uplink and re-patches
some cords, so that all 400 links go dark once.

reading      the YAML of both states by PyYAML's C loader, nothing else made of it: the yardstick
records      both states as typed records, as the command reads them
sheet        everything on the sheet: steps in order, who is dark at each, materials, page
"""

from __future__ import annotations

import gc
import time
from collections.abc import Callable, Mapping

import yaml

from asbuilt.changes.compare import compare
from asbuilt.changes.state import state_of
from asbuilt.cutover.sheet import CutoverSheet, cutover_sheet
from asbuilt.model.site import site_of
from asbuilt.pages.cutover import cutover_page
from asbuilt.records.reading import read_folder

SWITCHES = 10
LINKS = 40  # a switch
RUNS = 3


def run() -> None:
    old, new = files_of(planned=False), files_of(planned=True)
    yardstick = best(lambda: read_plainly(old, new))
    records = best(lambda: [read_folder("bench", old), read_folder("bench", new)])
    before, after = read_folder("bench", old), read_folder("bench", new)
    sites = site_of(before), site_of(after)
    assert sites[0] and sites[1]
    states = state_of(before.raw), state_of(after.raw)

    def sheet() -> CutoverSheet:
        assert sites[0] and sites[1]
        return cutover_sheet(sites[0], sites[1], states, compare(*states), "main", "plan")

    made = best(sheet)
    found = sheet()
    page = best(lambda: cutover_page(found, "", ""))
    dark = len(found.window.downtime_minutes)
    assert dark == SWITCHES * LINKS
    proved = "proved least" if found.window.proved_least else "best found"
    print(f"{dark} links, {len(found.window.steps)} steps, {proved}")
    print(f"reading   {yardstick:8.3f} s   both states, PyYAML's C loader")
    print(f"records   {records:8.3f} s   {records / yardstick:.2f} of reading")
    print(f"sheet     {made:8.3f} s   {made / yardstick:.2f} of reading")
    print(f"page      {page:8.3f} s   {page / yardstick:.2f} of reading")


def best(work: Callable[[], object]) -> float:
    times = []
    for _ in range(RUNS):
        gc.collect()
        began = time.perf_counter()
        work()
        times.append(time.perf_counter() - began)
    return min(times)


def read_plainly(*states: Mapping[str, bytes]) -> None:
    for files in states:
        for data in files.values():
            yaml.load(data, Loader=yaml.CSafeLoader)


def files_of(planned: bool) -> dict[str, bytes]:
    mounted = ["  42: {switch: CORE, ports: 24, uplinks: 2, speed: 10 Gb/s}"]
    mounted.append("  41: {router: R1, ports: 2, named ports: [WAN]}")
    patching = ["  CORE/24: {to: R1/1, cord: 0.5 m}"]
    outlets = []
    ports = 96 if planned else 48
    for at in range(SWITCHES):
        unit = 40 - 2 * at
        mounted.append(f"  {unit}: {{panel: P{at}, ports: 48, category: 6}}")
        mounted.append(f"  {unit - 1}: {{switch: S{at}, ports: {ports}, uplinks: 4}}")
        patching.append(f"  S{at}/{ports + 1}: {{to: CORE/{at + 1}, cord: 1 m}}")
        for port in range(1, LINKS + 1):
            there = LINKS + 1 - port if planned and port % 9 == 0 else port
            there = there + 48 if there != port else port
            patching.append(f"  P{at}/{port:02}: {{to: S{at}/{there:02}, cord: 0.5 m}}")
            outlets.append(
                f'1A-{at}{port:02}: {{room: "{101 + port % 20}", port: 1A/P{at}/{port:02}, '
                f"cable: cat6, length: {20 + port}.5 m, serves: desk, person: Person {at}-{port}}}"
            )
    rooms = "".join(f'  "{101 + number}": {{name: office}}\n' for number in range(20))
    texts = {
        "site.yml": "name: Bench\ncircuits:\n  net: {lands on: 1A/R1/WAN}\nrooms:\n" + rooms,
        "enclosures/1A.yml": 'room: "101"\nheight: 42 U\nfront:\n' + "\n".join(mounted)
        + "\npatching:\n" + "\n".join(patching) + "\n",
        "outlets.yml": "\n".join(outlets) + "\n",
    }  # fmt: skip
    return {path: text.encode() for path, text in texts.items()}


if __name__ == "__main__":
    run()
