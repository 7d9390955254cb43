"""A kill at any moment loses nothing: a share of what “python -m tests.crash” does at length."""

from __future__ import annotations

import os
import signal
import sys
import time
from pathlib import Path

import pytest

from tests import crash
from tests.small_site import write_site

pytestmark = pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="processes are looked up in /proc"
)


def test_killed_builds_leave_the_old_site_or_the_new_one(tmp_path: Path) -> None:
    tally = crash.builds(tmp_path, 3)
    assert tally.counts["mended by the next build"]


def test_workers_end_with_the_build_that_started_them(tmp_path: Path) -> None:
    """Else they would publish, without its locks, while the next build is at work."""
    top, public = tmp_path / "records", tmp_path / "public"
    for key in crash.KEYS:
        write_site(top, key)
    build = crash.start(top, "build", "--output", public)
    while len([*public.glob(".asbuilt-*/*")]) < 2:
        assert build.poll() is None, "the build was done before it was looked at"
        time.sleep(0.001)
    build.kill()
    build.wait()
    time.sleep(3)
    orphans = [one for one in crash.in_session(build.pid) if not crash.tracks(one)]
    for one in orphans:
        os.kill(one, signal.SIGKILL)
    build.communicate()
    assert orphans == []
    assert [entry.name for entry in public.iterdir() if not entry.name.startswith(".")] == []


def test_killed_edits_leave_the_records_as_before_or_as_after(tmp_path: Path) -> None:
    tally = crash.edits(tmp_path, 12, crash.ALL_EDITS[::2])
    assert tally.counts["struck while writing"], "no kill struck while anything was written"
