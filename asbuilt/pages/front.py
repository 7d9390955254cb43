"""The front page over all sites of a records repository."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass

from asbuilt.pages.book import Book
from asbuilt.pages.page import Page, SearchEntry, Tree
from asbuilt.pages.view import environment


@dataclass(frozen=True, slots=True)
class Summary:
    """What the front page says of a site; `errors` of one whose records can't be built."""

    key: str
    name: str
    trade: str = ""
    outlets: int = 0
    enclosures: int = 0
    units_free: int = 0
    units: int = 0
    panel_ports_free: int = 0
    panel_ports: int = 0
    open_findings: int = 0
    open_jobs: int = 0
    last_change: dt.date | None = None
    errors: int = 0


def summary_of(book: Book) -> Summary:
    room = book.headroom
    entries = book.history.entries
    return Summary(
        key=book.site.key,
        name=book.site.name,
        trade=book.site.info.trade or "",
        outlets=len(book.site.outlets),
        enclosures=len(book.site.enclosures),
        units_free=room.units.free,
        units=room.units.total,
        panel_ports_free=room.panel_ports.free,
        panel_ports=room.panel_ports.total,
        open_findings=len(book.open_findings),
        open_jobs=len(book.open_jobs),
        last_change=entries[0].when.date() if entries else None,
    )


def front_tree(summaries: Iterable[Summary]) -> Tree:
    sites = sorted(summaries, key=lambda s: s.name.casefold())
    html = environment().get_template("front.html").render(sites=sites)
    entries = tuple(SearchEntry(site.name, f"{site.key} {site.trade}") for site in sites)
    return (Page("index.html", "Sites", html, nav="Sites", search=entries),)
