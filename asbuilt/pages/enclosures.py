"""Enclosures: the list, and a page each with its elevations, patching and history."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from asbuilt.model.paths import nodes_of, outlets_through, outlets_without_service
from asbuilt.model.site import PortState
from asbuilt.pages import links
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Asset, Page, SearchEntry
from asbuilt.pages.page_drawings import PageDrawings
from asbuilt.pages.photos import photos_of
from asbuilt.pages.view import PageView, render
from asbuilt.records.enclosures import Enclosure
from asbuilt.records.fields import PortId
from asbuilt.trade.cautions import CUSTOMARY_CAUTIONS, DISCLAIMER


@dataclass(frozen=True, slots=True)
class PathsThrough:
    """An outlet, the ports of each of its paths, and the enclosures these run through besides."""

    outlet_key: str
    paths: tuple[tuple[PortId, ...], ...]
    other_enclosures: tuple[str, ...]


def pages(book: PageContext, pictures: PageDrawings) -> Iterator[Page | Asset]:
    path = "enclosures.html"
    html = render("enclosures.html", PageView(book, path))
    yield Page(path, "Enclosures", html, nav="Enclosures", search=(SearchEntry("Enclosures"),))
    for enclosure in book.site.enclosures.values():
        yield from _enclosure_page(book, pictures, enclosure)


def _enclosure_page(
    book: PageContext, pictures: PageDrawings, enclosure: Enclosure
) -> Iterator[Page | Asset]:
    site = book.site
    path = links.enclosure(enclosure.key)
    items = site.items_in.get(enclosure.key, ())
    inside = nodes_of(site, *items)
    things = [("enclosure", enclosure.key), *((item.role, item.key) for item in items)]
    things += [("cord", key) for key, c in site.cords.items() if c.from_.enclosure == enclosure.key]
    name = enclosure.label or enclosure.key
    drawings = pictures.elevations(enclosure.key, path)
    html = render(
        "enclosure.html",
        PageView(book, path),
        enclosure=enclosure,
        name=name,
        items=items,
        room=book.headroom_by_enclosure[enclosure.key],
        drawings=drawings,
        photos=photos_of(book, "enclosure", enclosure.key),
        patching=pictures.patching_diagram(enclosure.key, path),
        hanging=outlets_through(book.outlets_through, inside),
        dark=outlets_without_service(book.net, inside),
        findings=[f for f in site.findings.values() if f.enclosure == enclosure.key],
        entries=book.entries_of(*things),
        cords=[c for c in site.cords.values() if c.from_.enclosure == enclosure.key],
        paths=list(_paths_through(book, enclosure.key)),
        states=list(PortState),
        customary=CUSTOMARY_CAUTIONS,
        deference=DISCLAIMER,
    )
    words = f"{enclosure.kind or 'enclosure'} {site.room_name(enclosure.room)}"
    yield Page(
        path,
        f"Enclosure {name}",
        html,
        parent="enclosures.html",
        search=(SearchEntry(f"Enclosure {name}", words),),
    )
    for face, drawing in drawings.items():
        yield Asset(f"drawings/{enclosure.key}-{face}.svg", drawing.encode())


def _paths_through(book: PageContext, key: str) -> Iterator[PathsThrough]:
    """The outlets whose paths run through an enclosure, whatever stands before or after it."""
    for outlet in book.visible_outlets():
        met = book.enclosures_on_path[outlet.key]
        if key in met:
            others = tuple(other for other in met if other != key)
            ways = tuple(way.ports for way in book.paths[outlet.key])
            yield PathsThrough(outlet.key, ways, others)
