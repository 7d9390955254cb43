"""From records to a published site, told from top to bottom.

    read      a site's folder → its records and photos, and what is wrong with them (intake.py)
    check     … with them as a whole, always on the full records, whoever the pages are for
    bind      the edition's records, their history and revision → the book pages are made from
              (binding.py)
    volume    → the tree of its pages
    look      what was made from the same before stays as it is (ledger.py)
    publish   beside the old site, and in its place when it is whole

A site whose records have errors isn't built: its last good pages stay, the others are built.
How a tree becomes a site is not known here: `publish` is handed in.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from asbuilt.io import cache
from asbuilt.io.cache import Cache
from asbuilt.io.files import SITES, choose_sites, explain_os_errors, read_site_files, site_names
from asbuilt.io.graphviz import drawings_of
from asbuilt.io.graphviz import engine as engine_of
from asbuilt.io.swap import exclusive_output, make_aside, overlay_tree, remove_tree, swap_in
from asbuilt.io.transaction import locked_for_reading
from asbuilt.io.workers import ParallelMap, in_parallel, stop_if_orphaned, worker_crash_as_error
from asbuilt.pages.page_drawings import RenderDot
from asbuilt.pages.site_summary import SiteSummary
from asbuilt.problem import Level, Problem, WorldError
from asbuilt.publish.assemble import assemble_site, output_of
from asbuilt.publish.fleet import publish_front, share, take_parts
from asbuilt.publish.histories import SiteHistory, site_histories
from asbuilt.publish.load import LoadedSite, load_site
from asbuilt.publish.manifest import Manifest, Provenance, versions, write_manifest
from asbuilt.publish.output_folder import claim_folder, keep_off_records, remove_gone_sites
from asbuilt.publish.site_output import Publish, SiteOutput
from asbuilt.publish.stamps import BuildStamp, inputs_of, store_stamp, valid_stamp
from asbuilt.records.edition import Edition, Withheld


@dataclass(frozen=True, slots=True)
class Built:
    """What became of one site: it has no `files` when its records have errors. `reused` pages
    were there, made from the same; `parts` tell one state of each from another, as long as somebody
    works on the records."""

    key: str
    problems: tuple[Problem, ...]
    files: int = 0
    withheld: Mapping[str, int] = field(default_factory=dict)
    reused: bool = False
    parts: Mapping[str, bytes] = field(default_factory=dict)

    @property
    def sound(self) -> bool:
        return self.files > 0


def _summary_of_broken(reading: LoadedSite) -> SiteSummary:
    errors = sum(1 for problem in reading.problems if problem.level is Level.ERROR)
    name = reading.site.name if reading.site else reading.key
    return SiteSummary(reading.key, name, errors=errors)


# Site by site: what `asbuilt build` publishes


def build(
    top: Path,
    output: Path,
    publish: Publish,
    *,
    sites: Iterable[str] = (),
    edition: Edition = Edition.INTERNAL,
    draw: RenderDot = drawings_of,
    engine: str | None = None,
    workers: int | None = None,
    shard: tuple[int, int] | None = None,
    rebuild: bool = False,
    alone: bool = False,
    begin: Callable[[], None] = lambda: None,
    tell: Callable[[Built], None] = lambda built: None,
) -> tuple[Built, ...]:
    """Publish each site into its own folder of `output`, and over all of them a front page.

    A site whose pages are there already, made from the same, isn't built again unless `rebuild`
    says so. A client's edition is of one site, and has no front page: nothing names another
    client. `engine` names the Graphviz that draws, when it isn't the one that came along. `shard`
    is (K, N): the K-th of N shares of the sites, without a front page; `join` puts them together.
    Pages that are to stand `alone` have no way to a front page, and nothing is noted of them.
    `begin` is called when the histories are known, `tell` as each site is done.
    """
    asked = tuple(sites)
    if edition is Edition.CLIENT and len(asked) != 1:
        raise WorldError("the client’s edition is of one site: say which with --site")
    keys = choose_sites(top, asked)
    whole = edition is Edition.INTERNAL and keys == site_names(top) and not alone
    if shard:
        keys = share({key: _size_of(top / SITES / key) for key in keys}, *shard)
    keep_off_records(top, output)
    by = versions(engine or engine_of())
    with (
        locked_for_reading(top),
        exclusive_output(output),
        worker_crash_as_error(),
        in_parallel(workers, preloaded_modules(publish)) as each,
    ):
        claim_folder(output, edition)
        kept = None if alone else Cache(top / cache.FOLDER)
        job = BuildSettings(
            top, output, edition, publish, draw, by, kept, rebuild=rebuild, alone=alone
        )
        pasts = site_histories(top, keys, edition, partial(load_site, top), each)
        begin()
        results: dict[str, Built] = {}
        for built in build_sites(job, pasts, each):
            results[built.key] = built
            tell(built)
        if whole:
            remove_gone_sites(output, keys)
        if whole and not shard:
            broken = broken_sites(top, (results[key] for key in keys))
            publish_front(output, publish, keys, broken, by, kept, rebuild=rebuild)
    return tuple(results[key] for key in keys)


def join(parts: Sequence[Path], output: Path, publish: Publish) -> tuple[str, ...]:
    """Put the built sites of several folders into one, with a page over all; their keys."""
    with exclusive_output(output):
        claim_folder(output, Edition.INTERNAL)
        keys = take_parts(parts, output)
        remove_gone_sites(output, keys)
        publish_front(output, publish, keys, {}, versions(engine_of()))
    return keys


def broken_sites(top: Path, results: Iterable[Built]) -> dict[str, SiteSummary]:
    return {
        built.key: _summary_of_broken(load_site(top, built.key))
        for built in results
        if not built.sound
    }


@dataclass(frozen=True, slots=True)
class BuildSettings:
    """What the building of all sites of a run has in common; `kept` holds what earlier runs
    told, and `revision` is what pages say instead of naming one."""

    top: Path
    output: Path
    edition: Edition
    publish: Publish
    draw: RenderDot
    versions: Mapping[str, str]
    cache: Cache | None
    revision: str = ""
    rebuild: bool = False
    alone: bool = False

    @property
    def front(self) -> str | None:
        under_front = self.edition is Edition.INTERNAL and not self.alone
        return "../index.html" if under_front else None

    def inputs(self, key: str, past: SiteHistory) -> str:
        """A digest of all that a site's pages are made from; none where nothing is noted."""
        if self.cache is None:
            return ""
        extra = repr((key, self.front, past.withheld, past.revision))
        found = read_site_files(self.top, key)
        return inputs_of(found, past.history.digest, self.edition, self.versions, extra)

    def valid_stamp(self, key: str, inputs: str) -> BuildStamp | None:
        """Of the pages that stand there, if they were made from these inputs and may stay."""
        if self.cache is None or self.rebuild:
            return None
        return valid_stamp(self.cache, self.edition, key, inputs, self.output / key)


def build_sites(
    job: BuildSettings,
    pasts: Mapping[str, SiteHistory],
    each: ParallelMap,
    before: Mapping[str, Mapping[str, bytes]] | None = None,
) -> Iterator[Built]:
    """Each site, perhaps several side by side; first those that are there already. `before` holds
    what is known of the pages that stand there."""
    tasks: list[_Task] = []
    for key, past in pasts.items():
        inputs = job.inputs(key, past)
        receipt = job.valid_stamp(key, inputs)
        if receipt is not None:
            yield Built(key, receipt.problems, receipt.files, receipt.withheld, reused=True)
        else:
            known = before.get(key, {}) if before is not None else None
            tasks.append(_Task(job, key, past, inputs, known))
    # Sites of many files first: the last to finish should be a small one.
    yield from each(
        _build_one, sorted(tasks, key=lambda task: -_size_of(job.top / SITES / task.key))
    )


def preloaded_modules(publish: Publish) -> tuple[str, ...]:
    """The modules that every worker needs, whichever site it builds: what writes spreadsheets, and
    the publisher's, which may be wrapped in a partial."""
    return "xlsxwriter", getattr(publish, "func", publish).__module__


@dataclass(frozen=True, slots=True)
class _Task:
    """One site to be built. `known` tells the state of the pages that stand there, where whoever
    serves them wants only those made anew that change."""

    job: BuildSettings
    key: str
    past: SiteHistory
    inputs: str = ""
    known: Mapping[str, bytes] | None = None


def _build_one(task: _Task) -> Built:
    """Read, check, bind and publish one site; its old pages stay until the new ones are whole."""
    job, key = task.job, task.key
    reading = load_site(job.top, key, ready=True)
    if not reading.sound:
        return Built(key, reading.problems)
    tally = Withheld()
    book = assemble_site(job.top, reading, job.edition, task.past, tally)
    volume = output_of(book, job.draw, job.revision)
    parts = volume.digests() if task.known is not None else {}
    manifest: Manifest | None = None
    if task.known:
        _mend(task, volume, parts)
    else:
        made_from = (book.revision.id, book.revision.dirty)
        manifest = _publish(task, volume, Provenance(key, job.edition, *made_from, job.versions))
    built = Built(key, reading.problems, len(volume.tree), Counter(tally.counts), parts=parts)
    if job.cache and manifest:
        receipt = BuildStamp(manifest.digest, built.files, built.problems, built.withheld)
        store_stamp(job.cache, job.edition, key, task.inputs, receipt)
    return built


def _publish(task: _Task, volume: SiteOutput, maker: Provenance) -> Manifest:
    job = task.job
    fresh = make_aside(job.output)
    try:
        job.publish(volume, fresh, front=job.front)
        manifest = write_manifest(fresh, maker)
        stop_if_orphaned()
        swap_in(fresh, job.output / task.key)
        return manifest
    finally:
        remove_tree(fresh)


def _mend(task: _Task, volume: SiteOutput, parts: Mapping[str, bytes]) -> None:
    """Bring the pages that stand there up to date: only what differs is written."""
    assert task.known is not None
    job, pages = task.job, task.job.output / task.key
    fresh = make_aside(job.output)
    try:
        changed = {path for path, digest in parts.items() if task.known.get(path) != digest}
        job.publish(volume, fresh, front=job.front, only=changed)
        overlay_tree(fresh, pages, gone=task.known.keys() - parts.keys())
    finally:
        remove_tree(fresh)


def _size_of(folder: Path) -> int:
    with explain_os_errors(f"reading {folder.name}"):
        return sum(path.stat().st_size for path in folder.rglob("*.yml"))
