"""What a storyboard is made of: who did what when, as small edits of texts.

An edit takes the texts of all sites (path → text) and gives new ones. It raises `Misfit` when
what it means to change isn't there exactly once, so a storyboard that has drifted from its own
records can't be told.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

#: Path below sites/ → text.
Texts = Mapping[str, str]
Edit = Callable[[Texts], Texts]
#: Path below sites/, and what draws the picture that is put there.
Picture = tuple[str, Callable[[], bytes]]


class Misfit(Exception):
    """An edit doesn't apply to the text as it stands."""


@dataclass(frozen=True, slots=True)
class Author:
    name: str
    email: str


# The engineers of the invented provider whose records these are.
MARA: Final = Author("Mara Quist", "mara.quist@example.com")
ILO: Final = Author("Ilo Farrant", "ilo.farrant@example.com")
ODILE: Final = Author("Odile Brask", "odile.brask@example.com")
TAMSIN: Final = Author("Tamsin Oke", "tamsin.oke@example.com")
ZOE: Final = Author("Zoë Lindqvarn", "zoe.lindqvarn@example.com")


@dataclass(frozen=True, slots=True)
class Scene:
    """One commit: `when` is ISO 8601 with the local offset, `job` the job that is the cause,
    `pictures` what is put beside the texts."""

    when: str
    author: Author
    subject: str
    edits: tuple[Edit, ...]
    body: str = ""
    job: str = ""
    pictures: tuple[Picture, ...] = ()

    @property
    def message(self) -> str:
        parts = [self.subject, self.body.strip(), f"Job: {self.job}" if self.job else ""]
        return "\n\n".join(part for part in parts if part) + "\n"


@dataclass(frozen=True, slots=True)
class Folder:
    """The folder of one site; its methods make the edits a scene is told with."""

    site: str

    def new(self, path: str, text: str) -> Edit:
        """A file that wasn't there."""

        def edit(texts: Texts) -> Texts:
            if self._at(path) in texts:
                raise Misfit(f"{self._at(path)} is there already")
            return {**texts, self._at(path): _ended(text)}

        return edit

    def picture(self, path: str, draw: Callable[[], bytes]) -> Picture:
        return self._at(path), draw

    def moved(self, path: str, to: str) -> Edit:
        """A file under another name, its text untouched."""

        def edit(texts: Texts) -> Texts:
            text = self._text(texts, path)
            rest = {name: old for name, old in texts.items() if name != self._at(path)}
            return self.new(to, text)(rest)

        return edit

    def split(self, path: str, into: Mapping[str, str]) -> Edit:
        """A table taken apart: each line goes to the file whose pattern its key begins with."""

        def edit(texts: Texts) -> Texts:
            parts: dict[str, list[str]] = {name: [] for name in into}
            for line in filter(str.strip, self._text(texts, path).splitlines()):
                homes = [name for name, start in into.items() if re.match(start, line)]
                if len(homes) != 1:
                    raise Misfit(f"{self._at(path)}: “{line}” has {len(homes)} new homes")
                if line.startswith("#") and parts[homes[0]]:
                    parts[homes[0]].append("")
                parts[homes[0]].append(line)
            result = {name: old for name, old in texts.items() if name != self._at(path)}
            for name, lines in parts.items():
                result = dict(self.new(name, "\n".join(lines))(result))
            return result

        return edit

    def swap(self, path: str, old: str, new: str) -> Edit:
        """A passage that stands there once, written anew."""

        def change(text: str) -> str:
            if text.count(old) != 1:
                raise Misfit(f"{self._at(path)}: “{old}” stands there {text.count(old)} times")
            return text.replace(old, new)

        return self._change(path, change)

    def after(self, path: str, start: str, text: str) -> Edit:
        """Lines put in after the one line that begins with `start`."""

        def change(old: str) -> str:
            lines = old.splitlines(keepends=True)
            at = _line_of(lines, start, self._at(path))
            return "".join([*lines[: at + 1], _ended(text), *lines[at + 1 :]])

        return self._change(path, change)

    def before(self, path: str, start: str, text: str) -> Edit:
        """Lines put in before the one line that begins with `start`."""

        def change(old: str) -> str:
            lines = old.splitlines(keepends=True)
            at = _line_of(lines, start, self._at(path))
            return "".join([*lines[:at], _ended(text), *lines[at:]])

        return self._change(path, change)

    def end(self, path: str, text: str) -> Edit:
        """Lines put at the end of a file."""
        return self._change(path, lambda old: old + _ended(text))

    def strike(self, path: str, *starts: str) -> Edit:
        """Lines taken out, each the one that begins so."""

        def change(old: str) -> str:
            lines = old.splitlines(keepends=True)
            for start in starts:
                del lines[_line_of(lines, start, self._at(path))]
            return "".join(lines)

        return self._change(path, change)

    def redo(self, path: str, start: str, line: str) -> Edit:
        """The one line that begins with `start`, written anew."""

        def change(old: str) -> str:
            lines = old.splitlines(keepends=True)
            lines[_line_of(lines, start, self._at(path))] = _ended(line)
            return "".join(lines)

        return self._change(path, change)

    def set(self, path: str, key: str, **facts: str | None) -> Edit:
        """Facts in the one line `key: {…}`: changed, added at its end, or (None) taken out."""

        def change(old: str) -> str:
            lines = old.splitlines(keepends=True)
            at = _line_of(lines, f"{key}:", self._at(path))
            for name, value in facts.items():
                where = f"{self._at(path)}: {key}"
                lines[at] = _with_fact(lines[at], name.replace("_", " "), value, where)
            return "".join(lines)

        return self._change(path, change)

    def fill(self, path: str, block: str = "", **facts: str) -> Edit:
        """Facts of a file, or of one indented block in it, one line each: the line that names
        the fact is written anew, or one is added at the end."""

        def change(old: str) -> str:
            lines = old.splitlines(keepends=True)
            first, last, indent = 0, len(lines), ""
            if block:
                first = _line_of(lines, f"{block}:", self._at(path)) + 1
                indent = "  "
                last = first
                while last < len(lines) and lines[last].startswith(indent):
                    last += 1
            body = lines[first:last]
            for key, value in facts.items():
                name = key.replace("_", " ")
                line = f"{indent}{name}: {value}\n"
                at = [n for n, text in enumerate(body) if text.startswith(f"{indent}{name}:")]
                if at:
                    body[at[0]] = line
                else:
                    body.append(line)
            return "".join([*lines[:first], *body, *lines[last:]])

        return self._change(path, change)

    def layout(self, path: str, change: Callable[[str], str]) -> Edit:
        """Only the look of a file: the words stay the same, in the same order."""

        def checked(old: str) -> str:
            new = change(old)
            if _words(old) != _words(new):
                raise Misfit(f"{self._at(path)}: more than the layout changes")
            return new

        return self._change(path, checked)

    def _at(self, path: str) -> str:
        return f"{self.site}/{path}"

    def _text(self, texts: Texts, path: str) -> str:
        if self._at(path) not in texts:
            raise Misfit(f"{self._at(path)} isn't there")
        return texts[self._at(path)]

    def _change(self, path: str, change: Callable[[str], str]) -> Edit:
        def edit(texts: Texts) -> Texts:
            old = self._text(texts, path)
            new = change(old)
            if new == old:
                raise Misfit(f"{self._at(path)}: the edit changes nothing")
            return {**texts, self._at(path): new}

        return edit


def _ended(text: str) -> str:
    """Whole lines. One line break at the start belongs to the quotes the text is typed in."""
    return text.removeprefix("\n").rstrip("\n") + "\n"


def _line_of(lines: list[str], start: str, where: str) -> int:
    found = [at for at, line in enumerate(lines) if line.strip().startswith(start)]
    if len(found) != 1:
        raise Misfit(f"{where}: {len(found)} lines begin with “{start}”")
    return found[0]


def _words(text: str) -> list[str]:
    return re.sub(r"(?m)(^|\s)#.*$", "", text).split()


# One fact of a flow mapping, up to the comma or brace that ends it.
_VALUE: Final = r"""(?:"[^"]*"|\[[^\]]*\]|[^,{}\[\]"]+)"""


def _with_fact(line: str, name: str, value: str | None, where: str) -> str:
    pattern = re.compile(rf"(?P<lead>[{{,]\s*){re.escape(name)}: (?P<value>{_VALUE})(?P<pad>,? *)")
    match = pattern.search(line)
    if match is None:
        if value is None:
            raise Misfit(f"{where} says no “{name}”")
        head, brace, tail = line.rpartition("}")
        if not brace:
            raise Misfit(f"{where} is no line of facts")
        return f"{head}, {name}: {value}{brace}{tail}"
    if value is None:
        before, after = line[: match.start()], line[match.end() :]
        if match["lead"].startswith("{"):
            return f"{before}{match['lead']}{after}"
        return f"{before}, {after}" if match["pad"].strip() else f"{before}{after}"
    pad = match["pad"]
    if pad.startswith(","):
        # The columns after it stay where they are, as far as there is room.
        width = len(match["value"]) + len(pad)
        pad = ", ".ljust(max(2, width - len(value)))
    return f"{line[: match.start()]}{match['lead']}{name}: {value}{pad}{line[match.end() :]}"
