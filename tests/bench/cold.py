"""Cold: whole processes, in turn."""

from __future__ import annotations

import sys
from importlib.util import find_spec
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from bench.figures import by_rows
from bench.measuring import (
    ROOT,
    beside_base,
    in_turn,
    medians,
    paragraph,
    table,
    trappoint,
)
from large.railway import railway, written

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from bench.measuring import Effort, Figure

BARE, LIBRARY, OURS, OTHER = (
    "`python -c pass`",
    '`python -c "import jsonschema"`',
    "`trappoint check`, 40 points",
    "`check-jsonschema`, the same plan and schema",
)

ABOUT = "Whole processes with their start: bare Python, a library, a check, a schema check alone."


def commands(plan: Path) -> dict[str, list[str]]:
    """The commands to time, by the names that they have in the table."""
    found = {
        BARE: [sys.executable, "-c", "pass"],
        LIBRARY: [sys.executable, "-c", "import jsonschema"],
        OURS: trappoint("check", str(plan)),
    }
    if find_spec("check_jsonschema"):
        schema = str(ROOT / "schema" / "layout.schema.json")
        found[OTHER] = [sys.executable, "-m", "check_jsonschema", "--schemafile", schema, str(plan)]
    return found


def measure(effort: Effort) -> Iterator[Figure]:
    """Time each command."""
    with TemporaryDirectory() as folder:
        plan = Path(folder) / "railway.layout.json"
        plan.write_text(written(railway(40)), "utf-8")
        yield from medians(in_turn(commands(plan), 5 if effort.quick else 31))


def beyond_bare(found: Mapping[str, float]) -> float:
    """Return the ms that a check takes beyond bare Python."""
    rows = by_rows(found)
    return rows[OURS]["median"] - rows[BARE]["median"]


def beside_library(found: Mapping[str, float]) -> float:
    """Return how many times as long a check takes as the import of the library."""
    rows = by_rows(found)
    return rows[OURS]["median"] / rows[LIBRARY]["median"]


def show(found: Mapping[str, float]) -> Iterator[str]:
    """Draw the table."""
    rows = by_rows(found)
    yield table(["process", "ms, median", "least", "of bare Python"], beside_base(rows, BARE))
    against = "(`pip install check-jsonschema` to compare with a validator by schema alone.)"
    if OTHER in rows:
        ratio = rows[OURS]["median"] / rows[OTHER]["median"]
        against = f"It takes {ratio:.2f} of that of a validator by schema alone (aim: 0.5)."
    yield paragraph(
        f"A check takes {beyond_bare(found):.0f} ms beyond bare Python (aim: below 100), "
        f"and {beside_library(found):.2f} of the time of `import jsonschema` (aim: 2.5).",
        against,
    )
