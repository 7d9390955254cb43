"""A kill at any moment loses nothing: a share of what “python -m tests.crash” does at length."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from tests import crash

pytestmark = pytest.mark.skipif(
    not sys.platform.startswith("linux"), reason="processes are looked up in /proc"
)


def test_killed_builds_leave_the_old_site_or_the_new_one(tmp_path: Path) -> None:
    tally = crash.builds(tmp_path, 3)
    assert tally.counts["mended by the next build"]


def test_killed_edits_leave_the_records_as_before_or_as_after(tmp_path: Path) -> None:
    tally = crash.edits(tmp_path, 12, crash.ALL_EDITS[::2])
    assert tally.counts["struck while writing"], "no kill struck while anything was written"
