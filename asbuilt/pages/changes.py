"""The change log of a site."""

from __future__ import annotations

from collections.abc import Iterator

from asbuilt.pages.book import Book
from asbuilt.pages.page import Page, SearchEntry
from asbuilt.pages.view import View, render


def pages(book: Book) -> Iterator[Page]:
    path = "changes.html"
    html = render("changes.html", View(book, path))
    yield Page(path, "Changes", html, nav="Changes", search=(SearchEntry("Changes"),))
