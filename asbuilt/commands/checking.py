"""All that is wrong with the records."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path

import click

from asbuilt.checks import report
from asbuilt.checks.report import ProblemFormat
from asbuilt.commands.completion import site_keys
from asbuilt.commands.terminal import line, problem_lines, progress
from asbuilt.io import git_write
from asbuilt.io.files import choose_sites
from asbuilt.io.transaction import records_around
from asbuilt.model.site import Site
from asbuilt.problem import Problem, has_errors
from asbuilt.publish import load


def register(main: click.Group) -> None:
    @main.command()
    @click.argument("sites", metavar="[SITE]...", nargs=-1, shell_complete=site_keys)
    @click.option(
        "--format",
        "form",
        type=click.Choice([form.value for form in ProblemFormat]),
        default="text",
    )
    @click.option("--jobs", is_flag=True, help="Also hold the jobs against history.")
    @click.option(
        "--staged", is_flag=True, help="Of what is to be committed, not of what lies in the folder."
    )
    def check(sites: tuple[str, ...], form: str, jobs: bool, staged: bool) -> int:
        """List every error and remark in the records of these sites, or of all."""
        top = records_around(Path.cwd())
        if not staged:
            return _check(top, top, sites, form, jobs)
        with tempfile.TemporaryDirectory(prefix="asbuilt-") as folder:
            return _check(top, git_write.staged_at(top, Path(folder)), sites, form, jobs)


def _check(top: Path, records: Path, sites: tuple[str, ...], form: str, jobs: bool) -> int:
    """The records as they lie in a folder, held against the history of the repository at `top`."""
    keys = choose_sites(records, sites)
    problems: list[Problem] = []
    against_history = _against_history(top, keys) if jobs else None
    with progress("Checking", len(keys)) as bar:
        for key in keys:
            reading = load.load_site(records, key)
            problems += reading.problems
            if against_history and reading.site is not None:
                problems += against_history(reading.site)
            bar.step()
    if form == ProblemFormat.JSON:
        line(report.as_json(problems, keys))
    elif form == ProblemFormat.GITHUB:
        for problem in problems:
            line(report.as_annotation(problem))
    else:
        problem_lines(problems)
        line(report.tally(problems, len(keys)))
    return 1 if has_errors(problems) else 0


def _against_history(top: Path, keys: Sequence[str]) -> Callable[[Site], list[Problem]]:
    """What a site's jobs and its history don't agree on."""
    from asbuilt.publish import histories  # only who asks for it loads what reads git

    of_site = histories.lazy_histories_of(top, keys)
    return lambda site: histories.job_remarks(site, of_site[site.key].load())
