"""Graphviz at the edge: what goes in comes out, in order, clean, and failures say which graph."""

from __future__ import annotations

import os
import shutil
import stat
import sys
from collections.abc import Sequence
from pathlib import Path
from xml.etree import ElementTree

import pytest

from asbuilt.drawings.diagrams import outlet_graph, patching_dot, site_dot
from asbuilt.drawings.dot_text import NodeLine, cluster, digraph, edge, node
from asbuilt.drawings.graph import dot_of
from asbuilt.io import graphviz as dot_module
from asbuilt.io.graphviz import clean, drawings_of, embedded_program, name_of, render_dots
from asbuilt.model.paths import cabling_graph
from asbuilt.problem import WorldError
from tests.drawn import MILL, SVG, page_of, parsed, site_from, texts, unwelcome, with_class

SITE = site_from(MILL)
NET = cabling_graph(SITE)
MILL_DOTS = [
    site_dot(SITE, NET, link=page_of),
    *(patching_dot(SITE, key, link=page_of) for key in SITE.enclosures),
    *(dot_of(outlet_graph(SITE, NET, key, link=page_of)) for key in SITE.outlets),
]
BAD = 'digraph "Patching of 9Z" { a -> '


def simple(label: str) -> str:
    return digraph(f"Graph {label}", [node("n", [NodeLine(label, bold=True)])], "LR")


def drawn_nodes(svg: str) -> int:
    return len(list(with_class(parsed(svg), "node")))


def test_as_many_drawings_as_graphs_in_their_order() -> None:
    drawn = render_dots([simple(f"L{number}") for number in range(25)])
    assert [texts(parsed(svg)) for svg in drawn] == [[f"L{number}"] for number in range(25)]


def test_no_graph_no_drawing() -> None:
    assert render_dots([]) == []


def test_in_several_batches_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    together = render_dots(MILL_DOTS)
    monkeypatch.setattr(dot_module, "BATCH", 3)
    assert render_dots(MILL_DOTS) == together
    assert [render_dots([dot])[0] for dot in MILL_DOTS] == together


def test_what_was_drawn_lately_is_not_drawn_again(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[list[str]] = []

    def draw(dots: Sequence[str], program: str | None = None) -> list[str]:
        asked.append(list(dots))
        return [f"{program} {dot}" for dot in dots]

    monkeypatch.setattr(dot_module, "render_dots", draw)
    monkeypatch.setattr(dot_module, "_LATELY", {})
    monkeypatch.setattr(dot_module, "MOST_KEPT", 3)
    assert drawings_of("abab") == ["None a", "None b", "None a", "None b"]
    assert drawings_of("cab") == ["None c", "None a", "None b"]
    assert drawings_of("da") == ["None d", "None a"], "one of the others goes"
    assert drawings_of("bac") == ["None b", "None a", "None c"]
    assert drawings_of("a", "other") == ["other a"]
    assert asked == [["a", "b"], ["c"], ["d"], ["b"], ["a"]]


def test_every_node_and_every_word_is_drawn() -> None:
    for dot, svg in zip(MILL_DOTS, render_dots(MILL_DOTS), strict=True):
        assert drawn_nodes(svg) == sum(
            "[label=<<TABLE" in line and "->" not in line for line in dot.splitlines()
        )
        assert len(list(with_class(parsed(svg), "edge"))) == dot.count('" -> "') + dot.count(
            ':e -> "'
        )


@pytest.mark.parametrize("dot", MILL_DOTS, ids=name_of)
def test_a_drawing_is_clean(dot: str) -> None:
    svg = render_dots([dot])[0]
    assert unwelcome(svg) == []
    assert not any(
        part in svg for part in ("<?xml", "<!DOCTYPE", "<!--", "xlink", 'pt"', "Arial,sans")
    )
    root = parsed(svg)
    assert root.get("class") == "drawing diagram"
    assert root.get("aria-label") == name_of(dot)
    assert [e for e in root.iter() if e.get("id")] == [], "several diagrams stand on one page"
    colours = [v for e in root.iter() for v in (e.get("fill"), e.get("stroke")) if v]
    assert colours == [], "colours come from classes, so that they follow light and dark"
    drawn = {f"{SVG}{tag}" for tag in ("path", "polygon", "polyline", "ellipse", "rect")}
    for element in root.iter():
        names = element.get("class", "").split()
        if element.tag in drawn:
            assert any(name.startswith("on-") or name == "hollow" for name in names), names
            assert any(name.startswith("by-") or name == "bare" for name in names), names


def test_links_are_ours_and_one_deep() -> None:
    for svg in render_dots(MILL_DOTS):
        for link in parsed(svg).iter(f"{SVG}a"):
            assert link.get("href", "").startswith("../")
            assert [inner for inner in link.iter(f"{SVG}a") if inner is not link] == []
    plain = render_dots([dot_of(outlet_graph(SITE, NET, "1A-A01"))])[0]
    assert "<a " not in plain


def test_labels_of_frames_come_after_the_lines() -> None:
    frame = cluster("c", [NodeLine("a frame")], [node("inside", [NodeLine("inside")])])
    other = node("outside", [NodeLine("outside")])
    body = [frame, other, edge("outside", "inside")]
    svg = render_dots([digraph("x", body, "TB")])[0]
    assert svg.index(">a frame<") > svg.index('class="edge"')


def test_the_same_graph_gives_the_same_bytes_whatever_the_surroundings(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    before = render_dots(MILL_DOTS)
    monkeypatch.setenv("LC_ALL", "tr_TR.UTF-8")
    monkeypatch.setenv("TZ", "Pacific/Auckland")
    monkeypatch.setenv("HOME", "/nonexistent")
    assert render_dots(MILL_DOTS) == before


def test_any_script_comes_through() -> None:
    label = "Ünïcode 配線架 سلك Ω “q” 🧵"
    assert texts(parsed(render_dots([simple(label)])[0])) == [label]


def test_the_embedded_program_is_the_one_installed() -> None:
    path = Path(embedded_program())
    assert path.is_file()
    assert path.stem == "graphviz-pure"
    assert path.parent == Path(sys.executable).parent, "of this very environment"


# ---- failures


def test_a_graph_that_can_t_be_drawn_is_named() -> None:
    with pytest.raises(WorldError, match=r"Graphviz can't draw “Patching of 9Z”: .*syntax error"):
        render_dots([simple("one"), BAD, simple("two")])


def test_a_program_that_isn_t_there_is_said(tmp_path: Path) -> None:
    with pytest.raises(WorldError, match=r"there is no Graphviz at .*nowhere"):
        render_dots([simple("x")], str(tmp_path / "nowhere"))


def test_a_program_that_can_t_be_started_is_said(tmp_path: Path) -> None:
    with pytest.raises(WorldError, match="can't be started: Permission denied"):
        render_dots([simple("x")], str(tmp_path))


def program(tmp_path: Path, lines: Sequence[str]) -> str:
    path = tmp_path / "dot"
    path.write_text("\n".join((f"#!{sys.executable}", *lines)), encoding="utf-8")
    path.chmod(path.stat().st_mode | stat.S_IXUSR)
    return str(path)


@pytest.mark.skipif(os.name == "nt", reason="a script can't be a program here")
@pytest.mark.parametrize(
    ("lines", "reason"),
    [
        (["import sys; sys.exit('no more paper')"], "no more paper"),
        (["raise SystemExit(3)"], "it gives no reason"),
        (["print('hello')"], "it gives no reason"),
        (["import sys; print('<?xml version=\"1.0\"?><svg'); sys.exit(1)"], "it gives no reason"),
        (["print('<?xml version=\"1.0\"?><svg')"], "its answer is no SVG"),
    ],
)
def test_a_program_that_fails_is_told(tmp_path: Path, lines: list[str], reason: str) -> None:
    with pytest.raises(WorldError, match=f"can't draw “Graph x”: {reason}"):
        render_dots([simple("x")], program(tmp_path, lines))


@pytest.mark.skipif(os.name == "nt", reason="a script can't be a program here")
def test_a_program_that_hangs_is_given_up(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(dot_module, "PATIENCE", 0.4)
    with pytest.raises(WorldError, match="can't draw “Graph x”: it took longer than 0 s"):
        render_dots([simple("x")], program(tmp_path, ["import time; time.sleep(30)"]))


@pytest.mark.skipif(os.name == "nt", reason="a script can't be a program here")
def test_a_program_that_takes_one_graph_at_a_time_will_do(tmp_path: Path) -> None:
    """Some read only the first graph of their input."""
    first_only = [
        "import subprocess, sys",
        "text = sys.stdin.read()",
        "first = 'digraph' + text.split('digraph')[1]",
        f"done = subprocess.run([{embedded_program()!r}, '-Tsvg'], input=first.encode(), capture_output=True)",
        "sys.stdout.buffer.write(done.stdout)",
    ]
    dots = [simple("one"), simple("two")]
    assert render_dots(dots, program(tmp_path, first_only)) == render_dots(dots)


def test_the_name_of_a_graph() -> None:
    assert name_of('digraph "Path of outlet 1A-A01" {}') == "Path of outlet 1A-A01"
    assert name_of('digraph "a \\"b\\" \\\\" {}') == 'a "b" \\'
    assert name_of("strict graph G { a -- b }") == "G"
    assert name_of("nothing") == "a graph"


# ---- cleaning


FOREIGN = """<?xml version="1.0"?><!DOCTYPE svg><!-- by hand -->
<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"
 width="10pt" height="20pt" viewBox="0.00 -5.00 10.00 20.50">
<g id="graph0" class="graph" transform="translate(1 2)"><title>T &amp; t</title>
<script>alert(1)</script><image xlink:href="https://example.org/x.png"/>
<g id="node1" class="node" onclick="x()"><title>n</title>
<g id="a_node1"><a xlink:href="n.html" xlink:title="tip &lt;b&gt;" target="_blank">
<polygon fill="#fbfaf5" stroke="black" points="0,0 1,1" style="x"/>
<text text-anchor="start" x="1" y="2" font-family="Arial" font-size="12.00" fill="#a33b20">a&lt;b</text>
</a></g></g></g></svg>"""


def test_only_what_is_known_stays() -> None:
    root = parsed(clean(FOREIGN))
    assert root.get("viewBox") == "0 -5 10 20.5"
    assert (root.get("width"), root.get("height")) == ("10", "20.5")
    assert root.get("aria-label") == "T & t"
    assert unwelcome(clean(FOREIGN)) == []
    link = next(root.iter(f"{SVG}a"))
    assert link.attrib == {"href": "n.html"}
    assert link.findtext(f"{SVG}title") == "tip <b>"
    shape = next(root.iter(f"{SVG}polygon"))
    assert shape.attrib == {"points": "0,0 1,1", "class": "on-paper by-ink"}
    text = next(root.iter(f"{SVG}text"))
    assert text.text == "a<b"
    assert text.get("class") == "on-accent"


# ---- a system's own Graphviz

SYSTEM = shutil.which("dot")


@pytest.mark.skipif(SYSTEM is None, reason="no system Graphviz here (apt-get install graphviz)")
def test_a_system_s_dot_draws_the_same_things() -> None:
    """Positions may differ by a version's metrics; nodes, edges, words and links may not."""

    def things(svg: str) -> tuple[list[str], list[str], int]:
        root = parsed(svg)
        links = [a.get("href", "") for a in root.iter(f"{SVG}a")]
        return sorted(texts(root)), sorted(links), drawn_nodes(svg)

    ours, theirs = render_dots(MILL_DOTS), render_dots(MILL_DOTS, SYSTEM)
    assert [things(svg) for svg in theirs] == [things(svg) for svg in ours]
    assert all(unwelcome(svg) == [] for svg in theirs)
    assert all(isinstance(ElementTree.fromstring(svg), ElementTree.Element) for svg in theirs)
