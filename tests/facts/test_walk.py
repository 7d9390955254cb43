"""What to look at on a visit, how sure a sample makes one, and how it is entered back."""

from __future__ import annotations

import csv
import datetime as dt
import io
from collections import Counter
from pathlib import Path

import html5lib
import pytest
from click.testing import CliRunner, Result
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import binom, hypergeom  # type: ignore[import-untyped]

from asbuilt.cli import main
from asbuilt.facts.walk_round import (
    CHANGED,
    NEVER,
    OLDEST,
    SAMPLE,
    WalkStop,
    plan_walk_round,
    random_sample,
    sample_statement,
    stops_at,
)
from asbuilt.lists.csv_file import csv_bytes, read_csv
from asbuilt.lists.walk_round import WalkAnswers, read_answers, walk_table
from asbuilt.pages.walk_sheet import walk_sheet
from asbuilt.trade.sampling import (
    max_wrong_records,
    probability_of_at_most,
    sample_size,
    sample_size_of_many,
)
from tests.books import PRACTICE, site_from
from tests.gitrepo import GitRepo
from tests.small_site import write_site

SEEN = {
    **PRACTICE,
    "outlets.yml": """\
1A-A01: {room: "101", port: 1A/A/01, cable: cat6, serves: desk, seen: 2025-03-07 by Mara Quist}
1A-A02: {room: "101", port: 1A/A/02, cable: cat6, serves: phone, seen: 2024-01-02 by Mara Quist}
1A-A03: {room: "104", port: 1A/A/03, cable: cat6}
1A-A04: {room: "104", port: 1A/A/04, cable: cat6, state: abandoned}
""",
}


# How sure a sample makes one


@settings(max_examples=150, derandomize=True, deadline=None)
@given(st.data())
def test_the_chance_is_the_hypergeometric_distributions(data: st.DataObject) -> None:
    """Against scipy."""
    total = data.draw(st.integers(1, 400))
    bad = data.draw(st.integers(0, total))
    seen = data.draw(st.integers(0, total))
    wrong = data.draw(st.integers(0, seen))
    ours = probability_of_at_most(total, bad, seen, wrong)
    assert ours == pytest.approx(hypergeom.cdf(wrong, total, bad, seen), rel=1e-6, abs=1e-12)


@settings(max_examples=80, derandomize=True, deadline=None)
@given(st.data())
def test_the_most_that_may_be_wrong_is_the_last_that_isnt_unlikely(data: st.DataObject) -> None:
    """Against scipy: so many are still likely enough, one more isn't."""
    total = data.draw(st.integers(1, 300))
    seen = data.draw(st.integers(1, total))
    wrong = data.draw(st.integers(0, min(seen, 5)))
    most = max_wrong_records(total, seen, wrong)
    assert wrong <= most <= total - (seen - wrong)
    if most > wrong:
        assert hypergeom.cdf(wrong, total, most, seen) > 0.05 - 1e-9
    if most < total - (seen - wrong):
        assert hypergeom.cdf(wrong, total, most + 1, seen) <= 0.05 + 1e-9


@settings(max_examples=60, derandomize=True, deadline=None)
@given(st.integers(10, 400), st.sampled_from([0.01, 0.05, 0.1, 0.25]))
def test_the_sample_needed_is_the_least_that_would_have_shown_it(total: int, share: float) -> None:
    needed = sample_size(total, share)
    bad = -int(-share * total // 1)
    assert hypergeom.cdf(0, total, bad, needed) <= 0.05 + 1e-9
    assert hypergeom.cdf(0, total, bad, needed - 1) > 0.05 - 1e-9


@pytest.mark.parametrize(("share", "needed"), [(0.05, 59), (0.10, 29), (0.01, 299)])
def test_the_sample_of_a_large_total_is_the_binomial_tables(share: float, needed: int) -> None:
    """59 out of 59 for 95/95 is the classical figure (Wilks 1941); the others by scipy's binomial."""
    assert sample_size_of_many(share) == needed
    assert binom.cdf(0, needed, share) <= 0.05 < binom.cdf(0, needed - 1, share)
    assert abs(sample_size(100_000, share) - needed) <= 1


def test_what_a_sample_says_is_said_in_a_sentence() -> None:
    assert sample_statement(200, 0, 0) == "No sample was looked at: it says nothing of the others."
    most = max(d for d in range(201) if hypergeom.cdf(1, 200, d, 40) > 0.05)
    assert sample_statement(200, 40, 1) == (
        "Of 200 records 40 were drawn and looked at, 1 of them not as recorded: at 95% confidence "
        f"at most {most} of 200 ({most / 200:.0%}) are wrong."
    )
    assert "at most 0 of 5 (0%)" in sample_statement(5, 5, 0)


# What is on the list


def test_what_was_never_seen_comes_first_then_what_was_seen_longest_ago() -> None:
    site = site_from(SEEN)
    never = sum(stop.seen is None for stop in stops_at(site, {}))
    walk = plan_walk_round(site, {}, oldest=never + 1, changed=0, sample=0, seed="x")
    by_key = {stop.key: stop.reasons for stop in walk.stops}
    assert by_key["1A-A03"] == (NEVER,)
    assert by_key["1A-A02"] == (OLDEST,)
    assert "1A-A01" not in by_key
    assert "1A-A04" not in by_key  # abandoned: nobody answers for it


def test_changes_count_from_the_day_a_thing_was_seen() -> None:
    days = [dt.date(2024, 6, 1), dt.date(2025, 3, 7), dt.date(2025, 4, 1)]
    changed_on = {
        ("outlet", "1A-A01"): days,
        ("cord", "1A/A/02"): days,
        ("panel", "1A/A"): days[:1],
    }
    walk = plan_walk_round(site_from(SEEN), changed_on, oldest=0, changed=2, sample=0, seed="x")
    assert [(stop.key, stop.changes_since_seen, stop.reasons) for stop in walk.stops] == [
        ("1A-A02", 3, (CHANGED,)),
        ("1A/A", 1, (CHANGED,)),
    ]
    assert (
        next(
            s for s in stops_at(site_from(SEEN), changed_on) if s.key == "1A-A01"
        ).changes_since_seen
        == 1
    )


def test_the_list_goes_room_by_room() -> None:
    walk = plan_walk_round(site_from(SEEN), {}, oldest=100, changed=0, sample=0, seed="x")
    rooms = [stop.room for stop in walk.stops]
    assert rooms == sorted(rooms, key=str)


def test_a_seed_draws_the_same_sample_again() -> None:
    site = site_from(SEEN)
    one = plan_walk_round(site, {}, oldest=0, changed=0, sample=3, seed="spring")
    assert one == plan_walk_round(site, {}, oldest=0, changed=0, sample=3, seed="spring")
    assert len(one.sampled) == 3
    others = {
        plan_walk_round(site, {}, oldest=0, changed=0, sample=3, seed=str(n)).stops
        for n in range(20)
    }
    assert len(others) > 5
    assert all(SAMPLE in stop.reasons for stop in one.stops)


def test_each_record_is_as_likely_to_be_drawn_as_any_other() -> None:
    """5 of 20, 2,000 times: each 500 times; within five standard deviations, √(2000 · ¼ · ¾)."""
    stops = [WalkStop("outlet", f"o{n}", f"o{n}", None, "", None, 0) for n in range(20)]
    drawings = Counter(
        stop.key for seed in range(2000) for stop in random_sample(stops, 5, str(seed))
    )
    spread = (2000 * 0.25 * 0.75) ** 0.5
    assert len(drawings) == 20
    assert all(abs(times - 500) < 5 * spread for times in drawings.values())


def test_the_sheet_is_whole_and_says_how_its_sample_was_drawn() -> None:
    texts = {
        **SEEN,
        "site.yml": SEEN["site.yml"].replace("reception, floor", "<b>desk</b> & co, floor"),
    }
    site = site_from(texts)
    walk = plan_walk_round(site, {}, oldest=3, changed=0, sample=4, seed="spring & co")
    html = walk_sheet(site, walk, "abc")
    html5lib.HTMLParser(strict=True).parse(html)
    assert "drawn by the seed “spring &amp; co”" in html
    assert "<b>desk" not in html
    assert html.count('<tr><th scope="row">') == len(walk.stops)
    assert "http" not in html


# Filled in and entered back


def _answered(
    edit: dict[str, tuple[str, str]],
    site_texts: dict[str, str] = dict(SEEN),  # noqa: B006
) -> WalkAnswers:
    site = site_from(site_texts)
    walk = plan_walk_round(site, {}, oldest=100, changed=0, sample=2, seed="x")
    rows = list(csv.reader(io.StringIO(csv_bytes(walk_table(walk)).decode())))
    for row in rows[1:]:
        row[-2:] = edit.get(row[1], ("", ""))
    out = io.StringIO()
    csv.writer(out).writerows(rows)
    stops = {(stop.kind, stop.key): stop for stop in stops_at(site, {})}
    return read_answers(read_csv(out.getvalue().encode()), stops)


def test_a_list_filled_in_is_read_back() -> None:
    found = _answered(
        {"1A-A01": ("yes", ""), "1A-A02": ("No", "a printer"), "1A/A": ("", "24 → 48")}
    )
    assert not found.wrong
    assert {one.stop.key: (one.right, one.different) for one in found.answers} == {
        "1A-A01": (True, ""),
        "1A-A02": (False, "a printer"),
        "1A/A": (False, "24 → 48"),
    }
    assert len(found.open) == len(stops_at(site_from(SEEN), {})) - 3


def test_what_isnt_understood_is_told_by_row_and_column() -> None:
    found = _answered({"1A-A01": ("maybe", ""), "1A-A02": ("yes", "a printer")})
    assert sorted(str(one).partition(": ")[2] for one in found.wrong) == [
        "it is said to be as recorded, and what is different; write no, or take the remark out",
        "“maybe” is neither yes nor no; write yes or no",
    ]
    grid = read_csv(
        b"kind,key,why,as recorded\noutlet,1A-A09,,yes\noutlet,1A-A01,,yes\noutlet,1A-A01,,yes\n"
    )
    stops = {(stop.kind, stop.key): stop for stop in stops_at(site_from(SEEN), {})}
    assert [str(one) for one in read_answers(grid, stops).wrong] == [
        "row 2, column B: there is no outlet “1A-A09”; did you mean “1A-A03”?",
        "row 4, column B: outlet 1A-A01 stands here twice; keep one of the two",
    ]
    assert "no column is called “kind”" in str(
        read_answers(read_csv(b"a,b\n1,2\n"), stops).wrong[0]
    )


def run(*words: str) -> Result:
    ran = CliRunner().invoke(main, words)
    assert ran.exception is None or isinstance(ran.exception, SystemExit), ran.exception
    return ran


@pytest.fixture
def top(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    top = tmp_path / "records"
    write_site(top, outlets=SEEN["outlets.yml"])
    GitRepo(top).commit({}, "as found")
    monkeypatch.chdir(top)
    return top


def test_seen_is_set_in_place(top: Path) -> None:
    before = (top / "sites/harbour/outlets.yml").read_text("utf-8")
    ran = run(
        "seen",
        "harbour",
        "1A-A03",
        "1A-A02",
        "1A/SW1",
        "1A",
        "--by",
        "Mara Quist",
        "--on",
        "2025-11-25",
    )
    assert ran.exit_code == 0, ran.output
    after = (top / "sites/harbour/outlets.yml").read_text("utf-8")
    assert after == before.replace(
        "port: 1A/A/03, cable: cat6}", "port: 1A/A/03, cable: cat6, seen: 2025-11-25 by Mara Quist}"
    ).replace("2024-01-02 by Mara Quist", "2025-11-25 by Mara Quist")
    enclosure = (top / "sites/harbour/enclosures/1A.yml").read_text("utf-8")
    assert "poe: 370 W, seen: 2025-11-25 by Mara Quist}" in enclosure
    assert "\nseen: 2025-11-25 by Mara Quist\n" in enclosure


def test_a_walk_is_written_filled_in_and_entered(top: Path) -> None:
    ran = run(
        "walk",
        "harbour",
        "--oldest",
        "0",
        "--changed",
        "0",
        "--sample",
        "100",
        "--seed",
        "s",
        "--csv",
        "w.csv",
        "--html",
        "w.html",
    )
    assert ran.exit_code == 0, ran.output
    assert "at most 0 of 9 (0%)" in ran.output
    rows = list(csv.reader(io.StringIO((top / "w.csv").read_bytes().decode())))
    for row in rows[1:]:
        row[-2:] = ("no", "not here") if row[1] == "1A-A01" else ("yes", "")
    with (top / "w.csv").open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(rows)
    ran = run(
        "seen",
        "harbour",
        "--list",
        "w.csv",
        "--by",
        "Mara Quist",
        "--on",
        "2025-11-25",
        "--findings",
    )
    assert ran.exit_code == 0, ran.output
    assert "not as recorded: outlet 1A-A01: not here" in ran.output
    assert "1 of them not as recorded: at 95% confidence at most 1 of 9" in ran.output
    outlets = (top / "sites/harbour/outlets.yml").read_text("utf-8")
    assert outlets.count("2025-11-25 by Mara Quist") == 2
    findings = (top / "sites/harbour/findings.yml").read_text("utf-8")
    assert "1A-A01 isn’t as recorded: not here" in findings


def test_that_a_thing_was_seen_is_no_change_of_it(top: Path) -> None:
    run("seen", "harbour", "1A-A01", "--by", "Mara Quist", "--on", "2020-01-02")
    GitRepo(top).commit({}, "seen")
    run("walk", "harbour", "--sample", "0", "--oldest", "100", "--changed", "0", "--csv", "w.csv")
    rows = {row[1]: row for row in csv.reader(io.StringIO((top / "w.csv").read_bytes().decode()))}
    assert rows["1A-A01"][6] == "1"  # since 2020: that it came


@pytest.mark.parametrize(
    ("words", "said"),
    [
        ((), "say what was seen"),
        (("1A-A9",), "there is nothing called “1A-A9”"),
        (("--list", "none.csv"), "failed"),
    ],
)
def test_what_cant_be_entered_is_said(top: Path, words: tuple[str, ...], said: str) -> None:
    ran = run("seen", "harbour", *words, "--by", "Mara Quist")
    assert ran.exit_code == 1
    assert said in ran.output
