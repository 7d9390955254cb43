"""What reading says of bad input: one clear message for one slip, with its line and column, and
nothing else. A row is a site's files and all that is told of them."""

from __future__ import annotations

import time
from collections.abc import Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st

from asbuilt.problem import Problem
from asbuilt.records.kinds import KINDS
from asbuilt.records.layout import TEST_COLUMNS, is_record_file, kinds_in
from asbuilt.records.reading import read_folder
from asbuilt.records.work import LINK_TEST
from asbuilt.yamltext import MAX_BYTES, MAX_DEPTH
from tests.judging import judge

PANEL = "height: 12 U\nfront:\n  12: {panel: A, ports: 24}\n"
SPARE = "o1: {state: spare}\n"
RULE = "; a key has letters, digits and . _ + - only, 40 at most, none of .+- at its ends"
BOMB = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{name}: &{name} [{', '.join(['*' + before] * 9)}]\n"
    for before, name in zip("abcdefghijklmnopqrstuvwxy", "bcdefghijklmnopqrstuvwxyz", strict=True)
)


def told(texts: Mapping[str, str | bytes]) -> list[str]:
    return [str(problem) for problem in judge(texts) if problem.code != "fact-missing"]


def outlets(text: str | bytes, *wrong: str) -> tuple[dict[str, str | bytes], list[str]]:
    return {"outlets.yml": text}, [f"outlets.yml:{line}" for line in wrong]


def site(text: str | bytes, *wrong: str) -> tuple[dict[str, str | bytes], list[str]]:
    return {"site.yml": text}, [f"site.yml:{line}" for line in wrong]


def cabinet(text: str, *wrong: str) -> tuple[dict[str, str | bytes], list[str]]:
    return {"enclosures/1A.yml": text}, [f"enclosures/1A.yml:{line}" for line in wrong]


def results(text: str, *wrong: str) -> tuple[dict[str, str | bytes], list[str]]:
    texts: dict[str, str | bytes] = {"outlets.yml": SPARE, "tests/a.csv": text}
    return texts, [f"tests/a.csv:{line}" for line in wrong]


ROWS: dict[str, tuple[dict[str, str | bytes], list[str]]] = {
    # the file
    "larger than 8 MiB": outlets(
        b"#" * (MAX_BYTES + 1),
        "1:1: the file is larger than 8 MiB; "
        "a table may be split: outlets/*.yml beside outlets.yml [file-size]",
    ),
    "Latin-1": outlets(
        "o1: {plate: Süd, state: spare}\n".encode("latin-1"),
        "1:14: byte 0xfc is not UTF-8 text; save the file as UTF-8 [file-encoding]",
    ),
    "Latin-1 after a character of two bytes": outlets(
        "a: {plate: x}\nb: {plate: ü".encode() + b"\xfc}\n",
        "2:13: byte 0xfc is not UTF-8 text; save the file as UTF-8 [file-encoding]",
    ),
    "UTF-16": outlets(
        "o1: {state: spare}\n".encode("utf-16"),
        "1:1: byte 0xff is not UTF-8 text; save the file as UTF-8 [file-encoding]",
    ),
    "UTF-8 with a mark in front": outlets(b"\xef\xbb\xbf" + SPARE.encode()),
    "a bell": outlets(
        "o1: {plate: ü\x07b}\n",
        "1:14: the invisible character U+0007 stands in the text; delete it [control-character]",
    ),
    "NUL": outlets(
        "o1: {state: spare}\no2: \0\n",
        "2:5: the invisible character U+0000 stands in the text; delete it [control-character]",
    ),
    "a line break no editor shows": outlets(
        "o1: {plate: 'a\u2028b', state: spare}\n",
        "1:15: the invisible character U+2028 stands in the text; delete it [control-character]",
    ),
    "a bell written as an escape": outlets(
        'o1: {plate: "a\\x07b", state: spare}\n',
        "1:13: a control character stands in the text; delete it [control-character]",
    ),
    "an empty site.yml": site("", "1:1: the file holds nothing; write at least “name: …” [empty]"),
    "only comments": site(
        "# to do\n", "1:1: the file holds nothing; write at least “name: …” [empty]"
    ),
    "nothing, in YAML's word": site(
        "~\n", "1:1: the file holds nothing; write at least “name: …” [empty]"
    ),
    "an empty table": outlets(""),
    "a table of comments": outlets("# surveyed next week\n"),
    "a list at the top": outlets(
        "- {key: o1}\n",
        "1:1: the file holds a list at its top; write “name: value” lines [yaml-shape]",
    ),
    "a text at the top": site(
        "name:Harbour\n",
        "1:1: the file holds a single value at its top; write “name: value” lines [yaml-shape]",
    ),
    "two documents": outlets(
        SPARE + "---\no2: {state: spare}\n",
        "2:1: a second document begins; one file holds one document: delete the line “---” "
        "[yaml-syntax]",
    ),
    "one document between its marks": outlets(f"---\n{SPARE}...\n"),
    # YAML
    "a tab that indents": outlets(
        "o1:\n\troom: x\n", "2:1: a tab; YAML is indented with spaces only [yaml-tab]"
    ),
    "a tab after spaces": outlets(
        "o1:\n  \troom: x\n", "2:3: a tab; YAML is indented with spaces only [yaml-tab]"
    ),
    "a tab before a list": site(
        "name: H\ndo not touch:\n\t- x\n",
        "3:1: a tab; YAML is indented with spaces only [yaml-tab]",
    ),
    "tabs where they do no harm": outlets("o1:\t{state: spare,\tserves: desk}\n"),
    "a bracket not closed": outlets(
        "o1: {state: spare\no2: {state: spare}\n",
        "2:3: a comma or “}” is missing before this; close the bracket; "
        "a text with a colon, comma or bracket in it needs quotes [yaml-syntax]",
    ),
    "a list not closed": site(
        "name: H\ndo not touch: [a\nhours: x\n",
        "3:6: a comma or “]” is missing before this; close the bracket; "
        "a text with a colon, comma or bracket in it needs quotes [yaml-syntax]",
    ),
    "a colon within a text": site(
        "name: Harbour: Lane\n",
        "1:14: a colon can't stand here; put a text with a colon in it in quotes; "
        "begin lines of one group in the same column [yaml-syntax]",
    ),
    "a quote not closed": outlets(
        "o1: {plate: 'west wall, state: spare}\no2: {state: spare}\n",
        "1:13: a quote is opened here and not closed; close it [yaml-syntax]",
    ),
    "a text that begins with a sign": site(
        "name: @home\n", "1:7: a text can't begin with “@”; put the text in quotes [yaml-syntax]"
    ),
    "a text that begins with a star": outlets(
        "o1: {plate: '*', state: spare}\no2: {plate: *, state: spare}\n",
        "2:13: a text can't begin with “*”; put the text in quotes [yaml-syntax]",
    ),
    "a line that begins with a percent sign": site(
        "%name: home\n", "1:1: a line can't begin with “%”; put the text in quotes [yaml-syntax]"
    ),
    "a backslash": site(
        'name: "C:\\quay"\n',
        "1:10: a backslash stands in a text in double quotes; "
        "write it twice, or put the text in single quotes [yaml-syntax]",
    ),
    "a colon forgotten": site(
        "name: H\nhours\ntrade: x\n",
        "2:1: a colon is missing after this name; write “name: value” [yaml-syntax]",
    ),
    "a line out of its column": site(
        "name: H\nfloors:\n  a: {level: 1}\n b: {level: 2}\n",
        "4:2: this line doesn't fit those before it; "
        "begin lines of one group in the same column [yaml-syntax]",
    ),
    "a key twice": outlets(
        SPARE + "o1: {state: dead}\n",
        "2:1: “o1” stands here a second time, first in line 1; keep one of the two [duplicate-key]",
    ),
    "a key twice, and another slip": outlets(
        "o1: {state: spare, state: dead}\no2: {stat: spare}\n",
        "1:20: “state” stands here a second time, first in line 1; keep one of the two "
        "[duplicate-key]",
        "2:12: outlet o2 has an unknown “stat”; did you mean “state”? [unknown-key]",
    ),
    "a key twice, in another case": outlets(
        SPARE + "O1: {state: dead}\n",
        "2:1: outlet O1 is already recorded at outlets.yml:1:1; give it another key "
        "[duplicate-key]",
    ),
    "an alias": outlets(
        "o1: &x {state: spare}\no2: *x\n",
        "2:5: an alias “*name” stands here; write the value out; "
        "a text with “*” needs quotes [yaml-alias]",
    ),
    "an alias of nothing": outlets(
        "o1: *x\n",
        "1:5: an alias “*name” stands here; write the value out; "
        "a text with “*” needs quotes [yaml-alias]",
    ),
    "an alias of itself": outlets(
        "&x o1: *x\n",
        "1:8: an alias “*name” stands here; write the value out; "
        "a text with “*” needs quotes [yaml-alias]",
    ),
    "an alias bomb": outlets(
        BOMB,
        "2:8: an alias “*name” stands here; write the value out; "
        "a text with “*” needs quotes [yaml-alias]",
    ),
    "a merge key": outlets(
        "o1: {<<: {state: spare}, serves: spare}\n",
        "1:6: a merge key “<<” stands here; write the values out [yaml-alias]",
    ),
    "a quoted merge key is a name": outlets(
        "o1: {'<<': x, state: spare}\n",
        "1:12: outlet o1 has an unknown “<<”; known are: cable, installed, internal, jacket, "
        "label, label at panel, length, made, network, note, owner, person, plate, poe, port, "
        "position, rating, room, seen, serves, state, terminated, via, wiring, withhold "
        "[unknown-key]",
    ),
    "a Python object": outlets(
        "o1: !!python/object/apply:os.system ['true']\n",
        "1:5: the tag “!!python/object/apply:os.system” stands here; leave it out; "
        "a text with “!” needs quotes [yaml-tag]",
    ),
    "a tag of somebody's own": outlets(
        "o1: {plate: !wall west, state: spare}\n",
        "1:13: the tag “!wall” stands here; leave it out; a text with “!” needs quotes [yaml-tag]",
    ),
    "a list for a name": outlets(
        "? [a, b]\n: {state: spare}\n",
        "1:3: a list stands where a name should; write a name before the colon [yaml-key]",
    ),
    "deep nesting": outlets(
        "o1: " + "[" * 20 + "]" * 20 + "\n",
        f"1:{MAX_DEPTH + 4}: nested more than {MAX_DEPTH} deep; close a bracket [yaml-depth]",
    ),
    "nesting without end": outlets(
        "o1: " + "[" * 500_000,
        f"1:1004: nested more than {MAX_DEPTH} deep; close a bracket [yaml-depth]",
    ),
    # what a record holds
    "a list for a record": outlets(
        "o1: [state, spare]\n",
        "1:5: outlet o1 has no fields here; write {field: value, …} [yaml-shape]",
    ),
    "a word for a record": outlets(
        "o1: spare\no2:\n",
        "1:5: outlet o1 has no fields here; write {field: value, …} [yaml-shape]",
        "2:4: outlet o2 has no fields here; write {field: value, …} [yaml-shape]",
    ),
    "a list for a length": outlets(
        "o1: {state: spare, length: [1 m]}\n",
        "1:28: a list stands where a length should; write one value [wrong-type]",
    ),
    "an unknown field": outlets(
        "o1: {state: spare, lenght: 1 m}\n",
        "1:28: outlet o1 has an unknown “lenght”; did you mean “length”? [unknown-key]",
    ),
    "an unknown section": cabinet(
        "height: 12 U\nfornt:\n  12: {panel: A, ports: 24}\n",
        "3:3: enclosure 1A has an unknown “fornt”; did you mean “front”? [unknown-key]",
    ),
    "a required field misspelt": site(
        "nmae: Harbour\n", "1:7: the site has an unknown “nmae”; did you mean “name”? [unknown-key]"
    ),
    "a required field forgotten": site(
        "business: dentist\n",
        "1:1: the site has no “name”; add it: What the client calls the site [field-missing]",
    ),
    "nothing written": outlets(
        "o1: {state: , serves: spare}\n",
        "1:13: nothing is written here; write a word, or leave the field out [empty]",
    ),
    "a key with a path in it": outlets(
        "../../x: {state: spare}\n", f"1:1: “../../x” can't be a key{RULE} [bad-key]"
    ),
    "a reference with a path in it": outlets(
        "o1: {room: ../../x, state: spare}\n",
        f"1:12: “../../x” can't be the key of a room{RULE} [bad-key]",
    ),
    "a port with a path in it": outlets(
        "o1: {port: ../../x, state: spare}\n",
        "1:12: “../../x” is no port; write enclosure/item/port, like “1A/A/01” [bad-port]",
    ),
    "a key far too long": outlets(
        "x" * 300 + ": {state: spare}\n",
        f"1:1: “{'x' * 59}…” can't be a key{RULE} [bad-key]",
    ),
    "a text far too long": outlets(
        f"o1: {{plate: {'x' * 5000}, state: spare}}\n",
        "1:13: the text has 5000 characters; it may have 4000 at most [too-long]",
    ),
    "a word over two lines": outlets(
        'o1: {state: "spa\\nre"}\n',
        "1:13: “spa re” is no word that can stand here; did you mean “spare”? [unknown-word]",
    ),
    "no unit": outlets(
        "o1: {length: 23.4, state: spare}\n",
        "1:14: “23.4” has no unit; write it like “23.4 m” (units: m, mm, cm, km, in, ft) "
        "[unit-missing]",
    ),
    "another unit": outlets(
        "o1: {length: 23.4 W, state: spare}\n",
        "1:14: “W” is no unit of length; write it like “23.4 m” (units: m, mm, cm, km, in, ft) "
        "[wrong-type]",
    ),
    "an endless number": cabinet(
        f"height: 12 U\nfront:\n  12: {{panel: A, ports: {'9' * 5000}}}\n",
        f"3:25: “{'9' * 59}…” is out of range; write a whole number from 0 to 288 [out-of-range]",
    ),
    "YAML's own truth": outlets(
        "o1: {withhold: true, state: spare}\n",
        "1:16: “true” is neither yes nor no; write yes or no [wrong-type]",
    ),
    "a day as others write it": outlets(
        "o1: {installed: 7.3.2025, made: 2025-02-30, state: spare}\n",
        "1:17: “7.3.2025” is no date; write it like 2025-03-07 [wrong-type]",
        "1:33: “2025-02-30” is no date; write it like 2025-03-07 [wrong-type]",
    ),
    "a window that ends before it begins": (
        {"jobs/J1.yml": "title: x\nwindow: 2025-03-07 22:00 to 02:00\n"},
        [
            "jobs/J1.yml:2:9: “2025-03-07 22:00 to 02:00” is no time window; "
            "the end comes after the start; past midnight, give the second date too [wrong-type]"
        ],
    ),
    "a port named twice": (
        {
            "enclosures/1A.yml": PANEL,
            "outlets.yml": "o1: {port: [1A/A/01, 1A/A/1], state: spare}\n",
        },
        ["outlets.yml:1:22: port 1A/A/01 is named twice here; name it once [port-twice]"],
    ),
    # an enclosure
    "U 43 in 42 U": cabinet(
        "height: 42 U\nfront:\n  43: {panel: A, ports: 24}\n",
        "3:3: panel A is at U 43, but enclosure 1A has 42 U; name units from 1 to 42 "
        "[unit-outside]",
    ),
    "no rack unit": cabinet(
        "height: 42 U\nfront:\n  top: {panel: A, ports: 24}\n",
        "3:3: “top” is no rack unit; write 12, or 9-10 for a thing two units high [wrong-type]",
    ),
    "a height without its unit": cabinet(
        "height: 12\nfront:\n  12: {panel: A, ports: 24}\n",
        "1:9: “12” has no unit; write it like “12 U” (units: U) [unit-missing]",
    ),
    "one thing called two": cabinet(
        "height: 12 U\nfront:\n  12: {panel: A, switch: S}\n",
        "3:3: one thing is called both panel and switch; keep one of the two; "
        "things that share a unit are a list [role-missing]",
    ),
    "a thing without its key": cabinet(
        "height: 12 U\nfront:\n  12: {panel: , ports: 24}\n",
        "3:15: the panel has no key; write “panel: A” [bad-key]",
    ),
    "one key for two things": cabinet(
        PANEL + "  11: {switch: a, ports: 24}\n",
        "4:3: switch 1A/a is already recorded at enclosures/1A.yml:3:3; give it another key "
        "[duplicate-key]",
    ),
    "things without their units": cabinet(
        "height: 12 U\nfront:\n  - {panel: A}\n",
        "3:3: items stand here without their rack units; "
        "write “12: {panel: A, …}”, the rack unit before the colon [yaml-shape]",
    ),
    "cords as they may not be": cabinet(
        PANEL + "patching:\n  A: {to: A/1}\n  A/1: A/2\n  A/3: {cord: 1 m}\n  A/4: {to: 7}\n",
        "5:3: “A” is no port of this enclosure; write item/port, like “A/01” [bad-port]",
        "6:8: the cord at A/1 isn't described; write “A/01: {to: SW1/01, cord: 0.3 m}” "
        "[yaml-shape]",
        "7:3: cord 1A/A/03 has no “to”; add it: The port it goes to [field-missing]",
        "8:13: “7” is no port; write enclosure/item/port, like “1A/A/01” [bad-port]",
    ),
    "a file name that is no key": (
        {"enclosures/1A B.yml": PANEL},
        [f"enclosures/1A B.yml:1:1: “1A B” can't be a key{RULE} [bad-key]"],
    ),
    "a file beside the records": (
        {"outlets.yaml": SPARE, "tests/a.csv": "link,date,result\no1,2025-03-07,pass\n"},
        [
            "outlets.yaml:1:1: no records are read from this file; did you mean “outlets.yml”? "
            "[misplaced-file]"
        ],
    ),
    "a folder beside the records": (
        {"enclosure/1A.yml": PANEL, "outlets.yml": "o1: {port: 1A/A/01, state: spare}\n"},
        [
            "enclosure/1A.yml:1:1: no records are read from this file; "
            "did you mean “enclosures/1A.yml”? [misplaced-file]"
        ],
    ),
    # references
    "a room that isn't there": (
        {
            "site.yml": "name: H\nrooms: {'101': {name: x}}\n",
            "outlets.yml": "o1: {room: '1O1', state: spare}\no2: {room: '1O1', state: spare}\n",
        },
        [
            "outlets.yml:1:12: there is no room “1O1”, named here and in 1 other place; "
            "did you mean “101”? [unknown-reference]"
        ],
    ),
    "an outlet in a list that isn't there": (
        {"outlets.yml": SPARE, "jobs/J1.yml": "title: x\noutlets: [o1, o7]\n"},
        [
            "jobs/J1.yml:2:15: there is no outlet “o7”; record it, or name o1 [unknown-reference]",
        ],
    ),
    "an enclosure that isn't there": (
        {"outlets.yml": "o1: {port: 1B/A/01, state: spare}\no2: {port: 1B/C/1, state: spare}\n"},
        [
            "outlets.yml:1:12: there is no enclosure “1B”, named here and in 1 other place; "
            "record it [unknown-reference]"
        ],
    ),
    "a panel that isn't there": (
        {
            "enclosures/1A.yml": PANEL,
            "outlets.yml": "o1: {port: 1A/B/01, state: spare}\no2: {port: 1A/B/2, state: spare}\n",
        },
        [
            "outlets.yml:1:12: there is no mounted item “1A/B”, named here and in 1 other place; "
            "did you mean “1A/A”? [unknown-reference]"
        ],
    ),
    # CSV
    "a quote in CSV not closed": results(
        'link,date,result\no1,2025-03-07,pass\no1,"2025-03-08,pass\no1,2025-03-09,pass\n',
        "3:1: the line can't be read as CSV: unexpected end of data; "
        "quotes stand around a whole cell; a quote within one is written twice [csv-syntax]",
    ),
    "cells too few and too many": results(
        "link,date,result\no1,2025-03-07\no1,2025-03-09,pass,x\n",
        "2:1: the line has 2 cells, the header has 3; a cell for each column; "
        "a comma within a cell needs quotes around the cell [csv-cells]",
        "3:1: the line has 4 cells, the header has 3; a cell for each column; "
        "a comma within a cell needs quotes around the cell [csv-cells]",
    ),
    "semicolons": results(
        "link;date;result\no1;2025-03-07;pass\n",
        "1:1: the cells are separated by semicolons; separate them by commas [csv-syntax]",
    ),
    "tabs": results(
        "link\tdate\tresult\no1\t2025-03-07\tpass\n",
        "1:1: the cells are separated by tabs; separate them by commas [csv-syntax]",
    ),
    "no header": results(
        "o1,2025-03-07,pass\n",
        "1:1: there is no column “link”; the first line names the columns: link,date,result and "
        "others [field-missing]",
    ),
    "a column twice": results(
        "link,date,result,link\no1,2025-03-07,pass,o1\n",
        "1:1: the column “link” stands here twice; keep one of the two [duplicate-key]",
    ),
    "a column nobody knows, told once": results(
        "link,date,result,maker\no1,2025-03-07,pass,x\no1,2025-03-08,pass,x\n",
        "2:20: this result has an unknown “maker”; known are: by, calibrated, date, instrument, "
        "internal, length, limit, link, margin, note, result, seen [unknown-key]",
    ),
    "values in CSV": results(
        'Link, Date ,Result,length\n"o1",7.3.2025,PASS,23.4\n\n,,,\n',
        "2:6: “7.3.2025” is no date; write it like 2025-03-07 [wrong-type]",
        "2:15: “PASS” is no word that can stand here; did you mean “pass”? [unknown-word]",
        "2:20: “23.4” has no unit; write it like “23.4 m” (units: m, mm, cm, km, in, ft) "
        "[unit-missing]",
    ),
    "an empty CSV": results(
        "",
        "1:1: the file holds nothing; the first line names the columns: link,date,result and "
        "others [empty]",
    ),
    "a header only": results("link,date,result\n"),
    "a table of somebody's own": (
        {"sums.csv": "a;b\n"},
        [
            "sums.csv:1:1: no records are read from this file; records stand in site.yml, "
            "enclosures/, outlets.yml, backbones.yml, pathways.yml, findings.yml, photos.yml, "
            "jobs/ and tests/ [misplaced-file]"
        ],
    ),
    # one slip, one message: nothing is said of what hangs on what couldn't be read
    "an outlet refused": (
        {
            "outlets.yml": "o1: spare\n",
            "tests/a.csv": "link,date,result\no1,2025-03-07,pass\n",
            "jobs/J1.yml": "title: x\noutlets: [o1]\n",
        },
        ["outlets.yml:1:5: outlet o1 has no fields here; write {field: value, …} [yaml-shape]"],
    ),
    "all outlets refused": (
        {
            "enclosures/1A.yml": PANEL + "patching: {A/01: {to: A/02}}\n",
            "outlets.yml": "o1: {room: ''\n",
            "tests/a.csv": "link,date,result\no1,2025-03-07,pass\n",
        },
        [
            "outlets.yml:2:1: a comma or “}” is missing before this; close the bracket; "
            "a text with a colon, comma or bracket in it needs quotes [yaml-syntax]"
        ],
    ),
    "an enclosure refused": (
        {
            "enclosures/1A.yml": "height: 12 U\nfront:\n  12: {panel: A ports: 24}\n",
            "outlets.yml": "o1: {port: 1A/A/01}\no2: {port: 1A/B/02}\n",
        },
        [
            "enclosures/1A.yml:3:22: a comma or “}” is missing before this; close the bracket; "
            "a text with a colon, comma or bracket in it needs quotes [yaml-syntax]"
        ],
    ),
    "a panel refused": (
        {
            "enclosures/1A.yml": "height: 12 U\nfront:\n  12: {panle: A, ports: 24}\n",
            "outlets.yml": "o1: {port: 1A/A/01}\no2: {port: 1A/A/02}\n",
        },
        [
            "enclosures/1A.yml:3:3: it isn't said what is mounted here; did you mean “panel”? "
            "[role-missing]"
        ],
    ),
    "a panel's ports refused": (
        {
            "enclosures/1A.yml": "height: 12 U\nfront:\n  12: {panel: A, ports: many, dead: [9]}\n",
            "outlets.yml": "o1: {port: 1A/A/01}\no2: {port: 1A/A/02}\n",
        },
        [
            "enclosures/1A.yml:3:25: “many” is no whole number; write a whole number from 0 to 288 "
            "[wrong-type]"
        ],
    ),
    "rooms refused": (
        {"site.yml": "name: H\nrooms: [a, b]\n", "outlets.yml": "o1: {room: a, state: spare}\n"},
        ["site.yml:2:8: “rooms” has no fields here; write {field: value, …} [yaml-shape]"],
    ),
}


@pytest.mark.parametrize("name", ROWS)
def test_bad_input(name: str) -> None:
    texts, wrong = ROWS[name]
    began = time.process_time()
    assert told(texts) == wrong
    assert time.process_time() - began < 1  # nothing typed keeps anyone waiting


def test_no_site() -> None:
    records = read_folder("harbour", {}, "sites/harbour")
    assert [str(p) for p in records.problems] == [
        "sites/harbour:1:1: there is no site.yml; “asbuilt new site harbour” makes one [no-site]"
    ]


def test_places_are_within_the_repository() -> None:
    records = read_folder("harbour", {"site.yml": b"business: x\n"}, "sites/harbour")
    assert [p.place.path for p in records.problems] == ["sites/harbour/site.yml"]


def test_all_slips_are_told_in_one_run() -> None:
    texts = {
        "site.yml": "name: H\nrooms: {'101': {flor: x}}\n",
        "outlets.yml": "o1: {length: 3, room: '102', state: spare}\no1: {}\n",
        "jobs/J1.yml": "title: [x]\n",
        "tests/a.csv": "link,date,result\no9,2025-03-07,pass\n",
    }
    assert [(p.place.path, p.code) for p in judge(texts) if p.code != "fact-missing"] == [
        ("jobs/J1.yml", "wrong-type"),
        ("outlets.yml", "unit-missing"),
        ("outlets.yml", "unknown-reference"),
        ("outlets.yml", "duplicate-key"),
        ("site.yml", "unknown-key"),
    ]  # that there is no o9 can be said once outlets.yml is whole


def test_the_first_of_two_equal_keys_stays() -> None:
    files = {"site.yml": b"name: H\n", "outlets.yml": b"o1: {serves: desk}\no1: {serves: till}\n"}
    outlet = read_folder("harbour", files).by_kind["outlet"]["o1"]
    assert getattr(outlet, "serves") == "desk"  # noqa: B009


def test_many_slips_are_told_in_good_time() -> None:
    rooms = "".join(f"  r{n}: {{name: x}}\n" for n in range(400))
    outlets = "".join(f"o{n}: {{room: s{n}, lenght: 1 m, state: spare}}\n" for n in range(2000))
    began = time.process_time()
    found = judge({"site.yml": f"name: H\nrooms:\n{rooms}", "outlets.yml": outlets})
    assert sum(1 for p in found if p.code == "unknown-reference") == 2000
    assert sum(1 for p in found if p.code == "unknown-key") == 2000
    assert time.process_time() - began < 10


def test_the_columns_a_result_needs_are_its_required_fields() -> None:
    assert set(TEST_COLUMNS) == {spec.name for spec in LINK_TEST.required}


@pytest.mark.parametrize("end", [b"\n", b"\r\n", b"\r"])
def test_results_end_their_lines_as_their_instrument_does(end: bytes) -> None:
    csv = end.join((b"link,date,result", b"o1,2025-03-07,pass", b"o1,2025-03-08,perhaps", b""))
    found = judge({"outlets.yml": SPARE, "tests/a.csv": csv})
    (wrong,) = (problem for problem in found if problem.place.path.endswith(".csv"))
    assert (wrong.place.line, wrong.place.column, wrong.code) == (3, 15, "unknown-word")


def test_a_link_tested_twice_on_a_day_is_two_results() -> None:
    csv = b"link,date,result\no1,2025-03-07,fail\no1,2025-03-07,pass\no1,2025-03-08,pass\n"
    files = {"site.yml": b"name: H\n", "outlets.yml": SPARE.encode(), "tests/a.csv": csv}
    tests = read_folder("harbour", files).by_kind["test"]
    assert list(tests) == ["a.o1-2025-03-07", "a.o1-2025-03-07.2", "a.o1-2025-03-08"]


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("sites/harbour/outlets.yml", "outlet"),
        ("sites/harbour/outlets/first-floor.yml", "outlet"),
        ("outlets.yml", "outlet"),
        ("sites/outlets/findings.yml", "finding"),
        ("sites/harbour/jobs/J1.yml", "job"),
        ("sites/harbour/tests/a.csv", "test"),
    ],
)
def test_what_may_stand_in_a_file(path: str, kind: str) -> None:
    assert kind in kinds_in(path)


def test_every_kind_may_stand_in_some_file() -> None:
    paths = ("site.yml", "enclosures/1A.yml", "jobs/J1.yml", "tests/a.csv")
    tables = ("outlets.yml", "backbones.yml", "pathways.yml", "findings.yml", "photos.yml")
    assert all(is_record_file(path) for path in (*paths, *tables))
    assert {kind for path in (*paths, *tables) for kind in kinds_in(path)} == set(KINDS)


def _is_told(problem: Problem) -> bool:
    return bool(problem.message and problem.hint and problem.place.line and problem.place.column)


_TYPED = st.text(
    st.sampled_from("o1:{}[],'\"&*!|>%@`#?- \n\t\\/~<=.\0\x07é\u2028aA0123456789"), max_size=60
)
_PATHS = st.sampled_from(
    ["site.yml", "outlets.yml", "enclosures/1A.yml", "jobs/J1.yml", "tests/a.csv", "odd.yml"]
)


@given(st.dictionaries(_PATHS, st.one_of(_TYPED, st.binary(max_size=40)), max_size=4))
def test_whatever_is_typed_is_told_and_never_raised(texts: dict[str, str | bytes]) -> None:
    assert all(_is_told(problem) for problem in judge(texts))


WHOLE = {
    "enclosures/1A.yml": PANEL + "patching:\n  A/01: {to: A/02, cord: 0.3 m}\n",
    "outlets.yml": "o1: {port: 1A/A/03, length: 12 m}\no2: {port: [1A/A/04, 1A/A/05]}\n",
    "tests/a.csv": "link,date,result\no1,2025-03-07,pass\no1,2025-03-08,fail\n",
}


@given(st.sampled_from(sorted(WHOLE)), st.integers(0, 120), st.integers(0, 120))
def test_whatever_is_cut_out_of_good_records_is_never_raised(
    path: str, start: int, end: int
) -> None:
    cut = WHOLE[path][:start] + WHOLE[path][max(start, end) :]
    assert all(_is_told(problem) for problem in judge(WHOLE | {path: cut}))
