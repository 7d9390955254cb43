"""The commands for moves, adds and changes. Each says what it would change, checks the result and
writes all of it or nothing; facts are typed as in the records, FIELD=VALUE.

Exit codes are those of the command as a whole: 1 when a request can't be met.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence

import click

from asbuilt.commands.reply import for_machines, say
from asbuilt.commands.session import EditSession, carry_out, command_for, day, facts, given
from asbuilt.edits.jobs import (
    EMERGENCY,
    RECORDED,
    advance,
    ask_for,
    change,
    clear_finding,
    new_record,
    note_in_job,
    open_finding,
)
from asbuilt.edits.mounting import item_of, remove_item, rerack, swap
from asbuilt.edits.outlets import (
    add_outlets,
    move_outlet,
    outlet_of,
    phones,
    relabel,
    remove_outlet,
    terminate,
)
from asbuilt.edits.patching import patch, port_of, unpatch
from asbuilt.edits.requests import RemoveRecord, Wish
from asbuilt.edits.yaml_values import Said
from asbuilt.problem import WorldError, suggestion
from asbuilt.records.kind import Record
from asbuilt.records.kinds import KINDS, REFERABLE


def register(group: click.Group) -> None:
    """Hang the commands into the group of all commands."""
    for command in (
        add, move, relabel_command, change_command, patch_command, unpatch_command,
        terminate_command, swap_command, rerack_command, record_command, remove, finding, job,
    ):  # fmt: skip
        group.add_command(command)


# What several commands ask for


def emergency_location(desk: EditSession, keys: Sequence[str], answer: str | None) -> list[Wish]:
    """Asks after the emergency-call location of phones that move; the answer goes into the job."""
    moved = phones(desk.site, keys)
    if moved and answer is None:
        question = f"Emergency-call location of {', '.join(moved)} updated?"
        if for_machines() or not sys.stdin.isatty():
            raise WorldError(
                f"a phone moves with {', '.join(moved)}; say with --emergency-location whether "
                f"the location an emergency call gives was updated: {', '.join(EMERGENCY)}"
            )
        answer = click.prompt(question, type=click.Choice(EMERGENCY))
    if answer is not None and not desk.job:
        say(f"Emergency-call location: {answer} (kept only in a job’s record; none was named)")
    return note_in_job(desk.site, desk.job, keys, answer) if desk.job else []


_FACTS = click.argument("words", metavar="[FIELD=VALUE]...", nargs=-1)
_ON = click.option("--on", metavar="DATE", help="When; today, unless it is said.")
_EMERGENCY = click.option(
    "--emergency-location",
    "emergency",
    type=click.Choice(EMERGENCY),
    help="Whether the emergency-call location of a moved phone was updated.",
)


def _noted(desk: EditSession, keys: Sequence[str]) -> list[Wish]:
    return note_in_job(desk.site, desk.job, keys) if desk.job else []


# Outlets


@click.command()
@command_for
@click.argument("room", metavar="ROOM")
@_FACTS
@click.option("--count", default=1, show_default=True, help="How many drops.")
@click.option("--panel", metavar="ITEM", help="The panel they end at: 1A/A.")
@click.option("--enclosure", metavar="KEY", help="The enclosure they end in.")
@click.option("--port", metavar="PORT", help="The first panel port: 1A/A/07.")
@click.option("--label", help="The label, when the site’s scheme doesn’t give it.")
def add(
    desk: EditSession,
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
        say(f"passed over port {taken}: its label {text} is in use elsewhere")
    for number, bundle in enumerate(run.bundles, start=1):
        if count > 1:
            ports = f"{bundle[0].port} to {bundle[-1].port}"
            say(f"bundle {number}: {len(bundle)} cables, {ports}")
    keys = [place.key for place in run.places]
    return carry_out(desk, [*run.wishes, *_noted(desk, keys)])


@click.command()
@command_for
@click.argument("outlet", metavar="OUTLET")
@click.argument("room", metavar="ROOM")
@_FACTS
@_ON
@_EMERGENCY
def move(
    desk: EditSession,
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
        terminated=told.pop("terminated", day(on)),
    )
    wishes += change(desk.site.outlets[key], {name: text or None for name, text in told.items()})
    return carry_out(desk, [*wishes, *emergency_location(desk, [key], emergency)])


@click.command("relabel")
@command_for
@click.argument("outlet", metavar="OUTLET")
@click.argument("label", metavar="LABEL")
@click.option("--at-panel", metavar="TEXT", help="The text at the panel’s end, if it differs.")
def relabel_command(desk: EditSession, outlet: str, label: str, at_panel: str | None) -> int:
    """Record another LABEL on an OUTLET’s faceplate."""
    key = outlet_of(desk.site, outlet).key
    return carry_out(desk, relabel(desk.site, key, label, at_panel) + _noted(desk, [key]))


@click.command("terminate")
@command_for
@click.argument("outlet", metavar="OUTLET")
@click.argument("ports", metavar="PORT...", nargs=-1, required=True)
@click.option("--leave-cord", is_flag=True, help="The cord stays on the old port.")
@_ON
def terminate_command(
    desk: EditSession, outlet: str, ports: tuple[str, ...], leave_cord: bool, on: str | None
) -> int:
    """Re-terminate an OUTLET’s cable on another panel PORT; its cord goes with it."""
    key = outlet_of(desk.site, outlet).key
    to = [port_of(desk.site, port) for port in ports]
    wishes = terminate(desk.site, key, to, terminated=day(on), leave_cord=leave_cord)
    return carry_out(desk, wishes + _noted(desk, [key]))


# Cords


@click.command("patch")
@command_for
@click.argument("here", metavar="PORT")
@click.argument("there", metavar="PORT")
@_FACTS
def patch_command(desk: EditSession, here: str, there: str, words: tuple[str, ...]) -> int:
    """Patch a PORT to another. A cord that is on the first already goes to the second; cord=0.5 m
    says how long it is."""
    ports = port_of(desk.site, here), port_of(desk.site, there)
    return carry_out(desk, patch(desk.site, *ports, given("cord", words)))


@click.command("unpatch")
@command_for
@click.argument("port", metavar="PORT")
def unpatch_command(desk: EditSession, port: str) -> int:
    """Remove the cord from a PORT."""
    return carry_out(desk, unpatch(desk.site, port_of(desk.site, port)))


# What is mounted


@click.command("swap")
@command_for
@click.argument("item", metavar="ITEM")
@_FACTS
@click.option("--as", "name", metavar="KEY", help="What the new one is called, if not the same.")
@click.option("--at", metavar="U", help="Its rack units, if not the same: 9-10.")
def swap_command(
    desk: EditSession, item: str, words: tuple[str, ...], name: str | None, at: str | None
) -> int:
    """Swap a panel or switch for another: ports=48 … What ends at the old one ends at the new."""
    old = item_of(desk.site, item)
    wishes = swap(desk.site, old.key, given(old.role, words), name=name, at=at)
    return carry_out(desk, wishes)


@click.command("rerack")
@command_for
@click.argument("item", metavar="ITEM")
@click.argument("units", metavar="[U]", required=False)
@click.option("--face", type=click.Choice(["front", "rear"]), help="The side, if not the same.")
@click.option("--enclosure", metavar="KEY", help="The enclosure, if not the same.")
@click.option("--as", "name", metavar="KEY", help="What it is called there, if not the same.")
def rerack_command(
    desk: EditSession,
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


@click.command("record")
@command_for
@click.argument("kind", metavar="KIND")
@click.argument("key", metavar="KEY")
@_FACTS
def record_command(desk: EditSession, kind: str, key: str, words: tuple[str, ...]) -> int:
    """Record something new: room 104 name=gym, enclosure 1A "height=12 U", panel 1A/A at=12
    ports=24 …"""
    kind = kind.replace("-", " ")
    if kind not in RECORDED:
        raise WorldError(f"a {kind} isn’t recorded so; {suggestion(kind, RECORDED)}")
    return carry_out(desk, new_record(desk.site, kind, key, given(kind, words)))


@click.command()
@command_for
@click.argument("words", metavar="[KIND] KEY", nargs=-1, required=True)
@click.option("--leave-cord", is_flag=True, help="The cord on the outlet’s port stays.")
def remove(desk: EditSession, words: tuple[str, ...], leave_cord: bool) -> int:
    """Remove an outlet with its cable, or a mounted thing (1A/SW2) with its cords; any other
    record with its KIND, once nothing names it (room 104)."""
    *kinds, key = words
    kind = " ".join(kinds).replace("-", " ")
    if kind and kind not in KINDS:
        raise WorldError(f"there is no “{kind}”; {suggestion(kind, KINDS, ', '.join(KINDS))}")
    if kind and kind not in ("outlet", *REFERABLE["item"]):
        return carry_out(desk, [RemoveRecord(kind, _record(desk, kind, key).key)])
    if "/" in key and key not in desk.site.outlets:
        return carry_out(desk, remove_item(desk.site, item_of(desk.site, key).key))
    outlet = outlet_of(desk.site, key).key
    return carry_out(desk, remove_outlet(desk.site, outlet, leave_cord=leave_cord))


# Any field


@click.command("change")
@command_for
@click.argument("kind", metavar="KIND")
@click.argument("key", metavar="KEY")
@click.argument("words", metavar="FIELD=VALUE...", nargs=-1, required=True)
def change_command(desk: EditSession, kind: str, key: str, words: tuple[str, ...]) -> int:
    """Change FIELDs of a record (outlet 1A-A01, panel 1A/A, room 104 …); FIELD= removes one."""
    kind = kind.replace("-", " ")
    if kind not in KINDS:
        raise WorldError(f"there is no “{kind}”; {suggestion(kind, KINDS, ', '.join(KINDS))}")
    record = _record(desk, kind, key)
    told = {name: text or None for name, text in facts(kind, words).items()}
    return carry_out(desk, change(record, told))


def _record(desk: EditSession, kind: str, key: str) -> Record:
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
@command_for
@click.argument("what", metavar="WHAT")
@_FACTS
@click.option("--by", metavar="NAME", required=True, help="Who found it.")
@_ON
def finding_open(
    desk: EditSession, what: str, words: tuple[str, ...], by: str, on: str | None
) -> int:
    """Record WHAT is wrong: severity=deficient, enclosure=1A, outlet=1A-A01 … and so on."""
    told = {**given("finding", words), "found on": day(on), "found by": by}
    _, wishes = open_finding(desk.site, what, told)
    return carry_out(desk, wishes)


@finding.command("clear")
@command_for
@click.argument("key", metavar="FINDING")
@_FACTS
@click.option("--by", metavar="NAME", required=True, help="Who cleared it.")
@_ON
def finding_clear(
    desk: EditSession, key: str, words: tuple[str, ...], by: str, on: str | None
) -> int:
    """Record that a FINDING is cleared; evidence=… says what shows it."""
    told = {**given("finding", words), "cleared on": day(on), "cleared by": by}
    if desk.job:
        told["job"] = desk.job
    return carry_out(desk, clear_finding(desk.site, key, told))


# Jobs


@click.group()
def job() -> None:
    """Carry a job from asked for to verified."""


_BY = click.option("--by", metavar="NAME", required=True, help="Who.")


@job.command("ask")
@command_for
@click.argument("title", metavar="TITLE")
@_FACTS
@_BY
@_ON
def job_ask(desk: EditSession, title: str, words: tuple[str, ...], by: str, on: str | None) -> int:
    """Record that somebody asks for a job: TITLE says what, in a line."""
    told = {**given("job", words), "asked by": by, "asked on": day(on)}
    _, wishes = ask_for(desk.site, title, told)
    return carry_out(desk, wishes)


def _advance(desk: EditSession, key: str, state: str, words: Sequence[str], **told: Said) -> int:
    said = {**given("job", words), **{k.replace("_", " "): v for k, v in told.items()}}
    return carry_out(desk, advance(desk.site, key, state, said))


@job.command("authorise")
@command_for
@click.argument("key", metavar="JOB")
@_FACTS
@_BY
@_ON
def job_authorise(
    desk: EditSession, key: str, words: tuple[str, ...], by: str, on: str | None
) -> int:
    """Record who said yes to a JOB."""
    return _advance(desk, key, "authorised", words, authorised_by=by, authorised_on=day(on))


@job.command("plan")
@command_for
@click.argument("key", metavar="JOB")
@click.argument("window", metavar="WINDOW")
@_FACTS
def job_plan(desk: EditSession, key: str, window: str, words: tuple[str, ...]) -> int:
    """Record when a JOB is planned for: "2025-03-07 18:00 to 22:00"."""
    return _advance(desk, key, "planned", words, window=window)


@job.command("done")
@command_for
@click.argument("key", metavar="JOB")
@_FACTS
@_BY
@_ON
def job_done(desk: EditSession, key: str, words: tuple[str, ...], by: str, on: str | None) -> int:
    """Record that a JOB is done, and by whom."""
    return _advance(desk, key, "done", words, done_by=by, done_on=day(on))


@job.command("verify")
@command_for
@click.argument("key", metavar="JOB")
@_FACTS
@_BY
@_ON
@_EMERGENCY
def job_verify(
    desk: EditSession,
    key: str,
    words: tuple[str, ...],
    by: str,
    on: str | None,
    emergency: str | None,
) -> int:
    """Record that every link of a JOB was checked, and by whom."""
    told: dict[str, Said] = {"verified_by": by, "verified_on": day(on)}
    if emergency:
        told["emergency_location"] = emergency
    return _advance(desk, key, "verified", words, **told)


@job.command("refuse")
@command_for
@click.argument("key", metavar="JOB")
@click.argument("because", metavar="REASON")
@_BY
@_ON
def job_refuse(desk: EditSession, key: str, because: str, by: str, on: str | None) -> int:
    """Record that a JOB was refused, by whom, and the REASON."""
    told = {"refused_because": because, "refused_by": by, "refused_on": day(on)}
    return _advance(desk, key, "refused", (), **told)
