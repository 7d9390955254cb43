"""The only place that starts Graphviz: DOT texts in, clean SVG texts out."""

from __future__ import annotations

import contextlib
import functools
import itertools
import os
import re
import subprocess
import sys
from collections.abc import Iterator, Sequence
from importlib import metadata
from pathlib import Path
from typing import Final
from xml.etree import ElementTree

from asbuilt.drawings.sheet import COLOURS, STYLE_ELEMENT, background
from asbuilt.drawings.svg_elements import Box, coordinate
from asbuilt.escape import html
from asbuilt.problem import WorldError

#: How many graphs go through one process, and how long it may take: far more than it does.
BATCH: Final = 200
PATIENCE: Final = 60.0  # seconds
MOST_KEPT: Final = 512  # drawings

_SVG: Final = "{http://www.w3.org/2000/svg}"
_HREF: Final = "{http://www.w3.org/1999/xlink}href"
_TIP: Final = "{http://www.w3.org/1999/xlink}title"
_START: Final = re.compile(r"(?=<\?xml )")

#: What a cleaned drawing may hold; everything else Graphviz writes is dropped.
_KEPT: Final = {
    "g": ("transform",),
    "a": (),
    "path": ("d", "stroke-width", "stroke-dasharray"),
    "polygon": ("points", "stroke-width", "stroke-dasharray"),
    "polyline": ("points", "stroke-width", "stroke-dasharray"),
    "ellipse": ("cx", "cy", "rx", "ry", "stroke-width", "stroke-dasharray"),
    "text": ("x", "y", "text-anchor", "font-size", "font-weight", "font-style"),
}


@functools.cache
def embedded_program() -> str:
    """The Graphviz that came with the installation: where its wheel put it, else beside Python."""
    name = "graphviz-pure.exe" if sys.platform == "win32" else "graphviz-pure"
    with contextlib.suppress(metadata.PackageNotFoundError):
        for file in metadata.files("graphviz-pure") or ():
            if file.name == name:
                return os.path.realpath(file.locate())
    return str(Path(sys.executable).parent / name)


def engine(program: str | None = None) -> str:
    """Which Graphviz draws, as it names itself: another one may draw otherwise."""
    if program is None:
        return f"graphviz-pure {metadata.version('graphviz-pure')}"
    try:
        with _starting(program):
            done = subprocess.run([program, "-V"], capture_output=True, timeout=PATIENCE)
    except subprocess.TimeoutExpired:
        raise WorldError(f"{program} doesn’t say which Graphviz it is; name another") from None
    return " ".join((done.stderr or done.stdout).decode("utf-8", "replace").split())[:80]


def render_dots(dots: Sequence[str], program: str | None = None) -> list[str]:
    """An SVG for each DOT text, in order. `program` is a Graphviz `dot`, by default the one that
    came with the installation. Raises WorldError naming the graph that can't be drawn."""
    command = program or embedded_program()
    drawn: list[str] = []
    for i in range(0, len(dots), BATCH):
        drawn += _batch(dots[i : i + BATCH], command)
    return drawn


def drawings_of(dots: Sequence[str], program: str | None = None) -> list[str]:
    """As `render_dots`, but what was drawn lately isn't drawn again: paths differ little from site
    to site once their words are out, and a site that is served is drawn with every save."""
    keys = [(program, dot) for dot in dots]
    drawn = {key: _LATELY.pop(key) for key in dict.fromkeys(keys) if key in _LATELY}
    new = [key for key in dict.fromkeys(keys) if key not in drawn]
    drawn |= zip(new, render_dots([dot for _, dot in new], program), strict=True)
    _LATELY.update(drawn)  # those asked for last stay longest
    for key in list(itertools.islice(_LATELY, max(0, len(_LATELY) - MOST_KEPT))):
        del _LATELY[key]
    return [drawn[key] for key in keys]


_LATELY: Final[dict[tuple[str | None, str], str]] = {}


def _batch(dots: Sequence[str], program: str) -> list[str]:
    """Many graphs through one process; if that fails, one by one, to name the culprit."""
    if len(dots) > 1:
        documents = _documents(_run("".join(dots), program)[0])
        if len(documents) == len(dots):
            return [_cleaned(*pair) for pair in zip(documents, dots, strict=True)]
    return [_one(dot, program) for dot in dots]


def _one(dot: str, program: str) -> str:
    output, complaint = _run(dot, program)
    documents = _documents(output)
    if len(documents) != 1:
        reason = complaint.strip().splitlines()[-1:] or ["it gives no reason"]
        raise _undrawn(dot, reason[0])
    return _cleaned(documents[0], dot)


def _cleaned(document: str, dot: str) -> str:
    try:
        return clean(document)
    except ElementTree.ParseError as error:
        raise _undrawn(dot, f"its answer is no SVG ({error})") from None


def _undrawn(dot: str, reason: str) -> WorldError:
    return WorldError(f"Graphviz can't draw “{name_of(dot)}”: {reason}")


def _run(text: str, program: str) -> tuple[str, str]:
    """What the program says on its two outputs; nothing at all on the first if it failed."""
    try:
        with _starting(program):
            done = subprocess.run(
                [program, "-Tsvg"],
                input=text.encode(),
                capture_output=True,
                timeout=PATIENCE,
                check=False,
            )
    except subprocess.TimeoutExpired:
        return "", f"it took longer than {PATIENCE:.0f} s"
    output = done.stdout.decode("utf-8", "replace") if done.returncode == 0 else ""
    return output, done.stderr.decode("utf-8", "replace")


@contextlib.contextmanager
def _starting(program: str) -> Iterator[None]:
    try:
        yield
    except FileNotFoundError:
        raise WorldError(f"there is no Graphviz at {program}; reinstall, or name another") from None
    except OSError as error:
        raise WorldError(f"Graphviz at {program} can't be started: {error.strerror}") from None


def _documents(output: str) -> list[str]:
    return [part for part in _START.split(output) if part.startswith("<?xml ")]


def name_of(dot: str) -> str:
    """The name a graph gives itself."""
    match = re.search(r'graph\s+(?:"((?:[^"\\]|\\.)*)"|(\w+))', dot)
    return re.sub(r"\\(.)", r"\1", match[1] or match[2]) if match else "a graph"


def clean(document: str) -> str:
    """An SVG of Graphviz's without prologue, comments, ids and fixed colours, so that it wears
    our own style, in light and in dark; only what is known to be drawing stays."""
    root = ElementTree.fromstring(document)  # noqa: S314 -- Graphviz's own output
    paper = Box(*map(float, root.get("viewBox", "0 0 0 0").split()))
    view = " ".join(map(coordinate, (paper.x, paper.y, paper.width, paper.height)))
    graph = root.find(f"{_SVG}g")
    name = graph.findtext(f"{_SVG}title", "") if graph is not None else ""
    body = "".join(_element(child) for child in root)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" '
        f'width="{coordinate(paper.width)}" height="{coordinate(paper.height)}" '
        f'class="drawing diagram" role="group" aria-label="{html(name)}">'
        f"{STYLE_ELEMENT}{background(paper)}{body}</svg>\n"
    )


def _element(element: ElementTree.Element) -> str:
    tag = element.tag.removeprefix(_SVG)
    if tag not in _KEPT:
        return ""
    inner = "".join(_element(child) for child in element)
    if tag == "g":
        return _group(element, inner)
    if tag == "a":
        return _link(element, inner)
    attributes = [(name, element.get(name)) for name in _KEPT[tag]]
    attributes.append(("class", " ".join(_classes(element, tag))))
    given = "".join(f' {name}="{html(value)}"' for name, value in attributes if value)
    if tag == "text":
        return f"<text{given}>{html(element.text or '')}</text>"
    return f"<{tag}{given}/>"


def _group(element: ElementTree.Element, inner: str) -> str:
    match element.get("class", ""):
        case "graph":
            # Lines would run over the labels of frames: those come last.
            labels = "".join(map(_label, element.iterfind(f"{_SVG}g[@class='cluster']")))
            return f'<g transform="{html(element.get("transform", ""))}">{inner}{labels}</g>'
        case "cluster":
            frame = (child for child in element if child.tag in (f"{_SVG}polygon", f"{_SVG}path"))
            return f'<g class="cluster">{"".join(map(_element, frame))}</g>'
        case "":
            return inner
        case kind:
            return f'<g class="{html(kind)}">{inner}</g>'


def _label(cluster: ElementTree.Element) -> str:
    return "".join(_element(child) for child in cluster if child.tag in (f"{_SVG}g", f"{_SVG}text"))


def _link(element: ElementTree.Element, inner: str) -> str:
    tip = element.get(_TIP, "")
    title = f"<title>{html(tip)}</title>" if tip else ""
    href = element.get(_HREF)
    return f'<a href="{html(href)}">{title}{inner}</a>' if href else f"<g>{title}{inner}</g>"


_NAMES: Final = {value: name for name, value in COLOURS.items()} | {
    "black": "ink",
    "white": "paper",
    "none": "",
    "transparent": "",
}


def _classes(element: ElementTree.Element, tag: str) -> Iterator[str]:
    """Our own classes for the colours Graphviz was told to use."""
    if tag == "text":
        colour = _NAMES.get(element.get("fill", "black"), "ink")
        if colour not in ("", "ink"):
            yield f"on-{colour}"
        return
    fill, stroke = (_NAMES.get(element.get(a, "none"), "ink") for a in ("fill", "stroke"))
    yield f"on-{fill}" if fill else "hollow"
    yield f"by-{stroke}" if stroke else "bare"
