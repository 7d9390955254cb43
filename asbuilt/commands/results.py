"""Certification results taken in: told, held against the records, kept in a file of their own."""

from __future__ import annotations

import re
from pathlib import Path

from asbuilt.commands.list_source import TAKE_IN, refuse_wrong
from asbuilt.commands.reply import for_machines, say, tell
from asbuilt.commands.session import NOTHING, EditSession, finish
from asbuilt.edits.review import EditedSite, edited_site, review_edit
from asbuilt.facts.test_results import check_link_results
from asbuilt.lists.results import Results, results_bytes
from asbuilt.problem import WorldError
from asbuilt.records.fields import KEY, KEY_RULE

SHOWN = 40


def import_tests(desk: EditSession, file: Path, results: Results, kept_as: str | None) -> int:
    """Write what is new to tests/NAME.csv, as it was measured; say where it and the records
    differ."""
    refuse_wrong(file, results.wrong, TAKE_IN)
    for note in results.notes:
        say(f"{file.name}: {note}")
    counts = (
        ("new", len(results.rows)),
        ("recorded already", results.known),
        ("left out", results.left_out),
    )
    tell(preview=dict(counts))
    if not for_machines():
        say(", ".join(f"{what}: {n}" for what, n in counts if n) or "The list holds nothing.")
    if not results.rows:
        return finish(desk, {}, NOTHING)
    path = f"tests/{_name(file, kept_as)}.csv"
    if path in desk.texts:
        raise WorldError(f"there is a {path} already; say with --as under which name to keep these")
    new = {path: results_bytes(results.rows)}
    after = edited_site(desk.key, {**desk.texts, **new}, desk.folder)
    _tell_doubts(after, path, desk.folder)
    return finish(desk, new, review_edit(desk.view, after))


def _name(file: Path, kept_as: str | None) -> str:
    name = kept_as or re.sub(r"[^A-Za-z0-9._+-]+", "-", file.stem).strip("-._+")[:40].rstrip("-._+")
    if not KEY.fullmatch(name):
        raise WorldError(f"“{name}” can’t name a file of results; say one with --as: {KEY_RULE}")
    return name


def _tell_doubts(after: EditedSite, path: str, folder: str) -> None:
    """What the new results say otherwise than the records do."""
    if after.site is None:
        return
    lines = [
        f"{doubt.message}; {doubt.hint}"
        for key in after.site.tests_of
        if key in after.site.outlets or key in after.site.backbones
        for held in check_link_results(after.site, key).tests
        if held.test.raw.path == f"{folder}/{path}"
        for doubt in held.remarks
    ]
    tell(doubts=lines)
    if for_machines():
        return
    for line in lines[:SHOWN]:
        say(line)
    if len(lines) > SHOWN:
        say(f"and {len(lines) - SHOWN} more")
