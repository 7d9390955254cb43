"""Everything a published folder says, in whatever it is packed or written: for looking for what
must not be in it."""

from __future__ import annotations

import base64
import binascii
import contextlib
import dataclasses
import gzip
import html
import io
import json
import re
import urllib.parse
import zipfile
import zlib
from collections.abc import Iterator, Mapping
from pathlib import Path

import pypdf

from asbuilt.pages.page import Page
from asbuilt.publish.site_output import SiteOutput

_BASE64 = re.compile(rb"[A-Za-z0-9+/_-]{16,}={0,2}")
_HEX = re.compile(rb"(?:[0-9a-fA-F]{2}){6,}")
_STREAM = re.compile(rb"stream\r?\n(.*?)endstream", re.S)
_ESCAPED = re.compile(r"\\u([0-9a-fA-F]{4})|\\x([0-9a-fA-F]{2})|\\([0-9a-fA-F]{1,6}) ?")
_PNG = b"\x89PNG\r\n\x1a\n"


def texts_of(folder: Path) -> Mapping[str, str]:
    """Path within a folder → all it says, its own name included, in small letters."""
    files = (path for path in sorted(folder.rglob("*")) if path.is_file())
    return {
        str(path.relative_to(folder)): text_of(str(path.relative_to(folder)), path.read_bytes())
        for path in files
    }


def text_of(name: str, data: bytes) -> str:
    """All that a file of this name says."""
    parts = (written for part in _unpacked(data) for written in _readings(part))
    return "\n".join((name, urllib.parse.unquote(name), *parts)).casefold()


def written(volume: SiteOutput) -> dict[str, str]:
    """All that a book's pages say before a theme is put around them; of a diagram its text."""
    files: dict[str, str] = {}
    for part in volume.tree:
        if isinstance(part, Page):
            rest = repr(dataclasses.replace(part, html="")).encode()
            files[part.path] = text_of(part.path, part.html.encode() + rest)
        else:
            files[part.path] = text_of(part.path, part.data)
    return files


def _unpacked(data: bytes, depth: int = 0) -> Iterator[bytes]:
    """A file and whatever is packed in it."""
    yield data
    if depth < 4:
        for part in _inside(data):
            yield from _unpacked(part, depth + 1)


def _inside(data: bytes) -> Iterator[bytes]:
    if data[:2] == b"\x1f\x8b":
        yield gzip.decompress(data)
    elif data[:4] == b"PK\x03\x04":
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            yield packed.comment
            for entry in packed.infolist():
                yield entry.filename.encode() + entry.comment + entry.extra
                yield packed.read(entry)
    elif data[:5] == b"%PDF-":
        yield from _pdf(data)
    elif data[:8] == _PNG:
        yield from _png(data)
    else:
        for run in _BASE64.findall(data):
            try:
                packed_bytes = run + b"=" * (-len(run) % 4)
                yield base64.b64decode(packed_bytes, altchars=b"-_" if b"-" in run else None)
            except binascii.Error:
                continue
        yield from (bytes.fromhex(run.decode()) for run in _HEX.findall(data))


def _pdf(data: bytes) -> Iterator[bytes]:
    """Its streams inflated, its pages as text, what it says of itself."""
    for stream in _STREAM.findall(data):
        try:
            yield zlib.decompress(stream.rstrip(b"\r\n"))
        except zlib.error:
            yield stream
    reader = pypdf.PdfReader(io.BytesIO(data))
    yield repr(reader.metadata).encode()
    for page in reader.pages:
        yield page.extract_text().encode()


def _png(data: bytes) -> Iterator[bytes]:
    """Its chunks but the pixels (ISO/IEC 15948, 5.3), texts inflated, and what follows the end."""
    at = 8
    while at + 12 <= len(data):
        length, kind = int.from_bytes(data[at : at + 4], "big"), data[at + 4 : at + 8]
        body = data[at + 8 : at + 8 + length]
        at += 12 + length
        if kind != b"IDAT":
            yield kind + body
        for start in range(min(len(body), 120)) if kind in (b"zTXt", b"iTXt", b"iCCP") else ():
            try:
                yield zlib.decompress(body[start:])
            except zlib.error:
                continue
    yield data[at:]


def _readings(data: bytes) -> Iterator[str]:
    """Bytes as the texts they may be meant to be."""
    text = data.decode("utf-8", "replace")
    yield text
    if b"\0" in data:
        yield data.decode("utf-16-le", "replace")
        yield data[1:].decode("utf-16-le", "replace")
    if "&" in text:
        yield html.unescape(text)
        yield html.unescape(html.unescape(text))
    if "%" in text or "+" in text:
        yield urllib.parse.unquote_plus(text)
    if "\\" in text:
        yield _ESCAPED.sub(lambda match: chr(int(next(filter(None, match.groups())), 16)), text)
    if text[:1] in "[{":
        with contextlib.suppress(ValueError):
            yield json.dumps(json.loads(text), ensure_ascii=False)
    yield re.sub(r"<[^<>]*>", "", text) if "<" in text else ""


def spellings(token: str) -> frozenset[str]:
    """A text as a page, an address, an index or an anchor may write it, in small letters."""
    folded = token.casefold()
    words = re.findall(r"[^\W_]+", folded)
    return frozenset(
        (folded, "-".join(words), "_".join(words), " ".join(words), "".join(words),
         urllib.parse.quote(folded), html.escape(folded), folded[::-1])
    )  # fmt: skip
