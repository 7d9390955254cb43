"""Records, their history and an edition → the book that pages are made from, and its volume."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from asbuilt.changes.job_scope import scope_of
from asbuilt.changes.log import History, Revision
from asbuilt.facts.photos import photos_on_record
from asbuilt.history.at_revision import files_at
from asbuilt.io.files import choose_sites
from asbuilt.io.transaction import locked_for_reading
from asbuilt.model.paths import cabling_graph
from asbuilt.model.site import Site, site_of
from asbuilt.pages.context import BeforeAfter, PageContext
from asbuilt.pages.page_drawings import RenderDot
from asbuilt.pages.tree import site_tree
from asbuilt.pages.view import environment
from asbuilt.problem import Level, WorldError
from asbuilt.publish.fleet import EDITION
from asbuilt.publish.histories import (
    SiteHistory,
    job_remarks,
    place_in_git,
    revision_of,
    site_histories,
)
from asbuilt.publish.load import LoadedSite, load_site
from asbuilt.publish.site_output import SiteOutput
from asbuilt.publish.templates import cache_templates
from asbuilt.records.edition import (
    Edition,
    Withheld,
    WithheldKeys,
    for_client,
    in_edition,
    withheld_keys,
)
from asbuilt.records.reading import read_records, take_revision_apart

_WORDS = {Edition.INTERNAL: EDITION, Edition.CLIENT: "client’s edition"}


def assemble(
    reading: LoadedSite,
    edition: Edition,
    history: History,
    tally: Withheld | None = None,
    sides: Mapping[str, BeforeAfter] | None = None,
    withheld: WithheldKeys | None = None,
    revision: Revision | None = None,
) -> PageContext:
    """A sound site's book in an edition. The edition is applied to the records, before anything
    is derived from them: what a page can show, a client may read. `withheld` is what no revision
    tells; `revision` that of the records, where the history doesn't tell of all that altered
    them."""
    assert reading.site is not None and reading.net is not None
    revision = revision or revision_of(history)
    if edition is Edition.INTERNAL:
        remarks = tuple(p for p in reading.problems if p.level is Level.REMARK)
        remarks += tuple(job_remarks(reading.site, history))
        return PageContext(
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
    shown = (key for key, floor in site.floors.items() if floor.plan and key in reading.plans)
    plans = {key: reading.plans[key] for key in shown}
    photos = {key: reading.photos[key] for key in photos_on_record(site) if key in reading.photos}
    return PageContext(
        site, cabling_graph(site), edition, revision, history, (), sides or {}, plans, photos
    )


def assemble_site(
    top: Path,
    reading: LoadedSite,
    edition: Edition,
    past: SiteHistory,
    tally: Withheld | None = None,
) -> PageContext:
    history, hidden = past.history.load(), past.withheld
    sides = before_and_after_jobs(top, reading.key, history, edition, hidden or WithheldKeys())
    return assemble(reading, edition, history, tally, sides, hidden, past.revision)


def output_of(book: PageContext, draw: RenderDot, revision: str = "") -> SiteOutput:
    """A book's pages; the head of each names the revision, or what is given in its place."""
    cache_templates(environment())
    tree = site_tree(book, draw)
    if not revision:
        date = f", {book.revision.date}" if book.revision.date else ""
        revision = f"{book.revision}{date}"
    return SiteOutput(book.site.key, book.site.name, _WORDS[book.edition], revision, tree)


def output_at(top: Path, key: str, edition: Edition, draw: RenderDot) -> SiteOutput:
    """One site's volume as its records stand, when they are sound."""
    (key,) = choose_sites(top, (key,))
    with locked_for_reading(top):
        reading = load_site(top, key, ready=True)
        if not reading.sound:
            raise WorldError(f"the records of {key} have errors; “asbuilt check {key}” tells which")
        past = site_histories(top, [key], edition, lambda key: reading)[key]
        return output_of(assemble_site(top, reading, edition, past), draw)


def before_and_after_jobs(
    top: Path, key: str, history: History, edition: Edition, hidden: WithheldKeys
) -> dict[str, BeforeAfter]:
    """The site before and after each job that changed how an enclosure looks; `hidden` is what the
    client may not know of it."""
    above, _ = place_in_git(top)
    jobs = {job for entry in history.entries for job in entry.jobs}
    found: dict[str, BeforeAfter] = {}
    for job in sorted(jobs):
        entries = [entry for entry in history.entries if job in entry.jobs and entry.commit]
        scope = scope_of(entries)
        if above is None or scope is None or not scope.enclosures:
            continue
        before = _site_at(above, key, f"{scope.first}^", entries[-1].folder, edition, hidden)
        after = _site_at(above, key, scope.last, entries[0].folder, edition, hidden)
        found[job] = BeforeAfter(before, after)
    return found


def _site_at(
    above: Path, key: str, revision: str, folder: str, edition: Edition, hidden: WithheldKeys
) -> Site | None:
    """The site as it stood at a revision, as far as it can be read today."""
    try:
        files = files_at(above, folder, revision)
    except WorldError:
        return None  # before the first commit, or in what a shallow copy left behind
    raws, _ = take_revision_apart(files, folder)
    if edition is Edition.CLIENT:
        raws = for_client(raws, hidden | withheld_keys(raws))
    return site_of(read_records(key, raws, []))
