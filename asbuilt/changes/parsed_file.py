"""A record file at one revision, read again only where its text differs from the last.

Most commits touch a line or two of a table of hundreds. A table is therefore cut at each line
that begins a record, and every piece is read by itself; a piece the last revision had already
isn't read again. Whatever doesn't fall into such pieces cleanly is read as a whole, so that a
file says the same either way.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from asbuilt.changes.state import Facts, Key, State, joined, things_of
from asbuilt.problem import Level
from asbuilt.records.edition import WithheldKeys, for_client, withheld_keys
from asbuilt.records.kind import Raw
from asbuilt.records.layout import TABLES, take_apart
from asbuilt.yamltext import MAX_BYTES

Things = tuple[tuple[Key, Facts], ...]
NOTHING_WITHHELD = WithheldKeys()

#: A line that begins a record of a table, and one that means something to the whole document.
_BEGINS = re.compile(r"^(?=[A-Za-z0-9\"'])", re.MULTILINE)
_WHOLE = re.compile(r"^(?:---|\.\.\.|%)", re.MULTILINE)
_BLANK = re.compile(r"(?:[ ]*(?:#.*)?\r?\n)*(?:[ ]*(?:#.*)?)")


@dataclass(slots=True)
class ParsedSection:
    """Records that were read from one piece of text. `raws` are kept where an edition has to be
    applied to them."""

    things: Things
    withheld: WithheldKeys = NOTHING_WITHHELD
    raws: tuple[Raw, ...] = ()
    _shown: tuple[WithheldKeys, Things] | None = field(default=None, repr=False)

    def shown(self, withheld: WithheldKeys) -> Things:
        """What the client may read of it."""
        if self._shown is None or self._shown[0] != withheld:
            self._shown = withheld, things_of(for_client(self.raws, withheld))
        return self._shown[1]


@dataclass(frozen=True, eq=False)
class ParsedFile:
    """A record file at one revision. Where it can't be read, `problem` says why and it has no
    parts."""

    parts: Mapping[str, ParsedSection]
    problem: str | None = None

    @cached_property
    def things(self) -> Things:
        return tuple(thing for part in self.parts.values() for thing in part.things)

    @cached_property
    def facts(self) -> Mapping[Key, Facts]:
        return dict(self.things)

    @cached_property
    def withheld(self) -> WithheldKeys:
        return withheld_in([part.withheld for part in self.parts.values()])

    def shown(self, withheld: WithheldKeys) -> Iterator[Things]:
        """What the client may read of it."""
        return (part.shown(withheld) for part in self.parts.values())


EMPTY = ParsedFile({})


def parse_file(
    path: str,
    data: bytes,
    last: ParsedFile = EMPTY,
    *,
    keep_raws: bool = False,
    whole: bool = False,
) -> ParsedFile:
    """A record file (`path` within its site). `last` is what was read of it before, `whole` asks
    for it to be read in one piece."""
    if (
        not whole
        and path.partition("/")[0].removesuffix(".yml") in TABLES
        and len(data) <= MAX_BYTES
    ):
        parts = _pieces(path, data, last, keep_raws)
        if parts is not None:
            return ParsedFile(parts)
    raws, problems = take_apart(path, path, data)
    errors = sorted(problem for problem in problems if problem.level is Level.ERROR)
    if errors:
        return ParsedFile({}, str(errors[0]))
    return ParsedFile({"": _part(raws, keep_raws)})


def _pieces(
    path: str, data: bytes, last: ParsedFile, keep_raws: bool
) -> dict[str, ParsedSection] | None:
    """The parts by their texts; None when this is no plain table."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return None
    if _WHOLE.search(text):
        return None
    head, *texts = _BEGINS.split(text)
    if not _BLANK.fullmatch(head):
        return None
    parts: dict[str, ParsedSection] = {}
    keys: set[str] = set()
    for piece in texts:
        part = last.parts.get(piece)
        if part is None:
            raws, problems = take_apart(path, path, piece.encode())
            if problems or not raws:
                return None
            part = _part(raws, keep_raws)
        for (_, key), _ in part.things:
            if key in keys:
                return None
            keys.add(key)
        parts[piece] = part
    return parts


def _part(raws: Iterable[Raw], keep_raws: bool) -> ParsedSection:
    raws = tuple(raw.by_todays_names() for raw in raws)
    if not keep_raws:
        return ParsedSection(things_of(raws))
    withheld = withheld_keys(raws)
    return ParsedSection(
        things_of(raws), withheld if withheld != NOTHING_WITHHELD else NOTHING_WITHHELD, raws
    )


def withheld_in(parts: Iterable[WithheldKeys]) -> WithheldKeys:
    """All that is withheld in these; a thing several of them know goes by its first name."""
    found = [withheld for withheld in parts if withheld is not NOTHING_WITHHELD]
    if len(found) < 2:
        return found[0] if found else NOTHING_WITHHELD
    named = NOTHING_WITHHELD
    for withheld in found:
        if withheld.items:
            named = named | withheld
    return WithheldKeys(
        frozenset().union(*(withheld.outlets for withheld in found)),
        named.items,
        frozenset().union(*(withheld.ports for withheld in found)),
        frozenset().union(*(withheld.words for withheld in found)),
        frozenset().union(*(withheld.untold for withheld in found)),
    )


def state_of_files(sheets: Iterable[ParsedFile]) -> State:
    """The state these files are in, for engineers."""
    sheets = list(sheets)
    state: dict[Key, Facts] = {}
    for sheet in sheets:
        state.update(sheet.facts)
    if len(state) == sum(len(sheet.things) for sheet in sheets):
        return state
    return joined(sheet.things for sheet in sheets)


def visible_state(sheets: Iterable[ParsedFile], withheld: WithheldKeys) -> State:
    """The state these files are in, as far as the client may read it."""
    return joined(things for sheet in sheets for things in sheet.shown(withheld))
