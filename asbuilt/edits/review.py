"""Whether a site is still sound after an edit: what is wrong now and wasn't before."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from asbuilt.changes.compare import compare
from asbuilt.changes.log_lines import LogLine, lines_of_changes
from asbuilt.changes.state import State, state_of
from asbuilt.checks.all_checks import check_site
from asbuilt.model.paths import cabling_graph
from asbuilt.model.site import Site, site_of
from asbuilt.problem import Level, Problem
from asbuilt.records.reading import Records, read_folder


@dataclass(frozen=True, slots=True)
class EditedSite:
    """A site as its texts say, and what is wrong with it."""

    records: Records
    site: Site | None
    problems: tuple[Problem, ...]

    @property
    def state(self) -> State:
        return state_of(self.records.raw)


@dataclass(frozen=True, slots=True)
class EditReview:
    """What an edit means: the changes as sentences, and what it makes wrong."""

    lines: tuple[LogLine, ...]
    errors: tuple[Problem, ...]
    remarks: tuple[Problem, ...]


def edited_site(key: str, texts: Mapping[str, bytes], folder: str) -> EditedSite:
    records = read_folder(key, texts, folder)
    site = site_of(records)
    problems = list(records.problems)
    if site is not None:
        problems += check_site(site, cabling_graph(site))
    return EditedSite(records, site, tuple(sorted(set(problems))))


def review_edit(before: EditedSite, after: EditedSite) -> EditReview:
    """The changes an edit makes, and the problems that weren't there before."""
    known = Counter(_what(problem) for problem in before.problems)
    new: list[Problem] = []
    for problem in after.problems:
        what = _what(problem)
        if known[what]:
            known[what] -= 1
        else:
            new.append(problem)
    old_state, new_state = before.state, after.state
    changes = compare(old_state, new_state)
    keys = {side.key for change in changes for side in (change.before, change.after) if side}
    return EditReview(
        lines_of_changes(changes, old_state, new_state),
        tuple(problem for problem in new if problem.level is Level.ERROR),
        tuple(problem for problem in new if _concerns(problem, keys)),
    )


def _concerns(problem: Problem, keys: set[str]) -> bool:
    """Whether a remark is about what changed. What isn't recorded yet is counted elsewhere, and
    a remark on many things that names one fewer is no news."""
    if problem.level is not Level.REMARK or problem.code == "fact-missing":
        return False
    words = set(re.findall(r"[\w./+-]*\w", problem.message))
    return bool(words & keys)


_NAMED = re.compile(r"“[^”]*”")


def _what(problem: Problem) -> tuple[str, str, tuple[str, ...] | str]:
    """What a problem is about. Its place and its numbers change while it stays the same: lines
    move, and “in 11 other places” becomes 10."""
    names = tuple(_NAMED.findall(problem.message))
    return problem.level.value, problem.code, names or re.sub("[0-9]+", "#", problem.message)
