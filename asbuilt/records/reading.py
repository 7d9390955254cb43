"""The texts of a site's folder → its records, with all that is wrong in them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Final

from asbuilt.problem import Level, Place, Problem, suggestion
from asbuilt.records.fields import PortId
from asbuilt.records.kind import Raw, Record, Spec, read_record
from asbuilt.records.kinds import KINDS, REFERABLE
from asbuilt.records.layout import SECTIONS, Parsed, kinds_in, misplaced, take_apart
from asbuilt.yamltext import SequenceNode, place_of

_ITEM_KINDS: Final = frozenset(REFERABLE["item"])
#: What a reference asks for, in a sentence.
_WANTED: Final = {"item": "mounted item", "link": "outlet or backbone"}


@dataclass(frozen=True, slots=True)
class Records:
    """The records of one site, by kind and key; `problems` says what could not be read.

    Nothing may be concluded from the absence of a record whose kind is `in_doubt`: one of them
    couldn't be read, or not all that it names.
    """

    site: str
    by_kind: Mapping[str, Mapping[str, Record]]
    raw: tuple[Raw, ...] = field(repr=False)
    problems: tuple[Problem, ...]
    in_doubt: frozenset[str] = frozenset()


def take_folder_apart(files: Mapping[str, bytes], folder: str = "") -> Parsed:
    """Every record of a folder's files (path within the folder → bytes), in order of paths."""
    raws: list[Raw] = []
    problems: list[Problem] = []
    for path in sorted(files):
        where = f"{folder}/{path}" if folder else path
        odd = misplaced(where, path)
        if odd:
            problems.append(odd)
        found, wrong = take_apart(where, path, files[path])
        raws += found
        problems += wrong
    if "site.yml" not in files:
        message = "there is no site.yml"
        hint = f"“asbuilt new site {folder.rpartition('/')[2]}” makes one"
        problems.append(Problem(Place(folder or "."), "no-site", message, hint))
    return raws, problems


def take_revision_apart(files: Mapping[str, bytes], folder: str = "") -> Parsed:
    """The same of a revision, whose fields may have former names."""
    raws, problems = take_folder_apart(files, folder)
    return [raw.by_todays_names() for raw in raws], problems


def read_records(site: str, raws: list[Raw], problems: list[Problem]) -> Records:
    """The typed records. References and repeated keys are checked here, over the whole site."""
    by_kind: dict[str, dict[str, Record]] = {name: {} for name in KINDS}
    unread = {problem.place.path for problem in problems if problem.code != "no-site"}
    problems = [
        p for p in problems if not (p.code == "no-site" and f"{p.place.path}/site.yml" in unread)
    ]
    wrong_files = {p.place.path for p in problems if p.level is Level.ERROR}
    in_doubt = {kind for path in wrong_files for kind in kinds_in(path)}
    named: dict[str, dict[str, Raw]] = {name: {} for name in KINDS}
    good: list[Raw] = []
    for raw in raws:
        earlier = _same_key(named, raw)
        if earlier:
            message = f"{raw.kind} {raw.key} is already recorded at {earlier.place}"
            problems.append(Problem(raw.place, "duplicate-key", message, "give it another key"))
            in_doubt.add(raw.kind)
            continue
        named[raw.kind][raw.key.casefold()] = raw
        good.append(raw)
    told: set[tuple[str, str, str]] = set()
    for raw in good:
        kind = KINDS[raw.kind]
        record, wrong = read_record(kind, raw, SECTIONS.get(raw.kind, ()))
        if wrong:
            problems += _once(raw, wrong, told)
        if record is None:
            in_doubt.add(raw.kind)
            continue
        by_kind[raw.kind][raw.key] = record
        if wrong and any(_unread(record, spec) for spec in kind.pointing):
            in_doubt.add(raw.kind)
    problems += _dangling(by_kind, named, frozenset(in_doubt))
    return Records(site, by_kind, tuple(good), tuple(sorted(problems)), frozenset(in_doubt))


def _same_key(named: Mapping[str, Mapping[str, Raw]], raw: Raw) -> Raw | None:
    """A record that already has this key: keys are file names, so case doesn't tell them apart."""
    folded = raw.key.casefold()
    if raw.kind not in _ITEM_KINDS:
        return named[raw.kind].get(folded)
    return next((named[kind][folded] for kind in _ITEM_KINDS if folded in named[kind]), None)


def _once(raw: Raw, wrong: list[Problem], told: set[tuple[str, str, str]]) -> list[Problem]:
    """A column of a table that nobody knows is told in the first line only."""
    if not raw.path.endswith(".csv"):
        return wrong
    fresh = []
    for problem in wrong:
        about = (raw.path, problem.code, problem.message)
        if problem.code != "unknown-key" or about not in told:
            fresh.append(problem)
        told.add(about)
    return fresh


def _unread(record: Record, spec: Spec) -> bool:
    return spec.name in record.raw.fields and not getattr(record, spec.attribute)


def _dangling(
    by_kind: Mapping[str, Mapping[str, Record]],
    named: Mapping[str, Mapping[str, Raw]],
    in_doubt: frozenset[str],
) -> list[Problem]:
    """References to records, and to the items of ports, that aren't there. One that is missed in
    many places is told once. Silent on what may stand where something couldn't be read."""
    missed: dict[tuple[str, str], list[tuple[Record, Spec]]] = {}
    enclosures = {raw.key for raw in named["enclosure"].values()}
    for kind, records in by_kind.items():
        for spec in KINDS[kind].pointing if records else ():
            wanted = "item" if spec.names_ports else spec.refers_to or ""
            if not in_doubt.isdisjoint(REFERABLE[wanted]):
                continue
            known = _known(wanted, named)
            for record in records.values():
                for key in _pointed_at(getattr(record, spec.attribute)):
                    if key in known:
                        continue
                    enclosure = key.partition("/")[0]
                    about = (wanted, key)
                    if wanted == "item" and enclosure not in enclosures:
                        about = ("enclosure", enclosure)
                    missed.setdefault(about, []).append((record, spec))
    return [
        _missing(wanted, key, places, sorted(_known(wanted, named)))
        for (wanted, key), places in missed.items()
    ]


def _known(wanted: str, named: Mapping[str, Mapping[str, Raw]]) -> set[str]:
    return {raw.key for kind in REFERABLE[wanted] for raw in named[kind].values()}


def _pointed_at(value: object) -> Iterable[str]:
    """The keys a field names, whether it names one or many, records or ports."""
    if value is None:
        return ()
    if isinstance(value, str):
        return (value,)
    if isinstance(value, PortId):
        return (value.item,)
    assert isinstance(value, tuple)
    return {one.item if isinstance(one, PortId) else one for one in value}


def _missing(wanted: str, key: str, places: list[tuple[Record, Spec]], known: list[str]) -> Problem:
    found = sorted(_place(record, spec, key) for record, spec in places)
    more = len(found) - 1
    many = f", named here and in {more} other place{'s'[: more > 1]}" if more else ""
    message = f"there is no {_WANTED.get(wanted, wanted)} “{key}”{many}"
    otherwise = "record it"
    if known:
        there = f"one of the {len(known)} there are"
        otherwise += f", or name {there if len(known) > 4 else ' or '.join(known)}"
    return Problem(found[0], "unknown-reference", message, suggestion(key, known, otherwise))


def _place(record: Record, spec: Spec, key: str) -> Place:
    """Where a record names `key`; of a list, the line of it that does."""
    node = record.raw.fields.get(spec.name)
    if isinstance(node, SequenceNode):
        for item in node.value:
            if item.value == key or str(item.value).startswith(f"{key}/"):
                return place_of(record.raw.path, item)
    return record.place_of(spec.name)


def read_folder(site: str, files: Mapping[str, bytes], folder: str = "") -> Records:
    raws, problems = take_folder_apart(files, folder)
    return read_records(site, raws, problems)
