"""The demonstration history: three invented clients, told commit by commit.

Each client's module tells its own scenes; here they are put in the order in which they happened
and played, so that each step holds the full text of every file it changes. Nothing depends on the
time, the machine or chance: the same texts and pixels come out of it everywhere, and where the
library packs the pictures alike, the same commits.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

from asbuilt.demo import campus, firm, practice
from asbuilt.demo.scene import MARA, Scene, Texts

SITES: Final = ("hollow-lane", "lindmarsh", "ostrel-vane")


@dataclass(frozen=True, slots=True)
class Step:
    """One commit. `files` maps a path in the repository to its new text, None: it is gone;
    `pictures` maps one to a picture."""

    when: dt.datetime
    author: str
    email: str
    message: str
    files: Mapping[str, str | None]
    pictures: Mapping[str, bytes]

    def contents(self) -> dict[str, bytes | None]:
        """Texts and pictures, as they are written."""
        texts = {path: None if text is None else text.encode() for path, text in self.files.items()}
        return {**texts, **self.pictures}


@cache
def steps() -> tuple[Step, ...]:
    """Every commit of the demonstration, oldest first."""
    return tuple(step for step, _ in _played())


@cache
def final_files() -> Mapping[str, str]:
    """What the repository holds after the last step: path → text, in order of paths."""
    texts: Texts = {}
    for _, after in _played():
        texts = after
    return {f"sites/{path}": texts[path] for path in sorted(texts)}


@cache
def final_pictures() -> Mapping[str, bytes]:
    """The pictures the repository holds after the last step."""
    pictures = {path: data for step in steps() for path, data in step.pictures.items()}
    return {path: pictures[path] for path in sorted(pictures)}


def scenes() -> tuple[Scene, ...]:
    """The scenes of all clients in the order in which they happened."""
    told = [*practice.scenes(), *firm.scenes(), *campus.scenes(), *_everywhere()]
    return tuple(sorted(told, key=lambda scene: dt.datetime.fromisoformat(scene.when)))


def _everywhere() -> Iterator[Scene]:
    """What was done to the records of all clients at once."""
    yield Scene(
        "2023-12-05T09:00+00:00",
        MARA,
        "All sites: how a change is asked for, and who keeps the records",
        tuple(
            folder.after(
                "site.yml",
                "hours:",
                "ask: write to changes@example.com, with the socket's label and the date wanted\n"
                "keeper: Mara Quist, 555-0100",
            )
            for folder in (practice.HERE, firm.HERE, campus.HERE)
        ),
    )
    yield Scene(
        "2025-06-03T09:00+01:00",
        MARA,
        "All sites: where credentials are kept",
        tuple(
            folder.after("site.yml", "keeper:", f"vault: {where}")
            for folder, where in (
                (practice.HERE, "sealed envelope in the practice's safe, copy in ours under HL"),
                (firm.HERE, "our safe, folder OV; Lena Vane holds the sealed copy"),
                (campus.HERE, "the college's own safe, Sanne Oyle opens it; we hold none"),
            )
        ),
        "Where they are kept, never what they are.",
    )
    yield Scene(
        "2024-04-09T09:00+01:00",
        MARA,
        "All sites: where the pages are served",
        tuple(
            folder.after(
                "site.yml",
                "keeper:",
                f"pages at: https://records.example.com/{folder.site}\n"
                f"client pages at: https://{folder.site}.example/cabling",
            )
            for folder in (practice.HERE, firm.HERE, campus.HERE)
        ),
    )


def _played() -> Iterator[tuple[Step, Texts]]:
    before: Texts = {}
    for scene in scenes():
        after = before
        for edit in scene.edits:
            after = edit(after)
        changed = sorted(path for path in {*before, *after} if before.get(path) != after.get(path))
        files = {f"sites/{path}": after.get(path) for path in changed}
        when = dt.datetime.fromisoformat(scene.when)
        pictures = {f"sites/{path}": draw() for path, draw in scene.pictures}
        author = scene.author
        yield Step(when, author.name, author.email, scene.message, files, pictures), after
        before = after
