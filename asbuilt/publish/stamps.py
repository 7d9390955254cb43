"""What each site's pages were made from, so that what is the same isn't built again.

A receipt is believed only of the very pages it was written for: it names their manifest's digest,
and the files the manifest lists must be there in their sizes (`asbuilt verify` compares every
byte). It stays in the records' own cache and never goes where a client could read it: it is a
digest of what is internal too.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from asbuilt.io.cache import Cache
from asbuilt.io.files import SiteFiles, explain_os_errors
from asbuilt.problem import Level, Place, Problem
from asbuilt.publish.manifest import digest_of_file, manifest_text
from asbuilt.records.edition import Edition


@dataclass(frozen=True, slots=True)
class BuildStamp:
    """What building a site told: what is to be said again when its pages are used again."""

    manifest: str
    files: int
    problems: tuple[Problem, ...] = ()
    withheld: Mapping[str, int] = field(default_factory=dict)


def inputs_of(
    found: SiteFiles, history: str, edition: Edition, versions: Mapping[str, str], extra: str
) -> str:
    """A digest of all that a site's pages depend on: its files, its history (a digest of that), for
    whom they are, and every version that can alter a byte."""
    digest = hashlib.sha256()

    def add(*parts: object) -> None:
        digest.update(repr(parts).encode())

    add(edition.value, sorted(versions.items()), extra, history)
    for path, text in sorted(found.texts.items()):
        add(path, len(text))
        digest.update(text)
    for path, file in sorted(found.assets.items()):
        held = digest_of_file(file)
        add(path, held.sha256 if held else "")
    add(found.problems)
    return digest.hexdigest()


def valid_stamp(
    cache: Cache, edition: Edition, key: str, inputs: str, pages: Path
) -> BuildStamp | None:
    """The receipt of these pages, if they are whole and were made from these inputs."""
    data = cache.load(_name(edition, key), inputs)
    receipt = _read(data) if data is not None else None
    if receipt is None:
        return None
    manifest = manifest_text(pages)
    if manifest is None or hashlib.sha256(manifest).hexdigest() != receipt.manifest:
        return None
    return receipt if _is_whole(pages, json.loads(manifest)) else None


def store_stamp(cache: Cache, edition: Edition, key: str, inputs: str, receipt: BuildStamp) -> None:
    problems = [
        [p.place.path, p.place.line, p.place.column, p.code, p.message, p.hint, p.level.value]
        for p in receipt.problems
    ]
    plain = [receipt.manifest, receipt.files, problems, dict(receipt.withheld)]
    cache.store(_name(edition, key), inputs, json.dumps(plain).encode())


def _name(edition: Edition, key: str) -> str:
    """Not the key itself: the cache tells names apart by what stands before a dot, which keys may
    hold."""
    return f"built-{hashlib.sha256(f'{edition.value} {key}'.encode()).hexdigest()[:24]}"


def _read(data: bytes) -> BuildStamp | None:
    try:
        manifest, files, problems, withheld = json.loads(data)
        return BuildStamp(manifest, files, tuple(map(_problem, problems)), withheld)
    except (ValueError, TypeError):
        return None  # of another version


def _problem(plain: list[Any]) -> Problem:
    path, line, column, code, message, hint, level = plain
    return Problem(Place(path, line, column), code, message, hint, Level(level))


def _is_whole(folder: Path, manifest: Any) -> bool:
    """Whether the files are there that a manifest of our own writing lists."""
    top = str(folder)  # a fleet has tens of thousands: a Path for each takes longer than asking
    with explain_os_errors(f"reading {folder}"):
        for path, held in manifest["files"].items():
            try:
                if os.stat(f"{top}/{path}").st_size != held["size"]:  # noqa: PTH116
                    return False
            except FileNotFoundError:
                return False
    return True
