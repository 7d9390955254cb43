"""A history folded together into plain text, and how it is kept between two runs."""

from __future__ import annotations

import contextlib
import gc
import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from asbuilt.changes import serialise as plainly
from asbuilt.changes.log import History
from asbuilt.history.entries import HistoryPart, entries_from_start
from asbuilt.history.replay import HistoryView
from asbuilt.io.cache import Cache

#: Up to which commit each history is told, and the digest of it: most commits touch one site, and
#: leave what is kept of all others as it is.
_HEADS: Final = "histories"


@dataclass(frozen=True, slots=True)
class CachedHistory:
    """Where a folded history lies in a cache, and up to which commit of which repository it was
    told."""

    cache: Cache
    top: Path
    head: str
    folder: str
    view: HistoryView

    def load(self, digest: str) -> HistoryPart:
        """Read, or told again where another command has gone on with it meanwhile."""
        text = self.cache.load(_name(self.folder, self.view), _inputs(self.folder, self.view))
        if text is not None and _digest(text) == digest:
            return _unfolded(text)
        return entries_from_start(self.top, self.head, self.folder, self.view)

    def store(self, text: bytes) -> bool:
        name, inputs = _name(self.folder, self.view), _inputs(self.folder, self.view)
        return self.cache.store(name, inputs, text)


@dataclass(frozen=True, slots=True)
class PackedHistory:
    """What was told of a site, as text in which each thing stands once: the text itself, or where
    it lies, to be read each time it is wanted."""

    digest: str
    source: bytes | CachedHistory = field(compare=False, repr=False)

    def unpack(self) -> HistoryPart:
        if isinstance(self.source, bytes):
            return _unfolded(self.source)
        return self.source.load(self.digest)


def pack_history(told: HistoryPart, kept: CachedHistory | None = None) -> PackedHistory:
    """Folded, and laid where it is to be `kept`, if that takes it."""
    plain = plainly.to_plain(told.entries, told.points)
    text = json.dumps(plain, separators=(",", ":")).encode("ascii")
    return PackedHistory(_digest(text), kept if kept and kept.store(text) else text)


def _unfolded(text: bytes) -> HistoryPart:
    return HistoryPart(*plainly.from_plain(json.loads(text)))


@dataclass(frozen=True, slots=True)
class LazyHistory:
    """A history, folded, as long as nobody looks into it; and what is to be said beside it."""

    packed: PackedHistory | None = None
    notices: tuple[str, ...] = ()

    @property
    def digest(self) -> str:
        told = self.packed.digest if self.packed else ""
        return hashlib.sha256(repr((self.notices, told)).encode()).hexdigest()

    def load(self) -> History:
        if self.packed is None:
            return History(notices=self.notices)
        told = self.packed.unpack()
        return History(told.entries, self.notices, told.points)


def load_histories(chronicles: Mapping[str, LazyHistory]) -> dict[str, History]:
    with _no_collection():
        return {name: chronicle.load() for name, chronicle in chronicles.items()}


@dataclass(frozen=True, slots=True)
class KnownHistory:
    """A history that was kept, and the commit it was told up to."""

    head: str
    folded: PackedHistory


def known_histories(
    cache: Cache, top: Path, views: Mapping[str, HistoryView]
) -> dict[str, KnownHistory]:
    """By folder, as far as the cache holds it whole, for these readers."""
    found: dict[str, KnownHistory] = {}
    heads = _heads(cache)
    for folder, view in views.items():
        name = _name(folder, view)
        text = cache.load(name, _inputs(folder, view)) if name in heads else None
        if text is None:
            continue
        head, digest = heads[name]
        if _digest(text) == digest:
            kept = CachedHistory(cache, top, head, folder, view)
            found[folder] = KnownHistory(head, PackedHistory(digest, kept))
    return found


def note_heads(
    cache: Cache, head: str, views: Mapping[str, HistoryView], fresh: Mapping[str, PackedHistory]
) -> None:
    """Write down that all of these are told up to a commit, of which some are `fresh`."""
    heads = _heads(cache)
    for folder, view in views.items():
        name = _name(folder, view)
        if folder in fresh:
            heads[name] = head, fresh[folder].digest
        elif name in heads:  # unless another command wrote them meanwhile
            heads[name] = head, heads[name][1]
    cache.store(_HEADS, "", json.dumps(heads, separators=(",", ":")).encode("ascii"))


def _heads(cache: Cache) -> dict[str, tuple[str, str]]:
    try:
        plain = json.loads(cache.load(_HEADS, "") or b"{}")
        return {name: (str(head), str(digest)) for name, (head, digest) in plain.items()}
    except (ValueError, TypeError, AttributeError, RecursionError):
        return {}


def _name(folder: str, view: HistoryView) -> str:
    name = hashlib.sha256(f"{folder}\0{view.digest}".encode()).hexdigest()[:24]
    return f"history-{name}"


def _inputs(folder: str, view: HistoryView) -> tuple[str, str]:
    return folder, view.digest


def _digest(text: bytes) -> str:
    return hashlib.sha256(text).hexdigest()


@contextlib.contextmanager
def _no_collection() -> Iterator[None]:
    """Without looking for garbage: plain values by the ten thousand hold none, and looking again
    and again costs as much as making them."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
