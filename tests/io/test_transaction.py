"""Several files are written as one, also when the command is killed at any moment."""

from __future__ import annotations

import json
import random
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from asbuilt.io import transaction
from asbuilt.problem import WorldError

NAMES = [f"sites/harbour/{name}" for name in ("outlets.yml", "enclosures/1A.yml", "jobs/J1.yml")]
ONE = {name: f"one {name}".encode() * 400 for name in NAMES}
TWO = {name: f"two {name}".encode() * 400 for name in NAMES}

WRITER = """
import sys
from pathlib import Path
from asbuilt.io import transaction
top = Path(sys.argv[1])
names = sys.argv[2:]
def state(word):
    return {name: f"{word} {name}".encode() * 400 for name in names}
one, two = state("one"), state("two")
now = one if (top / names[0]).read_bytes() == one[names[0]] else two
print("ready", flush=True)
while True:
    new = two if now is one else one
    transaction.write_all(top, new, now)
    now = new
"""


def lay_out(top: Path) -> None:
    for name, data in ONE.items():
        (top / name).parent.mkdir(parents=True, exist_ok=True)
        (top / name).write_bytes(data)


def held(top: Path) -> dict[str, bytes]:
    return {name: (top / name).read_bytes() for name in NAMES if (top / name).exists()}


@pytest.mark.skipif(sys.platform == "win32", reason="there is no SIGKILL")
def test_killed_at_random_the_records_are_as_before_or_as_after(tmp_path: Path) -> None:
    lay_out(tmp_path)
    seed = random.Random(606)
    finished = 0
    for _ in range(30):
        process = subprocess.Popen(
            [sys.executable, "-c", WRITER, str(tmp_path), *NAMES], stdout=subprocess.PIPE
        )
        assert process.stdout and process.stdout.readline() == b"ready\n"
        time.sleep(seed.uniform(0.001, 0.05))
        process.send_signal(signal.SIGKILL)
        process.wait()
        process.stdout.close()
        left = (tmp_path / transaction.FOLDER).exists()
        transaction.recover(tmp_path)
        assert held(tmp_path) in (ONE, TWO)
        assert not (tmp_path / transaction.FOLDER).exists()
        finished += left
    assert finished, "no kill struck while something was being written: the test shows nothing"


class Killed(BaseException):
    pass


STEPS = [
    (Path, "replace"),
    (Path, "unlink"),
    (Path, "mkdir"),
    (Path, "open"),
    (transaction, "_sync"),
]


@pytest.mark.parametrize("new_file", [False, True])
def test_stopped_at_every_single_step(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, new_file: bool
) -> None:
    seen = set()
    for step in range(200):
        top = tmp_path / str(step)
        lay_out(top)
        before = dict(ONE)
        if new_file:
            (top / NAMES[2]).unlink()
            (top / NAMES[2]).parent.rmdir()
            del before[NAMES[2]]
        left = step
        with monkeypatch.context() as patch:
            for owner, name in STEPS:
                real = getattr(owner, name)

                def counted(*args: object, real=real, **rest: object) -> object:  # type: ignore[no-untyped-def]
                    nonlocal left
                    left -= 1
                    if left == 0:
                        raise Killed
                    return real(*args, **rest)

                patch.setattr(owner, name, counted)
            try:
                transaction.write_all(top, TWO, before)
            except Killed:
                pass
            else:
                if step:
                    break
        transaction.recover(top)
        now = held(top)
        assert now in (before, TWO)
        seen.add(now == TWO)
        assert not (top / transaction.FOLDER).exists()
    else:
        pytest.fail("it never came to an end")
    assert seen == {True, False}
    assert step > 15


def stopped_once_noted(top: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A change from ONE to TWO that was killed when its note was written and nothing more."""
    lay_out(top)
    with monkeypatch.context() as patch:
        patch.setattr(transaction, "_put_in_place", lambda *_: (_ for _ in ()).throw(Killed()))
        with pytest.raises(Killed):
            transaction.write_all(top, TWO, ONE)


def test_the_next_command_finishes_it_by_itself(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stopped_once_noted(tmp_path, monkeypatch)
    assert held(tmp_path) == ONE
    transaction.write_all(tmp_path, ONE, TWO)  # it finds TWO, as the note says
    assert held(tmp_path) == ONE


def test_what_somebody_else_wrote_meanwhile_is_not_lost(tmp_path: Path) -> None:
    lay_out(tmp_path)
    (tmp_path / NAMES[1]).write_bytes(b"typed by hand")
    with pytest.raises(WorldError, match="changed meanwhile"):
        transaction.write_all(tmp_path, TWO, ONE)
    assert held(tmp_path) == ONE | {NAMES[1]: b"typed by hand"}
    with pytest.raises(WorldError, match="changed meanwhile"):
        transaction.write_all(tmp_path, {NAMES[0]: b"x"}, {})


def test_what_was_typed_after_a_stop_is_not_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stopped_once_noted(tmp_path, monkeypatch)
    (tmp_path / NAMES[0]).write_bytes(b"typed by hand")
    with pytest.raises(WorldError, match="changed since"):
        transaction.recover(tmp_path)
    assert (tmp_path / NAMES[0]).read_bytes() == b"typed by hand"


def test_two_commands_do_not_write_at_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(transaction, "PATIENCE", 0.05)
    lay_out(tmp_path)
    for hold in (transaction._alone, transaction.locked_for_reading):
        with hold(tmp_path), pytest.raises(WorldError, match="another command"):
            transaction.write_all(tmp_path, TWO, ONE)
    assert held(tmp_path) == ONE
    with (
        transaction._alone(tmp_path),
        pytest.raises(WorldError, match="is writing to these records"),
        transaction.locked_for_reading(tmp_path),
    ):
        pass
    with transaction.locked_for_reading(tmp_path), transaction.locked_for_reading(tmp_path):
        pass  # many may read


def test_a_command_waits_for_a_short_one(tmp_path: Path) -> None:
    lay_out(tmp_path)
    begun = threading.Event()

    def hold() -> None:
        with transaction.locked_for_reading(tmp_path):
            begun.set()
            time.sleep(0.2)

    reader = threading.Thread(target=hold)
    reader.start()
    begun.wait()
    transaction.write_all(tmp_path, TWO, ONE)
    reader.join()
    assert held(tmp_path) == TWO


def test_what_the_change_rests_on_may_not_change_either(tmp_path: Path) -> None:
    lay_out(tmp_path)
    with pytest.raises(WorldError, match="changed meanwhile"):
        transaction.write_all(tmp_path, TWO, ONE, lambda: False)
    assert held(tmp_path) == ONE
    assert not (tmp_path / transaction.FOLDER).exists()


def test_whoever_reads_all_finds_nothing_half_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stopped_once_noted(tmp_path, monkeypatch)
    with transaction.locked_for_reading(tmp_path):
        assert held(tmp_path) == TWO
    (tmp_path / transaction.FOLDER).symlink_to(tmp_path / "sites", target_is_directory=True)
    with transaction.locked_for_reading(tmp_path):  # none of ours, and no reason to wait for ever
        assert held(tmp_path) == TWO


def test_modes_stay(tmp_path: Path) -> None:
    lay_out(tmp_path)
    (tmp_path / NAMES[0]).chmod(0o640)
    transaction.write_all(tmp_path, TWO, ONE)
    assert (tmp_path / NAMES[0]).stat().st_mode & 0o777 == 0o640


ELSEWHERE = [
    "../x", "/x", "", "sites/../../b", "sites/a\\b/c", "sites/x", ".git/hooks/post-commit",
    "sites/harbour/.git/config", "README.md",
]  # fmt: skip


@pytest.mark.parametrize("path", ELSEWHERE)
def test_nothing_is_written_elsewhere(tmp_path: Path, path: str) -> None:
    with pytest.raises(WorldError, match="no file of a site"):
        transaction.write_all(tmp_path, {path: b""}, {})


@pytest.mark.parametrize("path", [*ELSEWHERE, "sites/link/post-commit"])
def test_a_note_that_came_with_a_repository_writes_nothing_elsewhere(
    tmp_path: Path, path: str
) -> None:
    """Whoever gives us a repository may have put a note into it."""
    (tmp_path / ".git/hooks").mkdir(parents=True)
    (tmp_path / "sites").mkdir()
    (tmp_path / "sites/link").symlink_to(tmp_path / ".git/hooks", target_is_directory=True)
    folder = tmp_path / transaction.FOLDER
    folder.mkdir()
    (folder / "0.new").write_bytes(b"evil")
    (folder / "note.json").write_text(json.dumps([{"path": path, "was": "", "is": "x"}]))
    with pytest.raises(WorldError):
        transaction.recover(tmp_path)
    assert [*(tmp_path / ".git/hooks").iterdir()] == []


@pytest.mark.parametrize("note", ["", "{", "[1]", '[{"path": "sites/a/b.yml"}]', "7"])
def test_a_note_nobody_understands_is_told(tmp_path: Path, note: str) -> None:
    (tmp_path / transaction.FOLDER).mkdir()
    (tmp_path / transaction.FOLDER / "note.json").write_text(note)
    with pytest.raises(WorldError, match="isn’t understood"):
        transaction.recover(tmp_path)
