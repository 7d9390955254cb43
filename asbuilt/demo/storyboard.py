"""The demonstration history: three invented clients, told commit by commit in `story/`.

The steps of all clients are read, put in order of time and replayed, so that each step holds the
full text of every file it changes. Nothing depends on the time, the machine or chance: the same
commits come out of it everywhere.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from asbuilt.demo.edits import Misfit
from asbuilt.demo.reading import StoryError, read_story

STORY: Final = Path(__file__).parent / "story"
SITES: Final = tuple(sorted(folder.name for folder in STORY.iterdir() if folder.is_dir()))


@dataclass(frozen=True, slots=True)
class StoryStep:
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
def steps() -> tuple[StoryStep, ...]:
    """Every commit of the demonstration, oldest first."""
    return tuple(step for step, _ in replayed(STORY))


@cache
def final_files() -> Mapping[str, str]:
    """What the repository holds after the last step: path → text, in order of paths."""
    *_, (_, texts) = replayed(STORY)
    return {path: texts[path] for path in sorted(texts)}


@cache
def final_pictures() -> Mapping[str, bytes]:
    """The pictures the repository holds after the last step."""
    pictures = {path: data for step in steps() for path, data in step.pictures.items()}
    return {path: pictures[path] for path in sorted(pictures)}


def replayed(story: Path) -> Iterator[tuple[StoryStep, Mapping[str, str]]]:
    """Each step of a storyboard, oldest first, and the texts that stand after it. Raises
    `StoryError` where the storyboard can't be read or an edit doesn't fit."""
    before: dict[str, str] = {}
    for entry in read_story(story):
        texts = dict(before)
        pictures: dict[str, bytes] = {}
        for place, change in entry.changes:
            try:
                change(texts, pictures)
            except Misfit as misfit:
                raise StoryError(f"{place}: {misfit}") from misfit
        changed = sorted(path for path in {*before, *texts} if before.get(path) != texts.get(path))
        files = {path: texts.get(path) for path in changed}
        who = entry.author, entry.email
        yield StoryStep(entry.when, *who, entry.message, files, pictures), texts
        before = texts
