"""Drafting: the signals of plans as clubs have them, proposed from the bare track."""

from __future__ import annotations

import json
import time
from typing import TYPE_CHECKING

from bench.measuring import ROOT, paragraph, table
from trappoint.proposing.levels import LEVELS
from trappoint.proposing.proposal import propose

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bench.measuring import Effort

PLANS = ("kelpie-quay", "selkie-harbour", "hobthrush-vale")
OF_SIGNALS = ("signals", "levers", "scenes", "accept", "sessions")


def part(effort: Effort) -> Iterator[str]:
    """The fewest signals of plans as clubs have them, proposed from the bare track."""
    rows: list[list[object]] = []
    for name in PLANS[: 2 if effort.quick else None]:
        plan = json.loads((ROOT / "examples" / f"{name}.layout.json").read_bytes())
        bare = json.dumps({key: value for key, value in plan.items() if key not in OF_SIGNALS})
        for level in LEVELS:
            before = time.process_time()
            draft = propose(bare, level=level).drafts[0]
            seconds = time.process_time() - before
            assert draft.report.holds
            proof = "yes" if draft.least else f"not below {draft.bound}"
            rows.append(
                [name, len(plan.get("points", {})), level, draft.signals, draft.arms, proof,
                 f"{seconds:.1f}"]
            )  # fmt: skip
    head = ["plan", "points", "level", "signals", "stop arms", "proved least", "s of processor"]
    yield table(head, rows)
    yield paragraph("The aim is 10 s for a plan of a club's size.")
