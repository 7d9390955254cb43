"""What a published folder holds, to the byte: written beside its pages, held against it later.

The manifest is the folder's last file and doesn't list itself. Its own digest stands for all of
the folder: whoever names it in a letter has named every byte that was handed over.
"""

from __future__ import annotations

import hashlib
import json
import re
import sys
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from importlib import metadata
from pathlib import Path
from typing import Any, Final

from asbuilt import __version__
from asbuilt.io.files import explain_os_errors
from asbuilt.io.sources import digest_of_sources
from asbuilt.problem import WorldError
from asbuilt.records.edition import Edition
from asbuilt.records.fields import KEY

NAME: Final = "manifest.json"
#: Names at the top of a published folder that belong to the page over all sites.
RESERVED: Final = ("assets", "search", "index.html", NAME)
#: Goes up when a manifest says something otherwise than before.
FORMAT: Final = 1
#: The libraries whose version can alter a byte of a page, a drawing or a file.
LIBRARIES: Final = (
    "fpdf2",
    "jinja2",
    "mkdocs",
    "mkdocs-material",
    "pillow",
    "pypdfium2",
    "pyyaml",
    "segno",
    "xlsxwriter",
)
_MOST: Final = 64 * 1024 * 1024  # bytes; a site of 100,000 files has a manifest of 15 MB
_COMMIT: Final = re.compile(r"[0-9a-f]{40}(?:[0-9a-f]{24})?")
_DIGEST: Final = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class Provenance:
    """What pages are made from and by: of which site, for whom, from which commit. `site` is
    empty for the page over all sites; `over` names those it is over."""

    site: str
    edition: Edition
    commit: str = ""
    uncommitted: bool = False  # with work on top that no commit holds
    versions: Mapping[str, str] = field(default_factory=dict)
    over: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FileDigest:
    """A file by its size in bytes and its SHA-256."""

    size: int
    sha256: str


@dataclass(frozen=True, slots=True)
class Manifest:
    maker: Provenance
    files: Mapping[str, FileDigest]
    digest: str  # of the manifest's own bytes


@dataclass(frozen=True, slots=True)
class FolderDifference:
    """In what a folder differs from its manifest, as sorted paths."""

    changed: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    extra: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.changed or self.missing or self.extra)


# Writing


def versions(engine: str) -> dict[str, str]:
    """All that besides the records decides what bytes are built. `engine` is the Graphviz."""
    found = {name: metadata.version(name) for name in LIBRARIES}
    return {
        "asbuilt": __version__,
        "asbuilt-sources": digest_of_sources(),
        "graphviz": engine,
        "python": f"{sys.version_info.major}.{sys.version_info.minor}",
        "zlib": zlib.ZLIB_RUNTIME_VERSION,
        **found,
    }


def write_manifest(folder: Path, maker: Provenance) -> Manifest:
    """Write the manifest of all that stands in a folder now."""
    found = {path: digest_of_file(folder / path) for path in files_below(folder)}
    files = {path: held for path, held in found.items() if held}
    data = manifest_bytes(maker, files)
    with explain_os_errors(f"writing {NAME}"):
        (folder / NAME).write_bytes(data)
    return Manifest(maker, files, hashlib.sha256(data).hexdigest())


def manifest_bytes(maker: Provenance, files: Mapping[str, FileDigest]) -> bytes:
    """The same for the same folder and maker, whoever writes it; a line a file."""
    head: dict[str, Any] = {
        "format": FORMAT,
        "site": maker.site,
        "edition": maker.edition.value,
        "commit": maker.commit,
        "uncommitted": maker.uncommitted,
        "versions": dict(sorted(maker.versions.items())),
    }
    if maker.over:
        head["over"] = sorted(maker.over)
    opened = json.dumps(head, ensure_ascii=False, indent=1)
    lines = ",\n".join(
        f"  {json.dumps(path, ensure_ascii=False)}: "
        f'{{"size": {files[path].size}, "sha256": "{files[path].sha256}"}}'
        for path in sorted(files)
    )
    return f'{opened[:-2]},\n "files": {{\n{lines}\n }}\n}}\n'.encode()


# Reading


def manifest_text(folder: Path) -> bytes | None:
    """A folder's manifest as it stands; None when there is none."""
    path = folder / NAME
    with explain_os_errors(f"reading {path}"):
        if path.is_symlink() or not path.is_file():
            return None
        with path.open("rb") as file:
            return file.read(_MOST + 1)


def read_manifest(folder: Path) -> Manifest | None:
    """The manifest of a folder; None when there is none."""
    path, data = folder / NAME, manifest_text(folder)
    if data is None:
        return None
    try:
        if len(data) > _MOST:
            raise ValueError
        plain = json.loads(data)
        if type(plain["format"]) is int and plain["format"] > FORMAT:
            raise WorldError(f"{path} was written by a newer asbuilt; verify with that one")
        return Manifest(_maker(plain), _files(plain["files"]), hashlib.sha256(data).hexdigest())
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError):
        raise WorldError(f"{path} isn’t understood: it is no manifest of asbuilt’s") from None


def _maker(plain: Mapping[str, Any]) -> Provenance:
    site, commit, over = plain["site"], plain["commit"], plain.get("over", [])
    named = {str(name): str(version) for name, version in plain["versions"].items()}
    if plain["format"] != FORMAT or type(plain["uncommitted"]) is not bool:
        raise ValueError
    if any(not KEY.fullmatch(key) for key in (*([site] if site else []), *over)):
        raise ValueError
    if commit and not _COMMIT.fullmatch(commit):
        raise ValueError
    edition = Edition(plain["edition"])
    return Provenance(site, edition, commit, plain["uncommitted"], named, tuple(over))


def _files(plain: Mapping[str, Any]) -> dict[str, FileDigest]:
    found: dict[str, FileDigest] = {}
    for path, about in plain.items():
        parts = [part for part in path.split("/") if part not in ("", ".")]
        wrong = not parts or ".." in parts or path.startswith("/") or "\\" in path
        if wrong or type(about["size"]) is not int or not _DIGEST.fullmatch(about["sha256"]):
            raise ValueError
        found[path] = FileDigest(about["size"], about["sha256"])
    return found


def compare(folder: Path, manifest: Manifest, apart: tuple[str, ...] = ()) -> FolderDifference:
    """What differs in a folder; entries of its top that are `apart` are looked at by themselves."""
    there = set(files_below(folder, apart))
    known = manifest.files.keys()
    changed = (
        path for path in there & known if digest_of_file(folder / path) != manifest.files[path]
    )
    return FolderDifference(
        tuple(sorted(changed)), tuple(sorted(known - there)), tuple(sorted(there - known))
    )


def differences(one: Manifest, other: Manifest) -> FolderDifference:
    """What of `one` isn't so in `other`."""
    here, there = one.files, other.files
    changed = (path for path in here.keys() & there.keys() if here[path] != there[path])
    return FolderDifference(
        tuple(sorted(changed)),
        tuple(sorted(here.keys() - there.keys())),
        tuple(sorted(there.keys() - here.keys())),
    )


def files_below(folder: Path, apart: tuple[str, ...] = (), inside: str = "") -> Iterator[str]:
    """Every file below a folder but its manifest, hidden ones and links too, never through a
    link."""
    with explain_os_errors(f"reading {folder}"):
        entries = sorted(folder.iterdir())
        folders = {entry for entry in entries if entry.is_dir() and not entry.is_symlink()}
    for entry in entries:
        if not inside and (entry.name == NAME or entry.name in apart):
            continue
        if entry in folders:
            yield from files_below(entry, (), f"{inside}{entry.name}/")
        else:
            yield inside + entry.name


def digest_of_file(path: Path) -> FileDigest | None:
    """What a plain file holds; None for anything else, which no manifest lists."""
    with explain_os_errors(f"reading {path}"):
        if path.is_symlink() or not path.is_file():
            return None
        digest, size = hashlib.sha256(), 0
        with path.open("rb") as file:
            while part := file.read(1 << 20):
                digest.update(part)
                size += len(part)
    return FileDigest(size, digest.hexdigest())
