"""What a change of the records means to the trade: one table of edits and what is told of each.

The terms (move, add, change; re-patched, re-terminated, re-racked) are those of the trade; the
sentences are our own.
"""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from asbuilt.changes import (
    Change,
    RecordState,
    State,
    apply,
    compare,
    inverse,
    lines_of_changes,
    state_of,
)
from asbuilt.records.edition import for_client, withheld_keys
from asbuilt.records.reading import take_folder_apart

Files = Mapping[str, str]
Edit = tuple[str, str, str]

SITE: Files = {
    "site.yml": """\
name: Harbour Lane Practice
hours: Mon–Fri 08:00–18:00
contacts:
  quill: {name: Iris Quill, phone: 555-0101}
circuits:
  net: {carrier: Northmere Telecom, service: internet, lands on: 1A/R1/WAN}
floors:
  "1": {name: ground floor}
  "2": {name: upper floor}
rooms:
  "101": {name: reception, floor: "1"}
  "104": {name: gym, floor: "1"}
  "201": {name: office, floor: "2"}
""",
    "enclosures/1A.yml": """\
kind: wall-mounted cabinet
height: 12 U
room: "101"
front:
  12: {panel: A, ports: 24, category: 6}
  11: {switch: SW1, ports: 24, serial: X1}
  8: {router: R1, ports: 4, named ports: [WAN]}
  1-2: {ups: UPS1, output: 900 W}
patching:
  A/01: {to: SW1/01, cord: 0.3 m}
  A/02: {to: SW1/02, cord: 0.3 m}
  SW1/24: {to: R1/1, cord: 0.5 m}
""",
    "enclosures/2A.yml": """\
height: 6 U
room: "201"
front:
  6: {panel: A, ports: 24}
  5: {switch: SW1, ports: 24}
""",
    "outlets.yml": """\
G01: {room: "101", plate: west wall, port: 1A/A/01, length: 23.4 m, serves: desk, state: in use}
G02: {room: "101", plate: west wall, port: 1A/A/02, length: 23.4 m, serves: phone}
G03: {room: "104", plate: ceiling, port: 1A/A/03, serves: camera}
U01: {room: "201", port: 2A/A/01, serves: desk}
U02: {room: "201", port: 2A/A/02, serves: desk}
U03: {room: "201", port: 2A/A/03, serves: desk}
U04: {room: "201", port: 2A/A/04, serves: desk}
""",
    "backbones.yml": "B1: {from: 1A/A/24, to: 2A/A/24, cable: cat6}\n",
    "findings.yml": "F1: {what: the door can't be closed, severity: deficient, enclosure: 1A}\n",
    "jobs/J1.yml": "title: Two outlets for reception\nstate: planned\n",
    "tests/first.csv": "link,date,result\nG01,2025-03-07,pass\n",
}


def state(files: Files) -> State:
    raws, problems = take_folder_apart({path: text.encode() for path, text in files.items()})
    assert not problems
    return state_of(raws)


def edited(*edits: Edit) -> dict[str, str]:
    files = dict(SITE)
    for path, old, new in edits:
        assert old == "" or files.get(path, "").count(old) >= 1, f"{old!r} is not in {path}"
        files[path] = files[path].replace(old, new) if old else files.get(path, "") + new
    return files


def renamed(files: Files, old: str, new: str) -> dict[str, str]:
    return {(new if path == old else path): text for path, text in files.items()}


def told(before: Files, after: Files) -> list[str]:
    old, new = state(before), state(after)
    changes = compare(old, new)
    assert apply(changes, old) == new
    assert compare(new, old) == inverse(changes)
    return [one.text for one in lines_of_changes(changes, old, new)]


# Nothing changed


@pytest.mark.parametrize(
    "edits",
    [
        pytest.param([("outlets.yml", "G01: {", "# Iris says so\nG01: {")], id="a comment"),
        pytest.param([("outlets.yml", "serves: desk", '"serves": "desk"')], id="quotes"),
        pytest.param([("outlets.yml", ", state: in use", "")], id="a default left out"),
        pytest.param([("outlets.yml", "port: 1A/A/01", "port: [1A/A/01]")], id="a list of one"),
        pytest.param([("outlets.yml", "port: 1A/A/01", "port: 1A/A/1")], id="a leading zero"),
        pytest.param([("outlets.yml", "23.4 m", "23.40m")], id="a length typed otherwise"),
        pytest.param(
            [("enclosures/1A.yml", "  A/01: {to: SW1/01", "  A/1: {to: 1A/SW1/1")], id="cord ends"
        ),
        pytest.param(
            [("enclosures/1A.yml", "named ports: [WAN]", "named ports: WAN, dead: []")], id="lists"
        ),
        pytest.param(
            [
                ("enclosures/1A.yml", "  1-2: {ups: UPS1, output: 900 W}\n", ""),
                (
                    "enclosures/1A.yml",
                    "front:\n",
                    "front:\n  1-2:\n    ups: UPS1\n    output: 900 W\n",
                ),
            ],
            id="order and layout",
        ),
        pytest.param(
            [
                ("outlets.yml", 'U04: {room: "201", port: 2A/A/04, serves: desk}\n', ""),
                ("outlets/upper.yml", "", 'U04: {room: "201", port: 2A/A/04, serves: desk}\n'),
            ],
            id="moved to another file",
        ),
        pytest.param(
            [("enclosures/1A.yml", "ports: 24, category", "ports: 024, category")], id="0"
        ),
        pytest.param([("backbones.yml", "1A/A/24", "1A/A/024")], id="a backbone's port"),
        pytest.param([("outlets.yml", "serves: phone}", "serves: phone, note: }")], id="no value"),
    ],
)
def test_layout_is_no_change(edits: list[Edit]) -> None:
    assert told(SITE, edited(*edits)) == []


def test_a_file_of_tests_may_be_called_anything() -> None:
    assert told(SITE, renamed(SITE, "tests/first.csv", "tests/spring.csv")) == []


def test_which_ports_are_dead_is_the_same_in_any_order() -> None:
    one = edited(("enclosures/1A.yml", "{panel: A,", "{panel: A, dead: [3, 5-7],"))
    other = edited(("enclosures/1A.yml", "{panel: A,", "{panel: A, dead: [7, 6, 03, 5],"))
    assert told(one, other) == []


def test_the_order_of_a_backbones_ports_is_what_connects_to_what() -> None:
    one = edited(("backbones.yml", "1A/A/24", "[1A/A/23, 1A/A/24]"))
    other = edited(("backbones.yml", "1A/A/24", "[1A/A/24, 1A/A/23]"))
    assert len(told(one, other)) == 1


# One edit, and what is told


@pytest.mark.parametrize(
    ("edits", "sentences"),
    [
        (
            [("outlets.yml", "", 'G09: {room: "104", port: 1A/A/09, serves: access point}\n')],
            [
                "Outlet G09 was added in room 104 (gym), on port 9 of panel A in enclosure 1A, "
                "for an access point."
            ],
        ),
        (
            [("outlets.yml", 'G03: {room: "104", plate: ceiling, port: 1A/A/03, serves: camera}\n',
              "")],
            ["Outlet G03 was removed from room 104 (gym)."],
        ),
        (
            [("outlets.yml", 'G01: {room: "101", plate: west wall', 'G01: {room: "104", plate: door')],
            ["Outlet G01 was moved from room 101 (reception) to room 104 (gym)."],
        ),
        (
            [("outlets.yml", "plate: ceiling", "plate: east wall")],
            ["Outlet G03 was moved within room 104 (gym), from “ceiling” to “east wall”."],
        ),
        (
            [("outlets.yml", "U01: {", "U01: {plate: window, ")],
            ["Place in the room was recorded for outlet U01: window."],
        ),
        (
            [("outlets.yml", "1A/A/03", "1A/A/07")],
            ["Outlet G03 now ends on port 7 instead of port 3 of panel A in enclosure 1A."],
        ),
        (
            [("outlets.yml", "1A/A/03", "[1A/A/03, 1A/A/04]")],
            [
                "Outlet G03 now ends on ports 3 and 4 of panel A in enclosure 1A, before on port 3 "
                "of panel A in enclosure 1A."
            ],
        ),
        (
            [("outlets.yml", "G03: {", "G03: {label: 'CAM: 1', ")],
            ["The label of outlet G03 now reads “CAM: 1”, before “G03”."],
        ),
        (
            [("outlets.yml", 'G01: {room: "101", plate: west wall, port: 1A/A/01',
              'G01: {room: "201", plate: west wall, port: 1A/A/11')],
            [
                "Outlet G01 was moved from room 101 (reception) to room 201 (office).",
                "Outlet G01 now ends on port 11 instead of port 1 of panel A in enclosure 1A.",
            ],
        ),
        (
            [("outlets.yml", "serves: phone", "serves: printer")],
            ["What it serves changed for outlet G02 from phone to printer."],
        ),
        (
            [("outlets.yml", ", length: 23.4 m, serves: phone", ", serves: phone")],
            ["Length was taken out for outlet G02 (before: 23.4 m)."],
        ),
        (
            [("enclosures/1A.yml", "A/01: {to: SW1/01", "A/01: {to: SW1/12")],
            ["Outlet G01 was re-patched from port 1 to port 12 of switch SW1 in enclosure 1A."],
        ),
        (
            [("enclosures/1A.yml", "  A/01: {to: SW1/01", "  A/03: {to: SW1/01")],
            ["Port 1 of switch SW1 in enclosure 1A now serves outlet G03, before outlet G01."],
        ),
        (
            [("enclosures/1A.yml", "  A/01: {to: SW1/01", "  A/07: {to: SW1/15"),
             ("outlets.yml", "1A/A/01", "1A/A/07")],
            [
                "Outlet G01 now ends on port 7 instead of port 1 of panel A in enclosure 1A.",
                "Outlet G01 was re-patched from port 1 to port 15 of switch SW1 in enclosure 1A.",
            ],
        ),
        (
            [("enclosures/1A.yml", "  A/02: {to: SW1/02", "  SW1/02: {to: A/02")],
            [
                "The cord from port 2 of switch SW1 to port 2 of panel A in enclosure 1A is only "
                "recorded from its other end now."
            ],
        ),
        (
            [("enclosures/1A.yml", "  SW1/24: {to: R1/1", "  SW1/23: {to: R1/1")],
            [
                "The cord at port 1 of router R1 in enclosure 1A was re-patched from port 24 to "
                "port 23 of switch SW1 in enclosure 1A."
            ],
        ),
        (
            [("enclosures/1A.yml", "  A/02: {to: SW1/02, cord: 0.3 m}\n", "")],
            ["Outlet G02 was unpatched from port 2 of switch SW1 in enclosure 1A."],
        ),
        (
            [("enclosures/1A.yml", "patching:\n", "patching:\n  A/03: {to: SW1/03}\n")],
            ["Outlet G03 was patched to port 3 of switch SW1 in enclosure 1A."],
        ),
        (
            [("enclosures/1A.yml", "  12: {panel", "  10: {panel")],
            ["Panel A was moved in enclosure 1A from U12 to U10."],
        ),
        (
            [("enclosures/1A.yml", "  1-2: {ups: UPS1, output: 900 W}\n", ""),
             ("enclosures/1A.yml", "patching:", "rear:\n  1-2: {ups: UPS1, output: 900 W}\npatching:")],
            ["UPS UPS1 was moved in enclosure 1A from U1-2 to U1-2 at the rear."],
        ),
        (
            [("enclosures/1A.yml", "  1-2: {ups: UPS1, output: 900 W}\n", ""),
             ("enclosures/2A.yml", "", "  1-2: {ups: UPS1, output: 900 W}\n")],
            ["UPS UPS1 was moved from enclosure 1A, U1-2, to enclosure 2A, U1-2."],
        ),
        (
            [("enclosures/1A.yml", "serial: X1", "serial: X2, poe: 370 W")],
            ["Switch SW1 in enclosure 1A was replaced by another."],
        ),
        (
            [("enclosures/1A.yml", "{ups: UPS1, output: 900 W}", "{shelf: S1}")],
            ["UPS UPS1 in enclosure 1A was replaced by shelf S1."],
        ),
        (
            [("enclosures/1A.yml", "{panel: A,", "{panel: PP,"),
             ("enclosures/1A.yml", "  A/0", "  PP/0"),
             ("outlets.yml", "1A/A", "1A/PP"), ("backbones.yml", "1A/A", "1A/PP")],
            [
                "Panel A in enclosure 1A is now recorded as PP.",
                "6 things were only brought in line with a new name: 1A/PP/01–1A/SW1/01, "
                "1A/PP/02–1A/SW1/02, B1, G01, G02, G03.",
            ],
        ),
        (
            [("outlets.yml", "G03: {", "G33: {")],
            ["Outlet G03 is now recorded as G33."],
        ),
        (
            [("enclosures/2A.yml", 'room: "201"', 'room: "104"')],
            ["Enclosure 2A was moved from room 201 (office) to room 104 (gym)."],
        ),
        (
            [("backbones.yml", "1A/A/24", "1A/A/23")],
            ["Backbone B1 now ends on port 23 instead of port 24 of panel A in enclosure 1A."],
        ),
        (
            [("findings.yml", "", "F2: {what: a cord lies across the walkway, severity: hazard}\n")],
            ["Finding F2 was reported: a cord lies across the walkway."],
        ),
        (
            [("findings.yml", "enclosure: 1A}", "enclosure: 1A, cleared on: 2025-04-01, "
              "cleared by: Mara Quist, evidence: photo}")],
            ["Finding F1 was cleared: the door can't be closed."],
        ),
        (
            [("jobs/J1.yml", "planned", "done\ndone by: Mara Quist\ndone on: 2025-03-07")],
            ["Job J1 is done: Two outlets for reception."],
        ),
        (
            [("jobs/J2.yml", "", "title: A camera at the door\n")],
            ["Job J2 was asked for: A camera at the door."],
        ),
        (
            [("site.yml", "Mon–Fri 08:00–18:00", "by appointment")],
            ["Hours changed for the site from Mon–Fri 08:00–18:00 to by appointment."],
        ),
        (
            [("tests/first.csv", "", "G02,2025-03-08,fail\n")],
            ["Outlet G02 was tested on 2025-03-08: fail."],
        ),
        (
            [("site.yml", 'rooms:\n  "101"', 'rooms:\n  "001"'),
             ("outlets.yml", '"101"', '"001"'), ("enclosures/1A.yml", '"101"', '"001"')],
            [
                "Room 101 is now recorded as 001.",
                "3 things were only brought in line with a new name: 1A, G01, G02.",
            ],
        ),
        (
            [("site.yml", "quill: {name: Iris Quill", "iris: {name: Iris Quill")],
            ["Contact quill is now recorded as iris."],
        ),
    ],
)  # fmt: skip
def test_one_edit(edits: list[Edit], sentences: list[str]) -> None:
    assert told(SITE, edited(*edits)) == sentences


def test_an_enclosure_under_another_name_takes_everything_along() -> None:
    files = {
        path: text.replace("1A/", "MDF/").replace("enclosure: 1A", "enclosure: MDF")
        for path, text in renamed(SITE, "enclosures/1A.yml", "enclosures/MDF.yml").items()
    }
    assert told(SITE, files) == [
        "Enclosure 1A is now recorded as MDF.",
        "13 things were only brought in line with a new name: B1, F1, G01, G02, G03, "
        "MDF/A/01–MDF/SW1/01 and 7 more.",
    ]


def test_a_move_is_seen_through_a_new_name() -> None:
    """What was renamed and what was moved in the same commit are told apart."""
    files = {
        path: text.replace("1A/", "MDF/").replace("enclosure: 1A", "enclosure: MDF")
        for path, text in renamed(SITE, "enclosures/1A.yml", "enclosures/MDF.yml").items()
    }
    files["outlets.yml"] = files["outlets.yml"].replace("MDF/A/03", "MDF/A/20")
    assert (
        "Outlet G03 now ends on port 20 of panel A in enclosure MDF instead of port 3 of panel A "
        "in enclosure 1A."
    ) in told(SITE, files)


# Where the evidence is not good enough, nothing is guessed


@pytest.mark.parametrize(
    "edits",
    [
        pytest.param(
            [("outlets.yml", 'G03: {room: "104", plate: ceiling', 'G33: {room: "201", plate: wall')],
            id="another outlet, in another room, on the port that became free",
        ),
        pytest.param(
            [("enclosures/1A.yml", "  A/01: {to: SW1/01", "  A/09: {to: SW1/09")],
            id="a cord that shares nothing with the one that went",
        ),
        pytest.param(
            [("findings.yml", "F1: {what: the door can't be closed", "F2: {what: no label")],
            id="another finding",
        ),
    ],
)  # fmt: skip
def test_removed_and_added(edits: list[Edit]) -> None:
    old, new = state(SITE), state(edited(*edits))
    sides = [(change.before is None, change.after is None) for change in compare(old, new)]
    assert sorted(sides) == [(False, True), (True, False)]


def test_two_that_look_alike_are_not_told_apart_by_guessing() -> None:
    twins = edited(
        ("outlets.yml", "", "S1: {serves: spare, label: X}\nS2: {serves: spare, label: X}\n")
    )
    moved = edited(
        ("outlets.yml", "", "S3: {serves: spare, label: X}\nS4: {serves: spare, label: X}\n")
    )
    changes = compare(state(twins), state(moved))
    assert [bool(change.before) and bool(change.after) for change in changes] == [False] * 4


# Many alike are told as one


def test_many_outlets_of_one_floor() -> None:
    more = "".join(
        f'U{number}: {{room: "201", port: 2A/A/{number}, serves: desk}}\n' for number in range(10, 22)
    ) + 'G10: {room: "101", port: 1A/A/10}\n'  # fmt: skip
    old, new = state(SITE), state(edited(("outlets.yml", "", more)))
    found = lines_of_changes(compare(old, new), old, new)
    assert [one.text for one in found] == [
        "Outlet G10 was added in room 101 (reception), on port 10 of panel A in enclosure 1A.",
        "12 outlets were added on the upper floor: U10, U11, U12, U13, U14, U15 and 6 more.",
    ]
    assert len(found[1].changes) == len(found[1].details) == 12
    assert found[1].details[0] == "outlet U10: room: 201; port: 2A/A/10; serves: desk"
    links = [(piece.kind, piece.key) for piece in found[1].sentence if piece.kind]
    assert links == [("outlet", f"U{number}") for number in range(10, 16)]


def test_a_whole_office_moves_downstairs() -> None:
    assert told(SITE, edited(("outlets.yml", 'room: "201"', 'room: "104"'))) == [
        "4 outlets were moved from room 201 (office) to room 104 (gym): U01, U02, U03, U04."
    ]


def test_lengths_are_filled_in() -> None:
    assert told(
        SITE,
        edited(
            ("outlets.yml", "port: 2A/A/01,", "port: 2A/A/01, length: 11 m,"),
            ("outlets.yml", "port: 2A/A/02,", "port: 2A/A/02, length: 12 m,"),
            ("outlets.yml", "port: 2A/A/03,", "port: 2A/A/03, length: 13 m,"),
        ),
    ) == ["Length was recorded for outlets U01, U02 and U03."]


def test_a_panel_is_patched() -> None:
    cords = "patching:\n" + "".join(f"  A/0{n}: {{to: SW1/1{n}}}\n" for n in range(1, 5))
    assert told(SITE, edited(("enclosures/2A.yml", "", cords))) == [
        "4 outlets were patched to switch SW1 in enclosure 2A: U01, U02, U03, U04."
    ]


def test_the_records_begin() -> None:
    new = state(SITE)
    sentences = [one.text for one in lines_of_changes(compare({}, new), {}, new)]
    assert sentences[0] == "The records of Harbour Lane Practice were begun."
    assert (
        "4 things were mounted in enclosure 1A: panel A, router R1, switch SW1, UPS UPS1."
        in sentences
    )
    assert "Outlets G01, G02 and G03 were added on the ground floor." in sentences
    assert "4 outlets were added on the upper floor: U01, U02, U03, U04." in sentences
    assert len(sentences) < 20


def test_a_label_that_repeats_is_told_with_its_key() -> None:
    files = edited(
        ("outlets.yml", "U01: {", "U01: {label: '7', "),
        ("outlets.yml", "U02: {", "U02: {label: '7', "),
    )
    gone = {**files, "outlets.yml": files["outlets.yml"].replace("serves: desk}", "serves: till}")}
    assert told(files, gone) == [
        "What it serves changed from desk to till for 4 outlets: 7 (U01), 7 (U02), U03, U04."
    ]


def test_large_groups_are_told_apart_from_odds_and_ends() -> None:
    cords = "".join(f"  A/0{n}: {{to: SW1/1{n}}}\n" for n in range(1, 5))
    lower = "".join(f"  A/{n}: {{to: SW1/{n}}}\n" for n in range(11, 14)) + "  SW1/5: {to: R1/2}\n"
    more = "".join(f"G{n}: {{room: '104', port: 1A/A/{n}}}\n" for n in range(11, 14))
    assert told(
        edited(("outlets.yml", "", more)),
        edited(
            ("outlets.yml", "", more),
            ("enclosures/2A.yml", "", "patching:\n" + cords + "  A/08: {to: SW1/18}\n"),
            ("enclosures/1A.yml", "  A/01: {to", lower + "  A/22: {to: R1/4}\n  A/01: {to"),
            ("enclosures/1A.yml", "  A/01: {to", "  UPS1/1: {to: R1/3}\n  A/01: {to"),
        ),
    ) == [
        "4 outlets were patched to switch SW1 in enclosure 2A: U01, U02, U03, U04.",
        "Outlets G11, G12 and G13 were patched to switch SW1 in enclosure 1A.",
        "4 cords were added: 1A/A/22–1A/R1/04, 1A/SW1/05–1A/R1/02, 1A/UPS1/01–1A/R1/03, "
        "2A/A/08–2A/SW1/18.",
    ]


def test_ports_in_a_row_are_told_as_one_says_them() -> None:
    files = edited(("enclosures/1A.yml", "{panel: A,", "{panel: A, dead: [3, 9, 11, 10, WAN],"))
    assert told(SITE, files) == [
        "Dead ports were recorded for panel A in enclosure 1A: 3, 9-11, WAN."
    ]


def test_a_sighting() -> None:
    seen = [("enclosures/1A.yml", "height: 12 U", "height: 12 U\nseen: 2025-03-07 by Mara Quist")]
    assert told(SITE, edited(*seen)) == ["Enclosure 1A was last seen on 2025-03-07 by Mara Quist."]


def test_two_pathways() -> None:
    files = edited(("pathways.yml", "", "P1: {kind: tray}\nP2: {kind: duct}\n"))
    assert told(SITE, files) == ["2 pathways were recorded: P1, P2."]


# The way a change is put down


def test_detail_holds_each_field_as_it_was_and_is() -> None:
    old, new = state(SITE), state(edited(("outlets.yml", 'G01: {room: "101"', 'G01: {room: "104"')))
    (one,) = lines_of_changes(compare(old, new), old, new)
    assert one.verb == "moved"
    assert one.details == ("outlet G01: room: 101 → 104",)


def test_apply_refuses_changes_of_another_state() -> None:
    outlet = RecordState("outlet", "G01", {"room": "101"})
    with pytest.raises(ValueError, match="isn't as it was"):
        apply([Change(outlet, None)], {})
    with pytest.raises(ValueError, match="is there already"):
        apply([Change(None, outlet)], {("outlet", "G01"): {"room": "104"}})


def test_what_an_older_schema_called_something_is_carried() -> None:
    before = edited(("outlets.yml", "G01: {", "G01: {outlet colour: red, old list: [1, {a: b}], "))
    old = state(before)
    assert old["outlet", "G01"]["outlet colour"] == "red"
    assert old["outlet", "G01"]["old list"] == ("1", {"a": "b"})
    assert told(before, SITE) == ["Old list and outlet colour were taken out for outlet G01."]


def test_values_that_cannot_be_read_are_carried_as_typed() -> None:
    files = edited(("outlets.yml", "23.4 m, serves: phone", "long, serves: phone"))
    assert state(files)["outlet", "G02"]["length"] == "long"
    assert told(SITE, files) == ["Length changed for outlet G02 from 23.4 m to long."]


def test_a_key_that_stands_twice() -> None:
    again = edited(("outlets/again.yml", "", 'G01: {room: "104"}\n'))
    assert len(state(again)) == len(state(SITE)) + 1
    assert len(told(SITE, again)) == 1


# What the client may read of it


def client(files: Files) -> State:
    raws, _ = take_folder_apart({path: text.encode() for path, text in files.items()})
    return state_of(for_client(raws, withheld_keys(raws)))


def test_a_withheld_outlet_is_a_device() -> None:
    files = edited(("outlets.yml", "", 'G09: {room: "104", port: 1A/A/09, serves: camera}\n'))
    old, new = client(SITE), client(files)
    assert [one.text for one in lines_of_changes(compare(old, new), old, new)] == [
        "A device was added on port 9 of panel A in enclosure 1A."
    ]


def test_several_withheld_outlets_are_only_counted() -> None:
    rows = "".join(f'C{n}: {{room: "104", port: 1A/A/1{n}, serves: camera}}\n' for n in range(5))
    old, new = client(SITE), client(edited(("outlets.yml", "", rows)))
    (one,) = lines_of_changes(compare(old, new), old, new)
    assert one.text == "5 devices were added."
    assert "104" not in str(one) and "camera" not in str(one)


def test_a_camera_that_moves_to_another_room_is_no_news_to_the_client() -> None:
    files = edited(("outlets.yml", 'G03: {room: "104"', 'G03: {room: "201"'))
    assert compare(client(SITE), client(files)) == ()


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        (
            {"kind": "caution", "hazard": "asbestos", "known": "not known"},
            {"kind": "caution", "hazard": "asbestos", "known": "surveyed", "found": "none found",
             "on": "2023-03-12"},
            "Caution asbestos is surveyed (before: not known): none found.",
        ),
        (
            {"kind": "ups", "runtime": "12 min", "battery changed": "2020-01-01"},
            {"kind": "ups", "runtime": "9 min", "battery changed": "2024-01-01"},
            "Runtime changed for UPS UPS1 in enclosure 1A from 12 min to 9 min; "
            "date of the last battery change changed as well.",
        ),
        (
            {"kind": "enclosure"},
            {"kind": "enclosure", "bonding": "16 mm², 27 milliohm", "note": "x"},
            "Bonding was recorded for enclosure 1A: 16 mm², 27 milliohm; note was recorded as well.",
        ),
        (
            {"kind": "contact", "name": "Iris Quill", "phone": "1", "role": "a"},
            {"kind": "contact", "name": "Iris Quill", "phone": "2", "role": "b"},
            "Phone and role changed for Iris Quill.",
        ),
    ],
)  # fmt: skip
def test_of_several_facts_the_one_that_matters_stands_first(
    before: dict[str, str], after: dict[str, str], said: str
) -> None:
    kind = before["kind"]
    key = {"ups": "1A/UPS1", "enclosure": "1A"}.get(kind, "k")
    states = [
        {(kind, key): {name: text for name, text in facts.items() if name != "kind"}}
        for facts in (before, after)
    ]
    (line,) = lines_of_changes(compare(*states), *states)
    assert line.text == said
