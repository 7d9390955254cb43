"""The drawings of a book, made for the page that shows them: links are relative to it."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cache

from markupsafe import Markup

from asbuilt.drawings.diagrams import outlet_graph, patching_dot, site_dot
from asbuilt.drawings.elevation import draw_elevation
from asbuilt.drawings.graph import dot_of
from asbuilt.drawings.item_face import draw_item_face
from asbuilt.drawings.placeholders import fill_placeholders, with_placeholders
from asbuilt.drawings.sheet import STYLE_ELEMENT, FindHref, TitleBlock
from asbuilt.drawings.side_view import draw_side_view
from asbuilt.escape import slug
from asbuilt.model.site import Site
from asbuilt.pages import links
from asbuilt.pages.context import PageContext
from asbuilt.records.fields import read_port

#: Draws DOT texts; given by whoever may start a program.
RenderDot = Callable[[Sequence[str]], Sequence[str]]


class PageDrawings:
    """The drawings of one book. Drawn SVG is ours and escaped where it is made."""

    def __init__(self, book: PageContext, draw: RenderDot) -> None:
        self._book = book
        self._draw = draw
        self._links: dict[int, FindHref] = {}
        self._fronts: dict[tuple[str, int, str], str] = {}

    def elevations(self, enclosure: str, page: str) -> Mapping[str, Markup]:
        """Front, rear and, where the depth is known, side."""
        site, link = self._book.site, self._link(page)
        rear = draw_elevation(site, enclosure, "rear", self._title(enclosure, "rear"), link=link)
        drawn = {"front": self._front(enclosure, page), "rear": rear}
        side = draw_side_view(site, enclosure, self._title(enclosure, "side"), link=link)
        if side is not None:
            drawn["side"] = side
        return {face: Markup(drawing) for face, drawing in drawn.items()}  # noqa: S704

    def front(self, enclosure: str, page: str, twin: str = "") -> Markup:
        """The front alone; `twin` where the page has it already."""
        return Markup(self._front(enclosure, page, twin))  # noqa: S704

    def _front(self, enclosure: str, page: str, twin: str = "") -> str:
        """Pages of one depth that show it have the same."""
        key = enclosure, page.count("/"), twin
        if key not in self._fronts:
            title, link = self._title(enclosure, "front"), self._link(page)
            self._fronts[key] = draw_elevation(
                self._book.site, enclosure, "front", title, link=link, twin=twin
            )
        return self._fronts[key]

    def front_at_revision(
        self, site: Site | None, enclosure: str, marked: frozenset[str], page: str, stands: str
    ) -> Markup | None:
        """The front of an enclosure of the site as it was or may be, which `stands` says, its
        ports only to look at; None where it isn't."""
        if site is None or enclosure not in site.enclosures:
            return None
        title = replace(self._title(enclosure, "front"), revision=stands, date="")
        drawn = draw_elevation(
            site,
            enclosure,
            "front",
            title,
            link=self._link(page),
            highlight=marked,
            twin=f"-{slug(stands)}",
            ports_apart=False,
        )
        return Markup(drawn)  # noqa: S704

    def item_face(self, item: str, page: str) -> Markup:
        return Markup(draw_item_face(self._book.site, item, link=self._link(page)))  # noqa: S704

    def patching_diagram(self, enclosure: str, page: str) -> Markup:
        dot = patching_dot(self._book.site, enclosure, link=self._link(page))
        return self._drawn([dot])[0]

    def site_diagram(self, page: str) -> Markup:
        dot = site_dot(self._book.site, self._book.net, link=self._link(page))
        return self._drawn([dot])[0]

    def path_diagrams(self, keys: Sequence[str]) -> Mapping[str, Markup]:
        """The path of every outlet. What is alike is drawn once, and all in one go: starting a
        program costs more than drawing."""
        link = self._link(links.outlet("x"))
        site, net = self._book.site, self._book.net
        alike = [with_placeholders(outlet_graph(site, net, key, link=link)) for key in keys]
        graphs = list(dict.fromkeys(graph for graph, _ in alike))
        drawn = zip(graphs, self._draw([dot_of(graph) for graph in graphs]), strict=True)
        # There are as many of these as outlets: a page's style sheet has what drawings wear.
        bare = {graph: svg.replace(STYLE_ELEMENT, "") for graph, svg in drawn}
        filled = (Markup(fill_placeholders(bare[graph], words)) for graph, words in alike)  # noqa: S704
        return dict(zip(keys, filled, strict=True))

    def _drawn(self, dots: Sequence[str]) -> list[Markup]:
        return [Markup(svg) for svg in self._draw(dots)]  # noqa: S704

    def _title(self, enclosure: str, face: str) -> TitleBlock:
        book = self._book
        return TitleBlock(
            site=book.site.name,
            sheet=f"{enclosure}-{face}",
            subject=f"Enclosure {enclosure}, {face}",
            revision=str(book.revision),
            date=str(book.revision.date or ""),
            drawn_by="asbuilt, from the records",
            scale="none, in proportion",
        )

    def _link(self, page: str) -> FindHref:
        """Where a page's drawings lead; to what is elsewhere all pages of one depth have the same
        way, and drawings ask for it again and again."""
        depth = page.count("/")
        if depth not in self._links:
            self._links[depth] = cache(self._link_from(page))
        return self._links[depth]

    def _link_from(self, page: str) -> FindHref:
        site = self._book.site
        hidden = {key for key, outlet in site.outlets.items() if outlet.serves == "device"}

        def link(kind: str, key: str) -> str | None:
            if kind == "outlet" and key in hidden:
                return None
            if not _exists(site, kind, key):
                return None  # a drawing may show a site as it was
            target = links.record(kind, key)
            return links.relative(target, page) if target else None

        return link


def _exists(site: Site, kind: str, key: str) -> bool:
    if kind == "port":
        port = read_port(key)
        return port is not None and port in site.ports
    return key in site.records_of(kind)
