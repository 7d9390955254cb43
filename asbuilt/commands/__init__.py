"""The commands: each module `register`s its own, once one of them is asked for.

answer      what is said: lines, or one JSON document
screen      what is said on a terminal only: what is wrong, how far something has got
completing  what a shell completes
desk        what editing commands share: a site on the desk; what would change, told and checked
starting    a new records repository, a new site, schemas for editors
checking    all that is wrong
publishing  pages built, put together, served; the demonstration
moves       one command a move, add or change
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
    "moves": (
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
    "visit": ("seen", "walk", "wire"),
    "log": ("diff", "log"),
    "grow": ("grow",),
    "binder": ("binder",),
    "cutover": ("cutover",),
    "labels": ("labels",),
    "verify": ("verify",),
}
