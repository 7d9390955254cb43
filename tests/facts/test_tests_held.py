"""Certification results held against the records: which count, and where the two differ."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from asbuilt.cli import FrontDoor
from asbuilt.commands import edits, lists
from asbuilt.facts.test_results import LinkTestStatus, check_link_results, links_without_valid_test
from asbuilt.lists.columns import read_columns, under_titles
from asbuilt.lists.csv_file import read_csv
from asbuilt.lists.results import Results, results_bytes, take_results
from asbuilt.model.site import Site, site_of
from asbuilt.records.reading import read_folder
from asbuilt.trade.certification import (
    category_of_limit,
    last_calibrated_day,
    length_from_delay,
    lengths_agree,
)
from tests.books import PRACTICE, book_of, pages_of
from tests.small_site import write_site


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
    link = check_link_results(site, "o1")
    assert link.status is LinkTestStatus.PASS
    assert [(held.test.result, held.is_valid, held.is_current) for held in link.tests] == [
        ("fail", True, False),
        ("pass", True, True),
    ]


def test_of_two_tries_on_one_day_the_second_speaks() -> None:
    site = _site("o1: {state: spare}\n", "o1,2025-03-07,fail,\no1,2025-03-07,pass,\n")
    assert check_link_results(site, "o1").passes


def test_a_link_terminated_anew_has_no_result_that_counts() -> None:
    """A test before the last termination tells of another jack or another panel port."""
    site = _site("o1: {state: spare, terminated: 2025-03-08}\n", "o1,2025-03-07,pass,\n")
    link = check_link_results(site, "o1")
    assert link.status is LinkTestStatus.NO_VALID_RESULT
    assert not link.passes
    assert [doubt.code for doubt in link.tests[0].remarks] == ["test-outdated"]


def test_an_older_result_speaks_when_the_newer_doesnt_count() -> None:
    site = _site(
        "o1: {state: spare}\n", "o1,2025-03-07,pass,2025-01-01\no1,2025-06-01,fail,2023-01-01\n"
    )
    link = check_link_results(site, "o1")
    assert link.status is LinkTestStatus.PASS
    assert [held.is_current for held in link.tests] == [True, False]


def test_the_links_without_a_valid_result_are_told_by_reason() -> None:
    site = _site(
        "o1: {state: spare}\no2: {state: spare}\no3: {state: dead}\n"
        "o4: {state: spare, terminated: 2026-01-01}\no10: {state: spare}\n",
        "o1,2025-03-07,pass,\no2,2025-03-07,fail,\no4,2025-03-07,pass,\n",
    )
    assert links_without_valid_test(site) == {
        LinkTestStatus.FAIL: ("o2",),
        LinkTestStatus.NO_VALID_RESULT: ("o4",),
        LinkTestStatus.NEVER_TESTED: ("o10",),
    }


def test_a_calibration_holds_to_the_same_day_a_year_on() -> None:
    assert last_calibrated_day(dt.date(2024, 3, 7)) == dt.date(2025, 3, 7)
    assert last_calibrated_day(dt.date(2024, 2, 29)) == dt.date(2025, 2, 28)


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
    assert category_of_limit(limit) == category


def test_how_far_a_tester_and_a_tape_may_differ() -> None:
    """10 % for a nominal velocity of propagation that isn't the cable's (ANSI/TIA-1152, memory);
    and never less than two metres, common practice."""
    assert lengths_agree(44.0, 40.0)
    assert not lengths_agree(44.1, 40.0)
    assert lengths_agree(3.0, 5.0)
    assert not lengths_agree(2.9, 5.0)


def test_length_from_delay_and_velocity() -> None:
    """By definition of the metre (BIPM): 1 s at the speed of light is 299 792 458 m. Worked: 100 m
    of cable of 69 % take 483.4 ns; the 534 ns for 100 m of ANSI/TIA-568 at high
    frequency are 62.5 %."""
    assert length_from_delay(1e9, 1.0) == 299_792_458
    assert math.isclose(length_from_delay(483.4, 0.69), 100.0, rel_tol=1e-3)
    assert math.isclose(length_from_delay(534, 0.625), 100.0, rel_tol=1e-3)


# Taken in from a tester's list

OUTLETS = """\
1A-A01: {state: spare, cable: cat6, length: 23.4 m}
1A-A02: {label: "Desk 2", state: spare, cable: cat6, length: 20 m}
1A-A03: {label: "Twin", state: spare}
1A-A04: {label: "Twin", state: spare}
"""
TESTER = """\
Cable ID;Tested;Overall;Limit;Length (m);Headroom;S/N
1A-A01;7/3/2025 10:22;PASS;TIA Cat 6 PL;23,1;3,1;0042
desk 2;7/3/2025 10:24;PASS*;TIA Cat 6 PL;20,2;0,2;0042
1a-a03;7/3/2025 10:26;FAIL;TIA Cat 6 PL;12;-1,2;0042
"""
COLUMNS = """\
list: tests
decimal comma: yes
columns:
  Cable ID: {field: link, words: {1A-AO4: 1A-A04, loop: not used}}
  Tested: date
  Overall: result
  Length (m): {field: length, unit: m}
  Headroom: {field: margin, unit: dB}
  S/N: instrument
"""


def _taken(listed: str, dates: str | None = "day-month-year") -> Results:
    columns = read_columns("c.yml", COLUMNS, "tests")
    titled, wrong, unknown = under_titles(read_csv(listed.encode()), columns)
    assert titled and not wrong and not unknown
    return take_results(_site(OUTLETS, "1A-A02,2024-01-01,pass,\n"), titled, columns, dates)


def test_a_testers_list_becomes_rows_of_our_columns() -> None:
    found = _taken(TESTER)
    assert not found.wrong
    assert results_bytes(found.rows).decode() == (
        "link,date,result,limit,length,margin,instrument\n"
        "1A-A01,2025-03-07,pass,TIA Cat 6 PL,23.1 m,3.1 dB,0042\n"
        "1A-A02,2025-03-07,marginal,TIA Cat 6 PL,20.2 m,0.2 dB,0042\n"
        "1A-A03,2025-03-07,fail,TIA Cat 6 PL,12 m,-1.2 dB,0042\n"
    )
    assert found.notes == ["PASS* is recorded as marginal"]


def test_which_number_is_the_day_is_never_guessed() -> None:
    wrong = _taken(TESTER, None).wrong
    assert [str(one.spot) for one in wrong] == [f"row {row}, column B" for row in (2, 3, 4)]
    assert "--dates" in wrong[0].hint
    assert _taken(TESTER, "month-day-year").rows[0]["date"] == "2025-07-03"
    assert not _taken(TESTER.replace("7/3/2025", "2025-03-07"), None).wrong


def test_links_are_matched_by_key_label_or_the_columns_file() -> None:
    more = "1A-AO4;7/3/2025;PASS;;;;\nloop;7/3/2025;PASS;;;;\n"
    found = _taken(TESTER + more)
    assert found.rows[-1]["link"] == "1A-A04"
    assert found.left_out == 1
    wrong = _taken(TESTER + "1A-A1O;7/3/2025;PASS;;;;\nTwin;7/3/2025;PASS;;;;\n").wrong
    assert [str(one) for one in wrong] == [
        "row 5, column A: “1A-A1O” is no link of these records; did you mean “1A-A01”? correct it, or "
        "say in the columns file what it means: {field: link, words: {1A-A1O: …}}, “not used” to "
        "leave it out",
        "row 6, column A: 2 links are labelled “Twin”; say in the columns file which is meant: "
        "1A-A03, 1A-A04",
    ]


def test_what_is_wrong_is_told_by_row_and_column() -> None:
    wrong = _taken(
        TESTER + "1A-A01;31/2/2025;PASS;;;;\n1A-A01;7/3/2025;meh;;;;\n;7/3/2025;PASS;;;;\n"
    ).wrong
    assert [str(one).partition(";")[0] for one in wrong] == [
        "row 5, column B: “31/2/2025” is no date",
        "row 6, column C: “meh” is no word that can stand here",
        "row 7: the row says nothing about “link”",
    ]


def test_results_are_kept_as_a_file_and_not_taken_in_twice(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    @click.group(cls=FrontDoor)
    def commands() -> None:
        """All commands."""

    edits.register(commands)
    lists.register(commands)
    write_site(tmp_path, outlets=OUTLETS, findings=None)
    (tmp_path / "sites/harbour/tests/first.csv").unlink()
    (tmp_path / "list.csv").write_text(TESTER, "utf-8")
    (tmp_path / "list.csv.columns.yml").write_text(COLUMNS, "utf-8")
    monkeypatch.chdir(tmp_path)
    words = ["import", "harbour", "tests", "list.csv", "--dates", "day-month-year", "--as", "march"]
    done = CliRunner().invoke(commands, words)
    assert done.exit_code == 0, done.output
    assert "1A-A03 failed its test on 2025-03-07" in done.output
    kept = tmp_path / "sites/harbour/tests/march.csv"
    assert kept.read_text("utf-8").splitlines()[0].startswith("link,date,result")
    before = kept.read_bytes()
    again = CliRunner().invoke(commands, words)
    assert again.exit_code == 0, again.output
    assert "recorded already: 3" in again.output
    other = CliRunner().invoke(
        commands,
        ["import", "harbour", "tests", "list.csv", "--dates", "month-day-year", "--as", "march"],
    )
    assert other.exit_code == 1
    assert "--as" in other.output
    assert kept.read_bytes() == before


# On the pages


def test_pages_show_what_counts_and_what_is_missing() -> None:
    texts = dict(PRACTICE)
    texts["outlets.yml"] = texts["outlets.yml"].replace(
        "length: 23.4 m, serves: desk", "length: 33.4 m, terminated: 2025-03-08, serves: desk"
    )
    tree = pages_of(book_of(texts))
    outlet = tree["outlets/1A-A01.html"].html
    assert "1A-A01 was tested on 2025-03-07 and terminated on 2025-03-08, after it" in outlet
    assert "1A-A01 is recorded with 33.4 m and was tested with 23.1 m" in outlet
    assert "No result is valid any more." in outlet
    assert "0 of 4 links with a result that counts" in tree["enclosures/1A/A.html"].html
    state = tree["record-quality.html"].html
    assert "1 link: no valid result" in state
    assert "3 links: never tested" in state
