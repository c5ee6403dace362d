"""Data files of the project: the schema of the format and the demonstration plan.

An installed copy has them in ``trappoint/data``; a checkout has them at the top of the repository,
in ``schema`` and ``examples``.
"""

from __future__ import annotations

import os.path

_PACKAGE = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))  # noqa: PTH100, PTH120 - pathlib costs start-up
_TOP = os.path.dirname(os.path.dirname(_PACKAGE))  # noqa: PTH120
_FOLDERS = (
    os.path.join(_PACKAGE, "data"),  # noqa: PTH118
    os.path.join(_TOP, "schema"),  # noqa: PTH118
    os.path.join(_TOP, "examples"),  # noqa: PTH118
)


def read_resource(name: str) -> str:
    """Return the text of a data file, for instance ``layout.schema.json``.

    Raises FileNotFoundError if the program has no such file.
    """
    for folder in _FOLDERS:
        try:
            with open(os.path.join(folder, name), encoding="utf-8") as file:  # noqa: PTH118, PTH123
                return file.read()
        except (FileNotFoundError, NotADirectoryError):
            continue
    raise FileNotFoundError(f"no data file {name!r} came with this copy of trappoint")
