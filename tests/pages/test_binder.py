"""The binder and the sheets for doors: everything on one page, and nothing that doesn't belong."""

from __future__ import annotations

import datetime as dt
import re

import html5lib
import numpy as np
import pytest
import zxingcpp

from asbuilt.changes import Entry, History, LogLine, Piece
from asbuilt.escape import css
from asbuilt.pages import links
from asbuilt.pages.page import Asset, Page, PageTree
from asbuilt.pages.tree import site_tree
from asbuilt.records.edition import Edition
from tests.books import PRACTICE, book_of, no_drawing


def tree_of(edition: Edition = Edition.INTERNAL, **changed: str) -> PageTree:
    texts = {**PRACTICE, **{f"{name}.yml": text for name, text in changed.items()}}
    return site_tree(book_of(texts, edition), no_drawing)


def page(tree: PageTree, path: str) -> str:
    return next(part.html for part in tree if isinstance(part, Page) and part.path == path)


def style(tree: PageTree) -> str:
    return next(
        part.data.decode() for part in tree if isinstance(part, Asset) and part.path == "binder.css"
    )


def words(html: str) -> str:
    return " ".join(
        "".join(html5lib.parseFragment(html, namespaceHTMLElements=False).itertext()).split()
    )


def test_the_binder_holds_all_its_contents_name() -> None:
    html = page(tree_of(), "binder.html")
    named = re.findall(r'<li><a href="#([^"]+)">', html)
    assert named[:2] == ["before", "e-1A"]
    assert {"outlets", "tests", "findings", "changes"} <= set(named)
    for anchor in named:
        assert html.count(f'id="{anchor}"') == 1


def test_the_binder_tells_what_the_records_say() -> None:
    said = words(page(tree_of(), "binder.html"))
    for part in (
        "Asbestos: not known",
        "Iris Quill",
        "Northmere Telecom",
        "1A/A: 24-port panel, Cat 6",
        "1A-A01 101 reception",
        "desk of Nils Ferro",
        "1A/SW1/01",
        "F1: the door can't be closed over the cords",
        "No change is on record.",
    ):
        assert part in said, part


def test_free_ports_are_counted_and_the_rest_listed() -> None:
    """24 ports: 4 cabled, 1 dead, 2 abandoned are listed; 17 are free."""
    html = page(tree_of(), "binder.html")
    panel = html[html.index("24-port panel") :]
    panel = panel[: panel.index("</section>")]
    assert panel.count('<th scope="row"') == 7
    assert "17 ports free and not listed." in panel


def test_tests_are_counted_by_enclosure() -> None:
    """Four outlets end in 1A; one has a result, a pass."""
    html = page(tree_of(), "binder.html")
    row = html[html.index('id="tests"') :]
    row = row[row.index("<tbody>") : row.index("</tbody>")]
    assert re.findall(r'<td class="n">([^<]*)</td>', row) == ["4", "1", "", "", "", "3"]


def test_the_client_s_binder_holds_what_the_client_may_read() -> None:
    tree = tree_of(Edition.CLIENT)
    html = page(tree, "binder.html")
    assert "client’s edition" in html and "engineers’" not in html
    assert "camera" not in html and "1A-A03" not in html
    assert "the door can't be closed" not in html
    assert css("client’s edition") in style(tree)


def test_running_titles_carry_any_name() -> None:
    name = 'a"} @import url(//example.org/x); \\ <b> é 学校'
    site = PRACTICE["site.yml"].replace("Harbour Lane Practice", f"'{name}'")
    written = style(tree_of(site=site))
    title = re.search(r"@top-left \{ content: (\"[^\"]*\"); \}", written)
    assert title
    assert unescaped(title[1]) == name
    assert "@import" not in written and written.count("{") == written.count("}") == 4


def unescaped(string: str) -> str:
    """A CSS string as CSS Syntax 3 reads it (4.3.5, 4.3.7): up to six digits and one blank."""
    return re.sub(r"\\([0-9a-f]{1,6}) ?", lambda match: chr(int(match[1], 16)), string[1:-1])


@pytest.mark.parametrize("text", ["", "a b", "Steps, Tarn", "1\\22 b", "x\ny", "}"])
def test_a_css_string_reads_back(text: str) -> None:
    assert unescaped(css(text)) == " ".join(text.split())


# Doors


def test_a_door_s_sheet_says_what_hangs_there_and_whom_to_call() -> None:
    said = words(page(tree_of(), "doors/1A.html"))
    for part in (
        "Harbour Lane Practice",
        "110 store",
        "Iris Quill",
        "555 0101",
        "Northmere Telecom",
    ):
        assert part in said
    assert "Cat 6</td><td>101, 104</td>" in page(tree_of(), "doors/1A.html")
    assert "Asbestos: not known, ceilings of the ground floor." in said


def test_a_door_s_sheet_names_nobody_at_a_desk_and_no_outlet() -> None:
    html = page(tree_of(), "doors/1A.html")
    below = html[html.index('<div class="door-words">') :]
    assert "Nils Ferro" not in html
    assert "1A-A0" not in below
    assert "engineers’ edition" in html
    assert "engineers’ edition" not in page(tree_of(Edition.CLIENT), "doors/1A.html")


SERVED = PRACTICE["site.yml"] + (
    "pages at: https://records.example.com/harbour/\n"
    "client pages at: https://harbour.example/cabling\n"
)
OPENED = {
    Edition.INTERNAL: "https://records.example.com/harbour/enclosures/1A.html",
    Edition.CLIENT: "https://harbour.example/cabling/enclosures/1A.html",
}


def read_off(html: str) -> list[str]:
    """What a reader of codes that isn't ours (zxing-cpp) reads off the codes of a page."""
    found = []
    for side, path in re.findall(r'<svg class="code" viewBox="0 0 (\d+) .*? d="([^"]+)"', html):
        dots = np.full((int(side), int(side)), 255, np.uint8)
        for x, y, wide, high in re.findall(r"M(\d+) (\d+)h(\d+)v(\d+)h-\d+z", path):
            dots[int(y) : int(y) + int(high), int(x) : int(x) + int(wide)] = 0
        found += [
            code.text
            for code in zxingcpp.read_barcodes(np.kron(dots, np.ones((6, 6))).astype(np.uint8))
        ]
    return found


@pytest.mark.parametrize("edition", Edition)
def test_the_code_on_a_door_opens_the_page_of_its_enclosure(edition: Edition) -> None:
    """Each edition leads to its own pages, and says of the other's nothing."""
    tree = tree_of(edition, site=SERVED)
    html = page(tree, "doors/1A.html")
    assert read_off(html) == [OPENED[edition]]
    assert OPENED[edition] in words(html)
    assert OPENED[edition].endswith(links.enclosure("1A")) and page(tree, links.enclosure("1A"))
    if edition is Edition.CLIENT:
        said = b"".join(p.html.encode() if isinstance(p, Page) else p.data for p in tree)
        assert b"records.example.com" not in said and b"harbour.example" in said


@pytest.mark.parametrize("missing", ["pages at", "client pages at"])
def test_a_door_whose_pages_nobody_knows_has_no_code(missing: str) -> None:
    site = re.sub(rf"^{missing}: .*\n", "", SERVED, flags=re.M)
    edition = Edition.CLIENT if "client" in missing else Edition.INTERNAL
    html = page(tree_of(edition, site=site), "doors/1A.html")
    assert read_off(html) == [] and "The QR code opens" not in html and "https://" not in html


def test_an_address_that_names_what_is_withheld_is_no_address_for_the_client() -> None:
    """With “device” in its place it would lead nowhere; 1A-A03 serves a camera."""
    site = SERVED.replace("harbour.example/cabling", "harbour.example/1A-A03")
    html = page(tree_of(Edition.CLIENT, site=site), "doors/1A.html")
    assert read_off(html) == [] and "harbour.example" not in html


@pytest.mark.parametrize("edition", Edition)
def test_the_binder_ends_with_the_sheets_for_the_doors(edition: Edition) -> None:
    tree = tree_of(edition, site=SERVED)
    html = page(tree, "binder.html")
    assert re.findall(r'<li><a href="#([^"]+)">', html)[-1] == "door-1A"
    last = html[html.rindex("<section") :]
    assert 'id="door-1A"' in last and read_off(html) == [OPENED[edition]]
    alone = page(tree, "doors/1A.html")
    body = alone[alone.index('<div class="door-words">') :]
    assert words(body) in words(last)
    ids = re.findall(r' id="([^"]+)"', html)
    assert len(ids) == len(set(ids))


def _entry(commit: str, when: str, job: str | None, *more: str) -> Entry:
    told = (LogLine("changed", (Piece(f"words of {commit}"),), (), ()),)
    return Entry(commit, dt.datetime.fromisoformat(when), "M", "", "", job, told, more_jobs=more)


CHANGED = History(
    (
        _entry("c4", "2025-05-02T09:00+00:00", "J2", "J1"),
        _entry("c3", "2025-04-02T09:00+00:00", None),
        _entry("c2", "2025-03-07T08:00+00:00", "J1"),
        _entry("c1", "2025-03-06T23:00+00:00", "J1"),
    )
)


def changes_of(day: str) -> tuple[str, str]:
    texts = dict(PRACTICE)
    texts["site.yml"] = f"{day}\n{texts['site.yml']}"
    html = page(site_tree(book_of(texts, history=CHANGED), no_drawing), "binder.html")
    return words(html[: html.index('id="before"')]), words(html[html.index('id="changes"') :])


def test_the_binder_tells_what_changed_since_the_last_one_by_job() -> None:
    """All of the day and since, each once: under its first job, those without one last."""
    cover, said = changes_of("binder handed over: 2025-03-07")
    assert "Last binder handed over2025-03-07" in cover.replace("over 2025", "over2025")
    assert "Changes since the last binder" in cover
    order = ["Job J2", "words of c4", "Job J1", "words of c2", "Without a job", "words of c3"]
    assert [said.count(part) for part in order if part.startswith("words")] == [1, 1, 1]
    assert sorted(order, key=said.index) == order
    assert "words of c1" not in said


def test_a_binder_after_which_nothing_changed_says_so() -> None:
    _, said = changes_of("binder handed over: 2025-06-01")
    assert "No change of that day or since is on record." in said


def test_where_no_binder_was_handed_over_the_last_changes_are_told() -> None:
    cover, said = changes_of("")
    assert "last binder" not in cover.lower()
    assert "words of c4" in said and "words of c1" in said
