"""Edits of a record file: what they change, and that they fail loudly where they don't fit."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from asbuilt.demo.edits import (
    Misfit,
    added,
    replaced,
    rewritten,
    taken,
    with_facts,
    without_facts,
)

LINES = "A1: {room: 1,  serves: desk, state: dead}\nA2: {room: 2}\n"
CABINET = """\
room: "110"
front:
  16:   {panel: A, ports: 24}
  15:   {switch: SW1}
rear:
  16:   {power strip: P1}
patching:
  A/01: {to: SW1/01}
  A/02: {to: SW1/02}
  A/03: {to: SW1/03}
"""
FINDINGS = """\
F1:
  bad: hazard
  to mend: us
F2:
  bad: untidy
"""


def test_a_fact_is_changed_in_its_line_and_the_columns_stay() -> None:
    changed = with_facts(LINES, "A1", {"room": "12", "person": "Vera Stint"})
    assert without_facts(changed, "A1", ["state"]).splitlines() == [
        "A1: {room: 12, serves: desk, person: Vera Stint}",
        "A2: {room: 2}",
    ]


def test_facts_of_a_record_of_several_lines_go_to_its_end() -> None:
    changed = with_facts(FINDINGS, "F1 to F2", {"bad": "deficient", "job": "J1"})
    assert changed.splitlines() == [
        "F1:", "  bad: deficient", "  to mend: us", "  job: J1",
        "F2:", "  bad: deficient", "  job: J1",
    ]  # fmt: skip


def test_facts_of_the_file_itself() -> None:
    changed = with_facts(CABINET, "", {"room": '"112"', "seen": "2026-01-20"})
    assert changed == CABINET.replace("110", "112") + "seen: 2026-01-20\n"


def test_several_lines_are_named_at_once() -> None:
    changed = with_facts(CABINET, "A/01 to A/02, 15", {"cord": "1 m"})
    lines = [line.strip() for line in changed.splitlines() if "cord" in line]
    assert lines == [
        "15:   {switch: SW1, cord: 1 m}",
        "A/01: {to: SW1/01, cord: 1 m}",
        "A/02: {to: SW1/02, cord: 1 m}",
    ]


def test_lines_put_in_are_indented_like_the_line_they_stand_at() -> None:
    changed = added(CABINET, "14:   {panel: B}\n13:   {panel: C}\n", after="15")
    assert "  15:   {switch: SW1}\n  14:   {panel: B}\n  13:   {panel: C}\nrear:" in changed
    assert "front:\n  17:   {shelf: S}\n  16:" in added(
        CABINET, "17:   {shelf: S}", before="16:   {panel"
    )


def test_what_is_put_after_a_record_of_several_lines_stands_below_all_of_them() -> None:
    assert added(FINDINGS, "F9:\n  bad: hazard", after="F1").splitlines()[2:5] == [
        "  to mend: us", "F9:", "  bad: hazard",
    ]  # fmt: skip


def test_lines_go_to_the_end_with_the_empty_line_before_them() -> None:
    assert added(FINDINGS, "\n# new\nF3: {}\n\n") == f"{FINDINGS}\n# new\nF3: {{}}\n"


def test_a_line_is_rewritten_where_it_stands() -> None:
    changed = rewritten(CABINET, "A/03: {to: SW1/13}\n15: {switch: SW9}")
    assert changed == CABINET.replace("SW1/03", "SW1/13").replace(
        "15:   {switch: SW1}", "15: {switch: SW9}"
    )


def test_lines_take_the_place_of_others() -> None:
    changed = replaced(CABINET, "A/01 to A/02", "A/05: {to: SW1/05}\n")
    assert changed.endswith("patching:\n  A/05: {to: SW1/05}\n  A/03: {to: SW1/03}\n")
    assert replaced(LINES, "A2", "") == LINES.splitlines(keepends=True)[0]
    assert replaced(FINDINGS, "F1", "") == "F2:\n  bad: untidy\n"
    assert taken(LINES, "A2") == "A2: {room: 2}\n"


def test_a_quoted_key_is_named_without_quotes() -> None:
    assert with_facts('"2": {level: 1}\n', "2", {"level": "2"}) == '"2": {level: 2}\n'


@pytest.mark.parametrize(
    "edit",
    [
        lambda: added(LINES, "A3: {}", after="A"),
        lambda: added(LINES, "A4: {}", before="A3"),
        lambda: replaced(LINES, "A3", ""),
        lambda: replaced(LINES, "room", "place"),
        lambda: replaced(LINES, "A2 to A1", ""),
        lambda: rewritten(LINES, "A3: {room: 3}"),
        lambda: with_facts(LINES, "A3", {"room": "3"}),
        lambda: with_facts(CABINET, "16", {"ports": "48"}),
        lambda: with_facts(CABINET, "room", {"locked": "yes"}),
        lambda: without_facts(LINES, "A2", ["serves"]),
        lambda: taken(LINES, "A1 to A3"),
    ],
)
def test_an_edit_that_does_not_fit_is_refused(edit: Callable[[], str]) -> None:
    with pytest.raises(Misfit):
        edit()
