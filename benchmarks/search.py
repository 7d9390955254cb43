"""A site's own search, in Chromium: from a key let go to what was found on the screen.

A site of 1,000 outlets is built and opened from a disk and over HTTP; several queries are typed
into its search, each so many times, with the box emptied in between. Milliseconds, the median and
the worst, with how many pages each finds; held against 200 ms, within which an answer seems to be
there at once. Where there is no browser it says so. `python -m benchmarks.fleet` asks the search
over all sites of its fleet so.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Final

from selenium.webdriver import Chrome

from asbuilt.io import git_write
from benchmarks._records import Fleet
from tests.chromium import CHROMIUM, DRIVER, browser, served

OUTLETS: Final = 1000
COMMITS: Final = 20
RUNS: Final = 7
LIMIT: Final = 200  # milliseconds
#: An outlet whole and in part, a room, a person, a mounted thing, a kind, a word, what isn't there.
QUERIES: Final = ("{label}", "{part}", "{room}", "Quill", "{thing}", "switch", "glossary", "qqqq")

#: Types, and calls back with milliseconds and finds as soon as the list shows what was typed.
_TYPE: Final = """
const [typed, done] = arguments;
const box = document.querySelector('input.md-search__input');
const meta = document.querySelector('.md-search-result__meta');
const before = meta.textContent;
const watch = new MutationObserver(() => {
  if (meta.textContent === before) return;
  watch.disconnect();
  requestAnimationFrame(() => done([performance.now() - began,
    parseInt(meta.textContent.replace(/\\D/g, '') || '0'), meta.textContent.trim()]));
});
watch.observe(document.querySelector('.md-search-result'),
  {childList: true, subtree: true, characterData: true});
box.focus();
box.value = typed;
const began = performance.now();
box.dispatchEvent(new KeyboardEvent('keyup', {bubbles: true}));
"""
#: The same for the search over all sites, whose script is read when somebody begins to type.
_FIND: Final = """
const [typed, done] = arguments;
const box = document.querySelector('[data-finder] input');
const said = document.querySelector('[data-finder] output');
const answer = () => requestAnimationFrame(() => done([performance.now() - began,
  parseInt(said.textContent.replace(/^\\d+ of /, '')) || 0, said.textContent]));
const before = said.textContent;
const watch = new MutationObserver(() => {
  if (said.textContent === before) return;
  watch.disconnect();
  answer();
});
watch.observe(said, {childList: true, subtree: true, characterData: true});
box.focus();
box.value = typed;
const began = performance.now();
box.dispatchEvent(new Event('input', {bubbles: true}));
if (!typed && !before) { watch.disconnect(); answer(); }
"""


def run() -> None:
    if CHROMIUM is None or DRIVER is None:
        print("not measured: Chromium and its driver aren't here")
        return
    with tempfile.TemporaryDirectory() as folder:
        top = Path(folder)
        fleet = Fleet(1, OUTLETS)
        git_write.import_commits(top, fleet.history(COMMITS))
        build = [sys.executable, "-m", "asbuilt", "build"]
        subprocess.run(build, cwd=top, check=True, capture_output=True)
        site = next(path.parent for path in (top / "public").glob("*/outlets.html"))
        index = sum(path.stat().st_size for path in site.glob("search/*"))
        print(f"{len(list(site.glob('outlets/*.html')))} outlets, {index / 1024:.0f} KiB of index")
        with served(site) as address, browser() as driver:
            _measure(driver, "from a disk", (site / "index.html").as_uri(), site)
            _measure(driver, "over HTTP", f"{address}/index.html", site)


def over_all(public: Path) -> dict[str, float] | None:
    """The search over all sites of a published folder, opened from the disk: milliseconds of the
    first query, the median and the worst of those after it. None where there is no browser."""
    if CHROMIUM is None or DRIVER is None:
        return None
    site = next(path.parent for path in sorted(public.glob("*/outlets.html")))
    with browser() as driver:
        return _measure(driver, "over all sites", (public / "index.html").as_uri(), site, _FIND)


def _measure(
    driver: Chrome, how: str, address: str, site: Path, script: str = _TYPE
) -> dict[str, float]:
    driver.set_script_timeout(60)
    driver.get(address)
    first = driver.execute_async_script(script, "switch")[0]
    every: list[float] = []
    print(f"{how}: {first:.0f} ms for the first, with the index read")
    for query in QUERIES:
        typed = query.format(**_words(site))
        took = []
        finds = 0
        for _ in range(RUNS):
            driver.execute_async_script(script, "")
            milliseconds, finds, _said = driver.execute_async_script(script, typed)
            took.append(milliseconds)
        every += took
        middle = statistics.median(took)
        print(f"  {typed:<14} {finds:5} found {middle:6.0f} ms, at worst {max(took):.0f}")
    median, worst = statistics.median(every), max(every)
    print(f"  all            {median:6.0f} ms, at worst {worst:.0f}: "
          f"{worst / LIMIT:.2f} of {LIMIT} ms", flush=True)  # fmt: skip
    return {"first": first, "median": median, "worst": worst}


def _words(site: Path) -> dict[str, str]:
    """What somebody might look for in this site."""
    labels = sorted(page.stem for page in site.glob("outlets/*.html"))
    label = labels[len(labels) // 2]
    thing = min(page.stem for page in site.glob("enclosures/*/*.html"))
    return {"label": label, "part": label[:-1], "room": "101", "thing": thing}
