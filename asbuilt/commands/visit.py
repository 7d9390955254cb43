"""The commands for a visit: what to look at, what was seen, and what the switches say."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

import click

from asbuilt.changes.log import Entry
from asbuilt.commands.completion import site_keys
from asbuilt.commands.list_source import (
    TAKE_IN,
    ListSource,
    reads_a_list,
    refuse_wrong,
    titled_list,
)
from asbuilt.commands.reply import answering, for_machines, say, tell
from asbuilt.commands.session import EditSession, carry_out, command_for, day, open_session
from asbuilt.edits.jobs import open_finding
from asbuilt.edits.mounting import item_of
from asbuilt.edits.numbering import next_key
from asbuilt.edits.requests import SetFields, Wish
from asbuilt.edits.yaml_values import Said
from asbuilt.facts.switch_status import Mismatch, compare_with_records, ports_without_status
from asbuilt.facts.walk_round import (
    RecordKey,
    WalkStop,
    plan_walk_round,
    sample_statement,
    stops_at,
)
from asbuilt.io.files import explain_os_errors
from asbuilt.io.swap import write_file
from asbuilt.lists.csv_file import csv_bytes, read_csv
from asbuilt.lists.switch_status import read_switch_status
from asbuilt.lists.walk_round import WalkAnswer, read_answers, walk_table
from asbuilt.model.site import Site
from asbuilt.pages.view import count
from asbuilt.pages.walk_sheet import walk_sheet
from asbuilt.problem import WorldError, some_of, suggestion
from asbuilt.publish import histories
from asbuilt.records.enclosures import ITEMS

_ITEM_KINDS = frozenset(kind.name for kind in ITEMS)


def register(group: click.Group) -> None:
    group.add_command(walk)
    group.add_command(seen)
    group.add_command(switch_status)


@click.command()
@click.argument("site", metavar="SITE", shell_complete=site_keys)
@click.option("--oldest", default=10, show_default=True, help="Seen longest ago, or never.")
@click.option("--changed", default=10, show_default=True, help="Changed most since they were seen.")
@click.option("--sample", default=20, show_default=True, help="Drawn at random.")
@click.option("--seed", help="What the sample is drawn by; the records’ revision, unless given.")
@click.option("--html", "html_file", type=click.Path(path_type=Path), help="A sheet to print.")
@click.option("--csv", "csv_file", type=click.Path(path_type=Path), help="A list to fill in.")
@answering
def walk(
    site: str,
    oldest: int,
    changed: int,
    sample: int,
    seed: str | None,
    html_file: Path | None,
    csv_file: Path | None,
) -> int:
    """List what to verify on the next visit, as a sheet to print and a list to fill in."""
    desk = open_session(site)
    history = histories.histories_of(desk.top, [desk.key])[desk.key]
    revision = str(histories.revision_of(history))
    made = plan_walk_round(
        desk.site,
        _changed_on(history.entries),
        oldest=oldest,
        changed=changed,
        sample=sample,
        seed=seed or revision,
    )
    tell(
        site=desk.key,
        seed=made.seed,
        of=made.total,
        stops=[_plain(stop) for stop in made.stops],
        files=[str(path) for path in (html_file, csv_file) if path is not None],
    )
    silent = html_file or csv_file or for_machines()
    for stop in made.stops if not silent else ():
        say(f"{desk.site.room_name(stop.room)}: {stop.kind} {stop.key} ({', '.join(stop.reasons)})")
    sampled = len(made.sampled)
    say(f"{count(len(made.stops), 'thing')} to look at, {sampled} of them drawn by “{made.seed}”")
    if sampled:
        say(f"If the sample is all right: {sample_statement(made.total, sampled, 0)}")
    if html_file is not None:
        write_file(html_file, walk_sheet(desk.site, made, revision).encode())
        say(f"wrote {html_file}")
    if csv_file is not None:
        write_file(csv_file, csv_bytes(walk_table(made)))
        say(f"wrote {csv_file}; fill it in, then: asbuilt seen {desk.key} --list {csv_file} --by …")
    return 0


def _plain(stop: WalkStop) -> dict[str, object]:
    seen = str(stop.seen) if stop.seen else None
    return {
        "kind": stop.kind,
        "key": stop.key,
        "name": stop.name,
        "room": stop.room,
        "words": stop.details,
        "seen": seen,
        "why": list(stop.reasons),
    }


def _changed_on(entries: Iterable[Entry]) -> Mapping[RecordKey, Sequence[dt.date]]:
    """The days on which each thing changed; that it was seen is no change of it."""
    found: dict[RecordKey, set[dt.date]] = {}
    for entry in entries:
        for change in (change for told in entry.lines for change in told.changes):
            sides = [side for side in (change.before, change.after) if side is not None]
            facts = [{k: v for k, v in side.facts.items() if k != "seen"} for side in sides]
            if len(sides) == 2 and sides[0].key == sides[1].key and facts[0] == facts[1]:
                continue
            for side in sides:
                found.setdefault((side.kind, side.key), set()).add(entry.when.date())
    return {thing: sorted(days) for thing, days in found.items()}


@click.command()
@command_for
@click.argument("keys", metavar="[KEY]...", nargs=-1)
@click.option("--by", metavar="NAME", required=True, help="Who saw it.")
@click.option("--on", metavar="DATE", help="When; today, unless it is said.")
@click.option("--list", "file", type=click.Path(path_type=Path), help="A walk-round, filled in.")
@click.option("--findings", is_flag=True, help="Open a finding for each thing that differs.")
def seen(
    desk: EditSession,
    keys: tuple[str, ...],
    by: str,
    on: str | None,
    file: Path | None,
    findings: bool,
) -> int:
    """Record that things were seen to be as recorded, by KEY (1A-A01, 1A/A, 1A), or by a list."""
    if not keys and file is None:
        raise WorldError("say what was seen: KEYs, or --list FILE")
    when = day(on)
    stops = {(stop.kind, stop.key): stop for stop in stops_at(desk.site, {})}
    right = [_stop(stops, key) for key in keys]
    differing: list[WalkAnswer] = []
    if file is not None:
        answers, left = _answers(file, stops)
        right += [one.stop for one in answers if one.right]
        differing = [one for one in answers if not one.right]
        sampled = [one for one in answers if one.sampled]
        tell(differing=[{**_plain(one.stop), "different": one.different} for one in differing])
        for one in differing if not for_machines() else ():
            different = one.different or "it isn’t said how"
            say(f"not as recorded: {one.stop.kind} {one.stop.key}: {different}")
        if sampled:
            wrong = sum(not one.right for one in sampled)
            say(sample_statement(len(stops), len(sampled), wrong))
            if left:
                say(
                    f"{left} of the sample weren’t looked at: this holds only if they weren’t left "
                    "out for what they are"
                )
    text = f"{when} by {by.strip()}"
    wishes: list[Wish] = [
        SetFields(stop.kind, stop.key, "seen", text)
        for stop in dict.fromkeys(right)
        if str(stop.seen) != text
    ]
    if findings:
        wishes += _findings(desk.site, differing, when, by)
    return carry_out(desk, wishes)


def _stop(stops: Mapping[tuple[str, str], WalkStop], key: str) -> WalkStop:
    found = [stop for (_, known), stop in stops.items() if known == key]
    if not found:
        hint = suggestion(key, (known for _, known in stops))
        raise WorldError(f"there is nothing called “{key}”" + (f"; {hint}" if hint else ""))
    if len(found) > 1:
        kinds = " and ".join(f"{stop.kind} {stop.key}" for stop in found)
        raise WorldError(f"there are {kinds}; enter them by a list that says which: --list FILE")
    return found[0]


def _answers(file: Path, stops: dict[tuple[str, str], WalkStop]) -> tuple[list[WalkAnswer], int]:
    """What was filled in, and how many of the sample weren't."""
    with explain_os_errors(f"reading {file}"):
        data = file.read_bytes()
    read = read_answers(read_csv(data), stops)
    refuse_wrong(file, read.wrong, TAKE_IN)
    if read.open:
        say(f"{count(len(read.open), 'thing')} not looked at")
    return read.answers, sum(read.open)


def _findings(site: Site, differing: Sequence[WalkAnswer], when: str, by: str) -> list[Wish]:
    wishes: list[Wish] = []
    last: str | None = None
    for one in differing:
        last = next_key([last] if last else site.findings, "F1")
        where = "item" if one.stop.kind in _ITEM_KINDS else one.stop.kind
        told: dict[str, Said] = {"found on": when, "found by": by}
        if where in ("item", "outlet", "enclosure"):
            told = {where: one.stop.key, **told}
        what = f"{one.stop.name} isn’t as recorded"
        what += f": {one.different}" if one.different else ""
        wishes += open_finding(site, what, told, last)[1]
    return wishes


@click.command("switch-status")
@click.argument("site", metavar="SITE", shell_complete=site_keys)
@click.option("--switch", metavar="ITEM", help="The switch it is of, where no column says it.")
@reads_a_list
@answering
def switch_status(site: str, source: ListSource, switch: str | None) -> int:
    """Compare what switches report of their ports (FILE: port, link, neighbour) with the patching.

    Nothing is written: each line is something to check on site.
    """
    desk = open_session(site)
    titled, _ = titled_list("switch-status", source)
    read = read_switch_status(desk.site, titled, item_of(desk.site, switch) if switch else None)
    refuse_wrong(source.file, read.wrong, "can’t be read as it is")
    if read.read_as:
        pairs = [f"{text} as {port}" for text, port in read.read_as.items()]
        say(f"by the number at their end: {some_of(pairs, 3)}")
    found = compare_with_records(desk.site, read.heard)
    quiet = ports_without_status(desk.site, read.heard)
    tell(
        site=desk.key,
        heard=len(read.heard),
        differences=[
            {
                "port": str(one.port),
                "what": str(one.mismatch),
                "recorded": one.recorded,
                "heard": one.reported,
            }
            for one in found
        ],
        not_heard=[str(port) for port in quiet],
    )
    if for_machines():
        return 0
    for difference in found:
        say(str(difference))
    if quiet:
        say(f"the list says nothing of {some_of([str(port) for port in quiet])}")
    counts = [(c, sum(d.mismatch is c for d in found)) for c in Mismatch]
    told = "; ".join(f"{c}: {n}" for c, n in counts if n) or "nothing differs"
    say(f"{count(len(read.heard), 'port')} held against the patching: {told}")
    return 0
