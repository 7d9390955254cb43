"""Certification results held against the records: which count, and where the two differ."""

from __future__ import annotations

import datetime as dt
import math

import pytest

from asbuilt.facts.tests_held import Standing, held_of, without_valid_test
from asbuilt.records.reading import read_folder
from asbuilt.site import Site, site_of
from asbuilt.trade.certifying import (
    calibration_ends,
    graded,
    lengths_agree,
    speed_of_light_length,
)


def _site(outlets: str, results: str, backbones: str = "") -> Site:
    files = {
        "site.yml": b"name: Harbour Lane\n",
        "outlets.yml": outlets.encode(),
        "tests/first.csv": f"link,date,result,calibrated\n{results}".encode(),
    }
    if backbones:
        files["backbones.yml"] = backbones.encode()
    site = site_of(read_folder("harbour", files))
    assert site is not None
    return site


def test_the_last_result_speaks_for_a_link() -> None:
    site = _site("o1: {state: spare}\n", "o1,2025-03-07,fail,\no1,2025-03-09,pass,\n")
    link = held_of(site, "o1")
    assert link.standing is Standing.PASS
    assert [(held.test.result, held.counts, held.speaks) for held in link.tests] == [
        ("fail", True, False),
        ("pass", True, True),
    ]


def test_of_two_tries_on_one_day_the_second_speaks() -> None:
    site = _site("o1: {state: spare}\n", "o1,2025-03-07,fail,\no1,2025-03-07,pass,\n")
    assert held_of(site, "o1").valid


def test_a_link_terminated_anew_has_no_result_that_counts() -> None:
    """A test before the last termination tells of another jack or another panel port."""
    site = _site("o1: {state: spare, terminated: 2025-03-08}\n", "o1,2025-03-07,pass,\n")
    link = held_of(site, "o1")
    assert link.standing is Standing.NO_LONGER
    assert not link.valid
    assert [doubt.code for doubt in link.tests[0].doubts] == ["test-outdated"]


def test_an_older_result_speaks_when_the_newer_doesnt_count() -> None:
    site = _site(
        "o1: {state: spare}\n", "o1,2025-03-07,pass,2025-01-01\no1,2025-06-01,fail,2023-01-01\n"
    )
    link = held_of(site, "o1")
    assert link.standing is Standing.PASS
    assert [held.speaks for held in link.tests] == [True, False]


def test_the_links_without_a_valid_result_are_told_by_reason() -> None:
    site = _site(
        "o1: {state: spare}\no2: {state: spare}\no3: {state: dead}\n"
        "o4: {state: spare, terminated: 2026-01-01}\no10: {state: spare}\n",
        "o1,2025-03-07,pass,\no2,2025-03-07,fail,\no4,2025-03-07,pass,\n",
    )
    assert without_valid_test(site) == {
        Standing.FAIL: ("o2",),
        Standing.NO_LONGER: ("o4",),
        Standing.NEVER: ("o10",),
    }


def test_a_calibration_holds_to_the_same_day_a_year_on() -> None:
    assert calibration_ends(dt.date(2024, 3, 7)) == dt.date(2025, 3, 7)
    assert calibration_ends(dt.date(2024, 2, 29)) == dt.date(2025, 2, 28)


@pytest.mark.parametrize(
    ("limit", "category"),
    [
        ("Cat 6A permanent link", "6A"),
        ("TIA Cat 6 PL", "6"),
        ("cat5e channel", "5e"),
        ("Category 8 permanent link", "8"),
        ("CAT.7A", "7A"),
        # ISO/IEC 11801's classes beside the categories of ANSI/TIA-568 (memory).
        ("ISO11801 PL Class D", "5e"),
        ("ISO11801 PL Class Ea", "6A"),
        ("ISO11801 channel class E", "6"),
        ("ISO11801 Class FA", "7A"),
        ("OM4 850 nm both directions", "OM4"),
        ("os2 1310 nm", "OS2"),
        ("Cat 61", None),
        ("the cat sat on it", None),
        ("100BASE-T", None),
    ],
)
def test_a_limit_tells_its_category(limit: str, category: str | None) -> None:
    assert graded(limit) == category


def test_how_far_a_tester_and_a_tape_may_differ() -> None:
    """10 % for a nominal velocity of propagation that isn't the cable's (ANSI/TIA-1152, memory);
    and never less than two metres, common practice."""
    assert lengths_agree(44.0, 40.0)
    assert not lengths_agree(44.1, 40.0)
    assert lengths_agree(3.0, 5.0)
    assert not lengths_agree(2.9, 5.0)


def test_length_from_delay_and_velocity() -> None:
    """By definition of the metre (BIPM): 1 s at the speed of light is 299 792 458 m. Worked: 100 m
    of cable of 69 % take 483.4 ns; IEC 11801's 534 ns for 100 m at high frequency are 62.5 %."""
    assert speed_of_light_length(1e9, 1.0) == 299_792_458
    assert math.isclose(speed_of_light_length(483.4, 0.69), 100.0, rel_tol=1e-3)
    assert math.isclose(speed_of_light_length(534, 0.625), 100.0, rel_tol=1e-3)
