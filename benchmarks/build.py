"""The demonstration's build, and our way through mkdocs against the plain one.

wall time and peak memory    of `asbuilt demo`, with all the processes it starts (pages that
                             processes share are counted for each)
pages a second               of publishing one site's tree, against a plain `mkdocs build` of the
                             same pages written out as Markdown files with ready HTML in them,
                             search and all; both in this process, one after the other
"""

from __future__ import annotations

import json
import logging
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from mkdocs.commands.build import build as mkdocs_build
from mkdocs.config.defaults import MkDocsConfig

from asbuilt import build
from asbuilt.dot import render_dots
from asbuilt.pages.page import Page
from asbuilt.plugin import publish
from asbuilt.records.edition import Edition
from asbuilt.volume import Volume

BIGGEST = "lindmarsh"  # the demonstration's site of most outlets


def run() -> None:
    os.environ["NO_MKDOCS_2_WARNING"] = "1"
    logging.getLogger("mkdocs").setLevel(logging.ERROR)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        seconds, peak = _demonstration(folder / "demo")
        pages = sum(1 for _ in (folder / "demo" / "public").rglob("*.html"))
        print(f"demonstration: {seconds:.1f} s, {pages} pages, at most {peak:.0f} MiB")
        volume = _volume(folder / "demo", BIGGEST)
        count = sum(isinstance(part, Page) for part in volume.tree)
        plain = _timed(lambda: _plainly(volume, folder / "plain"))
        ours = _timed(lambda: _ours(volume, folder / "ours"))
        print(f"plain mkdocs build: {count / plain:.0f} pages a second ({count} in {plain:.2f} s)")
        print(f"asbuilt:            {count / ours:.0f} pages a second ({count} in {ours:.2f} s)")
        print(f"time, asbuilt / plain: {ours / plain:.2f}")


def _demonstration(folder: Path) -> tuple[float, float]:
    """Seconds, and the most memory all its processes held at a time, in MiB."""
    command = [sys.executable, "-m", "asbuilt", "demo", str(folder)]
    start = time.perf_counter()
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL)
    peak = 0
    while process.poll() is None:
        peak = max(peak, _resident(process.pid))
        time.sleep(0.02)
    assert process.returncode == 0
    return time.perf_counter() - start, peak / 1024


def _resident(root: int) -> int:
    """KiB held by a process and all that came from it, by /proc (0 where there is none)."""
    parents: dict[int, int] = {}
    held: dict[int, int] = {}
    for status in Path("/proc").glob("[0-9]*/status"):
        try:
            lines = dict(line.split(":", 1) for line in status.read_text().splitlines())
        except OSError:
            continue  # it has ended
        number = int(status.parent.name)
        parents[number] = int(lines["PPid"])
        held[number] = int(lines.get("VmRSS", "0").split()[0])
    ours = {root}
    for _ in range(5):
        ours |= {number for number, parent in parents.items() if parent in ours}
    return sum(held.get(number, 0) for number in ours)


def _volume(top: Path, key: str) -> Volume:
    book = build.bind(
        build.read_site(top, key), Edition.INTERNAL, build.histories_of(top, [key])[key]
    )
    return build.volume_of(book, render_dots)


def _ours(volume: Volume, folder: Path) -> None:
    folder.mkdir()
    publish(volume, folder)


def _plainly(volume: Volume, folder: Path) -> None:
    """The same pages as anybody would give them to mkdocs; only those with a line of their own
    are in the navigation, as with us."""
    docs = folder / "docs"
    nav: list[dict[str, str]] = []
    for part in volume.tree:
        target = docs / part.path
        if isinstance(part, Page):
            target = target.with_suffix(".md") if target.suffix == ".html" else target
            text = f"---\ntitle: {json.dumps(part.title)}\n---\n<div>\n{part.html}\n</div>\n"
            data = text.encode()
            if part.nav:
                nav.append({part.nav: target.relative_to(docs).as_posix()})
        else:
            data = part.data
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
    config = MkDocsConfig()
    config.load_dict(
        {
            "site_name": volume.name,
            "docs_dir": str(docs),
            "site_dir": str(folder / "site"),
            "theme": {"name": "material", "font": False},
            "use_directory_urls": False,
            "nav": nav,
            "plugins": ["search"],
        }
    )
    failed, _ = config.validate()
    assert not failed, failed
    mkdocs_build(config)


def _timed(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start
