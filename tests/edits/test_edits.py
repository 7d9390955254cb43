"""Edits in place: what is wished for happens, everything else stays to the byte."""

from __future__ import annotations

import re
from dataclasses import dataclass

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from asbuilt.edits.apply import edit
from asbuilt.edits.requests import AddRecord, Refusal, Relocate, RemoveRecord, SetFields
from asbuilt.edits.yaml_values import means_more, scalar, value
from asbuilt.records.layout import take_apart

SITE = b"name: Harbour Lane Practice\n"

ENCLOSURE = """\
# The cabinet in the store
kind: wall-mounted cabinet
room: "110"   # next to the sink
height: 12 U

front:                                   # U from the bottom
  12:   {panel: A, ports: 24, category: 6}   # north wall
  11:   {switch: SW1, ports: 24, uplinks: 4}

  # the old one
  9-10: {panel: 'B', ports: 48, printed: {1: "x: y", 2: z}}
  1-2:
    ups: UPS1   # heavy
    output: 900 W
rear:
  12: [{panel: L, ports: 12, part: left}, {panel: R, ports: 12, part: right}]
without U:
  - {power strip: P1, sockets: 8}
  # - a comment among them
  - {manager: M1, where: "left: rear"}
patching:   # one line a cord
  A/01: {to: SW1/01, cord: 0.3 m}
  A/02: {to: SW1/02, cord: 0.3 m}  # red

# the uplink
  SW1/25: {to: 1A/R/01, cord: 0.5 m}
"""


def after(text: str, *wishes: object, path: str = "enclosures/1A.yml") -> str:
    texts = {"site.yml": SITE, path: text.encode()}
    new = edit(texts, wishes)  # type: ignore[arg-type]
    assert set(new) <= {path}
    return new.get(path, texts[path]).decode()


def changed(old: str, new: str) -> tuple[list[str], list[str]]:
    """The lines that went and the lines that came, where all others stand as they stood."""
    a, b = old.splitlines(keepends=True), new.splitlines(keepends=True)
    gone = [line for line in a if line not in b]
    come = [line for line in b if line not in a]
    kept_a = [line for line in a if line in b]
    kept_b = [line for line in b if line in a]
    assert sorted(kept_a) == sorted(kept_b)
    return gone, come


def test_a_field_changes_in_its_place() -> None:
    new = after(ENCLOSURE, SetFields("panel", "1A/A", "category", "6A"))
    assert new == ENCLOSURE.replace("category: 6}", "category: 6A}")


def test_quotes_stay_and_a_new_field_comes_in_reading_order() -> None:
    new = after(ENCLOSURE, SetFields("enclosure", "1A", "room", "111"))
    assert new == ENCLOSURE.replace('"110"   # next', '"111"   # next')
    new = after(ENCLOSURE, SetFields("enclosure", "1A", "depth", "450 mm"))
    assert new == ENCLOSURE.replace("height: 12 U\n", "height: 12 U\ndepth: 450 mm\n")
    new = after(ENCLOSURE, SetFields("ups", "1A/UPS1", "output", None))
    assert new == ENCLOSURE.replace("    output: 900 W\n", "")
    new = after(
        ENCLOSURE,
        SetFields("cord", "1A/A/02", "cord", None),
        SetFields("cord", "1A/A/02", "to", "1A/SW1/07"),
    )
    assert new == ENCLOSURE.replace("{to: SW1/02, cord: 0.3 m}  # red", "{to: SW1/07}  # red")


def test_a_thing_goes_to_other_units_with_all_its_line_says() -> None:
    new = after(ENCLOSURE, Relocate("panel", "1A/A", "1A/A", face="front", at="5"))
    line = "12:   {panel: A, ports: 24, category: 6}   # north wall\n"
    moved = ENCLOSURE.replace(f"  {line}", "")
    ups = "  1-2:\n    ups"
    assert new == moved.replace(ups, f"  5:    {line[6:]}{ups}")


def test_a_thing_stays_on_its_line_where_the_order_allows() -> None:
    new = after(ENCLOSURE, Relocate("switch", "1A/SW1", "1A/SW2", face="front", at="10-11"))
    assert new == ENCLOSURE.replace("  11:   {switch: SW1", "  10-11:   {switch: SW2")


def test_a_thing_written_over_several_lines_goes_whole() -> None:
    new = after(ENCLOSURE, Relocate("ups", "1A/UPS1", "1A/UPS1", face="rear", at="3-4"))
    block = "\n    ups: UPS1   # heavy\n    output: 900 W\n"
    rear = "part: right}]\n"
    expected = ENCLOSURE.replace(f"  1-2:{block}", "").replace(rear, f"{rear}  3-4:{block}")
    assert new == expected


def test_things_that_share_a_unit() -> None:
    new = after(ENCLOSURE, RemoveRecord("panel", "1A/L"))
    assert new == ENCLOSURE.replace("{panel: L, ports: 12, part: left}, ", "")
    both = after(ENCLOSURE, RemoveRecord("panel", "1A/L"), RemoveRecord("panel", "1A/R"))
    assert changed(ENCLOSURE, both) == (
        ["  12: [{panel: L, ports: 12, part: left}, {panel: R, ports: 12, part: right}]\n"],
        [],
    )
    new = after(
        ENCLOSURE, AddRecord("manager", "1A/M2", {"face": "front", "at": "11", "part": "right"})
    )
    line = "{switch: SW1, ports: 24, uplinks: 4}"
    assert new == ENCLOSURE.replace(line, f"[{line}, {{manager: M2, part: right}}]")


def test_what_takes_no_unit_stands_in_a_list() -> None:
    new = after(ENCLOSURE, RemoveRecord("power strip", "1A/P1"))
    assert new == ENCLOSURE.replace("  - {power strip: P1, sockets: 8}\n", "")
    new = after(ENCLOSURE, AddRecord("shelf", "1A/S1", {"face": "none", "where": "top"}))
    last = '  - {manager: M1, where: "left: rear"}\n'
    assert new == ENCLOSURE.replace(last, f"{last}  - {{shelf: S1, where: top}}\n")


def test_a_cord_comes_after_the_one_before_it() -> None:
    new = after(ENCLOSURE, AddRecord("cord", "1A/A/03", {"to": "1A/SW1/03", "cord": "0.5 m"}))
    red = "cord: 0.3 m}  # red\n"
    assert new == ENCLOSURE.replace(red, f"{red}  A/03: {{to: SW1/03, cord: 0.5 m}}\n")
    new = after(ENCLOSURE, AddRecord("cord", "1A/A/00", {"to": "1B/SW1/03"}))
    first = "  A/01: {"
    assert new == ENCLOSURE.replace(first, f"  A/00: {{to: 1B/SW1/03}}\n{first}")


def test_a_far_end_stays_written_as_it_was() -> None:
    new = after(ENCLOSURE, SetFields("cord", "1A/SW1/25", "to", "1A/R/02"))
    assert new == ENCLOSURE.replace("1A/R/01", "1A/R/02")


def test_a_missing_section_is_opened_at_the_end() -> None:
    text = "height: 4 U"
    new = after(text, AddRecord("panel", "1A/A", {"face": "front", "at": "4", "ports": "24"}))
    assert new == "height: 4 U\nfront:\n  4: {panel: A, ports: 24}"
    text = "height: 4 U\nfront:   # nothing yet\npatching: {}   # none\n"
    new = after(
        text,
        AddRecord("panel", "1A/A", {"face": "front", "at": "4", "ports": "24"}),
        AddRecord("cord", "1A/A/01", {"to": "1A/A/02"}),
    )
    assert new == (
        "height: 4 U\nfront:   # nothing yet\n  4: {panel: A, ports: 24}\n"
        "patching:   # none\n  A/01: {to: A/02}\n"
    )


def test_a_thing_and_its_cords_go_to_another_enclosure() -> None:
    texts = {
        "site.yml": SITE,
        "enclosures/1A.yml": ENCLOSURE.encode(),
        "enclosures/1B.yml": b"height: 6 U\r\nfront:\r\n  6: {panel: A, ports: 24}\r\n",
    }
    new = edit(
        texts,
        [
            Relocate("switch", "1A/SW1", "1B/SW1", face="front", at="5"),
            SetFields("cord", "1A/A/01", "to", "1B/SW1/01"),
            Relocate("cord", "1A/SW1/25", "1B/SW1/25"),
        ],
    )
    assert new["enclosures/1B.yml"].decode() == (
        "height: 6 U\r\nfront:\r\n  6: {panel: A, ports: 24}\r\n"
        "  5: {switch: SW1, ports: 24, uplinks: 4}\r\n"
        "patching:\r\n  SW1/25: {to: 1A/R/01, cord: 0.5 m}\r\n"
    )
    gone, come = changed(ENCLOSURE, new["enclosures/1A.yml"].decode())
    assert len(gone) == 3
    assert come == ["  A/01: {to: 1B/SW1/01, cord: 0.3 m}\n"]


def test_a_job_is_a_file_of_its_own() -> None:
    new = edit(
        {"site.yml": SITE}, [AddRecord("job", "J1", {"title": "Move: two phones", "outage": "no"})]
    )
    assert new == {"jobs/J1.yml": b'title: "Move: two phones"\noutage: no\n'}


def test_a_table_split_over_files_gets_the_line_where_its_neighbours_are() -> None:
    texts = {
        "site.yml": SITE,
        "outlets/ground.yml": b"1A-A01: {port: 1A/A/01}\n",
        "outlets/first.yml": b"2A-A01: {port: 2A/A/01}\n2A-A03: {port: 2A/A/03}\n",
    }
    new = edit(texts, [AddRecord("outlet", "2A-A02", {"port": "2A/A/02"})])
    assert new == {
        "outlets/first.yml": b"2A-A01: {port: 2A/A/01}\n2A-A02: {port: 2A/A/02}\n"
        b"2A-A03: {port: 2A/A/03}\n"
    }


def test_results_go_with_their_lines() -> None:
    text = b'link,date,result,limit\r\nX,2025-01-01,pass,"a\r\nb"\r\nY,2025-01-01,fail,c\r\n'
    new = edit({"site.yml": SITE, "tests/a.csv": text}, [RemoveRecord("test", "a.X-2025-01-01")])
    assert new == {"tests/a.csv": b"link,date,result,limit\r\nY,2025-01-01,fail,c\r\n"}


@pytest.mark.parametrize(
    "text",
    ["1A-A01: {room: x, room: y}\n", "1A-A01: *a\n", "a: [\n", "1A-A01: {note: !x y}\n"],
)
def test_a_file_that_cannot_be_read_is_not_edited(text: str) -> None:
    with pytest.raises(Refusal):
        after(text, AddRecord("outlet", "1A-A02", {"port": "1A/A/02"}), path="outlets.yml")


def test_a_layout_that_cannot_be_edited_is_refused_not_broken() -> None:
    texts = {"site.yml": SITE, "outlets.yml": b"? 1A-A01\n: {room: a}\n"}
    before = dict(texts)
    try:
        new = edit(texts, [RemoveRecord("outlet", "1A-A01")])
    except Refusal as refusal:
        assert "by hand" in str(refusal)
    else:
        assert take_apart("", "outlets.yml", new["outlets.yml"]) == ([], [])
    assert texts == before


# How values are written


@pytest.mark.parametrize(
    ("text", "written"),
    [
        ("reception", "reception"),
        ("Ü 3 – links", "Ü 3 – links"),
        ("101", '"101"'),
        ("012", '"012"'),
        ("1e5", '"1e5"'),  # a number in YAML 1.2.2, 10.3.2; a text in 1.1
        ("0o17", '"0o17"'),
        ("22:22", '"22:22"'),  # base 60 in YAML 1.1
        ("1_000", '"1_000"'),
        ("no", '"no"'),
        ("y", '"y"'),
        ("Off", '"Off"'),
        ("~", '"~"'),
        ("null", '"null"'),
        (".inf", '".inf"'),
        ("2025-03-07", '"2025-03-07"'),
        ("=", '"="'),
        ("<<", '"<<"'),
        ("a, b", '"a, b"'),
        ("R1: desk", '"R1: desk"'),
        ("# 4", '"# 4"'),
        ("say \"so\"", 'say "so"'),
        ("\"so\"", '"\\"so\\""'),
        ("two\nlines", '"two\\nlines"'),
        ("- x", '"- x"'),
        ("*", '"*"'),
        ("", '""'),
    ],
)  # fmt: skip
def test_texts_are_quoted_where_a_reader_would_see_something_else(text: str, written: str) -> None:
    assert scalar(text) == written
    assert yaml.load(f"[{written}]", yaml.SafeLoader) == [text]


def test_what_is_meant_as_a_number_or_a_date_stands_bare() -> None:
    assert value("panel", "ports", "24") == "24"
    assert value("finding", "found on", "2025-03-07") == "2025-03-07"
    assert value("site", "measures", "metric") == "metric"
    assert value("finding", "share with client", "yes") == "yes"
    assert value("outlet", "room", "101") == '"101"'
    assert value("outlet", "port", ("1A/A/01", "1A/A/02")) == "[1A/A/01, 1A/A/02]"


said_texts = st.text(
    st.characters(exclude_categories=("Cs", "Cc"), exclude_characters="\ufeff"), min_size=1
).filter(lambda text: text.strip() == text and text != "")


@settings(deadline=None)
@given(said_texts)
def test_any_text_reads_back_as_itself(text: str) -> None:
    for written in (scalar(text), scalar(text, False, "'"), scalar(text, True)):
        line = f"a: {{b: {written}, c: [{written}]}}\n"
        alone = scalar(text, True, line=True)
        assert yaml.load(f"a: {alone}   # x\nb: c\n", yaml.BaseLoader) == {"a": text, "b": "c"}
        for loader in (yaml.BaseLoader, yaml.CSafeLoader):
            if loader is yaml.CSafeLoader and (written == text and means_more(text)):
                continue  # bare on purpose
            read = yaml.load(line, loader)
            assert read == {"a": {"b": text, "c": [text]}}


# Everything else survives to the byte


@dataclass(frozen=True)
class Written:
    """A record as somebody laid it out: the lines before it, its own, its fields."""

    key: str
    before: list[str]
    lines: list[str]
    fields: dict[str, str]


FIELDS = ("room", "plate", "port", "cable", "person", "length", "note")
filler = st.sampled_from(["", "# --- ground floor ---", "  # öde {a: b}, c: [d", "#", "   "])
fields = st.dictionaries(
    st.sampled_from(FIELDS), st.sampled_from(["101", "west: wall", "1A/A/01", "no", "Zoë # 3", "x"]),
    min_size=1,
)  # fmt: skip


@st.composite
def record_texts(draw: st.DrawFn, key: str) -> Written:
    said = draw(fields)
    before = draw(st.lists(filler, max_size=2))
    quote = draw(st.sampled_from(["'", '"']))
    written_key = draw(st.sampled_from([key, f'"{key}"', f"'{key}'"]))
    items = [f"{name}: {quote}{text}{quote}" for name, text in said.items()]
    comment = draw(st.sampled_from(["", "   # seen: yes, {}", " #"]))
    style = draw(st.sampled_from(["line", "spaced", "braces", "block"]))
    if style == "line":
        lines = [f"{written_key}: {{{', '.join(items)}}}{comment}"]
    elif style == "spaced":
        lines = [f"{written_key}:    {{ {' ,  '.join(items)} }}{comment}"]
    elif style == "braces":
        inner = [f"    {item},{comment}" for item in items[:-1]] + [f"    {items[-1]}{comment}"]
        lines = [f"{written_key}: {{{comment}", *inner, f"  }}{comment}"]
    else:
        lines = [f"{written_key}:{comment}", *(f"  {item}{comment}" for item in items)]
    return Written(key, before, lines, said)


@st.composite
def tables(draw: st.DrawFn) -> tuple[list[Written], list[str], str, bool, bool]:
    keys = draw(st.lists(st.integers(1, 40), min_size=1, max_size=6, unique=True))
    records = [draw(record_texts(f"1A-A{key:02}")) for key in keys]
    tail = draw(st.lists(filler, max_size=2))
    return records, tail, draw(st.sampled_from(["\n", "\r\n"])), draw(st.booleans()), draw(st.booleans())  # fmt: skip


def lines_of(records: list[Written], tail: list[str]) -> list[str]:
    return [line for record in records for line in (*record.before, *record.lines)] + tail


def split(data: bytes, newline: str) -> list[str]:
    text = data.decode("utf-8-sig")
    assert newline == "\r\n" or "\r" not in text
    if newline == "\r\n":
        assert not re.search(r"(?<!\r)\n", text)
    return text.removesuffix(newline).split(newline) if text else []


@settings(max_examples=250, deadline=None)
@given(st.data(), tables())
def test_an_edit_touches_only_the_lines_it_is_about(
    data: st.DataObject, table: tuple[list[Written], list[str], str, bool, bool]
) -> None:
    records, tail, newline, bom, last = table
    text = newline.join(lines_of(records, tail)) + (newline if last else "")
    if newline not in text:
        newline = "\n"  # nothing says otherwise
    raw = (b"\xef\xbb\xbf" if bom else b"") + text.encode()
    texts = {"site.yml": SITE, "outlets.yml": raw}
    chosen = data.draw(st.sampled_from(records))
    at = records.index(chosen)
    what = data.draw(st.sampled_from(["put", "drop", "remove", "add", "all"]))
    before = lines_of(records[:at], []) + chosen.before
    behind = lines_of(records[at + 1 :], tail)
    if what == "put":
        name, said = data.draw(st.sampled_from([*FIELDS, "label"])), data.draw(said_texts)
        wishes: list[SetFields | RemoveRecord | AddRecord] = [
            SetFields("outlet", chosen.key, name, said)
        ]
        expected = chosen.fields | {name: said}
    elif what == "drop":
        gone = data.draw(st.sets(st.sampled_from(sorted(chosen.fields)), max_size=3))
        if len(gone) == len(chosen.fields):
            gone = set(sorted(gone)[1:])
        wishes = [SetFields("outlet", chosen.key, name, None) for name in sorted(gone)]
        expected = {name: text for name, text in chosen.fields.items() if name not in gone}
    elif what == "remove":
        wishes, expected = [RemoveRecord("outlet", chosen.key)], {}
    elif what == "all":
        wishes = [RemoveRecord("outlet", record.key) for record in records]
        expected = {}
    else:
        key = f"1A-A{data.draw(st.integers(41, 60) | st.integers(0, 0)):02}"
        wishes, expected = [AddRecord("outlet", key, {"room": "101", "note": "no"})], {}
    new = edit(texts, wishes).get("outlets.yml", raw)
    assert new.startswith(b"\xef\xbb\xbf") == bom
    lines = split(new, newline)
    said_now = yaml.load(new.decode("utf-8-sig"), yaml.BaseLoader) or {}
    said_before = yaml.load(text, yaml.BaseLoader)
    if what in ("put", "drop"):
        now = new.decode("utf-8-sig")
        head = "".join(line + newline for line in before)
        rest = text[len(head + newline.join(chosen.lines)) :]
        assert now.startswith(head) and now.endswith(rest)
        assert said_now == said_before | {chosen.key: expected}
        assert list(said_now) == list(said_before)
    elif what == "remove":
        assert [line for line in lines if line] == [line for line in before + behind if line]
        assert said_now == {k: v for k, v in said_before.items() if k != chosen.key}
    elif what == "all":
        left = [line for record in records for line in record.before] + tail
        assert [line for line in lines if line] == [line for line in left if line]
        assert said_now == {}
    else:
        assert said_now == said_before | {key: {"room": "101", "note": "no"}}
        there = iter(lines)
        assert all(line in there for line in split(raw, newline))


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from(["A", "SW1", "B", "UPS1"]), st.integers(1, 40), st.booleans()),
        min_size=1, max_size=4, unique_by=lambda item: item[0],
    )
)  # fmt: skip
def test_any_reracking_keeps_every_other_line(moves: list[tuple[str, int, bool]]) -> None:
    kinds = {"A": "panel", "SW1": "switch", "B": "panel", "UPS1": "ups"}
    if len({unit for _, unit, _ in moves}) < len(moves):
        return
    wishes = [
        Relocate(kinds[name], f"1A/{name}", f"1A/{name}", face="rear" if rear else "front", at=str(at + 20))
        for name, at, rear in moves
    ]  # fmt: skip
    new = after(ENCLOSURE, *wishes)
    untouched = [
        line for line in ENCLOSURE.splitlines()
        if not any(word in line for word in ("panel: A", "switch: SW1", "panel: 'B'", "1-2:"))
    ]  # fmt: skip
    kept = new.splitlines()
    assert [line for line in kept if line in untouched and "output" not in line and "ups:" not in line] == [
        line for line in untouched if "output" not in line and "ups:" not in line
    ]  # fmt: skip
    for name, at, rear in moves:
        said = yaml.load(new, yaml.BaseLoader)["rear" if rear else "front"][str(at + 20)]
        assert said[kinds[name]] == name
