"""The world stands in the way: each time one message, and what was there stays as it was."""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import subprocess
import sys
import zlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import pytest
from click.testing import CliRunner

from asbuilt.cli import main
from asbuilt.io import files, sources, transaction
from tests.crash import LIST
from tests.gitrepo import GitRepo
from tests.publish.test_build import plain
from tests.small_site import files_of, write_site

#: What a page says where part of the past can't be read.
TOLD = re.compile(r"could not be read|Can’t be read|aren’t in this copy")
ONE_LINE = re.compile(r"asbuilt: [^\n]+\n")


@dataclass
class World:
    """A records repository with a past, its pages built, and the command at hand."""

    top: Path
    repo: GitRepo
    good: dict[str, bytes]

    @property
    def git(self) -> Path:
        return self.top / ".git"

    def run(self, *words: str) -> tuple[int, str, str]:
        done = CliRunner().invoke(main, words)
        assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
        return done.exit_code, done.stdout, done.stderr

    def restore(self) -> None:
        """As it was, from the copy beside it."""
        for name in (".git", "sites", "public"):
            shutil.rmtree(self.top / name, ignore_errors=True)
            subprocess.run(["cp", "-a", self.top.parent / "kept" / name, self.top], check=True)
        shutil.rmtree(self.top / ".asbuilt-cache", ignore_errors=True)

    def sound_to_git(self) -> bool:
        """git fsck is the witness."""
        command = ["git", "fsck", "--full", "--strict", "--no-dangling"]
        done = subprocess.run(command, cwd=self.top, capture_output=True)
        return done.returncode == 0 and b"error" not in done.stderr


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> World:
    folder = tmp_path_factory.mktemp("world")
    top = folder / "records"
    repo = GitRepo(top)
    (top / ".gitignore").write_text("/public/\n/.asbuilt-cache/\n")
    write_site(top, findings="")
    repo.commit({}, "Survey")
    write_site(top)
    repo.commit({}, "Findings\n\nJob: J1")
    path = top / "sites/harbour/outlets.yml"
    repo.commit({"sites/harbour/outlets.yml": path.read_text().replace("west", "east")}, "Moved")
    return World(top, repo, {})


@pytest.fixture
def world(made: World, monkeypatch: pytest.MonkeyPatch) -> Iterator[World]:
    monkeypatch.chdir(made.top)
    monkeypatch.setattr("asbuilt.cli._publisher", lambda: plain)
    monkeypatch.setattr(os, "cpu_count", lambda: 1)
    kept = made.top.parent / "kept"
    if not kept.exists():
        assert made.run("build")[0] == 0
        made.good = files_of(made.top / "public")
        subprocess.run(["cp", "-a", made.top, kept], check=True)
    made.restore()
    yield made
    made.restore()


BUILD = (("build",),)
ALL = (*BUILD, ("log", "--format", "json"), ("diff", "HEAD~1", "HEAD"), ("check", "--jobs"))


def holds(world: World, what: str, commands: Sequence[Sequence[str]] = BUILD) -> str:
    """Run what reads git in a world that was damaged. It does as always, or says in one message
    what is wrong; records and pages stay. What was said."""
    said: list[str] = []
    before = files_of(world.top / "sites")
    for words in commands:
        shutil.rmtree(world.top / ".asbuilt-cache", ignore_errors=True)
        code, _out, complaint = world.run(*words)
        if code:
            assert ONE_LINE.fullmatch(complaint), f"{what}: {words[0]}: {complaint}"
            said.append(complaint.strip())
        assert files_of(world.top / "sites") == before, what
        pages = files_of(world.top / "public")
        if pages != world.good:
            assert (words == ("build",) and code == 0) or said == [], what
            history = pages["harbour/changes.html"].decode()
            assert TOLD.search(history), f"{what}: other pages, and nothing says why"
            said.append("told on the page")
            subprocess.run(["rm", "-rf", "public"], cwd=world.top, check=True)
            kept = world.top.parent / "kept/public"
            subprocess.run(["cp", "-a", kept, world.top], check=True)
    return said[0] if said else ""


def damaged(data: bytes) -> Iterator[tuple[str, bytes | None]]:
    yield "gone", None
    yield "empty", b""
    yield "cut short", data[: len(data) // 2]
    yield "a bit turned", data[:-3] + bytes((data[-3] ^ 4,)) + data[-2:]
    yield "the first bit turned", bytes((data[0] ^ 1,)) + data[1:]
    yield "another object", zlib.compress(b"blob 3\0xyz")


def write(path: Path, data: bytes | None) -> None:
    if path.exists():
        path.unlink()
    if data is not None:
        path.write_bytes(data)


def test_damaged_objects(world: World) -> None:
    seen: set[str] = set()
    tried = 0
    for number, path in enumerate(sorted((world.git / "objects").glob("??/*"))):
        whole = path.read_bytes()
        for which, (how, data) in enumerate(damaged(whole)):
            if (number + which) % 3:
                continue  # each object is damaged, each way is tried on many
            write(path, data)
            what = f"object {number} {how}"
            said = holds(world, what, ALL if number % 5 == 0 else BUILD)
            assert said or how == "a bit turned" or not world.sound_to_git(), what
            seen.add(re.sub(r"[0-9a-f]{10,}", "…", said))
            write(path, whole)
            tried += 1
    print(tried, *sorted(seen), sep="\n")
    assert tried > 20
    assert holds(world, "mended") == ""


def test_damaged_packs(world: World) -> None:
    world.repo.git("gc", "-q", "--prune=now")
    (pack,) = (world.git / "objects/pack").glob("*.pack")
    index = pack.with_suffix(".idx")
    whole, whole_index = pack.read_bytes(), index.read_bytes()
    corrupt = 0
    for path, data in ((pack, whole), (index, whole_index)):
        cuts = [data[: len(data) * n // 4] for n in range(4)]
        turned = [
            data[:at] + bytes((data[at] ^ 0x10,)) + data[at + 1 :]
            for at in range(5, len(data), len(data) // 6)
        ]
        for number, wrong in enumerate((None, *cuts, *turned)):
            write(path, wrong)
            what = f"{path.suffix} {number}"
            corrupt += not world.sound_to_git()
            said = holds(world, what, ALL if number % 5 == 0 else BUILD)
            print(what, said)
            write(path, data)
    assert corrupt > 15, "git itself finds nothing wrong: the test shows nothing"
    assert holds(world, "mended") == ""


NO = "0" * 40
REFS: dict[str, tuple[str, bytes | None]] = {
    "HEAD empty": ("HEAD", b""),
    "HEAD garbage": ("HEAD", b"\xff\x00nonsense"),
    "HEAD gone": ("HEAD", None),
    "HEAD to itself": ("HEAD", b"ref: HEAD\n"),
    "HEAD an id that isn't there": ("HEAD", b"1" * 40 + b"\n"),
    "HEAD of zeros": ("HEAD", NO.encode()),
    "branch empty": ("refs/heads/main", b""),
    "branch garbage": ("refs/heads/main", b"\x80\x81\x82"),
    "branch cut short": ("refs/heads/main", b"1234567890\n"),
    "branch of an id that isn't there": ("refs/heads/main", b"2" * 40 + b"\n"),
    "branch of a file": ("refs/heads/main", b"blob"),
    "config garbage": ("config", b"[core\n\x00"),
    "config of another format": ("config", b"[core]\nrepositoryformatversion = 99\n"),
    "index garbage": ("index", b"DIRC nonsense"),
    "index cut short": ("index", b"DIRC\x00\x00\x00\x02\x00\x00\x00\x09"),
    "packed refs garbage": ("packed-refs", b"\x00\x01 nonsense\n"),
    "shallow garbage": ("shallow", b"nonsense\n"),
    "alternates elsewhere": ("objects/info/alternates", b"/nowhere/objects\n"),
    "commit graph garbage": ("objects/info/commit-graph", b"CGPH nonsense"),
}


@pytest.mark.parametrize("what", REFS)
def test_broken_refs_and_settings(world: World, what: str) -> None:
    path, data = REFS[what]
    if data == b"blob":
        data = world.repo.git("rev-parse", "HEAD:.gitignore").encode()
    write(world.git / path, data)
    print(what, "|", holds(world, what, ALL))


def instead(git: Path, text: str) -> None:
    shutil.rmtree(git)
    git.write_text(text)


NONE: dict[str, Callable[[Path], object]] = {
    "no objects": lambda git: shutil.rmtree(git / "objects"),
    "no refs": lambda git: shutil.rmtree(git / "refs"),
    "points nowhere": lambda git: instead(git, "gitdir: /nowhere\n"),
    "nonsense": lambda git: instead(git, "nonsense"),
}


@pytest.mark.parametrize("what", NONE)
def test_a_git_folder_that_is_none(world: World, what: str) -> None:
    """Pages that say “not kept in git” would be wrong: there was a history here."""
    NONE[what](world.git)
    assert "can’t read the repository" in holds(world, what, ALL[:2])
    if world.git.is_file():
        world.git.unlink()


# What is kept between two runs


def test_a_damaged_cache_heals(world: World) -> None:
    """Each stretch of bytes turned, each length cut, and what another version would have kept."""
    assert world.run("build")[0] == 0
    cache = world.top / ".asbuilt-cache"
    (kept,) = cache.glob("history-*")
    whole = kept.read_bytes()
    digest, _, body = whole.partition(b"\n")
    stamped = body.replace(b"1 ", b"2 ", 1)
    wrong: list[bytes | None] = [
        None, b"", whole + b"x", whole[::-1], b"\0" * len(whole),
        hashlib.sha256(stamped).hexdigest().encode() + b"\n" + stamped,  # another format's
        hashlib.sha256(b"").hexdigest().encode() + b"\n",
        hashlib.sha256(b"{}").hexdigest().encode() + b"\n{}",
        digest + b"\n" + body.partition(b"\n")[0],
    ]  # fmt: skip
    first = body.partition(b"\n")[0] + b"\n"
    for nonsense in (b"", b"[]", b"{}", b"null", b"[[[]]]", b'{"entries": 3}', b"[" * 50_000):
        text = first + nonsense
        wrong.append(hashlib.sha256(text).hexdigest().encode() + b"\n" + text)
    wrong += [whole[: len(whole) * n // 8] for n in range(8)]
    for at in range(0, len(whole), len(whole) // 12):
        wrong.append(whole[:at] + bytes(b ^ 0x21 for b in whole[at : at + 9]) + whole[at + 9 :])
    _, good, _ = world.run("log", "--format", "json")
    for number, data in enumerate(wrong):
        write(kept, data)
        code, told, _ = world.run("log", "--format", "json")
        assert (code, told) == (0, good), f"kept history {number} was believed"
        assert kept.read_bytes() == whole, f"kept history {number} was not mended"


UNKEPT: dict[str, Callable[[Path, str], object]] = {
    "a file": lambda cache, name: cache.write_text("a file"),
    "a link to nowhere": lambda cache, name: cache.symlink_to("/nowhere/at/all"),
    "a folder in the way": lambda cache, name: (cache / name).mkdir(parents=True),
}


@pytest.mark.parametrize("what", UNKEPT)
def test_a_cache_that_cannot_be_kept_is_done_without(world: World, what: str) -> None:
    assert world.run("log")[0] == 0
    cache = world.top / ".asbuilt-cache"
    (kept,) = cache.glob("history-*")
    shutil.rmtree(cache)
    UNKEPT[what](cache, kept.name)
    assert world.run("build")[0] == 0
    assert files_of(world.top / "public") == world.good
    subprocess.run(["rm", "-rf", cache], check=True)


def test_what_a_killed_command_left_in_the_cache_is_cleared(world: World) -> None:
    assert world.run("build")[0] == 0
    (kept,) = (world.top / ".asbuilt-cache").glob("history-*")
    left = kept.with_name(f"{kept.name}.4711")
    left.write_bytes(b"half")
    kept.unlink()
    assert world.run("build")[0] == 0
    assert not left.exists()


# A disk that is full, a place that may not be written to


@pytest.fixture
def full(world: World, tmp_path: Path) -> Iterator[Callable[[Path, int], Path]]:
    """A disk of so many KiB, mounted where it is said."""
    mounted: list[Path] = []

    def make(where: Path, size: int) -> Path:
        where.mkdir(exist_ok=True)
        command = ["mount", "-t", "tmpfs", "-o", f"size={size}k", "tmpfs", str(where)]
        done = subprocess.run(command, capture_output=True, text=True)
        if done.returncode:
            pytest.skip(f"no disk can be mounted here: {done.stderr.strip()}")
        mounted.append(where)
        return where

    yield make
    for where in mounted:
        subprocess.run(["umount", "-l", str(where)], check=True)


def asbuilt(top: Path, *words: str, before: Sequence[str] = ()) -> tuple[int, str]:
    """The command in a process of its own; what it complains of."""
    done = subprocess.run(
        [*before, sys.executable, "-m", "asbuilt", *words],
        cwd=top,
        env={**os.environ, "NO_MKDOCS_2_WARNING": "1"},
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert "Traceback" not in done.stderr, done.stderr
    return done.returncode, done.stderr


def test_a_full_disk_while_building(
    world: World, full: Callable[[Path, int], Path], tmp_path: Path
) -> None:
    disk = full(tmp_path / "disk", 6000)
    assert world.run("build", "--output", str(disk / "public"))[0] == 0
    before = files_of(disk / "public")
    for left in (900, 0):
        filler = disk / "filler"
        size = max(0, os.statvfs(disk).f_bavail * 4096 - left * 1024)
        filler.write_bytes(b"x" * size)
        code, said = asbuilt(world.top, "build", "--rebuild", "--output", str(disk / "public"))
        filler.unlink()
        assert code == 1, f"{left} KiB were enough"
        assert ONE_LINE.fullmatch(said) and "no space left" in said, said
        assert files_of(disk / "public") == before
    assert world.run("build", "--output", str(disk / "public"))[0] == 0
    assert files_of(disk / "public") == before


def test_a_full_disk_while_editing(
    world: World,
    full: Callable[[Path, int], Path],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    disk = full(tmp_path / "disk", 4000)
    subprocess.run(["cp", "-a", world.top, disk], check=True)
    top = disk / "records"
    monkeypatch.chdir(top)
    (tmp_path / "list.csv").write_text(LIST)
    before = files_of(top / "sites")
    head = world.repo.head()
    for words in (
        ("change", "harbour", "outlet", "1A-A01", "plate=north wall"),
        ("import", "harbour", "outlets", str(tmp_path / "list.csv"), "--trust", "list"),
        ("new", "site", "quay"),
    ):
        for left in (4, 0):
            code, said = with_space(world, disk, left, *words)
            assert code == 1, f"{words[0]}: {left} KiB were enough"
            assert ONE_LINE.fullmatch(said) and "no space left" in said.lower(), said
            assert files_of(top / "sites") == before, words
            assert not (top / transaction.FOLDER).exists()
    words = ("change", "harbour", "outlet", "1A-A01", "plate=north wall", "--commit")
    code, said = with_space(world, disk, 24, *words)  # enough for the records, not for git
    assert code == 1 and ONE_LINE.fullmatch(said), said
    assert "the records are written, but not committed" in said
    assert b"north wall" in files_of(top / "sites")["harbour/outlets.yml"]
    copy = GitRepo(top)
    assert copy.head() == head
    copy.git("fsck", "--strict")


def with_space(world: World, disk: Path, left: int, *words: str) -> tuple[int, str]:
    """The command, with so many KiB left on the disk."""
    filler = disk / "filler"
    filler.write_bytes(b"x" * (os.statvfs(disk).f_bavail * 4096 - left * 1024))
    try:
        code, _, said = world.run(*words)
        return code, said
    finally:
        filler.unlink()


#: Root may do everything: a root without its privileges may only do what the owner may.
UNPRIVILEGED = ("setpriv", "--bounding-set=-all", "--inh-caps=-all")


def test_what_may_not_be_read_or_written(world: World) -> None:
    before: tuple[str, ...] = ()
    if os.geteuid() == 0:
        if not shutil.which("setpriv"):
            pytest.skip("root may do everything, and there is no setpriv to take that away")
        before = UNPRIVILEGED
    top = world.top
    sites, pages = files_of(top / "sites"), files_of(top / "public")

    def refused(closed: Path, mode: int, *words: str) -> str:
        """What is said while a folder or file is closed."""
        was = closed.stat().st_mode
        closed.chmod(mode)
        try:
            code, said = asbuilt(top, *words, before=before)
        finally:
            closed.chmod(was)
        assert code == 1 and ONE_LINE.fullmatch(said), (words, said)
        assert (files_of(top / "sites"), files_of(top / "public")) == (sites, pages)
        return said.lower()

    change = ("change", "harbour", "outlet", "1A-A01", "plate=north wall")
    assert "permission denied" in refused(top / "public", 0o500, "build")
    assert "permission denied" in refused(top, 0o500, *change)
    assert "permission denied" in refused(top / "sites", 0o000, "check")
    assert "permission denied" in refused(top / "public/harbour/index.html", 0, "verify", "public")
    assert "can’t read the repository" in refused(top / ".git/objects", 0o000, "log")
    closed = top / "sites/harbour/outlets.yml"
    closed.chmod(0)
    try:
        done = subprocess.run(
            [*before, sys.executable, "-m", "asbuilt", "check"],
            cwd=top, capture_output=True, text=True,
        )  # fmt: skip
    finally:
        closed.chmod(0o644)
    assert done.returncode == 1
    assert "outlets.yml:1:1: can't be read: permission denied" in done.stdout


def test_an_output_that_cannot_be_written_to(
    world: World, full: Callable[[Path, int], Path], tmp_path: Path
) -> None:
    disk = full(tmp_path / "disk", 4000)
    subprocess.run(["cp", "-a", world.top / "public", disk], check=True)
    before = files_of(disk)
    subprocess.run(["mount", "-o", "remount,ro", disk], check=True)
    for output in (disk / "public", disk / "new"):
        code, _, said = world.run("build", "--output", str(output))
        assert code == 1 and ONE_LINE.fullmatch(said) and "read-only file system" in said, said
    assert files_of(disk) == before
    assert world.run("verify", str(disk / "public"))[0] == 0


# A broken installation


def test_the_theme_knows_its_files() -> None:
    folder = sources.theme_folder()
    assert {path for path in files_of(folder) if ".DS_" not in path} == set(sources.THEME_FILES)


@pytest.mark.parametrize("gone", ["main.html", ""])
def test_a_theme_that_is_not_whole(world: World, tmp_path: Path, gone: str) -> None:
    source = Path(files.__file__).parents[2]
    copy = tmp_path / "installed"
    for name in ("asbuilt", "theme"):
        shutil.copytree(source / name, copy / name, ignore=shutil.ignore_patterns("__pycache__"))
    if gone:
        (copy / "theme" / gone).unlink()
    else:
        shutil.rmtree(copy / "theme")
    before = ("env", f"PYTHONPATH={copy}", "PYTHONDONTWRITEBYTECODE=1")
    code, said = asbuilt(world.top, "build", before=before)
    assert code == 1 and ONE_LINE.fullmatch(said) and "install asbuilt again" in said, said
    assert files_of(world.top / "public") == world.good
