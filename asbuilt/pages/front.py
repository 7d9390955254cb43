"""The page over all sites: which have room, which want somebody, and a search over all of them."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Final

from markupsafe import Markup

from asbuilt.drawings.trend import draw_trend
from asbuilt.facts.fleet import together
from asbuilt.facts.projection import Projection, project
from asbuilt.pages.overview import ASKED, Summary
from asbuilt.pages.page import Page
from asbuilt.pages.view import environment

FINDS: Final = "search/all-sites.js"
_FOLLOWED: Final = {
    "panel_ports": "Panel ports",
    "access_ports": "Switch access ports",
    "units": "Rack units",
}


def in_order(summaries: Iterable[Summary]) -> list[Summary]:
    return sorted(summaries, key=lambda site: (site.name.casefold(), site.key))


def front_page(summaries: Iterable[Summary]) -> Page:
    """The page over these sites; its search wants a `finds_script` beside it."""
    sites = in_order(summaries)
    known = [site for site in sites if not site.errors]
    html = (
        environment()
        .get_template("front.html")
        .render(
            sites=sites,
            asked=ASKED,
            full=sorted((s for s in known if not s.has_room), key=lambda s: (s.takes, s.name)),
            outlets=sum(site.outlets for site in known),
            open_findings=sum(site.open_findings for site in known),
            untested=sum(site.untested for site in known),
            trends=list(_trends(known)),
            finds=FINDS,
        )
    )
    return Page("index.html", "Sites", html, nav="Sites")


def _trends(sites: Sequence[Summary]) -> Iterable[tuple[str, Projection, Markup]]:
    for what, words in _FOLLOWED.items():
        trend = together(dict(site.trends).get(what, ()) for site in sites)
        if len(trend) > 1 and any(total for _, _, total in trend):
            drawing = Markup(draw_trend(trend, f"{words} of all sites"))  # noqa: S704
            yield words, project(trend), drawing


def finds_script(summaries: Iterable[Summary], finds: Callable[[str], str]) -> Iterator[bytes]:
    """What the search over all sites looks through, as a script: a page opened from a disk may
    load nothing else. It comes site by site, as that of a fleet is large; `finds` tells what can be
    found in one, a line each."""
    yield b"asbuiltFinds(["
    between = ""
    for site in in_order(summaries):
        entry = [site.key, site.name, finds(site.key)]
        text = json.dumps(entry, ensure_ascii=False, separators=(",\n", ":"))
        # U+2028 and U+2029 end a line in scripts of old.
        text = text.replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
        yield (between + text).encode()
        between = ",\n"
    yield b"]);\n"
