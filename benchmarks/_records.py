"""A fleet of made-up sites and its history, a function of three numbers: every run has the same.

sizes      many small sites, few large: as the quantiles of a log-normal distribution fall, from 16
           outlets (a third of the mean, where that is less) to six times the mean, scaled so that
           all sites together have exactly the outlets asked for; half have less than about 0.7 of
           the mean
floors     up to 120 outlets in one enclosure, for one floor or two; more in several, over several
           floors, each with a backbone to the first
the rest   two sites of three have Power over Ethernet; one of two has every link tested at the
           survey, two of five have findings from then on; jobs come with the commits; the larger
           have trays
commits    one survey a site; the others are drawn, with odds by the root of a site's size and by
           how busy it is (log-normal as well), so that a few sites have most of them; they move
           outlets and cords, note findings and clear them, close jobs, add tests
folders    one site in twelve was called otherwise until a commit renamed its folder, if it has
           that many commits
"""

from __future__ import annotations

import datetime as dt
import math
import random
import statistics
import subprocess
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final, TypeVar

from asbuilt.io import git_write

SMALLEST: Final = 16  # outlets
LARGEST: Final = 6  # times the mean
SPREAD: Final = 0.9  # standard deviation of the logarithm of the sizes
_BUSY: Final = 0.8  # … of how busy sites of one size are
_PANEL: Final = 48
_BEGIN: Final = dt.datetime(2019, 3, 4, 8, 0, tzinfo=dt.timezone(dt.timedelta(hours=1)))
_SERVES: Final = {
    "desk": 10, "phone": 4, "printer": 1, "access point": 2, "camera": 1, "display": 2,
}  # fmt: skip
_CLASSES: Final = {"phone": "class 2", "access point": "class 4", "camera": "class 3"}
_PLATES: Final = ("west wall", "window wall", "floor box 3", "ceiling")
_PEOPLE: Final = ("Iris Quill", "Bertil Ashe", "Oona Marsk", "Celia Dunmar", "Ferdi Kolm")
_CREW: Final = ("Mara Quist", "Odile Brask", "Ilo Farrant", "Tamsin Oke")
_WRONG: Final = (
    ("cords hang over the lower units", "untidy"),
    ("two ports have the same label", "incomplete"),
    ("a jack has come off its plate", "deficient"),
)


def sizes(sites: int, outlets: int) -> list[int]:
    """Outlets of each of so many sites, the smallest first: `sites` times `outlets` together."""
    total, high = sites * outlets, LARGEST * outlets
    low = min(SMALLEST, max(outlets // 3, 1))
    normal = statistics.NormalDist()
    shape = [math.exp(SPREAD * normal.inv_cdf((at + 0.5) / sites)) for at in range(sites)]
    least, most = 0.0, high / shape[0]
    for _ in range(100):
        scale = (least + most) / 2
        exact = [min(max(scale * part, low), high) for part in shape]
        least, most = (scale, most) if sum(exact) < total else (least, scale)
    whole = [int(part) for part in exact]
    by_rest = sorted(range(sites), key=lambda at: (whole[at] - exact[at], at))
    for at in by_rest[: total - sum(whole)]:
        whole[at] += 1
    return whole


_Key = TypeVar("_Key", int, str)


@dataclass(slots=True)
class _Enclosure:
    key: str
    floor: int
    room: str
    category: str
    outlets: dict[str, dict[str, str]] = field(default_factory=dict)
    cords: dict[int, int] = field(default_factory=dict)  # panel port → switch port

    @property
    def panels(self) -> int:
        return (len(self.outlets) - 1) // _PANEL + 1


@dataclass(slots=True)
class _Site:
    key: str
    folder: str
    poe: bool
    rooms: dict[int, list[str]]  # floor → offices
    enclosures: list[_Enclosure]
    findings: list[dict[str, str]] = field(default_factory=list)
    jobs: int = 0
    files: dict[str, bytes] = field(default_factory=dict)  # as they stand

    @property
    def outlets(self) -> int:
        return sum(len(enclosure.outlets) for enclosure in self.enclosures)


class Fleet:
    """`sites` are the keys of its sites, by the names their folders have in the end. Whoever draws
    on its history, or asks for a change, alters the records it keeps."""

    def __init__(self, sites: int, outlets: int) -> None:
        self.draw = random.Random(20190304)
        self.sites = [f"site-{number:03}" for number in range(1, sites + 1)]
        wanted = sizes(sites, outlets)
        self.draw.shuffle(wanted)
        self._sites = {
            key: self._site(key, size, poe=at % 3 > 0)
            for at, (key, size) in enumerate(zip(self.sites, wanted, strict=True))
        }

    def size(self, site: str) -> int:
        """Its outlets."""
        return self._sites[site].outlets

    def by_median(self) -> list[str]:
        """The sites, those of about the median size first."""
        median = statistics.median(map(self.size, self.sites))
        return sorted(self.sites, key=lambda site: (abs(self.size(site) - median), site))

    def history(self, commits: int) -> Iterator[git_write.NewCommit]:
        busy = [
            math.sqrt(self.size(site)) * math.exp(self.draw.gauss(0, _BUSY)) for site in self.sites
        ]
        after = max(commits - len(self.sites), 0)
        drawn = self.draw.choices(self.sites, busy, k=after)
        renamed = set[int]()
        for key in self.sites[4::12]:
            theirs = [at for at, other in enumerate(drawn) if other == key]
            if theirs:
                renamed.add(self.draw.choice(theirs))
                self._sites[key].folder = f"sites/{key.replace('site', 'survey')}"
        when = _BEGIN
        for number, key in enumerate(self.sites):
            when += dt.timedelta(hours=3)
            yield self._survey(self._sites[key], when, number)
        for number, key in enumerate(drawn):
            when += dt.timedelta(hours=self.draw.randint(1, 20))
            if number in renamed:
                yield self._rename(self._sites[key], when)
            else:
                yield self.change(key, when, number)

    def change(self, key: str, when: dt.datetime, number: int) -> git_write.NewCommit:
        """What is altered at a site on one day."""
        site, files, job = self._sites[key], dict[str, bytes](), ""
        enclosure = self.draw.choice(site.enclosures)
        kind = self.draw.random()
        if kind < 0.6:
            self._move_outlets(site, enclosure)
            files |= _outlet_tables(site)
        if kind > 0.5:
            self._move_cords(enclosure)
            files |= _enclosure_file(site, enclosure)
        if kind > 0.95:
            self._find_or_clear(site, enclosure, when)
            files |= _finding_table(site)
        if kind < 0.1:
            job, text = self._job(site, enclosure, when)
            files[f"jobs/{job}.yml"] = text.encode()
        if 0.55 < kind < 0.6:
            some = self._some(enclosure.outlets, 4)
            files[f"tests/{when:%Y-%m-%d}-{number}.csv"] = self._tests(enclosure, some, when)
        return self._commit(site, f"Work at {site.key}", when, files, job)

    def _survey(self, site: _Site, when: dt.datetime, number: int) -> git_write.NewCommit:
        files = _site_file(site) | _outlet_tables(site) | _backbones(site)
        for enclosure in site.enclosures:
            files |= _enclosure_file(site, enclosure)
        if number % 5 < 2:
            for _ in range(self.draw.randint(1, 5)):
                self._find(site, self.draw.choice(site.enclosures), when)
            files |= _finding_table(site)
        if number % 2:
            for one in site.enclosures:
                files[f"tests/{when:%Y-%m}-{one.key}.csv"] = self._tests(
                    one, list(one.outlets), when
                )
        return self._commit(site, f"Survey of {site.key}", when, files)

    def _rename(self, site: _Site, when: dt.datetime) -> git_write.NewCommit:
        former, site.folder = site.folder, f"sites/{site.key}"
        files: dict[str, bytes | None] = {f"{former}/{path}": None for path in site.files}
        files |= {f"{site.folder}/{path}": data for path, data in site.files.items()}
        return self._committed(f"{site.key} by its own name", when, files)

    def _commit(
        self,
        site: _Site,
        subject: str,
        when: dt.datetime,
        files: Mapping[str, bytes],
        job: str = "",
    ) -> git_write.NewCommit:
        site.files |= files
        message = f"{subject}\n\nJob: {job}" if job else subject
        return self._committed(
            message, when, {f"{site.folder}/{path}": data for path, data in files.items()}
        )

    def _committed(
        self, message: str, when: dt.datetime, files: Mapping[str, bytes | None]
    ) -> git_write.NewCommit:
        who = self.draw.choice(_CREW)
        email = f"{who.lower().replace(' ', '.')}@example.com"
        return git_write.NewCommit(f"{message}\n", who, email, when, files)

    # What there is

    def _site(self, key: str, outlets: int, poe: bool) -> _Site:
        count = 1 if outlets <= 120 else math.ceil(outlets / self.draw.randint(84, 120))
        floors = min(count, 6) if count > 1 else 1 + (outlets > 48)
        rooms = {
            floor: [f"{floor}{room:02}" for room in range(1, 4 + min(outlets // floors // 3, 90))]
            for floor in range(1, floors + 1)
        }
        enclosures = []
        for at in range(count):
            floor, letter = at % floors + 1, "ABCDEFGHJKLM"[at // floors]
            category = self.draw.choice(("6", "6", "6A"))
            room = f"{floor}{95 + at // floors}"
            enclosures.append(_Enclosure(f"{floor}{letter}", floor, room, category))
        site = _Site(key, f"sites/{key}", poe, rooms, enclosures)
        for at, enclosure in enumerate(enclosures):
            number = outlets * (at + 1) // count - outlets * at // count
            for port in range(1, number + 1):
                row = self._outlet(site, enclosure, port)
                enclosure.outlets[f"{enclosure.key}-{port:03}"] = row
                if row["serves"] != "spare":
                    enclosure.cords[port] = port
        return site

    def _outlet(self, site: _Site, enclosure: _Enclosure, port: int) -> dict[str, str]:
        row = {
            "room": "",
            "plate": self.draw.choice(_PLATES),
            "port": f"{enclosure.key}/{_port('P', port)}",
            "cable": f"cat{enclosure.category}",
            "length": f"{self.draw.randint(80, 880) / 10} m",
            "serves": "spare" if port % 6 == 0 else "",
            "installed": "2019-03-01",
        }
        if len(site.enclosures) > 1:
            row["via"] = f"T{enclosure.floor}"
        self._set_up(site, enclosure, row)
        return row

    def _set_up(self, site: _Site, enclosure: _Enclosure, row: dict[str, str]) -> None:
        """In which room an outlet is, and what hangs on it there."""
        floors = [enclosure.floor] if len(site.enclosures) > 1 else list(site.rooms)
        row["room"] = f'"{self.draw.choice(site.rooms[self.draw.choice(floors)])}"'
        for name in ("poe", "person", "state"):
            row.pop(name, None)
        if row["serves"] == "spare":
            row["state"] = "spare"
            return
        (row["serves"],) = self.draw.choices(list(_SERVES), list(_SERVES.values()))
        if row["serves"] == "desk":
            row["person"] = self.draw.choice(_PEOPLE)
        if site.poe and row["serves"] in _CLASSES:
            row["poe"] = _CLASSES[row["serves"]]

    # What happens

    def _some(self, among: Iterable[_Key], most: int) -> list[_Key]:
        every = sorted(among)
        return self.draw.sample(every, min(self.draw.randint(1, most), len(every)))

    def _move_outlets(self, site: _Site, enclosure: _Enclosure) -> None:
        for key in self._some(enclosure.outlets, 4):
            self._set_up(site, enclosure, enclosure.outlets[key])

    def _move_cords(self, enclosure: _Enclosure) -> None:
        cords = enclosure.cords
        for port in self._some(cords, 3):
            taken = set(cords.values())
            cords[port] = self.draw.choice(
                [other for other in range(1, _PANEL * enclosure.panels + 1) if other not in taken]
            )

    def _find_or_clear(self, site: _Site, enclosure: _Enclosure, when: dt.datetime) -> None:
        unsettled = [finding for finding in site.findings if "cleared on" not in finding]
        if unsettled and self.draw.random() < 0.5:
            finding = self.draw.choice(unsettled)
            finding |= {"cleared on": f"{when:%Y-%m-%d}", "cleared by": self.draw.choice(_CREW)}
        else:
            self._find(site, enclosure, when)

    def _find(self, site: _Site, enclosure: _Enclosure, when: dt.datetime) -> None:
        what, severity = self.draw.choice(_WRONG)
        finding = {"what": f"{what} ({len(site.findings) + 1})", "severity": severity}
        finding |= {
            "enclosure": enclosure.key,
            "to be fixed by": "us",
            "found on": f"{when:%Y-%m-%d}",
        }
        site.findings.append(finding)

    def _job(self, site: _Site, enclosure: _Enclosure, when: dt.datetime) -> tuple[str, str]:
        site.jobs += 1
        day = f"{when:%Y-%m-%d}"
        return f"J{site.jobs}", (
            f"title: Desks moved near {enclosure.key}\nkind: move\nstate: done\n"
            f"asked by: Iris Quill\nasked on: {day}\nauthorised by: Iris Quill\noutage: no\n"
            f"enclosures: {enclosure.key}\ndone by: {self.draw.choice(_CREW)}\n"
            f"done on: {day}\nemergency location: updated\n"
        )

    def _tests(self, enclosure: _Enclosure, links: Sequence[str], when: dt.datetime) -> bytes:
        lines = ["link,date,result,limit,length,margin,instrument,calibrated,by"]
        for key in links:
            length = enclosure.outlets[key]["length"]
            margin = f"{self.draw.randint(12, 84) / 10} dB"
            lines.append(
                f"{key},{when:%Y-%m-%d},pass,Cat {enclosure.category} permanent link,{length},"
                f"{margin},certifier 1,2019-01-14,Tamsin Oke"
            )
        return "".join(f"{line}\n" for line in lines).encode()


# As files


def _site_file(site: _Site) -> dict[str, bytes]:
    names = [f"{name} floor" for name in ("ground", "first", "second", "third", "fourth", "fifth")]
    floors = "".join(
        f'  "{floor}": {{name: {names[floor - 1]}, level: {floor - 1}}}\n' for floor in site.rooms
    )
    rooms = "".join(
        f'  "{room}": {{name: office {room}, floor: "{floor}", use: office}}\n'
        for floor, offices in site.rooms.items()
        for room in offices
    )
    rooms += "".join(
        f'  "{one.room}": {{name: closet {one.key}, floor: "{one.floor}", '
        "use: telecommunications space}\n"
        for one in site.enclosures
    )
    text = (
        f"name: {site.key.title()}\nbusiness: offices\nhours: Mon–Fri 08:00–18:00\n"
        "contacts:\n  front: {name: Iris Quill, phone: 555-0101, authorises: yes}\n"
        "circuits:\n  main: {carrier: Northmere Telecom, service: internet, speed: 500 Mb/s, "
        f"lands on: {site.enclosures[0].key}/R1/WAN}}\nfloors:\n{floors}rooms:\n{rooms}"
    )
    return {"site.yml": text.encode()}


def _outlet_tables(site: _Site) -> dict[str, bytes]:
    """One file; of a site of several enclosures, a file a floor."""
    tables: dict[str, str] = {}
    for enclosure in site.enclosures:
        several = len(site.enclosures) > 1
        path = f"outlets/floor-{enclosure.floor}.yml" if several else "outlets.yml"
        rows = "".join(f"{key}: {_fields(row)}\n" for key, row in enclosure.outlets.items())
        tables[path] = tables.get(path, "") + rows
    return {path: text.encode() for path, text in tables.items()}


def _finding_table(site: _Site) -> dict[str, bytes]:
    rows = (f"F{at}: {_fields(row)}\n" for at, row in enumerate(site.findings, start=1))
    return {"findings.yml": "".join(rows).encode()}


def _backbones(site: _Site) -> dict[str, bytes]:
    first, *others = site.enclosures
    if not others:
        return {}
    backbones = "".join(
        f"B{at}: {{from: {first.key}/F/{2 * at - 1:02}-{2 * at:02}, to: {other.key}/F/01-02, "
        f"cable: OM4, strands: 4, length: {18 + 7 * at} m, installed: 2019-03-01}}\n"
        for at, other in enumerate(others, start=1)
    )
    trays = "".join(
        f"T{floor}: {{kind: tray, route: above the corridor ceiling, width: 300 mm, "
        f"height: 60 mm, length: {40 + floor} m}}\n"
        for floor in site.rooms
    )
    return {"backbones.yml": backbones.encode(), "pathways.yml": trays.encode()}


def _enclosure_file(site: _Site, enclosure: _Enclosure) -> dict[str, bytes]:
    """From the top: fibre, panels each with its switch, in the first also a core and a router. All
    switches lead there, by the backbone or by each other."""
    first, *others = site.enclosures
    mounted: list[str] = []
    cords = [
        f"{_port('P', one)}: {{to: {_port('S', other)}, cord: 0.5 m}}"
        for one, other in sorted(enclosure.cords.items())
    ]
    if others:
        ports = 24 * math.ceil(2 * len(others) / 24)
        mounted.append(f"{{panel: F, ports: {ports}, media: fibre, connector: LC duplex}}")
    for at in range(1, enclosure.panels + 1):
        poe = "poe: 740 W" if site.poe else "poe: 0 W"
        mounted.append(f"{{panel: P{at}, ports: {_PANEL}, category: {enclosure.category}}}")
        mounted.append(f"{{manager: M{at}}}")
        mounted.append(f"{{switch: S{at}, ports: {_PANEL}, uplinks: 4, speed: 1 Gb/s, {poe}}}")
        if at > 1:
            cords.append(f"S{at}/49: {{to: S{at - 1}/50, cord: 0.5 m}}")
    if enclosure is not first:
        cords.append("F/01: {to: S1/49, cord: 1 m, media: fibre}")
    elif others:
        ports = 24 * math.ceil((len(others) + 2) / 24)
        mounted.append(f"{{switch: CORE, ports: {ports}, uplinks: 2, speed: 10 Gb/s}}")
        cords.append(f"S1/49: {{to: CORE/{ports}, cord: 1 m}}")
        cords.append(f"R1/1: {{to: CORE/{ports - 1}, cord: 1 m}}")
        cords += [
            f"CORE/{at:02}: {{to: F/{2 * at - 1:02}, cord: 1 m, media: fibre}}"
            for at in range(1, len(others) + 1)
        ]
    else:
        cords.append("R1/1: {to: S1/49, cord: 1 m}")
    if enclosure is first:
        mounted.append("{router: R1, ports: 4, named ports: [WAN]}")
    height = 42 if len(mounted) > 8 else 12
    front = "".join(f"  {height - at}: {item}\n" for at, item in enumerate(mounted))
    kind, depth = ("floor-standing cabinet", 800) if height > 12 else ("wall-mounted cabinet", 500)
    text = f'kind: {kind}\nroom: "{enclosure.room}"\nheight: {height} U\ndepth: {depth} mm\n'
    text += f"front:\n{front}patching:\n"
    text += "".join(f"  {cord}\n" for cord in cords)
    return {f"enclosures/{enclosure.key}.yml": text.encode()}


def _fields(row: Mapping[str, str]) -> str:
    return "{" + ", ".join(f"{name}: {value}" for name, value in row.items()) + "}"


def _port(stem: str, number: int) -> str:
    return f"{stem}{(number - 1) // _PANEL + 1}/{(number - 1) % _PANEL + 1:02}"


def add_commit(top: Path, fleet: Fleet, site: str, number: int = -1) -> None:
    """One more commit, at one site."""
    change = fleet.change(site, _BEGIN.replace(year=2030), number)
    for path, data in change.files.items():
        target = top / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data or b"")
    who = ["-c", f"user.name={change.author}", "-c", f"user.email={change.email}"]
    for command in (["add", "sites"], [*who, "commit", "-q", "-m", change.message]):
        subprocess.run(["git", *command], cwd=top, check=True)
