"""The drawing sheet: paper, frame, title block, and the one style all our drawings wear.

A drawing follows the page it stands in through the custom properties --ink, --paper, --accent,
--hatch and --faint; alone, it is ink on paper. Every rule names the plain colour first, for
programs that print SVG without knowing custom properties.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

from asbuilt.drawings.svg_elements import Box, coordinate, line, rect, text_line
from asbuilt.escape import html

#: The page of a thing by its kind and key, or None where there is none to go to.
FindHref = Callable[[str, str], str | None]


def no_href(kind: str, key: str) -> None:
    """For a drawing that stands alone."""


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """What a sheet says of itself: `revision` is the short commit the records stood at."""

    site: str
    sheet: str
    subject: str
    revision: str
    date: str
    drawn_by: str
    scale: str


COLOURS: Final = {
    "ink": "#22262b",
    "paper": "#fbfaf5",
    "accent": "#a33b20",
    "hatch": "#8a8f96",
    "faint": "#d9d6cb",
}


def _css_colour(attribute: str, colour: str) -> str:
    plain = COLOURS[colour]
    variable = f"var(--{colour},{plain})"
    if colour == "paper":  # a page may lay its drawings on lighter paper than its own
        variable = f"var(--sheet,{variable})"
    return f"{attribute}:{plain};{attribute}:{variable}"


def _rules() -> str:
    rules = [
        (
            "text",
            'font-family:Arial,Helvetica,"Liberation Sans",sans-serif;'
            f"font-variant-numeric:tabular-nums;stroke:none;{_css_colour('fill', 'ink')}",
        ),
        (".bold", "font-weight:700"),
        (".quiet", "fill-opacity:.8"),
        (".thick", f"fill:none;stroke-width:2.4;{_css_colour('stroke', 'ink')}"),
        (".line", f"fill:none;stroke-width:1.2;{_css_colour('stroke', 'ink')}"),
        (".thin", f"fill:none;stroke-width:.6;{_css_colour('stroke', 'ink')}"),
        (".dash", "stroke-dasharray:7 4"),
        (".dots", "stroke-dasharray:2.4 2"),
        (".grey", _css_colour("stroke", "hatch")),
        *((f".on-{name}", _css_colour("fill", name)) for name in COLOURS),
        *((f".by-{name}", _css_colour("stroke", name)) for name in COLOURS),
        (".bare", "stroke:none"),
        (".hollow", "fill:none"),
        ("a", "cursor:pointer;text-decoration:none"),
        ("a:hover .line", _css_colour("stroke", "accent")),
        ("a:hover text", _css_colour("fill", "accent")),
        ("a:focus-visible", f"outline:2px solid {COLOURS['accent']}"),
    ]
    own = (
        ".drawing{max-width:100%;height:auto}"
        ".drawing.diagram text{paint-order:stroke;stroke-width:3px;"
        f"{_css_colour('stroke', 'paper')}}}"
    )
    return own + "".join(f".drawing {selector}{{{rule}}}" for selector, rule in rules)


#: The one style, for a page's style sheet; and as each drawing carries it, to stand alone.
CSS_RULES: Final = _rules()
STYLE_ELEMENT: Final = f"<style>{CSS_RULES}</style>"

MARGIN: Final = 16.0
PAD: Final = 14.0
_TITLE_ROWS: Final = (50.0, 50.0, 46.0)


def draw_sheet(
    name: str, body: str, area: Box, title: TitleBlock, heading: str, description: str
) -> str:
    """`body`, drawn within `area`, on a sheet with a frame and a title block below.

    `name` is unique among the drawings of a page; `heading` and `description` say in words what
    is seen.
    """
    frame = Box(
        area.x - PAD,
        area.y - PAD,
        area.width + 2 * PAD,
        area.height + 2 * PAD + sum(_TITLE_ROWS),
    )
    paper = frame.inset(-MARGIN, -MARGIN)
    return svg_document(
        name,
        paper,
        rect(paper.inset(4, 4), "thin")
        + _centring_marks(paper, frame)
        + rect(frame, "thick")
        + body
        + _title_block(title, frame),
        heading,
        description,
    )


def svg_document(name: str, paper: Box, body: str, heading: str, description: str) -> str:
    """A whole drawing. Its natural size is a pixel a millimetre, less where there is less room."""
    identity = identifier(name)
    view = " ".join(map(coordinate, (paper.x, paper.y, paper.width, paper.height)))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" '
        f'width="{coordinate(paper.width)}" height="{coordinate(paper.height)}" class="drawing" '
        f'role="group" aria-labelledby="{identity}-title" aria-describedby="{identity}-desc">'
        f'<title id="{identity}-title">{html(heading)}</title>'
        f'<desc id="{identity}-desc">{html(description)}</desc>'
        f"{STYLE_ELEMENT}{background(paper)}{body}</svg>\n"
    )


def background(paper: Box) -> str:
    """The paper a drawing lies on."""
    return rect(paper, "ground on-paper bare")


def identifier(name: str) -> str:
    """A name made of keys as an XML name; different names stay different."""
    signs = {"_": "__", "+": "_p", "/": "_s", " ": "_-"}
    return "d-" + "".join(signs.get(sign, sign) for sign in name)


def _centring_marks(paper: Box, frame: Box) -> str:
    """The four marks by which a sheet is centred on a copy (ISO 5457)."""
    x, y = paper.x + paper.width / 2, paper.centre_y
    return (
        line(x, paper.y + 4, x, frame.y + 6, "line")
        + line(x, frame.bottom, x, paper.bottom - 4, "line")
        + line(paper.x + 4, y, frame.x + 6, y, "line")
        + line(frame.right - 6, y, paper.right - 4, y, "line")
    )


def _title_block(title: TitleBlock, frame: Box) -> str:
    """The fields of ISO 7200 that mean something here, in three rows."""
    rows = (
        ((0.66, "site", title.site, True), (0.34, "sheet", title.sheet, True)),
        ((0.66, "subject", title.subject, True), (0.34, "scale", title.scale, False)),
        (
            (0.27, "revision", title.revision, False),
            (0.25, "date", title.date, False),
            (0.48, "drawn by", title.drawn_by, False),
        ),
    )
    drawn = []
    y = frame.bottom - sum(_TITLE_ROWS)
    drawn.append(line(frame.x, y, frame.right, y, "thick"))
    for height, fields in zip(_TITLE_ROWS, rows, strict=True):
        x = frame.x
        for share, caption, value, bold in fields:
            cell = Box(x, y, frame.width * share, height)
            drawn.append(_field(cell, caption, value, bold))
            x = cell.right
            if x < frame.right - 1:
                drawn.append(line(x, y, x, cell.bottom, "thin"))
        y += height
        if y < frame.bottom - 1:
            drawn.append(line(frame.x, y, frame.right, y, "thin"))
    return f'<g class="title-block">{"".join(drawn)}</g>'


def _field(cell: Box, caption: str, value: str, bold: bool) -> str:
    width = cell.width - 16
    return text_line(cell.x + 8, cell.y + 15, caption, 12, width=width, names="quiet") + text_line(
        cell.x + 8, cell.bottom - 10, value or "–", 19, width=width, bold=bold
    )
