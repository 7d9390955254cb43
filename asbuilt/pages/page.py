"""What pages are: plain values, ready to be written, with no knowledge of who publishes them."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SearchEntry:
    """What search finds: `title` is shown, `text` searched too; `anchor` is within the page."""

    title: str
    text: str = ""
    anchor: str = ""


@dataclass(frozen=True, slots=True)
class Page:
    """A page. Paths are relative to the site's own folder and end in `.html`; links in `html`
    are relative to the page. `nav` is its line in the navigation, None for a record's page, which
    hangs under `parent` instead."""

    path: str
    title: str
    html: str
    parent: str | None = None
    nav: str | None = None
    description: str = ""
    search: tuple[SearchEntry, ...] = ()


@dataclass(frozen=True, slots=True)
class Asset:
    """A file that isn't a page: a drawing, a list to download."""

    path: str
    data: bytes


PageTree = tuple[Page | Asset, ...]
