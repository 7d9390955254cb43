"""Outlets by room, and a page for each jack with its whole path."""

from __future__ import annotations

from collections.abc import Iterator

from asbuilt.facts.test_results import check_link_results
from asbuilt.model.describe import outlet_use
from asbuilt.model.site import natural
from asbuilt.pages import links
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Page, SearchEntry
from asbuilt.pages.page_drawings import PageDrawings
from asbuilt.pages.path_steps import steps_of
from asbuilt.pages.view import PageView, render
from asbuilt.records.links import Outlet
from asbuilt.trade.cautions import CUSTOMARY_CAUTIONS, DISCLAIMER, EMERGENCY_CALL_CAUTION


def pages(book: PageContext, pictures: PageDrawings) -> Iterator[Page]:
    site = book.site
    path = "outlets.html"
    on_view = list(book.visible_outlets())
    in_room: dict[str | None, list[Outlet]] = {key: [] for key in site.rooms}
    for outlet in on_view:
        in_room.setdefault(outlet.room, []).append(outlet)
    rooms = sorted(in_room, key=lambda key: (key is None, natural(key or "")))
    html = render(
        "outlets.html",
        PageView(book, path),
        rooms=rooms,
        in_room=in_room,
        total=len(site.outlets),
        enclosures_in=lambda room: [e for e in site.enclosures.values() if e.room == room],
        withheld=len(site.outlets) - len(on_view),
        words=outlet_use,
    )
    entries = tuple(
        SearchEntry(site.room_name(key), "room", links.room(key).partition("#")[2])
        for key in rooms
        if key is not None
    )
    yield Page(path, "Outlets", html, nav="Outlets", search=(SearchEntry("Outlets"), *entries))
    diagrams = pictures.path_diagrams([outlet.key for outlet in on_view])
    for outlet in on_view:
        yield _outlet_page(book, outlet, diagrams[outlet.key])


def _others_on_switch(book: PageContext, outlet: Outlet, switch: str) -> list[str]:
    """The other outlets that are patched to the same switch."""
    return [key for key in book.outlets_by_switch.get(switch, ()) if key != outlet.key]


def _outlet_page(book: PageContext, outlet: Outlet, diagram: str) -> Page:
    site = book.site
    path = links.outlet(outlet.key)
    ways = book.paths[outlet.key]
    label = site.label_of(outlet)
    cords = [
        ("cord", hop.edge.key) for way in ways for hop in way.hops[:2] if hop.edge.kind == "cord"
    ]
    switches = [way.switch_port for way in ways if way.switch_port]
    beside = _others_on_switch(book, outlet, switches[0].item) if switches else []
    html = render(
        "outlet.html",
        PageView(book, path),
        outlet=outlet,
        label=label,
        words=outlet_use(outlet),
        switches=switches,
        beside=beside,
        beside_name=site.items[switches[0].item].title if switches else "",
        lit=book.enclosures_on_path[outlet.key],
        ways=[steps_of(site, way) for way in ways],
        complete=all(way.complete for way in ways),
        diagram=diagram,
        neighbours=[
            other
            for other in (site.outlets_in.get(outlet.room, ()) if outlet.room else ())
            if other.key != outlet.key
        ],
        held=check_link_results(site, outlet.key),
        findings=[f for f in site.findings.values() if outlet.key in f.outlet],
        entries=book.entries_of(("outlet", outlet.key), *cords),
        customary=CUSTOMARY_CAUTIONS,
        emergency=EMERGENCY_CALL_CAUTION,
        deference=DISCLAIMER,
    )
    other = outlet.label_at_panel or ""
    text = " ".join(
        part
        for part in (
            outlet.key if outlet.key != label else "",
            other,
            site.room_name(outlet.room) if outlet.room else "",
            outlet.person or "",
            outlet.serves or "",
            " ".join(str(port) for port in outlet.port),
        )
        if part
    )
    return Page(
        path,
        f"Outlet {label}",
        html,
        parent="outlets.html",
        search=(SearchEntry(label, text),),
    )
