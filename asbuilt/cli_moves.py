"""The commands for moves, adds and changes. Each says what it would change, checks the result and
writes all of it or nothing; facts are typed as in the records, FIELD=VALUE.

Exit codes are those of the command as a whole: 1 when a request can't be met.
"""

from __future__ import annotations

import datetime as dt
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from typing import Any, TypeVar

import click
from rich.console import Console
from rich.text import Text

from asbuilt import journal, repo, reports
from asbuilt.escape import terminal
from asbuilt.files import SITES, choose_sites, find_top, read_site_files
from asbuilt.moves.editing import edit
from asbuilt.moves.mounting import item_of, remove_item, rerack, swap
from asbuilt.moves.outlets import (
    add_outlets,
    move_outlet,
    outlet_of,
    phones,
    relabel,
    remove_outlet,
    terminate,
)
from asbuilt.moves.patching import patch, port_of, unpatch
from asbuilt.moves.verdict import Verdict, View, judge, view_of
from asbuilt.moves.wishes import Refusal, Wish
from asbuilt.moves.work import (
    EMERGENCY,
    advance,
    ask_for,
    change,
    clear_finding,
    note_in_job,
    open_finding,
    typed_value,
)
from asbuilt.moves.written import Said
from asbuilt.problem import WorldError, suggestion
from asbuilt.records.fields import read_day
from asbuilt.records.kind import Record
from asbuilt.records.kinds import KINDS
from asbuilt.site import Site

F = TypeVar("F", bound=Callable[..., Any])


def register(group: click.Group) -> None:
    """Hang the commands into the group of all commands."""
    for command in (
        add, move, relabel_command, change_command, patch_command, unpatch_command,
        terminate_command, swap_command, rerack_command, remove, finding, job,
    ):  # fmt: skip
        group.add_command(command)


# What every command does


@dataclass(frozen=True, slots=True)
class Desk:
    """A site as it lies on the desk: its texts as read, and how the command was asked to end."""

    top: Path
    key: str
    texts: Mapping[str, bytes]
    view: View
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


def desk_of(site: str, dry_run: bool, commit: bool, job: str | None) -> Desk:
    """The site, read; what an earlier command was stopped in is finished first."""
    top = find_top(Path.cwd())
    for path in journal.recover(top):
        _say(f"finished what was cut short: {path}")
    (key,) = choose_sites(top, [site])
    found = read_site_files(top, key)
    if found.problems:
        raise WorldError(f"{reports.line_of(found.problems[0])}; mend that first")
    view = view_of(key, found.texts, f"{SITES}/{key}")
    if view.site is None:
        raise WorldError(f"{SITES}/{key} can’t be read; “asbuilt check {key}” says why")
    return Desk(top, key, found.texts, view, dry_run, commit, job)


def carry_out(desk: Desk, wishes: Sequence[Wish]) -> int:
    """Tell what changes, check it, write it."""
    new = edit(desk.texts, wishes)
    verdict = judge(desk.view, view_of(desk.key, {**desk.texts, **new}, desk.folder))
    return finish(desk, new, verdict)


def finish(desk: Desk, new: Mapping[str, bytes], verdict: Verdict) -> int:
    sentences = [told.text for told in verdict.told]
    for told in verdict.told:
        _say(told.text)
        for detail in told.details if len(told.changes) == 1 else ():
            _say(f"    {detail}")
    for problem in (*verdict.errors, *verdict.remarks):
        _out().print(
            Text(reports.line_of(problem), "red" if problem in verdict.errors else "yellow")
        )
    if verdict.errors:
        raise WorldError("the records would not be sound any more; nothing was written")
    if not new:
        _say("Nothing changes.")
        return 0
    paths = {f"{desk.folder}/{path}": data for path, data in new.items()}
    if desk.dry_run:
        _say(f"Dry run: nothing was written. It would change {', '.join(sorted(paths))}")
        return 0
    if desk.commit:
        _may_commit(desk.top, paths)
    before = {f"{desk.folder}/{path}": data for path, data in desk.texts.items()}
    journal.write_all(desk.top, paths, {path: before[path] for path in paths if path in before})
    for path in sorted(paths):
        _say(f"wrote {path}")
    if desk.commit:
        _commit(desk.top, sorted(paths), _message(desk, sentences))
        _say("committed")
    return 0


def _may_commit(top: Path, paths: Iterable[str]) -> None:
    work_tree = repo.top_of(top)
    if work_tree is None:
        raise WorldError("there is no git repository to commit to; nothing was written")
    within = top.resolve().relative_to(work_tree.resolve()).as_posix()
    prefix = "" if within == "." else f"{within}/"
    unsaved = set(repo.unsaved(top, SITES))
    mixed = sorted(path for path in paths if prefix + path in unsaved)
    if mixed:
        raise WorldError(
            f"{', '.join(mixed)}: changes that aren’t committed yet would be committed with this "
            "one; commit them first, or leave --commit out; nothing was written"
        )


def _commit(top: Path, paths: Sequence[str], message: str) -> None:
    """Commit these files and nothing else, whatever is staged beside them."""
    repo._told(top, "add", "--", *paths)
    repo._told(top, "commit", "--quiet", "--file=-", "--", *paths, told=message.encode())


def _message(desk: Desk, sentences: Sequence[str]) -> str:
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


def emergency_location(desk: Desk, keys: Sequence[str], answer: str | None) -> list[Wish]:
    """Asks after the emergency-call location of phones that move; the answer goes into the job."""
    moved = phones(desk.site, keys)
    if moved and answer is None:
        question = f"Emergency-call location of {', '.join(moved)} updated?"
        if not sys.stdin.isatty():
            raise WorldError(
                f"a phone moves with {', '.join(moved)}; say with --emergency-location whether "
                f"the location an emergency call gives was updated: {', '.join(EMERGENCY)}"
            )
        answer = click.prompt(question, type=click.Choice(EMERGENCY))
    if answer is not None and not desk.job:
        _say(f"Emergency-call location: {answer} (kept only in a job’s record; none was named)")
    return note_in_job(desk.site, desk.job, keys, answer) if desk.job else []


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


@contextmanager
def _refusals() -> Iterator[None]:
    try:
        yield
    except Refusal as refusal:
        raise WorldError(f"{refusal}") from refusal


def _ends(command: Callable[..., Any]) -> Callable[..., Any]:
    """SITE first; --job, --dry-run and --commit last; refusals told as one sentence."""

    @click.argument("site", metavar="SITE")
    @click.option("--job", "for_job", metavar="KEY", help="The job this is done for.")
    @click.option("--dry-run", is_flag=True, help="Only say what would change.")
    @click.option("--commit", is_flag=True, help="Commit it, with the job named.")
    @wraps(command)
    def wrapped(site: str, for_job: str | None, dry_run: bool, commit: bool, **rest: Any) -> Any:
        with _refusals():
            return command(desk_of(site, dry_run, commit, for_job), **rest)

    return wrapped


_FACTS = click.argument("words", metavar="[FIELD=VALUE]...", nargs=-1)
_ON = click.option("--on", metavar="DATE", help="When; today, unless it is said.")
_EMERGENCY = click.option(
    "--emergency-location",
    "emergency",
    type=click.Choice(EMERGENCY),
    help="Whether the emergency-call location of a moved phone was updated.",
)


def _day(on: str | None) -> str:
    if on is None:
        return dt.date.today().isoformat()  # noqa: DTZ011 - the engineer's own day is meant
    if read_day(on) is None:
        raise WorldError(f"“{on}” is no date; write it like 2025-03-07")
    return on


def _noted(desk: Desk, keys: Sequence[str]) -> list[Wish]:
    return note_in_job(desk.site, desk.job, keys) if desk.job else []


# Outlets


@click.command()
@_ends
@click.argument("room", metavar="ROOM")
@_FACTS
@click.option("--count", default=1, show_default=True, help="How many drops.")
@click.option("--panel", metavar="ITEM", help="The panel they end at: 1A/A.")
@click.option("--enclosure", metavar="KEY", help="The enclosure they end in.")
@click.option("--port", metavar="PORT", help="The first panel port: 1A/A/07.")
@click.option("--label", help="The label, when the site’s scheme doesn’t give it.")
def add(
    desk: Desk,
    room: str,
    words: tuple[str, ...],
    count: int,
    panel: str | None,
    enclosure: str | None,
    port: str | None,
    label: str | None,
) -> int:
    """Add outlets to a ROOM: on the next free panel ports, with the next free labels."""
    run = add_outlets(
        desk.site,
        room,
        count,
        panel=item_of(desk.site, panel).key if panel else None,
        enclosure=enclosure,
        port=port_of(desk.site, port) if port else None,
        label=label,
        fields=given("outlet", words),
    )
    for taken, text in run.passed_over:
        _say(f"passed over port {taken}: its label {text} is in use elsewhere")
    for number, bundle in enumerate(run.bundles, start=1):
        if count > 1:
            ports = f"{bundle[0].port} to {bundle[-1].port}"
            _say(f"bundle {number}: {len(bundle)} cables, {ports}")
    keys = [place.key for place in run.places]
    return carry_out(desk, [*run.wishes, *_noted(desk, keys)])


@click.command()
@_ends
@click.argument("outlet", metavar="OUTLET")
@click.argument("room", metavar="ROOM")
@_FACTS
@_ON
@_EMERGENCY
def move(
    desk: Desk,
    outlet: str,
    room: str,
    words: tuple[str, ...],
    on: str | None,
    emergency: str | None,
) -> int:
    """Move an OUTLET to another ROOM, or to another place in it (plate=…)."""
    key = outlet_of(desk.site, outlet).key
    told = facts("outlet", words)
    wishes = move_outlet(
        desk.site,
        key,
        room,
        plate=told.pop("plate", None),
        length=told.pop("length", None),
        terminated=told.pop("terminated", _day(on)),
    )
    wishes += change(desk.site.outlets[key], {name: text or None for name, text in told.items()})
    return carry_out(desk, [*wishes, *emergency_location(desk, [key], emergency)])


@click.command("relabel")
@_ends
@click.argument("outlet", metavar="OUTLET")
@click.argument("label", metavar="LABEL")
@click.option("--at-panel", metavar="TEXT", help="The text at the panel’s end, if it differs.")
def relabel_command(desk: Desk, outlet: str, label: str, at_panel: str | None) -> int:
    """Say that another LABEL is on an OUTLET’s faceplate."""
    key = outlet_of(desk.site, outlet).key
    return carry_out(desk, relabel(desk.site, key, label, at_panel) + _noted(desk, [key]))


@click.command("terminate")
@_ends
@click.argument("outlet", metavar="OUTLET")
@click.argument("ports", metavar="PORT...", nargs=-1, required=True)
@click.option("--leave-cord", is_flag=True, help="The cord stays on the old port.")
@_ON
def terminate_command(
    desk: Desk, outlet: str, ports: tuple[str, ...], leave_cord: bool, on: str | None
) -> int:
    """Re-terminate an OUTLET’s cable on another panel PORT; its cord goes with it."""
    key = outlet_of(desk.site, outlet).key
    to = [port_of(desk.site, port) for port in ports]
    wishes = terminate(desk.site, key, to, terminated=_day(on), leave_cord=leave_cord)
    return carry_out(desk, wishes + _noted(desk, [key]))


# Cords


@click.command("patch")
@_ends
@click.argument("here", metavar="PORT")
@click.argument("there", metavar="PORT")
@_FACTS
def patch_command(desk: Desk, here: str, there: str, words: tuple[str, ...]) -> int:
    """Patch a PORT to another. A cord that is on the first already goes to the second; cord=0.5 m
    says how long it is."""
    ports = port_of(desk.site, here), port_of(desk.site, there)
    return carry_out(desk, patch(desk.site, *ports, given("cord", words)))


@click.command("unpatch")
@_ends
@click.argument("port", metavar="PORT")
def unpatch_command(desk: Desk, port: str) -> int:
    """Take the cord on a PORT out."""
    return carry_out(desk, unpatch(desk.site, port_of(desk.site, port)))


# What is mounted


@click.command("swap")
@_ends
@click.argument("item", metavar="ITEM")
@_FACTS
@click.option("--as", "name", metavar="KEY", help="What the new one is called, if not the same.")
@click.option("--at", metavar="U", help="Its rack units, if not the same: 9-10.")
def swap_command(
    desk: Desk, item: str, words: tuple[str, ...], name: str | None, at: str | None
) -> int:
    """Swap a panel or switch for another: ports=48 … What ends at the old one ends at the new."""
    old = item_of(desk.site, item)
    wishes = swap(desk.site, old.key, given(old.role, words), name=name, at=at)
    return carry_out(desk, wishes)


@click.command("rerack")
@_ends
@click.argument("item", metavar="ITEM")
@click.argument("units", metavar="[U]", required=False)
@click.option("--face", type=click.Choice(["front", "rear"]), help="The side, if not the same.")
@click.option("--enclosure", metavar="KEY", help="The enclosure, if not the same.")
@click.option("--as", "name", metavar="KEY", help="What it is called there, if not the same.")
def rerack_command(
    desk: Desk,
    item: str,
    units: str | None,
    face: str | None,
    enclosure: str | None,
    name: str | None,
) -> int:
    """Mount an ITEM at other rack units (9-10), on the other face, in another enclosure; without
    units, where it takes none."""
    key = item_of(desk.site, item).key
    return carry_out(desk, rerack(desk.site, key, units, face=face, enclosure=enclosure, name=name))


@click.command()
@_ends
@click.argument("key", metavar="KEY")
@click.option("--leave-cord", is_flag=True, help="The cord on the outlet’s port stays.")
def remove(desk: Desk, key: str, leave_cord: bool) -> int:
    """Remove an outlet with its cable, or a mounted thing (1A/SW2) with its cords."""
    if "/" in key and key not in desk.site.outlets:
        return carry_out(desk, remove_item(desk.site, item_of(desk.site, key).key))
    outlet = outlet_of(desk.site, key).key
    return carry_out(desk, remove_outlet(desk.site, outlet, leave_cord=leave_cord))


# Any field


@click.command("change")
@_ends
@click.argument("kind", metavar="KIND")
@click.argument("key", metavar="KEY")
@click.argument("words", metavar="FIELD=VALUE...", nargs=-1, required=True)
def change_command(desk: Desk, kind: str, key: str, words: tuple[str, ...]) -> int:
    """Change FIELDs of a record (outlet 1A-A01, panel 1A/A, room 104 …); FIELD= takes one out."""
    kind = kind.replace("-", " ")
    if kind not in KINDS:
        raise WorldError(f"there is no “{kind}”; {suggestion(kind, KINDS, ', '.join(KINDS))}")
    record = _record(desk, kind, key)
    told = {name: text or None for name, text in facts(kind, words).items()}
    return carry_out(desk, change(record, told))


def _record(desk: Desk, kind: str, key: str) -> Record:
    if kind == "outlet":
        return outlet_of(desk.site, key)
    found = desk.view.records.by_kind[kind]
    if key not in found:
        raise WorldError(f"there is no {kind} “{key}”; {suggestion(key, found)}")
    return found[key]


# Findings


@click.group()
def finding() -> None:
    """Open and clear findings."""


@finding.command("open")
@_ends
@click.argument("what", metavar="WHAT")
@_FACTS
@click.option("--by", metavar="NAME", required=True, help="Who found it.")
@_ON
def finding_open(desk: Desk, what: str, words: tuple[str, ...], by: str, on: str | None) -> int:
    """Record WHAT is wrong: bad=deficient, enclosure=1A, outlet=1A-A01 … say where and how bad."""
    told = {**given("finding", words), "found on": _day(on), "found by": by}
    _, wishes = open_finding(desk.site, what, told)
    return carry_out(desk, wishes)


@finding.command("clear")
@_ends
@click.argument("key", metavar="FINDING")
@_FACTS
@click.option("--by", metavar="NAME", required=True, help="Who cleared it.")
@_ON
def finding_clear(desk: Desk, key: str, words: tuple[str, ...], by: str, on: str | None) -> int:
    """Record that a FINDING is cleared; evidence=… says what shows it."""
    told = {**given("finding", words), "cleared on": _day(on), "cleared by": by}
    if desk.job:
        told["job"] = desk.job
    return carry_out(desk, clear_finding(desk.site, key, told))


# Jobs


@click.group()
def job() -> None:
    """Carry a job from asked for to verified."""


_BY = click.option("--by", metavar="NAME", required=True, help="Who.")


@job.command("ask")
@_ends
@click.argument("title", metavar="TITLE")
@_FACTS
@_BY
@_ON
def job_ask(desk: Desk, title: str, words: tuple[str, ...], by: str, on: str | None) -> int:
    """Record that somebody asks for a job: TITLE says what, in a line."""
    told = {**given("job", words), "asked by": by, "asked on": _day(on)}
    _, wishes = ask_for(desk.site, title, told)
    return carry_out(desk, wishes)


def _advance(desk: Desk, key: str, state: str, words: Sequence[str], **told: Said) -> int:
    said = {**given("job", words), **{k.replace("_", " "): v for k, v in told.items()}}
    return carry_out(desk, advance(desk.site, key, state, said))


@job.command("authorise")
@_ends
@click.argument("key", metavar="JOB")
@_FACTS
@_BY
def job_authorise(desk: Desk, key: str, words: tuple[str, ...], by: str) -> int:
    """Record who said yes to a JOB."""
    return _advance(desk, key, "authorised", words, authorised_by=by)


@job.command("plan")
@_ends
@click.argument("key", metavar="JOB")
@click.argument("window", metavar="WINDOW")
@_FACTS
def job_plan(desk: Desk, key: str, window: str, words: tuple[str, ...]) -> int:
    """Record when a JOB is planned for: "2025-03-07 18:00 to 22:00"."""
    return _advance(desk, key, "planned", words, window=window)


@job.command("done")
@_ends
@click.argument("key", metavar="JOB")
@_FACTS
@_BY
@_ON
def job_done(desk: Desk, key: str, words: tuple[str, ...], by: str, on: str | None) -> int:
    """Record that a JOB is done, and by whom."""
    return _advance(desk, key, "done", words, done_by=by, done_on=_day(on))


@job.command("verify")
@_ends
@click.argument("key", metavar="JOB")
@_FACTS
@_BY
@_ON
@_EMERGENCY
def job_verify(
    desk: Desk, key: str, words: tuple[str, ...], by: str, on: str | None, emergency: str | None
) -> int:
    """Record that every link of a JOB was checked, and by whom."""
    told: dict[str, Said] = {"verified_by": by, "verified_on": _day(on)}
    if emergency:
        told["emergency_location"] = emergency
    return _advance(desk, key, "verified", words, **told)


@job.command("refuse")
@_ends
@click.argument("key", metavar="JOB")
@click.argument("because", metavar="REASON")
def job_refuse(desk: Desk, key: str, because: str) -> int:
    """Record that a JOB was refused, and the REASON."""
    return _advance(desk, key, "refused", (), refused_because=because)


def _out() -> Console:
    return Console(soft_wrap=True, highlight=False, markup=False, emoji=False)


def _say(text: str) -> None:
    _out().print(Text(terminal(text) if not text.startswith(" ") else f"    {terminal(text)}"))
