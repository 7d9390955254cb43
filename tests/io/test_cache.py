"""What is kept between two runs: given back whole and of the same making, or not at all."""

from __future__ import annotations

import stat
from pathlib import Path

import pytest

from asbuilt.io import cache, git
from asbuilt.io.cache import Cache
from tests.gitrepo import GitRepo


def test_it_gives_back_what_was_stored_or_nothing(tmp_path: Path) -> None:
    kept = Cache(tmp_path / "cache")
    assert kept.load("a", 1) is None
    kept.store("a", 1, b"one\ntwo")
    assert kept.load("a", 1) == b"one\ntwo"
    kept.store("a", 1, b"three")
    assert kept.load("a", 1) == b"three"
    whole = (kept.folder / "a").read_bytes()
    for broken in (b"", whole[:-1], whole + b"x", whole.replace(b"three", b"thrEe"), b"\0" * 99):
        (kept.folder / "a").write_bytes(broken)
        assert kept.load("a", 1) is None
    assert sorted(path.name for path in kept.folder.iterdir()) == [".gitignore", "a"]


def test_what_was_made_from_something_else_is_stale(tmp_path: Path) -> None:
    kept = Cache(tmp_path / "cache")
    kept.store("a", ("sites/a\udcff", 1), b"made")
    assert kept.load("a", ("sites/a\udcff", 1)) == b"made"
    assert kept.load("a", ("sites/a\udcff", 2)) is None


def test_what_other_code_has_made_is_stale(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    kept = Cache(tmp_path / "cache")
    kept.store("a", 1, b"made")
    monkeypatch.setattr(cache, "digest_of_sources", lambda: "another")
    assert kept.load("a", 1) is None


def test_a_value_is_made_once_and_again_where_it_cannot_be_decoded(tmp_path: Path) -> None:
    kept = Cache(tmp_path / "cache")
    made: list[int] = []

    def value(number: int) -> int:
        def make() -> int:
            made.append(number)
            return number

        return kept.get("n", number, make, lambda one: str(one).encode(), int)

    assert [value(7), value(7), value(8), value(8)] == [7, 7, 8, 8]
    assert made == [7, 8]
    kept.store("n", 8, b"no number")
    assert value(8) == 8
    assert made == [7, 8, 8]


def test_a_cache_that_cannot_be_written_to_is_no_error(tmp_path: Path) -> None:
    (tmp_path / "cache").write_text("a file")
    kept = Cache(tmp_path / "cache")
    assert not kept.store("a", 1, b"x")
    assert kept.load("a", 1) is None


def test_nothing_in_the_cache_is_committed(tmp_path: Path) -> None:
    repo = GitRepo(tmp_path / "records")
    repo.commit({"a": "1"})
    Cache(repo.path / cache.FOLDER).store("a", 1, b"x")
    assert git.unsaved(repo.path, "") == ()
    mode = (repo.path / cache.FOLDER / "a").stat().st_mode
    assert stat.S_ISREG(mode)
