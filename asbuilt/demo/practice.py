# ruff: noqa: E501  (a record is one line, as in the files themselves)
"""Hollow Lane Practice (invented): one cabinet on a wall, half documented, as it was found.

Nothing here is drawn, little is measured, and some of it nobody could trace. That is a valid
record too: what is missing is missing, and listed for the next visit.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from asbuilt.demo.scene import ILO, MARA, ODILE, TAMSIN, Folder, Scene

HERE: Final = Folder("hollow-lane")

SITE: Final = """
name: Hollow Lane Practice
trade: dental practice
address: 3 Hollow Lane, Tarnhithe
hours: Mon–Thu 08:00–18:00, Fri 08:00–13:00
access: through reception; the store is opened by reception, there is one key
do not touch: [alarm panel in the corridor (alarm company), compressor switch in the store]
measures: metric

contacts:
  dell: {name: Marit Dell, role: practice manager, helps with: keys and patients in chairs, authorises: yes, phone: 555-0121, email: dell@example.org}

cautions:                                 # not known is not none
  ceilings: {hazard: asbestos, known: not known, where: every ceiling and the riser in the store}
  walls:    {hazard: rated barrier, known: not known, where: wall between store and waiting room}
  mains:    {hazard: mains power, known: reported, room: "7", found: two extension leads plugged into one another inside the cabinet, by: Mara Quist, on: 2022-10-25}

circuits:
  line: {carrier: Northmere Telecom, service: internet,  room: "7", lands on: C1/R1/LINE, account holder: "not known, perhaps the landlord"}
  tel:  {carrier: Northmere Telecom, service: telephone, room: "7", lands on: C1/TEL1/LINE, account holder: not known}

floors:
  G: {name: ground floor, level: 0}

rooms:                                    # numbers as on the doors
  "1": {name: reception,    floor: G, use: reception}
  "2": {name: waiting room, floor: G, use: other}
  "3": {name: surgery 1,    floor: G, use: treatment room}
  "4": {name: surgery 2,    floor: G, use: treatment room}
  "5": {name: office,       floor: G, use: office}
  "6": {name: staff room,   floor: G, use: kitchen}
  "7": {name: store,        floor: G, use: telecommunications space, locked: yes, key with: reception}
  "8": {name: corridor,     floor: G, use: corridor}
"""

CABINET: Final = """
# Depth could not be measured: the cabinet doesn't open at the side and is screwed to the wall.
room: "7"
kind: wall-mounted cabinet
position: above the compressor, lower edge at 1.9 m
height: 9 U
front door: glass, hinged left, does not close
locked: no
seen: 2022-10-25 by Mara Quist

front:                                    # U from the bottom
  9:   {panel: P, ports: 24, category: 5e, unknown: [9, 12, 14-20], abandoned: [21-24]}
  7:   {switch: SW1, ports: 16, speed: 1 Gb/s, serial: 11-0052}
  5:   {shelf: SH1}
  2-3: {router: TEL1, does: telephone system, ports: 4, named ports: [LINE], unknown: [1-4], owner: not known}
without U:
  - {router: R1, does: router, ports: 4, named ports: [LINE], speed: 1 Gb/s, where: on shelf SH1, owner: Northmere Telecom}
  - {switch: SW2, ports: 5, speed: 100 Mb/s, where: loose behind R1}
  - {power strip: P1, where: cable-tied to the left upright, sockets: 6, in use: 6}

patching:                                 # as far as traced
  P/01:   {to: SW1/01, cord: 2 m}
  P/02:   {to: SW1/02, cord: 2 m}
  P/03:   {to: SW2/01, cord: 3 m}
  P/04:   {to: SW1/03, cord: 2 m}
  P/06:   {to: SW1/05, cord: 2 m}
  P/07:   {to: SW1/06, cord: 2 m}
  P/08:   {to: SW1/07, cord: 3 m}
  SW1/16: {to: R1/1}
  SW2/05: {to: R1/2}
"""

OUTLETS: Final = """
# Keys are ours. The label is what is stuck on the faceplate; at the panel there is felt pen, the
# room number only, the same number on several ports.
o01: {label: "1",     label at panel: "1",   room: "1", plate: under the desk,       port: C1/P/01, cable: cat5e, serves: desk}
o02: {label: "1",     label at panel: "1",   room: "1", plate: under the desk,       port: C1/P/02, cable: cat5e, serves: desk}
o03: {label: "1",     label at panel: "1",   room: "1", plate: counter,              port: C1/P/03, cable: cat5e, serves: till}
o04: {                label at panel: "?",   room: "2", plate: ceiling,              port: C1/SW1/15, serves: access point}   # no panel: plugged straight into the switch
o05: {label: "3 L",   label at panel: "3",   room: "3", plate: left of the window,   port: C1/P/04, cable: cat5e, serves: desk}
o06: {label: "3 R*",  label at panel: "3",   room: "3", plate: right of the window,  port: C1/P/05, cable: cat5e, serves: spare, state: spare}
o07: {label: "4",     label at panel: "4",   room: "4", plate: left of the window,   port: C1/P/06, cable: cat5e, serves: desk}
o08: {label: "4",     label at panel: "4",   room: "4", plate: right of the window,  port: C1/P/07, cable: cat5e, serves: machine}   # the X-ray reader: ask before unplugging
o09: {label: "5",     label at panel: "5/6", room: "5", plate: behind the desk,      port: [C1/P/08, C1/P/10], cable: cat5e, serves: desk, person: Marit Dell}   # one jack, two cables
"""

FINDINGS: Final = """
F1:
  what: two extension leads plugged into one another inside the cabinet, one socket scorched
  bad: hazard
  enclosure: C1
  options: a socket outlet beside the cabinet, put in by an electrician
  advice: have an electrician look before anybody reaches in; do not pull plugs
  to mend: another trade
  found on: 2022-10-25
  found by: Mara Quist
  tell client: yes
F2:
  what: nobody can say whether there is asbestos above the ceilings
  bad: hazard
  advice: ask the landlord for the register; no tile is lifted until then
  to mend: landlord
  found on: 2022-10-25
  found by: Mara Quist
  tell client: yes
F3:
  what: cable to the waiting-room access point is plugged straight into SW1 port 15, no panel, no jack
  bad: deficient
  port: C1/SW1/15
  outlet: o04
  falls short of: "common practice: fixed cable ends at a panel"
  advice: terminate it on a free port of the panel once one is known to be free
  to mend: us
  found on: 2022-10-25
  found by: Mara Quist
  tell client: yes
F4:
  what: cabinet door cannot be closed over 2 m and 3 m cords
  bad: untidy
  enclosure: C1
  to mend: us
  found on: 2022-10-25
  found by: Mara Quist
F5:
  what: no list, no drawing, no test result; nine panel ports nobody could trace in two hours
  bad: incomplete
  item: C1/P
  advice: a half day with the practice closed
  to mend: us
  found on: 2022-10-25
  found by: Mara Quist
  tell client: yes
"""


def scenes() -> Iterator[Scene]:
    yield Scene(
        "2022-10-25T18:30+01:00",
        MARA,
        "Hollow Lane: first visit, the cabinet as found",
        (
            HERE.new("site.yml", SITE),
            HERE.new("enclosures/C1.yml", CABINET),
            HERE.new("outlets.yml", OUTLETS),
        ),
        "Two hours between patients. What is not in here was not seen; ports nobody could\n"
        "trace are recorded as unknown, not as free.",
    )
    yield Scene(
        "2022-10-26T08:50+01:00",
        MARA,
        "Hollow Lane: five findings from the first visit",
        (HERE.new("findings.yml", FINDINGS),),
    )
    yield Scene(
        "2022-12-02T16:40+00:00",
        ODILE,
        "Hollow Lane: second visit, five more sockets traced",
        (
            HERE.end(
                "outlets.yml",
                """
o10: {label: PRN,     label at panel: "5/6", room: "5", plate: behind the desk,      port: C1/P/11, cable: cat5e, serves: printer}
o11: {label: "6",     label at panel: "6",   room: "6", plate: by the fridge,        port: C1/P/13, cable: cat5e, length: 19 m, serves: phone}
o12: {label: "6 A/B", label at panel: "6",   room: "6", plate: by the door,          port: C1/P/14, cable: cat5e, serves: unknown, state: unknown}   # link light; nobody knows what for
o13: {                                       room: "8", plate: above the alarm panel, port: C1/SW2/03, cable: unknown, serves: alarm, owner: alarm company}   # theirs, plugged into SW2
o14: {                label at panel: "8",   room: "8", plate: end of the corridor,  port: C1/P/12, cable: cat5e, serves: unknown, state: unknown}
""",
            ),
            HERE.swap("enclosures/C1.yml", "unknown: [9, 12, 14-20]", "unknown: [9, 15-20]"),
            HERE.after(
                "enclosures/C1.yml",
                "P/08:",
                "  P/11:   {to: SW1/08, cord: 2 m}\n  P/13:   {to: TEL1/02, cord: 2 m}",
            ),
            HERE.swap(
                "enclosures/C1.yml",
                "named ports: [LINE], unknown: [1-4], owner",
                "named ports: [LINE], unknown: [1, 3-4], owner",
            ),
            HERE.redo("enclosures/C1.yml", "seen:", "seen: 2022-12-02 by Odile Brask"),
        ),
        "Friday afternoon after closing. Length of o11 by the marks on its jacket.",
    )
    yield Scene(
        "2023-02-28T17:10+00:00",
        ODILE,
        "Hollow Lane: extension leads gone, F1 cleared",
        (
            HERE.redo(
                "site.yml",
                "mains:",
                '  mains:    {hazard: mains power, known: reported, room: "7", found: extension leads replaced by a double socket beside the cabinet, by: the practice\'s electrician, on: 2023-02-21}',
            ),
            HERE.fill(
                "findings.yml",
                "F1",
                cleared_on="2023-02-21",
                cleared_by="the practice's electrician",
                evidence="double socket beside the cabinet, seen 2023-02-28",
            ),
            HERE.swap("enclosures/C1.yml", "sockets: 6, in use: 6}", "sockets: 6, in use: 5}"),
        ),
    )
    yield Scene(
        "2023-07-04T12:50+01:00",
        TAMSIN,
        "Hollow Lane: reception turned round, J1",
        (
            HERE.set("outlets.yml", "o02", serves="phone"),
            HERE.redo("enclosures/C1.yml", "P/02:", "  P/02:   {to: TEL1/03, cord: 2 m}"),
            HERE.swap(
                "enclosures/C1.yml",
                "named ports: [LINE], unknown: [1, 3-4], owner",
                "named ports: [LINE], unknown: [1, 4], owner",
            ),
            HERE.new(
                "jobs/J1.yml",
                """
title: Telephone at the second reception desk
kind: change
state: done
asked by: Marit Dell
asked on: 2023-06-29
authorised by: Marit Dell
outage: no
rooms: "1"
outlets: o02
done by: Tamsin Oke
done on: 2023-07-04
emergency location: not updated
tell client: yes
""",
            ),
        ),
        "Marit Dell still has to tell the carrier where the telephone stands now.",
        job="J1",
    )
    yield Scene(
        "2024-02-13T21:15+00:00",
        ILO,
        "Hollow Lane: SW1 dead, replaced in the evening by what was in the van",
        (
            HERE.redo(
                "enclosures/C1.yml",
                "7:   {switch: SW1",
                "  7:   {switch: SW1, ports: 16, speed: 1 Gb/s, poe: 120 W, poe ports: [1-8], depth: 210 mm, serial: 23-0871, installed: 2024-02-13}",
            ),
            HERE.new(
                "jobs/J2.yml",
                """
title: Switch SW1 dead, practice without network
kind: repair
state: done
asked by: Marit Dell
asked on: 2024-02-13
authorised by: Marit Dell
outage: yes
enclosures: C1
done by: Ilo Farrant
done on: 2024-02-13
emergency location: not applicable
tell client: yes
""",
            ),
        ),
        "Every cord back on the port it came from. Access point stays on 15, which gives no\n"
        "power; it has its own adapter.",
        job="J2",
    )
    yield Scene(
        "2024-02-20T09:00+00:00",
        ILO,
        "Hollow Lane: two cords were not back where they came from",
        (
            HERE.redo("enclosures/C1.yml", "P/06:", "  P/06:   {to: SW1/04, cord: 2 m}"),
            HERE.redo("enclosures/C1.yml", "P/11:", "  P/11:   {to: SW1/09, cord: 2 m}"),
        ),
        "Seen by daylight. Nothing was out of order; the record was.",
    )
    yield Scene(
        "2024-10-01T16:20+01:00",
        ODILE,
        "Hollow Lane: abandoned cable above the corridor, F6",
        (
            HERE.end(
                "outlets.yml",
                'o15: {room: "8", plate: coil above the corridor hatch, cable: cat3, serves: unknown, state: abandoned, seen: 2024-10-01 by Odile Brask}   # cut off at both ends',
            ),
            HERE.end(
                "findings.yml",
                """
F6:
  what: a coil of old cable, cut at both ends, lies on the ceiling of the corridor
  bad: deficient
  room: "8"
  outlet: o15
  falls short of: "common practice: cable nobody will use again is taken out"
  advice: take it out when the ceiling may be opened (F2 first)
  to mend: us
  found on: 2024-10-01
  found by: Odile Brask
  tell client: yes
""",
            ),
        ),
        "Seen through the open hatch from the ladder. No tile was lifted.",
    )
    yield Scene(
        "2025-05-13T10:05+01:00",
        MARA,
        "Hollow Lane: new practice manager",
        (
            HERE.redo(
                "site.yml",
                "dell:",
                """
  sorley: {name: Anneke Sorley, role: practice manager, helps with: keys and patients in chairs, authorises: yes, phone: 555-0121, email: sorley@example.org}
""",
            ),
            HERE.set("outlets.yml", "o09", person="Anneke Sorley"),
        ),
        "Marit Dell left in April. Anneke Sorley was shown where the cabinet is.",
    )
    yield Scene(
        "2025-09-09T18:55+01:00",
        ODILE,
        "Hollow Lane: five drops measured, one fails",
        (
            HERE.new(
                "tests/2025-09-some.csv",
                """
link,date,result,limit,length,margin,instrument,calibrated,by
o01,2025-09-09,pass,Cat 5e permanent link,14.1 m,3.2 dB,certifier 2,2025-03-31,Odile Brask
o02,2025-09-09,pass,Cat 5e permanent link,14.4 m,2.7 dB,certifier 2,2025-03-31,Odile Brask
o05,2025-09-09,pass,Cat 5e permanent link,21.8 m,4.9 dB,certifier 2,2025-03-31,Odile Brask
o07,2025-09-09,marginal,Cat 5e permanent link,25.0 m,0.2 dB,certifier 2,2025-03-31,Odile Brask
o08,2025-09-09,fail,Cat 5e permanent link,25.3 m,0 dB,certifier 2,2025-03-31,Odile Brask
""",
            ),
            *(
                HERE.set("outlets.yml", key, length=length)
                for key, length in (
                    ("o01", "14.1 m"),
                    ("o02", "14.4 m"),
                    ("o05", "21.8 m"),
                    ("o07", "25 m"),
                    ("o08", "25.3 m"),
                )
            ),
            HERE.end(
                "findings.yml",
                """
F7:
  what: o08, the X-ray reader, fails Cat 5e (near-end crosstalk); it runs at 100 Mb/s
  bad: deficient
  outlet: o08
  falls short of: Cat 5e permanent link
  advice: a new jack first; a new drop if that does not help
  to mend: us
  found on: 2025-09-09
  found by: Odile Brask
  tell client: yes
""",
            ),
        ),
        "More would have needed the surgeries empty for longer.",
    )
    yield Scene(
        "2026-02-17T11:30+00:00",
        ODILE,
        "Hollow Lane: carrier has changed the router",
        (
            HERE.redo(
                "site.yml",
                "line:",
                '  line: {carrier: Northmere Telecom, service: internet,  speed: 200 Mb/s, reference: NT-58113, room: "7", lands on: C1/R1/LINE, account holder: Hollow Lane Practice, support: 555-0190}',
            ),
            HERE.swap(
                "enclosures/C1.yml",
                "owner: Northmere Telecom}",
                "owner: Northmere Telecom, installed: 2026-02-12}",
            ),
        ),
        "The contract is in the practice's own name now; the letter lies in the store.",
    )
    yield Scene(
        "2026-10-06T14:15+01:00",
        MARA,
        "Hollow Lane: J3 asked for, a third surgery",
        (
            HERE.new(
                "jobs/J3.yml",
                """
title: Surgery 3 in the staff room, two sockets and an access point
kind: add
state: asked
why: a third dentist joins in January
asked by: Anneke Sorley
asked on: 2026-10-02
wanted by: 2027-01-04
rooms: "6"
enclosures: C1
tell client: yes
""",
            ),
        ),
        job="J3",
    )
    yield Scene(
        "2026-11-03T09:35+00:00",
        MARA,
        "Hollow Lane: J3 planned for 12 December, if the register comes",
        (
            HERE.fill(
                "jobs/J3.yml",
                state="planned",
                authorised_by="Anneke Sorley",
                window="2026-12-12 08:00 to 16:00",
                outage="yes",
                instructions='"no ceiling is opened before the landlord has shown the asbestos register (F2); trace ports 15 to 20 of P first, then mend F3 and F4 while all is off"',
            ),
        ),
        job="J3",
    )
