"""Jobs: what was asked for, and how far each is."""

from __future__ import annotations

from collections.abc import Iterator

from markupsafe import Markup

from asbuilt.changes.job_scope import Scope, scope_of
from asbuilt.pages import links
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Page, SearchEntry
from asbuilt.pages.page_drawings import PageDrawings
from asbuilt.pages.photos import photos_of
from asbuilt.pages.view import PageView, render
from asbuilt.records.work import JOB_STATES, Job
from asbuilt.trade.cautions import EMERGENCY_CALL_CAUTION


def pages(book: PageContext, pictures: PageDrawings) -> Iterator[Page]:
    path = "jobs.html"
    jobs = sorted(
        book.site.jobs.values(),
        key=lambda job: (JOB_STATES.index(job.state), str(job.asked_on or ""), job.key),
    )
    html = render("jobs.html", PageView(book, path), jobs=jobs)
    yield Page(path, "Jobs", html, nav="Jobs", search=(SearchEntry("Jobs"),))
    for job in jobs:
        yield _job_page(book, pictures, job)


def _job_page(book: PageContext, pictures: PageDrawings, job: Job) -> Page:
    path = links.job(job.key)
    done = book.entries_of_job(job.key)
    scope = scope_of(done)
    html = render(
        "job.html",
        PageView(book, path),
        job=job,
        done=done,
        scope=scope,
        sides=_before_and_after(book, pictures, job.key, scope, path),
        entries=book.entries_of(("job", job.key)),
        findings=[f for f in book.site.findings.values() if f.job == job.key],
        photos=photos_of(book, "job", job.key),
        emergency=EMERGENCY_CALL_CAUTION,
    )
    search = (SearchEntry(f"Job {job.key}", f"{job.title} {job.asked_by or ''}"),)
    return Page(path, f"Job {job.key}", html, parent="jobs.html", search=search)


def _before_and_after(
    book: PageContext, pictures: PageDrawings, job: str, scope: Scope | None, path: str
) -> list[tuple[str, Markup | None, Markup | None]]:
    """Each enclosure that looks different since a job, before and after it."""
    sides = book.before_after.get(job)
    if sides is None or scope is None:
        return []
    found = []
    for key in scope.enclosures:
        before = pictures.front_at_revision(
            sides.before, key, scope.marked, path, f"before {scope.first[:10]}"
        )
        after = pictures.front_at_revision(sides.after, key, scope.marked, path, scope.last[:10])
        if before is not None or after is not None:
            found.append((key, before, after))
    return found
