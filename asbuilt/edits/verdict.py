"""Whether a site is still sound after an edit: what is wrong now and wasn't before."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from asbuilt.changes.compare import compare
from asbuilt.changes.state import State, state_of
from asbuilt.changes.words import Told, tell
from asbuilt.checks import check_site
from asbuilt.model.paths import net_of
from asbuilt.model.site import Site, site_of
from asbuilt.problem import Level, Problem
from asbuilt.records.reading import Records, read_folder


@dataclass(frozen=True, slots=True)
class View:
    """A site as its texts say, and what is wrong with it."""

    records: Records
    site: Site | None
    problems: tuple[Problem, ...]

    @property
    def state(self) -> State:
        return state_of(self.records.raw)


@dataclass(frozen=True, slots=True)
class Verdict:
    """What an edit means: the changes as sentences, and what it makes wrong."""

    told: tuple[Told, ...]
    errors: tuple[Problem, ...]
    remarks: tuple[Problem, ...]


def view_of(key: str, texts: Mapping[str, bytes], folder: str) -> View:
    records = read_folder(key, texts, folder)
    site = site_of(records)
    problems = list(records.problems)
    if site is not None:
        problems += check_site(site, net_of(site))
    return View(records, site, tuple(sorted(set(problems))))


def judge(before: View, after: View) -> Verdict:
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
    return Verdict(
        tell(changes, old_state, new_state),
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
