"""Random sites as texts of their files: several enclosures, redundant and missing uplinks, double
use, dead ports, circuits that land or don't. Each is a function of one number.

They hold what the reader takes, so also what a check would remark upon.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random

from asbuilt.model.site import Site, site_of
from asbuilt.records.reading import Records, read_folder

SERVES = ("desk", "desk", "phone", "printer", "access point", "camera", "door", "spare", "unknown")


@dataclass
class _Enclosure:
    key: str
    mounted: list[str] = field(default_factory=list)
    loose: list[str] = field(default_factory=list)
    patching: dict[str, str] = field(default_factory=dict)
    #: Ports nothing is on yet, by what they are for.
    panel: list[str] = field(default_factory=list)
    fibre: list[str] = field(default_factory=list)
    landed: list[str] = field(default_factory=list)
    access: list[str] = field(default_factory=list)
    uplink: list[str] = field(default_factory=list)
    router: list[str] = field(default_factory=list)
    device: list[str] = field(default_factory=list)


def random_files(seed: int) -> dict[str, str]:
    """The files of a site, path → text."""
    rng = Random(seed)
    rooms = [str(100 + number) for number in range(rng.randint(1, 5))]
    enclosures = [_enclosure(rng, key) for key in ("1A", "1B", "2A", "3A")[: rng.randint(1, 4)]]
    outlets = [*_outlets(rng, enclosures, rooms)]
    backbones = [*_backbones(rng, enclosures)]
    for enclosure in enclosures:
        _patch(rng, enclosure, enclosures)
    site = ["name: Harbour Lane", "rooms:", *(f'  "{room}": {{}}' for room in rooms)]
    site += _circuits(rng, enclosures)
    files = {
        "site.yml": "\n".join(site) + "\n",
        "outlets.yml": "".join(f"{line}\n" for line in outlets),
        "backbones.yml": "".join(f"{line}\n" for line in backbones),
        "findings.yml": "".join(f"{line}\n" for line in _findings(rng, outlets, rooms)),
    }
    files |= {f"enclosures/{e.key}.yml": _enclosure_text(e, rng.choice(rooms)) for e in enclosures}
    return files


def random_records(seed: int) -> Records:
    files = {path: text.encode() for path, text in random_files(seed).items()}
    return read_folder("harbour", files)


def random_site(seed: int) -> Site:
    records = random_records(seed)
    assert records.problems == (), [str(problem) for problem in records.problems]
    site = site_of(records)
    assert isinstance(site, Site)
    return site


def _enclosure(rng: Random, key: str) -> _Enclosure:
    made = _Enclosure(key)
    for name in "AB"[: rng.randint(1, 2)]:
        ports = rng.choice((4, 8, 12))
        made.mounted.append(f"{{panel: {name}, ports: {ports}{_states(rng, ports)}}}")
        made.panel += _ports(name, ports)
    if rng.random() < 0.8:
        made.mounted.append(f"{{panel: F, media: fibre, ports: 8{_states(rng, 8)}}}")
        made.fibre += _ports("F", 8)
    for name in ("SW1", "SW2", "SW3")[: rng.choice((0, 1, 1, 1, 2, 3))]:
        ports = rng.choice((4, 8, 16))
        made.mounted.append(f"{{switch: {name}, ports: {ports}, uplinks: 4{_states(rng, ports)}}}")
        made.access += _ports(name, ports)
        made.uplink += _ports(name, 4, ports + 1)
    if rng.random() < 0.5:
        made.mounted.append("{router: R1, ports: 4, named ports: [WAN, WAN2]}")
        made.router += [*_ports("R1", 4), "R1/WAN", "R1/WAN2"]
    if rng.random() < 0.5:
        extra = rng.choice(("", ", withhold: no", ", does: recorder"))
        made.mounted.append(f"{{device: D1, ports: 2, named ports: [LOM]{extra}}}")
        made.device += [*_ports("D1", 2), "D1/LOM"]
    if rng.random() < 0.3:
        made.loose.append("{device: D2, ports: 1, where: on the floor}")
        made.device += ["D2/01"]
    for kept in (made.panel, made.fibre, made.access, made.uplink, made.router, made.device):
        rng.shuffle(kept)
    return made


def _ports(item: str, count: int, first: int = 1) -> list[str]:
    return [f"{item}/{number:02}" for number in range(first, first + count)]


def _states(rng: Random, ports: int) -> str:
    states = ("dead", "abandoned", "reserved", "unknown")
    return "".join(f", {s}: [{rng.randint(1, ports)}]" for s in states if rng.random() < 0.15)


def _outlets(rng: Random, enclosures: list[_Enclosure], rooms: list[str]) -> Iterator[str]:
    number = 0
    for enclosure in enclosures:
        free = enclosure.panel.copy()
        for port in free[: rng.randint(0, len(free))]:
            number += 1
            ports = [port]
            if rng.random() < 0.1:
                ports.append(rng.choice(free))
            if rng.random() < 0.05 and enclosure.access:
                ports = [enclosure.access.pop()]
            if rng.random() < 0.05:
                ports.append(f"{rng.choice(enclosures).key}/A/01")
            full = dict.fromkeys(p if p.count("/") > 1 else f"{enclosure.key}/{p}" for p in ports)
            fields = [f"port: [{', '.join(full)}]"]
            if rng.random() < 0.9:
                fields.append(f'room: "{rng.choice(rooms)}"')
            if rng.random() < 0.9:
                fields.append(f"serves: {rng.choice(SERVES)}")
            if rng.random() < 0.2:
                state = rng.choice(("spare", "dead", "abandoned", "reserved", "unknown"))
                fields.append(f"state: {state}")
            if rng.random() < 0.3:
                fields.append(f"label: L-{number:03}")
            yield f"O{number}: {{{', '.join(fields)}}}"
    for _ in range(rng.randint(0, 2)):
        number += 1
        yield f"O{number}: {{serves: {rng.choice(SERVES)}}}"


def _backbones(rng: Random, enclosures: list[_Enclosure]) -> Iterator[str]:
    number = 0
    for one in enclosures:
        for other in enclosures:
            if one.key >= other.key:
                continue
            for _ in range(rng.choice((0, 1, 1, 2))):
                count = min(rng.randint(1, 3), len(one.fibre), len(other.fibre))
                if not count:
                    continue
                number += 1
                starts = [f"{one.key}/{port}" for port in one.fibre[:count]]
                ends = [f"{other.key}/{port}" for port in other.fibre[:count]]
                del one.fibre[:count], other.fibre[:count]
                one.landed += [start.partition("/")[2] for start in starts]
                other.landed += [end.partition("/")[2] for end in ends]
                state = rng.choice((*(["in use"] * 6), "spare", "dead", "abandoned"))
                yield (
                    f"B{number}: {{from: [{', '.join(starts)}], to: [{', '.join(ends)}], "
                    f"state: {state}}}"
                )


def _patch(rng: Random, enclosure: _Enclosure, enclosures: list[_Enclosure]) -> None:
    """Panel ports to switches, uplinks to fibre and to each other, now and then a mistake."""
    for port in enclosure.panel:
        if enclosure.access and rng.random() < 0.75:
            _cord(enclosure, port, enclosure.access.pop())
    uplinks = enclosure.uplink.copy()
    for port in (*enclosure.router[:1], *enclosure.landed):
        if uplinks and rng.random() < 0.9:
            _cord(enclosure, port, uplinks.pop())
    ends = uplinks + enclosure.router[1:3]
    rng.shuffle(ends)
    while len(ends) > 1 and rng.random() < 0.9:
        _cord(enclosure, ends.pop(), ends.pop())
    for port in enclosure.device:
        spare = enclosure.access or enclosure.uplink
        if spare and rng.random() < 0.7:
            _cord(enclosure, port, spare[-1])
    if rng.random() < 0.3 and enclosure.panel and enclosure.access:
        _cord(enclosure, rng.choice(enclosure.panel), enclosure.access[0])
    if rng.random() < 0.2:
        far = rng.choice(enclosures)
        if far.uplink and enclosure.uplink:
            _cord(enclosure, rng.choice(enclosure.uplink), f"{far.key}/{rng.choice(far.uplink)}")


def _cord(enclosure: _Enclosure, start: str, end: str) -> None:
    enclosure.patching.setdefault(start, end)


def _circuits(rng: Random, enclosures: list[_Enclosure]) -> Iterator[str]:
    count = rng.choice((0, 1, 1, 1, 2, 3))
    if count:
        yield "circuits:"
    for number in range(1, count + 1):
        enclosure = rng.choice(enclosures)
        ports = enclosure.router or enclosure.uplink or enclosure.panel
        fields = [f"state: {rng.choice(('live', 'live', 'live', 'ordered', 'ceased'))}"]
        if rng.random() < 0.85:
            fields.append(f"lands on: {enclosure.key}/{rng.choice(ports)}")
        yield f"  C{number}: {{{', '.join(fields)}}}"


def _findings(rng: Random, outlets: list[str], rooms: list[str]) -> Iterator[str]:
    keys = [line.partition(":")[0] for line in outlets]
    for number in range(1, rng.randint(0, 3) + 1):
        some = rng.sample(keys, min(len(keys), rng.randint(0, 2)))
        fields = [f"what: something at {' and '.join(some) or 'the door'}"]
        if some:
            fields.append(f"outlet: [{', '.join(some)}]")
        fields += [
            f'room: "{rng.choice(rooms)}"',
            f"share with client: {rng.choice(('yes', 'no'))}",
        ]
        yield f"F{number}: {{{', '.join(fields)}}}"


def _enclosure_text(enclosure: _Enclosure, room: str) -> str:
    lines = ["height: 42 U", f'room: "{room}"', "front:"]
    lines += [f"  {unit}: {item}" for unit, item in enumerate(enclosure.mounted, start=1)]
    lines += ["without U:", *(f"  - {item}" for item in enclosure.loose), "patching:"]
    lines += [f"  {start}: {{to: {end}}}" for start, end in enclosure.patching.items()]
    return "\n".join(lines) + "\n"
