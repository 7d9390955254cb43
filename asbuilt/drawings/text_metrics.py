"""How much room lettering takes, by estimate: a drawing is made without a screen to measure on.

Advance widths are those of Helvetica in Adobe's Core 14 font metrics, recalled from memory; Arial
and its metric-compatible stand-ins share them. A browser may fall back to a wider face, so the
estimate is a little generous.
"""

from __future__ import annotations

import unicodedata
from typing import Final

#: Thousandths of the font size → the characters that advance by so much.
_ADVANCES: Final = {
    191: "'",
    222: "ijl",
    260: "|",
    278: " !,./:;I[\\]ft·",
    333: "()-`r°“”",
    355: '"',
    389: "*",
    469: "^",
    500: "Jckszvxy",
    556: "#$0123456789?_Labdeghnopqu–",
    584: "+<=>~×",
    611: "FTZ",
    667: "&ABEKPSVXY",
    722: "CDHNRUw",
    778: "GOQ",
    833: "Mm",
    889: "%",
    944: "W",
    1000: "—…→←",
    1015: "@",
}
_WIDTHS: Final = {sign: width for width, signs in _ADVANCES.items() for sign in signs}
_OTHER_WIDTH: Final = 620
_FULL_WIDTH: Final = 1050
_SYMBOL_WIDTH: Final = 1400
_BOLD_FACTOR: Final = 1.08
_SAFETY_FACTOR: Final = 1.04
ELLIPSIS: Final = "…"


def text_width(text: str, size: float, bold: bool = False) -> float:
    """How wide `text` is at a font size of `size`, in the same unit."""
    thousandths = sum(map(_advance, text))
    return thousandths / 1000 * size * (_BOLD_FACTOR if bold else 1) * _SAFETY_FACTOR


def shorten(text: str, width: float, size: float, bold: bool = False, end: bool = False) -> str:
    """`text` on one line, cut with an ellipsis where it is wider than `width`; maybe empty. With
    `end`, its end is what is kept."""
    line = " ".join(text.split())
    if text_width(line, size, bold) <= width:
        return line
    room = width - text_width(ELLIPSIS, size, bold)
    kept = 0
    for sign in reversed(line) if end else line:
        room -= text_width(sign, size, bold)
        if room < 0:
            break
        kept += 1
    cut = line[len(line) - kept :].lstrip() if end else line[:kept].rstrip(" ,·")
    if not cut:
        return ""
    return ELLIPSIS + cut if end else cut + ELLIPSIS


def _advance(sign: str) -> int:
    known = _WIDTHS.get(sign)
    if known is not None:
        return known
    category = unicodedata.category(sign)
    if category in ("Mn", "Me", "Cf"):
        return 0
    if category == "So":
        return _SYMBOL_WIDTH
    return _FULL_WIDTH if unicodedata.east_asian_width(sign) in "WF" else _letter_width(sign)


def _letter_width(sign: str) -> int:
    """An accented letter is as wide as its base; a foreign one is taken for a wide one."""
    base = unicodedata.normalize("NFD", sign)[0]
    if base in _WIDTHS:
        return _WIDTHS[base]
    return _OTHER_WIDTH if sign.islower() else _OTHER_WIDTH + 130
