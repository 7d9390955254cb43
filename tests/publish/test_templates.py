"""Templates kept between two runs: only where nobody else can put something to be run."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from jinja2 import DictLoader, Environment

from asbuilt.publish import templates
from asbuilt.publish.templates import cache_templates


@pytest.fixture
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    monkeypatch.setattr(templates, "user_cache_path", lambda name: tmp_path / "cache" / name)
    templates._folder.cache_clear()
    yield tmp_path / "cache"
    templates._folder.cache_clear()


def environment(text: str = "Hello {{ name }}") -> Environment:
    made = Environment(loader=DictLoader({"page.html": text}), autoescape=True)
    cache_templates(made)
    return made


def rendered(made: Environment) -> str:
    return made.get_template("page.html").render(name="<harbour>")


def test_a_template_is_compiled_once(home: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert rendered(environment()) == "Hello &lt;harbour&gt;"
    (folder,) = (home / "asbuilt").iterdir()
    assert len(list(folder.iterdir())) == 1
    monkeypatch.setattr(Environment, "compile", lambda *given, **more: pytest.fail("compiled"))
    assert rendered(environment()) == "Hello &lt;harbour&gt;"


def test_another_text_is_another_template(home: Path) -> None:
    rendered(environment())
    assert rendered(environment("Bye {{ name }}")) == "Bye &lt;harbour&gt;"


def test_other_versions_have_a_folder_of_their_own(
    home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    rendered(environment())
    templates._folder.cache_clear()
    monkeypatch.setattr(templates, "versions", lambda engine: {"asbuilt": "9"})
    rendered(environment())
    assert len(list((home / "asbuilt").iterdir())) == 2


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="these are the rights of POSIX")
def test_a_folder_others_may_write_to_is_left_alone(home: Path) -> None:
    rendered(environment())
    (folder,) = (home / "asbuilt").iterdir()
    assert folder.stat().st_mode & 0o777 == 0o700
    folder.chmod(0o777)
    templates._folder.cache_clear()
    assert environment().bytecode_cache is None


def test_without_a_folder_it_is_compiled_each_time(home: Path) -> None:
    home.write_text("a file where the folder should be")
    assert rendered(environment()) == "Hello &lt;harbour&gt;"


def test_a_damaged_file_is_compiled_anew(home: Path) -> None:
    rendered(environment())
    (folder,) = (home / "asbuilt").iterdir()
    (kept,) = folder.iterdir()
    kept.write_bytes(kept.read_bytes()[:40])
    assert rendered(environment()) == "Hello &lt;harbour&gt;"
