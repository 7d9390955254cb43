"""The demonstration's build, and our way through mkdocs against the plain one.

wall time and peak memory    of `asbuilt demo`, with all the processes it starts (pages that
                             processes share are counted for each)
pages a second               of publishing one site's tree, against a plain `mkdocs build` of the
                             same pages written out as Markdown files with ready HTML in them,
                             search and all; both in this process, one after the other
"""

from __future__ import annotations

import logging
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from asbuilt.io.graphviz import render_dots
from asbuilt.pages.page import Page
from asbuilt.publish import assemble, histories, load
from asbuilt.publish.mkdocs_plugin import publish
from asbuilt.publish.site_output import SiteOutput
from asbuilt.records.edition import Edition
from benchmarks._beside import held, plainly, timed, write_plainly

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
        write_plainly([volume], folder / "plain")
        lines = [part.path for part in volume.tree if isinstance(part, Page) and part.nav]
        nav = [f"{volume.key}/{path.removesuffix('.html')}.md" for path in lines]  # as with us
        plain = timed(lambda: plainly(folder / "plain", nav))
        ours = timed(lambda: _ours(volume, folder / "ours"))
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
        peak = max(peak, sum(held(process.pid)))
        time.sleep(0.02)
    assert process.returncode == 0
    return time.perf_counter() - start, peak / 1024


def _volume(top: Path, key: str) -> SiteOutput:
    book = assemble.assemble(
        load.load_site(top, key, ready=True),
        Edition.INTERNAL,
        histories.histories_of(top, [key])[key],
    )
    return assemble.output_of(book, render_dots)


def _ours(volume: SiteOutput, folder: Path) -> None:
    folder.mkdir()
    publish(volume, folder)
