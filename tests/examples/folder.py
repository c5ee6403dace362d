"""The files in ``examples/`` and the tables on the page there."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from commands.in_process import trappoint

EXAMPLES = Path(__file__).parents[2] / "examples"
SLIPS = EXAMPLES / "slips"
MEETS = EXAMPLES / "nixie-vale"
EVENING = EXAMPLES / "evening"
PICTURES = EXAMPLES / "pictures"
PAGE = EXAMPLES / "README.md"
PLAN = ".layout.json"

TABLES = {"md": "markdown", "txt": "text"}
"""The format of a printed table, by the ending of its file."""


class Slip(NamedTuple):
    """One row of the page's table of slips."""

    name: str
    base: str
    holds: bool | None
    rule: str


def names_in(folder: Path) -> list[str]:
    """Return the names of the plans in a folder, sorted."""
    return sorted(path.name.removesuffix(PLAN) for path in folder.glob(f"*{PLAN}"))


def rows_under(heading: str) -> list[list[str]]:
    """Return the cells of the table under a heading of the page, without its two head lines."""
    part = PAGE.read_text("utf-8").split(f"\n## {heading}\n")[1].split("\n## ")[0]
    lines = [line for line in part.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[2:]]


def slips_on_page() -> list[Slip]:
    """Return the slips that the page lists, in its order."""
    words = {"yes": True, "no": False, "not judged": None}
    return [
        Slip(name.strip("`"), base.strip("`"), words[holds], rule.strip("`"))
        for name, base, _, holds, rule in rows_under("Slips")
    ]


def printed_table(name: str, form: str) -> str:
    """Return the output of ``trappoint table`` for an example."""
    done = trappoint("table", "--format", form, f"{name}{PLAN}", cwd=EXAMPLES)
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


def compare(path: Path, text: str, *, rewrite: bool) -> None:
    """Assert that a text equals the expected file; with ``rewrite``, write the file first."""
    if rewrite:
        path.write_text(text, "utf-8", newline="\n")
    assert path.read_bytes().decode("utf-8") == text, (
        f"{path.name}: pytest --rewrite writes it again"
    )
