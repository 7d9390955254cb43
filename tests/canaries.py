"""A site with a canary in every field of every kind of record: a value found nowhere else, so that
where it turns up tells what was let through. Made from the declared kinds, and without an error, so
that it can be built.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from asbuilt.records.edition import ITEM_REST, OUTLET_REST
from asbuilt.records.fields import (
    Day,
    Listed,
    Measure,
    Period,
    PortTexts,
    Ref,
    Sighting,
    SpotOnPlan,
    Text,
    WebAddress,
)
from asbuilt.records.kind import Audience, Spec
from asbuilt.records.kinds import KINDS
from asbuilt.records.layout import ROLES, SITE_SECTIONS
from tests.typed_records import ANY, Typed, by_place, flow, typed

#: Values that have to be what they are for the site to be a good one.
FIXED: Final[dict[tuple[str, str], Typed]] = {
    ("site", "labels"): "'{enclosure}-{panel}{port:02}'",
    ("enclosure", "height"): "48 U",
    ("circuit", "lands on"): "1A/router1/WAN",
    ("cord", "to"): "switch1/01",
    ("outlet", "port"): "1A/panel1/01",
    ("backbone", "from"): "1A/panel1/11",
    ("backbone", "to"): "1A/panel1/12",
    ("finding", "port"): "1A/panel1/05",
    ("switch", "poe ports"): "1-4",
    **{(role, "ports"): "24" for role in ("panel", "switch", "router", "device")},
    **{(role, "dead"): "21" for role in ("panel", "switch", "router", "device")},
    **{(role, "abandoned"): "22" for role in ("panel", "switch", "router", "device")},
    **{(role, "reserved"): "23" for role in ("panel", "switch", "router", "device")},
    **{(role, "unknown"): "24" for role in ("panel", "switch", "router", "device")},
}


@dataclass
class Canaries:
    """The canaries, each with the field it was put in."""

    secret: dict[str, str] = field(default_factory=dict)
    open: dict[str, str] = field(default_factory=dict)
    number: int = 1000

    def word(self, where: str, open_: bool = False) -> str:
        """A canary that is also a good key and a good name of a port."""
        self.number += 1
        return self._keep(f"canary{self.number}", where, open_)

    def value(self, spec: Spec, where: str, open_: bool) -> Typed | None:
        """A value of a field's type, or None where it has no room for a canary."""
        self.number += 1
        word = f"canary{self.number}"
        match spec.type.of if isinstance(spec.type, Listed) else spec.type:
            case Text():
                return typed(self._keep(word, where, open_))
            case Sighting():
                return typed(f"2025-03-07 by {self._keep(word, where, open_)}")
            case PortTexts():
                return flow({"1": self._keep(word, where, open_)})
            case Measure(example=example):
                number = self._keep(f"7.9{self.number:05}", where, open_)
                return f"{number} {example.split()[1]}"
            case SpotOnPlan():
                return f'"{self._keep(f"7.9{self.number:05}", where, open_)} m, 1 m"'
            case WebAddress():
                return f"https://{self._keep(word, where, open_)}.example/north"
            case Day():
                return self._keep(f"{self.number}-03-07", where, open_)
            case Period():
                return f"{self._keep(f'{self.number}-03-07', where, open_)} 18:00 to 22:00"
        return None

    def _keep(self, token: str, where: str, open_: bool) -> str:
        (self.open if open_ else self.secret)[token] = where
        return token


@dataclass
class CanarySite:
    """Of each kind one record the client may read and, where there is such a thing, one kept back:
    of a closed kind, not told, or withheld."""

    canaries: Canaries = field(default_factory=Canaries)
    keys: dict[str, str] = field(default_factory=dict)
    hidden: dict[str, str] = field(default_factory=dict)

    def files(self) -> dict[str, str]:
        """Path within the site → text."""
        word = self.canaries.word
        self.keys = {
            **{"building": "B1", "floor": "1", "room": "101", "enclosure": "1A"},
            **{"item": "1A/panel1", "outlet": "1A-panel101", "link": "1A-panel101"},
            **{kind: word(f"key of a {kind}") for kind in ("network", "pathway", "job")},
            "finding": "F1",
        }
        self.hidden = {role: word(f"key of a withheld {role}") for role in ROLES}
        camera, other = word("key of a camera's outlet"), word("key of a withheld outlet")
        comment = f"# {word('a comment')}\n"
        return {
            "site.yml": comment + self._site(),
            "enclosures/1A.yml": comment + self._enclosure(),
            f"outlets/{word('name of a file')}.yml": comment + self._outlets(camera, other),
            "backbones.yml": comment + self._backbones(),
            "pathways.yml": comment + _line(self.keys["pathway"], self._fields("pathway")),
            "findings.yml": comment + self._findings(camera),
            "photos.yml": comment + self._photos(camera),
            "jobs/J1.yml": comment + _lines(self._fields("job", {"share with client": "yes"})),
            f"jobs/{self.keys['job']}.yml": _lines(
                self._fields("job", {"share with client": "no"}, shown=())
            ),
            f"tests/{word('name of a file of results')}.csv": self._tests(camera),
        }

    def _site(self) -> str:
        text = _lines(self._fields("site"))
        for section, kind in SITE_SECTIONS.items():
            key = self.keys.get(kind, "K1")
            text += f"{section}:\n  {_line(key, self._fields(kind))}"
            if kind == "circuit":
                text += f"  K2: {{lands on: 1A/{self.hidden['router']}/{self._port('router')}}}\n"
        return text

    def _enclosure(self) -> str:
        text = _lines(self._fields("enclosure")) + "front:\n"
        for unit, role in enumerate(ROLES, start=1):
            named = {"named ports": "[WAN]"} if "named ports" in KINDS[role].specs else {}
            key = f"{role.replace(' ', '-')}1"
            told = {role: key} | self._fields(role, {"withhold": "no"} | named)
            if named:
                named = {"named ports": f"[{self._port(role)}]"}
            kept = {role: self.hidden[role]} | self._fields(
                role, {"withhold": "yes"} | named, shown=ITEM_REST
            )
            text += f"  {unit}: {flow(told)}\n  {unit + 20}: {flow(kept)}\n"
        loose = self.canaries.word("key of a loose device")
        panel, device = self.hidden["panel"], self.hidden["device"]
        return (
            f"{text}without U:\n  - {{device: {loose}}}\n"
            f"patching:\n  {_line('panel1/01', self._fields('cord'))}"
            f"  panel1/02: {{to: switch1/02}}\n  {panel}/01: {{to: switch1/03}}\n"
            f"  switch1/04: {{to: {device}/{self._port('device')}}}\n"
            f"  {device}/01: {{to: switch1/05}}\n  switch1/06: {{to: router1/01}}\n"
        )

    def _port(self, role: str) -> str:
        return f"{self.hidden[role]}p"  # a canary of its own would end where this one does

    def _outlets(self, camera: str, other: str) -> str:
        kept = self._fields("outlet", {"serves": "camera", "port": "1A/panel1/02"}, OUTLET_REST)
        flagged = {"serves": "desk", "withhold": "yes", "port": f"1A/{self.hidden['panel']}/02"}
        return (
            _line(self.keys["outlet"], self._fields("outlet", {"serves": "desk", "withhold": "no"}))
            + _line(camera, kept)
            + _line(other, self._fields("outlet", flagged, OUTLET_REST))
        )

    def _backbones(self) -> str:
        ends = {"from": f"1A/{self.hidden['panel']}/13", "to": "1A/panel1/13"}
        return _line("K1", self._fields("backbone")) + _line("K2", ends)

    def _findings(self, camera: str) -> str:
        word = self.canaries.word
        told = {"share with client": "yes", "outlet": f"[{self.keys['outlet']}, {camera}]"}
        about = {"what": word("what is wrong with a camera"), "outlet": camera}
        return (
            _line("F1", self._fields("finding", told | {"item": f"1A/{self.hidden['device']}"}))
            + _line(
                word("key of a finding"), self._fields("finding", {"share with client": "no"}, ())
            )
            + _line(word("key of a camera's finding"), about | {"share with client": "yes"})
        )

    def _photos(self, camera: str) -> str:
        word = self.canaries.word
        told, kept = (
            {"share with client": "yes"},
            self._fields("photo", {"share with client": "no"}, ()),
        )
        about = {"what": word("what a photo of a camera shows"), "outlet": camera}
        return (
            _line("P1", self._fields("photo", told))
            + _line(word("key of a photo"), kept)
            + _line(word("key of a photo of a camera"), about | told)
        )

    def _tests(self, camera: str) -> str:
        fields = self._fields("test")
        good = [value.strip('"') for value in fields.values()]
        hidden = [camera if name == "link" else v for name, v in zip(fields, good, strict=True)]
        return "\n".join(",".join(row) for row in ([*fields], good, hidden)) + "\n"

    def _fields(
        self,
        kind_name: str,
        said: Mapping[str, Typed] | None = None,
        shown: tuple[str, ...] | None = None,
    ) -> dict[str, Typed]:
        """Every field there is, some of them as `said`. `shown` are those the client may read
        where that isn't all that are declared so."""
        kind, said = KINDS[kind_name], said or {}
        closed = kind.audience is Audience.INTERNAL and not kind.declared
        found: dict[str, Typed] = {}
        for name, spec in kind.specs.items():
            if by_place(kind, name):
                continue
            open_ = spec.audience is Audience.CLIENT and not closed
            open_ = open_ and (shown is None or name in shown)
            given = said.get(name) or FIXED.get((kind.name, name)) or self._reference(spec)
            where = f"{kind.name}: {name}" + (" of one kept back" if shown is not None else "")
            found[name] = given or self.canaries.value(spec, where, open_) or _any(spec)
        return found

    def _reference(self, spec: Spec) -> Typed | None:
        inner = spec.type.of if isinstance(spec.type, Listed) else spec.type
        return typed(self.keys[inner.kind]) if isinstance(inner, Ref) else None


def _any(spec: Spec) -> Typed:
    return str(ANY[type(spec.type)](spec.type))


def _line(key: str, fields: Mapping[str, Typed]) -> str:
    return f"{typed(key)}: {flow(fields)}\n"


def _lines(fields: Mapping[str, Typed]) -> str:
    return "".join(f"{typed(name)}: {value}\n" for name, value in fields.items())
