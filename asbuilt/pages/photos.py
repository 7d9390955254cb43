"""Photos on pages: which belong to a thing, as found beside as left, and the files they lie in."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass

from asbuilt.drawings.photo import PublishedPhoto
from asbuilt.model.site import natural
from asbuilt.pages import links
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Asset
from asbuilt.records.photos import SHOWS, Photo


@dataclass(frozen=True, slots=True)
class PhotoFigure:
    """A photo as a page shows it."""

    photo: Photo
    published: PublishedPhoto
    alt: str
    enclosure: str | None
    room: str | None


def pages(book: PageContext) -> Iterator[Asset]:
    for key in sorted(book.published_photos, key=natural):
        yield Asset(links.photo(key), book.published_photos[key].data)
        yield Asset(links.photo_thumbnail(key), book.published_photos[key].thumbnail)


def photos_of(book: PageContext, kind: str, key: str) -> dict[str, list[PhotoFigure]]:
    """The photos of an enclosure, a finding or a job, by what they show (as found first), the
    oldest first; of an enclosure or job also those of its findings."""
    every = book.photos_on_record.values()
    found = [p for p in every if p.key in book.published_photos and _belongs(book, p, kind, key)]
    found.sort(key=lambda p: (p.taken or dt.date.max, natural(p.key)))
    shown = [_photo_figure(book, photo) for photo in found]
    groups = {word: [one for one in shown if one.photo.shows == word] for word in SHOWS}
    return {word: group for word, group in groups.items() if group}


def _belongs(book: PageContext, photo: Photo, kind: str, key: str) -> bool:
    if getattr(photo, kind) == key:
        return True
    finding = book.site.findings.get(photo.finding or "")
    return finding is not None and kind != "finding" and getattr(finding, kind) == key


def _photo_figure(book: PageContext, photo: Photo) -> PhotoFigure:
    """A photo that doesn't say where it was taken was taken where its finding is."""
    enclosure, room = photo.enclosure, photo.room
    finding = book.site.findings.get(photo.finding or "")
    if finding is not None and not (enclosure or room or photo.outlet):
        enclosure, room = finding.enclosure, finding.room
    return PhotoFigure(
        photo, book.published_photos[photo.key], _alt_text(book, photo), enclosure, room
    )


def _alt_text(book: PageContext, photo: Photo) -> str:
    """What somebody who can't see the photo is told."""
    what = photo.what or "photo"
    if not photo.what and photo.enclosure:
        what = f"enclosure {photo.enclosure}"
    elif not photo.what and photo.room:
        what = f"room {book.site.room_name(photo.room)}"
    return what if photo.shows == "other" else f"{what}, {photo.shows}"
