"""Imports within the service point downward only, and a worker loads no web framework."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "service" / "trappoint_service"

ORDER = (
    *("config", "memory", "answers", "jobs", "messages", "folder_door"),
    *("sent_plans", "sent_stores", "diagrams", "plan_page"),
    *("scenes", "checks_and_drawings", "proposals", "roads", "parts_and_fitting"),
    *("lay_requests", "laying"),
    *("work", "worker"),
    *("clients", "processes", "queues", "pool"),
    *("security_headers", "problem_documents", "problems", "compression"),
    *("uploads", "request_options", "counters", "monitoring", "addresses"),
    *(
        "downloads",
        "build_files",
        "examples",
        "format_page",
        "rule_pages",
        "openapi_values",
        "openapi_work_schemas",
    ),
    *(
        "openapi_lay",
        "openapi_schemas",
        "openapi_examples",
        "openapi_pages",
        "openapi_probes",
        "openapi_folder",
        "openapi",
    ),
    *("request_checks", "api", "build_page", "pages", "folder_verdicts", "folder_saving", "folder"),
    *("folder_pages", "app"),
    *("connections", "listening", "stopping", "server", "__init__"),
)
"""From the lowest to the highest: a module imports only modules before it."""


def test_every_module_has_its_place() -> None:
    assert sorted(path.stem for path in PACKAGE.glob("*.py")) == sorted(ORDER)


def imports(node: ast.AST) -> set[str]:
    """Return the modules of the service that are imported at run time, lazily or not."""
    if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test):
        return set()
    found: set[str] = set()
    if isinstance(node, ast.ImportFrom) and node.module == "trappoint_service":
        found = {alias.name for alias in node.names}
    elif isinstance(node, ast.ImportFrom) and node.module:
        package, _, module = node.module.partition(".")
        found = {module} if package == "trappoint_service" else set()
    return found.union(*(imports(child) for child in ast.iter_child_nodes(node)))


@pytest.mark.parametrize("name", ORDER)
def test_imports_point_downward(name: str) -> None:
    found = imports(ast.parse((PACKAGE / f"{name}.py").read_text("utf-8")))
    assert found <= set(ORDER[: ORDER.index(name)])


def test_the_reader_of_imports_sees_them() -> None:
    tree = ast.parse((PACKAGE / "work.py").read_text("utf-8"))
    assert {"jobs", "roads", "scenes"} <= imports(tree)


def loaded(module: str) -> set[str]:
    """Return the modules that are loaded once one has been imported, in a fresh process."""
    words = f"import sys, {module}; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", words], capture_output=True, text=True, check=True)
    return set(done.stdout.split())


def test_workers_load_no_flask_and_the_service_does_no_work() -> None:
    worker, app = loaded("trappoint_service.worker"), loaded("trappoint_service.app")
    assert "trappoint_service.work" in worker
    assert not {"flask", "werkzeug", "trappoint_service.pool"} & worker
    assert "flask" in app
    assert "trappoint_service.work" not in app
