"""Whatever is typed is shown as text and does nothing: payloads in every field of a site, in commits,
branches and names, read by Chromium, html5lib, an XML parser, openpyxl and a terminal."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import quote, urlsplit
from xml.etree import ElementTree

import html5lib
import openpyxl
import pytest
from selenium.webdriver import Chrome

from asbuilt.records.fields import Listed, PortTexts, Sighting, Text
from asbuilt.records.kinds import ALL_KINDS
from tests.chromium import browser, needs_browser, one_of_each_kind, requested, served
from tests.fuzz import CONTROL
from tests.gitrepo import GitRepo
from tests.hostile import CONTROLS, FILE_NAMES, PAYLOADS, UNFIT_NAMES, hostile_site, odd_keys
from tests.small_site import write_site
from tests.typed_records import by_place

SITES = 2  # together they have every payload, each in a good many fields
FIRST = 29  # by so many payloads the second is on
EDITIONS = ("internal", "client")


@dataclass(frozen=True)
class Made:
    top: Path
    typed: Mapping[str, set[str]]  # payload → fields
    fields: set[str]
    public: Mapping[str, Path]  # by site and edition


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Made:
    repo = GitRepo(tmp_path_factory.mktemp("hostile") / "records")
    typed: dict[str, set[str]] = {}
    past: dict[str, str | bytes | None] = {}
    today: dict[str, str | bytes | None] = {}
    for number in range(SITES):
        for first, state in ((number * FIRST + 11, past), (number * FIRST, today)):
            files, fields = hostile_site(first)
            state.update({f"sites/h{number}/{path}": text for path, text in files.items()})
            if state is today:
                for payload, where in fields.items():
                    typed.setdefault(payload, set()).update(where)
    repo.commit(
        past,
        f"{PAYLOADS[0]}\n\n{PAYLOADS[4]}",
        by=('<img src=x onerror=pwned()>"', _unbracketed(PAYLOADS[21])),
    )
    repo.switch("x'\";pwned()<svg/onload=pwned()>&{{7}}", new=True)
    for path in set(past) - set(today):
        today[path] = None
    repo.commit(today, f"{PAYLOADS[1]} {CONTROLS[0]}{CONTROLS[4]}\n\nJob: J1\nJob: {PAYLOADS[21]}")
    for number, payload in enumerate((*PAYLOADS, *CONTROLS)):
        # A change of a site goes with each message, so that each is told.
        text = str(today["sites/h0/site.yml"])
        note = {
            "sites/h0/site.yml": re.sub("^vault: .*$", f"vault: shelf {number}", text, flags=re.M)
        }
        repo.commit(
            note,
            payload.strip("#") or "x",
            by=(_unbracketed(payload), _unbracketed(PAYLOADS[-1 - number % len(PAYLOADS)])),
        )
    public = {}
    for edition in EDITIONS:
        for number in range(SITES):
            output = repo.path.parent / f"{edition}-{number}"
            done = _asbuilt(
                repo.path,
                "build",
                "--edition",
                edition,
                "--site",
                f"h{number}",
                "--output",
                str(output),
            )
            assert done.returncode == 0, done.stdout + done.stderr
            assert not _steers(done.stdout + done.stderr)
            public[f"h{number} {edition}"] = output
    return Made(repo.path, typed, {f for where in typed.values() for f in where}, public)


def test_every_field_of_text_has_payloads_and_every_payload_has_fields(made: Made) -> None:
    assert set(made.typed) == set(PAYLOADS)
    texts = {
        f"{kind.name}: {name}"
        for kind in ALL_KINDS
        for name, spec in kind.specs.items()
        if isinstance(spec.type.of if isinstance(spec.type, Listed) else spec.type, Text | Sighting | PortTexts)
        and not by_place(kind, name)
    }  # fmt: skip
    without = texts - made.fields
    assert without <= {"site: labels"}, "a pattern, which the site needs to be a good one"
    pairs = sum(map(len, made.typed.values()))
    pages = sum(len(list(folder.rglob("*.html"))) for folder in made.public.values())
    print(f"{len(PAYLOADS)} payloads, {len(made.fields)} places, {pairs} pairs, {pages} pages")
    assert pairs > 600 and pages > 140


SENTINEL = (
    "window.pwnings = 0; window.pwned = window.alert = window.print = () => { window.pwnings++; }"
)
VIOLATIONS = (
    "window.broken = []; document.addEventListener('securitypolicyviolation',"
    " e => window.broken.push(e.violatedDirective + ' ' + e.blockedURI))"
)
#: A pointer goes over everything and everything gets the focus, as a hand might.
TOUCH = """
for (const e of document.querySelectorAll('body *')) {
  for (const kind of ['mouseover', 'focus', 'toggle']) e.dispatchEvent(new Event(kind));
}
return [window.pwnings, window.broken,
  [...document.querySelectorAll('[href],[src],[action],[data]')].map(
    e => String(e.getAttribute('href') || e.getAttribute('src') || e.getAttribute('action'))
  ).filter(a => /^\\s*(javascript|vbscript|data:text)|evil\\.example/i.test(a)),
  document.documentElement.textContent]
"""


@pytest.mark.browser
@needs_browser
def test_nothing_typed_runs_or_asks_another_host(made: Made) -> None:
    """On every page for engineers, and one of every kind for the client, who reads a part of the
    same."""
    said = ""
    opened = 0
    with browser() as driver:
        driver.execute_cdp_cmd(
            "Page.addScriptToEvaluateOnNewDocument", {"source": SENTINEL + ";" + VIOLATIONS}
        )
        for made_for, folder in made.public.items():
            every = sorted(folder.rglob("*.html"))
            if made_for.endswith("client"):
                every = sorted(one_of_each_kind(folder).values())
            with served(folder) as address:
                for page in every:
                    name = page.relative_to(folder)
                    driver.get(f"{address}/{name}")
                    ran, broken, links, text = driver.execute_script(TOUCH)
                    assert (ran, broken, links) == (0, [], []), name
                    said += text
                    opened += 1
                hosts = {
                    urlsplit(url).hostname for url in requested(driver) if url.startswith("http")
                }
                assert hosts <= {"127.0.0.1"}, hosts
        assert len(driver.window_handles) == 1
    print(f"{opened} pages opened")
    lines = " ".join(said.split())
    unseen = {p for p in PAYLOADS if " ".join(_visible(p).split()) not in lines}
    assert unseen == set(), "shown as typed"
    # Not within a commit's id or a made-up word, nor as the year of a day, which are numbered on.
    assert not re.search(r"\b1337\b(?!-)", lines), "no template counted"


#: Each text typed into the page's search: waits until its answers stand, then goes over them.
SEARCH = """
const [texts, done] = arguments, box = document.querySelector('input.md-search__input');
const wait = time => new Promise(resolve => setTimeout(resolve, time));
const counted = () => document.querySelectorAll('.md-search-result__item').length;
const settled = async least => {
  for (let before = -1, turn = 0; turn < 100 && (before !== counted() || before < least); turn++) {
    before = counted();
    await wait(30);
  }
  return counted();
};
const type = (input, text) => {
  input.value = text;
  for (const kind of ['keydown', 'input', 'keyup', 'change'])
    input.dispatchEvent(new Event(kind, {bubbles: true}));
};
(async () => {
  box.focus();
  type(box, 'pwned');
  let answers = await settled(1);
  for (const text of texts) {
    type(box, text);
    answers += await settled(0);
    for (const e of document.querySelectorAll('.md-search *'))
      for (const kind of ['mouseover', 'toggle']) e.dispatchEvent(new Event(kind));
  }
  for (const field of document.querySelectorAll('.filter input'))
    for (const text of texts) type(field, text);
  done(answers);
})();
"""


@pytest.mark.browser
@needs_browser
def test_what_is_typed_into_a_search_or_filter_runs_nothing(made: Made) -> None:
    """Of either edition: the search, whose answers hold payloads themselves; the filter of a list; and
    what a link can carry to a page."""
    answers = 0
    with browser() as driver:
        driver.execute_cdp_cmd(
            "Page.addScriptToEvaluateOnNewDocument", {"source": SENTINEL + ";" + VIOLATIONS}
        )
        driver.set_script_timeout(120)
        for name in ("h0 internal", "h1 client"):
            with served(made.public[name]) as address:
                page = f"{address}/{name[:2]}/outlets.html"
                driver.get(page)
                answers += driver.execute_async_script(SEARCH, PAYLOADS)
                assert _touched(driver) == (0, [], [])
                for text in PAYLOADS[::9]:
                    driver.get(f"{page}?q={quote(text)}#{quote(text)}")
                    assert _touched(driver) == (0, [], []), text
                hosts = {
                    urlsplit(url).hostname for url in requested(driver) if url.startswith("http")
                }
                assert hosts <= {"127.0.0.1"}, hosts
    print(f"{answers} answers of searches")
    assert answers > 100


def _touched(driver: Chrome) -> tuple[int, list[str], list[str]]:
    ran, broken, links, _ = driver.execute_script(TOUCH)
    return ran, broken, links


def test_pages_are_whole_to_a_strict_parser(made: Made) -> None:
    for folder in made.public.values():
        for page in sorted(folder.rglob("*.html")):
            html5lib.HTMLParser(strict=True).parse(page.read_text(encoding="utf-8"))
        for drawing in (*folder.rglob("*.svg"), *folder.rglob("*.xml")):
            tree = ElementTree.parse(drawing)
            assert not any(e.tag.endswith("}script") for e in tree.iter())
        for data in folder.rglob("*.json"):
            json.loads(data.read_text(encoding="utf-8"))


def test_names_of_files_are_told_as_text_and_nothing_is_published_by_them(made: Made) -> None:
    told = ""
    for name, folder in made.public.items():
        paths = {path.relative_to(folder).as_posix() for path in folder.rglob("*")}
        assert {path for path in paths if not re.fullmatch(r"[A-Za-z0-9._+/-]+", path)} == set()
        for key in odd_keys(FIRST * int(name[1])):
            assert {f"{name[:2]}/{part}/{key}.html" for part in ("outlets", "jobs")} < paths
        assert {f"{name[:2]}/photos/N{n}.jpg" for n in range(len(FILE_NAMES))} < paths
        if name.endswith("internal"):
            assert {f"{name[:2]}/plans/P0.svg", f"{name[:2]}/plans/P1.svg"} < paths
            page = folder / name[:2] / "record-quality.html"
            told += "".join(html5lib.parse(page.read_text("utf-8")).itertext())
    lines = " ".join(told.split())
    for folder_name in ("findings", "tables"):
        unseen = [
            name for name in FILE_NAMES if f"{folder_name}/{' '.join(name.split())}." not in lines
        ]
        assert unseen == []


def test_names_of_files_that_cannot_be_shown_are_refused(tmp_path: Path) -> None:
    write_site(tmp_path)
    for name in UNFIT_NAMES:
        for path in (
            f"findings/{name}.yml",
            f"tests/{name}.csv",
            f"plans/{name}.svg",
            f"photos/{name}.png",
        ):
            file = tmp_path / "sites/harbour" / path
            file.parent.mkdir(exist_ok=True)
            file.write_bytes(b"")
    done = _asbuilt(tmp_path, "check")
    assert done.returncode == 1 and not _steers(done.stdout + done.stderr)
    assert done.stdout.count("[file-name]") == 4 * len(UNFIT_NAMES)


def test_no_cell_is_a_formula(made: Made) -> None:
    cells = 0
    for folder in made.public.values():
        for sheet in folder.rglob("*.csv"):
            rows = csv.reader(io.StringIO(sheet.read_bytes().decode("utf-8-sig"), newline=""))
            for cell in (cell for row in rows for cell in row):
                assert not re.match(r"\s*[=+\-@\uff1d]", cell), (sheet.name, cell)
                cells += 1
        for book in folder.rglob("*.xlsx"):
            for row in (row for page in openpyxl.load_workbook(book) for row in page.iter_rows()):
                assert not any(cell.data_type == "f" for cell in row)
                assert not any(cell.hyperlink for cell in row)
                cells += len(row)
    assert cells > 1000


@pytest.mark.skipif(
    shutil.which("soffice") is None, reason="LibreOffice isn’t installed: nothing to compare with"
)
def test_a_spreadsheet_computes_nothing(made: Made, tmp_path: Path) -> None:
    """LibreOffice, told to take whatever looks like a formula in a CSV for one, holds texts only."""
    for suffix, reader in ((".csv", [COMPUTING]), (".xlsx", [])):
        files = sorted(f for folder in made.public.values() for f in folder.rglob(f"*{suffix}"))
        assert files
        copies = [tmp_path / f"{number}{suffix}" for number in range(len(files))]
        for file, copy in zip(files, copies, strict=True):
            shutil.copy(file, copy)
        profile = f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}"
        subprocess.run(
            ["soffice", profile, "--headless", *reader, "--convert-to", "fods",
             "--outdir", str(tmp_path / suffix), *map(str, copies)],
            check=True, capture_output=True, timeout=180,
        )  # fmt: skip
        cells = 0
        for copy in copies:
            for element in ElementTree.parse(tmp_path / suffix / f"{copy.stem}.fods").iter():
                assert not any(name.endswith("}formula") for name in element.attrib), copy
                assert not element.tag.endswith("text:1.0}a"), (copy, element.attrib)
                cells += element.tag.endswith("}table-cell")
        print(f"{cells} cells in {len(copies)} files {suffix}")
        assert cells > 500


#: CSV in UTF-8, all its formulas computed (LibreOffice Help, “Filter Options for CSV”, 13th token).
COMPUTING = "--infilter=CSV:44,34,76,1,,0,false,true,false,false,false,0,true"


@pytest.mark.parametrize(
    "command", [("check",), ("log",), ("diff", "HEAD~70", "HEAD"), ("log", "h0")]
)
def test_a_terminal_is_not_steered(made: Made, command: tuple[str, ...]) -> None:
    done = _asbuilt(made.top, *command)
    assert "Traceback" not in done.stderr and "Usage" not in done.stderr, done.stderr
    assert done.stdout and not _steers(done.stdout + done.stderr)


def _unbracketed(payload: str) -> str:
    """The payload as git takes names and addresses of people."""
    return re.sub("[<>\n]", "", payload) or "x"


def _steers(output: str) -> list[str]:
    return [
        line for line in output.split("\n") if CONTROL.search(line.rstrip("\r").replace("\t", " "))
    ]


def _visible(text: str) -> str:
    """What turns text round is left out of pages."""
    return re.sub("[\u202a-\u202e\u2066-\u2069]", "", text)


def _asbuilt(top: Path, *arguments: str) -> Any:
    command = [sys.executable, "-m", "asbuilt", *arguments]
    return subprocess.run(
        command, cwd=top, capture_output=True, text=True, encoding="utf-8", check=False
    )
