"""A site as it stood at one revision."""

from __future__ import annotations

from pathlib import Path

from asbuilt.changes.parsed_file import NOTHING_WITHHELD
from asbuilt.changes.state import State
from asbuilt.history.replay import HistoryView, SiteReplay
from asbuilt.io import git
from asbuilt.records.edition import Edition, WithheldKeys
from asbuilt.records.layout import is_record_file


def state_at(
    top: Path, folder: str, revision: str, edition: Edition = Edition.INTERNAL,
    withheld: WithheldKeys = NOTHING_WITHHELD,
) -> tuple[State, tuple[str, ...]]:  # fmt: skip
    """The state of a site at a revision, and what of it can't be read."""
    walk = SiteReplay(HistoryView(edition, withheld))
    with git.contents(top) as contents:
        walk.start_at(top, git.revision(top, revision).id, folder, contents)
    _, state = walk.states({})
    return state, tuple(walk.broken[path] for path in sorted(walk.broken))


def files_at(top: Path, folder: str, revision: str) -> dict[str, bytes]:
    """The record files of a site at a revision: path within its folder → bytes."""
    found: dict[str, bytes] = {}
    with git.contents(top) as contents:
        blobs = git.tree(top, git.revision(top, revision).id, folder)
        for path in sorted(filter(is_record_file, blobs)):
            data = contents.read(blobs[path])
            if data is not None:
                found[path] = data
    return found
