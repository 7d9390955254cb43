# ruff: noqa: E501  (a record is one line, as in the files themselves)
"""Lindmarsh College (invented): three buildings joined by fibre, grown building by building."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace
from typing import Final

from asbuilt.demo.drops import HEADER, POWERED, Jack, Run, cord_lines, outlet_lines, result_lines
from asbuilt.demo.floors import DrawnFloor, floor, plan_picture, room_lines
from asbuilt.demo.scene import ILO, MARA, ODILE, TAMSIN, ZOE, Folder, Scene

HERE: Final = Folder("lindmarsh")

NORTH_GROUND: Final = floor(
    "N-G",
    60,
    16,
    """
    N-001  entrance hall         reception                 0   0  10  7
    N-002  college office        office                    10  0  8   7
    N-003  classroom             classroom                 18  0  9   7
    N-004  classroom             classroom                 27  0  9   7
    N-005  classroom             classroom                 36  0  9   7
    N-006  staff room            kitchen                   45  0  8   7
    N-007  bursar                office                    53  0  7   7
    N-008  equipment room        equipment room            0   9  6   7
    N-009  library               other                     6   9  18  7
    N-010  reading room          other                     24  9  8   7
    N-011  classroom             classroom                 32  9  10  7
    N-012  classroom             classroom                 42  9  10  7
    N-013  store                 store                     52  9  3   7
    N-014  plant room            plant room                55  9  5   7
    N-015  corridor              corridor                  0   7  60  2
    """,
)
NORTH_FIRST: Final = floor(
    "N-1",
    60,
    16,
    """
    N-101  classroom             classroom                 0   0  10  7
    N-102  classroom             classroom                 10  0  10  7
    N-103  classroom             classroom                 20  0  10  7
    N-104  examinations office   office                    30  0  7   7
    N-105  careers office        office                    37  0  7   7
    N-106  meeting room          meeting room              44  0  8   7
    N-107  principal             office                    52  0  8   7
    N-108  wiring closet         telecommunications space  0   9  4   7
    N-109  computer room         classroom                 4   9  14  7
    N-110  classroom             classroom                 18  9  10  7
    N-111  classroom             classroom                 28  9  10  7
    N-112  staff workroom        office                    38  9  10  7
    N-113  music room            classroom                 48  9  12  7
    N-115  corridor              corridor                  0   7  60  2
    """,
)
WEST_GROUND: Final = floor(
    "W-G",
    48,
    18,
    """
    W-001  chemistry laboratory  laboratory                0   0   14  8
    W-002  preparation room      laboratory                14  0   6   8
    W-003  biology laboratory    laboratory                20  0   14  8
    W-004  lecture room          classroom                 34  0   14  8
    W-008  equipment room        telecommunications space  0   10  5   8
    W-009  physics laboratory    laboratory                5   10  15  8
    W-010  instrument room       laboratory                20  10  8   8
    W-011  laboratory office     office                    28  10  8   8
    W-012  electronics           laboratory                36  10  12  8
    W-015  corridor              corridor                  0   8   48  2
    """,
)
WEST_FIRST: Final = floor(
    "W-1",
    48,
    18,
    """
    W-101  project laboratory    laboratory                0   0   16  8
    W-102  classroom             classroom                 16  0   10  8
    W-103  classroom             classroom                 26  0   10  8
    W-104  classroom             classroom                 36  0   12  8
    W-108  wiring closet         telecommunications space  0   10  4   8
    W-109  design studio         classroom                 4   10  16  8
    W-110  research office       office                    20  10  8   8
    W-111  seminar room          meeting room              28  10  10  8
    W-112  research office       office                    38  10  10  8
    W-115  corridor              corridor                  0   8   48  2
    """,
)
SOUTH_GROUND: Final = floor(
    "S-G",
    40,
    22,
    """
    S-001  sports hall           other                     0   0   22  10
    S-002  sports office         office                    22  0   6   10
    S-003  canteen               kitchen                   28  0   12  10
    S-008  switch room           telecommunications space  0   12  4   10
    S-009  metal workshop        workshop                  4   12  16  10
    S-010  wood workshop         workshop                  20  12  12  10
    S-011  workshop office       office                    32  12  8   10
    S-015  corridor              corridor                  0   10  40  2
    """,
)
SOUTH_MEZZANINE: Final = floor(
    "S-M",
    40,
    10,
    """
    S-101  automation workshop   workshop                  0   0   16  8
    S-102  robotics workshop     workshop                  16  0   14  8
    S-104  wiring closet         telecommunications space  30  0   4   8
    S-105  instructors           office                    34  0   6   8
    S-106  gallery               corridor                  0   8   40  2
    """,
)
FLOORS: Final = (
    NORTH_GROUND,
    NORTH_FIRST,
    WEST_GROUND,
    WEST_FIRST,
    SOUTH_GROUND,
    SOUTH_MEZZANINE,
)


def _networks(floors: Collection[DrawnFloor]) -> dict[str, str]:
    """What hangs where decides the network: a desk in an office is staff's, else teaching's."""
    offices = [r.key for f in floors for r in f.rooms if r.use in ("office", "reception")]
    return {
        **{f"{room} {what}": "staff" for room in offices for what in ("desk", "printer")},
        "desk": "teaching",
        "printer": "teaching",
        "display": "teaching",
        "meeting table": "staff",
        "machine": "bench",
        "phone": "voice",
        "till": "staff",
        "access point": "wireless",
        "camera": "watch",
        "door": "doors",
        "building control": "house",
    }


NETWORKS: Final = _networks(FLOORS)
STRONG: Final = {**POWERED, "access point": "class 6"}
LABEL: Final = "{enclosure}.{panel}{port:02}"

_N1: Final = Run("N1", (3.0, 12.5), "cat6A", NETWORKS, key=LABEL, via={"": "TN0"}, classes=STRONG)
_N2: Final = Run("N2", (2.0, 12.5), "cat6A", NETWORKS, key=LABEL, via={"": "TN1"})
_W1: Final = Run("W1", (2.5, 14.0), "cat6A", NETWORKS, key=LABEL, via={"": "TW0"}, classes=STRONG)
_W2: Final = Run("W2", (2.0, 14.0), "cat6A", NETWORKS, key=LABEL, via={"": "TW1"}, classes=STRONG)
_S1: Final = Run("S1", (2.0, 17.0), "cat6A", NETWORKS, key=LABEL, via={"": "TS0"}, classes=STRONG)
_S2: Final = Run("S2", (32.0, 4.0), "cat6A", NETWORKS, key=LABEL, via={"": "TS1"}, classes=STRONG)

# The drops, in the order they came into the records.

OLD_NORTH: Final = replace(_N1, cable="cat5e").jacks(
    FLOORS,
    "A",
    1,
    """
    N-001  south wall  desk, phone                     Rafe Tillet
    N-002  south wall  desk, phone                     Oona Marsk
    N-002  south wall  desk, phone                     Bertil Ashe
    N-002  west wall   desk, phone                     Celia Dunmar
    N-002  east wall   printer, spare
    N-003  west wall   desk, display
    N-004  west wall   desk, display
    N-005  west wall   desk, display
    N-011  west wall   desk, display
    N-012  west wall   desk, display
    N-006  north wall  desk, phone
    N-007  east wall   desk, phone                     Ferdi Kolm
    N-007  south wall  desk, printer                   Ferdi Kolm
    N-009  west wall   desk, desk
    N-009  south wall  desk, desk
    N-009  floor box   desk, desk
    N-009  floor box   desk, desk
    N-009  north wall  printer, phone
    N-010  north wall  desk, desk
    N-010  east wall   desk, desk
    N-014  west wall   building control, building control
    N-013  north wall  spare, spare
    """,
)
NORTH_UP_A: Final = replace(_N2, installed="2023-04-14").jacks(
    FLOORS,
    "A",
    1,
    """
    N-101  west wall   desk, display
    N-101  ceiling     access point
    N-102  west wall   desk, display
    N-102  ceiling     access point
    N-103  west wall   desk, display
    N-103  ceiling     access point
    N-104  south wall  desk, phone                     Hedda Voss
    N-104  west wall   desk, phone                     Imre Calder
    N-105  south wall  desk, phone                     Jonna Pike
    N-105  east wall   desk, printer
    N-106  floor box   meeting table, meeting table
    N-106  west wall   display, phone
    N-107  south wall  desk, phone                     Agnes Thornwell
    N-107  ceiling     access point
    """,
)
NORTH_UP_B: Final = replace(_N2, installed="2023-04-14").jacks(
    FLOORS,
    "B",
    1,
    """
    N-109  bench       desk, desk
    N-109  bench       desk, desk
    N-109  bench       desk, desk
    N-109  bench       desk, desk
    N-109  bench       desk, desk
    N-109  bench       desk, desk
    N-109  west wall   desk, display
    N-109  ceiling     access point
    N-110  west wall   desk, display
    N-111  west wall   desk, display
    N-112  north wall  desk, phone
    N-115  west end    camera
    """,
)
WEST_A: Final = replace(_W1, installed="2023-08-09").jacks(
    FLOORS,
    "A",
    1,
    """
    W-001  bench       machine, desk
    W-001  bench       machine, desk
    W-001  bench       machine, desk
    W-001  bench       machine, desk
    W-001  west wall   desk, display
    W-001  ceiling     access point
    W-002  north wall  desk, machine
    W-003  bench       machine, desk
    W-003  bench       machine, desk
    W-003  bench       machine, desk
    W-003  bench       machine, desk
    W-003  west wall   desk, display
    W-003  ceiling     access point
    W-009  bench       machine, desk
    W-009  bench       machine, desk
    W-009  bench       machine, desk
    W-009  bench       machine, desk
    W-009  bench       machine, desk
    W-009  west wall   desk, display
    W-009  ceiling     access point
    W-010  bench       machine, machine
    W-010  bench       machine, machine
    W-010  bench       machine, machine
    W-010  south wall  desk
    W-011  north wall  desk, phone                     Kasimir Brandt
    W-011  north wall  desk, phone                     Liv Ostrander
    """,
)
WEST_B: Final = replace(_W1, installed="2023-08-09").jacks(
    FLOORS,
    "B",
    1,
    """
    W-012  bench       machine, desk
    W-012  bench       machine, desk
    W-012  bench       machine, desk
    W-012  bench       machine, desk
    W-012  bench       machine, desk
    W-012  bench       machine, desk
    W-012  east wall   desk, display
    W-012  ceiling     access point
    W-004  west wall   desk, display
    W-004  ceiling     access point
    W-011  south wall  desk, printer
    W-015  west end    camera
    W-015  east end    camera
    W-002  west wall   phone
    W-008  north wall  spare
    """,
)
NORTH_AIR: Final = replace(_N1, installed="2023-11-14").jacks(
    FLOORS,
    "B",
    1,
    """
    N-001  ceiling     access point
    N-003  ceiling     access point
    N-005  ceiling     access point
    N-009  ceiling     access point
    N-009  ceiling     access point
    N-011  ceiling     access point
    N-012  ceiling     access point
    N-015  west end    camera
    N-015  east end    camera
    N-001  ceiling     camera
    N-001  south wall  door
    N-015  east end    door
    """,
)
NORTH_ROOMS: Final = replace(_N1, installed="2024-01-22").jacks(
    FLOORS,
    "B",
    13,
    """
    N-003  east wall   desk, desk
    N-003  south wall  desk, desk
    N-004  east wall   desk, desk
    N-004  south wall  desk, desk
    N-004  floor box   desk, desk
    N-005  east wall   desk, desk
    N-005  south wall  desk, desk
    N-005  floor box   desk, desk
    N-011  east wall   desk, desk
    N-011  north wall  desk, desk
    N-012  east wall   desk, desk
    N-012  north wall  desk, desk
    N-012  floor box   desk, desk
    """,
)
#: The porter's lodge stands at the gate, off the plan; the certifier gave the lengths.
LODGE: Final = """
N1.B39: {room: N-016, plate: under the window, port: N1/B/39, cable: cat6A, length: 96.4 m, serves: desk,  network: staff, person: Rafe Tillet, via: [TN0, C4], installed: 2024-01-22}
N1.B40: {room: N-016, plate: under the window, port: N1/B/40, cable: cat6A, length: 93.8 m, serves: phone, network: voice, poe: class 2, via: [TN0, C4], installed: 2024-01-22}
"""
WEST_UP_A: Final = replace(_W2, installed="2024-07-10").jacks(
    FLOORS,
    "A",
    1,
    """
    W-101  bench       machine, desk
    W-101  bench       machine, desk
    W-101  bench       machine, desk
    W-101  bench       machine, desk
    W-101  bench       machine, desk
    W-101  west wall   desk, display
    W-101  ceiling     access point
    W-102  west wall   desk, display
    W-102  ceiling     access point
    W-103  west wall   desk, display
    W-103  ceiling     access point
    W-104  west wall   desk, display
    W-104  ceiling     access point
    W-110  north wall  desk, phone                     Milo Sandvar
    """,
)
WEST_UP_B: Final = replace(_W2, installed="2024-07-10").jacks(
    FLOORS,
    "B",
    1,
    """
    W-109  west wall   desk, display
    W-109  floor box   desk, desk
    W-109  floor box   desk, desk
    W-109  floor box   desk, desk
    W-109  floor box   desk, desk
    W-109  floor box   desk, desk
    W-109  floor box   desk, desk
    W-109  ceiling     access point
    W-110  east wall   desk, phone                     Nadja Corr
    W-111  floor box   meeting table, meeting table
    W-111  east wall   display, phone
    W-112  north wall  desk, phone                     Otto Vell
    W-115  west end    camera
    """,
)
WEST_UP_C: Final = replace(_W2, installed="2024-07-10").jacks(
    FLOORS,
    "C",
    1,
    """
    W-112  north wall  desk, phone                     Petra Lund
    W-112  east wall   desk, phone                     Quin Abery
    W-112  south wall  printer
    W-115  east end    camera, door
    W-108  north wall  building control, building control
    W-111  ceiling     access point
    W-101  east wall   door
    W-108  north wall  spare
    """,
)
WEST_DOORS: Final = replace(_W1, installed="2024-09-24").jacks(
    FLOORS,
    "B",
    25,
    """
    W-015  west end    door
    W-015  east end    door
    W-001  east wall   door
    W-003  east wall   door
    W-010  east wall   door
    W-004  ceiling     camera
    W-012  ceiling     camera
    W-008  north wall  building control, building control
    W-009  ceiling     building control
    W-001  ceiling     building control
    W-003  ceiling     building control
    W-012  west wall   phone
    W-004  east wall   phone
    """,
)
NORTH_UP_C: Final = replace(_N2, installed="2025-02-18", classes=STRONG).jacks(
    FLOORS,
    "C",
    1,
    """
    N-110  ceiling     access point
    N-111  ceiling     access point
    N-112  north wall  desk, phone
    N-112  north wall  desk, phone
    N-112  east wall   desk, phone
    N-112  south wall  printer
    N-113  north wall  desk, display
    N-113  east wall   desk, desk
    N-113  ceiling     access point
    N-115  east end    camera, door
    N-107  east wall   desk, printer                   Agnes Thornwell
    """,
)
SOUTH_A: Final = replace(_S1, installed="2025-04-15").jacks(
    FLOORS,
    "A",
    1,
    """
    S-002  south wall  desk, phone                     Rurik Stane
    S-001  ceiling     access point
    S-001  ceiling     access point
    S-001  east wall   display, display
    S-003  south wall  till, till
    S-003  east wall   display, till
    S-003  ceiling     access point
    S-009  bench       machine, machine
    S-009  bench       machine, machine
    S-009  bench       machine, machine
    S-009  bench       machine, machine
    S-009  bench       machine, machine
    S-009  bench       machine, machine
    S-009  west wall   desk, display
    S-009  ceiling     access point
    S-010  bench       machine, machine
    S-010  bench       machine, machine
    S-010  bench       machine, machine
    S-010  bench       machine, machine
    S-010  west wall   desk, display
    S-010  ceiling     access point
    S-011  north wall  desk, phone                     Signe Farrow
    S-011  north wall  desk, phone                     Tobin Hale
    S-011  east wall   desk, phone
    S-011  south wall  printer
    S-015  west end    camera, door
    S-015  east end    camera, door
    """,
)
SOUTH_B: Final = replace(_S1, installed="2025-04-15").jacks(
    FLOORS,
    "B",
    1,
    """
    S-001  north wall  camera
    S-001  south wall  camera
    S-009  north wall  door
    S-010  north wall  door
    S-003  west wall   phone
    S-009  bench       machine, machine
    S-009  bench       machine, machine
    S-009  bench       machine, machine
    S-010  bench       machine, machine
    S-008  north wall  building control, building control
    S-008  north wall  spare
    """,
)
SOUTH_UP_A: Final = replace(_S2, installed="2025-08-20", cell=2.0).jacks(
    FLOORS,
    "A",
    1,
    """
    S-101  bench       machine, desk
    S-101  bench       machine, desk
    S-101  bench       machine, desk
    S-101  bench       machine, desk
    S-101  bench       machine, desk
    S-101  bench       machine, desk
    S-101  west wall   desk, display
    S-101  ceiling     access point
    S-102  bench       machine, machine
    S-102  bench       machine, machine
    S-102  bench       machine, machine
    S-102  bench       machine, machine
    S-102  ceiling     access point
    """,
)
SOUTH_UP_B: Final = replace(_S2, installed="2025-08-20", cell=2.0).jacks(
    FLOORS,
    "B",
    1,
    """
    S-105  south wall  desk, phone                     Una Brightmoor
    S-105  south wall  desk, phone                     Viggo Lant
    S-105  east wall   printer
    S-102  west wall   desk, display
    S-106  west end    camera
    S-106  east end    camera
    S-106  east end    door
    S-104  north wall  building control
    S-104  north wall  spare
    """,
)
SOUTH_HOUSE: Final = replace(
    _S1, installed="2026-09-15", more={"jacket": "grey", "made": "2026-05-06"}
).jacks(
    FLOORS,
    "B",
    17,
    """
    S-001  ceiling     building control
    S-003  ceiling     building control
    S-009  ceiling     building control
    S-010  ceiling     building control
    S-002  north wall  building control
    S-011  west wall   building control
    """,
)

CERTIFIER: Final = "certifier 1"
#: When the certifier was away for calibration.
CALIBRATED: Final = ("2022-03-14", "2023-02-27", "2024-02-19", "2025-02-24", "2026-02-16")


def _results(
    jacks: list[Jack], date: str, by: str, others: dict[str, tuple[str, str]] | None = None
) -> str:
    last = max(day for day in CALIBRATED if day <= date)
    return f"{HEADER}\n{result_lines(jacks, date, CERTIFIER, last, by, others)}\n"


SITE: Final = f"""
name: Lindmarsh College
trade: technical college
address: Mill Causeway, Lindmarsh
hours: Mon–Fri 07:30–21:00 in term, 08:00–16:00 else
outage hours: Wednesdays after 14:00, half-term weeks
access: sign in at the porter's lodge; keys of the equipment rooms against a name
do not touch: [fire alarm panel in N-001 (alarm company), lift controller in N-014 (lift company)]
measures: metric
labels: "{{enclosure}}.{{panel}}{{port:02}}"
spare: 25 % of panel ports installed, asked for by the college's estates manual of 2021

contacts:
  oyle:      {{name: Sanne Oyle,     role: head of computing,  authorises: yes, phone: 555-0161, email: oyle@example.org}}
  andermast: {{name: Piet Andermast, role: estates manager,    helps with: "keys, ducts, ceilings, the asbestos register", phone: 555-0162, email: andermast@example.org}}
  lodge:     {{name: Rafe Tillet,    role: head porter,        helps with: getting in, phone: 555-0163, hours: 06:30–22:00}}

cautions:
  north:  {{hazard: asbestos, known: surveyed, where: North Hall, found: "pipe lagging in N-014; ceilings of the ground floor presumed", reference: college register AR-7, by: the college's surveyor, on: 2020-08-19}}
  fire:   {{hazard: other trade's system, known: reported, where: fire alarm panel in N-001, by: Piet Andermast, on: 2022-11-08}}

circuits:
  main: {{carrier: Quellmark Fibre, service: internet, speed: 1 Gb/s, reference: QF-0071, account holder: Lindmarsh College, support: 555-0192, confirms: Sanne Oyle, room: N-008, lands on: N1/R2/LINE}}

networks:                                 # segments, not cables
  staff:    {{name: Staff,    number: 110, purpose: offices}}
  teaching: {{name: Teaching, number: 120, purpose: classrooms and laboratories}}
  voice:    {{name: Voice,    number: 130, purpose: phones}}
  house:    {{name: House,    number: 170, purpose: heating and ventilation}}

buildings:
  N: {{name: North Hall, built: about 1968}}

floors:
  N-G: {{name: ground floor, building: N, level: 0}}

rooms:                                    # numbers as on the doors
{room_lines(NORTH_GROUND)}
"""

N1: Final = """
room: N-008
kind: floor-standing cabinet
position: free-standing, 1 m from the north wall
height: 42 U
depth: 900 mm
width: 800 mm
load limit: 600 kg
front door: glass, hinged left
rear door: steel, two wings
clearance front: 1.3 m
clearance rear: 0.9 m
locked: yes
key with: porter's lodge
supply: breakers 3 and 4 of board DB-N0
supply limit: 32 A
supply voltage: 230 V

front:                                    # U from the bottom; 38-39 is two units
  40:    {manager: M1, depth: 70 mm, weight: 0.7 kg}
  38-39: {panel: A, ports: 48, category: 5e, depth: 90 mm, weight: 2.2 kg}
  37:    {switch: SW1, ports: 48, uplinks: 4, speed: 1 Gb/s, uplink speed: 1 Gb/s, poe: 370 W, depth: 380 mm, weight: 6.6 kg, nameplate: 500 W, fed by: UPS1, serial: 15-0417}
  28:    {router: R1, does: firewall, ports: 8, named ports: [WAN1, WAN2], speed: 10 Gb/s, depth: 420 mm, weight: 7.0 kg, nameplate: 120 W, fed by: UPS1}
  27:    {router: R2, does: optical terminal, ports: 1, named ports: [LINE], speed: 10 Gb/s, depth: 200 mm, weight: 1.6 kg, owner: Quellmark Fibre, nameplate: 20 W, fed by: UPS1}
  20-21: {device: REC1, does: camera recorder, ports: 2, speed: 1 Gb/s, depth: 650 mm, weight: 16 kg, nameplate: 300 W, fed by: UPS1}
  3-6:   {ups: UPS1, output: 2700 W, apparent: 3000 VA, depth: 700 mm, weight: 62 kg, battery changed: 2021-07-13}
without U:
  - {power strip: P1, where: left rear upright,  sockets: 20, in use: 6, limit: 16 A, fed by: UPS1}
  - {power strip: P2, where: right rear upright, sockets: 20, in use: 1, limit: 16 A}
"""

N2: Final = """
room: N-108
kind: floor-standing cabinet
position: in the corner, front to the door
height: 24 U
depth: 700 mm
width: 800 mm
load limit: 400 kg
front door: perforated steel, hinged right
rear door: none, wall
clearance front: 1.0 m
locked: yes
key with: porter's lodge
supply: breaker 11 of board DB-N1
supply limit: 16 A
supply voltage: 230 V
bonding: 16 mm² to the busbar in N-108, 21 milliohm measured 2023-04-12
installed: 2023-04-12
seen: 2023-04-12 by Ilo Farrant

front:                                    # U from the bottom; 1-2 is two units
  24:  {panel: F, ports: 12, media: fibre, connector: LC duplex, depth: 220 mm, weight: 2.0 kg}
  23:  {manager: M1, depth: 70 mm, weight: 0.7 kg}
  22:  {panel: A, ports: 24, category: 6A, depth: 110 mm, weight: 1.4 kg}
  21:  {switch: SW1, ports: 48, uplinks: 4, speed: 1 Gb/s, uplink speed: 10 Gb/s, poe: 740 W, depth: 380 mm, weight: 7.1 kg, nameplate: 900 W, fed by: UPS1, host name: lc-n2-sw1, address: 192.0.2.21}
  20:  {panel: B, ports: 24, category: 6A, depth: 110 mm, weight: 1.4 kg}
  1-2: {ups: UPS1, output: 1350 W, apparent: 1500 VA, depth: 480 mm, weight: 28 kg, battery changed: 2023-04-12}
without U:
  - {power strip: P1, where: left rear upright, sockets: 12, in use: 2, limit: 16 A, fed by: UPS1}
"""

W1: Final = """
room: W-008
kind: floor-standing cabinet
position: free-standing, middle of the room
height: 42 U
depth: 900 mm
width: 800 mm
load limit: 800 kg
front door: perforated steel, hinged left
rear door: perforated steel, two wings
clearance front: 1.2 m
clearance rear: 1.0 m
locked: yes
key with: porter's lodge
supply: breakers 7 and 8 of board DB-W0
supply limit: 32 A
supply voltage: 230 V
bonding: 16 mm² to the busbar in W-008, 18 milliohm measured 2023-08-02
installed: 2023-08-02
seen: 2023-08-02 by Zoë Lindqvarn

front:                                    # U from the bottom; 37-38 is two units
  42:    {panel: FO, ports: 24, media: fibre, connector: LC duplex, depth: 220 mm, weight: 2.4 kg, label: OS2}
  40:    {manager: M1, depth: 70 mm, weight: 0.7 kg}
  38-39: {panel: A, ports: 48, category: 6A, depth: 120 mm, weight: 2.9 kg}
  37:    {switch: SW1, ports: 48, uplinks: 4, speed: 1 Gb/s, uplink speed: 10 Gb/s, poe: 740 W, depth: 380 mm, weight: 7.1 kg, nameplate: 900 W, fed by: UPS1, host name: lc-w1-sw1, address: 192.0.2.31}
  36:    {switch: SW2, ports: 48, uplinks: 4, speed: 1 Gb/s, uplink speed: 10 Gb/s, poe: 740 W, depth: 380 mm, weight: 7.1 kg, nameplate: 900 W, fed by: UPS1, host name: lc-w1-sw2, address: 192.0.2.32}
  34-35: {panel: B, ports: 48, category: 6A, depth: 120 mm, weight: 2.9 kg}
  33:    {manager: M2, depth: 70 mm, weight: 0.7 kg}
  1-4:   {ups: UPS1, output: 2700 W, apparent: 3000 VA, depth: 700 mm, weight: 62 kg, battery changed: 2023-08-02, runtime: 18 min}
rear:
  40:    {shelf: SH1, depth: 250 mm, weight: 2.0 kg}
without U:
  - {power strip: P1, where: left rear upright,  sockets: 20, in use: 3, limit: 16 A, fed by: UPS1}
  - {power strip: P2, where: right rear upright, sockets: 20, in use: 0, limit: 16 A}
"""

W2: Final = """
room: W-108
kind: floor-standing cabinet
position: along the west wall
height: 24 U
depth: 700 mm
width: 800 mm
load limit: 400 kg
front door: perforated steel, hinged left
rear door: none, wall
clearance front: 1.1 m
locked: yes
key with: porter's lodge
supply: breaker 9 of board DB-W1
supply limit: 16 A
supply voltage: 230 V
bonding: 16 mm² to the busbar in W-108, 24 milliohm measured 2024-07-08
installed: 2024-07-08
seen: 2024-07-10 by Zoë Lindqvarn

front:                                    # U from the bottom; 1-2 is two units
  24:  {panel: F, ports: 12, media: fibre, connector: LC duplex, depth: 220 mm, weight: 2.0 kg}
  23:  {manager: M1, depth: 70 mm, weight: 0.7 kg}
  22:  {panel: A, ports: 24, category: 6A, depth: 110 mm, weight: 1.4 kg}
  21:  {switch: SW1, ports: 48, uplinks: 4, speed: 1 Gb/s, uplink speed: 10 Gb/s, poe: 740 W, depth: 380 mm, weight: 7.1 kg, nameplate: 900 W, fed by: UPS1, host name: lc-w2-sw1, address: 192.0.2.41}
  20:  {panel: B, ports: 24, category: 6A, depth: 110 mm, weight: 1.4 kg}
  19:  {panel: C, ports: 24, category: 6A, depth: 110 mm, weight: 1.4 kg}
  18:  {switch: SW2, ports: 24, uplinks: 4, speed: 1 Gb/s, uplink speed: 10 Gb/s, poe: 370 W, depth: 330 mm, weight: 5.4 kg, nameplate: 450 W, fed by: UPS1, host name: lc-w2-sw2, address: 192.0.2.42}
  1-2: {ups: UPS1, output: 1350 W, apparent: 1500 VA, depth: 480 mm, weight: 28 kg, battery changed: 2024-07-08}
without U:
  - {power strip: P1, where: left rear upright, sockets: 12, in use: 3, limit: 16 A, fed by: UPS1}
"""

S1: Final = """
room: S-008
kind: floor-standing cabinet
position: under the window, sealed against the dust of S-009
height: 33 U
depth: 800 mm
width: 800 mm
load limit: 600 kg
front door: glass with seal, hinged left
rear door: steel with filter
clearance front: 1.2 m
clearance rear: 0.7 m
locked: yes
key with: porter's lodge
supply: breaker 5 of board DB-S0
supply limit: 20 A
supply voltage: 230 V
bonding: 16 mm² to the busbar in S-008, 31 milliohm measured 2025-04-08
installed: 2025-04-08
seen: 2025-04-08 by Ilo Farrant

front:                                    # U from the bottom; 29-30 is two units
  33:    {panel: FO, ports: 24, media: fibre, connector: LC duplex, depth: 220 mm, weight: 2.4 kg, label: OS2}
  31:    {manager: M1, depth: 70 mm, weight: 0.7 kg}
  29-30: {panel: A, ports: 48, category: 6A, depth: 120 mm, weight: 2.9 kg}
  28:    {switch: SW1, ports: 48, uplinks: 4, speed: 1 Gb/s, uplink speed: 10 Gb/s, poe: 740 W, depth: 380 mm, weight: 7.1 kg, nameplate: 900 W, fed by: UPS1, host name: lc-s1-sw1, address: 192.0.2.51}
  27:    {switch: SW2, ports: 48, uplinks: 4, speed: 1 Gb/s, uplink speed: 10 Gb/s, poe: 740 W, depth: 380 mm, weight: 7.1 kg, nameplate: 900 W, fed by: UPS1, host name: lc-s1-sw2, address: 192.0.2.52}
  25-26: {panel: B, ports: 48, category: 6A, depth: 120 mm, weight: 2.9 kg}
  24:    {manager: M2, depth: 70 mm, weight: 0.7 kg}
  1-4:   {ups: UPS1, output: 2700 W, apparent: 3000 VA, depth: 700 mm, weight: 62 kg, battery changed: 2025-04-08, runtime: 20 min}
without U:
  - {power strip: P1, where: left rear upright, sockets: 20, in use: 3, limit: 16 A, fed by: UPS1}
"""

S2: Final = """
room: S-104
kind: floor-standing cabinet
position: in the middle of the closet
height: 24 U
depth: 700 mm
width: 800 mm
load limit: 400 kg
front door: glass with seal, hinged right
rear door: steel with filter
clearance front: 0.9 m
clearance rear: 0.6 m
locked: yes
key with: porter's lodge
supply: breaker 2 of board DB-S1
supply limit: 16 A
supply voltage: 230 V
bonding: 16 mm² to the busbar in S-008, 46 milliohm measured 2025-08-19
installed: 2025-08-19
seen: 2025-08-20 by Zoë Lindqvarn

front:                                    # U from the bottom; 1-2 is two units
  24:  {panel: F, ports: 12, media: fibre, connector: LC duplex, depth: 220 mm, weight: 2.0 kg}
  23:  {manager: M1, depth: 70 mm, weight: 0.7 kg}
  22:  {panel: A, ports: 24, category: 6A, depth: 110 mm, weight: 1.4 kg}
  21:  {switch: SW1, ports: 48, uplinks: 4, speed: 1 Gb/s, uplink speed: 10 Gb/s, poe: 740 W, depth: 380 mm, weight: 7.1 kg, nameplate: 900 W, fed by: UPS1, host name: lc-s2-sw1, address: 192.0.2.61}
  20:  {panel: B, ports: 24, category: 6A, depth: 110 mm, weight: 1.4 kg}
  1-2: {ups: UPS1, output: 1350 W, apparent: 1500 VA, depth: 480 mm, weight: 28 kg, battery changed: 2025-08-19}
without U:
  - {power strip: P1, where: left rear upright, sockets: 12, in use: 2, limit: 16 A, fed by: UPS1}
"""

PATCHING: Final = "\n\npatching:                                 # one line a cord\n"


def _ladder(port: str) -> str:
    """Three lengths of cord: the further from the middle of the switch, the longer."""
    far = abs(int(port.rpartition("/")[2]) % 24 - 12)
    return "0.3 m" if far < 4 else "0.5 m" if far < 9 else "0.7 m"


def _two_mixed_up(jacks: list[Jack]) -> list[Jack]:
    """Two offices typed the wrong way round."""
    wrong = {"N-104": "N-105", "N-105": "N-104"}
    return [
        replace(
            jack,
            columns=(
                ("room", wrong.get(jack.columns[0][1], jack.columns[0][1])),
                *jack.columns[1:],
            ),
        )
        for jack in jacks
    ]


def scenes() -> Iterator[Scene]:
    yield Scene(
        "2022-11-08T16:10+00:00",
        ODILE,
        "Lindmarsh: records begun from the college's own list",
        (
            HERE.new("site.yml", SITE),
            HERE.new(
                "enclosures/N1.yml",
                N1.rstrip("\n")
                + PATCHING
                + cord_lines(OLD_NORTH, "SW1", 1, "1 m")
                + "\n  SW1/49: {to: R1/1, cord: 1 m}\n  R2/1: {to: R1/WAN1, cord: 0.5 m}\n  REC1/01: {to: SW1/47, cord: 1 m}",
            ),
            HERE.new(
                "outlets.yml",
                "# North Hall, ground floor: from the college's list of 2021, not walked yet\n"
                + outlet_lines(OLD_NORTH),
            ),
            HERE.new(
                "pathways.yml",
                """
# North Hall
TN0: {label: tray N0, kind: tray, from room: N-008, to room: N-014, route: above the corridor ceiling of the ground floor, width: 300 mm, height: 60 mm, length: 58 m, others: 30}
""",
            ),
        ),
        "44 sockets on one panel. Room by room as the college has it; not walked yet.",
    )
    yield Scene(
        "2022-11-22T17:45+00:00",
        ODILE,
        "Lindmarsh: North Hall walked, two ports dead, findings F1 to F3",
        (
            HERE.swap(
                "enclosures/N1.yml",
                "ports: 48, category: 5e,",
                "ports: 48, category: 5e, dead: [46], unknown: [47-48],",
            ),
            HERE.after("enclosures/N1.yml", "supply voltage:", "seen: 2022-11-22 by Odile Brask"),
            HERE.swap("outlets.yml", "not walked yet", "walked 2022-11-22"),
            HERE.new(
                "findings.yml",
                """
F1:
  what: no record of a bonding conductor at cabinet N1, none seen from the front
  bad: deficient
  room: N-008
  enclosure: N1
  advice: the college's electrician to look and measure
  to mend: client
  found on: 2022-11-22
  found by: Odile Brask
  tell client: yes
F2:
  what: cords of N1 carry no labels
  bad: untidy
  enclosure: N1
  to mend: us
  found on: 2022-11-22
  found by: Odile Brask
F3:
  what: port 46 of panel A has a broken contact; 47 and 48 lead somewhere nobody remembers
  bad: incomplete
  item: N1/A
  to mend: us
  found on: 2022-11-22
  found by: Odile Brask
""",
            ),
        ),
    )
    yield Scene(
        "2022-12-15T14:00+00:00",
        TAMSIN,
        "Lindmarsh: certification of panel A in North Hall",
        (
            HERE.new(
                "tests/2022-12-north.csv",
                _results(OLD_NORTH, "2022-12-15", "Tamsin Oke", {"N1.A23": ("marginal", "0.2 dB")}),
            ),
        ),
    )
    yield Scene(
        "2023-02-06T10:20+00:00",
        MARA,
        "Lindmarsh: J1 asked for, the first floor of North Hall",
        (
            HERE.new(
                "jobs/J1.yml",
                """
title: "First floor of North Hall: own enclosure, fibre to N1, 46 drops"
kind: new work
state: asked
why: wireless alone no longer carries eleven classrooms
asked by: Sanne Oyle
asked on: 2023-02-02
wanted by: 2023-04-24
enclosures: N1
""",
            ),
        ),
        job="J1",
    )
    yield Scene(
        "2023-02-20T15:05+00:00",
        MARA,
        "Lindmarsh: J1 authorised, planned for the Easter break",
        (
            HERE.fill(
                "jobs/J1.yml",
                state="planned",
                authorised_by="Sanne Oyle",
                window="2023-04-11 07:00 to 2023-04-21 18:00",
                outage="no",
                instructions="ceilings of the ground floor are presumed to hold asbestos (register AR-7), so the riser is used and no tile is lifted",
            ),
        ),
        job="J1",
    )
    yield Scene(
        "2023-04-12T17:50+01:00",
        ILO,
        "Lindmarsh: enclosure N2 in the closet upstairs, fibre from N1",
        (
            HERE.after("site.yml", "N-G: {", "  N-1: {name: first floor,  building: N, level: 1}"),
            HERE.end("site.yml", room_lines(NORTH_FIRST)),
            HERE.after(
                "site.yml",
                "voice:",
                """
  wireless: {name: Wireless, number: 140, purpose: access points}
  watch:    {name: Watch,    number: 150, purpose: cameras}
""",
            ),
            HERE.new("enclosures/N2.yml", N2),
            HERE.before(
                "enclosures/N1.yml",
                "40:    {manager: M1",
                "  41:    {panel: FM, ports: 12, media: fibre, connector: LC duplex, depth: 220 mm, weight: 2.0 kg, label: OM4, installed: 2023-04-12}",
            ),
            HERE.new(
                "backbones.yml",
                """
# Within North Hall
BN1: {label: N1/N2-1, from: N1/FM/01-06, to: N2/F/01-06, cable: OM4, strands: 12, length: 21 m, via: RN, installed: 2023-04-12}
""",
            ),
            HERE.end(
                "pathways.yml",
                """
TN1: {label: tray N1, kind: tray, from room: N-108, to room: N-113, route: above the corridor ceiling of the first floor, width: 200 mm, height: 60 mm, length: 58 m}
RN: {label: riser, kind: sleeve, from room: N-008, to room: N-108, route: straight up in the corner, bore: 77.9 mm, length: 0.5 m, barrier: "concrete floor, 60 min", barrier known: reported, seal: "putty bags, tag LC-009, Estates 2023-04-13"}
""",
            ),
        ),
        job="J1",
    )
    yield Scene(
        "2023-04-14T18:15+01:00",
        ILO,
        "Lindmarsh: 46 drops on the first floor, patched, N2 live",
        (
            HERE.end(
                "outlets.yml",
                "\n\n# North Hall, first floor\n"
                + outlet_lines([*_two_mixed_up(NORTH_UP_A), *NORTH_UP_B]),
            ),
            HERE.end(
                "enclosures/N2.yml",
                PATCHING
                + cord_lines(NORTH_UP_A, "SW1", 1, "0.3 m")
                + "\n"
                + cord_lines(NORTH_UP_B, "SW1", 25, "0.3 m")
                + "\n  SW1/49: {to: F/01, cord: 1 m, media: fibre}",
            ),
            HERE.after(
                "enclosures/N1.yml", "SW1/49:", "  SW1/50: {to: FM/01, cord: 1 m, media: fibre}"
            ),
            HERE.fill("jobs/J1.yml", state="done", done_by="Ilo Farrant", done_on="2023-04-14"),
        ),
        job="J1",
    )
    yield Scene(
        "2023-04-17T08:30+01:00",
        ILO,
        "Lindmarsh: N-104 and N-105 were the wrong way round",
        tuple(
            HERE.redo("outlets.yml", f"{jack.key}:", line)
            for jack, line in zip(
                NORTH_UP_A,
                outlet_lines([*NORTH_UP_A, *NORTH_UP_B]).splitlines(),
                strict=False,
            )
            if jack.columns[0][1] in ("N-104", "N-105")
        ),
        "Noticed while printing the faceplate labels.",
        job="J1",
    )
    yield Scene(
        "2023-04-21T13:20+01:00",
        TAMSIN,
        "Lindmarsh: certification of N2; N2.B07 fails its wire map",
        (
            HERE.new(
                "tests/2023-04-N2.csv",
                _results(
                    [*NORTH_UP_A, *NORTH_UP_B],
                    "2023-04-21",
                    "Tamsin Oke",
                    {"N2.B07": ("fail", "0 dB")},
                ),
            ),
            HERE.end(
                "findings.yml",
                """
F4:
  what: N2.B07 has pairs 2 and 3 crossed at the jack
  bad: deficient
  outlet: N2.B07
  falls short of: Cat 6A permanent link
  to mend: us
  found on: 2023-04-21
  found by: Tamsin Oke
  job: J1
""",
            ),
        ),
        job="J1",
    )
    yield Scene(
        "2023-04-25T11:40+01:00",
        TAMSIN,
        "Lindmarsh: N2.B07 terminated again, passes; J1 verified",
        (
            HERE.set("outlets.yml", "N2.B07", terminated="2023-04-25"),
            HERE.end(
                "tests/2023-04-N2.csv",
                result_lines([NORTH_UP_B[6]], "2023-04-25", CERTIFIER, CALIBRATED[1], "Tamsin Oke")
                + "\nBN1,2023-04-25,pass,OM4 850 nm both directions,20.8 m,1.3 dB,optical loss set 2,2022-11-07,Tamsin Oke",
            ),
            HERE.fill(
                "findings.yml",
                "F4",
                cleared_on="2023-04-25",
                cleared_by="Tamsin Oke",
                evidence="retest of 2023-04-25 passes",
            ),
            HERE.fill(
                "jobs/J1.yml",
                state="verified",
                verified_by="Tamsin Oke",
                verified_on="2023-04-25",
                emergency_location="updated",
            ),
        ),
        job="J1",
    )
    yield Scene(
        "2023-06-19T09:45+01:00",
        MARA,
        "Lindmarsh: J2 planned, the West Laboratories open in September",
        (
            HERE.new(
                "jobs/J2.yml",
                """
title: "West Laboratories, ground floor: enclosure W1, fibre through the duct, 72 drops"
kind: new work
state: planned
why: new building
asked by: Piet Andermast
asked on: 2023-05-30
authorised by: Sanne Oyle
wanted by: 2023-09-01
window: 2023-07-31 07:00 to 2023-08-18 18:00
outage: no
enclosures: N1
instructions: the duct chambers are confined spaces; Estates lets nobody in without a permit
""",
            ),
            HERE.after(
                "site.yml",
                "fire:",
                "  ducts:  {hazard: confined space, known: reported, where: duct chambers between the buildings, found: entered under Estates' permit only, by: Piet Andermast, on: 2023-06-14}",
            ),
        ),
        job="J2",
    )
    yield Scene(
        "2023-08-02T18:00+01:00",
        ZOE,
        "Lindmarsh: enclosure W1, fibre through duct D1, core switch in N1",
        (
            HERE.after("site.yml", "N: {", '  W: {name: West Laboratories, built: "2023"}'),
            HERE.after("site.yml", "N-1: {", "  W-G: {name: ground floor, building: W, level: 0}"),
            HERE.end("site.yml", room_lines(WEST_GROUND)),
            HERE.after(
                "site.yml",
                "ducts:",
                "  laser:  {hazard: laser light, known: reported, where: fibre panels and duct, found: single-mode fibre in use, by: Zoë Lindqvarn, on: 2023-08-02}",
            ),
            HERE.new("enclosures/W1.yml", W1),
            HERE.before(
                "enclosures/N1.yml",
                "41:    {panel: FM",
                "  42:    {panel: FO, ports: 24, media: fibre, connector: LC duplex, depth: 220 mm, weight: 2.4 kg, label: OS2, installed: 2023-08-02}",
            ),
            HERE.before(
                "enclosures/N1.yml",
                "28:    {router: R1",
                "  30:    {switch: CORE, ports: 24, uplinks: 2, speed: 10 Gb/s, uplink speed: 40 Gb/s, depth: 420 mm, weight: 8.2 kg, nameplate: 250 W, fed by: UPS1, host name: lc-core, address: 192.0.2.1, installed: 2023-08-02, warranty until: 2028-08-31}\n"
                "  29:    {manager: M3, depth: 70 mm, weight: 0.7 kg, installed: 2023-08-02}",
            ),
            HERE.redo(
                "enclosures/N1.yml",
                "SW1/49:",
                "  SW1/49: {to: R1/3, cord: 1 m}\n  R1/1: {to: CORE/01, cord: 0.5 m, media: fibre}",
            ),
            HERE.redo(
                "enclosures/N1.yml",
                "SW1/50:",
                "  CORE/04: {to: FM/01, cord: 2 m, media: fibre}\n  CORE/05: {to: FO/01, cord: 2 m, media: fibre}",
            ),
            HERE.end(
                "backbones.yml",
                """

# Between the buildings
BC1: {label: N/W-1, from: N1/FO/01-12, to: W1/FO/01-12, cable: OS2, strands: 24, length: 184 m, via: D1, outdoors: yes, installed: 2023-08-02}
""",
            ),
            HERE.end(
                "pathways.yml",
                """

# West Laboratories, and the ducts
TW0: {label: tray W0, kind: tray, from room: W-008, to room: W-012, route: above the corridor ceiling, width: 300 mm, height: 60 mm, length: 46 m}
D1: {label: duct 1, kind: duct, from room: N-008, to room: W-008, route: under the forecourt by chambers 1 to 3, bore: 97.4 mm, length: 168 m, bends: 2, pull cord: yes}
""",
            ),
        ),
        "N2 hangs on the core now, at 10 Gb/s. SW1 stays on the firewall: its uplinks are slow.",
        job="J2",
    )
    yield Scene(
        "2023-08-09T17:35+01:00",
        ZOE,
        "Lindmarsh: 72 drops in the West Laboratories, patched, W1 live",
        (
            HERE.end(
                "outlets.yml",
                "\n\n# West Laboratories, ground floor\n" + outlet_lines([*WEST_A, *WEST_B]),
            ),
            HERE.after(
                "site.yml",
                "watch:",
                "  bench:    {name: Bench,    number: 180, purpose: instruments and machines}",
            ),
            HERE.end(
                "enclosures/W1.yml",
                PATCHING
                + cord_lines(WEST_A, "SW1", 1, _ladder)
                + "\n"
                + cord_lines(WEST_B, "SW2", 1, _ladder)
                + "\n  SW1/49: {to: FO/01, cord: 1 m, media: fibre}\n  SW2/49: {to: SW1/50, cord: 0.5 m}",
            ),
            HERE.fill("jobs/J2.yml", state="done", done_by="Zoë Lindqvarn", done_on="2023-08-09"),
        ),
        job="J2",
    )
    yield Scene(
        "2023-08-11T15:10+01:00",
        TAMSIN,
        "Lindmarsh: certification of W1 and of the fibre",
        (
            HERE.new(
                "tests/2023-08-W1.csv",
                _results([*WEST_A, *WEST_B], "2023-08-11", "Tamsin Oke").rstrip("\n")
                + "\nBC1,2023-08-11,pass,OS2 1310 nm both directions,183.2 m,2.6 dB,optical loss set 2,2023-05-08,Tamsin Oke",
            ),
        ),
        job="J2",
    )
    yield Scene(
        "2023-08-18T10:00+01:00",
        MARA,
        "Lindmarsh: plans of North Hall and the laboratories, J2 verified",
        (
            HERE.new(
                "plans/north-ground.svg", plan_picture("North Hall, ground floor", NORTH_GROUND)
            ),
            HERE.new("plans/north-first.svg", plan_picture("North Hall, first floor", NORTH_FIRST)),
            HERE.new(
                "plans/west-ground.svg",
                plan_picture("West Laboratories, ground floor", WEST_GROUND),
            ),
            HERE.set("site.yml", "N-G", plan="plans/north-ground.svg", plan_width="60 m"),
            HERE.set("site.yml", "N-1", plan="plans/north-first.svg", plan_width="60 m"),
            HERE.set("site.yml", "W-G", plan="plans/west-ground.svg", plan_width="48 m"),
            HERE.fill(
                "jobs/J2.yml",
                state="verified",
                verified_by="Mara Quist",
                verified_on="2023-08-18",
                emergency_location="updated",
            ),
        ),
        job="J2",
    )
    yield Scene(
        "2023-09-06T11:20+01:00",
        ODILE,
        "Lindmarsh: outlets by building, one file each; no change of meaning",
        (
            HERE.split(
                "outlets.yml",
                {"outlets/north.yml": r"N\d\.|# North", "outlets/west.yml": r"W\d\.|# West"},
            ),
        ),
        "One file had grown past a screen's scroll bar.",
    )
    yield Scene(
        "2023-11-14T16:40+00:00",
        ILO,
        "Lindmarsh: panel B in N1 with access points, cameras and two doors",
        (
            HERE.after(
                "enclosures/N1.yml",
                "37:    {switch: SW1",
                """
  36:    {switch: SW2, ports: 48, uplinks: 4, speed: 1 Gb/s, uplink speed: 10 Gb/s, poe: 740 W, depth: 380 mm, weight: 7.1 kg, nameplate: 900 W, fed by: UPS1, host name: lc-n1-sw2, address: 192.0.2.12, installed: 2023-11-13, warranty until: 2028-11-30}
  34-35: {panel: B, ports: 48, category: 6A, depth: 120 mm, weight: 2.9 kg, installed: 2023-11-13}
  33:    {manager: M2, depth: 70 mm, weight: 0.7 kg, installed: 2023-11-13}
""",
            ),
            HERE.before(
                "enclosures/N1.yml",
                "SW1/49:",
                cord_lines(NORTH_AIR, "SW2", 1, _ladder)
                + "\n  SW2/49: {to: CORE/03, cord: 1 m, media: fibre}",
            ),
            HERE.after(
                "site.yml",
                "watch:",
                "  doors:    {name: Doors,    number: 160, purpose: door controllers}",
            ),
            HERE.end(
                "outlets/north.yml",
                "\n\n# North Hall, wireless, cameras, doors\n" + outlet_lines(NORTH_AIR),
            ),
            HERE.new("tests/2023-11-N1.csv", _results(NORTH_AIR, "2023-11-14", "Ilo Farrant")),
            HERE.new(
                "jobs/J3.yml",
                """
title: Access points, cameras and two door controllers in North Hall
kind: add
state: verified
asked by: Sanne Oyle
asked on: 2023-09-25
authorised by: Sanne Oyle
window: 2023-11-13 07:00 to 2023-11-14 18:00
outage: no
rooms: [N-001, N-003, N-005, N-009, N-011, N-012, N-015]
enclosures: N1
done by: Ilo Farrant
done on: 2023-11-14
verified by: Ilo Farrant
verified on: 2023-11-14
emergency location: not applicable
""",
            ),
        ),
        "Access points of class 6, so the new switch has twice the power of the old one.",
        job="J3",
    )
    yield Scene(
        "2024-01-22T18:20+00:00",
        ILO,
        "Lindmarsh: 26 classroom drops and two to the porter's lodge",
        (
            HERE.after(
                "site.yml", "N-015:", "  N-016: {name: porter's lodge, floor: N-G, use: office}"
            ),
            HERE.end(
                "outlets/north.yml",
                "\n\n# North Hall, classrooms; the lodge stands at the gate, off the plan\n"
                + outlet_lines(NORTH_ROOMS)
                + LODGE,
            ),
            HERE.before(
                "enclosures/N1.yml",
                "SW2/49:",
                cord_lines(NORTH_ROOMS, "SW2", 13, _ladder)
                + "\n  B/39: {to: SW2/39, cord: 0.7 m}\n  B/40: {to: SW2/40, cord: 0.7 m}",
            ),
            HERE.after(
                "pathways.yml",
                "RN:",
                "C4: {label: conduit to the lodge, kind: conduit, from room: N-001, to room: N-016, route: along the drive, bore: 40.89 mm, length: 41 m, bends: 3}",
            ),
            HERE.new(
                "jobs/J4.yml",
                """
title: Second row of sockets in five classrooms, two in the porter's lodge
kind: add
state: done
asked by: Sanne Oyle
asked on: 2023-12-11
authorised by: Sanne Oyle
window: 2024-01-20 08:00 to 2024-01-22 19:00
outage: no
rooms: [N-003, N-004, N-005, N-011, N-012, N-016]
enclosures: N1
done by: Ilo Farrant
done on: 2024-01-22
emergency location: updated
tell client: yes
""",
            ),
        ),
        job="J4",
    )
    yield Scene(
        "2024-01-24T12:10+00:00",
        TAMSIN,
        "Lindmarsh: the two drops to the lodge are too long, F5",
        (
            HERE.new(
                "tests/2024-01-N1.csv",
                _results(NORTH_ROOMS, "2024-01-24", "Tamsin Oke").rstrip("\n")
                + """
N1.B39,2024-01-24,fail,Cat 6A permanent link,96.4 m,0 dB,certifier 1,2023-02-27,Tamsin Oke
N1.B40,2024-01-24,marginal,Cat 6A permanent link,93.8 m,0.1 dB,certifier 1,2023-02-27,Tamsin Oke
""",
            ),
            HERE.end(
                "findings.yml",
                """
F5:
  what: "N1.B39 and N1.B40 to the porter's lodge are 96.4 m and 93.8 m long"
  bad: deficient
  room: N-016
  outlet: [N1.B39, N1.B40]
  falls short of: 90 m for a permanent link
  options: "fibre in the same conduit with a small switch in the lodge; or leave them at 100 Mb/s"
  advice: fibre, when the drive is opened next
  to mend: us
  found on: 2024-01-24
  found by: Tamsin Oke
  job: J4
  tell client: yes
""",
            ),
            HERE.fill(
                "jobs/J4.yml",
                state="verified",
                verified_by="Tamsin Oke",
                verified_on="2024-01-24",
                instructions='"the two in the lodge work at 100 Mb/s, see finding F5"',
            ),
        ),
        "Walked as 82 m on the drawing; the conduit takes the way round by the gate.",
        job="J4",
    )
    yield Scene(
        "2024-03-05T10:12+00:00",
        TAMSIN,
        "Lindmarsh: W1.A14 dead",
        (
            HERE.set("outlets/west.yml", "W1.A14", state="dead"),
            HERE.swap("outlets/west.yml", "W1.A14: {", "W1.A14: "),
        ),
    )
    yield Scene(
        "2024-03-05T10:31+00:00",
        TAMSIN,
        "Lindmarsh: put back the brace lost in the last commit",
        (
            HERE.swap("outlets/west.yml", "W1.A14: room", "W1.A14: {room"),
            HERE.end(
                "findings.yml",
                """
F6:
  what: W1.A14, first bench in W-003, gives no link since acid was spilt on the plate
  bad: deficient
  room: W-003
  outlet: W1.A14
  advice: a sealed plate, mounted higher
  to mend: us
  found on: 2024-03-04
  found by: Liv Ostrander
""",
            ),
        ),
        "Typed on a telephone; check before you push.",
    )
    yield Scene(
        "2024-04-17T14:30+01:00",
        MARA,
        "Lindmarsh: J5 planned, first floor of the laboratories",
        (
            HERE.new(
                "jobs/J5.yml",
                """
title: "West Laboratories, first floor: enclosure W2, 60 drops"
kind: new work
state: planned
why: the upper floor is fitted out
asked by: Piet Andermast
asked on: 2024-03-18
authorised by: Sanne Oyle
wanted by: 2024-08-30
window: 2024-07-08 07:00 to 2024-07-17 18:00
outage: no
enclosures: W1
""",
            ),
        ),
        job="J5",
    )
    yield Scene(
        "2024-07-10T18:30+01:00",
        ZOE,
        "Lindmarsh: enclosure W2 and 60 drops on the laboratories' first floor",
        (
            HERE.after("site.yml", "W-G: {", "  W-1: {name: first floor,  building: W, level: 1}"),
            HERE.after("site.yml", "W-015:", room_lines(WEST_FIRST)),
            HERE.new(
                "enclosures/W2.yml",
                W2.rstrip("\n")
                + PATCHING
                + cord_lines(WEST_UP_A, "SW1", 1, "0.3 m")
                + "\n"
                + cord_lines(WEST_UP_B, "SW1", 25, "0.3 m")
                + "\n"
                + cord_lines(WEST_UP_C, "SW2", 1, "0.3 m")
                + "\n  SW1/49: {to: F/01, cord: 1 m, media: fibre}\n  SW2/25: {to: SW1/50, cord: 0.5 m}",
            ),
            HERE.after(
                "enclosures/W1.yml",
                "42:    {panel: FO",
                "  41:    {panel: FM, ports: 12, media: fibre, connector: LC duplex, depth: 220 mm, weight: 2.0 kg, label: OM4, installed: 2024-07-08}",
            ),
            HERE.end("enclosures/W1.yml", "  SW1/52: {to: FM/01, cord: 1 m, media: fibre}"),
            HERE.after(
                "backbones.yml",
                "BN1:",
                "BW1: {label: W1/W2-1, from: W1/FM/01-06, to: W2/F/01-06, cable: OM4, strands: 12, length: 19 m, via: RW, installed: 2024-07-08}",
            ),
            HERE.after(
                "pathways.yml",
                "TW0:",
                """
TW1: {label: tray W1, kind: tray, from room: W-108, to room: W-112, route: above the corridor ceiling of the first floor, width: 200 mm, height: 60 mm, length: 46 m}
RW: {label: riser, kind: sleeve, from room: W-008, to room: W-108, route: straight up, bore: 77.9 mm, length: 0.4 m, barrier: "concrete floor, 60 min", barrier known: surveyed, seal: "mortar, tag LC-031, Estates 2024-07-09"}
""",
            ),
            HERE.end(
                "outlets/west.yml",
                "\n\n# West Laboratories, first floor\n"
                + outlet_lines([*WEST_UP_A, *WEST_UP_B, *WEST_UP_C]),
            ),
            HERE.fill("jobs/J5.yml", state="done", done_by="Zoë Lindqvarn", done_on="2024-07-10"),
        ),
        job="J5",
    )
    yield Scene(
        "2024-07-12T14:05+01:00",
        TAMSIN,
        "Lindmarsh: certification of W2",
        (
            HERE.new(
                "tests/2024-07-W2.csv",
                _results(
                    [*WEST_UP_A, *WEST_UP_B, *WEST_UP_C],
                    "2024-07-12",
                    "Tamsin Oke",
                    {"W2.B12": ("marginal", "0.3 dB")},
                ).rstrip("\n")
                + "\nBW1,2024-07-12,pass,OM4 850 nm both directions,18.7 m,1.4 dB,optical loss set 2,2024-04-22,Tamsin Oke",
            ),
        ),
        job="J5",
    )
    yield Scene(
        "2024-07-16T09:55+01:00",
        MARA,
        "Lindmarsh: J5 verified, plan of the first floor",
        (
            HERE.new(
                "plans/west-first.svg", plan_picture("West Laboratories, first floor", WEST_FIRST)
            ),
            HERE.set("site.yml", "W-1", plan="plans/west-first.svg", plan_width="48 m"),
            HERE.fill(
                "jobs/J5.yml",
                state="verified",
                verified_by="Mara Quist",
                verified_on="2024-07-16",
                emergency_location="updated",
            ),
        ),
        job="J5",
    )
    yield Scene(
        "2024-09-24T17:15+01:00",
        ILO,
        "Lindmarsh: doors, cameras and house controls in the laboratories",
        (
            HERE.end(
                "outlets/west.yml",
                "\n\n# Doors, cameras, house controls; phones in two rooms\n"
                # A slip: two controllers on one port.
                + outlet_lines(WEST_DOORS).replace("port: W1/B/27", "port: W1/B/26"),
            ),
            HERE.before("enclosures/W1.yml", "SW1/49:", cord_lines(WEST_DOORS, "SW2", 25, _ladder)),
            HERE.new(
                "jobs/J6.yml",
                """
title: Door controllers, two cameras and heating control in the laboratories
kind: add
state: done
asked by: Piet Andermast
asked on: 2024-08-26
authorised by: Sanne Oyle
window: 2024-09-23 07:30 to 2024-09-24 18:00
outage: no
enclosures: W1
done by: Ilo Farrant
done on: 2024-09-24
emergency location: updated
""",
            ),
        ),
        "Not certified yet: the certifier is away for calibration.",
        job="J6",
    )
    yield Scene(
        "2024-09-25T08:20+01:00",
        ILO,
        "Lindmarsh: W1.B27 is on port 27, not 26",
        (HERE.set("outlets/west.yml", "W1.B27", port="W1/B/27"),),
        job="J6",
    )
    yield Scene(
        "2025-01-14T11:00+00:00",
        MARA,
        "Lindmarsh: J8 planned, South Hall",
        (
            HERE.new(
                "jobs/J8.yml",
                """
title: "South Hall: enclosure S1, fibre through duct 2, 64 drops"
kind: new work
state: planned
why: sports hall and workshops move out of the old mill
asked by: Piet Andermast
asked on: 2024-11-18
authorised by: Sanne Oyle
wanted by: 2025-05-02
window: 2025-04-07 07:00 to 2025-04-18 18:00
outage: no
enclosures: N1
instructions: the sports hall ceiling needs the lifting platform; operator's card wanted
""",
            ),
            HERE.after(
                "site.yml",
                "laser:",
                '  height: {hazard: work at height, known: reported, where: sports hall S-001, found: "9 m to the ceiling, lifting platform kept in S-009", by: Piet Andermast, on: 2025-01-10}',
            ),
        ),
        job="J8",
    )
    yield Scene(
        "2025-02-20T12:40+00:00",
        TAMSIN,
        "Lindmarsh: panel C in N2, eighteen drops",
        (
            HERE.after(
                "enclosures/N2.yml",
                "20:  {panel: B",
                """
  19:  {panel: C, ports: 24, category: 6A, depth: 110 mm, weight: 1.4 kg, installed: 2025-02-17}
  18:  {switch: SW2, ports: 24, uplinks: 4, speed: 1 Gb/s, uplink speed: 10 Gb/s, poe: 370 W, depth: 330 mm, weight: 5.4 kg, nameplate: 450 W, fed by: UPS1, host name: lc-n2-sw2, address: 192.0.2.22, installed: 2025-02-17, warranty until: 2030-02-28}
""",
            ),
            HERE.before(
                "enclosures/N2.yml",
                "SW1/49:",
                cord_lines(NORTH_UP_C, "SW2", 1, "0.3 m") + "\n  SW2/25: {to: SW1/50, cord: 0.5 m}",
            ),
            HERE.end(
                "outlets/north.yml",
                "\n\n# North Hall, first floor, second round\n" + outlet_lines(NORTH_UP_C),
            ),
            HERE.new("tests/2025-02-N2.csv", _results(NORTH_UP_C, "2025-02-18", "Tamsin Oke")),
            HERE.new(
                "jobs/J7.yml",
                """
title: "First floor of North Hall: staff workroom, music room, wireless"
kind: add
state: verified
asked by: Sanne Oyle
asked on: 2024-12-02
authorised by: Sanne Oyle
window: 2025-02-17 07:30 to 2025-02-18 18:00
outage: no
rooms: [N-107, N-110, N-111, N-112, N-113, N-115]
enclosures: N2
done by: Tamsin Oke
done on: 2025-02-18
verified by: Mara Quist
verified on: 2025-02-20
emergency location: updated
tell client: yes
""",
            ),
        ),
        job="J7",
    )
    yield Scene(
        "2025-04-08T17:30+01:00",
        ILO,
        "Lindmarsh: enclosure S1 in South Hall, fibre through duct D2",
        (
            HERE.after("site.yml", "W: {", '  S: {name: South Hall, built: "2024"}'),
            HERE.after("site.yml", "W-1: {", "  S-G: {name: ground floor, building: S, level: 0}"),
            HERE.end("site.yml", room_lines(SOUTH_GROUND)),
            HERE.new("enclosures/S1.yml", S1),
            HERE.end(
                "backbones.yml",
                "BC2: {label: N/S-1, from: N1/FO/13-24, to: S1/FO/01-12, cable: OS2, strands: 24, length: 226 m, via: D2, outdoors: yes, installed: 2025-04-08}",
            ),
            HERE.end(
                "pathways.yml",
                """

# South Hall
TS0: {label: tray S0, kind: tray, from room: S-008, to room: S-011, route: along the corridor wall, width: 300 mm, height: 60 mm, length: 38 m}
D2: {label: duct 2, kind: duct, from room: N-008, to room: S-008, route: under the playing field by chambers 1 and 4, bore: 97.4 mm, length: 208 m, bends: 2, pull cord: yes}
""",
            ),
        ),
        job="J8",
    )
    yield Scene(
        "2025-04-15T18:10+01:00",
        ILO,
        "Lindmarsh: 64 drops in South Hall, patched, S1 live",
        (
            HERE.new(
                "outlets/south.yml",
                "# South Hall, ground floor\n" + outlet_lines([*SOUTH_A, *SOUTH_B]),
            ),
            HERE.end(
                "enclosures/S1.yml",
                PATCHING
                + cord_lines(SOUTH_A, "SW1", 1, _ladder)
                + "\n"
                + cord_lines(SOUTH_B, "SW2", 1, _ladder)
                + "\n  SW1/49: {to: FO/01, cord: 1 m, media: fibre}\n  SW2/49: {to: SW1/50, cord: 0.5 m}",
            ),
            HERE.after(
                "enclosures/N1.yml", "CORE/05:", "  CORE/06: {to: FO/13, cord: 2 m, media: fibre}"
            ),
            HERE.fill("jobs/J8.yml", state="done", done_by="Ilo Farrant", done_on="2025-04-15"),
        ),
        job="J8",
    )
    yield Scene(
        "2025-04-17T13:45+01:00",
        TAMSIN,
        "Lindmarsh: certification of S1, plan, J8 verified",
        (
            HERE.new(
                "tests/2025-04-S1.csv",
                _results([*SOUTH_A, *SOUTH_B], "2025-04-17", "Tamsin Oke").rstrip("\n")
                + "\nBC2,2025-04-17,pass,OS2 1310 nm both directions,225.1 m,2.4 dB,optical loss set 2,2024-04-22,Tamsin Oke",
            ),
            HERE.new(
                "plans/south-ground.svg", plan_picture("South Hall, ground floor", SOUTH_GROUND)
            ),
            HERE.set("site.yml", "S-G", plan="plans/south-ground.svg", plan_width="40 m"),
            HERE.fill(
                "jobs/J8.yml",
                state="verified",
                verified_by="Tamsin Oke",
                verified_on="2025-04-17",
                emergency_location="updated",
            ),
        ),
        job="J8",
    )
    yield Scene(
        "2025-05-06T16:25+01:00",
        ZOE,
        "Lindmarsh: a second way for the laboratories, W1 to S1",
        (
            HERE.end(
                "backbones.yml",
                "BC3: {label: W/S-1, from: W1/FO/13-18, to: S1/FO/13-18, cable: OS2, strands: 12, length: 141 m, via: D3, outdoors: yes, installed: 2025-05-06}",
            ),
            HERE.end(
                "pathways.yml",
                "D3: {label: duct 3, kind: duct, from room: W-008, to room: S-008, route: along the mill stream by chambers 3 and 5, bore: 52.5 mm, length: 126 m, bends: 3, pull cord: no}",
            ),
            HERE.after(
                "enclosures/W1.yml", "SW1/49:", "  SW1/51: {to: FO/13, cord: 1 m, media: fibre}"
            ),
            HERE.after(
                "enclosures/S1.yml", "SW1/49:", "  SW1/51: {to: FO/13, cord: 1 m, media: fibre}"
            ),
            HERE.new(
                "tests/2025-05-fibre.csv",
                f"{HEADER}\nBC3,2025-05-06,pass,OS2 1310 nm both directions,140.6 m,2.7 dB,optical loss set 2,2025-04-14,Zoë Lindqvarn",
            ),
            HERE.new(
                "jobs/J9.yml",
                """
title: Second fibre way between West Laboratories and South Hall
kind: new work
state: verified
why: a digger in the forecourt would put the laboratories out of work
asked by: Sanne Oyle
asked on: 2025-03-03
authorised by: Sanne Oyle
outage: no
enclosures: [W1, S1]
done by: Zoë Lindqvarn
done on: 2025-05-06
verified by: Zoë Lindqvarn
verified on: 2025-05-06
emergency location: not applicable
""",
            ),
        ),
        "Tried with BC1 unplugged at N1: laboratories back after three seconds, by way of S1.",
        job="J9",
    )
    yield Scene(
        "2025-08-20T18:05+01:00",
        ZOE,
        "Lindmarsh: mezzanine of South Hall, enclosure S2 and 36 drops",
        (
            HERE.after(
                "site.yml",
                "S-G: {",
                "  S-M: {name: mezzanine,    building: S, level: 1, plan: plans/south-mezzanine.svg, plan width: 40 m, grid columns: 20, grid rows: 5}",
            ),
            HERE.end("site.yml", room_lines(SOUTH_MEZZANINE)),
            HERE.new(
                "plans/south-mezzanine.svg", plan_picture("South Hall, mezzanine", SOUTH_MEZZANINE)
            ),
            HERE.new(
                "enclosures/S2.yml",
                S2.rstrip("\n")
                + PATCHING
                + cord_lines(SOUTH_UP_A, "SW1", 1, "0.3 m")
                + "\n"
                + cord_lines(SOUTH_UP_B, "SW1", 25, "0.3 m")
                + "\n  SW1/49: {to: F/01, cord: 1 m, media: fibre}",
            ),
            HERE.after(
                "enclosures/S1.yml",
                "33:    {panel: FO",
                "  32:    {panel: FM, ports: 12, media: fibre, connector: LC duplex, depth: 220 mm, weight: 2.0 kg, label: OM4, installed: 2025-08-19}",
            ),
            HERE.end("enclosures/S1.yml", "  SW1/52: {to: FM/01, cord: 1 m, media: fibre}"),
            HERE.after(
                "backbones.yml",
                "BW1:",
                "BS1: {label: S1/S2-1, from: S1/FM/01-06, to: S2/F/01-06, cable: OM4, strands: 12, length: 48 m, via: TS0, installed: 2025-08-19}",
            ),
            HERE.after(
                "pathways.yml",
                "TS0:",
                "TS1: {label: basket S1, kind: basket, from room: S-104, to room: S-101, route: under the gallery, width: 150 mm, height: 50 mm, length: 36 m}",
            ),
            HERE.end(
                "outlets/south.yml",
                "\n\n# South Hall, mezzanine\n" + outlet_lines([*SOUTH_UP_A, *SOUTH_UP_B]),
            ),
            HERE.new(
                "tests/2025-08-S2.csv",
                _results([*SOUTH_UP_A, *SOUTH_UP_B], "2025-08-20", "Zoë Lindqvarn").rstrip("\n")
                + "\nBS1,2025-08-20,pass,OM4 850 nm both directions,47.3 m,1.2 dB,optical loss set 2,2025-04-14,Zoë Lindqvarn",
            ),
            HERE.new(
                "jobs/J10.yml",
                """
title: "Mezzanine of South Hall: enclosure S2, 36 drops"
kind: new work
state: verified
asked by: Piet Andermast
asked on: 2025-06-16
authorised by: Sanne Oyle
window: 2025-08-18 07:00 to 2025-08-20 19:00
outage: no
enclosures: S1
done by: Zoë Lindqvarn
done on: 2025-08-20
verified by: Zoë Lindqvarn
verified on: 2025-08-20
emergency location: updated
""",
            ),
        ),
        job="J10",
    )
    yield Scene(
        "2025-10-14T15:50+01:00",
        ILO,
        "Lindmarsh: SW1 of N1 replaced, uplink to the core at 10 Gb/s",
        (
            HERE.redo(
                "enclosures/N1.yml",
                "37:    {switch: SW1",
                "  37:    {switch: SW1, ports: 48, uplinks: 4, speed: 1 Gb/s, uplink speed: 10 Gb/s, poe: 740 W, depth: 380 mm, weight: 7.1 kg, nameplate: 900 W, fed by: UPS1, host name: lc-n1-sw1, address: 192.0.2.11, serial: 25-2290, installed: 2025-10-14, warranty until: 2030-10-31}",
            ),
            HERE.redo(
                "enclosures/N1.yml",
                "SW1/49:",
                "  SW1/49: {to: CORE/02, cord: 1 m, media: fibre}",
            ),
            HERE.new(
                "jobs/J11.yml",
                """
title: Replace SW1 in N1
kind: change
state: verified
why: its fan was ten years old and loud; the library heard it
asked by: Sanne Oyle
asked on: 2025-09-08
authorised by: Sanne Oyle
window: 2025-10-14 14:00 to 17:00
outage: yes
enclosures: N1
done by: Ilo Farrant
done on: 2025-10-14
verified by: Ilo Farrant
verified on: 2025-10-14
emergency location: not applicable
tell client: yes
""",
            ),
        ),
        "Cord for cord onto the same port numbers.",
        job="J11",
    )
    yield Scene(
        "2026-02-17T09:10+00:00",
        ZOE,
        "Lindmarsh: four jacks from electronics to the instrument room",
        (
            *(
                HERE.set(
                    "outlets/west.yml",
                    key,
                    room="W-010",
                    plate="bench",
                    position=position,
                    length=length,
                    terminated="2026-02-16",
                )
                for key, position, length in (
                    ("W1.B09", '"25.2 m, 14.1 m"', "33.7 m"),
                    ("W1.B10", '"25.2 m, 14.1 m"', "33.9 m"),
                    ("W1.B11", '"26.4 m, 14.6 m"', "35.6 m"),
                    ("W1.B12", '"26.4 m, 14.6 m"', "35.4 m"),
                )
            ),
            HERE.new(
                "tests/2026-02-W1.csv",
                HEADER
                + """
W1.B09,2026-02-16,pass,Cat 6A permanent link,33.5 m,3.9 dB,certifier 1,2026-02-16,Zoë Lindqvarn
W1.B10,2026-02-16,pass,Cat 6A permanent link,33.7 m,4.4 dB,certifier 1,2026-02-16,Zoë Lindqvarn
W1.B11,2026-02-16,pass,Cat 6A permanent link,35.4 m,3.1 dB,certifier 1,2026-02-16,Zoë Lindqvarn
W1.B12,2026-02-16,pass,Cat 6A permanent link,35.3 m,3.6 dB,certifier 1,2026-02-16,Zoë Lindqvarn
""",
            ),
            HERE.new(
                "jobs/J12.yml",
                """
title: Four jacks from W-012 to the new bench in W-010
kind: move
state: verified
asked by: Kasimir Brandt
asked on: 2026-01-19
authorised by: Sanne Oyle
window: 2026-02-16 08:00 to 17:30
outage: yes
rooms: [W-010, W-012]
outlets: [W1.B09, W1.B10, W1.B11, W1.B12]
done by: Zoë Lindqvarn
done on: 2026-02-16
verified by: Kasimir Brandt
verified on: 2026-02-17
emergency location: not applicable
tell client: yes
""",
            ),
        ),
        job="J12",
    )
    yield Scene(
        "2026-05-12T17:00+01:00",
        ODILE,
        "Lindmarsh: yearly walk, all six enclosures seen",
        (
            *(
                HERE.redo(f"enclosures/{key}.yml", "seen:", "seen: 2026-05-12 by Odile Brask")
                for key in ("N1", "N2", "W1", "W2", "S1", "S2")
            ),
            HERE.after(
                "enclosures/N1.yml",
                "supply voltage:",
                "bonding: 16 mm² to the busbar in N-008, 27 milliohm measured 2026-05-11",
            ),
            HERE.swap(
                "enclosures/S1.yml",
                "{panel: B, ports: 48, category: 6A,",
                "{panel: B, ports: 48, category: 6A, reserved: [41-48],",
            ),
            HERE.swap(
                "enclosures/W2.yml",
                "19:  {panel: C, ports: 24, category: 6A,",
                "19:  {panel: C, ports: 24, category: 6A, dead: [24],",
            ),
            HERE.after(
                "enclosures/N1.yml",
                "27:    {router: R2",
                "  22-25: {reserve: RES1, for: a second firewall and a door server}",
            ),
            HERE.fill(
                "findings.yml",
                "F1",
                cleared_on="2026-05-11",
                cleared_by="the college's electrician",
                evidence="conductor found behind the plinth, 27 milliohm",
            ),
            HERE.fill(
                "findings.yml",
                "F2",
                cleared_on="2026-05-12",
                cleared_by="Odile Brask",
                evidence="labels at both ends of every cord",
            ),
            HERE.end(
                "findings.yml",
                """
F7:
  what: batteries of UPS1 in N1 are nearly five years old
  bad: deficient
  item: N1/UPS1
  advice: new battery pack before the winter term
  to mend: us
  found on: 2026-05-12
  found by: Odile Brask
  tell client: yes
F8:
  what: metal dust on the filter of S1's rear door
  bad: untidy
  enclosure: S1
  advice: the workshop to change the filter each term
  to mend: client
  found on: 2026-05-12
  found by: Odile Brask
  tell client: yes
F9:
  what: fourteen drops W1.B25 to W1.B38 were never certified
  bad: incomplete
  item: W1/B
  advice: certify them at the next visit
  to mend: us
  found on: 2026-05-12
  found by: Odile Brask
""",
            ),
        ),
        "Ports 41 to 48 of S1/B are kept for the welding shop by Piet Andermast's wish.",
    )
    yield Scene(
        "2026-06-23T10:35+01:00",
        MARA,
        "Lindmarsh: a faster circuit is ordered",
        (
            HERE.after(
                "site.yml",
                "main: {",
                "  fast: {carrier: Quellmark Fibre, service: internet, speed: 10 Gb/s, reference: QF-0388, account holder: Lindmarsh College, support: 555-0192, confirms: Sanne Oyle, room: N-008, state: ordered}",
            ),
        ),
        "Promised for the first quarter; it will land on the same terminal.",
    )
    yield Scene(
        "2026-09-15T16:55+01:00",
        ILO,
        "Lindmarsh: heating control for South Hall, six drops",
        (
            HERE.end(
                "outlets/south.yml",
                "\n\n# South Hall, heating control\n" + outlet_lines(SOUTH_HOUSE),
            ),
            HERE.before(
                "enclosures/S1.yml", "SW1/49:", cord_lines(SOUTH_HOUSE, "SW2", 17, _ladder)
            ),
            HERE.new("tests/2026-09-S1.csv", _results(SOUTH_HOUSE, "2026-09-15", "Ilo Farrant")),
            HERE.new(
                "jobs/J13.yml",
                """
title: Six drops for the heating control of South Hall
kind: add
state: verified
asked by: Piet Andermast
asked on: 2026-08-17
authorised by: Sanne Oyle
window: 2026-09-14 07:30 to 2026-09-15 17:00
outage: no
rooms: [S-001, S-002, S-003, S-009, S-010, S-011]
enclosures: S1
done by: Ilo Farrant
done on: 2026-09-15
verified by: Ilo Farrant
verified on: 2026-09-15
emergency location: not applicable
""",
            ),
        ),
        job="J13",
    )
    yield Scene(
        "2026-10-14T09:20+01:00",
        TAMSIN,
        "Lindmarsh: electronics benches to a switch of their own",
        (
            HERE.after(
                "enclosures/W1.yml",
                "33:    {manager: M2",
                """
  32:    {switch: SW3, ports: 48, uplinks: 4, speed: 1 Gb/s, uplink speed: 10 Gb/s, depth: 330 mm, weight: 4.9 kg, nameplate: 120 W, fed by: UPS1, host name: lc-w1-sw3, address: 192.0.2.33, installed: 2026-10-13, warranty until: 2031-10-31}
  30-31: {panel: C, ports: 48, category: 6A, depth: 120 mm, weight: 2.9 kg, installed: 2026-10-13}
""",
            ),
            *(
                HERE.redo(
                    "enclosures/W1.yml",
                    f"B/{port:02}:",
                    f"  B/{port:02}: {{to: SW3/{port:02}, cord: 1 m}}",
                )
                for port in range(1, 9)
            ),
            HERE.after("enclosures/W1.yml", "SW2/49:", "  SW3/49: {to: SW2/50, cord: 0.5 m}"),
            *(
                HERE.set("outlets/west.yml", f"W1.B{port:02}", network="bench")
                for port in (2, 4, 6, 8)
            ),
            HERE.new(
                "jobs/J14.yml",
                """
title: "Electronics benches: a switch of their own, panel C ahead of the new wing"
kind: change
state: verified
why: students' boards flood the other laboratories now and then
asked by: Liv Ostrander
asked on: 2026-09-21
authorised by: Sanne Oyle
window: 2026-10-13 15:00 to 18:00
outage: yes
rooms: W-012
enclosures: W1
outlets: [W1.B01, W1.B02, W1.B03, W1.B04, W1.B05, W1.B06, W1.B07, W1.B08]
done by: Tamsin Oke
done on: 2026-10-13
verified by: Liv Ostrander
verified on: 2026-10-14
emergency location: not applicable
tell client: yes
""",
            ),
        ),
        job="J14",
    )
    yield Scene(
        "2026-11-18T14:20+00:00",
        MARA,
        "Lindmarsh: J15 planned, battery pack of N1 in the Christmas break",
        (
            HERE.new(
                "jobs/J15.yml",
                """
title: New battery pack for UPS1 in N1
kind: repair
state: planned
why: finding F7
asked by: Sanne Oyle
asked on: 2026-11-09
authorised by: Sanne Oyle
window: 2026-12-21 08:00 to 12:00
outage: yes
rooms: N-008
enclosures: N1
instructions: two to carry, 62 kg; the whole college goes dark while N1 is off
tell client: yes
""",
            ),
            HERE.fill("findings.yml", "F7", job="J15"),
        ),
        job="J15",
    )
