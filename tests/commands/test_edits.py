"""The commands for moves, adds and changes, as an engineer types them after the job."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import click
import pytest
import yaml
from click.testing import CliRunner

from asbuilt.changes.compare import compare
from asbuilt.changes.state import state_of
from asbuilt.cli import FrontDoor
from asbuilt.commands import edits, lists
from asbuilt.problem import has_errors
from asbuilt.records.reading import read_folder

FILES = {
    "site.yml": """\
name: Harbour Lane Practice
labels: ANSI/TIA-606
circuits:
  net: {carrier: Northmere Telecom, lands on: 1A/R1/WAN}
floors:
  "1": {name: ground floor, level: 0}
rooms:
  "110": {name: store, floor: "1", use: telecommunications space}
  "101": {name: reception, floor: "1", use: reception}
  "104": {name: gym, floor: "1", use: treatment room}
""",
    "enclosures/1A.yml": """\
# The cabinet
room: "110"
height: 12 U
front:                                   # U from the bottom
  12: {panel: A, ports: 24, category: 6}   # north
  11: {switch: SW1, ports: 24, uplinks: 4, serial: OLD-1, dead: 7, reserved: [8, 26]}
  8:  {router: R1, does: firewall, ports: 4, named ports: [WAN]}
patching:                                # one line a cord
  A/01: {to: SW1/01, cord: 0.3 m}
  A/02: {to: SW1/02, cord: 0.3 m}   # red
  SW1/25: {to: R1/1, cord: 0.5 m}
""",
    "enclosures/1B.yml": "room: '110'\nheight: 6 U\nfront:\n  6: {panel: B, ports: 12, category: 6}\n",
    "outlets.yml": """\
# one line a jack
1A-A01: {room: "101", plate: west wall, port: 1A/A/01, cable: cat6, length: 23.4 m, serves: desk}
1A-A02: {room: "101", plate: west wall, port: 1A/A/02, cable: cat6, length: 23.4 m, serves: phone}

1A-A03: {room: "104", plate: ceiling,   port: 1A/A/03, cable: cat6}   # no length yet
""",
    "findings.yml": "F1: {what: door cannot be closed, enclosure: 1A, item: 1A/SW1, outlet: [1A-A01, 1A-A02]}\n",
    "jobs/J1.yml": "title: Move the reception phone\nkind: move\nstate: done\noutlets: 1A-A02\n",
    "tests/first.csv": "link,date,result\n1A-A01,2025-03-07,pass\n1A-A02,2025-03-07,pass\n",
}  # fmt: skip


@dataclass
class Bench:
    """A repository with one site, and the command at hand."""

    top: Path

    def type(self, *words: str) -> tuple[int, str]:
        @click.group(cls=FrontDoor)
        def commands() -> None:
            """All commands."""

        edits.register(commands)
        lists.register(commands)
        ran = CliRunner().invoke(commands, words)
        assert ran.exception is None or isinstance(ran.exception, SystemExit), ran.exception
        return ran.exit_code, ran.output

    def does(self, *words: str) -> str:
        code, out = self.type(*words)
        assert code == 0, out
        files = {path: text.encode() for path, text in self.texts().items()}
        assert not has_errors(read_folder("harbour", files).problems)
        return out

    def refuses(self, *words: str) -> str:
        before = self.texts()
        code, out = self.type(*words)
        assert code == 1, out
        assert self.texts() == before
        return out

    def texts(self) -> dict[str, str]:
        folder = self.top / "sites" / "harbour"
        found = (path for path in sorted(folder.rglob("*")) if path.is_file())
        return {path.relative_to(folder).as_posix(): path.read_bytes().decode() for path in found}

    def text(self, path: str) -> str:
        return self.texts()[path]

    def outlet(self, key: str) -> dict[str, object] | None:
        found = yaml.load(self.text("outlets.yml"), yaml.BaseLoader).get(key)
        return found if found is None else dict(found)


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Bench]:
    for path, text in FILES.items():
        file = tmp_path / "sites" / "harbour" / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(text.encode())
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "200")
    yield Bench(tmp_path)


def lines(text: str) -> list[str]:
    return text.splitlines()


def test_a_run_of_drops_takes_the_next_labels_and_ports(bench: Bench) -> None:
    out = bench.does("add", "harbour", "104", "plate=north wall", "cable=cat6", "--count", "3",
                     "--enclosure", "1A", "--job", "J1")  # fmt: skip
    assert "1A-A04, 1A-A05 and 1A-A06 were added" in out
    new = lines(bench.text("outlets.yml"))
    assert new[: len(lines(FILES["outlets.yml"]))] == lines(FILES["outlets.yml"])
    assert new[-1] == '1A-A06: {room: "104", plate: north wall, port: 1A/A/06, cable: cat6}'
    assert "outlets: [1A-A02, 1A-A04, 1A-A05, 1A-A06]\n" in bench.text("jobs/J1.yml")


def test_forty_eight_drops_are_refused_whole_where_they_do_not_fit(bench: Bench) -> None:
    out = bench.refuses("add", "harbour", "104", "--count", "48", "--enclosure", "1A")
    assert "48 free ports were asked for; 1A/A has 21" in out


def test_an_outlet_moves(bench: Bench) -> None:
    out = bench.does("move", "harbour", "1A-A01", "104", "plate=east wall", "length=31 m",
                     "--on", "2025-04-01")  # fmt: skip
    assert "was moved from room 101 (reception) to room 104 (gym)" in out
    assert bench.outlet("1A-A01") == {
        "room": "104", "plate": "east wall", "port": "1A/A/01", "cable": "cat6",
        "length": "31 m", "serves": "desk", "terminated": "2025-04-01",
    }  # fmt: skip
    old, new = lines(FILES["outlets.yml"]), lines(bench.text("outlets.yml"))
    assert [old[0], *old[2:]] == [new[0], *new[2:]]


def test_what_was_true_of_the_old_place_only_is_not_kept(bench: Bench) -> None:
    bench.does("move", "harbour", "1A-A01", "104")
    moved = bench.outlet("1A-A01")
    assert moved and "plate" not in moved and "length" not in moved


def test_a_phone_does_not_move_without_word_on_its_emergency_location(bench: Bench) -> None:
    out = bench.refuses("move", "harbour", "1A-A02", "104")
    assert "--emergency-location" in out
    bench.does("move", "harbour", "1A-A02", "104", "--emergency-location", "updated", "--job", "J1")
    assert "emergency location: updated\n" in bench.text("jobs/J1.yml")


def test_a_job_that_moves_a_phone_is_not_verified_without_it_either(bench: Bench) -> None:
    out = bench.refuses("job", "verify", "harbour", "J1", "--by", "Mara Quist")
    assert "moves a phone (1A-A02)" in out
    bench.does("job", "verify", "harbour", "J1", "--by", "Mara Quist", "--on", "2025-04-02",
               "--emergency-location", "not updated")  # fmt: skip
    assert bench.text("jobs/J1.yml").endswith(
        "verified by: Mara Quist\nverified on: 2025-04-02\nemergency location: not updated\n"
    )


def test_relabelling_keeps_the_key(bench: Bench) -> None:
    bench.does("relabel", "harbour", "1A-A03", "G: 1", "--at-panel", "007")
    found = bench.outlet("1A-A03")
    assert found and (found["label"], found["label at panel"]) == ("G: 1", "007")
    assert (
        '{label: "G: 1", label at panel: "007", room: "104", plate: ceiling,   port:'
        in bench.text("outlets.yml")
    )
    bench.does("relabel", "harbour", "G: 1", "1A-A03")  # found by what is printed on it
    assert "label" not in (bench.outlet("1A-A03") or {})


def test_repatching_moves_one_end(bench: Bench) -> None:
    out = bench.does("patch", "harbour", "1A/A/01", "1A/SW1/12")
    assert "re-patched" in out
    assert bench.text("enclosures/1A.yml") == FILES["enclosures/1A.yml"].replace("SW1/01", "SW1/12")
    bench.does("patch", "harbour", "1A/R1/1", "1A/SW1/28", "cord=1 m")
    assert "  SW1/28: {to: R1/1, cord: 1 m}\n" in bench.text("enclosures/1A.yml")


def test_a_new_cord_and_one_taken_out(bench: Bench) -> None:
    bench.does("patch", "harbour", "1A/A/03", "1A/SW1/03", "cord=0.5 m", "colour=blue")
    line = "  A/03: {to: SW1/03, cord: 0.5 m, colour: blue}\n"
    red = "cord: 0.3 m}   # red\n"
    expected = FILES["enclosures/1A.yml"].replace(red, red + line)
    assert bench.text("enclosures/1A.yml") == expected
    bench.does("unpatch", "harbour", "1A/SW1/03")
    assert bench.text("enclosures/1A.yml") == FILES["enclosures/1A.yml"]


def test_a_taken_port_is_not_patched_over(bench: Bench) -> None:
    out = bench.refuses("patch", "harbour", "1A/A/01", "1A/SW1/02")
    assert "there is a cord on 1A/SW1/02, from 1A/A/02" in out
    assert "is dead" in bench.refuses("patch", "harbour", "1A/A/01", "1A/SW1/07")
    assert "no port 1A/SW1/99" in bench.refuses("patch", "harbour", "1A/A/01", "1A/SW1/99")


def test_reterminating_takes_the_cord_along(bench: Bench) -> None:
    bench.does("terminate", "harbour", "1A-A02", "1A/A/20", "--on", "2025-04-01")
    found = bench.outlet("1A-A02")
    assert found and (found["port"], found["terminated"]) == ("1A/A/20", "2025-04-01")
    assert "  A/20: {to: SW1/02, cord: 0.3 m}   # red\n" in bench.text("enclosures/1A.yml")
    bench.does("terminate", "harbour", "1A-A02", "1A/A/02", "--leave-cord")
    assert "  A/20: {to: SW1/02" in bench.text("enclosures/1A.yml")
    assert "1A-A01 ends at 1A/A/01" in bench.refuses("terminate", "harbour", "1A-A03", "1A/A/01")


def test_a_switch_is_swapped_and_its_uplinks_stay_uplinks(bench: Bench) -> None:
    out = bench.does("swap", "harbour", "1A/SW1", "ports=48", "serial=NEW-1")
    assert "nothing" not in out
    new = bench.text("enclosures/1A.yml")
    assert "  11: {switch: SW1, ports: 48, uplinks: 4, serial: NEW-1, reserved: [8, 50]}\n" in new
    assert "  SW1/49: {to: R1/1, cord: 0.5 m}\n" in new
    assert "  A/01: {to: SW1/01, cord: 0.3 m}\n" in new


def test_a_panel_is_swapped_under_another_name(bench: Bench) -> None:
    bench.does("swap", "harbour", "1A/A", "ports=48", "--as", "C", "--at", "9-10")
    new = bench.text("enclosures/1A.yml")
    assert "  9-10: {panel: C, ports: 48, category: 6}   # north\n" in new
    assert "  C/02: {to: SW1/02, cord: 0.3 m}   # red\n" in new
    assert [str((bench.outlet(f"1A-A0{n}") or {})["port"]) for n in (1, 2, 3)] == [
        "1A/C/01", "1A/C/02", "1A/C/03",
    ]  # fmt: skip


def test_a_smaller_one_is_refused_while_its_ports_are_in_use(bench: Bench) -> None:
    assert "on port 03 would have nowhere to go" in bench.refuses(
        "swap", "harbour", "1A/A", "ports=2"
    )


def test_reracking_within_an_enclosure_and_into_another(bench: Bench) -> None:
    bench.does("rerack", "harbour", "1A/SW1", "10")
    assert "  10: {switch: SW1, ports: 24" in bench.text("enclosures/1A.yml")
    out = bench.refuses("rerack", "harbour", "1A/SW1", "8")
    assert "nothing was written" in out
    bench.does("rerack", "harbour", "1A/SW1", "5", "--enclosure", "1B")
    assert "  5: {switch: SW1, ports: 24" in bench.text("enclosures/1B.yml")
    assert "  SW1/25: {to: 1A/R1/1, cord: 0.5 m}\n" in bench.text("enclosures/1B.yml")
    assert "  A/02: {to: 1B/SW1/02, cord: 0.3 m}   # red\n" in bench.text("enclosures/1A.yml")
    assert "item: 1B/SW1" in bench.text("findings.yml")


def test_an_outlet_is_removed_with_cord_results_and_mentions(bench: Bench) -> None:
    bench.does("remove", "harbour", "1A-A02")
    assert bench.outlet("1A-A02") is None
    assert "A/02" not in bench.text("enclosures/1A.yml")
    assert bench.text("tests/first.csv") == "link,date,result\n1A-A01,2025-03-07,pass\n"
    assert "outlet: 1A-A01}" in bench.text("findings.yml") or "outlet: [1A-A01]}" in bench.text(
        "findings.yml"
    )
    assert "outlets" not in bench.text("jobs/J1.yml")


def test_a_panel_goes_only_when_nothing_ends_at_it(bench: Bench) -> None:
    assert "1A-A01, 1A-A02, 1A-A03 end at 1A/A" in bench.refuses("remove", "harbour", "1A/A")
    bench.does("remove", "harbour", "1A/SW1")
    new = bench.text("enclosures/1A.yml")
    assert "SW1" not in new and "patching:      " in new


def test_findings_open_and_clear(bench: Bench) -> None:
    bench.does("finding", "open", "harbour", "no bonding: rear", "--by", "Mara Quist", "severity=hazard",
               "enclosure=1A", "--on", "2025-04-01")  # fmt: skip
    assert bench.text("findings.yml") == FILES["findings.yml"] + (
        'F2: {what: "no bonding: rear", severity: hazard, enclosure: 1A, found on: 2025-04-01, '
        "found by: Mara Quist}\n"
    )
    bench.does("finding", "clear", "harbour", "F2", "--by", "Mara Quist", "evidence=photo 12",
               "--job", "J1")  # fmt: skip
    assert "was cleared on" in bench.refuses(
        "finding", "clear", "harbour", "F2", "--by", "Mara Quist"
    )


def test_a_job_goes_its_way_and_no_other(bench: Bench) -> None:
    bench.does("job", "ask", "harbour", "Two desks", "kind=add", "--by", "Iris Quill")
    assert "has to be authorised first" in bench.refuses(
        "job", "done", "harbour", "J2", "--by", "Mara Quist"
    )
    bench.does("job", "authorise", "harbour", "J2", "--by", "Iris Quill")
    bench.does("job", "plan", "harbour", "J2", "2025-04-01 18:00 to 22:00", "outage=no")
    bench.does("job", "done", "harbour", "J2", "--by", "Mara Quist", "--on", "2025-04-01")
    bench.does("job", "verify", "harbour", "J2", "--by", "Iris Quill", "--on", "2025-04-02")
    assert "it is finished" in bench.refuses(
        "job", "refuse", "harbour", "J2", "too dear", "--by", "Iris Quill"
    )
    said = yaml.load(bench.text("jobs/J2.yml"), yaml.BaseLoader)
    assert said["state"] == "verified" and said["window"] == "2025-04-01 18:00 to 22:00"


def test_a_job_is_refused_with_its_reason(bench: Bench) -> None:
    bench.does("job", "ask", "harbour", "A rack in the gym", "--by", "Iris Quill")
    bench.does("job", "refuse", "harbour", "J2", "no supply there", "--by", "Hugo Vale",
               "--on", "2025-03-20")  # fmt: skip
    said = yaml.load(bench.text("jobs/J2.yml"), yaml.BaseLoader)
    assert (said["refused because"], said["refused by"], said["refused on"]) == (
        "no supply there", "Hugo Vale", "2025-03-20",
    )  # fmt: skip
    bench.does("job", "ask", "harbour", "A jack in the gym", "--by", "Iris Quill")
    bench.does("job", "authorise", "harbour", "J3", "--by", "Hugo Vale", "--on", "2025-03-21")
    assert "authorised on: 2025-03-21\n" in bench.text("jobs/J3.yml")


def test_any_field_changes(bench: Bench) -> None:
    bench.does("change", "harbour", "switch", "1A/SW1", "host-name=sw-1", "reserved=")
    assert "uplinks: 4, host name: sw-1, serial: OLD-1, dead: 7}" in bench.text(
        "enclosures/1A.yml"
    ) or "host name: sw-1" in bench.text("enclosures/1A.yml")
    assert "did you mean “serves”" in bench.refuses(
        "change", "harbour", "outlet", "1A-A01", "servs=x"
    )
    out = bench.refuses("change", "harbour", "outlet", "1A-A01", "length=12")
    assert "no unit" in out


def test_new_things_are_recorded_and_mounted(bench: Bench) -> None:
    bench.does("record", "harbour", "room", "201", "name=office: east", "floor=1")
    assert bench.text("site.yml") == FILES["site.yml"] + (
        '  "201": {name: "office: east", floor: "1"}\n'
    )
    bench.does(
        "record", "harbour", "enclosure", "2A", "height=9 U", "room=201", "front-door=left: glass"
    )
    assert (
        bench.text("enclosures/2A.yml") == 'height: 9 U\nroom: "201"\nfront door: "left: glass"\n'
    )
    bench.does("record", "harbour", "panel", "2A/A", "at=9", "ports=24")
    bench.does("record", "harbour", "power-strip", "2A/P1", "sockets=8", "where=right")
    assert bench.text("enclosures/2A.yml").endswith(
        "front:\n  9: {panel: A, ports: 24}\nwithout U:\n  - {power strip: P1, sockets: 8, where: right}\n"
    )
    assert "recorded already" in bench.refuses("record", "harbour", "room", "201", "name=x")
    assert "isn’t recorded so" in bench.refuses("record", "harbour", "job", "J9", "title=x")
    assert "2A/A" in bench.refuses("record", "harbour", "panel", "2A/A", "at=8", "ports=24")
    assert "panel A" in bench.refuses("record", "harbour", "panel", "2A/B", "at=9", "ports=24")


def test_other_records_go_when_nothing_names_them(bench: Bench) -> None:
    assert "no room “101”" in bench.refuses("remove", "harbour", "room", "101")
    bench.does("remove", "harbour", "finding", "F1")
    assert bench.text("findings.yml") == ""
    assert "delete the file" in bench.refuses("remove", "harbour", "job", "J1")


def test_a_time_needs_no_quotes_on_a_line_of_its_own(bench: Bench) -> None:
    bench.does("change", "harbour", "site", "site", "hours=Mon–Fri 08:00–18:00")
    assert "hours: Mon–Fri 08:00–18:00\n" in bench.text("site.yml")


def test_a_dry_run_writes_nothing_and_says_all(bench: Bench) -> None:
    before = bench.texts()
    out = bench.does("move", "harbour", "1A-A01", "104", "--dry-run")
    assert "was moved" in out and "nothing was written" in out
    assert bench.texts() == before


def test_a_site_with_errors_can_be_worked_on_but_not_made_worse(bench: Bench) -> None:
    path = bench.top / "sites/harbour/outlets.yml"
    path.write_bytes(path.read_bytes() + b"1A-A09: {room: nowhere}\n")
    path.write_bytes(path.read_bytes() + b"1A-A10: {room: nowhere}\n1A-A11: {room: nowhere}\n")
    for outlet in ("1A-A01", "1A-A09", "1A-A11"):  # the others of the same error stay
        code, out = bench.type("move", "harbour", outlet, "104")
        assert code == 0, out
    bench.refuses("change", "harbour", "outlet", "1A-A01", "room=elsewhere")


@pytest.mark.skipif(shutil.which("git") is None, reason="git isn't installed")
def test_a_commit_holds_this_change_only_and_names_its_job(
    bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    def git(*args: str) -> str:
        return subprocess.run(
            ["git", *args], cwd=bench.top, check=True, capture_output=True, text=True
        ).stdout

    for name, value in {
        "GIT_CONFIG_GLOBAL": "/dev/null", "GIT_CONFIG_COUNT": "2",
        "GIT_CONFIG_KEY_0": "user.name", "GIT_CONFIG_VALUE_0": "Mara Quist",
        "GIT_CONFIG_KEY_1": "user.email", "GIT_CONFIG_VALUE_1": "mara@example.org",
    }.items():  # fmt: skip
        monkeypatch.setenv(name, value)
    git("init", "--quiet")
    git("add", "--all")
    git("commit", "--quiet", "-m", "As found")
    (bench.top / "notes.txt").write_text("staged beside")
    git("add", "notes.txt")
    bench.does("move", "harbour", "1A-A01", "104", "--job", "J1", "--commit")
    assert git("log", "-1", "--format=%(trailers:key=Job,valueonly)").strip() == "J1"
    assert git("show", "--name-only", "--format=").split() == [
        "sites/harbour/jobs/J1.yml", "sites/harbour/outlets.yml",
    ]  # fmt: skip
    assert git("status", "--porcelain").strip() == "A  notes.txt"
    assert git("log", "-1", "--format=%s").startswith("harbour: ")
    bench.does("relabel", "harbour", "1A-A03", "X1")
    out = bench.refuses("relabel", "harbour", "1A-A02", "X2", "--commit")
    assert "aren’t committed yet" in out


def test_every_command_says_what_it_changes_and_nothing_else(bench: Bench) -> None:
    before = state_of(read_folder("h", {p: t.encode() for p, t in bench.texts().items()}).raw)
    bench.does("swap", "harbour", "1A/A", "--as", "D")
    bench.does("swap", "harbour", "1A/D", "--as", "A")
    after = state_of(read_folder("h", {p: t.encode() for p, t in bench.texts().items()}).raw)
    assert compare(before, after) == ()
    assert bench.texts() == FILES | {"outlets.yml": bench.text("outlets.yml")}
    assert bench.text("outlets.yml") == FILES["outlets.yml"]
