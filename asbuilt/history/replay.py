"""A site's state before and after each step of its history; only files that changed are read."""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Final

from asbuilt.changes.parsed_file import (
    EMPTY,
    ParsedFile,
    parse_file,
    state_of_files,
    visible_state,
    withheld_in,
)
from asbuilt.changes.state import NOTHING, State
from asbuilt.history.commits import SiteCommit
from asbuilt.io import git
from asbuilt.records.edition import Edition, WithheldKeys
from asbuilt.records.layout import is_record_file

_REMEMBERED: Final = 256  # files of one site, for those that come back as they were


@dataclass(frozen=True)
class HistoryView:
    """For whom a history is told."""

    edition: Edition
    withheld: WithheldKeys

    @property
    def internal(self) -> bool:
        return self.edition is Edition.INTERNAL

    @cached_property
    def digest(self) -> str:
        hidden = self.withheld
        told = (
            self.edition.value, sorted(hidden.outlets), sorted(hidden.ports), sorted(hidden.words),
            sorted((key, alias.key, sorted(alias.ports.items()))
                   for key, alias in hidden.items.items()),
            sorted(hidden.untold),
        )  # fmt: skip
        return hashlib.sha256(repr(told).encode()).hexdigest()


@dataclass(slots=True)
class SiteReplay:
    """A site as it stands at one revision, file by file. A file that can't be read stands as it
    was when it last could be, so that the next change to it is told from there."""

    view: HistoryView
    files: dict[str, ParsedFile] = field(default_factory=dict)
    broken: dict[str, str] = field(default_factory=dict)
    _known: OrderedDict[tuple[str, str], ParsedFile] = field(default_factory=OrderedDict)
    _last: tuple[Mapping[str, ParsedFile], State] = ({}, NOTHING)

    def apply(self, files: Mapping[str, str | None], contents: Iterable[bytes | None]) -> None:
        """Files as they are now, by the ids of their contents, which follow in order of paths;
        None for one that is gone."""
        data = iter(contents)
        for path, blob in sorted(files.items()):
            if blob is None:
                self._put(path, None)
                continue
            text = next(data)
            sheet = self._known.get((path, blob)) or self._read(path, text)
            self._known[path, blob] = sheet
            if len(self._known) > _REMEMBERED:
                self._known.popitem(last=False)
            self._put(path, sheet)

    def apply_all(
        self, steps: Sequence[SiteCommit], contents: git.Contents
    ) -> Iterator[SiteCommit]:
        """Each step, once it is taken."""
        blobs = [blob for step in steps for _, blob in sorted(step.files.items()) if blob]
        data = contents.read_all(blobs)
        for step in steps:
            self.apply(step.files, data)
            yield step

    def start_at(self, top: Path, commit: str, folder: str, contents: git.Contents) -> None:
        """All files as they are at a commit."""
        blobs = {p: b for p, b in git.tree(top, commit, folder).items() if is_record_file(p)}
        self.apply(blobs, contents.read_all([blobs[path] for path in sorted(blobs)]))

    def apply_bytes(self, files: Mapping[str, bytes]) -> None:
        """All files as they are on disk."""
        for path in sorted((self.files.keys() | self.broken.keys()) - files.keys()):
            self._put(path, None)
        for path in sorted(files):
            if is_record_file(path):
                self._put(path, self._read(path, files[path]))

    def states(self, before: Mapping[str, ParsedFile]) -> tuple[State, State]:
        """The state of these files, and of those that stand here now, as this reader may see
        both of them."""
        if self.view.internal:
            old = self._last[1] if self._last[0] == before else state_of_files(before.values())
            new = state_of_files(self.files.values())
            self._last = dict(self.files), new
            return old, new
        sheets = [*before.values(), *self.files.values()]
        hidden = withheld_in([self.view.withheld, *(sheet.withheld for sheet in sheets)])
        return visible_state(before.values(), hidden), visible_state(self.files.values(), hidden)

    def _read(self, path: str, data: bytes | None) -> ParsedFile:
        if data is None:
            return ParsedFile({}, f"{path}: its contents aren’t in this copy of the repository")
        last = self.files.get(path, EMPTY)
        return parse_file(path, data, last, keep_raws=not self.view.internal)

    def _put(self, path: str, sheet: ParsedFile | None) -> None:
        self.broken.pop(path, None)
        if sheet is None:
            self.files.pop(path, None)
        elif sheet.problem:
            self.broken[path] = sheet.problem
        else:
            self.files[path] = sheet
