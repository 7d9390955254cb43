"""What changed, told outside the pages: the commands, the feed, the scope of a job."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import feedparser
import pytest
from click.testing import CliRunner, Result

from asbuilt.changes.job_scope import scope_of
from asbuilt.changes.log import Entry
from asbuilt.cli import main
from asbuilt.pages.feed import MAX_ENTRIES, atom_feed
from asbuilt.publish.histories import histories_of
from tests.books import PRACTICE
from tests.gitrepo import GitRepo

SITE = "sites/harbour"


def in_site(texts: dict[str, str | None]) -> dict[str, str | bytes | None]:
    return {f"{SITE}/{path}": text for path, text in texts.items()}


@pytest.fixture
def repo(tmp_path: Path) -> GitRepo:
    """Records begun; a desk moved for job J1; a panel and a drop for job J2 on a branch's merge."""
    repo = GitRepo(tmp_path / "records")
    repo.commit(in_site(dict(PRACTICE)), "As found", at="2024-03-01T09:00:00+01:00")
    moved = PRACTICE["outlets.yml"].replace('1A-A01: {room: "101"', '1A-A01: {room: "104"')
    repo.commit(
        in_site({"outlets.yml": moved}),
        "Desk to the gym\n\nJob: J1",
        at="2024-04-02T09:00:00+02:00",
        by=("Zoë Lindqvarn", "zoe@example.com"),
    )
    cabinet = PRACTICE["enclosures/1A.yml"].replace(
        "  8: {router", "  10: {panel: B, ports: 24, category: 6}\n  8: {router"
    ).replace("  SW1/25:", "  B/01: {to: SW1/05, cord: 0.5 m}\n  SW1/25:")  # fmt: skip
    more = (
        moved + '1A-B01: {room: "101", port: 1A/B/01, cable: cat6, length: 31.5 m, serves: till}\n'
    )
    repo.commit(
        in_site({"enclosures/1A.yml": cabinet, "outlets.yml": more}),
        "A till\n\nJob: J2",
        at="2024-05-03T09:00:00+02:00",
    )
    return repo


def run(repo: GitRepo, monkeypatch: pytest.MonkeyPatch, *args: str) -> Result:
    monkeypatch.chdir(repo.path)
    return CliRunner().invoke(main, list(args))


def entries_of(repo: GitRepo) -> tuple[Entry, ...]:
    return histories_of(repo.path, ["harbour"])["harbour"].entries


def test_the_log_tells_newest_first_who_when_and_why(
    repo: GitRepo, monkeypatch: pytest.MonkeyPatch
) -> None:
    lines = run(repo, monkeypatch, "log", "harbour").stdout.splitlines()
    assert lines[0] == "harbour"
    stamps = [line for line in lines if line.startswith("2024-")]
    assert [line[:10] for line in stamps] == ["2024-05-03", "2024-04-02", "2024-03-01"]
    assert stamps[1].endswith("Zoë Lindqvarn, job J1: Desk to the gym")
    assert "  Outlet 1A-A01 was moved from room 101 (reception) to room 104 (gym)." in lines


def test_the_log_since_a_day_and_of_a_thing(repo: GitRepo, monkeypatch: pytest.MonkeyPatch) -> None:
    since = run(repo, monkeypatch, "log", "--since", "2024-05-01").stdout
    assert "2024-05-03" in since and "2024-04-02" not in since
    of = run(repo, monkeypatch, "log", "--of", "1a-a01").stdout
    assert "2024-04-02" in of and "2024-05-03" not in of
    assert "nothing" in run(repo, monkeypatch, "log", "--of", "9Z-Z99").stdout


def test_the_log_for_machines(repo: GitRepo, monkeypatch: pytest.MonkeyPatch) -> None:
    told: dict[str, Any] = json.loads(run(repo, monkeypatch, "log", "--format", "json").stdout)
    (moved,) = told["harbour"][1]["told"]
    assert moved["what"] == "moved"
    (change,) = moved["changes"]
    assert (change["kind"], change["key"]) == ("outlet", "1A-A01")
    assert change["before"]["room"] == "101"
    assert change["after"]["room"] == "104"
    assert told["harbour"][1]["commit"] == repo.git("rev-parse", "HEAD~1").strip()


def test_what_differs_between_two_revisions(repo: GitRepo, monkeypatch: pytest.MonkeyPatch) -> None:
    said = run(repo, monkeypatch, "diff", "HEAD~2", "HEAD~1").stdout
    assert "Outlet 1A-A01 was moved" in said
    assert "room: 101 → 104" in said
    back = run(repo, monkeypatch, "diff", "HEAD~1", "HEAD~2").stdout
    assert "from room 104 (gym) to room 101 (reception)" in back
    same = run(repo, monkeypatch, "diff", "HEAD", "HEAD")
    assert same.stdout == "No change in what the records mean.\n"
    assert same.exit_code == 0


def test_what_a_branch_changed_since_it_parted(
    repo: GitRepo, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Three dots: what main did meanwhile isn't in it."""
    repo.switch("plan", new=True, at="HEAD~1")
    renamed = PRACTICE["site.yml"].replace("name: gym", "name: weights")
    repo.commit(in_site({"site.yml": renamed}), "The gym's new name")
    said = run(repo, monkeypatch, "diff", "--format", "markdown", "main...plan").stdout
    assert "weights" in said
    assert "1A&#45;B01" not in said
    assert "<script" not in said


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (["diff", "nowhere", "HEAD"], "there is no revision “nowhere”"),
        (["diff", "HEAD"], "name two revisions"),
        (["diff", "HEAD~1", "HEAD", "quay"], "there is no site “quay” at either revision"),
        (["log", "--since", "yesterday"], "“yesterday” is no date"),
        (["log", "quay"], "quay"),
    ],
)
def test_what_cannot_be_told_is_said_in_one_line(
    repo: GitRepo, monkeypatch: pytest.MonkeyPatch, args: list[str], said: str
) -> None:
    result = run(repo, monkeypatch, *args)
    assert result.exit_code == 1
    assert said in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1
    assert result.stdout == ""


def test_the_feed_is_what_a_feed_reader_reads(repo: GitRepo) -> None:
    """RFC 4287, read by feedparser: no bozo flag, every entry with id, date, link and author."""
    entries = entries_of(repo)
    feed = feedparser.parse(atom_feed("harbour", "Harbour & Lane", entries))
    assert not feed.bozo
    assert feed.version == "atom10"
    assert feed.feed.title == "Changes of Harbour & Lane"
    assert [entry.id for entry in feed.entries] == [
        f"urn:asbuilt:change:harbour:{entry.commit}" for entry in entries
    ]
    assert feed.entries[1].author == "Zoë Lindqvarn"
    assert feed.entries[1].updated == "2024-04-02T09:00:00+02:00"
    assert feed.entries[1].link.endswith(f"changes.html#c{entries[1].commit[:10]}")
    assert "moved from room 101" in feed.entries[1].content[0].value


def test_the_feed_of_a_site_just_begun(repo: GitRepo) -> None:
    feed = feedparser.parse(atom_feed("harbour", "Harbour", ()))
    assert not feed.bozo
    assert feed.entries == []
    assert (
        len(feedparser.parse(atom_feed("h", "H", entries_of(repo) * MAX_ENTRIES)).entries)
        == MAX_ENTRIES
    )


def test_the_scope_of_a_job(repo: GitRepo) -> None:
    entries = entries_of(repo)
    scope = scope_of([entry for entry in entries if entry.job == "J2"])
    assert scope is not None
    assert scope.outlets == ("1A-B01",)
    assert scope.enclosures == ("1A",)
    assert {"1A/B", "1A/B/01", "1A/SW1/05"} <= scope.marked
    assert scope.materials == (
        "1 × 24-port panel",
        "1 × jack",
        "32 m of cat6 in 1 drop",
        "1 × cord of 0.5 m",
    )
    moved = scope_of([entry for entry in entries if entry.job == "J1"])
    assert moved is not None
    assert (moved.outlets, moved.enclosures, moved.materials) == (("1A-A01",), (), ())
    assert scope_of(()) is None
