"""A book → the plain tree of its pages. A new page kind is a module and one line here."""

from __future__ import annotations

from collections.abc import Iterator

from asbuilt.pages import (
    binder,
    brief,
    changes,
    connectivity,
    door_sheets,
    downloads,
    enclosures,
    findings,
    floor_plans,
    glance,
    glossary,
    growth,
    headroom,
    jobs,
    mounted_items,
    outlets,
    photos,
    record_quality,
)
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Asset, Page, PageTree
from asbuilt.pages.page_drawings import PageDrawings, RenderDot
from asbuilt.pages.site_summary import summary_asset


def site_tree(book: PageContext, draw: RenderDot) -> PageTree:
    """Every page and file of a site, in the order of its navigation. `draw` turns DOT into SVG."""
    tree = tuple(_pages(book, PageDrawings(book, draw)))
    return (*tree, summary_asset(book, tree)) if book.internal else tree


def _pages(book: PageContext, pictures: PageDrawings) -> Iterator[Page | Asset]:
    yield from brief.pages(book)
    yield from glance.pages(book)
    yield from enclosures.pages(book, pictures)
    yield from mounted_items.pages(book, pictures)
    yield from outlets.pages(book, pictures)
    yield from floor_plans.pages(book)
    yield from connectivity.pages(book, pictures)
    yield from headroom.pages(book)
    yield from growth.pages(book, pictures)
    yield from changes.pages(book)
    yield from findings.pages(book)
    yield from jobs.pages(book, pictures)
    yield from photos.pages(book)
    yield from downloads.pages(book)
    yield from binder.pages(book, pictures)
    yield from door_sheets.pages(book, pictures)
    yield from glossary.pages(book)
    yield from record_quality.pages(book)
