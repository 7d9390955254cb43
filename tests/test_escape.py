"""Escaping held against readers that aren't ours: html5lib, xml.etree, Python-Markdown, csv."""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from xml.etree import ElementTree

import html5lib
import markdown  # type: ignore[import-untyped]
import pytest
from hypothesis import given
from hypothesis import strategies as st

from asbuilt import escape

#: Anything one can type, and what people who mean harm type.
TEXTS = st.one_of(
    st.text(max_size=80),
    st.text(st.sampled_from("<>&\"'`=/\\()[]{}!*_#|-+.:@ \t\n\r\0\x07\x1b\x9b\u202eaé1\ufffe"), max_size=60),
)  # fmt: skip


def visible(text: str) -> str:
    """`text` without what no page may hold."""
    return "".join(
        c
        for c in text
        if c in "\t\n\r" or (unicodedata.category(c) != "Cc" and c not in "\ufffe\uffff")
        if not "\u202a" <= c <= "\u202e" and not "\u2066" <= c <= "\u2069"
    )


@given(TEXTS)
def test_html_is_only_text(text: str) -> None:
    parser = html5lib.HTMLParser(namespaceHTMLElements=False)
    tree = parser.parse(f'<!doctype html><title>t</title><p title="{escape.html(text)}">x</p>')
    found = tree.find(".//p")
    assert len(list(tree.iter("p"))) == 1
    # HTML makes one line break of CR LF and of CR, in text as in attributes (HTML, 13.2.3.5).
    assert found.get("title") == re.sub("\r\n?", "\n", visible(text))


@given(TEXTS)
def test_svg_is_well_formed_and_says_the_text(text: str) -> None:
    element = ElementTree.fromstring(f"<text>{escape.html(text)}</text>")
    assert len(element) == 0
    assert (element.text or "") == re.sub("\r\n?", "\n", visible(text))


@given(TEXTS)
def test_markdown_is_only_text(text: str) -> None:
    page = markdown.markdown(f"x{escape.markdown(text)}", extensions=["tables", "attr_list"])
    tree = html5lib.parseFragment(page, namespaceHTMLElements=False)
    assert {element.tag for element in tree.iter()} <= {"DOCUMENT_FRAGMENT", "p"}
    assert "".join(tree.itertext()).strip() == f"x{' '.join(visible(text).split())}"


@given(TEXTS)
def test_a_terminal_is_not_steered(text: str) -> None:
    line = escape.terminal(text)
    assert len(line.splitlines()) <= 1
    assert not any(unicodedata.category(c) == "Cc" for c in line)


@given(TEXTS)
def test_a_csv_cell_comes_back_and_is_no_formula(text: str) -> None:
    cell = escape.csv(text)
    sheet = io.StringIO(newline="")
    csv.writer(sheet).writerow([cell, "next"])
    assert next(csv.reader(io.StringIO(sheet.getvalue(), newline=""))) == [cell, "next"]
    # CWE-1236: what a spreadsheet takes for a formula begins with one of these.
    assert not re.match(r"\s*[=+\-@\uff1d\uff0b\uff0d\uff20]|[\t\r]", cell)
    assert cell in (visible(text), f"'{visible(text)}")


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("=1+1", "'=1+1"),
        ("+49 555", "'+49 555"),
        ("-3 dB", "'-3 dB"),
        ("@SUM(A1)", "'@SUM(A1)"),
        (" =1", "' =1"),
        ("\t=1", "'\t=1"),
        ("\uff1d1+1", "'\uff1d1+1"),
        ("1A-A01", "1A-A01"),
        ("4.2 dB", "4.2 dB"),
        ("", ""),
    ],
)
def test_cells(text: str, cell: str) -> None:
    assert escape.csv(text) == cell


@given(TEXTS)
def test_a_slug_is_a_name_anywhere(text: str) -> None:
    assert re.fullmatch(r"[a-z0-9]+(?:-[a-z0-9]+)*", escape.slug(text))


@pytest.mark.parametrize(
    ("text", "slug"),
    [("Room 104", "room-104"), ("Größe", "groe"), ("../../x", "x"), ("…", "x"), ("1A/A", "1a-a")],
)
def test_slugs(text: str, slug: str) -> None:
    assert escape.slug(text) == slug


@given(TEXTS)
def test_a_dot_label_is_markup_free(text: str) -> None:
    label = escape.dot(text)
    element = ElementTree.fromstring(f"<td>{label}</td>")
    assert len(element) == 0
    said = (element.text or "").replace("\\\\", "\\")
    assert said == " ".join(visible(" ".join(text.split())).split("\n"))
