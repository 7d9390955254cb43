"""A share of the mutated record trees of `tests.fuzz`; `python -m tests.fuzz 20000` tries them all."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from asbuilt.publish.load import load_texts
from tests.fuzz import CONTROL, bases, mutant, try_mutants

SHARE = 600
THROUGH_COMMAND = 100


def test_the_sites_mutants_are_made_of_are_sound() -> None:
    for texts in bases():
        assert load_texts("harbour", texts).sound


def test_mutants_differ_and_are_the_same_for_everybody() -> None:
    sites = bases()
    some = [repr(sorted(mutant(seed, sites).items())) for seed in range(100)]
    assert len(set(some)) > 90
    assert some == [repr(sorted(mutant(seed, bases()).items())) for seed in range(100)]


def test_whatever_is_typed_is_told_with_its_place() -> None:
    tried = try_mutants(SHARE)
    print(tried)
    assert tried.failures == []
    assert tried.problems > SHARE, "mutants are wrong more often than not"
    assert tried.trees > 2, "some have nothing wrong with them, and pages"


@pytest.fixture(scope="module")
def top(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Mutants as the sites of one repository, as far as their files can be on a disk."""
    top = tmp_path_factory.mktemp("mutants")
    sites = bases()
    for seed in range(THROUGH_COMMAND):
        for path, text in mutant(seed, sites).items():
            file = top / "sites" / f"m{seed}" / path
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(text)
    return top


def test_the_command_tells_each_on_a_line_of_its_own(top: Path) -> None:
    done = _asbuilt(top, "check")
    assert done.returncode == 1
    assert "Traceback" not in done.stdout + done.stderr
    lines = done.stdout.splitlines() + done.stderr.splitlines()
    assert not any(CONTROL.search(line) for line in lines)
    said = [line for line in lines if line and not re.fullmatch(r"m\d+", line)]
    placed = r"sites/m\d+(/.*)?:\d+:\d+: .* \[[a-z0-9-]+\]"
    loose = [line for line in said if not re.fullmatch(placed, line)]
    assert len(said) > THROUGH_COMMAND and len(loose) == 1, "all but the tally"


def test_the_command_s_json_is_json(top: Path) -> None:
    done = _asbuilt(top, "check", "--format", "json")
    assert done.returncode == 1 and done.stderr == ""
    assert json.loads(done.stdout)


def _asbuilt(top: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "asbuilt", *arguments]
    return subprocess.run(
        command, cwd=top, capture_output=True, text=True, encoding="utf-8", timeout=120, check=False
    )
