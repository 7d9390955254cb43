"""Data flows one way: a module imports only from those above it in the list that opens the
package, and what touches the world stands at the edge."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
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


@cache
def _layers() -> dict[str, int]:
    """Room → its line in the list."""
    lines = re.findall(r"^ {4}(\w+(?:, \w+)*) {2,}\S", asbuilt.__doc__ or "", re.M)
    return {room: number for number, line in enumerate(lines) for room in line.split(", ")}


@cache
def _tree(module: str) -> ast.Module:
    return ast.parse(MODULES[module].read_text("utf-8"))


@cache
def _imported(module: str) -> set[str]:
    """Everything a module imports, wherever in it, by full name."""
    found: set[str] = set()
    for node in ast.walk(_tree(module)):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module} imports relatively"
            for alias in node.names:
                inner = f"{node.module}.{alias.name}"
                found.add(inner if inner in MODULES else node.module or "")
    return found


def _own(module: str) -> Iterator[str]:
    """The modules of ours that a module imports."""
    for name in _imported(module):
        if name.partition(".")[0] == "asbuilt":
            assert name in MODULES, f"{module} imports {name}"
            yield name


def _room(module: str) -> str:
    return module.split(".")[1] if "." in module else ""


def test_every_room_is_in_the_list() -> None:
    rooms = {_room(module) for module in MODULES} - {"", "__main__"}
    assert rooms == set(_layers())


@pytest.mark.parametrize("module", MODULES)
def test_a_module_imports_only_from_above(module: str) -> None:
    layers = _layers()
    last = max(layers.values())
    here = layers.get(_room(module), last)
    if module == "asbuilt":
        here = -1  # the list itself imports nothing
    for name in _own(module):
        there = layers.get(_room(name), -1)
        assert there <= here, f"{module} imports {name} from below"


def test_no_module_imports_itself_by_a_way_round() -> None:
    graph = nx.DiGraph((module, name) for module in MODULES for name in _own(module))
    assert [*nx.simple_cycles(graph)] == []


def _edge(*rooms: str) -> set[str]:
    return {module for module in MODULES if _room(module) in rooms} | {
        module for module in MODULES if module.endswith("__main__")
    }


DOORS = ("cli", "commands", "plugin")
AT_THE_DISK = _edge(
    "files",
    "journal",
    "repo",
    "dot",
    "manifest",
    "pack",
    "workers",
    "compiled",
    "ledger",
    "fleet",
    "build",
    *DOORS,
)

#: Who may import what touches the world.
GATES = {
    "mkdocs": _edge("plugin"),
    "material": _edge("plugin"),
    "git": _edge("repo"),
    "gitdb": _edge("repo"),
    "graphviz": _edge("dot"),
    "graphviz_pure": _edge("dot"),
    "weasyprint": _edge("paper"),
    "subprocess": _edge("dot", "repo"),
    "click": _edge(*DOORS),
    "rich": _edge(*DOORS),
    "tempfile": AT_THE_DISK,
    "shutil": AT_THE_DISK,
    "os": AT_THE_DISK,
    "socket": set[str](),
    "urllib.request": set[str](),
    "http": _edge("cli", "plugin"),
    "random": set[str](),
    "pickle": set[str](),
}


@pytest.mark.parametrize("gate", GATES)
def test_the_world_is_met_at_the_edge_only(gate: str) -> None:
    through = {
        module
        for module in MODULES
        for name in _imported(module)
        if name == gate or name.startswith(f"{gate}.")
    }
    assert through <= GATES[gate]


#: Methods of paths that read, write or look at the disk.
DISK = {
    "read_text", "read_bytes", "write_text", "write_bytes", "open", "mkdir", "touch", "unlink",
    "rmdir", "iterdir", "glob", "rglob", "walk", "stat", "lstat", "exists", "is_file", "is_dir",
    "is_symlink", "symlink_to", "hardlink_to", "rename", "chmod", "cwd", "home",
}  # fmt: skip


def _disk(module: str) -> Iterator[str]:
    for node in ast.walk(_tree(module)):
        if isinstance(node, ast.Call):
            if isinstance(node.func, ast.Name) and node.func.id in ("open", "Path"):
                yield f"{node.func.id} in line {node.lineno}"
            if isinstance(node.func, ast.Attribute) and node.func.attr in DISK:
                yield f"{node.func.attr} in line {node.lineno}"


@pytest.mark.parametrize("module", sorted(set(MODULES) - AT_THE_DISK - _edge("start")))
def test_the_middle_reads_and_writes_no_file(module: str) -> None:
    """`start` reads the texts that are shipped beside it."""
    assert [*_disk(module)] == []


@pytest.mark.parametrize("module", sorted(set(MODULES) - _edge("commands")))
def test_no_clock_and_no_name_of_the_user_enters(module: str) -> None:
    """The same commit gives the same bytes, whoever builds it and when. Only who notes down today's
    work may ask what day it is."""
    for node in ast.walk(_tree(module)):
        if isinstance(node, ast.Attribute) and isinstance(node.value, (ast.Name, ast.Attribute)):
            asked = f"{getattr(node.value, 'id', getattr(node.value, 'attr', ''))}.{node.attr}"
            assert asked not in {
                "date.today", "datetime.now", "datetime.today", "datetime.utcnow", "time.time",
                "time.localtime", "getpass.getuser", "platform.node", "socket.gethostname",
                "os.getlogin", "uuid.uuid4", "uuid.uuid1",
            }, f"{asked} in line {node.lineno}"  # fmt: skip


def test_there_are_no_rooms_for_odds_and_ends() -> None:
    for module in MODULES:
        assert not set(module.split(".")) & {
            "utils",
            "util",
            "helpers",
            "common",
            "base",
            "manager",
        }
