"""Books for tests: a site's texts bound as the pages see them, without git and without Graphviz."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from asbuilt.changes.log import History, Revision
from asbuilt.model.paths import cabling_graph
from asbuilt.model.site import Site, site_of
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Page, PageTree
from asbuilt.pages.tree import site_tree
from asbuilt.problem import has_errors
from asbuilt.records.edition import Edition, WithheldKeys, for_client
from asbuilt.records.reading import read_records, take_folder_apart

#: A practice with one cabinet: a desk, a phone, a camera; a cord too few, a finding, a job.
PRACTICE: Mapping[str, str] = {
    "site.yml": """\
name: Harbour Lane Practice
business: physiotherapy practice
hours: Mon–Fri 08:00–18:00
access: ring at the side door
vault: in the firm's vault, under harbour
contacts:
  quill: {name: Iris Quill, role: practice manager, phone: 555 0101, authorises: yes}
cautions:
  ceiling: {hazard: asbestos, known: not known, where: ceilings of the ground floor}
circuits:
  net: {carrier: Northmere Telecom, service: internet, speed: 500 Mb/s, lands on: 1A/R1/WAN}
networks:
  staff: {name: Staff, number: 10}
floors:
  "1": {name: ground floor, level: 0}
rooms:
  "110": {name: store, floor: "1", use: telecommunications space}
  "101": {name: reception, floor: "1", use: reception}
  "104": {name: gym, floor: "1", use: treatment room}
""",
    "enclosures/1A.yml": """\
kind: wall-mounted cabinet
room: "110"
height: 12 U
depth: 450 mm
front:
  12: {panel: A, ports: 24, category: 6, dead: [24], abandoned: [22-23]}
  11: {switch: SW1, ports: 24, uplinks: 4, speed: 1 Gb/s, uplink speed: 10 Gb/s, poe: 370 W}
  8: {router: R1, does: firewall, ports: 4, named ports: [WAN]}
  1-2: {ups: UPS1, output: 900 W}
without U:
  - {power strip: P1, where: right rear upright, sockets: 8}
patching:
  A/01: {to: SW1/01, cord: 0.3 m}
  A/02: {to: SW1/02, cord: 0.3 m}
  A/03: {to: SW1/03, cord: 0.3 m}
  SW1/25: {to: R1/1, cord: 0.5 m}
""",
    "outlets.yml": """\
1A-A01: {room: "101", plate: west wall, port: 1A/A/01, cable: cat6, length: 23.4 m, serves: desk, person: Nils Ferro}
1A-A02: {room: "101", plate: west wall, port: 1A/A/02, cable: cat6, length: 23.4 m, serves: phone, poe: class 2}
1A-A03: {room: "104", plate: ceiling, port: 1A/A/03, cable: cat6, serves: camera, poe: class 3}
1A-A04: {room: "104", label: "<b>GYM</b> & 4", port: 1A/A/04, cable: cat6, serves: desk}
""",
    "findings.yml": """\
F1: {what: the door can't be closed over the cords, severity: deficient, enclosure: 1A, found on: 2025-03-02}
F2: {what: no earth bond seen, severity: hazard, enclosure: 1A, found on: 2025-03-02, cleared on: 2025-03-07, share with client: yes}
""",
    "jobs/J1.yml": "title: Two outlets for reception\nkind: add\nstate: asked\nasked by: Iris Quill\n",
    "tests/first.csv": (
        "link,date,result,limit,length,margin\n"
        "1A-A01,2025-03-07,pass,cat6 permanent link,23.1 m,4.2 dB\n"
    ),
}


def book_of(
    texts: Mapping[str, str] = PRACTICE,
    edition: Edition = Edition.INTERNAL,
    history: History | None = None,
    key: str = "harbour",
) -> PageContext:
    raws, problems = take_folder_apart({p: t.encode() for p, t in texts.items()}, f"sites/{key}")
    if edition is Edition.CLIENT:
        raws = for_client(raws, WithheldKeys())
    records = read_records(key, raws, problems)
    assert not has_errors(records.problems), [str(problem) for problem in records.problems]
    site = site_of(records)
    assert site is not None
    return PageContext(
        site, cabling_graph(site), edition, Revision(), history or History(), records.problems
    )


def site_from(texts: Mapping[str, str]) -> Site:
    return book_of(texts).site


def no_drawing(dots: Sequence[str]) -> list[str]:
    return ["" for _ in dots]


def pages_of(book: PageContext) -> dict[str, Page]:
    tree: PageTree = site_tree(book, no_drawing)
    return {page.path: page for page in tree if isinstance(page, Page)}
