"""Photos on pages: which belong to a thing, as found beside as left, and the files they lie in."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from asbuilt.drawings.photo import Shot
from asbuilt.pages import links
from asbuilt.pages.book import Book
from asbuilt.pages.page import Asset
from asbuilt.records.photos import SHOWS, Photo
from asbuilt.site import natural


@dataclass(frozen=True, slots=True)
class Shown:
    """A photo as a page shows it."""

    photo: Photo
    shot: Shot
    alt: str


def pages(book: Book) -> Iterator[Asset]:
    for key in sorted(book.photos, key=natural):
        yield Asset(links.photo(key), book.photos[key].data)
        yield Asset(links.small_photo(key), book.photos[key].small)


def photos_of(book: Book, kind: str, key: str) -> dict[str, list[Shown]]:
    """The photos of an enclosure, a finding or a job, by what they show (as found first), the
    oldest first."""
    found = [p for p in book.site.photos.values() if getattr(p, kind) == key]
    found = sorted(found, key=lambda p: (p.taken or dt.date.max, natural(p.key)))
    shown = [Shown(p, book.photos[p.key], _alt(book, p)) for p in found if p.key in book.photos]
    groups = {word: [one for one in shown if one.photo.shows == word] for word in SHOWS}
    return {word: group for word, group in groups.items() if group}


def _alt(book: Book, photo: Photo) -> str:
    """What somebody who can't see the photo is told."""
    what = photo.what or "photo"
    if not photo.what and photo.enclosure:
        what = f"enclosure {photo.enclosure}"
    elif not photo.what and photo.room:
        what = f"room {book.site.room_name(photo.room)}"
    return what if photo.shows == "other" else f"{what}, {photo.shows}"
