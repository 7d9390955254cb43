"""Media: fibre ends at fibre ports, copper at copper ones.

A panel takes copper unless it says `media: fibre`. Some frames take couplers and jacks side by
side, so this is a remark.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from asbuilt.model.paths import CablingGraph
from asbuilt.model.site import Site
from asbuilt.problem import Problem
from asbuilt.records.enclosures import Panel
from asbuilt.records.fields import PortId
from asbuilt.records.kind import Record
from asbuilt.records.links import COPPER_CABLES, FIBRE_CABLES, Backbone, Outlet


def check_media(site: Site, net: CablingGraph) -> Iterator[Problem]:
    for outlet in site.outlets.values():
        medium = medium_of(outlet)
        if medium:
            yield from _ends(site, outlet, "cable", f"{outlet.cable} cable", medium, outlet.port)
    for backbone in site.backbones.values():
        medium = medium_of(backbone)
        if medium:
            ends = (*backbone.from_, *backbone.to)
            yield from _ends(site, backbone, "cable", f"{backbone.cable} cable", medium, ends)
    for cord in site.cords.values():
        if cord.media:
            ends = (cord.from_, cord.to)
            yield from _ends(site, cord, "media", f"a {cord.media} cord", cord.media, ends)


def medium_of(cable: Outlet | Backbone) -> str | None:
    """copper, fibre, or None where the kind of cable doesn't say."""
    if cable.cable in COPPER_CABLES:
        return "copper"
    return "fibre" if cable.cable in FIBRE_CABLES else None


def _ends(
    site: Site, record: Record, field: str, what: str, medium: str, ports: Iterable[PortId]
) -> Iterator[Problem]:
    for item in dict.fromkeys(port.item for port in ports):
        panel = site.items.get(item)
        if isinstance(panel, Panel) and panel.media != medium:
            message = f"{what} ends at panel {item}, which takes {panel.media}"
            hint = (
                f"look at what is there, and correct the cable's record or write “media: {medium}” "
            )
            hint += "at the panel"
            yield record.remark(field, "media-differ", message, hint)
