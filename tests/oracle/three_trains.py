"""Three trains on a plan, each barred by the claims of both others.

Tests on small plans show that a third train changes no verdict.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from oracle.ground import Ground
from oracle.heads import Plan
from oracle.search import MovementJson, search
from oracle.two_trains import replay

LIMIT = 3_000_000


def meeting_of_three(plan: Plan, limit: int = LIMIT) -> MovementJson | None:
    """A shortest movement by which two of three trains meet, None if there is none."""
    return search(Ground(plan), 3, limit)


def replay_three(plan: Plan, movement: Mapping[str, Any]) -> None:
    """Move three trains as a movement says; raises ReplayError where a step is not allowed."""
    replay(plan, movement, "ABC")
