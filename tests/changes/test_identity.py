"""A record that got another key is still the same one where anything else says so: each kind by what
people tell its things apart by (common practice)."""

from __future__ import annotations

import pytest

from asbuilt.changes.identity import match_renamed
from asbuilt.changes.state import State
from asbuilt.records.kinds import KINDS, REFERABLE

#: What alone is enough, by kind. A new kind has to be given its line here and in the code.
TOLD_BY: dict[str, tuple[dict[str, str], ...]] = {
    "contact": ({"name": "Iris Quill"},),
    "building": ({"name": "North Hall"}, {"address": "1 Quay Street"}),
    "floor": ({"building": "N", "name": "ground floor"}, {"building": "N", "level": "0"}),
    "circuit": ({"carrier": "Reedline", "reference": "RL-77"}, {"lands on": "1A/R1/wan"}),
    "network": ({"number": "20"}, {"name": "phones"}),
    "backbone": ({"label": "N1-S1", "from": "N1/F/01", "to": "S1/F/01"}, {"label": "N1-S1"}),
    "pathway": ({"label": "TR-2"}, {"route": "above the corridor"}),
    "finding": ({"what": "no label", "found on": "2024-03-01"}, {"what": "no label"}),
    "job": ({"title": "Two more desks"},),
    "caution": ({"hazard": "asbestos", "where": "ceiling"}, {"hazard": "asbestos", "room": "104"}),
    "outlet": ({"label": "D-17", "port": "1A/A/01"},),
    "room": ({"name": "store"},),
    "cord": ({"from": "1A/A/01", "to": "1A/SW1/01"},),
}
#: The site is one; a test result has no key of its own; an enclosure is told by what is mounted in
#: it, and a photo by all of its facts.
WITHOUT = {"site", "test", "enclosure", "photo"}
CASES = [(kind, facts) for kind, groups in TOLD_BY.items() for facts in groups]


def test_every_kind_has_its_line() -> None:
    assert set(TOLD_BY) | set(REFERABLE["item"]) | WITHOUT == set(KINDS)


@pytest.mark.parametrize(("kind", "facts"), CASES, ids=[f"{k}-{'-'.join(f)}" for k, f in CASES])
def test_one_that_says_the_same_is_the_same(kind: str, facts: dict[str, str]) -> None:
    old: State = {(kind, "k1"): {**facts, "note": "before"}}
    new: State = {(kind, "k2"): {**facts, "note": "after"}}
    assert match_renamed(old, new, old, new) == [((kind, "k1"), (kind, "k2"))]


@pytest.mark.parametrize("kind", sorted(TOLD_BY))
def test_one_that_says_otherwise_is_another(kind: str) -> None:
    old: State = {(kind, "k1"): {name: f"{text} 1" for name, text in TOLD_BY[kind][0].items()}}
    new: State = {(kind, "k2"): {name: f"{text} 2" for name, text in TOLD_BY[kind][0].items()}}
    assert match_renamed(old, new, old, new) == []
