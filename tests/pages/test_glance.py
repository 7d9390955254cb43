"""For somebody who isn't of the trade: the site at a glance, words explained, a text to copy."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import replace

import html5lib
import pytest

from asbuilt.changes.log import Revision
from asbuilt.pages.glance import fullness, recently_done
from asbuilt.records.edition import Edition
from asbuilt.trade.glossary import TERMS
from tests.books import PRACTICE, book_of, pages_of

JOBS = {
    "jobs/J1.yml": "title: Two desks in the gym\nstate: done\ndone on: 2024-03-08\nshare with client: yes\n",
    "jobs/J2.yml": "title: Secret cable\nstate: done\ndone on: 2024-06-01\n",
    "jobs/J3.yml": "title: Of old\nstate: done\ndone on: 2023-03-01\nshare with client: yes\n",
    "jobs/J4.yml": "title: Not yet\nstate: planned\nshare with client: yes\n",
}


def words_of(html: str) -> str:
    document = html5lib.parse(html, namespaceHTMLElements=False)
    return " ".join("".join(document.itertext()).split())


@pytest.mark.parametrize("edition", list(Edition))
def test_what_there_is_in_plain_words(edition: Edition) -> None:
    book = book_of(PRACTICE, edition)
    words = words_of(pages_of(book)["glance.html"].html)
    patched = sum(any(way.switch_port for way in ways) for ways in book.paths.values())
    assert f"{len(book.site.outlets)} outlets (the sockets" in words
    ready = sum(outlet.state in ("in use", "spare") for outlet in book.site.outlets.values())
    assert f" {ready - patched} of them" in words
    assert f"{book.headroom.panel_ports.free} of 24 places free" in words
    assert "Ask for the asbestos register" in words
    assert "Iris Quill" in words and "may order changes" in words
    assert "555 0101" in words
    served = words.split("on record: ")[1].split(".")[0]
    assert ("camera" in served) is (edition is Edition.INTERNAL)


@pytest.mark.parametrize("edition", list(Edition))
def test_the_form_can_be_read_and_copied_without_a_script(edition: Edition) -> None:
    html = pages_of(book_of(PRACTICE, edition))["glance.html"].html
    (form,) = re.findall(r'<pre class="to-copy">(.*?)</pre>', html, re.S)
    assert form.startswith("Change asked for at: Harbour Lane Practice\n")
    for line in ("Where (", "Wanted by", "working hours (Mon–Fri 08:00–18:00)?", "Iris Quill"):
        assert line in form


def test_the_last_year_is_that_of_the_records_and_the_client_reads_of_their_jobs_only() -> None:
    texts = {**PRACTICE, **JOBS}
    revision = Revision("0" * 40, dt.date(2024, 9, 1))
    books = {e: replace(book_of(texts, e), revision=revision) for e in Edition}
    assert [job.key for job in recently_done(books[Edition.INTERNAL])] == ["J2", "J1"]
    assert [job.key for job in recently_done(books[Edition.CLIENT])] == ["J1"]
    html = pages_of(books[Edition.CLIENT])["glance.html"].html
    assert "Two desks in the gym</a>, done on 8 March 2024." in html
    assert "Secret cable" not in html and "Not yet" in html


@pytest.mark.parametrize(
    ("free", "words"),
    [(0, "full"), (1, "almost full"), (24, "more than half full"), (48, "about half full, or less"),
     (96, "mostly empty")],
)  # fmt: skip
def test_how_full_in_words(free: int, words: str) -> None:
    assert fullness(free, 96) == words


@pytest.mark.parametrize("edition", list(Edition))
def test_every_word_is_explained_once_in_order_and_found_by_search(edition: Edition) -> None:
    names = [term.name for term in TERMS]
    assert names == sorted(set(names), key=str.lower)
    assert all(term.meaning.endswith(".") and term.source for term in TERMS)
    page = pages_of(book_of(PRACTICE, edition))["glossary.html"]
    anchors = {entry.anchor for entry in page.search if entry.anchor}
    assert len(anchors) == len(TERMS)
    assert all(f'id="{anchor}"' in page.html for anchor in anchors)
    assert page.nav


def test_an_outlet_without_a_cable_on_record_is_not_called_spare() -> None:
    before = words_of(pages_of(book_of())["glance.html"].html)
    more = {**PRACTICE, "outlets.yml": PRACTICE["outlets.yml"] + 'X1: {room: "101"}\n'}
    after = words_of(pages_of(book_of(more))["glance.html"].html)
    told = re.compile(r"(\d+) of them (?:is|are) cabled but connected to nothing")
    assert told.findall(before) == told.findall(after) != []


def test_a_site_just_begun_says_what_is_not_known() -> None:
    words = words_of(pages_of(book_of({"site.yml": "name: Just begun\n"}))["glance.html"].html)
    for said in (
        "0 outlets",
        "No cabinet is recorded yet",
        "No contact is recorded",
        "ask who may",
    ):
        assert said in words


def test_on_the_clients_pages_a_term_leads_where_it_first_stands_to_what_it_means() -> None:
    """Once a page, to an entry that is there; whoever is of the trade isn't told."""
    pages = pages_of(book_of(PRACTICE, Edition.CLIENT))
    anchors = re.findall(r'id="(term-[^"]+)"', pages["glossary.html"].html)
    led = {
        path: re.findall(r'href="(?:\.\./)*glossary\.html#([^"]+)"', page.html)
        for path, page in pages.items()
    }
    for path, found in led.items():
        assert len(found) == len(set(found)) and set(found) <= set(anchors), path
    for path, terms in {
        "index.html": {"term-revision", "term-rack-unit", "term-patch-panel"},
        "glance.html": {"term-enclosure", "term-rack-unit"},
        "findings.html": {"term-finding"},
        "headroom.html": {"term-drop", "term-uplink"},
    }.items():
        assert terms <= set(led[path]), path
    outlets = [page for path, page in pages.items() if path.startswith("outlets/")]
    added = [sum(map(len, re.findall(r'<a href="\.\./gloss[^>]*>', p.html))) for p in outlets]
    assert 0 < max(added) <= 100, "an outlet's page stays small"
    for path, page in pages_of(book_of(PRACTICE)).items():
        assert "glossary.html#" not in page.html, path
