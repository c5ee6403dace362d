"""Imports point downward without circles, and heavy packages are imported only when used.

The contracts are in pyproject.toml, and ``lint-imports`` explains how they are broken. These tests
also check imports by name, which ``lint-imports`` cannot see.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

from house.imports import CONFIGURATION, CONTRACTS, ROOT, circles, imports, is_kept
from trappoint.commands import catalogue
from trappoint.core import by_name

SOURCES = [
    path for folder in ("validator", "service", "hooks") for path in (ROOT / folder).rglob("*.py")
]
LIBRARY = ROOT / "validator" / "trappoint"
ROOMS: list[str] = CONTRACTS["rooms"]["layers"]

HEAVY = {"jsonschema", "networkx", "flask", "importlib", "argparse", "urllib", "typing_extensions"}
"""Packages that no module of the core imports at its top: each costs more than a check."""


@pytest.mark.parametrize("contract", CONTRACTS)
def test_the_contracts_are_kept(contract: str) -> None:
    assert is_kept(contract, imports())


def test_there_is_no_circle_of_any_size() -> None:
    assert circles(imports()) == []


def test_the_door_of_a_room_imports_nothing() -> None:
    graph = imports()
    rooms = [module for module in graph.find_children("trappoint") if graph.find_children(module)]
    assert len(rooms) > len(ROOMS) // 2
    assert {room: graph.find_modules_directly_imported_by(room) for room in rooms} == {
        room: set() for room in rooms
    }


# ---- imports by name ---------------------------------------------------------------------------


def test_the_table_says_who_imports_by_name() -> None:
    graph = imports()
    assert graph.find_modules_that_directly_import(by_name.__name__) == set(by_name.IMPORTERS)


def test_every_name_leads_to_a_module() -> None:
    for table in (table for tables in by_name.IMPORTERS.values() for table in tables):
        for module in table.values():
            assert LIBRARY.parent.joinpath(*module.split(".")).with_suffix(".py").is_file(), module


def test_every_command_has_a_module() -> None:
    assert list(by_name.COMMANDS) == list(catalogue.COMMANDS)


def modules_named(path: Path) -> Iterator[str]:
    """Yield the strings of a file that name a module of the program or build such a name."""
    begins = tuple(f"trappoint.{room}" for room in ROOMS)
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Constant) and isinstance(node.value, str):
            if node.value.startswith(begins):
                yield node.value
        elif isinstance(node, ast.Call) and ast.unparse(node.func).endswith("import_module"):
            yield from (ast.unparse(each) for each in node.args if isinstance(each, ast.JoinedStr))


def test_no_module_is_named_elsewhere() -> None:
    """Test that only the table names modules, so that it lists all imports by name."""
    table = Path(by_name.__file__)
    assert set(modules_named(table)) >= set(by_name.COMMANDS.values())
    assert {path: found for path in SOURCES if (found := list(modules_named(path)))}.keys() == {
        table
    }


# ---- heavy imports -----------------------------------------------------------------------------


def imported_at_the_top(path: Path) -> set[str]:
    """Return the names of the packages that the import of a module also imports."""
    found: set[str] = set()

    def visit(node: ast.AST) -> None:
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test):
            return
        if isinstance(node, ast.FunctionDef):
            return
        if isinstance(node, ast.Import):
            found.update(alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module.partition(".")[0])
        for child in ast.iter_child_nodes(node):
            visit(child)

    visit(ast.parse(path.read_text("utf-8")))
    return found


@pytest.mark.parametrize("room", ROOMS[ROOMS.index("checking") :])
def test_nothing_heavy_at_the_top(room: str) -> None:
    paths = list((LIBRARY / room).rglob("*.py"))
    assert len(paths) > 1
    for path in paths:
        assert not imported_at_the_top(path) & HEAVY, path


# ---- each assertion can fail -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("contract", "importer", "imported"),
    [
        ("rooms", "trappoint.core.findings", "trappoint.model.layout"),
        # The public package imports by name from rooms above this one.
        ("rooms", "trappoint.topology.network", "trappoint"),
        ("rooms", "trappoint.drawing.diagram", "trappoint.cli"),
        ("packages", "trappoint_hooks.check", "trappoint_service.server"),
        ("packages", "trappoint.core.findings", "trappoint_hooks.check"),
        ("drawing", "trappoint.drawing.svg", "trappoint.facts.facts"),
        ("circles", "trappoint.core.findings", "trappoint.rules.holding"),
    ],
)
def test_an_arrow_upward_is_noticed(contract: str, importer: str, imported: str) -> None:
    graph = imports()
    assert {importer, imported} <= graph.modules
    graph.add_import(importer=importer, imported=imported)
    assert not is_kept(contract, graph)


def test_a_circle_by_name_is_noticed() -> None:
    graph = imports()
    graph.add_import(importer="trappoint.commands.tidy", imported="trappoint.cli")
    assert len(circles(graph)) == 1


def test_all_three_packages_are_read() -> None:
    roots = CONFIGURATION["session_options"]["root_packages"]
    assert {path.parts[len(ROOT.parts) + 1] for path in SOURCES} == set(roots)
    assert len(imports().modules) == len(SOURCES)
