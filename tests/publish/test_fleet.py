"""Many sites as one delivery: shares of the work, parts put together, the page over all."""

from __future__ import annotations

import datetime as dt
import itertools
import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asbuilt.facts.fleet import sum_trends
from asbuilt.pages.fleet_index import fleet_page, search_script
from asbuilt.pages.page import Asset, Page, SearchEntry
from asbuilt.pages.site_summary import (
    SUMMARY_PATH,
    SiteSummary,
    read_summary,
    search_lines,
    summary_asset,
    summary_of,
)
from asbuilt.problem import WorldError
from asbuilt.publish import build
from asbuilt.publish.fleet import share
from asbuilt.publish.mkdocs_plugin import publish
from asbuilt.records.edition import Edition
from tests.books import PRACTICE, book_of
from tests.publish.test_build import plain
from tests.small_site import files_of, write_site

# Shares


@given(st.dictionaries(st.text("abc", min_size=1), st.integers(0, 1000)), st.integers(1, 7))
def test_every_site_is_in_one_share(sizes: dict[str, int], of: int) -> None:
    shares = [share(sizes, number, of) for number in range(1, of + 1)]
    assert sorted(itertools.chain(*shares)) == sorted(sizes)


@given(st.lists(st.integers(1, 60), min_size=1, max_size=7), st.integers(1, 3))
def test_no_share_is_much_larger_than_it_must_be(sizes: list[int], of: int) -> None:
    """Graham 1969 (recalled from memory): by the LPT rule the last machine ends at most
    4/3 − 1/(3 m) times as late as by the best division, found here by trying all."""
    named = {f"site-{at}": size - 1 for at, size in enumerate(sizes)}  # a site counts one more
    loads = [sum(named[key] + 1 for key in share(named, number, of)) for number in range(1, of + 1)]
    best = min(
        max(sum(size for size, at in zip(sizes, places, strict=True) if at == machine)
            for machine in range(of))
        for places in itertools.product(range(of), repeat=len(sizes))
    )  # fmt: skip
    assert max(loads) <= best * (4 / 3 - 1 / (3 * of)) + 1e-9


# Put together


@pytest.fixture
def top(tmp_path: Path) -> Path:
    for key, name in (("harbour", "Harbour"), ("mill", "Mill"), ("quay", "Quay"), ("tor", "Tor")):
        write_site(tmp_path, key, site=PRACTICE["site.yml"].replace("Harbour Lane", name))
    return tmp_path


def test_three_shares_joined_are_the_build_of_all_to_the_byte(top: Path) -> None:
    build.build(top, top / "public", publish)
    for number in (1, 2, 3):
        built = build.build(top, top / f"part-{number}", publish, shard=(number, 3))
        assert 0 < len(built) < 4
        assert not (top / f"part-{number}" / "index.html").exists()
    build.join([top / f"part-{number}" for number in (1, 2, 3)], top / "joined", publish)
    assert files_of(top / "joined") == files_of(top / "public")


def test_sites_of_several_repositories_get_one_page(tmp_path: Path) -> None:
    for key in ("harbour", "mill"):
        write_site(tmp_path / key, key)
        build.build(tmp_path / key, tmp_path / key / "public", plain, workers=1)
    parts = [tmp_path / key / "public" for key in ("harbour", "mill")]
    assert build.join(parts, tmp_path / "all", plain) == ("harbour", "mill")
    assert 'href="mill/index.html"' in (tmp_path / "all/index.html").read_text()
    assert build.join(parts[:1], tmp_path / "all", plain) == ("harbour",)
    assert not (tmp_path / "all/mill").exists()


def test_what_cannot_be_joined_is_told_and_leaves_what_was_there(top: Path) -> None:
    public, joined = top / "public", top / "joined"
    build.build(top, public, plain, workers=1)
    build.join([public], joined, plain)
    before = files_of(joined)
    with pytest.raises(WorldError, match=r"both called “harbour”"):
        build.join([public, public], joined, plain)
    build.build(top, top / "given", plain, sites=["mill"], edition=Edition.CLIENT, workers=1)
    with pytest.raises(WorldError, match="client’s edition"):
        build.join([top / "given"], joined, plain)
    with pytest.raises(WorldError, match="no built site"):
        build.join([top / "sites"], joined, plain)
    (public / "tor/index.html").write_text("something else")
    with pytest.raises(WorldError, match=r"tor isn’t what was built: index.html differs"):
        build.join([public], joined, plain)
    assert files_of(joined) == before


# What a site says of itself


def test_an_overview_reads_back() -> None:
    book = book_of(PRACTICE)
    page = Page("outlets/1A-A01.html", "1A-A01", "", search=(SearchEntry("1A-A01", "Nils Ferro"),))
    summary, finds = read_summary(summary_asset(book, [page, Asset("x.csv", b"")]).data)
    assert summary == summary_of(book)
    assert finds == "1A-A01\tNils Ferro\toutlets/1A-A01.html"


@pytest.mark.parametrize(
    "data", [b"", b"[]", b"{}", b'{"summary": {"key": 1, "x": 2}, "finds": []}']
)
def test_what_is_no_overview_is_refused(data: bytes) -> None:
    with pytest.raises(ValueError, match="no overview"):
        read_summary(data)


def test_a_client_is_given_no_overview(top: Path) -> None:
    build.build(top, top / "given", plain, sites=["mill"], edition=Edition.CLIENT, workers=1)
    assert not list((top / "given").rglob(SUMMARY_PATH))


# The page over all


def day(text: str) -> dt.date:
    return dt.date.fromisoformat(text)


def test_the_trend_of_all_is_the_sum_of_each_at_every_moment() -> None:
    harbour = [(day("2024-01-01"), 10.0, 24.0), (day("2024-03-01"), 12.0, 24.0)]
    mill = [(day("2024-02-01"), 5.0, 48.0), (day("2024-03-01"), 4.0, 48.0)]
    assert sum_trends([harbour, mill]) == (
        (day("2024-01-01"), 10, 24),
        (day("2024-02-01"), 15, 72),
        (day("2024-03-01"), 16, 72),
    )
    assert sum_trends([]) == ()


def front_html(*sites: SiteSummary) -> str:
    return fleet_page(sites).html


ROOMY = SiteSummary("quay", "Quay", outlets=12, max_drops=30, verdict="without an outage")
FULL = SiteSummary(
    "mill", "Mill", max_drops=3, verdict="only by a new enclosure", limit="rack units"
)


def test_sites_that_could_not_take_24_more_drops_are_listed() -> None:
    html = front_html(ROOMY, FULL)
    assert "1 could not take 24 more drops today without an outage" in html
    listed = html.partition('id="no-room"')[2]
    assert (
        "Mill</a>: takes 3 without an outage; 24 only by a new enclosure; the limit: rack units"
        in listed
    )
    assert "Quay" not in listed


def test_a_site_with_errors_is_on_the_page_but_counts_for_nothing() -> None:
    html = front_html(ROOMY, SiteSummary("tor", "Tor", errors=2))
    assert "2 errors in its records" in html
    assert "could not take" not in html


def test_all_that_can_be_found_is_in_one_script_whatever_it_is_called() -> None:
    evil = SearchEntry("a\tb\n</script>\u2028", "“x” \\ \u2029y")
    page = Page("outlets/a.html", "a", "", search=(evil,))
    text = b"".join(search_script([ROOMY], {"quay": search_lines([page])}.__getitem__)).decode()
    assert text.startswith("asbuiltFinds(") and not {"\u2028", "\u2029"} & {*text}
    ((key, name, lines),) = json.loads(text.removeprefix("asbuiltFinds(").rstrip().rstrip(");"))
    assert (key, name) == ("quay", "Quay")
    assert lines == "a b </script>\t“x” \\ y\toutlets/a.html"
