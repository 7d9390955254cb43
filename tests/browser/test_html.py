"""Every kind of page held against the HTML standard: html5lib raises at the first error of parsing,
and what a page says of its own parts is there, once."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path
from xml.etree.ElementTree import Element

import html5lib
import pytest

from tests.chromium import one_of_each_kind

#: Attributes that name an element of the same page (HTML Living Standard; WAI-ARIA 1.2).
NAMING = ("for", "aria-labelledby", "aria-describedby", "aria-controls", "headers", "list")
#: What takes a click of its own, and may not stand in another such (HTML Living Standard).
CLICKED = ("a", "button", "select", "textarea", "label", "summary")


def wrong_in(html: str) -> list[str]:
    parser = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False)
    try:
        document = parser.parse(html)
    except html5lib.html5parser.ParseError as error:
        line, column = parser.errors[0][0] if parser.errors else (0, 0)
        return [f"{line}:{column}: {error}"]
    every = list(document.iter())
    ids = Counter(name for e in every if (name := e.get("id")) is not None)
    wrong = [f"id {name} stands {number} times" for name, number in ids.items() if number > 1]
    wrong += [f"an id is empty or has a space: “{name}”" for name in ids if name.split() != [name]]
    for element in every:
        for attribute in NAMING:
            for name in (element.get(attribute) or "").split():
                if name not in ids:
                    wrong.append(f"{attribute} names {name}, which isn't there")
        href = element.get("href") or ""
        if href.startswith("#") and len(href) > 1 and href[1:] not in ids:
            wrong.append(f"a link leads to {href}, which isn't there")
    wrong += _clicked_within(document)
    wrong += [
        f"an image says nothing: {e.get('src')}"
        for e in every
        if e.tag == "img" and not e.get("alt")
    ]
    return wrong


def _clicked_within(element: Element, within: str = "") -> list[str]:
    tag = str(element.tag)
    wrong = [f"{tag} within {within}"] if tag in CLICKED and within else []
    inner = tag if tag in ("a", "button", "summary") else within
    return wrong + [line for child in element for line in _clicked_within(child, inner)]


def wrong_on(pages: dict[str, Path]) -> dict[str, list[str]]:
    found = {kind: wrong_in(page.read_text("utf-8")) for kind, page in pages.items()}
    return {kind: lines for kind, lines in found.items() if lines}


def test_every_kind_of_page_of_both_editions_and_the_front_page(public: Path, told: Path) -> None:
    internal, client = one_of_each_kind(public), one_of_each_kind(told)
    assert set(internal) - set(client) == {"all sites", "record-quality.html"}
    assert wrong_on(internal) == {} and wrong_on(client) == {}


def test_every_page_of_the_documentation(documentation: Path) -> None:
    pages = {str(page): page for page in documentation.rglob("*.html")}
    assert len(pages) > 20
    assert wrong_on(pages) == {}


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ("<p><div></div></p>", "Unexpected end tag"),
        ("<b id=x></b><b id=x></b>", "id x stands 2 times"),
        ("<section aria-labelledby=gone></section>", "names gone, which isn't there"),
        ("<a href='#gone'>x</a>", "a link leads to #gone"),
        ("<summary><a href='y'>x</a></summary>", "a within summary"),
        ("<img src=x>", "an image says nothing: x"),
        ("<p id='a b'>", "has a space"),
    ],
)
def test_what_is_wrong_is_seen(body: str, words: str) -> None:
    (line,) = wrong_in(f"<!doctype html><html lang=en><title>x</title><main>{body}</main></html>")
    assert re.search(re.escape(words), line), line
