"""The terms of the trade that stand on the pages, each said once, in words for somebody who isn't
of the trade.

Where a published standard defines a term, it is named; the words are ours, from memory of it, and
shorter. Everything else is common practice.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

_PRACTICE: Final = "common practice"
_CABLING: Final = "ANSI/TIA-568.0, ISO/IEC 11801-1"
_POWER: Final = "IEEE 802.3"
_SPACES: Final = "ANSI/TIA-569"
_RACKS: Final = "IEC 60297, EIA-310"
_RECORDS: Final = "ANSI/TIA-606"


@dataclass(frozen=True, slots=True)
class GlossaryTerm:
    """A term and what it means; `also` are other words for the same, `source` who defines it."""

    name: str
    meaning: str
    source: str = _PRACTICE
    synonyms: tuple[str, ...] = ()

    @property
    def anchor(self) -> str:
        return "term-" + "".join(c if c.isalnum() else "-" for c in self.name.lower())


TERMS: Final[tuple[GlossaryTerm, ...]] = (
    GlossaryTerm(
        "access port", "A port of a switch for one thing at a desk, a phone or a printer."
    ),
    GlossaryTerm(
        "as found / as left",
        "How something was when somebody came, and how it was when they went. Photos and notes "
        "say which of the two they show.",
    ),
    GlossaryTerm(
        "backbone",
        "A cable between two enclosures, not to an outlet: many people's traffic shares it.",
        _CABLING,
    ),
    GlossaryTerm(
        "category",
        "A grade of copper cable and sockets. Category 6A carries more, farther, than category 6.",
        _CABLING,
        ("cat6", "cat6A"),
    ),
    GlossaryTerm(
        "channel",
        "The whole way from the thing at the desk to the switch: the permanent link and the cords "
        "at both its ends.",
        _CABLING,
    ),
    GlossaryTerm(
        "circuit", "A line a carrier brings into the building, for internet or telephone."
    ),
    GlossaryTerm(
        "cutover",
        "The hour in which work moves from the old to the new, and something may be off.",
    ),
    GlossaryTerm(
        "drop",
        "One cable from the patch panel to an outlet, with what it ends in. “Twelve more drops” "
        "means twelve more sockets in the walls.",
    ),
    GlossaryTerm("elevation", "A drawing of an enclosure from the front or the rear, to scale."),
    GlossaryTerm(
        "enclosure",
        "The cabinet or open frame that panels and switches are mounted in.",
        _PRACTICE,
        ("cabinet", "rack"),
    ),
    GlossaryTerm(
        "fill",
        "How much of a pipe or tray for cables is taken. There is a limit, so that cables can be "
        "drawn in, and stay cool.",
        _SPACES,
    ),
    GlossaryTerm(
        "finding",
        "Something wrong that was noticed and written down; open until somebody clears it.",
    ),
    GlossaryTerm("headroom", "How much more goes in before something has to be bought or moved."),
    GlossaryTerm("jack", "The opening in an outlet or a panel that one plug goes into."),
    GlossaryTerm("job", "Something that was asked for, and how far it is."),
    GlossaryTerm(
        "move, add, change",
        "The everyday jobs: somebody sits elsewhere, something new is connected, something is "
        "connected otherwise.",
        _PRACTICE,
        ("MAC",),
    ),
    GlossaryTerm(
        "outage", "A time in which something doesn't work because of the work that is done."
    ),
    GlossaryTerm(
        "outlet",
        "The socket in a wall, floor or ceiling that a computer, phone or other thing is plugged "
        "into. Its label says where its cable ends.",
        _CABLING,
    ),
    GlossaryTerm(
        "patch cord",
        "A short loose cable with a plug at each end, between a patch panel and a switch or an "
        "outlet and a computer.",
        _CABLING,
        ("cord",),
    ),
    GlossaryTerm(
        "patch panel",
        "A row of sockets in the enclosure in which the cables from the outlets end. It does "
        "nothing by itself; patch cords connect it.",
        _CABLING,
        ("panel",),
    ),
    GlossaryTerm(
        "pathway",
        "What cables lie in on their way: a pipe, a tray, a duct.",
        _SPACES,
    ),
    GlossaryTerm(
        "permanent link",
        "The cable in the wall and the sockets at both its ends, without the loose cords. This is "
        "what is measured when it is built.",
        _CABLING,
    ),
    GlossaryTerm("port", "One socket of a panel or switch, with a number."),
    GlossaryTerm(
        "power over Ethernet",
        "Power that comes with the network cable, so that a phone needs no plug of its "
        "own. Each switch has only so many watts to give.",
        _POWER,
        ("PoE",),
    ),
    GlossaryTerm(
        "rack unit",
        "The measure of height in an enclosure: 44.45 mm (1.75 in). A panel mostly takes one, a "
        "switch one or two.",
        _RACKS,
        ("unit", "U"),
    ),
    GlossaryTerm(
        "records",
        "What is written down of the cabling: where each cable goes, what it serves, when it was "
        "changed.",
        _RECORDS,
        ("as-built records",),
    ),
    GlossaryTerm(
        "revision", "The state of these records on a day; its number is printed on every sheet."
    ),
    GlossaryTerm("router", "What joins the network of the house to the carrier's line."),
    GlossaryTerm(
        "switch",
        "The powered box in the enclosure that passes traffic between everything that is "
        "connected to it. An outlet works only when it is patched to one.",
        _POWER,
    ),
    GlossaryTerm(
        "test",
        "A measurement of a cable that is installed, held against the limits of its category.",
        _CABLING,
        ("certification",),
    ),
    GlossaryTerm("uplink", "The port of a switch by which it reaches the rest of the network."),
    GlossaryTerm(
        "UPS", "A box with batteries that keeps things running for a while without mains power."
    ),
)

TERMS_BY_NAME: Final = {term.name: term for term in TERMS}
