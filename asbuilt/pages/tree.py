"""A book → the plain tree of its pages. A new page kind is a module and one line here."""

from __future__ import annotations

from collections.abc import Iterator

from asbuilt.pages import (
    binder,
    brief,
    changes,
    connectivity,
    door,
    downloads,
    enclosures,
    findings,
    glance,
    glossary,
    growth,
    jobs,
    mounted,
    outlets,
    photos,
    plans,
    records_state,
    room_left,
)
from asbuilt.pages.book import Book
from asbuilt.pages.overview import overview
from asbuilt.pages.page import Asset, Page, Tree
from asbuilt.pages.pictures import Draw, Pictures


def site_tree(book: Book, draw: Draw) -> Tree:
    """Every page and file of a site, in the order of its navigation. `draw` turns DOT into SVG."""
    tree = tuple(_pages(book, Pictures(book, draw)))
    return (*tree, overview(book, tree)) if book.internal else tree


def _pages(book: Book, pictures: Pictures) -> Iterator[Page | Asset]:
    yield from brief.pages(book)
    yield from glance.pages(book)
    yield from enclosures.pages(book, pictures)
    yield from mounted.pages(book, pictures)
    yield from outlets.pages(book, pictures)
    yield from plans.pages(book)
    yield from connectivity.pages(book, pictures)
    yield from room_left.pages(book)
    yield from growth.pages(book, pictures)
    yield from changes.pages(book)
    yield from findings.pages(book)
    yield from jobs.pages(book, pictures)
    yield from photos.pages(book)
    yield from downloads.pages(book)
    yield from binder.pages(book, pictures)
    yield from door.pages(book, pictures)
    yield from glossary.pages(book)
    yield from records_state.pages(book)
