"""The storyboard as it is written: what is wrong in it is told with its file and line."""

from __future__ import annotations

from pathlib import Path

import pytest

from asbuilt.demo.reading import StoryError
from asbuilt.demo.storyboard import StoryStep, replayed

FIRST = """\
2024-01-02 09:00 +0000:
  by: Vera Stint
  title: Mill, records begun
  changes:
    outlets.yml: new
    photos/a.png: new
"""


def step(changes: str, when: str = "2024-01-03 09:00 +0000") -> str:
    """A second step, from line 7 of its file on; its changes begin in line 11."""
    lines = "".join(f"    {line}\n" for line in changes.splitlines())
    return f"{FIRST}{when}:\n  by: Vera Stint\n  title: Mill, the second day\n  changes:\n{lines}"


def story(folder: Path, steps: str, everywhere: str = "") -> Path:
    top = folder / "story"
    for path, text in (
        ("people.yml", "Vera Stint: stint@example.org\n"),
        ("mill/steps/2024.yml", steps),
        ("mill/files/outlets.yml", "A1: {room: 1}\nA2: {room: 2}\n"),
        ("mill/files/photos/a.png", "a picture"),
        ("all-sites.yml", everywhere),
    ):
        if text:
            (top / path).parent.mkdir(parents=True, exist_ok=True)
            (top / path).write_text(text)
    return top


def played(folder: Path, steps: str, everywhere: str = "") -> list[StoryStep]:
    return [step for step, _ in replayed(story(folder, steps, everywhere))]


def test_steps_are_replayed_in_order_of_time(tmp_path: Path) -> None:
    later = """\
2024-01-02 12:00 +0300:
  by: Vera Stint
  title: Mill, at the same hour elsewhere but a minute
  changes:
    mill/outlets.yml:
      - set:
          A1: {room: 3}
"""
    first, last = played(tmp_path, FIRST, later.replace("12:00", "12:01"))
    assert (first.author, first.email) == ("Vera Stint", "stint@example.org")
    assert first.pictures == {"sites/mill/photos/a.png": b"a picture"}
    assert last.files == {"sites/mill/outlets.yml": "A1: {room: 3}\nA2: {room: 2}\n"}


def test_a_message_has_its_text_and_its_job(tmp_path: Path) -> None:
    told = FIRST.replace("  changes", "  text: |\n    Why it\n    was done.\n  job: J1\n  changes")
    (only,) = played(tmp_path, told)
    assert only.message == "Mill, records begun\n\nWhy it\nwas done.\n\nJob: J1\n"


def test_every_edit_there_is(tmp_path: Path) -> None:
    changes = """\
outlets.yml:
  - add: |
      A3: {room: 3}
    after: A2
  - set:
      A1 to A2: {serves: "desk, phone", via: [T1, T2]}
      seen: 2024-01-03
  - clear:
      A1: serves, via
  - rewrite: |
      A2: {room: 22}
  - replace: A3
    lines: |
      A4: {room: 4}
  - remove: seen
  - move: A1
    to: outlets/one.yml"""
    _, last = played(tmp_path, step(changes))
    assert last.files == {
        "sites/mill/outlets.yml": "A2: {room: 22}\nA4: {room: 4}\n",
        "sites/mill/outlets/one.yml": "A1: {room: 1}\n",
    }


def test_a_value_goes_in_as_it_is_typed(tmp_path: Path) -> None:
    _, last = played(tmp_path, step('outlets.yml:\n  - set:\n      A1: {via: [T1, T2], on: "7"}'))
    assert 'A1: {room: 1, via: [T1, T2], on: "7"}' in (last.files["sites/mill/outlets.yml"] or "")


def test_a_file_all_of_whose_lines_are_moved_is_gone(tmp_path: Path) -> None:
    _, last = played(tmp_path, step("outlets.yml:\n  - move: A1 to A2\n    to: outlets/all.yml"))
    assert last.files["sites/mill/outlets.yml"] is None


@pytest.mark.parametrize(
    ("changes", "line", "message"),
    [
        ("outlets.yml:\n  - set:\n      A9: {room: 1}", 13, "no line begins with “A9”"),
        ("outlets.yml:\n  - remove: A", 12, "2 lines begin with “A”"),
        ("outlets.yml:\n  - set:\n      A1: {room: 1}", 13, "changes nothing"),
        ("outlets.yml:\n  - clear:\n      A1: via", 13, "no “via” stands in"),
        ("outlets.yml: new", 11, "is there already"),
        ("jobs/J1.yml: new", 11, "No such file"),
        ("jobs/J1.yml:\n  - remove: A", 12, "isn’t there"),
        ("outlets.yml:\n  - move: A1\n    to: outlets.yml", 12, "is there already"),
        ("outlets.yml:\n  - remvoe: A1", 12, "did you mean “remove”?"),
        ("outlets.yml:\n  - add: A3\n    afer: A1", 13, "did you mean “after”?"),
        ("outlets.yml:\n  - replace: A1", 12, "“lines” is missing"),
        ("outlets.yml:\n  - remove: [A1]", 12, "a text is wanted"),
        ("outlets.yml:\n  - set:\n      A1: {room: }", 13, "a value on one line is wanted"),
        ("outlets.yml: newer", 11, "“new” or a list of edits is wanted"),
        ("outlets.yml:\n  - {}", 12, "lines are wanted"),
    ],
)
def test_a_step_that_does_not_apply_is_told_with_its_line(
    tmp_path: Path, changes: str, line: int, message: str
) -> None:
    with pytest.raises(StoryError, match=rf"^story/mill/steps/2024\.yml:{line}:\d+: ") as told:
        played(tmp_path, step(changes))
    assert message in str(told.value)


@pytest.mark.parametrize(
    ("old", "new", "line", "message"),
    [
        ("by: Vera Stint", "by: Vera Stnt", 2, "did you mean “Vera Stint”?"),
        ("title:", "titel:", 3, "did you mean “title”?"),
        ("  title: Mill, records begun\n", "", 2, "“title” is missing"),
        ("2024-01-02 09:00 +0000", "2024-01-02", 1, "is no date and time"),
        ("2024-01-02", "2024-02-30", 1, "is no date and time"),
        ("    outlets.yml: new", "    outlets.yml: [new", 6, "“]” is missing"),
        (FIRST, "# nothing yet\n", 0, "nothing is written here"),
    ],
)
def test_a_step_that_is_not_understood_is_told_with_its_line(
    tmp_path: Path, old: str, new: str, line: int, message: str
) -> None:
    place = rf"story/mill/steps/2024\.yml:{f'{line}:' if line else ' '}"
    with pytest.raises(StoryError, match=f"^{place}") as told:
        played(tmp_path, FIRST.replace(old, new))
    assert message in str(told.value)


def test_dates_out_of_order_are_told(tmp_path: Path) -> None:
    late = step("outlets.yml:\n  - remove: A1", when="2024-01-01 09:00 +0000")
    with pytest.raises(StoryError, match=r"2024\.yml:7:1: this step is older than the one before"):
        played(tmp_path, late)


def test_two_steps_of_one_moment_are_told(tmp_path: Path) -> None:
    again = FIRST.replace("outlets.yml: new", "mill/jobs/J1.yml: new").replace(
        "09:00 +0000", "10:00 +0100"
    )
    with pytest.raises(StoryError, match=r"2024\.yml:1:1: a step of the same moment .*all-sites"):
        played(tmp_path, FIRST, again)


def test_people_nobody_wrote_down_are_told(tmp_path: Path) -> None:
    top = story(tmp_path, FIRST)
    (top / "people.yml").unlink()
    with pytest.raises(StoryError, match=r"^story/people\.yml can’t be read"):
        next(replayed(top))
