"""What is wrong with a record, as a value: bad data is collected and told, never raised."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum


class Level(StrEnum):
    """How bad it is: a site cannot be built from an error; a remark wants somebody's eyes."""

    ERROR = "error"
    REMARK = "remark"


_LONGEST_WORD = 60  # nobody meant a key or a word of the trade by a longer text


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """Where a text stands: a path relative to the repository; line and column count from 1."""

    path: str
    line: int = 1
    column: int = 1

    def __str__(self) -> str:
        return f"{self.path}:{self.line}:{self.column}"


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing wrong: `message` says what is there, `hint` what would be right."""

    place: Place
    code: str
    message: str
    hint: str = ""
    level: Level = Level.ERROR

    def __str__(self) -> str:
        text = f"{self.message}; {self.hint}" if self.hint else self.message
        return f"{self.place}: {text} [{self.code}]"


class WorldError(Exception):
    """The world, not the data, stands in the way (no git, no folder, a full disk): one sentence."""


def quoted(text: str) -> str:
    """`text` as a message shows it: in quotation marks, on one line, not too much of it."""
    line = " ".join(text[:400].split())
    return f"“{line[:59]}…”" if len(line) > 60 else f"“{line}”"


def some_of(names: Sequence[str], most: int = 6) -> str:
    """The names, or the first of them and how many more."""
    if len(names) <= most:
        return ", ".join(names)
    return f"{', '.join(names[: most - 1])} and {len(names) - most + 1} more"


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word most like `word`, if any is like it at all."""
    if len(word) > _LONGEST_WORD:
        return None
    folded = {candidate.casefold(): candidate for candidate in known}
    close = difflib.get_close_matches(word.casefold(), folded, n=1, cutoff=0.6)
    return folded[close[0]] if close else None


def suggestion(word: str, known: Iterable[str], otherwise: str = "") -> str:
    """A hint naming the nearest valid word, or `otherwise` when none is near."""
    close = nearest(word, known)
    return f"did you mean “{close}”?" if close else otherwise


def has_errors(problems: Iterable[Problem]) -> bool:
    return any(problem.level is Level.ERROR for problem in problems)
