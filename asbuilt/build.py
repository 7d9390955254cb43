"""From records to a published site, told from top to bottom.

    read      a site's folder → its records, and what is wrong with them; for a build also its
              photos made ready, of which a check sees the heads only
    check     … with them as a whole, always on the full records, whoever the pages are for
    bind      the edition's records, their history and revision → the book pages are made from
    volume    → the tree of its pages
    publish   beside the old site, and in its place when it is whole

A site whose records have errors isn't built: its last good pages stay, the others are built.
How a tree becomes a site is not known here: `publish` is handed in.
"""

from __future__ import annotations

import contextlib
import hashlib
import multiprocessing
import os
import posixpath
import signal
import threading
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from dataclasses import dataclass, field, replace
from functools import partial
from multiprocessing import resource_tracker
from pathlib import Path

from asbuilt import repo
from asbuilt.changes.log import History
from asbuilt.changes.scope import scope_of
from asbuilt.checks import check_site
from asbuilt.dot import engine as engine_of
from asbuilt.dot import render_dots
from asbuilt.drawings.photo import Shot, look_at, shot_of
from asbuilt.drawings.picture import Picture, UnfitPictureError, picture_of
from asbuilt.facts.jobs import jobs_against_history
from asbuilt.facts.photos import photos_on_record
from asbuilt.files import (
    SITES,
    alone_in,
    aside,
    choose_sites,
    lay_over,
    opened_asset,
    read_asset,
    read_site_files,
    remove_tree,
    site_names,
    stamps_of,
    swap_in,
    telling,
)
from asbuilt.fleet import EDITION, front_of, publish_front, share, take_parts
from asbuilt.history import files_at, read_histories, withheld_ever
from asbuilt.journal import held_still
from asbuilt.ledger import Receipt, inputs_of, keep, receipt_for
from asbuilt.manifest import NAME as MANIFEST
from asbuilt.manifest import Maker, read_manifest, versions, write_manifest
from asbuilt.pages.book import Book, Revision, Sides
from asbuilt.pages.overview import Summary, overview_in
from asbuilt.pages.pictures import Draw
from asbuilt.pages.tree import site_tree
from asbuilt.paths import Net, net_of
from asbuilt.problem import Level, Place, Problem, WorldError, has_errors, quoted, suggestion
from asbuilt.records.edition import (
    Edition,
    Withheld,
    WithheldKeys,
    for_client,
    in_edition,
    withheld_keys,
)
from asbuilt.records.layout import is_record_file
from asbuilt.records.photos import PHOTO
from asbuilt.records.reading import Records, read_records, take_folder_apart
from asbuilt.repo import Shelf
from asbuilt.site import Site, site_of
from asbuilt.volume import Publish, Volume
from asbuilt.workers import end_with_parent, stop_if_orphaned, telling_of_deaths

CACHE = ".asbuilt-cache"  # in the repository: what was told of commits, which never change
#: Names at the top of a published folder that belong to the page over all sites.
RESERVED = ("assets", "search", "index.html", MANIFEST)
MARK = ".asbuilt"  # says that a folder is ours to write to, and for whom it is
_WORDS = {Edition.INTERNAL: EDITION, Edition.CLIENT: "client’s edition"}


@dataclass(frozen=True, slots=True)
class Reading:
    """A site as its folder stands; `site` is None when there is nothing to build from."""

    key: str
    records: Records
    problems: tuple[Problem, ...]
    site: Site | None = None
    net: Net | None = None
    plans: Mapping[str, Picture] = field(default_factory=dict)  # by the path a floor names
    photos: Mapping[str, Shot] = field(default_factory=dict)  # by key; where they were made ready

    @property
    def sound(self) -> bool:
        return self.site is not None and not has_errors(self.problems)


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


# Reading and checking


def read_site(top: Path, key: str, *, ready: bool = False) -> Reading:
    return Reader(ready=ready).read(top, key)


def read_texts(key: str, texts: Mapping[str, bytes]) -> Reading:
    """A site that is only texts, as if they lay in its folder without a picture beside them."""
    return _take_in(key, texts, (), {}, lambda path: shot_of(read_asset(path)))


class Reader:
    """Reads sites, and keeps what it read as long as a site's files stay the same. `ready`: with
    the photos made ready to be published."""

    def __init__(self, *, ready: bool = False) -> None:
        self._known: dict[str, tuple[object, Reading]] = {}
        self._shots: dict[Path, tuple[object, Shot]] = {}
        self._see = self._shot if ready else _look

    def read(self, top: Path, key: str) -> Reading:
        found = read_site_files(top, key)
        state = (found.texts, found.problems, stamps_of(found.assets))
        known = self._known.get(key)
        if known and known[0] == state:
            return known[1]
        reading = _take_in(key, found.texts, found.problems, found.assets, self._see)
        self._known[key] = (state, reading)
        return reading

    def _shot(self, path: Path) -> Shot:
        """A photo made ready once, not each time a line of the records is edited."""
        state = stamps_of({"": path})
        known = self._shots.get(path)
        if known is None or known[0] != state:
            known = self._shots[path] = (state, shot_of(read_asset(path)))
        return known[1]


def _look(path: Path) -> None:
    with opened_asset(path) as photo:
        look_at(photo)


def _take_in(
    key: str,
    texts: Mapping[str, bytes],
    unread: Iterable[Problem],
    assets: Mapping[str, Path],
    see: Callable[[Path], Shot | None],
) -> Reading:
    """The records of a site's files, and everything that is wrong with them."""
    folder = f"{SITES}/{key}"
    unread = list(unread)
    if key in RESERVED:
        hint = f"give the folder another name than {', '.join(RESERVED)}"
        message = f"the pages of “{key}” would lie over those of the front page"
        unread.append(Problem(Place(folder), "bad-key", message, hint))
    raws, problems = take_folder_apart(texts, folder)
    if not texts and unread:
        problems = []  # nothing could be read, and that is told already
    records = read_records(key, raws, [*unread, *problems])
    site = site_of(records)
    if site is None:
        return Reading(key, records, records.problems)
    net = net_of(site)
    found = check_site(site, net)
    if has_errors(records.problems):
        # What couldn't be read is missing from the site: only tell what is wrong all the same.
        found = [problem for problem in found if problem.level is Level.ERROR]
    plans, unfit = _plans(site, assets)
    photos, unfit_photos = _photos(site, assets, see)
    wrong = tuple(sorted({*records.problems, *found, *unfit, *unfit_photos}))
    return Reading(key, records, wrong, site, net, plans, photos)


def _plans(site: Site, assets: Mapping[str, Path]) -> tuple[dict[str, Picture], list[Problem]]:
    """The pictures that floors name as their plans, by their paths; of the rest, why not."""
    plans: dict[str, Picture] = {}
    unfit: list[Problem] = []
    for floor in site.floors.values():
        name = floor.plan
        if name is None or name in plans:
            continue
        if name not in assets:
            message = f"there is no file {quoted(name)} in the site's folder"
            hint = suggestion(name, assets, "put the plan under plans/ and name it so")
            unfit.append(floor.remark("plan", "plan-missing", message, hint))
            continue
        try:
            plans[name] = picture_of(read_asset(assets[name]))
        except UnfitPictureError as error:
            message = f"{quoted(name)} can't be shown: {error}"
            hint = "a plan is an SVG, PNG or JPEG"
            unfit.append(floor.remark("plan", "plan-unfit", message, hint))
    return plans, unfit


def _photos(
    site: Site, assets: Mapping[str, Path], see: Callable[[Path], Shot | None]
) -> tuple[dict[str, Shot], list[Problem]]:
    """The photos there are to show, by their keys, as far as `see` makes them ready; of the rest,
    why not."""
    photos: dict[str, Shot] = {}
    unfit: list[Problem] = []
    known = [path for path in assets if path.startswith("photos/")]
    for key, photo in photos_on_record(site).items():
        name = photo.file
        at = "file" if photo.raw.kind == PHOTO.name else "photo"
        if name is None:
            message, hint = f"photo {key} names no file", "add “file: photos/…”"
            unfit.append(photo.remark(at, "photo-missing", message, hint))
        elif name not in known:
            message = f"there is no file {quoted(name)} among the site’s photos"
            hint = suggestion(name, known, "put the photo under photos/ and name it so")
            unfit.append(photo.remark(at, "photo-missing", message, hint))
        else:
            try:
                shot = see(assets[name])
            except UnfitPictureError as error:
                message = f"{quoted(name)} can't be shown: {error}"
                hint = "a photo is a JPEG or PNG"
                unfit.append(photo.remark(at, "photo-unfit", message, hint))
            else:
                if shot is not None:
                    photos[key] = shot
    return photos, unfit


def check(top: Path, sites: Iterable[str] = ()) -> list[Problem]:
    """All that is wrong with these sites, or with all of them."""
    return [problem for key in choose_sites(top, sites) for problem in read_site(top, key).problems]


# Binding


def bind(
    reading: Reading,
    edition: Edition,
    history: History,
    tally: Withheld | None = None,
    sides: Mapping[str, Sides] | None = None,
    withheld: WithheldKeys | None = None,
    revision: Revision | None = None,
) -> Book:
    """A sound site's book in an edition. The edition is applied to the records, before anything
    is derived from them: what a page can show, a client may read. `withheld` is what no revision
    tells; `revision` that of the records, where the history doesn't tell of all that altered
    them."""
    assert reading.site is not None and reading.net is not None
    revision = revision or revision_of(history)
    if edition is Edition.INTERNAL:
        remarks = tuple(p for p in reading.problems if p.level is Level.REMARK)
        remarks += tuple(job_remarks(reading.site, history))
        return Book(
            reading.site,
            reading.net,
            edition,
            revision,
            history,
            remarks,
            sides or {},
            reading.plans,
            reading.photos,
        )
    site = site_of(in_edition(edition, reading.records, tally, withheld))
    assert site is not None
    shown = {floor.plan for floor in site.floors.values()}
    plans = {name: picture for name, picture in reading.plans.items() if name in shown}
    photos = {key: reading.photos[key] for key in photos_on_record(site) if key in reading.photos}
    return Book(site, net_of(site), edition, revision, history, (), sides or {}, plans, photos)


@dataclass(frozen=True, slots=True)
class Past:
    """What there is to tell of a site's past: its history, the revision that its records stand at
    (what the client isn't told of can alter their pages all the same), and what is withheld in
    every revision."""

    history: History
    revision: Revision
    withheld: WithheldKeys | None = None


def pasts_of(
    top: Path, keys: Sequence[str], edition: Edition, read: Callable[[str], Reading]
) -> dict[str, Past]:
    """By site. `read` gives the records of one, which say what is withheld."""
    histories = histories_of(top, keys)
    revisions = {key: revision_of(history) for key, history in histories.items()}
    withheld: Mapping[str, WithheldKeys] = {}
    if edition is Edition.CLIENT:
        withheld = withheld_from(top, map(read, keys))
        histories = histories_of(top, keys, withheld)
    return {key: Past(histories[key], revisions[key], withheld.get(key)) for key in keys}


def _bound(
    top: Path, reading: Reading, edition: Edition, past: Past, tally: Withheld | None = None
) -> Book:
    history, hidden = past.history, past.withheld
    sides = sides_of(top, reading.key, history, edition, hidden or WithheldKeys())
    return bind(reading, edition, history, tally, sides, hidden, past.revision)


def volume_of(book: Book, draw: Draw, revision: str = "") -> Volume:
    """A book's pages; the head of each names the revision, or what is given in its place."""
    tree = site_tree(book, draw)
    if not revision:
        date = f", {book.revision.date}" if book.revision.date else ""
        revision = f"{book.revision}{date}"
    return Volume(book.site.key, book.site.name, _WORDS[book.edition], revision, tree)


def volume_at(top: Path, key: str, edition: Edition, draw: Draw) -> Volume:
    """One site's volume as its records stand, when they are sound."""
    (key,) = choose_sites(top, (key,))
    with held_still(top):
        reading = read_site(top, key, ready=True)
        if not reading.sound:
            raise WorldError(f"the records of {key} have errors; “asbuilt check {key}” tells which")
        past = pasts_of(top, [key], edition, lambda key: reading)[key]
        return volume_of(_bound(top, reading, edition, past), draw)


def _summary_of_broken(reading: Reading) -> Summary:
    errors = sum(1 for problem in reading.problems if problem.level is Level.ERROR)
    name = reading.site.name if reading.site else reading.key
    return Summary(reading.key, name, errors=errors)


# History


def place_in_git(top: Path) -> tuple[Path | None, str]:
    """The top of the git work tree around these records, if they are in one, and the folder of
    their sites as git names it."""
    above = repo.top_of(top)
    inside = top.resolve().relative_to(above.resolve()).as_posix() if above else ""
    return above, posixpath.normpath(posixpath.join(inside, SITES))


def histories_of(
    top: Path, keys: Sequence[str], withheld: Mapping[str, WithheldKeys] | None = None
) -> dict[str, History]:
    """The history of each site, uncommitted work included; for the client where it is said what
    is `withheld`, by site."""
    above, inside = place_in_git(top)
    folders = {key: f"{inside}/{key}" for key in keys}
    unsaved = repo.unsaved(above, inside) if above else ()
    today = {
        folder: _record_texts(top, key)
        for key, folder in folders.items()
        if any(path.startswith(f"{folder}/") for path in unsaved)
    }
    found = read_histories(
        above,
        list(folders.values()),
        Edition.INTERNAL if withheld is None else Edition.CLIENT,
        {folders[key]: hidden for key, hidden in withheld.items()} if withheld else None,
        today,
        top / CACHE,
    )
    return {key: found[folder] for key, folder in folders.items()}


def withheld_from(top: Path, readings: Iterable[Reading]) -> dict[str, WithheldKeys]:
    """What the client may not know of each site, by its key, today and of the past."""
    above, inside = place_in_git(top)
    raws = {f"{inside}/{reading.key}": reading.records.raw for reading in readings}
    found = withheld_ever(above, raws)
    return {folder.rpartition("/")[2]: hidden for folder, hidden in found.items()}


def _record_texts(top: Path, key: str) -> dict[str, bytes]:
    texts = read_site_files(top, key).texts
    return {path: text for path, text in texts.items() if is_record_file(path)}


def revision_of(history: History) -> Revision:
    """The last commit that altered what the records mean: what comes after it, a comment or
    another site's records, leaves every page as it is."""
    for entry in history.entries:
        if entry.commit:
            dirty = entry is not history.entries[0]
            return Revision(entry.commit, entry.when.date(), dirty)
    return Revision(dirty=bool(history.entries))


def job_remarks(site: Site, history: History) -> list[Problem]:
    """What the jobs say was done and what history says, where the two don't agree."""
    return jobs_against_history(site, history.entries, complete=not history.notices)


def sides_of(
    top: Path, key: str, history: History, edition: Edition, hidden: WithheldKeys
) -> dict[str, Sides]:
    """The site before and after each job that changed how an enclosure looks; `hidden` is what the
    client may not know of it."""
    above, _ = place_in_git(top)
    jobs = {job for entry in history.entries for job in entry.jobs}
    found: dict[str, Sides] = {}
    for job in sorted(jobs):
        entries = [entry for entry in history.entries if job in entry.jobs and entry.commit]
        scope = scope_of(entries)
        if above is None or scope is None or not scope.enclosures:
            continue
        before = _site_at(above, key, f"{scope.first}^", entries[-1].folder, edition, hidden)
        after = _site_at(above, key, scope.last, entries[0].folder, edition, hidden)
        found[job] = Sides(before, after)
    return found


def _site_at(
    above: Path, key: str, revision: str, folder: str, edition: Edition, hidden: WithheldKeys
) -> Site | None:
    """The site as it stood at a revision, as far as it can be read today."""
    try:
        files = files_at(above, folder, revision)
    except WorldError:
        return None  # before the first commit, or in what a shallow copy left behind
    raws, _ = take_folder_apart(files, folder)
    if edition is Edition.CLIENT:
        raws = for_client(raws, hidden | withheld_keys(raws))
    return site_of(read_records(key, raws, []))


# All sites in one: what `mkdocs build` and `mkdocs serve` publish


@dataclass(frozen=True, slots=True)
class Volumes:
    front: Volume | None
    volumes: tuple[Volume, ...]
    problems: tuple[Problem, ...]
    broken: tuple[str, ...]


def volumes(top: Path, *, reader: Reader, draw: Draw = render_dots) -> Volumes:
    """Every site of a records repository, for engineers."""
    with held_still(top):
        return _volumes(top, reader, draw)


def _volumes(top: Path, reader: Reader, draw: Draw) -> Volumes:
    readings = [reader.read(top, key) for key in choose_sites(top, ())]
    problems = tuple(problem for reading in readings for problem in reading.problems)
    broken = tuple(reading.key for reading in readings if not reading.sound)
    if broken:
        return Volumes(None, (), problems, broken)
    by_key = {reading.key: reading for reading in readings}
    pasts = pasts_of(top, list(by_key), Edition.INTERNAL, by_key.__getitem__)
    made = tuple(
        volume_of(_bound(top, reading, Edition.INTERNAL, pasts[key]), draw)
        for key, reading in by_key.items()
    )
    overviews = [overview_in(volume.tree) for volume in made]
    finds = {summary.key: found for summary, found in overviews}
    return Volumes(front_of((summary for summary, _ in overviews), finds), made, problems, ())


# Site by site: what `asbuilt build` publishes


def build(
    top: Path,
    output: Path,
    publish: Publish,
    *,
    sites: Iterable[str] = (),
    edition: Edition = Edition.INTERNAL,
    draw: Draw = render_dots,
    engine: str | None = None,
    workers: int | None = None,
    shard: tuple[int, int] | None = None,
    anew: bool = False,
    alone: bool = False,
    tell: Callable[[Built], None] = lambda built: None,
) -> tuple[Built, ...]:
    """Publish each site into its own folder of `output`, and over all of them a front page.

    A site whose pages are there already, made from the same, isn't built again unless all is to
    be built `anew`. A client's edition is of one site, and has no front page: nothing names another
    client. `engine` names the Graphviz that draws, when it isn't the one that came along. `shard`
    is (K, N): the K-th of N shares of the sites, without a front page; `join` puts them together.
    Pages that are to stand `alone` have no way to a front page, and nothing is noted of them.
    """
    asked = tuple(sites)
    if edition is Edition.CLIENT and len(asked) != 1:
        raise WorldError("the client’s edition is of one site: say which with --site")
    keys = choose_sites(top, asked)
    whole = edition is Edition.INTERNAL and keys == site_names(top) and not alone
    if shard:
        keys = share({key: _size_of(top / SITES / key) for key in keys}, *shard)
    _keep_off_records(top, output)
    by = versions(engine or engine_of())
    with held_still(top), alone_in(output), telling_of_deaths():
        _claim(output, edition)
        shelf = None if alone else Shelf(top / CACHE)
        job = _Job(top, output, edition, publish, draw, by, shelf, anew=anew, alone=alone)
        pasts = pasts_of(top, keys, edition, partial(read_site, top))
        results: dict[str, Built] = {}
        for built in _build_all(job, pasts, workers):
            results[built.key] = built
            tell(built)
        if whole:
            _drop_gone(output, keys)
        if whole and not shard:
            broken = _broken(top, (results[key] for key in keys))
            publish_front(output, publish, keys, broken, by)
    return tuple(results[key] for key in keys)


def join(parts: Sequence[Path], output: Path, publish: Publish) -> tuple[str, ...]:
    """Put the built sites of several folders into one, with a page over all; their keys."""
    with alone_in(output):
        _claim(output, Edition.INTERNAL)
        keys = take_parts(parts, output)
        _drop_gone(output, keys)
        publish_front(output, publish, keys, {}, versions(engine_of()))
    return keys


def _broken(top: Path, results: Iterable[Built]) -> dict[str, Summary]:
    return {
        built.key: _summary_of_broken(read_site(top, built.key))
        for built in results
        if not built.sound
    }


class Standing:
    """A published folder that is kept up to date while somebody works on the records: each
    `update` makes anew, of the sites that have changed since the last, the pages that have."""

    def __init__(
        self,
        top: Path,
        output: Path,
        publish: Publish,
        sites: Iterable[str] = (),
        draw: Draw = render_dots,
    ) -> None:
        self.top = top
        self.output = output
        self._sites = tuple(sites)
        self._states: dict[str, tuple[object, Past]] = {}
        self._built: dict[str, Built] = {}
        self._job = _Job(
            top, output, Edition.INTERNAL, publish, KeptDrawings(draw), versions(engine_of()), None,
            revision="work in hand",
        )  # fmt: skip

    @property
    def records(self) -> Path:
        return self.top / SITES

    def update(self) -> tuple[Built, ...]:
        """What was built just now."""
        keys = choose_sites(self.top, self._sites)
        pasts = pasts_of(self.top, keys, Edition.INTERNAL, partial(read_site, self.top))
        states = {key: (_files_of(self.top, key), pasts[key]) for key in keys}
        changed = [key for key in keys if self._states.get(key) != states[key]]
        gone = self._built.keys() - set(keys)
        self._built = {key: self._built[key] for key in keys if key in self._built}
        if changed or gone:
            with held_still(self.top), alone_in(self.output), telling_of_deaths():
                _claim(self.output, Edition.INTERNAL)
                before = {key: built.parts for key, built in self._built.items()}
                now = {key: pasts[key] for key in changed}
                for built in _build_all(self._job, now, None, before):
                    kept = self._built.get(built.key)
                    parts = built.parts or (kept.parts if kept else {})
                    self._built[built.key] = replace(built, parts=parts)
                if not self._sites:
                    _drop_gone(self.output, keys)
                    broken = _broken(self.top, (self._built[key] for key in keys))
                    publish_front(self.output, self._job.publish, keys, broken, self._job.versions)
        self._states = states
        return tuple(self._built[key] for key in changed)

    def problems(self) -> tuple[Problem, ...]:
        return tuple(problem for built in self._built.values() for problem in built.problems)


class KeptDrawings:
    """Draws what hasn't been drawn before."""

    def __init__(self, draw: Draw, most: int = 20_000) -> None:
        self._draw = draw
        self._most = most
        self._known: dict[str, str] = {}

    def __call__(self, dots: Sequence[str]) -> list[str]:
        new = [dot for dot in dict.fromkeys(dots) if dot not in self._known]
        if len(self._known) + len(new) > self._most:
            self._known.clear()
            new = list(dict.fromkeys(dots))
        self._known.update(zip(new, self._draw(new), strict=True))
        return [self._known[dot] for dot in dots]


def _files_of(top: Path, key: str) -> object:
    """What tells one state of a site's files from another."""
    found = read_site_files(top, key)
    digest = hashlib.sha256(repr(sorted(stamps_of(found.assets).items())).encode())
    for path in sorted(found.texts):
        digest.update(f"{path}\0{len(found.texts[path])}\0".encode() + found.texts[path])
    return digest.digest(), found.problems


@dataclass(frozen=True, slots=True)
class _Job:
    """What the building of all sites of a run has in common; `shelf` holds what earlier runs
    told, and `revision` is what pages say instead of naming one."""

    top: Path
    output: Path
    edition: Edition
    publish: Publish
    draw: Draw
    versions: Mapping[str, str]
    shelf: Shelf | None
    revision: str = ""
    anew: bool = False
    alone: bool = False

    @property
    def front(self) -> str | None:
        under_front = self.edition is Edition.INTERNAL and not self.alone
        return "../index.html" if under_front else None

    def inputs(self, key: str, past: Past) -> str:
        """A digest of all that a site's pages are made from; none where nothing is noted."""
        if self.shelf is None:
            return ""
        extra = repr((key, self.front, past.withheld, past.revision))
        found = read_site_files(self.top, key)
        return inputs_of(found, past.history, self.edition, self.versions, extra)

    def receipt(self, key: str, inputs: str) -> Receipt | None:
        """Of the pages that stand there, if they were made from these inputs and may stay."""
        if self.shelf is None or self.anew:
            return None
        return receipt_for(self.shelf, self.edition, key, inputs, self.output / key)


def _build_all(
    job: _Job,
    pasts: Mapping[str, Past],
    workers: int | None,
    before: Mapping[str, Mapping[str, bytes]] | None = None,
) -> Iterator[Built]:
    """One after another, or several sites side by side in processes of their own; first those
    that are there already. `before` holds what is known of the pages that stand there."""
    tasks: list[_Task] = []
    for key, past in pasts.items():
        inputs = job.inputs(key, past)
        receipt = job.receipt(key, inputs)
        if receipt is not None:
            yield Built(key, receipt.problems, receipt.files, receipt.withheld, reused=True)
        else:
            known = before.get(key, {}) if before is not None else None
            tasks.append(_Task(job, key, past, inputs, known))
    if not tasks:
        return
    workers = min(workers or os.cpu_count() or 1, len(tasks))
    if workers < 2:
        yield from map(_build_one, tasks)
        return
    # Sites of many files first: the last to finish should be a small one.
    tasks.sort(key=lambda task: -_size_of(job.top / SITES / task.key))
    methods = multiprocessing.get_all_start_methods()
    context = multiprocessing.get_context("forkserver" if "forkserver" in methods else "spawn")
    if "forkserver" in methods:
        # Loaded once for all: what writes spreadsheets, and the publisher's module, which may be
        # wrapped in a partial.
        publisher = getattr(job.publish, "func", job.publish).__module__
        context.set_forkserver_preload(["openpyxl", publisher])
    with ProcessPoolExecutor(workers, context, end_with_parent) as pool:
        waiting: list[Future[Built]] = []
        try:
            with _interrupts_put_off():
                waiting += [pool.submit(_build_one, task) for task in tasks]
            for done in as_completed(waiting):
                yield done.result()
        finally:
            for task in waiting:
                task.cancel()


@contextlib.contextmanager
def _interrupts_put_off() -> Iterator[None]:
    """Ctrl-C reaches every process of a terminal, and one of them is enough to end it. Those
    started meanwhile inherit that it is put off, and never hear of it; we do afterwards."""
    in_main_thread = threading.current_thread() is threading.main_thread()
    if not hasattr(signal, "pthread_sigmask") or not in_main_thread:
        yield
        return
    heard: list[int] = []
    resource_tracker.ensure_running()  # its start would lift the mask again
    mask = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    # A thread some library has started may be told in our place, so that the mask isn't enough.
    handler = signal.signal(signal.SIGINT, lambda number, frame: heard.append(number))
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, mask)
        signal.signal(signal.SIGINT, handler)
    if heard:
        raise KeyboardInterrupt


@dataclass(frozen=True, slots=True)
class _Task:
    """One site to be built. `known` tells the state of the pages that stand there, where whoever
    serves them wants only those made anew that change."""

    job: _Job
    key: str
    past: Past
    inputs: str = ""
    known: Mapping[str, bytes] | None = None


def _build_one(task: _Task) -> Built:
    """Read, check, bind and publish one site; its old pages stay until the new ones are whole."""
    job, key = task.job, task.key
    reading = read_site(job.top, key, ready=True)
    if not reading.sound:
        return Built(key, reading.problems)
    tally = Withheld()
    book = _bound(job.top, reading, job.edition, task.past, tally)
    volume = volume_of(book, job.draw, job.revision)
    parts = volume.digests() if task.known is not None else {}
    if task.known:
        _mend(task, volume, parts)
    else:
        made_from = (book.revision.id, book.revision.dirty)
        _publish(task, volume, Maker(key, job.edition, *made_from, job.versions))
    built = Built(key, reading.problems, len(volume.tree), Counter(tally.counts), parts=parts)
    manifest = read_manifest(job.output / key) if job.shelf else None
    if job.shelf and manifest:
        receipt = Receipt(task.inputs, manifest.digest, built.files, built.problems, built.withheld)
        keep(job.shelf, job.edition, key, receipt)
    return built


def _publish(task: _Task, volume: Volume, maker: Maker) -> None:
    job = task.job
    fresh = aside(job.output)
    try:
        job.publish(volume, fresh, front=job.front)
        write_manifest(fresh, maker)
        stop_if_orphaned()
        swap_in(fresh, job.output / task.key)
    finally:
        remove_tree(fresh)


def _mend(task: _Task, volume: Volume, parts: Mapping[str, bytes]) -> None:
    """Bring the pages that stand there up to date: only what differs is written."""
    assert task.known is not None
    job, pages = task.job, task.job.output / task.key
    fresh = aside(job.output)
    try:
        changed = {path for path, digest in parts.items() if task.known.get(path) != digest}
        job.publish(volume, fresh, front=job.front, only=changed)
        lay_over(fresh, pages, gone=task.known.keys() - parts.keys())
    finally:
        remove_tree(fresh)


# Whose folder it is


def _keep_off_records(top: Path, output: Path) -> None:
    here, records = output.resolve(), (top / SITES).resolve()
    if here == records or here in records.parents or records in here.parents:
        raise WorldError(f"--output {output} would lie over the records; name another folder")
    if output.exists() and not output.is_dir():
        raise WorldError(f"--output {output} is no folder; name another")


def _claim(output: Path, edition: Edition) -> None:
    """Make sure that a folder is ours to write to, and that no reader's edition lands among
    another's."""
    mark = output / MARK
    with telling(f"writing to {output}"):
        holds = mark.read_text(encoding="utf-8").strip() if mark.is_file() else ""
        if holds:  # a build that was killed may have left it empty
            if holds != edition.value:
                raise WorldError(
                    f"{output} holds the {holds} edition; give the {edition.value} edition a "
                    "folder of its own with --output"
                )
        elif any(not entry.name.startswith(".") for entry in output.iterdir()):
            raise WorldError(
                f"{output} holds files that aren’t asbuilt’s; empty it or name another --output"
            )
        else:
            mark.write_text(f"{edition.value}\n", encoding="utf-8")


def _drop_gone(output: Path, keys: Sequence[str]) -> None:
    """Remove the pages of sites whose records are gone."""
    for entry in output.iterdir():
        ours = (entry / "assets" / "asbuilt.css").is_file()
        if ours and entry.name not in (*keys, *RESERVED):
            remove_tree(entry)


def _size_of(folder: Path) -> int:
    with telling(f"reading {folder.name}"):
        return sum(path.stat().st_size for path in folder.rglob("*.yml"))


def watched(top: Path) -> tuple[Path, ...]:
    """What a server should watch besides the records: where git notes each commit."""
    above = repo.top_of(top)
    log = repo.head_log(above) if above else None
    return (log,) if log and log.is_file() else ()
