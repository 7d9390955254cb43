"""What to look at on the next visit: what was seen longest ago or never, what has changed most
since it was seen, and a random sample of everything, which says how far the records can be
trusted.

The sample is drawn by a seed that is written on the sheet: each record is as likely as any other
(they are ordered by SHA-256 of seed and key), and whoever has the seed can draw it again.
"""

from __future__ import annotations

import datetime as dt
import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, TypeAlias

from asbuilt.model.site import Site, natural
from asbuilt.records.enclosures import Item
from asbuilt.records.fields import Seen
from asbuilt.records.links import Outlet
from asbuilt.trade.sampling import CONFIDENCE, max_wrong_records

#: Kind and key, as changes name them.
RecordKey: TypeAlias = tuple[str, str]

OLDEST: Final = "seen longest ago"
NEVER: Final = "never seen"
CHANGED: Final = "changed most"
SAMPLE: Final = "sample"


@dataclass(frozen=True, slots=True)
class WalkStop:
    """One thing to look at: what the records say of it, and why it is on the list. `changes` are
    the days on which it changed since it was seen."""

    kind: str
    key: str
    name: str
    room: str | None
    details: str
    seen: Seen | None
    changes_since_seen: int
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WalkRound:
    """The stops, room by room. `of` is how many records there are to draw from."""

    stops: tuple[WalkStop, ...]
    total: int
    seed: str

    @property
    def sampled(self) -> tuple[WalkStop, ...]:
        return tuple(stop for stop in self.stops if SAMPLE in stop.reasons)


def plan_walk_round(
    site: Site,
    changed_on: Mapping[RecordKey, Sequence[dt.date]],
    *,
    oldest: int,
    changed: int,
    sample: int,
    seed: str,
) -> WalkRound:
    """So many of each. `changed_on` has the days on which things changed, by kind and key."""
    all_stops = stops_at(site, changed_on)
    why: dict[RecordKey, list[str]] = {}

    def choose(stops: Iterable[WalkStop], reason: str) -> None:
        for stop in stops:
            why.setdefault((stop.kind, stop.key), []).append(reason)

    for stop in sorted(all_stops, key=_last_seen)[:oldest]:
        choose([stop], OLDEST if stop.seen else NEVER)
    restless = sorted(
        (s for s in all_stops if s.changes_since_seen), key=lambda s: -s.changes_since_seen
    )
    choose(restless[:changed], CHANGED)
    choose(random_sample(all_stops, sample, seed), SAMPLE)
    chosen = [
        WalkStop(
            s.kind,
            s.key,
            s.name,
            s.room,
            s.details,
            s.seen,
            s.changes_since_seen,
            tuple(why[s.kind, s.key]),
        )
        for s in all_stops
        if (s.kind, s.key) in why
    ]
    chosen.sort(key=lambda s: (s.room is None, natural(s.room or "")))
    return WalkRound(tuple(chosen), len(all_stops), seed)


def _last_seen(stop: WalkStop) -> dt.date:
    return stop.seen.on if stop.seen else dt.date.min


def random_sample(stops: Sequence[WalkStop], count: int, seed: str) -> list[WalkStop]:
    """So many at random by this seed, without putting back."""

    def lot(stop: WalkStop) -> bytes:
        return hashlib.sha256(f"{seed}\n{stop.kind}\n{stop.key}".encode()).digest()

    return sorted(stops, key=lot)[:count]


def sample_statement(of: int, seen: int, wrong: int) -> str:
    """What a sample says of all records, in a sentence."""
    if not seen:
        return "No sample was looked at: it says nothing of the others."
    most = max_wrong_records(of, seen, wrong)
    found = "all are as recorded" if not wrong else f"{wrong} of them not as recorded"
    return (
        f"Of {of} records {seen} were drawn and looked at, {found}: at {CONFIDENCE:.0%} confidence "
        f"at most {most} of {of} ({most / of:.0%}) are wrong."
    )


def stops_at(site: Site, changed_on: Mapping[RecordKey, Sequence[dt.date]]) -> list[WalkStop]:
    """Everything one can walk up to: enclosures, what is mounted, outlets, backbones."""
    stops: list[WalkStop] = []

    def add(
        kind: str, key: str, name: str, room: str | None, words: Iterable[str], seen: Seen | None,
        things: Iterable[RecordKey],
    ) -> None:  # fmt: skip
        days = {day for thing in things for day in changed_on.get(thing, ())}
        changes = sum(1 for day in days if seen is None or day > seen.on)
        stops.append(WalkStop(kind, key, name, room, ", ".join(filter(None, words)), seen, changes))

    for enclosure in site.enclosures.values():
        words = (enclosure.kind or "", str(enclosure.height), enclosure.position or "")
        name = enclosure.label or enclosure.key
        own = [("enclosure", enclosure.key)]
        add("enclosure", enclosure.key, name, enclosure.room, words, enclosure.seen, own)
    for item in site.items.values():
        holder = site.enclosures.get(item.enclosure)
        own = [(item.role, item.key)]
        name = f"{item.enclosure}/{item.title}"
        add(
            item.role,
            item.key,
            name,
            holder.room if holder else None,
            _item_details(item),
            item.seen,
            own,
        )
    for outlet in site.outlets.values():
        if outlet.state == "abandoned":
            continue
        cords = [c for port in outlet.port if port in site.ports for c in site.ports[port].cords]
        own = [("outlet", outlet.key), *(("cord", cord.key) for cord in cords)]
        name = site.label_of(outlet)
        add(
            "outlet", outlet.key, name, outlet.room, _outlet_details(site, outlet), outlet.seen, own
        )
    for backbone in site.backbones.values():
        first = site.items.get(backbone.from_[0].item)
        holder = site.enclosures.get(first.enclosure) if first else None
        run = (f"{backbone.from_[0]} to {backbone.to[0]}", backbone.cable or "")
        own = [("backbone", backbone.key)]
        name = backbone.label or backbone.key
        add(
            "backbone",
            backbone.key,
            name,
            holder.room if holder else None,
            run,
            backbone.seen,
            own,
        )
    return stops


def _item_details(item: Item) -> Iterable[str]:
    yield item.role
    if item.at:
        low, high = item.at
        yield f"U {low}" if low == high else f"U {low}–{high}"
        yield item.face
    elif item.where:
        yield item.where
    ports = item.port_names()
    if ports:
        yield f"{len(ports)} ports"
    if item.serial:
        yield f"serial {item.serial}"


def _outlet_details(site: Site, outlet: Outlet) -> Iterable[str]:
    yield outlet.plate or ""
    yield outlet.serves or ""
    yield outlet.person or ""
    for port in outlet.port:
        ends = [use.far_end(cord) for use in [site.ports.get(port)] if use for cord in use.cords]
        patched = f" patched to {', '.join(map(str, ends))}" if ends else " not patched"
        yield f"{port}{patched}"
    yield outlet.cable or ""
