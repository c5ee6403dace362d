"""How long each stage of a check takes in a warm process: ``python warm.py PLAN...``."""

from __future__ import annotations

import argparse
import time
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING, TypeVar

from trappoint.building import build_layout
from trappoint.checking import check_content
from trappoint.facts import Facts
from trappoint.reading import Document, read_document
from trappoint.reporting import Look, reporter
from trappoint.schema import schema_findings

if TYPE_CHECKING:
    from collections.abc import Callable

ROOT = Path(__file__).parents[2]
T = TypeVar("T")
FACTS = ("network", "together", "routes", "assignment", "conflicts", "free_runs", "verdict")


def stages(content: bytes) -> dict[str, float]:
    """Run through a check once and return the milliseconds of each stage."""
    taken: dict[str, float] = {}

    def timed(name: str, work: Callable[[], T]) -> T:
        before = time.perf_counter()
        result = work()
        taken[name] = (time.perf_counter() - before) * 1000
        return result

    document = timed("read", lambda: read_document(content, "plan"))
    if isinstance(document, Document):
        of_form = timed("schema", lambda: schema_findings(document.data))
        if not of_form:
            layout = timed("layout", lambda: build_layout(document.data))
            facts = Facts(layout)
            for name in FACTS:
                timed(name, lambda name=name: getattr(facts, name))  # type: ignore[misc]
    report = timed("whole check", lambda: check_content(content, "plan"))
    timed("text report", lambda: "".join(reporter("text")([report], Look())))
    timed("table", lambda: report.table)
    return taken


def main() -> None:
    """Print a table of medians for each plan."""
    parser = argparse.ArgumentParser(description="Times the stages of warm checks.")
    parser.add_argument("--rounds", type=int, default=15)
    parser.add_argument(
        "plans", nargs="*", type=Path, default=sorted(ROOT.glob("examples/*.layout.json"))
    )
    options = parser.parse_args()
    for plan in options.plans:
        content = plan.read_bytes()
        stages(content)
        rounds = [stages(content) for _ in range(options.rounds)]
        print(f"{plan.name}, {len(content):,} bytes, medians of {options.rounds} rounds")
        for name in rounds[0]:
            print(f"  {name:<12} {median(taken[name] for taken in rounds):>9.2f} ms")


if __name__ == "__main__":
    main()
