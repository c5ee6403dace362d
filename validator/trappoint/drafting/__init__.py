"""Drafting: the least signals with which a plan holds, or the least change that mends one.

Beyond ``propose``, what is here is for the library itself.
"""

from __future__ import annotations

from trappoint.drafting.levels import LEVELS, Level
from trappoint.drafting.proposing import CannotPropose, Draft, Proposal, propose
from trappoint.drafting.reasons import Reason

__all__ = ["LEVELS", "CannotPropose", "Draft", "Level", "Proposal", "Reason", "propose"]
