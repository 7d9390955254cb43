"""What a site says of itself to the page over all sites: figures, and what can be found in it.

It lies beside the site's pages as `overview.json`, so that the page over all sites can be made from
built sites, wherever their records are kept. A client's edition has none.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import json
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

from asbuilt.facts.test_results import links_without_valid_test
from asbuilt.facts.trend import usage_points
from asbuilt.facts.walk_round import stops_at
from asbuilt.growth.answers import GrowthAnswer, GrowthVerdict
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Asset, Page

SUMMARY_PATH: Final = "overview.json"
ASKED_DROPS: Final = 24  # more drops: what the page over all sites says of each
TREND_FIGURES: Final = ("panel_ports", "access_ports", "units")


@dataclass(frozen=True, slots=True)
class SiteSummary:
    """What the page over all sites says of one; `errors` of a site whose records can't be built.

    `max_drops` is the most drops that go in without an outage, `verdict` how 24 more would, and
    `limit` what runs out first; `last_verified` the last day on which anything was verified;
    `trends` are readings by what is followed.
    """

    key: str
    name: str
    business: str = ""
    outlets: int = 0
    max_drops: int = 0
    verdict: str = ""
    limit: str = ""
    units_free: int = 0
    units: int = 0
    panel_ports_free: int = 0
    panel_ports: int = 0
    open_findings: int = 0
    open_jobs: int = 0
    untested: int = 0
    last_change: dt.date | None = None
    last_verified: dt.date | None = None
    errors: int = 0
    trends: tuple[tuple[str, tuple[tuple[dt.date, float, float], ...]], ...] = ()

    @property
    def fits_asked_drops(self) -> bool:
        return self.verdict == GrowthVerdict.WITHOUT_OUTAGE


def summary_of(book: PageContext) -> SiteSummary:
    room = book.headroom
    entries = book.history.entries
    asked = next((growth for growth in book.growth if growth.drops == ASKED_DROPS), None)
    return SiteSummary(
        key=book.site.key,
        name=book.site.name,
        business=book.site.info.business or "",
        outlets=len(book.site.outlets),
        max_drops=_max_drops(book.growth),
        verdict=str(asked.verdict or "") if asked else "",
        limit=str(asked.bottleneck.resource) if asked and asked.bottleneck else "",
        units_free=room.units.free,
        units=room.units.total,
        panel_ports_free=room.panel_ports.free,
        panel_ports=room.panel_ports.total,
        open_findings=len(book.open_findings),
        open_jobs=len(book.open_jobs),
        untested=sum(map(len, links_without_valid_test(book.site).values())),
        last_change=entries[0].when.date() if entries else None,
        last_verified=max(
            (stop.seen.on for stop in stops_at(book.site, {}) if stop.seen), default=None
        ),
        trends=tuple((what, usage_points(book.history.points, what)) for what in TREND_FIGURES),
    )


def _max_drops(answers: Iterable[GrowthAnswer]) -> int:
    fits = (growth.drops for growth in answers if growth.verdict == GrowthVerdict.WITHOUT_OUTAGE)
    return max(fits, default=0)


def search_lines(pages: Iterable[Page | Asset]) -> str:
    """What search finds on these pages, a line each: what it is called, what else it is known by,
    and where its page is, with tabs between."""
    return "\n".join(
        "\t".join(
            " ".join(part.split())
            for part in (
                entry.title,
                entry.text,
                f"{page.path}#{entry.anchor}" if entry.anchor else page.path,
            )
        )
        for page in pages
        if isinstance(page, Page)
        for entry in page.search
    )


def summary_asset(book: PageContext, pages: Iterable[Page | Asset]) -> Asset:
    document = {
        "summary": dataclasses.asdict(summary_of(book)),
        "finds": search_lines(pages),
    }
    text = json.dumps(document, ensure_ascii=False, default=str, separators=(",", ":"))
    return Asset(SUMMARY_PATH, text.encode())


def summary_in(parts: Iterable[Page | Asset]) -> tuple[SiteSummary, str]:
    """What a site's own tree says of it."""
    return next(
        read_summary(part.data)
        for part in parts
        if isinstance(part, Asset) and part.path == SUMMARY_PATH
    )


def read_summary(data: bytes) -> tuple[SiteSummary, str]:
    """An overview, read back: the figures, and what can be found. Raises ValueError where it isn't
    one."""
    try:
        document = json.loads(data)
        given = dict(document["summary"])
        for name in ("last_change", "last_verified"):
            given[name] = given[name] and dt.date.fromisoformat(given[name])
        given["trends"] = tuple((what, _usage_points(trend)) for what, trend in given["trends"])
        finds = document["finds"]
        if not isinstance(finds, str):
            raise TypeError("what can be found is no text")
        return SiteSummary(**given), finds
    except (TypeError, KeyError, AttributeError, json.JSONDecodeError) as error:
        raise ValueError(f"no overview of a site: {error}") from None


def _usage_points(plain: Any) -> tuple[tuple[dt.date, float, float], ...]:
    return tuple((dt.date.fromisoformat(day), float(a), float(b)) for day, a, b in plain)
