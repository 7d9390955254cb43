"""python -m tests: everything that must hold before a change goes in, in one command.

Formatting, lint, types, the tests themselves, and a strict build of the demonstration records and of
the documentation.
Arguments go to pytest; `--quick` stops before it.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

TOP = Path(__file__).resolve().parents[1]
CODE = ("asbuilt", "tests", "benchmarks", "docs")


def main(arguments: Sequence[str]) -> int:
    python = (sys.executable, "-m")
    rest = [argument for argument in arguments if argument != "--quick"]
    steps: list[tuple[str, tuple[str, ...]]] = [
        ("format", (*python, "ruff", "format", "--check", *CODE)),
        ("lint", (*python, "ruff", "check", *CODE)),
        ("types", (*python, "mypy")),
    ]
    with tempfile.TemporaryDirectory() as folder:
        if "--quick" not in arguments:
            site = ("--strict", "--quiet", "--site-dir", str(Path(folder) / "site"))
            steps.append(("mkdocs build of sites/", (*python, "mkdocs", "build", *site)))
            docs = ("-f", "docs/mkdocs.yml", *site[:-1], str(Path(folder) / "docs"))
            steps.append(("mkdocs build of docs/", (*python, "mkdocs", "build", *docs)))
            # In the order of their names: the files of few tests hold the longest.
            side_by_side = ("-n", "auto", "--dist", "loadfile", "--no-loadscope-reorder")
            steps.append(("tests", (*python, "pytest", *side_by_side, *rest)))
        failed = [name for name, command in steps if not _passes(name, command)]
    for name, _ in steps:
        print(f"{'failed' if name in failed else 'passed':>8}  {name}")
    return 1 if failed else 0


def _passes(name: str, command: Sequence[str]) -> bool:
    print(f"\n=== {name}", flush=True)
    start = time.monotonic()
    quiet = {**os.environ, "NO_MKDOCS_2_WARNING": "1"}
    code = subprocess.run(command, cwd=TOP, env=quiet).returncode
    print(f"=== {name}: {'ok' if code == 0 else f'exit {code}'}, {time.monotonic() - start:.0f} s")
    return code == 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
