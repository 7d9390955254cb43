"""Headroom: how much room is left, of what, where, and at what pace it goes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from markupsafe import Markup

from asbuilt.drawings.trend import draw_trend
from asbuilt.facts.headroom import headroom_by_space, spare_requirements
from asbuilt.facts.pathways import pathway_headroom
from asbuilt.facts.projection import Projection, project_usage
from asbuilt.facts.trend import last_point_of_each_day, usage_points
from asbuilt.model.site import PortState
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Page, SearchEntry
from asbuilt.pages.view import PageView, render

#: What is followed over the years, and what it is counted in.
_TREND_FIGURES = (
    ("units", "Rack units", ""),
    ("panel_ports", "Panel ports", ""),
    ("access_ports", "Switch access ports", ""),
    ("poe", "Power over Ethernet", "W "),
)


@dataclass(frozen=True, slots=True)
class Trend:
    title: str
    unit: str
    projection: Projection
    drawing: Markup


def pages(book: PageContext) -> Iterator[Page]:
    path = "headroom.html"
    rooms = book.headroom_by_enclosure.values()
    html = render(
        "headroom.html",
        PageView(book, path),
        states=list(PortState),
        spaces=headroom_by_space(rooms),
        spares=spare_requirements(book.site, book.headroom),
        pathways=pathway_headroom(book.site) if book.internal else (),
        trends=list(_trends(book)),
    )
    yield Page(path, "Headroom", html, nav="Headroom", search=(SearchEntry("Headroom"),))


def _trends(book: PageContext) -> Iterator[Trend]:
    """What history tells of; nothing of what was never there."""
    points = last_point_of_each_day(book.history.points)
    for what, words, unit in _TREND_FIGURES:
        found = usage_points(points, what)
        if len(found) > 1 and any(capacity for _, _, capacity in found):
            drawing = Markup(draw_trend(found, words, unit))  # noqa: S704
            yield Trend(words, unit, project_usage(found), drawing)
