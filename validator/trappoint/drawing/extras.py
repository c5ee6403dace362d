"""Import of libraries that come with an optional extra."""

from __future__ import annotations

from importlib import import_module
from importlib.util import find_spec
from typing import Any

from trappoint.core.errors import NotInstalled


def load(module: str, extra: str) -> Any:
    """Import a module of an extra. Raises NotInstalled."""
    package = module.partition(".")[0]
    if find_spec(package) is None:
        raise NotInstalled(
            f"{extra.upper()} needs {package.replace('_', '-')}, which is not installed: "
            f"pip install 'trappoint[{extra}]'"
        )
    return import_module(module)
