"""The trade's terms that stand on these pages, in plain words."""

from __future__ import annotations

from collections.abc import Iterator

from asbuilt.pages import links
from asbuilt.pages.book import Book
from asbuilt.pages.page import Page, SearchEntry
from asbuilt.pages.view import View, render
from asbuilt.trade.terms import TERMS


def pages(book: Book) -> Iterator[Page]:
    html = render("glossary.html", View(book, links.GLOSSARY), terms=TERMS)
    entries = (
        SearchEntry(", ".join((term.name, *term.also)), term.meaning, term.anchor) for term in TERMS
    )
    search = (SearchEntry("Words explained", "glossary of the trade's terms"), *entries)
    yield Page(links.GLOSSARY, "Words explained", html, nav="Words explained", search=search)
