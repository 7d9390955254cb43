"""What changed since the last visit: which day that is, who was there, what is told of since."""

from __future__ import annotations

import datetime as dt

import html5lib
import pytest

from asbuilt.changes.log import Entry, History
from asbuilt.changes.log_lines import LogLine, Piece
from asbuilt.facts.last_visit import Visit, VisitActivity, last_visit
from asbuilt.pages.brief import RECENT_LINES
from asbuilt.records.edition import Edition
from tests.books import PRACTICE, book_of, pages_of, site_from

BARE = {path: text for path, text in PRACTICE.items() if not path.startswith("tests/")} | {
    "findings.yml": ""
}


def test_the_last_visit_is_the_latest_day_somebody_was_there() -> None:
    """In the practice a finding was cleared and a link tested on 7 March; nobody is named."""
    assert last_visit(site_from(PRACTICE)) == Visit(
        dt.date(2025, 3, 7),
        (),
        (
            VisitActivity("cleared", "finding", ("F2",)),
            VisitActivity("tested", "link", ("1A-A01",)),
        ),
    )


@pytest.mark.parametrize(
    ("path", "text", "deeds"),
    [
        ("jobs/J2.yml", "title: x\nstate: done\ndone by: Bo\ndone on: 2025-04-01\n",
         VisitActivity("did", "job", ("J2",))),
        ("jobs/J2.yml", "title: x\nstate: verified\ndone by: Al\ndone on: 2025-03-30\n"
         "verified by: Bo\nverified on: 2025-04-01\n", VisitActivity("verified", "job", ("J2",))),
        ("findings.yml", "F3: {what: x, found on: 2025-04-01, found by: Bo}\n",
         VisitActivity("found", "finding", ("F3",))),
        ("photos.yml", "P1: {file: photos/x.jpg, taken: 2025-04-01, by: Bo}\n",
         VisitActivity("took", "photo", ("P1",))),
        ("outlets/more.yml", "X1: {seen: 2025-04-01 by Bo}\nX2: {seen: 2025-04-01 by Bo}\n",
         VisitActivity("saw", "thing", ("X1", "X2"))),
    ],
)  # fmt: skip
def test_whatever_only_somebody_on_site_can_do_is_a_visit(
    path: str, text: str, deeds: VisitActivity
) -> None:
    visit = last_visit(site_from({**BARE, path: text}))
    assert visit == Visit(dt.date(2025, 4, 1), ("Bo",), (deeds,))


def test_what_is_asked_for_or_allowed_is_no_visit() -> None:
    job = "title: x\nstate: authorised\nasked on: 2025-04-01\nauthorised on: 2025-04-02\n"
    assert last_visit(site_from({**BARE, "jobs/J2.yml": job})) is None


def entry(commit: str, day: str, lines: int = 1) -> Entry:
    told = tuple(
        LogLine("changed", (Piece(f"words of {commit}, {n}."),), (), ()) for n in range(lines)
    )
    return Entry(commit, dt.datetime.fromisoformat(f"{day}T09:00+00:00"), "", "", "", None, told)


def since(entries: tuple[Entry, ...], texts: dict[str, str], edition: Edition) -> str:
    html = pages_of(book_of(texts, edition, History(entries)))["index.html"].html
    tree = html5lib.parse(html, namespaceHTMLElements=False)
    section = tree.find(".//section[@aria-labelledby='lately']")
    assert section is not None
    return " ".join("".join(section.itertext()).split())


@pytest.mark.parametrize("edition", list(Edition))
def test_the_brief_tells_of_that_day_and_since(edition: Edition) -> None:
    entries = (entry("", "2025-03-01"), entry("c3", "2025-03-20"), entry("c2", "2025-03-07"),
               entry("c1", "2025-03-06"))  # fmt: skip
    said = since(entries, dict(PRACTICE), edition)
    assert said.startswith("What changed since the last visit")
    assert "on 7 March 2025: cleared finding F2, tested 1 link." in said
    for words in ("words of , 0.", "words of c3, 0.", "words of c2, 0."):  # uncommitted work too
        assert said.count(words) == 1
    assert "words of c1" not in said
    assert "The whole change log: 4 entries" in said


def test_only_a_handful_is_told_and_the_rest_counted() -> None:
    said = since((entry("c3", "2025-03-20", 4), entry("c2", "2025-03-08", 9)), dict(PRACTICE),
                 Edition.INTERNAL)  # fmt: skip
    assert said.count("words of") == RECENT_LINES
    assert f"And {13 - RECENT_LINES} more lines." in said


def test_nothing_since_is_said_and_what_came_before_shown_as_that() -> None:
    said = since((entry("c2", "2025-03-05"), entry("c1", "2025-03-04")), dict(PRACTICE),
                 Edition.INTERNAL)  # fmt: skip
    assert "No change since then is on record. The last one before it:" in said
    assert "words of c2" in said and "words of c1" not in said and "more line" not in said


def test_a_site_nobody_is_known_to_have_visited_says_so() -> None:
    said = since((entry("c1", "2025-03-04"),), BARE, Edition.INTERNAL)
    assert said.startswith("Recent changes No visit is on record")
    assert "words of c1" in said


def test_the_client_is_told_of_no_visit_that_only_left_what_is_internal() -> None:
    """A finding that isn't told was found later than what the client may read of."""
    later = {**PRACTICE, "findings.yml": PRACTICE["findings.yml"]
             + "F3: {what: secret, found on: 2025-05-01, found by: Bo}\n"}  # fmt: skip
    assert "on 1 May 2025, by Bo: found finding F3." in since((), later, Edition.INTERNAL)
    told = since((), later, Edition.CLIENT)
    assert "on 7 March 2025" in told
    assert "F3" not in told and "Bo" not in told


@pytest.mark.parametrize("edition", list(Edition))
def test_one_calls_the_first_who_is_written_down_with_a_number(edition: Edition) -> None:
    people = (
        "contacts:\n  z: {name: Nobody Reached}\n  l: {name: Landlord, phone: 1, party: landlord}\n"
        "  y: {name: Porter, phone: 555 02}\n  a: {name: Head, phone: 555 03}\n"
    )
    texts = {"site.yml": f"name: x\n{people}"}
    html = pages_of(book_of(texts, edition))["index.html"].html
    called = html.split("<dt>Call</dt>")[1].split("</div>")[0]
    assert "Porter" in called and 'href="tel:55502"' in called and "all 4" in called
    assert "nothing recorded: ask before you rely on it" in html.split("<dt>Hazards</dt>")[1]
