"""python -m tests.crash [N]: kills builds, imports and edits at N random moments each.

After each kill the published sites are the old ones or the new ones, whole, as their manifests
say; the records are as before or as after, once any command has looked at them; git itself (fsck)
finds nothing wrong; what was left behind is gone after the next run. Half of the moments are
random over the whole run, half are aimed at the short while in which something is written. A
kill strikes all processes at once, as when a machine loses power, or only the first, or only one
that it started, as when memory runs out.
"""

from __future__ import annotations

import collections
import itertools
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from asbuilt.io import transaction
from asbuilt.publish.manifest import compare, read_manifest
from tests.books import PRACTICE
from tests.gitrepo import GitRepo
from tests.small_site import files_of, write_site

QUIET = {**os.environ, "NO_MKDOCS_2_WARNING": "1"}
WHOM = ("all", "first", "one started")


@dataclass
class Tally:
    """What was seen: how often a kill struck, and where."""

    kills: int = 0
    counts: collections.Counter[str] = field(default_factory=collections.Counter)

    def __str__(self) -> str:
        seen = ", ".join(f"{what} {count}" for what, count in sorted(self.counts.items()))
        return f"{self.kills} kills: {seen}"


def start(top: Path, *words: str | Path) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "asbuilt", *map(str, words)],
        cwd=top,
        env=QUIET,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
    )


def run(top: Path, *words: str | Path) -> subprocess.CompletedProcess[str]:
    process = start(top, *words)
    out, said = process.communicate(timeout=120)
    return subprocess.CompletedProcess(words, process.returncode, out.decode(), said.decode())


def strike(process: subprocess.Popen[bytes], whom: str, draw: random.Random) -> tuple[int, str]:
    """Kill, and wait until every process of its session is gone. Exit code, what was said."""
    if whom == "all":
        os.killpg(process.pid, signal.SIGKILL)
    elif whom == "first":
        process.kill()
    else:
        others = [one for one in in_session(process.pid) if one != process.pid and not tracks(one)]
        if others:
            os.kill(draw.choice(others), signal.SIGKILL)
        else:
            process.kill()
    _, said = process.communicate(timeout=60)
    until = time.monotonic() + 20
    while in_session(process.pid):
        assert time.monotonic() < until, "a process outlives the command that started it"
        time.sleep(0.01)
    return process.returncode, said.decode("utf-8", "replace")


def tracks(process: int) -> bool:
    """Whether it is Python's own keeper of semaphores, which builds nothing and has its own word
    to say when it is killed."""
    try:
        return b"resource_tracker" in Path(f"/proc/{process}/cmdline").read_bytes()
    except OSError:
        return False


def in_session(leader: int) -> list[int]:
    """The processes of a session that live."""
    found: list[int] = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                after_name = (entry / "stat").read_text().rpartition(")")[2].split()
            except OSError:
                continue
            if int(after_name[3]) == leader and after_name[0] != "Z":
                found.append(int(entry.name))
    return found


def wait(
    process: subprocess.Popen[bytes],
    draw: random.Random,
    whole: float,
    begun: Callable[[], bool] | None,
    rest: float,
) -> bool:
    """Until a random moment of a run that takes `whole` seconds; or, with `begun`, of the `rest`
    seconds after that. False when the command was done before."""
    if begun is not None:
        while process.poll() is None and not begun():
            time.sleep(0)
        whole = rest
    until = time.monotonic() + draw.uniform(0, whole)
    while process.poll() is None and time.monotonic() < until:
        time.sleep(0.0005)
    return process.poll() is None


# Builds

STATES = (PRACTICE["outlets.yml"], PRACTICE["outlets.yml"].replace("west wall", "east wall"))
KEYS = ("harbour", "mill")


def builds(folder: Path, kills: int, seed: int = 1) -> Tally:
    """The records turn to and fro between two states; each build of the other one is killed."""
    top, public = folder / "records", folder / "public"
    repo = GitRepo(top)
    ids: list[str] = []
    known: dict[str, set[str]] = {key: set() for key in (*KEYS, "")}
    targets: list[dict[str, str]] = []
    whole = 0.0
    for text in STATES:
        for key in KEYS:
            write_site(top, key, outlets=text)
        (top / ".gitignore").write_text("/.asbuilt-cache/\n")
        ids.append(repo.commit({}, "Another state"))
        began = time.monotonic()
        done = run(top, "build", "--output", public)
        whole = time.monotonic() - began
        assert done.returncode == 0, done.stderr
        targets.append(whole_sites(public, None))
        for key, digest in targets[-1].items():
            known[key].add(digest)
    tally, draw = Tally(), random.Random(seed)
    for number in itertools.count():
        if tally.kills == kills:
            break
        now = number % 2
        repo.git("checkout", "-q", ids[now])
        began = time.monotonic()
        process = start(top, "build", "--output", public)
        whom = WHOM[number % 3]
        # Any moment; one after the first page was begun; one when a site is about to be put in place.
        aim, rest = ((None, 0.0), ("*", whole * 0.7), ("*/manifest.json", 0.02))[number // 3 % 3]

        def begun(aim: str | None = aim) -> bool:
            return aim is not None and any(public.glob(f".asbuilt-{aim}"))

        alive = wait(process, draw, whole, begun if aim else None, rest)
        code, said = strike(process, whom, draw) if alive else (process.wait(), "")
        if not alive:
            process.communicate()
            tally.counts["done before"] += 1
            whole = (whole + time.monotonic() - began) / 2  # the machine has less to do now
        else:
            tally.kills += 1
            assert "Traceback" not in said, said
            if whom == "one started" and code == 1:
                tally.counts["told of a killed process"] += 1
                assert said.count("\n") == 1, said
        found = whole_sites(public, known)
        news = sum(found[key] == targets[now][key] for key in KEYS)
        tally.counts[("all sites old", "some sites new", "all sites new")[news]] += 1
        left = sum(entry.name.startswith(".asbuilt-") for entry in public.iterdir())
        tally.counts["left something behind"] += left > 0
        if number % 10 == 9 or tally.kills == kills:
            done = run(top, "build", "--output", public)
            assert done.returncode == 0, done.stderr
            assert whole_sites(public, known) == targets[now]
            assert not [e for e in public.iterdir() if e.name.startswith(".asbuilt-")]
            assert not [e for e in (top / ".asbuilt-cache").iterdir() if "." in e.name[1:]]
            assert not repo.git("status", "--porcelain")
            tally.counts["mended by the next build"] += 1
    return tally


def whole_sites(public: Path, known: Mapping[str, set[str]] | None) -> dict[str, str]:
    """The digest of each site's manifest, once the site is held against it."""
    found: dict[str, str] = {}
    for key in KEYS:
        manifest = read_manifest(public / key)
        assert manifest is not None, f"{key} has no manifest"
        different = compare(public / key, manifest)
        assert not different, f"{key} is not whole: {different}"
        found[key] = manifest.digest
        if known is not None:
            assert manifest.digest in known[key], f"{key} is neither old nor new"
    # The page over all sites is put in place part by part: each of them old or new.
    assert (public / "index.html").is_file() and (public / "search").is_dir()
    return found


# Imports and edits

LIST = "outlet,room,plate,port,cable\n" + "".join(
    f"1A-A{n:02},104,north wall,1A/A/{n:02},cat6\n" for n in range(5, 21)
)


@dataclass(frozen=True)
class Edit:
    """A command, and what git commits of it, if it does."""

    name: str
    words: tuple[str, ...]
    commits: bool = False


def edits(folder: Path, kills: int, which: Sequence[Edit], seed: int = 2) -> Tally:
    """Each edit starts from the same records, and is killed."""
    folder.mkdir(exist_ok=True)
    (folder / "list.csv").write_text(LIST)
    (folder / "results.csv").write_text("link,date,result\n1A-A03,2025-04-01,pass\n")
    top = folder / "records"
    repo = GitRepo(top)
    write_site(top, **{"enclosures/1B": 'room: "110"\nheight: 6 U\n'})
    first = repo.commit({}, "As found")
    before = records(top)
    tally, draw = Tally(), random.Random(seed)
    after: dict[str, dict[str, bytes]] = {}
    took: dict[str, float] = {}
    for edit in which:
        began = time.monotonic()
        done = run(top, *edit.words)
        took[edit.name] = time.monotonic() - began
        assert done.returncode == 0, (edit.name, done.stdout, done.stderr)
        after[edit.name] = records(top)
        assert after[edit.name] != before
        assert (repo.head() != first) == edit.commits
        back(repo, first)
    for number in itertools.count():
        if tally.kills == kills:
            break
        edit = which[number % len(which)]
        process = start(top, *edit.words)
        aimed = number // len(which) % 2 == 1
        rest = 0.004 if not edit.commits else took[edit.name] * 0.3
        writing = top / transaction.FOLDER
        alive = wait(process, draw, took[edit.name], writing.is_dir if aimed else None, rest)
        if alive:
            _, said = strike(process, WHOM[number % 2], draw)
            assert "Traceback" not in said, said
            tally.kills += 1
        else:
            process.communicate()
            tally.counts["done before"] += 1
        left = writing.exists()
        tally.counts["struck while writing"] += left
        tally.counts["index locked by git"] += (top / ".git/index.lock").exists()
        found = records(top)
        if found not in (before, after[edit.name]):
            assert left, f"{edit.name}: neither before nor after, and nothing says so"
            tally.counts["mended by the next command"] += 1
        if number % 10 == 9:
            done = run(top, "check")
            assert done.returncode == 0, done.stdout
        transaction.recover(top)  # as the next command does before anything else
        found = records(top)
        assert found in (before, after[edit.name]), f"{edit.name}: neither before nor after"
        tally.counts["after" if found == after[edit.name] else "before"] += 1
        assert not writing.exists()
        if edit.commits:
            repo.git("fsck", "--strict", "--no-dangling")
        committed = repo.head() != first
        tally.counts["committed"] += committed
        if committed:
            assert edit.commits and found == after[edit.name]
            assert not repo.git("status", "--porcelain", "--", "sites") or git_left(top)
        if edit.commits:
            back(repo, first)
        else:
            lay_out(top, before)
    return tally


def git_left(top: Path) -> bool:
    """Git was killed as it wrote its index: the commit is there, the index is yet to follow."""
    return (top / ".git/index.lock").exists()


def records(top: Path) -> dict[str, bytes]:
    return files_of(top / "sites")


def lay_out(top: Path, texts: Mapping[str, bytes]) -> None:
    for path in records(top).keys() - texts.keys():
        (top / "sites" / path).unlink()
    for path, data in texts.items():
        (top / "sites" / path).write_bytes(data)


def back(repo: GitRepo, commit: str) -> None:
    (repo.path / ".git/index.lock").unlink(missing_ok=True)  # what git tells people to do
    repo.git("reset", "-q", "--hard", commit)
    repo.git("clean", "-qfd", "sites")


RERACK = ("rerack", "harbour", "1A/A", "5", "--enclosure", "1B")  # three files
ALL_EDITS = (
    Edit("import", ("import", "harbour", "outlets", "../list.csv", "--trust", "list")),
    Edit("results", ("import", "harbour", "tests", "../results.csv")),
    Edit("rerack", RERACK),
    Edit("swap", ("swap", "harbour", "1A/SW1", "--as", "SW2")),
    Edit("commit", (*RERACK, "--commit"), commits=True),
)


def main(arguments: Sequence[str]) -> int:
    kills = int(arguments[0]) if arguments else 200
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        print("builds:", builds(folder / "builds", kills), flush=True)
        imports = [edit for edit in ALL_EDITS if edit.words[0] == "import"]
        print("imports:", edits(folder / "imports", kills, imports), flush=True)
        moves = [edit for edit in ALL_EDITS if edit.words[0] != "import"]
        print("edits:", edits(folder / "edits", kills, moves), flush=True)
        shutil.rmtree(folder, ignore_errors=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
