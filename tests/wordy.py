"""What is hard to set: words without a place to break, the longest texts the records take, names
written from right to left with numbers and signs in them; in every field of text of a site."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from asbuilt.records.fields import MAX_TEXT, Listed, PortTexts, Sighting, Text
from asbuilt.records.kind import Spec
from tests.canaries import Canaries, CanarySite
from tests.pages.test_photos import png
from tests.pages.test_plans import PLAN
from tests.typed_records import Typed, as_spreadsheet, flow, typed

LONGEST_KEY: Final = 40
HEBREW: Final = "מגדל שמיר 12 (אגף ב-3), קומה 4"
ARABIC: Final = "غرفة الاتصالات 3A-17, الطابق 2 (شرق)"
UNBROKEN: Final = "Unbroken-" + "W" * 111
WORDS: Final = (
    UNBROKEN,
    HEBREW,
    "ש" * 120,
    "Tower Shamir 12 (מגדל שמיר 12), 4",
    ARABIC,
    "a" * 120,
    "مركزالاتصالاتالرئيسي" * 6,
    "配線架" * 40,
)


@dataclass
class Words(Canaries):
    """The next of the words each time; labels are as long as may be. A key has its number in it."""

    next: int = 0

    def word(self, where: str, open_: bool = False) -> str:
        self.number += 1
        return f"k{self.number}".ljust(LONGEST_KEY - 2, "W")  # a port's name adds a sign to it

    def value(self, spec: Spec, where: str, open_: bool) -> Typed | None:
        if spec.name == "depth":
            return "600 mm"
        if spec.name in ("plan", "file"):
            return "plans/a.svg" if spec.name == "plan" else "photos/a.png"
        match spec.type.of if isinstance(spec.type, Listed) else spec.type:
            case Text():
                return typed(self._next(spec.name))
            case Sighting():
                return typed(f"2025-03-07 by {self._next(spec.name)}")
            case PortTexts():
                return flow({"1": typed(self._next(spec.name))})
        return super().value(spec, where, open_)

    def _next(self, name: str) -> str:
        self.next += 1
        if name == "label" and self.next % 3 == 0:
            return "L" * MAX_TEXT
        return WORDS[self.next % len(WORDS)]


@dataclass
class WordySite(CanarySite):
    canaries: Words = field(default_factory=Words)

    def files(self) -> dict[str, str | bytes]:  # type: ignore[override] # pictures are bytes
        return {**super().files(), "plans/a.svg": PLAN, "photos/a.png": png()}

    def _tests(self, camera: str) -> str:
        return as_spreadsheet(self._fields("test"))
