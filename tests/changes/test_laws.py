"""The laws that changes obey, for any two states: of realistic sites, and of no sense at all.

They are those of a group of differences: nothing between a thing and itself, a way back, and the
sum of a start and a difference is the end.
"""

from __future__ import annotations

import random
from collections.abc import Mapping

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from asbuilt.changes import State, apply, compare, inverse, lines_of_changes, state_of
from asbuilt.changes.meaning import Meaning, aspects_of, renames_in
from asbuilt.changes.parsed_file import EMPTY, ParsedFile, parse_file, state_of_files
from asbuilt.changes.state import Facts, Key, Value, joined
from asbuilt.records.kinds import KINDS
from asbuilt.records.reading import read_folder, take_folder_apart
from tests.random_edits import Plan, draw_plan, edited, typed

# Few kinds, keys and values, so that most states share some and many things look alike.
_KEYS = ("1A", "1A/A", "1A/B", "2A/A", "1A/A/01", "1A/A/02", "1A/B/01", "2A", "F1", "F2", "A (2)")
_FIELDS = (
    "room", "port", "from", "to", "label", "name", "at", "face", "serial", "state", "what",
    "cleared on", "serves", "lands on", "floor", "link", "date", "unheard of",
)  # fmt: skip
_TEXTS = ("1A/A/01", "1A/B/01", "1A/A", "1A", "2A", "101", "F1", "done", "12", "front", "", "ß\n…")

_values: st.SearchStrategy[Value] = st.recursive(
    st.sampled_from(_TEXTS),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3).map(tuple),
        st.dictionaries(st.sampled_from(_TEXTS), inner, max_size=2),
    ),
    max_leaves=3,
)
_facts: st.SearchStrategy[Facts] = st.dictionaries(st.sampled_from(_FIELDS), _values, max_size=4)
_kinds = st.sampled_from([*KINDS, "telegraph"])
_keys: st.SearchStrategy[Key] = st.tuples(_kinds, st.sampled_from(_KEYS))
any_states: st.SearchStrategy[State] = st.dictionaries(_keys, _facts, max_size=8)
seeds = st.integers(0, 2**32)


def state(plan: Plan, draw: random.Random) -> State:
    raws, problems = take_folder_apart(typed(plan, draw))
    assert not problems
    return state_of(raws)


def check_laws(one: State, other: State) -> None:
    changes = compare(one, other)
    assert apply(changes, one) == other
    assert compare(other, one) == inverse(changes)
    assert apply(inverse(changes), other) == one
    assert bool(changes) == (one != other)


@given(any_states, any_states)
@settings(max_examples=600, deadline=None)
def test_any_two_states(one: State, other: State) -> None:
    check_laws(one, other)


@given(any_states, st.dictionaries(_keys, st.sampled_from(_KEYS), max_size=6), any_states)
@settings(max_examples=500, deadline=None)
def test_states_that_share_things_under_other_keys(
    one: State, names: dict[Key, str], more: State
) -> None:
    other = {(kind, names.get((kind, key), key)): facts for (kind, key), facts in one.items()}
    check_laws(one, other)
    check_laws(one, {**dict(list(more.items())[:2]), **other})


def test_two_kinds_under_one_key_are_renamed_both_ways_alike() -> None:
    """A mistake in the records: panel and switch share a key, and each gets one of its own."""
    one: State = {
        ("panel", "1A/X"): {"at": "3", "face": "front"},
        ("switch", "1A/X"): {"at": "7", "face": "front"},
        ("cord", "1A/X/01"): {"from": "1A/X/01", "to": "1A/Z/01"},
    }
    for low, high in (("panel", "switch"), ("switch", "panel")):
        for first, second in (("P", "S"), ("S", "P")):
            for cord in "PS":
                check_laws(
                    one,
                    {
                        (low, f"1A/{first}"): {"at": "3", "face": "front"},
                        (high, f"1A/{second}"): {"at": "7", "face": "front"},
                        ("cord", f"1A/{cord}/01"): {"from": f"1A/{cord}/01", "to": "1A/Z/02"},
                    },
                )


@given(any_states)
@settings(max_examples=100, deadline=None)
def test_nothing_lies_between_a_state_and_itself(one: State) -> None:
    assert compare(one, one) == ()
    assert compare(one, {key: dict(facts) for key, facts in one.items()}) == ()


@given(any_states, st.randoms(use_true_random=False))
@settings(max_examples=150, deadline=None)
def test_the_order_of_records_and_fields_is_nothing(one: State, draw: random.Random) -> None:
    def shuffled(state: State) -> State:
        keys = draw.sample(sorted(state), len(state))
        return {key: {n: state[key][n] for n in draw.sample([*state[key]], len(state[key]))}
                for key in keys}  # fmt: skip

    other = {key: facts for key, facts in one.items() if draw.random() < 0.7}
    assert compare(shuffled(one), shuffled(other)) == compare(one, other)


@given(any_states, any_states)
@settings(max_examples=300, deadline=None)
def test_all_of_any_change_is_told(one: State, other: State) -> None:
    check_told(one, other)


def check_told(one: State, other: State) -> None:
    changes = compare(one, other)
    told = lines_of_changes(changes, one, other)
    assert {id(c) for t in told for c in t.changes} == {id(c) for c in changes}
    renames = renames_in(changes)
    for change in changes:
        aspects = aspects_of(change, renames)
        fields = [name for aspect in aspects for name in aspect.fields]
        assert sorted(fields) == list(change.fields), "each field in one aspect"
        assert len({aspect.what for aspect in aspects}) == len(aspects) > 0
        assert Meaning.FOLLOWED not in {a.what for a in aspects} or renames.keys or not fields
    for one_told in told:
        assert one_told.text.endswith((".", "…"))
        begins_with_a_name = one_told.sentence[0].kind is not None
        assert begins_with_a_name or one_told.text[:1] == one_told.text[:1].upper()
        assert len(one_told.details) >= len(one_told.changes)


@given(seeds, st.integers(1, 6))
@settings(max_examples=250, deadline=None)
def test_edits_of_real_sites(seed: int, times: int) -> None:
    draw = random.Random(seed)
    plan = draw_plan(draw)
    one, other = state(plan, draw), state(edited(plan, draw, times), draw)
    check_laws(one, other)
    check_told(one, other)


def test_two_thousand_edits_in_a_row() -> None:
    """The whole of a long history, added up, leads from its first state to its last."""
    draw = random.Random(7)
    plan = draw_plan(draw)
    first = last = state(plan, draw)
    total: State = first
    for _ in range(2000):
        plan = edited(plan, draw)
        if len(plan.outlets) > 40:
            plan.outlets = dict(list(plan.outlets.items())[:20])
        following = state(plan, draw)
        total = apply(compare(last, following), total)
        last = following
    assert total == last
    assert apply(compare(first, last), first) == last


@given(seeds)
@settings(max_examples=150, deadline=None)
def test_how_records_are_typed_is_no_change(seed: int) -> None:
    draw = random.Random(seed)
    plan = draw_plan(draw)
    assert compare(state(plan, draw), state(plan, draw)) == ()


@given(seeds, st.integers(0, 2))
@settings(max_examples=200, deadline=None)
def test_states_are_the_same_when_the_typed_records_are(seed: int, times: int) -> None:
    """Witness: the typed records, which compare by value and know nothing of states."""
    draw = random.Random(seed)
    plan = draw_plan(draw)
    one, other = typed(plan, draw), typed(edited(plan, draw, times), draw)
    records = read_folder("x", one), read_folder("x", other)
    alike = records[0].by_kind == records[1].by_kind
    states = [state_of(take_folder_apart(files)[0]) for files in (one, other)]
    assert (states[0] == states[1]) == alike


@given(st.lists(st.tuples(_keys, _facts), max_size=8), st.randoms(use_true_random=False))
@settings(max_examples=150, deadline=None)
def test_a_key_that_stands_twice_loses_nothing(
    things: list[tuple[Key, Facts]], draw: random.Random
) -> None:
    state = joined([things])
    assert len(state) == len(things) or any("(2)" in key for (_, key), _ in things)
    assert joined([draw.sample(things, len(things))]) == state


# A table read piece by piece says the same as one read as a whole


_LINES = st.sampled_from(
    (
        "A1: {room: '1', port: 1A/A/01}",
        "A2: {room: '2'}",
        "A1: {room: '3'}",
        '"A3": {plate: "x: y"}',
        "A4:",
        "  room: '4'",
        "  note: |",
        "    two",
        "    lines",
        "",
        "# a comment",
        "  # another",
        "A5: {room: [",
        "  '5'], note: it's}",
        "A6: {note: 'open",
        "closed'}",
        "- x",
        "---",
        "...",
        "%YAML 1.1",
        "A7: &a {room: '7'}",
        "A8: *a",
        "A9: !x {room: '9'}",
        "? A10",
        ": {room: '10'}",
        "bad key: {}",
        "B1: 7",
        "\tB2: {}",
        "{B3: {}}",
        "B4: {}",
        "B5: {room: '1'}\rB6: {room: '2'}",
        "B7: {room: '1'}\u2028B8: {room: '2'}",
        "\ufeffB9: {}",
        "Ä: {}",
    )
)


@given(st.lists(_LINES, max_size=8), st.lists(_LINES, max_size=8), st.booleans())
@settings(max_examples=1500, deadline=None)
def test_a_table_is_the_same_in_pieces(before: list[str], lines: list[str], ends: bool) -> None:
    last = parse_file("outlets.yml", "\n".join(before).encode())
    text = "\n".join(lines) + ("\n" if ends else "")
    check_sheet(parse_file("outlets.yml", text.encode(), last), whole(text))
    check_sheet(parse_file("outlets.yml", text.encode(), EMPTY), whole(text))


def whole(text: str) -> ParsedFile:
    return parse_file("outlets.yml", text.encode(), whole=True)


def check_sheet(found: ParsedFile, expected: ParsedFile) -> None:
    assert (found.problem is None) == (expected.problem is None)
    assert sorted_things(found) == sorted_things(expected)


def sorted_things(sheet: ParsedFile) -> list[tuple[Key, Mapping[str, Value]]]:
    return sorted(sheet.things, key=lambda thing: thing[0])


@pytest.mark.parametrize("seed", range(40))
def test_a_history_read_in_pieces_is_the_same(seed: int) -> None:
    draw = random.Random(seed)
    plan = draw_plan(draw)
    sheets: dict[str, ParsedFile] = {}
    for _ in range(6):
        files = typed(plan, draw)
        sheets = {
            path: parse_file(path, data, sheets.get(path, EMPTY)) for path, data in files.items()
        }
        assert state_of_files(sheets.values()) == state_of(take_folder_apart(files)[0])
        plan = edited(plan, draw, 2)
