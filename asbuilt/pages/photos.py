"""Photos on pages: which belong to a thing, as found beside as left, and the files they lie in."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from asbuilt.drawings.photo import Shot
from asbuilt.model.site import natural
from asbuilt.pages import links
from asbuilt.pages.book import Book
from asbuilt.pages.page import Asset
from asbuilt.records.photos import SHOWS, Photo


@dataclass(frozen=True, slots=True)
class Shown:
    """A photo as a page shows it."""

    photo: Photo
    shot: Shot
    alt: str
    enclosure: str | None
    room: str | None


def pages(book: Book) -> Iterator[Asset]:
    for key in sorted(book.photos, key=natural):
        yield Asset(links.photo(key), book.photos[key].data)
        yield Asset(links.small_photo(key), book.photos[key].small)


def photos_of(book: Book, kind: str, key: str) -> dict[str, list[Shown]]:
    """The photos of an enclosure, a finding or a job, by what they show (as found first), the
    oldest first; of an enclosure or job also those of its findings."""
    every = book.photos_on_record.values()
    found = [p for p in every if p.key in book.photos and _belongs(book, p, kind, key)]
    found.sort(key=lambda p: (p.taken or dt.date.max, natural(p.key)))
    shown = [_shown(book, photo) for photo in found]
    groups = {word: [one for one in shown if one.photo.shows == word] for word in SHOWS}
    return {word: group for word, group in groups.items() if group}


def _belongs(book: Book, photo: Photo, kind: str, key: str) -> bool:
    if getattr(photo, kind) == key:
        return True
    finding = book.site.findings.get(photo.finding or "")
    return finding is not None and kind != "finding" and getattr(finding, kind) == key


def _shown(book: Book, photo: Photo) -> Shown:
    """A photo that doesn't say where it was taken was taken where its finding is."""
    enclosure, room = photo.enclosure, photo.room
    finding = book.site.findings.get(photo.finding or "")
    if finding is not None and not (enclosure or room or photo.outlet):
        enclosure, room = finding.enclosure, finding.room
    return Shown(photo, book.photos[photo.key], _alt(book, photo), enclosure, room)


def _alt(book: Book, photo: Photo) -> str:
    """What somebody who can't see the photo is told."""
    what = photo.what or "photo"
    if not photo.what and photo.enclosure:
        what = f"enclosure {photo.enclosure}"
    elif not photo.what and photo.room:
        what = f"room {book.site.room_name(photo.room)}"
    return what if photo.shows == "other" else f"{what}, {photo.shows}"
