"""Problems as people and machines read them: lines, JSON, annotations of a code host."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from enum import StrEnum

from asbuilt.escape import terminal
from asbuilt.problem import Level, Problem


class ProblemFormat(StrEnum):
    TEXT = "text"
    JSON = "json"
    GITHUB = "github"


def problem_line(problem: Problem) -> str:
    """`file:line:column: what is wrong; what would be right [code]`, remarks marked as such."""
    said = f"{problem.message}; {problem.hint}" if problem.hint else problem.message
    mark = "" if problem.level is Level.ERROR else "remark: "
    return terminal(f"{problem.place}: {mark}{said} [{problem.code}]")


def site_key_of(problem: Problem) -> str:
    """The site a problem belongs to: the folder below sites/."""
    parts = problem.place.path.split("/")
    return parts[1] if len(parts) > 1 else problem.place.path


def tally(problems: Iterable[Problem], sites: int) -> str:
    """`3 sites, 2 errors, 1 remark`."""
    levels = [problem.level for problem in problems]
    counts = (
        (sites, "site"),
        (levels.count(Level.ERROR), "error"),
        (levels.count(Level.REMARK), "remark"),
    )
    return ", ".join(f"{count or 'no'} {word}{'' if count == 1 else 's'}" for count, word in counts)


def as_json(problems: Sequence[Problem], sites: Sequence[str]) -> str:
    errors = sum(1 for problem in problems if problem.level is Level.ERROR)
    document = {
        "sites": list(sites),
        "errors": errors,
        "remarks": len(problems) - errors,
        "problems": [problem_as_dict(problem) for problem in problems],
    }
    return json.dumps(document, ensure_ascii=False, indent=2)


def problem_as_dict(problem: Problem) -> dict[str, str | int]:
    """A problem as a value of JSON."""
    return {
        "site": site_key_of(problem),
        "path": problem.place.path,
        "line": problem.place.line,
        "column": problem.place.column,
        "level": problem.level.value,
        "code": problem.code,
        "message": problem.message,
        "hint": problem.hint,
    }


def as_annotation(problem: Problem) -> str:
    """A workflow command that a code host shows beside the line."""
    level = "error" if problem.level is Level.ERROR else "warning"
    place = problem.place
    path = _escape_value(place.path).replace(":", "%3A").replace(",", "%2C")
    said = f"{problem.message}; {problem.hint}" if problem.hint else problem.message
    where = f"file={path},line={place.line},col={place.column},title={problem.code}"
    return f"::{level} {where}::{_escape_value(said)}"


def _escape_value(text: str) -> str:
    return text.replace("%", "%25").replace("\r", "%0D").replace("\n", "%0A")


def withheld_lines(counts: Mapping[str, int]) -> list[str]:
    """What an edition left out, a line a kind: `outlet: shown as device × 12, network × 3`;
    `photo × 2: file × 1` where two records are left out and a field of another."""
    lines: dict[str, list[str]] = {}
    for what, count in sorted(counts.items()):
        kind, _, field = what.partition(": ")
        kind, device, _ = kind.partition(" shown as device")
        whole, fields = lines.setdefault(kind, ["", ""])
        if field or device:
            fields += f"{', ' if fields else ': '}{field or 'shown as device'} × {count}"
        else:
            whole = f" × {count}"
        lines[kind] = [whole, fields]
    return [f"{kind}{whole}{fields}" for kind, (whole, fields) in sorted(lines.items())]
