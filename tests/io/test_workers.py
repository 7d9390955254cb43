"""Tasks side by side: each is done once, and asked for when it is nearly its turn."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from asbuilt.io.workers import in_parallel, in_sequence

MANY = 40


def halved(number: int) -> float:
    return 84 / number


def told(taken: list[int]) -> Iterator[int]:
    for number in range(1, MANY + 1):
        taken.append(number)
        yield number


@pytest.mark.parametrize("workers", [1, 2])
def test_every_task_is_done_once(workers: int) -> None:
    with in_parallel(workers, ()) as each:
        assert sorted(each(halved, told([]))) == sorted(84 / n for n in range(1, MANY + 1))
        assert list(each(halved, [4])) == [21.0]
        assert list(each(halved, [])) == []


@pytest.mark.parametrize("workers", [1, 2])
def test_no_task_is_asked_for_long_before_its_turn(workers: int) -> None:
    taken: list[int] = []
    with in_parallel(workers, ()) as each:
        for done, _ in enumerate(each(halved, told(taken)), start=1):
            assert len(taken) <= done + 2 * workers + 1
    assert len(taken) == MANY
    assert list(in_sequence(halved, [2])) == [42.0]


def test_what_fails_is_raised_and_the_rest_is_not_begun() -> None:
    taken: list[int] = []
    with in_parallel(2, ()) as each, pytest.raises(ZeroDivisionError):
        list(each(halved, (number - 1 for number in told(taken))))
    assert len(taken) < MANY
