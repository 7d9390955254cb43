"""The only place that sets pages for paper: HTML in, PDF out, the same bytes each time.

The typesetter is an extra (`asbuilt[binder]`): it needs Pango from the system. It is given all it
may read beforehand, and reaches neither the disk nor the network for a page.
"""

from __future__ import annotations

import mimetypes
import re
from collections.abc import Mapping
from enum import StrEnum
from hashlib import sha256
from typing import Any, Final

from PIL import ImageFile

from asbuilt.escape import html as escaped
from asbuilt.problem import WorldError

#: Where the pages' own files seem to be, for a typesetter that wants an address. Nobody goes there.
BASE: Final = "https://binder.invalid/"  # RFC 2606: a name that is nobody’s

#: Drawings name a plain colour and then the page's; on paper the plain one is meant.
_PAGES_COLOUR: Final = re.compile(r";(?:fill|stroke|outline|background):var\([^;}]*")


_SIGNS: Final = re.compile(r'<svg class="signs-drawn"[^>]*>(.*?)</svg>', re.S)
_WITH_SIGNS: Final = re.compile(r'<svg class="(?:sign|plan-layer)[ "][^>]*>')
_PATCHED: Final = re.compile(r'class="[\w -]*(?<=[ "])patched"[^>]*>.*?</(?:a|svg)>', re.S)
_SIGN_STYLE: Final = (
    "<style>.sign-ring{fill:none;stroke:none}.sign-shape{fill:#fff;stroke:#000;stroke-width:1.6}"
    ".inked-shape{fill:#000;stroke:#000;stroke-width:1.6}.sign-letter{fill:#000}"
    ".inked-letter{fill:#fff}.sign-letter,.inked-letter{font-family:Arial,sans-serif;"
    "font-weight:700}.sign-strike{fill:none;stroke:#7a2b16;stroke-width:2.4}"
    ".grid-line{stroke:#22262b;stroke-width:.6;stroke-dasharray:2 5}.grid-word{fill:#22262b}"
    ".plan-lead{fill:none;stroke:#7a2b16;stroke-width:1;stroke-dasharray:3 2}</style>"
)


class Size(StrEnum):
    """Paper: ISO 216 A4, 210 × 297 mm; US Letter, 8½ × 11 in (ANSI/ASME Y14.1 size A)."""

    A4 = "a4"
    LETTER = "letter"


def pdf_of(page: str, title: str, styles: str, files: Mapping[str, bytes], size: Size) -> bytes:
    """A page's HTML in these `styles` as a PDF; `files` are those it names, by path."""
    try:
        from weasyprint import HTML  # an extra, and slow to load

        ImageFile.LOAD_TRUNCATED_IMAGES = False  # it lets every picture be cut off, everywhere
    except ImportError:
        raise WorldError(
            "a PDF of the binder needs WeasyPrint; install it: pip install 'asbuilt[binder]'"
        ) from None
    except OSError as error:
        raise WorldError(
            "WeasyPrint doesn’t find the library Pango; install it (Debian: libpango-1.0-0 "
            f"libpangoft2-1.0-0), or print binder.html from a browser: {error}"
        ) from None
    text = (
        '<!doctype html><html lang="en"><head><meta charset="utf-8">'
        f"<title>{escaped(title)}</title>"
        f"<style>{styles.replace('</', '')}\n@page {{ size: {size.value} }}</style></head>"
        f'<body class="md-typeset" data-md-color-scheme="default">{_plain(page)}</body></html>'
    )
    known = {BASE + path: data for path, data in files.items()}
    document = HTML(string=text, base_url=BASE, url_fetcher=_only_from(known))
    mark = sha256(text.encode()).hexdigest()[:32].encode()  # not of the day it was made
    made = document.write_pdf(pdf_identifier=mark)
    assert isinstance(made, bytes)
    return made


def _plain(page: str) -> str:
    """Drawings in plain ink, each with all it needs: the typesetter takes it out of the page."""
    page = _PAGES_COLOUR.sub("", page)
    signs = _SIGNS.search(page)
    if signs is None:
        return page
    page = _PATCHED.sub(lambda m: _inked(m[0]), page.replace(signs[0], ""))
    needed = f"{_SIGN_STYLE}{signs[1]}{_inked(signs[1])}"
    return _WITH_SIGNS.sub(lambda m: m[0] + needed, page)


def _inked(signs: str) -> str:
    """Signs filled with ink, as those of patched outlets are."""
    for part in ("#sign-", 'id="sign-', 'class="sign-shape', 'class="sign-letter'):
        signs = signs.replace(part, part.replace("sign-", "inked-"))
    return signs


def _only_from(known: Mapping[str, bytes]) -> Any:
    """Hands out these files and nothing else, whatever a page may name."""

    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class Given(URLFetcher):  # type: ignore[misc, unused-ignore]
        def fetch(self, url: str, headers: Any = None) -> Any:
            if url not in known:
                raise ValueError(f"{url} is none of the binder’s files")
            kind = mimetypes.guess_type(url)[0] or "application/octet-stream"
            data = known[url]
            if kind == "image/svg+xml":
                data = _plain(data.decode("utf-8")).encode()
            return URLFetcherResponse(url, data, {"Content-Type": kind})

    return Given()
