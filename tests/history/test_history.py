"""A site's history against git's own tellings of it: no commit that alters what the records mean
is missing, and none is told that doesn't.

Witness for what a commit means: the files before and after it as `git show` gives them, read into
typed records, which know nothing of changes.
"""

from __future__ import annotations

import datetime as dt
import hashlib
import json
import pickle
import random
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path

import pytest

from asbuilt.changes import Entry, History, apply, compare, state_of
from asbuilt.changes.serialise import from_plain, to_plain
from asbuilt.facts.headroom import headroom_by_enclosure, total_headroom
from asbuilt.facts.trend import SiteCounts, Usage, count_site, last_point_of_each_day, usage_points
from asbuilt.history import commits as commits_by_site
from asbuilt.history.at_revision import files_at, state_at
from asbuilt.history.packed import load_histories
from asbuilt.history.read import read_histories, read_history
from asbuilt.history.withheld import withheld_ever
from asbuilt.io import cache, git_write
from asbuilt.io import git as repo
from asbuilt.io.workers import in_parallel
from asbuilt.model.site import site_of
from asbuilt.records.edition import Edition, withheld_keys
from asbuilt.records.layout import is_record_file
from asbuilt.records.reading import read_folder, take_folder_apart
from tests.gitrepo import GitRepo
from tests.random_edits import Plan, draw_plan, edited, typed

SITE = "name: Harbour Lane Practice\nrooms:\n  '1': {name: gym}\n  '2': {name: store}\n"
OUTLETS = "A1: {room: '1', plate: north}\nA2: {room: '2', serves: camera}\n"


@pytest.fixture
def git(tmp_path: Path) -> GitRepo:
    return GitRepo(tmp_path / "records")


def begun(git: GitRepo, folder: str = "sites/a") -> str:
    files = {f"{folder}/site.yml": SITE, f"{folder}/outlets.yml": OUTLETS}
    return git.commit(files, "Survey")


def sentences(entry: Entry) -> list[str]:
    return [told.text for told in entry.lines]


def commits(found: History) -> list[str]:
    return [entry.commit for entry in found.entries]


# Every commit of a random history is accounted for


def record_files(git: GitRepo, revision: str, folder: str) -> dict[str, bytes]:
    """A site's record files at a revision, by ls-tree and show."""
    listed = git.git("ls-tree", "-r", "-z", "--name-only", revision, "--", f"{folder}/")
    paths = [path for path in listed.split("\0") if path]
    return {
        path.removeprefix(f"{folder}/"): git.git("show", f"{revision}:{path}").encode()
        for path in paths
        if is_record_file(path.removeprefix(f"{folder}/"))
    }


def meaning(git: GitRepo, revision: str | None, folder: str) -> object:
    files = record_files(git, revision, folder) if revision else {}
    return read_folder("x", files).by_kind if files else {}


def witness(git: GitRepo, folder: str) -> list[str]:
    """The commits along first parents that alter what a site's records mean, newest first."""
    found: list[str] = []
    before: object = {}
    listed = git.git("rev-list", "--first-parent", "--reverse", "HEAD").split()
    for commit in listed:
        parent = git.git("rev-parse", f"{commit}^1").strip() if commit != listed[0] else None
        names = git.git("diff", "--name-status", parent, commit) if parent else folder
        if folder not in names:
            continue
        after = meaning(git, commit, folder)
        if after != before:
            found.append(commit)
        before = after
    return found[::-1]


def put(git: GitRepo, folder: str, files: Mapping[str, bytes]) -> None:
    """Exactly these files in a site's folder."""
    here = git.path / folder
    old = [path for path in here.rglob("*") if path.is_file()] if here.is_dir() else []
    for path in old:
        path.unlink()
    git.write({f"{folder}/{path}": data for path, data in files.items()})


def random_history(git: GitRepo, draw: random.Random, steps: int) -> list[str]:
    folders = ["sites/a", "sites/b"]
    plans = {folder: draw_plan(draw) for folder in folders}
    for folder in folders:
        put(git, folder, typed(plans[folder], draw))
    git.commit({}, "Survey")
    for number in range(steps):
        folder = draw.choice(folders)
        what = draw.random()
        if what < 0.45:
            plans[folder] = edited(plans[folder], draw)
            put(git, folder, typed(plans[folder], draw))
        elif what < 0.65:
            put(git, folder, typed(plans[folder], draw))  # only the layout
        elif what < 0.72:
            git.write({f"{folder}/plans/first.svg": str(number), "notes.txt": str(number)})
        elif what < 0.8:
            for one in folders:
                plans[one] = edited(plans[one], draw, 3)
                put(git, one, typed(plans[one], draw))
        elif what < 0.9:
            old = plans[folder]
            name = branch(git, draw, folder, plans)
            if draw.random() < 0.8:
                git.merge(name, "Merge")
            else:
                plans[folder] = old
            continue
        else:
            plans[folder] = draw_plan(draw)
            put(git, folder, typed(plans[folder], draw))
        git.commit({}, f"Step {number}")
    return folders


def branch(git: GitRepo, draw: random.Random, folder: str, plans: dict[str, Plan]) -> str:
    """Two commits beside the main line, and one on it that touches something else."""
    name = f"side-{git.hour}"
    git.switch(name, new=True)
    for _ in range(2):
        plans[folder] = edited(plans[folder], draw)
        put(git, folder, typed(plans[folder], draw))
        git.commit({}, "On the side")
    git.switch("main")
    git.commit({"notes.txt": f"meanwhile {git.hour}"}, "Meanwhile")
    return name


@pytest.mark.parametrize("seed", range(5))
def test_every_commit_is_accounted_for(git: GitRepo, seed: int, tmp_path: Path) -> None:
    folders = random_history(git, random.Random(seed), 30)
    found = load_histories(read_histories(git.path, folders, cache=tmp_path / "cache"))
    for folder in folders:
        assert commits(found[folder]) == witness(git, folder)
        assert all(entry.lines and not entry.problem for entry in found[folder].entries)
        check_sums(git, folder, found[folder])
    assert load_histories(read_histories(git.path, folders, cache=tmp_path / "cache")) == found


def check_sums(git: GitRepo, folder: str, found: History) -> None:
    """All changes of all entries, added up, are the state the files are in today."""
    state, problems = state_at(git.path, folder, "HEAD")
    assert problems == ()
    assert state == reached(found)
    raws, _ = take_folder_apart(record_files(git, "HEAD", folder))
    assert len(state) == len(raws)


def reached(found: History) -> object:
    state: object = {}
    for entry in reversed(found.entries):
        changes = {id(change): change for told in entry.lines for change in told.changes}
        state = apply(changes.values(), state)  # type: ignore[arg-type]
    return state


def test_a_thousand_commits_in_one_site(tmp_path: Path) -> None:
    """Only every fourth alters what the records mean."""
    draw = random.Random(4)
    plan = draw_plan(draw)
    when = dt.datetime(2020, 1, 1, tzinfo=dt.UTC)
    made, before = [], dict[str, bytes]()
    for number in range(1000):
        if number % 4 == 0:
            was = plan
            while typed(plan, random.Random(1)) == typed(was, random.Random(1)):
                plan = edited(plan, draw)
            if len(plan.outlets) > 30:
                plan.outlets = dict(list(plan.outlets.items())[:10])
        files = {f"sites/a/{path}": data for path, data in typed(plan, draw).items()}
        gone = dict.fromkeys(before.keys() - files.keys())
        made.append(
            git_write.NewCommit(
                "S", "M", "m@x", when + dt.timedelta(hours=number), {**files, **gone}
            )
        )
        before = files
    ids = git_write.import_commits(tmp_path / "records", made)
    found = read_history(tmp_path / "records", "sites/a")
    assert commits(found) == ids[::4][::-1]


# What an entry says


def test_an_entry(git: GitRepo) -> None:
    begun(git)
    commit = git.commit(
        {"sites/a/outlets.yml": OUTLETS.replace("room: '1'", "room: '2'")},
        "Moved a desk\n\nIris asked for it.\n\nJob: J1\nJob: J2\nReviewed-by: X <x@example.com>",
        at="2024-05-06T17:30:00-03:30",
        by=("Žofie O’Dell 地", "zofie@example.com"),
    )
    entry = read_history(git.path, "sites/a").entries[0]
    assert entry.commit == commit and entry.short == commit[:10]
    assert entry.when.isoformat() == "2024-05-06T17:30:00-03:30"
    assert entry.author == "Žofie O’Dell 地"
    assert (entry.subject, entry.body) == ("Moved a desk", "Iris asked for it.")
    assert (entry.job, entry.jobs) == ("J1", ("J1", "J2"))
    assert sentences(entry) == ["Outlet A1 was moved from room 1 (gym) to room 2 (store)."]
    assert entry.touches("outlet", "A1") and not entry.touches("outlet", "A2")
    assert entry.folder == "sites/a"
    assert "@" not in str(entry)


def test_a_commit_over_forty_sites(git: GitRepo) -> None:
    folders = [f"sites/s{number:02}" for number in range(40)]
    git.commit({f"{folder}/site.yml": f"name: {folder}\n" for folder in folders}, "Survey")
    last = git.commit({f"{folder}/site.yml": f"name: New {folder}\n" for folder in folders}, "New")
    found = load_histories(read_histories(git.path, folders))
    for folder in folders:
        assert sentences(found[folder].entries[0]) == [
            f"Name changed for the site from {folder} to New {folder}."
        ]
        assert found[folder].entries[0].commit == last


def test_a_folder_whose_name_begins_with_anothers(git: GitRepo) -> None:
    git.commit({"sites/a/site.yml": SITE, "sites/ab/site.yml": "name: B\n"})
    git.commit({"sites/ab/site.yml": "name: C\n"})
    found = load_histories(read_histories(git.path, ["sites/a", "sites/ab"]))
    assert [len(found[folder].entries) for folder in ("sites/a", "sites/ab")] == [1, 2]


def test_records_below_another_folder_of_the_repository(git: GitRepo) -> None:
    begun(git, "clients/records/sites/a")
    assert len(read_history(git.path, "clients/records/sites/a").entries) == 1


# Git's own ways


def test_a_merge_counts_once_with_all_it_brought(git: GitRepo) -> None:
    """
    survey ── camera ── merge
       └── move ── label ──┘
    """
    begun(git)
    git.switch("side", new=True)
    git.commit({"sites/a/outlets.yml": OUTLETS.replace("room: '1'", "room: '2'")}, "move")
    side = (git.path / "sites/a/outlets.yml").read_text()
    git.commit({"sites/a/outlets.yml": side.replace("A1: {", "A1: {label: G, ")}, "label")
    git.switch("main")
    git.commit({"sites/a/findings.yml": "F1: {what: dust}\n"}, "camera")
    merge = git.merge("side", "Merge the side")
    found = read_history(git.path, "sites/a")
    assert [entry.subject for entry in found.entries] == ["Merge the side", "camera", "Survey"]
    assert found.entries[0].commit == merge
    assert [told.verb for told in found.entries[0].lines] == ["moved", "relabelled"]


def test_a_renamed_site_folder(git: GitRepo) -> None:
    begun(git, "sites/old")
    git.commit({"sites/old/findings.yml": "F1: {what: dust}\n"}, "found")
    git.git("mv", "sites/old", "sites/new")
    git.commit({"sites/new/outlets.yml": OUTLETS + "A3: {room: '1'}\n"}, "renamed, one more")
    git.commit({"sites/new/findings.yml": "F1: {what: dust, cleared on: 2024-04-01}\n"}, "clean")
    found = read_history(git.path, "sites/new")
    assert [entry.subject for entry in found.entries] == [
        "clean", "renamed, one more", "found", "Survey",
    ]  # fmt: skip
    assert sentences(found.entries[1]) == ["Outlet A3 was added in room 1 (gym)."]
    assert [entry.folder for entry in found.entries] == ["sites/new"] * 2 + ["sites/old"] * 2
    check_sums(git, "sites/new", found)
    assert read_history(git.path, "sites/old").entries[0].subject == "renamed, one more"


def test_renamed_to_another_place_with_a_changed_site_file(git: GitRepo) -> None:
    git.commit({"clients/a/site.yml": SITE, "clients/a/outlets.yml": OUTLETS,
                "clients/a/findings.yml": "F1: {what: dust}\n"}, "Survey")  # fmt: skip
    (git.path / "sites").mkdir()
    git.git("mv", "clients/a", "sites/a")
    git.commit({"sites/a/site.yml": SITE.replace("Lane", "Street")}, "moved")
    found = read_history(git.path, "sites/a")
    assert [entry.subject for entry in found.entries] == ["moved", "Survey"]
    assert sentences(found.entries[0]) == [
        "Name changed for the site from Harbour Lane Practice to Harbour Street Practice."
    ]


def test_renamed_and_mostly_rewritten(git: GitRepo) -> None:
    """The same site.yml to the byte says it."""
    files = {f"sites/a/jobs/J{number}.yml": f"title: job {number}\n" for number in range(4)}
    git.commit({"sites/a/site.yml": SITE, **files}, "Survey")
    git.git("mv", "sites/a", "sites/b")
    git.commit({path.replace("/a/", "/b/"): "title: anew\n" for path in files}, "Anew")
    assert [e.subject for e in read_history(git.path, "sites/b").entries] == ["Anew", "Survey"]


def test_renamed_twice_and_back(git: GitRepo) -> None:
    begun(git, "sites/a")
    for old, new in (("a", "b"), ("b", "c"), ("c", "a")):
        git.git("mv", f"sites/{old}", f"sites/{new}")
        git.commit({}, "rename")
    git.commit({"sites/a/outlets.yml": OUTLETS + "A3: {room: '1'}\n"}, "one more")
    found = read_history(git.path, "sites/a")
    assert [entry.subject for entry in found.entries] == ["one more", "Survey"]


def test_a_site_that_only_looks_like_one_that_went(git: GitRepo) -> None:
    begun(git, "sites/old")
    git.commit(
        {
            "sites/old/site.yml": None,
            "sites/old/outlets.yml": None,
            "sites/new/site.yml": "name: Another client\n",
            "sites/new/outlets.yml": "B1: {plate: south}\n",
        },
        "One leaves, one comes",
    )
    assert [e.subject for e in read_history(git.path, "sites/new").entries] == [
        "One leaves, one comes"
    ]


def test_a_site_that_went_and_came_back(git: GitRepo) -> None:
    begun(git)
    git.commit({"sites/a/site.yml": None, "sites/a/outlets.yml": None}, "gone")
    begun(git)
    found = read_history(git.path, "sites/a")
    assert [entry.subject for entry in found.entries] == ["Survey", "gone", "Survey"]
    check_sums(git, "sites/a", found)


def test_a_renamed_file_is_no_change(git: GitRepo) -> None:
    begun(git)
    (git.path / "sites/a/outlets").mkdir()
    git.git("mv", "sites/a/outlets.yml", "sites/a/outlets/all.yml")
    git.commit({}, "tidied")
    assert len(read_history(git.path, "sites/a").entries) == 1


def test_links_and_submodules_are_no_records(git: GitRepo) -> None:
    begun(git)
    other = GitRepo(git.path.parent / "other")
    other.commit({"outlets.yml": "X: {}\n"})
    (git.path / "sites/a/findings.yml").symlink_to("outlets.yml")
    add = ("submodule", "add", "-q", str(other.path), "sites/a/outlets")
    git.git("-c", "protocol.file.allow=always", *add)
    git.commit({}, "links")
    assert len(read_history(git.path, "sites/a").entries) == 1


def test_a_record_file_that_becomes_a_link_is_gone(git: GitRepo) -> None:
    begun(git)
    (git.path / "sites/a/outlets.yml").unlink()
    (git.path / "sites/a/outlets.yml").symlink_to("site.yml")
    git.commit({}, "a link")
    assert sentences(read_history(git.path, "sites/a").entries[0]) == [
        "Outlets A1 and A2 were removed."
    ]


def test_a_shallow_copy_says_so_and_keeps_nothing(git: GitRepo, tmp_path: Path) -> None:
    begun(git)
    for number in range(3):
        git.commit({"sites/a/findings.yml": f"F1: {{what: dust {number}}}\n"}, str(number))
    copy = tmp_path / "copy"
    git.git("clone", "-q", "--depth=2", f"file://{git.path}", str(copy))
    found = read_history(copy, "sites/a", cache=tmp_path / "cache")
    assert [entry.subject for entry in found.entries] == ["2", "1"]
    (notice,) = found.notices
    assert "doesn’t hold all of their history" in notice
    assert not (tmp_path / "cache").exists()
    (notice,) = read_history(copy, "sites/a", Edition.CLIENT).notices
    assert "git" not in notice


def test_no_git_and_no_commit(git: GitRepo) -> None:
    (notice,) = load_histories(read_histories(None, ["sites/a"]))["sites/a"].notices
    assert "aren’t kept in git" in notice
    (notice,) = read_history(git.path, "sites/a").notices
    assert "Nothing of these records is committed yet" in notice


# Revisions that can't be read


BROKEN = "A1: {room: '1', plate: north\nA2: {room\n"


def test_an_unreadable_revision_is_told_and_loses_nothing(git: GitRepo) -> None:
    begun(git)
    bad = git.commit({"sites/a/outlets.yml": BROKEN, "sites/a/findings.yml": "F1: {what: dust}\n"})
    git.commit({"sites/a/findings.yml": "F1: {what: mud}\n"})
    git.commit({"sites/a/outlets.yml": OUTLETS.replace("north", "south")}, "mended")
    found = read_history(git.path, "sites/a")
    assert len(found.entries) == 4
    assert found.entries[2].commit == bad
    assert sentences(found.entries[2]) == ["Finding F1 was reported: dust."]
    assert found.entries[2].problem is not None
    assert found.entries[2].problem.startswith("Can’t be read at this revision: outlets.yml:")
    assert found.entries[1].problem is None, "what was broken before is told once"
    assert sentences(found.entries[0]) == [
        "Outlet A1 was moved within room 1 (gym), from “north” to “south”."
    ]
    check_sums(git, "sites/a", found)


@pytest.mark.parametrize(
    "data",
    [
        b"\xff\xfe: {}\n",
        b"A1: {room: '1'}\nA1: {room: '2'}\n",
        b"A1: &x {room: '1'}\nA2: *x\n",
        b"A1:\t{room: '1'}\n\tA2: {}\n",
        b"- A1\n",
        b"A1: {room: '1'}\n---\nA2: {}\n",
        b"A b: {room: '1'}\n",
        b"A1: !!python/object:os.system {}\n",
        b"A1: " + b"{a: " * 40 + b"}" * 40 + b"\n",
        b"x" * (9 * 1024 * 1024),
    ],
)
def test_whatever_a_file_once_held(git: GitRepo, data: bytes) -> None:
    begun(git)
    git.commit({"sites/a/outlets.yml": data}, "slip")
    git.commit({"sites/a/outlets.yml": OUTLETS}, "mended")
    found = read_history(git.path, "sites/a")
    assert [entry.subject for entry in found.entries] == ["slip", "Survey"]
    assert found.entries[0].problem and found.entries[0].lines == ()
    check_sums(git, "sites/a", found)


def test_a_broken_file_that_is_deleted(git: GitRepo) -> None:
    begun(git)
    git.commit({"sites/a/outlets.yml": BROKEN}, "slip")
    git.commit({"sites/a/outlets.yml": None}, "gone")
    found = read_history(git.path, "sites/a")
    assert sentences(found.entries[0]) == ["Outlets A1 and A2 were removed."]


def test_a_first_revision_that_cannot_be_read(git: GitRepo) -> None:
    git.commit({"sites/a/site.yml": "name: [\n"}, "slip")
    git.commit({"sites/a/site.yml": SITE}, "mended")
    found = read_history(git.path, "sites/a")
    assert [bool(entry.problem) for entry in found.entries] == [False, True]
    assert sentences(found.entries[0])[0] == "The records of Harbour Lane Practice were begun."


def test_words_of_an_older_schema(git: GitRepo) -> None:
    begun(git)
    git.commit({"sites/a/outlets.yml": "A1: {chamber: '1'}\nA2: {room: '2', serves: camera}\n"})
    (entry, _) = read_history(git.path, "sites/a").entries
    assert entry.problem is None
    assert entry.lines


# Work not committed yet


def test_uncommitted_work(git: GitRepo) -> None:
    last = begun(git)
    text = OUTLETS.replace("north", "south")
    git.write({"sites/a/outlets.yml": text})
    today = {"site.yml": SITE.encode(), "outlets.yml": text.encode()}
    entry, survey = read_history(git.path, "sites/a", today=today).entries
    assert (entry.commit, entry.author) == ("", "uncommitted")
    assert entry.when == survey.when and survey.commit == last
    assert sentences(entry) == ["Outlet A1 was moved within room 1 (gym), from “north” to “south”."]


def test_uncommitted_layout_is_nothing(git: GitRepo) -> None:
    begun(git)
    git.write({"sites/a/outlets.yml": "# today\n" + OUTLETS})
    today = {"site.yml": SITE.encode(), "outlets.yml": ("# today\n" + OUTLETS).encode()}
    assert len(read_history(git.path, "sites/a", today=today).entries) == 1


def test_uncommitted_new_and_deleted_files(git: GitRepo) -> None:
    begun(git)
    git.write({"sites/a/outlets.yml": None, "sites/a/findings.yml": "F1: {what: dust}\n"})
    today = {"site.yml": SITE.encode(), "findings.yml": b"F1: {what: dust}\n"}
    entry = read_history(git.path, "sites/a", today=today).entries[0]
    assert sorted(told.verb for told in entry.lines) == ["opened", "removed"]


def test_uncommitted_mending_of_a_broken_revision(git: GitRepo, tmp_path: Path) -> None:
    begun(git)
    git.commit({"sites/a/outlets.yml": BROKEN}, "slip")
    text = OUTLETS.replace("north", "south")
    git.write({"sites/a/outlets.yml": text})
    today = {"site.yml": SITE.encode(), "outlets.yml": text.encode()}
    for _ in range(2):
        found = read_history(git.path, "sites/a", today=today, cache=tmp_path / "cache")
        assert sentences(found.entries[0]) == [
            "Outlet A1 was moved within room 1 (gym), from “north” to “south”."
        ]


# The client's edition


def client(git: GitRepo, folder: str = "sites/a") -> History:
    """As its folder stands on disk."""
    top = git.path / folder
    files = {str(file.relative_to(top)): file.read_bytes() for file in sorted(top.rglob("*.yml"))}
    raws, _ = take_folder_apart(files)
    withheld = withheld_ever(git.path, {folder: raws})
    return read_history(git.path, folder, Edition.CLIENT, withheld[folder], files)


def test_the_client_learns_what_changed_and_no_more(git: GitRepo) -> None:
    begun(git)
    git.commit(
        {"sites/a/networks.txt": "x", "sites/a/outlets.yml": OUTLETS + "# vlan 7\n"}, "s3cret"
    )
    git.commit({"sites/a/site.yml": SITE + "vault: in the blue book\n"}, "vault s3cret")
    git.commit({"sites/a/outlets.yml": OUTLETS.replace("north", "south")}, "s3cret\n\nbody s3cret")
    found = client(git)
    assert [sentences(entry) for entry in found.entries][:1] == [
        ["Outlet A1 was moved within room 1 (gym), from “north” to “south”."]
    ]
    assert len(found.entries) == 2
    for word in ("s3cret", "Mara", "camera", "A2", "blue book", "sites/a"):
        assert word not in str(found)
    assert found.points == ()


def test_what_is_withheld_today_always_was(git: GitRepo) -> None:
    begun(git)
    desk = OUTLETS + "A3: {room: '1', serves: desk, plate: door}\n"
    git.commit({"sites/a/outlets.yml": desk}, "a desk")
    git.commit({"sites/a/outlets.yml": desk.replace("serves: desk", "serves: camera")}, "a camera")
    found = client(git)
    assert "A3" not in str(found) and "door" not in str(found)
    assert [sentences(entry) for entry in found.entries[:1]] == [["A device was added."]]


def test_what_was_withheld_once_is_so_in_the_step_that_opens_it(git: GitRepo) -> None:
    begun(git)
    git.commit({"sites/a/outlets.yml": OUTLETS.replace("camera", "desk, plate: west")}, "a desk")
    git.commit({"sites/a/outlets.yml": OUTLETS.replace("camera", "desk, plate: east")}, "moved")
    found = client(git)
    assert [sentences(entry) for entry in found.entries[:-1]] == [
        ["Outlet A2 was moved within room 2 (store), from “west” to “east”."]
    ]


FINDING = "F1: {what: s3cret, share with client: YES}\n"


@pytest.mark.parametrize(
    ("steps", "shown"),
    [
        (["no", "yes"], True),
        (["yes"], True),
        (["yes", None], True),
        (["yes", "no"], False),
        (["yes", "no", None], False),
        (["no", "yes", "no"], False),
        (["no", None], False),
    ],
)
def test_the_last_word_on_a_finding_counts(
    git: GitRepo, steps: list[str | None], shown: bool
) -> None:
    begun(git)
    for step in steps:
        text = FINDING.replace("YES", step) if step else "{}\n"
        git.commit({"sites/a/findings.yml": text}, f"finding {step}")
    assert ("s3cret" in str(client(git))) is shown


def test_work_not_committed_has_the_last_word(git: GitRepo) -> None:
    begun(git)
    git.commit({"sites/a/findings.yml": FINDING.replace("YES", "yes")})
    git.write({"sites/a/findings.yml": FINDING.replace("YES", "no")})
    assert "s3cret" not in str(client(git))


def test_what_was_withheld_at_its_end_always_was(git: GitRepo) -> None:
    begun(git)
    for more in ("serves: desk, label: S3", "serves: door", None):
        line = f"A3: {{room: '1', {more}}}\n" if more else ""
        git.commit({"sites/a/outlets.yml": OUTLETS + line}, str(more))
    text = str(client(git))
    assert "A3" not in text and "S3" not in text


def test_a_word_that_once_named_a_camera_is_told_in_no_text(git: GitRepo) -> None:
    """Neither before nor after, whatever its outlet serves today. What names an outlet the client
    knows today is told."""
    begun(git)
    a3 = "A3: {{room: '1', serves: {}, label: {}, plate: {}}}\n"
    a1 = OUTLETS.replace("north", "by CAM-12 and A3")
    for text in (
        a1 + a3.format("desk", "D-12", "wall"),
        a1 + a3.format("camera", "CAM-12", "gable"),
        a1 + a3.format("desk", "D-12", "wall"),
    ):
        git.commit({"sites/a/outlets.yml": text}, "A3")
    text = str(client(git))
    assert "by device and A3" in text
    for word in ("CAM-12", "gable", "camera"):
        assert word not in text


def test_a_word_from_before_the_folder_was_renamed_is_told_in_no_text(git: GitRepo) -> None:
    begun(git)
    camera = "CAM12: {serves: camera}\n"
    git.commit({"sites/a/outlets.yml": OUTLETS + camera})
    git.commit({"sites/a/outlets.yml": OUTLETS})
    git.git("mv", "sites/a", "sites/b")
    git.commit({"sites/b/outlets.yml": OUTLETS.replace("north", "by cam-12")})
    assert "by device" in str(client(git, "sites/b"))


def test_a_merged_branch_tells_only_what_it_brought(git: GitRepo) -> None:
    """What it said meanwhile is in no history, and neither are the words of it."""
    begun(git)
    git.switch("side", new=True)
    git.commit({"sites/a/outlets.yml": OUTLETS.replace("north", "s3cret")})
    git.commit({"sites/a/outlets.yml": OUTLETS.replace("north", "south")})
    git.switch("main")
    git.merge("side", "s3cret")
    found = str(client(git))
    assert "south" in found and "s3cret" not in found


def test_a_thing_that_became_another_kind_is_what_it_is_today(git: GitRepo) -> None:
    begun(git)
    cabinet = "height: 12 U\nfront:\n  5: {KIND: BOX5, ports: 2}\n"
    for kind in ("device", "switch"):
        git.commit({"sites/a/enclosures/1A.yml": cabinet.replace("KIND", kind)}, kind)
    cabinet = cabinet.replace("{KIND:", "{label: ELEVEN, switch:")
    git.commit({"sites/a/enclosures/1A.yml": cabinet}, "label")
    assert "ELEVEN" in str(client(git))


def test_jobs_the_client_may_not_read_are_not_named(git: GitRepo) -> None:
    begun(git)
    git.commit({"sites/a/jobs/J1.yml": "title: x\nshare with client: yes\n",
                "sites/a/jobs/J2.yml": "title: y\n"})  # fmt: skip
    git.commit({"sites/a/outlets.yml": OUTLETS.replace("north", "south")}, "S\n\nJob: J2\nJob: J1")
    entry = client(git).entries[0]
    assert entry.jobs == ("J1",)


def test_the_client_is_told_that_a_revision_cannot_be_read_but_not_why(git: GitRepo) -> None:
    begun(git)
    git.commit({"sites/a/outlets.yml": "A2: {serves: camera s3cret\n"}, "slip")
    entry = client(git).entries[0]
    assert entry.problem == "Part of the records could not be read at this revision."


# At a revision


def test_the_state_at_a_revision(git: GitRepo) -> None:
    first = begun(git)
    second = git.commit({"sites/a/outlets.yml": OUTLETS.replace("north", "south")})
    one, _ = state_at(git.path, "sites/a", first)
    other, _ = state_at(git.path, "sites/a", second[:12])
    (entry, _) = read_history(git.path, "sites/a").entries
    assert compare(one, other) == tuple(c for told in entry.lines for c in told.changes)
    assert files_at(git.path, "sites/a", first)["outlets.yml"] == OUTLETS.encode()
    raws, _ = take_folder_apart(record_files(git, first, "sites/a"))
    hidden, _ = state_at(git.path, "sites/a", first, Edition.CLIENT, withheld_keys(raws))
    assert ("outlet", "A2") not in hidden


def test_what_cannot_be_read_at_a_revision_is_said(git: GitRepo) -> None:
    begun(git)
    git.commit({"sites/a/outlets.yml": BROKEN})
    state, problems = state_at(git.path, "sites/a", "HEAD")
    assert ("outlet", "A1") not in state and len(problems) == 1


# Kept between two runs


@pytest.fixture
def cached(git: GitRepo, tmp_path: Path) -> Callable[[], History]:
    """The history of sites/a from what was kept, held against one told anew."""

    def read() -> History:
        found = load_histories(
            read_histories(git.path, ["sites/a", "sites/b"], cache=tmp_path / "cache")
        )
        assert found == load_histories(read_histories(git.path, ["sites/a", "sites/b"]))
        return found["sites/a"]

    git.commit({"sites/b/site.yml": "name: B\n"})
    begun(git)
    for number in range(3):
        git.commit({"sites/a/findings.yml": f"F1: {{what: dust {number}}}\n"}, str(number))
    read()
    return read


def test_nothing_is_read_twice(
    git: GitRepo, cached: Callable[[], History], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    def never(*args: object, **more: object) -> object:
        raise AssertionError("was kept")

    monkeypatch.setattr(repo, "log", never)
    monkeypatch.setattr(repo, "contents", never)
    load_histories(read_histories(git.path, ["sites/a", "sites/b"], cache=tmp_path / "cache"))


def test_one_more_commit(git: GitRepo, cached: Callable[[], History]) -> None:
    git.commit({"sites/a/outlets.yml": OUTLETS.replace("north", "south")}, "south")
    assert cached().entries[0].subject == "south"
    git.commit({"sites/b/site.yml": "name: C\n"}, "elsewhere")
    assert cached().entries[0].subject == "south"


def test_commits_that_were_rewritten(git: GitRepo, cached: Callable[[], History]) -> None:
    git.git("reset", "-q", "--hard", "HEAD~2")
    git.commit({"sites/a/findings.yml": "F2: {what: mud}\n"}, "another way")
    assert [entry.subject for entry in cached().entries] == ["another way", "0", "Survey"]
    git.git("reset", "-q", "--hard", "HEAD~1")
    assert [entry.subject for entry in cached().entries] == ["0", "Survey"]


def test_a_rebased_branch(git: GitRepo, cached: Callable[[], History]) -> None:
    git.switch("side", new=True, at="HEAD~3")
    git.commit({"sites/a/outlets.yml": OUTLETS.replace("north", "south")}, "south")
    cached()
    git.git("-c", "user.name=M", "-c", "user.email=m@x", "rebase", "-q", "main")
    assert [entry.subject for entry in cached().entries] == ["south", "2", "1", "0", "Survey"]


def test_a_merge_after_what_was_kept(git: GitRepo, cached: Callable[[], History]) -> None:
    git.switch("side", new=True, at="HEAD~2")
    git.commit({"sites/a/outlets.yml": OUTLETS.replace("north", "south")}, "south")
    cached()
    git.switch("main")
    git.merge("side", "Merge")
    assert [entry.subject for entry in cached().entries] == ["Merge", "2", "1", "0", "Survey"]


def test_a_line_that_joins_the_other_way_round(git: GitRepo, cached: Callable[[], History]) -> None:
    """What was the main line is the merged one now: its commits are no longer on the way."""
    git.switch("side", new=True, at="HEAD~2")
    git.commit({"sites/a/outlets.yml": OUTLETS.replace("north", "south")}, "south")
    git.merge("main", "Merge main")
    assert [e.subject for e in cached().entries] == ["Merge main", "south", "0", "Survey"]


def test_a_folder_renamed_after_what_was_kept(git: GitRepo, tmp_path: Path) -> None:
    begun(git, "sites/old")
    cache = tmp_path / "cache"
    read_history(git.path, "sites/old", cache=cache)
    git.git("mv", "sites/old", "sites/new")
    git.commit({}, "rename")
    read_history(git.path, "sites/old", cache=cache)
    git.commit({"sites/new/outlets.yml": OUTLETS.replace("north", "south")}, "south")
    found = read_history(git.path, "sites/new", cache=cache)
    assert [entry.subject for entry in found.entries] == ["south", "Survey"]
    git.commit({"sites/old/site.yml": "name: Another\n"}, "another")
    git.git("mv", "sites/new", "sites/newer")
    git.commit({}, "rename")
    for folder in ("sites/old", "sites/newer"):
        assert read_history(git.path, folder, cache=cache) == read_history(git.path, folder)


def test_another_site_takes_the_name_of_one_that_was_kept(
    git: GitRepo, cached: Callable[[], History]
) -> None:
    git.commit(
        {"sites/a/site.yml": None, "sites/a/outlets.yml": None, "sites/a/findings.yml": None}
    )
    cached()
    (git.path / "sites/a").rmdir()
    git.git("mv", "sites/b", "sites/a")
    git.commit({}, "B is A now")
    found = cached()
    assert [told.text for told in found.entries[-1].lines] == ["The records of B were begun."]


def test_mended_after_what_was_kept(git: GitRepo, cached: Callable[[], History]) -> None:
    git.commit({"sites/a/outlets.yml": BROKEN}, "slip")
    cached()
    git.commit({"sites/a/outlets.yml": OUTLETS.replace("north", "south")}, "mended")
    assert sentences(cached().entries[0]) == [
        "Outlet A1 was moved within room 1 (gym), from “north” to “south”."
    ]


@pytest.mark.parametrize("seed", range(3))
def test_kept_from_commit_to_commit(git: GitRepo, seed: int, tmp_path: Path) -> None:
    """What is kept grows with a random history, and is the same as if all were told at once."""
    draw = random.Random(100 + seed)
    folders = ["sites/a", "sites/b"]
    plans = {folder: draw_plan(draw) for folder in folders}
    for number in range(12):
        folder = draw.choice(folders)
        plans[folder] = edited(plans[folder], draw, 2)
        put(git, folder, typed(plans[folder], draw))
        git.commit({}, str(number))
        depth = int(git.git("rev-list", "--count", "HEAD"))
        if draw.random() < 0.2:
            git.git("reset", "-q", "--hard", f"HEAD~{min(depth - 1, 2)}")
        found = load_histories(read_histories(git.path, folders, cache=tmp_path / "cache"))
        assert found == load_histories(read_histories(git.path, folders))


@pytest.mark.parametrize(
    "spoil",
    [
        lambda data: b"",
        lambda data: data[: len(data) // 2],
        lambda data: data.replace(b"dust", b"gold"),
        lambda data: bytes(len(data)),
        lambda data: b"\n".join([*data.split(b"\n")[:2], b"[]"]),
    ],
)
def test_what_was_kept_and_spoilt_is_told_anew(
    cached: Callable[[], History], tmp_path: Path, spoil: Callable[[bytes], bytes]
) -> None:
    for path in (tmp_path / "cache").glob("history-*"):
        path.write_bytes(spoil(path.read_bytes()))
    assert len(cached().entries) == 4


@pytest.mark.parametrize(
    "body",
    [b"", b"nonsense", b"[]", b"[[],[],[],[[1]]]", b"{}", b"[[],[],[[]],[]]", b"null",
     b'[[["outlet","A1",{"port":"x"},[],["port"],7]],[],[],[]]',
     b'[[["outlet","A1",{"port":{}},["port","no"],[]]],[],[],[]]'],
)  # fmt: skip
def test_a_sound_file_of_another_shape_is_told_anew(
    cached: Callable[[], History], tmp_path: Path, body: bytes
) -> None:
    for path in (tmp_path / "cache").glob("history-*"):
        inputs, _, _ = path.read_bytes().partition(b"\n")[2].partition(b"\n")
        entry = inputs + b"\n" + body
        path.write_bytes(hashlib.sha256(entry).hexdigest().encode() + b"\n" + entry)
    assert len(cached().entries) == 4


def test_what_other_code_has_told_is_told_anew(
    cached: Callable[[], History], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    before = {path.name: path.read_bytes() for path in (tmp_path / "cache").iterdir()}
    monkeypatch.setattr(cache, "digest_of_sources", lambda: "another")
    cached()
    assert {path.name: path.read_bytes() for path in (tmp_path / "cache").iterdir()} != before


def test_what_is_kept_stays_on_the_shelf_until_somebody_looks_into_it(
    git: GitRepo, tmp_path: Path
) -> None:
    """Whoever builds a fleet holds a line of each history, not the histories."""
    random_history(git, random.Random(4), 30)
    (found,) = read_histories(git.path, ["sites/a"], cache=tmp_path / "cache").values()
    assert len(pickle.dumps(found)) < 1000
    assert len(found.load().entries) > 9
    assert found.load() == read_history(git.path, "sites/a")


def test_what_another_command_went_on_with_meanwhile_is_told_as_it_was(
    git: GitRepo, tmp_path: Path
) -> None:
    """A build that takes minutes, and somebody who commits and asks for the log."""
    begun(git)
    cache = tmp_path / "cache"
    (found,) = read_histories(git.path, ["sites/a"], cache=cache).values()
    before = found.load()
    git.commit({"sites/a/outlets.yml": OUTLETS.replace("north", "south")}, "south")
    assert len(read_history(git.path, "sites/a", cache=cache).entries) == 2
    assert found.load() == before
    for path in cache.glob("history-*"):
        path.unlink()
    assert found.load() == before


def test_where_nothing_can_be_kept_it_is_held(git: GitRepo, tmp_path: Path) -> None:
    begun(git)
    (tmp_path / "cache").write_text("a file, where a folder would have to be\n")
    (found,) = read_histories(git.path, ["sites/a"], cache=tmp_path / "cache").values()
    assert found.load() == read_history(git.path, "sites/a")


def test_told_side_by_side_it_is_the_same(git: GitRepo, tmp_path: Path) -> None:
    """More sites than are told in one go, so that there is work for two; anew, and on from what
    was kept."""
    folders = [f"sites/s{number}" for number in range(12)]
    for folder in folders:
        begun(git, folder)
    with in_parallel(2, ()) as each:
        for number in range(2):
            for folder in folders:
                git.commit({f"{folder}/findings.yml": f"F1: {{what: dust {number}}}\n"})
            found = read_histories(git.path, folders, cache=tmp_path / "cache", each=each)
            assert load_histories(found) == load_histories(read_histories(git.path, folders))


def test_editions_are_kept_apart(git: GitRepo, tmp_path: Path) -> None:
    begun(git)
    cache = tmp_path / "cache"
    for _ in range(2):
        internal = read_history(git.path, "sites/a", cache=cache)
        shown = read_history(git.path, "sites/a", Edition.CLIENT, cache=cache)
        assert internal != shown == read_history(git.path, "sites/a", Edition.CLIENT)
    assert len(list(cache.glob("history-*"))) == 2


def test_a_repository_elsewhere_is_not_mistaken(git: GitRepo, tmp_path: Path) -> None:
    begun(git)
    read_history(git.path, "sites/a", cache=tmp_path / "cache")
    other = GitRepo(tmp_path / "other")
    other.commit({"sites/a/site.yml": "name: Another\n"}, "Another")
    found = read_history(other.path, "sites/a", cache=tmp_path / "cache")
    assert [entry.subject for entry in found.entries] == ["Another"]


def test_plain_and_back(git: GitRepo) -> None:
    random_history(git, random.Random(9), 10)
    found = read_history(git.path, "sites/a")
    plain = json.loads(json.dumps(to_plain(found.entries, found.points)))
    assert from_plain(plain) == (found.entries, found.points)


def test_readers_side_by_side(git: GitRepo, tmp_path: Path) -> None:
    """Several builds at once keep and read the same histories."""
    begun(git)
    code = (
        "import sys; from pathlib import Path; from asbuilt.history.read import read_history; "
        "top, cache = map(Path, sys.argv[1:]); "
        "print(len(read_history(top, 'sites/a', cache=cache).entries))"
    )
    command = [sys.executable, "-c", code, str(git.path), str(tmp_path / "cache")]
    running = [
        subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=Path(__file__).parents[2])
        for _ in range(3)
    ]
    assert [process.communicate()[0].strip() for process in running] == ["1"] * 3
    assert read_history(git.path, "sites/a", cache=tmp_path / "cache").entries


# How full it was


@pytest.mark.parametrize("seed", range(60))
def test_counts_are_those_of_headroom(seed: int) -> None:
    """Witness: today's headroom, computed from the typed site."""
    draw = random.Random(seed)
    plan = edited(draw_plan(draw), draw, 3)
    for item in plan.items.values():
        if item["role"] == "switch" and draw.random() < 0.5:
            item |= {"poe": "370 W", "uplinks": "4"}
        if item["role"] == "panel" and draw.random() < 0.5:
            item |= {"dead": [str(draw.randint(1, 24))], "reserved": ["20-22"]}
    for outlet in plan.outlets.values():
        if draw.random() < 0.3:
            outlet["poe"] = f"class {draw.randint(0, 8)}"
        if draw.random() < 0.2:
            outlet["state"] = draw.choice(("dead", "abandoned", "spare", "unknown", "reserved"))
    files = typed(plan, draw)
    site = site_of(read_folder("x", files))
    assert site is not None
    whole = total_headroom(headroom_by_enclosure(site))
    raws, _ = take_folder_apart(files)
    found = count_site(state_of(raws))
    assert found.outlets == len(site.outlets)
    units = whole.units
    assert found.units == Usage(units.total, units.used, units.free)
    for mine, theirs in (
        (found.panel_ports, whole.panel_ports),
        (found.access_ports, whole.access_ports),
        (found.uplink_ports, whole.uplink_ports),
    ):
        assert mine == Usage(theirs.total, theirs.used, theirs.free)
    poe = whole.poe
    assert found.poe_budget == (poe.budget if poe else 0)
    assert found.poe_allocated == pytest.approx(poe.allocated if poe else 0)


def test_points_follow_the_commits_that_alter_them(git: GitRepo) -> None:
    first = begun(git)
    git.commit({"sites/a/findings.yml": "F1: {what: dust}\n"})
    third = git.commit(
        {"sites/a/outlets.yml": OUTLETS + "A3: {}\n"}, at="2024-03-01T18:00:00+01:00"
    )
    points = read_history(git.path, "sites/a").points
    assert [(point.commit, point.counts.outlets) for point in points] == [(first, 2), (third, 3)]
    assert [point.commit for point in last_point_of_each_day(points)] == [third]
    assert points[0].counts == replace(SiteCounts(), outlets=2)


def test_readings_are_used_and_total_by_day(git: GitRepo) -> None:
    begun(git)
    enclosure = (
        "height: 6 U\nfront:\n  6: {panel: A, ports: 24}\n  5: {switch: S, ports: 8, poe: 60 W}\n"
    )
    git.commit({"sites/a/enclosures/1.yml": enclosure}, at="2024-04-01T10:00:00+01:00")
    rows = OUTLETS.replace("A1: {", "A1: {port: 1/A/1, poe: class 4, ")
    git.commit(
        {
            "sites/a/outlets.yml": rows,
            "sites/a/enclosures/1.yml": enclosure + "patching:\n  A/1: {to: S/1}\n",
        },
        at="2024-05-01T10:00:00+01:00",
    )
    points = read_history(git.path, "sites/a").points
    april, may = dt.date(2024, 4, 1), dt.date(2024, 5, 1)
    assert usage_points(points, "panel_ports")[1:] == ((april, 0, 24), (may, 1, 24))
    assert usage_points(points, "access_ports")[1:] == ((april, 0, 8), (may, 1, 8))
    assert usage_points(points, "units")[1:] == ((april, 2, 6), (may, 2, 6))
    assert usage_points(points, "poe")[1:] == ((april, 0, 60), (may, 30, 60))


def test_a_commit_of_many_sites_is_taken_apart_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever begins by committing all clients at once doesn't wait for each of them in turn."""
    asked: list[str] = []
    within = commits_by_site._within

    def counted(path: str, folders: set[str]) -> Iterator[tuple[str, str]]:
        asked.append(path)
        return within(path, folders)

    monkeypatch.setattr(commits_by_site, "_within", counted)
    folders = [f"sites/s{number}" for number in range(30)]
    files = tuple(repo.FileChange(f"{folder}/site.yml", None, folder) for folder in folders)
    when = dt.datetime(2024, 3, 1, tzinfo=dt.UTC)
    lineages = commits_by_site.CommitsBySite(
        [repo.Commit("a", (), "x", when, "s", "", (), files)], folders
    )
    assert [len(lineages.steps(folder)) for folder in folders] == [1] * 30
    assert [lineages.count(folder) for folder in folders] == [1] * 30
    assert asked == [file.path for file in files]
