"""Golden files: what was looked at once and is to stay as it is. The demonstration, built once."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from asbuilt.cli import main

Golden = Callable[[str, str], None]

_FOLDER = Path(__file__).parent / "golden"


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--accept", action="store_true", help="write golden files anew: look at the difference"
    )


@pytest.fixture
def golden(request: pytest.FixtureRequest) -> Golden:
    """Hold a text against the golden file of a name; with --accept, write it instead."""
    accept = request.config.getoption("--accept")

    def hold(name: str, text: str) -> None:
        path = _FOLDER / name
        if accept:
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(text, encoding="utf-8", newline="\n")
        kept = path.read_text(encoding="utf-8") if path.exists() else ""
        assert text == kept, f"{name} has changed: look, and if it is right, “pytest --accept”"

    return hold


@pytest.fixture(scope="session")
def public(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demonstration, built as the README's first command builds it; nobody writes to it."""
    folder = tmp_path_factory.mktemp("demo") / "records"
    result = CliRunner().invoke(main, ["demo", str(folder)])
    assert result.exit_code == 0, result.output
    return folder / "public"


@pytest.fixture(scope="session")
def told(public: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What two of its clients are handed: a site with photos, and a small one."""
    folder = tmp_path_factory.mktemp("told")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(public.parent)
        for site in ("ostrel-vane", "hollow-lane"):
            words = ["build", "--edition", "client", "--site", site, "--output", str(folder)]
            result = CliRunner().invoke(main, words)
            assert result.exit_code == 0, result.output
    return folder


@pytest.fixture(scope="session")
def documentation(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The documentation, built as `python -m tests` builds it."""
    folder = tmp_path_factory.mktemp("docs")
    subprocess.run(
        [sys.executable, "-m", "mkdocs", "build", "-q", "--strict", "-f", "docs/mkdocs.yml",
         "--site-dir", str(folder)],
        cwd=Path(__file__).parents[1], env={**os.environ, "NO_MKDOCS_2_WARNING": "1"}, check=True,
    )  # fmt: skip
    return folder
