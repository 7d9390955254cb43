"""Lettering by estimate, and things in a few words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asbuilt.drawings.sheet import identifier
from asbuilt.drawings.svg_elements import Box, coordinate, text_line
from asbuilt.drawings.text_metrics import shorten, text_width
from asbuilt.model.describe import (
    describe_item,
    describe_port,
    format_quantity,
    format_state_counts,
    format_units,
    port_destination,
)
from asbuilt.records.fields import PortId
from asbuilt.records.quantity import Quantity, read_quantity
from tests.drawn import MILL, site_from

SITE = site_from(MILL)


@pytest.mark.parametrize(
    ("text", "thousandths"), [("A/01", 667 + 278 + 556 + 556), ("illness", 3 * 222 + 4 * 500 + 112)]
)
def test_widths_are_those_of_the_font_metrics(text: str, thousandths: int) -> None:
    """Advances of Helvetica (Adobe Core 14 font metrics, from memory; the browser's test holds
    them against a real font): A 667, / 278, 0 556, i and l 222, n and e 556, s 500."""
    assert text_width(text, 1000) == pytest.approx(thousandths * 1.04)


def test_wide_scripts_and_marks_are_reckoned_with() -> None:
    assert text_width("配線架", 10) > 30, "a full-width sign is an em"
    assert text_width("e\u0301", 10) == text_width("e", 10), "a combining accent takes no room"
    assert text_width("é", 10) == text_width("e", 10)
    assert text_width("A", 10, bold=True) > text_width("A", 10)


@given(st.text(max_size=60), st.floats(0, 300), st.booleans(), st.booleans())
def test_shortened_text_fits_and_is_a_part(text: str, width: float, bold: bool, end: bool) -> None:
    shown = shorten(text, width, 14, bold, end)
    line = " ".join(text.split())
    assert shown == line or text_width(shown, 14, bold) <= width + 1e-6
    kept = shown.removeprefix("…") if end else shown.removesuffix("…")
    assert line.endswith(kept) if end else line.startswith(kept)


def test_what_fits_isn_t_cut() -> None:
    assert shorten("A/01", 100, 14) == "A/01"
    assert shorten("telecommunications space", 60, 14) == "teleco…"
    assert shorten("MDF-A01", 40, 14, end=True) == "…01"
    assert shorten("A", 2, 14) == ""
    assert text_line(0, 0, "A", 14, width=2) == ""


@pytest.mark.parametrize(
    ("value", "text"), [(44.45, "44.45"), (12.0, "12"), (-0.001, "0"), (3.10, "3.1"), (1e-9, "0")]
)
def test_numbers_say_no_more_than_they_must(value: float, text: str) -> None:
    assert coordinate(value) == text


@given(
    st.lists(st.sampled_from("AB_+/ .p-1"), max_size=6),
    st.lists(st.sampled_from("AB_+/ .p-1"), max_size=6),
)
def test_different_names_make_different_ids(one: list[str], other: list[str]) -> None:
    first, second = identifier("".join(one)), identifier("".join(other))
    assert (first == second) == (one == other)
    assert not set(first) & set("+/ ()#\"'")


def test_things_in_a_few_words() -> None:
    assert {
        key.partition("/")[2]: describe_item(item)
        for key, item in SITE.items.items()
        if key.startswith("MDF")
    } == {
        "A": "24-port panel, Cat 6",
        "B": "48-port panel, Cat 6A",
        "CORE": "switch, 16 uplinks",
        "D1": "device, 2 ports",
        "F": "12-port fibre panel, LC duplex",
        "GW4": "modem, 4 ports",
        "M1": "cable manager",
        "OT1": "optical terminal, 1 port",
        "P1": "power strip, 8 sockets",
        "PDU1": "power strip, 12 sockets, 9 in use",
        "R1": "firewall, 5 ports",
        "RS1": "reserved for second dye house link",
        "RSW": "8-port switch, 2 uplinks",
        "S1": "shelf",
        "SW1": "48-port switch, 4 uplinks, 740 W PoE",
        "UPS1": "UPS, 2700 W",
    }
    assert format_units((3, 3)) == "U 3"
    assert format_units((9, 10)) == "U 9–10"


def test_a_withheld_outlet_is_only_a_device() -> None:
    files = {
        "site.yml": "name: X\n",
        "enclosures/1A.yml": "height: 4 U\nfront:\n  1: {panel: A, ports: 2}\n",
        "outlets.yml": "device-1A-A-01: {port: 1A/A/01, serves: device}\n",
    }
    site = site_from(files)
    use = site.ports[PortId("1A/A", "1")]
    assert describe_port(site, use) == "A/01 → a device; cabled, not patched"
    assert port_destination(site, use) == ("device", "")


def test_ports_counted_by_state() -> None:
    assert format_state_counts(SITE.ports_of(SITE.items["MDF/A"])) == (
        "4 in use; 1 cabled, not patched; 15 free; 1 dead; 1 abandoned; 1 reserved; 1 unknown"
    )


@pytest.mark.parametrize(
    ("typed", "metric", "customary"),
    [
        ("450 mm", "450 mm", "17.7 in"),  # 450 / 25.4
        ("41.2 m", "41.2 m", "135 ft"),  # 41.2 / 0.3048 = 135.17
        ("135 ft", "41.1 m", "135 ft"),
        ("10 in", "254 mm", "10 in"),
    ],
)
def test_lengths_in_the_site_s_measures(typed: str, metric: str, customary: str) -> None:
    """1 in = 25.4 mm, 1 ft = 0.3048 m exactly (NIST SP 811, appendix B)."""
    length = read_quantity(typed, "length")
    assert isinstance(length, Quantity)
    feet = site_from({"site.yml": "name: X\nmeasures: customary\n"})
    assert format_quantity(SITE, length) == metric
    assert format_quantity(feet, length) == customary


def test_boxes_that_touch_don_t_meet() -> None:
    assert not Box(0, 0, 1, 1).overlaps(Box(1, 0, 1, 1))
    assert Box(0, 0, 1, 1).overlaps(Box(0.9, 0.9, 1, 1))
