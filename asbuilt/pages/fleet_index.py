"""The page over all sites: which have room, which want somebody, and a search over all of them."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import Final

from markupsafe import Markup

from asbuilt.drawings.trend import draw_trend
from asbuilt.facts.fleet import sum_trends
from asbuilt.facts.projection import Projection, project_usage
from asbuilt.pages.page import Page
from asbuilt.pages.site_summary import ASKED_DROPS, SiteSummary
from asbuilt.pages.view import environment

SEARCH_SCRIPT_PATH: Final = "search/all-sites.js"
_TREND_NAMES: Final = {
    "panel_ports": "Panel ports",
    "access_ports": "Switch access ports",
    "units": "Rack units",
}


def by_name(summaries: Iterable[SiteSummary]) -> list[SiteSummary]:
    return sorted(summaries, key=lambda site: (site.name.casefold(), site.key))


def fleet_page(summaries: Iterable[SiteSummary]) -> Page:
    """The page over these sites; its search wants a `finds_script` beside it."""
    sites = by_name(summaries)
    known = [site for site in sites if not site.errors]
    html = (
        environment()
        .get_template("fleet_index.html")
        .render(
            sites=sites,
            asked=ASKED_DROPS,
            full=sorted(
                (s for s in known if not s.fits_asked_drops), key=lambda s: (s.max_drops, s.name)
            ),
            outlets=sum(site.outlets for site in known),
            open_findings=sum(site.open_findings for site in known),
            untested=sum(site.untested for site in known),
            trends=list(_trends(known)),
            finds=SEARCH_SCRIPT_PATH,
        )
    )
    return Page("index.html", "Sites", html, nav="Sites")


def _trends(sites: Sequence[SiteSummary]) -> Iterable[tuple[str, Projection, Markup]]:
    for what, words in _TREND_NAMES.items():
        trend = sum_trends(dict(site.trends).get(what, ()) for site in sites)
        if len(trend) > 1 and any(total for _, _, total in trend):
            drawing = Markup(draw_trend(trend, f"{words} of all sites"))  # noqa: S704
            yield words, project_usage(trend), drawing


def search_script(summaries: Iterable[SiteSummary], finds: Callable[[str], str]) -> Iterator[bytes]:
    """What the search over all sites looks through, as a script: a page opened from a disk may
    load nothing else. It comes site by site, as that of a fleet is large; `finds` tells what can be
    found in one, a line each."""
    yield b"asbuiltFinds(["
    between = ""
    for site in by_name(summaries):
        entry = [site.key, site.name, finds(site.key)]
        text = json.dumps(entry, ensure_ascii=False, separators=(",\n", ":"))
        # U+2028 and U+2029 end a line in scripts of old.
        text = text.replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
        yield (between + text).encode()
        between = ",\n"
    yield b"]);\n"
