"""What a shell completes: the keys of sites. Whatever stands in the way, it offers nothing."""

from __future__ import annotations

from pathlib import Path

import click
from click.shell_completion import CompletionItem

from asbuilt.io.files import find_top, site_names
from asbuilt.problem import WorldError


def site_keys(
    context: click.Context, parameter: click.Parameter, begun: str
) -> list[CompletionItem]:
    try:
        names = site_names(find_top(Path.cwd()))
    except WorldError:
        return []
    return [CompletionItem(name) for name in names if name.startswith(begun)]
