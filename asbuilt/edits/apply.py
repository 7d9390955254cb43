"""Wishes → the texts of the whole site, held against what was wished for.

What is cut into a text is read again, and whatever the records say then is compared with what
they ought to say. An edit that would do anything else is refused: nothing is written on trust.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import Final, TypeAlias

from asbuilt.edits.file_editor import ITEM_KINDS, TextEdit, apply_text_edits, file_of, new_texts
from asbuilt.edits.positions import FilePositions, positions_in, table_of, test_rows
from asbuilt.edits.requests import AddRecord, Refusal, Relocate, RemoveRecord, SetFields, Wish
from asbuilt.edits.yaml_values import Said
from asbuilt.model.site import natural
from asbuilt.records.kind import Raw
from asbuilt.records.layout import SITE_SECTIONS, TABLES, is_record_file, take_apart
from asbuilt.yamltext import MappingNode, Node, SequenceNode

Texts: TypeAlias = Mapping[str, bytes]
Key: TypeAlias = tuple[str, str]
#: Kinds whose records are a file each, and the folder of those.
_OWN_FILE: Final = {"job": "jobs", "enclosure": "enclosures"}
_Said: TypeAlias = dict[Key, dict[str, object]]


def edit(texts: Texts, wishes: Iterable[Wish]) -> dict[str, bytes]:
    """The files that change (path → bytes) when all of this is done; a file that goes is empty
    of records, not removed. Raises Refusal when it can't be done in place."""
    wishes = tuple(wishes)
    where = _whereabouts(texts)
    by_path: dict[str, list[Wish]] = defaultdict(list)
    for wish in wishes:
        by_path[_path_for(wish, texts, where)].append(wish)
        if isinstance(wish, Relocate):  # the file it goes to is edited too
            by_path[f"enclosures/{wish.to.partition('/')[0]}.yml"] += []
    new: dict[str, bytes] = {}
    sheets: dict[str, FilePositions] = {}
    yaml_wishes: dict[str, Sequence[Wish]] = {}
    for path, found in by_path.items():
        if path.endswith(".csv"):
            new[path] = _without_tests(path, texts[path], found)
        elif path not in texts and isinstance(found[0], AddRecord) and found[0].kind in _OWN_FILE:
            new[path] = file_of(found[0].kind, found[0].fields).encode()
        elif path not in texts and (path.startswith("enclosures/") or not found):
            raise Refusal(f"there is no enclosure {PurePosixPath(path).stem}", "record it first")
        else:
            sheets[path] = positions_in(path, texts.get(path, b""))
            yaml_wishes[path] = found
    for path, text in new_texts(sheets, yaml_wishes).items():
        new[path] = sheets[path].bytes_of(text)
    new = {path: data for path, data in new.items() if texts.get(path) != data}
    _hold(texts, new, wishes)
    return new


def after(texts: Texts, new: Texts) -> dict[str, bytes]:
    """All texts once these are written."""
    return {**texts, **new}


@dataclass(frozen=True, slots=True)
class _Where:
    """Which file each record stands in, and the keys of each table's files."""

    path_of: Mapping[Key, str]
    tables: Mapping[str, Mapping[str, Sequence[str]]]


def _whereabouts(texts: Texts) -> _Where:
    path_of: dict[Key, str] = {}
    tables: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for path in sorted(texts):
        if not is_record_file(path):
            continue
        raws, _ = take_apart(path, path, texts[path])
        kind = table_of(path) if path.endswith(".yml") else None
        if kind:
            tables[kind][path] = []
        for raw in raws:
            path_of.setdefault((raw.kind, raw.key), path)
            if kind:
                tables[kind][path].append(raw.key)
    return _Where(path_of, tables)


def _path_for(wish: Wish, texts: Texts, where: _Where) -> str:
    if not isinstance(wish, AddRecord):
        path = where.path_of.get((wish.kind, wish.key))
        if path is None:
            raise Refusal(f"there is no {wish.kind} {wish.key}")
        return path
    if (wish.kind, wish.key) in where.path_of:
        raise Refusal(f"{wish.kind} {wish.key} is recorded already", "give it another key")
    if wish.kind in ITEM_KINDS or wish.kind == "cord":
        return f"enclosures/{wish.key.partition('/')[0]}.yml"
    if wish.kind in _OWN_FILE:
        return f"{_OWN_FILE[wish.kind]}/{wish.key}.yml"
    if wish.kind in SITE_SECTIONS.values():
        return "site.yml"
    name = next((name for name, kind in TABLES.items() if kind == wish.kind), None)
    if name is None:
        raise Refusal(f"a {wish.kind} can't be added by command")
    return _table_file(name, wish, where)


def _table_file(name: str, wish: AddRecord, where: _Where) -> str:
    """The file of a table split over several that holds the key before this one."""
    files = where.tables.get(wish.kind, {})
    if len(files) < 2:
        return next(iter(files), f"{name}.yml")
    order = natural(wish.key)
    below = [
        (max(earlier), path)
        for path, keys in files.items()
        if (earlier := [natural(key) for key in keys if natural(key) < order])
    ]
    return max(below)[1] if below else min(files)


def _without_tests(path: str, data: bytes, wishes: Sequence[Wish]) -> bytes:
    rows = test_rows(path, data)
    text = data.decode("utf-8-sig")
    bom = data[:3] if data.startswith(b"\xef\xbb\xbf") else b""
    cuts = []
    for wish in wishes:
        if not isinstance(wish, RemoveRecord):
            raise Refusal(f"{path} holds results as they were measured", "they aren't edited")
        cuts.append(TextEdit(*rows[wish.key], ""))
    return bom + apply_text_edits(text, cuts).encode()


# What was wished for, held against what became


def _hold(texts: Texts, new: Texts, wishes: Sequence[Wish]) -> None:
    before, was_wrong = _said_in(texts, new)
    now, is_wrong = _said_in(new, new)
    worse = [text for text in is_wrong if text not in was_wrong]
    wished = _wished(before, wishes)
    if worse or now != wished:
        odd = sorted(key for key in now.keys() | wished.keys() if now.get(key) != wished.get(key))
        named = ", ".join(f"{kind} {key}" for kind, key in odd[:3]) or (worse and worse[0])
        raise Refusal(
            f"the files are laid out so that this can't be edited in place ({named})",
            "nothing was changed; change it by hand",
        )


def _said_in(texts: Texts, paths: Iterable[str]) -> tuple[_Said, list[str]]:
    said: _Said = {}
    wrong: list[str] = []
    for path in sorted(paths):
        raws, problems = take_apart(path, path, texts.get(path, b""))
        wrong += [f"{problem.code} {problem.message}" for problem in problems]
        for raw in raws:
            key = (raw.kind, raw.key) if raw.kind != "test" else (raw.kind, f"{path} {raw.key}")
            number = 2
            while key in said:
                key, number = (raw.kind, f"{raw.key} ({number})"), number + 1
            said[key] = typed(raw)
    return said, wrong


def typed(raw: Raw) -> dict[str, object]:
    """What a record says, as it was typed; what its place says is left to its key."""
    return {
        name: said_by(node)
        for name, node in raw.fields.items()
        if not (raw.kind == "cord" and name == "from")
    }


def said_by(node: Node) -> object:
    if isinstance(node, SequenceNode):
        return tuple(said_by(item) for item in node.value)
    if isinstance(node, MappingNode):
        return {str(key.value): said_by(value) for key, value in node.value}
    return str(node.value)


def _wished(before: _Said, wishes: Sequence[Wish]) -> _Said:
    """What the records ought to say."""
    said = {key: dict(fields) for key, fields in before.items()}
    for wish in wishes:
        if isinstance(wish, SetFields) and (wish.kind, wish.key) in said:
            fields = said[wish.kind, wish.key]
            if wish.said is None:
                fields.pop(wish.field, None)
            else:
                fields[wish.field] = _plain(wish.said)
    carried: _Said = {}
    for wish in wishes:
        if isinstance(wish, RemoveRecord):
            said.pop((wish.kind, wish.key), None)
            if wish.kind == "test":
                _drop_test(said, wish.key)
        elif isinstance(wish, Relocate):
            carried[wish.kind, wish.to] = _placed(wish, said.pop((wish.kind, wish.key)))
    said |= carried
    for wish in wishes:
        if isinstance(wish, AddRecord):
            fields = {name: _plain(value) for name, value in wish.fields.items()}
            said[wish.kind, wish.key] = fields
    return said


def _drop_test(said: _Said, key: str) -> None:
    for found in [k for k in said if k[0] == "test" and k[1].endswith(f" {key}")]:
        del said[found]


def _placed(wish: Relocate, fields: dict[str, object]) -> dict[str, object]:
    if wish.kind in ITEM_KINDS:
        fields = {name: value for name, value in fields.items() if name not in ("face", "at")}
        fields["face"] = wish.face
        if wish.at is not None:
            fields["at"] = wish.at
    return fields


def _plain(said: Said) -> object:
    if isinstance(said, str):
        return said
    return dict(said) if isinstance(said, Mapping) else tuple(said)
