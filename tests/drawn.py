"""A site with something of everything that is drawn, and drawings taken apart again."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from xml.etree import ElementTree

from asbuilt.drawings.sheet import TitleBlock
from asbuilt.model.site import Site, site_of
from asbuilt.records.reading import read_folder

#: Two buildings: a 42 U frame, a cabinet numbered from the top, a rack in the dye house.
MILL: Mapping[str, str] = {
    "site.yml": """\
name: Alder & Finch Weaving Mill
circuits:
  net: {carrier: Northmere Telecom, service: internet, speed: 1 Gb/s, lands on: MDF/R1/WAN}
  old: {carrier: Oldwire, service: leased line, state: ceased}
buildings:
  main: {name: Main mill}
  dye: {name: Dye house}
floors:
  G: {name: ground floor, building: main, level: 0}
  "1": {name: first floor, building: main, level: 1}
  D: {name: dye floor, building: dye, level: 0}
rooms:
  G02: {name: comms room, floor: G, use: equipment room}
  G10: {name: office, floor: G, use: office}
  "1.04": {name: riser cupboard, floor: "1", use: telecommunications space}
  "1.10": {name: studio, floor: "1", use: office}
  D1: {name: dye office, floor: D, use: office}
""",
    "enclosures/MDF.yml": """\
label: Main frame
kind: floor-standing cabinet
room: G02
height: 42 U
depth: 900 mm
front:
  42: {panel: A, ports: 24, category: 6, depth: 60 mm, dead: [7], reserved: [8], abandoned: [9], unknown: [10]}
  40-41: {panel: B, ports: 48, category: 6A}
  39: {manager: M1}
  38: {switch: SW1, ports: 48, uplinks: 4, poe: 740 W, depth: 380 mm}
  37: {panel: F, label: Fibre to the houses, media: fibre, ports: 12, connector: LC duplex, depth: 120 mm}
  36: {switch: CORE, ports: 0, uplinks: 16, depth: 300 mm}
  30: {router: R1, does: firewall, ports: 4, named ports: [WAN], printed: {1: LAN}}
  29: [{router: OT1, does: optical terminal, ports: 1, part: left, depth: 140 mm}, {device: D1, ports: 2, part: right}]
  28: {shelf: S1}
  20-22: {reserve: RS1, for: second dye house link}
  1-3: {ups: UPS1, output: 2700 W, depth: 600 mm}
rear:
  42: {power strip: PDU1, sockets: 12, in use: 9, depth: 50 mm}
  12: {switch: RSW, ports: 8, uplinks: 2, part: left, depth: 160 mm}
without U:
  - {power strip: P1, where: right rear upright, sockets: 8}
  - {router: GW4, does: modem, ports: 4, where: on top}
patching:
  A/01: {to: SW1/01, cord: 0.3 m}
  A/02: {to: SW1/02, cord: 0.3 m}
  A/03: {to: SW1/03, cord: 0.3 m}
  A/05: {to: SW1/20}
  SW1/49: {to: CORE/01, cord: 0.5 m}
  CORE/02: {to: R1/1, cord: 0.5 m}
  CORE/03: {to: F/01, cord: 1 m}
  CORE/04: {to: F/07, cord: 1 m}
""",
    "enclosures/1A.yml": """\
kind: wall-mounted cabinet
room: "1.04"
height: 12 U
numbered from: top
depth: 450 mm
front:
  1: {panel: F, media: fibre, ports: 6, connector: LC duplex}
  2: {panel: A, ports: 24, category: 6}
  3: {switch: SW1, ports: 24, uplinks: 4, depth: 380 mm}
  11-12: {ups: UPS1, output: 900 W}
patching:
  A/01: {to: SW1/24, cord: 0.5 m}
  A/02: {to: SW1/23, cord: 0.5 m}
  SW1/25: {to: F/1, cord: 1 m}
""",
    "enclosures/DYE.yml": """\
kind: open rack
room: D1
height: 20 U
front:
  20: {panel: F, media: fibre, ports: 6}
  19: {panel: A, ports: 16, category: 5e}
""",
    "backbones.yml": """\
B1: {from: MDF/F/01-06, to: 1A/F/01-06, cable: OM4, strands: 12, length: 48 m}
B2: {from: MDF/F/07-12, to: DYE/F/01-06, cable: OS2, strands: 12, length: 180 m, outdoors: yes}
""",
    "outlets.yml": """\
MDF-A01: {room: G10, port: MDF/A/01, cable: cat6, length: 23.4 m, serves: desk, plate: west wall}
MDF-A02: {room: G10, port: MDF/A/02, cable: cat6, length: 23.9 m, serves: phone}
MDF-A03: {room: G10, port: MDF/A/03, cable: cat6, serves: printer}
MDF-A04: {room: G10, port: MDF/A/04, cable: cat6}
1A-A01: {room: "1.10", port: 1A/A/01, cable: cat6, length: 31 m, label: "studio 1"}
1A-A02: {room: "1.10", port: 1A/A/02, cable: cat6, length: 32 m}
DYE-A01: {room: D1, port: DYE/A/01, cable: cat5e}
spare: {room: D1}
""",
}

TITLE = TitleBlock(
    site="Alder & Finch Weaving Mill",
    sheet="1A-front",
    subject="Enclosure 1A, front",
    revision="3f9c2ab",
    date="2025-03-07",
    drawn_by="M. Quist",
    scale="1 : 5",
)

SVG = "{http://www.w3.org/2000/svg}"


def site_from(files: Mapping[str, str], key: str = "mill") -> Site:
    records = read_folder(key, {path: text.encode() for path, text in files.items()})
    assert records.problems == (), [str(problem) for problem in records.problems]
    site = site_of(records)
    assert site is not None
    return site


def page_of(kind: str, key: str) -> str:
    """A link for everything."""
    return f"../{kind}/{key}.html"


@dataclass(frozen=True, slots=True)
class Rect:
    """A rectangle as drawn, with the group it is drawn in."""

    x: float
    y: float
    width: float
    height: float

    @property
    def bottom(self) -> float:
        return self.y + self.height

    @property
    def right(self) -> float:
        return self.x + self.width

    def holds(self, other: Rect, slack: float = 0.02) -> bool:
        return (
            self.x - slack <= other.x
            and self.y - slack <= other.y
            and other.right <= self.right + slack
            and other.bottom <= self.bottom + slack
        )

    def overlaps(self, other: Rect, slack: float = 0.01) -> bool:
        return (
            self.x < other.right - slack
            and other.x < self.right - slack
            and self.y < other.bottom - slack
            and other.y < self.bottom - slack
        )


def parsed(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)


def with_class(root: ElementTree.Element, name: str) -> Iterator[ElementTree.Element]:
    """The elements that carry a class."""
    return (element for element in root.iter() if name in element.get("class", "").split())


def rect_of(element: ElementTree.Element) -> Rect:
    """The first rectangle in an element."""
    found = element if element.tag == f"{SVG}rect" else next(element.iter(f"{SVG}rect"))
    return Rect(*(float(found.attrib[name]) for name in ("x", "y", "width", "height")))


def title_of(element: ElementTree.Element) -> str:
    return element.findtext(f"{SVG}title", "")


def texts(root: ElementTree.Element) -> list[str]:
    return ["".join(element.itertext()) for element in root.iter(f"{SVG}text")]


def unwelcome(svg: str) -> list[str]:
    """What no drawing of ours may hold: a script, a handler, a style on an element, a reference
    to anything outside."""
    root = parsed(svg)
    found = []
    for element in root.iter():
        tag = element.tag.rpartition("}")[2]
        if tag in ("script", "foreignObject", "image", "iframe", "animate", "set", "use"):
            found.append(tag)
        for name, value in element.attrib.items():
            if name.startswith("on") or name == "style" or "xlink" in name:
                found.append(f"{tag} {name}")
            if re.match(r"\s*(?:javascript|data|https?|//)", value) and name != "xmlns":
                found.append(f"{tag} {name}={value}")
    without_namespace = svg.replace("http://www.w3.org/2000/svg", "")
    found += re.findall(r"https?:|@import|@font-face|url\((?!#)", without_namespace)
    return found
