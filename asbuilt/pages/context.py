"""Everything the pages of one site are made from. What isn't in it can't get onto a page."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from asbuilt.changes.log import Entry, History, Revision
from asbuilt.drawings.photo import PublishedPhoto
from asbuilt.drawings.picture import Picture
from asbuilt.facts.headroom import Headroom, headroom_by_enclosure, total_headroom
from asbuilt.facts.missing_facts import MissingFact, missing_facts
from asbuilt.facts.photos import photos_on_record
from asbuilt.growth.answers import GrowthAnswer, growth_table
from asbuilt.model.paths import CablePath, CablingGraph, Part, loses_service, paths_of, via
from asbuilt.model.site import Site
from asbuilt.problem import Problem
from asbuilt.records.edition import Edition
from asbuilt.records.links import Outlet
from asbuilt.records.photos import Photo
from asbuilt.records.work import Finding, Job


@dataclass(frozen=True, slots=True)
class BeforeAfter:
    """The site before a job's first commit and after its last; None where it couldn't be read."""

    before: Site | None
    after: Site | None


@dataclass(frozen=True)
class PageContext:
    site: Site
    net: CablingGraph
    edition: Edition
    revision: Revision
    history: History = History()
    problems: tuple[Problem, ...] = ()
    before_after: Mapping[str, BeforeAfter] = field(
        default_factory=dict
    )  # by job, where enclosures changed
    plan_pictures: Mapping[str, Picture] = field(default_factory=dict)  # by floor
    published_photos: Mapping[str, PublishedPhoto] = field(
        default_factory=dict
    )  # by the key of a photo's record

    @property
    def internal(self) -> bool:
        return self.edition is Edition.INTERNAL

    @property
    def base_url(self) -> str | None:
        """Where the pages of this edition are served."""
        info = self.site.info
        return info.pages_at if self.internal else info.client_pages_at

    @cached_property
    def headroom_by_enclosure(self) -> Mapping[str, Headroom]:
        """Headroom by enclosure."""
        return {
            room.enclosure.key: room for room in headroom_by_enclosure(self.site) if room.enclosure
        }

    @cached_property
    def headroom(self) -> Headroom:
        return total_headroom(self.headroom_by_enclosure.values())

    @cached_property
    def growth(self) -> tuple[GrowthAnswer, ...]:
        """Whether 12, 24, 48, 96 more drops go in, and the most that do without an outage."""
        return growth_table(self.site, self.net)

    @cached_property
    def gaps(self) -> tuple[MissingFact, ...]:
        return missing_facts(self.site)

    @cached_property
    def paths(self) -> Mapping[str, tuple[CablePath, ...]]:
        return {key: paths_of(self.net, outlet) for key, outlet in self.site.outlets.items()}

    @cached_property
    def enclosures_on_path(self) -> Mapping[str, tuple[str, ...]]:
        """The enclosures that each outlet's paths run through, in the order they are met."""
        known = self.site.enclosures
        met = {
            key: dict.fromkeys(port.enclosure for way in ways for port in way.ports)
            for key, ways in self.paths.items()
        }
        return {key: tuple(one for one in order if one in known) for key, order in met.items()}

    @cached_property
    def photos_on_record(self) -> Mapping[str, Photo]:
        return photos_on_record(self.site)

    @cached_property
    def outlets_through(self) -> Mapping[Part, tuple[str, ...]]:
        """The outlets whose path passes through each part of the site."""
        return via(self.net)

    @cached_property
    def outlets_losing_service(self) -> Mapping[Part, tuple[str, ...]]:
        """The outlets that lose service without each device, circuit and backbone."""
        return loses_service(self.net)

    @cached_property
    def outlets_by_switch(self) -> Mapping[str, tuple[str, ...]]:
        """The outlets patched to each switch or router, by its key."""
        found: dict[str, list[str]] = {}
        for key, ways in self.paths.items():
            for item in sorted({way.switch_port.item for way in ways if way.switch_port}):
                found.setdefault(item, []).append(key)
        return {item: tuple(keys) for item, keys in found.items()}

    @cached_property
    def open_findings(self) -> tuple[Finding, ...]:
        return tuple(f for f in self.site.findings.values() if f.cleared_on is None)

    @cached_property
    def open_jobs(self) -> tuple[Job, ...]:
        ended = ("done", "verified", "refused")
        return tuple(job for job in self.site.jobs.values() if job.state not in ended)

    @cached_property
    def _entries_by_record(self) -> Mapping[tuple[str, str], Mapping[int, tuple[int, ...]]]:
        """By thing, the entries that touch it and what of each is told of it, by their places."""
        found: dict[tuple[str, str], dict[int, tuple[int, ...]]] = {}
        for at, entry in enumerate(self.history.entries):
            for place, told in enumerate(entry.lines):
                for thing in {(change.kind, change.key) for change in told.changes}:
                    places = found.setdefault(thing, {})
                    places[at] = (*places.get(at, ()), place)
        return found

    def entries_of_job(self, job: str) -> tuple[Entry, ...]:
        """The entries whose commits name a job, newest first."""
        return tuple(entry for entry in self.history.entries if job in entry.jobs)

    def entries_of(self, *things: tuple[str, str]) -> tuple[Entry, ...]:
        """The entries that touch any of these things (kind, key), newest first; of each, what is
        told of these things."""
        found: dict[int, set[int]] = {}
        for thing in things:
            for at, places in self._entries_by_record.get(thing, {}).items():
                found.setdefault(at, set()).update(places)
        entries = self.history.entries
        return tuple(
            replace(
                entries[at], lines=tuple(entries[at].lines[place] for place in sorted(found[at]))
            )
            for at in sorted(found)
        )

    def visible_outlets(self) -> Iterator[Outlet]:
        """The outlets that have a page: all but those withheld from this edition's reader."""
        return (o for o in self.site.outlets.values() if o.serves != "device")
