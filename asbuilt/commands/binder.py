"""The command for the binder on paper: a site's records → one PDF."""

from __future__ import annotations

from pathlib import Path

import click

from asbuilt.commands.completion import site_keys
from asbuilt.io.files import explain_os_errors
from asbuilt.io.graphviz import render_dots
from asbuilt.io.sources import theme_folder
from asbuilt.io.swap import write_file
from asbuilt.io.transaction import records_around
from asbuilt.io.typesetting import Size, pdf_of
from asbuilt.pages.binder import STYLE_PATH
from asbuilt.pages.page import Asset, Page
from asbuilt.problem import WorldError
from asbuilt.publish import assemble
from asbuilt.records.edition import Edition

STYLES = ("asbuilt.css", "paper.css")


def register(group: click.Group) -> None:
    group.add_command(binder)


@click.command()
@click.argument("site", shell_complete=site_keys)
@click.option(
    "--output", required=True, type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
    help="The PDF to write.",
)  # fmt: skip
@click.option(
    "--paper", type=click.Choice([size.value for size in Size]), default=Size.A4.value,
    show_default=True,
)  # fmt: skip
@click.option(
    "--edition", type=click.Choice([edition.value for edition in Edition]),
    default=Edition.INTERNAL.value, show_default=True, help="Who is to read it.",
)  # fmt: skip
def binder(site: str, output: Path, paper: str, edition: str) -> int:
    """Write the binder of a site as a PDF, to print and keep beside the cabling."""
    if not output.absolute().parent.is_dir():
        raise WorldError(f"there is no folder {output.parent} to write {output.name} into")
    volume = assemble.output_at(records_around(Path.cwd()), site, Edition(edition), render_dots)
    page = next(p for p in volume.tree if isinstance(p, Page) and p.path == "binder.html")
    files = {part.path: part.data for part in volume.tree if isinstance(part, Asset)}
    with explain_os_errors("reading the style of the pages"):
        styles = [(theme_folder() / "assets" / name).read_text("utf-8") for name in STYLES]
    styles.append(files[STYLE_PATH].decode().replace('@charset "utf-8";', ""))
    title = f"{volume.name}: as-built records, {volume.edition}, revision {volume.revision}"
    data = pdf_of(page.html, title, "\n".join(styles), files, Size(paper))
    write_file(output, data)
    click.echo(f"the binder of {volume.name}, {volume.edition}: {output}")
    return 0
