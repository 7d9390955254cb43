"""Headroom: how much room is left, enclosure by enclosure, and of what."""

from __future__ import annotations

from collections.abc import Iterator

from asbuilt.pages.book import Book
from asbuilt.pages.page import Page, SearchEntry
from asbuilt.pages.view import View, render
from asbuilt.site import PortState


def pages(book: Book) -> Iterator[Page]:
    path = "headroom.html"
    html = render("room_left.html", View(book, path), states=list(PortState))
    yield Page(path, "Headroom", html, nav="Headroom", search=(SearchEntry("Headroom"),))
