"""A sheet for a cabinet's door: one page on what is in it, whom to call, what may hurt.

It hangs where others pass, so it says nothing of people at their desks and of no outlet; and it
says of the engineers' edition that it isn't the one to hang there.
"""

from __future__ import annotations

from collections.abc import Iterator

from asbuilt.pages import links
from asbuilt.pages.book import Book
from asbuilt.pages.page import Page
from asbuilt.pages.pictures import Pictures
from asbuilt.pages.view import View, describe, render
from asbuilt.records.enclosures import Enclosure, Item, Reserve
from asbuilt.records.people import Caution
from asbuilt.site import natural
from asbuilt.trade.cautions import CUSTOMARY, DEFERENCE

MOST_CONTACTS = 5
MOST_CAUTIONS = 5


def pages(book: Book, pictures: Pictures) -> Iterator[Page]:
    for enclosure in book.site.enclosures.values():
        yield _sheet(book, pictures, enclosure)


def _sheet(book: Book, pictures: Pictures, enclosure: Enclosure) -> Page:
    site = book.site
    path = links.door(enclosure.key)
    name = enclosure.label or enclosure.key
    items = [i for i in site.items_in.get(enclosure.key, ()) if not isinstance(i, Reserve)]
    landing = [
        circuit
        for circuit in site.circuits.values()
        if circuit.lands_on and circuit.lands_on.enclosure == enclosure.key
    ]
    cautions = [c for c in site.cautions.values() if _concerns(c, enclosure)]
    contacts = [c for c in site.contacts.values() if c.phone]
    html = render(
        "door.html",
        View(book, path),
        enclosure=enclosure,
        name=name,
        elevation=pictures.elevations(enclosure.key, path)["front"],
        items=[(item, describe(item), _rooms(book, item)) for item in items],
        landing=landing,
        cautions=cautions[:MOST_CAUTIONS],
        more_cautions=len(cautions) - len(cautions[:MOST_CAUTIONS]),
        contacts=contacts[:MOST_CONTACTS],
        customary=CUSTOMARY,
        deference=DEFERENCE,
    )
    return Page(path, f"Sheet for the door of {name}", html, parent=links.enclosure(enclosure.key))


def _concerns(caution: Caution, enclosure: Enclosure) -> bool:
    """A caution of another room isn't for this door; one without a room is for every door."""
    return caution.room is None or caution.room == enclosure.room


def _rooms(book: Book, item: Item) -> list[str]:
    """The rooms whose outlets end at a panel, each once."""
    rooms = {o.room for use in book.site.ports_of(item) for o in use.outlets if o.room}
    return sorted(rooms, key=natural)
