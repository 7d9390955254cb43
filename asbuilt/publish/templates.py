"""Templates as Python compiled them, kept between two runs: compiling them takes longer than making
the pages of a small site.

What is kept is run when it is loaded. So it lies in the user's own cache folder, where nobody else
may write, and never beside records, which can come from anybody.
"""

from __future__ import annotations

import contextlib
import functools
import hashlib
import os
from pathlib import Path

from jinja2 import Environment, FileSystemBytecodeCache
from jinja2.bccache import Bucket
from platformdirs import user_cache_path

from asbuilt.publish.manifest import versions

_OTHERS_MAY_WRITE = 0o022


class _TemplateCache(FileSystemBytecodeCache):
    def load_bytecode(self, bucket: Bucket) -> None:
        try:
            super().load_bytecode(bucket)
        except Exception:  # a damaged file can fail in any way
            bucket.reset()

    def dump_bytecode(self, bucket: Bucket) -> None:
        with contextlib.suppress(OSError):  # a full disk: it is compiled again next time
            super().dump_bytecode(bucket)


def cache_templates(environment: Environment) -> None:
    """Let an environment look for its templates among those compiled before."""
    folder = _folder()
    if folder is not None:
        environment.bytecode_cache = _TemplateCache(str(folder))


@functools.cache
def _folder() -> Path | None:
    """A folder for these very versions: what a template is compiled to depends on the settings and
    filters of its environment too. None where there is none to be trusted."""
    name = hashlib.sha256(repr(sorted(versions("").items())).encode()).hexdigest()[:16]
    try:
        folder = user_cache_path("asbuilt") / f"templates-{name}"
        folder.mkdir(0o700, parents=True, exist_ok=True)
        about = folder.lstat()
    except (OSError, RuntimeError):
        return None
    ours = not hasattr(os, "getuid") or about.st_uid == os.getuid()
    return folder if ours and not about.st_mode & _OTHERS_MAY_WRITE else None
