"""Power over Ethernet: what the outlets of a switch are sure to ask for, against what it can give.

IEEE 802.3: for each powered device the switch sets aside the power of its class (PSE power). The
sum may well be more than the devices draw, so more than the budget is a remark, and what was
measured is told beside it. An outlet that wants power must be patched to a port that gives it.
"""

from __future__ import annotations

from collections.abc import Iterator

from asbuilt.facts.ports import outlets_at_switch_port, poe_power
from asbuilt.model.paths import CablingGraph
from asbuilt.model.site import Site
from asbuilt.problem import Problem, some_of
from asbuilt.records.enclosures import Switch


def check_poe(site: Site, net: CablingGraph) -> Iterator[Problem]:
    for item in site.items.values():
        if isinstance(item, Switch):
            yield from _budget(site, item)
            yield from _without_power(site, item)


def _budget(site: Site, switch: Switch) -> Iterator[Problem]:
    power = poe_power(site, switch)
    if power is None or power.allocated_by_class <= power.budget or power.budget == 0:
        return
    message = f"switch {switch.key} can give {switch.poe}, but the power classes of its outlets "
    message += f"({power.powered}) add up to {power.allocated_by_class:g} W"
    if power.measured is not None:
        message += f"; {power.measured:g} W were measured"
    hint = "measure what is drawn, or feed some of them from another switch"
    yield switch.remark("poe", "poe-over-budget", message, hint)


def _without_power(site: Site, switch: Switch) -> Iterator[Problem]:
    """Powered outlets on ports that give none: those not listed, uplinks, all of a 0 W switch."""
    for use in site.ports_of(switch):
        if not (use.cords or use.outlets):
            continue
        if switch.poe is not None and switch.poe.value == 0:
            gives = False
        elif switch.poe_ports:
            gives = use.id.name in switch.poe_ports
        else:
            continue
        wanting = [o.key for o in outlets_at_switch_port(site, use.id) if o.poe and not gives]
        if wanting:
            message = f"outlet {some_of(wanting)} takes its power from the cable, but port "
            message += f"{use.id} gives none"
            hint = "patch it to a port with power, or correct the switch's “poe ports”"
            place = use.cords[0] if use.cords else use.outlets[0]
            yield place.remark("to" if use.cords else "port", "poe-not-given", message, hint)
