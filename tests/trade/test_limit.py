"""Words for how a figure stands to a published one: they compare, they don't judge."""

from asbuilt.trade import bending, bundles, delay, fill, resistance
from asbuilt.trade.limit import Limit

LINK = Limit("the permanent link", 90, "m", "ANSI/TIA-568.2-D")
POINT = Limit("a consolidation point’s distance", 15, "m", "ANSI/TIA-568.1-D", is_minimum=True)


def test_within_and_over() -> None:
    # 85 m of run with 3 m and 0.3 m of slack keep, 88 m with the same don't (arithmetic)
    assert LINK.comparison_text(85 + 3 + 0.3) == (
        "88.3 m: within the 90 m of ANSI/TIA-568.2-D for the permanent link"
    )
    assert LINK.comparison_text(88 + 3 + 0.3) == (
        "91.3 m: 1.3 m over the 90 m of ANSI/TIA-568.2-D for the permanent link"
    )


def test_at_least() -> None:
    assert POINT.is_met_by(15)
    assert not POINT.is_met_by(14)
    assert POINT.comparison_text(14).startswith("14 m: 1 m under the 15 m of ")


def test_a_sum_of_decimals_is_not_over_by_its_rounding() -> None:
    assert LINK.is_met_by(90.0)
    assert LINK.is_met_by(30.1 + 29.9 + 30.0000000000004)
    assert not LINK.is_met_by(90.1)


def test_nothing_passes_judgement() -> None:
    limits = [
        value
        for module in (bending, bundles, delay, fill, resistance)
        for value in vars(module).values()
        if isinstance(value, Limit)
    ]
    assert len(limits) >= 10
    for limit in limits:
        words = limit.comparison_text(limit.value / 2) + limit.comparison_text(limit.value * 2)
        assert limit.source in words
        assert not any(word in words.casefold() for word in ("complian", "safe", "pass", "legal"))
