"""The change log of a site: a page by date, by job and by person, and a feed to subscribe to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from asbuilt.changes.log import Entry
from asbuilt.pages.context import PageContext
from asbuilt.pages.feed import atom_feed
from asbuilt.pages.page import Asset, Page, SearchEntry
from asbuilt.pages.view import PageView, render

FEED_PATH = "changes.atom"


def pages(book: PageContext) -> Iterator[Page | Asset]:
    path = "changes.html"
    entries = book.history.entries
    html = render(
        "changes.html",
        PageView(book, path),
        by_job=_grouped((job, entry) for entry in entries for job in entry.jobs),
        by_person=_grouped((entry.author, entry) for entry in entries if entry.author),
        by_year=_grouped((f"{entry.when.year}", entry) for entry in entries),
        feed=FEED_PATH,
    )
    yield Page(path, "Changes", html, nav="Changes", search=(SearchEntry("Changes"),))
    yield Asset(FEED_PATH, atom_feed(book.site.key, book.site.name, entries).encode())


def _grouped(pairs: Iterable[tuple[str, Entry]]) -> Mapping[str, list[Entry]]:
    groups: dict[str, list[Entry]] = {}
    for name, entry in pairs:
        groups.setdefault(name, []).append(entry)
    return groups
