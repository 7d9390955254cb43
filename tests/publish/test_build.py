"""From records to published folders: what is built, what stays, whose folder it is."""

from __future__ import annotations

import os
import re
import subprocess
from collections.abc import Collection
from pathlib import Path

import pytest

from asbuilt.io import cache
from asbuilt.io.swap import write_tree
from asbuilt.pages.page import Page
from asbuilt.problem import Problem, WorldError
from asbuilt.publish import build, load
from asbuilt.publish.build import Built
from asbuilt.publish.incremental import IncrementalBuild
from asbuilt.publish.load import SiteLoader
from asbuilt.publish.site_output import SiteOutput
from asbuilt.records.edition import Edition
from tests.books import PRACTICE
from tests.small_site import files_of, write_site


def plain(
    volume: SiteOutput,
    folder: Path,
    *,
    front: str | None = None,
    only: Collection[str] | None = None,
) -> None:
    """A publisher that writes the tree as it is, with the front page's own asset folder."""
    wanted = [part for part in volume.tree if only is None or part.path in only]
    write_tree(
        folder,
        [
            *((p.path, p.html.encode() if isinstance(p, Page) else p.data) for p in wanted),
            ("assets/asbuilt.css", b""),
            ("volume.txt", f"{volume.name}|{volume.edition}|{front}".encode()),
        ],
    )


def run(top: Path, output: Path | None = None, **more: object) -> dict[str, Built]:
    done = build.build(top, output or top / "public", plain, workers=1, **more)  # type: ignore[arg-type]
    return {built.key: built for built in done}


@pytest.fixture
def top(tmp_path: Path) -> Path:
    write_site(tmp_path, "harbour")
    return write_site(tmp_path, "mill", site=PRACTICE["site.yml"].replace("Harbour Lane", "Mill"))


BROKEN = "1A-A01: {rom: 101}\n"


# Checking


def told(top: Path, *sites: str) -> list[str]:
    return [f"{p.place} {p.code}" for p in load.check(top, sites) if p.level == "error"]


def test_sound_records_have_no_error(top: Path) -> None:
    assert told(top) == []


def test_all_errors_of_all_sites_are_told_in_one_run(top: Path) -> None:
    write_site(top, "harbour", outlets=BROKEN, findings="F1: {what: x, severity: dire}\n")
    write_site(top, "mill", outlets="1A-A01: {length: 12}\n")
    assert told(top) == [
        "sites/harbour/findings.yml:1:25 unknown-word",
        "sites/harbour/outlets.yml:1:15 unknown-key",
        "sites/mill/outlets.yml:1:18 unit-missing",
    ]
    assert told(top, "mill") == ["sites/mill/outlets.yml:1:18 unit-missing"]


def test_an_empty_folder_is_a_site_without_its_first_file(top: Path) -> None:
    (top / "sites" / "new").mkdir()
    assert told(top, "new") == ["sites/new:1:1 no-site"]


def test_a_folder_of_links_is_told_once(top: Path) -> None:
    (top / "sites" / "away").symlink_to(top)
    assert told(top, "away") == ["sites/away:1:1 file-link"]


def test_a_site_may_not_lie_over_the_front_page(top: Path) -> None:
    write_site(top, "assets")
    assert told(top, "assets") == ["sites/assets:1:1 bad-key"]


def test_unchanged_files_are_read_once(top: Path) -> None:
    reader = SiteLoader()
    first = reader.read(top, "harbour")
    assert reader.read(top, "harbour") is first
    write_site(top, "harbour", outlets="")
    assert reader.read(top, "harbour") is not first


# Building


def test_each_site_is_complete_in_its_folder_and_a_page_lies_over_all(top: Path) -> None:
    run(top)
    found = files_of(top / "public")
    assert found["harbour/volume.txt"].decode() == (
        "Harbour Lane Practice|engineers’ edition|../index.html"
    )
    assert {"index.html", "harbour/index.html", "mill/outlets/1A-A01.html"} <= set(found)
    assert b"mill/index.html" in found["index.html"]
    assert not [path for path in found if path.split("/")[-1].startswith(".asbuilt-")]


def test_one_site_alone_leaves_the_others_and_the_front_page(top: Path) -> None:
    run(top)
    (top / "public" / "index.html").write_text("as it was")
    (top / "public" / "mill" / "index.html").write_text("as it was")
    assert set(run(top, sites=["harbour"])) == {"harbour"}
    assert (top / "public" / "index.html").read_text() == "as it was"
    assert (top / "public" / "mill" / "index.html").read_text() == "as it was"


def test_twice_the_same_records_give_twice_the_same_bytes(top: Path) -> None:
    run(top)
    run(top, top / "again")
    assert files_of(top / "public") == files_of(top / "again")


def test_sites_built_side_by_side_are_the_same(top: Path) -> None:
    run(top)
    build.build(top, top / "aside", plain, workers=2)
    assert files_of(top / "public") == files_of(top / "aside")


def test_a_site_with_errors_keeps_its_last_good_pages_and_the_others_are_built(top: Path) -> None:
    run(top)
    before = files_of(top / "public" / "harbour")
    write_site(top, "harbour", outlets=BROKEN)
    write_site(top, "mill", findings="")
    done = run(top)
    assert done["harbour"].sound is False
    assert done["mill"].sound
    assert files_of(top / "public" / "harbour") == before
    front = (top / "public" / "index.html").read_text()
    assert "1 error in its records" in front


def test_a_site_that_never_was_sound_is_not_linked(top: Path) -> None:
    write_site(top, "harbour", outlets=BROKEN)
    run(top)
    assert "harbour/index.html" not in (top / "public" / "index.html").read_text()
    assert not (top / "public" / "harbour").exists()


def failing(
    volume: SiteOutput,
    folder: Path,
    *,
    front: str | None = None,
    only: Collection[str] | None = None,
) -> None:
    write_tree(folder, [("index.html", b"half")])
    raise WorldError("writing index.html failed: no space left on device")


def test_a_disk_that_fills_up_leaves_what_was_there(top: Path) -> None:
    run(top)
    before = files_of(top / "public")
    with pytest.raises(WorldError, match="no space left"):
        build.build(top, top / "public", failing, workers=1, rebuild=True)
    assert files_of(top / "public") == before


def test_the_page_over_all_is_made_anew_when_something_under_it_is(top: Path) -> None:
    run(top)
    front = top / "public" / "index.html"
    first = front.stat().st_ino
    run(top)
    assert front.stat().st_ino == first
    write_site(top, "mill", site=PRACTICE["site.yml"].replace("Harbour Lane", "Tide Mill"))
    run(top)
    assert "Tide Mill" in front.read_text()
    front.write_text("half")
    run(top)
    assert "Tide Mill" in front.read_text()
    second = front.stat().st_ino
    run(top, rebuild=True)
    assert front.stat().st_ino != second


def test_pages_of_a_site_that_is_gone_go_too(top: Path) -> None:
    run(top)
    for path in sorted((top / "sites" / "mill").rglob("*"), reverse=True):
        path.rmdir() if path.is_dir() else path.unlink()
    (top / "sites" / "mill").rmdir()
    (top / "public" / "theirs").mkdir()
    run(top)
    assert sorted(path.name for path in (top / "public").iterdir() if path.is_dir()) == [
        "assets",
        "harbour",
        "search",
        "theirs",
    ]


# Whose folder it is


@pytest.mark.parametrize("output", [".", "sites", "sites/harbour", "sites/harbour/public", ".."])
def test_pages_never_lie_over_records(top: Path, output: str) -> None:
    before = files_of(top / "sites")
    with pytest.raises(WorldError, match="over the records"):
        run(top, top / output)
    assert files_of(top / "sites") == before


def test_a_folder_of_somebody_else_s_is_left_alone(top: Path, tmp_path: Path) -> None:
    theirs = tmp_path / "theirs"
    write_tree(theirs, [("assets/photo.jpg", b"dear")])
    with pytest.raises(WorldError, match="aren’t asbuilt’s"):
        run(top, theirs)
    assert files_of(theirs) == {"assets/photo.jpg": b"dear"}


def test_a_file_is_no_folder(top: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(WorldError, match="no folder"):
        run(top, tmp_path / "file")


# The client's edition


def test_the_client_s_edition_is_of_one_site(top: Path) -> None:
    for sites in ((), ("harbour", "mill")):
        with pytest.raises(WorldError, match="of one site"):
            run(top, sites=sites, edition=Edition.CLIENT)


def test_a_client_is_given_one_site_and_no_word_of_another(top: Path) -> None:
    done = run(top, top / "given", sites=["harbour"], edition=Edition.CLIENT)
    found = files_of(top / "given")
    assert {path.split("/")[0] for path in found} == {".asbuilt", "harbour"}
    assert not [path for path, data in found.items() if b"mill" in data.lower()]
    assert done["harbour"].withheld["outlet shown as device"] == 1


def test_nothing_internal_is_in_any_file_a_client_is_given(top: Path) -> None:
    write_site(
        top,
        "harbour",
        site=PRACTICE["site.yml"]
        .replace("under harbour", "under vaultword")
        .replace("phone: 555 0101", "phone: 555 0101, personal phone: 555 0199")
        .replace("number: 10", "number: 2741, addresses: 192.0.2.0/24"),
        findings="F1: {what: secretfinding, severity: hazard, enclosure: 1A}\n",
        outlets=PRACTICE["outlets.yml"] + "1A-A09: {label: CAM-9, serves: camera}\n",
    )
    run(top)
    internal = b"".join(files_of(top / "public" / "harbour").values())
    for word in ("0199", "secretfinding", "CAM-9", "1A-A03"):
        assert word.encode() in internal
    run(top, top / "given", sites=["harbour"], edition=Edition.CLIENT)
    words = ("vaultword", "0199", "2741", "192.0.2", "secretfinding", "CAM-9", "1A-A03")
    for path, data in files_of(top / "given").items():
        data = re.sub(rb"[0-9a-f]{64}", b"", data)  # digits come up in any digest
        for word in words:
            assert word.encode() not in data, path
            assert word not in path


def test_editions_are_never_mixed_in_one_folder(top: Path) -> None:
    run(top)
    with pytest.raises(WorldError, match="holds the internal edition"):
        run(top, sites=["harbour"], edition=Edition.CLIENT)
    run(top, top / "given", sites=["harbour"], edition=Edition.CLIENT)
    with pytest.raises(WorldError, match="holds the client edition"):
        run(top, top / "given")


# Kept up to date


class Counting:
    """A publisher that notes the keys of what it publishes; the front page has none."""

    def __init__(self) -> None:
        self.keys: list[str] = []
        self.only: Collection[str] | None = None

    def __call__(
        self,
        volume: SiteOutput,
        folder: Path,
        *,
        front: str | None = None,
        only: Collection[str] | None = None,
    ) -> None:
        self.keys.append(volume.key)
        if volume.key:
            self.only = only
        plain(volume, folder, front=front, only=only)


@pytest.fixture
def counting(monkeypatch: pytest.MonkeyPatch) -> Counting:
    monkeypatch.setattr(os, "cpu_count", lambda: 1)  # other processes would count for themselves
    return Counting()


def test_a_save_builds_only_the_site_it_changed(top: Path, counting: Counting) -> None:
    standing = IncrementalBuild(top, top / "public", counting)
    standing.update()
    assert counting.keys == ["harbour", "mill", ""]
    counting.keys.clear()
    write_site(top, "mill", outlets=PRACTICE["outlets.yml"].replace("Nils Ferro", "Orla Finch"))
    standing.update()
    assert counting.keys == ["mill", ""]
    assert "Orla Finch" in (top / "public/mill/outlets/1A-A01.html").read_text()
    assert "harbour/index.html" in (top / "public/index.html").read_text()


def test_a_save_writes_only_the_pages_it_changed(top: Path, counting: Counting) -> None:
    write_site(top, "mill")
    standing = IncrementalBuild(top, top / "public", counting)
    standing.update()
    write_site(top, "mill", outlets=PRACTICE["outlets.yml"].replace("Nils Ferro", "Orla Finch"))
    standing.update()
    assert counting.only is not None
    assert "outlets/1A-A01.html" in counting.only
    assert "connectivity.html" not in counting.only
    again = IncrementalBuild(top, top / "again", counting)
    again.update()
    ours, fresh = files_of(top / "public"), files_of(top / "again")
    apart = {"mill/manifest.json"}  # of a folder that is served nobody asks for its digest
    assert {path for path in ours.keys() | fresh.keys() if ours.get(path) != fresh.get(path)} <= (
        apart
    )


def test_a_page_whose_record_is_gone_is_gone_too(top: Path, counting: Counting) -> None:
    write_site(top, "mill")
    standing = IncrementalBuild(top, top / "public", counting)
    standing.update()
    outlets = PRACTICE["outlets.yml"].splitlines(keepends=True)
    gone = next(line for line in outlets if line.startswith("1A-A04"))
    write_site(top, "mill", outlets="".join(line for line in outlets if line != gone))
    standing.update()
    assert not (top / "public/mill/outlets/1A-A04.html").exists()
    assert (top / "public/harbour/outlets/1A-A04.html").exists()


# Built once


def test_what_has_not_changed_is_not_built_again(top: Path, counting: Counting) -> None:
    def built(**more: object) -> list[str]:
        counting.keys.clear()
        build.build(top, top / "public", counting, workers=1, **more)  # type: ignore[arg-type]
        return [key for key in counting.keys if key]

    assert built() == ["harbour", "mill"]
    before = files_of(top / "public")
    assert built() == []
    assert files_of(top / "public") == before
    write_site(top, "mill", outlets=PRACTICE["outlets.yml"].replace("Nils Ferro", "Orla Finch"))
    assert built() == ["mill"]
    assert built(rebuild=True) == ["harbour", "mill"]
    (top / "public/harbour/outlets/1A-A01.html").unlink()
    assert built() == ["harbour"]
    (top / "public/harbour/index.html").write_text("shorter")
    assert built() == ["harbour"]
    (top / "public/harbour/manifest.json").unlink()
    assert built() == ["harbour"]


def test_a_build_of_everything_is_remembered_too(top: Path, counting: Counting) -> None:
    build.build(top, top / "public", counting, workers=1, rebuild=True)
    counting.keys.clear()
    build.build(top, top / "public", counting, workers=1)
    assert counting.keys == []


def test_receipts_of_sites_whose_keys_begin_alike_are_told_apart(
    tmp_path: Path, counting: Counting
) -> None:
    for key in ("a", "a.b", "a.b.c"):
        write_site(tmp_path, key)
    build.build(tmp_path, tmp_path / "public", counting, workers=1)
    write_site(tmp_path, "a", outlets=PRACTICE["outlets.yml"].replace("Nils Ferro", "Orla Finch"))
    build.build(tmp_path, tmp_path / "public", counting, workers=1)
    counting.keys.clear()
    build.build(tmp_path, tmp_path / "public", counting, workers=1)
    assert counting.keys == []


def test_another_graphviz_draws_anew(top: Path, counting: Counting) -> None:
    build.build(top, top / "public", counting, workers=1)
    counting.keys.clear()
    build.build(top, top / "public", counting, workers=1, engine="another 9.9")
    assert counting.keys == ["harbour", "mill", ""]


def test_remarks_are_told_again_of_pages_that_stayed(top: Path, counting: Counting) -> None:
    write_site(
        top, "harbour", findings="F1: {what: cords hang, severity: untidy, outlet: 1A-A01}\n"
    )
    first = {b.key: b for b in build.build(top, top / "public", counting, workers=1)}
    again = {b.key: b for b in build.build(top, top / "public", counting, workers=1)}
    assert again["harbour"].reused
    assert again["harbour"].problems == first["harbour"].problems
    assert again["harbour"].files == first["harbour"].files


def test_a_build_that_was_stopped_goes_on_where_it_was(top: Path, counting: Counting) -> None:
    class Stopped(Counting):
        def __call__(self, volume: SiteOutput, folder: Path, **more: object) -> None:
            if volume.key == "mill":
                raise KeyboardInterrupt
            super().__call__(volume, folder, **more)  # type: ignore[arg-type]

    with pytest.raises(KeyboardInterrupt):
        build.build(top, top / "public", Stopped(), workers=1)
    build.build(top, top / "public", counting, workers=1)
    assert counting.keys == ["mill", ""]


def test_a_receipt_is_not_believed_of_other_pages(top: Path, counting: Counting) -> None:
    build.build(top, top / "public", counting, workers=1)
    counting.keys.clear()
    build.build(top, top / "elsewhere", counting, workers=1)
    assert counting.keys == ["harbour", "mill", ""]
    for kept in (top / cache.FOLDER).glob("built-*"):
        kept.write_bytes(b"no receipt")
    counting.keys.clear()
    build.build(top, top / "public", counting, workers=1)
    assert counting.keys == ["harbour", "mill", ""]


def git(top: Path, *arguments: str) -> str:
    who = ["-c", "user.name=Mara Quist", "-c", "user.email=mara@example.com"]
    done = subprocess.run(
        ["git", "-C", str(top), *who, *arguments], capture_output=True, text=True, check=True
    )
    return done.stdout.strip()


def test_a_commit_is_seen_too_and_only_by_the_site_it_is_about(
    top: Path, counting: Counting
) -> None:
    git(top, "init", "--quiet")
    git(top, "add", "sites")
    git(top, "commit", "--quiet", "-m", "As found")
    write_site(top, "mill", outlets=PRACTICE["outlets.yml"].replace("Nils Ferro", "Orla Finch"))
    standing = IncrementalBuild(top, top / "public", counting)
    standing.update()
    page = top / "public" / "mill" / "changes.html"
    assert "uncommitted" in page.read_text()
    git(top, "commit", "--quiet", "-am", "Orla Finch moves in")
    counting.keys.clear()
    standing.update()
    assert counting.keys == ["mill", ""]
    assert "uncommitted" not in page.read_text()
    assert git(top, "rev-parse", "HEAD")[:10] in (page.parent / "index.html").read_text()


def test_a_comment_or_another_site_s_commit_leaves_every_page_as_it_is(top: Path) -> None:
    git(top, "init", "--quiet")
    git(top, "add", "sites")
    git(top, "commit", "--quiet", "-m", "As found")
    run(top)
    before = files_of(top / "public" / "harbour")
    write_site(top, "harbour", outlets=PRACTICE["outlets.yml"] + "# seen again\n")
    write_site(top, "mill", findings="")
    git(top, "commit", "--quiet", "-am", "A comment here, a finding cleared there")
    run(top)
    assert files_of(top / "public" / "harbour") == before


def errors(standing: IncrementalBuild) -> list[Problem]:
    return [problem for problem in standing.problems() if problem.level == "error"]


def test_a_mistake_is_told_until_it_is_mended(top: Path, counting: Counting) -> None:
    standing = IncrementalBuild(top, top / "public", counting)
    standing.update()
    write_site(top, "mill", outlets=BROKEN)
    standing.update()
    assert [problem.code for problem in errors(standing)] == ["unknown-key"]
    assert "Nils Ferro" in (top / "public/mill/outlets/1A-A01.html").read_text()
    write_site(top, "harbour", findings="")
    standing.update()
    assert [problem.code for problem in errors(standing)] == ["unknown-key"]
    write_site(top, "mill")
    standing.update()
    assert errors(standing) == []
