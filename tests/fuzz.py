"""Record trees mutated at random, each a function of a seed: by structure (what the schema knows:
fields, values, references, quantities) and by bytes (flips, cuts, NULs, encodings).

`python -m tests.fuzz N [SEED]` tries N of them and says what was found.
"""

from __future__ import annotations

import faulthandler
import random
import re
import resource
import signal
import sys
import time
import traceback
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field
from types import FrameType

from asbuilt.changes.log import History, Revision
from asbuilt.checks.report import problem_line
from asbuilt.model.paths import cabling_graph
from asbuilt.model.site import site_of
from asbuilt.pages.context import PageContext
from asbuilt.pages.tree import site_tree
from asbuilt.publish.load import LoadedSite, load_texts
from asbuilt.records.edition import Edition, in_edition
from asbuilt.records.kinds import ALL_KINDS
from tests.books import PRACTICE, no_drawing
from tests.canaries import CanarySite

#: What steers a terminal: C0 and C1 controls (ECMA-48, 5.2 and 5.3), and what turns text round.
CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069]")
LIMIT = 10.0  # seconds a mutant may take, pages included; a good one takes a fraction
PAGES_EVERY = 20  # of the mutants nothing is wrong with, so many a page tree is made of

Texts = dict[str, bytes]
Change = Callable[[bytes, random.Random], bytes]

FIELDS = sorted({name for kind in ALL_KINDS for name in kind.specs})
#: What may be typed where something else belongs.
VALUES = (
    "", "~", "null", "yes", "no", "true", "0", "-1", "1e999", "9" * 400, "-" + "9" * 4000, "0x1F",
    ".nan", ".inf", "٣", "²", "1/0", "9999999999 m", "1e308 km", "0 mm", "-5 m", "nan m", "inf W",
    "1.7976931348623157e309 m", "48 U", "0 U", "99999999999999999999 U", "1-999999999", "9-1",
    "[1-999999999]", "0-0", "[[[]]]", "[]", "{}", "{a: {b: {c: d}}}", "[1, 1, 1]", "[a, [b], {c: d}]",
    "2025-02-30", "0000-00-00", "99999-01-01", "2025-03-07 25:61 to 2025-03-07 00:00",
    "9999-12-31 by x", "1A/nowhere/01", "nowhere", "1A/panel1/9999999999", "a/b/c/d/e/f", "/", "//",
    "..", "../../etc/passwd", "1A//01", "'1A/panel1/01'", "*anchor", "&anchor x", "!!python/object x",
    "!tag {a: b}", "<<: {a: b}", "? x", "| \n x", '"\\0"', '"\\ud800"', '"\\x1b[2J"', "é" * 50, "\u202e",
    "\U0001f600", "x" * 100_000, "'{port:999999999}'", "'{enclosure.__class__}'", "'{0}'", "'{panel!r}'",
    "'{panel[0]}'", "'{'", "'}}{{'", "1, 1", "1 m, 1 m", "99999999 m, -1 m", '"=1+1"',
)  # fmt: skip
PIECES = (
    b"\0", b"\r\n", b"\r", b"\t", b"\xff\xfe", b"\xef\xbb\xbf", b"\xc3", b"\xed\xa0\x80", b"\x1b[2J",
    b"\xc2\x85", b"\xe2\x80\xa8", b"---\n", b"...\n", b"%YAML 9.9\n", b"&a [*a]", b"*a", b"!!", b"<<: ",
    b"{" * 3000, b"[" * 3000, b"- " * 2000, b"? " * 500, b": ", b"'", b'"', b"#", b"@", b"`", b"|\n", b">",
    b"\n" * 5000, b"a: " * 500,
)  # fmt: skip


def bases() -> list[Texts]:
    """Good sites to begin from: one with every field of every kind, one small and plain."""
    return [
        {path: text.encode() for path, text in texts.items()}
        for texts in (CanarySite().files(), dict(PRACTICE))
    ]


def mutant(seed: int, sites: list[Texts]) -> Texts:
    dice = random.Random(seed)
    texts = dict(dice.choice(sites))
    for _ in range(dice.choice((1, 1, 1, 2, 3, 8))):
        path = dice.choice(sorted(texts))
        change = dice.choice(STRUCTURE if dice.random() < 0.7 else BYTES)
        texts[path] = change(texts[path], dice)
    if dice.random() < 0.05:
        gone = dice.choice(sorted(texts))
        texts[dice.choice(ODD_PATHS)] = texts.pop(gone)
    return texts


ODD_PATHS = (
    "site.yml", "enclosures/1B.yml", "outlets.yml", "outlets/a/b.yml", "jobs/J 1.yml", "tests/x.csv",
    "enclosures/<b>.yml", "enclosures/é.yml", "odd.yml", "sites.yml", "photos.yml", "findings/=1.yml",
)  # fmt: skip


# By structure: a line is a record or a field, a flow mapping holds `name: value` between commas


def _lines(change: Callable[[list[bytes], random.Random], None]) -> Change:
    def changed(text: bytes, dice: random.Random) -> bytes:
        lines = text.split(b"\n")
        change(lines, dice)
        return b"\n".join(lines)

    return changed


def _drop(lines: list[bytes], dice: random.Random) -> None:
    del lines[dice.randrange(len(lines))]


def _double(lines: list[bytes], dice: random.Random) -> None:
    lines.insert(dice.randrange(len(lines) + 1), dice.choice(lines))


def _swap_lines(lines: list[bytes], dice: random.Random) -> None:
    a, b = dice.randrange(len(lines)), dice.randrange(len(lines))
    lines[a], lines[b] = lines[b], lines[a]


def _indent(lines: list[bytes], dice: random.Random) -> None:
    at = dice.randrange(len(lines))
    lines[at] = b" " * dice.choice((1, 2, 4, 60)) + lines[at]


def _parts(change: Callable[[list[bytes], random.Random], None]) -> Change:
    def changed(text: bytes, dice: random.Random) -> bytes:
        lines = text.split(b"\n")
        at = dice.choice([n for n, line in enumerate(lines) if b": " in line] or [0])
        parts = lines[at].split(b", ")
        change(parts, dice)
        lines[at] = b", ".join(parts)
        return b"\n".join(lines)

    return changed


def _value(parts: list[bytes], dice: random.Random) -> None:
    at = dice.randrange(len(parts))
    name, colon, old = parts[at].rpartition(b": ")
    tail = old[len(old.rstrip(b"}")) :]
    parts[at] = name + colon + dice.choice(VALUES).encode() + tail


def _name(parts: list[bytes], dice: random.Random) -> None:
    at = dice.randrange(len(parts))
    _, colon, value = parts[at].rpartition(b": ")
    parts[at] = dice.choice((*FIELDS, *VALUES)).encode() + colon + value


def _swap(parts: list[bytes], dice: random.Random) -> None:
    a, b = dice.randrange(len(parts)), dice.randrange(len(parts))
    one, colon, first = parts[a].rpartition(b": ")
    two, comma, second = parts[b].rpartition(b": ")
    parts[a], parts[b] = one + colon + second, two + comma + first


def _add(parts: list[bytes], dice: random.Random) -> None:
    new = f"{dice.choice(FIELDS)}: {dice.choice(VALUES)}".encode()
    parts.insert(dice.randrange(1, len(parts) + 1), new)


def _less(parts: list[bytes], dice: random.Random) -> None:
    if len(parts) > 2:
        del parts[dice.randrange(1, len(parts) - 1)]


def _more(parts: list[bytes], dice: random.Random) -> None:
    if len(parts) > 2:
        parts.insert(1, dice.choice(parts[1:-1]))


def _word(text: bytes, dice: random.Random) -> bytes:
    """A word that stands somewhere put in the place of another: references dangle or go round."""
    words = text.split(b" ")
    words[dice.randrange(len(words))] = dice.choice(words)
    return b" ".join(words)


# By bytes


def _flip(text: bytes, dice: random.Random) -> bytes:
    changed = bytearray(text)
    for _ in range(dice.choice((1, 1, 4, 32))):
        if changed:
            changed[dice.randrange(len(changed))] ^= 1 << dice.randrange(8)
    return bytes(changed)


def _cut(text: bytes, dice: random.Random) -> bytes:
    a, b = sorted((dice.randrange(len(text) + 1), dice.randrange(len(text) + 1)))
    return dice.choice((text[:a], text[:a] + text[b:]))


def _insert(text: bytes, dice: random.Random) -> bytes:
    at = dice.randrange(len(text) + 1)
    return text[:at] + dice.choice(PIECES) + text[at:]


def _encode(text: bytes, dice: random.Random) -> bytes:
    said = text.decode("utf-8", "replace")
    names = ("utf-16", "utf-32", "latin-1", "utf-7", "cp037", "utf-8-sig")
    return said.encode(dice.choice(names), "replace")


def _ends(text: bytes, dice: random.Random) -> bytes:
    return text.replace(b"\n", dice.choice((b"\r\n", b"\r", b"\n\n", b"", b"\x0b")))


def _noise(text: bytes, dice: random.Random) -> bytes:
    return dice.randbytes(dice.choice((0, 1, 64, 4096)))


STRUCTURE: tuple[Change, ...] = (
    *map(_lines, (_drop, _double, _swap_lines, _indent)),
    *map(_parts, (_value, _value, _value, _name, _swap, _add, _add, _less, _more)),
    _word,
)
BYTES: tuple[Change, ...] = (_flip, _cut, _insert, _encode, _ends, _noise)


# Trying


class Hang(BaseException):
    """A mutant took longer than it may."""


@dataclass
class Tried:
    mutants: int = 0
    sound: int = 0
    trees: int = 0
    problems: int = 0
    failures: list[str] = field(default_factory=list)
    slowest: tuple[float, int] = (0.0, 0)
    seconds: float = 0.0

    def __str__(self) -> str:
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
        return (
            f"{self.mutants} mutants, {self.mutants / self.seconds:.0f} a second; {self.problems} "
            f"problems told; {self.sound} without an error, pages made of {self.trees}; slowest "
            f"{self.slowest[0]:.2f} s (seed {self.slowest[1]}); peak {peak} MB; "
            f"{len(self.failures)} failures"
        )


def try_mutants(count: int, first: int = 0) -> Tried:
    tried, sites = Tried(), bases()
    began = time.monotonic()
    for seed in range(first, first + count):
        texts = mutant(seed, sites)
        start = time.monotonic()
        try:
            with time_limit(LIMIT):
                _try(texts, tried)
        except (Exception, Hang):
            tried.failures.append(f"seed {seed}: {traceback.format_exc(limit=-4)}")
        tried.mutants += 1
        tried.slowest = max(tried.slowest, (time.monotonic() - start, seed))
    tried.seconds = time.monotonic() - began
    return tried


def _try(texts: Mapping[str, bytes], tried: Tried) -> None:
    reading = load_texts("harbour", texts)
    tried.problems += len(reading.problems)
    for problem in reading.problems:
        place = problem.place
        assert place.path.startswith("sites/harbour"), problem
        assert place.line >= 1 and place.column >= 1 and problem.message, problem
        lines = texts.get(place.path.removeprefix("sites/harbour/"), b"").count(b"\n") + 1
        breaks = texts.get(place.path.removeprefix("sites/harbour/"), b"").count(b"\r")
        assert place.line <= lines + breaks + 1, f"a line past the end: {problem}"
        assert not CONTROL.search(problem_line(problem)), f"steers a terminal: {problem!r}"
    if reading.sound:
        tried.sound += 1
        if tried.sound % PAGES_EVERY == 0:
            tried.trees += 1
            for edition in Edition:
                site_tree(_book(reading, edition), no_drawing)


def _book(reading: LoadedSite, edition: Edition) -> PageContext:
    site = site_of(in_edition(edition, reading.records))
    assert site is not None
    return PageContext(site, cabling_graph(site), edition, Revision(), History())


@contextmanager
def time_limit(seconds: float) -> Iterator[None]:
    def over(number: int, frame: FrameType | None) -> None:
        raise Hang(f"more than {seconds} s")

    before = signal.signal(signal.SIGALRM, over)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, before)


def main() -> int:
    faulthandler.enable()
    count, first = (*map(int, sys.argv[1:3]), 0)[:2] if len(sys.argv) > 2 else (int(sys.argv[1]), 0)
    tried = try_mutants(count, first)
    for failure in tried.failures[:20]:
        print(failure)
    print(tried)
    return 1 if tried.failures else 0


if __name__ == "__main__":
    sys.exit(main())
