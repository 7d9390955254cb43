"""Test results: what they say against what is recorded.

Of each link the last result that counts is looked at: a fail; a pass within the instrument's
accuracy only; a length other than the recorded one, beyond what a tester can tell; a limit of
another category than the cable's. Where none counts any more, the last is told with the reason: the
link was put in or terminated anew since, or the instrument was out of calibration. Slips that a
whole file shares are told once. The figures and their sources stand in `trade.certifying`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from asbuilt.facts.test_results import CheckedResult, ResultRemark, check_link_results
from asbuilt.model.paths import CablingGraph
from asbuilt.model.site import Site
from asbuilt.problem import Problem, some_of
from asbuilt.records.work import LinkTest

MIN_GROUP_SIZE = 6  # so many alike in one file have one reason
_GROUP_MESSAGES = {
    "test-outdated": "results are older than their links' last termination: those of",
    "test-calibration": "results were taken with an instrument out of calibration: those of",
    "test-failed": "links failed and weren't tested again:",
    "test-marginal": "links passed within the instrument's accuracy only:",
    "test-length": "tested lengths aren't the recorded ones: those of",
    "test-limit": "results were held against the limit of another kind of cable: those of",
}


def check_tests(site: Site, net: CablingGraph) -> Iterator[Problem]:
    alike: dict[tuple[str, str], list[tuple[LinkTest, ResultRemark]]] = defaultdict(list)
    for key in site.tests_of:
        if key not in site.outlets and key not in site.backbones:
            continue
        for held in _relevant_results(check_link_results(site, key).tests):
            for doubt in held.remarks:
                alike[doubt.code, held.test.raw.path].append((held.test, doubt))
    for (code, _), found in alike.items():
        if len(found) < MIN_GROUP_SIZE:
            for test, doubt in found:
                yield test.remark(doubt.field, code, doubt.message, doubt.hint)
            continue
        first, doubt = found[0]
        links = some_of([test.link for test, _ in found])
        message = f"{len(found)} {_GROUP_MESSAGES[code]} {links}"
        yield first.remark(doubt.field, code, message, doubt.hint)


def _relevant_results(tests: tuple[CheckedResult, ...]) -> tuple[CheckedResult, ...]:
    """The result that speaks for the link; without one, the last there is."""
    speaking = tuple(held for held in tests if held.is_current)
    return speaking or tests[-1:]
