"""What a shell completes, through click's own completion and a real bash."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from click.shell_completion import ShellComplete, get_completion_class

from asbuilt.cli import main
from asbuilt.lists.exporting import TABLES
from tests.small_site import write_site

COMMAND = Path(sys.executable).parent / "asbuilt"


@pytest.fixture
def top(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    write_site(tmp_path)
    (tmp_path / "sites/quay").mkdir()
    monkeypatch.chdir(tmp_path)
    return tmp_path


def offered(*words: str) -> list[str]:
    """What is offered for the last word."""
    *before, begun = words
    shell = ShellComplete(main, {}, "asbuilt", "_ASBUILT_COMPLETE")
    return [item.value for item in shell.get_completions(before, begun)]


@pytest.mark.parametrize(
    "words",
    [
        ("check",), ("log",), ("build", "--site"), ("serve", "--site"), ("grow",), ("export",),
        ("import",), ("move",), ("job", "done"), ("walk",), ("seen",), ("switch-status",), ("labels",),
        ("cutover", "main", "plan"),
    ],
)  # fmt: skip
def test_the_keys_of_sites(top: Path, words: tuple[str, ...]) -> None:
    assert offered(*words, "") == ["harbour", "quay"]
    assert offered(*words, "har") == ["harbour"]


def test_the_names_of_lists(top: Path) -> None:
    assert offered("export", "harbour", "") == [*TABLES, "all"]
    assert offered("export", "harbour", "ma") == ["materials"]
    assert offered("import", "harbour", "out") == ["outlets"]


def test_nothing_is_offered_where_no_records_are(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert offered("check", "") == []


def shell(**env: str) -> str:
    done = subprocess.run(
        [str(COMMAND)], env={**os.environ, **env}, capture_output=True, text=True, check=True
    )
    return done.stdout


def test_a_bash_with_it_completes(top: Path) -> None:
    script = shell(_ASBUILT_COMPLETE="bash_source")
    typed = (
        f"PATH={COMMAND.parent}:$PATH\n{script}\n"
        "COMP_WORDS=(asbuilt check ha); COMP_CWORD=2\n"
        "_asbuilt_completion asbuilt ha check; echo ${COMPREPLY[*]}\n"
    )
    done = subprocess.run(["bash", "-c", typed], capture_output=True, text=True, check=True)
    assert done.stdout == "harbour\n"


@pytest.mark.parametrize("name", ["zsh", "fish"])
def test_the_words_for_zsh_and_fish(top: Path, name: str) -> None:
    """Each by the protocol of its script; where the shell is there, it takes the script too."""
    assert get_completion_class(name)
    script = shell(_ASBUILT_COMPLETE=f"{name}_source")
    assert "_ASBUILT_COMPLETE" in script
    told = shell(
        _ASBUILT_COMPLETE=f"{name}_complete",
        COMP_WORDS="asbuilt check ha",
        COMP_CWORD="ha" if name == "fish" else "2",
    )
    assert "harbour" in told
    assert "quay" not in told
    if shutil.which(name):
        subprocess.run([name, "-n"], input=script, text=True, check=True)
