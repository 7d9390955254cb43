"""Pictures that come with the records: whether one may be shown, how large it is, and of an SVG
only what draws.

A picture is nobody's word: its kind is told by its first bytes. An SVG is written anew from a list
of what a drawing needs, so that neither a page that shows it nor somebody who opens the file by
itself runs a script or asks another host for anything.
"""

from __future__ import annotations

import re
import struct
from collections import Counter, defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final
from xml.parsers import expat

from asbuilt.escape import html

MAX_BYTES: Final = 16 * 1024 * 1024  # more keeps a phone waiting
MAX_SIDE: Final = 20_000  # a small file can unfold to more pixels than a browser can hold
MAX_PIXELS: Final = 100_000_000


@dataclass(frozen=True, slots=True)
class Picture:
    """`suffix` says what it is; width and height are in the picture's own unit."""

    suffix: str
    data: bytes
    width: float
    height: float


class UnusablePictureError(ValueError):
    """Why a picture isn't shown, as the end of a sentence."""


def picture_of(data: bytes) -> Picture:
    """The picture in a file, ready to be published; raises UnfitPictureError."""
    if len(data) > MAX_BYTES:
        raise UnusablePictureError(f"it is larger than {MAX_BYTES // 1024 // 1024} MiB")
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        width, height = _png_size(data)
        return _raster_picture("png", data, width, height)
    if data.startswith(b"\xff\xd8\xff"):
        width, height = _jpeg_size(data)
        return _raster_picture("jpg", data, width, height)
    if b"<svg" in data[:65536]:
        return _svg_picture(data)
    raise UnusablePictureError("it is no SVG, PNG, JPEG or PDF")


def _raster_picture(suffix: str, data: bytes, width: int, height: int) -> Picture:
    if not 0 < width <= MAX_SIDE or not 0 < height <= MAX_SIDE or width * height > MAX_PIXELS:
        raise UnusablePictureError(f"{width} × {height} pixels can't be shown")
    return Picture(suffix, data, width, height)


def _png_size(data: bytes) -> tuple[int, int]:
    """Width and height stand first in the first chunk (ISO/IEC 15948, 11.2.2)."""
    if len(data) < 33 or data[12:16] != b"IHDR":
        raise UnusablePictureError("the PNG is broken")
    width, height = struct.unpack(">II", data[16:24])
    return width, height


#: Start of frame, whatever the coding: C0–CF but for C4, C8 and CC (ITU-T T.81, table B.1).
_FRAME_MARKERS: Final = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_MARKERS_WITHOUT_LENGTH: Final = frozenset((0x01, *range(0xD0, 0xD9)))  # markers without a length


def _jpeg_size(data: bytes) -> tuple[int, int]:
    """From segment to segment up to the frame header (ITU-T T.81, B.2.2)."""
    at = 2
    while at + 9 <= len(data) and data[at] == 0xFF:
        marker = data[at + 1]
        if marker == 0xFF:
            at += 1
        elif marker in _MARKERS_WITHOUT_LENGTH:
            at += 2
        elif marker in _FRAME_MARKERS:
            height, width = struct.unpack(">HH", data[at + 5 : at + 9])
            return width, height
        else:
            at += 2 + int(struct.unpack(">H", data[at + 2 : at + 4])[0])
    raise UnusablePictureError("the JPEG is broken")


# SVG

_SVG_NAMESPACE: Final = "http://www.w3.org/2000/svg"
_XLINK_NAMESPACE: Final = "http://www.w3.org/1999/xlink"
_NAMESPACE_SEPARATOR: Final = "\N{INFORMATION SEPARATOR ONE}"  # can't stand in a name or an address
#: What draws. Whatever else stands in an SVG (scripts, animation, foreign content, links, an
#: editor's notes) is left out, with all that is in it.
_ALLOWED_ELEMENTS: Final = frozenset(
    (
        *("svg", "g", "defs", "symbol", "use", "switch", "title", "desc", "style", "image"),
        *("path", "rect", "circle", "ellipse", "line", "polyline", "polygon"),
        *("text", "tspan", "textPath", "clipPath", "mask", "pattern", "marker"),
        *("linearGradient", "radialGradient", "stop"),
    )
)
_ALLOWED_REFERENCE: Final = re.compile(
    r"#[^\s\"'()<>\\]+|data:image/(?:png|jpeg);base64,[A-Za-z0-9+/=\s]*"
)
#: Whatever in a style can name a file.
_EXTERNAL_FUNCTION: Final = re.compile(
    r"(?:url|src|image|image-set|cross-fade)\s*\(", re.IGNORECASE
)
_LOCAL_URL: Final = re.compile(r"""url\(\s*["']?#[^\s"'()<>\\]+["']?\s*\)""")
_LENGTH: Final = re.compile(r"\s*([0-9]*\.?[0-9]+(?:[eE][+-]?[0-9]+)?)\s*(?:px|pt|pc|mm|cm|in)?\s*")
_MAX_DEPTH: Final = 200
_MAX_ELEMENTS: Final = 250_000  # elements as often as used: a few lines can unfold to billions


def _svg_picture(data: bytes) -> Picture:
    writer = _SvgSanitiser()
    try:
        writer.parser.Parse(data, True)
    except UnusablePictureError:
        raise
    except expat.ExpatError as error:
        raise UnusablePictureError(f"the SVG is broken in line {error.lineno}") from error
    except (ValueError, LookupError) as error:  # an encoding that isn't known here
        raise UnusablePictureError("the SVG isn't UTF-8 text") from error
    if not writer.view:
        raise UnusablePictureError("the SVG doesn't say how large it is, with a viewBox")
    if writer.drawn_elements() > _MAX_ELEMENTS:
        raise UnusablePictureError("the SVG unfolds to more than a browser can draw")
    return Picture("svg", "".join(writer.parts).encode() + b"\n", *writer.view[2:])


class _SvgSanitiser:
    """Writes an SVG anew while it is read."""

    def __init__(self) -> None:
        self.parts: list[str] = []
        self.view: tuple[float, float, float, float] | None = None
        self._depth = 0
        self._left_out = 0  # the depth at which something is left out, 0 where nothing is
        self._style: list[str] | None = None
        self._open: list[str] = [""]  # the parts with an id that are being read, and the whole
        self._ids: list[str | None] = []
        self._elements: Counter[str] = Counter()
        self._uses: dict[str, list[str]] = defaultdict(list)
        parser = expat.ParserCreate(None, _NAMESPACE_SEPARATOR)
        parser.buffer_text = True
        parser.StartElementHandler = self._start
        parser.EndElementHandler = self._end
        parser.CharacterDataHandler = self._text
        parser.EntityDeclHandler = self._entity
        self.parser = parser

    def _entity(self, *_: object) -> None:
        raise UnusablePictureError("the SVG declares entities of its own; save it as a plain SVG")

    def _start(self, name: str, attributes: Mapping[str, str]) -> None:
        self._depth += 1
        if self._depth > _MAX_DEPTH:
            raise UnusablePictureError("the SVG is nested too deep")
        space, _, local = name.rpartition(_NAMESPACE_SEPARATOR)
        if self._depth == 1:
            if (space, local) != (_SVG_NAMESPACE, "svg"):
                raise UnusablePictureError("it is no SVG")
            self.view = _view_box_of(attributes)
        if self._left_out:
            return
        if space != _SVG_NAMESPACE or local not in _ALLOWED_ELEMENTS:
            self._left_out = self._depth
            return
        if local == "style":
            self._style = []
        self._count(local, attributes)
        kept = [
            pair for key, value in attributes.items() if (pair := _allowed_attribute(key, value))
        ]
        if self._depth == 1:
            x, y, width, height = self.view or (0.0, 0.0, 0.0, 0.0)
            kept = [pair for pair in kept if pair[0] not in ("width", "height", "viewBox")]
            kept.append(("viewBox", f"{x:g} {y:g} {width:g} {height:g}"))
            # A size of its own, so that every browser lays it out in the same proportion.
            kept += [("width", f"{width:g}"), ("height", f"{height:g}")]
            self.parts.append(f'<svg xmlns="{_SVG_NAMESPACE}" xmlns:xlink="{_XLINK_NAMESPACE}"')
        else:
            self.parts.append(f"<{local}")
        self.parts += [f' {key}="{html(value)}"' for key, value in kept]
        self.parts.append(">")

    def _count(self, local: str, attributes: Mapping[str, str]) -> None:
        """Note what stands in each part that can be used elsewhere."""
        self._ids.append(attributes.get("id"))
        if attributes.get("id"):
            self._open.append(attributes["id"])
        href = attributes.get("href") or attributes.get(
            f"{_XLINK_NAMESPACE}{_NAMESPACE_SEPARATOR}href", ""
        )
        for part in self._open:
            self._elements[part] += 1
            if local == "use":
                self._uses[part].append(href.strip().removeprefix("#"))

    def drawn_elements(self) -> int:
        """How many elements are drawn, each as often as used; what uses itself is too many."""
        known: dict[str, int] = {}

        def of(part: str, above: frozenset[str]) -> int:
            if part in above or len(above) > _MAX_DEPTH:
                return _MAX_ELEMENTS + 1
            if part not in known:
                inside = sum(of(used, above | {part}) for used in self._uses.get(part, ()))
                known[part] = self._elements[part] + inside
            return known[part]

        return of("", frozenset())

    def _end(self, name: str) -> None:
        if self._left_out:
            if self._left_out == self._depth:
                self._left_out = 0
        else:
            if self._ids.pop():
                self._open.pop()
            local = name.rpartition(_NAMESPACE_SEPARATOR)[2]
            if local == "style":
                rules = "".join(self._style or ())
                self.parts.append(html(rules) if _is_self_contained(rules) else "")
                self._style = None
            self.parts.append(f"</{local}>")
        self._depth -= 1

    def _text(self, text: str) -> None:
        if self._left_out:
            return
        if self._style is not None:
            self._style.append(text)
        else:
            self.parts.append(html(text))


def _allowed_attribute(key: str, value: str) -> tuple[str, str] | None:
    """An attribute as it is written anew; None where it is left out."""
    space, _, local = key.rpartition(_NAMESPACE_SEPARATOR)
    if local == "href":
        if space in ("", _XLINK_NAMESPACE) and _ALLOWED_REFERENCE.fullmatch(value.strip()):
            return ("xlink:href" if space else "href"), value.strip()
        return None
    if space == "http://www.w3.org/XML/1998/namespace" and local == "space":
        return "xml:space", value
    if space or local.lower().startswith("on") or not re.fullmatch(r"[A-Za-z][\w.-]*", local):
        return None
    return (local, value) if _is_self_contained(value) else None


def _is_self_contained(text: str) -> bool:
    """Whether a style or an attribute asks for nothing outside the drawing. A backslash could
    hide what it asks for."""
    inside = _LOCAL_URL.sub("", text)
    return (
        "\\" not in text and "@import" not in text.lower() and not _EXTERNAL_FUNCTION.search(inside)
    )


def _view_box_of(attributes: Mapping[str, str]) -> tuple[float, float, float, float] | None:
    """The view box, which says the proportion; else from the origin to width and height."""
    numbers = re.split(r"[\s,]+", attributes.get("viewBox", "").strip())
    try:
        x, y, width, height = map(float, numbers)
    except ValueError:
        x = y = 0.0
        found = [_LENGTH.fullmatch(attributes.get(side, "")) for side in ("width", "height")]
        if not all(found):
            return None
        width, height = (float(match[1]) for match in found if match)
    if not (abs(x) < 1e7 and abs(y) < 1e7 and 0 < width < 1e7 and 0 < height < 1e7):
        return None
    return (x, y, width, height) if 1 / 50 < width / height < 50 else None
