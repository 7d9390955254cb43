"""A built site as one file to keep: a zip archive that is the same, byte for byte, of the same
pages."""

from __future__ import annotations

import zipfile
from pathlib import Path
from typing import Final

from asbuilt.io.files import explain_os_errors
from asbuilt.io.swap import make_aside, remove_tree, swap_in

#: The first day a zip archive can name: when it was packed is nobody's business.
_DAY: Final = (1980, 1, 1, 0, 0, 0)
_READABLE: Final = 0o100644 << 16  # a plain file, for all to read
_UNIX: Final = 3


def pack(folder: Path, target: Path) -> int:
    """Write all files below `folder`, under its name, into the archive `target`; how many they
    are. An archive that is there is replaced when the new one is whole."""
    files = sorted(
        (path.relative_to(folder.parent).as_posix(), path)
        for path in folder.rglob("*")
        if path.is_file()
    )
    fresh = make_aside(target.absolute().parent)
    try:
        with (
            explain_os_errors(f"writing {target}"),
            zipfile.ZipFile(fresh / target.name, "w", zipfile.ZIP_DEFLATED) as archive,
        ):
            for name, path in files:
                entry = zipfile.ZipInfo(name, _DAY)
                entry.compress_type = zipfile.ZIP_DEFLATED
                entry.create_system = _UNIX
                entry.external_attr = _READABLE
                archive.writestr(entry, path.read_bytes())
        swap_in(fresh / target.name, target)
    finally:
        remove_tree(fresh)
    return len(files)
