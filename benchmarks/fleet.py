"""A fleet of sites: building all, building after one changed, growing, serving, checking.

    full        `asbuilt build` of every site, from nothing, with the history
    plain       one `mkdocs build` of the same pages, written out as Markdown files with ready HTML
                in them; only the first page is in its navigation, which is the quickest there is
    copy        copying what `full` wrote: the floor of any build
    one         after one more commit on one site; `none`: after nothing
    curve       `full` of more and more sites, with the most memory one process held
    serve       one edit of a site of 1,000 outlets under `asbuilt serve`, against its plain build
    check       `asbuilt check`, against PyYAML's C loader reading the same files

Each line says what it is held against; ratios hardly depend on the machine. `python -m benchmarks
fleet` takes 25 sites; `python -m benchmarks.fleet --sites 200 --commits 3000` the whole table,
`--curve 25,50,100,200,400` the growth. `--json FILE` writes the figures down. Sites come from a
fixed seed.
"""

from __future__ import annotations

import argparse
import json
import logging
import math
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import yaml

from asbuilt import binding, intake, repo
from asbuilt.build import Standing
from asbuilt.dot import render_dots
from asbuilt.files import choose_sites
from asbuilt.plugin import publish
from asbuilt.records.edition import Edition
from asbuilt.volume import Volume
from benchmarks._beside import held, plainly, timed, write_plainly
from benchmarks.history import Fleet, add_commit

REACH = {
    "full / plain": 0.15,
    "one / full": 0.03,
    "twice the sites": 2.1,
    "serve / plain build of that site": 0.5,
    "check / C loader": 2.0,
}


def run() -> None:
    measure(sites=25, commits=375, outlets=100, curve=(), out=None)


def main(options: Sequence[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.fleet")
    parser.add_argument("--sites", type=int, default=25)
    parser.add_argument("--commits", type=int, help="over all sites together; 15 a site")
    parser.add_argument("--outlets", type=int, default=100, help="a site")
    parser.add_argument("--curve", default="", help="numbers of sites, with commas between")
    parser.add_argument("--json", type=Path, help="where to write the figures")
    asked = parser.parse_args(options)
    curve = tuple(int(count) for count in asked.curve.split(",") if count)
    commits = asked.commits or 15 * asked.sites
    return 0 if measure(asked.sites, commits, asked.outlets, curve, asked.json) else 1


def measure(sites: int, commits: int, outlets: int, curve: Sequence[int], out: Path | None) -> bool:
    """Print the figures; whether they are within reach."""
    os.environ["NO_MKDOCS_2_WARNING"] = "1"
    logging.getLogger("mkdocs").setLevel(logging.ERROR)
    figures: dict[str, Any] = {"sites": sites, "commits": commits, "outlets a site": outlets}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        top, fleet = _records(folder / "records", sites, outlets, commits)
        print(f"{sites} sites of {outlets} outlets, {commits} commits", flush=True)
        figures |= _fleet(folder, top, fleet)
        figures |= _check(top)
        figures["curve"] = [_step(folder, count, outlets) for count in curve]
        if curve:
            first, last = figures["curve"][0], figures["curve"][-1]
            doublings = math.log2(last["sites"] / first["sites"])
            figures["twice the sites"] = (last["seconds"] / first["seconds"]) ** (1 / doublings)
        figures |= _serve(folder)
    good = True
    for name, most in REACH.items():
        if name in figures:
            mark = "" if figures[name] <= most else "   MISSED"
            good = good and not mark
            print(f"{name:34} {figures[name]:.3f}, at most {most}{mark}")
    if out:
        out.write_text(json.dumps(figures, indent=1) + "\n")
    return good


def _records(top: Path, sites: int, outlets: int, commits: int) -> tuple[Path, Fleet]:
    fleet = Fleet(sites, outlets)
    repo.import_commits(top, fleet.history(commits))
    return top, fleet


def _fleet(folder: Path, top: Path, fleet: Fleet) -> dict[str, Any]:
    full, most = _asbuilt(top)
    print(f"full     {full:8.2f} s; one process held at most {most:.0f} MiB", flush=True)
    public = top / "public"
    files = [path for path in public.rglob("*") if path.is_file()]
    size = sum(path.stat().st_size for path in files)
    pages = [path for path in files if path.parent.name == "outlets"]
    a_page = sum(path.stat().st_size for path in pages) / len(pages)
    finds = (public / "search/all-sites.js").stat().st_size
    an_outlet = size / len(pages)
    print(f"         {len(files)} files, {size / 2**20:.0f} MiB, {an_outlet:.0f} bytes an outlet")
    print(f"         an outlet's page {a_page:.0f} bytes, search over all {finds / 2**20:.2f} MiB")
    copied = timed(lambda: shutil.copytree(public, folder / "copy"))
    none, _ = _asbuilt(top)
    add_commit(top, fleet)
    one, _ = _asbuilt(top)
    print(f"copy     {copied:8.2f} s   {full / copied:.1f} times that is full")
    print(f"none     {none:8.2f} s   {none / full:.3f} of full")
    print(f"one      {one:8.2f} s   {one / full:.3f} of full", flush=True)
    keys = choose_sites(top, ())
    histories = binding.histories_of(top, keys)
    written = write_plainly((_volume(top, key, histories[key]) for key in keys), folder / "plain")
    count = len(written)
    plain = timed(lambda: plainly(folder / "plain", written[:1]))
    print(
        f"plain    {plain:8.2f} s   of {count} pages; full is {full / plain:.3f} of it", flush=True
    )
    return {
        "full": full, "most MiB of a process": most, "copy": copied, "none": none, "one": one,
        "plain": plain, "pages": count, "bytes": size, "bytes an outlet": size / len(pages),
        "bytes an outlet's page": a_page, "bytes of the search over all": finds,
        "full / plain": full / plain, "one / full": one / full,
    }  # fmt: skip


def _step(folder: Path, sites: int, outlets: int) -> dict[str, Any]:
    top, _ = _records(folder / f"curve-{sites}", sites, outlets, 15 * sites)
    seconds, most = _asbuilt(top)
    shutil.rmtree(top)
    print(f"curve    {seconds:8.2f} s   {sites} sites, at most {most:.0f} MiB", flush=True)
    return {"sites": sites, "seconds": seconds, "MiB": most}


def _asbuilt(top: Path) -> tuple[float, float]:
    """Seconds of `asbuilt build`, and the most memory any one of its processes held, in MiB."""
    start = time.perf_counter()
    command = [sys.executable, "-m", "asbuilt", "build"]
    process = subprocess.Popen(command, cwd=top, stdout=subprocess.DEVNULL)
    most = 0
    while process.poll() is None:
        most = max(most, *held(process.pid), 0)
        time.sleep(0.05)
    assert process.returncode == 0
    return time.perf_counter() - start, most / 1024


def _volume(top: Path, key: str, history: Any) -> Volume:
    book = binding.bind(intake.read_site(top, key, ready=True), Edition.INTERNAL, history)
    return binding.volume_of(book, render_dots)


def _check(top: Path) -> dict[str, Any]:
    command = [sys.executable, "-m", "asbuilt", "check", "--format", "json"]
    ours = timed(lambda: subprocess.run(command, cwd=top, stdout=subprocess.DEVNULL, check=True))
    texts = [path.read_bytes() for path in sorted((top / "sites").rglob("*.yml"))]
    plain = timed(lambda: [yaml.load(text, Loader=yaml.CSafeLoader) for text in texts])
    print(f"check    {ours:8.2f} s   {ours / plain:.2f} of reading {len(texts)} files in C")
    return {"check": ours, "check / C loader": ours / plain}


def _serve(folder: Path) -> dict[str, Any]:
    top, fleet = _records(folder / "large", 1, 1000, 15)
    (key,) = fleet.sites
    standing = Standing(top, folder / "served", publish)
    first = timed(standing.update)
    took = []
    for at in range(3):
        edit_one(top, fleet, at)
        took.append(timed(standing.update))
    volume = _volume(top, key, binding.histories_of(top, [key])[key])
    written = write_plainly([volume], folder / "plain-large")
    plain = timed(lambda: plainly(folder / "plain-large", written[:1]))
    edit = sorted(took[1:])[0]
    print(f"serve    {edit:8.2f} s   an edit; all of it {first:.2f} s, plain {plain:.2f} s")
    return {
        "serve": edit, "serve, all": first, "serve, plain": plain,
        "serve / plain build of that site": edit / plain,
    }  # fmt: skip


def edit_one(top: Path, fleet: Fleet, number: int) -> None:
    """One drop gets another cable, saved and not committed."""
    path = top / "sites" / fleet.sites[0] / "outlets.yml"
    lines = path.read_text().splitlines(keepends=True)
    at = 100 + number
    lines[at] = lines[at].replace("cable: cat6,", "cable: cat6A,")
    path.write_text("".join(lines))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
