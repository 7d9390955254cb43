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


class VisitActivity(NamedTuple):
    """What was done of one sort, and the records it was done to."""

    verb: str
    kind: str
    keys: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Visit:
    """`by` are those whose names are recorded, in alphabetical order."""

    date: dt.date
    people: tuple[str, ...]
    activities: tuple[VisitActivity, ...]


class _VisitEvidence(NamedTuple):
    date: dt.date | None
    person: str | None
    verb: str
    kind: str
    key: str


def last_visit(site: Site) -> Visit | None:
    """None where no record tells of any."""
    on = max((trace.date for trace in _visit_evidence(site) if trace.date), default=None)
    if on is None:
        return None
    traces = [trace for trace in _visit_evidence(site) if trace.date == on]
    deeds: dict[tuple[str, str], list[str]] = {}
    for trace in traces:
        deeds.setdefault((trace.verb, trace.kind), []).append(trace.key)
    return Visit(
        on,
        tuple(sorted({trace.person for trace in traces if trace.person})),
        tuple(VisitActivity(done, kind, tuple(keys)) for (done, kind), keys in deeds.items()),
    )


def _visit_evidence(site: Site) -> Iterator[_VisitEvidence]:
    for job in site.jobs.values():
        yield _VisitEvidence(job.done_on, job.done_by, "did", "job", job.key)
        yield _VisitEvidence(job.verified_on, job.verified_by, "verified", "job", job.key)
    for finding in site.findings.values():
        yield _VisitEvidence(finding.found_on, finding.found_by, "found", "finding", finding.key)
        yield _VisitEvidence(
            finding.cleared_on, finding.cleared_by, "cleared", "finding", finding.key
        )
    for test in site.tests.values():
        yield _VisitEvidence(test.date, test.by, "tested", "link", test.link)
    for photo in site.photos.values():
        yield _VisitEvidence(photo.taken, photo.by, "took", "photo", photo.key)
    for record in chain([site.info], *(kind.values() for kind in _records_with_seen(site))):
        if record.seen:
            yield _VisitEvidence(record.seen.on, record.seen.by, "saw", "thing", record.key)


def _records_with_seen(site: Site) -> Sequence[Mapping[str, Record]]:
    return (
        site.cautions, site.buildings, site.floors, site.rooms, site.circuits, site.networks,
        site.enclosures, site.items, site.cords, site.outlets, site.backbones, site.pathways,
    )  # fmt: skip
