"""What was given is what was built: the manifest beside a site, and the command that holds the
site against it. coreutils' sha256sum is the witness for the digests."""

from __future__ import annotations

import json
import os
import re
import subprocess
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from asbuilt.cli import main
from asbuilt.io.swap import remove_tree
from asbuilt.publish import build, manifest
from asbuilt.publish.manifest import LIBRARIES, NAME
from asbuilt.records.edition import Edition
from tests.books import PRACTICE
from tests.gitrepo import GitRepo
from tests.publish.test_build import plain
from tests.small_site import files_of, write_site


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two sites in git, and the pages of both in public/."""
    top = tmp_path_factory.mktemp("made") / "records"
    repo = GitRepo(top)
    write_site(top, "harbour")
    write_site(top, "mill", site=PRACTICE["site.yml"].replace("Harbour Lane", "Mill"))
    repo.commit({}, "As found")
    build.build(top, top.parent / "public", plain, workers=1)
    build.build(top, top.parent / "client", plain, sites=["mill"], edition=Edition.CLIENT)
    return top.parent


@pytest.fixture
def public(built: Path, tmp_path: Path) -> Path:
    subprocess.run(["cp", "-a", built / "public", built / "client", tmp_path], check=True)
    return tmp_path / "public"


def verify(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["verify", *map(str, arguments)])


def told(*arguments: str | Path) -> list[dict[str, Any]]:
    done = verify(*arguments, "--format", "json")
    document = json.loads(done.stdout)
    assert document["error"] is None, document["error"]
    assert done.exit_code == (0 if all(site["sound"] for site in document["sites"]) else 1)
    found: list[dict[str, Any]] = document["sites"]
    return found


def differing(site: dict[str, Any]) -> dict[str, list[str]]:
    return {kind: site[kind] for kind in ("changed", "missing", "extra", "wrong") if site[kind]}


# What is written


@pytest.mark.parametrize("folder", ["public", "public/harbour", "public/mill", "client/mill"])
def test_sha256sum_finds_every_file_as_the_manifest_says(built: Path, folder: str) -> None:
    where = built / folder
    files = json.loads((where / NAME).read_bytes())["files"]
    lines = "".join(f"{about['sha256']}  {path}\n" for path, about in files.items())
    done = subprocess.run(
        ["sha256sum", "--check", "--strict", "--quiet"], cwd=where, input=lines, text=True
    )
    assert done.returncode == 0
    assert all((where / path).stat().st_size == about["size"] for path, about in files.items())
    there = set(files_of(where)) - {NAME}
    if folder == "public":
        there = {
            path for path in there if path.split("/")[0] not in ("harbour", "mill", ".asbuilt")
        }
    assert set(files) == there


def test_it_says_from_what_and_by_what(built: Path) -> None:
    head = subprocess.run(
        ["git", "rev-parse", "HEAD"], cwd=built / "records", capture_output=True, text=True
    ).stdout.strip()
    said = json.loads((built / "client/mill" / NAME).read_bytes())
    assert said["format"] == 1
    assert (said["site"], said["edition"], said["commit"]) == ("mill", "client", head)
    assert said["uncommitted"] is False
    assert {"asbuilt", "graphviz", "mkdocs", "mkdocs-material", "python"} <= set(said["versions"])
    assert "over" not in said
    assert "harbour" not in (built / "client/mill" / NAME).read_text()


def test_neither_time_nor_place_is_in_it(built: Path, tmp_path: Path) -> None:
    build.build(built / "records", tmp_path / "elsewhere", plain, workers=2)
    for folder in ("", "harbour", "mill"):
        one = (built / "public" / folder / NAME).read_bytes()
        assert one == (tmp_path / "elsewhere" / folder / NAME).read_bytes()


def test_every_library_is_named_or_known_to_write_no_page() -> None:
    """A new dependency has to be thought about."""
    project = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text("utf-8"))
    needed = {re.split(r"[^A-Za-z0-9-]", one)[0] for one in project["project"]["dependencies"]}
    elsewhere = {
        "click",
        "gitpython",
        "graphviz",
        "graphviz-pure",
        "openpyxl",
        "platformdirs",
        "rich",
    }
    assert needed - elsewhere == set(LIBRARIES)


# What is found


def test_what_was_built_is_as_built(public: Path) -> None:
    sites = told(public)
    assert [site["site"] for site in sites] == [None, "harbour", "mill"]
    assert all(site["sound"] for site in sites)
    (mill,) = told(public.parent / "client")
    assert (mill["site"], mill["edition"], mill["sound"]) == ("mill", "client", True)
    assert told(public / "mill")[0]["sound"]


def test_a_letter_can_name_the_digest(public: Path) -> None:
    done = subprocess.run(
        ["sha256sum", public / "mill" / NAME], capture_output=True, text=True, check=True
    )
    digest = done.stdout.split()[0]
    assert digest in verify(public / "mill").stdout
    assert told(public / "mill")[0]["manifest"] == digest


def test_any_bit_of_any_file_is_missed(public: Path) -> None:
    site = public / "harbour"
    for number, path in enumerate(sorted(set(files_of(site)) - {NAME})):
        before = (site / path).read_bytes()
        if before:
            at = number * 7919 % len(before)
            changed = bytes((before[at] ^ 1 << number % 8,))
            (site / path).write_bytes(before[:at] + changed + before[at + 1 :])
        else:
            (site / path).write_bytes(b"x")
        assert differing(told(site)[0]) == {"changed": [path]}
        (site / path).write_bytes(before)
    assert told(site)[0]["sound"]


def hide(site: Path) -> None:
    (site / ".hidden" / "deep").mkdir(parents=True)
    (site / ".hidden" / "deep" / "x").write_text("")


def link(site: Path) -> None:
    data = site.parent / "kept.html"
    (site / "index.html").rename(data)
    (site / "index.html").symlink_to(data)


def link_folder(site: Path) -> None:
    (site / "outlets").rename(site.parent.parent / "outlets")
    (site / "outlets").symlink_to(site.parent.parent / "outlets")


def pipe(site: Path) -> None:
    (site / "index.html").unlink()
    os.mkfifo(site / "index.html")


ALTERED: list[tuple[Callable[[Path], object], dict[str, list[str]]]] = [
    (lambda site: (site / "index.html").unlink(), {"missing": ["index.html"]}),
    (lambda site: (site / "new.js").write_text(""), {"extra": ["new.js"]}),
    (hide, {"extra": [".hidden/deep/x"]}),
    (lambda site: (site / "assets" / NAME).write_text("{}"), {"extra": [f"assets/{NAME}"]}),
    (link, {"changed": ["index.html"]}),
    (pipe, {"changed": ["index.html"]}),
]


@pytest.mark.parametrize(("alter", "expected"), ALTERED)
def test_whatever_differs_is_told(
    public: Path, alter: Callable[[Path], object], expected: dict[str, list[str]]
) -> None:
    alter(public / "harbour")
    assert differing(told(public / "harbour")[0]) == expected
    done = verify(public / "harbour")
    assert done.exit_code == 1
    assert "NOT as built" in done.stdout
    for kind, paths in expected.items():
        assert f"{kind}: {paths[0]}" in done.stdout


def test_a_folder_behind_a_link_is_not_what_was_given(public: Path) -> None:
    link_folder(public / "harbour")
    (site,) = told(public / "harbour")
    assert site["extra"] == ["outlets"]
    assert "outlets/1A-A01.html" in site["missing"]


def test_sites_of_another_name_or_edition_are_told(public: Path) -> None:
    remove_tree(public / "mill")
    (public.parent / "client/mill").rename(public / "mill")
    (public / "harbour").rename(public / "quay")
    _, mill, quay = told(public)
    assert quay["wrong"] == ["the folder “quay” holds the pages of “harbour”"]
    assert mill["wrong"] == ["it is the client edition among the internal edition"]


def test_a_site_that_is_gone_and_what_belongs_to_none_are_told(public: Path) -> None:
    remove_tree(public / "mill")
    (public / "notes.txt").write_text("x")
    over, harbour = told(public)
    assert differing(over) == {"wrong": ["the site “mill” is missing"], "extra": ["notes.txt"]}
    assert harbour["sound"]
    client = public.parent / "client"
    (client / "other").mkdir()
    (client / "other" / "index.html").write_text("x")
    around, mill = told(client)
    assert differing(around) == {"extra": ["other/index.html"]}
    assert mill["sound"]


def test_many_differences_are_counted_and_not_all_told(public: Path) -> None:
    for number in range(50):
        (public / "mill" / f"x{number:02}").write_text("")
    done = verify(public / "mill")
    assert "extra: x19" in done.stdout and "extra: x20" not in done.stdout
    assert "extra: and 30 more" in done.stdout


def test_a_name_steers_no_terminal(public: Path) -> None:
    (public / "mill" / "x\x1b[2Jy").write_text("")
    assert "extra: x[2Jy" in verify(public / "mill").stdout


# What can't be told


GOOD: dict[str, Any] = {
    "format": 1,
    "site": "mill",
    "edition": "client",
    "commit": "",
    "uncommitted": False,
    "versions": {},
    "files": {"a": {"size": 1, "sha256": "0" * 64}},
}
CHANGES: list[dict[str, Any]] = [
    {"format": 0}, {"format": "1"}, {"site": "../x"}, {"site": 7}, {"edition": "public"},
    {"commit": "--upload-pack=x"}, {"commit": "abc"}, {"commit": 5}, {"uncommitted": "no"},
    {"versions": []}, {"files": []}, {"files": {"../x": GOOD["files"]["a"]}},
    {"files": {"/x": GOOD["files"]["a"]}}, {"files": {"": GOOD["files"]["a"]}},
    {"files": {"a": {}}}, {"files": {"a": {"size": "1", "sha256": "0" * 64}}},
    {"files": {"a": {"size": 1, "sha256": "x"}}}, {"files": {"a": 1}},
    {"over": ["../x"]}, {"over": 3},
]  # fmt: skip
BAD: list[str | bytes] = [
    "", "{", "[]", "7", "null", "{}", "[" * 100_000, '{"format": 1}', b"\xff\xfe", "{}" * 9,
    *(json.dumps({**GOOD, **change}) for change in CHANGES),
]  # fmt: skip


@pytest.mark.parametrize("number", range(len(BAD)))
def test_a_manifest_nobody_understands_is_one_message(public: Path, number: int) -> None:
    text = BAD[number]
    (public / "mill" / NAME).write_bytes(text if isinstance(text, bytes) else text.encode())
    for folder in (public, public / "mill"):
        done = verify(folder)
        assert done.exit_code == 1
        assert done.stderr.count("\n") == 1
        assert re.match(r"asbuilt: .*manifest\.json isn’t understood", done.stderr), done.stderr


def test_one_of_a_newer_asbuilt_says_so(public: Path) -> None:
    (public / "mill" / NAME).write_text(json.dumps({**GOOD, "format": 2}))
    assert "newer asbuilt" in verify(public / "mill").stderr


def test_nothing_to_verify_is_one_message(tmp_path: Path) -> None:
    for folder, said in ((tmp_path, "holds a site’s manifest.json"), (tmp_path / "x", "no folder")):
        done = verify(folder)
        assert (done.exit_code, done.stderr.count("\n")) == (1, 1)
        assert said in done.stderr


# Built again


@pytest.fixture
def plainly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("asbuilt.cli._publisher", lambda: plain)


@pytest.mark.usefixtures("plainly")
def test_what_the_client_is_not_told_of_is_another_revision_all_the_same(tmp_path: Path) -> None:
    """An outlet that becomes a camera is a device in every revision from then on: no entry of the
    client's history tells when, yet the same bytes come only from the commit that made it one."""
    git, output = GitRepo(tmp_path / "records"), tmp_path / "public"
    write_site(git.path, "harbour")
    outlets = git.path / "sites/harbour/outlets.yml"
    more = "NEW: {{room: '101', serves: {}}}\n"
    found = outlets.read_text("utf-8")
    git.commit({"sites/harbour/outlets.yml": found + more.format("desk")}, "As found")
    last = git.commit({"sites/harbour/outlets.yml": found + more.format("camera")}, "A camera")
    build.build(git.path, output, plain, sites=["harbour"], edition=Edition.CLIENT)
    said = json.loads((output / "harbour" / NAME).read_bytes())
    assert (said["commit"], said["uncommitted"]) == (last, False)
    assert verify(output, "--against", git.path).exit_code == 0
    git.write({"sites/harbour/outlets.yml": found + more.format("door")})
    build.build(git.path, output, plain, sites=["harbour"], edition=Edition.CLIENT)
    assert json.loads((output / "harbour" / NAME).read_bytes())["uncommitted"] is True


@pytest.mark.usefixtures("plainly")
def test_the_same_commit_gives_the_same_bytes_again(built: Path, public: Path) -> None:
    done = verify(public.parent / "client", "--against", built / "records")
    assert done.exit_code == 0, done.stdout
    assert "built again from the same commit: the same, byte for byte" in done.stdout
    _, *sites = told(public, "--against", built / "records")
    assert all(site["built_again"]["other_versions"] == [] for site in sites)
    assert not (built / "records" / "public").exists()


@pytest.mark.usefixtures("plainly")
def test_a_folder_whose_manifest_was_altered_with_it_is_found_out(
    built: Path, public: Path
) -> None:
    page = public / "mill" / "index.html"
    before = page.read_bytes()
    page.write_bytes(before.replace(b"Mill", b"Mile"))
    made = manifest.read_manifest(public / "mill")
    assert made
    manifest.write_manifest(public / "mill", made.maker)
    assert verify(public / "mill").exit_code == 0
    (site,) = told(public / "mill", "--against", built / "records")
    assert site["built_again"]["changed"] == ["index.html"]


@pytest.mark.usefixtures("plainly")
def test_other_versions_are_named(built: Path, public: Path) -> None:
    path = public / "mill" / NAME
    path.write_text(re.sub(r'"pillow": ".*?"', '"pillow": "1.0"', path.read_text("utf-8")))
    done = verify(public / "mill", "--against", built / "records")
    assert re.search(r"another version: pillow 1\.0, here [0-9.]+\n", done.stdout)


@pytest.mark.usefixtures("plainly")
def test_what_cannot_be_built_again_says_why(built: Path, public: Path, tmp_path: Path) -> None:
    path = public / "mill" / NAME
    text = path.read_text("utf-8")
    commit = json.loads(text)["commit"]
    for new, said in (
        (text.replace(commit, "a" * 40), "don’t hold the commit aaaaaaaaaa"),
        (text.replace('"mill"', '"quay"'), "hold no site “quay”"),
        (text.replace('uncommitted": false', 'uncommitted": true'), "no commit holds"),
    ):
        path.write_text(new, "utf-8")
        done = verify(public / "mill", "--against", built / "records")
        assert (done.exit_code, done.stderr.count("\n")) == (1, 1)
        assert said in done.stderr
    write_site(tmp_path / "elsewhere")
    path.write_text(text, "utf-8")
    done = verify(public / "mill", "--against", tmp_path / "elsewhere")
    assert "isn’t kept in git" in done.stderr
