"""What is missing: facts a record could hold and doesn't, counted and listed for the next visit."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from asbuilt.model.site import Site
from asbuilt.records.links import Outlet


@dataclass(frozen=True, slots=True)
class MissingFact:
    """A fact not recorded: what it is, and the outlets it is missing of out of how many."""

    fact: str
    outlets: tuple[str, ...]
    total: int


#: The facts every drop should have, and how one sees that it has it.
_EXPECTED_FACTS: Final[tuple[tuple[str, Callable[[Site, Outlet], bool]], ...]] = (
    ("room", lambda site, outlet: outlet.room is not None),
    ("panel port", lambda site, outlet: bool(outlet.port)),
    ("kind of cable", lambda site, outlet: outlet.cable not in (None, "unknown")),
    ("length", lambda site, outlet: outlet.length is not None),
    ("test result", lambda site, outlet: outlet.key in site.tests_of),
    ("position on the plan", lambda site, outlet: outlet.position is not None),
    ("what it serves", lambda site, outlet: outlet.serves not in (None, "unknown")),
    ("date last seen", lambda site, outlet: outlet.seen is not None),
)


def missing_facts(site: Site) -> tuple[MissingFact, ...]:
    """What is not recorded of this site's drops; devices withheld from a reader are left out."""
    outlets = [outlet for outlet in site.outlets.values() if outlet.serves != "device"]
    found = []
    for what, known in _EXPECTED_FACTS:
        missing = tuple(outlet.key for outlet in outlets if not known(site, outlet))
        if missing:
            found.append(MissingFact(what, missing, len(outlets)))
    return tuple(found)
