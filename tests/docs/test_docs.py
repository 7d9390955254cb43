"""The documentation of asbuilt: every command it shows is typed in a fresh folder and says what is
shown; every command it names is there; what it says of the code is read from the code."""

from __future__ import annotations

import os
import re
import shlex
import shutil
import zipfile
from collections.abc import Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from asbuilt.checks.all_checks import CHECKS
from asbuilt.checks.codes import CODES
from asbuilt.cli import main
from asbuilt.demo import storyboard
from asbuilt.io import git_write
from asbuilt.io.git_write import NewCommit
from asbuilt.records.kinds import ALL_KINDS
from docs import generated
from tests.as_typed import PAGES, Reader, Typed, accepted, begins_in, fits, steps_of
from tests.chromium import DESKTOP, PHONE, browser, complaints, needs_browser, overflow, requested
from tests.pictures import SHOTS

TOP = Path(__file__).parents[2]
TEXTS = {path.relative_to(PAGES).as_posix(): path.read_text("utf-8")
         for path in sorted(PAGES.rglob("*.md"))}  # fmt: skip
DONE = [name for name, text in TEXTS.items() if name != "tutorial.md" and [*steps_of(text)]]


def _do(name: str, reader: Reader, accept: bool) -> None:
    answers = []
    for step in steps_of(TEXTS[name]):
        code, said = reader.does(step)
        answers.append((code, said))
        if accept or not isinstance(step, Typed):
            continue
        assert code == step.code, f"$ {step.command}\n{said}"
        assert fits(step.shown, said), f"$ {step.command}\n{said}\n--- {name} shows:\n{step.shown}"
    if accept:
        (PAGES / name).write_text(accepted(TEXTS[name], answers), encoding="utf-8")


def _sits_down(folder: Path) -> Reader:
    """A new person at a new machine, whom git knows."""
    reader = Reader(folder, folder)
    if not (folder / ".gitconfig").exists():
        (folder / ".gitconfig").write_text("[user]\nname = Mara Quist\nemail = quist@example.com\n")
    return reader


@pytest.fixture(scope="module")
def after_tutorial(
    tmp_path_factory: pytest.TempPathFactory, request: pytest.FixtureRequest
) -> Path:
    """The folder in which the tutorial was done from its first to its last line."""
    folder = tmp_path_factory.mktemp("tutorial")
    _do("tutorial.md", Reader(folder, folder), request.config.getoption("--accept"))
    return folder


@pytest.fixture(scope="module")
def demonstration(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What `asbuilt demo demo` makes, without the pages."""
    folder = tmp_path_factory.mktemp("demo")
    commits = [
        NewCommit(step.message, step.author, step.email, step.when, step.contents())
        for step in storyboard.steps()
    ]
    git_write.import_commits(folder / "demo", commits)
    (folder / "demo/.git/info").mkdir(exist_ok=True)
    (folder / "demo/.git/info/exclude").write_text("/public/\n")
    return folder


def test_the_tutorial_does_what_it_says(after_tutorial: Path) -> None:
    """And what it hands over opens, and holds nothing of where the passwords are."""
    site = after_tutorial / "records/sites/quay/site.yml"
    assert "our safe, folder QS" in site.read_text("utf-8")
    with zipfile.ZipFile(after_tutorial / "records/quay.zip") as handed:
        assert b"Quay Street Office" in handed.read("quay/index.html")
        assert not [name for name in handed.namelist() if b"folder QS" in handed.read(name)]


def test_the_tutorial_leaves_nothing_to_guess() -> None:
    """All its commands are typed by the test above: none stands in a block that isn't."""
    kinds = set(re.findall(r"^```(\w+)", TEXTS["tutorial.md"], re.M))
    assert kinds <= {"console", "csv", "yaml"}


def _settled(name: str, begun: Mapping[str, Path], home: Path, accept: bool) -> str | None:
    """What is wrong with a guide, typed from its first to its last line."""
    begins = begins_in(TEXTS[name])
    if begins == "nothing":
        home.mkdir()
    else:
        shutil.copytree(begun[begins], home, symlinks=True)
    reader = _sits_down(home)
    reader.here = home / {"nothing": "", "demo": "demo", "tutorial": "records"}[begins]
    try:
        _do(name, reader, accept)
    except AssertionError as wrong:
        return str(wrong)
    return None


@pytest.fixture(scope="module")
def settled(
    after_tutorial: Path,
    demonstration: Path,
    tmp_path_factory: pytest.TempPathFactory,
    request: pytest.FixtureRequest,
) -> Mapping[str, str | None]:
    """What is wrong with each guide that is asked for; several are typed side by side."""
    begun = {"demo": demonstration, "tutorial": after_tutorial}
    asked = "".join(item.nodeid for item in request.session.items)
    names = [name for name in DONE if f"test_a_guide_does_what_it_says[{name}]" in asked]
    folder = tmp_path_factory.mktemp("guides")
    accept = request.config.getoption("--accept")
    with ThreadPoolExecutor(os.cpu_count()) as hands:
        works = {
            name: hands.submit(_settled, name, begun, folder / str(number), accept)
            for number, name in enumerate(names)
        }
        return {name: work.result() for name, work in works.items()}


@pytest.mark.parametrize("name", DONE)
def test_a_guide_does_what_it_says(name: str, settled: Mapping[str, str | None]) -> None:
    assert settled[name] is None, settled[name]


def test_a_page_that_shows_something_else_is_found() -> None:
    assert fits("a\n…\nz", "a\nb\nc\nz\n")
    assert fits("a … z", "a and so on to z")
    assert not fits("a\nz", "a\nb\nz\n")
    assert not fits("", "a\n")
    assert not fits("a … z", "a\nz")


# What is named is there


def _named(text: str) -> Iterator[list[str]]:
    """The words of every asbuilt command that stands in a block or in a line."""
    code = [*re.findall(r"^```\w*[^\n]*\n(.*?)^```$", text, re.M | re.S)]
    code += re.findall(
        r"(?<!`)`([^`\n]+)`(?!`)", re.sub(r"^```.*?^```$", "", text, flags=re.M | re.S)
    )
    for block in code:
        block = re.sub(r"\\\n(?:> )?", " ", block.replace("\\|", "/"))
        for found in re.findall(r"(?:^|[$;&|(]\s*|bin/)asbuilt ([a-z-][^\n;&|>#)]*)", block, re.M):
            yield shlex.split(found.replace("’", ""), posix=True)


def _commands(command: click.Command = main) -> Iterator[click.Command]:
    yield command
    if isinstance(command, click.Group):
        for name in command.list_commands(click.Context(command)):
            yield from _commands(_sub(command, name))


def _sub(group: click.Group, name: str) -> click.Command:
    found = group.get_command(click.Context(group), name)
    assert found is not None, f"there is no command {name}"
    return found


@pytest.mark.parametrize("name", [*TEXTS, "README.md", "DEVELOPERS.md"])
def test_every_command_and_option_that_is_named_is_there(name: str) -> None:
    text = TEXTS.get(name) or (TOP / name).read_text("utf-8")
    for words in _named(text):
        command: click.Command = main
        left = list(words)
        while isinstance(command, click.Group) and left and not left[0].startswith("-"):
            if left[0].isupper() or left[0] == "…":
                break
            there = command.list_commands(click.Context(command))
            assert left[0] in there, f"{name} names asbuilt {' '.join(words)}"
            command = _sub(command, left.pop(0))
        known = {opt for param in command.params for opt in (*param.opts, *param.secondary_opts)}
        known |= {"-h", "--help", "--version"}
        for word in left:
            word = word.strip("[]…")
            if re.match(r"--?[a-z]", word):
                option = word.partition("=")[0]
                assert option in known, f"{name} names {option} of asbuilt {' '.join(words)}"


def test_every_test_that_is_named_is_there() -> None:
    """A promise says by which test it is kept."""
    for name, text in TEXTS.items():
        for file, test in re.findall(r"`(tests/test_\w+\.py)(?:::(\w+))?`", text):
            path = TOP / file
            assert path.is_file(), f"{name} names {file}"
            if test:
                assert f"def {test}(" in path.read_text("utf-8"), f"{name} names {test} of {file}"


# What is generated is whole


def test_the_reference_has_every_kind_check_code_and_command() -> None:
    written = generated.written()
    for kind in ALL_KINDS:
        assert f"\n## {kind.name}\n" in written["records"]
    assert written["checks"].count("\n## ") == len(CHECKS) + 1
    codes = re.findall(r"^\| `([\w-]+)`", written["checks"], re.M)
    assert sorted({*codes}) == sorted(CODES)
    for command in _commands():
        if command.help and command is not main and not isinstance(command, click.Group):
            assert command.help.split(".")[0].split("\n")[0][:30] in written["commands"]
    assert "not said" not in written["dependencies"]


@pytest.mark.parametrize(
    ("code", "level"),
    [("port-used-twice", "error"), ("link-too-long", "remark"), ("secret", "error"),
     ("test-failed", "remark"), ("unit-overlap", "error"), ("depth-clash", "remark")],
)  # fmt: skip
def test_the_reference_says_what_stops_a_build(code: str, level: str) -> None:
    """As cases under tests/cases/checks have it."""
    assert re.search(rf"^\| `{code}` \| {level} \|", generated.checks_page(), re.M)


def test_commands_are_told_as_they_tell_themselves() -> None:
    for context in generated.commands():
        words = context.command_path.split()[1:]
        said = CliRunner().invoke(main, [*words, "--help"], terminal_width=200).output
        for option in re.findall(r"(?:^|\s)(--[a-z-]+)", said):
            assert option == "--help" or f"`{option}" in generated.commands_page() or (
                f", {option}" in generated.commands_page()
            ), f"{words} {option}"  # fmt: skip


# The site


def test_the_site_asks_no_other_host_and_every_page_is_reached(documentation: Path) -> None:
    pages = sorted(documentation.rglob("*.html"))
    assert len(pages) == len(TEXTS) + len(generated.written())
    for page in pages:
        text = page.read_text("utf-8")
        assert not re.search(r'(?:src|href|action)="(?:https?:)?//', text), page
        for link in re.findall(r'(?:src|href)="([^"#:]+)', text):
            assert (page.parent / link).exists(), f"{page.name} links to {link}"
    assert not {path.suffix for path in documentation.rglob("*") if path.is_file()} & {
        ".map",
        ".gz",
        ".xml",
    }


def test_pictures_are_few_and_small() -> None:
    pictures = sorted((PAGES / "pictures").iterdir())
    assert [path.stem for path in pictures] == sorted(SHOTS)
    assert sum(path.stat().st_size for path in pictures) < 250_000
    shown = "".join(TEXTS.values()) + (TOP / "README.md").read_text("utf-8")
    for path in pictures:
        assert re.search(rf"!\[[^\]]{{20,}}\]\([./a-z]*pictures/{path.name}\)", shown), path.name


@needs_browser
@pytest.mark.browser
def test_the_site_is_read_on_a_desk_and_on_a_phone(documentation: Path) -> None:
    for size in (DESKTOP, PHONE):
        with browser(size) as driver:
            for name in ("index", "tutorial", "guides/serve", "reference/records", "security"):
                driver.get((documentation / f"{name}.html").as_uri())
                assert overflow(driver) == 0, f"{name} at {size[0]} px"
                assert complaints(driver) == [], name
            assert not [url for url in requested(driver) if url.startswith(("http", "ws"))]
