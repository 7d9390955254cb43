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
from dataclasses import dataclass, field
from multiprocessing import resource_tracker
from pathlib import Path
from typing import Protocol

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
    opened_asset,
    read_asset,
    read_site_files,
    remove_tree,
    site_names,
    stamps_of,
    swap_in,
    telling,
)
from asbuilt.history import files_at, read_histories, withheld_ever
from asbuilt.journal import held_still
from asbuilt.manifest import NAME as MANIFEST
from asbuilt.manifest import Maker, versions, write_manifest
from asbuilt.pages.book import Book, Revision, Sides
from asbuilt.pages.front import Summary, front_tree, summary_of
from asbuilt.pages.page import Tree
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
from asbuilt.site import Site, site_of
from asbuilt.workers import end_with_parent, stop_if_orphaned, telling_of_deaths

CACHE = ".asbuilt-cache"  # in the repository: what was told of commits, which never change
#: Names at the top of a published folder that belong to the page over all sites.
RESERVED = ("assets", "search", "index.html", MANIFEST)
MARK = ".asbuilt"  # says that a folder is ours to write to, and for whom it is
_WORDS = {Edition.INTERNAL: "engineers’ edition", Edition.CLIENT: "client’s edition"}


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
class Volume:
    """The pages of one site (or of the front page over all), and what the head of each says."""

    key: str
    name: str
    edition: str
    revision: str
    tree: Tree


class Publish(Protocol):
    """Writes a volume into an empty folder. `front` is the link from the volume's first page to
    the page over all sites, where there is one."""

    def __call__(self, volume: Volume, folder: Path, *, front: str | None) -> None: ...


@dataclass(frozen=True, slots=True)
class Built:
    """What became of one site: `summary` is None when its records have errors."""

    key: str
    problems: tuple[Problem, ...]
    summary: Summary | None = None
    withheld: Mapping[str, int] = field(default_factory=dict)
    pages: int = 0


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


def _bound(
    top: Path,
    reading: Reading,
    edition: Edition,
    history: History,
    tally: Withheld | None = None,
    withheld: WithheldKeys | None = None,
    revision: Revision | None = None,
) -> Book:
    sides = sides_of(top, reading.key, history, edition, withheld or WithheldKeys())
    return bind(reading, edition, history, tally, sides, withheld, revision)


def volume_of(book: Book, draw: Draw) -> Volume:
    tree = site_tree(book, draw)
    revision = str(book.revision)
    if book.revision.date:
        revision += f", {book.revision.date}"
    return Volume(book.site.key, book.site.name, _WORDS[book.edition], revision, tree)


def volume_at(top: Path, key: str, edition: Edition, draw: Draw) -> Volume:
    """One site's volume as its records stand, when they are sound."""
    (key,) = choose_sites(top, (key,))
    reading = read_site(top, key)
    if not reading.sound:
        raise WorldError(f"the records of {key} have errors; “asbuilt check {key}” tells which")
    hidden = {key: withheld_keys(reading.records.raw)} if edition is Edition.CLIENT else None
    history = histories_of(top, [key], hidden)[key]
    return volume_of(_bound(top, reading, edition, history), draw)


def front_of(summaries: Iterable[Summary]) -> Volume:
    return Volume("", "As-built records", _WORDS[Edition.INTERNAL], "", front_tree(summaries))


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
    keys = [reading.key for reading in readings]
    histories = histories_of(top, keys)
    books = [_bound(top, reading, Edition.INTERNAL, histories[reading.key]) for reading in readings]
    front = front_of(summary_of(book) for book in books)
    return Volumes(front, tuple(volume_of(book, draw) for book in books), problems, ())


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
    tell: Callable[[Built], None] = lambda built: None,
) -> tuple[Built, ...]:
    """Publish each site into its own folder of `output`, and over all of them a front page.

    A client's edition is of one site, and has no front page: nothing names another client.
    `engine` names the Graphviz that draws, when it isn't the one that came along.
    """
    asked = tuple(sites)
    if edition is Edition.CLIENT and len(asked) != 1:
        raise WorldError("the client’s edition is of one site: say which with --site")
    keys = choose_sites(top, asked)
    _keep_off_records(top, output)
    by = versions(engine or engine_of())
    with held_still(top), alone_in(output), telling_of_deaths():
        _claim(output, edition)
        results: dict[str, Built] = {}
        for built in _build_all(top, output, publish, draw, keys, edition, workers, by):
            results[built.key] = built
            tell(built)
        if edition is Edition.INTERNAL and keys == site_names(top):
            _drop_gone(output, keys)
            results = {key: results[key] for key in keys}  # not as they happened to be ready
            _publish_front(output, publish, top, results, by)
    return tuple(results[key] for key in keys)


class Standing:
    """A published folder that is kept up to date while somebody works on the records: each
    `update` builds the sites that have changed since the last."""

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
        self._publish = publish
        self._draw = draw
        self._sites = tuple(sites)
        self._states: dict[str, tuple[object, History]] = {}
        self._built: dict[str, Built] = {}

    @property
    def records(self) -> Path:
        return self.top / SITES

    def update(self) -> tuple[Built, ...]:
        """What was built just now."""
        keys = choose_sites(self.top, self._sites)
        histories = histories_of(self.top, keys)
        states = {key: (_files_of(self.top, key), histories[key]) for key in keys}
        changed = [key for key in keys if self._states.get(key) != states[key]]
        self._built = {key: self._built[key] for key in keys if key in self._built}
        if changed:
            for built in build(
                self.top, self.output, self._publish, sites=changed, draw=self._draw
            ):
                self._built[built.key] = built
        if changed != list(site_names(self.top)) and not self._sites:
            with alone_in(self.output):
                _drop_gone(self.output, keys)
                by = versions(engine_of())
                _publish_front(self.output, self._publish, self.top, self._built, by)
        self._states = states
        return tuple(self._built[key] for key in changed)

    def problems(self) -> tuple[Problem, ...]:
        return tuple(problem for built in self._built.values() for problem in built.problems)


def _files_of(top: Path, key: str) -> object:
    """What tells one state of a site's files from another."""
    found = read_site_files(top, key)
    digest = hashlib.sha256(repr(sorted(stamps_of(found.assets).items())).encode())
    for path in sorted(found.texts):
        digest.update(f"{path}\0{len(found.texts[path])}\0".encode() + found.texts[path])
    return digest.digest(), found.problems


def _build_all(
    top: Path,
    output: Path,
    publish: Publish,
    draw: Draw,
    keys: Sequence[str],
    edition: Edition,
    workers: int | None,
    by: Mapping[str, str],
) -> Iterator[Built]:
    """One after another, or several sites side by side in processes of their own."""
    front = "../index.html" if edition is Edition.INTERNAL else None
    histories = histories_of(top, keys)
    # What the client isn't told of can alter their pages all the same.
    revisions = {key: revision_of(history) for key, history in histories.items()}
    withheld: Mapping[str, WithheldKeys] = {}
    if edition is Edition.CLIENT:
        withheld = withheld_from(top, (read_site(top, key) for key in keys))
        histories = histories_of(top, keys, withheld)
    tasks = [
        _Task(
            top, output, key, edition, front, publish, draw, by,
            histories[key], revisions[key], withheld.get(key),
        )
        for key in keys
    ]  # fmt: skip
    workers = min(workers or os.cpu_count() or 1, len(tasks))
    if workers < 2:
        yield from map(_build_one, tasks)
        return
    # Sites of many files first: the last to finish should be a small one.
    tasks.sort(key=lambda task: -_size_of(top / SITES / task.key))
    methods = multiprocessing.get_all_start_methods()
    context = multiprocessing.get_context("forkserver" if "forkserver" in methods else "spawn")
    if "forkserver" in methods:
        # Loaded once for all: what writes spreadsheets, and the publisher's module, which may be
        # wrapped in a partial.
        publisher = getattr(publish, "func", publish).__module__
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
    top: Path
    output: Path
    key: str
    edition: Edition
    front: str | None
    publish: Publish
    draw: Draw
    versions: Mapping[str, str]
    history: History
    revision: Revision
    withheld: WithheldKeys | None = None


def _build_one(task: _Task) -> Built:
    """Read, check, bind and publish one site; its old pages stay until the new ones are whole."""
    reading = read_site(task.top, task.key, ready=True)
    if not reading.sound:
        return Built(task.key, reading.problems)
    tally = Withheld()
    book = _bound(
        task.top, reading, task.edition, task.history, tally, task.withheld, task.revision
    )
    volume = volume_of(book, task.draw)
    fresh = aside(task.output)
    try:
        task.publish(volume, fresh, front=task.front)
        made_from = (book.revision.id, book.revision.dirty)
        write_manifest(fresh, Maker(task.key, task.edition, *made_from, task.versions))
        stop_if_orphaned()
        swap_in(fresh, task.output / task.key)
    finally:
        remove_tree(fresh)
    return Built(
        task.key, reading.problems, summary_of(book), Counter(tally.counts), len(volume.tree)
    )


def _publish_front(
    output: Path,
    publish: Publish,
    top: Path,
    results: Mapping[str, Built],
    by: Mapping[str, str],
) -> None:
    """The page over all sites; of one with errors it says so, if it has older pages to link to."""
    summaries: list[Summary] = []
    for built in results.values():
        if built.summary is not None:
            summaries.append(built.summary)
        elif (output / built.key / "index.html").is_file():
            summaries.append(_summary_of_broken(read_site(top, built.key)))
    fresh = aside(output)
    try:
        publish(front_of(summaries), fresh, front=None)
        over = tuple(summary.key for summary in summaries)
        write_manifest(fresh, Maker("", Edition.INTERNAL, versions=by, over=over))
        for part in sorted(fresh.iterdir(), key=lambda part: part.name == "index.html"):
            swap_in(part, output / part.name)  # the page last, when all it needs is there
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
