"""What git is asked, held against git's own answers in other words: diff-tree, show, status,
interpret-trailers, iso dates."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from asbuilt.io import git as repo
from asbuilt.io import git_process, git_write
from asbuilt.problem import WorldError
from tests.gitrepo import GitRepo


@pytest.fixture
def git(tmp_path: Path) -> GitRepo:
    return GitRepo(tmp_path / "records")


def raw(git: GitRepo, old: str, new: str) -> list[tuple[str, str | None, str | None]]:
    """Plain files that differ between two revisions, by diff-tree."""
    out = git.git("diff-tree", "-r", "-z", "--no-renames", "--root", "--no-commit-id", old, new)
    fields = out.split("\0")
    found = []
    for about, path in zip(fields[0::2], fields[1::2], strict=False):
        old_mode, new_mode, before, after, _ = about.lstrip(":").split()
        sides = (
            before if old_mode[:3] == "100" else None,
            after if new_mode[:3] == "100" else None,
        )
        if sides[0] != sides[1]:
            found.append((path, *sides))
    return found


EMPTY = "4b825dc642cb6eb9a060e54bf8d69288fbee4904"  # git's empty tree


def check_log(git: GitRepo) -> None:
    """Against rev-list, show and diff-tree, one commit at a time."""
    ids = git.git("rev-list", "--first-parent", "--reverse", "HEAD").split()
    found = repo.log(git.path)
    assert [commit.id for commit in found] == ids
    for commit in found:
        parents = git.git("show", "-s", "--format=%P", commit.id).split()
        assert list(commit.parents) == parents
        changes = raw(git, parents[0] if parents else EMPTY, commit.id)
        assert [(f.path, f.before, f.after) for f in commit.files] == changes
        said = git.git("show", "-s", "--format=%an%x00%s%x00%aI", commit.id).rstrip("\n")
        author, subject, date = said.split("\0")
        assert (commit.author, commit.subject) == (author, subject)
        assert commit.when == dt.datetime.fromisoformat(date)
        assert commit.when.utcoffset() == dt.datetime.fromisoformat(date).utcoffset()


def test_a_log_with_all_that_happens(git: GitRepo) -> None:
    """
    one ── two ── links ── merged ── tidy
      └─── side ── side2 ────┘
    """
    git.commit({"sites/a/site.yml": "name: A\n", "read me.txt": "x"}, "One\n\nBody", at="@1 +0530")
    git.switch("side", new=True)
    git.commit(
        {"sites/a/åß 地.yml": "1\n", "sites/a/site.yml": "name: B\n"}, "side", by=("李 娜", "l@x")
    )
    git.commit({'sites/a/q"u\\o\tte\n.yml': "1\n"}, "side2", by=("Žofie O’Dell", "z@x"))
    git.switch("main")
    git.commit({"sites/b/site.yml": "name: C\n"}, "two", at="2023-07-01T23:30:00-03:30")
    (git.path / "sites/a/link.yml").symlink_to("site.yml")
    (git.path / "read me.txt").chmod(0o755)
    other = GitRepo(git.path.parent / "other")
    other.commit({"x": "1"})
    git.git(
        "-c", "protocol.file.allow=always", "submodule", "add", "-q", str(other.path), "sites/sub"
    )
    git.commit({}, "links")
    git.merge("side", "Merge branch 'side'")
    git.commit({"sites/a/site.yml": None, "sites/c/site.yml": "name: B\n"}, "tidy")
    git.commit({}, "nothing at all")
    check_log(git)
    files = {f.path for commit in repo.log(git.path) for f in commit.files}
    assert "sites/a/link.yml" not in files and "sites/sub" not in files
    merged = next(c for c in repo.log(git.path) if len(c.parents) == 2)
    assert len(merged.files) == 3, "a merge brings all of its branch"


def test_a_file_that_becomes_a_link_is_gone(git: GitRepo) -> None:
    git.commit({"sites/a/site.yml": "name: A\n"})
    (git.path / "sites/a/site.yml").unlink()
    (git.path / "sites/a/site.yml").symlink_to("/etc/hostname")
    git.commit({})
    check_log(git)
    last = repo.log(git.path)[-1]
    assert [change.after for change in last.files] == [None]
    assert repo.tree(git.path, last.id) == {}


@pytest.mark.parametrize(
    "message",
    [
        "Subject\n\nJob: J1\n",
        "Subject\n\nBody of it.\n\nJob: J1\nSigned-off-by: Mara Quist <mara@example.com>\n",
        "Subject\n\njob:J2\nJOB : J3\n",
        "Subject\n\nJob: J1\nJob: J2\n",
        "Subject\n\nJob: a job whose name\n  goes on\n",
        "Subject\n\nJob: J1\n\nThe line above is no trailer.\n",
        "Job: J1\n",
        "Subject\n\nJobs: J1\nJob J2\n",
        "Subject\n\nSee also\nJob: J1\n",
        "Subject\n\nJob:\n",
        "Sujet é 地\n\nCorps\n\nJob: J-ß\n",
    ],
)
def test_job_trailers_by_interpret_trailers(git: GitRepo, message: str) -> None:
    git.commit({}, message)
    trailers = git.git("interpret-trailers", "--parse", told=message).splitlines()
    pairs = [line.partition(":") for line in trailers]
    values = [value.strip() for name, _, value in pairs if name.strip().lower() == "job"]
    (commit,) = repo.log(git.path)
    assert list(commit.jobs) == [value for value in values if value]
    for name, _, value in pairs:
        if name.strip() != "Jobs":
            assert value.strip() not in commit.body or not value.strip()


def test_a_merge_names_the_jobs_of_what_it_brought(git: GitRepo) -> None:
    """
    begun (J0) ── on (J1) ─────────────── merge ── again ──
        ├── side (J2) ── twice (J3) ────────┘        │
        └── other (J2, J4) ── main's merge (J5) ─────┘
    """
    git.commit({"a": "1"}, "begun\n\nJob: J0")
    git.switch("side", new=True)
    git.commit({"b": "1"}, "side\n\nJob: J2")
    git.commit({"b": "2"}, "twice\n\nJob: J3")
    git.switch("other", new=True, at="main")
    git.commit({"c": "1"}, "other\n\nJob: J2\nJob: J4")
    git.switch("main")
    git.commit({"a": "2"}, "on\n\nJob: J1")
    git.switch("other")
    git.merge("main", "main's\n\nJob: J5")
    git.switch("main")
    git.merge("side", "merge")
    git.merge("other", "again")
    found = repo.log(git.path)
    assert [(c.subject, set(c.jobs)) for c in found] == [
        ("begun", {"J0"}), ("on", {"J1"}), ("merge", {"J2", "J3"}), ("again", {"J2", "J4", "J5"}),
    ]  # fmt: skip
    for commit in found[1:]:  # by what git says lies between a commit and the one before it
        span = f"{commit.id}^1..{commit.id}"
        named = git.git("log", "--format=%(trailers:key=Job,valueonly)", span).split()
        assert set(commit.jobs) == set(named)
    assert repo.log(git.path, since=found[1].id) == found[2:]


def test_no_address_is_left_in_the_body(git: GitRepo) -> None:
    git.commit(
        {}, "S\n\nWhat was done.\n\nJob: J1\nCo-authored-by: Nils Ferro <nils@example.com>\n"
    )
    (commit,) = repo.log(git.path)
    assert commit.body == "What was done."
    assert "@" not in str(commit)


@pytest.mark.parametrize("zone", ["+0000", "-0330", "+1245", "-1200", "+1400"])
def test_zones(git: GitRepo, zone: str) -> None:
    git.commit({}, at=f"@1700000000 {zone}")
    check_log(git)


@pytest.mark.parametrize("date", ["1700000000 +9959", "99999999999999 +0000", "0 -0000"])
def test_dates_that_make_no_sense_are_survived(git: GitRepo, date: str) -> None:
    tree = git.git("write-tree").strip()
    who = f"Mara Quist <m@example.com> {date}"
    text = f"tree {tree}\nauthor {who}\ncommitter {who}\n\nOdd\n"
    made = git.git("hash-object", "-t", "commit", "-w", "--literally", "--stdin", told=text).strip()
    git.git("update-ref", "HEAD", made)
    (commit,) = repo.log(git.path)
    assert commit.subject == "Odd"
    assert commit.when.tzinfo is not None


def test_what_a_user_has_set_changes_nothing(
    git: GitRepo, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    first = git.commit({"sites/a/å b.yml": "x: 1\n" * 40}, "One\n\nJob: J1")
    git.commit({"sites/a/å b.yml": None, "sites/a/c.yml": "x: 1\n" * 40}, "Two")
    git.git("replace", git.head(), first)
    git.write({"sites/a/c.yml": "x: 2\n", "sites/ü": "1"})
    before = (repo.log(git.path), repo.unsaved(git.path, "sites"), repo.head(git.path))
    settings = tmp_path / "settings"
    settings.write_text(
        "[core]\nquotepath = on\n[diff]\nrenames = copies\nnoprefix = true\n[log]\n"
        "showRoot = false\ndate = relative\nmailmap = true\nshowSignature = true\nfollow = true\n"
        "decorate = full\n[color]\nui = always\n[status]\nrenames = copies\nrelativePaths = true\n"
        "showUntrackedFiles = no\n[trailer]\nseparators = '='\n[i18n]\n"
        "logOutputEncoding = latin1\n[format]\npretty = oneline\n",
        encoding="utf-8",
    )
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(settings))
    (git.path / ".mailmap").write_text("Other <mara.quist@example.com>\n")
    git.git("add", ".mailmap")
    for name in ("GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_OBJECT_DIRECTORY"):
        monkeypatch.setenv(name, "/nowhere")
    monkeypatch.setenv("GIT_NAMESPACE", "other")
    kept = dict(os.environ)
    found = [path for path in repo.unsaved(git.path, "sites") if path != ".mailmap"]
    assert (repo.log(git.path), tuple(found), repo.head(git.path)) == before
    assert repo.top_of(git.path / "sites" / "a") == git.path
    assert dict(os.environ) == kept, "the surroundings are as they were"
    assert [change.path for change in before[0][1].files] == ["sites/a/c.yml", "sites/a/å b.yml"]


# Small questions


def test_where_the_top_is(git: GitRepo, tmp_path: Path) -> None:
    git.commit({"sites/a/site.yml": "name: A\n"})
    assert repo.top_of(git.path / "sites") == git.path
    assert repo.top_of(tmp_path) is None
    assert repo.top_of(tmp_path / "not there") is None


def test_before_the_first_commit(git: GitRepo) -> None:
    assert repo.head(git.path) is None
    assert not repo.is_shallow(git.path)
    assert repo.branch(git.path) == "main"


def test_head_and_branch(git: GitRepo) -> None:
    first = git.commit({"a": "1"}, at="2024-03-07T10:00:00+05:45")
    found = repo.head(git.path)
    assert found == repo.Head(first, dt.datetime.fromisoformat("2024-03-07T10:00:00+05:45"))
    git.switch("größer/地", new=True)
    assert repo.branch(git.path) == "größer/地"
    git.git("checkout", "-q", "--detach")
    assert repo.branch(git.path) is None


def test_revisions_by_name(git: GitRepo) -> None:
    first, second = git.commit({"sites": "1"}), git.commit({"sites": "2"})
    mara = ("-c", "user.name=Mara", "-c", "user.email=mara@example.com")
    git.git(*mara, "tag", "-a", "spring", first, "-m", "x")
    for name in (first, first[:9], "spring", "HEAD~1", "main^"):
        assert repo.revision(git.path, name).id == first
    for name in ("nothing", "sites", "--all", "main..spring", "", "-1", "HEAD:sites"):
        with pytest.raises(WorldError, match="there is no revision"):
            repo.revision(git.path, name)
    assert repo.merge_base(git.path, "spring", second) == first


def test_two_lines_without_a_common_start(git: GitRepo) -> None:
    git.commit({"a": "1"})
    git.git("switch", "-q", "--orphan", "other")
    git.commit({"b": "1"})
    with pytest.raises(WorldError, match="no revision in common"):
        repo.merge_base(git.path, "main", "other")


def test_unsaved_work_by_status(git: GitRepo) -> None:
    git.commit({"sites/a/site.yml": "1", "sites/a/x.yml": "1", "other": "1"})
    assert repo.unsaved(git.path, "sites") == ()
    git.write(
        {"sites/a/site.yml": "2", "sites/a/x.yml": None, "sites/å ü/n.yml": "1", "other": "2"}
    )
    status = git.git("status", "--porcelain", "-z", "-uall", "--", "sites")
    paths = sorted(line[3:] for line in status.split("\0") if line)
    assert list(repo.unsaved(git.path, "sites")) == paths
    assert len(paths) == 3
    assert "other" in repo.unsaved(git.path, "")


def test_a_path_is_never_a_pattern(git: GitRepo) -> None:
    git.commit({"sites/a*/x": "1", "sites/ab/x": "1"})
    git.write({"sites/a*/x": "2", "sites/ab/x": "2"})
    assert repo.unsaved(git.path, "sites/a*") == ("sites/a*/x",)
    assert list(repo.tree(git.path, git.head(), "sites/a*")) == ["x"]


def test_a_folder_at_a_revision(git: GitRepo) -> None:
    first = git.commit({"sites/a/site.yml": "1", "sites/a/jobs/J 1.yml": "2", "sites/ab/x": "3"})
    git.commit({"sites/a/site.yml": None})
    found = repo.tree(git.path, first, "sites/a")
    assert sorted(found) == ["jobs/J 1.yml", "site.yml"]
    assert found["site.yml"] == git.git("rev-parse", f"{first}:sites/a/site.yml").strip()
    assert repo.tree(git.path, first, "sites/none") == {}


def test_contents_of_many_ids(git: GitRepo) -> None:
    texts = [bytes([number % 256]) * number for number in range(300)]
    git.commit({f"f{number:03}": text for number, text in enumerate(texts)})
    blobs = repo.tree(git.path, git.head())
    missing = "1" * 40
    with repo.contents(git.path) as contents:
        asked = [*(blobs[f"f{number:03}"] for number in range(150)), missing]
        assert list(contents.read_all(asked)) == [*texts[:150], None]
        assert contents.read(missing) is None
        assert contents.read(blobs["f299"]) == texts[299]


def test_the_log_of_the_head_is_where_git_writes_it(git: GitRepo) -> None:
    git.commit({"a": "1"})
    before = repo.head_log(git.path).read_text()
    git.commit({"a": "2"})
    assert repo.head_log(git.path).read_text().startswith(before)


def test_a_work_tree_beside_another(git: GitRepo) -> None:
    git.commit({"a": "1"})
    beside = git.path.parent / "beside"
    git.git("worktree", "add", "-q", str(beside))
    assert repo.top_of(beside) == beside
    assert repo.branch(beside) == "beside"
    assert repo.head_log(beside).is_file()


def test_a_shallow_copy(git: GitRepo) -> None:
    for number in range(3):
        git.commit({"a": str(number)})
    copy = git.path.parent / "copy"
    git.git("clone", "-q", "--depth=2", f"file://{git.path}", str(copy))
    assert repo.is_shallow(copy)
    assert len(repo.log(copy)) == 2


def test_since(git: GitRepo) -> None:
    ids = [git.commit({"a": str(number)}) for number in range(4)]
    assert [commit.id for commit in repo.log(git.path, since=ids[1])] == ids[2:]


def test_no_git(git: GitRepo, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", "")
    with pytest.raises(WorldError, match="git isn’t installed"):
        repo.top_of(git.path)


def test_a_repository_of_somebody_else(git: GitRepo, monkeypatch: pytest.MonkeyPatch) -> None:
    # Git's own switch for testing its refusal.
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    monkeypatch.setattr(
        git_process, "_KEPT", git_process._KEPT | {"GIT_TEST_ASSUME_DIFFERENT_OWNER"}
    )
    monkeypatch.setenv("GIT_TEST_ASSUME_DIFFERENT_OWNER", "1")
    with pytest.raises(WorldError, match="belongs to another user"):
        repo.top_of(git.path)


# A history made at once


def commits() -> list[git_write.NewCommit]:
    zone = dt.timezone(-dt.timedelta(hours=3, minutes=30))
    when = dt.datetime(2024, 1, 2, 3, 4, 5, tzinfo=zone)
    later = dt.datetime(2025, 1, 2, tzinfo=dt.UTC)
    return [
        git_write.NewCommit("Première\n\nJob: J1\n", "Åsa Ölund", "asa@example.com", when,
                       {"sites/x/site.yml": b"name: x\n", 'sites/x/a "b\\\n.yml': b"\r\n\0"}),
        git_write.NewCommit("Two", "李 娜", "li@example.com", later,
                       {"sites/x/site.yml": None, "sites/y.yml": b""}),
    ]  # fmt: skip


def test_the_same_commits_have_the_same_ids(tmp_path: Path) -> None:
    ids = git_write.import_commits(tmp_path / "one", commits())
    assert ids == git_write.import_commits(tmp_path / "two", commits())
    assert [commit.id for commit in repo.log(tmp_path / "one")] == ids
    assert repo.unsaved(tmp_path / "one", "") == ()
    assert (tmp_path / "one" / 'sites/x/a "b\\\n.yml').read_bytes() == b"\r\n\0"
    assert not (tmp_path / "one" / "sites/x/site.yml").exists()


def test_the_ids_are_those_of_git_commit(git: GitRepo, tmp_path: Path) -> None:
    made = [
        git.commit(
            new.files, new.message, by=(new.author, new.email), at=new.when.isoformat()
        )
        for new in commits()
    ]  # fmt: skip
    imported = git_write.import_commits(tmp_path / "one", [
        git_write.NewCommit(new.message.rstrip("\n") + "\n", new.author, new.email, new.when, new.files)
        for new in commits()
    ])  # fmt: skip
    assert imported == made


def test_a_history_is_only_made_where_there_is_none(git: GitRepo, tmp_path: Path) -> None:
    with pytest.raises(WorldError, match="is a repository already"):
        git_write.import_commits(git.path, [])
    (tmp_path / "file").write_text("")
    with pytest.raises(WorldError, match="can’t make"):
        git_write.import_commits(tmp_path / "file" / "records", [])
    assert git_write.import_commits(tmp_path / "empty", []) == []
    assert repo.head(tmp_path / "empty") is None


# Reading to the end


def test_a_log_that_is_not_heard_to_its_end_keeps_nobody_waiting(
    git: GitRepo, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Git can't say more than a pipe holds to who doesn't listen."""
    git.commit({"a.txt": "1"}, "Long\n\n" + "word " * 100_000)

    def heard(fields: Iterator[bytes]) -> Iterator[repo.Commit]:
        yield from ()
        raise RuntimeError(f"enough: {next(fields)!r}")

    monkeypatch.setattr(repo, "_commits", heard)
    with pytest.raises(RuntimeError, match="enough"):
        repo.log(git.path)
