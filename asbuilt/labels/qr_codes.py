"""QR codes (ISO/IEC 18004): the address of a page as dark modules.

Level M mends about 15 % of a code; where the version has room for more, the library takes it. The
quiet zone is four modules wide on every side.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Final

QUIET_ZONE: Final = 4
#: Smaller modules are hard to print and to read with a telephone (common practice). Millimetres.
MIN_MODULE: Final = 0.25


@dataclass(frozen=True, slots=True)
class QrCode:
    """`runs` are dark modules in a row: (row, first column, how many); `size` modules a side,
    quiet zone not counted."""

    size: int
    dark_runs: tuple[tuple[int, int, int], ...]

    @property
    def size_with_quiet_zone(self) -> int:
        """Modules a side with the quiet zone."""
        return self.size + 2 * QUIET_ZONE


@lru_cache(maxsize=4096)
def qr_code_of(address: str) -> QrCode:
    import segno  # takes its time to load, and most commands draw none

    made = segno.make(address, error="m", micro=False)
    runs: list[tuple[int, int, int]] = []
    for row, modules in enumerate(made.matrix):
        start: int | None = None
        for column, dark in enumerate((*modules, 0)):
            if dark and start is None:
                start = column
            elif not dark and start is not None:
                runs.append((row, start, column - start))
                start = None
    return QrCode(len(made.matrix), tuple(runs))
