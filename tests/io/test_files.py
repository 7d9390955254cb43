"""The disk edge: what is read of a site's folder, and how a published folder is replaced."""

from __future__ import annotations

import errno
import os
import stat
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from asbuilt.io.files import (
    MAX_ASSET_BYTES,
    choose_sites,
    explain_os_errors,
    find_top,
    read_site_files,
    site_names,
)
from asbuilt.io.swap import exclusive_output, make_aside, swap_in, write_tree
from asbuilt.problem import WorldError
from asbuilt.yamltext import MAX_BYTES


@pytest.fixture
def top(tmp_path: Path) -> Path:
    write_tree(
        tmp_path,
        [
            ("sites/harbour/site.yml", b"name: Harbour Lane\n"),
            ("sites/harbour/enclosures/1A.yml", b"height: 12 U\n"),
            ("sites/harbour/notes.txt", b"not a record"),
            ("sites/harbour/odd.yml", b"x: 1\n"),
            ("sites/harbour/plans/ground.svg", b"<svg/>"),
            ("sites/mill/site.yml", b"name: The Mill\n"),
        ],
    )
    return tmp_path


def codes(top: Path, site: str) -> list[tuple[str, str]]:
    problems = read_site_files(top, site).problems
    return [(problem.place.path, problem.code) for problem in problems]


# Finding


def test_the_repository_is_found_from_any_folder_below(top: Path) -> None:
    assert find_top(top / "sites" / "harbour" / "enclosures") == top
    assert site_names(top) == ("harbour", "mill")


def test_no_repository_is_one_sentence_with_the_way_out(tmp_path: Path) -> None:
    with pytest.raises(WorldError, match="asbuilt init"):
        find_top(tmp_path)


def test_sites_are_chosen_by_name_or_as_the_shell_completes_them(top: Path) -> None:
    assert choose_sites(top, ()) == ("harbour", "mill")
    assert choose_sites(top, ["sites/mill/", "mill"]) == ("mill",)
    with pytest.raises(WorldError, match="did you mean “harbour”"):
        choose_sites(top, ["harbor"])


@pytest.mark.parametrize("name", ["../../x", "/etc", "", ".", "harbour/../mill"])
def test_a_site_is_never_a_path(top: Path, name: str) -> None:
    with pytest.raises(WorldError, match="there is no site"):
        choose_sites(top, [name])


# Reading


def test_records_are_read_assets_listed_and_the_rest_left_alone(top: Path) -> None:
    found = read_site_files(top, "harbour")
    assert dict(found.texts) == {
        "enclosures/1A.yml": b"height: 12 U\n",
        "odd.yml": b"",  # looks like records, and is told about by its name alone
        "site.yml": b"name: Harbour Lane\n",
    }
    assert list(found.assets) == ["plans/ground.svg"]
    assert not found.problems


def test_links_are_refused_wherever_they_point(top: Path, tmp_path_factory: Path) -> None:
    site = top / "sites" / "harbour"
    (site / "outlets.yml").symlink_to("/etc/passwd")
    (site / "findings.yml").symlink_to(site / "site.yml")
    (site / "jobs").symlink_to(top)
    (site / "photos").symlink_to(site)
    assert codes(top, "harbour") == [
        ("sites/harbour/findings.yml", "file-link"),
        ("sites/harbour/jobs", "file-link"),
        ("sites/harbour/outlets.yml", "file-link"),
        ("sites/harbour/photos", "file-link"),
    ]
    assert "outlets.yml" not in read_site_files(top, "harbour").texts


def test_a_site_that_is_a_link_is_refused(top: Path) -> None:
    (top / "sites" / "away").symlink_to("/usr/share")
    found = read_site_files(top, "away")
    assert [problem.code for problem in found.problems] == ["file-link"]
    assert not found.texts


def test_a_pipe_is_no_record_and_makes_nobody_wait(top: Path) -> None:
    os.mkfifo(top / "sites" / "harbour" / "outlets.yml")
    assert codes(top, "harbour") == [("sites/harbour/outlets.yml", "file-special")]


def test_a_huge_file_is_told_and_not_read(top: Path) -> None:
    for path, size in (("outlets.yml", 200 * 1024 * 1024), ("photos/a.jpg", MAX_ASSET_BYTES + 1)):
        target = top / "sites" / "harbour" / path
        target.parent.mkdir(exist_ok=True)
        with target.open("wb") as file:
            file.truncate(size)  # a file of nothing takes no room
    found = read_site_files(top, "harbour")
    assert [str(problem) for problem in found.problems] == [
        "sites/harbour/outlets.yml:1:1: the file is 200 MiB; 8 MiB at most [file-size]",
        "sites/harbour/photos/a.jpg:1:1: the file is 64 MiB; 64 MiB at most [file-size]",
    ]
    assert not any(len(text) > MAX_BYTES for text in found.texts.values())


def test_names_that_cannot_be_shown_are_told_with_their_signs_spelled_out(top: Path) -> None:
    (top / "sites" / "harbour" / "out\nlets.yml").write_text("x: 1\n")
    (top / "sites" / "harbour" / os.fsdecode(b"\xff.yml")).write_text("x: 1\n")
    found = codes(top, "harbour")
    assert found == [
        (r"sites/harbour/\udcff.yml", "file-name"),
        (r"sites/harbour/out\nlets.yml", "file-name"),
    ]


def refuse(*args: object, **more: object) -> int:
    """What the system answers to anybody but root."""
    raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(args[0]))


def test_what_may_not_be_read_is_one_problem(top: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (top / "sites" / "harbour" / "enclosures" / "1A.yml").unlink()
    monkeypatch.setattr(os, "open", refuse)
    assert codes(top, "harbour") == [("sites/harbour/site.yml", "file-unreadable")]


def test_a_folder_named_like_no_key_is_no_site(top: Path) -> None:
    (top / "sites" / "a b").mkdir()
    assert codes(top, "a b") == [("sites/a b", "bad-key")]


# Writing


@pytest.mark.parametrize("path", ["../x", "/etc/x", "a/../../x", "a\\b", ""])
def test_a_tree_stays_in_its_folder(tmp_path: Path, path: str) -> None:
    with pytest.raises(ValueError, match="not a path"):
        write_tree(tmp_path / "new", [(path, b"")])


def test_a_tree_has_no_two_files_of_one_name_on_any_disk(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="two files"):
        write_tree(tmp_path, [("a/B.html", b""), ("a/b.html", b"")])


def published(folder: Path, mark: str) -> Path:
    write_tree(folder, [(f"{number}.html", mark.encode()) for number in range(20)])
    return folder


def test_the_new_folder_takes_the_place_of_the_old(tmp_path: Path) -> None:
    final = published(tmp_path / "site", "old")
    (final / "gone.html").write_text("old")
    swap_in(published(make_aside(tmp_path), "new"), final)
    assert {path.read_text() for path in final.iterdir()} == {"new"}
    assert [path.name for path in tmp_path.iterdir()] == ["site"]


def test_the_same_where_the_system_cannot_exchange_folders(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("asbuilt.io.swap._exchange", lambda one, other: False)
    final = published(tmp_path / "site", "old")
    swap_in(published(make_aside(tmp_path), "new"), final)
    assert {path.read_text() for path in final.iterdir()} == {"new"}
    assert [path.name for path in tmp_path.iterdir()] == ["site"]


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="renameat2(2) is Linux's")
def test_whoever_reads_meanwhile_finds_every_page(tmp_path: Path) -> None:
    final = published(tmp_path / "site", "0")
    missed: list[str] = []
    done = threading.Event()

    def read() -> None:
        while not done.is_set():
            try:
                (final / "19.html").read_text()
            except OSError as error:
                missed.append(str(error))

    reader = threading.Thread(target=read)
    reader.start()
    for number in range(60):
        swap_in(published(make_aside(tmp_path), str(number)), final)
    done.set()
    reader.join()
    assert not missed


def test_the_published_folder_may_be_read_by_whom_the_umask_lets(tmp_path: Path) -> None:
    before = os.umask(0o022)
    try:
        made = make_aside(tmp_path)
    finally:
        os.umask(before)
    assert stat.S_IMODE(made.stat().st_mode) == 0o755


def test_two_builds_do_not_mix(tmp_path: Path) -> None:
    output = tmp_path / "public"
    with (
        exclusive_output(output),
        pytest.raises(WorldError, match="another build"),
        exclusive_output(output),
    ):
        raise AssertionError("the second build was let in")
    with exclusive_output(output):
        pass


def test_a_killed_build_leaves_no_lock_and_its_leavings_are_cleared(tmp_path: Path) -> None:
    output = tmp_path / "public"
    script = (
        "import os, sys, pathlib\n"
        "from asbuilt.io.swap import exclusive_output, make_aside\n"
        "folder = pathlib.Path(sys.argv[1])\n"
        "with exclusive_output(folder):\n"
        "    (make_aside(folder) / 'half.html').write_text('half')\n"
        "    os.kill(os.getpid(), 9)\n"
    )
    subprocess.run([sys.executable, "-c", script, str(output)], check=False, timeout=60)
    assert len(list(output.iterdir())) == 1
    with exclusive_output(output):
        assert not list(output.iterdir())


def test_a_full_disk_is_one_sentence() -> None:
    full = Path("/dev/full")
    if not full.exists():
        pytest.skip("no /dev/full here")
    with (
        pytest.raises(WorldError, match="writing the pages failed: no space left on device"),
        explain_os_errors("writing the pages"),
    ):
        full.write_text("x")


def test_no_permission_is_one_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Path, "mkdir", refuse)
    with (
        pytest.raises(WorldError, match="permission denied"),
        exclusive_output(tmp_path / "public"),
    ):
        pass
