"""What mkdocs and material make of a tree of pages."""

from __future__ import annotations

import base64
import hashlib
import json
import os
import re
import socket
import subprocess
import sys
import time
import tomllib
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from html.parser import HTMLParser
from pathlib import Path

import html5lib
import pytest
from mkdocs.commands.build import build as mkdocs_build
from mkdocs.config import load_config
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.exceptions import Abort
from selenium.webdriver.support.ui import WebDriverWait

from asbuilt.pages.page import Asset, Page, PageTree, SearchEntry
from asbuilt.publish import mkdocs_plugin, search
from asbuilt.publish.dev_server import with_banner
from asbuilt.publish.mkdocs_plugin import publish
from asbuilt.publish.ready_page import ReadyPage
from asbuilt.publish.search import SEPARATOR
from asbuilt.publish.site_output import SiteOutput
from asbuilt.publish.theme import THEME
from tests.books import PRACTICE
from tests.chromium import browser, needs_browser
from tests.small_site import files_of, write_site

# What a record could hold to have itself run in a reader's browser.
EVIL = "</title><script>alert(1)</script><img src=x onerror=alert(2)>\"'&"
TREE: PageTree = (
    Page(
        "index.html",
        "Harbour Lane",
        '<h1 id="top">Harbour Lane</h1><h2 id="people">Con<b>tacts</b></h2><p>Iris Quill</p>',
        nav="Site brief",
        description="As-built records",
        search=(SearchEntry("Harbour Lane"), SearchEntry("Iris Quill", "manager", "people")),
    ),
    Page("outlets.html", "Outlets", '<h1 id="top">Outlets</h1>', nav="Outlets"),
    Page(
        "outlets/1A-A01.html",
        "1A-A01",
        '<h1 id="top">1A-A01</h1><p>hidden sentence</p>',
        parent="outlets.html",
        search=(SearchEntry("1A-A01", "1A/A/01 room 101"),),
    ),
    Page("outlets/README.html", "README", '<h1 id="top">README</h1>', parent="outlets.html"),
    Page("outlets/1A.5.html", "1A.5", "<p>of a room</p>", "outlets.html", description="A & B"),
    Asset("lists/outlets.csv", b"outlet,room\n"),
)


def volume(tree: PageTree = TREE, name: str = "Harbour Lane") -> SiteOutput:
    return SiteOutput("harbour", name, "engineers’ edition", "abc1234567, 2025-03-07", tree)


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("site")
    publish(volume(), folder, front="../index.html")
    return folder


class Reader(HTMLParser):
    """A page as a browser takes it apart: tags with their attributes, and the text of scripts."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.scripts: list[str] = []
        self._script = False
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        plain = dict(attrs).get("type") is None and "src" not in dict(attrs)
        self._script = tag == "script" and plain
        if self._script:
            self.scripts.append("")

    def handle_endtag(self, tag: str) -> None:
        self._script = False

    def handle_data(self, data: str) -> None:
        if self._script:
            self.scripts[-1] += data

    def all(self, tag: str) -> Iterator[dict[str, str | None]]:
        return (attrs for name, attrs in self.tags if name == tag)


# What is published


def test_every_page_and_file_is_where_the_tree_says(site: Path) -> None:
    found = set(files_of(site))
    assert {part.path for part in TREE} <= found
    assert not any(path.endswith((".md", ".map", ".py")) for path in found)


def test_of_the_theme_only_what_pages_ask_for(site: Path) -> None:
    others = set(files_of(site)) - {part.path for part in TREE}
    assert {path.split("/")[0] for path in others} == {"assets", "search"}


def test_the_same_tree_gives_the_same_bytes(site: Path, tmp_path: Path) -> None:
    publish(volume(), tmp_path, front="../index.html")
    assert files_of(tmp_path) == files_of(site)


def test_pages_are_html_without_a_parse_error(site: Path) -> None:
    # html5lib follows the parsing rules of the HTML standard and raises at the first error.
    for path in ("index.html", "outlets/1A-A01.html"):
        html5lib.HTMLParser(strict=True).parse((site / path).read_bytes())


def test_the_head_says_whose_records_which_revision_and_for_whom(site: Path) -> None:
    text = (site / "outlets/1A-A01.html").read_text()
    head = text[text.index("<header") : text.index("</header>")]
    for words in ("Harbour Lane", "1A-A01", "engineers’ edition", "abc1234567, 2025-03-07"):
        assert words in head
    assert 'href="../../index.html"' in head
    assert "<title>1A-A01 · Harbour Lane</title>" in text


def test_a_record_s_page_shows_the_way_back_and_stays_out_of_the_navigation(site: Path) -> None:
    text = (site / "outlets/1A-A01.html").read_text()
    path = text[text.index('class="md-path"') :]
    path = path[: path.index("</nav>")]
    assert re.findall(r'href="([^"]+)"', path) == ["../index.html", "../outlets.html"]
    front = (site / "index.html").read_text()
    assert "1A-A01" not in front
    assert 'href="outlets.html"' in front


def test_a_frame_rendered_once_gives_what_rendering_each_page_would(
    site: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(mkdocs_plugin, "frame_of", lambda folder, part: None)
    monkeypatch.setattr(ReadyPage, "keep_out", lambda page: None)
    publish(volume(), tmp_path, front="../index.html")
    assert files_of(tmp_path) == files_of(site)


def test_sections_are_listed_beside_the_page(site: Path) -> None:
    text = (site / "index.html").read_text()
    assert re.search(r'href="#people"[^>]*>\s*<span[^>]*>\s*Contacts\s*<', text)


def test_two_files_of_one_name_are_our_mistake(tmp_path: Path) -> None:
    twice = (*TREE, Asset("Outlets.html", b""))
    with pytest.raises(RuntimeError, match="two files"):
        publish(volume(twice), tmp_path)


def test_an_installation_brings_the_theme() -> None:
    settings = tomllib.loads((Path(__file__).parents[2] / "pyproject.toml").read_text())
    wheel = settings["tool"]["hatch"]["build"]["targets"]["wheel"]
    assert wheel["force-include"] == {"theme": "asbuilt/theme"}
    assert THEME.name == "theme"
    assert (THEME / "main.html").is_file()


# What is safe


def test_what_a_record_holds_never_becomes_markup(tmp_path: Path) -> None:
    page = Page(
        "index.html",
        EVIL,
        "<p>x</p>",
        nav=EVIL,
        description=EVIL,
        search=(SearchEntry(EVIL, EVIL),),
    )
    publish(SiteOutput("x", EVIL, EVIL, EVIL, (page,)), tmp_path)
    read = Reader((tmp_path / "index.html").read_text())
    assert not any("alert" in script for script in read.scripts)
    assert not any(name.startswith("on") for _, attrs in read.tags for name in attrs)
    assert not any(attrs.get("src") == "x" for attrs in read.all("img"))
    index = (tmp_path / "search" / "search_index.json").read_text()
    for entry in json.loads(index)["docs"]:
        assert "<" not in entry["title"] + entry["text"]


def test_no_page_asks_another_host_for_anything(site: Path) -> None:
    for path, data in files_of(site).items():
        if path.endswith(".html"):
            for tag, attrs in Reader(data.decode()).tags:
                for name in ("src", "href", "action", "data", "poster", "srcset"):
                    assert not re.match(r"\s*(https?:)?//", attrs.get(name) or ""), (path, tag)
        if path.endswith(".css"):
            assert not re.search(r"(url\(|@import)\s*[\"']?(https?:)?//", data.decode()), path


def test_the_policy_lets_the_theme_s_own_scripts_run_and_no_other(site: Path) -> None:
    read = Reader((site / "outlets/1A-A01.html").read_text())
    (policy,) = (
        attrs["content"] or ""
        for attrs in read.all("meta")
        if attrs.get("http-equiv") == "Content-Security-Policy"
    )
    scripts = next(part for part in policy.split("; ") if part.startswith("script-src"))
    assert "unsafe" not in scripts
    assert "http" not in policy
    assert "default-src 'none'" in policy
    assert len(read.scripts) == 3
    for script in read.scripts:
        digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
        assert f"'sha256-{digest}'" in scripts


def test_nothing_names_the_day_or_the_maker(site: Path) -> None:
    for path, data in files_of(site).items():
        if path.endswith((".html", ".json")):
            assert b'name="generator"' not in data
            assert time.strftime("%Y-%m-%d").encode() not in data


# Search


def test_search_finds_things_by_entries_of_our_own(site: Path) -> None:
    index = json.loads((site / "search" / "search_index.json").read_text())
    assert index["docs"] == [
        {"location": "index.html", "title": "Harbour Lane", "text": ""},
        {"location": "index.html#people", "title": "Iris Quill", "text": "manager"},
        {"location": "outlets.html", "title": "Outlets", "text": ""},
        {"location": "outlets/1A-A01.html", "title": "1A-A01", "text": "1A/A/01 room 101"},
        {"location": "outlets/README.html", "title": "README", "text": ""},
        {"location": "outlets/1A.5.html", "title": "1A.5", "text": ""},
    ]
    assert index["config"]["pipeline"] == []
    script = (site / "search" / "search_index.js").read_text()
    assert json.loads(script.removeprefix("var __index = ")) == index


@pytest.mark.parametrize(
    ("label", "parts"),
    [
        ("1A-A01", ["1A", "A01"]),
        ("1A/A/01", ["1A", "A", "01"]),
        ("Iris Quill", ["Iris", "Quill"]),
        ("room 101, store", ["room", "101", "store"]),
        ("104*2", ["104*2"]),
    ],
)
def test_labels_are_taken_apart_where_people_do(label: str, parts: list[str]) -> None:
    assert re.split(SEPARATOR, label) == parts


def test_where_the_theme_s_search_changed_inside_it_parses_the_pages_itself(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for module in (mkdocs_plugin, search):
        monkeypatch.setattr(module, "entries_in", lambda index: None)
    publish(volume(), tmp_path)
    index = json.loads((tmp_path / "search" / "search_index.json").read_text())
    texts = {entry["location"]: entry["text"] for entry in index["docs"]}
    assert "hidden sentence" in texts["outlets/1A-A01.html"]


# mkdocs itself, in a records repository


def mkdocs(top: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "mkdocs", *arguments],
        cwd=top,
        env={**os.environ, "NO_MKDOCS_2_WARNING": "1"},
        capture_output=True,
        text=True,
        timeout=120,
    )


@pytest.fixture
def repository(tmp_path: Path) -> Path:
    write_site(tmp_path)
    write_site(tmp_path, "mill", site=PRACTICE["site.yml"].replace("Harbour Lane", "Mill"))
    (tmp_path / "sites" / "harbour" / "photos").mkdir()
    (tmp_path / "sites" / "harbour" / "photos" / "door.jpg").write_bytes(b"\xff\xd8")
    (tmp_path / "sites" / "harbour" / "README.md").write_text("# the vault's code is 1234")
    text = "site_name: Records\ndocs_dir: sites\ntheme: material\nplugins: [asbuilt, search, offline]\n"
    (tmp_path / "mkdocs.yml").write_text(text)
    return tmp_path


def test_mkdocs_build_publishes_the_pages_and_no_record(repository: Path) -> None:
    done = mkdocs(repository, "build", "--strict")
    assert done.returncode == 0, done.stderr
    found = files_of(repository / "site")
    assert "harbour/index.html" in found
    assert "mill/outlets/1A-A01.html" in found
    assert b'href="mill/index.html"' in found["index.html"]
    for path, data in found.items():
        assert not path.endswith((".yml", ".yaml", ".md")), path
        assert b"1234" not in data or path.startswith("assets/"), path
    locations = [e["location"] for e in json.loads(found["search/search_index.json"])["docs"]]
    assert "mill/outlets/1A-A01.html" in locations


def test_mkdocs_build_with_errors_tells_all_and_leaves_the_old_site(repository: Path) -> None:
    assert mkdocs(repository, "build").returncode == 0
    before = files_of(repository / "site")
    write_site(repository, "mill", outlets="1A-A01: {rom: 101}\n1A-A02: {port: 1A/A/99x/1}\n")
    done = mkdocs(repository, "build")
    assert done.returncode == 1
    assert "Traceback" not in done.stderr
    told = " ".join(done.stderr.split())
    assert "sites/mill/outlets.yml:1:15: outlet 1A-A01 has an unknown “rom”; did you" in told
    assert "sites/mill/outlets.yml:2:16:" in told
    assert files_of(repository / "site") == before


# Serving


def served_build(top: Path, folder: Path) -> None:
    """A build as the server of mkdocs asks for it, at first and after every save; it keeps the
    plugin from one to the next."""
    config = load_config(str(top / "mkdocs.yml"), site_dir=str(folder))
    config.plugins["asbuilt"].on_startup(command="serve", dirty=False)
    mkdocs_build(config)


def test_a_save_writes_the_pages_that_change_and_leaves_all_others(
    repository: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(MkDocsConfig.plugins, "plugin_cache", {})
    served, fresh = tmp_path / "served", tmp_path / "fresh"
    served_build(repository, served)
    before = {path: (served / path).stat().st_ino for path in files_of(served)}
    outlets = PRACTICE["outlets.yml"]
    write_site(repository, outlets=outlets.replace("Nils Ferro", "Orla Finch"))
    served_build(repository, served)
    pages = {path for path in files_of(served) if path.endswith(".html")}
    written = {path for path in pages if (served / path).stat().st_ino != before.get(path)}
    assert "harbour/outlets/1A-A01.html" in written
    assert "harbour/outlets/1A-A04.html" not in written
    assert not {path for path in written if path.startswith("mill/")}
    gone = "\n".join(line for line in outlets.splitlines() if not line.startswith("1A-A04"))
    write_site(repository, outlets=gone)
    served_build(repository, served)
    assert not (served / "harbour/outlets/1A-A04.html").exists()
    monkeypatch.setattr(MkDocsConfig.plugins, "plugin_cache", {})
    served_build(repository, fresh)
    assert files_of(served) == files_of(fresh)
    assert {path.name for path in tmp_path.iterdir() if path.name.startswith("tmp")} == set()


def test_a_save_with_errors_leaves_the_pages_that_are_served(
    repository: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(MkDocsConfig.plugins, "plugin_cache", {})
    served = tmp_path / "served"
    served_build(repository, served)
    before = files_of(served)
    write_site(repository, "mill", outlets="1A-A01: {rom: 101}\n")
    with pytest.raises(Abort):
        served_build(repository, served)
    assert files_of(served) == before
    assert {path.name for path in tmp_path.iterdir() if path.name.startswith("tmp")} == set()


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


@dataclass(frozen=True)
class Served:
    """A server under way."""

    process: subprocess.Popen[str]
    port: int

    def address(self, path: str) -> str:
        return f"http://127.0.0.1:{self.port}/{path}"

    def __call__(self, path: str, words: str) -> str:
        """Ask for a page until it holds some words."""
        end = time.monotonic() + 60
        seen = ""
        while time.monotonic() < end and self.process.poll() is None:
            try:
                seen = urllib.request.urlopen(self.address(path), timeout=5).read().decode()
            except OSError as error:
                seen = str(error)
            if words in seen:
                return seen
            time.sleep(0.1)
        raise AssertionError(f"{words!r} never came: {seen[:2000]}")


@contextmanager
def serving(command: list[str], top: Path) -> Iterator[Served]:
    port = free_port()
    process = subprocess.Popen(
        [*(part.format(port=port) for part in command)],
        cwd=top,
        env={**os.environ, "NO_MKDOCS_2_WARNING": "1"},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        text=True,
    )
    try:
        yield Served(process, port)
    finally:
        process.terminate()
        process.wait(timeout=30)


SERVERS = {
    "mkdocs": [sys.executable, "-m", "mkdocs", "serve", "--dev-addr", "127.0.0.1:{port}"],
    "asbuilt": [sys.executable, "-m", "asbuilt", "serve", "--port", "{port}"],
}


@pytest.mark.parametrize("command", SERVERS.values(), ids=SERVERS)
def test_a_mistake_under_serve_is_shown_over_the_last_good_pages(
    repository: Path, command: list[str]
) -> None:
    with serving(command, repository) as page:
        page("harbour/outlets/1A-A01.html", "Nils Ferro")
        outlets = PRACTICE["outlets.yml"]
        write_site(repository, outlets=outlets.replace("desk", "dsk"))
        wrong = page("harbour/outlets/1A-A01.html", "This page is as of the last good build")
        assert "Nils Ferro" in wrong
        assert "sites/harbour/outlets.yml:1:" in wrong
        assert "“dsk” is no use of an outlet; did you mean “desk”?" in wrong
        assert "This page is as of" in page("mill/index.html", "Mill")
        write_site(repository, outlets=outlets.replace("Nils Ferro", "Orla Finch"))
        right = page("harbour/outlets/1A-A01.html", "Orla Finch")
        assert "This page is as of" not in right


@pytest.mark.browser
@needs_browser
@pytest.mark.parametrize("command", SERVERS.values(), ids=SERVERS)
def test_saving_a_record_refreshes_the_page(repository: Path, command: list[str]) -> None:
    outlets = PRACTICE["outlets.yml"]
    with serving(command, repository) as page, browser() as driver:
        page("harbour/outlets/1A-A01.html", "Nils Ferro")
        driver.get(page.address("harbour/outlets/1A-A01.html"))
        write_site(repository, outlets=outlets.replace("Nils Ferro", "Orla Finch"))
        WebDriverWait(driver, 30).until(lambda d: "Orla Finch" in d.page_source)


def test_the_banner_holds_text_and_nothing_else() -> None:
    page = b'<!doctype html><html><body dir="ltr"><p>old</p></body></html>'
    shown = with_banner(page, [EVIL])
    assert b'<body dir="ltr"><div role="alert"' in shown
    assert shown.endswith(b"<p>old</p></body></html>")
    assert b"<script" not in shown
    assert b"<img" not in shown
