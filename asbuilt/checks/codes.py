"""Every code a problem can have, with what it means: the reference of `asbuilt check`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

CODES: Final[Mapping[str, str]] = {}
