"""What benchmarks hold asbuilt against, and how they measure."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from mkdocs.commands.build import build as mkdocs_build
from mkdocs.config.defaults import MkDocsConfig

from asbuilt.pages.page import Page
from asbuilt.volume import Volume


def timed(work: Callable[[], object]) -> float:
    """Seconds of wall time."""
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


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


def write_plainly(volumes: Iterable[Volume], docs: Path) -> list[str]:
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
    config.load_dict(
        {
            "site_name": "plain",
            "docs_dir": str(docs),
            "site_dir": str(docs.with_name(f"{docs.name}-site")),
            "theme": {"name": "material", "font": False},
            "use_directory_urls": False,
            "nav": list(nav),
            "plugins": ["search"],
        }
    )
    failed, _ = config.validate()
    assert not failed, failed
    mkdocs_build(config)
