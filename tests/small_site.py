"""Records on a disk, for tests of the front doors."""

from __future__ import annotations

from pathlib import Path

from tests.books import PRACTICE


def write_site(top: Path, key: str = "harbour", **changed: str | None) -> Path:
    """Write the small practice below `top`; `changed` gives other texts for its files, or None
    for no such file: `outlets="…"` is outlets.yml."""
    texts: dict[str, str | None] = dict(PRACTICE)
    texts |= {f"{name}.yml": text for name, text in changed.items()}
    for path, text in texts.items():
        target = top / "sites" / key / path
        if text is not None:
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_text(text, encoding="utf-8")
    return top


def files_of(folder: Path) -> dict[str, bytes]:
    """Every file below a folder: path → bytes."""
    found = (path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in found}
