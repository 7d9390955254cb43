# ruff: noqa: E501  (a record is one line, as in the files themselves)
"""Ostrel & Vane, architects (invented): two floors, grown twice, well kept, by now nearly full."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Final

from asbuilt.demo import pictures
from asbuilt.demo.drops import HEADER, Jack, Run, cord_lines, outlet_lines, result_lines
from asbuilt.demo.floors import floor, plan_picture, room_lines
from asbuilt.demo.scene import ILO, MARA, TAMSIN, ZOE, Edit, Folder, Scene

HERE: Final = Folder("ostrel-vane")

GROUND: Final = floor(
    "1",
    28,
    14,
    """
    101  reception       reception                  0   0   8   6
    102  meeting room    meeting room               8   0   6   6
    103  model workshop  workshop                   14  0   7   6
    104  open studio     office                     0   8   16  6
    105  print room      other                      21  0   7   6
    106  kitchen         kitchen                    16  8   5   6
    107  bookkeeping     office                     21  8   4   6
    109  corridor        corridor                   0   6   28  2
    110  store           telecommunications space   25  8   3   6
    """,
)
UPSTAIRS: Final = floor(
    "2",
    28,
    14,
    """
    201  studio east     office                     0   0   13  6
    202  studio south    office                     13  0   9   6
    203  partners        office                     22  0   6   6
    204  studio north    office                     0   8   10  6
    205  meeting room    meeting room               10  8   6   6
    206  library         office                     16  8   5   6
    207  quiet room      office                     21  8   4   6
    209  corridor        corridor                   0   6   28  2
    210  cupboard        telecommunications space   25  8   3   6
    """,
)
FLOORS: Final = (GROUND, UPSTAIRS)

NETWORKS: Final = {
    "desk": "staff",
    "printer": "staff",
    "machine": "staff",
    "meeting table": "guests",
    "display": "guests",
    "access point": "staff",
    "phone": "voice",
    "camera": "watch",
    "door": "watch",
    "building control": "house",
}

# The drops, in the order they were pulled.

_DOWN: Final = Run(
    "1A",
    (26.5, 13.0),
    "cat6",
    NETWORKS,
    via={"": "T1", "102 floor box": "[T1, C1]"},
    quote_rooms=True,
)
_UP: Final = Run(
    "2A",
    (26.5, 13.0),
    "cat6A",
    NETWORKS,
    via={"": "T2"},
    quote_rooms=True,
    installed="2023-10-28",
)

# What hung here when we came; the phones had mains adapters of their own.
FIRST: Final = replace(_DOWN, classes={}).jacks(
    FLOORS,
    "A",
    1,
    """
    101  south wall  desk, phone                   Vera Stint
    101  east wall   printer, spare
    102  floor box   meeting table, meeting table
    102  north wall  display
    104  west wall   desk, desk                    Nils Ferro, Ida Lorne
    104  north wall  desk, desk                    Pim Corvin, Anouk Delmar
    104  north wall  desk, desk                    Bram Teske, Cato Wyld
    104  floor box   desk, desk                    Dorrit Pell, Edda Roon
    104  floor box   desk, phone                   Fenno Marsk
    105  south wall  printer, machine
    107  north wall  desk, phone                   Greta Ulmo
    106  west wall   phone
    """,
)
# Printed in the wrong room at first: 1A-B19 hangs in 105. Told as it happened, mended two days on.
SECOND: Final = replace(_DOWN, installed="2023-03-11").jacks(
    FLOORS,
    "B",
    1,
    """
    103  west wall   desk, desk                    Hanno Brill, Isolde Kray
    103  east wall   machine, machine
    104  east wall   desk, phone                   Jory Tamm
    104  east wall   desk, phone                   Kaia Venn
    104  ceiling     access point
    101  ceiling     access point
    103  ceiling     access point
    109  west end    camera
    109  east end    camera
    101  ceiling     camera
    101  south wall  door
    102  west wall   phone
    107  south wall  desk, phone                   Lorcan Pyle
    105  west wall   printer
    110  north wall  spare
    """,
)
THIRD_A: Final = _UP.jacks(
    FLOORS,
    "A",
    1,
    """
    201  west wall   desk, phone                   Mila Quade
    201  south wall  desk, phone                   Noor Haslet
    201  south wall  desk, phone                   Orla Finch
    201  south wall  desk, phone                   Perrin Stroud
    201  floor box   desk, desk                    Runa Balk, Sten Arvo
    201  floor box   desk, desk                    Tilda Moss, Ulf Drey
    202  south wall  desk, phone                   Wanda Iles
    202  south wall  desk, phone                   Yara Corm
    202  east wall   desk, desk
    203  south wall  desk, phone                   Hugo Ostrel
    203  east wall   desk, phone                   Lena Vane
    205  floor box   meeting table, meeting table
    """,
)
THIRD_B: Final = _UP.jacks(
    FLOORS,
    "B",
    1,
    """
    205  north wall  display, phone
    204  west wall   desk, phone
    204  west wall   desk, phone
    204  north wall  desk, phone
    204  north wall  desk, phone
    206  north wall  desk, printer
    207  north wall  desk, phone
    201  ceiling     access point
    204  ceiling     access point
    203  ceiling     access point
    209  west end    camera
    209  east end    camera
    210  north wall  spare
    """,
)
FOURTH: Final = replace(
    _DOWN, installed="2024-09-17", more={"jacket": "grey", "made": "2024-03-14"}
).jacks(
    FLOORS,
    "C",
    1,
    """
    101  west wall   door
    109  east end    door
    104  west wall   camera
    106  ceiling     camera
    105  ceiling     camera
    103  south wall  camera
    102  ceiling     access point
    107  ceiling     access point
    109  ceiling     building control
    110  north wall  building control
    """,
)
FIFTH: Final = replace(
    _UP, installed="2025-07-15", more={"made": "2025-02-06", "wiring": "T568B"}
).jacks(
    FLOORS,
    "B",
    21,
    """
    202  north wall  desk, desk
    204  east wall   desk, desk
    """,
)

CERTIFIER: Final = "certifier 1"

SITE_AS_FOUND: Final = f"""
name: Ostrel & Vane
trade: architects
address: 14 Cooper's Steps, Tarnhithe
hours: Mon–Fri 08:30–18:00
outage hours: Saturdays, with a week's notice to Vera Stint
access: ring at 14, ask for Vera Stint; the store is behind the kitchen, key from her
measures: metric

contacts:
  stint:  {{name: Vera Stint,  role: office manager, helps with: "keys, rooms, who sits where", phone: 555-0141, email: stint@example.org}}
  ostrel: {{name: Hugo Ostrel, role: partner, authorises: yes, phone: 555-0142, email: ostrel@example.org}}

cautions:
  ceilings: {{hazard: asbestos, known: not known, where: above the ceilings of the ground floor}}
  ups:      {{hazard: batteries, known: reported, where: cabinet 1A, found: lead batteries in UPS1, by: Mara Quist, on: 2022-09-20}}

circuits:
  main:   {{carrier: Northmere Telecom, service: internet, speed: 500 Mb/s, reference: NT-40718, account holder: Ostrel & Vane, support: 555-0190, room: "110", lands on: 1A/R2/LINE}}

networks:                                 # segments, not cables
  staff:  {{name: Staff,  number: 10, purpose: desks and printers}}
  voice:  {{name: Voice,  number: 20, purpose: phones}}
  guests: {{name: Guests, number: 40, purpose: meeting rooms}}

floors:
  "1": {{name: ground floor, level: 0}}

rooms:
{room_lines(GROUND, quote=True)}
"""

CABINET_AS_FOUND: Final = """
room: "110"
kind: floor-standing cabinet
position: north-east corner, rear against the wall on castors
height: 18 U
depth: 780 mm
width: 600 mm
front door: glass, hinged left
rear door: steel, lifts off
clearance front: 1.1 m
locked: yes
key with: Vera Stint
supply: breaker 14 of the board in the kitchen
supply limit: 16 A
supply voltage: 230 V
seen: 2022-09-20 by Mara Quist

front:                                    # U from the bottom; 13-14 is two units
  18:    {panel: A, ports: 24, category: 6, depth: 90 mm, weight: 1.1 kg}
  16:    {switch: SW1, ports: 24, uplinks: 4, speed: 1 Gb/s, uplink speed: 1 Gb/s, depth: 220 mm, weight: 2.6 kg, nameplate: 30 W, fed by: UPS1, serial: 17-1187}
  13-14: {ups: UPS1, output: 1350 W, apparent: 1500 VA, depth: 480 mm, weight: 28 kg, battery changed: 2018-11-06, fed by: P1}
  12:    {router: R1, does: firewall, ports: 4, named ports: [WAN1, WAN2], speed: 1 Gb/s, depth: 180 mm, weight: 1.4 kg, nameplate: 25 W, fed by: UPS1}
  11:    {router: R2, does: optical terminal, ports: 1, named ports: [LINE], speed: 1 Gb/s, part: left, depth: 120 mm, weight: 0.4 kg, owner: Northmere Telecom, nameplate: 12 W, fed by: UPS1}
  8:     {shelf: SH1, depth: 350 mm, weight: 3.2 kg}
rear:
  16:    {power strip: P1, sockets: 8, in use: 2, limit: 16 A, depth: 60 mm, weight: 0.9 kg}
"""

FINDINGS_AS_FOUND: Final = """
F1:
  what: UPS1 (28 kg) sits at U 13-14, high in a cabinet on castors
  bad: hazard
  enclosure: 1A
  item: 1A/UPS1
  falls short of: "common practice: the heaviest low"
  advice: move it to the bottom at the next outage
  to mend: us
  found on: 2022-09-20
  found by: Mara Quist
  tell client: yes
F2:
  what: sockets are numbered D1 to D22 in felt pen, the panel not at all
  bad: incomplete
  enclosure: 1A
  item: 1A/A
  advice: label both ends alike, by enclosure, panel and port
  to mend: us
  found on: 2022-09-22
  found by: Ilo Farrant
  tell client: yes
F3:
  what: no test result was handed over for any of the 22 drops
  bad: incomplete
  advice: certify them before anything is added
  to mend: us
  found on: 2022-09-22
  found by: Ilo Farrant
  tell client: yes
"""

PHOTOS_AS_FOUND: Final = """
P1:
  file: photos/1A-top-2022-09-20.png
  what: UPS1 high in the cabinet (drawn for the demonstration)
  shows: as found
  taken: 2022-09-20
  by: Mara Quist
  enclosure: 1A
  finding: F1
  tell client: yes
P2:
  file: photos/1A-panel-A-2022-09-22.png
  what: panel A without labels, long cords over panel and switch (drawn for the demonstration)
  shows: as found
  taken: 2022-09-22
  by: Ilo Farrant
  enclosure: 1A
  finding: F2
  tell client: yes
"""


def _as_found(jacks: list[Jack]) -> str:
    """Before labels, lengths and plan: what two people with a tone set could see."""
    seen = ("room", "plate", "port", "cable", "serves")
    return outlet_lines(
        replace(
            jack,
            columns=(("label", f"D{n}"), *(fact for fact in jack.columns if fact[0] in seen)),
            rest=tuple(fact for fact in jack.rest if fact[0] in ("state", "network", "person")),
        )
        for n, jack in enumerate(jacks, start=1)
    )


def _rewritten(jacks: list[Jack]) -> Iterator[Edit]:
    """Each line anew, with all that is known of it now."""
    for jack, line in zip(jacks, outlet_lines(jacks).splitlines(), strict=True):
        yield HERE.redo("outlets.yml", f"{jack.key}:", line)


def _repatched(ends: Iterable[tuple[str, str]], cord: str) -> Iterator[Edit]:
    for port, to in ends:
        yield HERE.redo("enclosures/1A.yml", f"{port}:", f"  {port}: {{to: {to}, cord: {cord}}}")


def scenes() -> Iterator[Scene]:
    yield Scene(
        "2022-09-20T16:45+01:00",
        MARA,
        "Ostrel & Vane: records begun, cabinet 1A as found",
        (HERE.new("site.yml", SITE_AS_FOUND), HERE.new("enclosures/1A.yml", CABINET_AS_FOUND)),
        "Took over from nobody: no drawings, no lists. Heights and makes read off the front,\n"
        "depths measured with the rear door off.",
    )
    yield Scene(
        "2022-09-22T17:20+01:00",
        ILO,
        "Ostrel & Vane: 22 sockets traced, patching as found",
        (
            HERE.new("outlets.yml", _as_found(FIRST)),
            HERE.end(
                "enclosures/1A.yml",
                "\n\npatching:                                 # one line a cord\n"
                + cord_lines(FIRST, "SW1", 1, "1 m")
                + "\n  SW1/25: {to: R1/1, cord: 0.5 m}\n  R2/1: {to: R1/WAN1, cord: 0.5 m}",
            ),
            HERE.new("findings.yml", FINDINGS_AS_FOUND),
            HERE.new("photos.yml", PHOTOS_AS_FOUND),
        ),
        "Tone set from both ends. The sockets carry D1 to D22, the panel nothing.",
        pictures=(
            HERE.picture("photos/1A-top-2022-09-20.png", pictures.ups_high),
            HERE.picture("photos/1A-panel-A-2022-09-22.png", pictures.panel_as_found),
        ),
    )
    yield Scene(
        "2022-09-27T09:10+01:00",
        MARA,
        "Ostrel & Vane: job J1, label and certify what is there",
        (
            HERE.new(
                "jobs/J1.yml",
                """
title: Label and certify the 22 drops of the ground floor
kind: survey
state: planned
why: findings F2 and F3; nothing can be added on a cabinet nobody can read
asked by: Vera Stint
asked on: 2022-09-26
authorised by: Hugo Ostrel
window: 2022-10-04 08:00 to 17:00
outage: yes
enclosures: 1A
tell client: yes
""",
            ),
        ),
        job="J1",
    )
    yield Scene(
        "2022-10-04T16:50+01:00",
        ILO,
        "Ostrel & Vane: new labels at both ends, lengths, positions",
        (
            HERE.swap("site.yml", "measures: metric", "measures: metric\nlabels: ANSI/TIA-606"),
            *_rewritten(FIRST),
            HERE.new(
                "pathways.yml",
                """
# Ground floor. What runs above the ceiling was seen through the hatches in 104 and 109 only.
T1: {label: tray 1, kind: tray, from room: "110", to room: "101", route: above the corridor ceiling, width: 100 mm, height: 50 mm, length: 27 m, others: 4}
C1: {label: conduit 1, kind: conduit, from room: "109", to room: "102", route: under the floor to the floor box, bore: 20.93 mm, length: 6 m, bends: 2, pull cord: yes}
""",
            ),
            HERE.fill(
                "findings.yml",
                "F2",
                cleared_on="2022-10-04",
                cleared_by="Ilo Farrant",
                evidence="printed labels at both ends, checked with the tone set",
                job="J1",
            ),
        ),
        "D1 is 1A-A01 from now on, and so forth: enclosure, panel, port.",
        job="J1",
    )
    yield Scene(
        "2022-10-06T12:30+01:00",
        ILO,
        "Ostrel & Vane: certification of panel A; 1A-A17 fails",
        (
            HERE.new(
                "tests/2022-10-panel-A.csv",
                HEADER
                + "\n"
                + result_lines(
                    FIRST,
                    "2022-10-06",
                    CERTIFIER,
                    "2022-03-14",
                    "Ilo Farrant",
                    {"1A-A17": ("fail", "0 dB"), "1A-A11": ("marginal", "0.4 dB")},
                ),
            ),
            HERE.fill(
                "findings.yml",
                "F3",
                cleared_on="2022-10-06",
                cleared_by="Ilo Farrant",
                evidence="tests/2022-10-panel-A.csv",
                job="J1",
            ),
            HERE.end(
                "findings.yml",
                """
F4:
  what: 1A-A17 fails near-end crosstalk, a split pair at the jack
  bad: deficient
  outlet: 1A-A17
  falls short of: Cat 6 permanent link
  advice: terminate the jack again, test again
  to mend: us
  found on: 2022-10-06
  found by: Ilo Farrant
  job: J1
  tell client: yes
""",
            ),
        ),
        job="J1",
    )
    yield Scene(
        "2022-10-11T11:05+01:00",
        ILO,
        "Ostrel & Vane: 1A-A17 terminated again, passes; J1 done",
        (
            HERE.set("outlets.yml", "1A-A17", terminated="2022-10-11"),
            HERE.end(
                "tests/2022-10-panel-A.csv",
                result_lines([FIRST[16]], "2022-10-11", CERTIFIER, "2022-03-14", "Ilo Farrant"),
            ),
            HERE.fill(
                "findings.yml",
                "F4",
                cleared_on="2022-10-11",
                cleared_by="Ilo Farrant",
                evidence="retest of 2022-10-11 passes",
            ),
            HERE.fill(
                "jobs/J1.yml",
                state="verified",
                done_by="Ilo Farrant",
                done_on="2022-10-11",
                verified_by="Mara Quist",
                verified_on="2022-10-11",
                emergency_location="not applicable",
            ),
        ),
        job="J1",
    )
    yield Scene(
        "2022-11-29T15:30+00:00",
        MARA,
        "Ostrel & Vane: landlord's asbestos survey seen",
        (
            HERE.redo(
                "site.yml",
                "ceilings:",
                '  ceilings: {hazard: asbestos, known: surveyed, where: above the ceilings of the ground floor, found: "none in the ground floor; first floor not part of the survey", reference: survey TH-2019-88 kept by the landlord, by: the landlord\'s surveyor, on: 2019-05-14}',
            ),
        ),
        "The landlord showed us the register. It stops at the stairs.",
    )
    yield Scene(
        "2023-01-17T10:15+00:00",
        MARA,
        "Ostrel & Vane: J2 asked for, twenty more sockets",
        (
            HERE.new(
                "jobs/J2.yml",
                """
title: "Twenty more drops on the ground floor: workshop, cameras, wireless"
kind: add
state: asked
why: the model workshop opens in spring; no camera and no wireless so far
asked by: Vera Stint
asked on: 2023-01-16
wanted by: 2023-03-31
rooms: ["101", "102", "103", "104", "105", "107", "109"]
enclosures: 1A
tell client: yes
""",
            ),
        ),
        job="J2",
    )
    yield Scene(
        "2023-01-26T14:00+00:00",
        MARA,
        "Ostrel & Vane: J2 authorised, planned for 11 March",
        (
            HERE.fill(
                "jobs/J2.yml",
                state="planned",
                authorised_by="Hugo Ostrel",
                window="2023-03-11 08:00 to 20:00",
                outage="yes",
                instructions="pull and certify panel B before the window; move the UPS first, while all is off",
            ),
        ),
        job="J2",
    )
    yield Scene(
        "2023-03-11T12:10+00:00",
        ILO,
        "Ostrel & Vane: 1A re-racked, panel B and switch SW2 in",
        (
            HERE.swap("enclosures/1A.yml", "  18:    {panel: A,", "  16:    {panel: A,"),
            HERE.swap("enclosures/1A.yml", "  16:    {switch: SW1,", "  15:    {switch: SW1,"),
            HERE.after(
                "enclosures/1A.yml",
                "15:    {switch: SW1",
                """
  14:    {panel: B, ports: 24, category: 6, depth: 90 mm, weight: 1.1 kg, installed: 2023-03-11}
  13:    {manager: M2, depth: 70 mm, weight: 0.6 kg, installed: 2023-03-11}
  11:    {switch: SW2, ports: 24, uplinks: 4, speed: 1 Gb/s, uplink speed: 1 Gb/s, poe: 370 W, depth: 330 mm, weight: 5.4 kg, nameplate: 450 W, fed by: UPS1, installed: 2023-03-11, warranty until: 2028-03-31, host name: ov-1a-sw2, address: 192.0.2.12}
""",
            ),
            HERE.swap("enclosures/1A.yml", "  12:    {router: R1,", "  10:    {router: R1,"),
            HERE.swap("enclosures/1A.yml", "  11:    {router: R2,", "  9:     {router: R2,"),
            HERE.swap("enclosures/1A.yml", "  8:     {shelf: SH1,", "  5:     {shelf: SH1,"),
            HERE.strike("enclosures/1A.yml", "13-14: {ups"),
            HERE.after(
                "enclosures/1A.yml",
                "5:     {shelf: SH1",
                "  1-2:   {ups: UPS1, output: 1350 W, apparent: 1500 VA, depth: 480 mm, weight: 28 kg, battery changed: 2018-11-06, fed by: P1}",
            ),
            HERE.before(
                "enclosures/1A.yml",
                "16:    {panel: A",
                "  17:    {manager: M1, depth: 70 mm, weight: 0.6 kg, installed: 2023-03-11}",
            ),
            HERE.swap(
                "enclosures/1A.yml",
                "# U from the bottom; 13-14 is two units",
                "# U from the bottom; 1-2 is two units",
            ),
            *_repatched(((f"A/{n:02}", f"SW1/{n:02}") for n in range(1, 23) if n != 4), "0.3 m"),
            HERE.fill(
                "findings.yml",
                "F1",
                cleared_on="2023-03-11",
                cleared_by="Ilo Farrant",
                evidence="UPS1 stands at U 1-2",
                job="J2",
            ),
            HERE.fill("photos.yml", "P1", job="J2"),
            HERE.fill("photos.yml", "P2", job="J2"),
            HERE.end(
                "photos.yml",
                """
P3:
  file: photos/1A-bottom-2023-03-11.png
  what: UPS1 at the bottom (drawn for the demonstration)
  shows: as left
  taken: 2023-03-11
  by: Ilo Farrant
  enclosure: 1A
  finding: F1
  job: J2
  tell client: yes
P4:
  file: photos/1A-panel-A-2023-03-11.png
  what: panel A labelled, short cords to SW1 (drawn for the demonstration)
  shows: as left
  taken: 2023-03-11
  by: Ilo Farrant
  enclosure: 1A
  finding: F2
  job: J2
  tell client: yes
""",
            ),
        ),
        "Order of work: all off 08:10, UPS down to the bottom, A and SW1 next to each other,\n"
        "short cords, all on 11:40. Vera Stint checked the phones.",
        job="J2",
        pictures=(
            HERE.picture("photos/1A-bottom-2023-03-11.png", pictures.ups_low),
            HERE.picture("photos/1A-panel-A-2023-03-11.png", pictures.panel_as_left),
        ),
    )
    yield Scene(
        "2023-03-11T18:25+00:00",
        ILO,
        "Ostrel & Vane: twenty drops on panel B, phones now powered by SW2",
        (
            HERE.end("outlets.yml", "\n\n# Panel B, March 2023\n" + outlet_lines(_slipped(SECOND))),
            HERE.before("enclosures/1A.yml", "SW1/25:", cord_lines(SECOND, "SW2", 1, "0.3 m")),
            *_repatched(
                (("A/02", "SW2/21"), ("A/17", "SW2/22"), ("A/21", "SW2/23"), ("A/22", "SW2/24")),
                "0.7 m",
            ),
            HERE.after("enclosures/1A.yml", "SW1/25:", "  SW1/26: {to: SW2/25, cord: 0.5 m}"),
            *(
                HERE.set("outlets.yml", key, poe="class 2")
                for key in ("1A-A02", "1A-A17", "1A-A21", "1A-A22")
            ),
            HERE.after(
                "site.yml",
                "guests:",
                "  watch:  {name: Watch,  number: 30, purpose: cameras and doors}",
            ),
            HERE.fill(
                "jobs/J2.yml",
                state="done",
                done_by="Ilo Farrant",
                done_on="2023-03-11",
                emergency_location="updated",
            ),
        ),
        job="J2",
    )
    yield Scene(
        "2023-03-13T08:40+00:00",
        ILO,
        "Ostrel & Vane: printer 1A-B19 is in 105, not in 107",
        (HERE.redo("outlets.yml", "1A-B19:", _aligned(SECOND, 18)),),
        "Typed the wrong room on Saturday. Lorcan Pyle looked for the socket and rang.",
    )
    yield Scene(
        "2023-03-16T16:00+00:00",
        TAMSIN,
        "Ostrel & Vane: certification of panel B, J2 verified",
        (
            HERE.new(
                "tests/2023-03-panel-B.csv",
                HEADER
                + "\n"
                + result_lines(SECOND, "2023-03-16", CERTIFIER, "2023-02-27", "Tamsin Oke"),
            ),
            HERE.fill(
                "jobs/J2.yml", state="verified", verified_by="Tamsin Oke", verified_on="2023-03-16"
            ),
        ),
        job="J2",
    )
    yield Scene(
        "2023-05-09T17:30+01:00",
        TAMSIN,
        "Ostrel & Vane: Ida Lorne moves to the workshop",
        (
            HERE.set("outlets.yml", "1A-A09", person="Isolde Kray"),
            HERE.set("outlets.yml", "1A-B02", person="Ida Lorne"),
            HERE.new(
                "jobs/J3.yml",
                """
title: Ida Lorne and Isolde Kray change places
kind: move
state: verified
asked by: Vera Stint
asked on: 2023-05-04
authorised by: Vera Stint
outage: no
rooms: ["103", "104"]
outlets: [1A-A09, 1A-B02]
done by: Tamsin Oke
done on: 2023-05-09
verified by: Vera Stint
verified on: 2023-05-09
emergency location: not applicable
tell client: yes
""",
            ),
        ),
        job="J3",
    )
    yield Scene(
        "2023-06-20T11:45+01:00",
        MARA,
        "Ostrel & Vane: J4 refused, the garden studio is too far for copper",
        (
            HERE.new(
                "jobs/J4.yml",
                """
title: Two sockets in the garden studio
kind: add
state: refused
why: Hugo Ostrel would like to draw outdoors in summer
asked by: Hugo Ostrel
asked on: 2023-06-12
refused because: the way round by the boundary wall measures 118 m, over the 90 m of a permanent link; offered fibre with a switch in the studio instead, not taken up
enclosures: 1A
tell client: yes
""",
            ),
        ),
        job="J4",
    )
    yield Scene(
        "2023-09-05T09:30+01:00",
        MARA,
        "Ostrel & Vane: J5 asked for, the first floor is taken on",
        (
            HERE.new(
                "jobs/J5.yml",
                """
title: "First floor: own enclosure, fibre down to 1A, 44 drops"
kind: new work
state: asked
why: the firm takes the floor above from October
asked by: Hugo Ostrel
asked on: 2023-09-01
wanted by: 2023-11-06
enclosures: 1A
tell client: yes
""",
            ),
            HERE.after(
                "site.yml",
                "ostrel:",
                "  vane:   {name: Lena Vane,   role: partner, authorises: yes, phone: 555-0143, email: vane@example.org}",
            ),
        ),
        job="J5",
    )
    yield Scene(
        "2023-09-19T16:20+01:00",
        MARA,
        "Ostrel & Vane: J5 authorised, planned for the last October weekend",
        (
            HERE.fill(
                "jobs/J5.yml",
                state="planned",
                authorised_by="Lena Vane",
                window="2023-10-27 07:00 to 2023-10-28 20:00",
                outage="no",
                instructions="survey for asbestos upstairs has to be in before anybody drills (asked for 2023-09-06)",
            ),
            HERE.after(
                "site.yml",
                "ceilings:",
                "  upstairs: {hazard: asbestos, known: surveyed, where: first floor, found: none found in ceilings and risers that were opened, reference: survey TH-2023-41 kept by the landlord, by: the landlord's surveyor, on: 2023-09-15}",
            ),
        ),
        job="J5",
    )
    yield Scene(
        "2023-10-27T18:10+01:00",
        ILO,
        "Ostrel & Vane: enclosure 2A upstairs, fibre between 1A and 2A",
        (
            HERE.after(
                "site.yml", '"1": {name: ground floor', '  "2": {name: first floor, level: 1}'
            ),
            HERE.end("site.yml", room_lines(UPSTAIRS, quote=True)),
            HERE.new(
                "enclosures/2A.yml",
                """
room: "210"
kind: wall-mounted cabinet
position: west wall, lower edge at 1.1 m
height: 12 U
depth: 520 mm
width: 600 mm
load limit: 60 kg
front door: glass, hinged right
clearance front: 0.9 m
locked: yes
key with: Vera Stint
supply: breaker 6 of the board on the first-floor landing
supply limit: 16 A
supply voltage: 230 V
bonding: 6 mm² to the busbar in 110, 38 milliohm measured 2023-10-27
installed: 2023-10-27
seen: 2023-10-27 by Ilo Farrant

front:                                    # U from the bottom; 1-2 is two units
  12:  {panel: F, ports: 12, media: fibre, connector: LC duplex, depth: 200 mm, weight: 2.0 kg}
  11:  {panel: A, ports: 24, category: 6A, depth: 110 mm, weight: 1.4 kg}
  10:  {switch: SW1, ports: 48, uplinks: 4, speed: 1 Gb/s, uplink speed: 10 Gb/s, poe: 370 W, depth: 330 mm, weight: 5.8 kg, nameplate: 480 W, fed by: UPS1, warranty until: 2028-10-31, host name: ov-2a-sw1, address: 192.0.2.21}
  9:   {panel: B, ports: 24, category: 6A, depth: 110 mm, weight: 1.4 kg}
  8:   {manager: M1, depth: 70 mm, weight: 0.6 kg}
  1-2: {ups: UPS1, output: 900 W, apparent: 1000 VA, depth: 440 mm, weight: 19 kg, battery changed: 2023-10-12}
without U:
  - {power strip: P1, where: right rear upright, sockets: 6, in use: 2}
""",
            ),
            HERE.before(
                "enclosures/1A.yml",
                "17:    {manager: M1",
                "  18:    {panel: F, ports: 12, media: fibre, connector: LC duplex, depth: 220 mm, weight: 2.0 kg, installed: 2023-10-27}",
            ),
            HERE.new(
                "backbones.yml",
                """
# Twelve strands, six duplex ports at each end, port to port.
BB1: {label: 1A/2A-1, from: 1A/F/01-06, to: 2A/F/01-06, cable: OM4, strands: 12, length: 14.5 m, via: S1, installed: 2023-10-27}
""",
            ),
            HERE.end(
                "pathways.yml",
                """

# Between the floors, and upstairs
S1: {label: sleeve 1, kind: sleeve, from room: "110", to room: "210", route: through the ceiling of the store, bore: 52.5 mm, length: 0.4 m, barrier: "concrete floor, 60 min by the landlord's drawing", barrier known: reported}
T2: {label: basket 2, kind: basket, from room: "210", to room: "201", route: above the corridor ceiling, width: 100 mm, height: 50 mm, length: 26 m}
""",
            ),
        ),
        job="J5",
    )
    yield Scene(
        "2023-10-28T17:55+01:00",
        ZOE,
        "Ostrel & Vane: 44 drops upstairs, patched, 2A live over fibre",
        (
            HERE.end(
                "outlets.yml",
                "\n\n# Upstairs, panels A and B of 2A, October 2023\n"
                + outlet_lines([*THIRD_A, *THIRD_B]),
            ),
            HERE.end(
                "enclosures/2A.yml",
                "\n\npatching:                                 # one line a cord\n"
                + cord_lines(THIRD_A, "SW1", 1, "0.3 m")
                + "\n"
                + cord_lines(THIRD_B, "SW1", 25, "0.3 m")
                + "\n  SW1/49: {to: F/01, cord: 0.5 m, media: fibre}",
            ),
            HERE.after(
                "enclosures/1A.yml", "SW1/26:", "  SW1/27: {to: F/01, cord: 0.5 m, media: fibre}"
            ),
            HERE.fill("jobs/J5.yml", state="done", done_by="Zoë Lindqvarn", done_on="2023-10-28"),
        ),
        "SW1 in 1A has 1 Gb/s uplinks only, so the fibre runs at 1 Gb/s for now.",
        job="J5",
    )
    yield Scene(
        "2023-10-31T15:15+00:00",
        ZOE,
        "Ostrel & Vane: certification of 2A and of the fibre",
        (
            HERE.new(
                "tests/2023-10-2A.csv",
                HEADER
                + "\n"
                + result_lines(
                    [*THIRD_A, *THIRD_B],
                    "2023-10-31",
                    CERTIFIER,
                    "2023-02-27",
                    "Zoë Lindqvarn",
                    {"2A-B10": ("marginal", "0.3 dB")},
                ),
            ),
            HERE.new(
                "tests/2023-10-fibre.csv",
                HEADER
                + "\nBB1,2023-10-31,pass,OM4 850 nm both directions,14.4 m,1.1 dB,optical loss set 2,2023-05-08,Zoë Lindqvarn",
            ),
        ),
        job="J5",
    )
    yield Scene(
        "2023-11-03T10:20+00:00",
        MARA,
        "Ostrel & Vane: plans of both floors in, J5 verified",
        (
            HERE.new("plans/ground.svg", plan_picture("Ostrel & Vane, ground floor", GROUND)),
            HERE.new("plans/first.svg", plan_picture("Ostrel & Vane, first floor", UPSTAIRS)),
            HERE.redo(
                "site.yml",
                '"1": {name: ground floor',
                '  "1": {name: ground floor, level: 0, plan: plans/ground.svg, plan width: 28 m}',
            ),
            HERE.redo(
                "site.yml",
                '"2": {name: first floor',
                '  "2": {name: first floor,  level: 1, plan: plans/first.svg, plan width: 28 m}',
            ),
            HERE.fill(
                "jobs/J5.yml",
                state="verified",
                verified_by="Mara Quist",
                verified_on="2023-11-03",
                emergency_location="updated",
            ),
        ),
        job="J5",
    )
    yield Scene(
        "2024-01-16T09:05+00:00",
        TAMSIN,
        "Ostrel & Vane: six people move upstairs",
        (
            HERE.set("outlets.yml", "2A-A17", person="Pim Corvin"),
            HERE.set("outlets.yml", "2A-A18", person="Anouk Delmar"),
            HERE.set("outlets.yml", "2A-B03", person="Bram Teske"),
            HERE.set("outlets.yml", "2A-B05", person="Cato Wyld"),
            HERE.set("outlets.yml", "2A-B07", person="Jory Tamm"),
            HERE.set("outlets.yml", "2A-B09", person="Kaia Venn"),
            *(
                HERE.set("outlets.yml", key, person=None)
                for key in (
                    "1A-A10",
                    "1A-A11",
                    "1A-A12",
                    "1A-A13",
                    "1A-B05",
                    "1A-B06",
                    "1A-B07",
                    "1A-B08",
                )
            ),
            HERE.new(
                "jobs/J6.yml",
                """
title: Six people from the open studio to the first floor
kind: move
state: verified
asked by: Vera Stint
asked on: 2024-01-08
authorised by: Lena Vane
window: 2024-01-15 16:00 to 18:30
outage: no
rooms: ["104", "202", "204"]
outlets: [1A-A10, 1A-A11, 1A-A12, 1A-A13, 1A-B05, 1A-B07, 2A-A17, 2A-A18, 2A-B03, 2A-B05, 2A-B07, 2A-B09]
done by: Tamsin Oke
done on: 2024-01-15
verified by: Vera Stint
verified on: 2024-01-16
emergency location: updated
tell client: yes
""",
            ),
        ),
        "The desks they left stay patched: new people are expected in April.",
        job="J6",
    )
    yield Scene(
        "2024-03-19T12:00+00:00",
        ILO,
        "Ostrel & Vane: new batteries in UPS1 of 1A",
        (
            HERE.swap(
                "enclosures/1A.yml",
                "battery changed: 2018-11-06",
                "battery changed: 2024-03-19, runtime: 14 min",
            ),
            HERE.before(
                "enclosures/1A.yml",
                "1-2:   {ups: UPS1",
                "  3-4:   {reserve: RES1, for: a second battery pack}",
            ),
            HERE.end(
                "findings.yml",
                """
F5:
  what: batteries of UPS1 are over five years old, self-test failed
  bad: deficient
  item: 1A/UPS1
  to mend: us
  found on: 2024-03-05
  found by: Ilo Farrant
  cleared on: 2024-03-19
  cleared by: Ilo Farrant
  evidence: new battery pack, self-test passes
  tell client: yes
""",
            ),
        ),
    )
    yield Scene(
        "2024-05-21T09:50+01:00",
        MARA,
        "Ostrel & Vane: J7 planned, a faster switch for 1A",
        (
            HERE.new(
                "jobs/J7.yml",
                """
title: Replace SW1 in 1A by a 48-port switch with power
kind: change
state: planned
why: the fibre to 2A runs at a tenth of what it could; SW2 has one port left
asked by: Lena Vane
asked on: 2024-05-13
authorised by: Lena Vane
window: 2024-06-08 08:00 to 12:00
outage: yes
enclosures: 1A
instructions: everybody goes dark, cameras too; photograph the patching first
tell client: yes
""",
            ),
        ),
        job="J7",
    )
    yield Scene(
        "2024-06-08T11:35+01:00",
        ZOE,
        "Ostrel & Vane: SW1 in 1A replaced, phones of panel A back on it",
        (
            HERE.redo(
                "enclosures/1A.yml",
                "15:    {switch: SW1",
                "  15:    {switch: SW1, ports: 48, uplinks: 4, speed: 1 Gb/s, uplink speed: 10 Gb/s, poe: 370 W, depth: 330 mm, weight: 5.8 kg, nameplate: 480 W, fed by: UPS1, installed: 2024-06-08, warranty until: 2029-06-30, host name: ov-1a-sw1, address: 192.0.2.11, serial: 24-3302}",
            ),
            HERE.redo("enclosures/1A.yml", "SW1/25:", "  SW1/47: {to: R1/1, cord: 0.5 m}"),
            HERE.redo("enclosures/1A.yml", "SW1/26:", "  SW1/48: {to: SW2/25, cord: 0.5 m}"),
            HERE.redo(
                "enclosures/1A.yml", "SW1/27:", "  SW1/49: {to: F/01, cord: 0.5 m, media: fibre}"
            ),
            *_repatched(
                (("A/02", "SW1/02"), ("A/17", "SW1/17"), ("A/21", "SW1/21"), ("A/22", "SW1/22")),
                "0.3 m",
            ),
            HERE.fill(
                "jobs/J7.yml",
                state="verified",
                done_by="Zoë Lindqvarn",
                done_on="2024-06-08",
                verified_by="Zoë Lindqvarn",
                verified_on="2024-06-08",
                emergency_location="not applicable",
            ),
        ),
        "Each cord ticked three times: link up, right network, device works. 10 Gb/s to 2A.",
        job="J7",
    )
    yield Scene(
        "2024-09-19T10:10+01:00",
        ILO,
        "Ostrel & Vane: panel C with cameras, doors and house controls",
        (
            HERE.after(
                "enclosures/1A.yml",
                "13:    {manager: M2",
                "  12:    {panel: C, ports: 12, category: 6, depth: 90 mm, weight: 0.8 kg, installed: 2024-09-17}",
            ),
            HERE.before(
                "enclosures/1A.yml",
                "5:     {shelf: SH1",
                "  6-7:   {device: REC1, does: camera recorder, ports: 2, speed: 1 Gb/s, depth: 400 mm, weight: 9.5 kg, nameplate: 90 W, fed by: UPS1, installed: 2024-09-17}",
            ),
            HERE.before(
                "enclosures/1A.yml",
                "SW1/47:",
                cord_lines(FOURTH, "SW1", 25, "0.5 m, colour: red")
                + "\n  REC1/01: {to: SW1/35, cord: 0.7 m}",
            ),
            HERE.end(
                "outlets.yml",
                "\n\n# Panel C: cameras, doors, house; not for desks\n" + outlet_lines(FOURTH),
            ),
            HERE.after(
                "site.yml",
                "watch:",
                "  house:  {name: House,  number: 50, purpose: heating and blinds}",
            ),
            HERE.new(
                "tests/2024-09-panel-C.csv",
                HEADER
                + "\n"
                + result_lines(FOURTH, "2024-09-17", CERTIFIER, "2024-02-19", "Ilo Farrant"),
            ),
            HERE.new(
                "jobs/J8.yml",
                """
title: Cameras, two doors, wireless in 102 and 107, heating control
kind: add
state: verified
why: insurance asks for cameras at every outside wall
asked by: Lena Vane
asked on: 2024-08-06
authorised by: Lena Vane
window: 2024-09-16 07:30 to 2024-09-17 17:30
outage: no
rooms: ["101", "102", "103", "104", "105", "106", "107", "109", "110"]
enclosures: 1A
done by: Ilo Farrant
done on: 2024-09-17
verified by: Mara Quist
verified on: 2024-09-19
emergency location: not applicable
""",
            ),
        ),
        job="J8",
    )
    yield Scene(
        "2024-11-26T16:30+00:00",
        MARA,
        "Ostrel & Vane: second circuit as a way out when the first fails",
        (
            HERE.after(
                "site.yml",
                "main:",
                '  backup: {carrier: Quellmark Radio, service: internet over the air, speed: 100 Mb/s, reference: QR-2214, account holder: Ostrel & Vane, support: 555-0191, room: "110", lands on: 1A/R3/LINE, backup: yes}',
            ),
            HERE.redo(
                "enclosures/1A.yml",
                "9:     {router: R2",
                """
  9:
    - {router: R2, does: optical terminal, ports: 1, named ports: [LINE], speed: 1 Gb/s, part: left, depth: 120 mm, weight: 0.4 kg, owner: Northmere Telecom, nameplate: 12 W, fed by: UPS1}
    - {router: R3, does: modem, ports: 1, named ports: [LINE], speed: 1 Gb/s, part: right, depth: 120 mm, weight: 0.5 kg, owner: Quellmark Radio, nameplate: 15 W, fed by: UPS1, installed: 2024-11-26}
""",
            ),
            HERE.end("enclosures/1A.yml", "  R3/1: {to: R1/WAN2, cord: 0.5 m}"),
            HERE.new(
                "jobs/J9.yml",
                """
title: Second circuit, by radio
kind: add
state: verified
asked by: Lena Vane
asked on: 2024-10-21
authorised by: Lena Vane
outage: no
enclosures: 1A
done by: Mara Quist
done on: 2024-11-26
verified by: Mara Quist
verified on: 2024-11-26
emergency location: not applicable
tell client: yes
""",
            ),
        ),
        "Tried: main unplugged, 40 s until the firewall took the other way.",
        job="J9",
    )
    yield Scene(
        "2025-02-11T13:25+00:00",
        TAMSIN,
        "Ostrel & Vane: cords of 1A lined up, headings; no change of meaning",
        (HERE.layout("enclosures/1A.yml", _tidied),),
    )
    yield Scene(
        "2025-03-18T09:05+00:00",
        TAMSIN,
        "Ostrel & Vane: socket 2A-A11 broken by a desk leg",
        (
            HERE.set("outlets.yml", "2A-A11", state="dead"),
            HERE.end(
                "findings.yml",
                """
F6:
  what: jack of 2A-A11 torn out by the leg of a desk; Tilda Moss works over wireless
  bad: deficient
  room: "201"
  outlet: 2A-A11
  to mend: us
  found on: 2025-03-17
  found by: Vera Stint
  tell client: yes
""",
            ),
        ),
    )
    yield Scene(
        "2025-04-01T10:40+01:00",
        ILO,
        "Ostrel & Vane: 2A-A11 has a new jack and passes",
        (
            HERE.set("outlets.yml", "2A-A11", state=None, terminated="2025-04-01"),
            HERE.new(
                "tests/2025-04-repair.csv",
                HEADER
                + "\n"
                + result_lines([THIRD_A[10]], "2025-04-01", CERTIFIER, "2025-02-24", "Ilo Farrant"),
            ),
            HERE.fill(
                "findings.yml",
                "F6",
                cleared_on="2025-04-01",
                cleared_by="Ilo Farrant",
                evidence="new jack, test of 2025-04-01 passes",
                job="J10",
            ),
            HERE.new(
                "jobs/J10.yml",
                """
title: New jack for 2A-A11
kind: repair
state: verified
why: finding F6
asked by: Vera Stint
asked on: 2025-03-17
authorised by: Vera Stint
outage: no
rooms: "201"
outlets: 2A-A11
done by: Ilo Farrant
done on: 2025-04-01
verified by: Ilo Farrant
verified on: 2025-04-01
emergency location: not applicable
tell client: yes
""",
            ),
        ),
        job="J10",
    )
    yield Scene(
        "2025-07-15T16:15+01:00",
        ZOE,
        "Ostrel & Vane: four more drops upstairs; panel B of 2A is full",
        (
            HERE.end("outlets.yml", outlet_lines(FIFTH)),
            HERE.before("enclosures/2A.yml", "SW1/49:", cord_lines(FIFTH, "SW1", 45, "0.3 m")),
            HERE.after(
                "enclosures/2A.yml",
                "8:   {manager: M1",
                "  7:   {reserve: RES1, for: panel C, installed: 2025-07-15}",
            ),
            HERE.new(
                "tests/2025-07-2A.csv",
                HEADER
                + "\n"
                + result_lines(FIFTH, "2025-07-15", CERTIFIER, "2025-02-24", "Zoë Lindqvarn"),
            ),
            HERE.new(
                "jobs/J11.yml",
                """
title: Two double sockets in the studios 202 and 204
kind: add
state: verified
asked by: Vera Stint
asked on: 2025-06-24
authorised by: Lena Vane
outage: no
rooms: ["202", "204"]
enclosures: 2A
outlets: [2A-B21, 2A-B22, 2A-B23, 2A-B24]
done by: Zoë Lindqvarn
done on: 2025-07-15
verified by: Zoë Lindqvarn
verified on: 2025-07-15
emergency location: not applicable
tell client: yes
""",
            ),
        ),
        "U 7 kept for a third panel. Panel and switch are full now but for the spare in 210.",
        job="J11",
    )
    yield Scene(
        "2025-10-21T14:50+01:00",
        ILO,
        "Ostrel & Vane: kitchen phone to port 23, port 22 of panel A is dead",
        (
            HERE.set(
                "outlets.yml", "1A-A22", label="1A-A23", port="1A/A/23", terminated="2025-10-21"
            ),
            HERE.swap(
                "enclosures/1A.yml",
                "{panel: A, ports: 24, category: 6,",
                "{panel: A, ports: 24, category: 6, dead: [22],",
            ),
            HERE.redo("enclosures/1A.yml", "A/22:", "  A/23:    {to: SW1/23, cord: 0.3 m}"),
        ),
        "Pin 4 of the panel port no longer springs back. Relabelled at both ends.",
    )
    yield Scene(
        "2026-01-20T17:40+00:00",
        MARA,
        "Ostrel & Vane: yearly visit",
        (
            *(HERE.set("outlets.yml", jack.key, seen="2026-01-20 by Mara Quist") for jack in FIRST),
            HERE.redo("enclosures/1A.yml", "seen:", "seen: 2026-01-20 by Mara Quist"),
            HERE.redo("enclosures/2A.yml", "seen:", "seen: 2026-01-20 by Mara Quist"),
            HERE.end(
                "findings.yml",
                """
F7:
  what: sleeve S1 between the floors is open around the fibre, no fire-stop
  bad: hazard
  room: "210"
  falls short of: the floor's fire rating as the landlord's drawing gives it
  options: a fire-stop contractor seals it; or the landlord's own crew does
  advice: have it sealed by people trained for the system, and tagged
  to mend: landlord
  found on: 2026-01-20
  found by: Mara Quist
  tell client: yes
F8:
  what: cords of panel C hang across the front of REC1 and hold its door shut
  bad: untidy
  item: 1A/REC1
  advice: a ring at U 8, or 0.7 m cords round the side
  to mend: us
  found on: 2026-01-20
  found by: Mara Quist
F9:
  what: no bonding conductor found at cabinet 1A
  bad: deficient
  enclosure: 1A
  falls short of: "common practice: each cabinet its own conductor to the room's busbar"
  advice: ask the electrician for a conductor to the busbar that 2A is bonded to
  to mend: another trade
  found on: 2026-01-20
  found by: Mara Quist
  tell client: yes
""",
            ),
            HERE.swap(
                "enclosures/1A.yml",
                "poe: 370 W, depth: 330 mm, weight: 5.4 kg",
                "poe: 370 W, poe measured: 118 W, depth: 330 mm, weight: 5.4 kg",
            ),
            HERE.swap("enclosures/2A.yml", "poe: 370 W,", "poe: 370 W, poe measured: 161 W,"),
            HERE.end(
                "photos.yml",
                """
P5:
  file: photos/1A-REC1-2026-01-20.png
  what: cords of panel C across the front of REC1 (drawn for the demonstration)
  shows: as found
  taken: 2026-01-20
  by: Mara Quist
  enclosure: 1A
  finding: F8
""",
            ),
        ),
        "Both cabinets, and the old run of panel A socket by socket. The sleeve should have been\n"
        "sealed in 2023; our miss.",
        pictures=(HERE.picture("photos/1A-REC1-2026-01-20.png", pictures.cords_across),),
    )
    yield Scene(
        "2026-03-24T15:35+00:00",
        ZOE,
        "Ostrel & Vane: plotter from the print room to the workshop",
        (
            HERE.set(
                "outlets.yml",
                "1A-A19",
                room='"103"',
                plate="north wall",
                position='"18.2 m, 5.9 m"',
                length="24.6 m",
                terminated="2026-03-24",
            ),
            HERE.new(
                "tests/2026-03-plotter.csv",
                HEADER
                + "\n1A-A19,2026-03-24,pass,Cat 6 permanent link,24.5 m,4.8 dB,certifier 1,2026-02-16,Zoë Lindqvarn",
            ),
            HERE.new(
                "jobs/J12.yml",
                """
title: Plotter 1A-A19 from 105 to 103
kind: move
state: verified
why: the big prints are trimmed in the workshop
asked by: Vera Stint
asked on: 2026-03-10
authorised by: Vera Stint
window: 2026-03-24 13:00 to 16:00
outage: yes
rooms: ["103", "105"]
outlets: 1A-A19
instructions: pull the drop back to tray T1 and drop it into 103; no joint
done by: Zoë Lindqvarn
done on: 2026-03-24
verified by: Vera Stint
verified on: 2026-03-24
emergency location: not applicable
tell client: yes
""",
            ),
        ),
        job="J12",
    )
    yield Scene(
        "2026-03-25T10:05+00:00",
        MARA,
        "Ostrel & Vane: binder handed to Vera Stint",
        (HERE.after("site.yml", "keeper:", "binder handed over: 2026-03-25"),),
    )
    yield Scene(
        "2026-06-16T12:45+01:00",
        TAMSIN,
        "Ostrel & Vane: stronger access points upstairs, class 6",
        (
            *(
                HERE.set("outlets.yml", key, poe="class 6")
                for key in ("2A-B15", "2A-B16", "2A-B17")
            ),
            HERE.new(
                "jobs/J13.yml",
                """
title: Three new access points on the first floor
kind: change
state: verified
asked by: Lena Vane
asked on: 2026-05-18
authorised by: Lena Vane
outage: no
rooms: ["201", "203", "204"]
outlets: [2A-B15, 2A-B16, 2A-B17]
done by: Tamsin Oke
done on: 2026-06-16
verified by: Tamsin Oke
verified on: 2026-06-16
emergency location: not applicable
tell client: yes
""",
            ),
        ),
        "They ask for 60 W each by class; little is left of the switch's 370 W.",
        job="J13",
    )
    yield Scene(
        "2026-09-22T11:15+01:00",
        MARA,
        "Ostrel & Vane: sleeve S1 sealed, F7 cleared",
        (
            HERE.set(
                "pathways.yml",
                "S1",
                seal='"fire-stop compound, tag TH-114, by the landlord\'s fire-stop contractor 2026-09-17"',
            ),
            HERE.fill(
                "findings.yml",
                "F7",
                cleared_on="2026-09-17",
                cleared_by="the landlord's contractor",
                evidence="tag TH-114 seen 2026-09-22",
            ),
        ),
    )
    yield Scene(
        "2026-10-20T09:25+01:00",
        MARA,
        "Ostrel & Vane: J14 asked for, twelve more desks downstairs",
        (
            HERE.new(
                "jobs/J14.yml",
                """
title: Twelve more drops in the open studio
kind: add
state: asked
why: a competition won; six draughtsmen from January
asked by: Lena Vane
asked on: 2026-10-16
wanted by: 2027-01-04
rooms: "104"
enclosures: 1A
tell client: yes
""",
            ),
        ),
        job="J14",
    )
    yield Scene(
        "2026-11-12T16:55+00:00",
        MARA,
        "Ostrel & Vane: J14 authorised and planned for 5 December",
        (
            HERE.fill(
                "jobs/J14.yml",
                state="planned",
                authorised_by="Lena Vane",
                window="2026-12-05 08:00 to 15:00",
                outage="no",
                instructions="panel D into U 8, the last free one below R2; twelve ports of SW1 serve it",
            ),
            HERE.before(
                "enclosures/1A.yml",
                "6-7:   {device: REC1",
                "  8:     {reserve: RES2, for: panel D of job J14}",
            ),
        ),
        job="J14",
    )


def _slipped(jacks: list[Jack]) -> list[Jack]:
    """As it was typed on the Saturday: one printer in the wrong room."""
    wrong = replace(jacks[18], columns=(("room", '"107"'), *jacks[18].columns[1:]))
    return [*jacks[:18], wrong, *jacks[19:]]


def _aligned(jacks: list[Jack], nth: int) -> str:
    return outlet_lines(jacks).splitlines()[nth]


def _tidied(text: str) -> str:
    """The patching with its columns lined up and a heading over each panel."""
    head, patching, cords = text.partition("patching:")
    lines: list[str] = []
    for line in cords.splitlines()[1:]:
        port, _, rest = line.strip().partition(" ")
        item = port.partition("/")[0]
        heading = f"  # panel {item}" if item in "ABC" else "  # between devices"
        if heading not in lines:
            lines.append(heading)
        lines.append(f"  {port.ljust(8)} {rest}")
    return (
        f"{head}{patching}                                 # one line a cord\n"
        + "\n".join(lines)
        + "\n"
    )
