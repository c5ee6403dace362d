"""Three trains on a plan, each under the rules of the game against both others.

For small plans: this shows that a third train changes nothing. The promises of both others, and
the groups under them, forbid; a group that guards, met facing, is only normal.
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
