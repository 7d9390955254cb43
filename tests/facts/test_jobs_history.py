"""Jobs held against history: what was done and never recorded, recorded and no job, done at
another time than planned."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from pathlib import Path

import pytest

from asbuilt.changes import History
from asbuilt.facts.job_history import MAX_REMARKS, compare_jobs_with_history
from asbuilt.history.at_revision import files_at
from asbuilt.history.read import read_history
from asbuilt.io import git_write
from asbuilt.model.site import site_of
from asbuilt.problem import Level, Problem
from asbuilt.records.reading import read_folder

BEGUN = dt.datetime(2024, 3, 1, 9, tzinfo=dt.timezone(dt.timedelta(hours=1)))
OUTLETS = "A1: {room: '1'}\nA2: {room: '1'}\nA3: {room: '2'}\n"
SITE = {
    "site.yml": "name: Harbour Lane Practice\nrooms:\n  '1': {}\n  '2': {}\n",
    "outlets.yml": OUTLETS,
    "enclosures/1A.yml": "height: 6 U\nfront:\n  6: {panel: A, ports: 24}\n",
    "jobs/J0.yml": "title: Survey\nkind: survey\nstate: done\n",
}

Step = tuple[int, str, Mapping[str, str]]


def told(tmp_path: Path, *steps: Step) -> tuple[History, list[Problem]]:
    """The remarks on a site whose records were begun with SITE, and then these commits: days
    after the beginning, message, files."""
    commits = [
        git_write.NewCommit(
            f"{message}\n", "Mara Quist", "mara.quist@example.com", BEGUN + dt.timedelta(days=days),
            {f"sites/a/{path}": text.encode() for path, text in files.items()},
        )
        for days, message, files in ((0, "Survey", SITE), *steps)
    ]  # fmt: skip
    top = tmp_path / "records"
    git_write.import_commits(top, commits)
    site = site_of(read_folder("a", files_at(top, "sites/a", "HEAD"), "sites/a"))
    assert site is not None
    history = read_history(top, "sites/a")
    problems = compare_jobs_with_history(site, history.entries)
    assert all(problem.level is Level.REMARK for problem in problems)
    return history, problems


def codes(problems: list[Problem]) -> list[str]:
    return [problem.code for problem in problems]


MOVED = OUTLETS.replace("A1: {room: '1'}", "A1: {room: '2'}")
JOB = "title: Move a desk\nkind: move\n"


def test_nothing_to_remark(tmp_path: Path) -> None:
    _, problems = told(
        tmp_path,
        (1, "A job", {"jobs/J1.yml": JOB}),
        (5, "Moved\n\nJob: J1", {"outlets.yml": MOVED}),
        (6, "Done", {"jobs/J1.yml": JOB + "state: done\ndone on: 2024-03-06\n"}),
    )
    assert problems == []


def test_what_stood_there_when_the_records_began_is_nobodys_job(tmp_path: Path) -> None:
    assert told(tmp_path)[1] == []


@pytest.mark.parametrize("state", ["done", "verified"])
def test_done_and_never_recorded(tmp_path: Path, state: str) -> None:
    _, (problem,) = told(tmp_path, (5, "Done", {"jobs/J1.yml": JOB + f"state: {state}\n"}))
    assert problem.code == "job-never-recorded"
    assert problem.message == f"job J1 is {state}, and no change of the records belongs to it"
    assert (problem.place.path, problem.place.line) == ("sites/a/jobs/J1.yml", 3)


@pytest.mark.parametrize("state", ["asked", "authorised", "planned", "refused"])
def test_what_is_not_done_needs_no_record(tmp_path: Path, state: str) -> None:
    assert told(tmp_path, (5, "S", {"jobs/J1.yml": JOB + f"state: {state}\n"}))[1] == []


def test_done_before_the_records_began(tmp_path: Path) -> None:
    text = JOB + "state: done\ndone on: 2023-11-02\n"
    assert told(tmp_path, (5, "Done", {"jobs/J1.yml": text}))[1] == []


def test_a_history_cut_short_accuses_nobody(tmp_path: Path) -> None:
    history, problems = told(tmp_path, (5, "Done", {"jobs/J1.yml": JOB + "state: done\n"}))
    assert codes(problems) == ["job-never-recorded"]
    files = files_at(tmp_path / "records", "sites/a", "HEAD")
    site = site_of(read_folder("a", files))
    assert site is not None
    assert compare_jobs_with_history(site, history.entries, complete=False) == []


def test_recorded_and_no_job(tmp_path: Path) -> None:
    history, (problem,) = told(tmp_path, (5, "Moved", {"outlets.yml": MOVED}))
    short = history.entries[0].short
    assert problem.code == "change-without-job"
    assert problem.message == (
        f"revision {short} of 2024-03-06 names no job: Outlet A1 was moved from room 1 to room 2"
    )
    assert problem.place.path == "sites/a/site.yml"


def test_a_job_that_is_not_recorded(tmp_path: Path) -> None:
    _, (problem,) = told(tmp_path, (5, "Moved\n\nJob: J9", {"outlets.yml": MOVED}))
    assert "names job J9, which isn’t recorded" in problem.message


@pytest.mark.parametrize(
    "files",
    [
        {"outlets.yml": OUTLETS.replace("A1: {", "A1: {length: 12 m, ")},
        {"outlets.yml": "# as seen\n" + OUTLETS},
        {"findings.yml": "F1: {what: dust}\n"},
        {"site.yml": SITE["site.yml"] + "contacts: {q: {name: Iris Quill}}\n"},
    ],
)
def test_filling_in_what_is_known_is_no_work(tmp_path: Path, files: Mapping[str, str]) -> None:
    assert told(tmp_path, (5, "Filled in", files))[1] == []


@pytest.mark.parametrize(
    "job",
    [
        JOB + "state: done\ndone on: 2024-03-05\noutlets: [A1]\n",
        JOB + "state: done\ndone on: 2024-03-06\nrooms: ['2']\n",
        JOB + "state: verified\ndone on: 2024-02-28\noutlets: A1\n",
    ],
)
def test_a_job_recorded_later_explains_work_of_its_week(tmp_path: Path, job: str) -> None:
    _, problems = told(
        tmp_path,
        (5, "Moved", {"outlets.yml": MOVED}),
        (9, "The job for it", {"jobs/J1.yml": job}),
    )
    assert "change-without-job" not in codes(problems)


def test_a_job_of_another_time_or_place_explains_nothing(tmp_path: Path) -> None:
    for number, more in enumerate(("2024-02-20\noutlets: [A1]\n", "2024-03-05\noutlets: [A2]\n")):
        job = JOB + f"state: done\ndone on: {more}"
        _, problems = told(
            tmp_path / str(number),
            (5, "Moved", {"outlets.yml": MOVED}),
            (9, "A job\n\nJob: J1", {"jobs/J1.yml": job}),
        )
        assert "change-without-job" in codes(problems)


WINDOW = JOB + "state: done\nwindow: 2024-03-06 18:00 to 22:00\n"


def test_done_outside_its_window(tmp_path: Path) -> None:
    history, (problem,) = told(
        tmp_path,
        (9, "Moved\n\nJob: J1",
         {"jobs/J1.yml": WINDOW + "done on: 2024-03-09\n", "outlets.yml": MOVED}),
    )  # fmt: skip
    assert problem.code == "job-outside-window"
    assert problem.message == (
        "job J1 was done on 2024-03-09, planned for 2024-03-06 18:00 to 22:00 (recorded by "
        f"revision {history.entries[0].short} of 2024-03-10)"
    )


@pytest.mark.parametrize(("days", "remarked"), [(4, True), (5, False), (12, False), (13, True)])
def test_a_record_is_at_most_a_week_behind_the_work(
    tmp_path: Path, days: int, remarked: bool
) -> None:
    """Washington State University, telecom design guide: never more than a week behind."""
    _, problems = told(
        tmp_path, (days, "Moved\n\nJob: J1", {"jobs/J1.yml": WINDOW, "outlets.yml": MOVED})
    )
    assert codes(problems) == ["job-outside-window"] * remarked


def test_a_day_on_its_evening_is_that_day_where_it_was_committed(tmp_path: Path) -> None:
    text = WINDOW + "done on: 2024-03-06\n"
    _, problems = told(
        tmp_path, (6, "Moved\n\nJob: J1", {"jobs/J1.yml": text, "outlets.yml": MOVED})
    )
    assert problems == []


def test_a_site_without_jobs_is_not_held_to_them(tmp_path: Path) -> None:
    top = tmp_path / "records"
    rest = {path: text for path, text in SITE.items() if path != "jobs/J0.yml"}
    git_write.import_commits(
        top,
        [
            git_write.NewCommit("S\n", "M", "m@x", BEGUN + dt.timedelta(days=number),
                           {f"sites/a/{path}": text.encode() for path, text in files.items()})
            for number, files in enumerate((rest, {"outlets.yml": MOVED}))
        ],
    )  # fmt: skip
    site = site_of(read_folder("a", files_at(top, "sites/a", "HEAD")))
    assert site is not None
    assert compare_jobs_with_history(site, read_history(top, "sites/a").entries) == []


def test_many_are_counted(tmp_path: Path) -> None:
    steps = [
        (number, "Moved", {"outlets.yml": MOVED if number % 2 else OUTLETS})
        for number in range(1, MAX_REMARKS + 6)
    ]
    _, problems = told(tmp_path, *steps)
    assert codes(problems) == ["change-without-job"] * (MAX_REMARKS + 1)
    assert any("5 older revisions hold work" in problem.message for problem in problems)
