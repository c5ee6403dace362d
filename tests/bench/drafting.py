"""Drafting: the signals of plans as clubs have them, proposed from the bare track."""

from __future__ import annotations

import json
import time
from typing import TYPE_CHECKING

from bench.figures import by_rows
from bench.measuring import ROOT, Figure, paragraph, table
from trappoint.proposing.levels import LEVELS
from trappoint.proposing.proposal import propose

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from bench.measuring import Effort

PLANS = ("kelpie-quay", "selkie-harbour", "hobthrush-vale")
OF_SIGNALS = ("signals", "levers", "scenes", "accept", "sessions")


ABOUT = "The fewest signals for plans of a club's size, proposed from the bare track."


def measure(effort: Effort) -> Iterator[Figure]:
    """Propose signals for each plan, at each level."""
    for name in PLANS[: 2 if effort.quick else None]:
        plan = json.loads((ROOT / "examples" / f"{name}.layout.json").read_bytes())
        bare = json.dumps({key: value for key, value in plan.items() if key not in OF_SIGNALS})
        for level in LEVELS:
            before = time.process_time()
            draft = propose(bare, level=level).drafts[0]
            seconds = time.process_time() - before
            assert draft.report.holds
            row = f"{name}, {level}"
            yield Figure(f"{row} / points", len(plan.get("points", {})), "points")
            yield Figure(f"{row} / signals", draft.signals, "signals")
            yield Figure(f"{row} / arms", draft.arms, "arms")
            yield Figure(f"{row} / proved", int(draft.least), "1 if proved least")
            yield Figure(f"{row} / bound", draft.bound, "signals and arms at least")
            yield Figure(f"{row} / time", seconds, "s")


def show(found: Mapping[str, float]) -> Iterator[str]:
    """Draw the table."""
    rows: list[list[object]] = []
    for name, row in by_rows(found).items():
        plan, _, level = name.partition(", ")
        proof = "yes" if row["proved"] else f"not below {row['bound']:.0f}"
        counts = [f"{row[column]:.0f}" for column in ("points", "signals", "arms")]
        rows.append([plan, counts[0], level, *counts[1:], proof, f"{row['time']:.1f}"])
    head = ["plan", "points", "level", "signals", "stop arms", "proved least", "s of processor"]
    yield table(head, rows)
    yield paragraph("The aim is 10 s for a plan of a club's size.")


def longest(found: Mapping[str, float]) -> float:
    """Return the s of the processor that the largest plan takes at its slowest level."""
    return max(
        row["time"] for name, row in by_rows(found).items() if name.startswith(f"{PLANS[-1]}, ")
    )
