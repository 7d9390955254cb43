"""The storyboard as it is written: people, and steps with their changes, in order of time."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Final

from asbuilt.demo import edits
from asbuilt.demo.edits import Misfit
from asbuilt.problem import Place, WorldError, quoted, suggestion
from asbuilt.yamltext import (
    MappingNode,
    Node,
    ScalarNode,
    SequenceNode,
    compose,
    entries,
    place_of,
    read_text,
)

Texts = dict[str, str]
Pictures = dict[str, bytes]
#: Changes the texts of the repository (path → text), or brings a picture; raises `Misfit`.
Change = Callable[[Texts, Pictures], None]

_TEXT_FILES: Final = (".csv", ".svg", ".yml")
#: The word an edit begins with → the words it must have beside it, and those it may.
_EDITS: Final = {
    "add": ("", "after before"),
    "clear": ("", ""),
    "move": ("to", ""),
    "remove": ("", ""),
    "replace": ("lines", ""),
    "rewrite": ("", ""),
    "set": ("", ""),
}
#: Those that are told in texts alone; what they say are the arguments.
_OF_TEXTS: Final[Mapping[str, Callable[..., str]]] = {
    "add": edits.added,
    "remove": lambda text, remove: edits.replaced(text, remove, ""),
    "replace": edits.replaced,
    "rewrite": edits.rewritten,
}


class StoryError(WorldError):
    """The storyboard can't be replayed: where, and why."""


@dataclass(frozen=True, slots=True)
class StoryEntry:
    """One step as it is written: each change with its place in the storyboard."""

    when: dt.datetime
    author: str
    email: str
    message: str
    changes: tuple[tuple[Place, Change], ...]


def read_story(story: Path) -> list[StoryEntry]:
    """The steps of all sites in order of time. Raises `StoryError` at what can't be understood."""
    book = _Sheet(story, "people.yml")
    people = {name: book.text(email) for name, (_, email) in book.facts(book.top).items()}
    lists = {"": story.glob("all-sites.yml")}
    for folder in sorted(story.iterdir()):
        if folder.is_dir():
            lists[f"{folder.name}/"] = folder.glob("steps/*.yml")
    found: dict[dt.datetime, tuple[Place, StoryEntry]] = {}
    for prefix, files in lists.items():
        latest: dt.datetime | None = None
        for file in sorted(files):
            sheet = _Sheet(story, file.relative_to(story).as_posix())
            for key, node in entries(sheet.top):
                entry = _entry(sheet, f"sites/{prefix}", key, node, people)
                if latest is not None and entry.when < latest:
                    raise sheet.misread(key, "this step is older than the one before it")
                if entry.when in found:
                    other, _ = found[entry.when]
                    raise sheet.misread(key, f"a step of the same moment stands in {other}")
                latest = entry.when
                found[latest] = sheet.place(key), entry
    return [found[when][1] for when in sorted(found)]


class _Sheet:
    """One file of the storyboard: what its nodes say, and errors that tell file and line."""

    def __init__(self, story: Path, name: str) -> None:
        self.story = story
        self.path = f"{story.name}/{name}"
        try:
            data = (story / name).read_bytes()
        except OSError as error:
            raise StoryError(f"{self.path} can’t be read: {error.strerror}") from error
        self._text, problems = read_text(self.path, data)
        top, more = compose(self.path, self._text)
        for problem in (*problems, *more):
            raise StoryError(str(problem))
        if top is None:
            raise StoryError(f"{self.path}: nothing is written here")
        self.top = top

    def place(self, node: Node) -> Place:
        return place_of(self.path, node)

    def misread(self, node: Node, message: str) -> StoryError:
        return StoryError(f"{self.place(node)}: {message}")

    def facts(self, node: Node) -> dict[str, tuple[Node, Node]]:
        if not isinstance(node, MappingNode) or not node.value:
            raise self.misread(node, "“name: value” lines are wanted here")
        return {key.value: (key, value) for key, value in entries(node)}

    def known(self, node: Node, needed: str, more: str = "") -> dict[str, Node]:
        """The facts of a node that has the needed words, and perhaps more, and no others."""
        facts = self.facts(node)
        words = f"{needed} {more}".split()
        for word, (key, _) in facts.items():
            if word not in words:
                hint = suggestion(word, words, f"here can stand: {', '.join(words)}")
                raise self.misread(key, f"{quoted(word)} can’t stand here; {hint}")
        for word in needed.split():
            if word not in facts:
                raise self.misread(node, f"“{word}” is missing here")
        return {word: value for word, (_, value) in facts.items()}

    def text(self, node: Node) -> str:
        if not isinstance(node, ScalarNode) or not node.value:
            raise self.misread(node, "a text is wanted here")
        return str(node.value)

    def typed(self, node: Node) -> str:
        """A value with the quotes or brackets it is typed in, as it goes into a record."""
        typed = self._text[node.start_mark.index : node.end_mark.index].strip()
        if not typed or "\n" in typed:
            raise self.misread(node, "a value on one line is wanted here")
        return typed


def _entry(
    sheet: _Sheet, prefix: str, key: ScalarNode, node: Node, people: Mapping[str, str]
) -> StoryEntry:
    try:
        when = dt.datetime.strptime(key.value, "%Y-%m-%d %H:%M %z")
    except ValueError:
        message = f"{quoted(key.value)} is no date and time; write it like 2024-05-21 09:50 +0100"
        raise sheet.misread(key, message) from None
    step = sheet.known(node, "by title changes", "text job")
    author = sheet.text(step["by"])
    if author not in people:
        hint = suggestion(author, people, "write who that is in people.yml")
        raise sheet.misread(step["by"], f"nobody is called {quoted(author)}; {hint}")
    message = "\n\n".join(
        before + sheet.text(step[word]).strip()
        for word, before in (("title", ""), ("text", ""), ("job", "Job: "))
        if word in step
    )
    changes = tuple(
        change
        for path, (name, value) in sheet.facts(step["changes"]).items()
        for change in _changes(sheet, prefix, path, name, value)
    )
    return StoryEntry(when, author, people[author], f"{message}\n", changes)


def _changes(
    sheet: _Sheet, prefix: str, path: str, name: Node, node: Node
) -> Iterator[tuple[Place, Change]]:
    """What a step does to one file."""
    if isinstance(node, ScalarNode) and node.value == "new":
        _, site, rest = f"{prefix}{path}".split("/", 2)
        yield sheet.place(name), partial(_put, sheet.story / site / "files" / rest, prefix + path)
    elif isinstance(node, SequenceNode):
        for edit in node.value:
            yield from _edits(sheet, prefix, path, edit)
    else:
        raise sheet.misread(name, "“new” or a list of edits is wanted here")


def _edits(sheet: _Sheet, prefix: str, path: str, node: Node) -> Iterator[tuple[Place, Change]]:
    word, (key, said) = next(iter(sheet.facts(node).items()))
    if word not in _EDITS:
        hint = suggestion(word, _EDITS, f"edits are: {', '.join(_EDITS)}")
        raise sheet.misread(key, f"there is no edit {quoted(word)}; {hint}")
    needed, more = _EDITS[word]
    told = sheet.known(node, f"{word} {needed}", more)
    target = prefix + path
    if word == "move":
        to = prefix + sheet.text(told["to"])
        yield sheet.place(key), partial(_move, target, sheet.text(said), to)
    elif word == "set":
        for names, (name, value) in sheet.facts(said).items():
            if isinstance(value, MappingNode):
                facts = {fact: sheet.typed(new) for fact, (_, new) in sheet.facts(value).items()}
                edit = partial(edits.with_facts, names=names, facts=facts)
            else:
                edit = partial(edits.with_facts, names="", facts={names: sheet.typed(value)})
            yield sheet.place(name), partial(_edit, target, edit)
    elif word == "clear":
        for names, (name, value) in sheet.facts(said).items():
            edit = partial(edits.without_facts, names=names, facts=sheet.text(value).split(", "))
            yield sheet.place(name), partial(_edit, target, edit)
    else:
        texts = {argument: sheet.text(value) for argument, value in told.items()}
        yield sheet.place(key), partial(_edit, target, partial(_OF_TEXTS[word], **texts))


def _put(source: Path, path: str, texts: Texts, pictures: Pictures) -> None:
    if path in texts:
        raise Misfit(f"{path} is there already")
    try:
        data = source.read_bytes()
        if source.suffix in _TEXT_FILES:
            texts[path] = data.decode()
        else:
            pictures[path] = data
    except (OSError, UnicodeDecodeError) as error:
        raise Misfit(f"{source} can’t be read: {error}") from error


def _move(path: str, names: str, to: str, texts: Texts, pictures: Pictures) -> None:
    """Lines into a new file. Empty lines then left at the end go; so does a file left empty."""
    if to in texts:
        raise Misfit(f"{to} is there already")
    texts[to] = edits.taken(_there(path, texts), names)
    left = edits.replaced(texts.pop(path), names, "").rstrip("\n")
    if left:
        texts[path] = f"{left}\n"


def _edit(path: str, edit: Callable[[str], str], texts: Texts, pictures: Pictures) -> None:
    changed = edit(_there(path, texts))
    if changed == texts[path]:
        raise Misfit(f"this changes nothing in {path}")
    texts[path] = changed


def _there(path: str, texts: Texts) -> str:
    if path not in texts:
        raise Misfit(f"{path} isn’t there")
    return texts[path]
