"""The search of one site: entries for the theme’s search, which works without a server."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from mkdocs.config.defaults import MkDocsConfig

from asbuilt import escape
from asbuilt.pages.page import Page, SearchEntry

SEARCH = "material/search"
#: Labels are looked for whole and in parts: 1A-A01, A01, 1A/A/01, a room's number, a name.
SEPARATOR = r"[\s\-/_.,:;|()\[\]“”\"']+"


def parses_pages(config: MkDocsConfig) -> bool:
    """Whether the search reads the pages themselves, so that it has to be shown each."""
    search = config.plugins.get(SEARCH)
    return search is not None and entries_in(search) is None


def entries_in(search: Any) -> list[dict[str, Any]] | None:
    """The list material's search writes out; None when its insides aren't what we know, and
    then it parses the pages itself."""
    entries = getattr(getattr(search, "search_index", None), "entries", None)
    return entries if isinstance(entries, list) else None


def entries_of(folder: str, page: Page) -> Iterator[dict[str, Any]]:
    entries: Sequence[SearchEntry] = page.search
    if not any(not entry.anchor for entry in entries):
        entries = (SearchEntry(page.title), *entries)
    for entry in sorted(entries, key=lambda entry: bool(entry.anchor)):
        anchor = f"#{entry.anchor}" if entry.anchor else ""
        yield {
            "location": f"{folder}{page.path}{anchor}",
            "title": escape.html(entry.title),  # what search finds is put into the page as HTML
            "text": escape.html(entry.text),
        }
