"""A git repository to test against, driven by git itself and nothing of ours."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Mapping
from pathlib import Path

MARA = ("Mara Quist", "mara.quist@example.com")


class GitRepo:
    """Each method is what somebody types; commits have fixed names and dates."""

    def __init__(self, path: Path) -> None:
        self.path = path
        path.mkdir(parents=True, exist_ok=True)
        home = path.parent / f"{path.name}-home"
        home.mkdir(exist_ok=True)
        outside = {name: value for name, value in os.environ.items() if name[:4] != "GIT_"}
        self.environment = {**outside, "HOME": str(home), "GIT_CONFIG_NOSYSTEM": "1", "LC_ALL": "C"}
        self.hour = 0
        self.git("init", "-q", "-b", "main")

    def git(self, *args: str, told: str = "", **environment: str) -> str:
        done = subprocess.run(
            ["git", "-c", "core.quotepath=off", *args], cwd=self.path, input=told.encode(),
            env=self.environment | environment, capture_output=True, check=False,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr.decode()
        return done.stdout.decode("utf-8", "surrogateescape")

    def write(self, files: Mapping[str, str | bytes | None]) -> None:
        for path, text in files.items():
            file = self.path / path
            if text is None:
                file.unlink()
            else:
                file.parent.mkdir(parents=True, exist_ok=True)
                file.write_bytes(text.encode() if isinstance(text, str) else text)

    def commit(
        self,
        files: Mapping[str, str | bytes | None],
        message: str = "Work",
        *,
        at: str | None = None,
        by: tuple[str, str] = MARA,
    ) -> str:
        """Write the files (None: delete), commit everything, return the id."""
        self.write(files)
        self.git("add", "-A")
        return self.commit_staged(message, at=at, by=by)

    def commit_staged(
        self, message: str, *, at: str | None = None, by: tuple[str, str] = MARA
    ) -> str:
        self.hour += 1
        day, hour = divmod(self.hour, 24)
        when = at or f"2024-03-{1 + day:02}T{hour:02}:00:00+01:00"
        self.git("commit", "-q", "--allow-empty", "-F", "-", told=message, **_who(by, when))
        return self.head()

    def head(self) -> str:
        return self.git("rev-parse", "HEAD").strip()

    def switch(self, name: str, *, new: bool = False, at: str | None = None) -> None:
        start = [at] if at else []
        self.git("switch", "-q", *(["-c", name] if new else [name]), *start)

    def merge(self, name: str, message: str) -> str:
        self.hour += 1
        day, hour = divmod(self.hour, 24)
        who = _who(MARA, f"2024-03-{1 + day:02}T{hour:02}:00:00+01:00")
        self.git("merge", "-q", "--no-ff", "-m", message, name, **who)
        return self.head()


def _who(by: tuple[str, str], when: str) -> dict[str, str]:
    name, email = by
    return {
        "GIT_AUTHOR_NAME": name,
        "GIT_AUTHOR_EMAIL": email,
        "GIT_AUTHOR_DATE": when,
        "GIT_COMMITTER_NAME": name,
        "GIT_COMMITTER_EMAIL": email,
        "GIT_COMMITTER_DATE": when,
    }
