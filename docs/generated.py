"""A hook of mkdocs: writes the reference pages from the code at each build, and gives the
documentation the theme of the sites we build."""

from __future__ import annotations

import importlib
import inspect
import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from email.message import Message
from importlib import metadata
from pathlib import Path
from typing import Any, cast

import click
from mkdocs.config.defaults import MkDocsConfig
from mkdocs.structure.files import File, Files
from mkdocs.structure.pages import Page
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from asbuilt import __version__
from asbuilt.checks.all_checks import CHECKS
from asbuilt.checks.codes import CODES, CODES_BY_SUBJECT
from asbuilt.cli import main
from asbuilt.io.sources import theme_folder
from asbuilt.records.reference import client_markdown, kinds_markdown

TOP = Path(__file__).resolve().parents[1]
#: Of the theme's own files, what no page of ours asks for.
_UNUSED = re.compile(r"\.map$|/lunr/|^assets/images/|^assets/asbuilt\.js$|^(404|sitemap)\.")


# What mkdocs calls


def on_config(config: MkDocsConfig) -> MkDocsConfig:
    """Our theme under what the documentation has of its own."""
    config.theme.dirs.insert(1, str(theme_folder()))
    config.theme.static_templates.clear()  # no sitemap, which carries the day of the build
    return config


def on_files(files: Files, config: MkDocsConfig) -> Files:
    for file in [file for file in files if _UNUSED.search(file.src_uri)]:
        files.remove(file)
    for name, text in written().items():
        files.append(File.generated(config, f"reference/{name}.md", content=text))
    return files


def on_page_markdown(markdown: str, page: Page, config: MkDocsConfig, files: Files) -> str:
    """What our theme says in the head of every page."""
    page.meta.update(
        {
            "title": page.title or "",
            "site": config.site_name,
            "home": "index.html",
            "edition": f"version {__version__}",
        }
    )
    return markdown


def on_page_content(html: str, page: Page, config: MkDocsConfig, files: Files) -> str:
    """What is wider than a window is scrolled by keyboard too."""
    html = re.sub(r'(<div class="[^"]*highlight")>', r'\1 tabindex="0">', html)
    table = '<div class="scroll" role="group" aria-label="table" tabindex="0"><table class="ruled">'
    return html.replace("<table>", table).replace("</table>", "</table></div>")


def written() -> Mapping[str, str]:
    """Every generated page by its name."""
    return {
        "records": records_page(),
        "client": client_page(),
        "checks": checks_page(),
        "commands": commands_page(),
        "dependencies": dependencies_page(),
    }


# The pages


def records_page() -> str:
    about = """
This page lists every field that a record may have. A site is a folder of these files under
`sites/`. `asbuilt schema` writes the same as JSON Schemas (2020-12). With them, many editors
complete and check while you type.

A **key** is ours: it is short, and unique within its kind and site. A **label** is what is printed
on the wall. Labels may repeat, may differ at the two ends, and may hold any character. A **port**
is written `ENCLOSURE/ITEM/PORT`. A **quantity** is written with its unit.
"""
    return f"# Records\n{about}\n{_raised(kinds_markdown())}\n"


def client_page() -> str:
    text = _raised(client_markdown().replace("## What the client may read\n", "", 1))
    about = """
What a client may not read is taken out of the records first. Pages, drawings, lists and the change
log are computed afterwards, so they can’t show it. `asbuilt build --edition client` says what it
withheld, by kind and count. `asbuilt schema --client` prints this table.
[The reasons](../explanation/edition.md).
"""
    return f"# What a client may read\n{about}\n{text}\n"


def checks_page() -> str:
    parts = [
        """# Checks

`asbuilt check` reports each problem as `file:line:column: what is wrong; what would be right`,
followed by its code in brackets. An **error** means that the site isn’t built, because its pages
could be wrong. Its last good pages stay. A **remark** stops nothing; somebody should look at it. A
check says what it compared, and no more. It decides nothing.
"""
    ]
    told: set[str] = set()
    for check in CHECKS:
        module = importlib.import_module(check.__module__)
        levels = _levels(inspect.getsource(module))
        told |= set(levels)
        title, _, text = inspect.cleandoc(module.__doc__ or "").partition("\n")
        subject, _, rule = title.partition(": ")
        rows = [(f"`{code}`", level, CODES[code]) for code, level in levels.items()]
        parts.append(f"## {subject}\n\n{rule[:1].upper()}{rule[1:]}\n{text}\n")
        parts.append(_table(("code", "is", "meaning"), rows))
    parts.append("## Reading the files\n\nThese come before any rule of the trade is checked.\n")
    for subject, codes in CODES_BY_SUBJECT.items():
        rest = [(f"`{code}`", meaning) for code, meaning in codes.items() if code not in told]
        if rest:
            parts.append(f"### {subject}\n\n" + _table(("code", "meaning"), rest))
    return "\n".join(parts)


def commands_page() -> str:
    parts = [
        """# Commands

These are the help texts of `asbuilt COMMAND --help`. Run the commands inside a records repository.
[Exit codes](exit-codes.md) says how a command ends.
"""
    ]
    parts += [_command(context) for context in commands()]
    return "\n".join(parts)


def dependencies_page() -> str:
    project = tomllib.loads((TOP / "pyproject.toml").read_text("utf-8"))["project"]
    pins = _pins("requirements.lock")
    direct = {canonicalize_name(Requirement(text).name) for text in project["dependencies"]}
    builders = project["optional-dependencies"]["build"]
    direct |= {canonicalize_name(Requirement(text).name) for text in builders}
    reasons = _reasons()
    chosen = [(f"`{name}`", pins[name], reasons[name], _licence(name)) for name in sorted(direct)]
    asked_by = _asked_by(pins)
    others = [
        (f"`{name}`", version, ", ".join(sorted(asked_by.get(name, ()))), _licence(name))
        for name, version in pins.items()
        if name not in direct
    ]
    return f"""# Dependencies

These are the packages that asbuilt needs besides Python and git. `requirements.lock` pins all of
them, with hashes. `requirements-dev.lock` also pins what the tests need. To install exactly the
versions that were tested, and nothing else:

```sh
pip install --require-hashes -r requirements.lock
pip install --no-deps --no-build-isolation .
```

The tables come from the lock file, from `pyproject.toml`, and from the packages’ own descriptions.
`pip-audit --disable-pip --require-hashes -r requirements.lock` says whether security holes in them
are known. It needs access to the published lists of such holes.

## Chosen by us

{_table(("package", "version", "what for", "licence"), chosen)}

## Needed by these

{_table(("package", "version", "needed by", "licence"), others)}
"""


# Checks


def _levels(source: str) -> dict[str, str]:
    """Code → error or remark, as a check's text makes them, in the order of CODES."""
    found: dict[str, set[str]] = {}
    for level, code in re.findall(
        r'\.(error|remark)\(\s*[^"()]*(?:"[^"]*")?[^"()]*,\s*"([\w-]+)"', source
    ):
        if code in CODES:
            found.setdefault(code, set()).add(level)
    only = set(re.findall(r"\.(error|remark)\(", source)) or {"error"}
    for code in CODES:
        if code not in found and re.search(rf'"{code}"', source):
            found[code] = only
    return {code: " or ".join(sorted(found[code])) for code in CODES if code in found}


# Commands


def commands() -> Iterator[click.Context]:
    """Every command there is, groups before what is in them, by name."""

    def walk(command: click.Command, name: str, parent: click.Context | None) -> Iterator[Any]:
        context = click.Context(command, info_name=name, parent=parent, max_content_width=100)
        if isinstance(command, click.Group):
            if parent is not None:
                yield context
            for sub in command.list_commands(context):
                found = command.get_command(context, sub)
                assert found is not None
                yield from walk(found, sub, context)
        else:
            yield context

    yield from walk(main, "asbuilt", None)


def _command(context: click.Context) -> str:
    command = context.command
    usage = " ".join([context.command_path, *command.collect_usage_pieces(context)])
    options = [
        (f"`{record[0]}`", record[1])
        for option in command.get_params(context)
        if isinstance(option, click.Option) and "--help" not in option.opts
        if (record := option.get_help_record(context))
    ]
    depth = "##" if context.parent and context.parent.parent is None else "###"
    lines = [f"{depth} {context.command_path}", "", inspect.cleandoc(command.help or ""), ""]
    lines += ["```text", usage, "```", ""]
    if options:
        lines += [_table(("option", "what it does"), options), ""]
    return "\n".join(lines)


# Dependencies


def _pins(lock: str) -> dict[str, str]:
    text = (TOP / lock).read_text("utf-8")
    return dict(re.findall(r"^([a-z0-9][\w.-]*)==([^\s;]+)", text, re.M))


def _reasons() -> dict[str, str]:
    """What each dependency is for, as it stands beside it."""
    text = (TOP / "pyproject.toml").read_text("utf-8")
    found = re.findall(r'^  "([A-Za-z0-9-]+)[^"]*",  # (.+)$', text, re.M)
    return {canonicalize_name(name): why for name, why in found}


def _asked_by(names: Iterable[str]) -> dict[str, set[str]]:
    found: dict[str, set[str]] = {}
    for name in names:
        for text in _metadata(name).get_all("Requires-Dist") or ():
            asked = Requirement(text)
            if "extra" not in str(asked.marker or ""):
                found.setdefault(canonicalize_name(asked.name), set()).add(name)
    return found


def _licence(name: str) -> str:
    about = _metadata(name)
    if not about.keys():
        return "not installed here; see the package"
    told = about.get("License-Expression")
    if told:
        return str(told)
    classed = [
        line.rpartition(" :: ")[2]
        for line in about.get_all("Classifier") or ()
        if line.startswith("License :: ")
    ]
    return ", ".join(classed) or (about.get("License") or "not said").partition("\n")[0]


def _metadata(name: str) -> Message:
    try:
        return cast(Message, metadata.metadata(name))
    except metadata.PackageNotFoundError:
        return Message()  # needed on other systems only


# Markdown


def _raised(text: str) -> str:
    """Headings one step up: the page's own title is the first."""
    return re.sub(r"^##(#*) ", r"#\1 ", text, flags=re.M)


def _table(head: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    head = tuple(head)
    lines = [head, ("---",) * len(head), *rows]
    return "\n".join("| " + " | ".join(map(_cell, line)) + " |" for line in lines) + "\n"


def _cell(text: str) -> str:
    text = " ".join(text.split())
    if text.startswith("`"):
        return text
    return text.replace("|", "\\|").replace("<", "&lt;")
