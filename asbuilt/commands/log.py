"""The commands that tell what changed."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import click

from asbuilt.changes import output
from asbuilt.changes.compare import compare
from asbuilt.changes.log import Entry
from asbuilt.changes.log_lines import LogLine, lines_of_changes
from asbuilt.changes.output import LogFormat
from asbuilt.commands.completion import site_keys
from asbuilt.history.at_revision import state_at
from asbuilt.io import git
from asbuilt.io.files import choose_sites
from asbuilt.io.transaction import records_around
from asbuilt.problem import WorldError
from asbuilt.publish import histories

_FORM = click.option(
    "--format",
    "form",
    type=click.Choice([form.value for form in LogFormat]),
    default=LogFormat.TEXT.value,
)


def register(main: click.Group) -> None:
    main.add_command(log)
    main.add_command(diff)


@click.command()
@click.argument("sites", metavar="[SITE]...", nargs=-1, shell_complete=site_keys)
@click.option("--since", "day", metavar="DATE", help="Only from this day on, like 2025-03-07.")
@click.option("--of", "thing", metavar="OUTLET", help="Only what concerns this outlet or thing.")
@_FORM
def log(sites: tuple[str, ...], day: str | None, thing: str | None, form: str) -> int:
    """Show what changed in these sites, or in all, newest first."""
    top = records_around(Path.cwd())
    keys = choose_sites(top, sites)
    first = _day(day)
    found: dict[str, list[Entry]] = {}
    found_histories = histories.histories_of(top, keys)
    for key in keys:
        entries = output.since(found_histories[key].entries, first)
        if thing is not None:
            entries = [entry for entry in entries if output.lines_about(entry, thing)]
        found[key] = entries
    if form == LogFormat.JSON:
        click.echo(output.log_json(found))
    elif form == LogFormat.MARKDOWN:
        click.echo(output.log_markdown(found))
    else:
        for key, entries in found.items():
            for notice in found_histories[key].notices:
                click.echo(notice, err=True)
            for line in output.log_lines(key, entries):
                click.echo(line)
            if not entries:
                click.echo("  nothing")
    return 0


@click.command()
@click.argument("words", metavar="REV1 REV2 [SITE]...", nargs=-1, required=True)
@_FORM
def diff(words: tuple[str, ...], form: str) -> int:
    """Show what differs between two revisions of these sites, or of all.

    REV1...REV2 stands for what REV2 has changed since the two parted.
    """
    top = records_around(Path.cwd())
    above, inside = histories.place_in_git(top)
    if above is None:
        raise WorldError("these records aren’t kept in git, so there are no revisions to compare")
    old, new, sites = _revisions(above, words)
    told: dict[str, tuple[LogLine, ...]] = {}
    for key in _sites_at(above, inside, (old, new), sites):
        folder = f"{inside}/{key}"
        before, unread = state_at(above, folder, old)
        after, unread_now = state_at(above, folder, new)
        for problem in (*unread, *unread_now):
            click.echo(f"{key}: can’t be read: {problem}", err=True)
        found = lines_of_changes(compare(before, after), before, after)
        if found:
            told[key] = found
    if form == LogFormat.JSON:
        click.echo(output.diff_json(told))
    elif form == LogFormat.MARKDOWN:
        click.echo(output.diff_markdown(told))
    else:
        for key, sentences in told.items():
            for line in output.diff_lines(key, sentences):
                click.echo(line)
        if not told:
            click.echo("No change in what the records mean.")
    return 0


def _day(text: str | None) -> dt.date | None:
    try:
        return dt.date.fromisoformat(text) if text else None
    except ValueError:
        raise WorldError(f"“{text}” is no date; write it like 2025-03-07") from None


def _revisions(top: Path, words: tuple[str, ...]) -> tuple[str, str, tuple[str, ...]]:
    """The ids of the two revisions named, and the sites named after them."""
    for dots in ("...", ".."):
        one, found, other = words[0].partition(dots)
        if found:
            one, other = one or "HEAD", other or "HEAD"
            start = git.merge_base(top, one, other) if dots == "..." else one
            return git.revision(top, start).id, git.revision(top, other).id, words[1:]
    if len(words) < 2:
        raise WorldError("name two revisions, like “main HEAD” or “main...HEAD”")
    return git.revision(top, words[0]).id, git.revision(top, words[1]).id, words[2:]


def _sites_at(
    top: Path, inside: str, revisions: tuple[str, str], asked: tuple[str, ...]
) -> list[str]:
    """The sites there are at either revision; those asked for, if any are."""
    found: set[str] = set()
    for revision in revisions:
        found.update(path.partition("/")[0] for path in git.tree(top, revision, inside))
    for key in asked:
        if key not in found:
            raise WorldError(f"there is no site “{key}” at either revision in {inside}")
    return sorted(asked or found)
