"""A fleet of sites: building all, building after one changed, growing, serving, checking.

    full        `asbuilt build` of every site, from nothing, with the history
    plain       the floor of a build by mkdocs: one `mkdocs build` of the same pages, written out as
                Markdown files with ready HTML in them; only the first page is in its navigation,
                which is the quickest there is
    copy        the floor of any build: copying what `full` wrote
    none, one   `asbuilt build` again, after nothing, and after one more commit on one site: one of
                median size, another in every run; `largest`: on the largest
    curve       `full` and then `none` of more and more sites
    serve       one edit of a site of 1,000 outlets under `asbuilt serve`, against its plain build
    check       `asbuilt check`, against PyYAML's C loader reading the same files
    MiB         the most that single processes held, by the kernel's own count
    search      over all sites, in Chromium (search.py tells how)

Sites are few large and many small ones (_records.py tells more); every run has the same. The two
sides are measured in turn, `--runs` times; medians are held against each other, with the lowest and
highest of single runs in brackets. Each line says what it is held against; ratios hardly depend on
the machine. `python -m benchmarks fleet` takes 25 sites; `python -m benchmarks.fleet --sites 200
--commits 3000` the whole table, `--curve 25,50,100,200,400` the growth. `--json FILE` writes down
every run.
"""

from __future__ import annotations

import argparse
import itertools
import json
import logging
import math
import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from pathlib import Path
from typing import Any

import yaml

from asbuilt.io import cache, git_write
from asbuilt.io.files import choose_sites
from asbuilt.io.graphviz import render_dots
from asbuilt.publish import assemble, histories, load
from asbuilt.publish.incremental import IncrementalBuild
from asbuilt.publish.mkdocs_plugin import publish
from asbuilt.publish.site_output import SiteOutput
from asbuilt.records.edition import Edition
from benchmarks import search
from benchmarks._beside import (
    Peaks,
    Side,
    in_turn,
    plain_command,
    plainly,
    timed,
    watched,
    write_plainly,
)
from benchmarks._records import Fleet, add_commit

REACH = {
    "full / plain": 0.15,
    "one / full": 0.03,
    "twice the sites": 2.1,
    "serve / plain build of that site": 0.5,
    "check / C loader": 2.0,
}


ASBUILT = (sys.executable, "-m", "asbuilt")


def run() -> None:
    measure(sites=25, commits=375, outlets=100, curve=(), out=None, runs=3)


def main(options: Sequence[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.fleet")
    parser.add_argument("--sites", type=int, default=25)
    parser.add_argument("--commits", type=int, help="over all sites together; 15 a site")
    parser.add_argument("--outlets", type=int, default=100, help="a site, on average")
    parser.add_argument("--curve", default="", help="numbers of sites, with commas between")
    parser.add_argument("--json", type=Path, help="where to write the figures")
    parser.add_argument("--runs", type=int, help="of each side; 3 of up to 50 sites, else 1")
    parser.add_argument("--plain", type=int, help="runs of the plain build, if fewer; 0: none")
    asked = parser.parse_args(options)
    curve = tuple(int(count) for count in asked.curve.split(",") if count)
    commits = asked.commits or 15 * asked.sites
    runs = asked.runs or (3 if asked.sites <= 50 else 1)
    good = measure(asked.sites, commits, asked.outlets, curve, asked.json, runs, asked.plain)
    return 0 if good else 1


def measure(
    sites: int,
    commits: int,
    outlets: int,
    curve: Sequence[int],
    out: Path | None,
    runs: int,
    plain_runs: int | None = None,
) -> bool:
    """Print the figures; whether they are within reach."""
    plain_runs = runs if plain_runs is None else plain_runs
    os.environ["NO_MKDOCS_2_WARNING"] = "1"
    logging.getLogger("mkdocs").setLevel(logging.ERROR)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        top, fleet = _records(folder / "records", sites, outlets, commits)
        sized = [fleet.size(site) for site in fleet.sites]
        figures: dict[str, Any] = {
            "sites": sites, "commits": commits, "outlets a site": outlets, "runs": runs,
            "outlets": sum(sized), "outlets, smallest": min(sized),
            "outlets, median": statistics.median(sized), "outlets, largest": max(sized),
            "seconds": {},
        }  # fmt: skip
        print(
            f"{sites} sites of {outlets} outlets on average ({min(sized)}–{max(sized)}, median "
            f"{statistics.median(sized):g}), {sum(sized)} together; {commits} commits; "
            f"{runs} run{'s' if runs > 1 else ''}",
            flush=True,
        )
        _note(figures, *_fleet(folder, top, fleet, runs, plain_runs))
        _note(figures, *_check(top, runs))
        figures["curve"] = [_step(folder, count, outlets) for count in curve]
        if curve:
            first, last = figures["curve"][0], figures["curve"][-1]
            doublings = math.log2(last["sites"] / first["sites"])
            figures["twice the sites"] = (last["cold"] / first["cold"]) ** (1 / doublings)
        _note(figures, *_serve(folder, max(runs, 3)))
    good = True
    for name, most in REACH.items():
        if name in figures:
            mark = "" if figures[name] <= most else "   MISSED"
            good = good and not mark
            print(f"{name:34} {figures[name]:.3f}, at most {most}{mark}")
    if out:
        out.write_text(json.dumps(figures, indent=1) + "\n")
    return good


def _note(figures: dict[str, Any], sides: Mapping[str, Side], more: Mapping[str, Any]) -> None:
    """Medians under their names, every run under `seconds`."""
    figures |= {name: side.median for name, side in sides.items()} | dict(more)
    figures["seconds"] |= {name: list(side.runs) for name, side in sides.items()}


def _records(top: Path, sites: int, outlets: int, commits: int) -> tuple[Path, Fleet]:
    fleet = Fleet(sites, outlets)
    git_write.import_commits(top, fleet.history(commits))
    return top, fleet


def _fleet(
    folder: Path, top: Path, fleet: Fleet, runs: int, plain_runs: int
) -> tuple[dict[str, Side], dict[str, Any]]:
    seconds: dict[str, list[float]] = defaultdict(list)
    memory: dict[str, list[Peaks]] = defaultdict(list)
    keys = choose_sites(top, ())
    pages: list[str] = []
    if plain_runs:
        found_histories = histories.histories_of(top, keys)
        volumes = (_volume(top, key, found_histories[key]) for key in keys)
        pages = write_plainly(volumes, folder / "plain")
    mkdocs = plain_command(folder / "plain", pages[:1])

    def build(name: str, *changed: str) -> None:
        took, peaks = _build(top, changed)
        seconds[name].append(took)
        memory[name].append(peaks)

    def plain() -> None:
        took, peaks = watched(mkdocs, folder)
        seconds["plain"].append(took)
        memory["plain"].append(peaks)

    def ours() -> None:
        _clear(top)
        build("full", *keys)
        build("none")
        seconds["copy"].append(timed(lambda: shutil.copytree(top / "public", folder / "copy")))
        shutil.rmtree(folder / "copy")
        head = _git(top, "rev-parse", "HEAD")
        others = fleet.by_median()
        chosen.append(others[len(chosen) % len(others)])
        for name, site in (("one", chosen[-1]), ("largest", max(others, key=fleet.size))):
            add_commit(top, fleet, site, len(chosen))
            build(name, site)
        _git(top, "reset", "--quiet", "--hard", head)  # every run begins with the same

    chosen: list[str] = []
    for at in range(runs):
        sides_of_run = (plain, ours) if at % 2 else (ours, plain)
        for side in sides_of_run if at < plain_runs else (ours,):
            side()
    sides = {name: Side(times) for name, times in seconds.items()}
    full, floor = sides["full"], sides.get("plain")
    peaks = {name: max(every, key=lambda one: one.most) for name, every in memory.items()}
    sized = [fleet.size(site) for site in chosen]
    outlets = f"{min(sized)}–{max(sized)}" if min(sized) < max(sized) else f"{sized[0]}"
    largest = max(map(fleet.size, fleet.sites))
    size = _size(top / "public")
    if floor:
        print(f"plain    {floor}   mkdocs build of the {len(pages)} pages; MiB: {peaks['plain']}")
    print(f"copy     {sides['copy']}   of what full wrote")
    of_plain = f"{full.of(floor)} of plain, " if floor else ""
    print(f"full     {full}   {of_plain}{full.of(sides['copy'])} of copy")
    print(f"none     {sides['none']}   {sides['none'].of(full)} of full; nothing changed")
    one = sides["one"]
    print(f"one      {one}   {one.of(full)} of full; a site of median size, {outlets} outlets")
    one = sides["largest"]
    print(f"largest  {one}   {one.of(full)} of full; the largest site, {largest} outlets")
    print(f"MiB      full: {peaks['full']}; none: {peaks['none']}; one: {peaks['one']}", flush=True)
    found = search.over_all(top / "public")
    if found is None:
        print("search over all sites: not measured, Chromium and its driver aren’t here")
    if floor:
        size |= {"pages": len(pages), "full / plain": full.ratio(floor)}
    return sides, size | {
        "outlets of one": sized,
        "MiB": {name: [one.figures() for one in every] for name, every in memory.items()},
        "full / copy": full.ratio(sides["copy"]),
        "none / full": sides["none"].ratio(full), "one / full": sides["one"].ratio(full),
        "largest / full": sides["largest"].ratio(full), "ms of the search over all": found,
    }  # fmt: skip


def _size(public: Path) -> dict[str, float]:
    files = [path for path in public.rglob("*") if path.is_file()]
    size = sum(path.stat().st_size for path in files)
    outlets = [path.stat().st_size for path in files if path.parent.name == "outlets"]
    a_page = sum(outlets) / len(outlets)
    finds = (public / "search/all-sites.js").stat().st_size
    print(f"output   {len(files)} files, {size / 2**20:.0f} MiB, {len(outlets)} outlets’ pages")
    print(
        f"         {size / len(outlets):.0f} bytes an outlet, its page {a_page:.0f}; "
        f"search over all {finds / 2**20:.2f} MiB"
    )
    return {
        "files": len(files), "bytes": size, "bytes an outlet": size / len(outlets),
        "bytes an outlet's page": a_page, "bytes of the search over all": finds,
    }  # fmt: skip


def _step(folder: Path, sites: int, outlets: int) -> dict[str, Any]:
    top, fleet = _records(folder / f"curve-{sites}", sites, outlets, 15 * sites)
    cold, most = _build(top, fleet.sites)
    warm, then = _build(top, ())
    shutil.rmtree(top)
    largest = max(map(fleet.size, fleet.sites))
    print(f"curve    {cold:8.2f} s   {sites} sites, the largest of {largest} outlets; MiB: {most}")
    print(f"         {warm:8.2f} s   again, nothing changed; MiB: {then}", flush=True)
    return {
        "sites": sites, "outlets, largest": largest, "cold": cold, "warm": warm,
        "MiB cold": most.figures(), "MiB warm": then.figures(),
    }  # fmt: skip


def _build(top: Path, changed: Collection[str]) -> tuple[float, Peaks]:
    """`asbuilt build`, which is to build these sites and no other."""
    before = _built(top)
    took = watched([*ASBUILT, "build"], top)
    anew = {key for key, when in _built(top).items() if before.get(key) != when}
    if anew != set(changed):
        sys.exit(f"{sorted(anew)} built, not {sorted(changed)}; has our own source been changed?")
    return took


def _built(top: Path) -> dict[str, int]:
    """When the pages of each site were finished."""
    return {
        path.parent.name: path.stat().st_mtime_ns
        for path in (top / "public").glob("*/manifest.json")
    }


def _clear(top: Path) -> None:
    """Nothing built, nothing kept."""
    for name in ("public", cache.FOLDER):
        shutil.rmtree(top / name, ignore_errors=True)


def _git(top: Path, *command: str) -> str:
    out = subprocess.run(["git", *command], cwd=top, check=True, capture_output=True, text=True)
    return out.stdout.strip()


def _volume(top: Path, key: str, history: Any) -> SiteOutput:
    book = assemble.assemble(load.load_site(top, key, ready=True), Edition.INTERNAL, history)
    return assemble.output_of(book, render_dots)


def _check(top: Path, runs: int) -> tuple[dict[str, Side], dict[str, Any]]:
    command = [*ASBUILT, "check", "--format", "json"]
    texts = [path.read_bytes() for path in sorted((top / "sites").rglob("*.yml"))]
    ours, plain = in_turn(
        runs,
        lambda: subprocess.run(command, cwd=top, stdout=subprocess.DEVNULL, check=True),
        lambda: [yaml.load(text, Loader=yaml.CSafeLoader) for text in texts],
    )
    print(f"loader   {plain}   PyYAML's C loader, {len(texts)} files in memory")
    print(f"check    {ours}   {ours.of(plain)} of loader; its start is in it", flush=True)
    return {"check": ours, "C loader": plain}, {"check / C loader": ours.ratio(plain)}


def _serve(folder: Path, runs: int) -> tuple[dict[str, Side], dict[str, Any]]:
    top, fleet = _records(folder / "large", 1, 1000, 15)
    (key,) = fleet.sites
    standing = IncrementalBuild(top, folder / "served", publish)
    first = Side([timed(standing.update)])
    volume = _volume(top, key, histories.histories_of(top, [key])[key])
    written = write_plainly([volume], folder / "plain-large")
    edits = itertools.count()

    def edit() -> None:
        edit_one(top / "sites" / key, next(edits))
        assert standing.update(), "nothing was made anew"

    ours, plain = in_turn(runs, edit, lambda: plainly(folder / "plain-large", written[:1]))
    print(f"plain    {plain}   mkdocs build of a site of 1000 outlets, in this process")
    print(f"serve    {ours}   {ours.of(plain)} of that; an edit of one outlet; at first {first}")
    return (
        {"serve": ours, "serve, all": first, "serve, plain": plain},
        {"serve / plain build of that site": ours.ratio(plain)},
    )


def edit_one(site: Path, number: int) -> None:
    """One drop gets another length, saved and not committed."""
    path = sorted((site / "outlets").glob("*.yml"))[0]
    lines = path.read_text().splitlines(keepends=True)
    lines[number] = re.sub("length: [0-9.]+ m", f"length: {5 + number / 10} m", lines[number])
    path.write_text("".join(lines))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
