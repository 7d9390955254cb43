"""Random moves, adds and changes on the demonstration's sites: each does what was asked, in the
lines it is about, and leaves the site sound."""

from __future__ import annotations

import difflib
import random
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path

import pytest

from asbuilt.edits.apply import edit
from asbuilt.edits.mounting import remove_item, rerack, swap
from asbuilt.edits.numbering import free_ports
from asbuilt.edits.outlets import add_outlets, move_outlet, relabel, remove_outlet, terminate
from asbuilt.edits.patching import patch, unpatch
from asbuilt.edits.requests import Refusal, Wish
from asbuilt.edits.review import EditedSite, edited_site, review_edit
from asbuilt.io.files import read_site_files, site_names
from asbuilt.model.site import Site
from asbuilt.records.enclosures import Panel

TOP = Path(__file__).parents[2]
SITES = site_names(TOP)
Ask = Callable[[random.Random, Site], list[Wish]]


@cache
def read(key: str) -> tuple[Mapping[str, bytes], EditedSite]:
    texts = read_site_files(TOP, key).texts
    view = edited_site(key, texts, f"sites/{key}")
    assert view.site is not None
    return texts, view


def outlet(r: random.Random, site: Site) -> str:
    return r.choice(sorted(site.outlets))


def item(r: random.Random, site: Site) -> str:
    return r.choice(sorted(site.items))


def moved(r: random.Random, site: Site) -> list[Wish]:
    plates = ["east: window", "Decke", "#4", None]
    room = r.choice(sorted(site.rooms))
    return move_outlet(site, outlet(r, site), room, plate=r.choice(plates), terminated="2025-04-01")


def terminated(r: random.Random, site: Site) -> list[Wish]:
    panels = [one for one in site.items.values() if isinstance(one, Panel)]
    free = list(free_ports(site, panels))
    return terminate(site, outlet(r, site), [r.choice(free)]) if free else []


def patched(r: random.Random, site: Site) -> list[Wish]:
    ports = sorted(site.ports)
    return patch(site, r.choice(ports), r.choice(ports), {"cord": "1.5 m"})


def unpatched(r: random.Random, site: Site) -> list[Wish]:
    cord = site.cords[r.choice(sorted(site.cords))]
    return unpatch(site, r.choice([cord.from_, cord.to]))


def added(r: random.Random, site: Site) -> list[Wish]:
    enclosure = r.choice(sorted(site.enclosures))
    run = add_outlets(site, r.choice(sorted(site.rooms)), r.randint(1, 6), enclosure=enclosure)
    return list(run.wishes)


def reracked(r: random.Random, site: Site) -> list[Wish]:
    unit = r.choice([None, str(r.randint(1, 12))])
    enclosure = r.choice(sorted(site.enclosures))
    return rerack(site, item(r, site), unit, enclosure=enclosure, name=r.choice([None, "ZZ"]))


ASKED: dict[str, Ask] = {
    "move": moved,
    "relabel": lambda r, site: relabel(site, outlet(r, site), r.choice(["007", "x: y", "é, ü"])),
    "terminate": terminated,
    "remove": lambda r, site: remove_outlet(site, outlet(r, site)),
    "patch": patched,
    "unpatch": unpatched,
    "add": added,
    "swap": lambda r, site: swap(site, item(r, site), {"serial": "007"}, name=r.choice([None, "ZZ"])),
    "rerack": reracked,
    "take out": lambda r, site: remove_item(site, item(r, site)),
}  # fmt: skip


@pytest.mark.parametrize("asked", ASKED)
@pytest.mark.parametrize("key", SITES)
def test_asked_at_random(key: str, asked: str) -> None:
    texts, before = read(key)
    assert before.site is not None
    done = 0
    for seed in range(3):
        r = random.Random(f"{key} {asked} {seed}")
        try:
            wishes = ASKED[asked](r, before.site)
        except Refusal:
            continue  # the trade forbids it: the port is taken, the room is the same …
        if not wishes:
            continue
        new = edit(texts, wishes)  # that it says what was asked, and no more, is held in there
        named = {word for wish in wishes for word in (wish.key, getattr(wish, "to", wish.key))}
        for path, data in new.items():
            old_lines = texts[path].decode().splitlines(keepends=True)
            new_lines = data.decode().splitlines(keepends=True)
            assert comments(old_lines) == comments(new_lines)
            touched = sum(
                max(b - a, d - c)
                for tag, a, b, c, d in difflib.SequenceMatcher(
                    None, old_lines, new_lines, autojunk=False
                ).get_opcodes()
                if tag != "equal"
            )
            assert touched <= 2 * len(wishes) + 1, (path, named)
        after = edited_site(key, {**texts, **new}, f"sites/{key}")
        verdict = review_edit(before, after)
        # what a request's own words can't know, the checks refuse
        allowed = {"unit-overlap", "unit-outside"} if asked == "rerack" else set()
        allowed |= {"port-used-twice"} if asked == "patch" else set()
        assert {problem.code for problem in verdict.errors} <= allowed
        assert verdict.lines
        done += 1
    assert done or asked in ("patch", "take out", "add", "rerack", "terminate")


def comments(lines: list[str]) -> list[str]:
    return [line for line in lines if line.lstrip().startswith("#") or not line.strip()]
