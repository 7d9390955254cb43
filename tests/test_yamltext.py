"""YAML texts as nodes with places; what was typed stays what was typed."""

from __future__ import annotations

import time

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from asbuilt import yamltext
from asbuilt.yamltext import (
    MappingNode,
    Node,
    SequenceNode,
    compose,
    entries,
    is_nothing,
    place_of,
    read_text,
    scalar_at,
    scalar_like,
)


def plain(node: Node) -> object:
    if isinstance(node, MappingNode):
        return {key.value: plain(value) for key, value in entries(node)}
    if isinstance(node, SequenceNode):
        return [plain(item) for item in node.value]
    return node.value


def composed(text: str) -> MappingNode:
    node, problems = compose("a.yml", text)
    assert not problems
    assert node is not None
    return node


@pytest.mark.parametrize(
    "typed",
    [
        "no", "yes", "true", "012", "0x1F", "1_000", "22:22", "1e3", ".5", "2025-03-07", "~",
        "null", "<", "=", "1A-A01", "+1", "9-10", "0.10",
    ],
)  # fmt: skip
def test_what_was_typed_stays(typed: str) -> None:
    # YAML 1.1 would make a truth, a number in another base, a date or a time of most of these.
    assert plain(composed(f"a: {typed}\n")) == {"a": typed}
    assert plain(composed(f"{typed}: a\n")) == {typed: "a"}


def test_a_loader_would_change_them() -> None:
    loaded = yaml.safe_load("[no, 012, 22:22, 2025-03-07]")
    assert loaded[:3] == [False, 10, 1342]


def test_places_count_from_one() -> None:
    root = composed("a: b\nc:\n  - d\n  - {é: f, g: h}\n")
    inner = entries(root)[1][1].value[1]
    assert str(place_of("a.yml", root)) == "a.yml:1:1"
    assert [str(place_of("a.yml", value)) for _, value in entries(inner)] == [
        "a.yml:4:9",
        "a.yml:4:15",
    ]


@pytest.mark.parametrize("line_break", ["\n", "\r\n"])
def test_places_with_either_line_break(line_break: str) -> None:
    root = composed(line_break.join(["a: b", "# c", "d: e", ""]))
    assert place_of("a.yml", entries(root)[1][0]).line == 3


def test_nothing_is_nothing() -> None:
    root = composed("{a: , b: ~, c: null, d: '', e: '~', f: \"null\", g: [], h: nil}\n")
    assert [key.value for key, value in entries(root) if is_nothing(value)] == ["a", "b", "c"]


def test_of_two_equal_keys_the_first_stays_and_the_other_is_told() -> None:
    node, problems = compose("a.yml", "a: {b: 1, c: 2, b: 3}\nd: 4\n'a': 5\n")
    assert node is not None
    assert plain(node) == {"a": {"b": "1", "c": "2"}, "d": "4"}
    assert sorted((p.code, p.place.line, p.place.column) for p in problems) == [
        ("duplicate-key", 1, 17),
        ("duplicate-key", 3, 1),
    ]


def test_nodes_of_our_own() -> None:
    at = scalar_at("x", 7, 3)
    assert (at.value, str(place_of("a.csv", at))) == ("x", "a.csv:7:3")
    like = scalar_like(at, "y")
    assert (like.value, place_of("a.csv", like)) == ("y", place_of("a.csv", at))
    assert not is_nothing(scalar_like(at, ""))


def test_bytes_as_text() -> None:
    assert read_text("a.yml", "é\r\n\tb".encode()) == ("é\r\n\tb", [])
    assert read_text("a.yml", b"\xef\xbb\xbfa") == ("a", [])
    assert read_text("a.yml", b"") == ("", [])


@pytest.mark.parametrize("bad", [b"\xff", b"\xc3(", b"\xed\xa0\x80", b"\xf4\x90\x80\x80"])
def test_bytes_that_are_no_text(bad: bytes) -> None:
    text, problems = read_text("a.yml", "é: 1\né: ".encode() + bad)
    assert text == ""
    assert [(p.code, p.place.line, p.place.column) for p in problems] == [("file-encoding", 2, 4)]


@given(st.text(max_size=60))
def test_what_is_read_composes_or_is_told(text: str) -> None:
    read, problems = read_text("a.yml", text.encode("utf-8", "surrogatepass"))
    if not problems:
        node, problems = compose("a.yml", read)
        assert node is None or plain(node) is not None
    for problem in problems:
        assert problem.place.line <= text.count("\n") + text.count("\r") + 2


_FACTS = st.recursive(
    st.text(st.characters(min_codepoint=32, max_codepoint=0x2000, exclude_characters="\x7f"), max_size=12)
    .filter(lambda text: not any(0x7F <= ord(c) < 0xA0 for c in text)),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.text("abcdefg", min_size=1, max_size=4), inner, max_size=3),
    ),
    max_leaves=8,
)  # fmt: skip


@given(st.dictionaries(st.text("abcdefg", min_size=1, max_size=4), _FACTS, min_size=1, max_size=4))
def test_what_another_writer_wrote_is_read(facts: dict[str, object]) -> None:
    # PyYAML's own writer, with every text in quotes: nothing is lost or taken for something else
    text = yaml.safe_dump(facts, default_style='"', allow_unicode=True)
    text = text.replace("!!map", "").replace("!!seq", "")
    read, problems = read_text("a.yml", text.encode())
    assert not problems
    assert plain(composed(read)) == facts


@pytest.mark.parametrize(
    "text",
    [
        "a: &a [" + "x, " * 9 + "]\n" + "".join(
            f"a{n}: &a{n} [{', '.join([f'*a{n - 1}' if n else '*a'] * 9)}]\n" for n in range(200)
        ),
        "a: " + "[" * 1_000_000,
        "a: " + "{a: " * 300_000,
        "- " * 1_000_000,
        "? " * 1_000_000,
        "".join(" " * n + "a:\n" for n in range(1200)),
        "a: *" + "b" * 1_000_000,
        'a: "' + "\\n" * 500_000,
        "a: " + "'" * 1_000_001,
        "&a " * 100_000,
    ],
    ids=["bomb", "lists", "groups", "dashes", "questions", "steps", "alias", "escapes", "quotes",
         "anchors"],
)  # fmt: skip
def test_no_text_keeps_anyone_waiting(text: str) -> None:
    began = time.process_time()
    node, problems = compose("a.yml", text)
    assert time.process_time() - began < 2
    assert node is None
    assert len(problems) == 1


@pytest.mark.parametrize(
    "text",
    [
        "a: {b: no, c: , d: [012, '~']}\na: 1\n",
        "a: *b\n",
        "a: !!python/name:os.system\n",
        "a: b\n---\nc: d\n",
        "a:\n\tb: c\n",
        "- a\n",
        "",
    ],
)
def test_the_slower_loader_says_the_same(text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    # where PyYAML was built without its C library

    class Slow(yaml.SafeLoader):
        resolve = yamltext._Loader.resolve

    node, problems = compose("a.yml", text)
    monkeypatch.setattr(yamltext, "_Loader", Slow)
    slow_node, slow_problems = compose("a.yml", text)
    assert [p.code for p in problems] == [p.code for p in slow_problems]
    assert (node is None) is (slow_node is None)
    if node is not None and slow_node is not None:
        assert plain(node) == plain(slow_node)
        assert _empty(node) == _empty(slow_node)


def _empty(node: Node) -> list[str]:
    """The names, at any depth, that nothing is written after."""
    if not isinstance(node, MappingNode):
        return []
    return [
        name
        for key, value in entries(node)
        for name in ([key.value] if is_nothing(value) else _empty(value))
    ]
