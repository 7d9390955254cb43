"""Edits of a record file, as the storyboard words them.

A line is named by how it begins; up to its colon is enough. `A01 to A22` are the lines from the one
to the other, `A01, A07` are two lines. Every edit raises `Misfit` where it doesn't fit the text, so
a storyboard that has drifted from its own records can't be replayed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Final


class Misfit(Exception):
    """An edit doesn't fit the text as it stands."""


def added(text: str, add: str, after: str = "", before: str = "") -> str:
    """Lines put in after or before a line, and indented like it; else at the end of the file."""
    old = text.splitlines(keepends=True)
    if not after and not before:
        return "".join([*old, *_like("", add)])
    beside = _named(old, after or before)
    lines = _like(old[beside.start], add)
    at = beside.stop if after else beside.start
    return "".join([*old[:at], *lines, *old[at:]])


def rewritten(text: str, rewrite: str) -> str:
    """Each line takes the place of the one with the same name; the indentation stays."""
    old = text.splitlines(keepends=True)
    for line in map(str.strip, rewrite.splitlines()):
        at = _line(old, line.partition(": ")[0].rstrip(":"))
        old[at] = f"{_indent(old[at])}{line}\n"
    return "".join(old)


def replaced(text: str, replace: str, lines: str) -> str:
    """Other lines, or none, where these stood, indented like the first of them."""
    old = text.splitlines(keepends=True)
    span = _named(old, replace)
    new = _like(old[span.start], lines)
    return "".join([*old[: span.start], *new, *old[span.stop :]])


def taken(text: str, names: str) -> str:
    """These lines alone."""
    old = text.splitlines(keepends=True)
    span = _named(old, names)
    return "".join(old[span.start : span.stop])


def with_facts(text: str, names: str, facts: Mapping[str, str]) -> str:
    """Facts of records changed, or added at their end. Without names they are the file's own."""
    lines = text.splitlines(keepends=True)
    if not names:
        return "".join(_block(lines, "", facts))
    # From the last to the first: a record that grows moves the lines below it.
    for at in reversed(_records(lines, names)):
        if "}" in lines[at]:
            for name, value in facts.items():
                lines[at] = _with_fact(lines[at], name, value)
        elif lines[at].partition(" #")[0].rstrip().endswith(":"):
            stop = _end(lines, at)
            lines[at + 1 : stop] = _block(lines[at + 1 : stop], _indent(lines[at]) + "  ", facts)
        else:
            raise Misfit(f"“{lines[at].strip()}” is no record")
    return "".join(lines)


def without_facts(text: str, names: str, facts: Sequence[str]) -> str:
    """Facts taken out of records of one line."""
    lines = text.splitlines(keepends=True)
    for at in _records(lines, names):
        for name in facts:
            lines[at] = _without_fact(lines[at], name)
    return "".join(lines)


def _like(line: str, text: str) -> list[str]:
    """The lines of a text, indented like a line."""
    indent = _indent(line)
    return [f"{indent}{new}\n" if new else "\n" for new in text.rstrip("\n").splitlines()]


def _indent(line: str) -> str:
    return line[: len(line) - len(line.lstrip(" "))]


def _line(lines: Sequence[str], name: str) -> int:
    """Where the one line stands that a name means: by its key, or else by how it begins."""
    keys = (f"{name}:", f'"{name}":')
    found = [at for at, line in enumerate(lines) if line.strip().startswith(keys)]
    found = found or [at for at, line in enumerate(lines) if line.strip().startswith(name)]
    if not found:
        raise Misfit(f"no line begins with “{name}”")
    if len(found) > 1:
        raise Misfit(f"{len(found)} lines begin with “{name}”; write more of the one you mean")
    return found[0]


def _end(lines: Sequence[str], at: int) -> int:
    """Where the lines end that belong to one: those below it that are indented further."""
    depth = len(_indent(lines[at]))
    others = (n for n in range(at + 1, len(lines)) if len(_indent(lines[n])) <= depth)
    return next(others, len(lines))


def _named(lines: Sequence[str], name: str) -> range:
    """The lines of `A`, or `A to B`: from the one to the other."""
    first, _, last = name.partition(" to ")
    start = _line(lines, first)
    end = _line(lines, last) if last else start
    if end < start:
        raise Misfit(f"“{last}” stands before “{first}”")
    return range(start, _end(lines, end))


def _records(lines: Sequence[str], names: str) -> list[int]:
    """Where the records begin that `A to C, E` names, in their order."""
    found: set[int] = set()
    for name in names.split(", "):
        span = _named(lines, name)
        indent = _indent(lines[span.start])
        found |= {at for at in span if re.match(rf"{indent}[^\s#]", lines[at])}
    return sorted(found)


def _block(lines: Sequence[str], indent: str, facts: Mapping[str, str]) -> list[str]:
    """Lines of one fact each."""
    result = list(lines)
    for name, value in facts.items():
        line = f"{indent}{name}: {value}\n"
        at = [n for n, old in enumerate(result) if old.startswith(f"{indent}{name}:")]
        if at:
            result[at[0]] = line
        else:
            result.append(line)
    return result


_VALUE: Final = r"""(?:"[^"]*"|\[[^\]]*\]|[^,{}\[\]"]+)"""


def _fact(line: str, name: str) -> re.Match[str] | None:
    """One fact of a record of one line, up to the comma or brace that ends it."""
    pattern = rf"(?P<lead>[{{,]\s*){re.escape(name)}: (?P<value>{_VALUE})(?P<pad>,? *)"
    return re.search(pattern, line)


def _with_fact(line: str, name: str, value: str) -> str:
    match = _fact(line, name)
    if match is None:
        head, _, tail = line.rpartition("}")
        return f"{head}, {name}: {value}}}{tail}"
    pad = match["pad"]
    if pad.startswith(","):
        # The columns after it stay where they are, as far as there is room.
        width = len(match["value"]) + len(pad)
        pad = ", ".ljust(max(2, width - len(value)))
    return f"{line[: match.start()]}{match['lead']}{name}: {value}{pad}{line[match.end() :]}"


def _without_fact(line: str, name: str) -> str:
    match = _fact(line, name)
    if match is None:
        raise Misfit(f"no “{name}” stands in “{line.strip()}”")
    before, after = line[: match.start()], line[match.end() :]
    if match["lead"].startswith("{"):
        return f"{before}{match['lead']}{after}"
    return f"{before}, {after}" if match["pad"].strip() else f"{before}{after}"
