"""What is in place, counted: each count done by hand beside the records."""

from __future__ import annotations

import csv
import io
from collections import Counter
from pathlib import Path

import pytest

from asbuilt.io.files import read_site_files, site_names
from asbuilt.lists.csv_file import csv_bytes
from asbuilt.lists.exporting import TABLES
from asbuilt.lists.materials import HEADER, materials_table
from asbuilt.model.site import Site, site_of
from asbuilt.records.reading import read_folder

FILES = {
    "site.yml": "name: x\nrooms:\n  '101': {}\n  '104': {}\n",
    "enclosures/1A.yml": """\
height: 12 U
kind: wall-mounted cabinet
front:
  12: {panel: A, ports: 24, category: 6}
  11: {panel: B, ports: 24, category: 6}
  10: {panel: F, ports: 12, media: fibre, connector: LC duplex}
  9: {switch: SW1, ports: 24, uplinks: 4, speed: 1 Gb/s, poe: 370 W}
  8: {manager: M1}
  6-7: {reserve: later}
patching:
  A/01: {to: SW1/01, cord: 0.3 m}
  A/02: {to: SW1/02, cord: 30 cm}
  A/03: {to: SW1/03, cord: 3 ft}
  A/04: {to: SW1/04, cord: 0.3 m}
  A/05: {to: SW1/05}
""",
    "outlets.yml": """\
A1: {room: "101", plate: west wall, port: 1A/A/01, cable: cat6, length: 20 m}
A2: {room: "101", plate: west wall, port: 1A/A/02, cable: cat6, length: 100 ft}
A3: {room: "104", plate: west wall, port: 1A/A/03, cable: cat6, state: dead}
A4: {room: "104", port: 1A/A/04, cable: unknown}
A5: {room: "104", port: 1A/A/05, length: 7 m}
""",
    "backbones.yml": "B1: {from: 1A/F/1, to: 1A/F/2, cable: OM4, strands: 12, length: 62 m}\n",
}


def site(**more: str) -> Site:
    texts = {path: text.encode() for path, text in (FILES | more).items()}
    found = site_of(read_folder("x", texts))
    assert found
    return found


def counted(here: Site) -> dict[tuple[str, str, bool], tuple[str, str]]:
    """(kind, what, whether lengths are known) → count and length."""
    found = {
        (kind, what, bool(length)): (count, f"{length} {unit}".strip())
        for kind, what, count, length, unit, _ in materials_table(here).rows
    }
    assert len(found) == len(materials_table(here).rows)
    return found


def test_what_is_mounted_is_counted_by_what_it_is() -> None:
    found = counted(site())
    assert found["enclosure", "wall-mounted cabinet, 12 U", False] == ("1", "")
    assert found["panel", "24-port copper panel, Cat 6", False] == ("2", "")
    assert found["panel", "12-port fibre panel, LC duplex", False] == ("1", "")
    switch = "24-port switch, 4 uplinks, 1 Gb/s, power over Ethernet 370 W"
    assert found["switch", switch, False] == ("1", "")
    assert found["manager", "1 U manager", False] == ("1", "")
    assert not [kind for kind, _, _ in found if kind == "reserve"]


def test_a_faceplate_is_a_place_in_a_room() -> None:
    found = counted(site())
    assert found["faceplate", "faceplate with 2 jacks", False] == ("1", "")  # 101
    assert found["faceplate", "faceplate with 1 jack", False] == ("1", "")  # 104, west wall too
    assert found["faceplate", "not recorded", False] == ("2", "")
    jacks = {what: count for (kind, what, _), (count, _) in found.items() if kind == "jack"}
    assert jacks == {
        "jack for Cat 6": "3",
        "jack for cable of unknown kind": "1",
        "jack for cable not recorded": "1",
    }


def test_a_length_that_isnt_known_is_counted_apart() -> None:
    found = counted(site())
    # 100 ft are 30.48 m: the international foot is 0.3048 m exactly (NIST SP 811, appendix B).
    assert found["cable of drops", "Cat 6", True] == ("2", "50.5 m")
    assert found["cable of drops", "Cat 6", False] == ("1", "")
    assert found["cable of drops", "cable of unknown kind", False] == ("1", "")
    assert found["cable of drops", "cable not recorded", True] == ("1", "7.0 m")
    assert found["cable of backbones", "OM4, 12 strands or pairs", True] == ("1", "62.0 m")
    customary = counted(site(**{"site.yml": FILES["site.yml"] + "measures: customary\n"}))
    # (20 m + 30.48 m) / 0.3048
    assert customary["cable of drops", "Cat 6", True] == ("2", "165.6 ft")


def test_cords_by_length_as_they_are_sold() -> None:
    rows = [row for row in materials_table(site()).rows if row[0] == "cord"]
    assert Counter({what: int(count) for _, what, count, *_ in rows}) == {
        "cord of 0.3 m": 2,
        "cord of 30 cm": 1,
        "cord of 3 ft": 1,
        "cord, length not recorded": 1,
    }
    assert [row[1] for row in rows][-1] == "cord, length not recorded"


def test_the_order_of_the_files_changes_nothing() -> None:
    texts = {path: text.encode() for path, text in FILES.items()}
    turned = site_of(read_folder("x", dict(reversed(texts.items()))))
    assert turned
    assert materials_table(turned) == materials_table(site())


@pytest.mark.parametrize("key", site_names(Path(__file__).parents[2]))
def test_nothing_is_lost_or_counted_twice(key: str) -> None:
    here = site_of(read_folder(key, read_site_files(Path(__file__).parents[2], key).texts))
    assert here
    text = csv_bytes(TABLES["materials"](here)).decode()
    header, *rows = csv.reader(io.StringIO(text))
    assert tuple(header) == HEADER
    sums: Counter[str] = Counter()
    for kind, _, count, *_ in rows:
        sums[kind] += int(count)
    items = Counter(item.role for item in here.items.values() if item.role != "reserve")
    assert {kind: sums[kind] for kind in items} == dict(items)
    assert sums["jack"] == sums["cable of drops"] == len(here.outlets)
    assert sums["cable of backbones"] == len(here.backbones)
    assert sums["cord"] == len(here.cords)
    assert sums["enclosure"] == len(here.enclosures)
