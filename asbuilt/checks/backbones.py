"""Backbones: as many ports at one end as at the other, and no more than the cable has strands.

The ports of the two ends are joined in the order they are written in, so a port too many at one
end leads nowhere. Whether the ports are there and free is asked with all other ports.
"""

from __future__ import annotations

from collections.abc import Iterator

from asbuilt.model.paths import CablingGraph
from asbuilt.model.site import Site
from asbuilt.problem import Problem


def check_backbones(site: Site, net: CablingGraph) -> Iterator[Problem]:
    for backbone in site.backbones.values():
        start, end = len(backbone.from_), len(backbone.to)
        if start != end:
            message = f"backbone {backbone.key} has {_ports(start)} at its one end and {end} at "
            message += "its other"
            hint = "name as many at both ends, in the same order"
            yield backbone.error("to", "backbone-ends", message, hint)
        elif backbone.strands is not None and start > backbone.strands:
            message = f"backbone {backbone.key} ends at {_ports(start)}, but has "
            message += f"{backbone.strands} strands or pairs"
            hint = "a port takes one strand or pair at least; count again"
            yield backbone.remark("strands", "backbone-strands", message, hint)


def _ports(count: int) -> str:
    return f"{count} port{'s'[: count != 1]}"
