"""“Your network at a glance”: one page in plain words, for somebody who isn't of the trade."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Iterator, Sequence

from asbuilt.pages import links
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Page, SearchEntry
from asbuilt.pages.view import PageView, render
from asbuilt.records.links import DEVICE
from asbuilt.records.work import Job
from asbuilt.trade.cautions import CUSTOMARY_CAUTIONS, DISCLAIMER

TITLE = "Your network at a glance"
#: Cautions for whoever opens a ceiling or a cabinet, on every site whatever is recorded there.
GENERAL_HAZARDS = ("asbestos", "mains power", "laser light", "work at height")
#: States in which an outlet can be put to use.
USABLE_STATES = ("in use", "spare")
YEAR = dt.timedelta(days=365)


def pages(book: PageContext) -> Iterator[Page]:
    site = book.site
    hazards = dict.fromkeys(
        (*GENERAL_HAZARDS, *(caution.hazard for caution in site.cautions.values()))
    )
    html = render(
        "glance.html",
        PageView(book, links.GLANCE_PATH),
        title=TITLE,
        serves=_count_by_use(book),
        spare=_count_spare(book),
        fullness=fullness,
        done=recently_done(book),
        authorise=_who_may_order(book),
        hazards=[CUSTOMARY_CAUTIONS[hazard] for hazard in hazards],
        deference=DISCLAIMER,
    )
    search = (
        SearchEntry(TITLE, "overview in plain words"),
        SearchEntry("To ask for a change", "form text to copy, move, add, change", "ask"),
    )
    yield Page(links.GLANCE_PATH, TITLE, html, nav="At a glance", search=search)


def _count_by_use(book: PageContext) -> list[tuple[str, int]]:
    """What outlets serve and how many of them, the most first."""
    words = {DEVICE: "other devices", None: "not recorded", "unknown": "not known"}
    found = Counter(outlet.serves for outlet in book.site.outlets.values())
    return sorted(
        ((words.get(serves, serves or ""), number) for serves, number in found.items()),
        key=lambda pair: (-pair[1], pair[0]),
    )


def _count_spare(book: PageContext) -> int:
    """Outlets in order that no path leads from to a switch or router: ready, but not connected."""
    return sum(
        1
        for key, outlet in book.site.outlets.items()
        if outlet.port
        and outlet.state in USABLE_STATES
        and not any(way.switch_port for way in book.paths[key])
    )


def fullness(free: int, total: int) -> str:
    """How full something is, in words that go by the share that is free."""
    share = free / total
    for least, words in (
        (0.75, "mostly empty"),
        (0.45, "about half full, or less"),
        (0.2, "more than half full"),
        (0.0001, "almost full"),
    ):
        if share >= least:
            return words
    return "full"


def recently_done(book: PageContext) -> Sequence[Job]:
    """Jobs done in the year before the records' own last day, newest first: the day on which
    somebody reads has no say."""
    days = [job.done_on for job in book.site.jobs.values() if job.done_on]
    last = book.revision.date or max(days, default=None)
    if last is None:
        return ()
    done = [
        (job.done_on, key, job)
        for key, job in book.site.jobs.items()
        if job.done_on and last - YEAR <= job.done_on <= last
    ]
    return [job for _, _, job in sorted(done, key=lambda one: one[:2], reverse=True)]


def _who_may_order(book: PageContext) -> str:
    names = [contact.name for contact in book.site.contacts.values() if contact.authorises]
    return " or ".join(names) or "not recorded: ask who may"
