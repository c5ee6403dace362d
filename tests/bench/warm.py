"""Warm: each stage of the check of a plan as clubs have it, in a process that runs already."""

from __future__ import annotations

import time
from statistics import median
from typing import TYPE_CHECKING

from bench.measuring import ROOT, paragraph, table
from bench.stages import STAGES, run_stages
from trappoint.checking.check import check_content

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bench.measuring import Effort

PLAN = ROOT / "examples" / "hobthrush-vale.layout.json"
"""The largest of the examples: an exhibition layout of a club."""


def part(effort: Effort) -> Iterator[str]:
    """Each stage of the check of the largest example, in a process that runs: processor time."""
    content = PLAN.read_bytes()
    run_stages(content)
    rounds: list[dict[str, float]] = []
    for _ in range(5 if effort.quick else 51):
        taken = {name: stage.ms for name, stage in run_stages(content).items()}
        before = time.process_time()
        report = check_content(content, PLAN.name)
        taken["whole check"] = (time.process_time() - before) * 1000
        assert report.holds
        rounds.append(taken)
    names = [*STAGES, "whole check"]
    rows = [
        [name, *(pick(one[name] for one in rounds) for pick in (median, min))] for name in names
    ]
    yield table([f"{PLAN.name}, {len(content):,} bytes", "ms, median", "least"], rows)
    yield paragraph("The aim is 30 ms for the whole check, of which the table is no part.")
