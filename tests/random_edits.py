"""Invented sites drawn at random, the edits people make to them, and the many ways to type one.

A site is a plain tree: path of a record file → section → key → fields. What it says is apart from
how it is typed: `typed` draws an order, quotes, comments, flow or block, one file or several.
"""

from __future__ import annotations

import copy
import random
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

Fields = dict[str, Any]

ROOMS = ("101", "102", "104", "201", "202")
SERVES = ("desk", "phone", "printer", "camera", "access point", "spare")
PLACES = ("west wall", "ceiling", "floor box 2", "east wall")


@dataclass
class Plan:
    """What the records of a site say."""

    site: Fields = field(default_factory=dict)
    rooms: dict[str, Fields] = field(default_factory=dict)
    contacts: dict[str, Fields] = field(default_factory=dict)
    circuits: dict[str, Fields] = field(default_factory=dict)
    enclosures: dict[str, Fields] = field(default_factory=dict)
    items: dict[str, Fields] = field(default_factory=dict)  # enclosure/name → role, at, face …
    cords: dict[str, Fields] = field(default_factory=dict)  # from → to …
    outlets: dict[str, Fields] = field(default_factory=dict)
    findings: dict[str, Fields] = field(default_factory=dict)
    jobs: dict[str, Fields] = field(default_factory=dict)

    def copy(self) -> Plan:
        return copy.deepcopy(self)


def draw_plan(draw: random.Random) -> Plan:
    plan = Plan(site={"name": "Harbour Lane Practice", "hours": "Mon–Fri 08:00–18:00"})
    for room in draw.sample(ROOMS, draw.randint(2, 5)):
        plan.rooms[room] = {"name": f"office {room}", "use": "office"}
    for enclosure in draw.sample(("1A", "1B", "2A"), draw.randint(1, 2)):
        plan.enclosures[enclosure] = {"height": "12 U", "room": draw.choice(list(plan.rooms))}
        for at, (name, role) in enumerate((("A", "panel"), ("SW1", "switch"), ("U1", "ups")), 1):
            if draw.random() < 0.9:
                item: Fields = {"role": role, "at": str(at), "face": "front"}
                if role != "ups":
                    item["ports"] = "24"
                plan.items[f"{enclosure}/{name}"] = item
    for number in range(1, draw.randint(2, 10)):
        add_outlet(plan, draw, number)
    for _ in range(draw.randint(0, 6)):
        add_cord(plan, draw)
    plan.contacts["quill"] = {"name": "Iris Quill", "phone": "555-0101"}
    plan.circuits["net"] = {"service": "internet", "carrier": "Northmere Telecom"}
    plan.findings["F1"] = {"what": "door can’t be closed", "severity": "deficient"}
    plan.jobs["J1"] = {"title": "Two outlets for reception", "state": "asked"}
    return plan


def panels(plan: Plan) -> list[str]:
    return sorted(key for key, item in plan.items.items() if item["role"] == "panel")


def switches(plan: Plan) -> list[str]:
    return sorted(key for key, item in plan.items.items() if item["role"] == "switch")


def add_outlet(plan: Plan, draw: random.Random, number: int | None = None) -> None:
    number = number or draw.randint(11, 40)
    row: Fields = {
        "room": draw.choice(list(plan.rooms)),
        "plate": draw.choice(PLACES),
        "serves": draw.choice(SERVES),
        "length": f"{draw.randint(10, 80)}.{draw.randint(1, 9)} m",
    }
    if panels(plan):
        taken = {port for outlet in plan.outlets.values() for port in outlet.get("port", ())}
        port = f"{draw.choice(panels(plan))}/{number % 24 + 1:02}"
        if port not in taken:
            row["port"] = [port]
    if draw.random() < 0.2:
        row["label"] = f"G {draw.randint(1, 9)}"
    plan.outlets[f"A{number:02}"] = row


def add_cord(plan: Plan, draw: random.Random) -> None:
    if panels(plan) and switches(plan):
        start = f"{draw.choice(panels(plan))}/{draw.randint(1, 24):02}"
        end = f"{draw.choice(switches(plan))}/{draw.randint(1, 24):02}"
        if start.partition("/")[0] == end.partition("/")[0]:
            plan.cords[start] = {"to": end, "cord": "0.5 m"}


# What people do


def _move(plan: Plan, draw: random.Random) -> None:
    outlet = plan.outlets[draw.choice(sorted(plan.outlets))]
    outlet["room"], outlet["plate"] = draw.choice(list(plan.rooms)), draw.choice(PLACES)


def _reterminate(plan: Plan, draw: random.Random) -> None:
    if panels(plan):
        port = f"{draw.choice(panels(plan))}/{draw.randint(1, 24):02}"
        plan.outlets[draw.choice(sorted(plan.outlets))]["port"] = [port]


def _relabel(plan: Plan, draw: random.Random) -> None:
    plan.outlets[draw.choice(sorted(plan.outlets))]["label"] = f"G {draw.randint(1, 9)}"


def _rename_outlet(plan: Plan, draw: random.Random) -> None:
    plan.outlets[f"B{draw.randint(1, 99):02}"] = plan.outlets.pop(draw.choice(sorted(plan.outlets)))


def _remove_outlet(plan: Plan, draw: random.Random) -> None:
    del plan.outlets[draw.choice(sorted(plan.outlets))]


def _repatch(plan: Plan, draw: random.Random) -> None:
    if plan.cords:
        start = draw.choice(sorted(plan.cords))
        item = plan.cords[start]["to"].rpartition("/")[0]
        plan.cords[start]["to"] = f"{item}/{draw.randint(1, 24):02}"


def _repatch_start(plan: Plan, draw: random.Random) -> None:
    if plan.cords:
        start = draw.choice(sorted(plan.cords))
        plan.cords[f"{start.rpartition('/')[0]}/{draw.randint(1, 24):02}"] = plan.cords.pop(start)


def _turn_cord(plan: Plan, draw: random.Random) -> None:
    if plan.cords:
        start = draw.choice(sorted(plan.cords))
        cord = plan.cords.pop(start)
        plan.cords[cord["to"]] = {**cord, "to": start}


def _remove_cord(plan: Plan, draw: random.Random) -> None:
    if plan.cords:
        del plan.cords[draw.choice(sorted(plan.cords))]


def _rerack(plan: Plan, draw: random.Random) -> None:
    if plan.items:
        plan.items[draw.choice(sorted(plan.items))]["at"] = str(draw.randint(1, 12))


def _rename_item(plan: Plan, draw: random.Random) -> None:
    if plan.items:
        old = draw.choice(sorted(plan.items))
        rename_item(plan, old, f"{old.partition('/')[0]}/N{draw.randint(1, 9)}")


def rename_item(plan: Plan, old: str, new: str) -> None:
    """Under another name, with all that names its ports."""
    plan.items[new] = plan.items.pop(old)

    def named(port: str) -> str:
        item, _, name = port.rpartition("/")
        return f"{new}/{name}" if item == old else port

    for outlet in plan.outlets.values():
        if "port" in outlet:
            outlet["port"] = [named(port) for port in outlet["port"]]
    plan.cords = {
        named(start): {**cord, "to": named(cord["to"])} for start, cord in plan.cords.items()
    }


def _rename_enclosure(plan: Plan, draw: random.Random) -> None:
    old = draw.choice(sorted(plan.enclosures))
    new = draw.choice([key for key in ("1A", "1B", "2A", "MDF") if key not in plan.enclosures])
    plan.enclosures[new] = plan.enclosures.pop(old)
    for item in [item for item in plan.items if item.partition("/")[0] == old]:
        rename_item(plan, item, f"{new}/{item.partition('/')[2]}")


def _replace_item(plan: Plan, draw: random.Random) -> None:
    if plan.items:
        item = plan.items[draw.choice(sorted(plan.items))]
        item["role"] = "shelf" if item["role"] != "shelf" else "manager"
        item.pop("ports", None)


def _advance(plan: Plan, draw: random.Random) -> None:
    plan.jobs["J1"]["state"] = draw.choice(("authorised", "planned", "done", "verified"))


def _new_job(plan: Plan, draw: random.Random) -> None:
    plan.jobs[f"J{draw.randint(2, 9)}"] = {"title": "Move a desk"}


def _clear(plan: Plan, draw: random.Random) -> None:
    for finding in plan.findings.values():
        finding["cleared on"] = f"2025-0{draw.randint(1, 9)}-01"


def _hours(plan: Plan, draw: random.Random) -> None:
    plan.site["hours"] = draw.choice(("Mon–Sat 07:00–19:00", "by appointment"))


def _person(plan: Plan, draw: random.Random) -> None:
    outlet = plan.outlets[draw.choice(sorted(plan.outlets))]
    outlet["person"] = draw.choice(("Nils Ferro", "Ånna Žák", "李 娜"))


EDITS: tuple[Callable[[Plan, random.Random], None], ...] = (
    add_outlet, add_cord, _move, _reterminate, _relabel, _rename_outlet, _remove_outlet, _repatch,
    _repatch_start, _turn_cord, _remove_cord, _rerack, _rename_item, _rename_enclosure,
    _replace_item, _advance, _new_job, _clear, _hours, _person,
)  # fmt: skip


def edited(plan: Plan, draw: random.Random, times: int = 1) -> Plan:
    plan = plan.copy()
    for _ in range(times):
        if not plan.outlets:
            add_outlet(plan, draw)
        draw.choice(EDITS)(plan, draw)
    return plan


# How it is typed


def typed(plan: Plan, draw: random.Random) -> dict[str, bytes]:
    """The files of a plan, in one of the many layouts that say the same."""
    hand = Hand(draw)
    files = {
        "site.yml": hand.block(
            plan.site
            | {
                "rooms": plan.rooms,
                "contacts": plan.contacts,
                "circuits": plan.circuits,
            }
        ),
        "findings.yml": hand.block(plan.findings),
    }
    outlets = draw.sample(sorted(plan.outlets), len(plan.outlets))
    cut = draw.choice((0, 0, len(outlets) // 2))
    for name, keys in (("outlets.yml", outlets[cut:]), ("outlets/first.yml", outlets[:cut])):
        if keys:
            files[name] = hand.block({key: plan.outlets[key] for key in keys})
    for key, job in plan.jobs.items():
        files[f"jobs/{key}.yml"] = hand.block(job)
    for key, enclosure in plan.enclosures.items():
        files[f"enclosures/{key}.yml"] = hand.block(_enclosure(plan, key, enclosure))
    return {path: text.encode() for path, text in files.items()}


def _enclosure(plan: Plan, key: str, fields: Fields) -> Fields:
    front: dict[str, Any] = {}
    for name, item in plan.items.items():
        if name.partition("/")[0] == key:
            role = {item["role"]: name.partition("/")[2]}
            rest = {n: v for n, v in item.items() if n not in ("role", "at", "face")}
            front.setdefault(item["at"], []).append(role | rest)
    faces = {at: here[0] if len(here) == 1 else here for at, here in front.items()}
    patching = {
        start.partition("/")[2]: {**cord, "to": cord["to"].partition("/")[2]}
        for start, cord in plan.cords.items()
        if start.partition("/")[0] == key
    }
    return (
        fields | ({"front": faces} if faces else {}) | ({"patching": patching} if patching else {})
    )


class Hand:
    """Somebody's way of typing YAML."""

    def __init__(self, draw: random.Random) -> None:
        self.draw = draw

    def block(self, node: Mapping[str, Any], indent: str = "") -> str:
        lines: list[str] = []
        for name in self.draw.sample(list(node), len(node)):
            value = node[name]
            if self.draw.random() < 0.1:
                lines.append(f"{indent}# as told by {self.draw.choice(('Iris', 'Nils'))}\n")
            if isinstance(value, dict) and value and self.draw.random() < 0.6 and len(indent) < 4:
                lines.append(f"{indent}{self.text(name)}:\n{self.block(value, indent + '  ')}")
            else:
                lines.append(f"{indent}{self.text(name)}: {self.flow(value)}\n")
            if self.draw.random() < 0.1:
                lines.append("\n")
        return "".join(lines)

    def flow(self, value: Any) -> str:
        if isinstance(value, dict):
            names = self.draw.sample(list(value), len(value))
            return "{" + ", ".join(f"{self.text(n)}: {self.flow(value[n])}" for n in names) + "}"
        if isinstance(value, list):
            if len(value) == 1 and isinstance(value[0], str) and self.draw.random() < 0.5:
                return self.text(value[0])
            return "[" + ", ".join(self.flow(item) for item in value) + "]"
        return self.text(str(value))

    def text(self, text: str) -> str:
        plain = text.replace(" ", "").replace("/", "").replace(".", "").isalnum()
        if plain and self.draw.random() < 0.7:
            return text
        return f'"{text}"' if self.draw.random() < 0.6 else f"'{text}'"
