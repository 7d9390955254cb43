"""Fields that have been renamed. Records at older revisions carry the former names and are read
by today's; today's records must use today's names, and a check says which.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

_SHARED: Final = {"tell client": "share with client"}

#: By kind: former name → name today.
FORMER_NAMES: Final[Mapping[str, Mapping[str, str]]] = {
    "finding": {
        "bad": "severity",
        "falls short of": "requirement",
        "to mend": "to be fixed by",
        **_SHARED,
    },
    "job": _SHARED,
    "photo": _SHARED,
    "site": {
        "keeper": "records kept by",
        "outage hours": "maintenance window",
        "trade": "business",
    },
}


def name_today(kind: str, name: str) -> str | None:
    """What a field of a former name is called today; None for any other field."""
    return FORMER_NAMES.get(kind, {}).get(name)
