"""The command for a cutover: two revisions of the records → a sheet to work by."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path

import click

from asbuilt.changes.compare import compare
from asbuilt.changes.state import state_of
from asbuilt.commands.completion import site_keys
from asbuilt.cutover import sheet_output
from asbuilt.cutover.minutes import DEFAULT_MINUTES, override_minutes
from asbuilt.cutover.sheet import CutoverSheet, cutover_sheet
from asbuilt.history.at_revision import files_at
from asbuilt.io import git
from asbuilt.io.files import explain_os_errors, find_top
from asbuilt.io.sources import theme_folder
from asbuilt.io.swap import write_file
from asbuilt.lists.csv_file import csv_bytes
from asbuilt.lists.table import Table
from asbuilt.model.site import Site, site_of
from asbuilt.problem import WorldError, has_errors, some_of
from asbuilt.publish import histories
from asbuilt.records.reading import Records, read_records, take_revision_apart


class CutoverFormat(StrEnum):
    TEXT = "text"
    CSV = "csv"
    JSON = "json"
    HTML = "html"


def register(group: click.Group) -> None:
    group.add_command(cutover)


@click.command()
@click.argument("base", metavar="BASE")
@click.argument("target", metavar="PLAN")
@click.argument("site", metavar="[SITE]", required=False, shell_complete=site_keys)
@click.option(
    "--format", "form", type=click.Choice([form.value for form in CutoverFormat]),
    help="What the ending of FILE says, or text.",
)  # fmt: skip
@click.option(
    "--output", type=click.Path(path_type=Path), metavar="FILE", help="Where to, not the terminal."
)
@click.option(
    "--minutes", "own", multiple=True, metavar="TASK=MINUTES",
    help=f"Your own time for a task: {', '.join(DEFAULT_MINUTES)}.",
)  # fmt: skip
def cutover(
    base: str,
    target: str,
    site: str | None,
    form: str | None,
    output: Path | None,
    own: tuple[str, ...],
) -> int:
    """Write the sheet for the work that leads from the records at BASE to those at PLAN, usually a
    branch: what must be ready, what touches no live link, the outage window step by step with
    who loses service, what is verified, what has to be bought."""
    minutes = override_minutes(_pairs(own))
    wanted = _form(form, output)
    above, inside = histories.place_in_git(find_top(Path.cwd()))
    if above is None:
        raise WorldError("these records aren’t kept in git, so there is no plan to compare with")
    old, new = git.revision(above, base), git.revision(above, target)
    _ahead(above, (base, old.id), (target, new.id))
    key = site or _only_site(above, inside, (base, old.id), (target, new.id))
    states = []
    sites = []
    for name, revision in ((base, old.id), (target, new.id)):
        records, found = _read(above, f"{inside}/{key}", key, name, revision)
        states.append(state_of(records.raw))
        sites.append(found)
    changes = compare(states[0], states[1])
    if not changes:
        raise WorldError(f"{target} changes nothing in the records of {key}; there is no work")
    sheet = cutover_sheet(
        sites[0], sites[1], (states[0], states[1]), changes, _named(base, old.id),
        _named(target, new.id), minutes,
    )  # fmt: skip
    data = _written(sheet, wanted)
    if output is None:
        click.echo(data.decode(), nl=False)
        return 0
    write_file(output, data)
    steps = len(sheet.window.steps)
    click.echo(
        f"{len(sheet.window.before_window)} tasks before the window, {steps} steps in it, "
        f"{len(sheet.links)} links to verify: {output}"
    )
    return 0


def _written(sheet: CutoverSheet, form: CutoverFormat) -> bytes:
    if form is CutoverFormat.CSV:
        return csv_bytes(Table("cutover", sheet_output.HEADER, tuple(sheet_output.rows(sheet))))
    if form is CutoverFormat.JSON:
        return (sheet_output.as_json(sheet) + "\n").encode()
    if form is CutoverFormat.HTML:
        from asbuilt.pages.cutover import cutover_page  # templates take their time to load

        return cutover_page(sheet, _of_the_pages("asbuilt.css"), _of_the_pages("over.js")).encode()
    return ("\n".join(sheet_output.lines(sheet)) + "\n").encode()


def _of_the_pages(name: str) -> str:
    """What the pages wear or run, for a sheet that stands alone."""
    with explain_os_errors(f"reading {name} of the theme"):
        return (theme_folder() / "assets" / name).read_text("utf-8")


def _pairs(own: tuple[str, ...]) -> dict[str, str]:
    found: dict[str, str] = {}
    for text in own:
        task, equals, number = text.partition("=")
        if not equals:
            raise WorldError(f"“{text}” gives no minutes; write it like plug=1.5")
        found[task.strip()] = number
    return found


def _form(form: str | None, output: Path | None) -> CutoverFormat:
    if form:
        return CutoverFormat(form)
    ending = output.suffix.lower().removeprefix(".") if output else ""
    endings = {
        "csv": CutoverFormat.CSV,
        "json": CutoverFormat.JSON,
        "html": CutoverFormat.HTML,
        "htm": CutoverFormat.HTML,
    }
    return endings.get(ending, CutoverFormat.TEXT)


def _ahead(above: Path, old: tuple[str, str], new: tuple[str, str]) -> None:
    """A plan is made on top of what is there; otherwise it would undo what was done meanwhile."""
    (base, base_id), (plan, plan_id) = old, new
    if base_id == plan_id:
        raise WorldError(f"{base} and {plan} are the same revision; there is no plan between them")
    parted = git.merge_base(above, base_id, plan_id)
    if parted == plan_id:
        raise WorldError(
            f"{plan} is behind {base} and plans nothing; did you mean the other order?"
        )
    if parted != base_id:
        count = len(git.log(above, base_id, parted))
        raise WorldError(
            f"{plan} is behind {base} by {count} commit{'s'[: count > 1]}, which its sheet would "
            f"undo; bring {plan} up to {base} first (git rebase or merge)"
        )


def _only_site(above: Path, inside: str, old: tuple[str, str], new: tuple[str, str]) -> str:
    """The one site whose records differ between two revisions."""
    trees = [git.tree(above, revision, inside) for _, revision in (old, new)]
    paths = {p for p in trees[0].keys() | trees[1].keys() if trees[0].get(p) != trees[1].get(p)}
    keys = sorted({path.partition("/")[0] for path in paths if "/" in path})
    if len(keys) == 1:
        return keys[0]
    if not keys:
        raise WorldError(f"{new[0]} changes no records; there is no work")
    raise WorldError(
        f"{new[0]} changes {len(keys)} sites; name the one the sheet is for: {some_of(keys)}"
    )


def _read(
    above: Path, folder: str, key: str, name: str, revision: str
) -> tuple[Records, Site]:  # fmt: skip
    files = files_at(above, folder, revision)
    if not files:
        raise WorldError(f"there is no site “{key}” at {name}")
    records = read_records(key, *take_revision_apart(files, folder))
    site = site_of(records)
    if has_errors(records.problems) or site is None:
        first = next((p for p in records.problems if p.level == "error"), None)
        more = sum(1 for p in records.problems if p.level == "error") - 1
        others = f" (and {more} more)" if more > 0 else ""
        raise WorldError(f"the records of {key} at {name} can’t be worked by: {first}{others}")
    return records, site


def _named(name: str, revision: str) -> str:
    return name if revision.startswith(name) else f"{name} ({revision[:10]})"
