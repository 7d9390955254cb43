"""Records judged as `asbuilt check` judges them, and case files that say on the line what is wrong.

A case file holds the files of one small site, each opened by a line `--- # outlets.yml`. What is
wrong in a line stands behind it: `12: {panel: A, ports: 24}  #! unit-overlap`. A site.yml that
only names the site is taken as given.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from asbuilt.checks.all_checks import check_site
from asbuilt.model.paths import cabling_graph
from asbuilt.model.site import site_of
from asbuilt.problem import Problem
from asbuilt.records.reading import read_folder

FOLDER = Path(__file__).parent / "cases" / "checks"
_OPENS = re.compile(r"--- # (?P<path>\S+)")
_MARK = re.compile(r"\s*#! (?P<codes>[a-z0-9 -]+)$")


def judge(texts: Mapping[str, str | bytes]) -> list[Problem]:
    """All that is wrong with the files of a site."""
    files = {path: t.encode() if isinstance(t, str) else t for path, t in texts.items()}
    records = read_folder("harbour", {"site.yml": b"name: Harbour Lane\n"} | files)
    site = site_of(records)
    found = check_site(site, cabling_graph(site)) if site else []
    return sorted([*records.problems, *found])


@dataclass(frozen=True)
class Case:
    texts: Mapping[str, str]
    marks: tuple[tuple[str, int, str], ...]  # path, line, code


def read_case(text: str) -> Case:
    texts: dict[str, list[str]] = {}
    marks: list[tuple[str, int, str]] = []
    lines: list[str] = []
    path = ""
    for line in text.splitlines():
        opening = _OPENS.fullmatch(line)
        if opening:
            path = opening["path"]
            lines = texts.setdefault(path, [])
            continue
        assert path or line.startswith("#") or not line, f"before the first file: {line}"
        mark = _MARK.search(line)
        if mark:
            marks += [(path, len(lines) + 1, code) for code in mark["codes"].split()]
        lines.append(_MARK.sub("", line))
    return Case(
        {path: "".join(f"{line}\n" for line in lines) for path, lines in texts.items()},
        tuple(sorted(marks)),
    )


def cases() -> Iterator[tuple[str, Case]]:
    for file in sorted(FOLDER.glob("*.yaml")):
        yield file.stem, read_case(file.read_text(encoding="utf-8"))
