"""The change log as people and machines read it outside the pages: lines, JSON, Markdown."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from typing import Any, Final

from asbuilt.changes.compare import Change
from asbuilt.changes.log import Entry
from asbuilt.changes.log_lines import LogLine
from asbuilt.changes.state import Facts, Value
from asbuilt.escape import markdown, terminal

#: Details shown with a sentence in Markdown before they are only counted.
_MOST_DETAILS: Final = 40


class LogFormat(StrEnum):
    TEXT = "text"
    JSON = "json"
    MARKDOWN = "markdown"


def lines_about(entry: Entry, thing: str) -> tuple[LogLine, ...]:
    """What an entry tells of a thing, by its key (`1A-A01`, `1A/SW1`) or a label in a sentence."""
    return tuple(told for told in entry.lines if _is_about(told, thing))


def _is_about(told: LogLine, thing: str) -> bool:
    wanted = thing.casefold()
    keys = {change.key.casefold() for change in told.changes}
    names = {piece.text.casefold() for piece in told.sentence if piece.kind}
    linked = {piece.key.casefold() for piece in told.sentence if piece.key}
    return wanted in keys | names | linked


# A log


def log_lines(site: str, entries: Sequence[Entry]) -> Iterator[str]:
    """The entries of a site, newest first: a line for the commit with its subject, then one for
    each sentence."""
    yield site
    for entry in entries:
        stamp = entry.short if entry.commit else "uncommitted"
        job = f", job {', '.join(entry.jobs)}" if entry.jobs else ""
        subject = f": {entry.subject}" if entry.subject else ""
        yield terminal(f"{entry.when.date()}  {stamp}  {entry.author}{job}{subject}")
        yield from (f"  {terminal(told.text)}" for told in entry.lines)
        if entry.problem:
            yield f"  {terminal(entry.problem)}"


def log_json(histories: Mapping[str, Sequence[Entry]]) -> str:
    return _dumped({site: [_entry(entry) for entry in found] for site, found in histories.items()})


def log_markdown(histories: Mapping[str, Sequence[Entry]]) -> str:
    lines: list[str] = []
    for site, entries in histories.items():
        lines += [f"## {markdown(site)}", ""]
        for entry in entries:
            who = markdown(entry.author) or "uncommitted"
            subject = f": {markdown(entry.subject)}" if entry.subject else ""
            lines += [f"### {entry.when.date()}, {who}{subject}", ""]
            lines += [f"- {markdown(told.text)}" for told in entry.lines]
            if entry.problem:
                lines.append(f"- {markdown(entry.problem)}")
            lines.append("")
    return "\n".join(lines)


# A comparison of two revisions


def diff_lines(site: str, told: Sequence[LogLine]) -> Iterator[str]:
    yield site
    for one in told:
        yield f"  {terminal(one.text)}"
        yield from (f"      {terminal(line)}" for line in one.details)


def diff_json(told: Mapping[str, Sequence[LogLine]]) -> str:
    return _dumped({site: plain(found) for site, found in told.items()})


def diff_markdown(told: Mapping[str, Sequence[LogLine]]) -> str:
    """A summary for a pull request: a sentence a line, the fields behind it folded away."""
    lines: list[str] = []
    for site, found in told.items():
        lines += [f"**{markdown(site)}**", ""]
        for one in found:
            lines.append(f"- {markdown(one.text)}")
            if len(one.changes) > 1:
                lines += _folded(one.details)
        lines.append("")
    if not told:
        lines.append("No change in what the records mean.")
    return "\n".join(lines)


def _folded(details: Sequence[str]) -> list[str]:
    shown = [f"  - {markdown(line)}" for line in details[:_MOST_DETAILS]]
    if len(details) > _MOST_DETAILS:
        shown.append(f"  - and {len(details) - _MOST_DETAILS} more")
    return ["  <details><summary>one by one</summary>", "", *shown, "", "  </details>"]


# Values for machines


def _dumped(document: Any) -> str:
    return json.dumps(document, ensure_ascii=False, indent=2, sort_keys=True)


def _entry(entry: Entry) -> dict[str, Any]:
    return {
        "commit": entry.commit,
        "when": entry.when.isoformat(),
        "author": entry.author,
        "subject": entry.subject,
        "jobs": list(entry.jobs),
        "problem": entry.problem,
        "told": plain(entry.lines),
    }


def plain(told: Iterable[LogLine]) -> list[dict[str, Any]]:
    """What is told, as values of JSON."""
    return [_told(one) for one in told]


def _told(told: LogLine) -> dict[str, Any]:
    return {
        "what": told.verb,
        "sentence": told.text,
        "details": list(told.details),
        "changes": [_change(change) for change in told.changes],
    }


def _change(change: Change) -> dict[str, Any]:
    return {
        "kind": change.kind,
        "key": change.key,
        "before": _facts(change.before.facts if change.before else None),
        "after": _facts(change.after.facts if change.after else None),
    }


def _facts(facts: Facts | None) -> dict[str, Any] | None:
    return None if facts is None else {name: _plain(value) for name, value in facts.items()}


def _plain(value: Value) -> Any:
    if isinstance(value, str):
        return value
    if isinstance(value, Mapping):
        return {name: _plain(inner) for name, inner in value.items()}
    return [_plain(inner) for inner in value]


def since(entries: Iterable[Entry], day: dt.date | None) -> list[Entry]:
    return [entry for entry in entries if day is None or entry.when.date() >= day]
