"""Cords: put in, put elsewhere, taken out."""

from __future__ import annotations

from collections.abc import Mapping

from asbuilt.edits.requests import AddRecord, Refusal, Relocate, RemoveRecord, SetFields, Wish
from asbuilt.edits.yaml_values import Said
from asbuilt.model.site import PortState, PortUse, Site
from asbuilt.problem import suggestion
from asbuilt.records.fields import PortId, read_port
from asbuilt.records.links import Cord


def patch(
    site: Site, here: PortId, there: PortId, fields: Mapping[str, Said] | None = None
) -> list[Wish]:
    """A cord from `here` to `there`. A cord that is on `here` already goes to `there` with its
    other end; `fields` (length, colour, label) are those of the cord from now on."""
    one, other = _use(site, here), _use(site, there)
    said = dict(fields or {})
    if here == there:
        raise Refusal(f"a cord can't go from {here} to itself", "name two ports")
    for use in (one, other):
        if use.state is PortState.DEAD:
            raise Refusal(f"port {use.id} is dead", "name another, or clear that first")
    between = next((cord for cord in one.cords if cord in other.cords), None)
    if between is None and other.cords:
        ends = ", ".join(str(other.far_end(cord)) for cord in other.cords)
        raise Refusal(f"there is a cord on {there}, from {ends}", "take it out first")
    if len(one.cords) > 1:
        raise Refusal(f"there are {len(one.cords)} cords on {here}", "take all but one out first")
    if not one.cords:
        return [AddRecord("cord", str(here), {"to": str(there), **said})]
    cord = one.cords[0]
    wishes = [] if between else end_goes_to(site, cord, one.far_end(cord), there)
    wishes += [SetFields("cord", cord.key, name, value) for name, value in said.items()]
    if not wishes:
        raise Refusal(f"{here} is patched to {there} already")
    return wishes


def unpatch(site: Site, port: PortId) -> list[Wish]:
    """The cord on this port is taken out."""
    use = _use(site, port)
    if not use.cords:
        raise Refusal(f"there is no cord on {port}")
    return [RemoveRecord("cord", cord.key) for cord in use.cords]


def end_goes_to(site: Site, cord: Cord, end: PortId, there: PortId) -> list[Wish]:
    """The one end of a cord goes to another port; the cord stays the same."""
    if cord.from_ == end:
        return [Relocate("cord", cord.key, str(there))]
    return [SetFields("cord", cord.key, "to", str(there))]


def port_of(site: Site, text: str, enclosure: str | None = None) -> PortId:
    """A port as it is typed: in full, or short (`A/01`) where the site has one enclosure."""
    if text.count("/") == 1:
        only = enclosure or (next(iter(site.enclosures)) if len(site.enclosures) == 1 else None)
        if only is None:
            raise Refusal(f"“{text}” doesn't say which enclosure", "write it like “1A/A/01”")
        text = f"{only}/{text}"
    port = read_port(text)
    if port is None:
        raise Refusal(f"“{text}” is no port", "write enclosure/item/port, like “1A/A/01”")
    return port


def _use(site: Site, port: PortId) -> PortUse:
    use = site.ports.get(port)
    if use is None:
        raise Refusal(f"there is no port {port}", suggestion(str(port), map(str, site.ports)))
    return use
