"""Jobs: what was asked for, and how far each is."""

from __future__ import annotations

from collections.abc import Iterator

from asbuilt.pages import links
from asbuilt.pages.book import Book
from asbuilt.pages.page import Page, SearchEntry
from asbuilt.pages.view import View, render
from asbuilt.records.work import JOB_STATES
from asbuilt.trade.cautions import EMERGENCY_CALLS


def pages(book: Book) -> Iterator[Page]:
    path = "jobs.html"
    jobs = sorted(
        book.site.jobs.values(),
        key=lambda job: (JOB_STATES.index(job.state), str(job.asked_on or ""), job.key),
    )
    html = render("jobs.html", View(book, path), jobs=jobs)
    yield Page(path, "Jobs", html, nav="Jobs", search=(SearchEntry("Jobs"),))
    for job in jobs:
        page = links.job(job.key)
        body = render(
            "job.html",
            View(book, page),
            job=job,
            done=[entry for entry in book.history.entries if entry.job == job.key],
            entries=book.entries_of(("job", job.key)),
            findings=[f for f in book.site.findings.values() if f.job == job.key],
            emergency=EMERGENCY_CALLS,
        )
        search = (SearchEntry(f"Job {job.key}", f"{job.title} {job.asked_by or ''}"),)
        yield Page(page, f"Job {job.key}", body, parent=path, search=search)
