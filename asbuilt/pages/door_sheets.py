"""A sheet for a cabinet's door: one page on what is in it, whom to call, what may hurt.

It hangs where others pass, so it says nothing of people at their desks and of no outlet; and it
says of the engineers' edition that it isn't the one to hang there. Its code opens the enclosure's
page, for who hangs up paper that ages; where nobody recorded the address, it has none.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from markupsafe import Markup

from asbuilt.labels.svg import code_svg
from asbuilt.model.describe import describe_item_briefly
from asbuilt.model.site import natural
from asbuilt.pages import links
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Page
from asbuilt.pages.page_drawings import PageDrawings
from asbuilt.pages.view import PageView, render
from asbuilt.records.enclosures import Enclosure, Item, Reserve
from asbuilt.records.people import Caution, Contact
from asbuilt.records.services import Circuit
from asbuilt.trade.cautions import CUSTOMARY_CAUTIONS, DISCLAIMER

MAX_CONTACTS = 5
MAX_CAUTIONS = 5


@dataclass(frozen=True, slots=True)
class DoorSheet:
    """What stands on the sheet of an enclosure; `opens` is the address its code leads to."""

    enclosure: Enclosure
    name: str
    elevation: Markup
    items: Sequence[tuple[Item, str, Sequence[str]]]
    circuits: Sequence[Circuit]
    cautions: Sequence[Caution]
    more_cautions: int
    contacts: Sequence[Contact]
    url: str | None
    qr_code: Markup | None


def pages(book: PageContext, pictures: PageDrawings) -> Iterator[Page]:
    for enclosure in book.site.enclosures.values():
        path = links.door(enclosure.key)
        sheet = door_sheet_of(book, enclosure, pictures.front(enclosure.key, path))
        html = render(
            "door_sheet.html",
            PageView(book, path),
            sheet=sheet,
            customary=CUSTOMARY_CAUTIONS,
            deference=DISCLAIMER,
        )
        title = f"Door sheet of {sheet.name}"
        yield Page(path, title, html, parent=links.enclosure(enclosure.key))


def door_sheet_of(book: PageContext, enclosure: Enclosure, elevation: Markup) -> DoorSheet:
    site = book.site
    items = [i for i in site.items_in.get(enclosure.key, ()) if not isinstance(i, Reserve)]
    landing = [
        circuit
        for circuit in site.circuits.values()
        if circuit.lands_on and circuit.lands_on.enclosure == enclosure.key
    ]
    cautions = [c for c in site.cautions.values() if _concerns(c, enclosure)]
    contacts = [c for c in site.contacts.values() if c.phone]
    opens = book.base_url and links.absolute_url(book.base_url, links.enclosure(enclosure.key))
    return DoorSheet(
        enclosure,
        enclosure.label or enclosure.key,
        elevation,
        [(item, describe_item_briefly(item), _rooms_served(book, item)) for item in items],
        landing,
        cautions[:MAX_CAUTIONS],
        len(cautions) - len(cautions[:MAX_CAUTIONS]),
        contacts[:MAX_CONTACTS],
        opens,
        code_svg(opens) if opens else None,
    )


def _concerns(caution: Caution, enclosure: Enclosure) -> bool:
    """A caution of another room isn't for this door; one without a room is for every door."""
    return caution.room is None or caution.room == enclosure.room


def _rooms_served(book: PageContext, item: Item) -> list[str]:
    """The rooms whose outlets end at a panel, each once."""
    rooms = {o.room for use in book.site.ports_of(item) for o in use.outlets if o.room}
    return sorted(rooms, key=natural)
