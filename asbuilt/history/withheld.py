"""What the client may not know of a site, today and of all its past."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from asbuilt.changes.parsed_file import EMPTY, NOTHING_WITHHELD, ParsedFile
from asbuilt.history.commits import CommitsBySite, SiteCommit
from asbuilt.history.replay import HistoryView, SiteReplay
from asbuilt.io import git
from asbuilt.records.edition import (
    Edition,
    WithheldKeys,
    identifying_words,
    not_shared,
    shown_names,
    withheld_keys,
)
from asbuilt.records.kind import Raw
from asbuilt.records.kinds import REFERABLE


def withheld_ever(top: Path | None, today: Mapping[str, Sequence[Raw]]) -> dict[str, WithheldKeys]:
    """What the client may not know of each site, by its folder; `today` are its records as they
    stand. The last word counts: a thing is withheld, a finding untold, if today's records say so,
    or of what is gone the last revision that had it. Withheld is any word that ever named such a
    thing, or any other when it was withheld, unless it names something the client knows today."""
    found = {
        folder: replace(withheld_keys(raws), untold=not_shared(raws))
        for folder, raws in today.items()
    }
    head = git.head(top) if top else None
    if top is None or head is None:
        return found
    lineages = CommitsBySite(git.log(top, head.id), today)
    with git.contents(top) as contents:
        for folder, raws in today.items():
            past = _past(lineages.steps(folder), contents)
            standing = {_named(raw) for raw in raws}
            gone = [raw for name, raw in past.last.items() if name not in standing]
            # Others may be on their ports now.
            then = replace(withheld_keys(gone), ports=frozenset(), untold=not_shared(gone))
            hidden = found[folder] | then
            words = past.withheld | past.words_of(hidden)
            shown = shown_names(raws, hidden)
            words = {word for word in words if word.casefold() not in shown}
            found[folder] = replace(hidden, words=found[folder].words | words)
    return found


@dataclass(frozen=True, slots=True)
class _Past:
    """Each record that ever was, as it last stood; the words that ever named it, and those that
    named what was withheld then."""

    last: dict[tuple[str, str], Raw] = field(default_factory=dict)
    words: dict[tuple[str, str], set[str]] = field(default_factory=dict)
    withheld: set[str] = field(default_factory=set)

    def words_of(self, hidden: WithheldKeys) -> set[str]:
        things = [("outlet", key) for key in hidden.outlets]
        things += [("item", key) for key in hidden.items]
        return set().union(*(self.words.get(thing, ()) for thing in things))


def _past(steps: Sequence[SiteCommit], contents: git.Contents) -> _Past:
    past = _Past()
    walk = SiteReplay(HistoryView(Edition.CLIENT, NOTHING_WITHHELD))
    before: dict[str, ParsedFile] = {}
    for step in walk.apply_all(steps, contents):
        for path in sorted(step.files):
            sheet, old = walk.files.get(path, EMPTY), before.get(path, EMPTY)
            before[path] = sheet
            for text, part in sheet.parts.items():
                if old.parts.get(text) is part:
                    continue
                past.withheld.update(part.withheld.words)
                for raw in part.raws:
                    past.last[_named(raw)] = raw
                    past.words.setdefault(_named(raw), set()).update(identifying_words(raw))
    return past


def _named(raw: Raw) -> tuple[str, str]:
    """What tells a record from others: a mounted thing may become one of another kind."""
    return ("item" if raw.kind in REFERABLE["item"] else raw.kind), raw.key
