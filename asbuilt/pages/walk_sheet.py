"""The sheet of a walk-round, to be printed and filled in."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from asbuilt.facts.walk_round import WalkRound, WalkStop
from asbuilt.model.site import Site
from asbuilt.pages.view import environment


def walk_sheet(site: Site, walk: WalkRound, revision: str) -> str:
    """A whole HTML document that needs nothing but itself."""
    rooms: list[tuple[str, Sequence[WalkStop]]] = [
        (site.room_name(room), tuple(stops))
        for room, stops in groupby(walk.stops, key=lambda stop: stop.room)
    ]
    template = environment().get_template("walk_sheet.html")
    return template.render(site=site, walk=walk, rooms=rooms, revision=revision)
