"""Two commands at once: one waits or is refused, and nothing is mixed."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from asbuilt.io import transaction
from asbuilt.publish.manifest import compare, read_manifest
from tests import crash
from tests.gitrepo import GitRepo
from tests.small_site import files_of, write_site

pytestmark = pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="processes are looked up in /proc"
)

MOVE = ("change", "harbour", "outlet", "1A-A01", "plate=north wall")


@pytest.fixture
def top(tmp_path: Path) -> Path:
    top = tmp_path / "records"
    repo = GitRepo(top)
    for key in crash.KEYS:
        write_site(top, key, **{"enclosures/1B": 'room: "110"\nheight: 6 U\n'})
    (top / ".gitignore").write_text("/.asbuilt-cache/\n/public/\n")
    repo.commit({}, "As found")
    return top


def ended(process: subprocess.Popen[bytes]) -> tuple[int, str]:
    """How a command ended, and what it complained of."""
    _, said = process.communicate(timeout=120)
    return process.returncode, said.decode()


def test_two_builds_and_an_edit_meanwhile(top: Path, tmp_path: Path) -> None:
    """The second build is refused. The edit waits until all is read; the pages are of before it,
    all of them."""
    assert crash.run(top, "build", "--output", tmp_path / "expected").returncode == 0
    public = top / "public"
    public.mkdir()
    first = crash.start(top, "build")
    while not any(entry.name.startswith(".asbuilt-") for entry in public.iterdir()):
        assert first.poll() is None, "the build was done before it was looked at"
        time.sleep(0.001)
    os.killpg(first.pid, signal.SIGSTOP)  # so that it lasts as long as this needs
    try:
        second = crash.run(top, "build")
        edit = crash.start(top, *MOVE)
        time.sleep(2)
        waited = b"north wall" not in (top / "sites/harbour/outlets.yml").read_bytes()
    finally:
        os.killpg(first.pid, signal.SIGCONT)
    assert second.returncode == 1
    assert re.fullmatch(r"asbuilt: another build is writing to [^\n]+\n", second.stderr)
    assert ended(first) == (0, "")
    assert ended(edit) == (0, "")
    assert waited, "the records changed while they were read"
    assert b"north wall" in (top / "sites/harbour/outlets.yml").read_bytes()
    assert files_of(public) == files_of(tmp_path / "expected")
    for key in crash.KEYS:
        manifest = read_manifest(public / key)
        assert manifest and not compare(public / key, manifest)
        assert not manifest.maker.uncommitted


def test_edits_at_once_all_count_or_are_refused(top: Path) -> None:
    """Six at once, each of another outlet in the same file, and one that moves a panel of three
    files: what is written in the end is what those that weren't refused have said."""
    words = [
        ("change", "harbour", "outlet", f"1A-A0{n}", f"plate=wall {n}") for n in range(1, 5)
    ] + [crash.RERACK]
    done = [ended(process) for process in [crash.start(top, *one) for one in words]]
    text = (top / "sites/harbour/outlets.yml").read_text("utf-8")
    assert any(code == 0 for code, _ in done)
    for number, (code, said) in enumerate(done[:4], start=1):
        assert (f"wall {number}" in text) == (code == 0)
        if code:
            assert re.fullmatch(r"asbuilt: [^\n]*(changed meanwhile|another command)[^\n]*\n", said)
    assert ("1B/A/01" in text) == (done[4][0] == 0)
    assert crash.run(top, "check").returncode == 0
    assert not (top / transaction.FOLDER).exists()


def test_two_commits_at_once(top: Path) -> None:
    """Each is there with its own words, or refused."""
    repo = GitRepo(top)
    before = int(repo.git("rev-list", "--count", "HEAD"))
    words = [
        ("change", key, "outlet", "1A-A01", "plate=north wall", "--commit") for key in crash.KEYS
    ]
    done = [ended(process) for process in [crash.start(top, *one) for one in words]]
    made = sum(code == 0 for code, _ in done)
    assert made >= 1
    assert int(repo.git("rev-list", "--count", "HEAD")) == before + made
    for _, said in done:
        assert said.count("\n") <= 1 and "Traceback" not in said
    for key, (code, _) in zip(crash.KEYS, done, strict=True):
        subjects = repo.git("log", "--format=%s", "--", f"sites/{key}").splitlines()
        assert len(subjects) == (2 if code == 0 else 1)
    repo.git("fsck", "--strict")
