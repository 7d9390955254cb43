"""What a switch says of its ports, from the list it was exported to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final

from asbuilt.facts.switch_status import (
    SwitchPortStatus,
    devices_by_name,
    find_device,
    trailing_port_number,
)
from asbuilt.lists.cells import Cell, CellPosition, ListProblem
from asbuilt.lists.columns import NOT_USED, TitledList
from asbuilt.model.site import Site
from asbuilt.problem import suggestion
from asbuilt.records.enclosures import Item
from asbuilt.records.fields import PortId, port_name

#: Words that need no explanation; others are said in the columns file.
_LINK: Final = {
    "up": True, "down": False, "yes": True, "no": False,
    "connected": True, "notconnect": False, "not connected": False, "disconnected": False,
}  # fmt: skip


@dataclass(slots=True)
class SwitchStatusList:
    """The ports heard of; `read_as` tells which names of ports were read as which numbers."""

    heard: list[SwitchPortStatus] = field(default_factory=list)
    read_as: dict[str, str] = field(default_factory=dict)
    left_out: int = 0
    wrong: list[ListProblem] = field(default_factory=list)


def read_switch_status(site: Site, titled: TitledList, switch: Item | None) -> SwitchStatusList:
    """Every row as a port of the records. `switch` is the one the list is of, where no column
    says it."""
    found = SwitchStatusList()
    by_column = dict(titled.columns)
    have = {column.field for column in by_column.values()}
    needed = ("port", "link") if switch else ("switch", "port", "link")
    for name in needed:
        if name not in have:
            hint = "say in the columns file which column holds it"
            if name == "switch":
                hint += ", or name the switch with --switch"
            found.wrong.append(ListProblem(CellPosition(), f"no column holds “{name}”", hint))
    if found.wrong:
        return found
    names = devices_by_name(site)
    told: dict[PortId, int] = {}
    for cells in titled.rows:
        row: dict[str, Cell] = {}
        for one in cells:
            column = by_column.get(one.spot.column)
            if column is not None and one.text:
                row[column.field] = Cell(one.spot, column.words.get(one.text, one.text))
        if any(cell.text == NOT_USED for cell in row.values()):
            found.left_out += 1
            continue
        before = len(found.wrong)
        item = _switch(names, row, switch, cells[0].spot.row, found)
        port = _port(site, item, row, cells[0].spot.row, found) if item else None
        up = _link(row, cells[0].spot.row, found)
        if len(found.wrong) > before or port is None or up is None:
            continue
        if port in told:
            message = f"{port} stands here a second time, first in row {told[port]}"
            found.wrong.append(
                ListProblem(CellPosition(cells[0].spot.row), message, "keep one of the two")
            )
            continue
        told[port] = cells[0].spot.row
        neighbour = row["neighbour"].text if "neighbour" in row else ""
        neighbour_port = row["neighbour port"].text if "neighbour port" in row else ""
        found.heard.append(SwitchPortStatus(port, up, neighbour, neighbour_port))
    return found


def _switch(
    names: Mapping[str, Item | None],
    row: Mapping[str, Cell],
    switch: Item | None,
    number: int,
    found: SwitchStatusList,
) -> Item | None:
    cell = row.get("switch")
    if cell is None:
        if switch is None:
            hint = "fill it in, or name it with --switch"
            found.wrong.append(
                ListProblem(CellPosition(number), "it isn't said which switch this is of", hint)
            )
        return switch
    item = find_device(names, cell.text)
    if item is None:
        several = names.get(cell.text.casefold(), item) is None and cell.text.casefold() in names
        message = f"“{cell.text}” is no switch of these records"
        if several:
            message = f"several things are called “{cell.text}”"
        mend = "say in the columns file what it means: "
        mend += f"{{field: switch, words: {{{cell.text}: 1A/SW1}}}}"
        near = suggestion(cell.text, names)
        found.wrong.append(ListProblem(cell.spot, message, f"{near} {mend}" if near else mend))
    return item


def _port(
    site: Site, item: Item, row: Mapping[str, Cell], number: int, found: SwitchStatusList
) -> PortId | None:
    cell = row.get("port")
    if cell is None:
        found.wrong.append(
            ListProblem(CellPosition(number), "it isn't said which port this is", "fill it in")
        )
        return None
    exact = PortId(item.key, port_name(cell.text))
    if exact in site.ports:
        return exact
    trailing = trailing_port_number(cell.text)
    port = PortId(item.key, trailing or "")
    if trailing is None or port not in site.ports:
        hint = (
            f"say in the columns file what it means: {{field: port, words: {{{cell.text}: …}}}}, "
        )
        hint += f"“{NOT_USED}” to leave it out"
        message = f"{item.key} has no port “{cell.text}”"
        found.wrong.append(ListProblem(cell.spot, message, hint))
        return None
    found.read_as[cell.text] = str(port)
    return port


def _link(row: Mapping[str, Cell], number: int, found: SwitchStatusList) -> bool | None:
    cell = row.get("link")
    if cell is None:
        message = "it isn't said whether the port is up"
        found.wrong.append(ListProblem(CellPosition(number), message, "fill it in"))
        return None
    up = _LINK.get(cell.text.casefold())
    if up is None:
        hint = f"say in the columns file what it means: {{field: link, words: {{{cell.text}: up}}}}"
        found.wrong.append(ListProblem(cell.spot, f"“{cell.text}” is neither up nor down", hint))
    return up
