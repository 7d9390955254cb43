"""The lists of a site to take away, for a spreadsheet or another program."""

from __future__ import annotations

from collections.abc import Iterator

from asbuilt.lists.csv_file import csv_bytes
from asbuilt.lists.exporting import TABLES
from asbuilt.lists.xlsx_file import xlsx_bytes
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Asset, Page, SearchEntry
from asbuilt.pages.view import PageView, render

_DESCRIPTIONS = {
    "outlets": "one line a jack",
    "patching": "the patch schedule, one line a cord",
    "ports": "the port map, every port of every mounted thing",
    "findings": "what was found, open and cleared",
    "materials": "what is in place, counted by kind",
    "tests": "certification results",
}


def pages(book: PageContext) -> Iterator[Page | Asset]:
    path = "downloads.html"
    tables = [make(book.site) for make in TABLES.values()]
    lists = [(table.title, len(table.rows), _DESCRIPTIONS.get(table.title, "")) for table in tables]
    html = render("downloads.html", PageView(book, path), lists=lists)
    yield Page(path, "Downloads", html, nav="Downloads", search=(SearchEntry("Downloads"),))
    for table in tables:
        yield Asset(f"lists/{table.title}.csv", csv_bytes(table))
    yield Asset("lists/all.xlsx", xlsx_bytes(tables))
