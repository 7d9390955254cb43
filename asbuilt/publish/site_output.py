"""What a builder hands to a publisher, who alone knows how a tree of pages becomes a site."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from asbuilt.pages.page import Page, PageTree


@dataclass(frozen=True, slots=True)
class SiteOutput:
    """The pages of one site (or of the front page over all), and what the head of each says."""

    key: str
    name: str
    edition: str
    revision: str
    tree: PageTree

    def digests(self) -> Mapping[str, bytes]:
        """By path, what tells one state of a page or file from another. A page of the navigation
        counts for all, as each shows its title."""
        head = repr((self.name, self.edition, self.revision, self.titles())).encode()
        return {
            part.path: hashlib.sha256(
                head + repr(part).encode() if isinstance(part, Page) else part.data
            ).digest()
            for part in self.tree
        }

    def titles(self) -> list[tuple[str, str]]:
        """The lines of its navigation, by path."""
        return [(part.path, part.nav) for part in self.tree if isinstance(part, Page) and part.nav]


class Publish(Protocol):
    """Writes a volume into an empty folder. `front` is the link from the volume's first page to
    the page over all sites, where there is one; `only` the paths of those pages and files that
    are wanted, beside what all pages share."""

    def __call__(
        self,
        volume: SiteOutput,
        folder: Path,
        *,
        front: str | None,
        only: Collection[str] | None = None,
    ) -> None: ...
