"""A page of the documentation, done as its reader does it: its files are written, its commands typed,
and what they say is held against what the page shows.

    ```console          `$ ` begins a command, `> ` goes on with it; below stands what it says
    ```console title="exits 1"          a command that is shown to fail
    ```yaml title="sites/quay/outlets.yml"          a file, written as a whole

In what is shown, a line `…` stands for any number of lines, and `…` within a line for any text.
"""

from __future__ import annotations

import datetime as dt
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

PAGES = Path(__file__).parents[1] / "docs" / "pages"
FIRST_MOMENT = dt.datetime(2026, 12, 1, 9, tzinfo=dt.UTC)
_FENCE = re.compile(r"^```(\w+)(?: title=\"([^\"]*)\")?\n(.*?)^```$", re.MULTILINE | re.DOTALL)


@dataclass(frozen=True, slots=True)
class Typed:
    """One command, and what the page says it answers."""

    command: str
    shown: str
    code: int = 0


@dataclass(frozen=True, slots=True)
class Written:
    """One file, and what stands in it."""

    path: str
    text: str


def steps_of(text: str) -> Iterator[Typed | Written]:
    for fence in _FENCE.finditer(text):
        language, title, body = fence.groups()
        if language == "console":
            code = int((title or "exits 0").removeprefix("exits "))
            yield from _commands(body, code)
        elif title:
            yield Written(title, body)


def _commands(body: str, code: int) -> Iterator[Typed]:
    lines = body.splitlines()
    assert lines[0].startswith("$ "), body
    while lines:
        command = [lines.pop(0).removeprefix("$ ")]
        while lines and lines[0].startswith("> "):
            command.append(lines.pop(0).removeprefix("> "))
        shown = []
        while lines and not lines[0].startswith("$ "):
            shown.append(lines.pop(0))
        yield Typed("\n".join(command), "\n".join(shown), code)


def begins_in(text: str) -> str:
    """Where the page says its reader begins: `nothing`, `demo` or `tutorial`."""
    found = re.match(r"---\nbegins: (\w+)\n---\n", text)
    return found[1] if found else "nothing"


def fits(shown: str, said: str) -> bool:
    parts = []
    for line in shown.rstrip().splitlines():
        if line.strip() == "…":
            parts.append(r"(?:[^\n]*\n)*?")
        else:
            parts.append(re.escape(line.rstrip()).replace("…", ".*?") + r"\n")
    text = "".join(f"{line.rstrip()}\n" for line in said.rstrip().splitlines())
    return re.fullmatch("".join(parts), text) is not None


@dataclass(slots=True)
class Reader:
    """Somebody at a terminal, in a folder of their own."""

    home: Path
    here: Path
    typed: int = 0
    environment: dict[str, str] = field(default_factory=dict)

    def does(self, step: Typed | Written) -> tuple[int, str]:
        if isinstance(step, Written):
            path = self.here / step.path
            assert path.resolve().is_relative_to(self.home.resolve()), step.path
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(step.text, encoding="utf-8")
            return 0, ""
        self.typed += 1
        moment = (FIRST_MOMENT + dt.timedelta(minutes=self.typed)).isoformat()
        environment = {
            "HOME": str(self.home),
            "XDG_CACHE_HOME": str(self.home.parent / "cache"),  # one for all who sit side by side
            "PATH": f"{Path(sys.executable).parent}:/usr/local/bin:/usr/bin:/bin",
            "LANG": "C.UTF-8",
            "TZ": "UTC",
            "COLUMNS": "100",
            "GIT_AUTHOR_DATE": moment,
            "GIT_COMMITTER_DATE": moment,
            "GIT_CONFIG_NOSYSTEM": "1",
            **self.environment,
        }
        where = self.home / ".where"
        done = subprocess.run(
            ["bash", "-c", f'{step.command}\ncode=$?\npwd > "{where}"\nexit $code'],
            cwd=self.here, env=environment, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT, text=True, timeout=300, check=False,
        )  # fmt: skip
        if where.is_file():
            self.here = Path(where.read_text("utf-8").strip())
        return done.returncode, done.stdout


def accepted(text: str, answers: list[tuple[int, str]]) -> str:
    """The page with what its commands really said, where it doesn't show that already."""
    left = iter(answers)

    def again(fence: re.Match[str]) -> str:
        language, title, body = fence.groups()
        if language != "console":
            if title:
                next(left)
            return fence[0]
        lines: list[str] = []
        code = 0
        for typed in _commands(body, 0):
            code, said = next(left)
            lines.append("$ " + typed.command.replace("\n", "\n> "))
            shown = typed.shown if fits(typed.shown, said) else said.rstrip()
            lines += [line.rstrip() for line in shown.splitlines()]
        head = "```console" + (f' title="exits {code}"' if code else "")
        return "\n".join((head, *lines, "```"))

    return _FENCE.sub(again, text)
