"""Whose folder the pages go to: ours, for one edition, and never over the records."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from asbuilt.io.files import SITES, explain_os_errors
from asbuilt.io.swap import remove_tree
from asbuilt.problem import WorldError
from asbuilt.publish.manifest import RESERVED
from asbuilt.records.edition import Edition

MARK = ".asbuilt"  # says that a folder is ours to write to, and for whom it is


def keep_off_records(top: Path, output: Path) -> None:
    here, records = output.resolve(), (top / SITES).resolve()
    if here == records or here in records.parents or records in here.parents:
        raise WorldError(f"--output {output} would lie over the records; name another folder")
    if output.exists() and not output.is_dir():
        raise WorldError(f"--output {output} is no folder; name another")


def claim_folder(output: Path, edition: Edition) -> None:
    """Make sure that a folder is ours to write to, and that no reader's edition lands among
    another's."""
    mark = output / MARK
    with explain_os_errors(f"writing to {output}"):
        holds = mark.read_text(encoding="utf-8").strip() if mark.is_file() else ""
        if holds:  # a build that was killed may have left it empty
            if holds != edition.value:
                raise WorldError(
                    f"{output} holds the {holds} edition; give the {edition.value} edition a "
                    "folder of its own with --output"
                )
        elif any(not entry.name.startswith(".") for entry in output.iterdir()):
            raise WorldError(
                f"{output} holds files that aren’t asbuilt’s; empty it or name another --output"
            )
        else:
            mark.write_text(f"{edition.value}\n", encoding="utf-8")


def remove_gone_sites(output: Path, keys: Sequence[str]) -> None:
    """Remove the pages of sites whose records are gone."""
    for entry in output.iterdir():
        ours = (entry / "assets" / "asbuilt.css").is_file()
        if ours and entry.name not in (*keys, *RESERVED):
            remove_tree(entry)
