"""Cold: whole processes, in turn."""

from __future__ import annotations

import sys
from importlib.util import find_spec
from pathlib import Path
from statistics import median
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from bench.measuring import ROOT, in_turn, medians, paragraph, table, trappoint
from large.railway import railway, written

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bench.measuring import Effort

BARE, LIBRARY, OURS, OTHER = (
    "`python -c pass`",
    '`python -c "import jsonschema"`',
    "`trappoint check`, 40 points",
    "`check-jsonschema`, the same plan and schema",
)


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


def part(effort: Effort) -> Iterator[str]:
    """Whole processes from a standing start: bare Python, a library, a check, a schema alone."""
    with TemporaryDirectory() as folder:
        plan = Path(folder) / "railway.layout.json"
        plan.write_text(written(railway(40)), "utf-8")
        found = in_turn(commands(plan), 5 if effort.quick else 31)
    yield table(["process", "ms, median", "least", "of bare Python"], medians(found, BARE))
    ours = median(found[OURS])
    against = "(`pip install check-jsonschema` to compare with a validator by schema alone.)"
    if OTHER in found:
        ratio = ours / median(found[OTHER])
        against = f"It takes {ratio:.2f} of that of a validator by schema alone (aim: 0.5)."
    yield paragraph(
        f"A check takes {ours - median(found[BARE]):.0f} ms beyond bare Python (aim: below 100), "
        f"and {ours / median(found[LIBRARY]):.2f} of the time of `import jsonschema` (aim: 2.5).",
        against,
    )
