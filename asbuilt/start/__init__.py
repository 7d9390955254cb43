"""What `asbuilt init` and `asbuilt new site` begin with: the texts beside this file."""

from __future__ import annotations

import json
from collections.abc import Mapping
from importlib.resources import files
from importlib.resources.abc import Traversable
from string import Template

from asbuilt.records.schema import schema_texts


def repository_texts() -> Mapping[str, str]:
    """Path → text of a new records repository."""
    texts = dict(_texts("repository"))
    for name in ("gitignore", "pre-commit-config.yaml"):
        texts[f".{name}"] = texts.pop(name)
    return texts | {f"schema/{name}": text for name, text in schema_texts().items()}


def site_texts(name: str) -> Mapping[str, str]:
    """Path → text of a new site. Its name is quoted as YAML wants it, whatever it is."""
    quoted = json.dumps(name, ensure_ascii=False)
    return {path: Template(text).substitute(name=quoted) for path, text in _texts("site")}


def _texts(folder: str) -> list[tuple[str, str]]:
    found: list[tuple[str, str]] = []

    def walk(place: Traversable, inside: str) -> None:
        for entry in sorted(place.iterdir(), key=lambda entry: entry.name):
            if entry.is_dir():
                walk(entry, f"{inside}{entry.name}/")
            else:
                found.append((f"{inside}{entry.name}", entry.read_text(encoding="utf-8")))

    walk(files(__name__) / folder, "")
    return found
