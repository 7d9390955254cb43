"""Words that name a withheld thing, found in a text however they are written.

A word is taken as its runs of letters and of digits: `CAM-12`, `cam 12`, `Cam_012` and `CAM12` are
one; `CAM-123` and `XCAM-12` are others. What a word is too short for is taken as it was typed, and
a bare number, which may be a count, a room or a length as well, only where a text says that it is
an outlet's.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Final

from asbuilt.records.links import DEVICE, WITHHELD

_RUN: Final = re.compile(r"[^\W\d_]+|\d+")
#: What may stand between the runs of a word, whatever stood there when it was written down.
_JOINT: Final = re.compile(r"[\s._+\-\u00ad\u200b-\u200d\u2010-\u2015\u2060\ufeff]*")
#: What follows a word and belongs to it: the port of a thing, an s.
_TAIL: Final = re.compile(r"(?:/[A-Za-z0-9](?:[A-Za-z0-9._+-]*[A-Za-z0-9_+])?)+|[sS](?![^\W_])")
_NUMBERED: Final = re.compile(r"[\s.:#°\"'“‘(-]*")
#: After one of these a bare number is a name.
_NAMING: Final = frozenset(
    ("outlet", "outlets", "jack", "jacks", "drop", "drops", "plate", "label", "labelled", "no",
     "number", "device", "recorder", *WITHHELD, *(f"{word}s" for word in WITHHELD))
)  # fmt: skip
_SHORT: Final = 4  # signs: fewer are taken as they were typed
_LONG_NUMBER: Final = 5  # digits: as many are no count, room or length


@dataclass(frozen=True, slots=True)
class _Word:
    """A word as its runs, in small letters and without leading zeros, and what stands between
    them; `signs` are its letters and digits."""

    text: str
    runs: tuple[str, ...]
    joints: tuple[str, ...]
    signs: int


def redact_text(text: str, words: frozenset[str]) -> str:
    """`text` with each of these words replaced by “device”."""
    if not words:
        return text
    known = _by_first_run(words)
    composed = text if text.isascii() else unicodedata.normalize("NFC", text)
    runs = list(_RUN.finditer(composed))
    plain = [_plain(run[0]) for run in runs]
    done, parts = 0, []
    for start, end in _found(composed, runs, plain, known):
        if start >= done:
            parts += [composed[done:start], DEVICE]
            done = end
    return "".join((*parts, composed[done:])) if parts else text


def names_withheld(word: str) -> bool:
    """Whether a text could name a thing by this word: a single sign can't, nor can an empty one."""
    return sum(map(str.isalnum, word)) > 1


def _found(
    text: str,
    runs: list[re.Match[str]],
    plain: list[str],
    known: Mapping[str, tuple[_Word, ...]],
) -> Iterator[tuple[int, int]]:
    """From where to where a word stands, the longest where several begin."""
    for at, run in enumerate(plain):
        for word in known.get(run) or known.get(run.removesuffix("s"), ()):
            last = at + len(word.runs) - 1
            if last >= len(runs) or not _same(plain[at : last + 1], word.runs):
                continue
            start, end = runs[at].start(), runs[last].end()
            joined = all(
                gap == joint or (word.signs >= _SHORT and _JOINT.fullmatch(gap))
                for gap, joint in zip(_gaps(text, runs[at : last + 1]), word.joints, strict=True)
            )
            tail = _TAIL.match(text, end)
            if not joined or (at and runs[at - 1].end() == start):
                continue
            if not tail and last + 1 < len(runs) and runs[last + 1].start() == end:
                continue
            if word.signs < 3 and text[start:end] != word.text:
                continue
            if word.text.isdigit() and word.signs < _LONG_NUMBER and not _named(text, runs, at):
                continue
            yield start, tail.end() if tail else end
            break


def _same(found: list[str], runs: tuple[str, ...]) -> bool:
    """Whether these are the runs of a word, or of several of the kind."""
    end = runs[-1]
    return found[-1] in (end, f"{end}s") and tuple(found[:-1]) == runs[:-1]


def _named(text: str, runs: list[re.Match[str]], at: int) -> bool:
    """Whether the word before says that a number is a name."""
    before = runs[at - 1] if at else None
    if before is None or before[0].casefold() not in _NAMING:
        return False
    return _NUMBERED.fullmatch(text, before.end(), runs[at].start()) is not None


def _gaps(text: str, runs: list[re.Match[str]]) -> list[str]:
    return [text[one.end() : other.start()] for one, other in pairwise(runs)]


def _plain(run: str) -> str:
    return (run.lstrip("0") or "0") if run.isdigit() else run.casefold()


@lru_cache(maxsize=64)
def _by_first_run(words: frozenset[str]) -> Mapping[str, tuple[_Word, ...]]:
    found: dict[str, list[_Word]] = {}
    for text in sorted(words, key=lambda word: (-len(word), word)):
        composed = unicodedata.normalize("NFC", text)
        runs = list(_RUN.finditer(composed))
        if runs:
            word = _Word(
                composed[runs[0].start() : runs[-1].end()],
                tuple(_plain(run[0]) for run in runs),
                tuple(_gaps(composed, runs)),
                sum(len(run[0]) for run in runs),
            )
            found.setdefault(word.runs[0], []).append(word)
    return {run: tuple(several) for run, several in found.items()}
