"""Pages: HTML a strict parser takes, links that lead somewhere, figures counted by hand."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Iterator
from xml.etree.ElementTree import Element

import html5lib
import pytest

from asbuilt.demo.storyboard import SITES, final_files
from asbuilt.pages.page import Asset, Page
from asbuilt.pages.tree import site_tree
from asbuilt.records.edition import Edition
from tests.books import PRACTICE, book_of, no_drawing, pages_of

EMPTY = {"site.yml": "name: Just begun\n"}


def parsed(page: Page) -> Element:
    """The page as the HTML Living Standard's own parsing algorithm reads it (html5lib)."""
    parser = html5lib.HTMLParser(strict=False, namespaceHTMLElements=False)
    document = f"<!DOCTYPE html><html><head><title>x</title></head><body>{page.html}</body></html>"
    tree: Element = parser.parse(document)
    assert not parser.errors, (page.path, parser.errors)
    return tree


@pytest.mark.parametrize("edition", list(Edition))
@pytest.mark.parametrize("texts", [PRACTICE, EMPTY], ids=["practice", "just begun"])
def test_a_strict_parser_finds_no_error(texts: dict[str, str], edition: Edition) -> None:
    pages = pages_of(book_of(texts, edition))
    assert "index.html" in pages
    for page in pages.values():
        parsed(page)


def hrefs(tree: Element) -> Iterator[str]:
    for element in tree.iter("a"):
        href = element.get("href")
        if href and not re.match(r"[a-z]+:", href):
            yield href


@pytest.mark.parametrize("edition", list(Edition))
def test_every_link_and_anchor_leads_somewhere(edition: Edition) -> None:
    tree = site_tree(book_of(PRACTICE, edition), no_drawing)
    assets = {entry.path for entry in tree if isinstance(entry, Asset)}
    documents = {entry.path: parsed(entry) for entry in tree if isinstance(entry, Page)}
    anchors = {
        path: {element.get("id") for element in document.iter() if element.get("id")}
        for path, document in documents.items()
    }
    followed = 0
    for path, document in documents.items():
        for href in hrefs(document):
            target, _, anchor = href.partition("#")
            target = posixpath.normpath(posixpath.join(posixpath.dirname(path), target))
            target = path if not href.partition("#")[0] else target
            assert target in documents or target in assets, (path, href)
            if anchor:
                assert anchor in anchors[target], (path, href)
            followed += 1
    assert followed > 50


def test_ids_are_unique_on_a_page() -> None:
    for page in pages_of(book_of()).values():
        ids = re.findall(r'\sid="([^"]+)"', page.html)
        assert len(ids) == len(set(ids)), page.path


def text_of(page: Page) -> str:
    return " ".join("".join(parsed(page).itertext()).split())


def test_an_outlet_says_at_once_where_it_hangs() -> None:
    said = text_of(pages_of(book_of())["outlets/1A-A01.html"])
    assert "Desk of Nils Ferro in 101 reception is connected to switch port 1A/SW1/01." in said
    for part in ("Cat 6, 23.4 m", "1A/A/01", "cord 0.3 m", "SW1", "Northmere Telecom"):
        assert part in said


def test_an_outlet_that_is_not_patched_says_so() -> None:
    said = text_of(pages_of(book_of())["outlets/1A-A04.html"])
    assert "is not patched to a switch, by these records" in said
    assert "ends here" in said


def test_a_label_shows_as_typed() -> None:
    page = pages_of(book_of())["outlets/1A-A04.html"]
    assert "<b>GYM</b> & 4" in text_of(page)
    assert "<b>GYM" not in page.html


def test_ports_not_known_to_be_free_do_not_count_as_free() -> None:
    """24 ports: 4 cabled (3 of them patched), 1 dead, 2 abandoned; 17 are left."""
    book = book_of()
    panel = book.headroom_by_enclosure["1A"].panels[0].ports
    assert (panel.total, panel.used, panel.unavailable, panel.free) == (24, 4, 3, 17)
    assert "17 of 24" in text_of(pages_of(book)["headroom.html"])


def test_units_left() -> None:
    """12 units; 12, 11, 8, 2 and 1 are taken: 3–7 and 9–10 are free, the largest run is five."""
    units = book_of().headroom_by_enclosure["1A"].units
    assert (units.used, units.free, units.largest_run) == (5, 7, 5)
    assert units.free_runs == ((3, 7), (9, 10))


def test_power_set_aside_by_class() -> None:
    """A phone of class 2 and a camera of class 3 on the switch: 7.0 W + 15.4 W (IEEE 802.3)."""
    poe = book_of().headroom.poe
    assert poe is not None
    assert round(poe.allocated_by_class, 1) == 22.4
    assert poe.powered == 2


def test_what_goes_dark_without_the_switch() -> None:
    said = text_of(pages_of(book_of())["enclosures/1A/SW1.html"])
    assert "3 outlets hang on it" in said
    assert "3 outlets lose service without it" in said


def test_the_client_is_not_shown_what_one_failure_would_darken() -> None:
    """Single points of failure are for engineers (common practice)."""
    pages = pages_of(book_of(edition=Edition.CLIENT))
    assert not any("dark without" in page.html for page in pages.values())
    assert "3 outlets hang on it" in text_of(pages["enclosures/1A/SW1.html"])


def test_the_client_reads_of_a_device_only_and_the_counts_add_up() -> None:
    pages = pages_of(book_of(edition=Edition.CLIENT))
    everything = "".join(page.html for page in pages.values())
    assert "camera" not in everything.replace("phones, access points, cameras and doors", "")
    assert "1A-A03" not in everything
    assert "harbour" not in everything.lower().replace("harbour lane", "")
    assert "door can't" not in everything.replace("&#39;", "'")
    assert "no earth bond seen" in everything
    said = text_of(pages["enclosures/1A/A.html"])
    assert "device" in said
    internal = book_of().headroom.panel_ports
    client = book_of(edition=Edition.CLIENT).headroom.panel_ports
    assert client == internal


def test_a_site_just_begun_has_its_pages() -> None:
    pages = pages_of(book_of(EMPTY))
    assert "No enclosure is recorded yet." in text_of(pages["index.html"])
    assert "No outlet is recorded yet." in text_of(pages["outlets.html"])


def test_record_pages_stay_out_of_the_navigation() -> None:
    pages = pages_of(book_of())
    named = [page.nav for page in pages.values() if page.nav]
    assert named[0] == "Site brief"
    assert named[-1] == "Record quality"
    for page in pages.values():
        assert (page.nav is None) == (page.parent is not None), page.path
        assert page.parent is None or page.parent in pages


def test_search_finds_labels_rooms_people_and_panel_ports() -> None:
    entries = [
        f"{entry.title} {entry.text}"
        for page in pages_of(book_of()).values()
        for entry in page.search
    ]
    for wanted in ("1A-A01", "Nils Ferro", "101 reception", "Iris Quill", "1A/A/02", "1A/SW1/25"):
        assert any(wanted in entry for entry in entries), wanted


@pytest.mark.parametrize("edition", list(Edition))
@pytest.mark.parametrize("key", sorted(SITES))
def test_every_link_of_the_demonstration_leads_somewhere(key: str, edition: Edition) -> None:
    texts = {
        path.removeprefix(f"sites/{key}/"): text
        for path, text in final_files().items()
        if path.startswith(f"sites/{key}/") and not path.endswith(".svg")
    }
    tree = site_tree(book_of(texts, edition, key=key), no_drawing)
    assets = {entry.path for entry in tree if isinstance(entry, Asset)}
    pages = {entry.path: entry.html for entry in tree if isinstance(entry, Page)}
    anchors = {path: set(re.findall(r' id="([^"]+)"', html)) for path, html in pages.items()}
    wrong = set()
    for path, html in pages.items():
        assert len(anchors[path]) == len(re.findall(r' id="([^"]+)"', html)), path
        for href in re.findall(r' href="([^"]+)"', html):
            if re.match(r"[a-z]+:", href):
                continue
            target, _, anchor = href.partition("#")
            target = posixpath.normpath(posixpath.join(posixpath.dirname(path), target))
            target = target if href[0] != "#" else path
            if (target not in pages and target not in assets) or (
                anchor and anchor not in anchors.get(target, set())
            ):
                wrong.add((path, href))
    assert not wrong
    assert len(pages) > 20
