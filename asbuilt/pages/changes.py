"""The change log of a site: a page by date, by job and by person, and a feed to subscribe to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from asbuilt.changes.log import Entry
from asbuilt.pages.book import Book
from asbuilt.pages.feed import atom
from asbuilt.pages.page import Asset, Page, SearchEntry
from asbuilt.pages.view import View, render

FEED = "changes.atom"


def pages(book: Book) -> Iterator[Page | Asset]:
    path = "changes.html"
    entries = book.history.entries
    html = render(
        "changes.html",
        View(book, path),
        by_job=_grouped((job, entry) for entry in entries for job in entry.jobs),
        by_person=_grouped((entry.author, entry) for entry in entries if entry.author),
        by_year=_grouped((f"{entry.when.year}", entry) for entry in entries),
        feed=FEED,
    )
    yield Page(path, "Changes", html, nav="Changes", search=(SearchEntry("Changes"),))
    yield Asset(FEED, atom(book.site.key, book.site.name, entries).encode())


def _grouped(pairs: Iterable[tuple[str, Entry]]) -> Mapping[str, list[Entry]]:
    groups: dict[str, list[Entry]] = {}
    for name, entry in pairs:
        groups.setdefault(name, []).append(entry)
    return groups
