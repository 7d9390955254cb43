"""The commands: each module `register`s its own, once one of them is asked for.

reply       what a command answers: lines, or one JSON document
terminal    what is said on a terminal only: what is wrong, how far something has got
completion  what a shell completes
session     what editing commands share: the site as read; what would change, shown and checked
list_source what commands share that read somebody's list
starting    a new records repository, a new site, schemas for editors
checking    all that is wrong
publishing  pages built, put together, served; the demonstration
edits       one command a move, add or change
lists       lists to a spreadsheet and from one
results     certification results into a file of their own
visit       what to look at on the next visit, and what was seen
log         what changed
grow        whether more drops go in
binder      the binder as a PDF
cutover     the sheet of a cutover
labels      sheets of labels
verify      whether a published folder is what was built
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

#: The commands that each module registers. Loading all takes longer than answering most.
NAMES: Final[Mapping[str, tuple[str, ...]]] = {
    "starting": ("init", "new", "schema"),
    "checking": ("check",),
    "publishing": ("build", "demo", "join", "serve"),
    "edits": (
        "add",
        "change",
        "finding",
        "job",
        "move",
        "patch",
        "record",
        "relabel",
        "remove",
        "rerack",
        "swap",
        "terminate",
        "unpatch",
    ),
    "lists": ("export", "import"),
    "visit": ("seen", "switch-status", "walk"),
    "log": ("diff", "log"),
    "grow": ("grow",),
    "binder": ("binder",),
    "cutover": ("cutover",),
    "labels": ("labels",),
    "verify": ("verify",),
}
