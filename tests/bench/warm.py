"""Warm: each stage of the check of a plan as clubs have it, in a process that runs already."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING

from bench.figures import by_rows
from bench.measuring import ROOT, Figure, medians, paragraph, table
from bench.stages import STAGES, run_stages
from trappoint.checking.check import check_content

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from bench.measuring import Effort

PLAN = ROOT / "examples" / "hobthrush-vale.layout.json"
"""The largest of the examples: an exhibition layout of a club."""


WHOLE = "whole check"

ABOUT = "Processor time of each stage of the check of the largest example, in a running process."


def measure(effort: Effort) -> Iterator[Figure]:
    """Time each stage, and the whole check."""
    content = PLAN.read_bytes()
    run_stages(content)
    rounds: list[dict[str, float]] = []
    for _ in range(5 if effort.quick else 51):
        taken = {name: stage.ms for name, stage in run_stages(content).items()}
        before = time.process_time()
        report = check_content(content, PLAN.name)
        taken[WHOLE] = (time.process_time() - before) * 1000
        assert report.holds
        rounds.append(taken)
    yield Figure("bytes", len(content), "bytes")
    yield from medians({name: [one[name] for one in rounds] for name in (*STAGES, WHOLE)})


def show(found: Mapping[str, float]) -> Iterator[str]:
    """Draw the table."""
    rows = [[name, row["median"], row["least"]] for name, row in by_rows(found).items()]
    yield table([f"{PLAN.name}, {found['bytes']:,.0f} bytes", "ms, median", "least"], rows)
    yield paragraph("The aim is 30 ms for the whole check, without the table.")


def whole(found: Mapping[str, float]) -> float:
    """Return the ms that a whole check takes."""
    return by_rows(found)[WHOLE]["median"]
