"""The change log of a fleet, against reading the same record files with git and PyYAML.

    cold      no kept history: list the commits, read what changed, compare, tell
    warm      the same again, from what the cold run kept
    next      one more commit on one site, from what was kept
    yardstick `git cat-file --batch` of the same distinct files, and `yaml.load` with PyYAML's C
              loader of each

`python -m benchmarks history` takes 3,000 commits over 200 sites; `python -m benchmarks.history`
has options for other fleets, `--quick` for a small one. Sites and edits are drawn from a fixed
seed: every run has the same history.
"""

from __future__ import annotations

import argparse
import datetime as dt
import gc
import random
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import yaml

from asbuilt import repo
from asbuilt.history import read_histories

COLD, WARM = 1.25, 0.05  # the most cold may take of the yardstick, and warm of cold
_BEGIN = dt.datetime(2019, 3, 4, 8, 0, tzinfo=dt.timezone(dt.timedelta(hours=1)))
_SERVES = ("desk", "phone", "printer", "access point", "camera", "display")


def run() -> None:
    measure(sites=200, commits=3000, outlets=100, runs=2)


def main(options: Sequence[str]) -> int:
    parser = argparse.ArgumentParser(prog="python -m benchmarks.history")
    parser.add_argument("--sites", type=int, default=200)
    parser.add_argument("--commits", type=int, default=3000, help="over all sites together")
    parser.add_argument("--outlets", type=int, default=100, help="a site")
    parser.add_argument("--runs", type=int, default=2, help="the best of so many is taken")
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
        repo.import_commits(top, fleet.history(commits))
        folders = [f"sites/{site}" for site in fleet.sites]
        print(f"{sites} sites of {outlets} outlets, {commits} commits", flush=True)
        blobs = record_blobs(top)
        cache = Path(folder) / "cache"

        def cold() -> object:
            for path in cache.glob("*"):
                path.unlink()
            return read_histories(top, folders, cache=cache)

        def warm() -> object:
            return read_histories(top, folders, cache=cache)

        yardstick = best(lambda: read_plainly(top, blobs), runs)
        took = {"cold": best(cold, runs), "warm": best(warm, 3 * runs)}
        assert warm() == read_histories(top, folders), "what was kept differs from what is so"
        add_commit(top, fleet)
        began = time.perf_counter()
        found = read_histories(top, folders, cache=cache)
        took["next"] = time.perf_counter() - began
        assert found == read_histories(top, folders), "what was added differs from what is so"
    entries = sum(len(history.entries) for history in found.values())
    print(f"yardstick {yardstick:8.3f} s   {len(blobs)} files")
    ratios = {
        "cold": (took["cold"] / yardstick, COLD, "of the yardstick"),
        "warm": (took["warm"] / took["cold"], WARM, "of cold"),
    }
    for name, (ratio, most, of) in ratios.items():
        mark = "" if ratio <= most else "   MISSED"
        print(f"{name:9} {took[name]:8.3f} s   {ratio:.3f} {of}, at most {most}{mark}")
    print(f"next      {took['next']:8.3f} s   {took['next'] / took['cold']:.3f} of cold")
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    print(f"{entries} entries; peak memory of this process {peak} MiB")
    return all(ratio <= most for ratio, most, _ in ratios.values())


def best(run: Callable[[], object], runs: int) -> float:
    times = []
    for _ in range(max(runs, 1)):
        gc.collect()
        began = time.perf_counter()
        run()
        times.append(time.perf_counter() - began)
    return min(times)


def record_blobs(top: Path) -> list[str]:
    """The ids of all distinct record files in the history, by git's own listing."""
    command = ["git", "log", "--raw", "--no-abbrev", "--no-renames", "--format=", "--", "sites"]
    out = subprocess.run(command, cwd=top, capture_output=True, check=True, text=True).stdout
    ids = (line.split()[3] for line in out.splitlines() if line.startswith(":"))
    return sorted({blob for blob in ids if blob.strip("0")})


def read_plainly(top: Path, blobs: list[str]) -> None:
    command = ["git", "cat-file", "--batch"]
    out = subprocess.run(
        command, cwd=top, input="".join(f"{blob}\n" for blob in blobs).encode(),
        capture_output=True, check=True,
    ).stdout  # fmt: skip
    at = 0
    for _ in blobs:
        line = out.index(b"\n", at)
        size = int(out[at:line].split()[2])
        yaml.load(out[line + 1 : line + 1 + size], Loader=yaml.CSafeLoader)
        at = line + 1 + size + 1


class Fleet:
    """Invented sites whose records change in the ways they do: mostly outlets and cords."""

    def __init__(self, sites: int, outlets: int) -> None:
        self.draw = random.Random(20190304)
        self.sites = [f"site-{number:03}" for number in range(1, sites + 1)]
        self.outlets: dict[str, list[dict[str, str]]] = {}
        self.cords: dict[str, dict[int, int]] = {}
        self.findings: dict[str, list[str]] = {site: [] for site in self.sites}
        self.rooms = [str(100 * floor + room) for floor in (1, 2) for room in range(1, 16)]
        for site in self.sites:
            self.outlets[site] = [self._outlet(number) for number in range(1, outlets + 1)]
            self.cords[site] = {port: port for port in range(1, outlets + 1) if port % 5}

    def history(self, commits: int) -> Iterator[repo.NewCommit]:
        when = _BEGIN
        for site in self.sites:
            when += dt.timedelta(hours=3)
            files = {
                f"sites/{site}/{path}": text.encode()
                for path, text in (
                    ("site.yml", self._site(site)),
                    ("outlets.yml", self._outlet_table(site)),
                    ("enclosures/1A.yml", self._enclosure(site)),
                )
            }
            yield self._commit(f"Survey of {site}", when, files)
        for number in range(max(commits - len(self.sites), 0)):
            when += dt.timedelta(hours=self.draw.randint(1, 20))
            yield self.change(self.draw.choice(self.sites), when, number)

    def change(self, site: str, when: dt.datetime, number: int) -> repo.NewCommit:
        files: dict[str, bytes | None] = {}
        kind = self.draw.random()
        if kind < 0.6:
            for row in self.draw.sample(self.outlets[site], self.draw.randint(1, 4)):
                row["room"] = f'"{self.draw.choice(self.rooms)}"'
                row["serves"] = self.draw.choice(_SERVES)
            files[f"sites/{site}/outlets.yml"] = self._outlet_table(site).encode()
        if kind > 0.5:
            cords = self.cords[site]
            for port in self.draw.sample(sorted(cords), self.draw.randint(1, 3)):
                free = sorted(set(range(1, len(self.outlets[site]) + 1)) - set(cords.values()))
                cords[port] = self.draw.choice(free)
            files[f"sites/{site}/enclosures/1A.yml"] = self._enclosure(site).encode()
        if kind > 0.9:
            self.findings[site].append(f"cords hang over the lower units again ({number})")
            table = "".join(
                f"F{at}: {{what: “{what}”, bad: untidy, enclosure: 1A}}\n"
                for at, what in enumerate(self.findings[site], start=1)
            )
            files[f"sites/{site}/findings.yml"] = table.encode()
        return self._commit(f"Work at {site}", when, files)

    def _commit(
        self, subject: str, when: dt.datetime, files: dict[str, bytes | None] | dict[str, bytes]
    ) -> repo.NewCommit:
        return repo.NewCommit(
            f"{subject}\n", "Mara Quist", "mara.quist@example.com", when, dict(files)
        )

    def _outlet(self, number: int) -> dict[str, str]:
        return {
            "room": f'"{self.draw.choice(self.rooms)}"',
            "plate": self.draw.choice(("west wall", "window wall", "floor box 3", "ceiling")),
            "port": f"1A/P{(number - 1) // 48 + 1}/{(number - 1) % 48 + 1:02}",
            "cable": "cat6",
            "length": f"{self.draw.randint(80, 880) / 10} m",
            "serves": self.draw.choice(_SERVES),
            "installed": "2019-03-01",
        }

    def _outlet_table(self, site: str) -> str:
        rows = []
        for number, row in enumerate(self.outlets[site], start=1):
            fields = ", ".join(f"{name}: {value}" for name, value in row.items())
            rows.append(f"1A-{number:03}: {{{fields}}}\n")
        return "".join(rows)

    def _site(self, site: str) -> str:
        rooms = "".join(
            f'  "{room}": {{name: office {room}, floor: "{room[0]}", use: office}}\n'
            for room in self.rooms
        )
        return (
            f"name: {site.title()}\ntrade: offices\nhours: Mon–Fri 08:00–18:00\n"
            "contacts:\n  front: {name: Iris Quill, phone: 555-0101, authorises: yes}\n"
            'floors:\n  "1": {name: ground floor, level: 0}\n  "2": {name: upper floor, level: 1}\n'
            f"rooms:\n{rooms}"
        )

    def _enclosure(self, site: str) -> str:
        count = (len(self.outlets[site]) - 1) // 48 + 1
        mounted = "".join(
            f"  {42 - 2 * at}: {{panel: P{at + 1}, ports: 48, category: 6}}\n"
            f"  {41 - 2 * at}: {{switch: S{at + 1}, ports: 48, uplinks: 4, poe: 740 W}}\n"
            for at in range(count)
        )
        cords = "".join(
            f"  {_port('P', one)}: {{to: {_port('S', other)}, cord: 0.5 m}}\n"
            for one, other in sorted(self.cords[site].items())
        )
        return (
            'kind: floor-standing cabinet\nroom: "101"\nheight: 42 U\n'
            f"front:\n{mounted}patching:\n{cords}"
        )


def _port(stem: str, number: int) -> str:
    return f"{stem}{(number - 1) // 48 + 1}/{(number - 1) % 48 + 1:02}"


def add_commit(top: Path, fleet: Fleet) -> None:
    change = fleet.change(fleet.sites[0], _BEGIN.replace(year=2030), -1)
    for path, data in change.files.items():
        (top / path).write_bytes(data or b"")
    who = ["-c", f"user.name={change.author}", "-c", f"user.email={change.email}"]
    for command in (["add", "."], [*who, "commit", "-q", "-m", change.message]):
        subprocess.run(["git", *command], cwd=top, check=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
