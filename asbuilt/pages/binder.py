"""The binder: a whole site on one page, to be printed and kept where the cabling is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from markupsafe import Markup

from asbuilt.changes.log import Entry
from asbuilt.escape import css
from asbuilt.facts.tests_held import Standing, held_of
from asbuilt.model.site import PortState, PortUse, natural
from asbuilt.pages.book import Book
from asbuilt.pages.door import sheet_of
from asbuilt.pages.findings import in_order
from asbuilt.pages.mounted import other_ends
from asbuilt.pages.page import Asset, Page
from asbuilt.pages.photos import Shown, photos_of
from asbuilt.pages.pictures import Pictures
from asbuilt.pages.plans import STATES, sheets
from asbuilt.pages.view import View, describe, outlet_words, render
from asbuilt.records.enclosures import Enclosure, Item
from asbuilt.records.fields import PortId
from asbuilt.records.links import Outlet
from asbuilt.trade.cautions import CUSTOMARY, DEFERENCE

LATELY = 20  # changes printed where no binder was handed over; all of them are on the site
STYLE = "binder.css"
EDITIONS = {"internal": "engineers’ edition", "client": "client’s edition"}


@dataclass(frozen=True, slots=True)
class PortMap:
    """A mounted thing with its ports; those that are merely free are counted, not listed."""

    item: Item
    words: str
    listed: tuple[PortUse, ...]
    free: int
    ends: Mapping[PortId, list[PortId]]


@dataclass(frozen=True, slots=True)
class Chapter:
    enclosure: Enclosure
    drawings: Mapping[str, Markup]
    maps: tuple[PortMap, ...]
    photos: Mapping[str, list[Shown]]


def pages(book: Book, pictures: Pictures) -> Iterator[Page | Asset]:
    path = "binder.html"
    site = book.site
    view = View(book, path)
    signs, legend, plans = sheets(book, view)
    since = site.info.binder_handed_over
    chapters = [
        Chapter(
            enclosure,
            pictures.elevations(key, path),
            tuple(_maps(book, key)),
            photos_of(book, "enclosure", key),
        )
        for key, enclosure in site.enclosures.items()
    ]
    html = render(
        "binder.html",
        view,
        style=STYLE,
        edition=EDITIONS[book.edition.value],
        chapters=chapters,
        rooms=_by_room(book),
        words=outlet_words,
        signs=signs,
        legend=legend,
        states=STATES,
        plans=plans,
        standings=list(Standing),
        tested=_tested(book),
        findings=sorted(site.findings.values(), key=in_order),
        lately=book.history.entries[:LATELY],
        since=since,
        changed=_by_job(book.history.since(since)) if since else {},
        customary=CUSTOMARY,
        doors=[
            sheet_of(book, enclosure, pictures.door(key, path, "-door"))
            for key, enclosure in site.enclosures.items()
        ],
        hazards=list(dict.fromkeys(caution.hazard for caution in site.cautions.values())),
        deference=DEFERENCE,
    )
    yield Page(path, "Binder", html, nav="Binder")
    yield Asset(STYLE, _running_titles(book).encode())


def _maps(book: Book, enclosure: str) -> Iterator[PortMap]:
    for item in book.site.items_in.get(enclosure, ()):
        uses = book.site.ports_of(item)
        if uses:
            listed = tuple(use for use in uses if use.state is not PortState.FREE)
            ends = {use.id: other_ends(book.site, use) for use in listed}
            yield PortMap(item, describe(item), listed, len(uses) - len(listed), ends)


def _by_room(book: Book) -> list[tuple[str | None, list[Outlet]]]:
    found: dict[str | None, list[Outlet]] = {}
    for outlet in book.outlets_on_view():
        found.setdefault(outlet.room, []).append(outlet)
    return sorted(found.items(), key=lambda pair: (pair[0] is None, natural(pair[0] or "")))


def _tested(book: Book) -> Mapping[str, tuple[int, Counter[Standing]]]:
    """Of the outlets that end in each enclosure: how many, and how their results stand."""
    found: dict[str, Counter[Standing]] = {key: Counter() for key in book.site.enclosures}
    for outlet in book.outlets_on_view():
        for key in {port.enclosure for port in outlet.port}:
            found.setdefault(key, Counter())[held_of(book.site, outlet.key).standing] += 1
    return {key: (sum(counts.values()), counts) for key, counts in found.items() if counts}


def _by_job(entries: Iterable[Entry]) -> Mapping[str | None, list[Entry]]:
    """Each entry once, under the first job it names; those that name none come last."""
    found: dict[str | None, list[Entry]] = {}
    for entry in entries:
        found.setdefault(entry.job, []).append(entry)
    return dict(sorted(found.items(), key=lambda group: group[0] is None))


def _running_titles(book: Book) -> str:
    """What stands at the head and foot of each sheet of paper; its size is the printer's."""
    site, edition = css(book.site.name), css(EDITIONS[book.edition.value])
    stamp = css(f"revision {book.revision}, {book.revision.date or 'no date'}")
    return (
        '@charset "utf-8";\n'
        f"@page {{\n  @top-left {{ content: {site}; }}\n  @top-right {{ content: {edition}; }}\n"
        f"  @bottom-left {{ content: {stamp}; }}\n}}\n"
    )
