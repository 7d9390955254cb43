"""Sites for tests of what fits where, from the texts of their files."""

from __future__ import annotations

from asbuilt.model.site import Site, site_of
from asbuilt.records.reading import read_folder


def site_from(**files: str) -> Site:
    """A site of these files: `outlets="…"` is outlets.yml, `e_1A="…"` enclosures/1A.yml. They
    must read without a problem."""
    texts = {"site.yml": "name: Harbour Lane\n"}
    for name, text in files.items():
        path = f"enclosures/{name[2:]}.yml" if name.startswith("e_") else f"{name}.yml"
        texts[path] = text
    records = read_folder("harbour", {path: text.encode() for path, text in texts.items()})
    assert records.problems == (), [str(problem) for problem in records.problems]
    site = site_of(records)
    assert site is not None
    return site


def jacks(panel: str, first: int, last: int, **facts: str) -> str:
    """Lines of outlets.yml: one jack for each port of a panel (`1A/A`) from first to last."""
    rest = "".join(f", {name.replace('_', ' ')}: {value}" for name, value in facts.items())
    enclosure, _, name = panel.partition("/")
    return "".join(
        f"{enclosure}-{name}{n:02}: {{port: {panel}/{n:02}, cable: cat6{rest}}}\n"
        for n in range(first, last + 1)
    )


def cords(panel: str, switch: str, first: int, last: int, at: int | None = None) -> str:
    """Lines of `patching`: panel ports from first to last, to switch ports from `at` on."""
    start = first if at is None else at
    return "".join(
        f"  {panel}/{n:02}: {{to: {switch}/{start + n - first:02}, cord: 0.3 m}}\n"
        for n in range(first, last + 1)
    )
