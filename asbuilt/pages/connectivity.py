"""How the enclosures, backbones and circuits of a site hang together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from asbuilt.model.paths import Edge, Node, outlets_through, outlets_without_service
from asbuilt.pages import links
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Page, SearchEntry
from asbuilt.pages.page_drawings import PageDrawings
from asbuilt.pages.view import PageView, render
from asbuilt.trade.cautions import CUSTOMARY_CAUTIONS


def pages(book: PageContext, pictures: PageDrawings) -> Iterator[Page]:
    path = "connectivity.html"
    site = book.site
    backbones = {}
    for key, backbone in site.backbones.items():
        used = sum(1 for p in backbone.from_ if p in site.ports and site.ports[p].cords)
        part = Edge("backbone", key)
        dark = outlets_without_service(book.net, edges=[part])
        backbones[key] = (backbone, used, outlets_through(book.outlets_through, [part]), dark)
    circuits = {}
    for key in site.circuits:
        node = Node("circuit", key)
        circuits[key] = (
            outlets_through(book.outlets_through, [node]),
            outlets_without_service(book.net, nodes=[node]),
        )
    runs = [o.via for o in site.outlets.values()] + [b.via for b in site.backbones.values()]
    html = render(
        "connectivity.html",
        PageView(book, path),
        diagram=pictures.site_diagram(path),
        backbones=backbones,
        circuits=circuits,
        cables_in=Counter(way for ways in runs for way in ways),
        customary=CUSTOMARY_CAUTIONS,
    )
    entries = tuple(
        SearchEntry(
            f"Backbone {backbone.label or key}",
            backbone.cable or "",
            links.backbone(key).partition("#")[2],
        )
        for key, backbone in site.backbones.items()
    )
    search = (SearchEntry("Connectivity"), *entries)
    yield Page(path, "Connectivity", html, nav="Connectivity", search=search)
