"""Proves what was given: a published folder held against its manifest, or built again."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import click

from asbuilt.commands.reply import answering, for_machines, say, tell
from asbuilt.io import git_write, graphviz
from asbuilt.io.files import SITES, explain_os_errors, find_top
from asbuilt.problem import WorldError
from asbuilt.publish import build, histories, output_folder
from asbuilt.publish.manifest import (
    NAME,
    FolderDifference,
    Manifest,
    Provenance,
    compare,
    differences,
    read_manifest,
    versions,
)
from asbuilt.publish.site_output import Publish
from asbuilt.records.edition import Edition

SHOWN: Final = 20  # paths told of a kind of difference; of more there is only the number


@dataclass(frozen=True, slots=True)
class PublishedFolder:
    """One folder with a manifest: what differs from it, what else is wrong, what building it
    again told."""

    folder: Path
    manifest: Manifest
    difference: FolderDifference
    wrong: tuple[str, ...] = ()
    again: FolderDifference | None = (
        None  # against a build of the same commit, where one was asked for
    )
    other_versions: tuple[str, ...] = ()

    @property
    def sound(self) -> bool:
        return not (self.difference or self.wrong or self.again)

    @property
    def name(self) -> str:
        return self.manifest.maker.site or "the page over all sites"


def register(main: click.Group, publish: Callable[[], Publish]) -> None:
    """`publish` hands over the publisher when something is to be built again."""

    @main.command()
    @click.argument("public", metavar="PUBLIC", type=click.Path(path_type=Path, readable=False))
    @click.option(
        "--against",
        "records",
        metavar="RECORDS",
        type=click.Path(path_type=Path, readable=False),
        help="Build the same commit again from these records, and compare every byte.",
    )
    @answering
    def verify(public: Path, records: Path | None) -> int:
        """Say whether a published folder PUBLIC is exactly what was built: one site's folder,
        or all of them. The digest of a manifest stands for every file of its folder."""
        given = list(_given(public))
        if records is not None:
            top = find_top(records)
            given = [_built_again(one, top, publish()) for one in given]
        tell(sites=[_plain(one) for one in given])
        if not for_machines():
            for one in given:
                _say(one)
        return 0 if all(one.sound for one in given) else 1


def _given(public: Path) -> Iterator[PublishedFolder]:
    """The folder itself when it has a manifest, and the sites in it."""
    if not public.is_dir():
        raise WorldError(f"there is no folder {public}; name what “asbuilt build” has written")
    with explain_os_errors(f"reading {public}"):
        within = sorted(path for path in public.iterdir() if (path / NAME).is_file())
        mark = public / output_folder.MARK
        edition = mark.read_text("utf-8", "replace").strip() if mark.is_file() else None
    own = read_manifest(public)
    if own is not None and own.maker.site:
        yield PublishedFolder(public, own, compare(public, own))
        return
    found = {folder.name: read_manifest(folder) for folder in within}
    sites = {name: one for name, one in found.items() if one is not None and one.maker.site}
    if own is None and not sites:
        raise WorldError(
            f"neither {public} nor a folder in it holds a site’s {NAME}; "
            "name what “asbuilt build” has written"
        )
    # What stands around the sites belongs to the page over them; a client's site has none.
    over = own or Manifest(Provenance("", next(iter(sites.values())).maker.edition), {}, "")
    around = compare(public, over, (*sites, output_folder.MARK))
    gone = tuple(f"the site “{key}” is missing" for key in over.maker.over if key not in sites)
    if own is not None or around:
        yield PublishedFolder(public, over, around, gone)
    for name, manifest in sites.items():
        wrong: list[str] = []
        if manifest.maker.site != name:
            wrong.append(f"the folder “{name}” holds the pages of “{manifest.maker.site}”")
        if edition is not None and manifest.maker.edition.value != edition:
            wrong.append(f"it is the {manifest.maker.edition} edition among the {edition} edition")
        yield PublishedFolder(
            public / name, manifest, compare(public / name, manifest), tuple(wrong)
        )


def _built_again(given: PublishedFolder, top: Path, publish: Publish) -> PublishedFolder:
    """The same, held against a build of the same commit from records at `top`."""
    maker = given.manifest.maker
    if not maker.site:
        return given  # it is made from what the sites say of themselves
    if maker.uncommitted or not maker.commit:
        raise WorldError(
            f"the pages of “{maker.site}” were built from work that no commit holds; "
            "they can’t be built again"
        )
    above, inside = histories.place_in_git(top)
    if above is None:
        raise WorldError(f"{top} isn’t kept in git, so no commit of it can be built again")
    here = versions(graphviz.engine())
    other = tuple(
        f"{name} {maker.versions.get(name, 'not there')}, here {here.get(name, 'not there')}"
        for name in sorted({*maker.versions, *here})
        if maker.versions.get(name) != here.get(name)
    )
    with tempfile.TemporaryDirectory(prefix="asbuilt-") as folder:
        copy, output = Path(folder, "records"), Path(folder, "public")
        git_write.copy_at(above, maker.commit, copy)
        records = (copy / inside).parent
        if not (records / SITES / maker.site).is_dir():
            raise WorldError(f"the records hold no site “{maker.site}” at {maker.commit[:10]}")
        (built,) = build.build(
            records, output, publish, sites=[maker.site], edition=Edition(maker.edition)
        )
        again = read_manifest(output / maker.site)
    if not built.sound or again is None:
        raise WorldError(f"“{maker.site}” can’t be built from {maker.commit[:10]} any more")
    difference = differences(again, given.manifest)
    return PublishedFolder(
        given.folder, given.manifest, given.difference, given.wrong, difference, other
    )


# Telling


def _say(given: PublishedFolder) -> None:
    maker = given.manifest.maker
    size = sum(held.size for held in given.manifest.files.values())
    sound = "as built" if given.sound else "NOT as built"
    say(f"{given.name}: {sound}: {len(given.manifest.files)} files, {size} bytes")
    if maker.commit:
        work = " and uncommitted work" if maker.uncommitted else ""
        say(f"  {maker.edition} edition of commit {maker.commit}{work}")
    if given.manifest.digest:
        say(f"  {NAME} has SHA-256 {given.manifest.digest}")
    for sentence in given.wrong:
        say(f"  {sentence}")
    _say_difference(given.difference)
    if given.again is not None:
        for line in given.other_versions:
            say(f"  another version: {line}")
        if given.again:
            say("  built again from the same commit it differs:")
            _say_difference(given.again)
        else:
            say("  built again from the same commit: the same, byte for byte")


def _say_difference(difference: FolderDifference) -> None:
    kinds: Sequence[tuple[str, tuple[str, ...]]] = (
        ("changed", difference.changed),
        ("missing", difference.missing),
        ("extra", difference.extra),
    )
    for kind, paths in kinds:
        for path in paths[:SHOWN]:
            say(f"  {kind}: {path}")
        if len(paths) > SHOWN:
            say(f"  {kind}: and {len(paths) - SHOWN} more")


def _plain(given: PublishedFolder) -> dict[str, Any]:
    maker = given.manifest.maker
    again = None
    if given.again is not None:
        again = {**_lists(given.again), "other_versions": list(given.other_versions)}
    return {
        "site": maker.site or None,
        "folder": str(given.folder),
        "edition": maker.edition.value,
        "commit": maker.commit or None,
        "uncommitted": maker.uncommitted,
        "versions": dict(maker.versions),
        "manifest": given.manifest.digest or None,
        "files": len(given.manifest.files),
        "sound": given.sound,
        "wrong": list(given.wrong),
        **_lists(given.difference),
        "built_again": again,
    }


def _lists(difference: FolderDifference) -> dict[str, list[str]]:
    return {
        "changed": list(difference.changed),
        "missing": list(difference.missing),
        "extra": list(difference.extra),
    }
