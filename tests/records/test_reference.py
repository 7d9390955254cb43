"""The reference names every field there is and says of each who may read it."""

from __future__ import annotations

import re

import pytest

from asbuilt.records.edition import audience_table
from asbuilt.records.kind import Audience, Kind
from asbuilt.records.kinds import ALL_KINDS
from asbuilt.records.reference import client_markdown, kinds_markdown, reference_markdown

SHARED = ("Every record", "Every mounted thing")


def _section(title: str) -> str:
    found = re.search(
        rf"^### {re.escape(title)}\n(.*?)(?=^##|\Z)", kinds_markdown() + "\n", re.M | re.S
    )
    assert found, title
    return found[1]


def _rows(text: str) -> list[list[str]]:
    lines = [line for line in text.splitlines() if line.startswith("| ")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines]


@pytest.mark.parametrize("kind", ALL_KINDS, ids=lambda kind: kind.name)
def test_every_field_has_its_line(kind: Kind) -> None:
    sections = "".join(map(_section, (*SHARED, kind.name)))
    for name, spec in kind.specs.items():
        if (kind.name == "cord" and name == "from") or name in ("face", "at"):
            continue
        lines = [row for row in _rows(sections) if row[0] == f"`{name}`"]
        assert any(row[1] == spec.meaning for row in lines), name


def test_every_line_has_as_many_cells_as_the_head() -> None:
    """No meaning holds a sign that would break the table."""
    assert {len(row) for row in _rows(kinds_markdown())} == {5}
    assert {len(row) for row in _rows(client_markdown())} == {4}
    assert "<" not in re.sub(r"`[^`]*`", "", reference_markdown())


def test_the_clients_table_says_what_the_edition_does() -> None:
    """Every field of every kind once, on the side of who reads it."""
    table = {row[0]: row for row in _rows(client_markdown())}
    for kind, audiences in audience_table().items():
        for column, audience in ((2, Audience.CLIENT), (3, Audience.INTERNAL)):
            names = {name for name, reader in audiences.items() if reader is audience}
            assert sorted(table[kind][column].split(", ")) == (sorted(names) or ["nothing"]), kind


def test_a_field_is_shown_as_it_is_typed() -> None:
    assert [
        "`length`",
        "Installed length, loops and slack included.",
        "a length with its unit, like `23.4 m` (m, mm, cm, km, in or ft)",
        "",
        "the client",
    ] in _rows(_section("outlet"))
    assert _rows(_section("finding"))[1][4] == "the client, if `share with client: yes`"
    assert _rows(_section("pathway"))[1][4] == "engineers"
