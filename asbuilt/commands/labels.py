"""The command for labels."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

import click

from asbuilt.commands.completion import site_keys
from asbuilt.commands.reply import answering, say, tell
from asbuilt.history.at_revision import files_at
from asbuilt.io.files import choose_sites, find_top
from asbuilt.io.swap import write_file, write_tree
from asbuilt.labels.layout import PrintedText, PrintLayout, PrintPage, lay_out_labels
from asbuilt.labels.sheet import DEFAULT_GRIDS, LabelSheet, parse_pair
from asbuilt.labels.strips import (
    DEFAULT_HEIGHT,
    DEFAULT_PITCH,
    LabelStrip,
    label_strips,
    lay_out_strips,
    outdated_strips,
    strip_layout_error,
)
from asbuilt.labels.svg import svg_of
from asbuilt.labels.texts import PURPOSES, labels_of, outdated_labels
from asbuilt.model.site import Site, site_of
from asbuilt.pages import links
from asbuilt.pages.view import count
from asbuilt.problem import WorldError, quoted, some_of
from asbuilt.publish import histories, load
from asbuilt.records.fields import is_web_address
from asbuilt.records.reading import read_records, take_revision_apart

#: The word for strips, beside the PURPOSES of labels.
STRIPS: Final = "strips"


def register(group: click.Group) -> None:
    group.add_command(labels)


@click.command()
@click.argument("site", metavar="SITE", shell_complete=site_keys)
@click.option(
    "--for",
    "purposes",
    type=click.Choice([*PURPOSES, STRIPS]),
    multiple=True,
    help="Else for all but strips, which are cut from plain paper.",
)
@click.option(
    "--pitch",
    default=f"{DEFAULT_PITCH:g}",
    show_default=True,
    help="Strips: how far ports stand apart where no record says it, mm (common practice).",
)
@click.option(
    "--height",
    default=f"{DEFAULT_HEIGHT:g}",
    show_default=True,
    help="Strips: how high, mm (common practice).",
)
@click.option("--sheet", default="210x297", show_default=True, help="Width and height, mm.")
@click.option(
    "--margins", default="8x13", show_default=True, help="Left and right, top and bottom."
)
@click.option("--grid", help="Columns and rows, like 3x8; else as each purpose needs.")
@click.option("--gaps", default="0x0", show_default=True, help="Between columns, between rows, mm.")
@click.option("--skip", default=0, type=click.IntRange(0, 10_000), help="Places used already.")
@click.option("--outlines", is_flag=True, help="Draw the edges, for a trial on plain paper.")
@click.option(
    "--url",
    envvar="ASBUILT_URL",
    help="Where the built pages of all sites are; codes on the labels open them there. Or set "
    "ASBUILT_URL. Else as “pages at” in site.yml says.",
)
@click.option(
    "--since", metavar="REV", help="Only what is printed otherwise than at this revision."
)
@click.option("--font", type=click.Path(exists=True, dir_okay=False), help="A font for the PDF.")
@click.option("--pdf", "pdf_file", type=click.Path(path_type=Path), help="All sheets as one PDF.")
@click.option("--svg", "folder", type=click.Path(path_type=Path), help="A folder: an SVG a sheet.")
@answering
def labels(
    site: str,
    purposes: tuple[str, ...],
    pitch: str,
    height: str,
    sheet: str,
    margins: str,
    grid: str | None,
    gaps: str,
    skip: int,
    outlines: bool,
    url: str | None,
    since: str | None,
    font: str | None,
    pdf_file: Path | None,
    folder: Path | None,
) -> int:
    """Print labels at true size for panels, faceplates, both ends of cables and cords, enclosures;
    and strips for the faces of panels.

    Print without scaling (“actual size”), and hold the first sheet against the stock.
    """
    if pdf_file is None and folder is None:
        raise WorldError("say where to: --pdf FILE, or --svg DIR")
    top = find_top(Path.cwd())
    (key,) = choose_sites(top, [site])
    found = load.load_site(top, key).site
    if found is None:
        raise WorldError(f"the records of {key} can’t be read; “asbuilt check {key}” says why")
    pages_at = _pages_at(url, found)
    before = _site_at(top, key, since) if since else None
    printed = PrintLayout()
    chosen: dict[str, list[dict[str, str]]] = {}
    tell(site=key, labels=chosen)
    for purpose in purposes or tuple(PURPOSES):
        if purpose == STRIPS:
            wanted_strips = label_strips(found)
            if since:
                wanted_strips = outdated_strips(
                    wanted_strips, label_strips(before) if before else ()
                )
            chosen[purpose] = [{"kind": "item", "key": strip.panel_key} for strip in wanted_strips]
            printed.pages += _strips(wanted_strips, sheet, margins, pitch, height, pages_at)
            continue
        laid = _sheet(purpose, sheet, margins, grid, gaps)
        wanted = labels_of(found, purpose)
        if since:
            wanted = outdated_labels(wanted, labels_of(before, purpose) if before else ())
        chosen[purpose] = [{"kind": label.target_kind, "key": label.target_key} for label in wanted]
        if not wanted:
            say(f"{purpose}: nothing to print")
            continue
        addressed = [
            (label, _opened(pages_at, label.target_kind, label.target_key)) for label in wanted
        ]
        done = lay_out_labels(addressed, laid, skip, outlines)
        size = f"{laid.label_width:.1f} × {laid.label_height:.1f} mm"
        many, on = count(len(wanted), "label"), count(len(done.pages), "sheet")
        say(f"{purpose}: {many} of {size} on {on}")
        for notice in done.notices:
            say(f"  {notice}")
        printed.pages += done.pages
    if not printed.pages:
        return 0
    if pages_at is None:
        say(
            "No codes are on them: say with --url where the built pages are, or in site.yml with "
            "“pages at:”."
        )
    _write(printed, f"Labels of {found.name}", font, pdf_file, folder)
    return 0


def _sheet(purpose: str, size: str, margins: str, grid: str | None, gaps: str) -> LabelSheet:
    grid = grid or "{}x{}".format(*DEFAULT_GRIDS[purpose])
    width, height = _pair("sheet", size)
    around, between, counts = _pair("margins", margins), _pair("gaps", gaps), _pair("grid", grid)
    if counts != (int(counts[0]), int(counts[1])):
        raise WorldError(f"--grid {quoted(grid)}: columns and rows are whole numbers")
    made = LabelSheet(width, height, int(counts[0]), int(counts[1]), around, between)
    wrong = made.error()
    if wrong:
        raise WorldError(f"{purpose}: {wrong}")
    return made


def _strips(
    strips: Sequence[LabelStrip],
    size: str,
    margins: str,
    pitch: str,
    height: str,
    pages_at: str | None,
) -> list[PrintPage]:
    paper, around = _pair("sheet", size), _pair("margins", margins)
    apart, tall = _millimetres("pitch", pitch), _millimetres("height", height)
    wrong = strip_layout_error(strips, paper, around, tall, apart)
    if wrong:
        raise WorldError(f"{STRIPS}: {wrong}")
    if not strips:
        say(f"{STRIPS}: nothing to print")
        return []
    found = {strip.panel_key: _opened(pages_at, "item", strip.panel_key) for strip in strips}
    addresses = {item: address for item, address in found.items() if address}
    done = lay_out_strips(strips, paper, around, height=tall, pitch=apart, addresses=addresses)
    say(f"{STRIPS}: {count(len(strips), 'row')} of ports on {count(len(done.pages), 'page')}")
    for notice in done.notices:
        say(f"  {notice}")
    return done.pages


def _pair(name: str, text: str) -> tuple[float, float]:
    pair = parse_pair(text)
    if pair is None:
        raise WorldError(f"--{name} {quoted(text)} is no pair of numbers; write it like 210x297")
    return pair


def _millimetres(name: str, text: str) -> float:
    pair = parse_pair(f"{text}x1")
    if pair is None:
        raise WorldError(f"--{name} {quoted(text)} is no length; write millimetres, like 17.5")
    return pair[0]


def _opened(pages_at: str | None, kind: str, key: str) -> str | None:
    """What the code on a label opens; nothing where no page is, or nobody said where pages are."""
    page = links.record(kind, key)
    return links.absolute_url(pages_at, page) if pages_at and page else None


def _pages_at(url: str | None, site: Site) -> str | None:
    """Where the site's pages are: below the address of all sites that was given, else as the
    records say."""
    if url is None:
        return site.info.pages_at
    if not is_web_address(url):
        raise WorldError(f"--url {quoted(url)} is no address of pages; it begins with https://")
    return links.absolute_url(url, site.key)


def _site_at(top: Path, key: str, revision: str) -> Site | None:
    above, inside = histories.place_in_git(top)
    if above is None:
        raise WorldError(
            "these records aren’t kept in git; --since needs a revision to compare with"
        )
    folder = f"{inside}/{key}"
    raws, _ = take_revision_apart(files_at(above, folder, revision), folder)
    return site_of(read_records(key, raws, []))


def _write(
    printed: PrintLayout, title: str, font: str | None, pdf_file: Path | None, folder: Path | None
) -> None:
    if pdf_file is not None:
        from asbuilt.labels.pdf import FontError, pdf_of, unprintable  # it takes its time to load

        texts = [
            m.text for page in printed.pages for m in page.elements if isinstance(m, PrintedText)
        ]
        try:
            missing = list(dict.fromkeys(unprintable(texts, font)))
        except FontError:
            raise WorldError(f"{font} is no TrueType or OpenType font") from None
        if missing:
            raise WorldError(
                f"{some_of([quoted(text) for text in missing], 3)}: letters the PDF’s font doesn’t "
                "have; name one that has them with --font FILE.ttf, or print the --svg"
            )
        data = pdf_of(printed.pages, title, font)
        write_file(pdf_file, data)
        say(f"{count(len(printed.pages), 'sheet')} in {pdf_file}")
    if folder is not None:
        pages = enumerate(printed.pages, start=1)
        write_tree(folder, ((f"labels-{n:03}.svg", svg_of(page).encode()) for n, page in pages))
        say(f"{count(len(printed.pages), 'sheet')} in {folder}")
