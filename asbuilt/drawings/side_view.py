"""The side of an enclosure: how deep each item reaches from the rails it hangs on, to scale.

x counts millimetres from the face of the front rails backwards; heights are as in placing.py.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from asbuilt.drawings.rack_positions import PlacedItem, items_on_face, printed_units
from asbuilt.drawings.sheet import FindHref, TitleBlock, draw_sheet, no_href
from asbuilt.drawings.svg_elements import Box, line, linked, rect, text_line, title_element
from asbuilt.drawings.text_metrics import text_width
from asbuilt.model.describe import (
    describe_item,
    format_depth,
    format_quantity,
    format_unit_position,
    item_name,
    unit_count,
)
from asbuilt.model.site import Site
from asbuilt.records.enclosures import Enclosure, Reserve
from asbuilt.trade.rack import RACK_UNIT, height_of_units, lower_edge

_MARGIN: Final = 56.0  # beside the rails, for unit numbers
_CAP: Final = 20.0
#: How much of the depth an item of unknown depth is drawn with, dashed.
_UNKNOWN_DEPTH_SHARE: Final = 0.35


def draw_side_view(
    site: Site, enclosure_key: str, title: TitleBlock, *, link: FindHref = no_href
) -> str | None:
    """An enclosure from its right side, front to the left, on a sheet; None where its depth isn't
    recorded."""
    enclosure = site.enclosures[enclosure_key]
    if enclosure.depth is None:
        return None
    depth = enclosure.depth.to("mm")
    front = items_on_face(site, enclosure_key, "front", "front")
    rear = items_on_face(site, enclosure_key, "rear", "rear")
    height = height_of_units(unit_count(enclosure))
    drawn = [_cabinet(enclosure, depth, height), _unit_numbers(enclosure, depth)]
    drawn += [_draw_item(site, placed, depth, link) for placed in _deepest_first(front)]
    drawn += [
        _draw_item(site, placed, depth, link, from_rear=True) for placed in _deepest_first(rear)
    ]
    top, size = -height - _CAP - 40, _text_size(depth)
    caption = f"{format_quantity(site, enclosure.depth)} deep"
    drawn += [
        text_line(-_MARGIN, top + 22, "SIDE", 1.5 * size, bold=True),
        text_line(depth + _MARGIN, top + 22, caption, size, anchor="end"),
        text_line(0, _CAP + 22, "front", size),
        text_line(depth, _CAP + 22, "rear", size, anchor="end"),
    ]
    area = Box(-_MARGIN, top, depth + 2 * _MARGIN, _CAP + 32 - top)
    heading = f"Side of {enclosure.label or enclosure.key}"
    told_of = ". ".join((caption, *_description(site, front, rear))) + "."
    return draw_sheet(f"section-{enclosure_key}", "".join(drawn), area, title, heading, told_of)


def _deepest_first(placed: Sequence[PlacedItem]) -> list[PlacedItem]:
    """Of two halves in one unit the shallower is drawn over the deeper."""
    return sorted(placed, key=lambda p: -(p.item.depth.to("mm") if p.item.depth else 0))


def _cabinet(enclosure: Enclosure, depth: float, height: float) -> str:
    outside = Box(-_MARGIN + 8, -height - _CAP, depth + 2 * _MARGIN - 16, height + 2 * _CAP)
    return "".join(
        (
            rect(outside, "thick"),
            line(0, -height, 0, 0, "thick"),
            line(depth, -height, depth, 0, "line dash"),
            line(0, -height, depth, -height, "thin"),
            line(0, 0, depth, 0, "thin"),
        )
    )


def _unit_numbers(enclosure: Enclosure, depth: float) -> str:
    drawn = []
    size = 1.16 * _text_size(depth)
    for position in range(1, unit_count(enclosure) + 1):
        printed = str(printed_units(enclosure, position, position)[0])
        base = -lower_edge(position) - RACK_UNIT / 2 + 6.5
        middle = _MARGIN / 2 - 4
        drawn.append(text_line(-middle, base, printed, size, anchor="middle"))
        drawn.append(text_line(depth + middle, base, printed, size, anchor="middle"))
        edge = -lower_edge(position)
        drawn.append(line(0, edge, depth, edge, "thin grey"))
    return "".join(drawn)


def _draw_item(
    site: Site, placed: PlacedItem, depth: float, link: FindHref, *, from_rear: bool = False
) -> str:
    """An item from the rails it hangs on; its words stand in it, or beside it where it is short.
    One that is deeper than the enclosure reaches over the far line, in the accent colour."""
    item = placed.item
    reserve = isinstance(item, Reserve)
    reach = item.depth.to("mm") if item.depth else _UNKNOWN_DEPTH_SHARE * depth
    too_deep = reach > depth
    reach = min(reach, depth + _MARGIN / 4)
    box = Box(depth - reach if from_rear else 0, placed.box.y, reach, placed.box.height)
    what = describe_item(item)
    words = f"{item_name(item)}, {what if reserve else format_depth(site, item)}"
    size = _text_size(depth)
    inside = box.width - 16
    if text_width(words, size) <= inside:
        x, anchor, room = box.x + 8, "start", inside
    else:
        x, anchor = (box.x - 8, "end") if from_rear else (box.right + 8, "start")
        room = (depth - reach) / 2
    label = text_line(x, box.centre_y + size * 0.36, words, size, width=room, anchor=anchor)
    outline = "line on-paper" if item.depth else "line dash on-paper"
    shape = rect(box, f"{outline} by-accent" if too_deep else outline)
    told_of = title_element(f"{format_unit_position(item)}: {item_name(item)}, {what}")
    return linked(link("item", item.key), told_of + shape + label, "item")


def _text_size(depth: float) -> float:
    """A deep enclosure is drawn wide and so shown small: its lettering is larger."""
    return max(15.5, (depth + 2 * _MARGIN) / 52)


def _description(
    site: Site, front: Sequence[PlacedItem], rear: Sequence[PlacedItem]
) -> Iterator[str]:
    for side, items in (("front", front), ("rear", rear)):
        for placed in items:
            words = f"{item_name(placed.item)}, {format_depth(site, placed.item)}"
            yield f"{format_unit_position(placed.item)} {side}: {words}"
