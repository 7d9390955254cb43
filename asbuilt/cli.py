"""The command. Each command reads as what it does; the work is done elsewhere.

Exit codes: 0 all is well; 1 the records have errors, or the world stands in the way (no
repository, a full disk), which is told in one sentence; 2 the command wasn't understood; 130
interrupted. A traceback is a mistake of ours.
"""

from __future__ import annotations

import importlib
import os
import re
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.progress import (
    BarColumn,
    MofNCompleteColumn,
    Progress,
    ProgressColumn,
    TextColumn,
    TimeRemainingColumn,
)
from rich.text import Text

from asbuilt import __version__, binding, build, fleet, intake, repo, reports, start
from asbuilt.build import Built
from asbuilt.commands import NAMES
from asbuilt.commands.completing import site_keys
from asbuilt.dot import engine as engine_of
from asbuilt.dot import render_dots
from asbuilt.escape import terminal
from asbuilt.files import SITES, choose_sites, site_names, write_tree
from asbuilt.journal import records_around, write_all
from asbuilt.pack import pack
from asbuilt.problem import Level, Problem, WorldError, has_errors
from asbuilt.records.edition import Edition
from asbuilt.records.fields import KEY, KEY_RULE
from asbuilt.records.reference import client_markdown
from asbuilt.records.schema import schema_texts
from asbuilt.repo import NewCommit
from asbuilt.reports import Format, withheld_lines
from asbuilt.volume import Publish
from asbuilt.workers import collect_seldom

PUBLIC = "public"
FOR_CLIENTS = "public-client"
INTERRUPTED = 130


class FrontDoor(click.Group):
    """Turns what a command says into an exit code, and what it raises into one message; loads a
    command when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        return sorted({*self.commands, *(name for names in NAMES.values() for name in names)})

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in self.commands:
            for module, names in NAMES.items():
                if cmd_name in names:
                    room = importlib.import_module(f"asbuilt.commands.{module}")
                    room.register(self, *([lambda: _publisher()] if module == "verify" else []))
        return super().get_command(ctx, cmd_name)

    def main(
        self,
        args: Sequence[str] | None = None,
        prog_name: str | None = None,
        complete_var: str | None = None,
        standalone_mode: bool = True,
        windows_expand_args: bool = True,
        **extra: Any,
    ) -> Any:
        collect_seldom()
        try:
            code = super().main(
                args,
                prog_name,
                complete_var,
                False,
                windows_expand_args=windows_expand_args,
                **extra,
            )
        except click.ClickException as error:
            error.show()
            code = error.exit_code
        except (click.Abort, KeyboardInterrupt):
            code = INTERRUPTED
        except WorldError as error:
            _err().print(Text.assemble(("asbuilt: ", "bold red"), terminal(str(error))))
            code = 1
        except BrokenPipeError:
            _hush()
            code = 1
        sys.exit(code if isinstance(code, int) else 0)


@click.group(cls=FrontDoor, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="asbuilt")
def main() -> None:
    """As-built records of structured cabling, from YAML in git to a documentation site.

    Run it inside a records repository: a folder that holds sites/.
    """


@main.command()
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--serve", is_flag=True, help="Serve the site when it is built.")
@click.option("--port", default=8000, show_default=True, help="The port to serve on.")
def demo(folder: Path, serve: bool, port: int) -> int:
    """See it work: replay the demonstration history into a new repository DIR, build its site."""
    from asbuilt.demo import storyboard

    _only_into_nothing(folder)
    steps = storyboard.steps()
    commits = (NewCommit(s.message, s.author, s.email, s.when, s.contents()) for s in steps)
    repo.import_commits(folder.absolute(), commits)
    write_tree(folder, [(".git/info/exclude", f"/{PUBLIC}/\n".encode())])
    _say(f"Replayed {len(steps)} commits of {len(storyboard.SITES)} invented clients in {folder}")
    code = _build(folder, folder / PUBLIC, (), Edition.INTERNAL)
    _say(f"To look at it, open {_where(folder / PUBLIC / 'index.html')}")
    if serve:
        _serve(folder.absolute(), port, ())
    else:
        _say(f"To serve it, and to see it follow what you change: cd {folder} && asbuilt serve")
    return code


@main.command()
@click.argument("sites", metavar="[SITE]...", nargs=-1, shell_complete=site_keys)
@click.option(
    "--format", "form", type=click.Choice([form.value for form in Format]), default="text"
)
@click.option("--jobs", is_flag=True, help="Also hold the jobs against history.")
@click.option(
    "--staged", is_flag=True, help="Of what is to be committed, not of what lies in the folder."
)
def check(sites: tuple[str, ...], form: str, jobs: bool, staged: bool) -> int:
    """Say all that is wrong with the records of these sites, or of all."""
    top = records_around(Path.cwd())
    if not staged:
        return _check(top, top, sites, form, jobs)
    with tempfile.TemporaryDirectory(prefix="asbuilt-") as folder:
        return _check(top, repo.staged_at(top, Path(folder)), sites, form, jobs)


def _check(top: Path, records: Path, sites: tuple[str, ...], form: str, jobs: bool) -> int:
    """The records as they lie in a folder, held against the history of the repository at `top`."""
    keys = choose_sites(records, sites)
    problems: list[Problem] = []
    pasts = binding.chronicles_of(top, keys) if jobs else {}
    with _progress("Checking", len(keys)) as bar:
        for key in keys:
            reading = intake.read_site(records, key)
            problems += reading.problems
            if jobs and reading.site is not None:
                problems += binding.job_remarks(reading.site, pasts[key].unfolded())
            bar.step()
    if form == Format.JSON:
        _say(reports.as_json(problems, keys))
    elif form == Format.GITHUB:
        for problem in problems:
            _say(reports.as_annotation(problem))
    else:
        _tell(problems)
        _say(reports.tally(problems, len(keys)))
    return 1 if has_errors(problems) else 0


@main.command("build")
@click.option(
    "--site",
    "sites",
    multiple=True,
    metavar="SITE",
    shell_complete=site_keys,
    help="Only this site.",
)
@click.option(
    "--edition",
    type=click.Choice([edition.value for edition in Edition]),
    default=Edition.INTERNAL.value,
    show_default=True,
    help="For engineers, or what one client may read.",
)
@click.option(
    "--output",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help=f"Where to; {PUBLIC}/, or {FOR_CLIENTS}/ for the client’s edition.",
)
@click.option(
    "--dot", metavar="PROGRAM", help="A Graphviz to draw with, not the one that came along."
)
@click.option(
    "--shard",
    metavar="K/N",
    help="Only the K-th of N shares of the sites, for one of N machines; then “asbuilt join”.",
)
@click.option("--anew", is_flag=True, help="Also sites whose pages are there, made from the same.")
@click.option(
    "--zip",
    "packed",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="One site as one file to keep, in place of a folder of pages.",
)
def build_command(
    sites: tuple[str, ...],
    edition: str,
    output: Path | None,
    dot: str | None,
    shard: str | None,
    anew: bool,
    packed: Path | None,
) -> int:
    """Build the pages: a folder for each site, complete in itself, and a front page over all.
    What hasn't changed since the last build is left as it is."""
    top = records_around(Path.cwd())
    wanted = Edition(edition)
    default = PUBLIC if wanted is Edition.INTERNAL else FOR_CLIENTS
    if shard and (sites or wanted is Edition.CLIENT):
        raise WorldError(
            "--shard is a share of all sites, for engineers; leave --site and --edition"
        )
    if packed is not None:
        if output or shard:
            raise WorldError("--zip writes one file; leave --output and --shard")
        return _build_packed(top, packed, sites, wanted, dot)
    share = _shard(shard) if shard else None
    return _build(top, output or top / default, sites, wanted, dot, share, anew)


@main.command()
@click.argument(
    "parts",
    metavar="PART...",
    nargs=-1,
    required=True,
    type=click.Path(path_type=Path, exists=True, file_okay=False),
)
@click.option(
    "--output", type=click.Path(path_type=Path), metavar="DIR", default=PUBLIC, show_default=True
)  # fmt: skip
def join(parts: tuple[Path, ...], output: Path) -> int:
    """Put built sites together: the shares of several machines, or what was built from several
    repositories. One folder, with a page and a search over all sites."""
    keys = build.join(parts, output, _publisher())
    _say(f"{len(keys)} sites in {output}")
    return 0


@main.command()
@click.option(
    "--site",
    "sites",
    multiple=True,
    metavar="SITE",
    shell_complete=site_keys,
    help="Only this site.",
)
@click.option("--port", default=8000, show_default=True, help="The port to serve on.")
def serve(sites: tuple[str, ...], port: int) -> int:
    """Serve the pages on this machine, and bring them up to date with every save."""
    _serve(records_around(Path.cwd()), port, sites)
    return 0


@main.command()
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
def init(folder: Path) -> int:
    """Begin a records repository of your own in a new folder DIR."""
    _only_into_nothing(folder)
    texts = start.repository_texts()
    write_tree(folder, ((path, text.encode()) for path, text in texts.items()))
    (folder / SITES).mkdir(exist_ok=True)
    repo.import_commits(folder.absolute(), ())
    _say(f"{folder} is ready. The first site: cd {folder} && asbuilt new site KEY")
    return 0


@main.group()
def new() -> None:
    """Begin something new in a records repository."""


@new.command("site")
@click.argument("key", metavar="KEY")
@click.option("--name", help="What the client calls the site; else its key.")
def new_site(key: str, name: str | None) -> int:
    """Begin the records of a site: sites/KEY/ with what every site has."""
    top = records_around(Path.cwd())
    if not KEY.fullmatch(key):
        raise WorldError(f"“{key}” can’t be the key of a site; {KEY_RULE}")
    if key in fleet.RESERVED:
        raise WorldError(f"“{key}” is a name of the front page’s own; take another")
    if key.casefold() in (known.casefold() for known in site_names(top)):
        raise WorldError(f"there is a site “{key}” already")
    texts = start.site_texts(name or key)
    files = {f"{SITES}/{key}/{path}": text.encode() for path, text in texts.items()}
    write_all(top, files, {})
    for path in files:
        _say(path)
    _say("Fill them in while “asbuilt serve” shows the pages; “asbuilt check” says what is wrong.")
    return 0


@main.command()
@click.argument("folder", metavar="[DIR]", type=click.Path(path_type=Path), required=False)
@click.option("--client", is_flag=True, help="Print who may read which field instead.")
def schema(folder: Path | None, client: bool) -> int:
    """Write the JSON Schemas of the record files to DIR (schema/), for editors that complete
    and check while one types."""
    if client:
        click.echo(client_markdown().rstrip())
        return 0
    folder = folder or records_around(Path.cwd()) / "schema"
    texts = schema_texts()
    write_tree(folder, ((name, text.encode()) for name, text in texts.items()))
    _say(f"{len(texts)} schemas in {folder}")
    return 0


# What the commands share


def _publisher() -> Publish:
    from asbuilt.plugin import publish  # mkdocs takes its time to load

    return publish


def _shard(text: str) -> tuple[int, int]:
    match = re.fullmatch(r"([0-9]{1,4})/([0-9]{1,4})", text)
    if match is None or not 1 <= int(match[1]) <= int(match[2]):
        raise WorldError(f"“{text}” is no share; write it like 2/3, the second of three")
    return int(match[1]), int(match[2])


def _built(
    top: Path, output: Path, sites: Sequence[str], edition: Edition, dot: str | None, **more: Any
) -> tuple[Built, ...]:
    """What `build.build` makes of the sites, drawn by this Graphviz."""
    return build.build(
        top,
        output,
        _publisher(),
        sites=sites,
        edition=edition,
        draw=partial(render_dots, program=dot),
        engine=engine_of(dot),
        **more,
    )


def _build(
    top: Path,
    output: Path,
    sites: Sequence[str],
    edition: Edition,
    dot: str | None = None,
    shard: tuple[int, int] | None = None,
    anew: bool = False,
) -> int:
    keys = choose_sites(top, sites)
    count = len(keys) // (shard[1] if shard else 1)
    with _progress("Reading what changed", count, "files") as bar:
        done = _built(
            top,
            output,
            sites,
            edition,
            dot,
            shard=shard,
            anew=anew,
            begin=lambda: bar.now("Building"),
            tell=lambda built: bar.step(built.files),
        )
    _tell_errors(done)
    for built in done:
        if not built.sound:
            kept = (output / built.key / "index.html").is_file()
            after = "its last good pages stay" if kept else "it has no pages yet"
            _err().print(Text(f"{built.key}: not built; {after}", "red"))
        else:
            as_they_were = ", as they were" if built.reused else ""
            _say(f"{built.key}: {built.files} files in {output / built.key}{as_they_were}")
        _tell_withheld(built)
    remarks = sum(1 for built in done for p in built.problems if not _is_error(p))
    if remarks and edition is Edition.INTERNAL:
        _say(f"{remarks} {'remark' if remarks == 1 else 'remarks'}: “asbuilt check” tells them")
    return 1 if any(not built.sound for built in done) else 0


def _build_packed(
    top: Path, target: Path, sites: Sequence[str], edition: Edition, dot: str | None
) -> int:
    """Build one site, with no way out of its own folder, and pack it."""
    if len(sites) != 1:
        raise WorldError("--zip packs one site: say which with --site")
    if target.suffix.lower() != ".zip":
        raise WorldError(f"{target} is no name for an archive; let it end in .zip")
    if not target.absolute().parent.is_dir():
        raise WorldError(f"there is no folder {target.parent} to write {target.name} into")
    with tempfile.TemporaryDirectory(prefix="asbuilt-") as folder:
        (built,) = done = _built(top, Path(folder), sites, edition, dot, alone=True)
        _tell_errors(done)
        if not built.sound:
            _err().print(Text(f"{built.key}: not built; nothing is packed", "red"))
            return 1
        count = pack(Path(folder) / built.key, target)
    _say(f"{built.key}: {count} files in {target}")
    _tell_withheld(built)
    return 0


def _tell_errors(done: Sequence[Built]) -> None:
    _tell([problem for built in done for problem in built.problems if _is_error(problem)])


def _tell_withheld(built: Built) -> None:
    for line in withheld_lines(built.withheld):
        _say(f"  withheld: {line}")


def _serve(top: Path, port: int, sites: Sequence[str]) -> None:
    """Serve from a folder of its own: what was built to be given away stays as it is."""
    from asbuilt.plugin import publish
    from asbuilt.plugin import serve as serve_standing

    def tell(done: Sequence[Built]) -> None:
        _tell_errors(done)
        for built in done:
            _say(f"{built.key}: {'built' if built.sound else 'not built'}")

    _say(f"Building; then look at http://127.0.0.1:{port}/ and stop with Ctrl-C")
    with tempfile.TemporaryDirectory(prefix="asbuilt-") as folder:
        output = Path(folder) / PUBLIC
        standing = build.Standing(top, output, partial(publish, served=True), sites)
        serve_standing(standing, port=port, tell=tell)


def _only_into_nothing(folder: Path) -> None:
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise WorldError(f"{folder} isn’t empty; name a folder that is new")


def _is_error(problem: Problem) -> bool:
    return problem.level is Level.ERROR


def _where(path: Path) -> str:
    return path.resolve().as_uri()


def _out() -> Console:
    return Console(soft_wrap=True, highlight=False, markup=False, emoji=False)


def _err() -> Console:
    return Console(stderr=True, soft_wrap=True, highlight=False, markup=False, emoji=False)


def _say(text: str) -> None:
    _out().print(Text(text))


def _tell(problems: Sequence[Problem]) -> None:
    """The problems, site by site and file by file; on a terminal in colour."""
    out = _out()
    site = file = ""
    for problem in problems:
        if reports.site_of(problem) != site:
            out.print(Text(f"{site and chr(10)}{terminal(reports.site_of(problem))}", "bold"))
            site = reports.site_of(problem)
        elif problem.place.path != file and out.is_terminal:
            out.print()
        file = problem.place.path
        out.print(Text(reports.line_of(problem), "red" if _is_error(problem) else "yellow"))
    if problems:
        out.print()


class _Bar:
    def __init__(self, bar: Progress, what: str, total: int) -> None:
        self._bar = bar
        self._task = bar.add_task(what, total=total, made=0)
        self._made = 0

    def now(self, what: str) -> None:
        self._bar.update(self._task, description=what)

    def step(self, made: int = 0) -> None:
        self._made += made
        self._bar.update(self._task, advance=1, made=self._made)


@contextmanager
def _progress(what: str, total: int, counted: str = "") -> Iterator[_Bar]:
    """A bar on a terminal, with the time left; nothing where nobody looks. `counted` names what
    each step may say it made."""
    console = _err()
    columns: list[ProgressColumn] = [
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
    ]
    columns += [TextColumn("{task.fields[made]} " + counted)] if counted else []
    columns += [TimeRemainingColumn(elapsed_when_finished=True)]
    with Progress(
        *columns, console=console, transient=True, disable=not console.is_terminal
    ) as bar:
        yield _Bar(bar, what, total)


def _hush() -> None:
    """Nobody listens any more: let nothing be written while we end."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
