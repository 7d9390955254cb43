"""The first page of a site: what one needs to know before one calls."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from asbuilt.changes.log import Entry
from asbuilt.facts.last_visit import last_visit
from asbuilt.model.paths import Node, outlets_through
from asbuilt.model.site import Site
from asbuilt.pages import links
from asbuilt.pages.context import PageContext
from asbuilt.pages.floor_plans import floor_name, floors_in_order
from asbuilt.pages.page import Page, SearchEntry
from asbuilt.pages.view import PageView, render
from asbuilt.records.people import Contact
from asbuilt.trade.cautions import CUSTOMARY_CAUTIONS, DISCLAIMER

RECENT_LINES = 6  # sentences of change shown; the rest is one tap away


def pages(book: PageContext) -> Iterator[Page]:
    path = "index.html"
    site = book.site
    served = {
        key: len(outlets_through(book.outlets_through, [Node("circuit", key)]))
        for key in site.circuits
    }
    visit = last_visit(site)
    since = book.history.since(visit.date) if visit else book.history.entries
    lately = newest_lines(since or book.history.entries[:1], RECENT_LINES)
    html = render(
        "brief.html",
        PageView(book, path),
        customary=CUSTOMARY_CAUTIONS,
        hazards=list(dict.fromkeys(caution.hazard for caution in site.cautions.values())),
        deference=DISCLAIMER,
        call=first_contact(site),
        visit=visit,
        since=since,
        lately=lately,
        more=_count_lines(since) - _count_lines(lately),
        served=served,
        floors=floors_in_order(site),
        floor_name=floor_name,
    )
    people = tuple(
        SearchEntry(contact.name, f"{contact.role or ''} {contact.phone or ''}", "people")
        for contact in site.contacts.values()
    )
    circuits = tuple(
        SearchEntry(
            circuit.carrier or key,
            f"circuit {circuit.reference or ''} {circuit.service or ''}",
            links.circuit(key).partition("#")[2],
        )
        for key, circuit in site.circuits.items()
    )
    title = SearchEntry(site.name, f"{site.info.address or ''} {site.info.business or ''}")
    yield Page(
        path,
        site.name,
        html,
        nav="Site brief",
        description=f"As-built records of {site.name}",
        search=(title, *people, *circuits),
    )


def first_contact(site: Site) -> Contact | None:
    """The first contact written down who has a number; the client's own before others."""
    reached = [contact for contact in site.contacts.values() if contact.phone]
    return min(reached, key=lambda one: (one.party != "client", one.place), default=None)


def newest_lines(entries: Sequence[Entry], most: int) -> list[Entry]:
    """The newest of these entries, cut where they have told so many sentences."""
    shown: list[Entry] = []
    for entry in entries:
        if most <= 0:
            break
        shown.append(replace(entry, lines=entry.lines[:most]))
        most -= max(1, len(entry.lines))
    return shown


def _count_lines(entries: Iterable[Entry]) -> int:
    return sum(len(entry.lines) for entry in entries)
