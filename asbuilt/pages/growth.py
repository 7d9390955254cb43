"""Room for growth: the answers for the numbers people ask for,
each with its proposed elevation."""

from __future__ import annotations

from collections.abc import Iterator

from markupsafe import Markup

from asbuilt.growth.answers import GrowthAnswer, remaining_capacity
from asbuilt.model.describe import cable_name, outlet_use
from asbuilt.pages.context import PageContext
from asbuilt.pages.page import Page, SearchEntry
from asbuilt.pages.page_drawings import PageDrawings
from asbuilt.pages.view import PageView, render
from asbuilt.trade.cautions import CUSTOMARY_CAUTIONS, DISCLAIMER


def pages(book: PageContext, pictures: PageDrawings) -> Iterator[Page]:
    path = "growth.html"
    answers = book.growth
    refused = next((growth for growth in answers if growth.refusal), None)
    shown = [] if refused else [_answer_with_drawings(pictures, growth, path) for growth in answers]
    html = render(
        "growth.html",
        PageView(book, path),
        refused=refused,
        answers=shown,
        customary=CUSTOMARY_CAUTIONS,
        deference=DISCLAIMER,
        cable=cable_name(answers[0].request.cable),
        words=outlet_use,
    )
    search = (SearchEntry("Growth", "how many more drops go in"),)
    yield Page(path, "Growth", html, nav="Growth", search=search)


def _answer_with_drawings(
    pictures: PageDrawings, growth: GrowthAnswer, path: str
) -> tuple[GrowthAnswer, object, list[tuple[str, Markup]]]:
    """An answer, what is left after it, and the fronts of the enclosures it changes."""
    plan, after = growth.plan, growth.proposed
    drawn = []
    if plan is not None and after is not None:
        marked = frozenset(plan.changed_items)
        for key in plan.enclosures:
            stands = f"proposal for {growth.drops} drops"
            front = pictures.front_at_revision(after, key, marked, path, stands)
            if front is not None:
                drawn.append((key, front))
    return growth, remaining_capacity(growth, after), drawn
