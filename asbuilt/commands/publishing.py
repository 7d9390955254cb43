"""Pages: built, put together, served; and the demonstration."""

from __future__ import annotations

import re
import tempfile
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Any, Final, Protocol

import click
from rich.text import Text

from asbuilt.checks.report import withheld_lines
from asbuilt.commands.completion import site_keys
from asbuilt.commands.terminal import err, line, problem_lines, progress
from asbuilt.io import git_write
from asbuilt.io.files import choose_sites
from asbuilt.io.git_write import NewCommit
from asbuilt.io.graphviz import drawings_of
from asbuilt.io.graphviz import engine as engine_of
from asbuilt.io.swap import only_into_nothing, write_tree
from asbuilt.io.transaction import records_around
from asbuilt.problem import Level, Problem, WorldError
from asbuilt.publish import build
from asbuilt.publish.archive import pack
from asbuilt.publish.build import Built
from asbuilt.publish.incremental import IncrementalBuild
from asbuilt.publish.site_output import Publish
from asbuilt.records.edition import Edition

PUBLIC: Final = "public"
FOR_CLIENTS: Final = "public-client"


class Serve(Protocol):
    """Serves what a publisher made for it keeps in a standing folder, telling what is built."""

    def __call__(
        self,
        stand: Callable[[Publish], IncrementalBuild],
        port: int,
        tell: Callable[[Sequence[Built]], None],
    ) -> None: ...


def register(main: click.Group, publisher: Callable[[], Publish], server: Serve) -> None:
    """`publisher` hands over the one that makes pages when some are to be made."""
    only_sites = click.option(
        "--site",
        "sites",
        multiple=True,
        metavar="SITE",
        shell_complete=site_keys,
        help="Only this site.",
    )

    @main.command()
    @click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
    @click.option("--serve", is_flag=True, help="Serve the site when it is built.")
    @click.option("--port", default=8000, show_default=True, help="The port to serve on.")
    def demo(folder: Path, serve: bool, port: int) -> int:
        """Replay the demonstration history into a new repository DIR, and build its
        site."""
        from asbuilt.demo import storyboard

        only_into_nothing(folder)
        steps = storyboard.steps()
        commits = (NewCommit(s.message, s.author, s.email, s.when, s.contents()) for s in steps)
        git_write.import_commits(folder.absolute(), commits)
        write_tree(folder, [(".git/info/exclude", f"/{PUBLIC}/\n".encode())])
        line(
            f"Replayed {len(steps)} commits of {len(storyboard.SITES)} invented clients in {folder}"
        )
        code = _build(publisher(), folder, folder / PUBLIC, (), Edition.INTERNAL)
        line(f"To look at it, open {_where(folder / PUBLIC / 'index.html')}")
        if serve:
            _serve(server, folder.absolute(), port, ())
        else:
            line(f"To serve it, and to see it follow what you change: cd {folder} && asbuilt serve")
        return code

    @main.command("build")
    @only_sites
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
    @click.option("--rebuild", is_flag=True, help="Rebuild everything.")
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
        rebuild: bool,
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
            return _build_packed(publisher(), top, packed, sites, wanted, dot)
        share = _shard(shard) if shard else None
        return _build(publisher(), top, output or top / default, sites, wanted, dot, share, rebuild)

    @main.command()
    @click.argument(
        "parts",
        metavar="PART...",
        nargs=-1,
        required=True,
        type=click.Path(path_type=Path, exists=True, file_okay=False),
    )
    @click.option(
        "--output",
        type=click.Path(path_type=Path),
        metavar="DIR",
        default=PUBLIC,
        show_default=True,
    )
    def join(parts: tuple[Path, ...], output: Path) -> int:
        """Put built sites together: the shares of several machines, or what was built from several
        repositories. One folder, with a page and a search over all sites."""
        keys = build.join(parts, output, publisher())
        line(f"{len(keys)} sites in {output}")
        return 0

    @main.command()
    @only_sites
    @click.option("--port", default=8000, show_default=True, help="The port to serve on.")
    def serve(sites: tuple[str, ...], port: int) -> int:
        """Serve the pages on this machine, and bring them up to date with every save."""
        _serve(server, records_around(Path.cwd()), port, sites)
        return 0


def _shard(text: str) -> tuple[int, int]:
    match = re.fullmatch(r"([0-9]{1,4})/([0-9]{1,4})", text)
    if match is None or not 1 <= int(match[1]) <= int(match[2]):
        raise WorldError(f"“{text}” is no share; write it like 2/3, the second of three")
    return int(match[1]), int(match[2])


def _built(
    publish: Publish,
    top: Path,
    output: Path,
    sites: Sequence[str],
    edition: Edition,
    dot: str | None,
    **more: Any,
) -> tuple[Built, ...]:
    """What `build.build` makes of the sites, drawn by this Graphviz."""
    return build.build(
        top,
        output,
        publish,
        sites=sites,
        edition=edition,
        draw=partial(drawings_of, program=dot),
        engine=engine_of(dot),
        **more,
    )


def _build(
    publish: Publish,
    top: Path,
    output: Path,
    sites: Sequence[str],
    edition: Edition,
    dot: str | None = None,
    shard: tuple[int, int] | None = None,
    rebuild: bool = False,
) -> int:
    keys = choose_sites(top, sites)
    count = len(keys) // (shard[1] if shard else 1)
    with progress("Reading what changed", count, "files") as bar:
        done = _built(
            publish,
            top,
            output,
            sites,
            edition,
            dot,
            shard=shard,
            rebuild=rebuild,
            begin=lambda: bar.now("Building"),
            tell=lambda built: bar.step(built.files),
        )
    _tell_errors(done)
    for built in done:
        if not built.sound:
            kept = (output / built.key / "index.html").is_file()
            after = "its last good pages stay" if kept else "it has no pages yet"
            err().print(Text(f"{built.key}: not built; {after}", "red"))
        else:
            as_they_were = ", as they were" if built.reused else ""
            line(f"{built.key}: {built.files} files in {output / built.key}{as_they_were}")
        _tell_withheld(built)
    remarks = sum(1 for built in done for p in built.problems if not _is_error(p))
    if remarks and edition is Edition.INTERNAL:
        line(f"{remarks} {'remark' if remarks == 1 else 'remarks'}: “asbuilt check” tells them")
    return 1 if any(not built.sound for built in done) else 0


def _build_packed(
    publish: Publish,
    top: Path,
    target: Path,
    sites: Sequence[str],
    edition: Edition,
    dot: str | None,
) -> int:
    """Build one site, with no way out of its own folder, and pack it."""
    if len(sites) != 1:
        raise WorldError("--zip packs one site: say which with --site")
    if target.suffix.lower() != ".zip":
        raise WorldError(f"{target} is no name for an archive; let it end in .zip")
    if not target.absolute().parent.is_dir():
        raise WorldError(f"there is no folder {target.parent} to write {target.name} into")
    with tempfile.TemporaryDirectory(prefix="asbuilt-") as folder:
        (built,) = done = _built(publish, top, Path(folder), sites, edition, dot, alone=True)
        _tell_errors(done)
        if not built.sound:
            err().print(Text(f"{built.key}: not built; nothing is packed", "red"))
            return 1
        count = pack(Path(folder) / built.key, target)
    line(f"{built.key}: {count} files in {target}")
    _tell_withheld(built)
    return 0


def _tell_errors(done: Sequence[Built]) -> None:
    problem_lines([problem for built in done for problem in built.problems if _is_error(problem)])


def _tell_withheld(built: Built) -> None:
    for what in withheld_lines(built.withheld):
        line(f"  withheld: {what}")


def _serve(server: Serve, top: Path, port: int, sites: Sequence[str]) -> None:
    """Serve from a folder of its own: what was built to be given away stays as it is."""

    def tell(done: Sequence[Built]) -> None:
        _tell_errors(done)
        for built in done:
            line(f"{built.key}: {'built' if built.sound else 'not built'}")

    line(f"Building; then look at http://127.0.0.1:{port}/ and stop with Ctrl-C")
    with tempfile.TemporaryDirectory(prefix="asbuilt-") as folder:
        output = Path(folder) / PUBLIC
        server(lambda publish: IncrementalBuild(top, output, publish, sites), port, tell)


def _is_error(problem: Problem) -> bool:
    return problem.level is Level.ERROR


def _where(path: Path) -> str:
    return path.resolve().as_uri()
