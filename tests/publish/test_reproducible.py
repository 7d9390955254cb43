"""The same commit gives the same bytes: built again with all around it otherwise.

What varies is what reproducible-builds.org lists under “Variations in the build environment” and
“Commandments of reproducible builds”: build path, time, time zone, locale, umask, user, host,
home, environment, file order and permissions, hash seeds, memory addresses, processes at once.
Kernel and processor stay as they are: there is only this machine.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import pytest

from asbuilt.demo import storyboard
from asbuilt.io import git_write
from tests.gitrepo import GitRepo
from tests.pages.test_photos import jpeg
from tests.small_site import files_of

SITES = ("hollow-lane", "ostrel-vane")

#: Python's own hook: folders are listed backwards, and so many processors are claimed.
HOOK = """
import os

real = os.scandir

class Backwards:
    def __init__(self, *where):
        self._inner = real(*where)
        self._left = iter(sorted(self._inner, key=lambda entry: entry.name, reverse=True))
    def __enter__(self): return self
    def __exit__(self, *error): self.close()
    def __iter__(self): return self._left
    def __next__(self): return next(self._left)
    def close(self): self._inner.close()

os.scandir = Backwards
listed = os.listdir
os.listdir = lambda *where: sorted(listed(*where), reverse=True)
os.cpu_count = lambda: 3
"""
#: A clock that runs three years, a month and some ahead.
CLOCK = """
#define _GNU_SOURCE
#include <dlfcn.h>
#include <time.h>
#include <sys/time.h>
static const long ahead = 97654321;
int clock_gettime(clockid_t id, struct timespec *at) {
    static int (*real)(clockid_t, struct timespec *);
    if (!real) real = dlsym(RTLD_NEXT, "clock_gettime");
    int result = real(id, at);
    if (id == CLOCK_REALTIME || id == CLOCK_REALTIME_COARSE) at->tv_sec += ahead;
    return result;
}
time_t time(time_t *at) {
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    if (at) *at = now.tv_sec;
    return now.tv_sec;
}
int gettimeofday(struct timeval *at, void *zone) {
    struct timespec now;
    clock_gettime(CLOCK_REALTIME, &now);
    at->tv_sec = now.tv_sec;
    at->tv_usec = now.tv_nsec / 1000;
    return 0;
}
"""


@dataclass
class Surroundings:
    """What is otherwise when a build is started."""

    environment: Mapping[str, str] = field(default_factory=dict)
    before: Sequence[str] = ()
    umask: int = 0o022

    def build(self, top: Path, output: Path, *words: str) -> dict[str, bytes]:
        command = [
            *self.before, sys.executable, "-m", "asbuilt",
            "build", "--output", str(output), *words,
        ]  # fmt: skip
        done = subprocess.run(
            command,
            cwd=top,
            env={**os.environ, "NO_MKDOCS_2_WARNING": "1", **self.environment},
            umask=self.umask,
            capture_output=True,
            text=True,
            timeout=300,
        )
        assert done.returncode == 0, done.stderr
        return files_of(output)


@pytest.fixture(scope="module")
def top(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Years of two clients' records, a photo among them."""
    top = tmp_path_factory.mktemp("made") / "records"
    wanted = tuple(f"sites/{key}/" for key in SITES)
    commits = [
        git_write.NewCommit(step.message, step.author, step.email, step.when, step.contents())
        for step in storyboard.steps()
    ]
    files = [{p: d for p, d in one.files.items() if p.startswith(wanted)} for one in commits]
    both = zip(commits, files, strict=True)
    git_write.import_commits(top, [replace(one, files=ours) for one, ours in both if ours])
    git = GitRepo(top)
    git.commit(
        {
            "sites/hollow-lane/photos.yml": (
                "P1: {file: photos/door.jpg, what: the door, enclosure: C1, share with client: yes}\n"
            ),
            "sites/hollow-lane/photos/door.jpg": jpeg(),
        },
        "A photo",
    )
    return top


def otherwise(folder: Path) -> Surroundings:
    """Everything that can be otherwise on this machine."""
    (folder / "hook").mkdir()
    (folder / "hook" / "sitecustomize.py").write_text(HOOK)
    (folder / "home").mkdir()
    environment = {
        "PYTHONPATH": str(folder / "hook"),
        "PYTHONHASHSEED": "4711",
        "TZ": "Pacific/Chatham",  # UTC+12:45, and never a whole hour away
        "LC_ALL": "C",
        "LANG": "tr_TR.UTF-8",
        "LANGUAGE": "tr",
        "HOME": str(folder / "home"),
        "USER": "somebody",
        "LOGNAME": "somebody",
        "TMPDIR": str(folder),
        "COLUMNS": "40",
        "NO_COLOR": "1",
        "PYTHONDONTWRITEBYTECODE": "1",
    }
    before: list[str] = []
    if shutil.which("cc"):
        (folder / "clock.c").write_text(CLOCK)
        library = folder / "clock.so"
        subprocess.run(
            ["cc", "-shared", "-fPIC", "-o", library, folder / "clock.c", "-ldl"], check=True
        )
        environment["LD_PRELOAD"] = str(library)
    for wrapped in (
        [
            "unshare",
            "--user",
            "--uts",
            "--map-root-user",
            "sh",
            "-c",
            'hostname other; exec "$@"',
            "-",
        ],
        ["setarch", "-R"],
    ):
        if subprocess.run([*before, *wrapped, "true"], capture_output=True).returncode == 0:
            before += wrapped
    return Surroundings(environment, before, 0o077)


def elsewhere(top: Path, folder: Path) -> Path:
    """A clone, whose files were made in reverse order, at another time, with other permissions."""
    folder.mkdir(parents=True)
    subprocess.run(["git", "clone", "-q", top, folder / "cloned"], check=True)
    clone = folder / "a longer path, with spaces" / "ünd mehr"
    clone.mkdir(parents=True)
    shutil.move(folder / "cloned" / ".git", clone / ".git")
    for path, data in sorted(files_of(folder / "cloned").items(), reverse=True):
        target = clone / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
        target.chmod(0o600)
        os.utime(target, (86_400, 86_400))
    return clone


def differing(one: Mapping[str, bytes], other: Mapping[str, bytes]) -> dict[str, int]:
    """Path → how many bytes differ; the whole length where one of two is missing."""
    found: dict[str, int] = {}
    for path in sorted({*one, *other}):
        here, there = one.get(path, b""), other.get(path, b"")
        count = sum(a != b for a, b in zip(here, there, strict=False))
        count += abs(len(here) - len(there))
        if here != there:
            found[path] = count
    return found


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="these are Linux's means")
def test_all_around_may_vary_and_not_one_byte_does(top: Path, tmp_path: Path) -> None:
    usual = Surroundings({"PYTHONHASHSEED": "1"})
    here = usual.build(top, tmp_path / "one")
    varied = otherwise(tmp_path)
    there = varied.build(elsewhere(top, tmp_path / "deep" / "er"), tmp_path / "deep" / "public")
    assert len(here) > 200
    assert {"manifest.json", *(f"{key}/manifest.json" for key in SITES)} <= set(here)
    assert differing(here, there) == {}
    client = ("--edition", "client", "--site", "hollow-lane")
    here = usual.build(top, tmp_path / "c1", *client)
    there = varied.build(tmp_path / "deep" / "er" / "a longer path, with spaces" / "ünd mehr",
                         tmp_path / "c2", *client)  # fmt: skip
    assert any(path.endswith(".jpg") for path in here), "the photo is there"
    assert differing(here, there) == {}


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="these are Linux's means")
def test_the_surroundings_are_other_ones(tmp_path: Path) -> None:
    """Else the test above would show nothing."""
    asked = (
        "import datetime as dt, os, socket, time; os.makedirs('x/a'); os.makedirs('x/b');"
        "print([e.name for e in os.scandir('x')], os.listdir('x'), os.cpu_count(), time.tzname[0],"
        " dt.datetime.now(dt.timezone.utc).year, socket.gethostname(), os.umask(0), hash('x'))"
    )
    varied = otherwise(tmp_path)

    def answers(place: Path, around: Surroundings) -> list[str]:
        place.mkdir()
        done = subprocess.run(
            [*around.before, sys.executable, "-c", asked], cwd=place, capture_output=True,
            env={**os.environ, **around.environment}, umask=around.umask, text=True, check=True,
        )  # fmt: skip
        return done.stdout.split()

    told = answers(tmp_path / "varied", varied)
    assert told[:4] == ["['b',", "'a']", "['b',", "'a']"]
    assert told[4] == "3" and told[5] == "+1245"
    usual = answers(tmp_path / "usual", Surroundings({"PYTHONHASHSEED": "1"}))
    if "LD_PRELOAD" in varied.environment:
        assert int(told[6]) >= int(usual[6]) + 3
    if varied.before:
        assert told[7] != usual[7]
    assert told[8:] != usual[8:]
