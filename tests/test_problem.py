"""Problems as values: their order, their words, the nearest valid word."""

from __future__ import annotations

import pytest

from asbuilt.problem import (
    Level,
    Place,
    Problem,
    has_errors,
    nearest,
    quoted,
    some_of,
    suggestion,
)


def test_a_problem_reads_as_a_line() -> None:
    problem = Problem(Place("sites/a/outlets.yml", 3, 14), "wrong-type", "this is wrong", "do that")
    assert str(problem) == "sites/a/outlets.yml:3:14: this is wrong; do that [wrong-type]"
    assert (
        str(Problem(Place("a.yml"), "empty", "nothing here")) == "a.yml:1:1: nothing here [empty]"
    )


def test_problems_sort_by_place() -> None:
    places = [Place("b", 1), Place("a", 10, 2), Place("a", 9, 7), Place("a", 9, 3)]
    problems = [Problem(place, "x", "y") for place in places]
    assert [str(p.place) for p in sorted(problems)] == ["a:9:3", "a:9:7", "a:10:2", "b:1:1"]


def test_only_errors_keep_a_site_from_being_built() -> None:
    remark = Problem(Place("a"), "x", "y", level=Level.REMARK)
    assert not has_errors([])
    assert not has_errors([remark])
    assert has_errors([remark, Problem(Place("a"), "x", "y")])


@pytest.mark.parametrize(
    ("word", "known", "close"),
    [
        ("lenght", ["length", "label"], "length"),
        ("PASS", ["pass", "fail"], "pass"),
        ("1O1", ["101", "102"], "101"),
        ("zebra", ["length", "label"], None),
        ("", ["length"], None),
        ("length", [], None),
        ("x" * 5000, ["x" * 4999], None),
    ],
)
def test_the_nearest_word(word: str, known: list[str], close: str | None) -> None:
    assert nearest(word, known) == close


def test_a_suggestion_or_else() -> None:
    assert suggestion("desc", ["desk", "till"]) == "did you mean “desk”?"
    assert suggestion("zebra", ["desk"], "one of: desk") == "one of: desk"


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("west wall", "“west wall”"),
        ("two\n  lines\t", "“two lines”"),
        ("", "“”"),
        ("x" * 60, f"“{'x' * 60}”"),
        ("x" * 61, f"“{'x' * 59}…”"),
        ("x" * 9_000_000, f"“{'x' * 59}…”"),
    ],
)
def test_a_text_in_a_message(text: str, shown: str) -> None:
    assert quoted(text) == shown


def test_names_in_a_message() -> None:
    assert some_of([]) == ""
    assert some_of(["a"]) == "a"
    assert some_of(["a", "b", "c"], most=3) == "a, b, c"
    assert some_of(["a", "b", "c", "d"], most=3) == "a, b and 2 more"
