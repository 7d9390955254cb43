"""A site as one file to keep: complete, the same to the byte, and refused in one sentence."""

from __future__ import annotations

import os
import posixpath
import re
import zipfile
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from asbuilt.cli import main
from asbuilt.publish.archive import pack
from tests.small_site import files_of, write_site


@pytest.fixture
def top(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    write_site(tmp_path / "records")
    monkeypatch.chdir(tmp_path / "records")
    monkeypatch.setattr(os, "cpu_count", lambda: 1)
    return tmp_path


def build(*arguments: str) -> Result:
    return CliRunner().invoke(main, ["build", *arguments])


def unpacked(archive: Path, into: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(archive) as file:
        assert file.testzip() is None
        file.extractall(into)
    return files_of(into)


def test_the_same_files_make_the_same_archive(tmp_path: Path) -> None:
    texts = {"index.html": b"a" * 999, "z/ü.svg": b"<svg/>", "b.css": b""}
    for name, order in (("one", texts), ("two", reversed(texts))):
        for path in order:
            file = tmp_path / name / "quay" / path
            file.parent.mkdir(parents=True, exist_ok=True)
            file.write_bytes(texts[path])
            file.chmod(0o600 if name == "one" else 0o755)
            os.utime(file, (10**9, 10**9 if name == "one" else 1.5 * 10**9))
        assert pack(tmp_path / name / "quay", tmp_path / f"{name}.zip") == 3
    assert (tmp_path / "one.zip").read_bytes() == (tmp_path / "two.zip").read_bytes()
    with zipfile.ZipFile(tmp_path / "one.zip") as archive:
        assert archive.namelist() == ["quay/b.css", "quay/index.html", "quay/z/ü.svg"]
        assert {e.external_attr >> 16 for e in archive.infolist()} == {0o100644}
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".")]


def test_the_clients_pages_are_those_of_a_folder(top: Path) -> None:
    done = build("--edition", "client", "--site", "harbour", "--zip", "../keep.zip")
    assert done.exit_code == 0, done.output
    first = (top / "keep.zip").read_bytes()
    assert build("--edition", "client", "--site", "harbour", "--output", "../pages").exit_code == 0
    expected = {p: d for p, d in files_of(top / "pages").items() if p.startswith("harbour/")}
    assert unpacked(top / "keep.zip", top / "kept") == expected
    assert f"harbour: {len(expected)} files in ../keep.zip" in done.output
    build("--edition", "client", "--site", "harbour", "--zip", "../keep.zip")
    assert (top / "keep.zip").read_bytes() == first


def test_nothing_in_the_engineers_archive_leads_out_of_it(top: Path) -> None:
    assert build("--site", "harbour", "--zip", "../keep.zip").exit_code == 0
    files = unpacked(top / "keep.zip", top / "kept")
    led = 0
    for path, data in files.items():
        if path.endswith(".html"):
            for href in re.findall(rb' (?:href|src)="([^"#?:]+)["#?]', data):
                target = posixpath.normpath(f"{posixpath.dirname(path)}/{href.decode()}").lstrip(
                    "/"
                )
                assert target in files, (path, href)
                led += 1
    assert led > 500


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--zip", "keep.zip"], "--zip packs one site: say which with --site"),
        (["--site", "harbour", "--zip", "keep"], "keep is no name for an archive; let it end"),
        (["--site", "harbour", "--zip", "no/keep.zip"], "there is no folder no to write keep.zip"),
        (["--site", "harbour", "--zip", "k.zip", "--output", "o"], "leave --output and --shard"),
        (["--site", "nowhere", "--zip", "keep.zip"], "nowhere"),
    ],
)
def test_what_cannot_be_packed_is_told_in_a_sentence(
    top: Path, arguments: list[str], told: str
) -> None:
    before = files_of(top)
    done = build(*arguments)
    assert done.exit_code == 1
    assert told in done.stderr and "Traceback" not in done.stderr
    assert files_of(top) == before


def test_records_with_errors_leave_the_archive_that_is_there(top: Path) -> None:
    (top / "keep.zip").write_bytes(b"the last one")
    write_site(top / "records", outlets="1A-A01: {rom: 101}\n")
    done = build("--site", "harbour", "--zip", "../keep.zip")
    assert done.exit_code == 1 and "nothing is packed" in done.stderr
    assert (top / "keep.zip").read_bytes() == b"the last one"
