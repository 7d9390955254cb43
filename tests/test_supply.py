"""What we rest on: every dependency is pinned with its hashes, says why it is there, and is what
is installed here. Requirements are read by `packaging`, which pip reads them with too."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable
from importlib import metadata
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

TOP = Path(__file__).resolve().parents[1]
PROJECT = tomllib.loads((TOP / "pyproject.toml").read_text("utf-8"))
EXTRAS = PROJECT["project"]["optional-dependencies"]
RUN, DEV = "requirements.lock", "requirements-dev.lock"
AGAIN = "see DEVELOPERS.md, “Dependencies”, for how the lock files are made anew"


def _asked(texts: Iterable[str]) -> list[Requirement]:
    """What these name; an extra of our own stands for what it names."""
    found: list[Requirement] = []
    for asked in map(Requirement, texts):
        if asked.name == PROJECT["project"]["name"]:
            for extra in sorted(asked.extras):
                found += _asked(EXTRAS[extra])
        else:
            found.append(asked)
    return found


ASKED = {
    RUN: _asked([*PROJECT["project"]["dependencies"], *EXTRAS["build"]]),
    DEV: _asked([*PROJECT["project"]["dependencies"], *EXTRAS["build"], *EXTRAS["dev"]]),
}
#: The machines a lock file must serve: Linux with each Python that has its own line of numpy.
PYTHONS = [{"python_version": minor, "python_full_version": f"{minor}.9"} for minor in
           ("3.11", "3.12", "3.13")]  # fmt: skip


def _entries(lock: str) -> list[tuple[Requirement, list[str]]]:
    """Each pin with its hashes."""
    text = (TOP / lock).read_text("utf-8").replace("\\\n", " ")
    lines = [line for line in text.splitlines() if line and not line.lstrip().startswith("#")]
    return [
        (Requirement(line.split("--hash", 1)[0].strip()), re.findall(r"--hash=(\S+)", line))
        for line in lines
    ]


def _pins(lock: str, python: dict[str, str] | None = None) -> dict[str, Version]:
    found: dict[str, Version] = {}
    for pin, _ in _entries(lock):
        if pin.marker is None or pin.marker.evaluate(python):
            name = canonicalize_name(pin.name)
            assert name not in found, f"{name} is pinned twice"
            (only,) = pin.specifier
            assert only.operator == "==", pin
            found[name] = Version(only.version)
    return found


@pytest.mark.parametrize("lock", ASKED)
def test_every_pin_has_hashes_and_names_no_place(lock: str) -> None:
    for pin, hashes in _entries(lock):
        assert hashes, f"{pin} has no hash"
        assert all(re.fullmatch(r"sha256:[0-9a-f]{64}", one) for one in hashes), pin
        assert pin.url is None, pin
    text = (TOP / lock).read_text("utf-8")
    assert "://" not in text
    assert not re.search(r"^\s*-(?!-hash)", text, re.M), "an option for pip stands in it"


@pytest.mark.parametrize("python", PYTHONS, ids=lambda python: python["python_version"])
@pytest.mark.parametrize("lock", ASKED)
def test_every_dependency_is_pinned_as_asked(lock: str, python: dict[str, str]) -> None:
    pins = _pins(lock, python)
    for asked in ASKED[lock]:
        name = canonicalize_name(asked.name)
        assert name in pins, f"{asked} isn't in {lock}; {AGAIN}"
        assert pins[name] in asked.specifier, f"{name} {pins[name]} isn't {asked}; {AGAIN}"


def test_those_who_run_it_and_those_who_work_on_it_have_the_same() -> None:
    for python in PYTHONS:
        assert _pins(RUN, python).items() <= _pins(DEV, python).items()


def test_what_builds_it_is_pinned_too() -> None:
    assert set(PROJECT["build-system"]["requires"]) <= set(EXTRAS["build"])


def _here(asked: Iterable[Requirement]) -> dict[str, Version]:
    """What is installed of these, and of all that they need in turn."""
    found: dict[str, Version] = {}
    open_ = list(asked)
    while open_:
        one = open_.pop()
        name = canonicalize_name(one.name)
        if name in found or (one.marker and not one.marker.evaluate({"extra": ""})):
            continue
        try:
            there = metadata.distribution(one.name)
        except metadata.PackageNotFoundError:
            continue
        found[name] = Version(there.version)
        open_ += _asked(there.requires or ())
        for extra in one.extras:
            open_ += [
                part
                for part in _asked(there.requires or ())
                if part.marker and part.marker.evaluate({"extra": extra})
            ]
    return found


def test_what_is_installed_is_what_is_locked() -> None:
    """Or newer within its major version: an installation without the lock takes what is new."""
    here = _here(ASKED[DEV])
    assert len(here) > 40
    pins = _pins(DEV)
    other = {
        name: version
        for name, version in here.items()
        if name not in pins or version < pins[name] or version.major != pins[name].major
    }
    assert not other, f"installed otherwise than locked; {AGAIN}"


def test_every_dependency_says_why_it_is_there() -> None:
    text = (TOP / "pyproject.toml").read_text("utf-8")
    for asked in ASKED[DEV]:
        assert re.search(rf'^  "{re.escape(str(asked.name))}\b[^"]*",  # \S', text, re.M), (
            asked.name
        )


def test_dependencies_are_few() -> None:
    """Somebody has to keep an eye on each: a new one is a decision."""
    assert len(PROJECT["project"]["dependencies"]) <= 15
    assert len(_pins(RUN)) <= 50
