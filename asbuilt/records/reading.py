"""The texts of a site's folder → its records, with all that is wrong in them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from asbuilt.problem import Place, Problem, suggestion
from asbuilt.records.kind import Raw, Record, Spec, read_record
from asbuilt.records.kinds import KINDS, REFERABLE
from asbuilt.records.layout import Parsed, misplaced, take_apart
from asbuilt.yamltext import SequenceNode, place_of


@dataclass(frozen=True, slots=True)
class Records:
    """The records of one site, by kind and key; `problems` says what could not be read."""

    site: str
    by_kind: Mapping[str, Mapping[str, Record]]
    raw: tuple[Raw, ...] = field(repr=False)
    problems: tuple[Problem, ...]


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


def read_records(site: str, raws: list[Raw], problems: list[Problem]) -> Records:
    """The typed records. References and repeated keys are checked here, over the whole site."""
    by_kind: dict[str, dict[str, Record]] = {name: {} for name in KINDS}
    problems = list(problems)
    named: dict[str, dict[str, Raw]] = {name: {} for name in KINDS}
    good: list[Raw] = []
    for raw in raws:
        earlier = _same_key(named, raw)
        if earlier:
            message = f"{raw.kind} {raw.key} is already recorded at {earlier.place}"
            problems.append(Problem(raw.place, "duplicate-key", message, "give it another key"))
            continue
        named[raw.kind][raw.key.casefold()] = raw
        good.append(raw)
    keys = {kind: {raw.key for raw in found.values()} for kind, found in named.items()}
    for raw in good:
        kind = KINDS[raw.kind]
        record, wrong = read_record(kind, raw)
        problems += wrong
        if record is not None:
            by_kind[raw.kind][raw.key] = record
            for spec in kind.specs.values():
                if spec.refers_to and spec.name in raw.fields:
                    problems += _dangling(raw, spec, keys)
    return Records(site, by_kind, tuple(good), tuple(sorted(problems)))


def _same_key(named: Mapping[str, Mapping[str, Raw]], raw: Raw) -> Raw | None:
    """A record that already has this key: keys are file names, so case doesn't tell them apart."""
    kinds = REFERABLE["item"] if raw.kind in REFERABLE["item"] else (raw.kind,)
    folded = raw.key.casefold()
    return next((named[kind][folded] for kind in kinds if folded in named[kind]), None)


def _dangling(raw: Raw, spec: Spec, keys: Mapping[str, set[str]]) -> list[Problem]:
    node = raw.fields[spec.name]
    kinds = REFERABLE[spec.refers_to or ""]
    problems: list[Problem] = []
    for item in node.value if isinstance(node, SequenceNode) else [node]:
        key = str(item.value)
        if any(key in keys[kind] for kind in kinds):
            continue
        known = sorted(key for kind in kinds for key in keys[kind])
        place = place_of(raw.path, item)
        message = f"there is no {spec.refers_to} “{key}”"
        hint = suggestion(key, known, f"record it, or name one of the {len(known)} there are")
        problems.append(Problem(place, "unknown-reference", message, hint))
    return problems


def read_folder(site: str, files: Mapping[str, bytes], folder: str = "") -> Records:
    raws, problems = take_folder_apart(files, folder)
    return read_records(site, raws, problems)
