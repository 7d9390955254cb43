"""What was found wrong, open first."""

from __future__ import annotations

from collections.abc import Iterator

from asbuilt.pages import links
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Page, SearchEntry
from asbuilt.pages.photos import photos_of
from asbuilt.pages.view import PageView, render
from asbuilt.records.work import Finding
from asbuilt.trade.cautions import DISCLAIMER

SEVERITY_ORDER = ("hazard", "deficient", "incomplete", "untidy", None)


def pages(book: PageContext) -> Iterator[Page]:
    path = "findings.html"
    found = sorted(book.site.findings.values(), key=by_severity)
    photos = {finding.key: photos_of(book, "finding", finding.key) for finding in found}
    html = render(
        "findings.html", PageView(book, path), findings=found, photos=photos, deference=DISCLAIMER
    )
    entries = tuple(
        SearchEntry(f.what, f.advice or "", links.finding(f.key).partition("#")[2]) for f in found
    )
    search = (SearchEntry("Findings"), *entries)
    yield Page(path, "Findings", html, nav="Findings", search=search)


def by_severity(finding: Finding) -> tuple[bool, int, str]:
    """Open ones first, the worst of them at the top."""
    return (finding.cleared_on is not None, SEVERITY_ORDER.index(finding.severity), finding.key)
