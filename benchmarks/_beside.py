"""What benchmarks hold asbuilt against, and how they measure."""

from __future__ import annotations

import gc
import json
import statistics
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import yaml
from mkdocs.commands.build import build as mkdocs_build
from mkdocs.config.defaults import MkDocsConfig

from asbuilt.pages.page import Page
from asbuilt.publish.site_output import SiteOutput


def timed(work: Callable[[], object]) -> float:
    """Seconds of wall time."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


@dataclass(frozen=True, slots=True)
class Side:
    """The seconds one thing took, each time it was measured."""

    runs: Sequence[float]

    @property
    def median(self) -> float:
        return statistics.median(self.runs)

    def ratio(self, floor: Side) -> float:
        return self.median / floor.median

    def of(self, floor: Side) -> str:
        """The ratio of the medians; where both ran several times also the lowest and highest ratio
        of a run."""
        ratios = [ours / theirs for ours, theirs in zip(self.runs, floor.runs, strict=False)]
        several = f" ({min(ratios):.3f}–{max(ratios):.3f})" if len(ratios) > 1 else ""
        return f"{self.ratio(floor):.3f}{several}"

    def __str__(self) -> str:
        several = f" ({min(self.runs):.2f}–{max(self.runs):.2f})" if len(self.runs) > 1 else ""
        return f"{self.median:8.2f} s{several}"


def in_turn(runs: int, *works: Callable[[], object]) -> list[Side]:
    """What each took, one after the other in every run; every other run from the last to the
    first, so that neither always meets the machine as the other left it."""
    took: list[list[float]] = [[] for _ in works]
    for run in range(max(runs, 1)):
        for at in range(len(works))[:: -1 if run % 2 else 1]:
            gc.collect()
            took[at].append(timed(works[at]))
    return [Side(times) for times in took]


@dataclass(frozen=True, slots=True)
class Peaks:
    """The most memory single processes of one command held, in MiB: the one that was started, the
    largest of its workers, the largest of other programs (git, Graphviz); 0 where there was none.

    By VmHWM of Linux's /proc, which is the peak itself: only what a process took in its last 20 ms
    may be missed, and a program that ran for less. Pages that processes share count for each.
    """

    first: float
    worker: float
    other: float

    @property
    def most(self) -> float:
        return max(self.first, self.worker, self.other)

    def figures(self) -> dict[str, float]:
        return {
            "first process": self.first, "worker": self.worker, "other program": self.other,
            "any": self.most,
        }  # fmt: skip

    def __str__(self) -> str:
        if not self.first:
            return "not known here"
        parts = {"first process": self.first, "a worker": self.worker, "another": self.other}
        return ", ".join(f"{name} {size:.0f}" for name, size in parts.items() if size)


_LOOK: Final = 0.02  # seconds between two looks at what processes hold


def watched(command: Sequence[str], folder: Path) -> tuple[float, Peaks]:
    """Seconds of a command, and what its processes held."""
    over = threading.Event()
    start = time.perf_counter()
    process = subprocess.Popen(command, cwd=folder, stdout=subprocess.DEVNULL)
    watch = _Watch(process.pid)

    def look() -> None:
        while not over.wait(_LOOK):
            watch.look()

    looking = threading.Thread(target=look)
    looking.start()
    code = process.wait()
    seconds = time.perf_counter() - start
    over.set()
    looking.join()
    assert code == 0, f"{' '.join(command)} ended with {code}"
    return seconds, watch.peaks()


class _Watch:
    """The processes that came from one, and what each held at most when last looked at."""

    def __init__(self, root: int) -> None:
        self._root = root
        self._depths = {root: 0}
        self._strangers: set[int] = set()
        self._held: dict[int, tuple[str, float]] = {}

    def look(self) -> None:
        for number in sorted(int(part.name) for part in Path("/proc").glob("[0-9]*")):
            if number in self._strangers:
                continue
            try:
                lines = Path(f"/proc/{number}/status").read_text().splitlines()
            except OSError:
                continue  # it has ended
            status = dict(line.split(":", 1) for line in lines)
            depth = self._depths.get(int(status["PPid"]))
            if number != self._root and depth is None and number not in self._depths:
                self._strangers.add(number)
            elif "VmHWM" in status:  # or it is about to end
                if depth is not None:
                    self._depths.setdefault(number, depth + 1)
                size = int(status["VmHWM"].split()[0]) / 1024
                self._held[number] = status["Name"].strip(), size

    def peaks(self) -> Peaks:
        """Workers are of the first one's program, and come from the process it keeps for that."""
        first = self._held.pop(self._root, ("", 0.0))
        worker = other = 0.0
        for number, (name, size) in self._held.items():
            if name != first[0]:
                other = max(other, size)
            elif self._depths[number] == 2:
                worker = max(worker, size)
        return Peaks(first[1], worker, other)


def held(root: int) -> list[int]:
    """KiB held by a process and by each that came from it, by /proc (nothing where there is none).
    Pages that processes share are counted for each."""
    parents: dict[int, int] = {}
    sizes: dict[int, int] = {}
    for status in Path("/proc").glob("[0-9]*/status"):
        try:
            lines = dict(line.split(":", 1) for line in status.read_text().splitlines())
        except OSError:
            continue  # it has ended
        number = int(status.parent.name)
        parents[number] = int(lines["PPid"])
        sizes[number] = int(lines.get("VmRSS", "0").split()[0])
    ours = {root}
    for _ in range(5):
        ours |= {number for number, parent in parents.items() if parent in ours}
    return [sizes[number] for number in ours if number in sizes]


def write_plainly(volumes: Iterable[SiteOutput], docs: Path) -> list[str]:
    """The pages as anybody would give them to mkdocs; the paths of all of them."""
    pages: list[str] = []
    for volume in volumes:
        for part in volume.tree:
            target = docs / volume.key / part.path
            data = part.data if not isinstance(part, Page) else b""
            if isinstance(part, Page):
                target = target.with_suffix(".md")
                text = f"---\ntitle: {json.dumps(part.title)}\n---\n<div>\n{part.html}\n</div>\n"
                data = text.encode()
                pages.append(target.relative_to(docs).as_posix())
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(data)
    return pages


def plainly(docs: Path, nav: Sequence[str]) -> None:
    """One plain `mkdocs build`, search and all, with these pages in its navigation."""
    config = MkDocsConfig()
    config.load_dict(_settings(docs, nav))
    failed, _ = config.validate()
    assert not failed, failed
    mkdocs_build(config)


def plain_command(docs: Path, nav: Sequence[str]) -> list[str]:
    """The same, as the command that somebody would give."""
    file = docs.with_name(f"{docs.name}.yml")
    file.write_text(yaml.safe_dump(_settings(docs, nav)))
    return [sys.executable, "-m", "mkdocs", "build", "--quiet", "--config-file", str(file)]


def _settings(docs: Path, nav: Sequence[str]) -> dict[str, Any]:
    return {
        "site_name": "plain",
        "docs_dir": str(docs),
        "site_dir": str(docs.with_name(f"{docs.name}-site")),
        "theme": {"name": "material", "font": False},
        "use_directory_urls": False,
        "nav": list(nav),
        "plugins": ["search"],
    }
