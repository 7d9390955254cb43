"""Every kind of page, of both editions and of the documentation, held against all rules of axe-core
(tests/axe/) that are of WCAG 2.2 at levels A and AA or of its own best practice."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import pytest
from click.testing import CliRunner
from selenium.webdriver import Chrome
from selenium.webdriver.support.ui import WebDriverWait

from asbuilt.cli import main
from tests.browser import DESKTOP, PHONE, browser, look, needs_browser, one_of_each_kind

pytestmark = [pytest.mark.browser, needs_browser]

AXE = (Path(__file__).parent / "axe" / "axe.min.js").read_text(encoding="utf-8")
ALL = {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa",
                                 "best-practice"]}  # fmt: skip
#: What may be another for each pair of a size and a scheme; the rest is asked at every size and in
#: every scheme, if not in every pair of the two.
SEES = {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}
LOOKS = (
    (DESKTOP, False, ALL),
    (PHONE, True, ALL),
    (DESKTOP, True, SEES),
    (PHONE, False, SEES),
)

#: What a reader does to a page before it is judged.
OPENED = "document.querySelectorAll('details').forEach(one => { one.open = true; })"


@dataclass(frozen=True)
class Shown:
    """A page, what is asked of its address, and what was done there."""

    page: Path
    fragment: str = ""
    done: str = OPENED


def violations(driver: Chrome, rules: Mapping[str, object]) -> list[str]:
    """What axe-core says is wrong with the page as it is shown."""
    script = """const [rules, done] = arguments;
        axe.run(document, {resultTypes: ['violations'], runOnly: rules}).then(
          told => done(told.violations.flatMap(v => v.nodes.map(n => `${v.id}: ${n.html.slice(0, 200)} ${n.failureSummary}`))),
          error => done([String(error)]))"""
    found: list[str] = driver.execute_async_script(script, rules)
    return found


def judged(driver: Chrome, shown: Shown) -> Iterator[tuple[str, int, str, str]]:
    driver.get("about:blank")  # else another part of the same page isn't gone to
    driver.get(shown.page.as_uri() + shown.fragment)
    driver.execute_script(shown.done)
    driver.execute_script(AXE)
    for size, dark, rules in LOOKS:
        look(driver, size, dark)
        for violation in violations(driver, rules):
            yield str(shown.page), size[0], "dark" if dark else "light", violation


@pytest.fixture(scope="module")
def driver() -> Iterator[Chrome]:
    with browser() as driver:
        driver.execute_cdp_cmd("Page.setBypassCSP", {"enabled": True})
        driver.set_script_timeout(120)
        yield driver


@pytest.fixture(scope="module")
def sheets(public: Path, tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """The pages that stand alone: of a cutover, and of a walk."""
    folder = tmp_path_factory.mktemp("sheets")
    cutover, walk = folder / "cutover.html", folder / "walk.html"
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(public.parent)
        for words in (
            ["cutover", "HEAD~30", "HEAD", "ostrel-vane", "--output", str(cutover)],
            ["walk", "hollow-lane", "--html", str(walk)],
        ):
            result = CliRunner().invoke(main, words)
            assert result.exit_code == 0, result.output
    return [cutover, walk]


def test_no_kind_of_the_engineers_pages_breaks_a_rule(
    public: Path, sheets: list[Path], driver: Chrome
) -> None:
    """The front page over all sites too, and the sheets that stand alone; all details opened."""
    kinds = one_of_each_kind(public)
    assert len(kinds) > 15 and "all sites" in kinds
    pages = [*kinds.values(), *sheets]
    assert [line for page in pages for line in judged(driver, Shown(page))] == []


def test_no_kind_of_the_clients_pages_breaks_a_rule(told: Path, driver: Chrome) -> None:
    """The terms that lead to what they mean stand on these."""
    kinds = one_of_each_kind(told)
    assert len(kinds) > 15
    assert [line for page in kinds.values() for line in judged(driver, Shown(page))] == []


def test_no_kind_of_the_documentations_pages_breaks_a_rule(
    documentation: Path, driver: Chrome
) -> None:
    kinds = ("index", "tutorial", "guides/cutover", "reference/checks", "explanation/edition")
    pages = [documentation / f"{kind}.html" for kind in kinds]
    assert [line for page in pages for line in judged(driver, Shown(page))] == []


def test_a_lit_path_and_what_search_found_break_no_rule(public: Path, driver: Chrome) -> None:
    site = public / "hollow-lane"
    enclosure = min((site / "enclosures").glob("*.html"))
    name = enclosure.read_text("utf-8").partition('<li id="path-')[2].partition('"')[0]
    lit = Shown(enclosure, f"#path-{name}", "")
    found = []
    for size, dark in ((DESKTOP, False), (PHONE, True)):
        look(driver, size, dark)
        found += [*judged(driver, lit)]
        assert driver.execute_script(
            "return document.querySelectorAll('.path-lit, .on-path').length"
        )
    look(driver, DESKTOP)
    driver.get((site / "index.html").as_uri())
    driver.execute_script("document.querySelector('label[for=__search]').click()")
    driver.find_element("css selector", "input.md-search__input").send_keys("panel")
    WebDriverWait(driver, 20).until(
        lambda d: d.find_elements("css selector", ".md-search-result__item article")
    )
    driver.execute_script(AXE)
    for size, dark, rules in LOOKS:
        look(driver, size, dark)
        found += [("search", size[0], str(dark), line) for line in violations(driver, rules)]
    assert found == []


def test_a_broken_rule_is_seen(tmp_path: Path, driver: Chrome) -> None:
    """At each size and in each scheme: what is told by colour in one only, too."""
    page = tmp_path / "broken.html"
    page.write_text(
        "<!doctype html><html lang=en><title>x</title>"
        "<meta http-equiv=Content-Security-Policy content=\"script-src 'none'\">"
        "<style>@media (prefers-color-scheme: dark) { p { color: #bbb } }"
        "@media (max-width: 500px) { b { color: #ccc } }"
        "button { font-size: 8px; padding: 0; border: 0 }</style>"
        "<main><h1 style='color:#ccc;background:#fff'>Pale</h1><img src=x>"
        "<p>Pale in the dark</p><b>Pale on a phone</b>"
        "<button>a</button><button>b</button><details><summary>x</summary><img src=y></details>"
        "</main></html>"
    )
    lines = [*judged(driver, Shown(page))]
    seen = {(width, scheme, line.partition(":")[0]) for _, width, scheme, line in lines}
    for width, scheme in ((1280, "light"), (390, "dark")):
        assert {
            (width, scheme, rule) for rule in ("color-contrast", "image-alt", "target-size")
        } <= seen
    assert {(1280, "dark", "color-contrast"), (390, "light", "color-contrast")} <= seen
    pale = {words: {(w, s) for _, w, s, line in lines if words in line}
            for words in ("Pale in the dark", "Pale on a phone", "src=\"y\"")}  # fmt: skip
    assert pale["Pale in the dark"] == {(1280, "dark"), (390, "dark")}
    assert pale["Pale on a phone"] == {(390, "light"), (390, "dark")}
    assert pale['src="y"'], "opened"
