"""Many sites as one delivery: shares of the work, parts put together, the page over all.

share     which sites one of several machines builds
join      built parts, from one repository or from many → one folder
publish_front   the page over all, from what each built site says of itself
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path

from asbuilt.io.cache import Cache
from asbuilt.io.files import explain_os_errors
from asbuilt.io.swap import copy_tree, make_aside, remove_tree, swap_in
from asbuilt.pages.fleet_index import SEARCH_SCRIPT_PATH, fleet_page, search_script
from asbuilt.pages.page import Asset
from asbuilt.pages.site_summary import SUMMARY_PATH, SiteSummary, read_summary
from asbuilt.pages.view import environment
from asbuilt.problem import WorldError
from asbuilt.publish.manifest import NAME as MANIFEST
from asbuilt.publish.manifest import Manifest, Provenance, compare, read_manifest, write_manifest
from asbuilt.publish.site_output import Publish, SiteOutput
from asbuilt.publish.stamps import BuildStamp, store_stamp, valid_stamp
from asbuilt.publish.templates import cache_templates
from asbuilt.records.edition import Edition

EDITION = "engineers’ edition"


def share(sizes: Mapping[str, int], number: int, of: int) -> tuple[str, ...]:
    """The sites that the machine of this number (from 1) builds: the largest first, each to the
    machine that has least to do until then (the LPT rule, Graham 1969; recalled from memory)."""
    loads = [0] * of
    mine: list[str] = []
    for key in sorted(sizes, key=lambda key: (-sizes[key], key)):
        least = loads.index(min(loads))
        loads[least] += sizes[key] + 1
        if least == number - 1:
            mine.append(key)
    return tuple(sorted(mine))


def front_of(summaries: Iterable[SiteSummary], *more: Asset) -> SiteOutput:
    cache_templates(environment())
    return SiteOutput("", "As-built records", EDITION, "", (fleet_page(summaries), *more))


def publish_front(
    output: Path,
    publish: Publish,
    keys: Sequence[str],
    broken: Mapping[str, SiteSummary],
    by: Mapping[str, str],
    cache: Cache | None = None,
    *,
    rebuild: bool = False,
) -> None:
    """The page over these sites, made from what each says of itself beside its pages; of those
    with errors (`broken`) it says so, if they have older pages to link to. What was made from the
    same, as a receipt in the `cache` says, stays, unless all is to be made to `rebuild`."""
    told = [key for key in keys if key not in broken]
    behind = {key: broken[key] for key in broken if (output / key / "index.html").is_file()}
    over = tuple(key for key in keys if key not in broken or key in behind)
    digests = {key: hashlib.sha256(_told_by(output / key)).digest() for key in told}
    inputs = hashlib.sha256(repr((sorted(by.items()), digests, behind, over)).encode()).hexdigest()
    if cache and not rebuild and valid_stamp(cache, Edition.INTERNAL, "", inputs, output):
        return
    summaries = [*behind.values(), *(_overview_of(output / key)[0] for key in told)]
    fresh = make_aside(output)
    try:
        publish(front_of(summaries), fresh, front=None)
        # Read and written site by site: what can be found in a fleet is large.
        finds = search_script(
            summaries, lambda key: "" if key in behind else _overview_of(output / key)[1]
        )
        _write(fresh / SEARCH_SCRIPT_PATH, finds)
        manifest = write_manifest(fresh, Provenance("", Edition.INTERNAL, versions=by, over=over))
        for part in sorted(fresh.iterdir(), key=lambda part: part.name == "index.html"):
            swap_in(part, output / part.name)  # the page last, when all it needs is there
    finally:
        remove_tree(fresh)
    if cache:
        receipt = BuildStamp(manifest.digest, len(manifest.files))
        store_stamp(cache, Edition.INTERNAL, "", inputs, receipt)


def _told_by(folder: Path) -> bytes:
    path = folder / SUMMARY_PATH
    with explain_os_errors(f"reading {path}"):
        return path.read_bytes()


def _overview_of(folder: Path) -> tuple[SiteSummary, str]:
    try:
        return read_summary(_told_by(folder))
    except ValueError:
        raise WorldError(
            f"{folder / SUMMARY_PATH} isn’t understood; build that site again"
        ) from None


def _write(path: Path, pieces: Iterable[bytes]) -> None:
    with explain_os_errors(f"writing {path}"):
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("wb") as file:
            file.writelines(pieces)


def take_parts(parts: Sequence[Path], output: Path) -> tuple[str, ...]:
    """Put the built sites of several folders beside each other in `output`; their keys. Each is
    held against its manifest first, and nothing is written unless all are sound."""
    found: dict[str, Path] = {}
    for part in parts:
        for folder, manifest in _sites_in(part):
            key = folder.name
            if key in found:
                raise WorldError(
                    f"{found[key]} and {folder} are both called “{key}”; a site can come from "
                    "one part only"
                )
            _hold(folder, manifest)
            found[key] = folder
    if not found:
        raise WorldError(f"no built site in {', '.join(map(str, parts))}; build them first")
    for key, folder in sorted(found.items()):
        if _same(folder, output / key):
            continue
        fresh = make_aside(output)
        try:
            copy_tree(folder, fresh)
            swap_in(fresh, output / key)
        finally:
            remove_tree(fresh)
    return tuple(sorted(found))


def _sites_in(part: Path) -> Iterable[tuple[Path, Manifest]]:
    with explain_os_errors(f"reading {part}"):
        folders = sorted(entry for entry in part.iterdir() if (entry / MANIFEST).is_file())
    for folder in folders:
        manifest = read_manifest(folder)
        assert manifest is not None
        if manifest.maker.edition is not Edition.INTERNAL:
            raise WorldError(
                f"{folder} is a client’s edition; a page over all sites would show one client "
                "another’s: join engineers’ editions"
            )
        if manifest.maker.site == folder.name:
            yield folder, manifest


def _hold(folder: Path, manifest: Manifest) -> None:
    found = compare(folder, manifest)
    if found:
        first = (*found.changed, *found.missing, *found.extra)[0]
        raise WorldError(
            f"{folder} isn’t what was built: {first} differs from its manifest; build it again"
        )


def _same(one: Path, other: Path) -> bool:
    here, there = (folder / MANIFEST for folder in (one, other))
    with explain_os_errors(f"reading {there}"):
        return there.is_file() and here.read_bytes() == there.read_bytes()
