"""Every kind of page, of both editions and of the documentation, held against all rules of axe-core
(tests/axe/) that are of WCAG 2.2 at levels A and AA or of its own best practice."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

import pytest
from click.testing import CliRunner
from selenium.webdriver import Chrome
from selenium.webdriver.support.ui import WebDriverWait

from asbuilt.cli import main
from tests.access import ALL, AXE, BARE, SEES, Look, Shown, judged, prepare, violations
from tests.chromium import DESKTOP, PHONE, browser, look, needs_browser, one_of_each_kind

pytestmark = [pytest.mark.browser, needs_browser]

#: What is asked of a page in the tests: all rules once, colours in the other scheme too; of the
#: next page the other way round.
ONE: tuple[Look, ...] = ((DESKTOP, False, ALL), (PHONE, True, SEES))
OTHER: tuple[Look, ...] = ((PHONE, True, ALL), (DESKTOP, False, SEES))
#: Of the client's pages of a kind that engineers have too, which wear the same, all but colours.
SAME: tuple[Look, ...] = ((PHONE, True, BARE),)


def wrong_on(
    driver: Chrome, pages: Iterable[Path], first: Sequence[Look], second: Sequence[Look]
) -> list[tuple[str, int, str, str]]:
    looks = itertools.cycle((first, second))
    return [line for page in pages for line in judged(driver, Shown(page), next(looks))]


@pytest.fixture(scope="module")
def driver() -> Iterator[Chrome]:
    with browser() as driver:
        prepare(driver)
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
    assert wrong_on(driver, pages, ONE, OTHER) == []


def test_no_kind_of_the_clients_pages_breaks_a_rule(
    told: Path, public: Path, driver: Chrome
) -> None:
    """On the first page the terms are looked at that lead to what they mean."""
    kinds = one_of_each_kind(told)
    assert len(kinds) > 15
    own = kinds.keys() - one_of_each_kind(public).keys() | {"index.html"}
    assert wrong_on(driver, [kinds[kind] for kind in sorted(own)], ONE, OTHER) == []
    same = [page for kind, page in kinds.items() if kind not in own]
    assert wrong_on(driver, same, SAME, SAME) == []


def test_no_kind_of_the_documentations_pages_breaks_a_rule(
    documentation: Path, driver: Chrome
) -> None:
    kinds = ("index", "tutorial", "guides/cutover", "reference/checks", "explanation/edition")
    pages = [documentation / f"{kind}.html" for kind in kinds]
    assert wrong_on(driver, pages, ONE, OTHER) == []


def test_a_lit_path_and_what_search_found_break_no_rule(public: Path, driver: Chrome) -> None:
    site = public / "hollow-lane"
    enclosure = min((site / "enclosures").glob("*.html"))
    name = enclosure.read_text("utf-8").partition('<li id="path-')[2].partition('"')[0]
    lit = Shown(enclosure, f"#path-{name}", "")
    found = []
    for looks in (ONE, OTHER):
        look(driver, looks[0][0], looks[0][1])
        found += [*judged(driver, lit, looks[:1])]
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
    for size, dark, rules in (ONE[0], OTHER[0]):
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
    for width, scheme in itertools.product((1280, 390), ("light", "dark")):
        assert {
            (width, scheme, rule) for rule in ("color-contrast", "image-alt", "target-size")
        } <= seen
    pale = {words: {(w, s) for _, w, s, line in lines if words in line}
            for words in ("Pale in the dark", "Pale on a phone", "src=\"y\"")}  # fmt: skip
    assert pale["Pale in the dark"] == {(1280, "dark"), (390, "dark")}
    assert pale["Pale on a phone"] == {(390, "light"), (390, "dark")}
    assert pale['src="y"'], "opened"
