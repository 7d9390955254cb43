"""The binder: a whole site on one page, to be printed and kept where the cabling is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from markupsafe import Markup

from asbuilt.changes.log import Entry
from asbuilt.escape import css
from asbuilt.facts.test_results import LinkTestStatus, check_link_results
from asbuilt.model.describe import describe_item, outlet_use
from asbuilt.model.site import PortState, PortUse, natural
from asbuilt.pages.context import PageContext
from asbuilt.pages.door_sheets import door_sheet_of
from asbuilt.pages.findings import by_severity
from asbuilt.pages.floor_plans import PATCHING_STATES, plan_sheets
from asbuilt.pages.mounted_items import far_ends
from asbuilt.pages.page import Asset, Page
from asbuilt.pages.page_drawings import PageDrawings
from asbuilt.pages.photos import PhotoFigure, photos_of
from asbuilt.pages.view import PageView, render
from asbuilt.records.enclosures import Enclosure, Item
from asbuilt.records.fields import PortId
from asbuilt.records.links import Outlet
from asbuilt.trade.cautions import CUSTOMARY_CAUTIONS, DISCLAIMER

RECENT_ENTRIES = 20  # changes printed where no binder was handed over; all of them are on the site
STYLE_PATH = "binder.css"
EDITION_NAMES = {"internal": "engineers’ edition", "client": "client’s edition"}


@dataclass(frozen=True, slots=True)
class PortMap:
    """A mounted thing with its ports; those that are merely free are counted, not listed."""

    item: Item
    description: str
    listed_ports: tuple[PortUse, ...]
    free_count: int
    far_ends: Mapping[PortId, list[PortId]]


@dataclass(frozen=True, slots=True)
class EnclosureChapter:
    enclosure: Enclosure
    drawings: Mapping[str, Markup]
    port_maps: tuple[PortMap, ...]
    photos: Mapping[str, list[PhotoFigure]]


def pages(book: PageContext, pictures: PageDrawings) -> Iterator[Page | Asset]:
    path = "binder.html"
    site = book.site
    view = PageView(book, path)
    signs, legend, plans = plan_sheets(book, view)
    since = site.info.binder_handed_over
    chapters = [
        EnclosureChapter(
            enclosure,
            pictures.elevations(key, path),
            tuple(_port_maps(book, key)),
            photos_of(book, "enclosure", key),
        )
        for key, enclosure in site.enclosures.items()
    ]
    html = render(
        "binder.html",
        view,
        style=STYLE_PATH,
        edition=EDITION_NAMES[book.edition.value],
        chapters=chapters,
        rooms=_outlets_by_room(book),
        words=outlet_use,
        signs=signs,
        legend=legend,
        states=PATCHING_STATES,
        plans=plans,
        standings=list(LinkTestStatus),
        tested=_test_states_by_enclosure(book),
        findings=sorted(site.findings.values(), key=by_severity),
        lately=book.history.entries[:RECENT_ENTRIES],
        since=since,
        changed=_entries_by_job(book.history.since(since)) if since else {},
        customary=CUSTOMARY_CAUTIONS,
        doors=[
            door_sheet_of(book, enclosure, pictures.front(key, path, "-door"))
            for key, enclosure in site.enclosures.items()
        ],
        hazards=list(dict.fromkeys(caution.hazard for caution in site.cautions.values())),
        deference=DISCLAIMER,
    )
    yield Page(path, "Binder", html, nav="Binder")
    yield Asset(STYLE_PATH, _print_style(book).encode())


def _port_maps(book: PageContext, enclosure: str) -> Iterator[PortMap]:
    for item in book.site.items_in.get(enclosure, ()):
        uses = book.site.ports_of(item)
        if uses:
            listed = tuple(use for use in uses if use.state is not PortState.FREE)
            ends = {use.id: far_ends(book.site, use) for use in listed}
            yield PortMap(item, describe_item(item), listed, len(uses) - len(listed), ends)


def _outlets_by_room(book: PageContext) -> list[tuple[str | None, list[Outlet]]]:
    found: dict[str | None, list[Outlet]] = {}
    for outlet in book.visible_outlets():
        found.setdefault(outlet.room, []).append(outlet)
    return sorted(found.items(), key=lambda pair: (pair[0] is None, natural(pair[0] or "")))


def _test_states_by_enclosure(
    book: PageContext,
) -> Mapping[str, tuple[int, Counter[LinkTestStatus]]]:
    """Of the outlets that end in each enclosure: how many, and how their results stand."""
    found: dict[str, Counter[LinkTestStatus]] = {key: Counter() for key in book.site.enclosures}
    for outlet in book.visible_outlets():
        for key in {port.enclosure for port in outlet.port}:
            found.setdefault(key, Counter())[check_link_results(book.site, outlet.key).status] += 1
    return {key: (sum(counts.values()), counts) for key, counts in found.items() if counts}


def _entries_by_job(entries: Iterable[Entry]) -> Mapping[str | None, list[Entry]]:
    """Each entry once, under the first job it names; those that name none come last."""
    found: dict[str | None, list[Entry]] = {}
    for entry in entries:
        found.setdefault(entry.job, []).append(entry)
    return dict(sorted(found.items(), key=lambda group: group[0] is None))


def _print_style(book: PageContext) -> str:
    """What stands at the head and foot of each sheet of paper; its size is the printer's."""
    site, edition = css(book.site.name), css(EDITION_NAMES[book.edition.value])
    stamp = css(f"revision {book.revision}, {book.revision.date or 'no date'}")
    return (
        '@charset "utf-8";\n'
        f"@page {{\n  @top-left {{ content: {site}; }}\n  @top-right {{ content: {edition}; }}\n"
        f"  @bottom-left {{ content: {stamp}; }}\n}}\n"
    )
