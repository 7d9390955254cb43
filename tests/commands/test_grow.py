"""“Could N more drops go in?” asked on the command line and read on the page."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from asbuilt.cli import main
from asbuilt.drawings.trend import draw_trend
from asbuilt.growth.answers import growth_answer
from tests.books import PRACTICE, book_of, pages_of


@pytest.fixture
def ask(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    for path, text in PRACTICE.items():
        file = tmp_path / "sites" / "harbour" / path
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text)
    (tmp_path / "sites" / "bare").mkdir()
    (tmp_path / "sites" / "bare" / "site.yml").write_text("name: Just begun\n")
    monkeypatch.chdir(tmp_path)

    def run(*args: str) -> Result:
        return CliRunner().invoke(main, ["grow", *args])

    return run


def test_ports_that_are_free_suffice(ask: Any) -> None:
    """17 free panel ports, 21 free access ports: a dozen goes in as things stand."""
    said = ask("harbour", "--drops", "12").stdout
    assert said.startswith("12 more drops of cat6: without an outage\n")
    assert "live links interrupted: 0" in said
    assert "limit: panel ports" in said


def test_the_answer_for_machines_is_the_answer(ask: Any) -> None:
    told = json.loads(ask("harbour", "--drops", "48", "--format", "json").stdout)
    book = book_of()
    growth = growth_answer(book.site, book.net, 48)
    assert told["verdict"] == growth.verdict
    assert told["tiers"] == [{"tier": t.verdict, "takes": t.max_drops} for t in growth.tiers]
    assert growth.plan is not None
    assert [p["key"] for p in told["placements"]] == [p.key for p in growth.plan.placements]


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (("harbour", "--drops", "0"), "0 drops is no number of drops to add"),
        (("harbour", "--drops", "-1"), "-1 drops is no number of drops to add"),
        (("harbour", "--drops", "12", "--at", "9Z"), "9Z"),
        (("quay", "--drops", "12"), "there is no site “quay”"),
    ],
)
def test_a_question_without_an_answer_says_why(ask: Any, args: tuple[str, ...], said: str) -> None:
    result = ask(*args)
    assert result.exit_code == 1
    assert said in result.stderr
    assert len(result.stderr.strip().splitlines()) == 1


def test_ten_thousand_drops_are_answered_too(ask: Any) -> None:
    result = ask("harbour", "--drops", "10000")
    assert result.exit_code == 0
    assert "only by a new" in result.stdout
    assert "what is missing:" in result.stdout


def test_the_page_gives_the_same_verdicts() -> None:
    book = book_of()
    page = pages_of(book)["growth.html"].html
    for drops in (12, 24, 48, 96):
        assert f"{drops} more drops: {growth_answer(book.site, book.net, drops).verdict}" in page
    for word in ("compliant", "is safe"):
        assert word not in page


def test_a_site_without_an_enclosure_needs_one(ask: Any) -> None:
    result = ask("bare", "--drops", "12")
    assert result.exit_code == 0
    assert result.stdout.startswith("12 more drops of cat6: only by a new enclosure\n")
    page = pages_of(book_of({"site.yml": "name: Just begun\n"}))["growth.html"].html
    assert "12 more drops: only by a new enclosure" in page


def test_the_lines_of_a_trend_stand_where_the_figures_say() -> None:
    """Half a year of one: the step is at half the width; half the ports: at half the height."""
    import datetime as dt
    import re

    day = dt.date(2024, 1, 1)
    svg = draw_trend(
        [(day, 0, 48), (day + dt.timedelta(183), 24, 48), (day + dt.timedelta(366), 48, 48)],
        "Panel ports",
    )
    path = re.search(r'class="trend-used" d="([^"]+)"', svg)
    assert path
    x0, y0, x1, y1, x2, y2 = (float(n) for n in re.findall(r"[0-9.]+", path[1]))
    assert x1 - x0 == pytest.approx((x2 - x0) / 2)
    assert y0 - y1 == pytest.approx((y0 - y2) / 2)
    assert "0 of 48 used on 2024-01-01, 48 of 48 on 2025-01-01" in svg
