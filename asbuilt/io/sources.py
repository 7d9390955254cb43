"""asbuilt's own files: the theme, and a digest of all that can alter a page."""

from __future__ import annotations

import functools
import hashlib
import os
from pathlib import Path
from typing import Final

from asbuilt.io.files import explain_os_errors
from asbuilt.problem import WorldError

#: All that the theme consists of: without one of these pages would quietly look otherwise.
THEME_FILES: Final = (
    "assets/asbuilt.css",
    "assets/asbuilt.js",
    "assets/over.js",
    "assets/paper.css",
    "assets/favicon.svg",
    "assets/iframe-worker.js",
    "assets/licences.txt",
    "main.html",
    "partials/footer.html",
    "partials/header.html",
    "partials/logo.html",
    "partials/path.html",
    "unwritten.html",
)
_PACKAGE: Final = Path(__file__).parents[1]
_SUFFIXES: Final = (".css", ".html", ".js", ".py", ".svg", ".woff2")


def theme_folder() -> Path:
    """The theme: within the package once installed, beside it in the source tree."""
    for folder in (_PACKAGE / "theme", _PACKAGE.with_name("theme")):
        if all((folder / name).is_file() for name in THEME_FILES):
            return folder
    raise WorldError("the theme isn’t whole where it was installed; install asbuilt again")


@functools.cache
def digest_of_sources() -> str:
    """Of asbuilt's own code, templates and theme: two states of it may call themselves alike."""
    digest = hashlib.sha256()
    theme = theme_folder()
    with explain_os_errors("reading asbuilt’s own files"):
        for top in (_PACKAGE, theme):
            for folder, inside, names in os.walk(top):
                inside[:] = sorted(name for name in inside if Path(folder, name) != theme)
                for name in sorted(names):
                    path = Path(folder, name)
                    if path.suffix in _SUFFIXES and path.is_file():
                        digest.update(f"{path.relative_to(top).as_posix()}\0".encode())
                        digest.update(hashlib.sha256(path.read_bytes()).digest())
    return digest.hexdigest()[:16]
