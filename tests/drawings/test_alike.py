"""Graphs that differ in their words only are laid out once, and say what each would say alone."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest

from asbuilt.drawings.diagrams import outlet_graph
from asbuilt.drawings.dot_text import NodeLine
from asbuilt.drawings.graph import Graph, GraphCluster, GraphEdge, GraphNode, dot_of
from asbuilt.drawings.placeholders import fill_placeholders, with_placeholders
from asbuilt.drawings.text_metrics import text_width
from asbuilt.io.graphviz import render_dots
from asbuilt.model.paths import cabling_graph
from tests.drawings.test_diagrams import SITE
from tests.drawn import page_of

SVG = "{http://www.w3.org/2000/svg}"


def drawn(graph: Graph) -> ElementTree.Element:
    return ElementTree.fromstring(render_dots([dot_of(graph)])[0])


def said(root: ElementTree.Element) -> list[tuple[str, str]]:
    """Every text, title and link, sorted: where Graphviz writes them differs."""
    found = [(element.tag, element.text or "") for element in root.iter()]
    links = [("href", element.get("href", "")) for element in root.iter(f"{SVG}a")]
    kept = (f"{SVG}text", f"{SVG}title")
    return sorted([*(pair for pair in found if pair[0] in kept), *links])


def filled(graph: Graph) -> ElementTree.Element:
    alike, words = with_placeholders(graph)
    return ElementTree.fromstring(fill_placeholders(render_dots([dot_of(alike)])[0], words))


@pytest.mark.parametrize("key", sorted(SITE.outlets))
def test_every_path_says_the_same_as_drawn_alone(key: str) -> None:
    graph = outlet_graph(SITE, cabling_graph(SITE), key, link=page_of)
    alone, ours = drawn(graph), filled(graph)
    assert said(ours) == said(alone)
    assert ours.get("aria-label") == alone.get("aria-label") == f"Path of outlet {key}"


def test_what_a_label_holds_stays_text() -> None:
    evil = ["</text><script>1</script>", '"><a href="x">', "000", "12", "& <B>", 'a\\"b']
    boxes = [
        GraphNode(f"n{text}", (NodeLine(text, bold=True, href=f"{at}.html"),))
        for at, text in enumerate(evil)
    ]
    ties = [
        GraphEdge("n000", "n12", ("<FONT>7</FONT>", "000")),
        GraphEdge("n12", "n& <B>", dashed=True),
    ]
    frame = GraphCluster(
        'f"<B>', (NodeLine("& <B>7"),), (GraphNode("in", (NodeLine(""),), dead_end=True),)
    )
    graph = Graph('x" <B>12</B>', (*boxes, frame, *ties))
    assert said(filled(graph)) == said(drawn(graph))


def test_words_fit_where_their_stand_ins_stood() -> None:
    for key in SITE.outlets:
        alike, words = with_placeholders(outlet_graph(SITE, cabling_graph(SITE), key, link=page_of))
        for element in drawn(alike).iter(f"{SVG}text"):
            size = float(element.get("font-size", "0"))
            bold = element.get("font-weight") == "bold"
            token = element.text or ""
            assert text_width(words.texts[int(token[:3])], size, bold) <= text_width(
                token, size, bold
            )


def test_paths_of_words_of_about_the_same_length_share_a_drawing() -> None:
    def path(label: str, room: str) -> Graph:
        jack = GraphNode(f"jack {label}", (NodeLine(label, bold=True), NodeLine(room)))
        return Graph(f"Path of {label}", (jack, GraphEdge(f"jack {label}", "SW1", ("cord 1 m",))))

    assert (
        with_placeholders(path("1A-A01", "room 101"))[0]
        == with_placeholders(path("1A-A17", "room 207"))[0]
    )
    assert (
        with_placeholders(path("1A-A01", "room 101"))[0]
        != with_placeholders(path("1A-A01", "room 101" * 4))[0]
    )
