"""Every kind of page, held against the rules of axe-core (tests/axe/), which are of WCAG 2.2."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner
from selenium.webdriver import Chrome

from asbuilt.cli import main
from tests.browser import DESKTOP, PHONE, browser, look, needs_browser, one_of_each_kind

pytestmark = [pytest.mark.browser, needs_browser]

AXE = (Path(__file__).parent / "axe" / "axe.min.js").read_text(encoding="utf-8")
#: In the dark only the colours are others: there those rules are asked that see colours.
SEES_COLOUR = ["color-contrast", "link-in-text-block"]


def violations(driver: Chrome, rules: list[str] | None = None) -> list[str]:
    """What axe-core says is wrong with the page as it is shown."""
    script = """const [rules, done] = arguments;
        const options = {resultTypes: ['violations']};
        if (rules) options.runOnly = {type: 'rule', values: rules};
        axe.run(document, options).then(
          told => done(told.violations.flatMap(v => v.nodes.map(n => `${v.id}: ${n.html.slice(0, 200)} ${n.failureSummary}`))),
          error => done([String(error)]))"""
    found: list[str] = driver.execute_async_script(script, rules)
    return found


def judged(driver: Chrome, page: Path) -> Iterable[tuple[Any, ...]]:
    driver.get(page.as_uri())
    driver.execute_script(AXE)
    for size in (DESKTOP, PHONE):
        for dark in (False, True):
            look(driver, size, dark)
            for violation in violations(driver, SEES_COLOUR if dark else None):
                yield page.name, size[0], "dark" if dark else "light", violation


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


def test_no_kind_of_page_breaks_a_rule(public: Path, sheets: list[Path]) -> None:
    """Light and dark, at a desk and on a phone."""
    kinds = one_of_each_kind(public)
    assert len(kinds) > 15
    with browser() as driver:
        driver.execute_cdp_cmd("Page.setBypassCSP", {"enabled": True})
        driver.set_script_timeout(120)
        found = [line for page in [*kinds.values(), *sheets] for line in judged(driver, page)]
    assert found == []


def test_a_broken_rule_is_seen(tmp_path: Path) -> None:
    page = tmp_path / "broken.html"
    page.write_text(
        "<!doctype html><html lang=en><title>x</title>"
        "<meta http-equiv=Content-Security-Policy content=\"script-src 'none'\">"
        "<main><h1 style='color:#ccc;background:#fff'>Pale</h1><img src=x></main></html>"
    )
    with browser() as driver:
        driver.execute_cdp_cmd("Page.setBypassCSP", {"enabled": True})
        rules = {line[3].partition(":")[0] for line in judged(driver, page)}
    assert rules == {"color-contrast", "image-alt"}
