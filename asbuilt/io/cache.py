"""What takes long to make and can be made again, kept between two runs in a folder of the records.

One rule says what is stale: an entry counts only while what it was made from and our own sources
are the same to the byte. Nothing is believed without its check sum, and a folder that can't be
written to is only a slower one.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final, TypeVar

from asbuilt.io.sources import digest_of_sources

FOLDER: Final = ".asbuilt-cache"  # in the repository of the records

_Value = TypeVar("_Value")


@dataclass(frozen=True, slots=True)
class Cache:
    folder: Path

    def get(
        self,
        name: str,
        inputs: object,
        make: Callable[[], _Value],
        encode: Callable[[_Value], bytes],
        decode: Callable[[bytes], _Value],
    ) -> _Value:
        """The value of this name made from these inputs, which their `repr` tells from others:
        decoded if it is kept, else made and kept. A ValueError of `decode` counts as not kept."""
        data = self.load(name, inputs)
        if data is not None:
            with contextlib.suppress(ValueError):
                return decode(data)
        value = make()
        self.store(name, inputs, encode(value))
        return value

    def load(self, name: str, inputs: object) -> bytes | None:
        """What was stored under this name; None when it isn't there, not whole, or stale."""
        try:
            stored = (self.folder / name).read_bytes()
        except OSError:
            return None
        checksum, _, entry = stored.partition(b"\n")
        key, _, data = entry.partition(b"\n")
        whole = hashlib.sha256(entry).hexdigest().encode() == checksum
        return data if whole and key == _key(inputs) else None

    def store(self, name: str, inputs: object, data: bytes) -> bool:
        """Whether it is kept now. Whoever looks meanwhile finds what was there before, or this."""
        entry = _key(inputs) + b"\n" + data
        checksum = hashlib.sha256(entry).hexdigest().encode()
        part = self.folder / f"{name}.{os.getpid()}"
        try:
            if not self.folder.is_dir():
                self.folder.mkdir(parents=True)
                (self.folder / ".gitignore").write_text("*\n", encoding="ascii")
            for left in self.folder.glob(f"{name}.*"):
                left.unlink()  # by a command that was killed
            part.write_bytes(checksum + b"\n" + entry)
            part.replace(self.folder / name)
        except OSError:
            with contextlib.suppress(OSError):
                part.unlink()
            return False
        return True


def _key(inputs: object) -> bytes:
    made_from = f"{digest_of_sources()} {inputs!r}".encode("utf-8", "surrogateescape")
    return hashlib.sha256(made_from).hexdigest().encode()
