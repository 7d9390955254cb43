"""How long each task takes, as data. Common practice, for one practised crew on a site that is
ready for it; whoever knows their own crew gives their own minutes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from asbuilt.problem import WorldError, quoted, suggestion

DEFAULT_SOURCE: Final = "common practice"
DEFAULT_MINUTES: Final[Mapping[str, float]] = {
    "unplug": 0.5,  # a cord, one end or both
    "plug": 1.0,  # a cord, and see its link come up
    "shut down": 5.0,  # what a UPS or strip feeds
    "take out": 8.0,  # a mounted thing, cords off
    "mount": 10.0,  # a mounted thing, cords not yet on
    "start": 6.0,  # an active device, until its ports forward
    "power lead": 2.0,  # moved to another socket
    "terminate": 10.0,  # one end of a drop, tested
    "pull": 35.0,  # a drop
    "pull back": 60.0,  # a drop that is in use, to another room, terminated and tested
    "another plate": 30.0,  # a drop to another place in its room
    "take away": 15.0,  # a drop, or a backbone's end
    "backbone": 120.0,  # pulled, terminated and tested
    "backbone end": 60.0,  # terminated anew and tested
    "land circuit": 10.0,  # on another port, until its carrier sees it
    "set port": 1.0,  # another network on a port
    "label": 1.0,
}


def override_minutes(said: Mapping[str, str]) -> dict[str, float]:
    """The minutes of each task, some as somebody says. WorldError for what can't be meant."""
    minutes = dict(DEFAULT_MINUTES)
    for task, text in said.items():
        if task not in DEFAULT_MINUTES:
            hint = suggestion(task, DEFAULT_MINUTES, f"the tasks are {', '.join(DEFAULT_MINUTES)}")
            raise WorldError(f"there is no task {quoted(task)}; {hint}")
        number = text.strip()
        digits = number.replace(".", "", 1)
        value = float(number) if digits.isascii() and digits.isdigit() else -1.0
        if not 0 <= value <= 1440:
            raise WorldError(f"{quoted(text)} is no number of minutes from 0 to 1440")
        minutes[task] = value
    return minutes
