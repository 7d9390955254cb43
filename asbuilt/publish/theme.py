"""Our theme for mkdocs: its folder, its features and colours, its templates read once."""

from __future__ import annotations

import functools
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader
from mkdocs.theme import Theme

from asbuilt.io.sources import theme_folder
from asbuilt.publish.templates import cache_templates

THEME = theme_folder()
FEATURES = [
    "navigation.path",
    "navigation.top",
    "search.highlight",
    "search.suggest",
    "toc.integrate",
]
PALETTE: list[dict[str, Any]] = [
    {
        "media": media,
        "scheme": scheme,
        "primary": "custom",
        "accent": "custom",
        "toggle": {"icon": f"material/{icon}", "name": name},
    }
    for media, scheme, icon, name in (
        ("(prefers-color-scheme)", "default", "theme-light-dark", "Now as the system; to light"),
        ("(prefers-color-scheme: light)", "default", "weather-sunny", "Now light; to dark"),
        ("(prefers-color-scheme: dark)", "slate", "weather-night", "Now dark; to the system's"),
    )
]


class _ListedOnce(FileSystemLoader):
    """Of the theme's files, lists the few that may be published, and looks for them once: beside
    them lie ten thousand icons."""

    def list_templates(self) -> list[str]:
        return list(self._found)

    @functools.cached_property
    def _found(self) -> tuple[str, ...]:
        return tuple(sorted({name for top in self.searchpath for name in _shown_below(Path(top))}))


def _shown_below(top: Path) -> Iterator[str]:
    for folder, inside, names in os.walk(top):
        inside[:] = [name for name in inside if not name.startswith(".")]
        below = Path(folder).relative_to(top)
        yield from ((below / name).as_posix() for name in names if not name.startswith("."))


_ENVIRONMENTS: dict[tuple[str, ...], Environment] = {}


def environment_of(theme: Theme) -> Environment:
    """One for all sites that a process publishes: reading the templates took as long as writing
    fifty pages."""
    folders = tuple(theme.dirs)
    if folders not in _ENVIRONMENTS:
        env = _ENVIRONMENTS[folders] = Theme.get_env(theme)
        env.loader = _ListedOnce(folders)
        env.trim_blocks = env.lstrip_blocks = True
        cache_templates(env)
    return _ENVIRONMENTS[folders]
