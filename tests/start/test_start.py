"""What a new records repository begins with, used as its README says: checked before a commit,
checked and published by a code host."""

from __future__ import annotations

import html
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
import yaml
from click.testing import CliRunner

from asbuilt.cli import main
from tests.gitrepo import GitRepo
from tests.small_site import write_site

UNSOUND = "1A-A09: {port: 1A/A/99}\n"


@pytest.fixture
def records(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> GitRepo:
    """A new repository with a site, and a branch that is checked out; `asbuilt` on the PATH."""
    monkeypatch.chdir(tmp_path)
    assert CliRunner().invoke(main, ["init", "records"]).exit_code == 0
    write_site(tmp_path / "records")
    made = GitRepo(tmp_path / "records")
    made.git("config", "user.name", "Mara Quist")
    made.git("config", "user.email", "mara.quist@example.com")
    made.environment["PATH"] = f"{Path(sys.executable).parent}:{os.environ['PATH']}"
    made.commit({}, "Begin")
    made.git("checkout", "-q", "-B", "drops")
    made.git("branch", "-f", "base")
    return made


def types(
    records: GitRepo, *words: str, cwd: Path | None = None, **env: str
) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        words, cwd=cwd or records.path, env={**records.environment, **env},
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip


def outlets(records: GitRepo) -> str:
    return (records.path / "sites/harbour/outlets.yml").read_text("utf-8")


def test_a_pull_request_is_checked_and_its_changes_are_told(records: GitRepo) -> None:
    new = outlets(records) + '1A-A20: {room: "101", cable: cat6}\n'
    records.commit({"sites/harbour/outlets.yml": new}, "A drop")
    done = types(records, "sh", "ci/check.sh", "base")
    assert done.returncode == 0, done.stderr
    assert "no errors" in done.stdout
    assert "- Outlet 1A-A20 was added" in html.unescape(done.stdout)
    done = types(records, "sh", "records/ci/check.sh", "base", cwd=records.path.parent,
                 SUMMARY=str(records.path.parent / "summary.md"))  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "- Outlet" not in done.stdout
    summary = (records.path.parent / "summary.md").read_text("utf-8")
    assert "- Outlet 1A-A20 was added" in html.unescape(summary)


def test_unsound_records_fail_it_and_are_summed_up_all_the_same(records: GitRepo) -> None:
    records.commit({"sites/harbour/outlets.yml": outlets(records) + UNSOUND}, "A mistake")
    done = types(records, "sh", "ci/check.sh", "base")
    assert done.returncode == 1
    assert "panel 1A/A has no port 99" in done.stdout
    assert "- Outlet 1A-A09 was added" in html.unescape(done.stdout)


def test_a_base_that_isnt_there_fails_it(records: GitRepo) -> None:
    assert types(records, "sh", "ci/check.sh").returncode != 0  # there is no origin/main


def test_the_pages_are_published(records: GitRepo) -> None:
    done = types(records, "sh", "records/ci/publish.sh", "www", cwd=records.path.parent)
    assert done.returncode == 0, done.stderr
    www = records.path.parent / "www"
    assert (www / "harbour/index.html").is_file()
    good = (www / "harbour/index.html").read_bytes()
    records.commit({"sites/harbour/outlets.yml": outlets(records) + UNSOUND}, "A mistake")
    done = types(records, "sh", "records/ci/publish.sh", "www", cwd=records.path.parent)
    assert done.returncode == 1
    assert (www / "harbour/index.html").read_bytes() == good
    assert types(records, "sh", "ci/publish.sh").returncode != 0
    assert "say where to" in types(records, "sh", "ci/publish.sh").stderr


def test_the_clients_edition_is_published_of_one_site(records: GitRepo) -> None:
    done = types(records, "sh", "ci/publish.sh", "../out", EDITION="client", SITE="harbour")
    assert done.returncode == 0, done.stderr
    assert "withheld" in done.stdout
    assert (records.path.parent / "out/harbour/index.html").is_file()


def test_plain_git_refuses_to_commit_unsound_records(records: GitRepo) -> None:
    """By the line in the README, as somebody pastes it."""
    readme = (records.path / "README.md").read_text("utf-8")
    (line,) = re.findall(r"`(mkdir [^`]+)`", readme)
    shutil.rmtree(records.path / ".git/hooks", ignore_errors=True)  # as “asbuilt init” leaves it
    assert types(records, "sh", "-c", line).returncode == 0
    sound = outlets(records)
    records.write({"sites/harbour/outlets.yml": sound + UNSOUND})
    done = types(records, "git", "commit", "-qam", "A mistake")
    assert done.returncode == 1
    assert "panel 1A/A has no port 99" in done.stdout + done.stderr
    records.write({"sites/harbour/outlets.yml": sound + '1A-A20: {room: "101"}\n'})
    assert types(records, "git", "commit", "-qam", "A drop").returncode == 0


def test_what_is_to_be_committed_is_checked_not_what_lies_beside_it(records: GitRepo) -> None:
    readme = (records.path / "README.md").read_text("utf-8")
    (line,) = re.findall(r"`(mkdir [^`]+)`", readme)
    types(records, "sh", "-c", line)
    sound = outlets(records)
    file = "sites/harbour/outlets.yml"

    records.write({file: sound + UNSOUND})
    assert types(records, "git", "add", file).returncode == 0
    records.write({file: sound})  # mended, but not staged
    done = types(records, "git", "commit", "-qm", "A mistake")
    assert done.returncode == 1
    assert f"{file}:" in done.stdout + done.stderr
    assert "panel 1A/A has no port 99" in done.stdout + done.stderr

    good = sound + '1A-A20: {room: "101"}\n'
    records.write({file: good})
    assert types(records, "git", "add", file).returncode == 0
    records.write({file: sound + UNSOUND})  # begun, and not to be committed yet
    assert types(records, "git", "commit", "-qm", "A drop").returncode == 0
    assert types(records, "git", "show", f"HEAD:{file}").stdout == good

    records.write({file: good, "notes.txt": "beside"})
    types(records, "git", "add", "notes.txt")
    records.write({file: good + UNSOUND})  # git names an index of its own for a file that is named
    assert types(records, "git", "commit", "-qm", "A mistake", "--", file).returncode == 1
    assert types(records, "git", "commit", "-qm", "Notes", "--", "notes.txt").returncode == 0


def test_nothing_is_staged_where_there_is_no_git(records: GitRepo) -> None:
    shutil.rmtree(records.path / ".git")
    done = types(records, "asbuilt", "check", "--staged")
    assert done.returncode == 1
    assert "there is no git repository here" in done.stdout + done.stderr


def test_the_hook_calls_the_check(records: GitRepo) -> None:
    hooks = yaml.safe_load((records.path / ".pre-commit-config.yaml").read_text("utf-8"))
    (hook,) = hooks["repos"][0]["hooks"]
    assert (hook["language"], hook["pass_filenames"]) == ("system", False)
    assert re.search(hook["files"], "sites/harbour/outlets.yml")
    assert types(records, *hook["entry"].split()).returncode == 0
    records.write({"sites/harbour/outlets.yml": outlets(records) + UNSOUND})
    assert types(records, "git", "add", "sites").returncode == 0
    assert types(records, *hook["entry"].split()).returncode == 1
