"""Beginning: a records repository, a site in it, schemas for editors."""

from __future__ import annotations

from pathlib import Path

import click

from asbuilt import start
from asbuilt.commands.terminal import line
from asbuilt.io import git_write
from asbuilt.io.files import SITES, site_names
from asbuilt.io.swap import only_into_nothing, write_tree
from asbuilt.io.transaction import records_around, write_all
from asbuilt.problem import WorldError
from asbuilt.publish.manifest import RESERVED
from asbuilt.records.fields import KEY, KEY_RULE
from asbuilt.records.reference import client_markdown
from asbuilt.records.schema import schema_texts


def register(main: click.Group) -> None:
    @main.command()
    @click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
    def init(folder: Path) -> int:
        """Begin a records repository of your own in a new folder DIR."""
        only_into_nothing(folder)
        texts = start.repository_texts()
        write_tree(folder, ((path, text.encode()) for path, text in texts.items()))
        (folder / SITES).mkdir(exist_ok=True)
        git_write.import_commits(folder.absolute(), ())
        line(f"{folder} is ready. The first site: cd {folder} && asbuilt new site KEY")
        return 0

    @main.group()
    def new() -> None:
        """Begin something new in a records repository."""

    @new.command("site")
    @click.argument("key", metavar="KEY")
    @click.option("--name", help="What the client calls the site; else its key.")
    def new_site(key: str, name: str | None) -> int:
        """Begin the records of a site in sites/KEY/, with what every site has."""
        top = records_around(Path.cwd())
        if not KEY.fullmatch(key):
            raise WorldError(f"“{key}” can’t be the key of a site; {KEY_RULE}")
        if key in RESERVED:
            raise WorldError(f"“{key}” is a name of the front page’s own; take another")
        if key.casefold() in (known.casefold() for known in site_names(top)):
            raise WorldError(f"there is a site “{key}” already")
        texts = start.site_texts(name or key)
        files = {f"{SITES}/{key}/{path}": text.encode() for path, text in texts.items()}
        write_all(top, files, {})
        for path in files:
            line(path)
        line(
            "Fill them in while “asbuilt serve” shows the pages; "
            "“asbuilt check” says what is wrong."
        )
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
        line(f"{len(texts)} schemas in {folder}")
        return 0
