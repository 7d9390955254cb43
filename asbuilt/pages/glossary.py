"""The trade's terms that stand on these pages, in plain words."""

from __future__ import annotations

from collections.abc import Iterator

from asbuilt.pages import links
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Page, SearchEntry
from asbuilt.pages.view import PageView, render
from asbuilt.trade.glossary import TERMS


def pages(book: PageContext) -> Iterator[Page]:
    html = render("glossary.html", PageView(book, links.GLOSSARY_PATH), terms=TERMS)
    entries = (
        SearchEntry(", ".join((term.name, *term.synonyms)), term.meaning, term.anchor)
        for term in TERMS
    )
    search = (SearchEntry("Glossary", "glossary of the trade's terms"), *entries)
    yield Page(links.GLOSSARY_PATH, "Glossary", html, nav="Glossary", search=search)
