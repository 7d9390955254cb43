"""The client's edition as it is published: no canary in any byte of it, history included."""

from __future__ import annotations

import gzip
import io
import os
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from asbuilt.records.edition import Edition
from tests.canaries import Canaries, CanarySite

Build = Callable[[Edition], dict[str, str]]
AUTHOR = {"GIT_AUTHOR_NAME": "Mara Quist", "GIT_AUTHOR_EMAIL": "canary-address@firm.example"}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> tuple[Canaries, Build]:
    """A repository with a past: what is a camera today was a desk's outlet, what is said today
    was said otherwise, a whole outlet is gone."""
    top = tmp_path_factory.mktemp("records")
    site = CanarySite()
    today = site.files()
    word = site.canaries.word
    past = {path: text.replace("serves: camera", "serves: desk") for path, text in today.items()}
    outlets = next(path for path in past if path.startswith("outlets/"))
    past[outlets] += f"{word('key of a door that is gone')}: {{serves: door, room: '101'}}\n"
    past["site.yml"] = past["site.yml"].replace("vault: ", f"vault: {word('an old vault')} ")
    _git(top, "init", "-q", "-b", "main")
    _commit(top, past, f"Survey\n\n{word('a message')}")
    _commit(top, today, f"Cameras {word('a subject')}\n\nJob: {site.keys['job']}")

    def build(edition: Edition) -> dict[str, str]:
        output = top.parent / f"{top.name}-{edition}"
        command = ("build", "--edition", edition.value, "--site", "harbour", "--output", output)
        subprocess.run([sys.executable, "-m", "asbuilt", *command], cwd=top, check=True)
        return dict(_texts(output))

    return site.canaries, build


def test_no_canary_is_published(made: tuple[Canaries, Build]) -> None:
    canaries, build = made
    texts = build(Edition.CLIENT)
    assert len(texts) > 30
    secret = {**canaries.secret, "canary-address": "the author's address"}
    leaked = {
        (where, path)
        for token, where in secret.items()
        for path, text in texts.items()
        if token in text or token in path.casefold()
    }
    assert leaked == set()
    shown = sum(any(token in text for text in texts.values()) for token in canaries.open)
    assert shown > 0.9 * len(canaries.open), "what the client may read is there"


def test_the_engineers_edition_has_them(made: tuple[Canaries, Build]) -> None:
    """So that their absence elsewhere means something: most are shown, of today and of the past."""
    canaries, build = made
    texts = "\n".join(build(Edition.INTERNAL).values())
    shown = {where for token, where in canaries.secret.items() if token in texts}
    assert len(shown) > 0.5 * len(canaries.secret)
    assert {"site: vault", "key of a camera's outlet", "key of a door that is gone"} <= shown


def _texts(folder: Path) -> Iterator[tuple[str, str]]:
    """Every file as text, what is packed unpacked."""
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            data = path.read_bytes()
            if path.suffix == ".gz":
                data += gzip.decompress(data)
            if zipfile.is_zipfile(io.BytesIO(data)):
                with zipfile.ZipFile(io.BytesIO(data)) as packed:
                    data += b"".join(map(packed.read, packed.namelist()))
            yield str(path.relative_to(folder)), data.decode("utf-8", "replace").casefold()


def _commit(top: Path, files: dict[str, str], message: str) -> None:
    for path, text in files.items():
        file = top / "sites" / "harbour" / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text, encoding="utf-8")
    _git(top, "add", ".")
    _git(top, "commit", "-qm", message)


def _git(top: Path, *arguments: str) -> None:
    who = {key.replace("AUTHOR", role): v for key, v in AUTHOR.items() for role in ROLES_OF_GIT}
    alone = {"HOME": str(top), "GIT_CONFIG_NOSYSTEM": "1"}
    subprocess.run(["git", *arguments], cwd=top, check=True, env={**os.environ, **who, **alone})


ROLES_OF_GIT = ("AUTHOR", "COMMITTER")
