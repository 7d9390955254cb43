"""The command: what it says, its exit codes, and that nothing anybody types ends in a traceback."""

from __future__ import annotations

import importlib
import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import click
import pytest
import yaml
from click.testing import CliRunner, Result
from jsonschema import Draft202012Validator

from asbuilt import __version__
from asbuilt.cli import handed_to, main
from asbuilt.commands import NAMES
from asbuilt.demo import storyboard
from asbuilt.problem import WorldError
from tests.books import PRACTICE
from tests.small_site import files_of, write_site

LINE = re.compile(r"^[^:]+:\d+:\d+: (remark: )?.+ \[[a-z-]+\]$")


@pytest.fixture
def top(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    write_site(tmp_path)
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(os, "cpu_count", lambda: 1)
    return tmp_path


def asbuilt(*arguments: str, **more: str) -> Result:
    """The command within this process; its standard output and its messages apart."""
    return CliRunner(env=more).invoke(main, arguments)


def process(*arguments: str, cwd: Path, **env: str) -> subprocess.CompletedProcess[str]:
    """The command as a shell starts it."""
    return subprocess.run(
        [sys.executable, "-m", "asbuilt", *arguments],
        cwd=cwd,
        env={**os.environ, **env},
        capture_output=True,
        text=True,
        timeout=120,
    )


# check


def test_sound_records_are_told_in_one_line(top: Path) -> None:
    done = asbuilt("check")
    assert done.exit_code == 0
    assert re.fullmatch(r"1 site, no errors, (no|\d+) remarks?", done.stdout.splitlines()[-1])


def test_problems_stand_one_a_line_under_their_site(top: Path) -> None:
    write_site(top, outlets="1A-A01: {rom: 101}\n1A-A02: {length: 12}\n")
    done = asbuilt("check")
    assert done.exit_code == 1
    lines = done.stdout.splitlines()
    assert lines[0] == "harbour"
    assert (
        "sites/harbour/outlets.yml:1:15: outlet 1A-A01 has an unknown “rom”; "
        "did you mean “room”? [unknown-key]" in lines
    )
    assert all(LINE.match(line) for line in lines[1 : lines.index("")])
    assert lines[-1].startswith("1 site, 2 errors")


def test_where_nobody_looks_it_is_plain_text(top: Path) -> None:
    write_site(top, outlets="1A-A01: {rom: 101}\n")
    done = process("check", cwd=top, FORCE_COLOR="", TERM="xterm-256color")
    assert "\x1b" not in done.stdout + done.stderr
    assert not done.stderr


def test_colour_is_used_where_it_is_wanted_and_never_where_it_is_not(top: Path) -> None:
    write_site(top, outlets="1A-A01: {rom: 101}\n")
    wanted = {"FORCE_COLOR": "1", "TERM": "xterm-256color"}
    assert "\x1b[31m" in process("check", cwd=top, **wanted).stdout
    assert "\x1b[3" not in process("check", cwd=top, **wanted, NO_COLOR="1").stdout


def test_long_lines_are_not_wrapped(top: Path) -> None:
    write_site(top, outlets="1A-A01: {serves: dsek}\n")
    done = process("check", cwd=top, COLUMNS="40")
    assert any(LINE.match(line) and len(line) > 80 for line in done.stdout.splitlines())


def test_for_machines_it_is_json(top: Path) -> None:
    write_site(top, outlets="1A-A01: {rom: 101}\n")
    done = asbuilt("check", "--format", "json", "harbour")
    assert done.exit_code == 1
    report = json.loads(done.stdout)
    assert report["sites"] == ["harbour"]
    assert report["errors"] == 1
    (error,) = (problem for problem in report["problems"] if problem["level"] == "error")
    assert error == {
        "site": "harbour",
        "path": "sites/harbour/outlets.yml",
        "line": 1,
        "column": 15,
        "level": "error",
        "code": "unknown-key",
        "message": "outlet 1A-A01 has an unknown “rom”",
        "hint": "did you mean “room”?",
    }


def test_for_a_code_host_each_problem_is_an_annotation(top: Path) -> None:
    write_site(top, outlets='"1A-A01": {"100%, a:b": 1}\n')
    done = asbuilt("check", "--format", "github")
    errors = [line for line in done.stdout.splitlines() if line.startswith("::error ")]
    assert len(errors) == 1
    assert errors[0].startswith("::error file=sites/harbour/outlets.yml,line=1,col=")
    assert "“100%25, a:b”" in errors[0]


def test_control_characters_of_a_record_never_reach_the_terminal(top: Path) -> None:
    write_site(top, outlets='1A-A01: {"r\\u001b[31mo\\u009b2Jm\\u202e": 1}\n')
    done = asbuilt("check")
    assert done.exit_code == 1
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e]", done.stdout)


# Bad input: one clear message, exit 1, no traceback, the last good site untouched


def big(top: Path) -> None:
    with (top / "sites/harbour/outlets.yml").open("wb") as file:
        file.truncate(200 * 1024 * 1024)


def link(top: Path) -> None:
    (top / "sites/harbour/outlets.yml").unlink()
    (top / "sites/harbour/outlets.yml").symlink_to("/etc/passwd")


def raw(data: bytes) -> Callable[[Path], None]:
    def write(top: Path) -> None:
        (top / "sites/harbour/outlets.yml").write_bytes(data)

    return write


def added(line: str) -> Callable[[Path], None]:
    """The practice's outlets and one line more."""
    return raw((PRACTICE["outlets.yml"] + line).encode())


def too_high(top: Path) -> None:
    text = PRACTICE["enclosures/1A.yml"].replace("height: 12 U", "height: 42 U")
    text = text.replace("front:\n", "front:\n  43: {panel: Z, ports: 24}\n")
    (top / "sites/harbour/enclosures/1A.yml").write_text(text, encoding="utf-8")


def empty(top: Path) -> None:
    for path in sorted((top / "sites/harbour").rglob("*"), reverse=True):
        path.rmdir() if path.is_dir() else path.unlink()


BOMB = b"a: &a [x, x, x, x, x, x, x, x, x]\n" + b"".join(
    b"%c: &%c [%s]\n" % (n + 1, n + 1, b", ".join([b"*%c" % n] * 9)) for n in range(97, 106)
)
BAD = {
    "an empty folder": (empty, "there is no site.yml"),
    "a tab in YAML": (raw(b"1A-A01:\n\troom: 101\n"), "a tab; YAML is indented with spaces"),
    "a duplicate key": (added("1A-A01: {plate: x}\n"), "“1A-A01” stands here a second time"),
    "a wrong type": (added("A: {room: [1, 2]}\n"), "a list stands where"),
    "an unknown key": (added("A: {rooms: 1}\n"), "unknown “rooms”; did you mean “room”?"),
    "a port named twice": (added("A: {port: [1A/A/09, 1A/A/9]}\n"), "port 1A/A/09 is named twice"),
    "U 43 in 42 U": (too_high, "43"),
    "200 MB": (big, "the file is 200 MiB; 8 MiB at most"),
    "an alias bomb": (raw(BOMB), "an alias"),
    "not UTF-8": (raw("A: {plate: Büro}\n".encode("latin-1")), "byte 0xfc is not UTF-8 text"),
    "a link out of the folder": (link, "this is a symbolic link"),
    "an id like a path": (added("../../x: {plate: y}\n"), "“../../x” can't be a key"),
}


@pytest.mark.parametrize("spoil, message", BAD.values(), ids=BAD)
def test_bad_input(top: Path, spoil: Callable[[Path], None], message: str) -> None:
    assert asbuilt("build").exit_code == 0
    before = files_of(top / "public" / "harbour")
    spoil(top)
    for command in ("check", "build"):
        done = asbuilt(command)
        assert done.exit_code == 1, done.output
        assert isinstance(done.exception, SystemExit)
        assert "Traceback" not in done.output
        told = [line for line in done.stdout.splitlines() if LINE.match(line)]
        errors = [line for line in told if "remark: " not in line]
        assert len(errors) == 1, errors
        assert message in errors[0]
    assert files_of(top / "public" / "harbour") == before


@pytest.mark.parametrize("command", [["check"], ["build"], ["serve"], ["new", "site", "x"]])
def test_outside_a_repository_it_is_one_sentence(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, command: list[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    done = asbuilt(*command)
    assert done.exit_code == 1
    assert len(done.stderr.splitlines()) == 1
    assert "asbuilt init" in done.stderr
    assert not done.stdout


@pytest.mark.parametrize("site", ["../../x", "/", "harbor"])
def test_a_site_that_is_not_there(top: Path, site: str) -> None:
    for command in (["check", site], ["build", "--site", site]):
        done = asbuilt(*command)
        assert done.exit_code == 1
        assert f"there is no site “{site.rstrip('/')}”" in done.stderr
    assert not (top / "public").exists()


def test_what_is_not_understood_is_exit_2(top: Path) -> None:
    for arguments in (["chek"], ["build", "--edition", "both"], ["check", "--format", "xml"]):
        done = asbuilt(*arguments)
        assert done.exit_code == 2
        assert "Traceback" not in done.output


# build


def test_build_says_where_the_pages_are(top: Path) -> None:
    done = asbuilt("build")
    assert done.exit_code == 0
    assert re.search(r"^harbour: \d+ files in .*public/harbour$", done.stdout, re.MULTILINE)
    assert (top / "public" / "index.html").is_file()


def test_a_second_build_says_what_stayed(top: Path) -> None:
    assert ", as they were" not in asbuilt("build").stdout
    assert ", as they were" in asbuilt("build").stdout
    assert ", as they were" not in asbuilt("build", "--rebuild").stdout


@pytest.mark.parametrize("share", ["0/3", "4/3", "1", "a/b", "1/0", "-1/2", "1/2/3", "²/3"])
def test_what_is_no_share_is_one_message(top: Path, share: str) -> None:
    done = asbuilt("build", "--shard", share)
    assert done.exit_code == 1
    assert done.stderr.strip().startswith(f"asbuilt: “{share}” is no share; write it like 2/3")
    assert not (top / "public").exists()


def test_a_share_is_of_all_sites(top: Path) -> None:
    done = asbuilt("build", "--shard", "1/2", "--site", "harbour")
    assert done.exit_code == 1 and "--shard is a share of all sites" in done.stderr


def test_shares_are_joined(top: Path) -> None:
    write_site(top, "mill")
    for number in ("1", "2"):
        assert asbuilt("build", "--shard", f"{number}/2", "--output", number).exit_code == 0
    done = asbuilt("join", "1", "2", "--output", "all")
    assert done.stdout == "2 sites in all\n"
    assert "mill/index.html" in (top / "all/index.html").read_text()
    assert asbuilt("verify", "all").exit_code == 0
    again = asbuilt("join", "1", "1", "--output", "all")
    assert again.exit_code == 1 and "a site can come from one part only" in again.stderr


def test_a_client_s_build_says_what_it_withheld(top: Path) -> None:
    done = asbuilt("build", "--edition", "client", "--site", "harbour")
    assert done.exit_code == 0
    assert re.search(r"^  withheld: outlet: shown as device × 1$", done.stdout, re.MULTILINE)
    assert (top / "public-client" / "harbour" / "index.html").is_file()
    assert not (top / "public-client" / "index.html").exists()


def test_a_client_s_build_of_all_sites_is_refused(top: Path) -> None:
    done = asbuilt("build", "--edition", "client")
    assert done.exit_code == 1
    assert "say which with --site" in done.stderr
    assert not (top / "public-client").exists()


def test_one_site_with_errors_does_not_hold_up_the_others(top: Path) -> None:
    write_site(top, "mill", outlets="1A-A01: {rom: 1}\n")
    done = asbuilt("build")
    assert done.exit_code == 1
    assert "mill: not built; it has no pages yet" in done.stderr
    assert (top / "public" / "harbour" / "index.html").is_file()


def test_a_full_disk_is_one_sentence(top: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*args: object, **more: object) -> None:
        raise WorldError("writing harbour failed: no space left on device")

    monkeypatch.setattr("asbuilt.publish.mkdocs_plugin.publish", full)
    done = asbuilt("build")
    assert done.exit_code == 1
    assert done.stderr == "asbuilt: writing harbour failed: no space left on device\n"


def test_a_closed_pipe_is_quiet(top: Path) -> None:
    write_site(top, outlets="".join(f"A{n}: {{rom: 1}}\n" for n in range(3000)))
    read, write = os.pipe()
    os.close(read)
    command = [sys.executable, "-m", "asbuilt", "check"]
    done = subprocess.run(command, cwd=top, stdout=write, stderr=subprocess.PIPE, timeout=120)
    os.close(write)
    assert done.stderr == b""


@pytest.mark.parametrize(("command", "after"), [("serve --port 0", 0.4), ("build", 1.2)])
def test_an_interruption_is_quiet(top: Path, command: str, after: float) -> None:
    for key in ("mill", "quay", "wharf"):
        write_site(top, key)
    process = subprocess.Popen(
        [sys.executable, "-u", "-m", "asbuilt", *command.split()],
        cwd=top,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )
    while command == "build" and process.poll() is None and not (top / "public").exists():
        time.sleep(0.01)
    if command != "build":
        assert process.stdout is not None
        assert process.stdout.readline().startswith("Building")
    time.sleep(after)
    os.killpg(process.pid, signal.SIGINT)  # what a terminal does: all its processes get it
    _, said = process.communicate(timeout=60)
    assert said.strip() == ""
    assert process.returncode in (0, 130)


# Starting


def test_from_nothing_to_the_first_page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    assert asbuilt("init", "records").exit_code == 0
    monkeypatch.chdir(tmp_path / "records")
    assert (tmp_path / "records" / ".git").is_dir()
    assert len((tmp_path / "records" / "README.md").read_text().splitlines()) <= 5
    name = 'Quay & Sons: "the #1"'
    done = asbuilt("new", "site", "quay", "--name", name)
    assert done.exit_code == 0
    done = asbuilt("check")
    assert done.exit_code == 0
    assert "no errors" in done.stdout
    assert asbuilt("build").exit_code == 0
    page = Path("public/quay/index.html").read_text()
    assert "Quay &amp; Sons: &#34;the #1&#34;" in page


def test_the_first_files_fit_the_schema_they_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # jsonschema is an independent reader of JSON Schema 2020-12.
    monkeypatch.chdir(tmp_path)
    asbuilt("init", ".")
    asbuilt("new", "site", "quay")
    files = sorted(Path("sites/quay").rglob("*.yml"))
    assert len(files) == 3
    for file in files:
        text = file.read_text()
        named = re.match(r"# yaml-language-server: \$schema=(\S+)\n", text)
        assert named, file
        schema = json.loads((file.parent / named[1]).read_text())
        Draft202012Validator(schema).validate(yaml.safe_load(text) or {})


def test_the_demonstration_is_a_repository_with_its_site_built(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(os, "cpu_count", lambda: 1)
    steps = storyboard.steps()[:3]
    monkeypatch.setattr(storyboard, "steps", lambda: steps)
    done = asbuilt("demo", "demo")
    assert done.exit_code == 0, done.output
    index = tmp_path / "demo" / "public" / "index.html"
    assert index.is_file()
    assert index.as_uri() in done.stdout
    git = ["git", "-C", "demo"]
    log = subprocess.run([*git, "log", "--format=%s"], capture_output=True, text=True, check=True)
    assert len(log.stdout.splitlines()) == 3
    status = subprocess.run([*git, "status", "--short"], capture_output=True, text=True, check=True)
    assert status.stdout == ""


def test_nothing_is_written_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "work.txt").write_text("dear")
    for command in ("init", "demo"):
        done = asbuilt(command, "mine")
        assert done.exit_code == 1
        assert "isn’t empty" in done.stderr
    assert files_of(tmp_path / "mine") == {"work.txt": b"dear"}


@pytest.mark.parametrize("key", ["../x", "a b", "", "assets", "HARBOUR", "harbour"])
def test_a_new_site_has_a_key_of_its_own(top: Path, key: str) -> None:
    before = files_of(top)
    assert asbuilt("new", "site", key).exit_code == 1
    assert files_of(top) == before


def test_schemas_are_written_where_they_are_wanted(top: Path) -> None:
    assert asbuilt("schema").exit_code == 0
    assert (top / "schema" / "outlets.schema.json").is_file()
    assert asbuilt("schema", "elsewhere").exit_code == 0
    assert files_of(top / "elsewhere") == files_of(top / "schema")


def test_who_may_read_what_is_printed() -> None:
    """Anywhere: it needs no records."""
    done = asbuilt("schema", "--client")
    assert done.exit_code == 0
    assert re.search(r"^\| pathway \| no \| nothing \| label, ", done.stdout, re.MULTILINE)


def test_the_command_says_what_it_is() -> None:
    done = asbuilt("--version")
    assert done.exit_code == 0
    assert __version__ in done.stdout


def test_a_command_loads_only_what_it_needs() -> None:
    """Somebody waits for it: what is slow to load is loaded by what uses it."""
    slow = {"asbuilt.pages", "git", "jinja2", "mkdocs", "numpy", "openpyxl", "xlsxwriter"}
    for module in ("cli", "commands.checking", "commands.edits", "commands.starting"):
        code = f"import asbuilt.{module}, sys; print(*{slow} & set(sys.modules))"
        done = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=True
        )
        assert done.stdout.strip() == "", module


@pytest.mark.parametrize("module", NAMES)
def test_a_command_is_found_in_the_module_that_registers_it(module: str) -> None:
    room = importlib.import_module(f"asbuilt.commands.{module}")
    group = click.Group()
    room.register(group, *handed_to(module))
    assert set(group.commands) == set(NAMES[module])
