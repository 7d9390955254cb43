"""A site's folder → its records and pictures, and all that is wrong with them.

A build has the photos made ready and the plans drawn that are PDFs; a check sees their heads only.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import partial
from importlib import metadata
from pathlib import Path

from asbuilt.checks.all_checks import check_site
from asbuilt.drawings import pdf_page
from asbuilt.drawings.photo import PublishedPhoto, check_photo, prepare_photo
from asbuilt.drawings.picture import Picture, UnusablePictureError, picture_of
from asbuilt.facts.photos import photos_on_record
from asbuilt.io import cache
from asbuilt.io.cache import Cache
from asbuilt.io.files import (
    SITES,
    choose_sites,
    opened_asset,
    read_asset,
    read_site_files,
    stamps_of,
)
from asbuilt.model.paths import CablingGraph, cabling_graph
from asbuilt.model.site import Site, site_of
from asbuilt.problem import Level, Place, Problem, has_errors, quoted, suggestion
from asbuilt.publish.manifest import RESERVED
from asbuilt.records.photos import PHOTO
from asbuilt.records.reading import Records, read_records, take_folder_apart


@dataclass(frozen=True, slots=True)
class LoadedSite:
    """A site as its folder stands; `site` is None when there is nothing to build from."""

    key: str
    records: Records
    problems: tuple[Problem, ...]
    site: Site | None = None
    net: CablingGraph | None = None
    plans: Mapping[str, Picture] = field(default_factory=dict)  # by floor; PDFs where drawn
    photos: Mapping[str, PublishedPhoto] = field(
        default_factory=dict
    )  # by key; where they were made ready

    @property
    def sound(self) -> bool:
        return self.site is not None and not has_errors(self.problems)


def load_site(top: Path, key: str, *, ready: bool = False) -> LoadedSite:
    return SiteLoader(ready=ready).read(top, key)


def load_texts(key: str, texts: Mapping[str, bytes]) -> LoadedSite:
    """A site that is only texts, as if they lay in its folder without a picture beside them."""
    return _load(key, texts, (), {}, lambda path: prepare_photo(read_asset(path)), _drawn_alone)


class SiteLoader:
    """Reads sites, and keeps what it read as long as a site's files stay the same. `ready`: with
    photos and plans made ready to be published."""

    def __init__(self, *, ready: bool = False) -> None:
        self._known: dict[str, tuple[object, LoadedSite]] = {}
        self._shots: dict[Path, tuple[object, PublishedPhoto]] = {}
        self._ready = ready

    def read(self, top: Path, key: str) -> LoadedSite:
        found = read_site_files(top, key)
        state = (found.texts, found.problems, stamps_of(found.assets))
        known = self._known.get(key)
        if known and known[0] == state:
            return known[1]
        see, draw = (self._shot, partial(_drawn_once, top)) if self._ready else (_look, _looked_at)
        reading = _load(key, found.texts, found.problems, found.assets, see, draw)
        self._known[key] = (state, reading)
        return reading

    def _shot(self, path: Path) -> PublishedPhoto:
        """A photo made ready once, not each time a line of the records is edited."""
        state = stamps_of({"": path})
        known = self._shots.get(path)
        if known is None or known[0] != state:
            known = self._shots[path] = (state, prepare_photo(read_asset(path)))
        return known[1]


def _look(path: Path) -> None:
    with opened_asset(path) as photo:
        check_photo(photo)


#: A page of a PDF as a picture, where it is drawn; what it belongs to comes first.
DrawPage = Callable[[str, bytes, int], Picture | None]


def _looked_at(plan: str, data: bytes, number: int) -> None:
    pdf_page.check_pdf_page(data, number)


def _drawn_alone(plan: str, data: bytes, number: int) -> Picture:
    return pdf_page.render_pdf_page(data, number)


def _drawn_once(top: Path, plan: str, data: bytes, number: int) -> Picture:
    """A page that is drawn when it or what draws it has changed, not at each build."""
    name = f"plan-{hashlib.sha256(plan.encode()).hexdigest()[:24]}"
    versions = [metadata.version(library) for library in ("pillow", "pypdfium2")]
    inputs = (hashlib.sha256(data).hexdigest(), number, versions)
    kept = Cache(top / cache.FOLDER)
    return kept.get(
        name, inputs, lambda: pdf_page.render_pdf_page(data, number), _to_bytes, _from_bytes
    )


def _to_bytes(plan: Picture) -> bytes:
    return json.dumps([plan.suffix, plan.width, plan.height]).encode() + b"\n" + plan.data


def _from_bytes(data: bytes) -> Picture:
    head, _, pixels = data.partition(b"\n")
    suffix, width, height = json.loads(head)
    return Picture(suffix, pixels, width, height)


def _load(
    key: str,
    texts: Mapping[str, bytes],
    unread: Iterable[Problem],
    assets: Mapping[str, Path],
    see: Callable[[Path], PublishedPhoto | None],
    draw: DrawPage,
) -> LoadedSite:
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
        return LoadedSite(key, records, records.problems)
    net = cabling_graph(site)
    found = check_site(site, net)
    if has_errors(records.problems):
        # What couldn't be read is missing from the site: only tell what is wrong all the same.
        found = [problem for problem in found if problem.level is Level.ERROR]
    plans, unfit = _plans(site, assets, draw)
    photos, unfit_photos = _photos(site, assets, see)
    wrong = tuple(sorted({*records.problems, *found, *unfit, *unfit_photos}))
    return LoadedSite(key, records, wrong, site, net, plans, photos)


def _plans(
    site: Site, assets: Mapping[str, Path], draw: DrawPage
) -> tuple[dict[str, Picture], list[Problem]]:
    """The plans of floors, as far as PDFs are drawn; of the rest, why not."""
    plans: dict[str, Picture] = {}
    unfit: list[Problem] = []
    known: dict[tuple[str, int], Picture | UnusablePictureError | None] = {}
    for floor in site.floors.values():
        name = floor.plan
        if name is None:
            continue
        if name not in assets:
            message = f"there is no file {quoted(name)} in the site's folder"
            hint = suggestion(name, assets, "put the plan under plans/ and name it so")
            unfit.append(floor.remark("plan", "plan-missing", message, hint))
            continue
        page = (name, floor.plan_page)
        if page not in known:
            known[page] = _plan(f"{site.key}/{name}/{floor.plan_page}", assets[name], page[1], draw)
        plan = known[page]
        if isinstance(plan, UnusablePictureError):
            message = f"{quoted(name)} can't be shown: {plan}"
            hint = "a plan is an SVG, PNG, JPEG or PDF"
            unfit.append(floor.remark("plan", "plan-unfit", message, hint))
        elif plan is not None:
            plans[floor.key] = plan
    return plans, unfit


def _plan(
    name: str, path: Path, page: int, draw: DrawPage
) -> Picture | UnusablePictureError | None:
    data = read_asset(path)
    try:
        if data.startswith(pdf_page.PDF_SIGNATURE):
            return draw(name, data, page)
        if page > 1:
            raise UnusablePictureError(f"it is no PDF, and has no page {page}")
        return picture_of(data)
    except UnusablePictureError as error:
        return error


def _photos(
    site: Site, assets: Mapping[str, Path], see: Callable[[Path], PublishedPhoto | None]
) -> tuple[dict[str, PublishedPhoto], list[Problem]]:
    """The photos there are to show, by their keys, as far as `see` makes them ready; of the rest,
    why not."""
    photos: dict[str, PublishedPhoto] = {}
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
            except UnusablePictureError as error:
                message = f"{quoted(name)} can't be shown: {error}"
                hint = "a photo is a JPEG or PNG"
                unfit.append(photo.remark(at, "photo-unfit", message, hint))
            else:
                if shot is not None:
                    photos[key] = shot
    return photos, unfit


def check(top: Path, sites: Iterable[str] = ()) -> list[Problem]:
    """All that is wrong with these sites, or with all of them."""
    return [problem for key in choose_sites(top, sites) for problem in load_site(top, key).problems]
