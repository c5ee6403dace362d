"""Drafting: the least signals with which a plan holds, or the least change that mends one.

Beyond ``propose``, what is here is for the library itself.
"""

from __future__ import annotations

from trappoint.proposing.levels import LEVELS, Level
from trappoint.proposing.proposal import CannotPropose, Draft, Proposal, propose
from trappoint.proposing.reasons import Reason

__all__ = ["LEVELS", "CannotPropose", "Draft", "Level", "Proposal", "Reason", "propose"]
