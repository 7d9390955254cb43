"""Data flows one way: a module imports only from those above it in the list that opens the
package, and each room only what it is allowed here by name, libraries included."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import networkx as nx
import pytest

import asbuilt

TOP = Path(asbuilt.__file__).parent
MODULES = {
    ".".join(("asbuilt", *file.relative_to(TOP).with_suffix("").parts)).removesuffix(
        ".__init__"
    ): file
    for file in sorted(TOP.rglob("*.py"))
}

#: What any room may import: values, text and arithmetic. Nothing here meets the world.
PLAIN = frozenset({
    "__future__", "bisect", "collections", "collections.abc", "contextlib", "dataclasses", "datetime", "decimal",
    "difflib", "enum", "functools", "hashlib", "heapq", "html", "io", "itertools", "json", "math",
    "re", "statistics", "string", "types", "typing", "unicodedata",
})  # fmt: skip

#: Room → what else it may import: other rooms, then modules from elsewhere. A module stands for
#: what is below it.
ALLOWED: dict[str, tuple[str, str]] = {
    "problem": ("", ""),
    "escape": ("", "base64"),
    "yamltext": ("problem", "yaml"),
    "records": ("problem yamltext", "csv pathlib"),
    "model": ("records", ""),
    "trade": ("", ""),
    "facts": ("problem records model trade", ""),
    "checks": ("problem escape yamltext records model trade facts", ""),
    "growth": ("problem yamltext records model trade facts", ""),
    "changes": ("problem escape yamltext records model facts", ""),
    "cutover": ("problem escape records model trade facts changes", ""),
    "edits": ("problem yamltext records model trade checks changes", "csv pathlib yaml"),
    "lists": (
        "problem escape yamltext records model facts edits",
        "codecs csv openpyxl xlsxwriter zipfile",
    ),
    "drawings": ("escape records model trade", "PIL pypdfium2 struct warnings xml.parsers"),
    "labels": (
        "escape records model trade drawings",
        "fontTools.ttLib fpdf markupsafe segno",
    ),
    "pages": (
        "problem escape records model trade facts growth changes cutover lists drawings labels",
        "jinja2 markupsafe",
    ),
    "io": (
        "problem escape yamltext records drawings",
        "concurrent.futures ctypes fcntl gc git importlib mimetypes msvcrt multiprocessing os "
        "pathlib PIL shutil signal stat subprocess sys tempfile threading time weasyprint "
        "xml.etree",
    ),
    "history": ("problem records facts changes io", "gc pathlib"),
    "publish": (
        "problem escape records model facts checks changes drawings pages io history",
        "html.parser importlib jinja2 logging markupsafe mkdocs os pathlib platformdirs posixpath "
        "sys tempfile wsgiref.types zipfile zlib",
    ),
    "demo": ("problem yamltext", "pathlib shutil sys"),
    "start": ("records", "importlib.resources"),
    "commands": (
        "problem escape records model facts checks growth changes cutover edits lists labels "
        "pages io history publish demo start",
        "click pathlib rich sys tempfile",
    ),
    "cli": ("problem escape io publish commands", "click importlib os rich sys"),
    "__main__": ("cli", ""),
}

#: Within a room that meets the world, which module alone may import these.
ALONE = {
    "git": {"asbuilt.io.git_process"},
    "mkdocs": {
        f"asbuilt.publish.{name}"
        for name in (
            "mkdocs_plugin",
            "dev_server",
            "ready_page",
            "search",
            "security_policy",
            "theme",
        )
    },
    "weasyprint": {"asbuilt.io.typesetting"},
    "subprocess": {"asbuilt.io.git_process", "asbuilt.io.graphviz"},
    "multiprocessing": {"asbuilt.io.workers"},
    "concurrent.futures": {"asbuilt.io.workers"},
    "yaml": {"asbuilt.yamltext", "asbuilt.edits.yaml_values"},
    "openpyxl": {"asbuilt.lists.xlsx_file"},
    "xlsxwriter": {"asbuilt.lists.xlsx_file"},
    "pypdfium2": {"asbuilt.drawings.pdf_page"},
}


@dataclass(frozen=True, slots=True)
class Source:
    """What a module imports by full name, and what it calls or asks of the world, by line."""

    imports: frozenset[str]
    disk: tuple[str, ...]
    clock: tuple[str, ...]


@cache
def _layers() -> dict[str, int]:
    """Room → its line in the list."""
    lines = re.findall(r"^ {4}(\w+(?:, \w+)*) {2,}\S", asbuilt.__doc__ or "", re.M)
    rooms = [room for line in lines for room in line.split(", ")]
    return {room: number for number, room in enumerate(rooms)}


#: Methods of paths that read, write or look at the disk.
DISK = {
    "read_text", "read_bytes", "write_text", "write_bytes", "open", "mkdir", "touch", "unlink",
    "rmdir", "iterdir", "glob", "rglob", "walk", "stat", "lstat", "exists", "is_file", "is_dir",
    "is_symlink", "symlink_to", "hardlink_to", "rename", "chmod", "cwd", "home",
}  # fmt: skip
#: What tells one day or one machine from another.
CLOCK = {
    "date.today", "datetime.now", "datetime.today", "datetime.utcnow", "time.time",
    "time.localtime", "getpass.getuser", "platform.node", "socket.gethostname", "os.getlogin",
    "uuid.uuid4", "uuid.uuid1",
}  # fmt: skip


@cache
def _source(module: str) -> Source:
    imports: set[str] = set()
    disk: list[str] = []
    clock: list[str] = []
    for node in ast.walk(ast.parse(MODULES[module].read_text("utf-8"))):
        match node:
            case ast.Import():
                imports |= {alias.name for alias in node.names}
            case ast.ImportFrom():
                assert node.level == 0, f"{module} imports relatively"
                for alias in node.names:
                    inner = f"{node.module}.{alias.name}"
                    imports.add(inner if inner in MODULES else node.module or "")
            case ast.Call(func=ast.Name(id="open" | "Path" as name)):
                disk.append(f"{name} in line {node.lineno}")
            case ast.Call(func=ast.Attribute(attr=name)) if name in DISK:
                disk.append(f"{name} in line {node.lineno}")
            case ast.Attribute(value=ast.Name(id=whose) | ast.Attribute(attr=whose), attr=name):
                if f"{whose}.{name}" in CLOCK:
                    clock.append(f"{whose}.{name} in line {node.lineno}")
    return Source(frozenset(imports), tuple(disk), tuple(clock))


def _own(module: str) -> Iterator[str]:
    """The modules of ours that a module imports."""
    for name in sorted(_source(module).imports):
        if name.partition(".")[0] == "asbuilt":
            assert name in MODULES, f"{module} imports {name}"
            yield name


def _room(module: str) -> str:
    return module.split(".")[1] if "." in module else ""


def _within(name: str, allowed: frozenset[str]) -> bool:
    return any(name == one or name.startswith(f"{one}.") for one in allowed)


def test_every_room_is_in_both_lists() -> None:
    rooms = {_room(module) for module in MODULES} - {""}
    assert rooms == set(ALLOWED)
    assert rooms - {"__main__"} == set(_layers())


def test_a_module_imports_only_from_above() -> None:
    layers = {**_layers(), "__main__": 99}
    wrong = [
        f"{module} imports {name} from below"
        for module in MODULES
        for name in _own(module)
        if _room(name) and layers[_room(name)] > layers.get(_room(module), -1)
    ]
    assert wrong == []


@pytest.mark.parametrize("room", ALLOWED)
def test_a_room_imports_what_it_is_allowed_and_all_of_it(room: str) -> None:
    rooms, modules = (frozenset(part.split()) for part in ALLOWED[room])
    imports = {
        (module, name)
        for module in MODULES
        if _room(module) == room
        for name in _source(module).imports
    }
    outside = {(m, name) for m, name in imports if name.partition(".")[0] != "asbuilt"}
    wrong = [
        f"{module} imports {name}"
        for module, name in sorted(outside)
        if name not in PLAIN and not _within(name, modules)
    ]
    wrong += [
        f"{module} imports {name}"
        for module, name in sorted(imports - outside)
        if _room(name) not in rooms | {room, ""}
    ]
    assert wrong == []
    found = {_room(name) for _, name in imports - outside} | {
        one for one in modules for _, name in outside if _within(name, frozenset({one}))
    }
    assert rooms | modules <= found, "what isn’t imported any more needs no permission"


@pytest.mark.parametrize("name", ALONE)
def test_one_module_alone_meets_it(name: str) -> None:
    through = {
        module
        for module in MODULES
        for one in _source(module).imports
        if _within(one, frozenset({name}))
    }
    assert through == ALONE[name]


def test_no_module_imports_itself_by_a_way_round() -> None:
    graph = nx.DiGraph((module, name) for module in MODULES for name in _own(module))
    assert [*nx.simple_cycles(graph)] == []


#: Rooms that read or write files; `start` reads the texts that are shipped beside it.
AT_THE_DISK = {"io", "publish", "demo", "start", "commands", "cli"}


def test_the_middle_reads_and_writes_no_file() -> None:
    found = {module: _source(module).disk for module in MODULES if _room(module) not in AT_THE_DISK}
    assert {module: lines for module, lines in found.items() if lines} == {}


def test_no_clock_and_no_name_of_the_user_enters() -> None:
    """The same commit gives the same bytes, whoever builds it and when. Only who notes down today's
    work may ask what day it is."""
    found = {module: _source(module).clock for module in MODULES if _room(module) != "commands"}
    assert {module: lines for module, lines in found.items() if lines} == {}


def test_there_are_no_rooms_for_odds_and_ends() -> None:
    odd = {"utils", "util", "helpers", "common", "base", "manager"}
    assert [module for module in MODULES if set(module.split(".")) & odd] == []


def test_no_public_class_has_the_name_of_another() -> None:
    classes: dict[str, list[str]] = {}
    for module, file in MODULES.items():
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                classes.setdefault(node.name, []).append(module)
    assert {name: where for name, where in classes.items() if len(where) > 1} == {}


def test_the_top_of_the_package_fits_one_screen() -> None:
    assert len([entry for entry in TOP.iterdir() if entry.name != "__pycache__"]) <= 30


@pytest.mark.parametrize(
    "room", ["lists", "history", "edits", "cutover", "growth", "changes", "labels"]
)
def test_what_a_room_says_of_its_modules_is_true(room: str) -> None:
    source = ast.parse((TOP / room / "__init__.py").read_text("utf-8"))
    text = ast.get_docstring(source, clean=False) or ""
    lines = re.findall(r"^ *(\w+(?:, \w+)*) {2,}\S", text, re.M)
    said = {name for line in lines for name in line.split(", ")}
    assert said == {file.stem for file in (TOP / room).glob("*.py")} - {"__init__"}
