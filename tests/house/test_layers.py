"""The arrow of imports points one way, and nothing heavy is imported before it is used."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "validator" / "trappoint"

LAYERS: tuple[tuple[str, ...], ...] = (
    ("movements", "findings", "nearest", "quoting", "resources"),
    ("mistakes", "string_scanning", "scanning", "positions", "accepting"),
    ("files", "reading", "schema_words", "schema_forms", "schema", "naming"),
    ("layout", "building", "beyond", "sections", "settings"),
    ("network", "routes", "arms", "free_runs", "guards", "parity", "links"),
    (
        "script",
        "verdict",
        "approach",
        "pair_search",
        "failing",
        "route_test",
        "holding",
        "granted",
        "conflicts",
        "duties",
        "distants",
        "standstill",
        "bounds",
    ),
    ("facts", "locking_table", "dimensions", "journeys"),
    ("rules",),
    ("assembling",),
    ("checking", "settings_file"),
    (
        "frame",
        "frame_clauses",
        "frame_levers",
        "frame_demands",
        "frame_points",
        "frame_distants",
        "frame_derivation",
        "frame_simulator",
        "signalman",
        "fitting",
    ),
)
"""From the left to the right: a module imports from its own layer and those to the left of it.

``duties``, ``distants`` and ``bounds`` read facts: for types alone, which are left out here.
"""

HEAVY = {"jsonschema", "networkx", "flask", "importlib", "argparse", "urllib", "typing_extensions"}
"""Never imported at the top of a module of the core: each costs more than a whole check."""


def module_name(path: Path) -> str:
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return parts[0]


def core_modules() -> list[Path]:
    known = {name for layer in LAYERS for name in layer}
    return [path for path in sorted(PACKAGE.rglob("*.py")) if module_name(path) in known]


def imports(tree: ast.AST, *, top_only: bool) -> set[str]:
    """Return what is imported, imports for types alone left out."""
    found: set[str] = set()

    def visit(node: ast.AST) -> None:
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test):
            return
        if top_only and isinstance(node, ast.FunctionDef | ast.ClassDef):
            return
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
            if node.module == "trappoint.rules.catalogue":
                found.update(f"trappoint.rules.catalogue.{alias.name}" for alias in node.names)
        for child in ast.iter_child_nodes(node):
            visit(child)

    visit(tree)
    return found


@pytest.mark.parametrize("path", core_modules(), ids=lambda path: path.stem)
def test_imports_point_to_the_left(path: Path) -> None:
    level = {name: number for number, layer in enumerate(LAYERS) for name in layer}
    own = level[module_name(path)]
    for name in imports(ast.parse(path.read_text("utf-8")), top_only=False):
        parts = name.split(".")
        if parts[0] == "trappoint" and len(parts) > 1:
            assert parts[1] in level, f"{path.name} imports {name}, which has no layer"
            assert level[parts[1]] <= own, f"{path.name} imports {name}"


@pytest.mark.parametrize("path", core_modules(), ids=lambda path: path.stem)
def test_nothing_heavy_at_the_top(path: Path) -> None:
    names = imports(ast.parse(path.read_text("utf-8")), top_only=True)
    assert not {name.split(".")[0] for name in names} & HEAVY


def test_every_core_module_has_a_layer() -> None:
    """Commands, reports, drawing and the like stand outside: they use the public face alone."""
    faces = {"__init__", "__main__", "cli", "commands", "reporting"}
    outside = faces | {"comparing", "drafting", "drawing", "editor", "tidying", "merging"}
    outside |= {"parts", "templates"}
    known = {name for layer in LAYERS for name in layer}
    assert {module_name(path) for path in PACKAGE.rglob("*.py")} - known - outside == set()
