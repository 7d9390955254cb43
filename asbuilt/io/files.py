"""The disk: finding and reading the records, and writing a tree so that it is whole or not there.

Reading trusts nothing in a site's folder: only regular files that stand in it are opened, and
never more of one than a record file may hold.
"""

from __future__ import annotations

import contextlib
import os
import stat
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from asbuilt.problem import Place, Problem, WorldError, suggestion
from asbuilt.records.fields import KEY, KEY_RULE
from asbuilt.records.layout import ASSETS, is_record_file
from asbuilt.yamltext import MAX_BYTES

SITES = "sites"
MAX_ASSET_BYTES = 64 * 1024 * 1024  # a scanned floor plan is large; a film is no record
_LOOKS_LIKE_RECORDS = (".yml", ".yaml", ".csv")


@dataclass(frozen=True, slots=True)
class SiteFiles:
    """What stands in a site's folder. `texts` holds path → bytes of record files, and nothing for
    files that only look like records; `assets` are plans and photos, to be shown as they are."""

    texts: Mapping[str, bytes]
    assets: Mapping[str, Path]
    problems: tuple[Problem, ...]


def find_top(start: Path) -> Path:
    """The records repository around `start`: the nearest folder upward that holds `sites/`."""
    for folder in (start.absolute(), *start.absolute().parents):
        if (folder / SITES).is_dir():
            return folder
    raise WorldError(
        f"there is no folder {SITES}/ here nor in a folder above; "
        "go to where the records are, or begin some with “asbuilt init DIR”"
    )


def site_names(top: Path) -> tuple[str, ...]:
    """The folders of `sites/`, sorted; names that start with a dot are none of ours."""
    try:
        found = sorted(entry.name for entry in (top / SITES).iterdir() if entry.is_dir())
    except OSError as error:
        raise world_error(error, f"reading {SITES}/") from error
    return tuple(name for name in found if not name.startswith("."))


def choose_sites(top: Path, wanted: Iterable[str]) -> tuple[str, ...]:
    """The sites that were asked for, all of them when none was named."""
    known = site_names(top)
    if not known:
        raise WorldError(f"{SITES}/ holds no site; “asbuilt new site KEY” makes the first")
    chosen = tuple(dict.fromkeys(name.rstrip("/").removeprefix(f"{SITES}/") for name in wanted))
    for name in chosen:
        if name not in known:
            hint = suggestion(name, known, f"there are: {', '.join(known)}")
            raise WorldError(f"there is no site “{name}”; {hint}")
    return chosen or known


def read_site_files(top: Path, site: str) -> SiteFiles:
    """The files of one site. Whatever can't be read gives one problem and is left out."""
    folder = top / SITES / site
    where = f"{SITES}/{site}"
    if not KEY.fullmatch(site):
        return SiteFiles({}, {}, (_problem(where, "bad-key", f"“{site}” names a site", KEY_RULE),))
    if folder.is_symlink():
        return SiteFiles({}, {}, (_link_problem(where),))
    texts: dict[str, bytes] = {}
    assets: dict[str, Path] = {}
    problems: list[Problem] = []
    for path, entry in _walk(folder, "", where, problems):
        is_asset = path.partition("/")[0] in ASSETS
        if not is_asset and not path.endswith(_LOOKS_LIKE_RECORDS):
            continue
        wrong = _unfit(f"{where}/{path}", entry, MAX_ASSET_BYTES if is_asset else MAX_BYTES)
        if wrong:
            problems.append(wrong)
        elif is_asset:
            assets[path] = entry
        elif not is_record_file(path):
            texts[path] = b""
        else:
            try:
                texts[path] = _read(entry, MAX_BYTES)
            except OSError as error:
                problems.append(_unreadable(f"{where}/{path}", error))
    return SiteFiles(texts, assets, tuple(sorted(problems)))


def stamps_of(assets: Mapping[str, Path]) -> dict[str, tuple[int, int]]:
    """What tells one state of a site's plans and photos from another, without reading them."""
    with explain_os_errors("reading plans and photos"):
        found = {path: entry.stat(follow_symlinks=False) for path, entry in assets.items()}
    return {path: (entry.st_size, entry.st_mtime_ns) for path, entry in found.items()}


def read_asset(path: Path) -> bytes:
    """A plan or photo that `read_site_files` has listed."""
    try:
        return _read(path, MAX_ASSET_BYTES)
    except OSError as error:
        raise world_error(error, f"reading {path.name}") from error


@contextlib.contextmanager
def opened_asset(path: Path) -> Iterator[BinaryIO]:
    """A plan or photo of which only the head may be wanted."""
    try:
        with path.open("rb") as opened:
            yield opened
    except OSError as error:
        raise world_error(error, f"reading {path.name}") from error


def _walk(
    folder: Path, inside: str, where: str, problems: list[Problem]
) -> Iterator[tuple[str, Path]]:
    """Every file below `folder` that isn't hidden, sorted, never through a link."""
    try:
        with os.scandir(folder) as found:
            entries = sorted(found, key=lambda entry: entry.name)
    except OSError as error:
        problems.append(_unreadable(f"{where}/{inside}".rstrip("/"), error))
        return
    for entry in entries:
        name = entry.name
        if name.startswith("."):
            continue
        path = f"{inside}/{name}" if inside else name
        if not name.isprintable():
            shown = ascii(path)[1:-1]
            hint = "rename it: letters, digits and . _ + - only"
            message = "the name of the file holds characters that can't be shown"
            problems.append(_problem(f"{where}/{shown}", "file-name", message, hint))
        elif entry.is_symlink():
            problems.append(_link_problem(f"{where}/{path}"))
        elif entry.is_dir():
            yield from _walk(Path(entry), path, where, problems)
        else:
            yield path, Path(entry)


def _unfit(where: str, path: Path, most: int) -> Problem | None:
    try:
        found = path.lstat()
    except OSError as error:
        return _unreadable(where, error)
    if not stat.S_ISREG(found.st_mode):
        hint = "records are plain files"
        return _problem(where, "file-special", "this is no plain file", hint)
    if found.st_size > most:
        message = f"the file is {found.st_size / 1024 / 1024:.0f} MiB"
        return _problem(where, "file-size", message, f"{most // 1024 // 1024} MiB at most")
    return None


def _read(path: Path, most: int) -> bytes:
    """At most `most` bytes and one more, of a file that is no link and that can't make us wait."""
    flags = os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
    flags |= getattr(os, "O_BINARY", 0)
    with os.fdopen(os.open(path, flags), "rb") as file:
        return file.read(most + 1)


def _problem(where: str, code: str, message: str, hint: str) -> Problem:
    return Problem(Place(where), code, message, hint)


def _link_problem(where: str) -> Problem:
    hint = "put the file itself here: git keeps the link, not what it points to"
    return _problem(where, "file-link", "this is a symbolic link", hint)


def _unreadable(where: str, error: OSError) -> Problem:
    reason = (error.strerror or "unreadable").lower()
    return _problem(where, "file-unreadable", f"can't be read: {reason}", "let asbuilt read it")


# Writing


@contextlib.contextmanager
def explain_os_errors(doing: str) -> Iterator[None]:
    """Tell what the system refuses meanwhile (no permission, a full disk) as one sentence."""
    try:
        yield
    except OSError as error:
        raise world_error(error, doing) from error


def world_error(error: OSError, doing: str) -> WorldError:
    """What the system said, as one sentence."""
    reason = (error.strerror or str(error)).lower()
    about = f" ({error.filename})" if error.filename else ""
    return WorldError(f"{doing} failed: {reason}{about}")
