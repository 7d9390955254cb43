"""Pages for mkdocs whose HTML is there already, and the frame that many of them share."""

from __future__ import annotations

import html
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files
from mkdocs.structure.pages import Page as MkDocsPage
from mkdocs.structure.toc import AnchorLink, TableOfContents

from asbuilt import escape
from asbuilt.pages.page import Asset, Page

_TAG = re.compile(r"<[^>]*>")
_HEADING = re.compile(r'<h([12]) id="([^"]+)"[^>]*>(.*?)</h\1>', re.DOTALL)
#: Where a page's own texts stand in its frame.
SLOT = re.compile("\x02(title|description|content)[^\x03]*\x03")


class ReadyPage(MkDocsPage):
    """A page whose HTML is there already: nothing is parsed."""

    def __init__(
        self,
        page: Page,
        frame: Frame | None,
        file: File,
        config: MkDocsConfig,
        meta: dict[str, Any],
    ) -> None:
        super().__init__(safe(page.nav or page.title), file, config)
        self.source = page
        self.frame = frame
        self._ready_meta = meta

    def read_source(self, config: MkDocsConfig) -> None:
        self.markdown = ""
        self.meta = dict(self._ready_meta)

    def render(self, config: MkDocsConfig, files: Files) -> None:
        self.content = self.source.html
        self.toc = _headings(self.source.html)

    def keep_out(self) -> None:
        """Let slots stand where this page's own texts belong."""
        self.content = _slot("content", "<h1" if "<h1" in self.source.html else "")
        if self.frame is not None:
            texts = {name: _slot(name) for name in ("title", "description") if self.meta[name]}
            self.meta = {**self.meta, **texts}


@dataclass(frozen=True, slots=True)
class Frame:
    """All of a record's page that shows in what is around its own texts; the theme adds a heading
    where there is none, and a way to the first."""

    folder: str
    parent: str | None
    depth: int
    described: bool
    headed: bool
    first: str


def frame_of(folder: str, part: Page | Asset) -> Frame | None:
    """None for what isn't a record's page."""
    if isinstance(part, Asset) or part.nav is not None:
        return None
    first = _HEADING.search(part.html)
    return Frame(
        folder,
        part.parent,
        part.path.count("/"),
        bool(part.description),
        "<h1" in part.html,
        first[2] if first else "",
    )


def framed(page: Page, pieces: Sequence[str]) -> str:
    """A page's own texts in a frame: `pieces` with the names of what belongs between them."""
    texts = {
        "title": safe(page.title),
        "description": safe(page.description),
        "content": page.html,
    }
    return "".join(texts[part] if at % 2 else part for at, part in enumerate(pieces))


def _slot(name: str, inner: str = "") -> Markup:
    return Markup(f"\x02{name}{inner}\x03")  # noqa: S704 - no record can hold these signs


def safe(text: str) -> Markup:
    """A record's text for the theme, which writes it as it is, or escapes what isn't yet."""
    return Markup(escape.html(text))  # noqa: S704 - escaped here


def _headings(text: str) -> TableOfContents:
    """The page's own headings: its title, and the sections under it."""
    top: list[AnchorLink] = []
    for level, anchor, inner in _HEADING.findall(text):
        title = safe(html.unescape(_TAG.sub("", inner)))
        link = AnchorLink(title, anchor, int(level))
        if level == "2" and top and top[0].level == 1:
            top[0].children.append(link)
        else:
            top.append(link)
    return TableOfContents(top)
