"""python -m tests.access FOLDER [BYTES]: every page below a built folder (of at most so many bytes)
held against all rules of axe-core (tests/axe/) that are of WCAG 2.2 at levels A and AA or of its own
best practice, on a desk and on a phone, in the light and in the dark. It takes seconds a page, so the
tests ask less of each.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeAlias

from selenium.webdriver import Chrome

from tests.chromium import DESKTOP, LARGE, PHONE, browser, look

#: Options of axe.run: which rules.
Rules: TypeAlias = Mapping[str, object]
AXE = (Path(__file__).parent / "axe" / "axe.min.js").read_text(encoding="utf-8")
_COLOURS = ("color-contrast", "link-in-text-block")
_TAGS = ("wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22a", "wcag22aa", "best-practice")
ALL: Rules = {"runOnly": {"type": "tag", "values": _TAGS}}
#: What may be another in the other scheme; it takes most of the time.
SEES: Rules = {"runOnly": {"type": "rule", "values": _COLOURS}}
#: All but these.
BARE: Rules = {**ALL, "rules": {name: {"enabled": False} for name in _COLOURS}}
#: A size, whether in the dark, and what is asked then.
Look: TypeAlias = tuple[tuple[int, int], bool, Rules]
WHOLE: Sequence[Look] = tuple(
    (size, dark, ALL) for size in (DESKTOP, PHONE) for dark in (False, True)
)

#: What a reader does to a page before it is judged.
OPENED = "document.querySelectorAll('details').forEach(one => { one.open = true; })"


@dataclass(frozen=True)
class Shown:
    """A page, what is asked of its address, and what was done there."""

    page: Path
    fragment: str = ""
    done: str = OPENED


def prepare(driver: Chrome) -> None:
    driver.execute_cdp_cmd("Page.setBypassCSP", {"enabled": True})
    driver.set_script_timeout(120)


def violations(driver: Chrome, rules: Rules) -> list[str]:
    """What axe-core says is wrong with the page as it is shown."""
    script = """const [rules, done] = arguments;
        axe.run(document, {resultTypes: ['violations'], ...rules}).then(
          told => done(told.violations.flatMap(v => v.nodes.map(n => `${v.id}: ${n.html.slice(0, 200)} ${n.failureSummary}`))),
          error => done([String(error)]))"""
    found: list[str] = driver.execute_async_script(script, rules)
    return found


def judged(
    driver: Chrome, shown: Shown, looks: Sequence[Look] = WHOLE
) -> Iterator[tuple[str, int, str, str]]:
    """Page, width, scheme and what is wrong."""
    driver.get("about:blank")  # else another part of the same page isn't gone to
    driver.get(shown.page.as_uri() + shown.fragment)
    driver.execute_script(shown.done)
    driver.execute_script(AXE)
    for size, dark, rules in looks:
        look(driver, size, dark)
        for violation in violations(driver, rules):
            yield str(shown.page), size[0], "dark" if dark else "light", violation


def main(arguments: Sequence[str]) -> int:
    folder, most = Path(arguments[0]), int(arguments[1]) if len(arguments) > 1 else LARGE
    pages = sorted(page for page in folder.rglob("*.html") if page.stat().st_size <= most)
    wrong = 0
    with browser() as driver:
        prepare(driver)
        for page in pages:
            for line in judged(driver, Shown(page)):
                wrong += 1
                print(*line, flush=True)
    print(f"{len(pages)} pages: {wrong} violations")
    return 1 if wrong or not pages else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
