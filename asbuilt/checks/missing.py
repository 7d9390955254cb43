"""Missing facts: what isn't known yet, counted, one remark a kind of fact.

A site that is surveyed, not yet labelled, measured or tested is a valid site. What is missing is
counted and listed here for the next visit: the facts of a link's record by ANSI/TIA-606 (cable,
outlet's place, length, test), and of the rest what the drawings and paths need.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final

from asbuilt.facts.missing_facts import missing_facts
from asbuilt.model.paths import CablingGraph
from asbuilt.model.site import Site
from asbuilt.problem import Problem, some_of
from asbuilt.records.enclosures import Panel, Switch
from asbuilt.records.kind import Record
from asbuilt.records.kinds import KINDS

#: The field that holds the fact, where one does.
_FIELDS: Final[Mapping[str, str]] = {
    "room": "room",
    "panel port": "port",
    "kind of cable": "cable",
    "length": "length",
    "position on the plan": "position",
    "what it serves": "serves",
    "date last seen": "seen",
}


def check_missing(site: Site, net: CablingGraph) -> Iterator[Problem]:
    has_plan = any(floor.plan for floor in site.floors.values())
    for gap in missing_facts(site):
        field = _FIELDS.get(gap.fact, "")
        if gap.fact == "position on the plan" and not has_plan:
            continue
        if gap.fact == "test result" and "test" in site.in_doubt:
            continue
        outlets = [site.outlets[key] for key in gap.outlets]
        # A field that is there but couldn't be read was told of; “unknown” is there and says so.
        outlets = [o for o in outlets if field not in o.raw.fields or getattr(o, field)]
        what = gap.fact if gap.fact.startswith("what") else f"the {gap.fact}"
        yield from _remark_missing(what, field or "label", outlets, gap.total)
    yield from _missing_of_other_kinds(site)


def _missing_of_other_kinds(site: Site) -> Iterator[Problem]:
    enclosures, backbones = site.enclosures.values(), site.backbones.values()
    yield from _remark_missing(
        "the room", "room", _records_without(enclosures, "room"), len(enclosures)
    )
    yield from _remark_missing(
        "the depth", "depth", _records_without(enclosures, "depth"), len(enclosures)
    )
    yield from _remark_missing(
        "the kind of cable", "cable", _records_without(backbones, "cable"), len(backbones)
    )
    yield from _remark_missing(
        "the length", "length", _records_without(backbones, "length"), len(backbones)
    )
    live = [circuit for circuit in site.circuits.values() if circuit.state == "live"]
    landing = [c for c in live if c.lands_on is None and "lands on" not in c.raw.fields]
    yield from _remark_missing("the port it lands on", "lands on", landing, len(live))
    ported = [item for item in site.items.values() if isinstance(item, (Panel, Switch))]
    for role in ("panel", "switch"):
        items = [item for item in ported if item.role == role]
        yield from _remark_missing(
            "the number of ports", "ports", _records_without(items, "ports"), len(items)
        )


def _records_without(records: Iterable[Record], field: str) -> list[Record]:
    return [r for r in records if getattr(r, field) is None and field not in r.raw.fields]


def _remark_missing(what: str, field: str, records: Sequence[Record], of: int) -> Iterator[Problem]:
    if not records:
        return
    kind = records[0].raw.kind
    keys = some_of([record.key for record in records])
    of_them = f"{len(records)} of {of} {KINDS[kind].plural}: {keys}"
    message = f"{what} isn't recorded for {of_them if of > 1 else f'{kind} {keys}'}"
    yield records[0].remark(field, "fact-missing", message, "note it at the next visit")
