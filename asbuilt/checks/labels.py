"""Labels: as the site's scheme has them, and told apart where they are meant to be.

A site may say what its outlets' labels look like (`labels:` in site.yml). By ANSI/TIA-606 a link's
label names its space, panel and port, the same text at both ends; each part is compared with where
the cable ends, as far as the enclosure and the panel go by such names. A pattern of the site's own
is filled in from the record and compared as a whole.

Labels may repeat on purpose: without a scheme that tells every port apart, repeats are told of in
one remark a site, for whoever looks for a socket.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from asbuilt.model.paths import CablingGraph
from asbuilt.model.site import Site
from asbuilt.problem import Problem, quoted, some_of
from asbuilt.records.fields import PortId
from asbuilt.records.links import Outlet
from asbuilt.trade.identifiers import LabelPattern, LinkId, is_space, read_label_pattern, read_link

#: By enclosure, the names its space may go by.
SpaceNames = Mapping[str, set[str]]

TIA_606 = "ANSI/TIA-606"
MAX_SINGLE_REMARKS = 10  # so many labels beside the scheme are one slip: the scheme


def check_labels(site: Site, net: CablingGraph) -> Iterator[Problem]:
    scheme = site.info.labels
    pattern = read_label_pattern(scheme) if scheme and scheme != TIA_606 else None
    if isinstance(pattern, str):
        message = f"{quoted(scheme or '')} is no label scheme: {pattern}"
        hint = f"write {TIA_606}, or a pattern like {{enclosure}}-{{panel}}{{port:02}}"
        yield site.info.error("labels", "label-pattern", message, hint)
        return
    yield from _repeats(site, pattern)
    if scheme:
        spaces = {key: _space_names(site, key) for key in site.enclosures}
        outlets = site.outlets.values()
        misfits = [m for outlet in outlets for m in _mismatches(site, pattern, spaces, outlet)]
        if len(misfits) > MAX_SINGLE_REMARKS:
            keys = some_of(list(dict.fromkeys(misfit.outlet.key for misfit in misfits)))
            message = f"{len(misfits)} labels don't follow {scheme}: those of {keys}"
            hint = "look at the scheme first; labels of an older one may stay as they are"
            yield site.info.remark("labels", "label-scheme", message, hint)
        else:
            for misfit in misfits:
                yield misfit.as_problem()


@dataclass(frozen=True, slots=True)
class LabelMismatch:
    outlet: Outlet
    field: str
    message: str
    hint: str

    def as_problem(self) -> Problem:
        return self.outlet.remark(self.field, "label-scheme", self.message, self.hint)


def _mismatches(
    site: Site, pattern: LabelPattern | None, spaces: SpaceNames, outlet: Outlet
) -> Iterator[LabelMismatch]:
    texts = {"label": site.label_of(outlet)}
    if outlet.label_at_panel:
        texts["label at panel"] = outlet.label_at_panel
    for field, text in texts.items():
        if pattern is None:
            wrong = _compare_with_606(site, spaces, outlet, text)
        else:
            wrong = _compare_with_pattern(site, pattern, outlet, text)
        if wrong:
            yield LabelMismatch(outlet, field, *wrong)


def _compare_with_606(
    site: Site, spaces: SpaceNames, outlet: Outlet, text: str
) -> tuple[str, str] | None:
    link = read_link(text)
    if link is None:
        hint = "it is space-panel and port, two digits at least, like 1A-A07"
        return f"the label {quoted(text)} is no link identifier by {TIA_606}", hint
    ports = [port for port in outlet.port if port in site.ports]
    differences = [_disagreement(site, spaces, link, port) for port in ports]
    if not differences or None in differences:
        return None
    return f"the label {quoted(text)} says {differences[0]}", "correct the label or the port"


def _disagreement(site: Site, spaces: SpaceNames, link: LinkId, port: PortId) -> str | None:
    """What a label says otherwise than the port does; None when they agree as far as one can
    tell."""
    item = site.items[port.item]
    names = spaces.get(port.enclosure)
    if names and link.space not in names:
        return f"space {link.space}, but its cable ends in enclosure {port.enclosure}"
    panels = [name for name in (item.name, item.label or "") if name.isalpha() and len(name) < 3]
    if link.panel and panels and link.panel not in [name.upper() for name in panels]:
        return f"panel {link.panel}, but its cable ends at panel {port.item}"
    if port.name.isdigit() and link.port != int(port.name):
        return f"port {link.port}, but its cable ends at port {port}"
    return None


def _space_names(site: Site, enclosure: str) -> set[str]:
    """The names an enclosure's space may go by that are names of spaces by the standard."""
    record = site.enclosures[enclosure]
    room = site.rooms.get(record.room or "")
    names = [enclosure, record.label or ""]
    names += [room.key, room.name or ""] if room else []
    upper = [name.upper() for name in names]
    return {name for name in upper if is_space(name) and name[0].isdigit()}


def _compare_with_pattern(
    site: Site, pattern: LabelPattern, outlet: Outlet, text: str
) -> tuple[str, str] | None:
    wanted = []
    for port in outlet.port or (None,):
        room = site.rooms.get(outlet.room or "")
        values = {"room": outlet.room, "floor": room.floor if room else None}
        if port is not None:
            values |= {"enclosure": port.enclosure, "panel": port.item.partition("/")[2]}
            values["port"] = port.name
        known = {name: value for name, value in values.items() if value is not None}
        wanted.append(pattern.fill(known))
    if text in wanted or None in wanted:
        return None
    message = f"the label {quoted(text)} doesn't follow the site's scheme"
    return message, f"by {site.info.labels} it is {quoted(wanted[0] or '')}"


def _repeats(site: Site, pattern: LabelPattern | None) -> Iterator[Problem]:
    having: dict[str, list[Outlet]] = defaultdict(list)
    for outlet in site.outlets.values():
        having[site.label_of(outlet)].append(outlet)
    repeated = {label: outlets for label, outlets in having.items() if len(outlets) > 1}
    if not repeated:
        return
    if site.info.labels and (pattern is None or pattern.has_part("port")):
        for label, (first, *others) in repeated.items():
            for outlet in others:
                message = f"the label {quoted(label)} is outlet {first.key}'s too"
                hint = "by the site's scheme each label stands for one port"
                yield outlet.remark("label", "label-repeats", message, hint)
    elif not site.info.labels:
        shown = [f"{quoted(label)} ({len(outlets)})" for label, outlets in repeated.items()]
        message = f"labels that stand on several outlets: {some_of(shown)}"
        hint = "nothing to do if they are meant so; the outlet's key tells them apart"
        yield next(iter(repeated.values()))[1].remark("label", "label-repeats", message, hint)
