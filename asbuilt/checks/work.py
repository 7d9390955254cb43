"""Findings, jobs and tests: days in their order, and states that their facts bear out.

Nothing is cleared before it was found, done before it was asked for, verified before it was done;
no instrument is calibrated after the test it vouches for. A job that is called done says when.
And a job that moved a phone says whether the location its emergency calls give was updated.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from itertools import pairwise

from asbuilt.model.paths import CablingGraph
from asbuilt.model.site import Site
from asbuilt.problem import Problem
from asbuilt.records.kind import Record
from asbuilt.records.work import JOB_STATES, Finding, Job


def check_work(site: Site, net: CablingGraph) -> Iterator[Problem]:
    for finding in site.findings.values():
        found, cleared = finding.found_on, finding.cleared_on
        yield from _in_order(finding, ("found on", found), ("cleared on", cleared))
        yield from _cleared(finding)
    for job in site.jobs.values():
        asked, done = ("asked on", job.asked_on), ("done on", job.done_on)
        yield from _in_order(job, asked, ("wanted by", job.wanted_by))
        if job.window:
            yield from _in_order(job, asked, ("window", job.window.end.date()))
        yield from _in_order(job, asked, done, ("verified on", job.verified_on))
        yield from _state(job)
        yield from _emergency_location(site, job)
    for test in site.tests.values():
        yield from _in_order(test, ("calibrated", test.calibrated), ("date", test.date))


def _in_order(record: Record, *days: tuple[str, dt.date | None]) -> Iterator[Problem]:
    known = [(name, day) for name, day in days if day is not None]
    for (name, day), (later_name, later) in pairwise(known):
        if later < day:
            message = f"“{later_name}” ({later}) lies before “{name}” ({day})"
            yield record.remark(later_name, "days-order", message, "correct one of the two days")


def _cleared(finding: Finding) -> Iterator[Problem]:
    if "cleared on" in finding.raw.fields:
        return
    for name, value in (("cleared by", finding.cleared_by), ("evidence", finding.evidence)):
        if value:
            message = f"finding {finding.key} has “{name}”, but not when it was cleared"
            yield finding.remark(name, "finding-state", message, "add “cleared on”")
            return


def _state(job: Job) -> Iterator[Problem]:
    """A job's state against the facts it needs, and the facts against a state too early."""
    written = job.raw.fields.keys()
    reached = JOB_STATES.index(job.state)
    needs = {
        "planned": "window",
        "done": "done on",
        "verified": "verified on",
        "refused": "refused because",
    }
    needed = needs.get(job.state)
    if needed and needed not in written:
        message = f"job {job.key} is {job.state}, but has no “{needed}”"
        yield job.remark("state", "job-state", message, f"add “{needed}”")
    elif job.state == "verified" and "done on" not in written:
        message = f"job {job.key} is verified, but has no “done on”"
        yield job.remark("state", "job-state", message, "add “done on”")
    for state, field in (("done", "done on"), ("verified", "verified on")):
        early = reached < JOB_STATES.index(state) or job.state == "refused"
        if early and field in written:
            message = f"job {job.key} has “{field}”, but is only {job.state}"
            if job.state == "refused":
                message = f"job {job.key} has “{field}”, but is refused"
            yield job.remark("state", "job-state", message, f"write “state: {state}”")
            return


def _emergency_location(site: Site, job: Job) -> Iterator[Problem]:
    if job.state not in ("done", "verified") or job.kind not in ("move", "change"):
        return
    moved = [site.outlets[key] for key in job.outlets if key in site.outlets]
    if not any(outlet.serves == "phone" for outlet in moved):
        return
    if "emergency location" not in job.raw.fields:
        message = f"job {job.key} moved a phone, but doesn't say whether the location its "
        message += "emergency calls give was updated"
        hint = "add “emergency location: updated”, “not updated” or “not applicable”"
        yield job.remark("outlets", "emergency-location", message, hint)
    elif job.emergency_location == "not updated":
        message = f"job {job.key} moved a phone, whose emergency calls still give the old place"
        hint = "have it updated by whoever runs the telephone system"
        yield job.remark("emergency location", "emergency-location", message, hint)
