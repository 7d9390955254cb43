"""A site's lists. Those of outlets, cords and findings can be taken in again as they are."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Final

from asbuilt.edits.apply import said_by
from asbuilt.lists.materials import materials_table
from asbuilt.lists.table import Table
from asbuilt.model.site import PortUse, Site
from asbuilt.records.kind import Record
from asbuilt.records.kinds import KINDS
from asbuilt.records.schema import own_first

#: The first column of each list that can be taken in: what its rows are known by.
KEYS: Final = {"outlet": "outlet", "cord": "from", "finding": "finding", "test": "link"}
#: Columns a list has even when nothing stands in them: they are what one fills in.
_ALWAYS: Final = {
    "outlet": ("label", "room", "plate", "port", "cable", "length", "serves", "person", "state"),
    "cord": ("to", "cord", "colour", "label"),
    "finding": ("what", "severity", "room", "enclosure", "found on", "found by", "cleared on"),
}


def outlets_table(site: Site) -> Table:
    return _records("outlets", "outlet", site.outlets.values())


def patching_table(site: Site) -> Table:
    """The patch schedule: a cord a row."""
    return _records("patching", "cord", site.cords.values())


def findings_table(site: Site) -> Table:
    return _records("findings", "finding", site.findings.values())


def ports_table(site: Site) -> Table:
    """The port map: every port there is, what ends at it and where it is patched to."""
    header = (
        "port", "printed", "state", "outlet", "label", "room", "backbone", "circuit",
        "patched to", "cord",
    )  # fmt: skip
    rows = (_port(site, use) for item in site.items.values() for use in site.ports_of(item))
    return Table("ports", header, tuple(rows))


TABLES: Final[Mapping[str, Callable[[Site], Table]]] = {
    "outlets": outlets_table,
    "patching": patching_table,
    "ports": ports_table,
    "findings": findings_table,
    "materials": materials_table,
}


def cell(value: object) -> str:
    """A field as it was typed, in one cell; a list with commas."""
    if isinstance(value, tuple):
        return ", ".join(str(item) for item in value)
    if isinstance(value, dict):
        return ", ".join(f"{name}: {text}" for name, text in value.items())
    return str(value)


def _records(title: str, kind: str, records: Iterable[Record]) -> Table:
    records = list(records)
    used = {name for record in records for name in record.raw.fields}
    fields = [
        spec.name
        for spec in own_first(KINDS[kind])
        if spec.name != KEYS[kind] and (spec.name in used or spec.name in _ALWAYS[kind])
    ]
    rows = ((record.key, *(_said(record, name) for name in fields)) for record in records)
    return Table(title, (KEYS[kind], *fields), tuple(rows))


def _said(record: Record, name: str) -> str:
    node = record.raw.fields.get(name)
    return "" if node is None else cell(said_by(node))


def _port(site: Site, use: PortUse) -> tuple[str, ...]:
    ends = [use.far_end(cord) for cord in use.cords]
    return (
        str(use.id),
        (use.item.printed or {}).get(use.id.name, ""),
        use.state.value,
        _listed(outlet.key for outlet in use.outlets),
        _listed(site.label_of(outlet) for outlet in use.outlets),
        _listed(dict.fromkeys(outlet.room or "" for outlet in use.outlets)),
        _listed(backbone.key for backbone in use.backbones),
        _listed(circuit.key for circuit in use.circuits),
        _listed(str(end) for end in ends),
        _listed(str(cord.cord) for cord in use.cords if cord.cord),
    )


def _listed(texts: Iterable[str]) -> str:
    found: Sequence[str] = [text for text in texts if text]
    return ", ".join(found)
