"""The last visit: the latest day on which somebody is on record as having been at the site.

Whoever saw a thing to be true, found or cleared a finding, did or verified a job, tested a link or
took a photo was there. A day on which somebody was asked, or said yes, is no visit.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import NamedTuple

from asbuilt.model.site import Site
from asbuilt.records.kind import Record


class WorkDone(NamedTuple):
    """What was done of one sort, and the records it was done to."""

    done: str
    kind: str
    keys: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Visit:
    """`by` are those whose names are recorded, in alphabetical order."""

    on: dt.date
    by: tuple[str, ...]
    deeds: tuple[WorkDone, ...]


class _Trace(NamedTuple):
    on: dt.date | None
    by: str | None
    done: str
    kind: str
    key: str


def last_visit(site: Site) -> Visit | None:
    """None where no record tells of any."""
    on = max((trace.on for trace in _traces(site) if trace.on), default=None)
    if on is None:
        return None
    traces = [trace for trace in _traces(site) if trace.on == on]
    deeds: dict[tuple[str, str], list[str]] = {}
    for trace in traces:
        deeds.setdefault((trace.done, trace.kind), []).append(trace.key)
    return Visit(
        on,
        tuple(sorted({trace.by for trace in traces if trace.by})),
        tuple(WorkDone(done, kind, tuple(keys)) for (done, kind), keys in deeds.items()),
    )


def _traces(site: Site) -> Iterator[_Trace]:
    for job in site.jobs.values():
        yield _Trace(job.done_on, job.done_by, "did", "job", job.key)
        yield _Trace(job.verified_on, job.verified_by, "verified", "job", job.key)
    for finding in site.findings.values():
        yield _Trace(finding.found_on, finding.found_by, "found", "finding", finding.key)
        yield _Trace(finding.cleared_on, finding.cleared_by, "cleared", "finding", finding.key)
    for test in site.tests.values():
        yield _Trace(test.date, test.by, "tested", "link", test.link)
    for photo in site.photos.values():
        yield _Trace(photo.taken, photo.by, "took", "photo", photo.key)
    for record in chain([site.info], *(kind.values() for kind in _what_is_seen(site))):
        if record.seen:
            yield _Trace(record.seen.on, record.seen.by, "saw", "thing", record.key)


def _what_is_seen(site: Site) -> Sequence[Mapping[str, Record]]:
    return (
        site.cautions, site.buildings, site.floors, site.rooms, site.circuits, site.networks,
        site.enclosures, site.items, site.cords, site.outlets, site.backbones, site.pathways,
    )  # fmt: skip
