"""Identifiers against ANSI/TIA-606 (editions A and B) as restated in public secondary documents.

“seen”: read in a document other than the standard; “memory”: recalled, not read.
"""

import pytest

from asbuilt.trade.identifiers import (
    BackboneId,
    LabelPattern,
    LinkId,
    administration_class,
    is_space,
    link_label,
    read_backbone,
    read_label_pattern,
    read_link,
)


@pytest.mark.parametrize(
    ("label", "link"),
    [
        # fs-an: 1A-A47 and 1A-B24 with their meaning (seen); 1-2 letters, 2-4 digits (memory)
        ("1A-A47", LinkId("1A", "A", 47)),
        ("1A-B24", LinkId("1A", "B", 24)),
        ("12C-AB0148", LinkId("12C", "AB", 148)),
        # 606-B grid form: separators seen, the whole format memory
        ("1DC.AD02-35:17", LinkId("1DC", None, 17)),
    ],
)
def test_horizontal_links(label: str, link: LinkId) -> None:
    assert read_link(label) == link


@pytest.mark.parametrize(
    "label",
    ["1A-A7", "1A-47", "1A-ABC01", "1A-A00001", "1-A01", "1a-a01", "1A A01", "1A-A01 ", "", "A01"],
)
def test_no_horizontal_links(label: str) -> None:
    # 1A-A7 (one digit) and 1A-47 (no panel) are refused by the format (seen)
    assert read_link(label) is None


def test_link_label_reads_back() -> None:
    assert link_label("1A", "A", 7) == "1A-A07"
    assert read_link(link_label("2B", "C", 120)) == LinkId("2B", "C", 120)


@pytest.mark.parametrize(("text", "good"), [("1A", True), ("12C", True), ("1", False), ("", False)])
def test_spaces(text: str, good: bool) -> None:
    # fs: floor, then letters for the space on it (seen)
    assert is_space(text) is good


@pytest.mark.parametrize(
    ("label", "cable"),
    [
        # fs1/fs2-n and .d (seen)
        ("1A/2A-1", BackboneId("1A", "2A", 1)),
        ("1A/2A-1.15", BackboneId("1A", "2A", 1, 15)),
        # [b1-fs1]/[b2-fs2]-n.d (format seen)
        ("[ADM-1A]/[LIB-1A]-2.07", BackboneId("ADM-1A", "LIB-1A", 2, 7)),
        ("1A-A01", None),
        ("1A/2A", None),
    ],
)
def test_backbones(label: str, cable: BackboneId | None) -> None:
    assert read_backbone(label) == cable


def test_the_lower_space_comes_first() -> None:
    # memory
    assert BackboneId("2A", "1A", 1).ordered == BackboneId("1A", "2A", 1)
    assert BackboneId("10A", "9A", 1).ordered == BackboneId("9A", "10A", 1)
    assert BackboneId("1A", "2A", 1).ordered == BackboneId("1A", "2A", 1)


@pytest.mark.parametrize(
    ("spaces", "buildings", "sites", "number"),
    [(1, 1, 1, 1), (2, 1, 1, 2), (2, 2, 1, 3), (5, 3, 2, 4)],
)
def test_class_of_administration(spaces: int, buildings: int, sites: int, number: int) -> None:
    # 606-A: one space 1, one building 2, a campus 3, several sites 4 (seen)
    assert administration_class(spaces, buildings, sites) == number


def test_a_pattern_is_filled() -> None:
    pattern = read_label_pattern("{enclosure}-{panel}{port:02}/{room}")
    assert isinstance(pattern, LabelPattern)
    values = {"enclosure": "1A", "panel": "A", "port": "7", "room": "104"}
    assert pattern.fill(values) == "1A-A07/104"
    assert pattern.fill(values | {"port": "WAN"}) == "1A-AWAN/104"
    assert pattern.fill({"enclosure": "1A"}) is None
    assert pattern.has_part("room")
    assert not pattern.has_part("floor")


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("{enclosure-{panel}", "a brace is open or stands alone"),
        ("{panel}}", "a brace is open or stands alone"),
        ("{socket}", "“{socket}” is none of the parts of a label"),
        ("{port:2d}", "“2d” in “{port:2d}” is no number of digits"),
        ("{port:}", "“” in “{port:}” is no number of digits"),
        ("{port.__class__}", "“{port.__class__}” is none of the parts of a label"),
        ("{}", "“{}” is none of the parts of a label"),
        ("label", "it names no part of a label, so every label would be the same"),
    ],
)
def test_a_malformed_pattern(text: str, wrong: str) -> None:
    assert read_label_pattern(text) == wrong
