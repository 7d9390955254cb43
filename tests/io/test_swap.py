"""A file somebody asked for is written whole, or what was there before stays."""

from __future__ import annotations

import os
import sys
import threading
from pathlib import Path

import pytest

from asbuilt.io.swap import write_file
from asbuilt.problem import WorldError


def test_a_new_file_and_one_that_is_replaced(tmp_path: Path) -> None:
    path = tmp_path / "list.csv"
    for data in (b"one", b"two"):
        write_file(path, data)
        assert path.read_bytes() == data
    assert [entry.name for entry in tmp_path.iterdir()] == ["list.csv"]


def test_what_fails_half_way_leaves_the_old_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "list.csv"
    write_file(path, b"old")

    def half(self: Path, data: bytes) -> int:
        with self.open("wb") as file:
            file.write(data[:1])
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", half)
    with pytest.raises(WorldError, match="no space left"):
        write_file(path, b"new")
    assert path.read_bytes() == b"old"
    assert [entry.name for entry in tmp_path.iterdir()] == ["list.csv"]


def test_a_link_stays_one(tmp_path: Path) -> None:
    (tmp_path / "real.csv").write_bytes(b"old")
    (tmp_path / "link.csv").symlink_to("real.csv")
    write_file(tmp_path / "link.csv", b"new")
    assert (tmp_path / "link.csv").is_symlink()
    assert (tmp_path / "real.csv").read_bytes() == b"new"


@pytest.mark.skipif(sys.platform == "win32", reason="there are no named pipes")
def test_a_pipe_is_written_to_as_it_is(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe"
    os.mkfifo(pipe)
    writer = threading.Thread(target=write_file, args=(pipe, b"through"))
    writer.start()
    assert pipe.read_bytes() == b"through"
    writer.join()
    assert pipe.is_fifo()
