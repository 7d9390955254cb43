"""For engineers: what the checks remark on, and what is not recorded yet, thing by thing."""

from __future__ import annotations

from collections.abc import Iterator

from asbuilt.facts.test_results import links_without_valid_test
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Page, SearchEntry
from asbuilt.pages.view import PageView, render


def pages(book: PageContext) -> Iterator[Page]:
    if not book.internal:
        return
    path = "record-quality.html"
    html = render(
        "record_quality.html", PageView(book, path), untested=links_without_valid_test(book.site)
    )
    title = "Record quality"
    yield Page(path, title, html, nav=title, search=(SearchEntry(title),))
