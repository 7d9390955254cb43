"""What labels say: identifiers by ANSI/TIA-606, and patterns of a site's own.

The formats are those of 606-A, which later editions still allow: `1A` a telecommunications space
(floor 1, space A), `1A-A47` a horizontal link (space, panel, port), `1A/2A-1` a building backbone
cable, `1A/2A-1.15` a pair or strand of it, `[ADM-1A]/[LIB-1A]-2.07` the same between buildings.
606-B added `1DC.AD02-35:17`: space, grid place of the enclosure, rack unit of the panel, port.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

_SPACE: Final = r"[0-9A-Z]+?[A-Z]+"  # a floor may be a letter: basement, ground, roof
_LINK = re.compile(rf"(?P<space>{_SPACE})-(?P<panel>[A-Z]{{1,2}})(?P<port>[0-9]{{2,4}})")
_GRID = re.compile(
    rf"(?P<space>{_SPACE})\.(?P<place>[A-Z]{{2}}[0-9]{{2}})-(?P<unit>[0-9]{{1,2}}):(?P<port>[0-9]{{1,4}})"
)
_BUILDING = r"[0-9A-Z]+"
_BACKBONE = re.compile(
    rf"(?P<one>{_SPACE})/(?P<other>{_SPACE})-(?P<number>[0-9]+)(?:\.(?P<strand>[0-9]+))?"
)
_CAMPUS = re.compile(
    rf"\[(?P<one>{_BUILDING}-{_SPACE})\]/\[(?P<other>{_BUILDING}-{_SPACE})\]"
    r"-(?P<number>[0-9]+)(?:\.(?P<strand>[0-9]+))?"
)


@dataclass(frozen=True, slots=True)
class LinkId:
    """A horizontal link: its space, its panel (None in the grid form), its port."""

    space: str
    panel: str | None
    port: int


@dataclass(frozen=True, slots=True)
class BackboneId:
    """A backbone cable between two spaces, or one pair or strand of it."""

    first_space: str
    second_space: str
    number: int
    strand: int | None = None

    @property
    def ordered(self) -> BackboneId:
        """The same with the lower space first, as it is written."""
        if _space_order(self.second_space) < _space_order(self.first_space):
            return BackboneId(self.second_space, self.first_space, self.number, self.strand)
        return self


def is_space(text: str) -> bool:
    """Whether `text` can name a telecommunications space: its floor, then letters."""
    return re.fullmatch(_SPACE, text) is not None


def read_link(text: str) -> LinkId | None:
    """The horizontal link a label names, in either form, or None."""
    match = _LINK.fullmatch(text)
    if match:
        return LinkId(match["space"], match["panel"], int(match["port"]))
    match = _GRID.fullmatch(text)
    return LinkId(match["space"], None, int(match["port"])) if match else None


def read_backbone(text: str) -> BackboneId | None:
    """The backbone cable, pair or strand a label names, within a building or between two."""
    match = _BACKBONE.fullmatch(text) or _CAMPUS.fullmatch(text)
    if not match:
        return None
    strand = match["strand"]
    number = int(match["number"])
    return BackboneId(match["one"], match["other"], number, int(strand) if strand else None)


def _space_order(space: str) -> tuple[str, int, str]:
    building, _, rest = space.rpartition("-")
    digits = re.match(r"[0-9]*", rest)
    floor = digits[0] if digits else ""
    return building, int(floor or 0), rest[len(floor) :]


def link_label(space: str, panel: str, port: int) -> str:
    """The label of a horizontal link: `1A-A07`."""
    return f"{space}-{panel}{port:02}"


def administration_class(spaces: int, buildings: int, sites: int = 1) -> int:
    """The lowest class of administration that covers so many spaces, buildings and sites."""
    if sites > 1:
        return 4
    if buildings > 1:
        return 3
    return 2 if spaces > 1 else 1


#: What a site's own pattern may name.
PATTERN_PARTS: Final = ("enclosure", "panel", "port", "room", "floor")
_PLACEHOLDER = re.compile(r"\{([^{}]*)\}")
_DIGITS = re.compile(r"0([1-4])")


@dataclass(frozen=True, slots=True)
class LabelPattern:
    """A site's own label pattern: plain texts and, after each but the last, a part with the
    digits a number is filled to (0: as it is)."""

    texts: tuple[str, ...]
    parts: tuple[tuple[str, int], ...]

    def has_part(self, part: str) -> bool:
        return any(name == part for name, _ in self.parts)

    def fill(self, values: Mapping[str, str]) -> str | None:
        """The label with these values of its parts; None while one of them isn't known."""
        label = self.texts[0]
        for (name, digits), text in zip(self.parts, self.texts[1:], strict=True):
            value = values.get(name)
            if value is None:
                return None
            number = value.isascii() and value.isdigit()
            label += (value.zfill(digits) if number else value) + text
        return label


def read_label_pattern(text: str) -> LabelPattern | str:
    """The pattern `text` says, or a sentence on what is wrong with it."""
    texts = _PLACEHOLDER.split(text)
    holes, texts = texts[1::2], texts[::2]
    if any("{" in plain or "}" in plain for plain in texts):
        return "a brace is open or stands alone"
    parts: list[tuple[str, int]] = []
    for hole in holes:
        name, colon, width = hole.partition(":")
        digits = _DIGITS.fullmatch(width)
        if name not in PATTERN_PARTS:
            return f"“{{{hole}}}” is none of the parts of a label"
        if colon and not digits:
            return f"“{width}” in “{{{hole}}}” is no number of digits"
        parts.append((name, int(digits[1]) if digits else 0))
    if not parts:
        return "it names no part of a label, so every label would be the same"
    return LabelPattern(tuple(texts), tuple(parts))
