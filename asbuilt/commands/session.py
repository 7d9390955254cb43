"""What the commands that edit records share: a site on the desk; what would change, told and
checked; all of it written, or nothing.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from typing import Any

import click
from rich.text import Text

from asbuilt.changes import output
from asbuilt.checks import report
from asbuilt.commands.completion import site_keys
from asbuilt.commands.reply import answering, for_machines, say, tell
from asbuilt.commands.terminal import out
from asbuilt.edits.apply import edit
from asbuilt.edits.jobs import (
    typed_value,
)
from asbuilt.edits.requests import Wish
from asbuilt.edits.review import EditedSite, EditReview, edited_site, review_edit
from asbuilt.edits.yaml_values import Said
from asbuilt.io import git, git_write, transaction
from asbuilt.io.files import SITES, choose_sites, find_top, read_site_files
from asbuilt.model.site import Site
from asbuilt.problem import WorldError, suggestion
from asbuilt.records.fields import read_day
from asbuilt.records.kinds import KINDS

SHOWN = 20  # problems told; of more there is only the number
NOTHING = EditReview((), (), ())


@dataclass(frozen=True, slots=True)
class EditSession:
    """A site as it lies on the desk: its texts as read, and how the command was asked to end."""

    top: Path
    key: str
    texts: Mapping[str, bytes]
    view: EditedSite
    dry_run: bool
    commit: bool
    job: str | None

    @property
    def site(self) -> Site:
        assert self.view.site is not None
        return self.view.site

    @property
    def folder(self) -> str:
        return f"{SITES}/{self.key}"


def open_session(
    site: str, dry_run: bool = False, commit: bool = False, job: str | None = None
) -> EditSession:
    """The site, read; what an earlier command was stopped in is finished first."""
    top = find_top(Path.cwd())
    for path in transaction.recover(top):
        say(f"finished what was cut short: {path}")
    (key,) = choose_sites(top, [site])
    found = read_site_files(top, key)
    if found.problems:
        raise WorldError(f"{report.problem_line(found.problems[0])}; fix that first")
    view = edited_site(key, found.texts, f"{SITES}/{key}")
    if view.site is None:
        raise WorldError(f"{SITES}/{key} can’t be read; “asbuilt check {key}” says why")
    return EditSession(top, key, found.texts, view, dry_run, commit, job)


def carry_out(desk: EditSession, wishes: Sequence[Wish]) -> int:
    """Tell what changes, check it, write it."""
    if not wishes:
        return finish(desk, {}, NOTHING)
    new = edit(desk.texts, wishes)
    verdict = review_edit(desk.view, edited_site(desk.key, {**desk.texts, **new}, desk.folder))
    return finish(desk, new, verdict)


def finish(desk: EditSession, new: Mapping[str, bytes], verdict: EditReview) -> int:
    sentences = [told.text for told in verdict.lines]
    paths = {f"{desk.folder}/{path}": data for path, data in new.items()}
    tell(
        site=desk.key,
        dry_run=desk.dry_run,
        changes=output.plain(verdict.lines),
        problems=[
            report.problem_as_dict(problem) for problem in (*verdict.errors, *verdict.remarks)
        ],
        files=sorted(paths),
        written=False,
        committed=False,
    )
    if not for_machines():
        _tell_verdict(verdict)
    if verdict.errors:
        raise WorldError("the records would not be sound any more; nothing was written")
    if not new:
        say("Nothing changes.")
        return 0
    if desk.dry_run:
        say(f"Dry run: nothing was written. These files would change: {', '.join(sorted(paths))}")
        return 0
    if desk.commit:
        _may_commit(desk.top, paths)
    before = {f"{desk.folder}/{path}": data for path, data in desk.texts.items()}
    transaction.write_all(
        desk.top,
        paths,
        {path: before[path] for path in paths if path in before},
        lambda: read_site_files(desk.top, desk.key).texts == desk.texts,
    )
    tell(written=True)
    for path in sorted(paths) if not for_machines() else ():
        say(f"wrote {path}")
    if desk.commit:
        try:
            git_write.commit_files(desk.top, sorted(paths), _message(desk, sentences))
        except WorldError as error:
            raise WorldError(f"the records are written, but not committed: {error}") from error
        tell(committed=True)
        if not for_machines():
            say("committed")
    return 0


def _tell_verdict(verdict: EditReview) -> None:
    for told in verdict.lines:
        say(told.text)
        for detail in told.details if len(told.changes) == 1 else ():
            say(f"    {detail}")
    wrong = (*verdict.errors, *verdict.remarks)
    for problem in wrong[:SHOWN]:
        colour = "red" if problem in verdict.errors else "yellow"
        out().print(Text(report.problem_line(problem), colour))
    if len(wrong) > SHOWN:
        say(f"and {len(wrong) - SHOWN} more")


def _may_commit(top: Path, paths: Iterable[str]) -> None:
    work_tree = git.top_of(top)
    if work_tree is None:
        raise WorldError("there is no git repository to commit to; nothing was written")
    within = top.resolve().relative_to(work_tree.resolve()).as_posix()
    prefix = "" if within == "." else f"{within}/"
    unsaved = set(git.unsaved(top, SITES))
    mixed = sorted(path for path in paths if prefix + path in unsaved)
    if mixed:
        raise WorldError(
            f"{', '.join(mixed)}: changes that aren’t committed yet would be committed with this "
            "one; commit them first, or leave --commit out; nothing was written"
        )


def _message(desk: EditSession, sentences: Sequence[str]) -> str:
    """The first sentence as subject, all of them below where there are more, the job as trailer."""
    subject = sentences[0].rstrip(".") if sentences else "layout of the records"
    if len(sentences) > 1:
        subject = f"{subject} and {len(sentences) - 1} more"
    subject = f"{desk.key}: {subject}"
    parts = [subject if len(subject) < 73 else f"{subject[:70].rsplit(' ', 1)[0]} …"]
    if len(sentences) > 1 or len(subject) > 72:
        parts.append("\n".join(sentences))
    if desk.job:
        parts.append(f"Job: {desk.job}")
    return "\n\n".join(parts) + "\n"


def facts(kind: str, words: Sequence[str]) -> dict[str, str]:
    """FIELD=VALUE words; a field's name may be typed with hyphens for its spaces."""
    specs = KINDS[kind].specs
    found: dict[str, str] = {}
    for word in words:
        name, equals, value = word.partition("=")
        name = name.strip()
        name = name if name in specs else name.replace("-", " ").replace("_", " ")
        if not equals:
            raise WorldError(f"“{word}” is no FIELD=VALUE")
        if name not in specs:
            known = f"fields: {', '.join(sorted(specs))}"
            raise WorldError(f"a {kind} has no “{name}”; {suggestion(name, specs, known)}")
        found[name] = value.strip()
    return found


def given(kind: str, words: Sequence[str]) -> dict[str, Said]:
    """The facts of a new record: lists split at their commas, nothing empty."""
    return {
        name: typed_value(kind, name, text) for name, text in facts(kind, words).items() if text
    }


def command_for(command: Callable[..., Any]) -> Callable[..., Any]:
    """SITE first; --job, --dry-run, --commit and --format last."""

    @click.argument("site", metavar="SITE", shell_complete=site_keys)
    @click.option("--job", "for_job", metavar="KEY", help="The job this is done for.")
    @click.option("--dry-run", is_flag=True, help="Only say what would change.")
    @click.option("--commit", is_flag=True, help="Commit it, with the job named.")
    @answering
    @wraps(command)
    def wrapped(site: str, for_job: str | None, dry_run: bool, commit: bool, **rest: Any) -> Any:
        return command(open_session(site, dry_run, commit, for_job), **rest)

    return wrapped


def day(on: str | None) -> str:
    if on is None:
        return dt.date.today().isoformat()  # noqa: DTZ011 - the engineer's own day is meant
    if read_day(on) is None:
        raise WorldError(f"“{on}” is no date; write it like 2025-03-07")
    return on
