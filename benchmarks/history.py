"""The change log of a fleet, against reading the same record files with git and PyYAML.

    cold      no kept history: list the commits, read what changed, compare, tell
    warm      the same again, from what the cold run kept
    next      one more commit on one site, from what was kept
    yardstick the floor: `git cat-file --batch` of the same distinct files, and `yaml.load` with
              PyYAML's C loader of each (of tests, which are CSV, Python's own reader)

They are measured in turn, as often as asked for; medians are held against each other.

`python -m benchmarks history` takes 3,000 commits over 200 sites; `python -m benchmarks.history`
has options for other fleets, `--quick` for a small one. What the sites are is told in _records.py.
"""

from __future__ import annotations

import argparse
import csv
import resource
import subprocess
import sys
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

import yaml

from asbuilt.history.packed import load_histories
from asbuilt.history.read import read_histories
from asbuilt.io import git_write
from benchmarks._beside import Side, in_turn, timed
from benchmarks._records import Fleet, add_commit

COLD, WARM = 1.25, 0.05  # the most cold may take of the yardstick, and warm of cold


def run() -> None:
    measure(sites=200, commits=3000, outlets=100, runs=2)


def main(options: Sequence[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.history")
    parser.add_argument("--sites", type=int, default=200)
    parser.add_argument("--commits", type=int, default=3000, help="over all sites together")
    parser.add_argument("--outlets", type=int, default=100, help="a site")
    parser.add_argument("--runs", type=int, default=2, help="the median of so many is taken")
    parser.add_argument("--quick", action="store_true", help="20 sites, 300 commits")
    asked = parser.parse_args(options)
    if asked.quick:
        asked.sites, asked.commits = 20, 300
    good = measure(asked.sites, asked.commits, asked.outlets, asked.runs)
    return 0 if good else 1


def measure(sites: int, commits: int, outlets: int, runs: int) -> bool:
    """Print the figures; whether they are within bounds."""
    with tempfile.TemporaryDirectory() as folder:
        top = Path(folder) / "records"
        fleet = Fleet(sites, outlets)
        git_write.import_commits(top, fleet.history(commits))
        folders = [f"sites/{site}" for site in fleet.sites]
        print(f"{sites} sites of {outlets} outlets, {commits} commits", flush=True)
        blobs = record_blobs(top)
        cache = Path(folder) / "cache"

        def cold() -> object:
            for path in cache.glob("*"):
                path.unlink()
            return load_histories(read_histories(top, folders, cache=cache))

        def warm() -> object:
            return load_histories(read_histories(top, folders, cache=cache))

        yardstick, *took = in_turn(runs, lambda: read_plainly(top, blobs), cold, warm)
        assert warm() == load_histories(read_histories(top, folders)), (
            "what was kept differs from what is so"
        )
        add_commit(top, fleet, fleet.by_median()[0])
        following = Side([timed(warm)])
        found = load_histories(read_histories(top, folders, cache=cache))
        assert found == load_histories(read_histories(top, folders)), (
            "what was added differs from what is so"
        )
    entries = sum(len(history.entries) for history in found.values())
    print(f"yardstick {yardstick}   git cat-file, and PyYAML's C loader, of {len(blobs)} files")
    good = True
    for name, side, floor, most, of in (
        ("cold", took[0], yardstick, COLD, "the yardstick"),
        ("warm", took[1], took[0], WARM, "cold"),
    ):
        mark = "" if side.ratio(floor) <= most else "   MISSED"
        good = good and not mark
        print(f"{name:9} {side}   {side.of(floor)} of {of}, at most {most}{mark}")
    print(f"next      {following}   {following.ratio(took[0]):.3f} of cold, a site of median size")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(f"{entries} entries; peak memory of this process {peak} MiB")
    return good


def record_blobs(top: Path) -> dict[str, str]:
    """The ids of all distinct record files in the history, by git's own listing, and how the name
    of each ends."""
    command = ["git", "log", "--raw", "--no-abbrev", "--no-renames", "--format=", "--", "sites"]
    out = subprocess.run(command, cwd=top, capture_output=True, check=True, text=True).stdout
    told = (line.split() for line in out.splitlines() if line.startswith(":"))
    return {part[3]: Path(part[5]).suffix for part in told if part[3].strip("0")}


def read_plainly(top: Path, blobs: Mapping[str, str]) -> None:
    command = ["git", "cat-file", "--batch"]
    out = subprocess.run(
        command, cwd=top, input="".join(f"{blob}\n" for blob in blobs).encode(),
        capture_output=True, check=True,
    ).stdout  # fmt: skip
    at = 0
    for suffix in blobs.values():
        line = out.index(b"\n", at)
        end = line + 1 + int(out[at:line].split()[2])
        if suffix == ".csv":
            list(csv.reader(out[line + 1 : end].decode().splitlines()))
        else:
            yaml.load(out[line + 1 : end], Loader=yaml.CSafeLoader)
        at = end + 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
