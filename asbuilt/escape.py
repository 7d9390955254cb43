"""Text made safe for each place it is written to. Nothing else in asbuilt escapes anything."""

from __future__ import annotations

import base64
import hashlib
import html as _html
import re
import unicodedata
from functools import lru_cache

# Control characters have no place in a page, a drawing or a terminal. Bidirectional overrides
# could make a label read as another one, so they go too; marks that only help layout stay.
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ufffe\uffff]")
_FORMULA = frozenset("=+-@")
_SPLITS = frozenset("\t\r")


def plain(text: str) -> str:
    """`text` without control characters; tabs and newlines stay."""
    # Nothing that is printable is among them, and most texts are.
    return text if text.isprintable() else _CONTROL.sub("", text)


@lru_cache(maxsize=2**14, typed=True)  # labels stand in many places
def html(text: str) -> str:
    """`text` as HTML or SVG character data, also inside a quoted attribute."""
    return _html.escape(plain(text), quote=True)


def markdown(text: str) -> str:
    """`text` as literal Markdown: every sign that could mean something becomes a reference."""
    line = " ".join(plain(text).split())
    return "".join(c if c.isalnum() or c == " " else f"&#{ord(c)};" for c in line)


def terminal(text: str) -> str:
    """`text` on one line, with nothing in it that could steer a terminal."""
    return " ".join(plain(text).split())


def dot(text: str) -> str:
    """`text` inside an HTML-like Graphviz label: the same references as XML. A backslash is
    doubled: `\\N` would be read as the node's name."""
    return html(" ".join(text.split())).replace("\\", "\\\\")


def csv(text: str) -> str:
    """`text` as a cell no spreadsheet takes for a formula (CWE-1236)."""
    cleaned = plain(text)
    # Some spreadsheets read the full-width signs of East Asian typing like the plain ones.
    first = unicodedata.normalize("NFKC", cleaned.lstrip()[:1])
    return f"'{cleaned}" if first in _FORMULA or cleaned[:1] in _SPLITS else cleaned


def css(text: str) -> str:
    """`text` as a CSS string, in quotes: every sign that could mean something is escaped by its
    number, which a blank ends (CSS Syntax 3, 4.3.7)."""
    line = " ".join(plain(text).split())
    return '"' + "".join(c if c.isalnum() or c == " " else f"\\{ord(c):x} " for c in line) + '"'


def fingerprint(script: str) -> str:
    """What a content security policy knows a script by that is written into its page (CSP 3,
    2.3.1)."""
    return f"sha256-{base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()}"


def slug(text: str) -> str:
    """`text` as an anchor or file name: ASCII letters, digits and hyphens."""
    folded = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", folded.lower()).strip("-") or "x"
