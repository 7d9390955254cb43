"""Test results held against the records: which of them speak for a link as it is now, and where
they and the records say different things.

A result counts while the link hasn't been put in or terminated anew since, and if the instrument
was in calibration on the day, as far as that is recorded. Of those that count, the last speaks for
the link. What doesn't count stays on record.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum

from asbuilt.model.site import Site, natural
from asbuilt.records.links import Backbone, Outlet
from asbuilt.records.work import LinkTest
from asbuilt.trade.certification import (
    CALIBRATION_YEARS,
    CATEGORIES,
    LENGTH_TOLERANCE,
    MIN_LENGTH_TOLERANCE,
    category_of_limit,
    last_calibrated_day,
    lengths_agree,
)


class LinkTestStatus(StrEnum):
    """What a link's results say of it today."""

    PASS = "pass"  # noqa: S105 - a result, no password
    MARGINAL = "marginal"
    FAIL = "fail"
    NO_VALID_RESULT = "no valid result"
    NEVER_TESTED = "never tested"


@dataclass(frozen=True, slots=True)
class ResultRemark:
    """Why a result doesn't count, or where it and the records differ. `field` is the result's."""

    code: str
    field: str
    message: str
    hint: str


@dataclass(frozen=True, slots=True)
class CheckedResult:
    """One result: whether it counts, whether it is the one that speaks for the link today, and
    what is to be said of it."""

    test: LinkTest
    is_valid: bool
    is_current: bool
    remarks: tuple[ResultRemark, ...]


@dataclass(frozen=True, slots=True)
class CheckedLink:
    """A link and its results, oldest first."""

    key: str
    status: LinkTestStatus
    tests: tuple[CheckedResult, ...]

    @property
    def passes(self) -> bool:
        """Whether the last result that counts is no fail."""
        return self.status in (LinkTestStatus.PASS, LinkTestStatus.MARGINAL)


def check_link_results(site: Site, key: str) -> CheckedLink:
    """An outlet or backbone with its results held against it."""
    link = site.outlets.get(key) or site.backbones[key]
    tests = site.tests_of.get(key, ())
    stale = {test.key: _invalid_reason(link, test) for test in tests}
    counting = [test for test in tests if stale[test.key] is None]
    last = counting[-1] if counting else None
    held = tuple(
        CheckedResult(
            test,
            is_valid=stale[test.key] is None,
            is_current=test is last,
            remarks=tuple(_remarks_on(link, test, stale[test.key])),
        )
        for test in tests
    )
    if last is not None:
        return CheckedLink(key, LinkTestStatus(last.result), held)
    return CheckedLink(
        key, LinkTestStatus.NO_VALID_RESULT if tests else LinkTestStatus.NEVER_TESTED, held
    )


def links_without_valid_test(
    site: Site, links: Iterable[Outlet | Backbone] | None = None
) -> Mapping[LinkTestStatus, tuple[str, ...]]:
    """The links in service that no result vouches for, by why; without those withheld from a
    reader, and those that are dead or abandoned."""
    if links is None:
        links = (*site.outlets.values(), *site.backbones.values())
    found: dict[LinkTestStatus, list[str]] = {}
    for link in links:
        if link.state in ("dead", "abandoned") or getattr(link, "serves", None) == "device":
            continue
        held = check_link_results(site, link.key)
        if not held.passes:
            found.setdefault(held.status, []).append(link.key)
    return {
        standing: tuple(sorted(found[standing], key=natural))
        for standing in (
            LinkTestStatus.FAIL,
            LinkTestStatus.NO_VALID_RESULT,
            LinkTestStatus.NEVER_TESTED,
        )
        if standing in found
    }


def _invalid_reason(link: Outlet | Backbone, test: LinkTest) -> ResultRemark | None:
    """Why a result doesn't speak for the link as it is now."""
    days: list[tuple[dt.date, str, str]] = []
    if link.installed is not None:
        days.append((link.installed, "put in", "installed"))
    if isinstance(link, Outlet) and link.terminated is not None:
        days.append((link.terminated, "terminated", "terminated"))
    last = max(days, default=None)
    if last is not None and test.date < last[0]:
        message = f"{link.key} was tested on {test.date} and {last[1]} on {last[0]}, after it"
        return ResultRemark(
            "test-outdated", "date", message, "this result is no longer valid; test again"
        )
    if test.calibrated is not None and test.date > last_calibrated_day(test.calibrated):
        message = f"{link.key} was tested on {test.date} with an instrument last calibrated on "
        message += f"{test.calibrated}"
        years = "a year" if CALIBRATION_YEARS == 1 else f"{CALIBRATION_YEARS} years"
        hint = f"a calibration is taken to hold {years} (common practice): test again"
        return ResultRemark("test-calibration", "calibrated", message, hint)
    return None


def _remarks_on(
    link: Outlet | Backbone, test: LinkTest, stale: ResultRemark | None
) -> Iterable[ResultRemark]:
    if stale is not None:
        yield stale
    if test.result == "fail":
        message = f"{link.key} failed its test on {test.date}"
        yield ResultRemark("test-failed", "result", message, "correct it and test again")
    elif test.result == "marginal":
        message = f"{link.key} passed its test on {test.date} within the instrument's accuracy only"
        yield ResultRemark("test-marginal", "result", message, "look at both ends, or live with it")
    if test.length is not None and link.length is not None:
        tested, recorded = test.length.to("m"), link.length.to("m")
        if not lengths_agree(tested, recorded):
            message = f"{link.key} is recorded with {link.length} and was tested with {test.length}"
            hint = "correct the one that is wrong; "
            hint += (
                f"{LENGTH_TOLERANCE:.0%} or {MIN_LENGTH_TOLERANCE:g} m between them are let pass"
            )
            yield ResultRemark("test-length", "length", message, hint)
    if test.limit is not None and link.cable not in (None, "unknown"):
        assert link.cable is not None
        limit, cable = category_of_limit(test.limit), link.cable.removeprefix("cat")
        if limit is not None and limit != cable:
            yield _limit_mismatch(link, test, limit, cable)


def _limit_mismatch(
    link: Outlet | Backbone, test: LinkTest, limit: str, cable: str
) -> ResultRemark:
    message = f"{link.key} is recorded as {link.cable} and was held against “{test.limit}”"
    hint = "correct the kind of cable, or test it against its own limit"
    if limit in CATEGORIES and cable in CATEGORIES:
        less = CATEGORIES.index(limit) < CATEGORIES.index(cable)
        hint = f"{'less' if less else 'more'} than its cable is made for: {hint}"
    return ResultRemark("test-limit", "limit", message, hint)
