"""The graph of imports, without imports for types and with imports by name."""

from __future__ import annotations

from copy import deepcopy
from functools import cache
from pathlib import Path
from typing import Any

import grimp
import networkx
from importlinter.api import read_configuration
from importlinter.contracts.acyclic_siblings import AcyclicSiblingsContract
from importlinter.contracts.forbidden import ForbiddenContract
from importlinter.contracts.layers import LayersContract

from trappoint.core.by_name import IMPORTERS

ROOT = Path(__file__).parents[2]
CONFIGURATION = read_configuration(str(ROOT / "pyproject.toml"))
CONTRACTS: dict[str, dict[str, Any]] = {
    each["id"]: each for each in CONFIGURATION["contracts_options"]
}
KINDS = {
    "acyclic_siblings": AcyclicSiblingsContract,
    "forbidden": ForbiddenContract,
    "layers": LayersContract,
}


@cache
def _written() -> grimp.ImportGraph:
    packages: list[str] = CONFIGURATION["session_options"]["root_packages"]
    return grimp.build_graph(
        packages[0], *packages[1:], exclude_type_checking_imports=True, cache_dir=None
    )


def imports() -> grimp.ImportGraph:
    """Return the graph of all imports of the program, including imports by name."""
    graph = deepcopy(_written())
    for importer, tables in IMPORTERS.items():
        for imported in {module for table in tables for module in table.values()}:
            graph.add_import(importer=importer, imported=imported)
    return graph


def is_kept(contract: str, graph: grimp.ImportGraph) -> bool:
    """Return whether a graph keeps a contract of pyproject.toml."""
    options = CONTRACTS[contract]
    made = KINDS[options["type"]](options["name"], CONFIGURATION["session_options"], options)
    return bool(made.check(deepcopy(graph), verbose=False).kept)


def circles(graph: grimp.ImportGraph) -> list[list[str]]:
    """Return one sorted list of modules for each circle of imports."""
    arrows = networkx.DiGraph(
        (module, imported)
        for module in graph.modules
        for imported in graph.find_modules_directly_imported_by(module)
    )
    parts = networkx.strongly_connected_components(arrows)
    return [sorted(part) for part in parts if len(part) > 1]
