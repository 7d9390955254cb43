"""A walk-round as a list to fill in, and back."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from asbuilt.facts.walk_round import SAMPLE, WalkRound, WalkStop
from asbuilt.lists.cells import Cell, CellPosition, Grid, ListProblem
from asbuilt.lists.columns import folded
from asbuilt.lists.table import Table
from asbuilt.problem import suggestion

HEADER: Final = (
    "kind", "key", "label", "room", "by the records", "last seen", "days changed since", "why",
    "as recorded", "what is different",
)  # fmt: skip
_ANSWERS: Final = {"yes": True, "y": True, "x": True, "✓": True, "no": False, "n": False}


def walk_table(walk: WalkRound) -> Table:
    rows = (
        (
            stop.kind, stop.key, stop.name, stop.room or "", stop.details, str(stop.seen or ""),
            str(stop.changes_since_seen), ", ".join(stop.reasons), "", "",
        )
        for stop in walk.stops
    )  # fmt: skip
    return Table("walk-round", HEADER, tuple(rows))


@dataclass(frozen=True, slots=True)
class WalkAnswer:
    """What was found at a stop."""

    stop: WalkStop
    right: bool
    different: str
    sampled: bool


@dataclass(slots=True)
class WalkAnswers:
    """What was filled in; of each stop nobody answered for, whether it is of the sample."""

    answers: list[WalkAnswer] = field(default_factory=list)
    open: list[bool] = field(default_factory=list)
    wrong: list[ListProblem] = field(default_factory=list)


def read_answers(grid: Grid, stops: dict[tuple[str, str], WalkStop]) -> WalkAnswers:
    """The rows of a list that `walk_table` made, filled in by somebody."""
    found = WalkAnswers(wrong=list(grid.wrong))
    if found.wrong or not grid.rows:
        return found
    titles = {folded(cell.text): cell.spot.column for cell in grid.rows[0]}
    for name in ("kind", "key", "why", "as recorded"):
        if name not in titles:
            message, hint = f"no column is called “{name}”", "fill in the list as it was written"
            found.wrong.append(ListProblem(grid.rows[0][0].spot, message, hint))
    if found.wrong:
        return found
    told: set[tuple[str, str]] = set()
    for row in grid.rows[1:]:
        cells = {cell.spot.column: cell for cell in row}

        def cell(name: str, cells: dict[int, Cell] = cells, row: tuple[Cell, ...] = row) -> Cell:
            empty = Cell(CellPosition(row[0].spot.row, titles.get(name, 0)), "")
            return cells.get(titles.get(name, -1), empty)

        thing = (cell("kind").text, cell("key").text)
        stop = stops.get(thing)
        if stop is None:
            near = suggestion(thing[1], (key for kind, key in stops if kind == thing[0]))
            message = f"there is no {thing[0] or 'thing'} “{thing[1]}”"
            found.wrong.append(
                ListProblem(cell("key").spot, message, near or "it may be removed since")
            )
            continue
        if thing in told:
            message = f"{thing[0]} {thing[1]} stands here twice"
            found.wrong.append(ListProblem(cell("key").spot, message, "keep one of the two"))
            continue
        told.add(thing)
        said, different = cell("as recorded"), cell("what is different").text
        sampled = SAMPLE in [why.strip() for why in cell("why").text.split(",")]
        if not said.text and not different:
            found.open.append(sampled)
            continue
        right = _ANSWERS.get(said.text.casefold()) if said.text else False
        if right is None:
            message, hint = f"“{said.text}” is neither yes nor no", "write yes or no"
            found.wrong.append(ListProblem(said.spot, message, hint))
        elif right and different:
            message = "it is said to be as recorded, and what is different"
            found.wrong.append(ListProblem(said.spot, message, "write no, or take the remark out"))
        else:
            found.answers.append(WalkAnswer(stop, right, different, sampled))
    return found
