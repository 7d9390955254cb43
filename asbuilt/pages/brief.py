"""The first page of a site: what one needs to know before one calls."""

from __future__ import annotations

from collections.abc import Iterator

from asbuilt.pages import links
from asbuilt.pages.book import Book
from asbuilt.pages.page import Page, SearchEntry
from asbuilt.pages.plans import floor_name, floors_in_order
from asbuilt.pages.view import View, render
from asbuilt.paths import Node, hangs_on
from asbuilt.trade.cautions import CUSTOMARY, DEFERENCE

LATELY = 5  # changes shown; the rest is one tap away


def pages(book: Book) -> Iterator[Page]:
    path = "index.html"
    site = book.site
    served = {key: len(hangs_on(book.through, [Node("circuit", key)])) for key in site.circuits}
    html = render(
        "brief.html",
        View(book, path),
        customary=CUSTOMARY,
        hazards=list(dict.fromkeys(caution.hazard for caution in site.cautions.values())),
        deference=DEFERENCE,
        lately=book.history.entries[:LATELY],
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
    title = SearchEntry(site.name, f"{site.info.address or ''} {site.info.trade or ''}")
    yield Page(
        path,
        site.name,
        html,
        nav="Before you call",
        description=f"As-built records of {site.name}",
        search=(title, *people, *circuits),
    )
