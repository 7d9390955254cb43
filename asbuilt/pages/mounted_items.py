"""A page for each mounted thing: its port grid, what is connected to it, its history."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from asbuilt.facts.test_results import links_without_valid_test
from asbuilt.model.describe import describe_item
from asbuilt.model.paths import DEAD, nodes_of, outlets_through, outlets_without_service
from asbuilt.model.site import PortUse, Site
from asbuilt.pages import links
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Page, SearchEntry
from asbuilt.pages.page_drawings import PageDrawings
from asbuilt.pages.view import PageView, render
from asbuilt.records.enclosures import Item, Switch
from asbuilt.records.fields import PortId
from asbuilt.records.links import Backbone, Outlet


def pages(book: PageContext, pictures: PageDrawings) -> Iterator[Page]:
    for item in book.site.items.values():
        yield _item_page(book, pictures, item)


def _item_page(book: PageContext, pictures: PageDrawings, item: Item) -> Page:
    site = book.site
    path = links.item(item.key)
    uses = site.ports_of(item)
    gone = nodes_of(site, item)
    ends = cables_at(uses)
    things = [(item.role, item.key), *(("cord", c.key) for use in uses for c in use.cords)]
    switch = next(
        (s for s in book.headroom_by_enclosure[item.enclosure].switches if s.item is item), None
    )
    html = render(
        "mounted_item.html",
        PageView(book, path),
        item=item,
        uses=uses,
        ends={use.id: far_ends(site, use) for use in uses},
        words=describe_item(item),
        face=pictures.item_face(item.key, path) if uses else "",
        hanging=outlets_through(book.outlets_through, gone),
        dark=outlets_without_service(book.net, gone),
        switch=switch,
        is_switch=isinstance(item, Switch),
        tested=sum(link.state not in DEAD for link in ends),
        untested=links_without_valid_test(site, ends),
        findings=[f for f in site.findings.values() if f.item == item.key],
        entries=book.entries_of(*things),
    )
    entries = [SearchEntry(f"{item.title} in {item.enclosure}", describe_item(item))]
    for use in uses:
        labels = " ".join(site.panel_label_of(outlet) for outlet in use.outlets)
        if use.cabled or use.cords:
            anchor = links.port(item.key, use.id.printed).partition("#")[2]
            entries.append(SearchEntry(f"{use.id}", labels, anchor))
    return Page(
        path,
        f"{item.enclosure}/{item.title}",
        html,
        parent=links.enclosure(item.enclosure),
        search=tuple(entries),
    )


def cables_at(uses: Iterable[PortUse]) -> list[Outlet | Backbone]:
    """The drops and backbones that end at these ports, each once; none that is withheld."""
    found: dict[str, Outlet | Backbone] = {}
    for use in uses:
        found |= {o.key: o for o in use.outlets if o.serves != "device"}
        found |= {b.key: b for b in use.backbones}
    return list(found.values())


def far_ends(site: Site, use: PortUse) -> list[PortId]:
    """The ports at the far ends of the cords in this port."""
    return [use.far_end(cord) for cord in use.cords]
